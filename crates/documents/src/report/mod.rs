//! The report of a round: the contents a to t of ISO/IEC 17043, 7.4.3 (letters of
//! the edition of 2010), as a PDF (PDF/A-3a, PDF/UA-1) and as the parts of a page.
//!
//! A [`Report`] holds no word of any language but what people wrote: it is stored
//! as it was issued, and every copy in either language is a function of it.
//! Laboratories stand in it under their codes, in the order of the codes.

mod block;
mod checks;
mod content;
mod data;
mod lists;
mod measurand;
mod overview;
mod precision;

pub use block::{Block, Cell, Column, Content, Drawn, Fact, Medium, Section, Table};
pub use content::{changes, content, content_of_item};
pub use data::{
    Amendment, Assigned, Authorised, Budget, Class, Decision, Evidence, Group, Groups, GroupsOf, Homogeneity, Item,
    Kind, Measurand, Note, PlanOf, Provider, Row, Rule, Sheet, SigmaRule, Stability, Text,
};

pub use precision::{Precision, PrecisionCell, PrecisionNumbers, PrecisionOf, PrecisionTest};

use crate::Error;
use crate::typeset::{self, Template};
use crate::words::Words;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// The value of `format` in a report.
pub const FORMAT: &str = "roundel-report/1";

/// Fewer laboratories than this are shown nothing of each other (D8).
pub const FEWEST_SHOWN: usize = 5;

/// Everything that is printed in a report.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Report {
    /// [`FORMAT`].
    pub format: String,
    /// Demonstration data: said on every page.
    pub demonstration: bool,
    /// The scheme's name.
    pub scheme: String,
    /// The round's code.
    pub round: String,
    /// The round's title.
    pub round_title: String,
    /// Number of the report, as `QW-1-R`.
    pub number: String,
    /// Its version, from 1.
    pub version: i64,
    /// Its status.
    pub status: Status,
    /// Number of the publication that it reports; none before one.
    pub publication: Option<i64>,
    /// The version that it replaces, and why.
    pub replaces: Option<Replaces>,
    /// When it was issued, as `2024-04-19 12:00 UTC`.
    pub issued: String,
    /// Year, month and day of that.
    pub issued_on: [i32; 3],
    /// Who runs the scheme.
    pub provider: Provider,
    /// Who authorised it; none before that.
    pub authorised: Option<Authorised>,
    /// The plan that holds.
    pub plan: Option<PlanOf>,
    /// What people wrote, by key: those of the plan and of the commentary.
    pub texts: Vec<Text>,
    /// The items of the round.
    pub items: Vec<Item>,
    /// Homogeneity, where there are data.
    pub homogeneity: Vec<Homogeneity>,
    /// Stability, where there are data.
    pub stability: Vec<Stability>,
    /// In the order of the form.
    pub measurands: Vec<Measurand>,
    /// Groups of methods; none where the round did not ask for them.
    pub groups: Option<Groups>,
    /// How many laboratories took part, and how many of these sent results.
    pub participants: usize,
    /// Of these, with results.
    pub reported: usize,
    /// Days as they are shown, oldest first: key and text.
    pub dates: Vec<(String, String)>,
    /// What was decided on single results and on measurands, oldest first.
    pub decisions: Vec<Decision>,
    /// Amendments of the plan, oldest first.
    pub amendments: Vec<Amendment>,
    /// Units that were replaced, by item: how many.
    pub replaced_units: Vec<(String, usize)>,
    /// How many evaluations were tried on copies.
    pub trials: i64,
    /// Rules whose values are not the usual ones.
    pub rules: Vec<Rule>,
    /// Names of the method sheets of what was used.
    pub sheets: Vec<Sheet>,
    /// What the numbers can be made again from.
    pub evidence: Evidence,
    /// Where complaints and appeals go; empty where there is none.
    pub complaints: String,
    /// The precision of the method, where the plan makes a study of it of the round.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub precision: Option<Precision>,
}

/// The status of a report.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    /// Before publication; said on every page.
    Preliminary,
    /// Before the final report, or while a correction is open; said on every page.
    Interim,
    /// Final.
    Final,
    /// Final, in the place of an earlier one.
    Corrected,
}

impl Status {
    /// The word in the keys of texts.
    pub fn word(self) -> &'static str {
        match self {
            Status::Preliminary => "preliminary",
            Status::Interim => "interim",
            Status::Final => "final",
            Status::Corrected => "corrected",
        }
    }
}

/// The report that this one replaces.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Replaces {
    /// Its version.
    pub version: i64,
    /// Why, one sentence.
    pub reason: String,
    /// Values that changed: measurand, before, after, as printed in English.
    pub changed: Vec<Changed>,
}

/// A value that a corrected report changed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Changed {
    /// The measurand, as `A/nitrate`.
    pub measurand: String,
    /// Its unit.
    pub unit: String,
    /// x_pt before.
    pub before: Option<f64>,
    /// x_pt after.
    pub after: Option<f64>,
    /// How many classes changed.
    pub classes: usize,
}

impl Report {
    /// Its text as it is stored and hashed.
    ///
    /// # Errors
    ///
    /// Never for numbers that are finite.
    pub fn to_json(&self) -> Result<String, Error> {
        Ok(serde_json::to_string(self)?)
    }

    /// Reads a text that was written by [`Report::to_json`].
    ///
    /// # Errors
    ///
    /// Where the text is no report.
    pub fn from_json(text: &str) -> Result<Report, Error> {
        Ok(serde_json::from_str(text)?)
    }

    /// What is different from the report `before`: assigned values and classes, by
    /// measurand.
    pub fn changes_from(&self, before: &Report) -> Vec<Changed> {
        let mut changes = Vec::new();
        for new in &self.measurands {
            let old = before.measurands.iter().find(|old| old.item == new.item && old.analyte == new.analyte);
            let Some(old) = old else { continue };
            let value = |of: &Measurand| of.assigned.as_ref().filter(|_| !of.few).map(|assigned| assigned.value);
            let classes: HashMap<&str, Class> = old.results.iter().map(|row| (row.code.as_str(), row.class)).collect();
            let changed = |row: &&Row| classes.get(row.code.as_str()).is_some_and(|class| *class != row.class);
            let classes = new.results.iter().filter(changed).count();
            let (before, after) = (value(old), value(new));
            if before != after || classes > 0 {
                changes.push(Changed { measurand: new.name(), unit: new.unit.clone(), before, after, classes });
            }
        }
        changes
    }

    /// A text by its key.
    pub(crate) fn text(&self, key: &str) -> Option<&Text> {
        self.texts.iter().find(|text| text.key == key)
    }
}

/// The report as a PDF. `superseded_by` is the version that took its place.
///
/// Characters that no carried font has are printed as a question mark in a diamond
/// (U+FFFD); the document does not fail for them.
///
/// It takes some seconds of one core for a large round: call it where blocking is
/// allowed.
///
/// # Errors
///
/// [`Error`] when the document cannot be set or exported: a fault of the template,
/// not of the data.
pub fn render(report: &Report, words: &Words, superseded_by: Option<i64>) -> Result<Vec<u8>, Error> {
    let identifier = format!("{} version {} {}", report.number, report.version, words.tag());
    let data = content::data(report, words, superseded_by);
    typeset::pdf(Template::Report, &data, &[], &identifier)
}
