//! How a collaborative trial is scrutinised: which tests are made, in which
//! order, and who is set aside.

use roundel_domain::evaluation::precision::{Finding, MeasurandPrecision, Outliers, Test, TestOutcome, evaluate};
use roundel_domain::package::{
    AssignedValue, Measurand, NoValue, PackageRound, Reported, ReportedResult, RoundPackage,
};

/// A trial with one measurand; laboratories L01, L02, ….
fn trial(laboratories: &[Vec<f64>]) -> RoundPackage {
    RoundPackage {
        round: PackageRound { code: "T".to_owned(), title: "T".to_owned(), omitted: None },
        measurands: vec![Measurand {
            id: "m".to_owned(),
            item: "m".to_owned(),
            analyte: "m".to_owned(),
            unit: "mg/L".to_owned(),
            replicates: Some(9),
            assigned_value: Some(AssignedValue::None(NoValue::default())),
            ..Measurand::default()
        }],
        results: laboratories
            .iter()
            .enumerate()
            .map(|(place, values)| {
                ReportedResult::new(&format!("L{:02}", place + 1), "m", Reported::Values(values.clone()))
            })
            .collect(),
    }
}

fn evaluated(laboratories: &[Vec<f64>], outliers: Outliers) -> MeasurandPrecision {
    evaluate(&trial(laboratories), outliers, "roundel test").measurands.remove(0)
}

/// Test, participants, finding, stopped.
fn made(tests: &[TestOutcome]) -> Vec<(Test, String, Finding, bool)> {
    tests.iter().map(|test| (test.test, test.participants.join(" "), test.finding, test.stopped)).collect()
}

/// Duplicates about the given means, half a unit apart.
fn duplicates(means: &[f64]) -> Vec<Vec<f64>> {
    means.iter().map(|mean| vec![mean - 0.25, mean + 0.25]).collect()
}

/// Glucose in serum, material C of ASTM E691-99, Table 1, as archived by NIST
/// (dataplot, GLUCOSE2.DAT): 148.30 of the fourth laboratory is a digit error.
fn glucose() -> Vec<Vec<f64>> {
    vec![
        vec![132.66, 133.83, 133.1],
        vec![132.92, 136.9, 136.4],
        vec![132.61, 135.8, 135.36],
        vec![138.5, 148.3, 135.69],
        vec![131.9, 134.14, 133.76],
        vec![137.21, 135.14, 137.5],
        vec![130.97, 131.59, 134.92],
        vec![135.46, 135.14, 133.63],
    ]
}

#[test]
fn a_clerical_error_is_found_by_cochran_and_set_aside() {
    let got = evaluated(&glucose(), Outliers::SetAside);

    // C = 0.7253 (computed apart from this project); the critical value at
    // 1 % for 8 laboratories with 3 results is printed as 0.615.
    assert_eq!(made(&got.tests)[0], (Test::Cochran, "L04".to_owned(), Finding::Outlier, false));
    assert!((got.tests[0].statistic - 0.725_286_310_075_466_7).abs() < 1e-9);
    assert!((got.tests[0].critical_1.expect("ISO") - 0.615).abs() < 6e-4);
    assert_eq!((got.laboratories, got.results, got.outlier_percent), (7, 21, Some(12.5)));
    assert!(got.laboratory_statistics[3].set_aside);
}

#[test]
fn kept_outliers_stay_in_every_figure_and_each_test_is_made_once() {
    let got = evaluated(&glucose(), Outliers::Keep);

    // s_r and s_R over all eight, computed apart from this project.
    assert!((got.repeatability_sd.unwrap() - 2.748_272_184_482_464).abs() < 1e-9);
    assert!((got.reproducibility_sd.unwrap() - 3.476_977_997_063_472_4).abs() < 1e-9);
    assert_eq!((got.laboratories, got.outlier_percent), (8, Some(0.0)));
    let tests: Vec<Test> = got.tests.iter().map(|test| test.test).collect();
    assert_eq!(tests, [Test::Cochran, Test::Grubbs, Test::Grubbs, Test::GrubbsPair, Test::GrubbsPair]);
    assert!(got.tests.iter().all(|test| !test.stopped));
}

#[test]
fn both_ends_are_tested_once_more_after_an_outlier() {
    let mut means: Vec<f64> = (0..12).map(|place| 100.0 + f64::from(place) * 0.1).collect();
    means[3] = 160.0;
    means[7] = 60.0;

    let got = evaluated(&duplicates(&means), Outliers::SetAside);

    let grubbs: Vec<_> = made(&got.tests).into_iter().filter(|test| test.0 == Test::Grubbs).collect();
    assert_eq!(
        grubbs[..2],
        [
            (Test::Grubbs, "L04".to_owned(), Finding::Outlier, false),
            (Test::Grubbs, "L08".to_owned(), Finding::Outlier, false),
        ]
    );
    assert_eq!(grubbs.len(), 4);
    assert!(grubbs[2..].iter().all(|test| test.2 == Finding::None));
    assert!(got.tests.iter().all(|test| test.test != Test::GrubbsPair));
}

#[test]
fn no_more_than_two_ninths_are_set_aside() {
    // Of eight laboratories one may be set aside: 2/9 of 8 is 1.8.
    let mut means: Vec<f64> = (0..8).map(|place| 100.0 + f64::from(place) * 0.1).collect();
    means[0] = 60.0;
    means[1] = 9000.0;

    let got = evaluated(&duplicates(&means), Outliers::SetAside);

    let grubbs: Vec<_> = made(&got.tests).into_iter().filter(|test| test.0 == Test::Grubbs).collect();
    assert_eq!(grubbs[0], (Test::Grubbs, "L02".to_owned(), Finding::Outlier, false));
    assert_eq!(grubbs[1], (Test::Grubbs, "L01".to_owned(), Finding::Outlier, true));
    assert_eq!(got.laboratories, 7);
}

#[test]
fn two_ninths_themselves_may_be_set_aside() {
    let mut means: Vec<f64> = (0..9).map(|place| 100.0 + f64::from(place) * 0.1).collect();
    means[0] = 60.0;
    means[1] = 9000.0;

    let got = evaluated(&duplicates(&means), Outliers::SetAside);

    assert_eq!(got.laboratories, 7);
    assert!(got.tests.iter().all(|test| !test.stopped));
}

#[test]
fn two_that_stand_apart_together_are_found_as_a_pair() {
    let mut means: Vec<f64> = (0..12).map(|place| 100.0 + f64::from(place) * 0.1).collect();
    means[2] = 140.0;
    means[5] = 141.0;

    let got = evaluated(&duplicates(&means), Outliers::SetAside);

    let pairs: Vec<_> = made(&got.tests).into_iter().filter(|test| test.0 == Test::GrubbsPair).collect();
    assert_eq!(pairs[0], (Test::GrubbsPair, "L03 L06".to_owned(), Finding::Outlier, false));
    assert_eq!(got.laboratories, 10);
}

/// The harmonised protocol has one level and begins again after each that goes.
#[test]
fn the_harmonised_protocol_tests_at_one_level_and_begins_again() {
    let got = evaluated(&glucose(), Outliers::Harmonised);

    // C as above; the critical value at 2.5 % for 8 laboratories with 3 results by
    // scipy 1.17.1: f = scipy.stats.f.isf(0.025/8, 2, 14); f/(f + 7).
    let first = &got.tests[0];
    assert_eq!((first.test, first.finding), (Test::Cochran, Finding::Outlier));
    assert_eq!((first.critical_5, first.critical_1), (None, None));
    assert!((first.critical_2_5.unwrap() - 0.561_346_668_938_128_3).abs() < 1e-9, "{:?}", first.critical_2_5);
    // Another may not go: 2/9 of 8 is 1.8. The tests after the first begin with
    // Grubbs' of the same pass, then Cochran's of the next.
    assert_eq!(got.laboratories, 7);
    let tests: Vec<Test> = got.tests.iter().map(|test| test.test).collect();
    assert_eq!(tests[1], Test::Grubbs);
    assert!(tests.iter().filter(|test| **test == Test::Cochran).count() == 2, "{tests:?}");
    assert!(got.tests.iter().all(|test| test.finding != Finding::Straggler));
}

#[test]
fn the_harmonised_protocol_finds_pairs_at_one_end_and_at_both() {
    let mut means: Vec<f64> = (0..12).map(|place| 100.0 + f64::from(place) * 0.1).collect();
    means[2] = 140.0;
    means[5] = 141.0;
    let high = evaluated(&duplicates(&means), Outliers::Harmonised);
    let pair = made(&high.tests).into_iter().find(|test| test.0 == Test::GrubbsPair).unwrap();
    assert_eq!(pair, (Test::GrubbsPair, "L03 L06".to_owned(), Finding::Outlier, false));
    assert_eq!(high.laboratories, 10);

    means[2] = 60.0;
    means[5] = 141.0;
    let both = evaluated(&duplicates(&means), Outliers::Harmonised);
    let found: Vec<_> = made(&both.tests).into_iter().filter(|test| test.2 == Finding::Outlier).collect();
    assert_eq!(found, [(Test::GrubbsExtremes, "L03 L06".to_owned(), Finding::Outlier, false)]);
    assert_eq!(both.laboratories, 10);
}

#[test]
fn the_harmonised_protocol_stops_at_two_ninths() {
    let mut means: Vec<f64> = (0..8).map(|place| 100.0 + f64::from(place) * 0.1).collect();
    means[0] = 60.0;
    means[1] = 9000.0;

    let got = evaluated(&duplicates(&means), Outliers::Harmonised);

    assert_eq!(got.laboratories, 7);
    let last = made(&got.tests).pop().unwrap();
    assert_eq!(last, (Test::Grubbs, "L01".to_owned(), Finding::Outlier, true));
}

#[test]
fn cochran_compares_the_commonest_number_of_results() {
    // Two laboratories with 2 and two with 3 results: the larger number counts.
    let laboratories = [vec![1.0, 9.0], vec![4.0, 5.0], vec![4.0, 5.0, 6.0], vec![4.0, 5.0, 5.5], vec![5.0]];

    let got = evaluated(&laboratories, Outliers::Keep);

    assert_eq!(got.tests[0].participants, ["L03"]);
    // s² = 1 and 7/12.
    assert!((got.tests[0].statistic - 12.0 / 19.0).abs() < 1e-12);
    let k: Vec<bool> = got.laboratory_statistics.iter().map(|laboratory| laboratory.mandel_k.is_some()).collect();
    assert_eq!(k, [false, false, true, true, false]);
}

#[test]
fn single_results_have_no_repeatability() {
    let got = evaluated(&[vec![1.0], vec![2.0], vec![4.0]], Outliers::SetAside);

    assert_eq!((got.mean, got.repeatability_sd, got.reproducibility_sd), (Some(7.0 / 3.0), None, None));
    assert!(
        got.laboratory_statistics.iter().all(|laboratory| laboratory.sd.is_none() && laboratory.mandel_h.is_some())
    );
}

#[test]
fn a_trial_without_results_has_no_figures() {
    let got = evaluated(&[], Outliers::SetAside);

    assert_eq!((got.laboratories, got.results, got.mean, got.outlier_percent), (0, 0, None, None));
    assert!(got.tests.is_empty() && got.laboratory_statistics.is_empty());
}
