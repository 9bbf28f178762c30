//! Texts that stand outside the plot: at its right margin beside the rules, and
//! below it.

use super::place::spread;
use super::svg::{Anchor, LINE, SECOND, Svg, TEXT, polyline};
use super::text::{width, wrap};

/// The name of a rule, to stand at the margin.
pub(crate) struct Name {
    /// Where the rule is.
    pub(crate) y: f64,
    /// Its value; the values stand flush right, one below the other.
    pub(crate) value: String,
    /// What it is.
    pub(crate) text: String,
    /// In ink; otherwise in second ink.
    pub(crate) strong: bool,
}

/// From the end of a rule to its value, and from there to its name.
const LEAD: f64 = 14.0;
const SPACE: f64 = 7.0;

/// The width of the margin that `names` need.
pub(crate) fn room(names: &[Name]) -> f64 {
    if names.is_empty() { 0.0 } else { LEAD + values(names) + SPACE + widest(names, |name| &name.text) + 2.0 }
}

fn values(names: &[Name]) -> f64 {
    widest(names, |name| &name.value)
}

fn widest(names: &[Name], text: impl Fn(&Name) -> &String) -> f64 {
    names.iter().map(|name| width(text(name))).fold(0.0, f64::max)
}

/// Writes the names to the right of `x`, moved apart where they would touch and
/// joined to their rules by thin lines.
pub(crate) fn draw(svg: &mut Svg, names: &[Name], x: f64, from: f64, to: f64) {
    let end = x + LEAD + values(names);
    let mut names: Vec<&Name> = names.iter().collect();
    names.sort_by(|one, other| one.y.total_cmp(&other.y));
    let wanted: Vec<f64> = names.iter().map(|name| name.y).collect();
    for (name, y) in names.iter().zip(spread(&wanted, LINE - 1.0, from, to)) {
        svg.open("path")
            .set("class", "figure-leader")
            .set("d", &polyline(&[(x + 1.0, name.y), (x + LEAD - 7.0, y), (x + LEAD - 4.0, y)]))
            .set("fill", "none")
            .set("stroke", SECOND)
            .num("stroke-width", 0.6)
            .end();
        let class = if name.strong { "figure-ink" } else { "figure-second" };
        svg.words(class, (end, y + TEXT * 0.35), Anchor::End, &name.value);
        if !name.text.is_empty() {
            svg.words(class, (end + SPACE, y + TEXT * 0.35), Anchor::Start, &name.text);
        }
    }
}

/// Writes the notes below a plot, the first base line at `y`; returns where the
/// figure ends.
pub(crate) fn draw_notes(svg: &mut Svg, sentences: &[String], room: f64, x: f64, y: f64) -> f64 {
    let lines = wrap(&sentences.join(" "), room);
    for (index, line) in lines.iter().enumerate() {
        svg.words("figure-second", (x, y + index as f64 * LINE), Anchor::Start, line);
    }
    y + LINE * lines.len() as f64 - LINE + 6.0
}
