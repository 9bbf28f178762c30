//! What must hold for all data: no estimate depends on the order, all follow
//! a change of unit and of origin, and one wild value moves the robust ones
//! by a bounded amount.

use proptest::prelude::*;
use roundel_stats::consensus::{Measured, dersimonian_laird, mandel_paule, weighted_mean};
use roundel_stats::density;
use roundel_stats::{Error, Estimate, Sample, Scale, robust, summary};

/// Location and scale of every estimator.
fn estimates(values: &[f64]) -> Vec<(&'static str, Result<Estimate, Error>)> {
    let sample = Sample::new(values.iter().copied()).expect("finite values");
    vec![
        ("mean", summary::classical(&sample)),
        ("median and MADe", robust::median_made(&sample)),
        ("median and nIQR", robust::median_niqr(&sample)),
        ("Algorithm A", robust::algorithm_a(&sample)),
        ("Q method and Hampel", robust::q_hampel(&sample)),
        ("Huber", robust::huber(&sample)),
        ("median and Sn", with_median(&sample, robust::sn)),
        ("median and Qn", with_median(&sample, robust::qn)),
    ]
}

fn with_median(sample: &Sample, scale: fn(&Sample) -> Result<Scale, Error>) -> Result<Estimate, Error> {
    let Scale { scale, used } = scale(sample)?;
    Ok(Estimate { location: summary::median(sample), scale, used })
}

/// Results as laboratories report them: a few decimals, ties likely.
fn reported() -> impl Strategy<Value = Vec<f64>> {
    prop::collection::vec((0_i32..2000).prop_map(|tenths| f64::from(tenths) / 10.0), 2..40)
}

/// Data without ties, so that rounding cannot make or break one.
fn spread_out() -> impl Strategy<Value = Vec<f64>> {
    prop::collection::hash_set(1_u32..100_000, 5..30)
        .prop_map(|set| set.into_iter().map(|value| f64::from(value).sqrt()).collect())
}

fn near(a: f64, b: f64, tolerance: f64) -> bool {
    (a - b).abs() <= tolerance
}

proptest! {
    #[test]
    fn the_order_of_the_data_changes_no_bit(values in reported(), turn in 0_usize..40) {
        let mut turned = values.clone();
        turned.reverse();
        let places = turned.len();
        turned.rotate_left(turn % places);

        prop_assert_eq!(estimates(&values), estimates(&turned));
    }

    #[test]
    fn a_shift_moves_the_location_and_keeps_the_scale(values in spread_out(), shift in -1000_i32..1000) {
        let shift = f64::from(shift);
        let shifted: Vec<f64> = values.iter().map(|x| x + shift).collect();

        for ((name, before), (_, after)) in estimates(&values).into_iter().zip(estimates(&shifted)) {
            let (before, after) = (before.unwrap(), after.unwrap());
            prop_assert!(near(before.location + shift, after.location, 1e-8), "{}: {:?} {:?}", name, before, after);
            prop_assert!(near(before.scale, after.scale, 1e-8), "{}: {:?} {:?}", name, before, after);
        }
    }

    #[test]
    fn a_change_of_unit_multiplies_both(values in spread_out(), exponent in -12_i32..12) {
        let factor = 10_f64.powi(exponent);
        let scaled: Vec<f64> = values.iter().map(|x| x * factor).collect();

        for ((name, before), (_, after)) in estimates(&values).into_iter().zip(estimates(&scaled)) {
            let (before, after) = (before.unwrap(), after.unwrap());
            let tolerance = 1e-10 * factor * before.location.abs().max(before.scale);
            prop_assert!(near(before.location * factor, after.location, tolerance), "{}: {:?} {:?}", name, before, after);
            prop_assert!(near(before.scale * factor, after.scale, tolerance), "{}: {:?} {:?}", name, before, after);
        }
    }

    #[test]
    fn the_sign_turns_the_location_and_keeps_the_scale(values in spread_out()) {
        let mirrored: Vec<f64> = values.iter().map(|x| -x).collect();

        for ((name, before), (_, after)) in estimates(&values).into_iter().zip(estimates(&mirrored)) {
            let (before, after) = (before.unwrap(), after.unwrap());
            prop_assert!(near(-before.location, after.location, 1e-9), "{}: {:?} {:?}", name, before, after);
            prop_assert!(near(before.scale, after.scale, 1e-9), "{}: {:?} {:?}", name, before, after);
        }
    }

    #[test]
    fn one_wild_value_moves_a_robust_mean_no_further_than_the_others_lie(values in spread_out(), power in 4_i32..12) {
        let (low, high) = values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(*x), high.max(*x)));
        let mut wild = values.clone();
        wild.push(1e3 * 10_f64.powi(power));

        for (name, estimate) in estimates(&wild).into_iter().skip(1) {
            let estimate = estimate.unwrap();
            // With five values and one wild one Algorithm A is near its
            // breakdown, so it may leave their range by their width.
            prop_assert!(estimate.location >= low && estimate.location <= high + (high - low), "{}: {:?}", name, estimate);
            prop_assert!(estimate.scale <= 20.0 * (high - low), "{}: {:?}", name, estimate);
        }
    }

    #[test]
    fn weighted_means_follow_unit_and_origin_and_no_order(
        pairs in prop::collection::vec((1_u32..10_000, 1_u32..100), 2..20),
        shift in -1000_i32..1000,
        exponent in -6_i32..6,
    ) {
        let factor = 10_f64.powi(exponent);
        let measured = |factor: f64, shift: f64| -> Vec<Measured> {
            let one = |(value, u): &(u32, u32)| Measured {
                value: factor * (f64::from(*value).sqrt() + shift),
                standard_uncertainty: factor * f64::from(*u) / 7.0,
            };
            pairs.iter().map(one).collect()
        };
        for consensus in [weighted_mean, dersimonian_laird, mandel_paule] {
            let plain = consensus(&measured(1.0, 0.0)).unwrap();
            let mut turned = measured(1.0, 0.0);
            turned.reverse();
            prop_assert_eq!(consensus(&turned).unwrap(), plain);
            let shift = f64::from(shift);
            let moved = consensus(&measured(factor, shift)).unwrap();
            let tolerance = 1e-9 * factor * (shift.abs() + 100.0);
            prop_assert!(near(moved.value, factor * (plain.value + shift), tolerance), "{:?} {:?}", plain, moved);
            let reach = 1e-6 * plain.standard_uncertainty;
            prop_assert!(near(moved.standard_uncertainty / factor, plain.standard_uncertainty, reach), "{:?} {:?}", plain, moved);
        }
    }

    #[test]
    fn pooled_deviations_and_modes_follow_the_unit_and_no_order(values in spread_out(), exponent in -6_i32..6) {
        let factor = 10_f64.powi(exponent);
        let sample = |factor: f64| Sample::new(values.iter().rev().map(|x| factor * x)).unwrap();
        let plain = Sample::new(values.iter().copied()).unwrap();
        prop_assert_eq!(&plain, &sample(1.0));

        let (before, after) = (robust::algorithm_s(&plain, 1).unwrap(), robust::algorithm_s(&sample(factor), 1).unwrap());
        prop_assert!(near(before.scale * factor, after.scale, 1e-9 * after.scale), "{:?} {:?}", before, after);
        let modes = |sample: &Sample| {
            let bandwidth = density::silverman_bandwidth(sample).unwrap();
            density::modes(sample, bandwidth).unwrap()
        };
        let (before, after) = (modes(&plain), modes(&sample(factor)));
        prop_assert_eq!(before.modes.len(), after.modes.len());
        for (a, b) in before.modes.iter().zip(&after.modes) {
            prop_assert!(near(a.place * factor, b.place, 1e-6 * after.bandwidth), "{:?} {:?}", a, b);
        }
    }

    #[test]
    fn no_estimate_is_anything_but_finite(values in reported()) {
        for (name, estimate) in estimates(&values) {
            if let Ok(estimate) = estimate {
                prop_assert!(estimate.location.is_finite() && estimate.scale.is_finite(), "{}: {:?}", name, estimate);
                prop_assert!(estimate.scale >= 0.0, "{}: {:?}", name, estimate);
            }
        }
    }
}
