//! Results as laboratories type and send them.
//!
//! What is typed is kept as texts by field name, so that nothing is lost
//! however wrong it is. Reading gives either what will be evaluated or all the
//! reasons why not; notes say what is allowed and yet worth a second look.

use crate::asks::Asks;
use crate::declared::{self, Declared};
use crate::field::{FieldErrors, Problem};
use crate::measurand::{Item, Measurand};
use crate::number::{Decimal, Range};
use crate::round::Round;
use crate::unit;
use jiff::Timestamp;
use roundel_selfcheck::Finding;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

mod forms;
mod reading;
#[cfg(test)]
mod tests;

pub use forms::form_field;
pub use reading::{read, two_texts_problem};

/// What a round asks of a laboratory: items, measurands, and what beside.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// The items.
    pub items: &'a [Item],
    /// The measurands, in their order.
    pub measurands: &'a [Measurand],
    /// What is asked beside results.
    pub asks: &'a Asks,
}

impl Asked<'_> {
    /// Whether the round has a field of this name.
    fn has_field(&self, name: &str) -> bool {
        let Some((owner, part)) = name.split_once('.') else { return false };
        let part = part.split_once('.').map_or(part, |(first, _)| first);
        match part {
            "state" | "v1" | "v2" | "v3" | "v4" | "u" | "k" | "loq" | "reason" => self.has_row(owner),
            "k_all" => self.has_item(owner),
            "u_as" => self.has_item(owner) || self.has_row(owner),
            _ if part.starts_with("unit") => unit::choices(self.measurands).iter().any(|choice| choice.field == name),
            _ => declared::has_field(self, name, owner, part),
        }
    }

    /// Whether an item has this label.
    pub(crate) fn has_item(&self, label: &str) -> bool {
        self.items.iter().any(|item| item.label == label)
    }

    /// Whether a measurand stands at the place that is written so.
    pub(crate) fn has_row(&self, place: &str) -> bool {
        place.parse().is_ok_and(|place: i64| self.measurands.iter().any(|m| m.position == place))
    }
}

/// What was typed, by field name: `12.v1` is the first value of the measurand
/// at place 12, `A.k_all` the coverage factor for all rows of item A, `A.u_as`
/// how the uncertainties of item A are given, and [`form_field`] how that of
/// one row is given where it differs; `all.unit` is the unit of the numbers.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Typed(pub BTreeMap<String, String>);

/// The longest text that a field keeps, in characters.
pub const LONGEST_FIELD: usize = 200;

impl Typed {
    /// The text of a field, trimmed; empty if it was never typed.
    pub fn get(&self, field: &str) -> &str {
        self.0.get(field).map_or("", |text| text.trim())
    }

    /// The text of a field, letter by letter.
    pub(crate) fn raw(&self, field: &str) -> &str {
        self.0.get(field).map_or("", String::as_str)
    }

    /// Writes a field; an empty text takes it away.
    pub fn set(&mut self, field: &str, text: &str) {
        if text.is_empty() {
            self.0.remove(field);
        } else {
            self.0.insert(field.to_owned(), text.to_owned());
        }
    }

    /// The fields of a posted form that the round has; all others are left out.
    pub fn posted<'a>(posted: impl Iterator<Item = (&'a str, &'a str)>, asked: &Asked<'_>) -> Typed {
        let known = posted.filter(|(name, _)| asked.has_field(name));
        Typed(known.map(|(name, text)| (name.to_owned(), text.chars().take(LONGEST_FIELD).collect())).collect())
    }

    /// These answers with the results of `other` in the place of their own.
    pub fn with_results_of(&self, other: &Typed) -> Typed {
        let beside = self.0.iter().filter(|(name, _)| !declared::is_of_results(name));
        let results = other.0.iter().filter(|(name, _)| declared::is_of_results(name));
        Typed(beside.chain(results).map(|(name, text)| (name.clone(), text.clone())).collect())
    }

    /// Whether anything is typed as a result, the unit aside.
    pub fn has_results(&self) -> bool {
        let results = self.0.iter().filter(|(name, _)| declared::is_of_results(name) && !name.starts_with("all."));
        results.into_iter().any(|(_, text)| !text.trim().is_empty())
    }

    /// Whether a number is typed anywhere.
    pub fn has_numbers(&self) -> bool {
        self.0.iter().any(|(name, text)| is_number_field(name) && !text.trim().is_empty())
    }
}

/// Whether numbers in the laboratory's unit stand in this field.
fn is_number_field(name: &str) -> bool {
    matches!(name.split_once('.').map(|(_, part)| part), Some("v1" | "v2" | "v3" | "v4" | "u" | "loq"))
}

/// A number as typed, and as it was read.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Number {
    /// As typed, letter by letter.
    pub typed: String,
    /// As read.
    pub decimal: Decimal,
}

/// An uncertainty as reported.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Uncertainty {
    /// U, in the unit of the measurand or in percent of the result.
    pub expanded: Number,
    /// Which of the two.
    pub form: UncertaintyForm,
    /// k; without it the uncertainty cannot be used for a score.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub coverage_factor: Option<Number>,
}

/// How an uncertainty is given.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum UncertaintyForm {
    /// In the unit of the measurand.
    Absolute,
    /// In percent of the result.
    Percent,
}

/// Why there is no result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reason {
    /// The analyte is not in the laboratory's scope.
    OutOfScope,
    /// No method is in routine use.
    NoMethod,
    /// An instrument was out of service.
    Instrument,
    /// The item was used up or damaged.
    Item,
    /// The laboratory's own quality control failed.
    QualityControl,
}

impl Reason {
    /// All reasons, in the order of the form.
    pub const ALL: [Reason; 5] =
        [Reason::OutOfScope, Reason::NoMethod, Reason::Instrument, Reason::Item, Reason::QualityControl];

    /// The word of the form and the catalogue.
    pub fn word(self) -> &'static str {
        match self {
            Reason::OutOfScope => "out_of_scope",
            Reason::NoMethod => "no_method",
            Reason::Instrument => "instrument",
            Reason::Item => "item",
            Reason::QualityControl => "quality_control",
        }
    }
}

/// What a laboratory reports for a measurand (F30).
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "state", rename_all = "snake_case", deny_unknown_fields)]
pub enum Reported {
    /// A quantified result.
    Value {
        /// The replicate values.
        values: Vec<Number>,
        /// Its uncertainty.
        #[serde(skip_serializing_if = "Option::is_none", default)]
        uncertainty: Option<Uncertainty>,
    },
    /// Below a limit.
    Below {
        /// The limit L of "<L".
        limit: Number,
    },
    /// Seen, and not quantified: no number, and no score.
    Identified,
    /// Not looked for.
    NotAnalysed {
        /// Why.
        reason: Reason,
    },
    /// Looked for, without a result.
    Failed {
        /// Why.
        reason: Reason,
    },
}

/// One row of what a laboratory sends.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// Place of the measurand in the round.
    pub position: i64,
    /// Label of the item.
    pub item: String,
    /// Analyte.
    pub analyte: String,
    /// Unit of the round, and of all numbers as read.
    pub unit: String,
    /// The unit in which the numbers were typed, where it is another.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub typed_unit: Option<String>,
    /// What it is expressed as; may be empty.
    pub expressed_as: String,
    /// The laboratory's own limit of quantification.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub loq: Option<Number>,
    /// The result.
    pub reported: Reported,
}

impl Reported {
    /// Whether it is a value or a limit.
    pub fn is_number(&self) -> bool {
        matches!(self, Reported::Value { .. } | Reported::Below { .. })
    }
}

impl Entry {
    /// The mean of the values, or none without a value.
    pub fn value(&self) -> Option<f64> {
        match &self.reported {
            Reported::Value { values, .. } => {
                let sum: f64 = values.iter().map(|value| value.decimal.value()).sum();
                Some(sum / values.len() as f64)
            }
            _ => None,
        }
    }

    /// U in the unit of the measurand, however it was given.
    pub fn expanded_uncertainty(&self) -> Option<f64> {
        let Reported::Value { uncertainty: Some(uncertainty), .. } = &self.reported else { return None };
        let size = uncertainty.expanded.decimal.value();
        match uncertainty.form {
            UncertaintyForm::Absolute => Some(size),
            UncertaintyForm::Percent => self.value().map(|x| (x * size / 100.0).abs()),
        }
    }

    /// k.
    pub fn coverage_factor(&self) -> Option<f64> {
        match &self.reported {
            Reported::Value { uncertainty: Some(uncertainty), .. } => {
                uncertainty.coverage_factor.as_ref().map(|k| k.decimal.value())
            }
            _ => None,
        }
    }
}

/// What one sending holds. Its text is stored and hashed as it is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Submission {
    /// `roundel-submission/1`.
    pub format: String,
    /// Code of the round.
    pub round: String,
    /// Code of the laboratory in this round.
    pub participant: String,
    /// 1 for the first sending, 2 for the first revision.
    pub version: i64,
    /// When the server took it.
    pub submitted_at: Timestamp,
    /// Whether that was after the deadline.
    pub late: bool,
    /// One entry a measurand of the round.
    pub results: Vec<Entry>,
    /// What was asked beside results.
    #[serde(skip_serializing_if = "Declared::is_empty", default)]
    pub declared: Declared,
}

/// The format of [`Submission`].
pub const SUBMISSION_FORMAT: &str = "roundel-submission/1";

/// What a form says, read.
#[derive(Clone, Debug, Default)]
pub struct Sheet {
    /// The rows that are complete and in order.
    pub entries: Vec<Entry>,
    /// What is wrong, by field name.
    pub errors: FieldErrors,
    /// Rows in which nothing was typed, by place.
    pub empty: Vec<i64>,
    /// What the laboratory is to be asked about its own numbers.
    pub findings: Vec<Finding>,
}

/// The two readings of a field that is to be asked about.
pub fn readings(problem: &Problem) -> Option<(&str, &str)> {
    Some((problem.value("first")?, problem.value("second")?))
}

/// The text of a submission: the same for the same values, and what the
/// receipt's hash is over.
pub fn document(
    round: &Round,
    participant: &str,
    version: i64,
    at: Timestamp,
    late: bool,
    results: Vec<Entry>,
    declared: Declared,
) -> String {
    let submission = Submission {
        format: SUBMISSION_FORMAT.to_owned(),
        round: round.code.clone(),
        participant: participant.to_owned(),
        version,
        submitted_at: at,
        late,
        results,
        declared,
    };
    serde_json::to_string_pretty(&submission).expect("a submission has only texts as keys")
}
