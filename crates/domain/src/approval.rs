//! Approving an evaluation, measurand by measurand, by somebody who edited
//! nothing of it.
//!
//! An approval is of exactly what was looked at: the plan of the measurand, its
//! results, and what was made of them. While these stay the same, it holds, also
//! in a newer evaluation; a decision on one measurand does not undo the review of
//! all others.

use crate::evaluation::RoundEvaluation;
use crate::package::RoundPackage;
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::fmt::Write;

/// What a reviewer says of a measurand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// It may be published.
    Approved,
    /// It goes back with a finding that is to be answered.
    Returned,
}

impl Verdict {
    /// The word that is stored and posted.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Approved => "approved",
            Verdict::Returned => "returned",
        }
    }

    /// The verdict of this word.
    pub fn of(word: &str) -> Option<Verdict> {
        [Verdict::Approved, Verdict::Returned].into_iter().find(|verdict| verdict.word() == word)
    }
}

/// How a measurand stands in an evaluation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Nobody has said anything yet.
    Open,
    /// Approved as it is.
    Approved,
    /// Approved, but something changed since.
    Changed,
    /// Returned, and not approved since.
    Returned,
}

/// How a measurand stands whose newest verdict, if there is one, was given on what
/// has the digest beside it, and which now has the digest `now`.
pub fn standing(newest: Option<(Verdict, &str)>, now: &str) -> Standing {
    match newest {
        None => Standing::Open,
        Some((Verdict::Returned, _)) => Standing::Returned,
        Some((Verdict::Approved, then)) if then == now => Standing::Approved,
        Some((Verdict::Approved, _)) => Standing::Changed,
    }
}

/// SHA-256, in hexadecimal, of all that a reviewer looks at of each measurand, in
/// the order of the package: plan, results, outcome and scores.
pub fn digests(package: &RoundPackage, evaluation: &RoundEvaluation) -> Vec<String> {
    let mut results: HashMap<&str, Vec<_>> = HashMap::new();
    for result in &package.results {
        results.entry(&result.measurand).or_default().push(result);
    }
    let mut scores: HashMap<&str, Vec<_>> = HashMap::new();
    for score in &evaluation.scores {
        scores.entry(&score.measurand).or_default().push(score);
    }
    let digest = |(plan, outcome): (&_, &_)| {
        let plan: &crate::package::Measurand = plan;
        let mut own = results.remove(plan.id.as_str()).unwrap_or_default();
        own.sort_by(|a, b| a.participant.cmp(&b.participant));
        let scored = scores.remove(plan.id.as_str()).unwrap_or_default();
        hash(&(plan, own, outcome, scored))
    };
    package.measurands.iter().zip(&evaluation.measurands).map(digest).collect()
}

fn hash(seen: &impl Serialize) -> String {
    let text = serde_json::to_vec(seen).expect("a package and an evaluation have text keys and finite numbers");
    let mut hex = String::with_capacity(64);
    for byte in Sha256::digest(&text) {
        write!(hex, "{byte:02x}").expect("a text takes what is written");
    }
    hex
}

/// Where an evaluation that was made again differs, a line each: which measurand
/// or score. Empty where the texts are the same.
pub fn differences(stored: &RoundEvaluation, again: &RoundEvaluation) -> Vec<String> {
    let mut lines = Vec::new();
    if stored.package_sha256 != again.package_sha256 {
        lines.push("package_sha256".to_owned());
    }
    if stored.measurands.len() != again.measurands.len() || stored.scores.len() != again.scores.len() {
        lines.push("count of measurands or scores".to_owned());
    }
    let measurands = stored.measurands.iter().zip(&again.measurands).filter(|(a, b)| a != b);
    lines.extend(measurands.map(|(a, _)| a.id.clone()));
    let scores = stored.scores.iter().zip(&again.scores).filter(|(a, b)| a != b);
    lines.extend(scores.map(|(a, _)| format!("{} {}", a.measurand, a.participant)));
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evaluation::evaluate;
    use crate::package::parse;

    fn package(value_of_y: f64) -> RoundPackage {
        parse(&format!(
            r#"{{"format":"round-package/1","round":{{"code":"R","title":"T"}},"measurands":[
            {{"id":"A/x","item":"A","analyte":"x","unit":"ng/L","scores":["z"],
              "assigned_value":{{"basis":"formulation","value":10,"standard_uncertainty":0.1}},
              "sigma_pt":{{"basis":"prescribed","value":1}}}},
            {{"id":"A/y","item":"A","analyte":"y","unit":"ng/L","scores":["z"],
              "assigned_value":{{"basis":"formulation","value":20,"standard_uncertainty":0.1}},
              "sigma_pt":{{"basis":"prescribed","value":2}}}}],
            "results":[{{"participant":"P1","measurand":"A/x","values":[11]}},
            {{"participant":"P1","measurand":"A/y","values":[{value_of_y}]}},
            {{"participant":"P2","measurand":"A/x","values":[9]}}]}}"#
        ))
        .expect("a package")
    }

    #[test]
    fn a_digest_changes_with_its_own_measurand_only() {
        let (before, after) = (package(21.0), package(22.0));
        let mut shuffled = package(21.0);
        shuffled.results.reverse();
        let of = |package: &RoundPackage| digests(package, &evaluate(package, "any"));

        let (first, second) = (of(&before), of(&after));

        assert_eq!(first[0], second[0]);
        assert_ne!(first[1], second[1]);
        assert_eq!(first, of(&shuffled), "the order of the results does not matter");
        assert!(first[0].len() == 64 && first[0] != first[1]);
    }

    #[test]
    fn an_approval_holds_while_nothing_changed() {
        assert_eq!(standing(None, "a"), Standing::Open);
        assert_eq!(standing(Some((Verdict::Approved, "a")), "a"), Standing::Approved);
        assert_eq!(standing(Some((Verdict::Approved, "a")), "b"), Standing::Changed);
        // What was returned is looked at again, whether it changed or was explained.
        assert_eq!(standing(Some((Verdict::Returned, "a")), "a"), Standing::Returned);
        assert_eq!(standing(Some((Verdict::Returned, "a")), "b"), Standing::Returned);
        assert_eq!(Verdict::of("approved"), Some(Verdict::Approved));
        assert_eq!(Verdict::of("withdrawn"), None);
    }

    #[test]
    fn what_differs_when_made_again_is_named() {
        let stored = evaluate(&package(21.0), "one");
        assert!(differences(&stored, &evaluate(&package(21.0), "two")).is_empty(), "the program's name aside");

        let lines = differences(&stored, &evaluate(&package(22.0), "one"));

        assert_eq!(lines, ["package_sha256", "A/y", "A/y P1"]);
    }
}
