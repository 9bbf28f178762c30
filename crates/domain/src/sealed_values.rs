//! Assigned values that are sealed when a round opens (F60): everybody can check
//! after publication that they were not adapted to the results.

use crate::assemble::measurand_id;
use crate::measurand::{Item, Measurand};
use crate::package::canonical;
use crate::plan::{Assigned, GivenUncertainty};
use serde_json::{Value, json};

/// The format of the sealed text.
pub const FORMAT: &str = "roundel-sealed-values/1";

/// The text whose SHA-256 is published at opening, in canonical form (RFC 8785):
/// the salt and all values that do not come from the participants. `None` where
/// there are none: a consensus has nothing to seal. The salt keeps values from
/// being guessed, so it must be random and of 128 bits at least.
pub fn text(round: &str, items: &[Item], measurands: &[Measurand], salt: &str) -> Option<String> {
    let values: Vec<Value> = measurands.iter().filter_map(|measurand| value(items, measurand)).collect();
    if values.is_empty() {
        return None;
    }
    Some(canonical::text(&json!({ "format": FORMAT, "round": round, "salt": salt, "values": values })))
}

fn value(items: &[Item], measurand: &Measurand) -> Option<Value> {
    let plan = measurand.plan.as_ref()?;
    let item = items.iter().find(|item| item.id == measurand.item).map_or("", |item| item.label.as_str());
    let mut sealed = json!({ "measurand": measurand_id(item, &measurand.analyte), "unit": measurand.unit });
    if let Assigned::Absent { absent_below } = &plan.assigned {
        sealed["absent"] = true.into();
        if let Some(limit) = absent_below {
            sealed["absent_below"] = limit.to_string().into();
        }
        return Some(sealed);
    }
    let (basis, given) = plan.assigned.given_at_all()?;
    sealed["basis"] = basis.word().into();
    sealed["value"] = given.value.to_string().into();
    match &given.uncertainty {
        GivenUncertainty::Standard(u) => sealed["standard_uncertainty"] = u.to_string().into(),
        GivenUncertainty::Expanded { expanded, coverage_factor } => {
            sealed["expanded_uncertainty"] = expanded.to_string().into();
            sealed["coverage_factor"] = coverage_factor.to_string().into();
        }
    }
    Some(sealed)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::id::{ItemId, MeasurandId};
    use crate::plan::{Asked, PlanForm};
    use uuid::Uuid;

    fn measurand(position: i64, analyte: &str, form: PlanForm) -> Measurand {
        let asked = Asked { unit: "ng/L", has_required_loq: true, uncertainty: false };
        Measurand {
            id: MeasurandId(Uuid::nil()),
            item: ItemId(Uuid::nil()),
            position,
            analyte: analyte.to_owned(),
            unit: "ng/L".to_owned(),
            expressed_as: String::new(),
            decimals: 1,
            replicates: 1,
            required_loq: None,
            plan: Some(form.parse(asked).unwrap()),
        }
    }

    fn form(route: &str) -> PlanForm {
        let sigma = PlanForm { sigma_route: "percent".to_owned(), sigma: "25".to_owned(), ..PlanForm::default() };
        PlanForm { route: route.to_owned(), ..sigma }
    }

    /// Written by hand from RFC 8785: members sorted, no white space.
    #[test]
    fn salt_and_given_values_are_sealed_and_a_consensus_is_not() {
        let item = Item { id: ItemId(Uuid::nil()), position: 1, label: "A".to_owned(), matrix: String::new() };
        let given = PlanForm {
            value: "32.40".to_owned(),
            expanded_uncertainty: "0.8".to_owned(),
            coverage_factor: "2".to_owned(),
            ..form("reference")
        };
        let measurands = [
            measurand(1, "nitrate", given),
            measurand(2, "nitrite", form("by_count")),
            measurand(3, "bromate", form("absent")),
        ];

        assert_eq!(
            text("QW-1", std::slice::from_ref(&item), &measurands, "00ff").as_deref(),
            Some(
                "{\"format\":\"roundel-sealed-values/1\",\"round\":\"QW-1\",\"salt\":\"00ff\",\"values\":[\
                 {\"basis\":\"reference\",\"coverage_factor\":\"2\",\"expanded_uncertainty\":\"0.8\",\
                 \"measurand\":\"A/nitrate\",\"unit\":\"ng/L\",\"value\":\"32.40\"},\
                 {\"absent\":true,\"measurand\":\"A/bromate\",\"unit\":\"ng/L\"}]}"
            )
        );
        assert_eq!(text("QW-1", &[item], &measurands[1..2], "00ff"), None);
    }
}
