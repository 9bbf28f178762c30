//! No estimator allocates more often than a fixed number of times per call,
//! whatever the number of values: counted by an allocator of its own, in a
//! binary of its own.

use allocation_counter::measure;
use roundel_stats::consensus::{Measured, dersimonian_laird, mandel_paule, weighted_mean};
use roundel_stats::density::{self, Resampling};
use roundel_stats::random::Random;
use roundel_stats::{Sample, censored, precision, regression, robust, skew, summary, youden};

/// The most that any of them takes.
const MOST: u64 = 10;

/// Values in two groups, with ties and a few far off.
fn values(count: usize) -> Vec<f64> {
    let mut random = Random::new(count as u64);
    (0..count)
        .map(|place| {
            let far = if place % 40 == 3 { 30.0 } else { 0.0 };
            (10.0 * random.normal()).round() / 10.0 + far + if place % 3 == 0 { 6.0 } else { 0.0 }
        })
        .collect()
}

#[track_caller]
fn counted<T>(name: &str, count: usize, call: impl FnOnce() -> T) {
    let found = measure(|| drop(call())).count_total;
    assert!(found <= MOST, "{name} of {count} values allocates {found} times");
}

/// Each estimator on so many values.
fn all(count: usize) {
    let plain = values(count);
    let sample = Sample::new(plain.iter().copied()).expect("finite");
    let deviations = Sample::new(plain.iter().map(|x| x.abs())).expect("finite");
    let pairs: Vec<[f64; 2]> = plain.iter().map(|x| [*x, x * x]).collect();
    let points: Vec<(f64, f64)> = pairs.iter().map(|[x, y]| (*x, *y)).collect();
    let measured: Vec<Measured> =
        plain.iter().map(|x| Measured { value: *x, standard_uncertainty: 0.5 + x.abs() }).collect();
    let cells: Vec<Sample> = pairs.iter().map(|pair| Sample::new(*pair).expect("finite")).collect();
    let limits = vec![-20.0; count / 10];
    let bandwidth = 1.5;

    counted("Sample::new", count, || Sample::new(plain.iter().copied()));
    counted("mean, s", count, || summary::classical(&sample));
    counted("nIQR", count, || summary::niqr(&sample));
    counted("MADe", count, || robust::median_made(&sample));
    counted("Algorithm A", count, || robust::algorithm_a(&sample));
    counted("Huber", count, || robust::huber(&sample));
    counted("Algorithm S", count, || robust::algorithm_s(&deviations, 1));
    counted("Sn", count, || robust::sn(&sample));
    counted("Qn", count, || robust::qn(&sample));
    counted("Q method", count, || robust::q_method(&sample));
    counted("Q method and Hampel", count, || robust::q_hampel(&sample));
    counted("Hampel's roots", count, || robust::hampel_roots(&sample, 1.0));
    counted("by ranks", count, || censored::median_made(&sample, &limits));
    counted("weighted mean", count, || weighted_mean(&measured));
    counted("DerSimonian and Laird", count, || dersimonian_laird(&measured));
    counted("Mandel and Paule", count, || mandel_paule(&measured));
    counted("modes", count, || density::modes(&sample, bandwidth));
    counted("line", count, || regression::least_squares(&points));
    counted("pairs", count, || youden::youden(&pairs));
    counted("precision", count, || precision::precision(&cells));
    counted("Q method for replicates", count, || robust::q_method_replicates(&cells));
    counted("medcouple", count, || skew::medcouple(&sample));
    counted("median slope", count, || regression::median_slope(&points, 0.05));
    for sets in [2, 20] {
        let resampling = Resampling { sets, seed: 1, smoothed: true };
        counted("resampled modes", count, || density::resample(&sample, bandwidth, resampling, 0.1));
    }
}

#[test]
fn no_estimator_allocates_more_often_for_more_values() {
    all(30);
    all(800);
}
