//! Items and measurands: what a round asks for.

use crate::field::{FieldErrors, Problem, shortened};
use crate::id::{ItemId, MeasurandId};
use crate::number::Decimal;
use crate::plan::Plan;
use crate::text;

/// The most replicates of a result.
pub const MOST_REPLICATES: i64 = 4;
/// The most decimals that numbers of a measurand are shown with.
pub const MOST_DECIMALS: i64 = 8;

/// A proficiency-test item of a round.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// Its name for good.
    pub id: ItemId,
    /// Its place, from 1.
    pub position: i64,
    /// Its label, such as `A`.
    pub label: String,
    /// What it is made of.
    pub matrix: String,
}

impl Item {
    /// Reads a form: label and matrix.
    ///
    /// # Errors
    ///
    /// Every field that is not as it should be.
    pub fn parse(id: ItemId, position: i64, label: &str, matrix: &str) -> Result<Item, FieldErrors> {
        let mut errors = FieldErrors::new();
        let label = text::line(&mut errors, "label", label, true);
        // It stands in addresses and in the names of form fields.
        let plain = label.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
        if !label.is_empty() && (label.len() > 12 || !plain) {
            errors.push("label", Problem::new("item-label-form").with("seen", shortened(&label)));
        }
        let matrix = text::line(&mut errors, "matrix", matrix, false);
        errors.into_result(Item { id, position, label, matrix })
    }
}

/// An analyte in an item, as it is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Measurand {
    /// Its name for good.
    pub id: MeasurandId,
    /// The item.
    pub item: ItemId,
    /// Its place in the round, from 1: the name of its form fields.
    pub position: i64,
    /// The analyte.
    pub analyte: String,
    /// The unit in which results are given.
    pub unit: String,
    /// What the result is expressed as, such as the free acid. May be empty.
    pub expressed_as: String,
    /// Decimals that assigned values and results are shown with.
    pub decimals: i64,
    /// The most replicate values of a result.
    pub replicates: i64,
    /// The limit of quantification that the plan asks for, in the unit.
    pub required_loq: Option<Decimal>,
    /// How it is evaluated, once that is known.
    pub plan: Option<Plan>,
}

/// What the organiser types for a measurand.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct MeasurandForm {
    /// Label of the item.
    pub item: String,
    /// Analyte.
    pub analyte: String,
    /// Unit.
    pub unit: String,
    /// Expressed as.
    pub expressed_as: String,
    /// Decimals.
    pub decimals: String,
    /// Replicates.
    pub replicates: String,
    /// Required LOQ.
    pub required_loq: String,
}

impl MeasurandForm {
    /// Reads the form, for an item among `items`.
    ///
    /// # Errors
    ///
    /// Every field that is not as it should be.
    pub fn parse(&self, id: MeasurandId, position: i64, items: &[Item]) -> Result<Measurand, FieldErrors> {
        let mut errors = FieldErrors::new();
        let item = items.iter().find(|item| item.label == self.item.trim());
        if item.is_none() {
            errors.push("item", Problem::new("item-unknown").with("seen", shortened(self.item.trim())));
        }
        let analyte = text::line(&mut errors, "analyte", &self.analyte, true);
        let unit = text::line(&mut errors, "unit", &self.unit, true);
        let expressed_as = text::line(&mut errors, "expressed_as", &self.expressed_as, false);
        let decimals = count(&mut errors, "decimals", &self.decimals, 0, 0, MOST_DECIMALS);
        let replicates = count(&mut errors, "replicates", &self.replicates, 1, 1, MOST_REPLICATES);
        let required_loq = if self.required_loq.trim().is_empty() {
            None
        } else {
            errors.keep("required_loq", Decimal::positive(&self.required_loq).map_err(Problem::from))
        };
        let item = item.map_or(ItemId(id.0), |item| item.id);
        errors.into_result(Measurand {
            id,
            item,
            position,
            analyte,
            unit,
            expressed_as,
            decimals,
            replicates,
            required_loq,
            plan: None,
        })
    }
}

fn count(errors: &mut FieldErrors, field: &str, text: &str, default: i64, least: i64, most: i64) -> i64 {
    let text = text.trim();
    if text.is_empty() {
        return default;
    }
    match text.parse::<i64>() {
        Ok(n) if (least..=most).contains(&n) => n,
        _ => {
            let problem =
                Problem::new("count-range").with("seen", shortened(text)).with("least", least).with("most", most);
            errors.push(field, problem);
            default
        }
    }
}
