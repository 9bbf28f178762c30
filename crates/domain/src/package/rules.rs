//! What the parts of a package must be to each other.

use std::collections::{HashMap, HashSet};

use super::fields::{Members, Reader, quoted};
use super::reading::{Listed, Spot};
use super::{AssignedValue, Measurand, Reported, ReportedResult, Score, SigmaBasis};

/// The rules between the fields of one measurand, which has just been read.
pub(super) fn within(reader: &mut Reader<'_>, members: &Members, plan: &Measurand) {
    let place = members.place;
    if !plan.is_present() {
        for name in ["assigned_value", "sigma_pt"] {
            if members.has(name) {
                note_member(reader, place, name, format!("{name:?} is not allowed where \"present\" is false"));
            }
        }
        if !members.has("required_loq") && !members.has("absent_below") {
            reader.note(place, "\"present\" is false; expected \"required_loq\" or \"absent_below\"");
        }
        return;
    }
    if !members.has("assigned_value") {
        reader.note(place, "the field \"assigned_value\" is missing");
    }
    if !members.has("sigma_pt")
        && may_have_value(plan)
        && let Some(score) = score_that_needs_sigma(plan)
    {
        let name = if *score == Score::Z { "z" } else { "z_prime" };
        reader.note(place, format!("the field \"sigma_pt\" is missing; the score {name} needs it"));
    }
    if plan.sigma_pt.as_ref().is_some_and(|sigma| sigma.basis == SigmaBasis::Horwitz)
        && !members.has("mass_fraction_per_unit")
    {
        reader.note(place, "the field \"mass_fraction_per_unit\" is missing; \"horwitz\" needs it");
    }
    let unread = plan.assigned_value.as_ref().and_then(AssignedValue::given).is_some_and(|given| given.value.is_nan());
    // It must be above zero, where it can be known before the evaluation.
    if !unread
        && let Some(sigma) = crate::evaluation::planned_sigma(plan)
        && (sigma <= 0.0 || sigma.is_infinite())
    {
        note_member(reader, place, "sigma_pt", format!("sigma_pt comes out as {sigma}; expected a number above 0"));
    }
}

fn may_have_value(plan: &Measurand) -> bool {
    plan.assigned_value.as_ref().is_some_and(|value| value.given().is_some() || value.consensus().is_some())
}

fn score_that_needs_sigma(plan: &Measurand) -> Option<&Score> {
    plan.scores().iter().find(|score| matches!(score, Score::Z | Score::ZPrime))
}

/// Notes a problem of a member of the object at `place`, which the reader's
/// pointer leads to.
fn note_member(reader: &mut Reader<'_>, place: usize, name: &str, message: String) {
    let length = reader.pointer.len();
    reader.pointer.push('/');
    reader.pointer.push_str(name);
    let member = reader.cursor.at(place).member(name).map_or(place, |mut member| member.place());
    reader.note(member, message);
    reader.pointer.truncate(length);
}

/// The rules between entries, once all of them are known.
pub(super) fn between(reader: &mut Reader<'_>, measurands: &Listed<Measurand>, results: &Listed<ReportedResult>) {
    let mut known: HashMap<&str, &Measurand> = HashMap::new();
    let censored: HashSet<&str> = results
        .values
        .iter()
        .filter(|result| matches!(result.reported, Reported::Below(_)))
        .map(|result| result.measurand.as_str())
        .collect();
    for (plan, spot) in measurands.values.iter().zip(&measurands.spots) {
        reader.pointer = format!("/measurands/{}", spot.index);
        if known.insert(&plan.id, plan).is_some() {
            let message = format!("a second measurand with the id {}; ids are unique", quoted(&plan.id));
            note_member(reader, spot.place, "id", message);
        }
        if censored.contains(plan.id.as_str()) {
            check_bound(reader, spot, plan);
        }
    }
    for (result, spot) in results.values.iter().zip(&results.spots) {
        reader.pointer = format!("/results/{}", spot.index);
        match known.get(result.measurand.as_str()) {
            Some(plan) => check_count(reader, spot, result, plan),
            // A measurand whose id cannot be read may be the one that is meant.
            None if measurands.is_whole => {
                let message = format!("there is no measurand with the id {}", quoted(&result.measurand));
                note_member(reader, spot.place, "measurand", message);
            }
            None => {}
        }
    }
    check_second_results(reader, results);
    check_organisations(reader, results);
    reader.pointer.clear();
}

/// A result below a limit has a bound, which needs σ_pt.
fn check_bound(reader: &mut Reader<'_>, spot: &Spot, plan: &Measurand) {
    let has_sigma = reader.cursor.at(spot.place).member("sigma_pt").is_some();
    let unsaid = plan.is_present() && score_that_needs_sigma(plan).is_none();
    if !has_sigma && unsaid && plan.asks_for_class() && may_have_value(plan) {
        reader.note(spot.place, "the field \"sigma_pt\" is missing; the bound of a result below a limit needs it");
    }
}

fn check_count(reader: &mut Reader<'_>, spot: &Spot, result: &ReportedResult, plan: &Measurand) {
    if let Reported::Values(values) = &result.reported
        && plan.replicates.is_none_or(|most| most > 0)
        && values.len() > plan.replicates() as usize
    {
        let message = format!("{} values; {} allows at most {}", values.len(), quoted(&plan.id), plan.replicates());
        note_member(reader, spot.place, "values", message);
    }
}

fn check_second_results(reader: &mut Reader<'_>, results: &Listed<ReportedResult>) {
    let key = |number: usize| (results.values[number].measurand.as_str(), results.values[number].participant.as_str());
    for number in repeated((0..results.values.len()).collect(), key) {
        let ((measurand, participant), spot) = (key(number), results.spots[number]);
        reader.pointer = format!("/results/{}", spot.index);
        reader.note(
            spot.place,
            format!("a second result of {} for {}; expected one", quoted(participant), quoted(measurand)),
        );
    }
}

fn check_organisations(reader: &mut Reader<'_>, results: &Listed<ReportedResult>) {
    let key = |number: usize| {
        let result = &results.values[number];
        (result.measurand.as_str(), result.organisation.as_deref().unwrap_or_default())
    };
    let named = |number: &usize| results.values[*number].counts() && !key(*number).1.is_empty();
    for number in repeated((0..results.values.len()).filter(named).collect(), key) {
        let ((measurand, organisation), spot) = (key(number), results.spots[number]);
        reader.pointer = format!("/results/{}", spot.index);
        let message = format!(
            "a second result of the organisation {} for {} without \"exclude\"; at most one may count",
            quoted(organisation),
            quoted(measurand),
        );
        note_member(reader, spot.place, "organisation", message);
    }
}

/// Those of the numbers whose key an earlier one has. Sorted numbers take a
/// quarter of the memory that a set of keys takes.
fn repeated<'k>(mut numbers: Vec<usize>, key: impl Fn(usize) -> (&'k str, &'k str)) -> Vec<usize> {
    numbers.sort_by(|a, b| key(*a).cmp(&key(*b)));
    numbers.windows(2).filter(|pair| key(pair[0]) == key(pair[1])).map(|pair| pair[1]).collect()
}
