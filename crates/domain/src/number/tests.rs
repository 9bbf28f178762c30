//! The grammar of F28 case by case. Expected readings are written by hand from
//! the rule.

use super::*;

fn value(text: &str) -> String {
    match parse_reported(text, false) {
        Ok(Reading::Value(reported)) => reported.decimal.to_string(),
        other => panic!("{text:?} gives {other:?}"),
    }
}

fn why(text: &str) -> Refusal {
    match parse_reported(text, false) {
        Err(problem) => problem.why,
        Ok(reading) => panic!("{text:?} is read as {reading:?}"),
    }
}

#[test]
fn plain_numbers_keep_their_digits() {
    for (text, expected) in [
        ("12", "12"),
        ("1.50", "1.50"),
        ("1,50", "1.50"),
        ("+1.5", "1.5"),
        (" 12.5\t", "12.5"),
        ("\u{A0}12.5\u{202F}", "12.5"),
        ("007", "7"),
        ("0.0150", "0.0150"),
        ("145.2500", "145.2500"),
        ("1234.567", "1234.567"),
        ("1234,567", "1234.567"),
    ] {
        assert_eq!(value(text), expected, "{text:?}");
    }
}

#[test]
fn exponents_are_written_out() {
    for (text, expected) in [
        ("1.5e-3", "0.0015"),
        ("1.5E3", "1500"),
        ("1.50e+01", "15.0"),
        ("15e0", "15"),
        ("1,5e2", "150"),
        ("0.00012e4", "1.2"),
        ("1.2345e2", "123.45"),
    ] {
        assert_eq!(value(text), expected, "{text:?}");
    }
    assert_eq!(value("1e30"), format!("1{}", "0".repeat(30)));
    assert_eq!(value("1e-30"), format!("0.{}1", "0".repeat(29)));
}

#[test]
fn full_groups_of_three_are_taken_with_every_mark() {
    for mark in [" ", "\u{A0}", "\u{2009}", "\u{202F}", "\u{2007}", "'", "\u{2019}"] {
        assert_eq!(value(&format!("1{mark}250")), "1250");
        assert_eq!(value(&format!("12{mark}500,75")), "12500.75");
        assert_eq!(value(&format!("1{mark}250{mark}000.5")), "1250000.5");
        // The group mark is known, so the point can only be the decimal sign.
        assert_eq!(value(&format!("1{mark}250.125")), "1250.125");
    }
}

#[test]
fn wrong_groups_are_refused() {
    for text in [
        "1 25",
        "1 2500",
        "1250 000",
        "12 50.5",
        "1  250",
        "1 250'000",
        "0 125",
        "' 250",
        "'250",
        "1.250 000",
        "1.5 5",
        "12 500 1",
        "1 250 e3",
    ] {
        assert_eq!(why(text), Refusal::Grouping, "{text:?}");
    }
}

#[test]
fn one_separator_before_three_digits_has_two_readings() {
    for (text, first, second) in [
        ("1.250", "1.250", "1250"),
        ("12,500", "12.500", "12500"),
        ("145,250", "145.250", "145250"),
        ("<1.250", "<1.250", "<1250"),
        ("+1,250", "1.250", "1250"),
        ("1.250e3", "1250", "1250000"),
        ("1,250E-1", "0.1250", "125.0"),
    ] {
        let problem = parse_reported(text, false).expect_err(text);

        assert_eq!(problem.readings(), Some((first, second)), "{text:?}");
        assert_eq!(problem.seen, text);
    }
    let negative = parse_reported("−1.250", true).expect_err("two readings");
    assert_eq!(negative.readings(), Some(("-1.250", "-1250")));
}

#[test]
fn a_leading_zero_or_another_count_of_digits_decides() {
    for (text, expected) in [
        ("0,125", "0.125"),
        ("0.125", "0.125"),
        ("1.25", "1.25"),
        ("1.2500", "1.2500"),
        ("1250.125", "1250.125"),
        ("01.250", "1.250"),
    ] {
        assert_eq!(value(text), expected, "{text:?}");
    }
}

#[test]
fn a_choice_counts_only_for_one_of_the_two_readings() {
    let read = |text, choice| parse_with_choice(text, false, Some(choice)).map(|reading| reading.normalised());

    assert_eq!(read("145,250", "145.250"), Ok("145.250".to_owned()));
    assert_eq!(read("145,250", "145250"), Ok("145250".to_owned()));
    assert_eq!(read("<1.250", "<1250"), Ok("<1250".to_owned()));
    for stale in ["", "145", "145.25", "1250", "<145.250", " 145.250"] {
        let problem = read("145,250", stale).expect_err(stale);
        assert!(matches!(problem.why, Refusal::Ambiguous { .. }), "{stale:?}");
    }
    // What was typed since has one reading: the old choice changes nothing.
    assert_eq!(read("146.5", "145250"), Ok("146.5".to_owned()));
}

#[test]
fn significant_digits_and_the_last_digit_are_those_typed() {
    for (text, significant, last) in [
        ("1.50", 3, -2),
        ("0.0150", 3, -4),
        ("1500", 4, 0),
        ("1.5e3", 2, 2),
        ("1,50e-3", 3, -5),
        ("12 500.0", 6, -1),
        ("007", 1, 0),
    ] {
        let reading = parse_reported(text, false).expect(text);

        assert_eq!(reading.reported().significant_digits, significant, "{text:?}");
        assert_eq!(reading.reported().last_digit, last, "{text:?}");
    }
    let unit = parse_reported("1.50", false).unwrap().reported().last_digit_unit();
    assert!((unit - 0.01).abs() < 1e-15);
}

#[test]
fn a_limit_is_read_with_its_number() {
    for (text, expected) in
        [("<25", "<25"), ("< 2,5", "<2.5"), ("<\u{A0}1 250", "<1250"), ("<+5", "<5"), ("<0.5", "<0.5")]
    {
        let reading = parse_reported(text, false).expect(text);

        assert!(reading.is_below());
        assert_eq!(reading.normalised(), expected, "{text:?}");
    }
    assert_eq!(parse_reported("<25", false).unwrap().value(), 25.0);
}

#[test]
fn zero_and_negative_results_are_refused_unless_the_measurand_has_them() {
    for text in ["0", "0.0", "0,00", "-0", "0e5", "+0", "0.000"] {
        assert_eq!(why(text), Refusal::Zero, "{text:?}");
    }
    for text in ["-1.2", "−1.2", "-1.250", "-1e-5"] {
        assert_eq!(why(text), Refusal::Negative, "{text:?}");
    }
    for text in ["<0", "<0.0", "<-5", "< −0.1"] {
        assert_eq!(why(text), Refusal::LimitNotPositive, "{text:?}");
        assert_eq!(parse_reported(text, true).expect_err(text).why, Refusal::LimitNotPositive);
    }
    let allowed = |text| parse_reported(text, true).map(|reading| reading.normalised());
    assert_eq!(allowed("−1,2"), Ok("-1.2".to_owned()));
    assert_eq!(allowed("-0.00"), Ok("0.00".to_owned()));
    assert_eq!(parse_reported("-0", true).unwrap().value().to_bits(), 0.0f64.to_bits());
}

#[test]
fn each_kind_of_text_has_its_own_reason() {
    let cases: &[(Refusal, &[&str])] = &[
        (Refusal::Empty, &["", "  ", "\u{A0}"]),
        (Refusal::Word, &["n.d.", "nd", "N.D.", "n. d.", "bdl", "LOQ", "not detected", "n.a.", "n/a"]),
        (Refusal::Dash, &["-", "--", "–", "—", "−"]),
        (Refusal::LimitWithoutNumber, &["<", "<-", "< +", "<LOQ", "< loq", "<LOD", "<BG", "≤"]),
        (Refusal::Greater, &[">", "> 500", ">1.250", ">-5"]),
        (Refusal::OtherComparison, &["≤5", ">=5", "<=5", "~12", "≈12", "<<5", "<>5", "＜5"]),
        (Refusal::NotANumber, &["NaN", "nan", "Inf", "-inf", "+Infinity", "∞", "1.#QNAN", "#N/A", "#DIV/0!", "#REF!"]),
        (Refusal::Formula, &["=1+1", "=A1", "="]),
        (Refusal::Letters, &["12 ng/L", "1O5", "l2", "12a", "e5", "E", "ca. 12", "1,5 µg/L", "12x", "0x1F"]),
        (Refusal::Percent, &["12%", "12 %", "5‰"]),
        (Refusal::PlusMinus, &["12±3", "12 ± 3"]),
        (Refusal::ForeignDigits, &["１２", "1２", "٣", "½", "5²"]),
        (Refusal::TwoSeparators, &["1,250.5", "1.250,5", "1.250.000", "1..5", "1.2.3", ",,"]),
        (Refusal::DigitMissing, &[".5", "5.", ",5", "5,", "<.5", "."]),
        (Refusal::SignInside, &["5-", "1-2", "+-5", "--5", "1+1", "- 5.-"]),
        (Refusal::Exponent, &["1e", "1e+", "1e1.5", "1e5e5", "1e 5", "1e--5"]),
        (Refusal::ExponentRange, &["1e31", "1e-31", "1e999999999999999999999"]),
    ];
    for (expected, texts) in cases {
        for text in *texts {
            assert_eq!(&why(text), expected, "{text:?}");
        }
    }
    assert_eq!(why("+"), Refusal::Character("+".to_owned()));
    assert_eq!(why("1_000"), Refusal::Character("_".to_owned()));
    assert_eq!(why("1/2"), Refusal::Character("/".to_owned()));
    assert_eq!(why("(5)"), Refusal::Character("(".to_owned()));
    assert_eq!(why("1\u{200B}2"), Refusal::Character("U+200B".to_owned()));
    assert_eq!(why("1\t250"), Refusal::Character("U+0009".to_owned()));
}

#[test]
fn length_is_bounded_in_characters() {
    assert_eq!(value(&"1".repeat(MAX_LENGTH)), "1".repeat(MAX_LENGTH));
    assert_eq!(why(&"1".repeat(MAX_LENGTH + 1)), Refusal::TooLong);
    assert_eq!(why(&"x".repeat(1_000_000)), Refusal::TooLong);
    assert!(parse_reported(&format!("0.{}1e-30", "0".repeat(50)), false).unwrap().value() > 0.0);
}

#[test]
fn an_organisers_number_is_checked_against_its_range() {
    let refused = |text, range| Decimal::parse(text, range).expect_err(text).why;

    assert_eq!(Decimal::positive("2,50").map(|k| k.to_string()), Ok("2.50".to_owned()));
    assert_eq!(Decimal::non_negative("0").map(|k| k.value()), Ok(0.0));
    assert_eq!(Decimal::parse("-3", Range::Any).map(|k| k.value()), Ok(-3.0));
    assert_eq!(Decimal::parse("100", Range::Percent).map(|k| k.value()), Ok(100.0));
    assert_eq!(refused("0", Range::Positive), Refusal::NotPositive);
    assert_eq!(refused("-1", Range::Positive), Refusal::NotPositive);
    assert_eq!(refused("-1", Range::NonNegative), Refusal::BelowZero);
    assert_eq!(refused("0", Range::Percent), Refusal::NotPositive);
    assert_eq!(refused("100.1", Range::Percent), Refusal::AboveHundred);
    assert_eq!(refused("<5", Range::Any), Refusal::LimitNotExpected);
    assert_eq!(Decimal::positive("1.250").expect_err("two readings").readings(), Some(("1.250", "1250")));
    assert_eq!(Decimal::parse_with_choice("1.250", Range::Positive, Some("1250")).map(|x| x.value()), Ok(1250.0));
}

#[test]
fn a_stored_text_comes_back_as_it_was_and_nothing_else_does() {
    for text in ["1.250", "12.500", "0", "0.00", "-1.5", "1500", "0.0015"] {
        let decimal = Decimal::from_normalised(text).expect(text);

        assert_eq!(decimal.as_str(), text);
        assert_eq!(decimal.value(), text.parse::<f64>().unwrap());
    }
    for text in ["", "-", "1,5", ".5", "5.", "1e3", "+1", "01", "-0", "-0.0", "1 250", "NaN", "inf", "<5"] {
        assert_eq!(Decimal::from_normalised(text), None, "{text:?}");
    }
    assert!(Decimal::from_normalised(&"9".repeat(400)).is_none());
    assert_eq!(Decimal::from_normalised("1.50").map(|x| x.decimals()), Some(2));
}

#[test]
fn a_number_moves_by_powers_of_ten_with_all_its_digits() {
    let moved = |text: &str, power| Decimal::from_normalised(text).unwrap().shifted(power).to_string();

    for (text, power, expected) in [
        ("0.145", 3, "145"),
        ("0.1450", 3, "145.0"),
        ("145", -3, "0.145"),
        ("1500", -3, "1.500"),
        ("-1.2", 3, "-1200"),
        ("32.40", 0, "32.40"),
        ("0.0007", 6, "700"),
        ("0", 3, "0"),
    ] {
        assert_eq!(moved(text, power), expected, "{text} by 10^{power}");
        assert_eq!(
            Decimal::from_normalised(text).unwrap().shifted(power).shifted(-power).value(),
            text.parse::<f64>().unwrap()
        );
    }
}
