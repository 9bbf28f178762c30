//! Comparisons of two groups, against figures of R (tests/reference/groups.json),
//! and what must hold for all data.

mod support;

use proptest::prelude::*;
use roundel_stats::groups::{holm, shift};
use roundel_stats::{Error, Sample};
use support::{assert_near, assert_relative, list, number, reference, sample};

#[test]
fn comparisons_agree_with_r() {
    for case in reference("groups.json")["comparisons"].as_array().unwrap() {
        let found = shift(&sample(&case["one"]), &sample(&case["other"]), 0.95).unwrap();
        for (name, got) in [("difference", found.difference), ("low", found.low), ("high", found.high)] {
            let expected = &case["expected"][name];
            assert_near(&format!("{} {name}", case["case"]), got, number(&expected[0]), number(&expected[1]));
        }
        assert_relative(&format!("{}", case["case"]), found.p_value, number(&case["expected"]["p_value"]), 1e-8);
    }
}

#[test]
fn holms_correction_agrees_with_r() {
    for case in reference("groups.json")["holm"].as_array().unwrap() {
        let adjusted = holm(&list(&case["p"])).unwrap();
        for (got, expected) in adjusted.iter().zip(list(&case["expected"])) {
            assert_near("adjusted", *got, expected, 1e-14);
        }
        assert_eq!(adjusted.len(), list(&case["p"]).len());
    }
    assert_eq!(holm(&[]), Ok(Vec::new()));
    assert_eq!(holm(&[0.5, 1.1]), Err(Error::OutOfRange("a probability")));
    assert!(holm(&[f64::NAN]).is_err());
}

/// 1/C(7, 2) = 4.8 %: two against five can never be sure to 95 %; 1/C(8, 3) = 1.8 % can.
#[test]
fn too_few_values_give_no_interval() {
    let of = |count: i32| Sample::new((0..count).map(f64::from)).unwrap();

    assert_eq!(shift(&of(2), &of(5), 0.95), Err(Error::TooFew { needed: 3, given: 2 }));
    assert!(shift(&of(3), &of(5), 0.95).is_ok());
    assert!(shift(&of(5), &of(5), 1.0).is_err());
}

/// All values equal: no difference, and nothing improbable, counted out or not.
#[test]
fn equal_values_do_not_differ() {
    for count in [5, 40] {
        let equal = Sample::new(vec![7.0; count]).unwrap();
        let found = shift(&equal, &equal, 0.95).unwrap();
        assert_eq!((found.difference, found.low, found.high, found.p_value), (0.0, 0.0, 0.0, 1.0));
    }
}

proptest! {
    #[test]
    fn exchanging_the_groups_exchanges_the_sign(
        one in prop::collection::vec(0_i32..500, 5..15),
        other in prop::collection::vec(0_i32..500, 5..15),
        moved in 0_i32..100,
    ) {
        let of = |values: &[i32], by: i32| Sample::new(values.iter().map(|x| f64::from(x + by))).unwrap();
        let there = shift(&of(&one, 0), &of(&other, 0), 0.95).unwrap();
        let back = shift(&of(&other, 0), &of(&one, 0), 0.95).unwrap();
        let along = shift(&of(&one, moved), &of(&other, moved), 0.95).unwrap();

        prop_assert_eq!((there.difference, there.low, there.high), (-back.difference, -back.high, -back.low));
        prop_assert!((there.p_value - back.p_value).abs() < 1e-12);
        prop_assert_eq!(there, along);
        prop_assert!(there.low <= there.difference && there.difference <= there.high);
        prop_assert!((0.0..=1.0).contains(&there.p_value));
    }
}
