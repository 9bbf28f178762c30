//! Each question, asked where it is due and not beside it. The limits stand in
//! the requirements of the service (F31 to F36, F41), which call them common
//! practice; the rows are made by hand.

use super::*;

fn row(position: i64, values: &[&str]) -> Row {
    let values = values.iter().map(|text| (text.parse().unwrap(), (*text).to_owned())).collect();
    Row { position, item: "A".to_owned(), analyte: format!("analyte {position}"), values, planned: 1, ..Row::default() }
}

fn ids(rows: &[Row]) -> Vec<String> {
    check(rows).iter().map(Finding::id).collect()
}

#[test]
fn an_honest_row_is_not_asked_about() {
    let honest = Row {
        loq: Some(5.0),
        uncertainty: Some(8.0),
        uncertainty_is_absolute: true,
        factor: Some(2.0),
        required_loq: Some(25.0),
        span: Some((10.0, 500.0)),
        ..row(1, &["32.4"])
    };

    assert_eq!(ids(&[honest]), Vec::<String>::new());
}

#[test]
fn limits_are_compared_with_the_own_and_the_required_one() {
    let below =
        |limit: f64, loq: f64| Row { below: Some(limit), loq: Some(loq), required_loq: Some(25.0), ..row(1, &[]) };

    assert_eq!(ids(&[below(100.0, 100.0)]), ["limit-above-required.1"]);
    assert_eq!(ids(&[below(5.0, 10.0)]), ["limit-below-loq.1"]);
    assert_eq!(ids(&[below(25.0, 25.0)]), Vec::<String>::new());
    let high = Row { loq: Some(50.0), required_loq: Some(25.0), ..row(1, &["80"]) };
    assert_eq!(ids(&[high]), ["loq-above-required.1"]);
    let low = Row { loq: Some(10.0), ..row(1, &["9.9"]) };
    assert_eq!(ids(&[low]), ["value-below-loq.1"]);
}

#[test]
fn values_of_one_result_are_compared_with_each_other_and_the_plan() {
    assert_eq!(ids(&[Row { planned: 2, ..row(1, &["10", "15"]) }]), Vec::<String>::new());
    assert_eq!(ids(&[Row { planned: 2, ..row(1, &["10", "15.1"]) }]), ["values-differ.1"]);
    assert_eq!(ids(&[Row { planned: 2, ..row(1, &["10"]) }]), ["fewer-values.1"]);
    assert_eq!(ids(&[Row { span: Some((10.0, 500.0)), ..row(1, &["501"]) }]), ["outside-span.1"]);
}

#[test]
fn uncertainties_out_of_the_usual_are_asked_about() {
    let given = |u: f64, k: Option<f64>| Row { uncertainty: Some(u), factor: k, ..row(1, &["50"]) };

    assert_eq!(ids(&[given(10.0, None)]), ["factor-missing.1"]);
    assert_eq!(ids(&[given(10.0, Some(20.0))]), ["factor-unusual.1"]);
    assert_eq!(ids(&[given(50.1, Some(2.0))]), ["uncertainty-unusual.1"]);
    assert_eq!(ids(&[given(0.4, Some(2.0))]), ["uncertainty-unusual.1"]);
    assert_eq!(ids(&[given(0.5, Some(2.0))]), Vec::<String>::new(), "half of the last digit is in order");
    let coarse = Row { uncertainty: Some(0.4), factor: Some(2.0), ..row(1, &["30"]) };
    assert_eq!(ids(&[coarse]), ["uncertainty-below-digit.1"]);
}

#[test]
fn results_typed_in_the_wrong_unit_are_seen_against_span_and_own_limits() {
    let of = |factor: f64| -> Vec<Row> {
        [32.0, 45.0, 145.0, 260.0, 410.0, 88.0]
            .iter()
            .zip(1..)
            .map(|(x, position)| Row {
                values: vec![(x * factor, (x * factor).to_string())],
                loq: Some(5.0),
                span: Some((10.0, 500.0)),
                ..row(position, &[])
            })
            .collect()
    };

    let low = ids(&of(0.001));
    assert!(low.contains(&"thousand-times-low".to_owned()) && low.contains(&"far-below-loq".to_owned()), "{low:?}");
    assert!(ids(&of(1000.0)).contains(&"thousand-times-high".to_owned()));
    assert_eq!(ids(&of(1.0)), Vec::<String>::new());
}

#[test]
fn the_same_number_in_four_places_and_copied_replicates_are_asked_about() {
    let four: Vec<Row> = (1..=4).map(|position| row(position, &["12.5"])).collect();
    assert_eq!(ids(&four), ["same-number"]);
    assert_eq!(ids(&four[..3]), Vec::<String>::new());

    let pair = |position: i64, one: &str, two: &str| Row { planned: 2, ..row(position, &[one, two]) };
    let copied =
        [pair(1, "11", "11"), pair(2, "12", "12"), pair(3, "13", "13"), pair(4, "14", "14"), pair(5, "15", "16")];
    assert_eq!(ids(&copied), ["same-replicates"]);
    let three =
        [pair(1, "11", "11"), pair(2, "12", "12"), pair(3, "13", "13"), pair(4, "14", "15"), pair(5, "15", "16")];
    assert_eq!(ids(&three), Vec::<String>::new(), "60 % is not more than 60 %");
}

#[test]
fn one_uncertainty_for_small_and_large_results_may_be_meant_in_percent() {
    let with = |x: &str, position| Row {
        uncertainty: Some(25.0),
        uncertainty_is_absolute: true,
        factor: Some(2.0),
        ..row(position, &[x])
    };
    let rows: Vec<Row> = ["32", "45", "145", "260", "410"].iter().zip(1..).map(|(x, n)| with(x, n)).collect();
    assert_eq!(ids(&rows), ["same-uncertainty"]);

    let percent: Vec<Row> = rows.iter().cloned().map(|row| Row { uncertainty_is_absolute: false, ..row }).collect();
    assert_eq!(ids(&percent), Vec::<String>::new());
}

/// Limits of five analytes in three items; in C they stand one row lower from
/// the second row on.
#[test]
fn rows_that_moved_take_their_limits_with_them() {
    let limits = [8.0, 10.0, 15.0, 20.0, 5.0];
    let rows = |shift: bool| -> Vec<Row> {
        let mut rows = Vec::new();
        for (item, label) in ["A", "B", "C"].into_iter().enumerate() {
            for n in 0..5 {
                let from = if shift && label == "C" && n > 0 { n - 1 } else { n };
                rows.push(Row {
                    item: label.to_owned(),
                    analyte: format!("analyte {n}"),
                    loq: Some(limits[from]),
                    ..row((item * 5 + n) as i64, &[])
                });
            }
        }
        rows
    };

    let found = check(&rows(true));
    assert_eq!(found.iter().map(Finding::id).collect::<Vec<_>>(), ["rows-shifted.C"]);
    assert_eq!(found[0].evidence(), "item=C;first=analyte 1;last=analyte 4");
    assert_eq!(ids(&rows(false)), Vec::<String>::new());
}

#[test]
fn an_answer_stands_for_the_numbers_it_was_given_on() {
    let ask = |limit: f64| {
        let row = Row { below: Some(limit), required_loq: Some(25.0), ..row(7, &[]) };
        check(&[row]).remove(0)
    };

    assert_eq!(ask(100.0).id(), ask(90.0).id());
    assert_ne!(ask(100.0).evidence(), ask(90.0).evidence());
}
