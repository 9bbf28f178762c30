//! The results of one measurand in rising order, with the uncertainty that each
//! laboratory reported, the assigned value and the limits
//! (ISO 13528:2022, 10.1 and 10.3; clause 10.3 from memory).

use super::Audience;
use crate::mark::{Limits, Mark};
use crate::words::Words;

/// One figure of results.
#[derive(Clone, Debug, PartialEq)]
pub struct Results {
    /// Prefix of the ids inside the SVG; unique on its page.
    pub id: String,
    /// The measurand as it is shown, as "carbamazepine, item B".
    pub measurand: String,
    /// The unit of every number here, as it is shown.
    pub unit: String,
    /// The assigned value, where there is one.
    pub assigned: Option<Assigned>,
    /// Standard deviation for proficiency assessment, in `unit`.
    pub sigma_pt: Option<f64>,
    /// Limits, in multiples of `sigma_pt`.
    pub limits: Limits,
    /// Robust mean of the counting results in `unit`, for the caption.
    pub robust_mean: Option<f64>,
    /// One per result, in any order.
    pub points: Vec<ResultPoint>,
    /// Who will see it.
    pub audience: Audience,
    /// Width in CSS pixels, as [`super::WIDE`] or [`super::NARROW`].
    pub width: u32,
}

/// The assigned value of a measurand.
#[derive(Clone, Debug, PartialEq)]
pub struct Assigned {
    /// In the unit of the figure.
    pub value: f64,
    /// Expanded uncertainty of it (k = 2), in the same unit.
    pub expanded_uncertainty: Option<f64>,
    /// How it was found, to follow the value, as "by formulation"; may be empty.
    pub route: String,
}

/// What a laboratory reported.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reading {
    /// A value, and its expanded uncertainty where one was given.
    Value {
        /// In the unit of the figure.
        value: f64,
        /// Half the length of the whisker, in the same unit.
        expanded_uncertainty: Option<f64>,
    },
    /// "<" and its limit, in the unit of the figure.
    Below(f64),
}

/// One result.
#[derive(Clone, Debug, PartialEq)]
pub struct ResultPoint {
    /// The laboratory's code, as it is shown.
    pub code: String,
    /// What it reported; a reading that is not finite is not drawn.
    pub reading: Reading,
    /// Its class.
    pub mark: Mark,
    /// Left out of consensus and summary: drawn hollow.
    pub excluded: bool,
    /// The reader's own: ringed, with the code beside it.
    pub own: bool,
    /// Address of a link on the point.
    pub href: Option<String>,
    /// Text of the tooltip, and name of the link.
    pub tooltip: Option<String>,
}

/// The figure as the text of an SVG.
pub fn render(figure: &Results, words: &Words) -> String {
    let _ = (figure, words);
    String::new()
}

/// One sentence that says what the figure shows, from its data.
pub fn caption(figure: &Results, words: &Words) -> String {
    let _ = (figure, words);
    String::new()
}
