//! Critical values against the tails of the distributions in statrs 0.19, which
//! are good to 1e-11, inverted by bisection.

use roundel_stats::outlier::{End, grubbs_extremes, grubbs_pair, harmonised_pair_critical};
use roundel_stats::random::Random;
use roundel_stats::{Sample, homogeneity, outlier};
use statrs::distribution::{ChiSquared, ContinuousCDF, FisherSnedecor, StudentsT};

const LEVELS: [f64; 2] = [0.05, 0.01];

/// The value that is exceeded with the probability `tail`.
fn exceeded<D: ContinuousCDF<f64, f64>>(distribution: &D, tail: f64) -> f64 {
    let (mut low, mut high) = (1e-6_f64, 1e9_f64);
    for _ in 0..200 {
        let middle = (low * high).sqrt();
        if distribution.sf(middle) > tail { low = middle } else { high = middle }
    }
    high
}

fn fisher(numerator: f64, denominator: f64, tail: f64) -> f64 {
    exceeded(&FisherSnedecor::new(numerator, denominator).expect("degrees of freedom above zero"), tail)
}

fn student(freedom: f64, tail: f64) -> f64 {
    exceeded(&StudentsT::new(0.0, 1.0, freedom).expect("degrees of freedom above zero"), tail)
}

#[track_caller]
fn assert_same(name: &str, got: f64, expected: f64) {
    assert!((got / expected - 1.0).abs() <= 1e-9, "{name}: {got} {expected}");
}

#[test]
fn critical_values_are_those_of_another_library() {
    for laboratories in 3..=40 {
        let p = laboratories as f64;
        for alpha in LEVELS {
            let t = student(p - 2.0, alpha / (2.0 * p));
            let expected = (p - 1.0) / p.sqrt() * (t * t / (p - 2.0 + t * t)).sqrt();
            assert_same("Grubbs", outlier::grubbs_critical(laboratories, alpha).unwrap(), expected);
            let t = student(p - 2.0, alpha / 2.0);
            let expected = (p - 1.0) * t / (p * (t * t + p - 2.0)).sqrt();
            assert_same("h", outlier::mandel_h_critical(laboratories, alpha).unwrap(), expected);
            for results in [2, 3, 4, 6] {
                let freedom = results as f64 - 1.0;
                let f = fisher(freedom, (p - 1.0) * freedom, alpha / p);
                assert_same(
                    "Cochran",
                    outlier::cochran_critical(laboratories, results, alpha).unwrap(),
                    f / (f + p - 1.0),
                );
                let f = fisher(freedom, (p - 1.0) * freedom, alpha);
                let expected = (p * f / (f + p - 1.0)).sqrt();
                assert_same("k", outlier::mandel_k_critical(laboratories, results, alpha).unwrap(), expected);
            }
        }
    }
}

/// By its definition a critical value at 2.5 % is passed by 2.5 % of normal samples:
/// 2000 of 80 000, give or take 4 × √(80 000 × 0.025 × 0.975) = 177.
#[test]
fn pairs_of_the_harmonised_protocol_are_found_at_their_rate() {
    const SAMPLES: usize = 80_000;
    for p in [5, 8, 14, 25] {
        let critical = harmonised_pair_critical(p).unwrap();
        let mut random = Random::new(p as u64);
        let (mut same_end, mut extremes) = (0_i32, 0_i32);
        for _ in 0..SAMPLES {
            let means = Sample::new((0..p).map(|_| random.normal())).unwrap();
            let pair = [End::High, End::Low].map(|end| grubbs_pair(&means, end).unwrap());
            same_end += i32::from(pair[0].min(pair[1]) < critical.same_end);
            extremes += i32::from(grubbs_extremes(&means).unwrap() < critical.extremes);
        }
        for (name, found) in [("at one end", same_end), ("at both", extremes)] {
            assert!((found - 2000).abs() <= 177, "{p} laboratories, {name}: {found}");
        }
    }
}

#[test]
fn factors_of_homogeneity_are_those_of_another_library() {
    for units in 7..=30 {
        let g = units as f64;
        let homogeneity::Factors { first, second } = homogeneity::factors(units).unwrap();

        assert_same("F1", first, exceeded(&ChiSquared::new(g - 1.0).unwrap(), 0.05) / (g - 1.0));
        assert_same("F2", second, (fisher(g - 1.0, g, 0.05) - 1.0) / 2.0);
    }
}
