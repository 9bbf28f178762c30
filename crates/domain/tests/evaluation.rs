//! Rules of the evaluation that the whole-round case does not reach, by hand
//! arithmetic from the definition of the open round package.

#![expect(clippy::unwrap_used, reason = "helpers of tests may fail loudly")]

use roundel_domain::evaluation::{
    Basis, Detection, NoteCode, RoundEvaluation, ScoreEntry, ScoreKind, Signal, deciding_score, evaluate,
};
use roundel_domain::package::{RoundPackage, parse};
use serde_json::{Value, json};

/// A package with one measurand and the given results.
fn package(measurand: Value, results: &[Value]) -> RoundPackage {
    let mut plan = json!({ "id": "A/x", "item": "A", "analyte": "x", "unit": "ng/L", "replicates": 3 });
    for (name, value) in measurand.as_object().unwrap() {
        plan[name] = value.clone();
    }
    let results: Vec<Value> = results
        .iter()
        .enumerate()
        .map(|(place, result)| {
            let mut result = result.clone();
            result["participant"] = json!(format!("P{:03}", place + 1));
            result["measurand"] = json!("A/x");
            result
        })
        .collect();
    let text = json!({
        "format": "round-package/1",
        "round": { "code": "R", "title": "T" },
        "measurands": [plan],
        "results": results,
    });
    parse(&text.to_string()).unwrap_or_else(|problems| panic!("{problems:?}"))
}

fn evaluated(measurand: Value, results: &[Value]) -> RoundEvaluation {
    evaluate(&package(measurand, results), "roundel test")
}

/// x_pt = 50, u = 0.6, sigma_pt = 11, z asked for.
fn plan() -> Value {
    json!({
        "assigned_value": { "basis": "formulation", "value": 50, "standard_uncertainty": 0.6 },
        "sigma_pt": { "basis": "relative", "percent": 22 },
        "scores": ["z"],
    })
}

fn plan_with(name: &str, value: Value) -> Value {
    let mut plan = plan();
    plan[name] = value;
    plan
}

fn value(x: f64) -> Value {
    json!({ "values": [x] })
}

fn below(limit: f64) -> Value {
    json!({ "below": limit })
}

fn one(measurand: Value, result: Value) -> ScoreEntry {
    evaluated(measurand, &[result]).scores.remove(0)
}

fn codes(evaluation: &RoundEvaluation) -> Vec<NoteCode> {
    evaluation.measurands[0].notes.iter().map(|note| note.code).collect()
}

/// Counting results 100, 101, … as many as asked for.
fn rising(count: usize) -> Vec<Value> {
    (0..count).map(|place| value(100.0 + place as f64)).collect()
}

#[test]
fn a_score_on_a_limit_falls_on_the_right_side() {
    let cases = [
        (72.0, Signal::None),
        (72.001, Signal::Warning),
        (28.0, Signal::None),
        (82.999, Signal::Warning),
        (83.0, Signal::Action),
        (17.0, Signal::Action),
    ];

    for (x, expected) in cases {
        assert_eq!(one(plan(), value(x)).signal, expected, "{x}");
    }
}

#[test]
fn limits_of_the_plan_decide() {
    let plan = plan_with("limits", json!({ "warning": 1, "action": 2, "e_n": 0.5 }));

    assert_eq!(one(plan.clone(), value(61.0)).signal, Signal::None);
    assert_eq!(one(plan.clone(), value(62.0)).signal, Signal::Warning);
    assert_eq!(one(plan, value(72.0)).signal, Signal::Action);
}

#[test]
fn e_n_below_its_limit_is_acceptable_and_on_it_not() {
    // U = 8 with k = 2, u = 3: E_n = D/√(64 + 36) = D/10.
    let plan = json!({
        "assigned_value": { "basis": "reference", "value": 50, "standard_uncertainty": 3 },
        "scores": ["e_n"],
    });
    let result = |x: f64| json!({ "values": [x], "expanded_uncertainty": 8, "coverage_factor": 2 });

    let inside = one(plan.clone(), result(59.9));
    assert!((inside.e_n.unwrap() - 0.99).abs() < 1e-12);
    assert_eq!(inside.signal, Signal::None);
    assert_eq!(one(plan.clone(), result(60.0)).signal, Signal::Action);
    assert_eq!(one(plan, value(50.0)).signal, Signal::NotScored);
}

#[test]
fn a_bound_decides_about_a_result_below_a_limit() {
    // (L − 50)/11: −3 at 17, −2 at 28.
    let cases = [
        (17.0, Signal::Action, Detection::FalseNegative),
        (17.001, Signal::Warning, Detection::NotDetected),
        (28.0, Signal::Warning, Detection::NotDetected),
        (28.001, Signal::NotScored, Detection::NotDetected),
        (200.0, Signal::NotScored, Detection::NotDetected),
    ];

    for (limit, signal, detection) in cases {
        let entry = one(plan_with("required_loq", json!(20)), below(limit));
        assert_eq!((entry.signal, entry.detection), (signal, detection), "{limit}");
        assert_eq!(entry.loq_met, Some(limit <= 20.0));
        assert!((entry.bound.unwrap() - (limit - 50.0) / 11.0).abs() < 1e-12);
    }
}

#[test]
fn the_bound_is_widened_where_z_prime_decides() {
    // u = 4.4 = 0.4 sigma_pt: √(11² + 4.4²) = 11.8473...
    let plan = plan_with("assigned_value", json!({ "basis": "reference", "value": 50, "standard_uncertainty": 4.4 }));

    let entry = one(plan, below(17.0));

    assert!((entry.bound.unwrap() + 33.0 / (121.0_f64 + 19.36).sqrt()).abs() < 1e-12);
    assert_eq!(entry.signal, Signal::Warning);
}

#[test]
fn z_gives_way_to_z_prime_above_three_tenths_and_to_information_above_a_half() {
    let plan =
        |u: f64| plan_with("assigned_value", json!({ "basis": "reference", "value": 50, "standard_uncertainty": u }));
    let decided = |u: f64| {
        let package = package(plan(u), &[value(80.0)]);
        let evaluation = evaluate(&package, "roundel test");
        let kind = deciding_score(&package.measurands[0], &evaluation.measurands[0], &evaluation.scores[0]);
        (kind.map(|(kind, _)| kind), evaluation.scores[0].z_prime.is_some(), evaluation.scores[0].signal)
    };

    assert_eq!(decided(3.3), (Some(ScoreKind::Z), false, Signal::Warning));
    assert_eq!(decided(3.4), (Some(ScoreKind::ZPrime), true, Signal::Warning));
    assert_eq!(decided(5.5), (Some(ScoreKind::ZPrime), true, Signal::Warning));
    assert_eq!(decided(5.6), (Some(ScoreKind::ZPrime), true, Signal::InformationOnly));
    assert_eq!(codes(&evaluated(plan(3.4), &[])), [NoteCode::UncertaintyNotNegligible]);
    assert_eq!(codes(&evaluated(plan(5.6), &[])), [NoteCode::UncertaintyTooLarge]);
}

#[test]
fn the_first_score_of_the_plan_decides_even_if_it_cannot_be_computed() {
    let plan = plan_with("scores", json!(["difference", "zeta", "z"]));

    let entry = one(plan, value(90.0));

    assert!(entry.z.is_some() && entry.zeta.is_none() && entry.difference == Some(40.0));
    assert_eq!(entry.signal, Signal::NotScored);
}

#[test]
fn a_difference_in_per_cent_of_zero_is_absent() {
    let plan = json!({
        "assigned_value": { "basis": "reference", "value": 0, "standard_uncertainty": 0.1 },
        "sigma_pt": { "basis": "prescribed", "value": 1 },
        "scores": ["z", "difference", "difference_percent"],
    });

    let entry = one(plan, value(-1.5));

    assert_eq!((entry.difference, entry.difference_percent, entry.z), (Some(-1.5), None, Some(-1.5)));
}

#[test]
fn the_number_of_results_picks_the_estimator() {
    let plan = json!({
        "assigned_value": { "basis": "participants" },
        "sigma_pt": { "basis": "prescribed", "value": 50 },
        "scores": ["z"],
    });
    let cases = [
        (7, None),
        (8, Some("median_made")),
        (11, Some("median_made")),
        (12, Some("q_hampel")),
        (17, Some("q_hampel")),
        (18, Some("algorithm_a")),
    ];

    for (count, expected) in cases {
        let evaluation = evaluated(plan.clone(), &rising(count));
        let value = evaluation.measurands[0].assigned_value.as_ref();
        let estimator = value.map(|value| serde_json::to_value(value.estimator).unwrap());
        assert_eq!(estimator, expected.map(|name| json!(name)), "{count}");
        let signal = match count {
            7 => Signal::NotScored,
            8 | 11 => Signal::InformationOnly,
            _ => Signal::None,
        };
        assert_eq!(evaluation.scores[0].signal, signal, "{count}");
    }
}

#[test]
fn consent_lets_a_consensus_of_few_count() {
    let plan = json!({
        "assigned_value": { "basis": "participants", "consent": "agrees with the formulation" },
        "sigma_pt": { "basis": "prescribed", "value": 50 },
        "scores": ["z"],
    });

    let evaluation = evaluated(plan, &rising(9));

    assert_eq!(evaluation.scores[0].signal, Signal::None);
    assert_eq!(codes(&evaluation), [NoteCode::FewParticipants]);
}

#[test]
fn an_expert_group_is_not_few() {
    let plan = json!({
        "assigned_value": { "basis": "participants", "estimator": "mean", "participants": ["P001", "P002", "P003"] },
        "sigma_pt": { "basis": "prescribed", "value": 50 },
        "scores": ["z"],
    });

    let evaluation = evaluated(plan, &rising(6));

    let assigned = evaluation.measurands[0].assigned_value.as_ref().unwrap();
    assert_eq!((assigned.value, assigned.p, assigned.robust_sd), (101.0, Some(3), Some(1.0)));
    assert!((assigned.standard_uncertainty - 1.0 / 3.0_f64.sqrt()).abs() < 1e-15);
    assert_eq!(evaluation.scores[5].signal, Signal::None);
    assert_eq!(codes(&evaluation), []);
}

#[test]
fn weights_need_an_uncertainty_from_everyone() {
    let plan = json!({
        "assigned_value": { "basis": "participants", "estimator": "weighted_mean",
            "fallback": { "basis": "expert", "value": 100, "standard_uncertainty": 1, "additional_uncertainty": 0.75 } },
        "sigma_pt": { "basis": "prescribed", "value": 50 },
        "scores": ["z"],
    });
    let with = |x: f64, u: f64| json!({ "values": [x], "expanded_uncertainty": u, "coverage_factor": 2 });
    let all = [with(10.0, 2.0), with(13.0, 2.0), with(22.0, 4.0)];

    // Weights 1, 1, 1/4: mean 28.5/2.25; Q = (8/3)² + (1/3)² + (28/3)²/4 with
    // deviations −8/3, 1/3, 28/3, so Birge² = Q/2; u = Birge/1.5.
    let evaluation = evaluated(plan.clone(), &all);
    let assigned = evaluation.measurands[0].assigned_value.as_ref().unwrap();
    let q: f64 = 64.0 / 9.0 + 1.0 / 9.0 + 784.0 / 36.0;
    assert!((assigned.value - 28.5 / 2.25).abs() < 1e-12);
    assert!((assigned.standard_uncertainty - (q / 2.0).sqrt() / 1.5).abs() < 1e-12);

    let mut missing = all.to_vec();
    missing[1].as_object_mut().unwrap().remove("coverage_factor");
    let evaluation = evaluated(plan, &missing);
    let assigned = evaluation.measurands[0].assigned_value.as_ref().unwrap();
    assert_eq!((assigned.basis, assigned.standard_uncertainty), (Basis::Expert, 1.25));
    assert_eq!(codes(&evaluation), [NoteCode::FallbackUsed]);
}

#[test]
fn a_quarter_below_a_limit_makes_a_consensus_information() {
    let plan = json!({
        "assigned_value": { "basis": "participants" },
        "sigma_pt": { "basis": "prescribed", "value": 50 },
        "scores": ["z"],
    });
    let with_censored = |censored: usize| {
        let mut results = rising(18);
        results.extend((0..censored).map(|_| below(90.0)));
        evaluated(plan.clone(), &results)
    };

    let five = with_censored(5);
    assert_eq!((five.scores[0].signal, codes(&five)), (Signal::None, vec![]));
    let six = with_censored(6);
    assert_eq!(six.scores[0].signal, Signal::InformationOnly);
    assert_eq!(codes(&six), [NoteCode::CensoredShare]);
}

#[test]
fn ranks_that_leave_the_estimate_open_give_no_consensus() {
    let plan = json!({
        "assigned_value": { "basis": "participants", "estimator": "algorithm_a" },
        "sigma_pt": { "basis": "prescribed", "value": 50 },
        "censored": "limit_aware",
        "scores": ["z"],
    });
    let mut results = rising(12);
    results.push(below(107.0));

    let evaluation = evaluated(plan, &results);

    assert_eq!(evaluation.measurands[0].assigned_value, None);
    assert_eq!(codes(&evaluation), [NoteCode::CensoredNotIdentifiable, NoteCode::NoConsensus]);
}

#[test]
fn published_numbers_are_rounded_before_anything_is_derived_from_them() {
    // x_pt 50.25 → 50.2 (half to even), sigma_pt = 22 % of 50.2 = 11.044 →
    // 11.04, u 0.601 → 0.61.
    let mut plan =
        plan_with("assigned_value", json!({ "basis": "reference", "value": 50.25, "standard_uncertainty": 0.601 }));
    plan["rounding"] = json!({ "assigned_value": 1, "standard_uncertainty": 2, "sigma_pt": 2 });

    let evaluation = evaluated(plan, &[value(61.24)]);

    let measurand = &evaluation.measurands[0];
    let assigned = measurand.assigned_value.as_ref().unwrap();
    assert_eq!((assigned.value, assigned.standard_uncertainty), (50.2, 0.61));
    assert_eq!(measurand.sigma_pt, Some(11.04));
    assert!((evaluation.scores[0].z.unwrap() - 1.0).abs() < 1e-12);
}

#[test]
fn what_a_person_decided_comes_first() {
    let decided = |signal: &str| plan_with("decision", json!({ "signal": signal, "reason": "bottles leaked" }));

    assert_eq!(one(decided("not_scored"), value(50.0)).signal, Signal::NotScored);
    assert_eq!(one(decided("information_only"), value(50.0)).signal, Signal::InformationOnly);
    let blunder = json!({ "values": [50], "exclude": "wrong item", "scored": false });
    assert_eq!(one(decided("information_only"), blunder).signal, Signal::NotScored);
    assert_eq!(codes(&evaluated(decided("not_scored"), &[])), [NoteCode::Decision]);
}

#[test]
fn an_excluded_result_is_scored_but_not_counted() {
    let results = [value(50.0), value(52.0), json!({ "values": [500], "exclude": "factor 10" })];

    let evaluation = evaluated(plan(), &results);

    let summary = &evaluation.measurands[0].summary;
    assert_eq!((summary.participants, summary.quantified, summary.excluded), (3, 2, 1));
    assert_eq!(summary.mean, Some(51.0));
    assert_eq!(evaluation.scores[2].signal, Signal::Action);
}

#[test]
fn an_absent_analyte_is_judged_by_the_limits_of_the_plan() {
    let by_loq = json!({ "present": false, "required_loq": 25, "absent_below": 1 });
    let by_content = json!({ "present": false, "absent_below": 10 });
    let detection = |plan: &Value, result: Value| {
        let entry = one(plan.clone(), result);
        assert_eq!(entry.signal, Signal::NotScored);
        entry.detection
    };

    assert_eq!(detection(&by_loq, below(25.0)), Detection::Correct);
    assert_eq!(detection(&by_loq, below(25.1)), Detection::LoqNotMet);
    assert_eq!(detection(&by_loq, value(25.0)), Detection::FalsePositive);
    assert_eq!(detection(&by_loq, value(24.9)), Detection::Trace);
    assert_eq!(detection(&by_content, below(1000.0)), Detection::Correct);
    assert_eq!(detection(&by_content, value(20.0)), Detection::FalsePositive);
    assert_eq!(detection(&by_content, value(19.9)), Detection::Trace);
}

#[test]
fn sigma_from_few_participants_is_information() {
    let plan = json!({
        "assigned_value": { "basis": "formulation", "value": 108, "standard_uncertainty": 0.1 },
        "sigma_pt": { "basis": "participants" },
        "scores": ["z"],
    });

    let few = evaluated(plan.clone(), &rising(17));
    assert_eq!((few.scores[0].signal, codes(&few)), (Signal::InformationOnly, vec![NoteCode::SameRoundSigma]));
    let enough = evaluated(plan, &rising(18));
    assert_eq!((enough.scores[0].signal, codes(&enough)), (Signal::None, vec![]));
    let summary = &enough.measurands[0].summary;
    assert_eq!(enough.measurands[0].sigma_pt, summary.algorithm_a_sd);
}

#[test]
fn homogeneity_is_judged_without_the_addition_to_sigma() {
    // sigma_pt = √(11² + 5²), but the limit is 0.3 × 11.
    let mut plan = plan_with(
        "homogeneity",
        json!([[50, 50.2], [49, 49.4], [51, 51.2], [50, 50.4], [50, 50], [49.8, 50], [50.4, 50]]),
    );
    plan["sigma_pt"] = json!({ "basis": "prescribed", "value": 11, "additional_sd": 5 });

    let evaluation = evaluated(plan, &[]);

    let measurand = &evaluation.measurands[0];
    assert!((measurand.sigma_pt.unwrap() - 146.0_f64.sqrt()).abs() < 1e-12);
    let check = measurand.homogeneity.as_ref().unwrap();
    assert!((check.limit.unwrap() - 3.3).abs() < 1e-12);
    assert_eq!(check.sufficient, Some(true));
}

#[test]
fn every_result_has_one_entry_in_the_order_of_codes() {
    let evaluation = evaluated(json!({ "assigned_value": { "basis": "none" } }), &[value(1.0), below(1.0)]);

    let participants: Vec<&str> = evaluation.scores.iter().map(|entry| entry.participant.as_str()).collect();
    assert_eq!(participants, ["P001", "P002"]);
    assert!(evaluation.scores.iter().all(|entry| entry.signal == Signal::NotScored));
    assert!(evaluation.measurands[0].assigned_value.is_none() && evaluation.measurands[0].sigma_pt.is_none());
}

#[test]
fn the_last_bit_of_a_number_decides_nothing() {
    // On the limit in decimals, beside it in binary: 2.0000000000000004,
    // 2.9999999999999996, −2.9999999999999996, 0.30000000000000004 and
    // 0.9999999999999998.
    let plan = |value: f64, sigma: f64, uncertainty: f64| {
        json!({
            "assigned_value": { "basis": "reference", "value": value, "standard_uncertainty": uncertainty },
            "sigma_pt": { "basis": "prescribed", "value": sigma },
            "scores": ["z"],
        })
    };

    let on_warning = one(plan(0.1, 0.09, 0.001), value(0.28));
    assert!(on_warning.z.unwrap() > 2.0);
    assert_eq!(on_warning.signal, Signal::None);
    let on_action = one(plan(0.1, 0.07, 0.001), value(0.31));
    assert!(on_action.z.unwrap() < 3.0);
    assert_eq!(on_action.signal, Signal::Action);
    let bound = one(plan(0.3, 0.07, 0.001), below(0.09));
    assert!(bound.bound.unwrap() > -3.0);
    assert_eq!((bound.signal, bound.detection), (Signal::Action, Detection::FalseNegative));
    let ratio = evaluated(plan(5.0, 0.57, 0.171), &[]).measurands.remove(0);
    assert!(ratio.uncertainty_ratio.unwrap() > 0.3);
    assert_eq!(ratio.uncertainty_negligible, Some(true));
    let mut by_e_n = plan(0.3, 1.0, 0.02);
    by_e_n["scores"] = json!(["e_n"]);
    let e_n = one(by_e_n, json!({ "values": [0.35], "expanded_uncertainty": 0.03, "coverage_factor": 2 }));
    assert!(e_n.e_n.unwrap() < 1.0);
    assert_eq!(e_n.signal, Signal::Action);
}

#[test]
fn equal_results_have_no_consensus_whatever_the_estimator() {
    for estimator in ["algorithm_a", "q_hampel", "median_made", "median_niqr", "mean"] {
        let plan = json!({
            "assigned_value": { "basis": "participants", "estimator": estimator },
            "sigma_pt": { "basis": "prescribed", "value": 1 },
            "scores": ["z"],
        });

        let evaluation = evaluated(plan, &vec![value(5.0); 20]);

        assert_eq!(codes(&evaluation), [NoteCode::NoSpread, NoteCode::NoConsensus], "{estimator}");
        assert_eq!(evaluation.measurands[0].summary.sd, Some(0.0));
        assert_eq!(evaluation.measurands[0].summary.hampel_mean, None);
    }
}

#[test]
fn results_that_are_all_below_a_limit_leave_everything_open() {
    let plan = json!({
        "assigned_value": { "basis": "participants", "estimator": "median_made" },
        "sigma_pt": { "basis": "prescribed", "value": 1 },
        "censored": "limit_aware",
        "scores": ["z"],
    });

    let evaluation = evaluated(plan.clone(), &vec![below(5.0); 20]);
    assert_eq!(codes(&evaluation), [NoteCode::CensoredNotIdentifiable, NoteCode::NoConsensus]);
    let none = evaluated(plan, &[]);
    assert_eq!(codes(&none), [NoteCode::FewParticipants, NoteCode::NoConsensus]);
}

#[test]
fn a_share_of_a_negative_or_zero_consensus_is_no_sigma() {
    let plan = json!({
        "assigned_value": { "basis": "participants", "estimator": "mean" },
        "sigma_pt": { "basis": "relative", "percent": 20 },
        "scores": ["z", "difference_percent"],
    });
    let results = |shift: f64| -> Vec<Value> { (0..13).map(|place| value(f64::from(place) - shift)).collect() };

    for shift in [6.0, 20.0] {
        let evaluation = evaluated(plan.clone(), &results(shift));
        assert_eq!(evaluation.measurands[0].sigma_pt, None);
        assert_eq!((evaluation.scores[0].z, evaluation.scores[0].signal), (None, Signal::NotScored));
    }
    // −14 is the mean and the seventh result: D % is 0, not −0.
    let seventh = evaluated(plan, &results(20.0)).scores.remove(6);
    assert!(seventh.difference_percent.is_some_and(|percent| percent == 0.0 && percent.is_sign_positive()));
}

#[test]
fn homogeneity_is_judged_from_seven_units_on() {
    let check = |units: usize| {
        let pairs: Vec<[f64; 2]> = (0..units).map(|unit| [50.0 + 0.1 * unit as f64, 50.0]).collect();
        let evaluation = evaluated(plan_with("homogeneity", json!(pairs)), &[]);
        (evaluation.measurands[0].homogeneity.clone().unwrap(), codes(&evaluation))
    };

    let (seven, notes) = check(7);
    assert_eq!((seven.sufficient, notes), (Some(true), vec![]));
    let (six, notes) = check(6);
    assert_eq!((six.sufficient, six.expanded_limit, notes), (None, None, vec![NoteCode::FewUnits]));
    assert!(six.limit.is_some() && six.between_sd.is_some());
    let (one, _) = check(1);
    assert_eq!((one.units, one.mean, one.between_sd, one.within_sd), (1, 50.0, None, 0.0));
    let evaluation = evaluated(plan_with("homogeneity", json!([[50, 52]])), &[]);
    let single = evaluation.measurands[0].homogeneity.as_ref().unwrap();
    assert!((single.mean - 51.0).abs() < 1e-12 && (single.within_sd - 2.0_f64.sqrt()).abs() < 1e-12);
}
