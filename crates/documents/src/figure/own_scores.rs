//! One laboratory's scores over all measurands: a row for each analyte, a panel
//! for each item, all on one axis (ISO 13528:2022, 10.4, turned on its side).

use crate::mark::{Limits, Mark, Score};
use crate::words::Words;

/// One laboratory's scores.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnScores {
    /// Prefix of the ids inside the SVG; unique on its page.
    pub id: String,
    /// The laboratory's code, as it is shown.
    pub code: String,
    /// The limits drawn, and the cut. Scores with other limits (E_n among z) belong
    /// in a figure of their own.
    pub limits: Limits,
    /// One per item, in the order of the form.
    pub groups: Vec<Group>,
    /// Width in CSS pixels, as [`super::WIDE`] or [`super::NARROW`].
    pub width: u32,
}

/// The scores in one item.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// The item as it is shown, as "Item B".
    pub name: String,
    /// In the order of the form; an analyte stands in one row in all panels.
    pub scores: Vec<OwnScore>,
}

/// One score.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnScore {
    /// The analyte as it is shown.
    pub analyte: String,
    /// The score, drawn on a stem from zero; a bound as an arrow to lower scores.
    pub score: Score,
    /// Its class.
    pub mark: Mark,
    /// Address of a link on the point.
    pub href: Option<String>,
    /// Text of the tooltip, and name of the link.
    pub tooltip: Option<String>,
}

/// The figure as the text of an SVG.
pub fn render(figure: &OwnScores, words: &Words) -> String {
    let _ = (figure, words);
    String::new()
}

/// One sentence that says what the figure shows, from its data.
pub fn caption(figure: &OwnScores, words: &Words) -> String {
    let _ = (figure, words);
    String::new()
}
