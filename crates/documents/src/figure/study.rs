//! A study of items: means over the order of filling or over days, with the mean,
//! the limits, and a line where there is a trend to be shown.

use super::axis::{Frame, frame};
use super::margin::{self, Name};
use super::svg::{Anchor, Face, INK, OWN, Root, SECOND, Svg, TEXT, WITHIN};
use super::text::width;
use crate::number;
use crate::words::Words;

/// One figure of a study.
#[derive(Clone, Debug, PartialEq)]
pub struct Study {
    /// Prefix of the ids inside the SVG; unique on its page.
    pub id: String,
    /// What it is, as "Means of the units, carbamazepine, item B".
    pub title: String,
    /// One sentence that says what it shows.
    pub caption: String,
    /// The unit of the values.
    pub unit: String,
    /// The name of the axis below, as "Number in the order of filling".
    pub below: String,
    /// The means.
    pub points: Vec<StudyPoint>,
    /// The mean that the limits belong to, with its name.
    pub centre: Option<(f64, String)>,
    /// Limits with their names.
    pub limits: Vec<(f64, String)>,
    /// The ends of a line, as (x, y).
    pub line: Option<[(f64, f64); 2]>,
    /// Notes below the figure.
    pub notes: Vec<String>,
    /// Width in CSS pixels.
    pub width: u32,
}

/// A mean of a unit.
#[derive(Clone, Debug, PartialEq)]
pub struct StudyPoint {
    /// Its place on the axis below.
    pub x: f64,
    /// The mean.
    pub y: f64,
    /// The least and the largest of what it is the mean of.
    pub span: Option<(f64, f64)>,
    /// Drawn as an open square: another condition than the rest.
    pub other: bool,
}

const HEIGHT: f64 = 220.0;
const TOP: f64 = 28.0;
const PAD: f64 = 14.0;
const RADIUS: f64 = 3.6;

struct Plot {
    x: Frame,
    y: Frame,
    left: f64,
    right: f64,
}

impl Plot {
    const BOTTOM: f64 = TOP + HEIGHT;

    fn at(&self, x: f64, y: f64) -> (f64, f64) {
        let across = (x - self.x.low) / (self.x.high - self.x.low);
        (self.left + PAD + across * (self.right - self.left - 2.0 * PAD), self.height(y))
    }

    fn height(&self, y: f64) -> f64 {
        let up = (y.clamp(self.y.low, self.y.high) - self.y.low) / (self.y.high - self.y.low);
        Plot::BOTTOM - PAD - up * (HEIGHT - 2.0 * PAD)
    }
}

/// The figure as the text of an SVG. Points that are not finite are left out.
pub fn render(figure: &Study, words: &Words) -> String {
    let points: Vec<&StudyPoint> =
        figure.points.iter().filter(|point| point.x.is_finite() && point.y.is_finite()).collect();
    let full = f64::from(figure.width.max(240));
    let (plot, names) = lay_out(figure, &points, full);
    let mut svg = Svg::new(words);
    draw_axes(&mut svg, &plot, figure, full);
    draw_rules(&mut svg, &plot, figure);
    margin::draw(&mut svg, &names, plot.right, TOP + 4.0, Plot::BOTTOM - 4.0);
    for point in &points {
        draw_point(&mut svg, &plot, point);
    }
    let mut notes = figure.notes.clone();
    if points.iter().any(|point| point.span.is_some()) {
        notes.push(words.t("figure-study-spans"));
    }
    let height = margin::draw_notes(&mut svg, &notes, full - plot.left - 4.0, plot.left, Plot::BOTTOM + 54.0);
    svg.finish(&Root {
        id: &figure.id,
        face: Face::Page,
        width: full,
        height: height.max(Plot::BOTTOM + 44.0),
        title: &figure.title,
        description: &figure.caption,
        links: false,
    })
}

fn lay_out(figure: &Study, points: &[&StudyPoint], full: f64) -> (Plot, Vec<Name>) {
    let mut values: Vec<f64> = points.iter().map(|point| point.y).collect();
    values.extend(points.iter().filter_map(|point| point.span).flat_map(|(low, high)| [low, high]));
    let mut fixed: Vec<f64> = figure.centre.iter().map(|(value, _)| *value).collect();
    fixed.extend(figure.limits.iter().map(|(value, _)| *value));
    // All of a study is shown: a unit that lies far out is what it looks for.
    fixed.extend(&values);
    let y = frame(&[], &fixed);
    let places: Vec<f64> = points.iter().map(|point| point.x).collect();
    let (low, high) = places.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(*x), h.max(*x)));
    let x = if low < high { Frame { low, high } } else { around(low) };
    let left = ticks(&y).iter().map(|(_, text)| width(text)).fold(20.0, f64::max) + 12.0;
    let mut plot = Plot { x, y, left, right: full };
    let decimals = figure.centre.as_ref().map_or(0, |(value, _)| number::decimals_for(*value, 3));
    let name = |(value, text): &(f64, String), strong: bool| Name {
        y: plot.height(*value),
        value: number::decimal(*value, decimals),
        text: text.clone(),
        strong,
    };
    let mut names: Vec<Name> = figure.centre.iter().map(|centre| name(centre, true)).collect();
    names.extend(figure.limits.iter().map(|limit| name(limit, false)));
    plot.right -= margin::room(&names);
    (plot, names)
}

fn around(value: f64) -> Frame {
    let middle = if value.is_finite() { value } else { 0.0 };
    Frame { low: middle - 1.0, high: middle + 1.0 }
}

fn ticks(frame: &Frame) -> Vec<(f64, String)> {
    let (ticks, decimals) = frame.ticks();
    ticks.into_iter().map(|tick| (tick, number::decimal(tick, decimals))).collect()
}

fn draw_axes(svg: &mut Svg, plot: &Plot, figure: &Study, full: f64) {
    svg.line("figure-axis", SECOND, 0.8, (plot.left, TOP), (plot.left, Plot::BOTTOM));
    for (tick, text) in ticks(&plot.y) {
        let y = plot.height(tick);
        svg.line("figure-axis", SECOND, 0.8, (plot.left - 4.0, y), (plot.left, y));
        svg.words("figure-second", (plot.left - 7.0, y + TEXT * 0.35), Anchor::End, &text);
    }
    svg.words("figure-second", (4.0, 14.0), Anchor::Start, &figure.unit);
    svg.line("figure-axis", SECOND, 0.8, (plot.left, Plot::BOTTOM), (plot.right, Plot::BOTTOM));
    for (tick, text) in ticks(&plot.x) {
        let (x, _) = plot.at(tick, plot.y.low);
        svg.line("figure-axis", SECOND, 0.8, (x, Plot::BOTTOM), (x, Plot::BOTTOM + 4.0));
        svg.words("figure-second", (x, Plot::BOTTOM + 17.0), Anchor::Middle, &text);
    }
    let middle = (plot.left + plot.right) / 2.0;
    let middle = middle.clamp(width(&figure.below) / 2.0, full - width(&figure.below) / 2.0);
    svg.words("figure-second", (middle, Plot::BOTTOM + 34.0), Anchor::Middle, &figure.below);
}

fn draw_rules(svg: &mut Svg, plot: &Plot, figure: &Study) {
    for (value, _) in &figure.limits {
        let y = plot.height(*value);
        svg.line_of("figure-limit", SECOND, 0.8, (plot.left, y), (plot.right, y)).set("stroke-dasharray", "5 3").end();
    }
    if let Some((value, _)) = &figure.centre {
        let y = plot.height(*value);
        svg.line("figure-assigned", INK, 1.2, (plot.left, y), (plot.right, y));
    }
    if let Some([from, to]) = figure.line {
        svg.line("mark-own", OWN, 1.6, plot.at(from.0, from.1), plot.at(to.0, to.1));
    }
}

fn draw_point(svg: &mut Svg, plot: &Plot, point: &StudyPoint) {
    let (x, y) = plot.at(point.x, point.y);
    if let Some((low, high)) = point.span {
        svg.line("mark-within", WITHIN, 1.0, (x, plot.height(low)), (x, plot.height(high)));
    }
    if point.other {
        let half = RADIUS;
        let square = svg.open("rect").num("x", x - half).num("y", y - half).num("width", half * 2.0);
        let square = square.num("height", half * 2.0).set("class", "mark-within mark-hollow");
        square.set("fill", Face::Page.ground()).set("stroke", WITHIN).num("stroke-width", 1.5).end();
    } else {
        let dot = svg.open("circle").num("cx", x).num("cy", y).num("r", RADIUS);
        dot.set("class", "mark-within mark-filled").set("fill", WITHIN).set("stroke", WITHIN).end();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn figure(points: Vec<StudyPoint>) -> Study {
        Study {
            id: "units".to_owned(),
            title: "Means".to_owned(),
            caption: "Ten units.".to_owned(),
            unit: "ng/L".to_owned(),
            below: "Number".to_owned(),
            points,
            centre: Some((100.0, "mean".to_owned())),
            limits: vec![(115.0, "+".to_owned()), (85.0, "−".to_owned())],
            line: Some([(1.0, 99.0), (10.0, 101.0)]),
            notes: Vec::new(),
            width: 328,
        }
    }

    #[test]
    fn every_unit_is_drawn_inside_the_frame_however_far_out_it_lies() {
        let at = |x: f64, y: f64| StudyPoint { x, y, span: Some((y - 3.0, y + 3.0)), other: x > 9.0 };
        let mut points: Vec<StudyPoint> = (1..=10).map(|n| at(f64::from(n), 100.0)).collect();
        points[4].y = 400.0;
        points[4].span = Some((390.0, 410.0));
        points.push(StudyPoint { x: f64::NAN, y: 1.0, span: None, other: false });

        let svg = render(&figure(points), &Words::English);

        assert_eq!(svg.matches("<circle").count(), 9);
        assert_eq!(svg.matches("<rect").count(), 1);
        for height in svg.split("cy=\"").skip(1) {
            let y: f64 = height.split('"').next().unwrap().parse().unwrap();
            assert!((TOP..=Plot::BOTTOM).contains(&y), "{y}");
        }
        assert!(svg.contains("<desc id=\"units-description\">Ten units.</desc>") && !svg.contains("NaN"));
    }

    #[test]
    fn nothing_and_one_point_are_drawn_too() {
        for points in [Vec::new(), vec![StudyPoint { x: 3.0, y: 5.0, span: None, other: false }]] {
            let svg =
                render(&Study { centre: None, limits: Vec::new(), line: None, ..figure(points) }, &Words::English);
            assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
        }
    }
}
