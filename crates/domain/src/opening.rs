//! What must be there before a round can open.

use crate::frozen::Standing;
use crate::measurand::{Item, Measurand};
use crate::round::Round;
use jiff::Timestamp;

/// Something that is missing, or in the way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Missing {
    /// The round has no item.
    Items,
    /// These items have no measurand.
    Measurands(Vec<String>),
    /// These measurands, as `A/nitrate`, have neither an assigned value nor a
    /// rule for one.
    Plans(Vec<String>),
    /// No laboratory is enrolled.
    Laboratories,
    /// The deadline is over.
    Deadline,
    /// The plan is not frozen and signed by two persons.
    Signatures(Standing),
}

/// All that is missing, in the order in which it is set up. Empty: the round
/// can open.
pub fn missing(
    round: &Round,
    items: &[Item],
    measurands: &[Measurand],
    participants: usize,
    plan: Standing,
    now: Timestamp,
) -> Vec<Missing> {
    let mut missing = Vec::new();
    if items.is_empty() {
        missing.push(Missing::Items);
    }
    let empty: Vec<String> = items
        .iter()
        .filter(|item| measurands.iter().all(|m| m.item != item.id))
        .map(|item| item.label.clone())
        .collect();
    if !empty.is_empty() {
        missing.push(Missing::Measurands(empty));
    }
    let open: Vec<String> = measurands
        .iter()
        .filter(|m| m.plan.is_none())
        .map(|m| {
            let label = items.iter().find(|item| item.id == m.item).map_or("?", |item| item.label.as_str());
            format!("{label}/{}", m.analyte)
        })
        .collect();
    if !open.is_empty() {
        missing.push(Missing::Plans(open));
    }
    if participants == 0 {
        missing.push(Missing::Laboratories);
    }
    if round.closes_at <= now {
        missing.push(Missing::Deadline);
    }
    if plan != Standing::Signed {
        missing.push(Missing::Signatures(plan));
    }
    missing
}
