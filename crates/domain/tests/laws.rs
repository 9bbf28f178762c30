//! What must hold for every package: reading never panics, an evaluation has
//! an entry for each result and no number that is none, and neither the order
//! of the results nor a detour through text changes a byte.

use std::time::{Duration, Instant};

use proptest::prelude::*;
use roundel_domain::evaluation::precision::{self, Outliers};
use roundel_domain::evaluation::{self, RoundEvaluation, Signal, evaluate};
use roundel_domain::package::parse;
use serde_json::{Value, json};

fn value() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => (800_i32..1200).prop_map(|tenths| f64::from(tenths) / 10.0),
        1 => Just(100.0),
        1 => (-100_i32..100).prop_map(f64::from),
        1 => Just(1e140),
        1 => Just(-1e-140),
        1 => Just(0.0),
    ]
}

fn assigned_value() -> impl Strategy<Value = Value> {
    let estimator = prop::sample::select(vec![
        "by_count",
        "algorithm_a",
        "q_hampel",
        "median_made",
        "median_niqr",
        "mean",
        "weighted_mean",
        "mandel_paule",
        "dersimonian_laird",
    ]);
    prop_oneof![
        Just(json!({ "basis": "none" })),
        Just(json!({ "basis": "formulation", "value": 100, "standard_uncertainty": 2 })),
        Just(json!({ "basis": "reference", "value": 1e-140, "standard_uncertainty": 1e-150 })),
        (estimator, any::<bool>(), any::<bool>()).prop_map(|(estimator, fallback, group)| {
            let mut value = json!({ "basis": "participants", "estimator": estimator });
            if fallback {
                value["fallback"] = json!({ "basis": "expert", "value": 99, "standard_uncertainty": 30 });
            }
            if group {
                value["participants"] = json!(["P00", "P01", "P02", "P03"]);
            }
            value
        }),
    ]
}

fn sigma_pt() -> impl Strategy<Value = Value> {
    prop::sample::select(vec![
        json!({ "basis": "prescribed", "value": 10 }),
        json!({ "basis": "prescribed", "value": 1e-150 }),
        json!({ "basis": "relative", "percent": 22, "additional_sd": 1 }),
        json!({ "basis": "horwitz" }),
        json!({ "basis": "precision", "repeatability_sd": 3, "reproducibility_sd": 8 }),
        json!({ "basis": "participants" }),
    ])
}

fn result() -> impl Strategy<Value = Value> {
    let reported = prop_oneof![
        5 => prop::collection::vec(value(), 1..3).prop_map(|values| json!({ "values": values })),
        1 => (1_i32..200).prop_map(|limit| json!({ "below": limit })),
    ];
    (reported, any::<(bool, bool, bool)>()).prop_map(|(mut result, (uncertain, excluded, unscored))| {
        if uncertain {
            result["expanded_uncertainty"] = json!(6);
            result["coverage_factor"] = json!(2);
        }
        if excluded && unscored {
            result["exclude"] = json!("blunder");
            result["scored"] = json!(false);
        }
        result
    })
}

/// A package with one measurand and up to 25 results.
fn package() -> impl Strategy<Value = Value> {
    let scores =
        prop::sample::subsequence(vec!["z", "z_prime", "zeta", "e_n", "difference", "difference_percent"], 0..=6);
    let results = prop::collection::vec(result(), 0..25);
    (assigned_value(), sigma_pt(), scores.prop_shuffle(), results, any::<(bool, bool, bool)>()).prop_map(
        |(assigned_value, sigma_pt, scores, results, (rounded, limit_aware, items))| {
            let mut plan = json!({
                "id": "m", "item": "A", "analyte": "x", "unit": "ng/L", "replicates": 2,
                "mass_fraction_per_unit": 1e-12, "required_loq": 30,
                "assigned_value": assigned_value, "sigma_pt": sigma_pt, "scores": scores,
            });
            if rounded {
                plan["rounding"] = json!({ "assigned_value": 0, "standard_uncertainty": 1, "sigma_pt": 1 });
            }
            if limit_aware {
                plan["censored"] = json!("limit_aware");
            }
            if items {
                plan["homogeneity"] = json!([[1, 2], [2, 2], [3, 1], [2, 1], [1, 1], [2, 3], [2, 2]]);
                plan["stability"] = json!({ "before": [1, 2], "after": [2] });
            }
            let results: Vec<Value> = results
                .into_iter()
                .enumerate()
                .map(|(place, mut result)| {
                    result["participant"] = json!(format!("P{place:02}"));
                    result["measurand"] = json!("m");
                    result
                })
                .collect();
            json!({
                "format": "round-package/1", "round": { "code": "R", "title": "T" },
                "measurands": [plan], "results": results,
            })
        },
    )
}

proptest! {
    #[test]
    fn an_evaluation_is_complete_finite_and_independent_of_order(package in package(), turn in 0_usize..25) {
        // Some of the plans give a sigma_pt of zero and are refused.
        let package = parse(&package.to_string());
        prop_assume!(package.is_ok());
        let package = package.unwrap();

        let evaluation = evaluate(&package, "roundel test");

        let text = evaluation.to_json();
        prop_assert!(!text.contains("null"), "{}", text);
        prop_assert_eq!(evaluation.scores.len(), package.results.len());
        prop_assert_eq!(&RoundEvaluation::from_json(&text).unwrap(), &evaluation);
        let mut written = Vec::new();
        evaluation::write(&package, "roundel test", &mut written).unwrap();
        prop_assert_eq!(written, text.as_bytes());
        let mut turned = package.clone();
        turned.results.reverse();
        let places = turned.results.len().max(1);
        turned.results.rotate_left(turn % places);
        prop_assert_eq!(evaluate(&turned, "roundel test").to_json(), text);
        for entry in &evaluation.scores {
            let judged = matches!(entry.signal, Signal::None | Signal::Warning | Signal::Action);
            prop_assert!(!judged || evaluation.measurands[0].assigned_value.is_some());
        }
    }

    #[test]
    fn a_precision_document_is_finite(package in package()) {
        let package = parse(&package.to_string());
        prop_assume!(package.is_ok());
        let package = package.unwrap();

        for outliers in [Outliers::SetAside, Outliers::Keep] {
            let got = precision::evaluate(&package, outliers, "roundel test");
            prop_assert!(!got.to_json().contains("null"), "{}", got.to_json());
            let aside = got.measurands[0].laboratory_statistics.iter().filter(|one| one.set_aside).count();
            prop_assert!(9 * aside <= 2 * got.measurands[0].laboratory_statistics.len());
        }
    }

    #[test]
    fn a_damaged_document_is_read_without_panic(package in package(), place in any::<prop::sample::Index>(), piece in "[\\[\\]{}\":,0-9a-z\\\\.-]{0,4}") {
        let mut text = package.to_string();
        let places: Vec<usize> = text.char_indices().map(|(place, _)| place).collect();
        let start = places[place.index(places.len())];
        let end = (start + piece.len()).min(text.len());
        if text.is_char_boundary(end) {
            text.replace_range(start..end, &piece);
        }

        if let Err(problems) = parse(&text) {
            prop_assert!(!problems.is_empty());
            prop_assert!(problems.iter().all(|problem| problem.to_string().starts_with("error: ")));
        }
    }

    #[test]
    fn any_text_is_read_without_panic(text in "\\PC{0,40}") {
        let _ = parse(&text);
    }

    #[test]
    fn any_bytes_are_read_without_panic_in_a_bounded_time(bytes in prop::collection::vec(any::<u8>(), 0..4000)) {
        assert_read_quickly(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn a_package_with_bytes_put_in_is_read_in_a_bounded_time(
        package in package(),
        bytes in prop::collection::vec(any::<u8>(), 1..8),
        place in any::<prop::sample::Index>(),
    ) {
        let mut text = package.to_string().into_bytes();
        let place = place.index(text.len());
        text.splice(place..place, bytes);

        assert_read_quickly(&String::from_utf8_lossy(&text));
    }
}

/// Far more than any of these documents needs, even unoptimised and on a busy
/// machine; a reader whose time grew with the square of the length would need
/// more.
const BOUND: Duration = Duration::from_secs(5);

fn assert_read_quickly(text: &str) {
    let start = Instant::now();
    let problems = parse(text).err().unwrap_or_default();
    assert!(start.elapsed() < BOUND, "{:?} for {} bytes", start.elapsed(), text.len());
    assert!(problems.iter().all(|problem| !problem.message.is_empty()));
}

#[test]
fn hostile_documents_are_read_in_a_bounded_time() {
    let many = 100_000;
    let hostile = [
        "[".repeat(many),
        "{\"a\":".repeat(many),
        format!("[{}]", vec!["1e999"; many].join(",")),
        format!("{{{}}}", vec!["\"a\":1"; many].join(",")),
        format!("{{\"results\":[{}]}}", vec!["{}"; many / 10].join(",")),
        format!("{{\"results\":{}{}}}", "[".repeat(100), "]".repeat(100)),
        format!("\"{}\"", "\\u0000".repeat(many)),
        format!("{{\"{}\":0}}", "/~".repeat(many)),
        "9".repeat(many),
    ];

    for document in hostile {
        assert!(parse(&document).is_err());
        assert_read_quickly(&document);
    }
}
