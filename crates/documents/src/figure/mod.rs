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
//! | `mark-hollow` | shapes | `fill`: the ground of the page |
//! | `mark-own` | ring, whisker | `stroke`: own laboratory |
//! | `figure-target` | invisible areas of links | none |

pub mod own_scores;
pub mod results;
pub mod scores;

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
