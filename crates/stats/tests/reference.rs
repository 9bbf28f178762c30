//! Published data with what they must give. The data, their sources and the
//! tolerances are in tests/reference/; the figures there were computed with
//! other programs, or are printed in the source.

mod support;

use roundel_stats::combined::combined;
use roundel_stats::score::{self, Judgement, judge};
use roundel_stats::{Error, Sample, censored, horwitz, robust, summary};
use serde_json::Value;
use support::{assert_near, assert_relative, list, number, reference, sample};

#[test]
fn robust_estimators_agree_on_published_samples() {
    let data = reference("robust.json");
    for case in data["samples"].as_array().unwrap() {
        let name = case["case"].as_str().unwrap();
        let values = sample(&case["values"]);
        let algorithm_a = robust::algorithm_a(&values).unwrap();
        let q_method = robust::q_method(&values).unwrap();
        let q_hampel = robust::q_hampel(&values).unwrap();
        let count = values.len();
        let got = [
            ("mean", summary::mean(&values).unwrap()),
            ("standard_deviation", summary::standard_deviation(&values).unwrap()),
            ("median", summary::median(&values)),
            ("mad", robust::mad(&values)),
            ("made", robust::made(&values).unwrap().scale),
            ("niqr", summary::niqr(&values).unwrap().scale),
            ("first_quartile", summary::quantile(&values, 0.25)),
            ("third_quartile", summary::quantile(&values, 0.75)),
            ("algorithm_a_location", algorithm_a.location),
            ("algorithm_a_scale", algorithm_a.scale),
            ("algorithm_a_uncertainty", robust::standard_uncertainty(algorithm_a.scale, count).unwrap()),
            ("huber_location", robust::huber(&values).unwrap().location),
            ("huber_scale", robust::huber(&values).unwrap().scale),
            ("sn", robust::sn(&values).unwrap().scale),
            ("sn_uncorrected", robust::sn_uncorrected(&values).unwrap().scale),
            ("qn", robust::qn(&values).unwrap().scale),
            ("qn_uncorrected", robust::qn_uncorrected(&values).unwrap().scale),
            ("q_method_scale", q_method.scale),
            ("q_method_equal_pairs", q_method.equal_pairs),
            ("hampel_location", q_hampel.location),
            ("q_hampel_uncertainty", robust::standard_uncertainty(q_hampel.scale, count).unwrap()),
        ];
        for (figure, value) in got {
            let expected = &case["expected"][figure];
            assert_near(&format!("{name} {figure}"), value, number(&expected[0]), number(&expected[1]));
        }
    }
}

#[test]
fn all_roots_of_hampels_equation_are_found() {
    let data = reference("robust.json");
    for case in data["samples"].as_array().unwrap() {
        let values = sample(&case["values"]);
        let scale = robust::q_method(&values).unwrap().scale;

        let roots = robust::hampel_roots(&values, scale).unwrap();

        if case["hampel_roots"].is_null() {
            continue;
        }
        let expected = list(&case["hampel_roots"]);
        assert_eq!(roots.len(), expected.len(), "{}: {roots:?}", case["case"]);
        for (got, expected) in roots.iter().zip(&expected) {
            assert_relative("root", *got, *expected, 1e-9);
        }
    }
}

fn edge_case(name: &str) -> (Sample, Value) {
    let data = reference("robust.json");
    let cases = &data["edge_cases"];
    (sample(&cases["samples"][name]), cases["expected"][name].clone())
}

#[test]
fn one_value_has_a_median_and_no_spread() {
    let (values, expected) = edge_case("single");

    assert_eq!(summary::median(&values), number(&expected["median"]));
    assert!(summary::standard_deviation(&values).is_err());
    assert!(robust::made(&values).is_err());
    assert!(robust::algorithm_a(&values).is_err());
    assert!(robust::q_method(&values).is_err());
}

#[test]
fn two_and_three_values_can_be_computed() {
    for name in ["two", "three"] {
        let (values, expected) = edge_case(name);

        let got = robust::algorithm_a(&values).unwrap();

        assert_eq!(summary::median(&values), number(&expected["median"]), "{name}");
        assert_eq!(robust::mad(&values), number(&expected["mad"]), "{name}");
        assert_relative("x*", got.location, number(&expected["algA_x"]), 1e-6);
        assert_relative("s*", got.scale, number(&expected["algA_s"]), 1e-6);
    }
}

#[test]
fn equal_values_have_the_scale_zero_everywhere() {
    let (values, expected) = edge_case("all_equal");

    let got = robust::algorithm_a(&values).unwrap();

    assert_eq!((got.location, got.scale), (number(&expected["algA_x"]), 0.0));
    assert_eq!(robust::made(&values).unwrap().scale, 0.0);
    assert_eq!(summary::niqr(&values).unwrap().scale, 0.0);
    let q_method = robust::q_method(&values).unwrap();
    assert_eq!((q_method.scale, q_method.equal_pairs), (0.0, number(&expected["Q_H1_0"])));
    assert!(robust::median_made(&values).is_err());
    assert!(robust::q_hampel(&values).is_err());
}

#[test]
fn algorithm_a_starts_again_where_most_values_are_equal() {
    let (values, expected) = edge_case("mad_zero_majority_equal");

    let got = robust::algorithm_a(&values).unwrap();

    let restart = &expected["restart_from_nIQR"];
    assert_relative("x*", got.location, number(&restart["x"]), 1e-9);
    assert_relative("s*", got.scale, number(&restart["s"]), 1e-9);
    assert_relative("nIQR", summary::niqr(&values).unwrap().scale, number(&expected["nIQR_type7"]), 1e-9);
    let q_method = robust::q_method(&values).unwrap();
    assert_relative("Q", q_method.scale, number(&expected["Q_method"]["s"]), 1e-9);
    assert_relative("H1(0)", q_method.equal_pairs, number(&expected["Q_method"]["H0"]), 1e-12);
}

#[test]
fn half_of_the_values_equal_still_give_a_spread() {
    let (values, expected) = edge_case("exactly_half_equal_even");

    let got = robust::algorithm_a(&values).unwrap();

    assert_near("mad", robust::mad(&values), number(&expected["mad"]), 1e-12);
    assert_relative("x*", got.location, number(&expected["algA_x"]), 1e-9);
    assert_relative("s*", got.scale, number(&expected["algA_s"]), 1e-9);
}

#[test]
fn neither_a_tiny_unit_nor_a_large_offset_costs_digits() {
    let (tiny, expected) = edge_case("tiny_scale");
    let got = robust::algorithm_a(&tiny).unwrap();
    assert_relative("x*", got.location, number(&expected["algA_x"]), number(&expected["rel_tol"]));
    assert_relative("s*", got.scale, number(&expected["algA_s"]), number(&expected["rel_tol"]));

    let (offset, expected) = edge_case("large_offset");
    let got = robust::algorithm_a(&offset).unwrap();
    let tolerance = number(&expected["abs_tol"]);
    assert_near("x*", got.location - 1e6, number(&expected["algA_x_minus_1e6"]), tolerance);
    assert_near("s*", got.scale, number(&expected["algA_s"]), tolerance);
}

#[test]
fn quartiles_are_of_type_seven() {
    for name in ["even_median", "odd_median"] {
        let (values, expected) = edge_case(name);

        assert_eq!(summary::median(&values), number(&expected["median"]));
        assert_eq!(robust::mad(&values), number(&expected["mad"]));
        let quartiles = list(&expected["q_type7"]);
        assert_eq!([summary::quantile(&values, 0.25), summary::quantile(&values, 0.75)], quartiles[..]);
    }
}

#[test]
fn sn_and_qn_have_factors_for_few_values() {
    let data = &reference("robust.json")["small_samples"];
    for example in data["examples"].as_array().unwrap() {
        let values = sample(&example["x"]);
        assert_relative("Sn", robust::sn(&values).unwrap().scale, number(&example["Sn"]), 1e-12);
        assert_relative("Qn", robust::qn(&values).unwrap().scale, number(&example["Qn"]), 1e-12);
    }
    for (count, factor) in data["sn_factors"].as_object().unwrap() {
        let values = Sample::new((0..count.parse().unwrap()).map(f64::from)).unwrap();
        let ratio = robust::sn(&values).unwrap().scale / robust::sn_uncorrected(&values).unwrap().scale;
        assert_relative("factor of Sn", ratio, number(factor), 1e-12);
    }
    for (count, factor) in data["qn_factors"].as_object().unwrap() {
        let values = Sample::new((0..count.parse().unwrap()).map(f64::from)).unwrap();
        let ratio = robust::qn(&values).unwrap().scale / robust::qn_uncorrected(&values).unwrap().scale;
        assert_relative("factor of Qn", ratio, number(factor), 1e-12);
    }
}

#[test]
fn results_below_a_limit_rank_lowest_or_are_left_out() {
    let data = &reference("robust.json")["censored"];
    let values = sample(&data["values"]);
    let left_out = |figure: &str| number(&data["left_out"][figure]);

    let by_ranks = censored::median_made(&values, &list(&data["limits"]));

    // The median is known; the deviation is not: the limit is too near it.
    assert_eq!(by_ranks, Err(Error::NotIdentifiable));
    let median = censored::median(&values, &list(&data["limits"])).unwrap();
    assert_near("median by ranks", median, number(&data["median"][0]), number(&data["median"][1]));
    let algorithm_a = robust::algorithm_a(&values).unwrap();
    assert_relative("median", summary::median(&values), left_out("median"), 1e-12);
    assert_relative("x*", algorithm_a.location, left_out("algA_x"), 1e-9);
    assert_relative("s*", algorithm_a.scale, left_out("algA_s"), 1e-9);
    assert_relative("Q", robust::q_method(&values).unwrap().scale, left_out("Q_s"), 1e-9);
    assert_relative("Hampel", robust::q_hampel(&values).unwrap().location, left_out("Hampel_x"), 1e-9);
    assert_relative("nIQR", summary::niqr(&values).unwrap().scale, left_out("nIQR_type7"), 1e-9);
}

#[test]
fn a_number_in_place_of_a_limit_gives_what_the_source_warns_of() {
    let data = &reference("robust.json")["censored"];
    for (convention, share) in [("zero", 0.0), ("half_limit", 0.5), ("limit", 1.0)] {
        let expected = |figure: &str| number(&data["substituted"][convention][figure]);
        let substituted = list(&data["limits"]).into_iter().map(|limit| share * limit);
        let values = Sample::new(list(&data["values"]).into_iter().chain(substituted)).unwrap();

        let algorithm_a = robust::algorithm_a(&values).unwrap();
        let q_hampel = robust::q_hampel(&values).unwrap();

        assert_eq!(algorithm_a.used.count, expected("p") as usize);
        assert_relative("median", summary::median(&values), expected("median"), 1e-12);
        assert_relative("x*", algorithm_a.location, expected("algA_x"), 1e-9);
        assert_relative("s*", algorithm_a.scale, expected("algA_s"), 1e-9);
        assert_relative("Q", q_hampel.scale, expected("Q_s"), 1e-9);
        assert_relative("Hampel", q_hampel.location, expected("Hampel_x"), 1e-9);
        assert_relative("nIQR", summary::niqr(&values).unwrap().scale, expected("nIQR_type7"), 1e-9);
    }
}

#[test]
fn scores_and_their_classes_are_right_on_the_limits() {
    let word = |judgement| match judgement {
        Judgement::Acceptable => "satisfactory",
        Judgement::Questionable => "questionable",
        Judgement::Unacceptable => "unsatisfactory",
    };
    for row in reference("scores.json")["arithmetic"]["rows"].as_array().unwrap() {
        let given = |name: &str| number(&row["given"][name]);
        let expected = |name: &str| number(&row["expected"][name]);
        let (x, x_pt, sigma, u) = (given("x"), given("x_pt"), given("sigma_pt"), given("u_xpt"));
        let z = score::z(x, x_pt, sigma).unwrap();
        let z_prime = score::z_prime(x, x_pt, sigma, u).unwrap();
        let zeta = score::zeta(x, x_pt, given("u_lab"), u).unwrap();
        let e_n = score::e_n(x, x_pt, given("U_lab"), given("k") * u).unwrap();

        assert_relative("z", z, expected("z"), 1e-12);
        assert_relative("z'", z_prime, expected("z_prime"), 1e-12);
        assert_relative("zeta", zeta, expected("zeta"), 1e-12);
        assert_relative("E_n", e_n, expected("En"), 1e-12);
        assert_relative("D", score::difference(x, x_pt).unwrap(), expected("D"), 1e-12);
        assert_relative("D%", score::difference_percent(x, x_pt).unwrap(), expected("D_percent"), 1e-12);
        assert_eq!(word(judge(z, 2.0, 3.0)), row["expected"]["z_class"]);
        assert_eq!(word(judge(zeta, 2.0, 3.0)), row["expected"]["zeta_class"]);
        assert_eq!(score::below(e_n.abs(), 1.0), row["expected"]["En_ok"]);
        // The source takes the limit itself as too much; here it is negligible.
        let on_the_limit = expected("ratio_u_sigma") == 0.3;
        let ok = row["expected"]["guard_0_3_sigma_ok"].as_bool().unwrap();
        assert_eq!(score::uncertainty_is_negligible(u, sigma), ok || on_the_limit);
    }
}

#[test]
fn the_uncertainty_of_a_robust_mean_agrees() {
    let data = reference("scores.json");
    for row in data["uncertainty"]["rows"].as_array().unwrap() {
        let count = row["p"].as_u64().unwrap() as usize;
        let got = robust::standard_uncertainty(number(&row["s"]), count).unwrap();
        assert_relative("u", got, number(&row["u"]), 1e-12);
    }
    let smallest = (1..100)
        .find(|count| score::uncertainty_is_negligible(robust::standard_uncertainty(1.0, *count).unwrap(), 1.0));
    assert_eq!(
        smallest.map(|count| count as u64),
        data["uncertainty"]["smallest_count_with_sigma_equal_scale"].as_u64()
    );
}

#[test]
fn published_scores_of_a_real_study_are_reproduced() {
    let data = &reference("scores.json")["published"];
    let rows = data["rows"].as_array().unwrap();
    let mut as_printed = 0;
    for row in rows {
        let z = score::z(number(&row["x"]), number(&row["consensus"]), number(&row["s_consensus"])).unwrap();
        assert_relative("z", z, number(&row["z"]), 1e-12);
        // Printed to one decimal from unrounded figures, computed here from
        // the printed ones.
        assert_near("printed z", z, number(&row["z_published"]), 0.08);
        as_printed += usize::from((z - number(&row["z_published"])).abs() <= number(&data["tolerance_published"]));
    }
    assert!(10 * as_printed >= 9 * rows.len(), "{as_printed} of {}", rows.len());
}

#[test]
fn the_combined_scores_of_that_study_agree() {
    let data = &reference("scores.json")["published"];
    for basis in ["wet", "dry"] {
        let rows = data["rows"].as_array().unwrap().iter().filter(|row| row["basis"] == basis);
        let scores = Sample::new(rows.map(|row| number(&row["z"]))).unwrap();

        let got = combined(&scores, 2.0, 3.0).unwrap();

        let expected = &data["combined"][format!("combined_{basis}")];
        for (name, value) in [
            ("n", got.count as f64),
            ("RSZ_rescaled_sum", got.rescaled_sum),
            ("SSZ_sum_squares", got.sum_of_squares),
            ("SSZ_p_value_chi2", got.probability),
            ("mean_squared_z", got.mean_square),
            ("SWZ_weighted", got.weighted),
            ("n_gt2", got.questionable as f64),
            ("n_ge3", got.unacceptable as f64),
        ] {
            let figure = &expected[name];
            assert_near(&format!("{basis} {name}"), value, number(&figure["value"]), number(&figure["abs_tol"]));
        }
    }
}

#[test]
fn horwitz_has_three_segments() {
    let data = reference("horwitz.json");
    for row in data["segments"].as_array().unwrap() {
        let c = number(&row["c"]);
        assert_relative("sigma", horwitz::standard_deviation(c).unwrap(), number(&row["sigma_modified"]), 1e-12);
        let in_unit = horwitz::in_unit(c / 1e-12, 1e-12).unwrap() * 1e-12;
        assert_relative("sigma in ng/L", in_unit, number(&row["sigma_modified"]), 1e-9);
    }
    for row in data["table"].as_array().unwrap() {
        let got = horwitz::predicted_cv_percent(number(&row["c"])).unwrap();
        assert_relative("2 c^-0.15", got, number(&row["PRSD_2C_minus_0_15"]), 1e-12);
        // Printed as whole per cent.
        assert_near("published", got, number(&row["PRSD_published_percent"]), 0.5);
    }
}

#[test]
fn horrat_of_a_published_experiment_agrees() {
    let data = reference("horwitz.json");
    let figure = |name: &str| (number(&data["horrat"][name][0]), number(&data["horrat"][name][1]));
    let (mean, _) = figure("mean_percent");
    let (observed, _) = figure("RSD_R_percent");

    let predicted = horwitz::predicted_cv_percent(mean / 100.0).unwrap();

    let (expected, tolerance) = figure("PRSD_R_percent");
    assert_near("PRSD_R", predicted, expected, tolerance);
    let (expected, tolerance) = figure("HorRat");
    assert_near("HorRat", observed / predicted, expected, tolerance);
}
