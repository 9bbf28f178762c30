//! The scores of all laboratories for one measurand, in the order of their codes
//! (ISO 13528:2022, 10.4).

use super::Audience;
use crate::mark::{Limits, Mark, Score, ScoreKind};
use crate::words::Words;

/// One figure of scores.
#[derive(Clone, Debug, PartialEq)]
pub struct Scores {
    /// Prefix of the ids inside the SVG; unique on its page.
    pub id: String,
    /// The measurand as it is shown, as "carbamazepine, item B".
    pub measurand: String,
    /// The kind of the scores.
    pub kind: ScoreKind,
    /// The limits drawn, and the cut.
    pub limits: Limits,
    /// One per laboratory, in any order; drawn in the order of the codes.
    pub points: Vec<ScorePoint>,
    /// Who will see it.
    pub audience: Audience,
    /// Width in CSS pixels, as [`super::WIDE`] or [`super::NARROW`]; the small
    /// figure has its own.
    pub width: u32,
}

/// One laboratory's score.
#[derive(Clone, Debug, PartialEq)]
pub struct ScorePoint {
    /// The laboratory's code, as it is shown.
    pub code: String,
    /// Its score; an absent one keeps its place in the order and draws nothing.
    pub score: Score,
    /// Its class.
    pub mark: Mark,
    /// The reader's own: ringed, with the code beside it.
    pub own: bool,
    /// Address of a link on the point.
    pub href: Option<String>,
    /// Text of the tooltip, and name of the link.
    pub tooltip: Option<String>,
}

/// The figure as the text of an SVG.
pub fn render(figure: &Scores, words: &Words) -> String {
    let _ = (figure, words);
    String::new()
}

/// The same as one of many small figures (220 by 112 units): name of the measurand
/// above, no codes, no links inside; a page may make the whole a link.
pub fn render_small(figure: &Scores, words: &Words) -> String {
    let _ = (figure, words);
    String::new()
}

/// One sentence that says what the figure shows, from its data.
pub fn caption(figure: &Scores, words: &Words) -> String {
    let _ = (figure, words);
    String::new()
}
