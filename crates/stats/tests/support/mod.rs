//! Reading reference data and comparing with them.

use std::path::PathBuf;

use roundel_stats::Sample;
use serde_json::Value;

/// A file of tests/reference.
pub(crate) fn reference(name: &str) -> Value {
    let path: PathBuf = [env!("CARGO_MANIFEST_DIR"), "../../tests/reference", name].iter().collect();
    let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    serde_json::from_str(&text).expect("reference data are JSON")
}

pub(crate) fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

pub(crate) fn list(value: &Value) -> Vec<f64> {
    value.as_array().unwrap_or_else(|| panic!("{value} is no list")).iter().map(number).collect()
}

pub(crate) fn sample(value: &Value) -> Sample {
    Sample::new(list(value)).expect("reference data are finite")
}

#[track_caller]
pub(crate) fn assert_near(name: &str, got: f64, expected: f64, tolerance: f64) {
    // A tolerance of zero in the data is meant for counts.
    assert!((got - expected).abs() <= tolerance.max(1e-15), "{name}: {got}, expected {expected} ± {tolerance}");
}

#[track_caller]
pub(crate) fn assert_relative(name: &str, got: f64, expected: f64, tolerance: f64) {
    assert_near(name, got, expected, tolerance * expected.abs());
}
