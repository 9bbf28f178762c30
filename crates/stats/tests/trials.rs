//! Collaborative trials, critical values, homogeneity and stability: published
//! data with what they must give, from tests/reference/.

mod support;

use roundel_stats::homogeneity::{self, Criterion};
use roundel_stats::outlier::{self, Critical, End, Scrutiny};
use roundel_stats::precision::{self, precision};
use roundel_stats::stability::Comparison;
use roundel_stats::{Error, Sample, summary};
use serde_json::Value;
use support::{assert_near, assert_relative, list, number, reference, sample};

fn cells(value: &Value) -> Vec<Sample> {
    value.as_array().into_iter().flatten().map(sample).collect()
}

/// Compares with `[value, tolerance]` under a name, where there is such a name.
#[track_caller]
fn check(case: &Value, expected: &Value, name: &str, got: f64) {
    let figure = &expected[name];
    assert_near(&format!("{} {name}", case["case"]), got, number(&figure[0]), number(&figure[1]));
}

#[test]
fn certified_analyses_of_variance_are_met() {
    for case in reference("trials.json")["anova"].as_array().unwrap() {
        let figures = precision(&cells(&case["groups"])).unwrap().deviations.unwrap();

        let expected = &case["expected"];
        check(case, expected, "MS_between", figures.mean_square_between);
        check(case, expected, "MS_within", figures.mean_square_within);
        check(case, expected, "F", figures.mean_square_between / figures.mean_square_within);
        check(case, expected, "residual_sd_equals_s_r", figures.repeatability);
        check(case, expected, "s_L", figures.between_laboratories);
        check(case, expected, "s_R", figures.reproducibility);
    }
}

#[test]
fn precision_of_published_trials_agrees() {
    for case in reference("trials.json")["trials"].as_array().unwrap() {
        let expected = &case["expected"];
        let got = precision(&cells(&case["cells"])).unwrap();
        let figures = got.deviations.unwrap();

        check(case, expected, "p", got.laboratories as f64);
        check(case, expected, "n_total", got.results as f64);
        check(case, expected, "general_mean", got.mean);
        check(case, expected, "s_r", figures.repeatability);
        check(case, expected, "s_L", figures.between_laboratories);
        check(case, expected, "s_R", figures.reproducibility);
        check(case, expected, "r_limit_2_8", precision::LIMIT_FACTOR * figures.repeatability);
        check(case, expected, "R_limit_2_8", precision::LIMIT_FACTOR * figures.reproducibility);
    }
}

#[test]
fn precision_without_the_outlying_laboratories_agrees_with_the_printed_figures() {
    let data = reference("trials.json");
    let with_kept = data["trials"].as_array().unwrap().iter().filter(|case| !case["kept"].is_null());
    let mut seen = 0;
    for case in with_kept {
        let all = cells(&case["cells"]);
        let kept: Vec<Sample> = list(&case["kept"]).iter().map(|number| all[*number as usize - 1].clone()).collect();

        let got = precision(&kept).unwrap();

        let figures = got.deviations.unwrap();
        for expected in ["expected_of_kept", "published_of_kept"] {
            check(case, &case[expected], "m", got.mean);
            check(case, &case[expected], "s_r", figures.repeatability);
            check(case, &case[expected], "s_R", figures.reproducibility);
        }
        seen += 1;
    }
    assert_eq!(seen, 5);
}

#[test]
fn statistics_of_consistency_agree() {
    for case in reference("trials.json")["trials"].as_array().unwrap() {
        let expected = &case["expected"];
        let all = cells(&case["cells"]);
        let means: Vec<f64> = all.iter().map(|cell| summary::mean(cell).unwrap()).collect();
        let deviations: Vec<f64> = all.iter().map(|cell| summary::standard_deviation(cell).unwrap()).collect();
        let of_means = Sample::new(means.iter().copied()).unwrap();

        let cochran = outlier::cochran(&Sample::new(deviations.iter().copied()).unwrap()).unwrap();
        check(case, expected, "cochran_C", cochran);
        check(case, expected, "grubbs_high", outlier::grubbs(&of_means, End::High).unwrap());
        check(case, expected, "grubbs_low", outlier::grubbs(&of_means, End::Low).unwrap());
        check(case, expected, "grubbs_double_high", outlier::grubbs_pair(&of_means, End::High).unwrap());
        check(case, expected, "grubbs_double_low", outlier::grubbs_pair(&of_means, End::Low).unwrap());
        let listed = |name: &str, got: Vec<f64>| {
            for (got, expected) in got.iter().zip(list(&expected[name])) {
                assert_near(&format!("{} {name}", case["case"]), *got, expected, 1e-9);
            }
        };
        listed("cell_means", means.clone());
        listed("cell_sd", deviations.clone());
        listed("mandel_h", outlier::mandel_h(&means).unwrap());
        listed("mandel_k", outlier::mandel_k(&deviations).unwrap());
    }
}

#[test]
fn critical_values_agree_with_their_formulae_and_with_print() {
    let data = reference("critical_values.json");
    for row in data["cochran"].as_array().unwrap() {
        let (p, n) = (number(&row["p"]) as usize, number(&row["n"]) as usize);
        let at_5 = outlier::cochran_critical(p, n, 0.05).unwrap();
        assert_relative("Cochran 5 %", at_5, number(&row["formula_5pct"]), 1e-9);
        assert_near("Cochran printed", at_5, number(&row["published_5pct"]), 1.5e-3);
        let at_1 = outlier::cochran_critical(p, n, 0.01).unwrap();
        assert_relative("Cochran 1 %", at_1, number(&row["formula_1pct"]), 1e-9);
    }
    for row in data["grubbs_single"].as_array().unwrap() {
        let p = number(&row["p"]) as usize;
        for (alpha, name) in [(0.05, "single_5pct"), (0.01, "single_1pct")] {
            let got = outlier::grubbs_critical(p, alpha).unwrap();
            assert_relative(name, got, number(&row[name]), 1e-9);
            // As printed, from memory: one unit of the last digit.
            if let Some(printed) = row[format!("{name}_memory")].as_f64() {
                assert_near(name, got, printed, 1.5e-3);
            }
        }
    }
    for row in data["grubbs_pair"].as_array().unwrap() {
        let got = outlier::grubbs_pair_critical(number(&row["p"]) as usize).unwrap();
        assert_eq!(got.at_1, number(&row["lower_1pct_memory"]));
        assert_eq!(got.at_5, number(&row["lower_5pct_memory"]));
        for (name, value) in [("simulated_1pct", got.at_1), ("simulated_5pct", got.at_5)] {
            if let Some(simulated) = row[name].as_f64() {
                assert_near(name, value, simulated, 5e-4);
            }
        }
    }
    assert_eq!(outlier::grubbs_pair_critical(3), None);
    assert_eq!(outlier::grubbs_pair_critical(21), None);
}

#[test]
fn indicator_lines_of_mandel_agree() {
    for row in reference("critical_values.json")["mandel"].as_array().unwrap() {
        let p = number(&row["p"]) as usize;
        let h = |alpha| outlier::mandel_h_critical(p, alpha).unwrap();
        assert_relative("h 1 %", h(0.01), number(&row["h_formula"]), 1e-9);
        assert_relative("h 5 %", h(0.05), number(&row["h_formula_5pct"]), 1e-9);
        assert_near("h printed", h(0.01), number(&row["h_published"]), 0.0101);
        for (n, expected) in row["k_formula"].as_object().unwrap() {
            let got = outlier::mandel_k_critical(p, n.parse().unwrap(), 0.01).unwrap();
            assert_relative("k 1 %", got, number(expected), 1e-9);
            assert_near("k printed", got, number(&row["k_published"][n]), 0.0101);
        }
        for (n, expected) in row["k_formula_5pct"].as_object().unwrap() {
            let got = outlier::mandel_k_critical(p, n.parse().unwrap(), 0.05).unwrap();
            assert_relative("k 5 %", got, number(expected), 1e-9);
        }
    }
}

#[test]
fn homogeneity_of_published_duplicates_agrees() {
    let case = &reference("items.json")["soya_flour"];
    let pairs: Vec<[f64; 2]> =
        case["duplicates"].as_array().unwrap().iter().map(|pair| list(pair).try_into().unwrap()).collect();
    let sigma_pt = number(&case["sigma_pt"]);

    let got = homogeneity::duplicates(&pairs).unwrap();

    let expected = &case["expected"];
    check(case, expected, "s_w", got.within_sd);
    check(case, expected, "s_s", got.between_sd);
    let expanded = got.expanded_limit(sigma_pt).unwrap();
    check(case, expected, "critical_value_exact_F", expanded * expanded);
    assert_eq!(got.criterion(sigma_pt), Ok(Criterion::Simple));
    let ranges = Sample::new(pairs.iter().map(|[first, second]| (first - second).abs())).unwrap();
    check(case, expected, "cochran_D2max_over_sumD2", outlier::cochran(&ranges).unwrap());
}

#[test]
fn factors_of_the_expanded_criterion_agree() {
    for row in reference("items.json")["factors"]["rows"].as_array().unwrap() {
        let homogeneity::Factors { first, second } = homogeneity::factors(number(&row["g"]) as usize).unwrap();

        assert_relative("F1", first, number(&row["F1_formula"]), 1e-9);
        assert_relative("F2", second, number(&row["F2_formula"]), 1e-9);
        // Printed with two decimals (from memory).
        assert_near("F1 printed", first, number(&row["F1_table"]), 0.0051);
        assert_near("F2 printed", second, number(&row["F2_table"]), 0.0051);
    }
}

#[test]
fn stability_is_judged_by_both_criteria() {
    for row in reference("items.json")["stability"]["rows"].as_array().unwrap() {
        let given = |name: &str| number(&row["given"][name]);
        let sigma_pt = given("sigma_pt");
        let uncertainty = (given("u1").powi(2) + given("u2").powi(2)).sqrt();
        let comparison = Comparison { difference: given("y2") - given("y1"), standard_uncertainty: Some(uncertainty) };

        let expected = &row["expected"];
        assert_near("difference", comparison.difference.abs(), number(&expected["abs_diff"]), 1e-12);
        assert_near("limit", homogeneity::limit(sigma_pt), number(&expected["limit"]), 1e-12);
        let expanded = comparison.expanded_limit(sigma_pt).unwrap();
        assert_near("expanded", expanded, number(&expected["limit_expanded"]), 1e-12);
        let criterion = match (&expected["pass_simple"], &expected["pass_expanded"]) {
            (Value::Bool(true), _) => Criterion::Simple,
            (_, Value::Bool(true)) => Criterion::Expanded,
            _ => Criterion::None,
        };
        assert_eq!(comparison.criterion(sigma_pt), criterion);
    }
}

#[test]
fn too_few_laboratories_give_a_mean_and_no_deviations() {
    let one = precision(&[Sample::new([1.0, 2.0]).unwrap()]).unwrap();
    assert_eq!((one.mean, one.results, one.deviations), (1.5, 2, None));
    let single_results = precision(&[1.0, 2.0, 6.0].map(|x| Sample::new([x]).unwrap())).unwrap();
    assert_eq!((single_results.mean, single_results.deviations), (3.0, None));
    assert!(precision(&[]).is_err());
}

#[test]
fn tests_for_outliers_refuse_what_they_cannot_judge() {
    let zeros = Sample::new([0.0, 0.0, 0.0]).unwrap();
    let equal = Sample::new([5.0; 5]).unwrap();
    let two = Sample::new([1.0, 2.0]).unwrap();

    assert_eq!(outlier::cochran(&zeros), Err(Error::NoSpread));
    assert_eq!(outlier::mandel_k(zeros.values()), Err(Error::NoSpread));
    for end in [End::High, End::Low] {
        assert_eq!(outlier::grubbs(&equal, end), Err(Error::NoSpread));
        assert_eq!(outlier::grubbs(&two, end), Err(Error::TooFew { needed: 3, given: 2 }));
        assert_eq!(outlier::grubbs_pair(&equal, end), Err(Error::NoSpread));
        assert_eq!(outlier::grubbs_pair(&zeros, end), Err(Error::TooFew { needed: 4, given: 3 }));
    }
    assert!(outlier::mandel_h(two.values()).is_err());
    assert!(outlier::cochran_critical(1, 2, 0.05).is_err());
    assert!(outlier::grubbs_critical(2, 0.05).is_err());
}

#[test]
fn a_statistic_on_its_critical_value_is_none() {
    let critical = Critical { at_5: 0.3, at_1: 0.6 };
    let above = |limit: f64| limit * (1.0 + 1e-12);
    let below = |limit: f64| limit * (1.0 - 1e-12);

    assert_eq!(critical.judge_large(above(0.3)), Scrutiny::None);
    assert_eq!(critical.judge_large(0.31), Scrutiny::Straggler);
    assert_eq!(critical.judge_large(above(0.6)), Scrutiny::Straggler);
    assert_eq!(critical.judge_large(0.61), Scrutiny::Outlier);
    let critical = Critical { at_5: 0.6, at_1: 0.3 };
    assert_eq!(critical.judge_small(below(0.6)), Scrutiny::None);
    assert_eq!(critical.judge_small(0.59), Scrutiny::Straggler);
    assert_eq!(critical.judge_small(below(0.3)), Scrutiny::Straggler);
    assert_eq!(critical.judge_small(0.29), Scrutiny::Outlier);
}
