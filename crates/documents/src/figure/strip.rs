//! All results of one laboratory over the centre of all laboratories, on a
//! logarithmic scale: what is off by a factor, and where results fit better.

use super::marks;
use super::svg::{ACTION, Anchor, Face, INK, LINE, Root, Svg, WITHIN};
use super::text::wrap;
use crate::mark::Mark;
use crate::number;
use crate::words::Words;

/// One figure of ratios.
#[derive(Clone, Debug, PartialEq)]
pub struct Strip {
    /// Prefix of the ids inside the SVG; unique on its page.
    pub id: String,
    /// The laboratory's code.
    pub code: String,
    /// Its results, in the order of the form, by item.
    pub groups: Vec<Group>,
    /// Width in CSS pixels.
    pub width: u32,
}

/// The results of one item.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Its name.
    pub name: String,
    /// One per result.
    pub points: Vec<Point>,
}

/// A result over the centre of its measurand.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// log10 of result over centre.
    pub ratio: f64,
    /// log10 of result over the centre of the place where it fits better.
    pub elsewhere: Option<f64>,
    /// Whether a finding is about it.
    pub marked: bool,
    /// Address of a link on the point.
    pub href: Option<String>,
    /// Text of the tooltip.
    pub tooltip: String,
}

const TOP: f64 = 24.0;
const HEIGHT: f64 = 130.0;
const SMALL: f64 = 84.0;
/// At least a factor of ten to either side can be seen.
const LEAST: f64 = 1.1;

/// The figure as the text of an SVG.
pub fn render(figure: &Strip, words: &Words) -> String {
    draw(figure, words, HEIGHT)
}

/// The same, lower: beside a sentence.
pub fn render_small(figure: &Strip, words: &Words) -> String {
    draw(figure, words, SMALL)
}

struct Plot {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
    reach: f64,
}

impl Plot {
    fn y(&self, ratio: f64) -> f64 {
        let middle = (self.top + self.bottom) / 2.0;
        let half = (self.bottom - self.top) / 2.0 - 5.0;
        middle - ratio.clamp(-self.reach, self.reach) / self.reach * half
    }
}

fn draw(figure: &Strip, words: &Words, height: f64) -> String {
    let full = f64::from(figure.width.max(240));
    let all = figure.groups.iter().flat_map(|group| &group.points);
    let reach =
        all.flat_map(|point| [Some(point.ratio), point.elsewhere]).flatten().map(f64::abs).fold(LEAST, f64::max);
    let plot = Plot { left: 50.0, right: full - 4.0, top: TOP, bottom: TOP + height, reach: reach.min(6.5) };
    let mut svg = Svg::new(words);
    draw_axis(&mut svg, &plot);
    draw_points(&mut svg, figure, &plot);
    let mut y = plot.bottom + 18.0;
    let mut text = words.t("figure-strip-note");
    if figure.groups.iter().flat_map(|group| &group.points).any(|point| point.elsewhere.is_some()) {
        text.push(' ');
        text.push_str(&words.t("figure-strip-elsewhere"));
    }
    for line in wrap(&text, full - 4.0) {
        svg.words("figure-second", (4.0, y), Anchor::Start, &line);
        y += LINE;
    }
    svg.finish(&Root {
        id: &figure.id,
        face: Face::Page,
        width: full,
        height: y - LINE + 6.0,
        title: &words.with("figure-strip-title", &[("code", &figure.code)]),
        description: &caption(figure, words),
        links: figure.groups.iter().flat_map(|group| &group.points).any(|point| point.href.is_some()),
    })
}

fn draw_axis(svg: &mut Svg, plot: &Plot) {
    let most = plot.reach.floor() as i32;
    // As many powers of ten as there is room for their names.
    let room = (plot.y(0.0) - plot.y(1.0)).max(1.0);
    let step = (LINE / room).ceil().max(1.0) as i32;
    for power in (-most..=most).filter(|power| power % step == 0) {
        let y = plot.y(f64::from(power));
        let (class, colour) = if power == 0 { ("figure-assigned", INK) } else { ("figure-rule", super::svg::RULE) };
        svg.line(class, colour, if power == 0 { 1.0 } else { 0.8 }, (plot.left, y), (plot.right, y));
        svg.words("figure-second", (plot.left - 6.0, y + 4.0), Anchor::End, &factor(power, most));
    }
}

/// A power of ten as a factor: `1/100`, or `10⁻⁶` on a scale that is longer than that.
fn factor(power: i32, most: i32) -> String {
    const SUPERSCRIPT: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    let ten = || number::brief(10_f64.powi(power.abs()));
    match power {
        0 => "1".to_owned(),
        _ if most <= 3 && power > 0 => ten(),
        _ if most <= 3 => format!("1/{}", ten()),
        _ => {
            let digits = power.abs().to_string();
            let raised = digits.bytes().map(|digit| SUPERSCRIPT[usize::from(digit - b'0')]);
            "10".chars().chain((power < 0).then_some('⁻')).chain(raised).collect()
        }
    }
}

fn draw_points(svg: &mut Svg, figure: &Strip, plot: &Plot) {
    let count: usize = figure.groups.iter().map(|group| group.points.len()).sum();
    let gaps = figure.groups.len().saturating_sub(1) as f64;
    let step = ((plot.right - plot.left - 16.0) / (count.max(1) as f64 + gaps * 1.5)).min(26.0);
    let style = marks::Style { face: Face::Page, radius: (step * 0.36).clamp(1.4, 3.2) };
    let mut x = plot.left + 8.0;
    for group in &figure.groups {
        svg.words("figure-second", (x, 14.0), Anchor::Start, &group.name);
        for point in &group.points {
            let name = marks::begin(svg, point.href.as_deref(), Some(&point.tooltip));
            draw_point(svg, point, plot, style, x);
            marks::target(svg, (x, plot.y(point.ratio)), step.clamp(4.0, 24.0), 24.0);
            svg.close(name);
            x += step;
        }
        x += step * 1.5;
    }
}

/// A dot, or a square where a finding is about it; a ring where it fits better.
fn draw_point(svg: &mut Svg, point: &Point, plot: &Plot, style: marks::Style, x: f64) {
    let at = (x, plot.y(point.ratio));
    if let Some(elsewhere) = point.elsewhere {
        let y = plot.y(elsewhere);
        svg.line("figure-leader", ACTION, 0.6, at, (x, y));
        svg.open("circle")
            .set("class", "mark-within mark-hollow")
            .num("cx", x)
            .num("cy", y)
            .num("r", style.radius)
            .set("fill", Face::Page.ground())
            .set("stroke", WITHIN)
            .num("stroke-width", 1.0)
            .end();
    }
    let mark = if point.marked { Mark::Action } else { Mark::Within };
    marks::shape(svg, style, mark, false, at);
    if point.ratio.abs() > plot.reach {
        marks::beyond(svg, mark, at, (0.0, -point.ratio.signum()), style.reach() + 2.0);
    }
}

/// One sentence that says what the figure shows.
pub fn caption(figure: &Strip, words: &Words) -> String {
    let points: Vec<&Point> = figure.groups.iter().flat_map(|group| &group.points).collect();
    let marked = points.iter().filter(|point| point.marked).count();
    let values = [("code", &*figure.code), ("count", &*points.len().to_string()), ("marked", &*marked.to_string())];
    words.with("figure-strip-caption", &values)
}
