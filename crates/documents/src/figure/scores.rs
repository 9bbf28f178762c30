//! The scores of all laboratories for one measurand, in the order of their codes
//! (ISO 13528:2022, 10.4).

use super::label::{self, Label, Weight};
use super::margin::{self, Name};
use super::marks::{self, Style};
use super::place::{Area, Room};
use super::svg::{Anchor, INK, Root, SECOND, Svg, TEXT, WITHIN};
use super::text::shorten;
use super::{Audience, Face, count_word, sentence, signed_limit};
use crate::mark::{Limits, Mark, Score, ScoreKind};
use crate::number;
use crate::words::Words;

/// One figure of scores.
#[derive(Clone, Debug, PartialEq)]
pub struct Scores {
    /// Prefix of the ids inside the SVG; unique on its page.
    pub id: String,
    /// The measurand as it is shown, as "carbamazepine, item B".
    pub measurand: String,
    /// The kind of the scores.
    pub kind: ScoreKind,
    /// The limits drawn, and the cut.
    pub limits: Limits,
    /// One per laboratory, in any order; drawn in the order of the codes.
    pub points: Vec<ScorePoint>,
    /// Who will see it.
    pub audience: Audience,
    /// Width in CSS pixels, as [`super::WIDE`] or [`super::NARROW`]; the small
    /// figure has its own.
    pub width: u32,
}

/// One laboratory's score.
#[derive(Clone, Debug, PartialEq)]
pub struct ScorePoint {
    /// The laboratory's code, as it is shown.
    pub code: String,
    /// Its score; an absent one keeps its place in the order and draws nothing.
    pub score: Score,
    /// Its class.
    pub mark: Mark,
    /// The reader's own: ringed, with the code beside it.
    pub own: bool,
    /// Address of a link on the point.
    pub href: Option<String>,
    /// Text of the tooltip, and name of the link.
    pub tooltip: Option<String>,
}

/// The figure as the text of an SVG, 300 units high and more for its notes.
///
/// With fewer than three scores a table says more; that is for the caller to decide.
pub fn render(figure: &Scores, words: &Words) -> String {
    draw(figure, words, Face::Page)
}

const HEIGHT: f64 = 240.0;
const TOP: f64 = 26.0;
/// Between the plot's edges and the marks nearest to them.
const PAD: f64 = 14.0;

pub(crate) fn draw(figure: &Scores, words: &Words, face: Face) -> String {
    let points = in_code_order(&figure.points);
    let full = f64::from(figure.width.max(240));
    let mut plot =
        Plot { cap: figure.limits.cap, left: 4.0, right: full, top: TOP, bottom: TOP + HEIGHT, first: 0.0, step: 0.0 };
    let names = rule_names(figure, &plot, words);
    plot.right -= margin::room(&names);
    plot.lay_out(points.len(), PAD);
    let mut svg = Svg::new(words);
    let mut room = Room::new(Area { left: 0.0, top: 2.0, right: plot.right, bottom: plot.bottom + 6.0 });
    svg.words("figure-second", (plot.left, 14.0), Anchor::Start, figure.kind.symbol());
    room.take(Area { left: 0.0, top: 0.0, right: 20.0, bottom: 18.0 });
    draw_rules(&mut svg, &plot, &figure.limits, Some(&mut room));
    margin::draw(&mut svg, &names, plot.right, plot.top, plot.bottom);
    let labels = draw_points(&mut svg, &plot, &mut room, face, figure, &points);
    let unnamed = label::draw(&mut svg, &mut room, labels);
    let mut sentences = note_sentences(figure, &points, words);
    sentences.extend(super::unnamed_note(unnamed, words));
    let height = margin::draw_notes(&mut svg, &sentences, full - plot.left, plot.left, plot.bottom + 20.0);
    let links = points.iter().any(|point| shown(figure, point, &point.href).is_some());
    finish(svg, figure, words, face, (full, height), links)
}

/// Puts what was drawn into its root.
fn finish(svg: Svg, figure: &Scores, words: &Words, face: Face, (width, height): (f64, f64), links: bool) -> String {
    let values = [("measurand", &*figure.measurand), ("kind", figure.kind.symbol())];
    svg.finish(&Root {
        id: &figure.id,
        face,
        width,
        height,
        title: &words.with("figure-scores-title", &values),
        description: &caption(figure, words),
        links,
    })
}

fn draw_points(
    svg: &mut Svg,
    plot: &Plot,
    room: &mut Room,
    face: Face,
    figure: &Scores,
    points: &[&ScorePoint],
) -> Vec<Label> {
    let style = Style { face, radius: (plot.step * 0.4).clamp(1.3, 4.0) };
    let mut labels = Vec::new();
    for (index, point) in points.iter().enumerate() {
        let Some(score) = point.score.number() else {
            continue;
        };
        let at = (plot.first + plot.step * index as f64, plot.y(score));
        let name = marks::begin(svg, shown(figure, point, &point.href), shown(figure, point, &point.tooltip));
        draw_score(svg, plot, style, point, at.0, score);
        marks::target(svg, at, plot.step.clamp(4.0, 24.0), 24.0);
        svg.close(name);
        let clearance = claim(plot, room, style, point, at, score);
        let label = label_of(figure, point, score);
        labels.extend(label.map(|(text, weight)| Label { at, clearance, text, weight }));
    }
    labels
}

/// Keeps labels off a score's mark, and off its stem where it can be; returns how
/// far from its middle its own label may begin.
fn claim(plot: &Plot, room: &mut Room, style: Style, point: &ScorePoint, at: (f64, f64), score: f64) -> f64 {
    let (x, y) = at;
    let zero = plot.y(0.0);
    let reach = if point.own { style.ring() + 1.0 } else { style.reach() };
    room.avoid(Area { left: x - 1.0, top: y.min(zero), right: x + 1.0, bottom: y.max(zero) });
    room.take(Area::around(at, reach, reach));
    if let Score::Below(_) = point.score {
        room.take(Area { left: x - 3.0, top: y, right: x + 3.0, bottom: y + arrow_length(plot, style, y) });
    }
    if score.abs() > plot.cap {
        room.take(Area::around((x, y - score.signum() * (style.reach() + 4.5)), 3.0, 2.5));
        return reach.max(style.reach() + 7.0);
    }
    reach + 1.0
}

const SMALL: (f64, f64) = (220.0, 112.0);

/// The same as one of many small figures (220 by 112 units): name of the measurand
/// above, no codes, no links inside; a page may make the whole a link.
pub fn render_small(figure: &Scores, words: &Words) -> String {
    let points = in_code_order(&figure.points);
    let (width, height) = SMALL;
    let mut plot = Plot {
        cap: figure.limits.cap,
        left: 26.0,
        right: width - 4.0,
        top: 22.0,
        bottom: height - 4.0,
        first: 0.0,
        step: 0.0,
    };
    plot.lay_out(points.len(), 5.0);
    let mut svg = Svg::new(words);
    svg.words("figure-ink", (plot.left, 13.0), Anchor::Start, &shorten(&figure.measurand, width - plot.left));
    draw_rules(&mut svg, &plot, &figure.limits, None);
    let action = figure.limits.action;
    for value in [-action, 0.0, action] {
        let text = number::decimal(value, number::decimals_of(value));
        svg.words("figure-second", (plot.left - 5.0, plot.y(value) + TEXT * 0.35), Anchor::End, &text);
    }
    let style = Style { face: Face::Page, radius: (plot.step * 0.4).clamp(1.0, 2.2) };
    for (index, point) in points.iter().enumerate() {
        if let Some(score) = point.score.number() {
            draw_score(&mut svg, &plot, style, point, plot.first + plot.step * index as f64, score);
        }
    }
    finish(svg, figure, words, Face::Page, SMALL, false)
}

/// Where things are.
struct Plot {
    cap: f64,
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    first: f64,
    step: f64,
}

impl Plot {
    fn lay_out(&mut self, count: usize, pad: f64) {
        let room = self.right - self.left - 2.0 * pad;
        let gaps = count.saturating_sub(1).max(1) as f64;
        self.step = (room / gaps).min(64.0);
        self.first = self.left + pad + (room - self.step * count.saturating_sub(1) as f64) / 2.0;
    }

    /// The height of a score, cut at the cap.
    fn y(&self, score: f64) -> f64 {
        let middle = (self.top + self.bottom) / 2.0;
        let pad = if self.bottom - self.top > 150.0 { PAD } else { 6.0 };
        middle - score.clamp(-self.cap, self.cap) / self.cap * ((self.bottom - self.top) / 2.0 - pad)
    }
}

fn draw_rules(svg: &mut Svg, plot: &Plot, limits: &Limits, mut room: Option<&mut Room>) {
    for limit in limits.values() {
        for value in [limit, -limit] {
            let y = plot.y(value);
            let line = svg.line_of("figure-limit", SECOND, 0.8, (plot.left, y), (plot.right, y));
            let line = if Some(limit) == limits.warning { line.set("stroke-dasharray", "5 3") } else { line };
            line.end();
            if let Some(room) = room.as_deref_mut() {
                room.avoid(Area { left: plot.left, top: y - 1.0, right: plot.right, bottom: y + 1.0 });
            }
        }
    }
    let zero = plot.y(0.0);
    svg.line("figure-assigned", INK, 1.0, (plot.left, zero), (plot.right, zero));
    if let Some(room) = room {
        room.avoid(Area { left: plot.left, top: zero - 1.0, right: plot.right, bottom: zero + 1.0 });
    }
}

fn rule_names(figure: &Scores, plot: &Plot, words: &Words) -> Vec<Name> {
    let mut names = vec![Name { y: plot.y(0.0), value: "0".to_owned(), text: String::new(), strong: true }];
    let limits = figure.limits;
    let keys = [(limits.warning, "figure-scores-warning"), (Some(limits.action), "figure-scores-action")];
    for (limit, key) in keys {
        for value in limit.into_iter().flat_map(|limit| [limit, -limit]) {
            names.push(Name { y: plot.y(value), value: signed_limit(value), text: words.t(key), strong: false });
        }
    }
    names
}

/// Stem, mark and ring of one score.
fn draw_score(svg: &mut Svg, plot: &Plot, style: Style, point: &ScorePoint, x: f64, score: f64) {
    let at = (x, plot.y(score));
    let outside = score.abs() > plot.cap;
    let hollow = point.mark == Mark::InformationOnly;
    if let Score::Below(_) = point.score {
        marks::arrow(svg, style, point.mark, at, (0.0, 1.0), arrow_length(plot, style, at.1));
    } else {
        svg.line("figure-stem", WITHIN, (plot.step * 0.15).clamp(0.5, 1.0), (x, plot.y(0.0)), at);
        marks::shape(svg, style, point.mark, hollow, at);
    }
    if outside && style.radius > 1.2 {
        marks::beyond(svg, point.mark, at, (0.0, -score.signum()), style.reach() + 2.0);
    }
    if point.own {
        marks::ring(svg, style, at);
    }
}

/// The length of the arrow of a bound at the height `y`: it ends near the plot.
fn arrow_length(plot: &Plot, style: Style, y: f64) -> f64 {
    (style.radius * 5.5).clamp(8.0, 20.0).min(plot.bottom - y + 4.0).max(5.0)
}

/// What is written beside a score: a code where it may be named, a number where it
/// was cut.
fn label_of(figure: &Scores, point: &ScorePoint, score: f64) -> Option<(String, Weight)> {
    let named = point.own || (figure.audience == Audience::Organiser && point.mark.is_signal());
    let outside = score.abs() > figure.limits.cap;
    let sign = if matches!(point.score, Score::Below(_)) { "<" } else { "" };
    let value = outside.then(|| format!("{sign}{}", number::signed(score, 1)));
    let weight = match (point.own, outside) {
        (true, _) => Weight::Own,
        (false, true) => Weight::Beyond,
        (false, false) => Weight::Signal,
    };
    match (named, value) {
        (true, Some(value)) => Some((format!("{} {value}", point.code), weight)),
        (true, None) => Some((point.code.clone(), weight)),
        (false, Some(value)) => Some((value, weight)),
        (false, None) => None,
    }
}

fn in_code_order(points: &[ScorePoint]) -> Vec<&ScorePoint> {
    let mut points: Vec<&ScorePoint> = points.iter().collect();
    points.sort_by(|one, other| one.code.cmp(&other.code));
    points
}

/// A link or tooltip, where this reader may see it.
fn shown<'a>(figure: &Scores, point: &ScorePoint, text: &'a Option<String>) -> Option<&'a str> {
    text.as_deref().filter(|_| point.own || figure.audience == Audience::Organiser)
}

fn note_sentences(figure: &Scores, points: &[&ScorePoint], words: &Words) -> Vec<String> {
    let count = points.len().to_string();
    let mut sentences = vec![words.with("figure-scores-order", &[("count", &count)])];
    if points.iter().any(|point| point.mark == Mark::InformationOnly && point.score.number().is_some()) {
        sentences.push(words.t("figure-scores-hollow"));
    }
    if points.iter().any(|point| matches!(point.score, Score::Below(_))) {
        sentences.push(words.t("figure-scores-arrows"));
    }
    if points.iter().any(|point| point.score.number().is_some_and(|score| score.abs() > figure.limits.cap)) {
        let cap = number::decimal(figure.limits.cap, number::decimals_of(brief(figure.limits.cap)));
        sentences.push(words.with("figure-scores-cut", &[("cap", &cap)]));
    }
    sentences
}

/// A cap of a plan's own limits may be 5/3 of something: two decimals will do.
fn brief(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

/// One sentence that says what the figure shows, from its data: how many scores,
/// how many within the limits, how many beyond each.
pub fn caption(figure: &Scores, words: &Words) -> String {
    let values: Vec<f64> = figure
        .points
        .iter()
        .filter(|point| matches!(point.score, Score::Value(_)))
        .filter_map(|point| point.score.number())
        .collect();
    let bounds = figure.points.iter().filter(|point| matches!(point.score, Score::Below(_))).count();
    let count = values.len().to_string();
    let kind = figure.kind.symbol();
    let mut parts = vec![words.with("figure-scores-caption-count", &[("count", &count), ("kind", kind)])];
    let beyond = super::beyond_limits(&values, &figure.limits, "figure-scores-caption", words);
    if beyond.is_empty() && !values.is_empty() {
        parts.push(words.t("figure-scores-caption-none"));
    }
    parts.extend(beyond);
    if bounds > 0 {
        parts.push(words.with("figure-scores-caption-bounds", &[("count", &count_word(bounds, words))]));
    }
    let own = figure.points.iter().find(|point| point.own);
    if let Some((own, score)) = own.and_then(|own| own.score.number().map(|score| (own, score))) {
        let score = number::score(score, &figure.limits.values());
        let key = match own.score {
            Score::Below(_) => "figure-scores-caption-own-bound",
            _ => "figure-scores-caption-own",
        };
        parts.push(words.with(key, &[("score", &score), ("code", &own.code)]));
    }
    sentence(&parts, words)
}
