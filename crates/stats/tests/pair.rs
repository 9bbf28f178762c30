//! Robust covariances of pairs against another program.

use roundel_stats::pair::{Pair, pair};
use roundel_stats::{Error, youden};

/// Twelve laboratories; the last one exchanged its two items and is far out.
const PAIRS: [[f64; 2]; 12] = [
    [4.2, 5.1],
    [4.5, 5.0],
    [4.9, 5.6],
    [5.0, 5.4],
    [5.2, 6.1],
    [5.2, 5.7],
    [5.6, 6.0],
    [5.7, 6.6],
    [6.2, 6.3],
    [4.7, 5.9],
    [5.4, 5.3],
    [9.9, 2.1],
];

#[track_caller]
fn near(name: &str, got: f64, expected: f64) {
    assert!((got - expected).abs() <= 1e-9 * expected.abs().max(1.0), "{name}: {got}, expected {expected}");
}

#[test]
fn location_covariance_and_distances_are_those_of_another_program() {
    // Python 3 with numpy: medians; Qn by sorting all |x_i − x_j|, times 2.219 14 and
    // the factor of twelve values (statsmodels.robust.scale.qn_scale gives the same
    // without the factor, to its constant 2.219 144); r from Qn of sum and difference
    // of the standardised values; distances by numpy.linalg.solve of the covariance.
    let distances = [
        1.420_728_496_140_905_7,
        1.011_112_259_014_287_4,
        0.168_282_757_893_402_4,
        0.138_264_172_921_973_63,
        0.762_628_748_690_350_5,
        0.009_415_169_736_917_87,
        0.305_114_725_433_496_66,
        2.162_946_256_423_481_4,
        1.485_603_826_298_936_8,
        1.321_766_128_103_233_8,
        0.828_691_627_264_841_4,
        165.284_794_665_024_6,
    ];

    let found = pair(&PAIRS).unwrap();

    near("median x", found.location[0], 5.2);
    near("median y", found.location[1], 5.65);
    near("scale x", found.scale[0], 0.840_421_605_1);
    near("scale y", found.scale[1], 0.672_337_284_080_000_6);
    near("correlation", found.correlation, 0.642_335_766_423_359_4);
    for (place, (one, expected)) in PAIRS.iter().zip(distances).enumerate() {
        near(&format!("distance {place}"), found.distance(*one).unwrap(), expected);
    }
    // scipy.stats.f.ppf(0.95, 2, 10) × 2 × 11/10.
    let outside = youden::ellipse(PAIRS.len(), 0.05).unwrap();
    near("T²", outside, 9.026_206_233_286_88);
    let out = PAIRS.iter().filter(|one| found.distance(**one).unwrap() > outside).count();
    assert_eq!(out, 1, "the wild pair alone lies outside");
    // numpy.corrcoef: one wild pair turns the ordinary coefficient round.
    near("ordinary", youden::youden(&PAIRS).unwrap().correlation, -0.727_038_582_056_699_7);
}

#[test]
fn the_ellipse_is_where_the_distance_is_its_radius() {
    let found = pair(&PAIRS).unwrap();
    for step in 0..24 {
        let point = found.on_ellipse(9.0, f64::from(step) * 0.261_799_387_799_149_4);
        near("squared radius", found.distance(point).unwrap(), 9.0);
    }
}

#[test]
fn order_units_and_offsets_do_not_matter() {
    let found = pair(&PAIRS).unwrap();
    let mut turned = PAIRS;
    turned.reverse();
    assert_eq!(pair(&turned).unwrap(), found);

    let moved = pair(&PAIRS.map(|[x, y]| [1000.0 * x + 3.0, 0.01 * y - 7.0])).unwrap();
    near("correlation", moved.correlation, found.correlation);
    near("scale x", moved.scale[0] / 1000.0, found.scale[0]);
    near("scale y", moved.scale[1] / 0.01, found.scale[1]);
    let swapped = pair(&PAIRS.map(|[x, y]| [y, x])).unwrap();
    near("swapped", swapped.correlation, found.correlation);
}

#[test]
fn a_singular_covariance_is_refused() {
    let line = [1.0, 2.0, 3.0, 5.0, 8.0].map(|x| [x, 3.0 - 2.0 * x]);
    assert_eq!(pair(&line), Err(Error::NoSpread));
    let level = [1.0, 2.0, 3.0, 5.0, 8.0].map(|x| [x, 4.0]);
    assert_eq!(pair(&level), Err(Error::NoSpread));
    assert_eq!(pair(&line[..2]), Err(Error::TooFew { needed: 3, given: 2 }));
    assert_eq!(pair(&[[1.0, f64::NAN], [2.0, 1.0], [3.0, 1.0]]), Err(Error::NotFinite));
    let one = Pair { location: [0.0; 2], scale: [1.0; 2], correlation: 0.0 };
    assert_eq!(one.distance([f64::INFINITY, 0.0]), Err(Error::NotFinite));
}
