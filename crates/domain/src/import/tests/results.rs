//! Files of a laboratory's results.

use super::*;
use crate::asks::Asks;
use crate::id::{ItemId, MeasurandId};
use crate::measurand::{Item, Measurand};
use crate::result::{self, Asked, Entry, Reported};
use std::collections::BTreeMap;
use uuid::Uuid;

const HEADER: &str = "item,analyte,expressed_as,unit,result,result_2,expanded_uncertainty,uncertainty_form,coverage_factor,loq,state,reason";

pub(super) fn items() -> Vec<Item> {
    let item = |n: u128, label: &str| Item {
        id: ItemId(Uuid::from_u128(n)),
        position: n as i64,
        label: label.to_owned(),
        matrix: String::new(),
    };
    vec![item(1, "A"), item(2, "B")]
}

pub(super) fn round() -> Vec<Measurand> {
    let one = |position: i64, item: u128, analyte: &str, replicates: i64| Measurand {
        id: MeasurandId(Uuid::from_u128(100 + position as u128)),
        item: ItemId(Uuid::from_u128(item)),
        position,
        analyte: analyte.to_owned(),
        unit: "ng/L".to_owned(),
        expressed_as: if analyte == "nitrate" { "N".to_owned() } else { String::new() },
        decimals: 1,
        replicates,
        required_loq: None,
        plan: None,
    };
    vec![
        one(1, 1, "carbamazepine", 1),
        one(2, 1, "metoprolol", 2),
        one(3, 2, "carbamazepine", 1),
        one(4, 2, "nitrate", 1),
    ]
}

fn read(bytes: &[u8]) -> Result<ResultsFile, Vec<RowProblem>> {
    super::super::results(&File::read(bytes), &items(), &round(), &[])
}

fn of(rows: &str) -> Result<ResultsFile, Vec<RowProblem>> {
    read(format!("{HEADER}\n{rows}").as_bytes())
}

fn entries(file: &ResultsFile) -> Vec<Entry> {
    let sheet =
        result::read(&file.typed, &Asked { items: &items(), measurands: &round(), asks: &Asks::default() }, None);
    assert!(sheet.errors.is_empty(), "{:?}", sheet.errors);
    sheet.entries
}

#[test]
fn a_file_of_results_gives_what_the_page_would_have_taken() {
    let file = of("A,Carbamazepine,,ng/L,\"32,40\",,10,percent,2,5.0,,\n\
         a,metoprolol,,ng/l,12.1,12.3,1.5,absolute,,,value,\n\
         B,carbamazepine,,ng/L,<25,,,,,25,,\n\
         B,nitrate,n,ng/L,,,,,,,Not analysed,out of scope\n")
    .expect("a good file");

    let read = entries(&file);

    assert_eq!(file.positions, [1, 2, 3, 4]);
    assert_eq!(file.typed.get("1.v1"), "32,40");
    let uncertainties: Vec<_> = read.iter().map(Entry::expanded_uncertainty).collect();
    // 10 percent of 32.40 and 1.5 in the unit.
    assert_eq!(uncertainties, [Some(3.24), Some(1.5), None, None]);
    assert_eq!((read[0].coverage_factor(), read[1].coverage_factor()), (Some(2.0), None));
    assert_eq!(read[0].loq.as_ref().map(|loq| loq.typed.as_str()), Some("5.0"));
    let Reported::Value { values, .. } = &read[1].reported else { panic!("{:?}", read[1]) };
    assert_eq!(values.iter().map(|value| value.typed.as_str()).collect::<Vec<_>>(), ["12.1", "12.3"]);
    assert!(matches!(&read[2].reported, Reported::Below { limit } if limit.typed == "<25"));
    assert!(matches!(read[3].reported, Reported::NotAnalysed { .. }));
}

#[test]
fn rows_without_a_result_are_left_out_and_others_replace_all_their_fields() {
    let file =
        of("A,carbamazepine,,ng/L,,,,percent,,,,\nB,carbamazepine,,ng/L,7,,,percent,,,,\n").expect("a good file");

    assert_eq!(file.positions, [3]);
    assert!(file.typed.0.keys().all(|field| field.starts_with("3.") || field == "all.unit"), "{:?}", file.typed);
    assert_eq!(file.typed.get("all.unit"), "ng/L");
    for field in ["3.v2", "3.u", "3.k", "3.loq", "3.state", "3.reason", "3.v1.reading", "3.u_as"] {
        assert_eq!(file.typed.0.get(field).map(String::as_str), Some(""), "{field}");
    }
}

#[test]
fn everything_that_is_wrong_is_told_by_line_and_column() {
    let found = listed(of("A,carbamazepin,,ng/L,1,,,,,,,\n\
         C,carbamazepine,,ng/L,1,,,,,,,\n\
         A,carbamazepine,,µg/L,1,,,,,,,\n\
         A,carbamazepine,,ng/L,\"1,234\",1,,,,,,\n\
         A,metoprolol,,ng/L,0,n.d.,2,,k,-1,,\n\
         A,Metoprolol,,ng/L,3,,,,,,,\n\
         B,carbamazepine,,ng/L,4,,2,half,,,maybe,never\n\
         B,nitrate,NO3,ng/L,5,,,,2,,failed,\n"));

    assert_eq!(
        found,
        [
            "2 analyte file-analyte-unknown",
            "3 item file-item-unknown",
            "4 unit file-unit",
            "5 result_2 file-replicate",
            "5 result file-number-ambiguous",
            "6 uncertainty_form file-uncertainty-form",
            "6 loq number-not-positive",
            "6 result number-zero",
            "6 result_2 number-word",
            "7 analyte file-measurand-twice",
            "8 state file-word",
            "8 reason file-word",
            "8 uncertainty_form file-word",
            "9 expressed_as file-expressed-as",
            "9 result result-value-and-state",
            "9 reason result-reason-missing",
        ]
    );
    let problems = of("A,carbamazepin,,ng/L,1,,,,,,,\n").expect_err("a misspelt name");
    assert_eq!(problems[0].problem.value("nearest"), Some("carbamazepine"));
    let problems = of("A,carbamazepine,,ng/L,\"1,234\",,,,,,,\n").expect_err("two readings");
    let shown: BTreeMap<_, _> = problems[0].problem.values.iter().map(|(name, text)| (*name, text.as_str())).collect();
    assert_eq!((shown["first"], shown["second"], shown["write"]), ("1.234", "1234", "1.2340"));
}

#[test]
fn a_file_without_any_result_is_told_to_be_empty() {
    assert_eq!(listed(of("A,carbamazepine,,ng/L,,,,,,,,\n")), ["1 - file-results-none"]);
    let template = format!("{}\nA,carbamazepine,,ng/L,,,,,,,,\n", results_columns(2).join(","));
    assert_eq!(listed(read(template.as_bytes())), ["1 - file-results-none"]);
}

#[test]
fn columns_that_a_round_does_not_need_may_be_left_out() {
    let file = read(b"item,analyte,unit,result\nA,carbamazepine,ng/L,3.1\n").expect("a good file");

    assert_eq!(entries(&file)[0].value(), Some(3.1));
    assert_eq!(
        listed(read(b"item,analyte,unit,result,expanded_uncertainty\nA,carbamazepine,ng/L,3.1,1\n")),
        ["2 expanded_uncertainty file-uncertainty-form"]
    );
    assert!(!results_columns(1).contains(&"result_2"));
    assert!(results_columns(3).contains(&"result_3") && !results_columns(3).contains(&"result_4"));
}

#[test]
fn a_number_of_a_workbook_has_the_reading_with_a_decimal_point() {
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    for (column, name) in ["item", "analyte", "unit", "result", "result_2"].iter().enumerate() {
        sheet.write_string(0, column as u16, *name).unwrap();
    }
    for (column, text) in ["A", "metoprolol", "ng/L"].iter().enumerate() {
        sheet.write_string(1, column as u16, *text).unwrap();
    }
    sheet.write_number(1, 3, 1.234).unwrap();
    sheet.write_string(1, 4, "1.50").unwrap();

    let file = read(&book.save_to_buffer().unwrap()).expect("a good file");

    let read = entries(&file);
    let Reported::Value { values, .. } = &read[0].reported else { panic!("{:?}", read[0]) };
    assert_eq!(values.iter().map(|value| value.decimal.value()).collect::<Vec<_>>(), [1.234, 1.5]);
    assert_eq!(
        (file.typed.get("2.v1"), file.typed.get("2.v1.reading"), file.typed.get("2.v2")),
        ("1.234", "1.234", "1.50")
    );
}
