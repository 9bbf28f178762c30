//! Whole packages against outputs that were computed apart from this project:
//! see tests/reference/golden/README.md.

use std::path::PathBuf;

use roundel_domain::evaluation::precision::{self, Outliers};
use roundel_domain::evaluation::{RoundEvaluation, evaluate};
use roundel_domain::package;
use serde_json::Value;

/// Numbers may differ by this, relatively or absolutely.
const TOLERANCE: f64 = 1e-8;

fn golden(name: &str) -> String {
    let path: PathBuf = [env!("CARGO_MANIFEST_DIR"), "../../tests/reference/golden", name].iter().collect();
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// Adds a line for each difference.
fn compare(path: &str, expected: &Value, got: &Value, differences: &mut Vec<String>) {
    match (expected, got) {
        (Value::Object(expected), Value::Object(got)) => {
            for (key, value) in expected {
                match got.get(key) {
                    Some(other) => compare(&format!("{path}/{key}"), value, other, differences),
                    None => differences.push(format!("{path}/{key}: missing, expected {value}")),
                }
            }
            for key in got.keys().filter(|key| !expected.contains_key(*key)) {
                differences.push(format!("{path}/{key}: not expected, found {}", got[key]));
            }
        }
        (Value::Array(expected), Value::Array(got)) if expected.len() == got.len() => {
            for (index, (expected, got)) in expected.iter().zip(got).enumerate() {
                compare(&format!("{path}/{index}"), expected, got, differences);
            }
        }
        (Value::Number(a), Value::Number(b)) => {
            let (a, b) = (a.as_f64().unwrap_or(f64::NAN), b.as_f64().unwrap_or(f64::NAN));
            if (a - b).abs() > TOLERANCE * a.abs().max(1.0) {
                differences.push(format!("{path}: expected {a}, found {b}"));
            }
        }
        (a, b) if a == b => {}
        (a, b) => differences.push(format!("{path}: expected {a}, found {b}")),
    }
}

#[test]
fn the_evaluation_of_a_whole_round_agrees_in_every_field() {
    let package = package::parse(&golden("round.package.json")).unwrap();
    let expected: Value = serde_json::from_str(&golden("round.evaluation.json")).unwrap();

    let evaluation = evaluate(&package, "roundel test");

    let mut got: Value = serde_json::from_str(&evaluation.to_json()).unwrap();
    for name in ["engine", "package_sha256"] {
        assert!(got.as_object_mut().unwrap().remove(name).is_some());
    }
    for measurand in got["measurands"].as_array_mut().unwrap() {
        for note in measurand["notes"].as_array_mut().unwrap() {
            *note = note["code"].take();
        }
    }
    let mut differences = Vec::new();
    compare("", &expected, &got, &mut differences);
    assert!(differences.is_empty(), "{}", differences.join("\n"));
}

#[test]
fn the_same_package_gives_the_same_bytes_whatever_the_order_of_its_results() {
    let package = package::parse(&golden("round.package.json")).unwrap();
    let mut turned = package.clone();
    turned.results.reverse();
    turned.results.rotate_left(17);

    let first = evaluate(&package, "roundel test");

    assert_eq!(first.to_json(), evaluate(&turned, "roundel test").to_json());
    assert_eq!(RoundEvaluation::from_json(&first.to_json()).unwrap(), first);
}

#[test]
fn a_package_that_is_written_and_read_again_is_the_same() {
    for name in ["round.package.json", "trial.package.json"] {
        let text = golden(name);
        let package = package::parse(&text).unwrap();

        let written: Value = serde_json::from_str(&package.to_json()).unwrap();

        let mut differences = Vec::new();
        compare("", &serde_json::from_str(&text).unwrap(), &written, &mut differences);
        assert!(differences.is_empty(), "{}", differences.join("\n"));
        assert_eq!(package::parse(&package.to_json()).unwrap().sha256(), package.sha256());
    }
}

#[test]
fn the_precision_of_a_whole_trial_agrees_in_every_field() {
    let package = package::parse(&golden("trial.package.json")).unwrap();
    let expected: Value = serde_json::from_str(&golden("trial.precision.json")).unwrap();

    let evaluation = precision::evaluate(&package, Outliers::SetAside, "roundel test");

    let mut got: Value = serde_json::from_str(&evaluation.to_json()).unwrap();
    for name in ["engine", "package_sha256"] {
        assert!(got.as_object_mut().unwrap().remove(name).is_some());
    }
    let mut differences = Vec::new();
    compare("", &expected, &got, &mut differences);
    assert!(differences.is_empty(), "{}", differences.join("\n"));
}
