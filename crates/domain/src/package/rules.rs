//! What the parts of a package must be to each other.

use std::collections::{HashMap, HashSet};

use super::fields::Notes;
use super::json::{Node, Value};
use super::{Measurand, Reported, ReportedResult, Score, SigmaBasis};

/// Values with the JSON nodes that they were read from.
pub(super) struct Listed<'a, T> {
    nodes: &'a [Node],
    values: &'a [T],
}

impl<'a, T> Listed<'a, T> {
    pub(super) fn new(nodes: &'a [Node], values: &'a [T]) -> Self {
        Self { nodes, values }
    }

    /// Leaves out what is no object: nothing can be said about it.
    fn pairs(&self) -> impl Iterator<Item = (&'a Node, &'a T)> {
        self.nodes.iter().zip(self.values).filter(|(node, _)| matches!(node.value, Value::Object(_)))
    }
}

/// Checks all rules that need more than one field.
pub(super) fn check(
    notes: &mut Notes,
    measurands: Listed<'_, Measurand>,
    results: Listed<'_, ReportedResult>,
    is_list: bool,
) {
    // A measurand whose id cannot be read may be the one that a result means.
    let ids_are_known = is_list && measurands.values.iter().all(|measurand| !measurand.id.is_empty());
    let mut known: HashMap<&str, &Measurand> = HashMap::new();
    let censored: HashSet<&str> = results
        .values
        .iter()
        .filter(|result| matches!(result.reported, Reported::Below(_)))
        .map(|result| result.measurand.as_str())
        .collect();
    for (node, measurand) in measurands.pairs() {
        check_measurand(notes, node, measurand, censored.contains(measurand.id.as_str()));
        if !measurand.id.is_empty() && known.insert(&measurand.id, measurand).is_some() {
            notes.add(member(node, "id"), format!("a second measurand with the id {:?}; ids are unique", measurand.id));
        }
    }
    check_results(notes, &results, &known, ids_are_known);
}

/// The member of an object, or the object where it is missing.
fn member<'n>(node: &'n Node, name: &str) -> &'n Node {
    let Value::Object(members) = &node.value else {
        return node;
    };
    members.iter().find(|(member, _)| member == name).map_or(node, |(_, member)| member)
}

fn has(node: &Node, name: &str) -> bool {
    !std::ptr::eq(member(node, name), node)
}

fn check_measurand(notes: &mut Notes, node: &Node, measurand: &Measurand, has_bounds: bool) {
    check_repeated(notes, node);
    if !measurand.is_present() {
        for name in ["assigned_value", "sigma_pt"] {
            if has(node, name) {
                notes.add(member(node, name), format!("{name:?} is not allowed where \"present\" is false"));
            }
        }
        if !has(node, "required_loq") && !has(node, "absent_below") {
            notes.add(node, "\"present\" is false; expected \"required_loq\" or \"absent_below\"");
        }
        return;
    }
    if !has(node, "assigned_value") {
        notes.add(node, "the field \"assigned_value\" is missing");
    }
    let wanted = measurand.scores().iter().find(|score| matches!(score, Score::Z | Score::ZPrime));
    let may_have_value =
        measurand.assigned_value.as_ref().is_some_and(|value| value.given().is_some() || value.consensus().is_some());
    if !has(node, "sigma_pt") && may_have_value {
        match wanted {
            Some(Score::Z) => notes.add(node, "the field \"sigma_pt\" is missing; the score z needs it"),
            Some(_) => notes.add(node, "the field \"sigma_pt\" is missing; the score z_prime needs it"),
            None if has_bounds && measurand.asks_for_class() => {
                notes.add(node, "the field \"sigma_pt\" is missing; the bound of a result below a limit needs it");
            }
            None => {}
        }
    }
    if let Some(sigma) = &measurand.sigma_pt
        && sigma.basis == SigmaBasis::Horwitz
        && !has(node, "mass_fraction_per_unit")
    {
        notes.add(node, "the field \"mass_fraction_per_unit\" is missing; \"horwitz\" needs it");
    }
    check_sigma(notes, node, measurand);
}

/// σ_pt must be above zero, where it can be known before the evaluation.
fn check_sigma(notes: &mut Notes, node: &Node, measurand: &Measurand) {
    if let Some(sigma) = crate::evaluation::planned_sigma(measurand)
        && (sigma <= 0.0 || sigma.is_infinite())
    {
        notes.add(member(node, "sigma_pt"), format!("sigma_pt comes out as {sigma}; expected a number above 0"));
    }
}

/// Words that may stand only once in a list.
fn check_repeated(notes: &mut Notes, node: &Node) {
    let lists =
        [Some(member(node, "scores")), Some(member(node, "assigned_value")).map(|value| member(value, "participants"))];
    for list in lists.into_iter().flatten() {
        let Value::List(items) = &list.value else {
            continue;
        };
        let mut seen = HashSet::new();
        for item in items {
            if let Value::Text(text) = &item.value
                && !seen.insert(text.as_str())
            {
                notes.add(item, format!("{text:?} is listed twice"));
            }
        }
    }
}

fn check_results(
    notes: &mut Notes,
    results: &Listed<'_, ReportedResult>,
    known: &HashMap<&str, &Measurand>,
    ids_are_known: bool,
) {
    let mut seen = HashSet::new();
    let mut organisations = HashSet::new();
    for (node, result) in results.pairs() {
        let (participant, measurand) = (result.participant.as_str(), result.measurand.as_str());
        if participant.is_empty() || measurand.is_empty() {
            continue;
        }
        if !seen.insert((participant, measurand)) {
            notes.add(node, format!("a second result of {participant:?} for {measurand:?}; expected one"));
        }
        match known.get(measurand) {
            Some(plan) => check_count(notes, node, result, plan),
            None if ids_are_known => {
                notes.add(member(node, "measurand"), format!("there is no measurand with the id {measurand:?}"));
            }
            None => {}
        }
        if let Some(organisation) = result.organisation.as_deref()
            && !organisation.is_empty()
            && result.counts()
            && !organisations.insert((organisation, measurand))
        {
            notes.add(
                member(node, "organisation"),
                format!("a second result of the organisation {organisation:?} for {measurand:?} without \"exclude\"; at most one may count"),
            );
        }
    }
}

fn check_count(notes: &mut Notes, node: &Node, result: &ReportedResult, plan: &Measurand) {
    if let Reported::Values(values) = &result.reported
        && plan.replicates.is_none_or(|most| most > 0)
        && values.len() > plan.replicates() as usize
    {
        notes.add(
            member(node, "values"),
            format!("{} values; {:?} allows at most {}", values.len(), plan.id, plan.replicates()),
        );
    }
}
