//! Numbers for people. Expected texts are written by hand from the rules named.

use roundel_documents::number;

const Z: [f64; 2] = [2.0, 3.0];

#[test]
fn numbers_have_a_true_minus_and_zero_has_no_sign() {
    assert_eq!(number::decimal(-1.5, 1), "\u{2212}1.5");
    assert_eq!(number::decimal(-0.04, 1), "0.0");
    assert_eq!(number::signed(-0.004, 2), "0.00");
    assert_eq!(number::signed(0.25, 2), "+0.25");
    assert_eq!(number::decimal(1234567.0, 0), "1234567");
    assert_eq!(number::decimal(f64::NAN, 2), "–");
}

/// Half to even on the shortest decimal text: 2.675 is 2.68 although the binary
/// number lies below it (the rule and this example: round-package format, step 4).
#[test]
fn rounding_is_half_to_even_on_the_decimal_text() {
    assert_eq!(number::decimal(2.675, 2), "2.68");
    assert_eq!(number::decimal(2.665, 2), "2.66");
    assert_eq!(number::decimal(0.5, 0), "0");
    assert_eq!(number::decimal(1.5, 0), "2");
    assert_eq!(number::decimal(2.5, 0), "2");
    assert_eq!(number::decimal(0.06, 1), "0.1");
    assert_eq!(number::decimal(0.05, 1), "0.0");
    assert_eq!(number::decimal(0.004, 1), "0.0");
    assert_eq!(number::decimal(9.995, 2), "10.00");
    assert_eq!(number::decimal(99.96, 1), "100.0");
    assert_eq!(number::decimal(1e-7, 7), "0.0000001");
    assert_eq!(number::decimal(1e21, 0), "1000000000000000000000");
}

#[test]
fn significant_digits_survive_a_carry() {
    assert_eq!(number::significant(9.96, 2), "10");
    assert_eq!(number::significant(0.0996, 2), "0.10");
    assert_eq!(number::significant(12345.0, 3), "12300");
    assert_eq!(number::significant(0.01234, 3), "0.0123");
    assert_eq!(number::significant(-36.25, 3), "\u{2212}36.2");
}

#[test]
fn a_score_is_never_rounded_across_or_onto_a_limit() {
    assert_eq!(number::score(1.23456, &Z), "+1.23");
    assert_eq!(number::score(1.998, &Z), "+1.998");
    assert_eq!(number::score(-1.9996, &Z), "\u{2212}1.9996");
    assert_eq!(number::score(2.004, &Z), "+2.004");
    assert_eq!(number::score(2.9999, &Z), "+2.9999");
    assert_eq!(number::score(2.0, &Z), "+2.00");
    assert_eq!(number::score(-3.0, &Z), "\u{2212}3.00");
    // At the limit to one part in 10⁹: as for its class.
    assert_eq!(number::score(2.0 * (1.0 + 1e-12), &Z), "+2.00");
    assert_eq!(number::score(0.997, &[1.0]), "+0.997");
}

#[test]
fn a_column_aligns_on_the_decimal_sign() {
    let column = ["136", "<25", "4.31", "0.5", "–", "not reported"].map(str::to_owned);

    let aligned = number::align(&column);

    let (point, digit) = ('\u{2008}', '\u{2007}');
    assert_eq!(
        aligned,
        [
            format!("136{point}{digit}{digit}"),
            format!("<25{point}{digit}{digit}"),
            "4.31".to_owned(),
            format!("0.5{digit}"),
            "–".to_owned(),
            "not reported".to_owned(),
        ]
    );
}

#[test]
fn a_column_of_whole_numbers_stays_as_it_is() {
    let column = ["136", "<25", "7"].map(str::to_owned);

    assert_eq!(number::align(&column), column);
    assert!(number::align(&[]).is_empty());
}

/// u to two digits and up, x_pt to the same place and at least three digits, σ_pt to
/// three: the rounding rule of the evaluation plan.
#[test]
fn an_assigned_value_has_the_digits_that_its_uncertainty_deserves() {
    let printed = number::published(144.987_654_3, Some(4.312_345), Some(36.246_913_6));
    assert_eq!(printed.assigned_value, "145.0");
    assert_eq!(printed.standard_uncertainty.as_deref(), Some("4.4"));
    assert_eq!(printed.sigma_pt.as_deref(), Some("36.2"));

    let printed = number::published(0.123_456_789, Some(0.000_99), None);
    assert_eq!(printed.assigned_value, "0.12346");
    assert_eq!(printed.standard_uncertainty.as_deref(), Some("0.00099"));
    assert_eq!(printed.sigma_pt, None);

    // Published rounded: printed as published.
    let printed = number::published(145.0, Some(4.3), Some(36.25));
    assert_eq!(printed.assigned_value, "145.0");
    assert_eq!(printed.sigma_pt.as_deref(), Some("36.25"));

    let printed = number::published(50.000_000_1, Some(9.999_9), Some(1.0));
    assert_eq!(printed.standard_uncertainty.as_deref(), Some("9.9999"));
    let printed = number::published(50.000_000_1, Some(9.999_999), Some(1.0));
    assert_eq!(printed.standard_uncertainty.as_deref(), Some("10"));
}

#[test]
fn what_was_typed_is_printed_as_typed() {
    assert_eq!(number::typed("-0.50"), "\u{2212}0.50");
    assert_eq!(number::typed("<25"), "<25");
    assert_eq!(number::typed("1.20E-3"), "1.20E-3");
}
