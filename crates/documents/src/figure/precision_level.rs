//! Precision against level, both in logarithms: s_r and s_R as they were found
//! (ISO 5725-2:2019, 7.5), with the standard deviation that was planned.

use super::margin::{self, Name};
use super::marks::{self, Style};
use super::place::Area;
use super::plane::{self, Plane};
use super::svg::{Face, INK, Root, SECOND, Svg, WITHIN, polyline};
use super::{Table, sentence};
use crate::mark::Mark;
use crate::number;
use crate::words::Words;

/// One figure of precision.
#[derive(Clone, Debug, PartialEq)]
pub struct PrecisionLevel {
    /// Prefix of the ids inside the SVG; unique on its page.
    pub id: String,
    /// The analyte as it is shown.
    pub analyte: String,
    /// The unit of levels and standard deviations.
    pub unit: String,
    /// One for each level, in any order.
    pub levels: Vec<PrecisionPoint>,
    /// Width in CSS pixels, as [`super::WIDE`] or [`super::NARROW`].
    pub width: u32,
}

/// What was found at one level.
#[derive(Clone, Debug, PartialEq)]
pub struct PrecisionPoint {
    /// Its name, as "Item A".
    pub name: String,
    /// The mean.
    pub level: f64,
    /// s_r; none where there is one result of each laboratory.
    pub repeatability: Option<f64>,
    /// s_R.
    pub reproducibility: Option<f64>,
    /// The standard deviation for proficiency assessment.
    pub planned: Option<f64>,
    /// Address of a link on the points.
    pub href: Option<String>,
}

/// The figure as the text of an SVG. What is not above zero has no logarithm and is
/// left out.
pub fn render(figure: &PrecisionLevel, words: &Words) -> String {
    draw(figure, words, Face::Page)
}

const TOP: f64 = 28.0;
const HEIGHT: f64 = 280.0;

/// The three lines: what is drawn, and how.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Line {
    Repeatability,
    Reproducibility,
    Planned,
}

impl Line {
    const ALL: [Line; 3] = [Line::Planned, Line::Reproducibility, Line::Repeatability];

    fn of(self, point: &PrecisionPoint) -> Option<f64> {
        let value = match self {
            Line::Repeatability => point.repeatability,
            Line::Reproducibility => point.reproducibility,
            Line::Planned => point.planned,
        };
        value.filter(|value| *value > 0.0 && value.is_finite())
    }

    fn symbol(self) -> &'static str {
        match self {
            Line::Repeatability => "s_r",
            Line::Reproducibility => "s_R",
            Line::Planned => "σₚₜ",
        }
    }
}

pub(crate) fn draw(figure: &PrecisionLevel, words: &Words, face: Face) -> String {
    let full = f64::from(figure.width.max(240));
    let levels = in_order(&figure.levels);
    let deviations: Vec<f64> = levels.iter().flat_map(|point| Line::ALL.map(|line| line.of(point))).flatten().collect();
    let stretch = |values: &[f64]| {
        let low = values.iter().copied().fold(f64::INFINITY, f64::min);
        let high = values.iter().copied().fold(0.0, f64::max);
        if values.is_empty() { plane::decades(1.0, 10.0) } else { plane::decades(low, high) }
    };
    let means: Vec<f64> = levels.iter().map(|point| point.level).collect();
    let (x, across) = stretch(&means);
    let (y, up) = stretch(&deviations);
    let left = plane::room_for(&up);
    let mut plot = Plane { x, y, area: Area { left, top: TOP, right: full, bottom: TOP + HEIGHT } };
    let names = names(&levels, &plot);
    plot.area.right -= margin::room(&names).max(16.0);
    let mut svg = Svg::new(words);
    let below = words.with("figure-precision-level", &[("unit", &figure.unit)]);
    let beside = words.with("figure-precision-sd", &[("unit", &figure.unit)]);
    plot.draw_axes(&mut svg, (&across, &up), (&below, &beside));
    margin::draw(&mut svg, &names, plot.area.right, TOP + 4.0, plot.area.bottom - 4.0);
    for line in Line::ALL {
        draw_line(&mut svg, &plot, &levels, line, face, words);
    }
    let notes = note_sentences(&levels, words);
    let height = margin::draw_notes(&mut svg, &notes, (full - 2.0) / face.breadth(), 2.0, plot.area.bottom + 56.0);
    svg.finish(&Root {
        id: &figure.id,
        face,
        width: full,
        height,
        title: &words.with("figure-precision-title", &[("analyte", &figure.analyte)]),
        description: &caption(figure, words),
        links: levels.iter().any(|point| point.href.is_some() && Line::ALL.iter().any(|l| l.of(point).is_some())),
    })
}

fn in_order(levels: &[PrecisionPoint]) -> Vec<&PrecisionPoint> {
    let mut levels: Vec<&PrecisionPoint> =
        levels.iter().filter(|point| point.level > 0.0 && point.level.is_finite()).collect();
    levels.sort_by(|one, other| one.level.total_cmp(&other.level).then(one.name.cmp(&other.name)));
    levels
}

/// Each line is named where it ends.
fn names(levels: &[&PrecisionPoint], plot: &Plane) -> Vec<Name> {
    let last = |line: Line| levels.iter().rev().find_map(|point| line.of(point));
    let name = |line: Line| {
        let value = last(line)?;
        let text = line.symbol().to_owned();
        Some(Name { y: plot.height(value.log10()), value: String::new(), text, strong: line == Line::Planned })
    };
    Line::ALL.into_iter().filter_map(name).collect()
}

fn draw_line(svg: &mut Svg, plot: &Plane, levels: &[&PrecisionPoint], line: Line, face: Face, words: &Words) {
    let known: Vec<(&PrecisionPoint, f64, (f64, f64))> = levels
        .iter()
        .filter_map(|point| {
            let value = line.of(point)?;
            Some((*point, value, plot.at([point.level.log10(), value.log10()])))
        })
        .collect();
    let places: Vec<(f64, f64)> = known.iter().map(|(_, _, at)| *at).collect();
    let (class, stroke, thick, dashes) = match line {
        Line::Planned => ("figure-assigned", INK, 1.2, ""),
        Line::Reproducibility => ("figure-stem", WITHIN, 1.0, ""),
        Line::Repeatability => ("figure-limit", SECOND, 0.9, "5 3"),
    };
    if places.len() > 1 {
        let path = svg.open("path").set("class", class).set("d", &polyline(&places)).set("fill", "none");
        let path = path.set("stroke", stroke).num("stroke-width", thick);
        if dashes.is_empty() { path.end() } else { path.set("stroke-dasharray", dashes).end() }
    }
    for (point, value, at) in known {
        let values = [("name", &*point.name), ("symbol", line.symbol()), ("value", &*number::significant(value, 3))];
        let tooltip = words.with("figure-precision-point", &values);
        let name = marks::begin(svg, point.href.as_deref(), Some(&tooltip));
        let style = Style { face, radius: 3.8 };
        match line {
            // A short stroke on its line, so that one level shows too.
            Line::Planned => svg.line(class, stroke, 1.6, (at.0 - 6.0, at.1), (at.0 + 6.0, at.1)),
            Line::Reproducibility => marks::shape(svg, style, Mark::Within, false, at),
            Line::Repeatability => marks::shape(svg, style, Mark::Within, true, at),
        }
        marks::target(svg, at, 24.0, 24.0);
        svg.close(name);
    }
}

fn note_sentences(levels: &[&PrecisionPoint], words: &Words) -> Vec<String> {
    let has = |line: Line| levels.iter().any(|point| line.of(point).is_some());
    let lines = [
        (Line::Reproducibility, "figure-precision-filled"),
        (Line::Repeatability, "figure-precision-hollow"),
        (Line::Planned, "figure-precision-planned"),
    ];
    let mut notes: Vec<String> =
        lines.into_iter().filter(|(line, _)| has(*line)).map(|(_, key)| words.t(key)).collect();
    if !levels.is_empty() && !has(Line::Repeatability) {
        notes.push(words.t("figure-precision-no-replicates"));
    }
    notes
}

/// One sentence that says what the figure shows, from its data: how many levels, and
/// how the coefficients of variation go from the lowest to the highest.
pub fn caption(figure: &PrecisionLevel, words: &Words) -> String {
    let levels = in_order(&figure.levels);
    let mut parts = vec![words.with("figure-precision-caption-count", &[("count", &levels.len().to_string())])];
    for line in [Line::Reproducibility, Line::Repeatability] {
        let shares: Vec<f64> = levels.iter().filter_map(|point| Some(100.0 * line.of(point)? / point.level)).collect();
        if let (Some(first), Some(last)) = (shares.first(), shares.last()) {
            let (first, last) = (number::significant(*first, 2), number::significant(*last, 2));
            let values = [("symbol", line.symbol()), ("first", &*first), ("last", &*last)];
            let key = if shares.len() == 1 { "figure-precision-caption-one" } else { "figure-precision-caption-many" };
            parts.push(words.with(key, &values));
        }
    }
    // A symbol at the head of a sentence stays as it is.
    sentence(&parts, words)
}

/// The levels as rows, from the lowest to the highest.
pub fn table(figure: &PrecisionLevel, words: &Words) -> Table {
    let levels = in_order(&figure.levels);
    let mut head = vec![words.t("figure-table-level"), words.with("figure-precision-level", &[("unit", &figure.unit)])];
    let lines = [Line::Repeatability, Line::Reproducibility, Line::Planned];
    head.extend(lines.map(|line| line.symbol().to_owned()));
    let rows =
        levels.iter().map(|point| {
            let mut row = vec![point.name.clone(), words.numeral(number::significant(point.level, 3))];
            row.extend(lines.map(|line| {
                line.of(point).map(|value| words.numeral(number::significant(value, 3))).unwrap_or_default()
            }));
            row
        });
    Table { head, rows: rows.collect(), own: None }
}
