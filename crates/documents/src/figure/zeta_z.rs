//! ζ against z with the uncertainty that each laboratory reported: whether an error
//! is large for the purpose, and whether its own uncertainty covers it.

use super::axis::Frame;
use super::label;
use super::margin::{self, Name};
use super::marks::{Style, colour};
use super::place::{Area, Room};
use super::plane::{self, Plane};
use super::svg::{Anchor, Face, INK, LINE, Root, SECOND, Svg};
use super::text::{width, wrap};
use super::{Audience, Point, Table, count_word, sentence, signed_limit};
use crate::mark::Limits;
use crate::number;
use crate::words::Words;

/// One figure of ζ against z.
#[derive(Clone, Debug, PartialEq)]
pub struct ZetaZ {
    /// Prefix of the ids inside the SVG; unique on its page.
    pub id: String,
    /// The measurand as it is shown.
    pub measurand: String,
    /// The symbol of the score across, as "z" or "z′".
    pub symbol: String,
    /// The limits of both scores, and where the figure is cut.
    pub limits: Limits,
    /// The laboratories that reported an uncertainty, in any order.
    pub points: Vec<ZetaPoint>,
    /// Laboratories without an uncertainty, which are not drawn.
    pub without: usize,
    /// Who will see it.
    pub audience: Audience,
    /// Width in CSS pixels, as [`super::WIDE`] or [`super::NARROW`].
    pub width: u32,
}

/// One laboratory.
#[derive(Clone, Debug, PartialEq)]
pub struct ZetaPoint {
    /// z across and ζ up, with its class by z.
    pub point: Point,
    /// The standard uncertainty that was reported over the standard deviation for
    /// proficiency assessment: half the length of its whisker on the scale of z.
    pub u_over_sigma: f64,
}

/// How z and ζ are read together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Reading {
    Good,
    UncertaintyTooSmall,
    UncertaintyTooLarge,
    Bad,
}

impl Reading {
    const ALL: [Reading; 4] = [Reading::Good, Reading::UncertaintyTooSmall, Reading::UncertaintyTooLarge, Reading::Bad];

    fn of(point: &Point, limit: f64) -> Reading {
        let [z, zeta] = point.at.map(|score| score.abs() <= limit * (1.0 + 1e-9));
        match (z, zeta) {
            (true, true) => Reading::Good,
            (true, false) => Reading::UncertaintyTooSmall,
            (false, true) => Reading::UncertaintyTooLarge,
            (false, false) => Reading::Bad,
        }
    }

    fn key(self) -> &'static str {
        match self {
            Reading::Good => "figure-zeta-good",
            Reading::UncertaintyTooSmall => "figure-zeta-too-small",
            Reading::UncertaintyTooLarge => "figure-zeta-too-large",
            Reading::Bad => "figure-zeta-bad",
        }
    }
}

/// The figure as the text of an SVG.
pub fn render(figure: &ZetaZ, words: &Words) -> String {
    draw(figure, words, Face::Page)
}

const TOP: f64 = 28.0;
const MOST: f64 = 440.0;

fn warning(figure: &ZetaZ) -> f64 {
    figure.limits.warning.unwrap_or(figure.limits.action)
}

pub(crate) fn draw(figure: &ZetaZ, words: &Words, face: Face) -> String {
    let points = in_order(&figure.points);
    let full = f64::from(figure.width.max(240));
    let cap = figure.limits.cap;
    let frame = Frame { low: -cap, high: cap };
    let mut ticks: Vec<f64> = figure.limits.values().into_iter().flat_map(|limit| [limit, -limit]).collect();
    ticks.push(0.0);
    ticks.sort_by(f64::total_cmp);
    let across: Vec<plane::Tick> = ticks.iter().map(|&tick| (tick, signed_limit(tick))).collect();
    let left = plane::room_for(&across);
    let mut plot = Plane { x: frame, y: frame, area: Area { left, top: TOP, right: full, bottom: TOP + MOST } };
    let name_keys = ["figure-scores-warning", "figure-scores-action"];
    let widest = name_keys.iter().map(|key| width(&words.t(key))).fold(0.0, f64::max);
    let side = (full - left - widest - 22.0).min(MOST);
    (plot.area.right, plot.area.bottom) = (left + side, TOP + side);
    // Where the numbers of both limits have no room below, the outer ones stand there.
    let below: Vec<plane::Tick> = if side < 300.0 {
        across.iter().filter(|(tick, _)| *tick == 0.0 || tick.abs() == figure.limits.action).cloned().collect()
    } else {
        across.clone()
    };
    let mut svg = Svg::new(words);
    plot.draw_axes(&mut svg, (&below, &across), (&figure.symbol, "ζ"));
    let Area { left, top, right, bottom } = plot.area;
    let mut room = Room::new(Area { left: left + 2.0, top: top - 4.0, right: right + 2.0, bottom: bottom - 2.0 });
    draw_rules(&mut svg, &plot, figure, &mut room);
    margin::draw(&mut svg, &rule_names(figure, &plot, words), right, top, bottom);
    draw_readings(&mut svg, &plot, figure, &mut room, words);
    let style = Style { face, radius: if points.len() > 60 { 2.4 } else { 3.4 } };
    for point in &points {
        draw_whisker(&mut svg, &plot, point);
    }
    let drawn =
        points.iter().filter_map(|point| plot.draw_point(&mut svg, &mut room, style, figure.audience, &point.point));
    let labels: Vec<_> = drawn.collect();
    let unnamed = label::draw(&mut svg, &mut room, labels);
    let mut notes = note_sentences(figure, &points, &plot, words);
    notes.extend(super::unnamed_note(unnamed, words));
    let height = margin::draw_notes(&mut svg, &notes, (full - 2.0) / face.breadth(), 2.0, bottom + 56.0);
    let shown = |point: &Point| point.own || figure.audience == Audience::Organiser;
    let values = [("measurand", &*figure.measurand), ("symbol", &*figure.symbol)];
    svg.finish(&Root {
        id: &figure.id,
        face,
        width: full,
        height,
        title: &words.with("figure-zeta-title", &values),
        description: &caption(figure, words),
        links: points.iter().any(|point| point.point.href.is_some() && shown(&point.point)),
    })
}

fn in_order(points: &[ZetaPoint]) -> Vec<&ZetaPoint> {
    let finite = |one: &&ZetaPoint| one.point.at.iter().all(|value| value.is_finite()) && one.u_over_sigma.is_finite();
    let mut points: Vec<&ZetaPoint> = points.iter().filter(finite).collect();
    points.sort_by(|one, other| {
        let ([a, b], [c, d]) = (one.point.at, other.point.at);
        a.total_cmp(&c).then(b.total_cmp(&d)).then(one.point.code.cmp(&other.point.code))
    });
    points
}

fn draw_rules(svg: &mut Svg, plot: &Plane, figure: &ZetaZ, room: &mut Room) {
    let Area { left, top, right, bottom } = plot.area;
    let mut rules = vec![(0.0, "figure-assigned", INK, false)];
    for limit in figure.limits.values() {
        let dashed = Some(limit) == figure.limits.warning;
        rules.extend([limit, -limit].map(|value| (value, "figure-limit", SECOND, dashed)));
    }
    for (value, class, stroke, dashed) in rules {
        let (x, y) = plot.at([value, value]);
        for (from, to) in [((x, top), (x, bottom)), ((left, y), (right, y))] {
            let line = svg.line_of(class, stroke, 0.8, from, to);
            let line = if dashed { line.set("stroke-dasharray", "5 3") } else { line };
            line.end();
            room.avoid(Area { left: from.0 - 1.0, top: from.1 - 1.0, right: to.0 + 1.0, bottom: to.1 + 1.0 });
        }
    }
}

fn rule_names(figure: &ZetaZ, plot: &Plane, words: &Words) -> Vec<Name> {
    let keys = [(figure.limits.warning, "figure-scores-warning"), (Some(figure.limits.action), "figure-scores-action")];
    let named = keys.into_iter().flat_map(|(limit, key)| {
        limit.into_iter().flat_map(move |limit| [limit, -limit]).map(move |limit| (limit, key))
    });
    named
        .map(|(limit, key)| Name { y: plot.height(limit), value: String::new(), text: words.t(key), strong: false })
        .collect()
}

/// The names of the four readings, below zero to the right of it: z and ζ have one
/// sign, so no laboratory stands there.
fn draw_readings(svg: &mut Svg, plot: &Plane, figure: &ZetaZ, room: &mut Room, words: &Words) {
    let limit = warning(figure);
    let cap = figure.limits.cap;
    let places = [
        (Reading::Good, [0.0, limit], 0.0),
        (Reading::UncertaintyTooLarge, [limit, cap], 0.0),
        (Reading::UncertaintyTooSmall, [0.0, limit], -figure.limits.action),
        (Reading::Bad, [limit, cap], -figure.limits.action),
    ];
    for (reading, [from, to], height) in places {
        let (x, end) = (plot.across(from) + 4.0, plot.across(to));
        let mut y = plot.height(height) + 14.0;
        for line in wrap(&words.t(&format!("{}-short", reading.key())), end - x) {
            svg.words("figure-second", (x, y), Anchor::Start, &line);
            room.take(Area { left: x, top: y - 10.0, right: x + width(&line), bottom: y + 3.0 });
            y += LINE - 2.0;
        }
    }
}

/// The reported standard uncertainty on the scale of z, cut at the frame.
fn draw_whisker(svg: &mut Svg, plot: &Plane, one: &ZetaPoint) {
    let [z, zeta] = one.point.at;
    let (class, stroke) = colour(one.point.mark);
    let y = plot.height(zeta);
    let (from, to) = (plot.across(z - one.u_over_sigma), plot.across(z + one.u_over_sigma));
    svg.line(class, stroke, 0.7, (from, y), (to, y));
}

fn note_sentences(figure: &ZetaZ, points: &[&ZetaPoint], plot: &Plane, words: &Words) -> Vec<String> {
    let mut notes = vec![words.with("figure-zeta-whisker", &[("symbol", &*figure.symbol)])];
    let limit = signed_limit(warning(figure)).trim_start_matches('+').to_owned();
    for reading in Reading::ALL {
        let values = [("limit", &*limit), ("symbol", &*figure.symbol)];
        notes.push(words.with(reading.key(), &values));
    }
    if points.iter().any(|point| !plot.holds(point.point.at)) {
        notes.push(words.t("figure-outside"));
    }
    notes
}

/// One sentence that says what the figure shows, from its data: how many in each of
/// the four readings, and how many without an uncertainty.
pub fn caption(figure: &ZetaZ, words: &Words) -> String {
    let points = in_order(&figure.points);
    let count = points.len().to_string();
    let mut parts = vec![words.with("figure-zeta-caption-count", &[("count", &count)])];
    let limit = warning(figure);
    for reading in Reading::ALL {
        let count = points.iter().filter(|point| Reading::of(&point.point, limit) == reading).count();
        if count > 0 {
            let values = [("count", &*count_word(count, words))];
            parts.push(words.with(&format!("{}-caption", reading.key()), &values));
        }
    }
    if figure.without > 0 {
        let values = [("count", &*count_word(figure.without, words))];
        parts.push(words.with("figure-zeta-caption-without", &values));
    }
    if let Some(own) = points.iter().find(|point| point.point.own) {
        let [z, zeta] = own.point.at.map(|score| number::score(score, &figure.limits.values()));
        let values = [("code", &*own.point.code), ("z", &*z), ("zeta", &*zeta), ("symbol", &*figure.symbol)];
        parts.push(words.with("figure-zeta-caption-own", &values));
    }
    sentence(&parts, words)
}

/// The scores as rows, in the order of z; codes for the organiser only.
pub fn table(figure: &ZetaZ, words: &Words) -> Table {
    let points = in_order(&figure.points);
    let coded = figure.audience == Audience::Organiser;
    let mut head: Vec<String> = if coded { vec![words.t("figure-table-code")] } else { Vec::new() };
    let ratio = words.t("figure-zeta-ratio");
    head.extend([figure.symbol.clone(), "ζ".to_owned(), ratio, words.t("figure-table-reading")]);
    let rows = points.iter().map(|one| {
        let mut row = if coded { vec![one.point.code.clone()] } else { Vec::new() };
        row.extend(one.point.at.map(|score| words.numeral(number::score(score, &figure.limits.values()))));
        row.push(words.numeral(number::decimal(one.u_over_sigma, 2)));
        row.push(words.t(&format!("{}-short", Reading::of(&one.point, warning(figure)).key())));
        row
    });
    Table { head, rows: rows.collect(), own: points.iter().position(|one| one.point.own) }
}
