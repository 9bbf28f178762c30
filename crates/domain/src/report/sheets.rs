//! Which method sheets belong to what a round used.

use crate::evaluation::RoundEvaluation;
use crate::package::{AssignedValue, Censored, Estimator, RoundPackage, Score, SigmaBasis};
use std::collections::BTreeSet;

/// The sheets of an estimator, by their names in `roundel_stats::sheets`.
pub fn sheets_of_estimator(estimator: Estimator) -> &'static [&'static str] {
    match estimator {
        Estimator::ByCount => &["algorithm_a", "q_method", "hampel", "median_made"],
        Estimator::AlgorithmA => &["algorithm_a"],
        Estimator::QHampel => &["q_method", "hampel"],
        Estimator::MedianMade => &["median_made"],
        Estimator::MedianNiqr => &["median_niqr"],
        Estimator::Mean => &["mean"],
        Estimator::WeightedMean => &["weighted_mean"],
        Estimator::MandelPaule => &["mandel_paule"],
        Estimator::DerSimonianLaird => &["dersimonian_laird"],
    }
}

/// The sheet of a score.
pub fn sheets_of_score(score: Score) -> &'static [&'static str] {
    match score {
        Score::Z => &["z"],
        Score::ZPrime => &["z_prime"],
        Score::Zeta => &["zeta"],
        Score::En => &["e_n"],
        Score::Difference | Score::DifferencePercent => &["difference_percent"],
    }
}

/// The sheets of everything that an evaluation used, each once, in the order of their
/// names.
pub fn sheets_of(package: &RoundPackage, evaluation: &RoundEvaluation, groups: bool) -> Vec<&'static str> {
    let mut used: BTreeSet<&'static str> = BTreeSet::new();
    for (plan, outcome) in package.measurands.iter().zip(&evaluation.measurands) {
        // The summary has these of every measurand that is reported often enough.
        if outcome.summary.algorithm_a_sd.is_some() {
            used.insert("algorithm_a");
        }
        for score in plan.scores() {
            used.extend(sheets_of_score(*score));
        }
        if outcome.uncertainty_negligible == Some(false) {
            used.insert("z_prime");
        }
        let estimator = outcome.assigned_value.as_ref().and_then(|value| value.estimator);
        used.extend(estimator.map_or(&[][..], sheets_of_estimator));
        let consensus = matches!(plan.assigned_value, Some(AssignedValue::Participants(_)));
        if consensus && plan.censored() == Censored::LimitAware {
            used.insert("limit_aware");
        }
        if plan.sigma_pt.as_ref().is_some_and(|sigma| matches!(sigma.basis, SigmaBasis::Horwitz)) {
            used.insert("horwitz");
        }
        if outcome.homogeneity.is_some() {
            used.insert("homogeneity");
        }
        if outcome.stability.is_some() {
            used.insert("stability");
        }
    }
    if groups {
        used.insert("groups");
    }
    used.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use roundel_stats::sheets;

    const ESTIMATORS: [Estimator; 9] = [
        Estimator::ByCount,
        Estimator::AlgorithmA,
        Estimator::QHampel,
        Estimator::MedianMade,
        Estimator::MedianNiqr,
        Estimator::Mean,
        Estimator::WeightedMean,
        Estimator::MandelPaule,
        Estimator::DerSimonianLaird,
    ];
    const SCORES: [Score; 6] =
        [Score::Z, Score::ZPrime, Score::Zeta, Score::En, Score::Difference, Score::DifferencePercent];

    const OTHERS: [&str; 5] = ["limit_aware", "homogeneity", "stability", "horwitz", "groups"];

    /// Fails to compile when a variant is added, so that the lists above are kept whole.
    fn is_listed(estimator: Estimator) -> bool {
        match estimator {
            Estimator::ByCount
            | Estimator::AlgorithmA
            | Estimator::QHampel
            | Estimator::MedianMade
            | Estimator::MedianNiqr
            | Estimator::Mean
            | Estimator::WeightedMean
            | Estimator::MandelPaule
            | Estimator::DerSimonianLaird => ESTIMATORS.contains(&estimator),
        }
    }

    #[test]
    fn every_estimator_and_score_has_a_sheet_with_its_formula_and_source() {
        assert!(ESTIMATORS.into_iter().all(is_listed));
        let of_estimators = ESTIMATORS.into_iter().flat_map(sheets_of_estimator);
        let of_scores = SCORES.into_iter().flat_map(sheets_of_score);
        for name in of_estimators.chain(of_scores).chain(&OTHERS) {
            let sheet = sheets::sheet(name).unwrap_or_else(|| panic!("{name} has no sheet"));
            assert!(!sheet.what.is_empty() && !sheet.formula.is_empty() && !sheet.source.is_empty(), "{name}");
        }
    }

    #[test]
    fn only_what_was_used_has_its_sheet_printed() {
        let measurand = r#"{"id":"A/x","item":"A","analyte":"x","unit":"ng/L",
            "assigned_value":{"basis":"participants","estimator":"median_niqr"},
            "sigma_pt":{"basis":"prescribed","value":5},"scores":["z"]}"#;
        let results: Vec<String> = (1..=20)
            .map(|n| format!(r#"{{"participant":"P{n:02}","measurand":"A/x","values":[{}]}}"#, 100 + n))
            .collect();
        let text = format!(
            r#"{{"format":"round-package/1","round":{{"code":"R","title":"T"}},"measurands":[{measurand}],"results":[{}]}}"#,
            results.join(",")
        );
        let package = crate::package::parse(&text).unwrap_or_else(|problems| panic!("{problems:?}"));
        let evaluation = crate::evaluation::evaluate(&package, "");

        let used = sheets_of(&package, &evaluation, false);

        assert!(used.contains(&"median_niqr") && used.contains(&"z") && used.contains(&"algorithm_a"), "{used:?}");
        assert!(!used.contains(&"e_n") && !used.contains(&"homogeneity") && !used.contains(&"groups"), "{used:?}");
    }
}
