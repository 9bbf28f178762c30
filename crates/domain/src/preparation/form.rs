//! The form of a preparation: texts by the names of their fields.

use super::{Beside, Native, Preparation, Prepared, Quantity, Source, Step, Uncertainty, beside};
use crate::field::{FieldErrors, Problem, shortened};
use crate::number::{Decimal, Range};
use crate::text;
use std::collections::BTreeMap;

/// The most dilutions of a chain.
pub const MOST_STEPS: usize = 4;

const MASSES: [&str; 5] = ["ng", "µg", "mg", "g", "kg"];
const AMOUNTS: [&str; 8] = ["µL", "mL", "L", "ng", "µg", "mg", "g", "kg"];
const CONTENTS: [&str; 12] =
    ["pg/L", "ng/L", "µg/L", "mg/L", "g/L", "ng/mL", "µg/mL", "mg/mL", "µg/kg", "mg/kg", "µg/g", "mg/g"];
const PURITIES: [&str; 2] = ["%", "g/g"];

/// The units that may be chosen for a field of the form, such as `spike`.
pub fn unit_choices(field: &str) -> &'static [&'static str] {
    match field {
        "mass" => &MASSES,
        "purity" => &PURITIES,
        "stock" | "native" => &CONTENTS,
        _ => &AMOUNTS,
    }
}

/// What the organiser types for a preparation, by field: a number `spike`, its
/// unit `spike_unit`, and its standard uncertainty `spike_u`, in the same unit or,
/// with a percent sign, relative.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PreparationForm(pub BTreeMap<String, String>);

impl PreparationForm {
    /// The text of a field; empty where nothing was typed.
    pub fn get(&self, field: &str) -> &str {
        self.0.get(field).map_or("", String::as_str)
    }

    fn set(&mut self, field: &str, text: impl Into<String>) {
        self.0.insert(field.to_owned(), text.into());
    }

    fn set_quantity(&mut self, field: &str, quantity: &Quantity) {
        self.set(field, quantity.value.as_str());
        self.set(&format!("{field}_unit"), &quantity.unit);
        let u = match &quantity.uncertainty {
            Uncertainty::Absolute(u) => u.to_string(),
            Uncertainty::Percent(percent) => format!("{percent} %"),
        };
        self.set(&format!("{field}_u"), u);
    }

    /// The form that shows `preparation`.
    pub fn of(preparation: &Preparation) -> Self {
        let mut form = PreparationForm::default();
        form.set("substance", &preparation.substance);
        match &preparation.source {
            Source::Weighed { mass, solution } => {
                form.set("source", "weighed");
                form.set_quantity("mass", mass);
                form.set_quantity("solution", solution);
            }
            Source::Stock { content } => {
                form.set("source", "stock");
                form.set_quantity("stock", content);
            }
        }
        if let Some(purity) = &preparation.purity {
            form.set_quantity("purity", purity);
        }
        form.set("form", if preparation.factor.is_some() { "salt" } else { "same" });
        if let Some(factor) = &preparation.factor {
            form.set_quantity("factor", factor);
        }
        for (index, step) in preparation.steps.iter().enumerate() {
            form.set_quantity(&format!("d{}_taken", index + 1), &step.taken);
            form.set_quantity(&format!("d{}_total", index + 1), &step.total);
        }
        form.set_quantity("spike", &preparation.spike);
        form.set_quantity("item", &preparation.item);
        match &preparation.native {
            Native::Nothing => form.set("native_kind", "nothing"),
            Native::Content { content } => {
                form.set("native_kind", "content");
                form.set_quantity("native", content);
            }
            Native::Below { limit, unit } => {
                form.set("native_kind", "below");
                form.set("native", limit.as_str());
                form.set("native_unit", unit);
            }
        }
        form
    }

    /// Reads the form for a measurand in `unit`, computes the content, and asks for
    /// confirmation of a surprising one: `confirm_small`, `confirm_planned`.
    ///
    /// # Errors
    ///
    /// Every field that is not as it should be, and what is not confirmed.
    pub fn parse(&self, unit: &str, planned: Option<f64>) -> Result<(Preparation, Prepared), FieldErrors> {
        let preparation = self.read()?;
        let prepared = preparation.compute(unit)?;
        let mut errors = FieldErrors::new();
        if prepared.is_suspiciously_certain() && self.get("confirm_small") != "yes" {
            let percent = format!("{:.2}", prepared.percent());
            errors.push("confirm_small", Problem::new("preparation-small").with("percent", percent));
        }
        if let Some(Beside::PowerOfTen(power)) = planned.map(|planned| beside(prepared.value, planned))
            && self.get("confirm_planned") != "yes"
        {
            let key = if power > 0 { "preparation-times" } else { "preparation-parts" };
            let times = 10_u64.pow(power.unsigned_abs().min(18)).to_string();
            errors.push("confirm_planned", Problem::new(key).with("times", times).with("unit", unit));
        }
        errors.into_result((preparation, prepared))
    }

    fn read(&self) -> Result<Preparation, FieldErrors> {
        let mut errors = FieldErrors::new();
        let substance = text::line(&mut errors, "substance", self.get("substance"), true);
        let source = self.source(&mut errors);
        let weighed = self.get("source") == "weighed";
        let purity = self.purity(&mut errors, weighed);
        let factor = self.factor(&mut errors);
        let mut steps = Vec::new();
        for number in 1..=MOST_STEPS {
            let (taken, total) = (format!("d{number}_taken"), format!("d{number}_total"));
            if self.get(&taken).trim().is_empty() && self.get(&total).trim().is_empty() {
                continue;
            }
            let (taken, total) = (self.quantity(&mut errors, &taken), self.quantity(&mut errors, &total));
            if let (Some(taken), Some(total)) = (taken, total) {
                self.step_dilutes(&mut errors, number, &taken, &total);
                steps.push(Step { taken, total });
            }
        }
        let spike = self.quantity(&mut errors, "spike");
        let item = self.quantity(&mut errors, "item");
        let native = self.native(&mut errors);
        match (source, spike, item, native) {
            (Some(source), Some(spike), Some(item), Some(native)) => {
                errors.into_result(Preparation { substance, source, purity, factor, steps, spike, item, native })
            }
            _ => Err(errors),
        }
    }

    /// A dilution whose total is less than what was taken has its fields exchanged.
    fn step_dilutes(&self, errors: &mut FieldErrors, number: usize, taken: &Quantity, total: &Quantity) {
        if crate::import::same_unit(&taken.unit, &total.unit) && taken.value.value() > total.value.value() {
            errors.push(format!("d{number}_total"), Problem::new("preparation-step-exchanged"));
        }
    }

    fn source(&self, errors: &mut FieldErrors) -> Option<Source> {
        match self.get("source") {
            "weighed" => {
                let (mass, solution) = (self.quantity(errors, "mass"), self.quantity(errors, "solution"));
                Some(Source::Weighed { mass: mass?, solution: solution? })
            }
            "stock" => self.quantity(errors, "stock").map(|content| Source::Stock { content }),
            _ => {
                errors.push("source", Problem::new("preparation-source-missing"));
                None
            }
        }
    }

    fn purity(&self, errors: &mut FieldErrors, must: bool) -> Option<Quantity> {
        if self.get("purity").trim().is_empty() && !must {
            return None;
        }
        let purity = self.quantity(errors, "purity")?;
        let (value, percent) = (purity.value.value(), purity.unit == "%");
        let key = match percent {
            true if value > 100.0 => Some("preparation-purity-above"),
            // 0.985 in % is the purity in g/g.
            true if value <= 1.0 => Some("preparation-purity-share"),
            false if value > 1.0 => Some("preparation-purity-percent"),
            _ => None,
        };
        if let Some(key) = key {
            errors.push("purity", Problem::new(key).with("seen", &purity.value));
        }
        Some(purity)
    }

    /// A salt form without its factor is refused: forgetting it is a common mistake.
    fn factor(&self, errors: &mut FieldErrors) -> Option<Quantity> {
        let typed = self.get("factor").trim();
        match self.get("form") {
            "same" if typed.is_empty() => None,
            "same" => {
                errors.push("factor", Problem::new("preparation-factor-unused"));
                None
            }
            "salt" if typed.is_empty() => {
                errors.push("factor", Problem::new("preparation-factor-missing"));
                None
            }
            "salt" => {
                let value = errors.keep("factor", Decimal::positive(typed).map_err(Problem::from))?;
                if !(0.05..=20.0).contains(&value.value()) || value.value() == 1.0 {
                    errors.push("factor", Problem::new("preparation-factor-range").with("seen", &value));
                }
                // Molar masses are known so well that nothing need be typed.
                let zero = || Decimal::parse("0", Range::NonNegative).map_err(Problem::from);
                let uncertainty = match self.get("factor_u").trim() {
                    "" => errors.keep("factor_u", zero()).map(Uncertainty::Absolute),
                    u => uncertainty(errors, "factor_u", u),
                };
                Some(Quantity { value, unit: String::new(), uncertainty: uncertainty? })
            }
            _ => {
                errors.push("form", Problem::new("preparation-form-missing"));
                None
            }
        }
    }

    fn native(&self, errors: &mut FieldErrors) -> Option<Native> {
        let typed = self.get("native").trim();
        match self.get("native_kind") {
            "nothing" if typed.is_empty() => Some(Native::Nothing),
            "nothing" => {
                errors.push("native", Problem::new("preparation-native-unused"));
                None
            }
            "content" => self.quantity(errors, "native").map(|content| Native::Content { content }),
            "below" => {
                let bare = typed.trim_start_matches('<').trim();
                let limit = number(errors, "native", bare, Range::Positive);
                let unit = self.unit(errors, "native");
                Some(Native::Below { limit: limit?, unit: unit? })
            }
            _ => {
                errors.push("native_kind", Problem::new("preparation-native-missing"));
                None
            }
        }
    }

    fn quantity(&self, errors: &mut FieldErrors, field: &str) -> Option<Quantity> {
        let value = number(errors, field, self.get(field), Range::Positive);
        let unit = self.unit(errors, field);
        let u = format!("{field}_u");
        let uncertainty = uncertainty(errors, &u, self.get(&u));
        Some(Quantity { value: value?, unit: unit?, uncertainty: uncertainty? })
    }

    fn unit(&self, errors: &mut FieldErrors, field: &str) -> Option<String> {
        let name = format!("{field}_unit");
        let typed = self.get(&name).trim();
        let found = unit_choices(field).iter().find(|known| crate::import::same_unit(known, typed));
        if found.is_none() {
            let key = if typed.is_empty() { "preparation-unit-missing" } else { "preparation-unit-none" };
            errors.push(name, Problem::new(key).with("seen", shortened(typed)));
        }
        found.map(|unit| (*unit).to_owned())
    }
}

fn number(errors: &mut FieldErrors, field: &str, text: &str, range: Range) -> Option<Decimal> {
    if text.trim().is_empty() {
        errors.push(field, Problem::new("text-missing"));
        return None;
    }
    errors.keep(field, Decimal::parse(text, range).map_err(Problem::from))
}

/// `0.02` in the unit of the number, or `0.5 %` of it.
fn uncertainty(errors: &mut FieldErrors, field: &str, text: &str) -> Option<Uncertainty> {
    let text = text.trim();
    if text.is_empty() {
        errors.push(field, Problem::new("preparation-uncertainty-missing"));
        return None;
    }
    match text.strip_suffix('%') {
        Some(percent) => number(errors, field, percent, Range::NonNegative).map(Uncertainty::Percent),
        None => number(errors, field, text, Range::NonNegative).map(Uncertainty::Absolute),
    }
}
