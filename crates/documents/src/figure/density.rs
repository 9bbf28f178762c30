//! Where the results of a measurand crowd: a kernel density with its modes, a
//! tick for each result, and the assigned value (ISO 13528:2022, 10.3).

use super::axis;
use super::svg::{Anchor, Face, INK, LINE, Root, SECOND, Svg, WITHIN, polyline};
use super::text::wrap;
use crate::number;
use crate::words::Words;

/// One figure of a density.
#[derive(Clone, Debug, PartialEq)]
pub struct Density {
    /// Prefix of the ids inside the SVG; unique on its page.
    pub id: String,
    /// The measurand as it is shown, as "carbamazepine, item B".
    pub measurand: String,
    /// Unit of all numbers.
    pub unit: String,
    /// Standard deviation of the kernels.
    pub bandwidth: f64,
    /// Places and densities, ascending.
    pub curve: Vec<(f64, f64)>,
    /// The modes that count, ascending.
    pub modes: Vec<f64>,
    /// The results that count.
    pub ticks: Vec<f64>,
    /// Results that do not count.
    pub excluded: Vec<f64>,
    /// The assigned value.
    pub assigned: Option<f64>,
    /// Width in CSS pixels.
    pub width: u32,
}

const TOP: f64 = 24.0;
const HEIGHT: f64 = 120.0;
const SIDE: f64 = 6.0;

/// The figure as the text of an SVG.
pub fn render(figure: &Density, words: &Words) -> String {
    let full = f64::from(figure.width.max(240));
    let (low, high) = ends(figure);
    let bottom = TOP + HEIGHT;
    let x = |value: f64| SIDE + (value - low) / (high - low) * (full - 2.0 * SIDE);
    let top = figure.curve.iter().map(|point| point.1).fold(f64::MIN_POSITIVE, f64::max);
    let y = |density: f64| bottom - density / top * (HEIGHT - 8.0);
    let mut svg = Svg::new(words);
    draw_axis(&mut svg, (low, high), x, (full, bottom));
    if let Some(value) = figure.assigned.filter(|value| (low..=high).contains(value)) {
        svg.line("figure-assigned", INK, 1.2, (x(value), TOP - 4.0), (x(value), bottom));
    }
    let line: Vec<(f64, f64)> = figure.curve.iter().map(|(place, density)| (x(*place), y(*density))).collect();
    if line.len() > 1 {
        svg.open("path")
            .set("class", "figure-axis")
            .set("d", &polyline(&line))
            .set("fill", "none")
            .set("stroke", SECOND)
            .num("stroke-width", 1.6)
            .end();
    }
    draw_ticks(&mut svg, figure, x, bottom);
    draw_modes(&mut svg, figure, x, full);
    let end = draw_notes(&mut svg, figure, words, full, bottom + 44.0);
    let values = [("measurand", &*figure.measurand), ("unit", &*figure.unit)];
    svg.finish(&Root {
        id: &figure.id,
        face: Face::Page,
        width: full,
        height: end,
        title: &words.with("figure-density-title", &values),
        description: &caption(figure, words),
        links: false,
    })
}

/// The stretch of the axis: that of the curve.
fn ends(figure: &Density) -> (f64, f64) {
    match (figure.curve.first(), figure.curve.last()) {
        (Some(first), Some(last)) if last.0 > first.0 => (first.0, last.0),
        _ => (0.0, 1.0),
    }
}

fn draw_axis(svg: &mut Svg, (low, high): (f64, f64), x: impl Fn(f64) -> f64, (full, bottom): (f64, f64)) {
    svg.line("figure-axis", SECOND, 0.8, (SIDE, bottom), (full - SIDE, bottom));
    let (ticks, decimals) = axis::Frame { low, high }.ticks();
    for value in ticks {
        let at = x(value);
        svg.line("figure-axis", SECOND, 0.8, (at, bottom + 10.0), (at, bottom + 14.0));
        let anchor = if at < 20.0 {
            Anchor::Start
        } else if at > full - 20.0 {
            Anchor::End
        } else {
            Anchor::Middle
        };
        svg.words("figure-second", (at, bottom + 26.0), anchor, &number::decimal(value, decimals));
    }
}

/// A tick for each result below the axis; shorter and thin where it does not count.
fn draw_ticks(svg: &mut Svg, figure: &Density, x: impl Fn(f64) -> f64, bottom: f64) {
    let (low, high) = ends(figure);
    for value in figure.ticks.iter().filter(|value| (low..=high).contains(*value)) {
        svg.line("figure-stem", WITHIN, 1.0, (x(*value), bottom), (x(*value), bottom + 9.0));
    }
    for value in figure.excluded.iter().filter(|value| (low..=high).contains(*value)) {
        svg.line("figure-leader", SECOND, 0.6, (x(*value), bottom), (x(*value), bottom + 4.0));
    }
}

fn draw_modes(svg: &mut Svg, figure: &Density, x: impl Fn(f64) -> f64, full: f64) {
    for mode in &figure.modes {
        let at = x(*mode);
        let anchor = if at > full - 60.0 { Anchor::End } else { Anchor::Middle };
        svg.words("figure-ink", (at.max(24.0), 14.0), anchor, &number::significant(*mode, 3));
    }
}

fn draw_notes(svg: &mut Svg, figure: &Density, words: &Words, full: f64, y: f64) -> f64 {
    let (low, high) = ends(figure);
    let outside = figure.ticks.iter().chain(&figure.excluded).filter(|value| !(low..=high).contains(*value)).count();
    let bandwidth = number::with_unit(&number::significant(figure.bandwidth, 3), &figure.unit);
    let mut text = words.with("figure-density-note", &[("bandwidth", &bandwidth)]);
    if outside > 0 {
        text.push(' ');
        text.push_str(&words.with("figure-density-outside", &[("count", &outside.to_string())]));
    }
    let lines = wrap(&text, full - 2.0 * SIDE);
    for (index, line) in lines.iter().enumerate() {
        svg.words("figure-second", (SIDE, y + index as f64 * LINE), Anchor::Start, line);
    }
    y + LINE * lines.len() as f64 - LINE + 6.0
}

/// One sentence that says what the figure shows.
pub fn caption(figure: &Density, words: &Words) -> String {
    let modes: Vec<String> = figure.modes.iter().map(|mode| number::significant(*mode, 3)).collect();
    let values = [
        ("count", &*figure.ticks.len().to_string()),
        ("modes", &*figure.modes.len().to_string()),
        ("places", &*modes.join(", ")),
        ("unit", &*figure.unit),
    ];
    words.with("figure-density-caption", &values)
}
