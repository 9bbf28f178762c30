//! Results as laboratories type and send them.
//!
//! What is typed is kept as texts by field name, so that nothing is lost
//! however wrong it is. Reading gives either what will be evaluated or all the
//! reasons why not; notes say what is allowed and yet worth a second look.

use crate::field::{FieldErrors, Problem};
use crate::measurand::{Item, Measurand};
use crate::number::{self, Decimal, Range, Reading};
use crate::round::Round;
use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

mod forms;
#[cfg(test)]
mod tests;

pub use forms::form_field;

/// What was typed, by field name: `12.v1` is the first value of the measurand
/// at place 12, `A.k_all` the coverage factor for all rows of item A, `A.u_as`
/// how the uncertainties of item A are given, and [`form_field`] how that of
/// one row is given where it differs.
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

    /// Takes over the fields of a posted form that belong to `measurands` and
    /// `items`; all others are not of this round and left out.
    pub fn take<'a>(
        &mut self,
        posted: impl Iterator<Item = (&'a str, &'a str)>,
        item: &Item,
        measurands: &[Measurand],
    ) {
        for (name, text) in posted {
            let Some((owner, part)) = name.split_once('.') else { continue };
            let is_row = || measurands.iter().any(|m| m.item == item.id && owner == m.position.to_string());
            let known = match part.split_once('.').map_or(part, |(first, _)| first) {
                "k_all" => owner == item.label,
                "u_as" => owner == item.label || is_row(),
                "state" | "v1" | "v2" | "v3" | "v4" | "u" | "k" | "loq" | "reason" => is_row(),
                _ => false,
            };
            if known {
                self.0.insert(name.to_owned(), text.chars().take(LONGEST_FIELD).collect());
            }
        }
    }
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
    /// Unit.
    pub unit: String,
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
}

/// The format of [`Submission`].
pub const SUBMISSION_FORMAT: &str = "roundel-submission/1";

/// Something that is allowed and yet worth a second look before sending.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// Place of the measurand.
    pub position: i64,
    /// What.
    pub problem: Problem,
}

/// What a form says, read.
#[derive(Clone, Debug, Default)]
pub struct Sheet {
    /// The rows that are complete and in order.
    pub entries: Vec<Entry>,
    /// What is wrong, by field name.
    pub errors: FieldErrors,
    /// Rows in which nothing was typed, by place.
    pub empty: Vec<i64>,
    /// What is worth a second look.
    pub notes: Vec<Note>,
}

impl Sheet {
    /// Whether it can be sent.
    pub fn is_complete(&self) -> bool {
        self.errors.is_empty() && self.empty.is_empty()
    }
}

/// Reads what was typed for `item`, or for all items.
pub fn read(typed: &Typed, items: &[Item], measurands: &[Measurand], only: Option<&Item>) -> Sheet {
    let mut sheet = Sheet::default();
    for measurand in measurands {
        let Some(item) = items.iter().find(|item| item.id == measurand.item) else { continue };
        if only.is_some_and(|only| only.id != item.id) {
            continue;
        }
        let mut row = Row { typed, items, item, measurand, sheet: &mut sheet };
        row.read();
    }
    check_uncertainty_form(typed, items, only, &mut sheet);
    sheet
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

struct Row<'a> {
    typed: &'a Typed,
    items: &'a [Item],
    item: &'a Item,
    measurand: &'a Measurand,
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

    fn note(&mut self, problem: Problem) {
        self.sheet.notes.push(Note { position: self.measurand.position, problem });
    }

    fn read(&mut self) {
        let before = self.sheet.errors.len();
        let texts: Vec<(String, String)> = (1..=self.measurand.replicates)
            .map(|n| (format!("v{n}"), self.text(&format!("v{n}")).to_owned()))
            .filter(|(_, text)| !text.is_empty())
            .collect();
        let loq = self.optional("loq");
        let reported = match self.text("state") {
            "not_analysed" => self.reason(&texts).map(|reason| Reported::NotAnalysed { reason }),
            "failed" => self.reason(&texts).map(|reason| Reported::Failed { reason }),
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
            expressed_as: self.measurand.expressed_as.clone(),
            loq,
            reported,
        };
        self.look(&entry);
        self.sheet.entries.push(entry);
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

    fn reason(&mut self, texts: &[(String, String)]) -> Option<Reason> {
        if let Some((part, text)) = texts.first() {
            let problem = Problem::new("result-value-and-state").with("seen", text);
            self.fail(part, problem);
        }
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
                Ok(Reading::Value(read)) => values.push(Number { typed: text.clone(), decimal: read.decimal }),
                Ok(Reading::Below(read)) => limits.push(Number { typed: text.clone(), decimal: read.decimal }),
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
        let expanded = self.optional("u");
        let own_factor = self.optional("k");
        let Some(expanded) = expanded else {
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

    fn optional(&mut self, part: &str) -> Option<Number> {
        let text = self.text(part).to_owned();
        if text.is_empty() {
            return None;
        }
        let choice = self.text(&format!("{part}.reading")).to_owned();
        let chosen = (!choice.is_empty()).then_some(choice.as_str());
        match Decimal::parse_with_choice(&text, Range::Positive, chosen) {
            Ok(decimal) => Some(Number { typed: text, decimal }),
            Err(problem) => {
                self.fail(part, problem.into());
                None
            }
        }
    }

    /// Notes on a row that is in order, from the laboratory's own numbers and
    /// the published plan only.
    fn look(&mut self, entry: &Entry) {
        match &entry.reported {
            Reported::Below { limit } => {
                if let Some(required) = &self.measurand.required_loq
                    && limit.decimal.value() > required.value()
                {
                    self.note(
                        Problem::new("note-limit-above-required")
                            .with("limit", &limit.decimal)
                            .with("required", required),
                    );
                }
                if let Some(loq) = &entry.loq
                    && limit.decimal.value() < loq.decimal.value()
                {
                    self.note(
                        Problem::new("note-limit-below-loq").with("limit", &limit.decimal).with("loq", &loq.decimal),
                    );
                }
            }
            Reported::Value { values, uncertainty } => {
                if let (Some(x), Some(loq)) = (entry.value(), &entry.loq)
                    && x < loq.decimal.value()
                {
                    self.note(Problem::new("note-value-below-loq").with("loq", &loq.decimal));
                }
                if (values.len() as i64) < self.measurand.replicates {
                    let problem = Problem::new("note-fewer-replicates")
                        .with("count", values.len())
                        .with("planned", self.measurand.replicates);
                    self.note(problem);
                }
                if let Some(uncertainty) = uncertainty {
                    self.look_at_uncertainty(entry, uncertainty);
                }
            }
            Reported::NotAnalysed { .. } | Reported::Failed { .. } => {}
        }
    }

    fn look_at_uncertainty(&mut self, entry: &Entry, uncertainty: &Uncertainty) {
        match &uncertainty.coverage_factor {
            None => self.note(Problem::new("note-factor-missing")),
            Some(k) if !(1.0..=4.0).contains(&k.decimal.value()) => {
                self.note(Problem::new("note-factor-unusual").with("k", &k.decimal));
            }
            Some(_) => {}
        }
        if let (Some(x), Some(u)) = (entry.value(), entry.expanded_uncertainty())
            && x > 0.0
        {
            let percent = 100.0 * u / x;
            if !(1.0..=100.0).contains(&percent) {
                self.note(Problem::new("note-uncertainty-unusual").with("percent", format!("{percent:.1}")));
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
) -> String {
    let submission = Submission {
        format: SUBMISSION_FORMAT.to_owned(),
        round: round.code.clone(),
        participant: participant.to_owned(),
        version,
        submitted_at: at,
        late,
        results,
    };
    serde_json::to_string_pretty(&submission).expect("a submission has only texts as keys")
}
