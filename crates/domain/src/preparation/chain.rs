//! The content of an item by the law of propagation of uncertainty.

use super::{Native, Preparation, Quantity, Source};
use crate::field::{FieldErrors, Problem};
use crate::unit::{self, Per};
use roundel_stats::budget::{Input, propagate};

/// Share of the native content above which a formulation alone is weak (F13).
const NATIVE_SHARE: f64 = 0.2;
/// Relative uncertainty below which the service asks for confirmation (D6).
const SMALL: f64 = 0.01;

/// A quantity of the chain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Component {
    /// The mass that was weighed.
    Mass,
    /// The solution that it was dissolved in.
    Solution,
    /// The content of a stock.
    Stock,
    /// The purity.
    Purity,
    /// M(analyte)/M(substance).
    Factor,
    /// What is taken in a dilution, from 1.
    Taken(usize),
    /// What a dilution is filled up to, from 1.
    Total(usize),
    /// What is added to the item.
    Spike,
    /// What the item amounts to.
    Item,
    /// What the matrix held before.
    Native,
}

/// A line of the budget.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Which quantity.
    pub component: Component,
    /// Its number as it was typed.
    pub typed: String,
    /// Its number.
    pub value: f64,
    /// Its unit; empty for a ratio.
    pub unit: String,
    /// Its standard uncertainty, in its unit.
    pub standard_uncertainty: f64,
    /// How much the content moves with it, in the unit of the measurand per unit of the quantity.
    pub sensitivity: f64,
    /// Its share in the square of the uncertainty of the content, of 1.
    pub share: f64,
}

/// The content of an item by its preparation.
#[derive(Clone, Debug, PartialEq)]
pub struct Prepared {
    /// x_form, in the unit of the measurand.
    pub value: f64,
    /// Its standard uncertainty, in the same unit.
    pub standard_uncertainty: f64,
    /// What was added, in the same unit.
    pub spike: f64,
    /// What was there before, in the same unit.
    pub native: f64,
    /// The budget, in the order of the chain.
    pub parts: Vec<Part>,
}

impl Prepared {
    /// Whether what was there before is so much that the formulation alone is weak.
    pub fn native_is_large(&self) -> bool {
        self.native > NATIVE_SHARE * self.value
    }

    /// Whether the uncertainty is so small that it has to be confirmed.
    pub fn is_suspiciously_certain(&self) -> bool {
        self.standard_uncertainty < SMALL * self.value
    }

    /// The native content in percent of the whole.
    pub fn native_percent(&self) -> f64 {
        100.0 * self.native / self.value
    }

    /// The standard uncertainty in percent of the content.
    pub fn percent(&self) -> f64 {
        100.0 * self.standard_uncertainty / self.value
    }
}

/// What a unit of the chain measures, and its power of ten in g or L.
fn amount(unit: &str) -> Option<(Per, i32)> {
    const MASSES: [(&str, i32); 5] = [("ng", -9), ("µg", -6), ("mg", -3), ("g", 0), ("kg", 3)];
    const VOLUMES: [(&str, i32); 3] = [("µL", -6), ("mL", -3), ("L", 0)];
    let find = |units: &[(&str, i32)], per: Per| {
        let found = units.iter().find(|(name, _)| crate::import::same_unit(name, unit));
        found.map(|(_, power)| (per, *power))
    };
    find(&MASSES, Per::Mass).or_else(|| find(&VOLUMES, Per::Volume))
}

/// A number that the content of the spike goes with, or against.
struct Factor<'a> {
    component: Component,
    quantity: &'a Quantity,
    /// 1 or −1.
    exponent: f64,
    /// Power of ten from its unit to the base.
    power: i32,
}

/// The chain while it is followed.
struct Chain<'a> {
    errors: FieldErrors,
    factors: Vec<Factor<'a>>,
}

impl<'a> Chain<'a> {
    fn push(&mut self, component: Component, quantity: &'a Quantity, exponent: f64, power: i32) {
        self.factors.push(Factor { component, quantity, exponent, power });
    }

    /// What an amount measures; notes a unit that is no amount.
    fn amount(&mut self, field: &str, quantity: &Quantity) -> Option<(Per, i32)> {
        let found = amount(&quantity.unit);
        if found.is_none() {
            self.misfit(field, "preparation-unit-amount", quantity);
        }
        found
    }

    fn misfit(&mut self, field: &str, key: &'static str, quantity: &Quantity) {
        self.errors.push(field, Problem::new(key).with("unit", &quantity.unit));
    }

    /// What the content of the first solution is given per.
    fn source(&mut self, source: &'a Source) -> Option<Per> {
        match source {
            Source::Weighed { mass, solution } => {
                let weighed = self.amount("mass_unit", mass);
                if let Some((Per::Volume, _)) = weighed {
                    self.misfit("mass_unit", "preparation-unit-mass", mass);
                }
                let (per, power) = self.amount("solution_unit", solution)?;
                self.push(Component::Mass, mass, 1.0, weighed?.1);
                self.push(Component::Solution, solution, -1.0, power);
                Some(per)
            }
            Source::Stock { content } => {
                let Some((per, power)) = unit::per(&content.unit) else {
                    self.misfit("stock_unit", "preparation-unit-content", content);
                    return None;
                };
                self.push(Component::Stock, content, 1.0, power);
                Some(per)
            }
        }
    }

    /// What the content is given per after a dilution.
    fn dilute(&mut self, number: usize, before: Per, taken: &'a Quantity, total: &'a Quantity) -> Option<Per> {
        let first = self.amount(&format!("d{number}_taken_unit"), taken);
        let second = self.amount(&format!("d{number}_total_unit"), total);
        let ((of_taken, p), (of_total, q)) = (first?, second?);
        self.push(Component::Taken(number), taken, 1.0, p);
        self.push(Component::Total(number), total, -1.0, q);
        if of_taken == of_total {
            return Some(before);
        }
        if of_taken == before {
            return Some(of_total);
        }
        self.misfit(&format!("d{number}_taken_unit"), "preparation-unit-step", taken);
        None
    }
}

impl Preparation {
    /// The content of the item in `unit`.
    ///
    /// # Errors
    ///
    /// The fields of the form whose units do not lead there, and an uncertainty
    /// that is zero as a whole.
    pub fn compute(&self, unit: &str) -> Result<Prepared, FieldErrors> {
        let mut chain = Chain { errors: FieldErrors::new(), factors: Vec::new() };
        let target = unit::per(unit);
        if target.is_none() {
            chain.errors.push("item_unit", Problem::new("preparation-unit-unknown").with("unit", unit));
        }
        let mut per = chain.source(&self.source);
        if let Some(purity) = &self.purity {
            let power = if purity.unit == "%" { -2 } else { 0 };
            chain.push(Component::Purity, purity, 1.0, power);
        }
        if let Some(factor) = &self.factor {
            chain.push(Component::Factor, factor, 1.0, 0);
        }
        for (index, step) in self.steps.iter().enumerate() {
            per = per.and_then(|per| chain.dilute(index + 1, per, &step.taken, &step.total));
        }
        let spike = chain.amount("spike_unit", &self.spike);
        let item = chain.amount("item_unit", &self.item);
        if let (Some(per), Some((of_spike, power))) = (per, spike) {
            if of_spike != per {
                chain.misfit("spike_unit", "preparation-unit-spike", &self.spike);
            }
            chain.push(Component::Spike, &self.spike, 1.0, power);
        }
        if let (Some((wanted, _)), Some((of_item, power))) = (target, item) {
            if of_item != wanted {
                let problem = Problem::new("preparation-unit-item").with("unit", &self.item.unit).with("of", unit);
                chain.errors.push("item_unit", problem);
            }
            chain.push(Component::Item, &self.item, -1.0, power);
        }
        let native = self.native_part(&mut chain.errors, unit);
        let factors = chain.errors.into_result(chain.factors)?;
        finish(&factors, native, target.map_or(0, |(_, power)| power))
    }

    /// The native content with its sensitivity; none where there is nothing.
    fn native_part(&self, errors: &mut FieldErrors, unit: &str) -> Option<Part> {
        let (typed, value, own, u) = match &self.native {
            Native::Nothing => return None,
            Native::Content { content } => {
                (content.value.to_string(), content.value.value(), content.unit.as_str(), content.standard())
            }
            Native::Below { limit, unit } => {
                let u = roundel_stats::homogeneity::of_range(limit.value());
                (format!("<{limit}"), limit.value() / 2.0, unit.as_str(), u)
            }
        };
        let Some(power) = unit::power_between(own, unit) else {
            errors.push("native_unit", Problem::new("preparation-unit-native").with("unit", own).with("of", unit));
            return None;
        };
        Some(Part {
            component: Component::Native,
            typed,
            value,
            unit: own.to_owned(),
            standard_uncertainty: u,
            sensitivity: 10_f64.powi(power),
            share: 0.0,
        })
    }
}

fn finish(factors: &[Factor<'_>], native: Option<Part>, power: i32) -> Result<Prepared, FieldErrors> {
    let tens: i32 = factors.iter().map(|f| f.power * f.exponent as i32).sum::<i32>() - power;
    let product: f64 = factors.iter().map(|f| f.quantity.value.value().powf(f.exponent)).product();
    let spike = product * 10_f64.powi(tens);
    let mut parts: Vec<Part> = factors
        .iter()
        .map(|f| Part {
            component: f.component,
            typed: f.quantity.value.to_string(),
            value: f.quantity.value.value(),
            unit: f.quantity.unit.clone(),
            standard_uncertainty: f.quantity.standard(),
            sensitivity: f.exponent * spike / f.quantity.value.value(),
            share: 0.0,
        })
        .collect();
    let before = native.as_ref().map_or(0.0, |part| part.value * part.sensitivity);
    parts.extend(native);
    let input = |part: &Part| Input { standard_uncertainty: part.standard_uncertainty, sensitivity: part.sensitivity };
    let inputs: Vec<Input> = parts.iter().map(input).collect();
    let value = spike + before;
    let Ok(found) = propagate(&inputs) else {
        let mut errors = FieldErrors::new();
        errors.push("spike_u", Problem::new("preparation-no-uncertainty"));
        return Err(errors);
    };
    if !value.is_finite() || value <= 0.0 {
        let mut errors = FieldErrors::new();
        errors.push("spike", Problem::new("preparation-out-of-range"));
        return Err(errors);
    }
    for (part, share) in parts.iter_mut().zip(&found.shares) {
        part.share = *share;
    }
    Ok(Prepared { value, standard_uncertainty: found.standard_uncertainty, spike, native: before, parts })
}
