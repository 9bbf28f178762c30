//! Figures: functions from values to the text of an SVG.
//!
//! The same data give the same bytes. An SVG of ours stands inline in a page, in
//! a document, or alone as a file: its presentation attributes are the light
//! colours, and its class names let the style sheet of a page set others (dark,
//! print). It holds no style sheet, no script, no inline style and no colour
//! variable. One unit of its view box is one CSS pixel at full size.
//!
//! # Class names
//!
//! | class | on | role of the colour |
//! |---|---|---|
//! | `figure` | the `svg` | `fill`: ink |
//! | `figure-ink` | text | `fill`: ink |
//! | `figure-second` | text | `fill`: second ink |
//! | `figure-own-text` | text | `fill`: own laboratory |
//! | `figure-axis` | lines | `stroke`: second ink |
//! | `figure-limit` | lines | `stroke`: second ink |
//! | `figure-assigned` | line | `stroke`: ink |
//! | `figure-hairline` | lines | `stroke`: second ink |
//! | `figure-rule` | lines | `stroke`: rule (decorative) |
//! | `figure-leader` | lines | `stroke`: second ink |
//! | `figure-stem` | lines | `stroke`: mark |
//! | `mark-within` | shapes, whiskers | `stroke` and, with `mark-filled`, `fill`: mark |
//! | `mark-warning` | shapes, whiskers | `stroke`: warning |
//! | `mark-action` | shapes, whiskers | `stroke` and, with `mark-filled`, `fill`: action |
//! | `figure-ground` | areas behind text | `fill`: the ground of the page |
//! | `mark-hollow` | shapes | `fill`: the ground of the page |
//! | `mark-own` | ring, whisker | `stroke`: own laboratory |
//! | `figure-link` | links around a point | focus: link, focus |
//! | `figure-target` | invisible areas of links | none |

mod axis;
pub mod density;
pub mod invented;
mod label;
pub mod mandel;
mod margin;
mod marks;
pub mod overview;
pub mod own_scores;
mod place;
mod plane;
pub mod precision_level;
pub mod results;
pub mod scores;
pub mod strip;
pub mod study;
pub(crate) mod svg;
mod text;
pub mod trend;
pub mod youden;
pub mod zeta_z;

pub(crate) use svg::Face;

use crate::mark::{Limits, Mark};
use crate::number;
use crate::words::Words;

/// The width of a figure on a page with room, in CSS pixels.
pub const WIDE: u32 = 760;
/// The width of a figure on a narrow screen, in CSS pixels.
pub const NARROW: u32 = 328;

/// Who will see the figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Audience {
    /// One laboratory, or the public: no code stands in it but that of the points
    /// with `own`; links and tooltips of other points are left out.
    Laboratory,
    /// The organiser: what needs attention is named by its code.
    Organiser,
}

/// A laboratory's place on a plane.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// The laboratory's code, as it is shown.
    pub code: String,
    /// Where it stands, by the axes.
    pub at: [f64; 2],
    /// Its numbers, written where it lies outside the frame.
    pub written: String,
    /// Its class.
    pub mark: Mark,
    /// The reader's own: ringed, with the code beside it.
    pub own: bool,
    /// Address of a link on the point.
    pub href: Option<String>,
    /// Text of the tooltip, and name of the link.
    pub tooltip: Option<String>,
}

/// The data of a figure as rows, to stand beside it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// The heads of the columns.
    pub head: Vec<String>,
    /// The rows, as long as the head.
    pub rows: Vec<Vec<String>>,
    /// Place of the reader's own row.
    pub own: Option<usize>,
}

/// How many scores lie beyond each limit, as parts of a sentence: "two at or below
/// −3 σ", "one between +2 and +3 σ". Keys are `stem` with `low`, `high`,
/// `low-between`, `high-between`.
fn beyond_limits(scores: &[f64], limits: &Limits, stem: &str, words: &Words) -> Vec<String> {
    let action = limits.action * (1.0 - 1e-9);
    let mut parts = Vec::new();
    for (side, sign) in [("low", -1.0), ("high", 1.0)] {
        let outer = signed_limit(sign * limits.action);
        let beyond = scores.iter().filter(|&&score| score * sign >= action).count();
        if beyond > 0 {
            let values = [("count", &*count_word(beyond, words)), ("limit", &*outer)];
            parts.push(words.with(&format!("{stem}-{side}"), &values));
        }
        let Some(warning) = limits.warning else {
            continue;
        };
        let least = warning * (1.0 + 1e-9);
        let between = scores.iter().filter(|&&score| score * sign > least && score * sign < action).count();
        if between > 0 {
            let inner = signed_limit(sign * warning);
            let values = [("count", &*count_word(between, words)), ("limit", &*inner), ("outer", &*outer)];
            parts.push(words.with(&format!("{stem}-{side}-between"), &values));
        }
    }
    parts
}

/// A limit with its sign and no more decimals than it has.
fn signed_limit(limit: f64) -> String {
    number::signed(limit, number::decimals_of(limit))
}

/// A small count as a word.
fn count_word(count: usize, words: &Words) -> String {
    words.with("figure-count-word", &[("count", &count.to_string())])
}

/// What is said where some labels found no room.
fn unnamed_note(unnamed: usize, words: &Words) -> Option<String> {
    let count = count_word(unnamed, words);
    (unnamed > 0).then(|| words.with("figure-unnamed", &[("count", &count)]))
}

/// Joins the parts of a caption to one sentence.
fn sentence(parts: &[String], words: &Words) -> String {
    let text = parts.join(&words.t("figure-caption-comma"));
    let mut letters = text.chars();
    let first: String = letters.next().map(|letter| letter.to_uppercase().collect()).unwrap_or_default();
    words.with("figure-caption-sentence", &[("text", &format!("{first}{}", letters.as_str()))])
}
