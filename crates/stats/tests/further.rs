//! Lines, skewness, budgets, earlier rounds, power and intervals against
//! other programs (Python 3.11 with numpy 2.4.6, scipy 1.17.1 and statsmodels
//! 0.15.0, called once and copied) and against arithmetic.

use roundel_stats::consensus::Measured;
use roundel_stats::density::{self, Resampling};
use roundel_stats::earlier_rounds::{self, EarlierRound};
use roundel_stats::precision::{forecast, intervals, robust};
use roundel_stats::{Error, Sample, budget, homogeneity, horwitz, random, regression, score, skew, stability};

const DAYS: [(f64, f64); 8] =
    [(0.0, 100.2), (3.0, 99.1), (7.0, 98.7), (7.0, 97.9), (12.0, 97.2), (14.0, 98.8), (21.0, 95.1), (28.0, 93.0)];

#[track_caller]
fn assert_relative(name: &str, got: f64, expected: f64, tolerance: f64) {
    assert!((got - expected).abs() <= tolerance * expected.abs(), "{name}: {got}, expected {expected}");
}

fn measured(value: f64, standard_uncertainty: f64) -> Measured {
    Measured { value, standard_uncertainty }
}

#[test]
fn a_line_by_least_squares_is_that_of_another_program() {
    // scipy.stats.linregress.
    let line = regression::least_squares(&DAYS).unwrap();

    assert_relative("slope", line.slope, -0.237_459_283_387_622_6, 1e-12);
    assert_relative("intercept", line.intercept, 100.230_781_758_957_66, 1e-12);
    assert_relative("standard error", line.slope_sd, 0.035_406_881_443_467_465, 1e-10);
    // Its p is 0.000 534.
    assert!(line.is_significant(0.000_54).unwrap() && !line.is_significant(0.000_53).unwrap());
}

#[test]
fn a_slope_over_time_becomes_a_change_with_its_uncertainty() {
    let trend = stability::trend(&DAYS, 28.0).unwrap();

    assert!(trend.is_significant);
    assert_relative("change", trend.change, 28.0 * -0.237_459_283_387_622_6, 1e-12);
    assert_relative("uncertainty", trend.standard_uncertainty, 28.0 * 0.035_406_881_443_467_465, 1e-10);
    assert_eq!(stability::trend(&[(1.0, 2.0), (1.0, 3.0), (1.0, 4.0)], 28.0), Err(Error::NoSpread));
}

#[test]
fn a_median_slope_and_its_interval_are_those_of_another_program() {
    // scipy.stats.theilslopes(y, x, 0.95).
    let line = regression::median_slope(&DAYS, 0.05).unwrap();

    assert_relative("slope", line.slope, -0.242_857_142_857_143_27, 1e-12);
    assert_relative("low", line.low, -0.299_999_999_999_999_2, 1e-12);
    assert_relative("high", line.high, -0.100_000_000_000_000_41, 1e-12);
}

#[test]
fn medcouples_are_those_of_another_program() {
    // statsmodels.stats.stattools.medcouple(…, use_fast=False).
    let cases: [(&[f64], f64); 3] = [
        (&[4.5, 4.9, 5.6, 4.2, 6.2, 5.2, 9.9], 0.15966386554621825),
        (&[1.0, 2.0, 2.0, 2.0, 3.0, 5.0, 9.0, 14.0], 0.6666666666666666),
        (&[5.0, 5.0, 5.0, 6.0, 4.0, 7.0, 7.5, 1.0], 0.0),
    ];

    for (values, expected) in cases {
        let sample = Sample::new(values.iter().copied()).unwrap();
        let mirrored = Sample::new(values.iter().map(|x| -x)).unwrap();
        let got = skew::medcouple(&sample).unwrap().medcouple;
        assert!((got - expected).abs() < 1e-12, "{values:?}: {got} {expected}");
        assert!((skew::medcouple(&mirrored).unwrap().medcouple + got).abs() < 1e-12, "{values:?}");
    }
    assert_eq!(skew::medcouple(&Sample::new([2.0; 5]).unwrap()), Err(Error::NoSpread));
}

#[test]
fn the_chance_to_pass_is_that_of_a_quadrature_elsewhere() {
    // scipy: quad over chi2.pdf × chi2.cdf. The first is the batch of which
    // the requirements say that 84 % pass.
    let cases = [
        ((10, 0.45, 0.5, 1.0, true), 0.843_565_033_425_227_8),
        ((10, 0.45, 0.5, 1.0, false), 0.258_224_330_900_64),
        ((12, 0.3, 0.2, 1.0, true), 0.965_894_462_601_435_6),
    ];

    for ((units, between, within, sigma, expanded), expected) in cases {
        let got = homogeneity::chance_to_pass(units, between, within, sigma, expanded).unwrap();
        assert!((got - expected).abs() < 2e-4, "{units} {between}: {got} {expected}");
    }
}

#[test]
fn the_chance_to_detect_differing_units_is_that_of_the_requirements_and_of_a_quadrature_elsewhere() {
    // Units that differ by 0.6 sigma_pt, twice what they may, at a repeatability
    // of 0.5 sigma_pt: 39 % by the requirements; POWER by scipy's quad.
    let power = 1.0 - homogeneity::chance_to_pass(10, 0.6, 0.5, 1.0, true).unwrap();
    assert!((power - 0.39).abs() < 5e-3, "{power}");
    assert!((power - 0.38838385571929857).abs() < 2e-4, "{power}");
}

#[test]
fn the_interval_between_units_is_that_of_the_formula_elsewhere() {
    // numpy and scipy.stats.f.isf, chi2.isf.
    let found = homogeneity::Duplicates { units: 5, mean: 5.0, between_sd: 0.3, within_sd: 0.2 };
    let (low, high) = found.between_interval(0.05).unwrap();
    assert_eq!(low, 0.0);
    assert_relative("high", high, 0.9437531410439712, 1e-9);
    let found = homogeneity::Duplicates { units: 10, mean: 5.0, between_sd: 0.5, within_sd: 0.1 };
    let (low, high) = found.between_interval(0.05).unwrap();
    assert_relative("low", low, 0.3342236404170977, 1e-9);
    assert_relative("high", high, 0.9196049986457921, 1e-9);
}

#[test]
fn one_pair_that_differs_and_a_slope_over_the_filling_order_are_found() {
    let pairs: Vec<[f64; 2]> =
        (0..10).map(|unit| [10.0 + 0.1 * f64::from(unit), 10.02 + 0.1 * f64::from(unit)]).collect();
    let mut apart = pairs.clone();
    apart[3] = [9.0, 11.0];

    // Printed critical values for 10 pairs: 0.602 at 5 %, 0.718 at 1 % (table
    // of ISO 5725-2, from memory).
    let homogeneity::Cochran { statistic, critical, .. } = homogeneity::cochran(&apart).unwrap();
    assert!(statistic > 0.999 && (critical.at_5 - 0.602).abs() < 6e-4 && (critical.at_1 - 0.718).abs() < 6e-4);
    let line = homogeneity::trend(&pairs).unwrap();
    assert_relative("slope", line.slope, 0.1, 1e-9);
    assert!(line.is_significant(0.05).unwrap());
    let level: Vec<[f64; 2]> = [1.0, 3.0, 2.0, 3.0, 1.0].map(|x| [x, x]).to_vec();
    assert!(!homogeneity::trend(&level).unwrap().is_significant(0.05).unwrap());
}

#[test]
fn intervals_of_precision_are_those_of_the_formulae_elsewhere() {
    // numpy and scipy: Satterthwaite's freedom and chi2.ppf.
    let cells: [&[f64]; 5] = [&[9.8, 10.1], &[10.4, 10.6, 10.5], &[9.5, 9.9], &[10.0, 10.2], &[11.0, 10.7]];
    let cells: Vec<Sample> = cells.iter().map(|cell| Sample::new(cell.iter().copied()).unwrap()).collect();

    let got = intervals(&cells, 0.95).unwrap();

    assert_relative("s_r low", got.repeatability.low, 0.120_554_967_738_929_58, 1e-9);
    assert_relative("s_r high", got.repeatability.high, 0.411_968_846_860_167_8, 1e-9);
    assert_relative("s_R low", got.reproducibility.low, 0.288_995_024_186_297_36, 1e-9);
    assert_relative("s_R high", got.reproducibility.high, 1.181_105_571_970_025, 1e-9);
    assert_relative("freedom", got.reproducibility_freedom, 4.769_346_356_123_212, 1e-9);
    assert!(intervals(&cells[..1], 0.95).is_err());
}

#[test]
fn a_trial_of_eight_leaves_reproducibility_uncertain_by_46_per_cent() {
    // The figures of the requirements: ± 46 % for p = 8 and ± 33 % for 15.
    let percent = |laboratories| (100.0 * forecast(laboratories, 2, 2.0).unwrap().reproducibility).round();

    assert_eq!([percent(8), percent(15)], [46.0, 33.0]);
    // 1.96/√(2 × 8).
    assert_relative("s_r", forecast(8, 2, 2.0).unwrap().repeatability, 0.49, 1e-12);
}

#[test]
fn robust_precision_needs_eight_laboratories() {
    let cells = |count: usize| -> Vec<Sample> {
        (0..count).map(|place| Sample::new([place as f64, place as f64 + 0.3 + 0.05 * place as f64]).unwrap()).collect()
    };

    assert_eq!(robust(&cells(7)).unwrap().deviations, None);
    let wild: Vec<Sample> = cells(9).into_iter().chain([Sample::new([1e6, 1e6 + 900.0]).unwrap()]).collect();
    let got = robust(&wild).unwrap();
    let deviations = got.deviations.unwrap();
    assert!(got.mean.location < 10.0 && deviations.reproducibility < 20.0 && deviations.repeatability < 1.0, "{got:?}");
}

#[test]
fn an_uncertainty_is_made_of_its_parts_and_never_zero() {
    let parts = budget::Budget { characterisation: 1.0, homogeneity: 2.0, transport: 2.0, stability: 4.0 };

    assert_eq!(parts.standard_uncertainty(), Ok(5.0));
    assert!(budget::Budget::default().standard_uncertainty().is_err());
    assert!(budget::Budget { transport: -1.0, ..parts }.standard_uncertainty().is_err());
}

#[test]
fn a_consensus_agrees_is_commented_or_is_for_a_person_to_decide() {
    let agreement = |consensus: f64, sigma_pt: f64| {
        budget::compare(measured(consensus, 3.0), measured(100.0, 4.0), sigma_pt).unwrap().agreement
    };

    // u(d) = 5 by arithmetic.
    assert_eq!(agreement(110.0, 2.0), budget::Agreement::Agrees);
    assert_eq!(agreement(112.0, 24.0), budget::Agreement::Comment);
    assert_eq!(agreement(112.0, 23.0), budget::Agreement::Disagrees);
    let low = budget::compare(measured(90.0, 3.0), measured(100.0, 4.0), 25.0).unwrap();
    assert_eq!((low.difference, low.standard_uncertainty, low.recovery_percent), (-10.0, 5.0, Some(90.0)));
    assert!(budget::compare(measured(90.0, 3.0), measured(100.0, 0.0), 25.0).is_err());
}

#[test]
fn a_recovery_rests_on_a_spike_well_above_the_uncertainty_of_the_native_content() {
    let recovery = |spike| budget::recovery(measured(58.0, 3.0), measured(10.0, 4.0), measured(spike, 0.0));

    // By arithmetic: 48/50, √(9 + 16)/50.
    let got = recovery(50.0).unwrap();
    assert_relative("recovery", got.recovery, 0.96, 1e-12);
    assert_relative("uncertainty", got.standard_uncertainty, 0.1, 1e-12);
    assert!(!got.is_significant);
    assert!(recovery(12.0).is_err());
    assert!(recovery(12.1).is_ok());
}

#[test]
fn earlier_rounds_give_a_line_within_their_levels_or_a_refusal() {
    let rounds = |points: &[(f64, f64)]| -> Vec<EarlierRound> {
        points.iter().map(|(level, robust_sd)| EarlierRound { level: *level, robust_sd: *robust_sd }).collect()
    };

    let pooled = earlier_rounds::fit(&rounds(&[(10.0, 2.5), (20.0, 4.5), (30.0, 6.5), (50.0, 10.5)])).unwrap();
    assert_relative("s at 40", pooled.sigma_pt(40.0).unwrap(), 8.5, 1e-12);
    assert!(pooled.sigma_pt(9.9).is_err() && pooled.sigma_pt(50.1).is_err());
    let refused: [&[(f64, f64)]; 4] = [
        &[(10.0, 2.5), (20.0, 4.5), (30.0, 6.5)],
        // One round far away carries the slope.
        &[(10.0, 2.5), (11.0, 2.4), (10.5, 2.6), (90.0, 20.0)],
        // The line is −0.35 at the lowest level.
        &[(10.0, 0.1), (20.0, 0.2), (30.0, 0.3), (40.0, 5.0)],
        &[(10.0, 2.5), (10.0, 2.4), (10.0, 2.6), (10.0, 2.0)],
    ];
    for points in refused {
        assert!(earlier_rounds::fit(&rounds(points)).is_err(), "{points:?}");
    }
    let constant = earlier_rounds::constant_relative_sd(&rounds(&[(10.0, 2.0), (20.0, 4.0), (5.0, 1.0), (1.0, 0.2)]));
    assert_relative("constant share", constant.unwrap(), 0.2, 1e-12);
}

#[test]
fn further_scores_follow_their_formulae() {
    assert_eq!(score::permitted_percent(11.0, 10.0, 2.0), Ok(50.0));
    assert_eq!(score::z_own(11.0, 10.0, 0.5), Ok(2.0));
    // ln 2 / √ln 1.16 = 0.693 147 181 / 0.385 253 171 (by hand calculator).
    assert_relative("z_ln", score::z_log(20.0, 10.0, 0.4).unwrap(), 1.799_199_9, 1e-6);
    assert!(score::z_log(0.0, 10.0, 0.4).is_err());
    assert!(score::z_own(1.0, 1.0, 0.0).is_err());
    // RSD 44 % at 100 ng/L: twice the 22 % branch, 0.70 of 2 (1e-10)^−0.15 = 63.2 %.
    let ratio = horwitz::horrat(44.0, 1e-10).unwrap();
    assert_relative("capped", ratio.capped, 2.0, 1e-12);
    assert_relative("unmodified", ratio.unmodified, 44.0 / 63.245_553_203, 1e-9);
}

#[test]
fn resampling_repeats_itself_and_tells_two_modes_from_one() {
    let normal = |seed, shift: f64| -> Vec<f64> {
        let mut random = random::Random::new(seed);
        (0..25).map(|place| random.normal() + if place % 2 == 0 { shift } else { 0.0 }).collect()
    };
    let look = |values: Vec<f64>, seed| {
        let resampling = Resampling { sets: 200, seed, smoothed: true };
        density::resample(&Sample::new(values).unwrap(), 0.75, resampling, 0.1).unwrap()
    };

    let apart = look(normal(3, 8.0), 1);
    assert_eq!(apart, look(normal(3, 8.0), 1));
    assert_ne!(apart, look(normal(3, 8.0), 2));
    assert!(apart.several > 0.95, "{apart:?}");
    let together = look(normal(3, 0.0), 1);
    assert!(together.several < 0.5, "{together:?}");
    // The mode of 25 normal values is uncertain by some tenths of their
    // standard deviation.
    assert!(together.standard_error > 0.05 && together.standard_error < 1.0, "{together:?}");
}
