//! From texts to results, and to everything that keeps them from being results.

use super::*;
use crate::import::same_unit;
use crate::number;
use crate::{draft, unit};
use roundel_selfcheck::Row as Checked;

/// Reads what was typed for `item`, or for all items.
pub fn read(typed: &Typed, asked: &Asked<'_>, only: Option<&Item>) -> Sheet {
    let mut sheet = Sheet::default();
    let choices = unit::choices(asked.measurands);
    for measurand in asked.measurands {
        let Some(item) = asked.items.iter().find(|item| item.id == measurand.item) else { continue };
        if only.is_some_and(|only| only.id != item.id) {
            continue;
        }
        let choice = choices.iter().find(|choice| same_unit(&choice.unit, &measurand.unit));
        let unit = match choice {
            None => Unit { typed: &measurand.unit, power: 0, missing: "" },
            Some(choice) => match unit::power_between(typed.get(&choice.field), &measurand.unit) {
                Some(power) => Unit { typed: typed.get(&choice.field), power, missing: "" },
                None => Unit { typed: &measurand.unit, power: 0, missing: &choice.field },
            },
        };
        let needs_uncertainty = asked.asks.uncertainty;
        let mut row = Row { typed, items: asked.items, item, measurand, unit, needs_uncertainty, sheet: &mut sheet };
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
            owner == item.label || rows.into_iter().any(|m| owner == m.position.to_string())
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
            let span = asked.asks.span.as_ref().filter(|span| same_unit(&span.unit, &measurand.unit));
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
    /// Whether the round asks for an uncertainty with every value.
    needs_uncertainty: bool,
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
            typed_unit: (!same_unit(self.unit.typed, &self.measurand.unit)).then(|| self.unit.typed.to_owned()),
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
            } else if self.needs_uncertainty && self.text("u").is_empty() {
                self.fail("u", Problem::new("result-uncertainty-asked"));
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
        if self.needs_uncertainty && coverage_factor.is_none() && self.text("k").is_empty() {
            self.fail("k", Problem::new("result-factor-asked"));
        }
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
