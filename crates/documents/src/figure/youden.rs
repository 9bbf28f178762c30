//! Pairs of results of two items for one analyte (ISO 13528:2022, 10.5): laboratory
//! beside laboratory, with the assigned values and the ellipse that holds 95 % of
//! them by a robust covariance.

use super::axis::{Frame, frame};
use super::label;
use super::margin::{self, Name};
use super::marks::Style;
use super::place::{Area, Room};
use super::plane::{self, Plane};
use super::svg::{Anchor, Face, INK, Root, SECOND, Svg, TEXT, path};
use super::text::width;
use super::{Audience, Point, Table, count_word, sentence};
use crate::mark::Mark;
use crate::number;
use crate::words::Words;

/// Fewer pairs than this have no ellipse.
pub const FEWEST_FOR_ELLIPSE: usize = 10;

/// One Youden plot.
#[derive(Clone, Debug, PartialEq)]
pub struct Youden {
    /// Prefix of the ids inside the SVG; unique on its page.
    pub id: String,
    /// The analyte as it is shown.
    pub analyte: String,
    /// The two items as they are shown, as "Item A": across, and up.
    pub items: [String; 2],
    /// The unit of both.
    pub unit: String,
    /// The assigned values, in the unit.
    pub assigned: [Option<f64>; 2],
    /// One per laboratory with a number for both, in any order; [`Point::at`] holds
    /// the two results.
    pub points: Vec<Point>,
    /// The ellipse, or why there is none.
    pub ellipse: Ellipse,
    /// Laboratories with a number for one of the two items only.
    pub single: usize,
    /// Who will see it.
    pub audience: Audience,
    /// Width in CSS pixels, as [`super::WIDE`] or [`super::NARROW`].
    pub width: u32,
}

/// The ellipse of 95 %.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ellipse {
    /// By location, scales and correlation, with its squared radius T².
    Of {
        /// Its middle.
        location: [f64; 2],
        /// The scales of both items.
        scale: [f64; 2],
        /// The correlation.
        correlation: f64,
        /// T².
        squared: f64,
    },
    /// Fewer than [`FEWEST_FOR_ELLIPSE`] pairs.
    TooFew,
    /// The covariance is singular.
    Singular,
}

impl Ellipse {
    /// So many points of its line, closed.
    fn line(&self, count: usize) -> Vec<[f64; 2]> {
        let Ellipse::Of { location, scale, correlation, squared } = *self else { return Vec::new() };
        let (radius, rest) = (squared.max(0.0).sqrt(), (1.0 - correlation * correlation).max(0.0).sqrt());
        (0..count)
            .map(|step| {
                let (sine, cosine) = (std::f64::consts::TAU * step as f64 / count as f64).sin_cos();
                let up = correlation * cosine + rest * sine;
                [location[0] + scale[0] * radius * cosine, location[1] + scale[1] * radius * up]
            })
            .collect()
    }

    /// Whether a pair lies outside of it.
    fn leaves_out(&self, pair: [f64; 2]) -> bool {
        let Ellipse::Of { location, scale, correlation, squared } = *self else { return false };
        let [x, y] = [0, 1].map(|side| (pair[side] - location[side]) / scale[side]);
        let distance = (x * x - 2.0 * correlation * x * y + y * y) / (1.0 - correlation * correlation);
        distance > squared
    }
}

/// The figure as the text of an SVG.
pub fn render(figure: &Youden, words: &Words) -> String {
    draw(figure, words, Face::Page)
}

/// Room above for the name of the axis, and for the assigned value across.
const TOP: f64 = 42.0;
/// The plot is as high as it is wide, and no higher than this.
const MOST: f64 = 440.0;

pub(crate) fn draw(figure: &Youden, words: &Words, face: Face) -> String {
    let points = in_order(&figure.points);
    let full = f64::from(figure.width.max(240));
    let (plot, names) = lay_out(figure, &points, words, full);
    let mut svg = Svg::new(words);
    let up = plane::ticks(&plot.y);
    let across = plane::ticks(&plot.x);
    let [first, second] = [0, 1].map(|side| axis_name(figure, side));
    plot.draw_axes(&mut svg, (&across, &up), (&first, &second));
    let Area { left, top, right, bottom } = plot.area;
    let mut room = Room::new(Area { left: left + 2.0, top: top - 4.0, right: right + 2.0, bottom: bottom - 2.0 });
    draw_rules(&mut svg, &plot, figure, &mut room);
    margin::draw(&mut svg, &names, right, top + 6.0, bottom - 6.0);
    let style = Style { face, radius: radius(points.len()) };
    let labels = points.iter().filter_map(|point| plot.draw_point(&mut svg, &mut room, style, figure.audience, point));
    let labels: Vec<_> = labels.collect();
    let unnamed = label::draw(&mut svg, &mut room, labels);
    let mut notes = note_sentences(figure, &points, &plot, words);
    notes.extend(super::unnamed_note(unnamed, words));
    let height = margin::draw_notes(&mut svg, &notes, (full - 2.0) / face.breadth(), 2.0, bottom + 56.0);
    let links = points.iter().any(|point| point.href.is_some() && is_shown(figure, point));
    svg.finish(&Root {
        id: &figure.id,
        face,
        width: full,
        height,
        title: &words.with(
            "figure-youden-title",
            &[("analyte", &figure.analyte), ("x", &figure.items[0]), ("y", &figure.items[1])],
        ),
        description: &caption(figure, words),
        links,
    })
}

fn radius(count: usize) -> f64 {
    match count {
        0..=60 => 3.6,
        61..=150 => 2.8,
        _ => 2.2,
    }
}

fn is_shown(figure: &Youden, point: &Point) -> bool {
    point.own || figure.audience == Audience::Organiser
}

/// By the numbers, so that the order of drawing says nothing of the codes.
fn in_order(points: &[Point]) -> Vec<&Point> {
    let finite = |point: &&Point| point.at.iter().all(|value| value.is_finite());
    let mut points: Vec<&Point> = points.iter().filter(finite).collect();
    points.sort_by(|one, other| {
        let by_number = one.at[0].total_cmp(&other.at[0]).then(one.at[1].total_cmp(&other.at[1]));
        by_number.then(one.code.cmp(&other.code))
    });
    points
}

fn axis_name(figure: &Youden, side: usize) -> String {
    if figure.unit.is_empty() {
        figure.items[side].clone()
    } else {
        format!("{} ({})", figure.items[side], figure.unit)
    }
}

fn lay_out(figure: &Youden, points: &[&Point], words: &Words, full: f64) -> (Plane, Vec<Name>) {
    let outline = figure.ellipse.line(72);
    let axis = |side: usize| -> Frame {
        let values: Vec<f64> = points.iter().map(|point| point.at[side]).collect();
        let mut fixed: Vec<f64> = figure.assigned[side].into_iter().collect();
        fixed.extend(outline.iter().map(|point| point[side]));
        let mut found = frame(&values, &fixed);
        // Results are not negative where none is: an ellipse may be.
        if values.iter().all(|&value| value >= 0.0) && found.low < 0.0 {
            found.low = 0.0;
        }
        found
    };
    let (x, y) = (axis(0), axis(1));
    let left = plane::room_for(&plane::ticks(&y));
    let mut plot = Plane { x, y, area: Area { left, top: TOP, right: full, bottom: TOP + MOST } };
    let name = |value: f64, plot: &Plane| Name {
        y: plot.height(value),
        value: number::brief(value),
        text: words.t("figure-results-assigned-short"),
        strong: true,
    };
    let mut names: Vec<Name> = figure.assigned[1].iter().map(|&value| name(value, &plot)).collect();
    let side = (full - left - margin::room(&names)).min(MOST);
    plot.area.right = left + side;
    plot.area.bottom = TOP + side;
    for (name, &value) in names.iter_mut().zip(&figure.assigned[1]) {
        name.y = plot.height(value);
    }
    (plot, names)
}

fn draw_rules(svg: &mut Svg, plot: &Plane, figure: &Youden, room: &mut Room) {
    let Area { left, top, right, bottom } = plot.area;
    if let Some(value) = figure.assigned[0] {
        let x = plot.across(value);
        svg.line("figure-assigned", INK, 1.0, (x, top), (x, bottom));
        room.avoid(Area { left: x - 1.0, top, right: x + 1.0, bottom });
        let text = number::brief(value);
        let half = width(&text) / 2.0;
        let x = x.clamp(left + half, right - half);
        svg.words("figure-ink", (x, top - 8.0 + TEXT * 0.1), Anchor::Middle, &text);
    }
    if let Some(value) = figure.assigned[1] {
        let y = plot.height(value);
        svg.line("figure-assigned", INK, 1.0, (left, y), (right, y));
        room.avoid(Area { left, top: y - 1.0, right, bottom: y + 1.0 });
    }
    let outline: Vec<(f64, f64)> = figure.ellipse.line(96).into_iter().map(|point| plot.at(point)).collect();
    if !outline.is_empty() {
        svg.open("path")
            .set("class", "figure-limit")
            .set("d", &path(&outline))
            .set("fill", "none")
            .set("stroke", SECOND)
            .num("stroke-width", 1.2)
            .set("stroke-dasharray", "5 3")
            .end();
        outline.iter().for_each(|&at| room.avoid(Area::around(at, 2.0, 2.0)));
    }
}

fn note_sentences(figure: &Youden, points: &[&Point], plot: &Plane, words: &Words) -> Vec<String> {
    let mut notes = Vec::new();
    match figure.ellipse {
        Ellipse::Of { .. } => notes.push(words.t("figure-youden-ellipse")),
        Ellipse::TooFew => {
            let least = FEWEST_FOR_ELLIPSE.to_string();
            notes.push(words.with("figure-youden-too-few", &[("least", &least)]));
        }
        Ellipse::Singular => notes.push(words.t("figure-youden-singular")),
    }
    if points.iter().any(|point| point.mark == Mark::Warning) {
        notes.push(words.t("figure-youden-diamond"));
    }
    if points.iter().any(|point| point.mark == Mark::Action) {
        notes.push(words.t("figure-youden-square"));
    }
    if points.iter().any(|point| !plot.holds(point.at)) {
        notes.push(words.t("figure-outside"));
    }
    if figure.single > 0 {
        notes.push(words.with("figure-youden-single", &[("count", &figure.single.to_string())]));
    }
    notes
}

/// One sentence that says what the figure shows, from its data: how many pairs, and
/// how many lie outside the ellipse.
pub fn caption(figure: &Youden, words: &Words) -> String {
    let points = in_order(&figure.points);
    let count = points.len().to_string();
    let mut parts = vec![words.with("figure-youden-caption-count", &[("count", &count)])];
    if let Ellipse::Of { correlation, .. } = figure.ellipse {
        let outside = points.iter().filter(|point| figure.ellipse.leaves_out(point.at)).count();
        let outside = if outside == 0 {
            words.t("figure-youden-caption-none")
        } else {
            words.with("figure-youden-caption-outside", &[("count", &count_word(outside, words))])
        };
        parts.push(outside);
        let r = number::decimal(correlation, 2);
        parts.push(words.with("figure-youden-caption-correlation", &[("r", &r)]));
    }
    if let Some(own) = points.iter().find(|point| point.own) {
        let key = match (figure.ellipse, figure.ellipse.leaves_out(own.at)) {
            (Ellipse::Of { .. }, true) => "figure-youden-caption-own-outside",
            (Ellipse::Of { .. }, false) => "figure-youden-caption-own-inside",
            _ => "figure-youden-caption-own",
        };
        let [x, y] = own.at.map(number::plain);
        parts.push(words.with(key, &[("code", &own.code), ("x", &x), ("y", &y)]));
    }
    sentence(&parts, words)
}

/// The pairs as rows, in the order of their numbers; codes for the organiser only.
pub fn table(figure: &Youden, words: &Words) -> Table {
    let points = in_order(&figure.points);
    let coded = figure.audience == Audience::Organiser;
    let mut head: Vec<String> = if coded { vec![words.t("figure-table-code")] } else { Vec::new() };
    head.extend([0, 1].map(|side| axis_name(figure, side)));
    head.push(words.t("figure-table-class"));
    let rows = points.iter().map(|point| {
        let mut row = if coded { vec![point.code.clone()] } else { Vec::new() };
        row.extend(point.at.map(|value| words.numeral(number::plain(value))));
        row.push(point.mark.word(words));
        row
    });
    Table { head, rows: rows.collect(), own: points.iter().position(|point| point.own) }
}
