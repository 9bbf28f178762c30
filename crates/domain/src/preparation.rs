//! How an item was made: from what was weighed or taken to the content that it
//! must have, with its uncertainty by propagation (ISO 13528:2022 7.3).
//!
//! Every number has its unit. A chain whose units do not lead to that of the
//! measurand is refused; one that leads to a power of ten beside the planned
//! value is told so, because no dimension tells ng from µg.

mod chain;
mod form;
#[cfg(test)]
mod tests;

pub use chain::{Component, Part, Prepared};
pub use form::{MOST_STEPS, PreparationForm, unit_choices};

use crate::number::Decimal;
use serde::{Deserialize, Serialize};

/// A standard uncertainty as typed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Uncertainty {
    /// In the unit of its number.
    Absolute(Decimal),
    /// In percent of its number.
    Percent(Decimal),
}

/// A number with its unit and its standard uncertainty.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Quantity {
    /// The number, above zero.
    pub value: Decimal,
    /// Its unit.
    pub unit: String,
    /// Its standard uncertainty.
    pub uncertainty: Uncertainty,
}

impl Quantity {
    /// The standard uncertainty in the unit of the number.
    pub fn standard(&self) -> f64 {
        match &self.uncertainty {
            Uncertainty::Absolute(u) => u.value(),
            Uncertainty::Percent(percent) => self.value.value() * percent.value() / 100.0,
        }
    }
}

/// What the chain begins with.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "from", rename_all = "snake_case", deny_unknown_fields)]
pub enum Source {
    /// A substance that was weighed and dissolved.
    Weighed {
        /// Its mass.
        mass: Quantity,
        /// Volume or mass of the solution.
        solution: Quantity,
    },
    /// A solution of known content.
    Stock {
        /// Its content.
        content: Quantity,
    },
}

/// Volumes or masses of one dilution.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// What is taken.
    pub taken: Quantity,
    /// What it is filled up to.
    pub total: Quantity,
}

/// What the matrix holds of the analyte before anything is added.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum Native {
    /// It is proven that there is nothing, as in ultrapure water.
    Nothing,
    /// A measured content.
    Content {
        /// The content.
        content: Quantity,
    },
    /// Less than a limit L: L/2 with u = L/(2√3).
    Below {
        /// The limit.
        limit: Decimal,
        /// Its unit.
        unit: String,
    },
}

/// How an item was made, for one analyte.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Preparation {
    /// The substance, its batch, who made it and when.
    pub substance: String,
    /// What the chain begins with.
    pub source: Source,
    /// The purity, in % or g/g; none where the content of a stock has it.
    pub purity: Option<Quantity>,
    /// M(analyte)/M(substance), where the substance is a salt or another form.
    pub factor: Option<Quantity>,
    /// Dilutions, in their order.
    pub steps: Vec<Step>,
    /// What is added to the item.
    pub spike: Quantity,
    /// What the item amounts to.
    pub item: Quantity,
    /// What it held before.
    pub native: Native,
}

/// How a prepared content stands to the planned one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Beside {
    /// Within a tenth.
    Near,
    /// A power of ten beside it, within a quarter: 3 for 1000 times.
    PowerOfTen(i32),
    /// Anything else; the ratio.
    Apart(f64),
}

/// Compares a content with the planned one.
pub fn beside(prepared: f64, planned: f64) -> Beside {
    let ratio = prepared / planned;
    if (ratio - 1.0).abs() <= 0.1 {
        return Beside::Near;
    }
    let power = ratio.log10().round();
    let rest = ratio / 10_f64.powf(power);
    if power != 0.0 && (0.75..=1.25).contains(&rest) { Beside::PowerOfTen(power as i32) } else { Beside::Apart(ratio) }
}
