//! The labels of marks: what is written beside a point, in order of importance.

use super::place::Room;
use super::svg::{Anchor, SECOND, Svg, TEXT};
use super::text::width;

/// A text to stand beside a mark.
pub(crate) struct Label {
    pub(crate) at: (f64, f64),
    /// From the middle of the mark to where a label may begin.
    pub(crate) clearance: f64,
    pub(crate) text: String,
    pub(crate) weight: Weight,
}

/// The more important labels find their place first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Weight {
    /// The reader's own laboratory.
    Own,
    /// A number that could not be drawn to scale.
    Beyond,
    /// A signal, named.
    Signal,
}

/// Height of a label's area: the text and a little air.
const HEIGHT: f64 = 13.0;

/// Writes the labels, none on another; returns how many found no room.
pub(crate) fn draw(svg: &mut Svg, room: &mut Room, mut labels: Vec<Label>) -> usize {
    labels.sort_by_key(|label| label.weight);
    let mut left_out = 0;
    for label in labels {
        let own = label.weight == Weight::Own;
        let wide = width(&label.text) * if own { 1.12 } else { 1.0 } + 2.0;
        let Some(placed) = room.place(label.at, label.clearance, wide, HEIGHT) else {
            left_out += 1;
            continue;
        };
        if let Some((from, to)) = placed.leader {
            svg.line("figure-leader", SECOND, 0.6, from, to);
        }
        // Flush on the side of the mark, so that it reads as belonging to it.
        let area = placed.area;
        let (x, anchor) = if area.left >= label.at.0 {
            (area.left + 1.0, Anchor::Start)
        } else if area.right <= label.at.0 {
            (area.right - 1.0, Anchor::End)
        } else {
            ((area.left + area.right) / 2.0, Anchor::Middle)
        };
        let y = (area.top + area.bottom) / 2.0 + TEXT * 0.35;
        let class = if own { "figure-own-text" } else { "figure-ink" };
        let text = svg.numeral(&label.text);
        let mut element = svg.words_of(class, (x, y), anchor);
        if own {
            element = element.set("font-weight", "bold");
        }
        element.content(&text);
    }
    left_out
}
