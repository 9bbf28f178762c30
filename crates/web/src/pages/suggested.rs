//! Texts for the checklist of a plan that follow from what the round already says.
//! They are offered, and written only where somebody takes them.

use super::{Frame, planned};
use crate::show;
use roundel_domain::asks::Arrival;
use roundel_domain::checklist::{Checklist, Heading};
use roundel_domain::frozen::Content;
use roundel_domain::plan::Assigned;
use roundel_store::installation::Installation;
use std::collections::BTreeMap;

/// What the suggestions are made from.
pub struct Known<'a> {
    /// The provider.
    pub provider: &'a Installation,
    /// What the plan would say now.
    pub content: &'a Content,
    /// How many laboratories are enrolled.
    pub enrolled: usize,
    /// How many independent organisations they belong to.
    pub organisations: usize,
}

/// A text for each heading of which the round says enough.
pub fn texts(f: &Frame, known: &Known<'_>) -> Checklist {
    let mut all = Checklist::default();
    let Content { round, measurands, items, asks, .. } = known.content;
    let provider = known.provider;
    let contact = provider.contact.replace('\n', ", ");
    let named =
        f.t3("checklist-suggest-provider", "provider", &provider.provider, "contact", contact, "person", &f.person);
    all.set(Heading::Provider, &named);
    if known.enrolled > 0 {
        let text = f.t2("checklist-suggest-expected", "count", known.enrolled, "organisations", known.organisations);
        all.set(Heading::Expected, &text);
    }
    if !measurands.is_empty() {
        all.set(Heading::Measurands, &measurand_text(f, known.content));
        all.set(Heading::Statistics, &statistics(f, known.content));
        all.set(Heading::Traceability, &traceability(f, known.content));
        all.set(Heading::Evaluation, &f.t("checklist-suggest-evaluation"));
    }
    let declared = if asks.declaration { "yes" } else { "no" };
    let permuted = if asks.arrival == Arrival::Codes { "yes" } else { "no" };
    all.set(Heading::Collusion, &f.t2("checklist-suggest-collusion", "declared", declared, "labels", permuted));
    let deadline = show::instant(round.closes_at, &round.time_zone);
    all.set(Heading::Timetable, &f.t1("checklist-suggest-timetable", "deadline", deadline));
    let method = if asks.method { "yes" } else { "no" };
    all.set(Heading::Methods, &f.t1("checklist-suggest-methods", "asked", method));
    let uncertainty = if asks.uncertainty { "yes" } else { "no" };
    all.set(Heading::Reporting, &f.t2("checklist-suggest-reporting", "items", items.len(), "uncertainty", uncertainty));
    all.set(Heading::Returned, &f.t("checklist-suggest-returned"));
    all.set(Heading::Publicity, &f.t("checklist-suggest-publicity"));
    all
}

fn measurand_text(f: &Frame, content: &Content) -> String {
    let mut analytes: Vec<&str> = Vec::new();
    for measurand in &content.measurands {
        if !analytes.contains(&measurand.analyte.as_str()) {
            analytes.push(&measurand.analyte);
        }
    }
    let items = content.items.iter().map(|item| match item.matrix.as_str() {
        "" => item.label.clone(),
        matrix => format!("{} ({matrix})", item.label),
    });
    let items = items.collect::<Vec<_>>().join(", ");
    let listed = f.t3(
        "checklist-suggest-measurands",
        "count",
        content.measurands.len(),
        "items",
        items,
        "list",
        analytes.join(", "),
    );
    match &content.asks.span {
        None => listed,
        Some(span) => {
            let span = f.t3("plan-asks-span", "from", &span.from, "to", &span.to, "unit", &span.unit);
            format!("{listed} {span}")
        }
    }
}

/// How many measurands have each way to their value, and each way to sigma_pt.
fn statistics(f: &Frame, content: &Content) -> String {
    let mut routes: BTreeMap<String, usize> = BTreeMap::new();
    let mut sigmas: BTreeMap<String, usize> = BTreeMap::new();
    for plan in content.measurands.iter().filter_map(|measurand| measurand.plan.as_ref()) {
        *routes.entry(planned::route(f, &plan.assigned)).or_default() += 1;
        let sigma = match &plan.sigma_pt {
            Some(roundel_domain::plan::SigmaPt::Prescribed(_)) => f.t("checklist-suggest-prescribed"),
            other => planned::sigma(f, other.as_ref()),
        };
        if !sigma.is_empty() {
            *sigmas.entry(sigma).or_default() += 1;
        }
    }
    let list = |counts: &BTreeMap<String, usize>| {
        counts.iter().map(|(word, count)| format!("{word} ({count})")).collect::<Vec<_>>().join(", ")
    };
    if routes.is_empty() {
        return String::new();
    }
    f.t2("checklist-suggest-statistics", "routes", list(&routes), "sigmas", list(&sigmas))
}

fn traceability(f: &Frame, content: &Content) -> String {
    let plans = || content.measurands.iter().filter_map(|measurand| measurand.plan.as_ref());
    let given = plans().any(|plan| plan.assigned.given_at_all().is_some());
    let consensus = plans().any(|plan| matches!(plan.assigned, Assigned::Participants { .. }));
    let mut parts = Vec::new();
    if given {
        parts.push(f.t("checklist-suggest-traceability-given"));
    }
    if consensus {
        parts.push(f.t("checklist-suggest-traceability-consensus"));
    }
    parts.join(" ")
}
