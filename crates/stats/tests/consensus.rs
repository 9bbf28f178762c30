//! Consensus with uncertainties, Algorithm S, combined scores, pairs, density:
//! published data with what they must give, from tests/reference/.

mod support;

use roundel_stats::combined::combined;
use roundel_stats::consensus::{Measured, Weighted, dersimonian_laird, mandel_paule, weighted_mean};
use roundel_stats::youden::{ellipse, youden};
use roundel_stats::{density, robust};
use serde_json::Value;
use support::{assert_near, assert_relative, list, number, reference, sample};

#[track_caller]
fn check(expected: &Value, name: &str, got: f64) {
    let figure = &expected[name];
    assert_near(name, got, number(&figure[0]), number(&figure[1]));
}

#[test]
fn consensus_values_of_published_comparisons_agree() {
    for case in reference("consensus.json")["consensus"].as_array().unwrap() {
        let measured: Vec<Measured> = list(&case["values"])
            .into_iter()
            .zip(list(&case["uncertainties"]))
            .map(|(value, standard_uncertainty)| Measured { value, standard_uncertainty })
            .collect();
        let expected = &case["expected"];

        let weighted = weighted_mean(&measured).unwrap();
        check(expected, "weighted_mean", weighted.value);
        check(expected, "u_weighted_internal", weighted.standard_uncertainty);
        check(expected, "birge_ratio", weighted.birge_ratio);
        check(expected, "u_weighted_external_birge", weighted.birge_ratio * weighted.standard_uncertainty);
        let one_step = dersimonian_laird(&measured).unwrap();
        check(expected, "DL_tau", one_step.between_sd);
        check(expected, "DL_mean", one_step.value);
        check(expected, "DL_u", one_step.standard_uncertainty);
        let iterated = mandel_paule(&measured).unwrap();
        check(expected, "PM_tau", iterated.between_sd);
        check(expected, "PM_mean", iterated.value);
        check(expected, "PM_u", iterated.standard_uncertainty);
    }
}

#[test]
fn values_that_agree_within_their_uncertainties_have_no_further_spread() {
    let measured = [10.0, 10.1, 9.9].map(|value| Measured { value, standard_uncertainty: 0.5 });

    let plain = weighted_mean(&measured).unwrap();

    let figures = |found: Weighted| (found.value, found.standard_uncertainty, found.between_sd);
    assert_eq!(figures(dersimonian_laird(&measured).unwrap()), figures(plain));
    assert_eq!(figures(mandel_paule(&measured).unwrap()), figures(plain));
    assert_relative("mean", plain.value, 10.0, 1e-12);
    assert_relative("u", plain.standard_uncertainty, 0.5 / 3.0_f64.sqrt(), 1e-12);
}

#[test]
fn one_value_or_no_uncertainty_gives_no_consensus() {
    let one = [Measured { value: 1.0, standard_uncertainty: 0.1 }];
    let none = [1.0, 2.0].map(|value| Measured { value, standard_uncertainty: 0.0 });

    for consensus in [weighted_mean, dersimonian_laird, mandel_paule] {
        assert!(consensus(&one).is_err());
        assert!(consensus(&none).is_err());
    }
}

#[test]
fn algorithm_s_and_its_factors_agree() {
    let case = &reference("consensus.json")["algorithm_s"];
    for row in case["factors"].as_array().unwrap() {
        let robust::Factors { limit: eta, adjustment: xi } =
            robust::algorithm_s_factors(number(&row["nu"]) as u32).unwrap();
        assert_relative("eta", eta, number(&row["eta_exact"]), 1e-9);
        assert_relative("xi", xi, number(&row["xi_exact"]), 1e-9);
        // As printed (from memory), the last digit of two entries is doubtful.
        assert_near("eta printed", eta, number(&row["eta_table"]), 0.0006);
        assert_near("xi printed", xi, number(&row["xi_table"]), 0.0007);
    }

    let got = robust::algorithm_s(&sample(&case["deviations"]), number(&case["freedom"]) as u32).unwrap();

    assert_eq!(got.used.count, list(&case["deviations"]).len());
    assert_near("w*", got.scale, number(&case["expected"][0]), number(&case["expected"][1]));
}

#[test]
fn combined_scores_of_published_rounds_agree() {
    for row in reference("many_scores.json")["combined"]["rows"].as_array().unwrap() {
        let got = combined(&sample(&row["scores"]), 2.0, 3.0).unwrap();

        let expected = &row["expected"];
        check(expected, "n", got.count as f64);
        check(expected, "RSZ_rescaled_sum", got.rescaled_sum);
        check(expected, "SSZ_sum_squares", got.sum_of_squares);
        check(expected, "SSZ_p_value_chi2", got.probability);
        check(expected, "mean_squared_z", got.mean_square);
        check(expected, "SWZ_weighted", got.weighted);
        check(expected, "n_gt2", got.questionable as f64);
        check(expected, "n_ge3", got.unacceptable as f64);
    }
}

#[test]
fn pairs_of_a_published_round_agree() {
    let case = &reference("many_scores.json")["youden"];
    let pairs: Vec<[f64; 2]> = list(&case["x"]).into_iter().zip(list(&case["y"])).map(|(x, y)| [x, y]).collect();

    let got = youden(&pairs).unwrap();

    let expected = &case["expected"];
    for side in [0, 1] {
        assert_relative("mean", got.means[side], number(&expected["mean"][side]), 1e-9);
        assert_relative("sd", got.deviations[side], number(&expected["sd"][side]), 1e-9);
    }
    assert_relative("r", got.correlation, number(&expected["pearson_r"]["value"]), 1e-9);
    assert_relative("rank r", got.rank_correlation, number(&expected["spearman_rs"]["value"]), 1e-9);
    for (place, distance) in got.distances.iter().enumerate() {
        let expected = number(&expected["quadratic_form_by_lab"][(place + 1).to_string()]);
        assert_relative("Q", *distance, expected, 1e-9);
    }
    for (alpha, name) in [(0.05, "alpha_0.05"), (0.01, "alpha_0.01")] {
        let limit = ellipse(pairs.len(), alpha).unwrap();
        let expected = &expected["ellipse"][name];
        assert_relative("T²", limit, number(&expected["T2_F_2_p_minus_2"]["value"]), 1e-9);
        let outside: Vec<f64> =
            (1..=pairs.len()).filter(|lab| got.distances[lab - 1] > limit).map(|lab| lab as f64).collect();
        assert_eq!(outside, list(&expected["outside"]));
    }
}

#[test]
fn modes_of_published_samples_agree() {
    let data = &reference("many_scores.json")["density"];
    for (name, expected) in data["expected"].as_object().unwrap() {
        let values = sample(&data["samples"][name]);
        let silverman = density::silverman_bandwidth(&values).unwrap();
        let of_scale = 0.75 * robust::algorithm_a(&values).unwrap().scale;

        check(expected, "silverman", silverman);
        check(expected, "three_quarters_of_scale", of_scale);
        for (bandwidth, modes) in [(silverman, "modes_silverman"), (of_scale, "modes_three_quarters")] {
            let got = density::modes(&values, bandwidth).unwrap();
            // The source lists modes above 5 % of the highest.
            let highest = got.modes.iter().map(|mode| mode.density).fold(0.0, f64::max);
            let mut major: Vec<density::Mode> =
                got.modes.into_iter().filter(|mode| mode.density > 0.05 * highest).collect();
            major.sort_by(|a, b| b.density.total_cmp(&a.density));
            let expected = expected[modes].as_array().unwrap();
            assert_eq!(major.len(), expected.len(), "{name} {modes}: {major:?}");
            for (got, expected) in major.iter().zip(expected) {
                assert_near("mode", got.place, number(&expected["x"]), 1e-6);
                assert_relative("density", got.density, number(&expected["density"]), 1e-9);
            }
        }
    }
}
