//! The results of one measurand in rising order, with the uncertainty that each
//! laboratory reported, the assigned value and the limits
//! (ISO 13528:2022, 10.1 and 10.3; clause 10.3 from memory).

mod rules;

use self::rules::{Plot, Rules};
use super::axis::{Frame, frame};
use super::label::{self, Label, Weight};
use super::margin::{self, Name};
use super::marks::{self, Style};
use super::place::{Area, Room};
use super::svg::{Anchor, OWN, Root, SECOND, Svg, TEXT};
use super::text::width;
use super::{Audience, Face, count_word, sentence};
use crate::mark::{Limits, Mark};
use crate::number;
use crate::words::Words;

/// One figure of results.
#[derive(Clone, Debug, PartialEq)]
pub struct Results {
    /// Prefix of the ids inside the SVG; unique on its page.
    pub id: String,
    /// The measurand as it is shown, as "carbamazepine, item B".
    pub measurand: String,
    /// The unit of every number here, as it is shown.
    pub unit: String,
    /// The assigned value, where there is one.
    pub assigned: Option<Assigned>,
    /// Standard deviation for proficiency assessment, in `unit`.
    pub sigma_pt: Option<f64>,
    /// Limits, in multiples of `sigma_pt`.
    pub limits: Limits,
    /// Robust mean of the counting results in `unit`, for the caption.
    pub robust_mean: Option<f64>,
    /// One per result, in any order.
    pub points: Vec<ResultPoint>,
    /// Who will see it.
    pub audience: Audience,
    /// Width in CSS pixels, as [`super::WIDE`] or [`super::NARROW`].
    pub width: u32,
}

/// The assigned value of a measurand.
#[derive(Clone, Debug, PartialEq)]
pub struct Assigned {
    /// In the unit of the figure.
    pub value: f64,
    /// Expanded uncertainty of it (k = 2), in the same unit.
    pub expanded_uncertainty: Option<f64>,
    /// How it was found, to follow the value, as "by formulation"; may be empty.
    pub route: String,
}

/// What a laboratory reported.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reading {
    /// A value, and its expanded uncertainty where one was given.
    Value {
        /// In the unit of the figure.
        value: f64,
        /// Half the length of the whisker, in the same unit.
        expanded_uncertainty: Option<f64>,
    },
    /// "<" and its limit, in the unit of the figure.
    Below(f64),
}

/// One result.
#[derive(Clone, Debug, PartialEq)]
pub struct ResultPoint {
    /// The laboratory's code, as it is shown.
    pub code: String,
    /// What it reported; a reading that is not finite is not drawn.
    pub reading: Reading,
    /// Its class.
    pub mark: Mark,
    /// Left out of consensus and summary: drawn hollow.
    pub excluded: bool,
    /// The reader's own: ringed, with the code beside it.
    pub own: bool,
    /// Address of a link on the point.
    pub href: Option<String>,
    /// Text of the tooltip, and name of the link.
    pub tooltip: Option<String>,
}

/// The figure as the text of an SVG.
///
/// A height of 340 units, and more for notes below it. Readings that are not
/// finite are left out.
pub fn render(figure: &Results, words: &Words) -> String {
    draw(figure, words, Face::Page)
}

const HEIGHT: f64 = 300.0;
const TOP: f64 = 28.0;

pub(crate) fn draw(figure: &Results, words: &Words, face: Face) -> String {
    let points = sorted(&figure.points);
    let rules = Rules::of(figure);
    let full = f64::from(figure.width.max(240));
    let (plot, names) = lay_out(figure, &points, &rules, words, full);
    let mut svg = Svg::new(words);
    let mut room =
        Room::new(Area { left: plot.left + 2.0, top: 2.0, right: plot.right + 4.0, bottom: plot.bottom + 4.0 });
    draw_axis(&mut svg, &plot, &mut room, figure);
    rules.draw(&mut svg, &plot, &mut room);
    margin::draw(&mut svg, &names, plot.right, plot.top + 4.0, plot.bottom - 4.0);
    let labels = draw_points(&mut svg, &plot, &mut room, face, figure, &points);
    let unnamed = label::draw(&mut svg, &mut room, labels);
    let mut sentences = note_sentences(figure, &points, words);
    sentences.extend(super::unnamed_note(unnamed, words));
    let height = margin::draw_notes(&mut svg, &sentences, full - plot.left - 4.0, plot.left, plot.bottom + 22.0);
    svg.finish(&Root {
        id: &figure.id,
        face,
        width: full,
        height,
        title: &words.with("figure-results-title", &[("measurand", &figure.measurand), ("unit", &figure.unit)]),
        description: &caption(figure, words),
        links: points.iter().any(|point| address(figure, point).is_some()),
    })
}

/// The plot between its axis and its margin, and what stands at the margin.
fn lay_out(figure: &Results, points: &[&ResultPoint], rules: &Rules, words: &Words, full: f64) -> (Plot, Vec<Name>) {
    let values: Vec<f64> = points.iter().filter_map(|point| value_of(point.reading)).collect();
    let values = if values.is_empty() { limits_of(points) } else { values };
    let frame = frame(&values, &rules.fixed());
    let ticks = tick_texts(&frame);
    let left = ticks.iter().map(|(_, text)| width(text)).fold(20.0, f64::max) + 12.0;
    let mut plot = Plot { frame, left, right: full, top: TOP, bottom: TOP + HEIGHT, step: 0.0, first: 0.0 };
    let narrow = figure.width < 520;
    let names = rules.names(&plot, words, decimals_of(figure), narrow);
    plot.right -= margin::room(&names);
    let aside = if narrow { 0.0 } else { label_room(figure, points, &plot) };
    plot.lay_out(points.len(), aside);
    (plot, names)
}

fn draw_points(
    svg: &mut Svg,
    plot: &Plot,
    room: &mut Room,
    face: Face,
    figure: &Results,
    points: &[&ResultPoint],
) -> Vec<Label> {
    let style = Style { face, radius: (plot.step * 0.4).clamp(1.3, 4.0) };
    let mut labels = Vec::new();
    for (index, point) in points.iter().enumerate() {
        let x = plot.first + plot.step * index as f64;
        let name = marks::begin(svg, address(figure, point), tooltip(figure, point));
        labels.extend(draw_point(svg, plot, room, style, figure, point, x));
        svg.close(name);
    }
    labels
}

fn tick_texts(frame: &Frame) -> Vec<(f64, String)> {
    let (ticks, decimals) = frame.ticks();
    ticks.into_iter().map(|tick| (tick, number::decimal(tick, decimals))).collect()
}

fn draw_axis(svg: &mut Svg, plot: &Plot, room: &mut Room, figure: &Results) {
    svg.line("figure-axis", SECOND, 0.8, (plot.left, plot.top), (plot.left, plot.bottom));
    for (tick, text) in tick_texts(&plot.frame) {
        let y = plot.y(tick);
        svg.line("figure-axis", SECOND, 0.8, (plot.left - 4.0, y), (plot.left, y));
        svg.words("figure-second", (plot.left - 7.0, y + TEXT * 0.35), Anchor::End, &text);
    }
    // Above the axis, flush with its numbers, once.
    svg.words("figure-second", (4.0, 14.0), Anchor::Start, &figure.unit);
    room.take(Area { left: 0.0, top: 0.0, right: 8.0 + width(&figure.unit), bottom: 20.0 });
}

/// The width to leave beside the highest results, whose labels would otherwise have
/// to go back over the others.
fn label_room(figure: &Results, points: &[&ResultPoint], plot: &Plot) -> f64 {
    let last = points.iter().rev().take(4);
    let labels = last.filter_map(|point| label_of(figure, point, !plot.frame.holds(number_of(point.reading))));
    labels.map(|(text, _)| (width(&text) - 4.0).min(96.0)).fold(0.0, f64::max)
}

/// Draws one result, and returns what is to be written beside it.
fn draw_point(
    svg: &mut Svg,
    plot: &Plot,
    room: &mut Room,
    style: Style,
    figure: &Results,
    point: &ResultPoint,
    x: f64,
) -> Option<Label> {
    let number = number_of(point.reading);
    let at = (x, plot.held(number));
    let outside = !plot.frame.holds(number);
    let reach = style.reach();
    match point.reading {
        Reading::Value { expanded_uncertainty, .. } => {
            let uncertainty = expanded_uncertainty.filter(|length| length.is_finite() && *length > 0.0 && !outside);
            if let Some(length) = uncertainty {
                draw_whisker(svg, plot, room, style, point, (x, number, length));
            }
            marks::shape(svg, style, point.mark, point.excluded, at);
        }
        Reading::Below(_) => {
            let length = (plot.bottom - 1.0 - at.1).clamp(9.0, 26.0);
            room.take(Area { left: x - 2.0, top: at.1, right: x + 2.0, bottom: at.1 + length });
            marks::arrow(svg, style, point.mark, at, (0.0, 1.0), length);
        }
    }
    if outside {
        let up = if number > plot.frame.high { -1.0 } else { 1.0 };
        marks::beyond(svg, point.mark, at, (0.0, up), reach + 3.0);
        room.take(Area::around((x, at.1 + up * (reach + 4.5)), 3.0, 2.5));
    }
    if point.own {
        marks::ring(svg, style, at);
    }
    marks::target(svg, at, plot.step.clamp(4.0, 24.0), 24.0);
    let clearance = if point.own { style.ring() + 1.0 } else { reach };
    room.take(Area::around(at, clearance, clearance));
    label_of(figure, point, outside).map(|(text, weight)| {
        // Past the arrow head where the mark stands at the frame.
        let clearance = if outside { clearance.max(reach + 7.0) } else { clearance + 1.0 };
        Label { at, clearance, text, weight }
    })
}

/// What is written beside a point: its code where it may be named, its number
/// where it lies outside the frame.
fn label_of(figure: &Results, point: &ResultPoint, outside: bool) -> Option<(String, Weight)> {
    let named = point.own || (figure.audience == Audience::Organiser && point.mark.is_signal());
    let sign = if matches!(point.reading, Reading::Below(_)) { "<" } else { "" };
    let value = outside.then(|| format!("{sign}{}", number::brief(number_of(point.reading))));
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

/// A whisker of U to both sides; where the frame cuts it, an open end says so.
fn draw_whisker(
    svg: &mut Svg,
    plot: &Plot,
    room: &mut Room,
    style: Style,
    point: &ResultPoint,
    (x, value, length): (f64, f64, f64),
) {
    let (class, stroke) = if point.own { ("mark-own", OWN) } else { marks::colour(point.mark) };
    let thick = (plot.step * 0.15).clamp(0.5, 1.0);
    let (low, high) = (plot.held(value - length), plot.held(value + length));
    room.avoid(Area { left: x - 1.0, top: high, right: x + 1.0, bottom: low });
    let line = svg.line_of(class, stroke, thick, (x, low), (x, high));
    let line = if point.excluded { line.set("stroke-dasharray", "2 2") } else { line };
    line.end();
    if style.radius >= 2.0 {
        for (end, up) in [(value + length, -1.0), (value - length, 1.0)] {
            // A whisker that reaches below zero ends at zero, plainly.
            let below_zero = end < 0.0 && plot.frame.low == 0.0;
            if !plot.frame.holds(end) && !below_zero {
                marks::beyond(svg, point.mark, (x, plot.held(end)), (0.0, up), 0.0);
                room.take(Area::around((x, plot.held(end) + up * 1.5), 3.0, 2.5));
            }
        }
    }
}

/// The points that can be drawn: "<" first by their limits, then values, rising;
/// equal ones by code.
fn sorted(points: &[ResultPoint]) -> Vec<&ResultPoint> {
    let mut points: Vec<&ResultPoint> = points.iter().filter(|point| number_of(point.reading).is_finite()).collect();
    points.sort_by(|one, other| {
        value_of(one.reading)
            .is_some()
            .cmp(&value_of(other.reading).is_some())
            .then(number_of(one.reading).total_cmp(&number_of(other.reading)))
            .then_with(|| one.code.cmp(&other.code))
    });
    points
}

fn value_of(reading: Reading) -> Option<f64> {
    match reading {
        Reading::Value { value, .. } => Some(value),
        Reading::Below(_) => None,
    }
}

fn number_of(reading: Reading) -> f64 {
    match reading {
        Reading::Value { value, .. } => value,
        Reading::Below(limit) => limit,
    }
}

fn limits_of(points: &[&ResultPoint]) -> Vec<f64> {
    points.iter().map(|point| number_of(point.reading)).collect()
}

fn address<'a>(figure: &Results, point: &'a ResultPoint) -> Option<&'a str> {
    let visible = point.own || figure.audience == Audience::Organiser;
    point.href.as_deref().filter(|_| visible)
}

fn tooltip<'a>(figure: &Results, point: &'a ResultPoint) -> Option<&'a str> {
    let visible = point.own || figure.audience == Audience::Organiser;
    point.tooltip.as_deref().filter(|_| visible)
}

/// Decimals for the values at the margin: three significant digits of the assigned
/// value, or all that it was published with.
fn decimals_of(figure: &Results) -> usize {
    figure.assigned.as_ref().map_or(0, |assigned| number::decimals_for(assigned.value, 3))
}

fn note_sentences(figure: &Results, points: &[&ResultPoint], words: &Words) -> Vec<String> {
    let count = points.len().to_string();
    let uncertain = points.iter().any(
        |point| matches!(point.reading, Reading::Value { expanded_uncertainty: Some(length), .. } if length > 0.0),
    );
    let key = if uncertain { "figure-results-order-uncertainty" } else { "figure-results-order" };
    let mut sentences = vec![words.with(key, &[("count", &count)])];
    if figure.assigned.as_ref().is_some_and(|assigned| assigned.expanded_uncertainty.is_some_and(|u| u > 0.0)) {
        sentences.push(words.t("figure-results-hairlines"));
    }
    if points.iter().any(|point| point.excluded) {
        let crossed = points.iter().any(|point| point.excluded && point.mark == Mark::Warning);
        sentences.push(words.t(if crossed { "figure-results-crossed" } else { "figure-results-hollow" }));
    }
    if points.iter().any(|point| matches!(point.reading, Reading::Below(_))) {
        sentences.push(words.t("figure-results-arrows"));
    }
    sentences
}

/// One sentence that says what the figure shows, from its data: how many
/// laboratories, robust mean, assigned value, how many beyond the limits.
pub fn caption(figure: &Results, words: &Words) -> String {
    let points = sorted(&figure.points);
    let decimals = decimals_of(figure);
    let with_unit = |value: f64, decimals: usize| number::with_unit(&number::decimal(value, decimals), &figure.unit);
    let count = points.len().to_string();
    let mut parts = vec![words.with("figure-results-caption-count", &[("count", &count)])];
    if let Some(mean) = figure.robust_mean.filter(|mean| mean.is_finite()) {
        let decimals = if figure.assigned.is_some() { decimals } else { number::decimals_for(mean, 3) };
        parts.push(words.with("figure-results-caption-mean", &[("value", &with_unit(mean, decimals))]));
    }
    if let Some(assigned) = &figure.assigned {
        let value = with_unit(assigned.value, decimals);
        let key = if assigned.route.is_empty() {
            "figure-results-caption-assigned"
        } else {
            "figure-results-caption-assigned-by"
        };
        parts.push(words.with(key, &[("value", &value), ("route", &assigned.route)]));
    }
    parts.extend(beyond_limits(figure, &points, words));
    let below = points.iter().filter(|point| matches!(point.reading, Reading::Below(_))).count();
    if below > 0 {
        parts.push(words.with("figure-results-caption-below", &[("count", &count_word(below, words))]));
    }
    sentence(&parts, words)
}

/// "two below −3 σ", "one above +2 σ": values, by the standard deviation alone.
fn beyond_limits(figure: &Results, points: &[&ResultPoint], words: &Words) -> Vec<String> {
    let (Some(assigned), Some(sigma)) = (&figure.assigned, figure.sigma_pt.filter(|sigma| *sigma > 0.0)) else {
        return Vec::new();
    };
    let values = points.iter().filter_map(|point| value_of(point.reading));
    let scores: Vec<f64> = values.map(|value| (value - assigned.value) / sigma).collect();
    super::beyond_limits(&scores, &figure.limits, "figure-results-caption", words)
}
