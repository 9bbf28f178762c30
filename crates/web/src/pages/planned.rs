//! How a plan is said in words.

use super::Frame;
use crate::error::Error;
use crate::{actions, show};
use roundel_documents::number;
use roundel_domain::asks::{Arrival, Asks};
use roundel_domain::plan::{Assigned, Basis, Censored, Decides, Estimator, Limits, Plan, SigmaPt};
use roundel_domain::round::Round;
use roundel_domain::rules::{self, Rules};
use roundel_store::Tx;

/// How an assigned value is found, in words.
pub fn route(f: &Frame, assigned: &Assigned) -> String {
    let (estimator, fallback) = match assigned {
        Assigned::Formulation(_) => return basis(f, Basis::Formulation),
        Assigned::Reference(_) => return basis(f, Basis::Reference),
        Assigned::Expert(_) => return basis(f, Basis::Expert),
        Assigned::Absent { .. } => return f.t("route-absent"),
        Assigned::Participants { estimator, fallback } => (estimator, fallback),
    };
    let consensus = f.t(match estimator {
        Estimator::ByCount => "route-by-count",
        Estimator::AlgorithmA => "route-algorithm-a",
        Estimator::QHampel => "route-q-hampel",
        Estimator::MedianMade => "route-median-made",
        Estimator::MedianNiqr => "route-median-niqr",
    });
    match fallback {
        None => consensus,
        Some(fallback) => f.t2("route-else", "route", consensus, "fallback", basis(f, fallback.basis)),
    }
}

/// What a given value rests on, in words.
pub fn basis(f: &Frame, basis: Basis) -> String {
    f.t(match basis {
        Basis::Formulation => "route-formulation",
        Basis::Reference => "route-reference",
        Basis::Expert => "route-expert",
    })
}

/// The given value of a plan and its standard uncertainty; empty where there is none.
pub fn value(assigned: &Assigned) -> (String, String) {
    match assigned.given_at_all() {
        Some((_, given)) => (given.value.to_string(), number::shortest(given.uncertainty.standard())),
        None => (String::new(), String::new()),
    }
}

/// How sigma_pt is found, in words.
pub fn sigma(f: &Frame, sigma: Option<&SigmaPt>) -> String {
    match sigma {
        None => String::new(),
        Some(SigmaPt::Prescribed(sigma)) => sigma.to_string(),
        Some(SigmaPt::Percent(percent)) => f.t1("sigma-percent", "percent", percent),
        Some(SigmaPt::Horwitz) => f.t("sigma-horwitz"),
    }
}

/// What of a plan differs from the usual, in words; empty for nothing.
pub fn particulars(f: &Frame, plan: &Plan) -> Vec<String> {
    let mut all = Vec::new();
    match plan.decides {
        Decides::Z => {}
        Decides::EN => all.push(f.t("plan-decides-e-n")),
        Decides::Zeta => all.push(f.t("plan-decides-zeta")),
    }
    if plan.censored == Censored::LimitAware {
        all.push(f.t("plan-censored-by-rank"));
    }
    if let Some(Limits { warning, action, e_n, reason }) = &plan.limits {
        let limits = f.t3("plan-limits-are", "warning", warning, "action", action, "e_n", e_n);
        all.push(f.t2("plan-limits-because", "limits", limits, "reason", reason));
    }
    if let Assigned::Absent { absent_below: Some(limit) } = &plan.assigned {
        all.push(f.t1("plan-absent-proven", "limit", limit));
    }
    all
}

/// A whole plan in one line.
pub fn line(f: &Frame, plan: &Plan) -> String {
    let mut parts = vec![route(f, &plan.assigned)];
    let (value, u) = value(&plan.assigned);
    if !value.is_empty() {
        parts.push(f.t2("plan-line-value", "value", value, "u", u));
    }
    let sigma = sigma(f, plan.sigma_pt.as_ref());
    if !sigma.is_empty() {
        parts.push(f.t1("plan-line-sigma", "sigma", sigma));
    }
    parts.extend(particulars(f, plan));
    parts.join("; ")
}

/// A deadline that was moved for all, as shown.
pub struct Moved {
    /// The deadline before.
    pub from: String,
    /// The deadline after.
    pub to: String,
    /// Why.
    pub reason: String,
    /// When it was announced.
    pub at: String,
}

/// The deadlines of a round that were moved, the newest first.
///
/// # Errors
///
/// What the database says.
pub async fn moved(tx: &mut Tx, round: &Round) -> Result<Vec<Moved>, Error> {
    let at = |at| show::instant(at, &round.time_zone);
    let moved = actions::plans::moved_deadlines(tx, round).await?.into_iter();
    let shown = moved.map(|m| Moved { from: at(m.from), to: at(m.to), reason: m.reason, at: at(m.at) });
    Ok(shown.collect())
}

/// What is asked beside results, a sentence each.
pub fn asks(f: &Frame, asks: &Asks) -> Vec<String> {
    let mut said = vec![f.t(match asks.arrival {
        Arrival::Nothing => "plan-asks-arrival-nothing",
        Arrival::Dates => "plan-asks-arrival-dates",
        Arrival::Codes => "plan-asks-arrival-codes",
    })];
    let yes = [
        (asks.method, "plan-asks-method"),
        (asks.uncertainty, "plan-asks-uncertainty"),
        (asks.performance.is_some(), "plan-asks-performance"),
        (asks.declaration, "plan-asks-declaration"),
        (!asks.no_self_check, "plan-asks-self-check"),
        (asks.no_self_check, "plan-asks-no-self-check"),
    ];
    said.extend(yes.iter().filter(|(asked, _)| *asked).map(|(_, key)| f.w.t(key)));
    if let Some(study) = &asks.precision {
        let key = format!("plan-asks-precision-{}", study.procedure.word());
        said.push(f.t1(&key, "protocol", &study.protocol));
    }
    if let Some(span) = &asks.span {
        said.push(f.t3("plan-asks-span", "from", &span.from, "to", &span.to, "unit", &span.unit));
    }
    said.extend(
        asks.forms
            .iter()
            .map(|one| f.t3("plan-asks-form", "analyte", &one.analyte, "form", &one.form, "ratio", &one.ratio)),
    );
    said
}

/// The rules with the values used: number and sentence.
pub fn rules(f: &Frame, used: &Rules) -> Vec<(String, String)> {
    rules::NUMBERS
        .filter_map(|number| {
            let name = rules::name(number);
            let values: Vec<(&str, &str)> = used.get(&name)?.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
            let sentence = f.w.with(&format!("rule-d{number}"), &values);
            Some((name, sentence))
        })
        .collect()
}
