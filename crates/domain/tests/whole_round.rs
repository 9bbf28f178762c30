//! A whole real round, from what laboratories reported through plan and decision
//! to scores: four ceramides in a plasma reference material, up to 18 laboratories.
//! The source stands in `tests/reference/whole_round.json`.

#![allow(clippy::unwrap_used, reason = "in a test, what cannot go on has failed")]

use roundel_domain::evaluation::{RoundEvaluation, Signal, evaluate};
use roundel_domain::package::{RoundPackage, parse};
use serde_json::{Value, json};

fn reference() -> Value {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/reference/whole_round.json");
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

/// The round with a consensus by `estimator`, `sigma_pt` that of the participants,
/// and the reviewer's consent to fewer than 18.
fn package(reference: &Value, estimator: &str, left_out: Option<(&str, &str)>) -> RoundPackage {
    let analytes = reference["analytes"].as_object().unwrap();
    let measurands: Vec<Value> = analytes
        .keys()
        .map(|analyte| {
            json!({
                "id": analyte, "item": "plasma", "analyte": analyte, "unit": "umol/L",
                "assigned_value": { "basis": "participants", "estimator": estimator, "consent": "Checked." },
                "sigma_pt": { "basis": "participants" }, "scores": ["z", "difference"],
            })
        })
        .collect();
    let mut results = Vec::new();
    for (analyte, of) in analytes {
        for (laboratory, x) in of["results"].as_object().unwrap() {
            let mut result = json!({ "participant": laboratory, "measurand": analyte, "values": [x] });
            if left_out == Some((analyte, laboratory)) {
                result["exclude"] = json!("consistent with another unit");
            }
            results.push(result);
        }
    }
    let round = json!({ "code": "CER", "title": "Ceramides in plasma" });
    let text = json!({ "format": "round-package/1", "round": round, "measurands": measurands, "results": results });
    parse(&text.to_string()).unwrap_or_else(|problems| panic!("{problems:?}"))
}

#[track_caller]
fn assert_near(what: &str, found: f64, expected: &Value) {
    let expected = expected.as_f64().unwrap();
    assert!((found - expected).abs() <= 1e-9 * expected.abs().max(1.0), "{what}: {found} and not {expected}");
}

fn each(reference: &Value, evaluation: &RoundEvaluation, check: impl Fn(&str, &Value, &RoundEvaluation)) {
    for (analyte, expected) in reference["analytes"].as_object().unwrap() {
        check(analyte, expected, evaluation);
    }
}

#[test]
fn summaries_agree_with_the_published_ones_and_scores_with_an_independent_calculation() {
    let reference = reference();
    let evaluation = evaluate(&package(&reference, "algorithm_a", None), "any");

    each(&reference, &evaluation, |analyte, expected, evaluation| {
        let outcome = evaluation.measurand(analyte).unwrap();
        let summary = &outcome.summary;
        assert_eq!(summary.quantified as u64, expected["published"]["n"].as_u64().unwrap(), "{analyte}");
        assert_near(analyte, summary.mean.unwrap(), &expected["published"]["mean"]);
        assert_near(analyte, summary.sd.unwrap(), &expected["published"]["sd"]);
        assert_near(analyte, summary.median.unwrap(), &expected["published"]["median"]);
        assert_near(analyte, summary.made.unwrap(), &expected["made"]);
        let value = outcome.assigned_value.as_ref().unwrap();
        assert_near(analyte, value.value, &expected["algorithm_a"]["x"]);
        assert_near(analyte, outcome.sigma_pt.unwrap(), &expected["algorithm_a"]["s"]);
        // q = 1.25/sqrt(p) where sigma_pt is s*: for 13 to 18 between 0.29 and 0.35.
        let q = 1.25 / (summary.quantified as f64).sqrt();
        assert!((outcome.uncertainty_ratio.unwrap() - q).abs() < 1e-9, "{analyte}");
        for (laboratory, z) in expected["z"].as_object().unwrap() {
            let score = evaluation.scores.iter().find(|s| s.measurand == *analyte && s.participant == *laboratory);
            assert_near(&format!("{analyte} {laboratory}"), score.unwrap().z.unwrap(), z);
        }
    });
    // By the numbers of the reference: 7.21 and 4.48 are beyond 3, −0.42 is within 2.
    let signal = |analyte: &str, laboratory: &str| {
        let found = evaluation.scores.iter().find(|s| s.measurand == analyte && s.participant == laboratory);
        found.unwrap().signal
    };
    assert_eq!(signal("Cer_16:0", "2"), Signal::Action);
    assert_eq!(signal("Cer_18:0", "13"), Signal::Action);
    assert_eq!(signal("Cer_16:0", "1"), Signal::None);
}

#[test]
fn the_estimator_by_count_takes_the_one_for_so_many() {
    let reference = reference();
    let evaluation = evaluate(&package(&reference, "by_count", None), "any");

    each(&reference, &evaluation, |analyte, expected, evaluation| {
        let value = evaluation.measurand(analyte).unwrap().assigned_value.as_ref().unwrap();
        // 13 and 15 laboratories: Q method with Hampel; 18: Algorithm A (rule D7).
        let few = expected["published"]["n"].as_u64().unwrap() < 18;
        let expected = &expected[if few { "q_hampel" } else { "algorithm_a" }];
        assert_near(analyte, value.value, &expected["x"]);
        assert_near(analyte, value.robust_sd.unwrap(), &expected["s"]);
        if few {
            assert_near(analyte, value.standard_uncertainty, &expected["u"]);
        }
    });
}

#[test]
fn a_result_that_is_left_out_changes_the_summary_by_arithmetic_and_is_scored_all_the_same() {
    let reference = reference();
    let evaluation = evaluate(&package(&reference, "algorithm_a", Some(("Cer_18:0", "13"))), "any");

    let of = &reference["analytes"]["Cer_18:0"];
    let (n, mean) = (13.0, of["published"]["mean"].as_f64().unwrap());
    let x = of["results"]["13"].as_f64().unwrap();
    let outcome = evaluation.measurand("Cer_18:0").unwrap();
    assert!((outcome.summary.mean.unwrap() - (n * mean - x) / (n - 1.0)).abs() < 1e-12);
    assert_eq!((outcome.summary.quantified, outcome.summary.excluded), (12, 1));
    let score = evaluation.scores.iter().find(|s| s.measurand == "Cer_18:0" && s.participant == "13").unwrap();
    assert_eq!((score.value, score.signal), (Some(x), Signal::Action));
}
