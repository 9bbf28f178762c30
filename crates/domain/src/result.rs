//! Results as laboratories type and send them.
//!
//! What is typed is kept as texts by field name, so that nothing is lost
//! however wrong it is. Reading gives either what will be evaluated or all the
//! reasons why not; notes say what is allowed and yet worth a second look.

use crate::asks::Asks;
use crate::declared::{self, Declared};
use crate::draft;
use crate::field::{FieldErrors, Problem};
use crate::measurand::{Item, Measurand};
use crate::number::{self, Decimal, Range};
use crate::round::Round;
use crate::unit;
use jiff::Timestamp;
use roundel_selfcheck::{Finding, Row as Checked};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

mod forms;
#[cfg(test)]
mod tests;

pub use forms::form_field;

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
        let is_item = || self.items.iter().any(|item| owner == item.label);
        let is_row = || self.measurands.iter().any(|m| owner == m.position.to_string());
        match part {
            "state" | "v1" | "v2" | "v3" | "v4" | "u" | "k" | "loq" | "reason" => is_row(),
            "k_all" | "analysed_on" => is_item(),
            "u_as" => is_item() || is_row(),
            _ if part.starts_with("unit") => owner == "all" && self.unit_field(name),
            _ => declared::has_field(self, name, owner, part),
        }
    }

    fn unit_field(&self, name: &str) -> bool {
        let plain = name.trim_end_matches(draft::OTHER).trim_end_matches(draft::KEEP);
        unit::choices(self.measurands).iter().any(|choice| choice.field == plain)
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

impl Sheet {
    /// Whether it can be sent.
    pub fn is_complete(&self) -> bool {
        self.errors.is_empty() && self.empty.is_empty()
    }
}

/// Reads what was typed for `item`, or for all items.
pub fn read(typed: &Typed, asked: &Asked<'_>, only: Option<&Item>) -> Sheet {
    let mut sheet = Sheet::default();
    let choices = unit::choices(asked.measurands);
    for measurand in asked.measurands {
        let Some(item) = asked.items.iter().find(|item| item.id == measurand.item) else { continue };
        if only.is_some_and(|only| only.id != item.id) {
            continue;
        }
        let choice = choices.iter().find(|choice| crate::import::same_unit(&choice.unit, &measurand.unit));
        let unit = match choice {
            None => Unit { typed: &measurand.unit, power: 0, missing: "" },
            Some(choice) => match unit::power_between(typed.get(&choice.field), &measurand.unit) {
                Some(power) => Unit { typed: typed.get(&choice.field), power, missing: "" },
                None => Unit { typed: &measurand.unit, power: 0, missing: &choice.field },
            },
        };
        let mut row = Row { typed, items: asked.items, item, measurand, unit, sheet: &mut sheet };
        row.read();
    }
    check_uncertainty_form(typed, asked.items, only, &mut sheet);
    two_texts(typed, asked, only, &mut sheet);
    if !asked.asks.no_self_check {
        sheet.findings = findings(&sheet.entries, asked);
    }
    sheet
}

/// Fields with two texts: a person is to choose.
fn two_texts(typed: &Typed, asked: &Asked<'_>, only: Option<&Item>, sheet: &mut Sheet) {
    for (name, other) in &typed.0 {
        let Some(field) = name.strip_suffix(draft::OTHER) else { continue };
        let owner = field.split('.').next().unwrap_or_default();
        let here = only.is_none_or(|item| {
            let rows = asked.measurands.iter().filter(|m| m.item == item.id);
            owner == item.label || owner == "all" || rows.into_iter().any(|m| owner == m.position.to_string())
        });
        if here && declared::is_of_results(field) && !other.trim().is_empty() {
            sheet.errors.push(field, two_texts_problem(typed.get(field), other));
        }
    }
}

/// The problem of a field that two people typed without seeing each other's text.
pub fn two_texts_problem(stored: &str, other: &str) -> Problem {
    Problem::new("draft-two-texts").with("stored", stored).with("other", other.trim())
}

/// What is to be asked about the entries: from them and from what the round
/// published to all.
fn findings(entries: &[Entry], asked: &Asked<'_>) -> Vec<Finding> {
    let rows: Vec<Checked> = entries
        .iter()
        .filter_map(|entry| {
            let measurand = asked.measurands.iter().find(|m| m.position == entry.position)?;
            let span = asked.asks.span.as_ref().filter(|span| crate::import::same_unit(&span.unit, &measurand.unit));
            let values = match &entry.reported {
                Reported::Value { values, .. } => {
                    values.iter().map(|v| (v.decimal.value(), v.decimal.to_string())).collect()
                }
                _ => Vec::new(),
            };
            let uncertainty = match &entry.reported {
                Reported::Value { uncertainty, .. } => uncertainty.as_ref(),
                _ => None,
            };
            Some(Checked {
                position: entry.position,
                item: entry.item.clone(),
                analyte: entry.analyte.clone(),
                values,
                below: match &entry.reported {
                    Reported::Below { limit } => Some(limit.decimal.value()),
                    _ => None,
                },
                loq: entry.loq.as_ref().map(|loq| loq.decimal.value()),
                uncertainty: entry.expanded_uncertainty(),
                uncertainty_is_absolute: uncertainty.is_some_and(|u| u.form == UncertaintyForm::Absolute),
                factor: entry.coverage_factor(),
                planned: measurand.replicates,
                required_loq: measurand.required_loq.as_ref().map(Decimal::value),
                span: span.map(|span| (span.from.value(), span.to.value())),
            })
        })
        .collect();
    roundel_selfcheck::check(&rows)
}

/// An uncertainty in an item needs the word whether it is absolute or percent.
fn check_uncertainty_form(typed: &Typed, items: &[Item], only: Option<&Item>, sheet: &mut Sheet) {
    for item in items.iter().filter(|item| only.is_none_or(|only| only.id == item.id)) {
        let field = format!("{}.k_all", item.label);
        if !typed.get(&field).is_empty() {
            let reading = typed.get(&format!("{field}.reading"));
            let chosen = (!reading.is_empty()).then_some(reading);
            if let Err(problem) = Decimal::parse_with_choice(typed.get(&field), Range::Positive, chosen) {
                sheet.errors.push(field, problem.into());
            }
        }
    }
}

/// The unit in which the numbers of a row are typed.
#[derive(Clone, Copy)]
struct Unit<'a> {
    typed: &'a str,
    /// Typed numbers times ten to this power are in the unit of the round.
    power: i32,
    /// The field in which it was not chosen yet; empty when it was.
    missing: &'a str,
}

struct Row<'a> {
    typed: &'a Typed,
    items: &'a [Item],
    item: &'a Item,
    measurand: &'a Measurand,
    unit: Unit<'a>,
    sheet: &'a mut Sheet,
}

impl Row<'_> {
    fn field(&self, part: &str) -> String {
        format!("{}.{part}", self.measurand.position)
    }

    fn text(&self, part: &str) -> &str {
        self.typed.get(&self.field(part))
    }

    fn fail(&mut self, part: &str, problem: Problem) {
        let field = self.field(part);
        self.sheet.errors.push(field, problem);
    }

    fn read(&mut self) {
        let before = self.sheet.errors.len();
        let texts: Vec<(String, String)> = (1..=self.measurand.replicates)
            .map(|n| (format!("v{n}"), self.text(&format!("v{n}")).to_owned()))
            .filter(|(_, text)| !text.is_empty())
            .collect();
        let loq = self.optional("loq", self.unit.power);
        if !self.unit.missing.is_empty() && (!texts.is_empty() || loq.is_some() || !self.text("u").is_empty()) {
            self.miss_unit();
        }
        let reported = match self.text("state") {
            "not_analysed" => self.reason(&texts).map(|reason| Reported::NotAnalysed { reason }),
            "failed" => self.reason(&texts).map(|reason| Reported::Failed { reason }),
            "identified" => self.without_number(&texts),
            state @ ("" | "value" | "below") => {
                let state = state.to_owned();
                if texts.is_empty() {
                    self.without_value(&state);
                    None
                } else {
                    self.quantity(&state, &texts)
                }
            }
            other => {
                let problem = Problem::new("state-unknown").with("seen", other);
                self.fail("state", problem);
                None
            }
        };
        if self.sheet.errors.len() > before {
            return;
        }
        let Some(reported) = reported else { return };
        let entry = Entry {
            position: self.measurand.position,
            item: self.item.label.clone(),
            analyte: self.measurand.analyte.clone(),
            unit: self.measurand.unit.clone(),
            typed_unit: (!crate::import::same_unit(self.unit.typed, &self.measurand.unit))
                .then(|| self.unit.typed.to_owned()),
            expressed_as: self.measurand.expressed_as.clone(),
            loq,
            reported,
        };
        self.sheet.entries.push(entry);
    }

    /// Numbers were typed, and not yet in which unit: said once for the form.
    fn miss_unit(&mut self) {
        if self.sheet.errors.get(self.unit.missing).is_none() {
            let problem = Problem::new("unit-missing").with("unit", &self.measurand.unit);
            self.sheet.errors.push(self.unit.missing, problem);
        }
    }

    /// No value was typed: nothing at all, or something that needs one.
    fn without_value(&mut self, state: &str) {
        let part = ["u", "k", "loq"].into_iter().find(|part| !self.text(part).is_empty());
        match (state, part) {
            ("", None) => self.sheet.empty.push(self.measurand.position),
            ("below", _) => self.fail("v1", Problem::new("result-limit-missing")),
            _ => self.fail("v1", Problem::new("result-value-missing")),
        }
    }

    /// Identified and not quantified: neither a number nor an uncertainty.
    fn without_number(&mut self, texts: &[(String, String)]) -> Option<Reported> {
        self.no_number(texts);
        self.no_uncertainty_of_a_limit();
        Some(Reported::Identified)
    }

    fn no_number(&mut self, texts: &[(String, String)]) {
        if let Some((part, text)) = texts.first() {
            let problem = Problem::new("result-value-and-state").with("seen", text);
            self.fail(part, problem);
        }
    }

    fn reason(&mut self, texts: &[(String, String)]) -> Option<Reason> {
        self.no_number(texts);
        let reason = Reason::ALL.into_iter().find(|reason| reason.word() == self.text("reason"));
        if reason.is_none() {
            self.fail("reason", Problem::new("result-reason-missing"));
        }
        reason
    }

    fn quantity(&mut self, state: &str, texts: &[(String, String)]) -> Option<Reported> {
        let mut values = Vec::new();
        let mut limits = Vec::new();
        for (part, text) in texts {
            let choice = self.text(&format!("{part}.reading")).to_owned();
            let chosen = (!choice.is_empty()).then_some(choice.as_str());
            // In a row that says "below", a bare number is the limit.
            let written =
                if state == "below" && !text.starts_with(['<', '>']) { format!("<{text}") } else { text.clone() };
            let chosen_limit =
                chosen.map(|c| if written != *text && !c.starts_with('<') { format!("<{c}") } else { c.to_owned() });
            match number::parse_with_choice(&written, false, chosen_limit.as_deref()) {
                Ok(reading) => {
                    let decimal = reading.reported().decimal.shifted(self.unit.power);
                    let number = Number { typed: text.clone(), decimal };
                    if reading.is_below() { limits.push(number) } else { values.push(number) }
                }
                Err(problem) => self.fail(part, problem.into()),
            }
        }
        match (values.len(), limits.len()) {
            (0, 0) => None,
            (0, 1) if state != "value" => {
                self.no_uncertainty_of_a_limit();
                limits.pop().map(|limit| Reported::Below { limit })
            }
            (0, 1) => {
                self.fail("state", Problem::new("result-state-contradicts"));
                None
            }
            (0, _) => {
                self.fail("v2", Problem::new("result-one-limit"));
                None
            }
            (_, 0) => {
                let uncertainty = self.uncertainty();
                Some(Reported::Value { values, uncertainty })
            }
            _ => {
                self.fail("v1", Problem::new("result-mixed"));
                None
            }
        }
    }

    fn no_uncertainty_of_a_limit(&mut self) {
        if !self.text("u").is_empty() {
            self.fail("u", Problem::new("result-limit-with-uncertainty"));
        }
    }

    fn uncertainty(&mut self) -> Option<Uncertainty> {
        let expanded = self.optional("u", 0);
        let own_factor = self.optional("k", 0);
        let Some(mut expanded) = expanded else {
            if own_factor.is_some() {
                self.fail("u", Problem::new("result-factor-alone"));
            }
            return None;
        };
        let own = self.typed.get(&form_field(self.items, self.measurand.position));
        let of_item = self.typed.get(&format!("{}.u_as", self.item.label));
        let form = match if own.is_empty() { of_item } else { own } {
            "absolute" => UncertaintyForm::Absolute,
            "percent" => UncertaintyForm::Percent,
            _ => {
                self.fail("u", Problem::new("result-uncertainty-form").with("item", &self.item.label));
                return None;
            }
        };
        if form == UncertaintyForm::Absolute {
            expanded.decimal = expanded.decimal.shifted(self.unit.power);
        }
        let coverage_factor = own_factor.or_else(|| self.factor_of_all());
        Some(Uncertainty { expanded, form, coverage_factor })
    }

    /// The factor given once for all rows of the item.
    fn factor_of_all(&self) -> Option<Number> {
        let field = format!("{}.k_all", self.item.label);
        let text = self.typed.get(&field);
        let reading = self.typed.get(&format!("{field}.reading"));
        let chosen = (!reading.is_empty()).then_some(reading);
        let decimal = Decimal::parse_with_choice(text, Range::Positive, chosen).ok()?;
        Some(Number { typed: text.to_owned(), decimal })
    }

    /// A number above zero, times ten to the power of `power`.
    fn optional(&mut self, part: &str, power: i32) -> Option<Number> {
        let text = self.text(part).to_owned();
        if text.is_empty() {
            return None;
        }
        let choice = self.text(&format!("{part}.reading")).to_owned();
        let chosen = (!choice.is_empty()).then_some(choice.as_str());
        match Decimal::parse_with_choice(&text, Range::Positive, chosen) {
            Ok(decimal) => Some(Number { typed: text, decimal: decimal.shifted(power) }),
            Err(problem) => {
                self.fail(part, problem.into());
                None
            }
        }
    }
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
