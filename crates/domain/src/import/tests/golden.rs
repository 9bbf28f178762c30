//! Files of results as laboratories send them, each with a name and with what
//! must come of it: all that is wrong as `line column key seen`, or the texts
//! that are taken as `field=text`. The expectations are written from the rules
//! (the grammar of numbers, the columns of the template, the limits of files),
//! before the files were read.

use super::results::{items, round};
use super::*;
use crate::asks::Asks;
use crate::result::{self, Asked};
use rust_xlsxwriter::{ExcelDateTime, Format, Formula, Workbook};
use std::collections::BTreeSet;

enum Must {
    Refuse(&'static [&'static str]),
    Take(&'static [&'static str]),
}
use Must::{Refuse, Take};

struct Case(&'static str, Vec<u8>, Must);

/// The codes on the laboratory's own vials; a third one is nobody's. The check
/// characters are computed by hand: with the places of the characters in the
/// alphabet 23456789CDFHJKMNPRTVWXY and the weights 32, 16, 8, 4, 2, 1 from left
/// to right, the sums are 2 + 21, 4 + 19 and 8 + 15, which 23 divides.
fn codes() -> Vec<(String, String)> {
    [("A", "22223X"), ("B", "22232V")].map(|(item, code)| (item.to_owned(), code.to_owned())).to_vec()
}

const FOREIGN: &str = "22322N";

/// A case of a text file.
fn text(name: &'static str, file: impl Into<Vec<u8>>, must: Must) -> Case {
    Case(name, file.into(), must)
}

/// A case of a file with the four columns that must be there and these rows.
fn rows(name: &'static str, rows: &str, must: Must) -> Case {
    Case(name, format!("item,analyte,unit,result\n{rows}").into_bytes(), must)
}

/// A case of one result of carbamazepine in item A, in quotation marks.
fn one(name: &'static str, result: &str, must: Must) -> Case {
    rows(name, &format!("A,carbamazepine,ng/L,\"{}\"\n", result.replace('"', "\"\"")), must)
}

/// A case of a file with all columns of the template and these rows.
fn full(name: &'static str, rows: &str, must: Must) -> Case {
    let header = "item,analyte,expressed_as,unit,result,result_2,expanded_uncertainty,uncertainty_form,coverage_factor,loq,state,reason";
    Case(name, format!("{header}\n{rows}").into_bytes(), must)
}

/// A case of a workbook with the result of carbamazepine in item A as `write`
/// puts it into the cell D2.
fn book(name: &'static str, write: impl FnOnce(&mut rust_xlsxwriter::Worksheet), must: Must) -> Case {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    for (column, title) in ["item", "analyte", "unit", "result"].iter().enumerate() {
        sheet.write_string(0, column as u16, *title).unwrap();
    }
    for (column, text) in ["A", "carbamazepine", "ng/L"].iter().enumerate() {
        sheet.write_string(1, column as u16, *text).unwrap();
    }
    write(sheet);
    Case(name, book.save_to_buffer().unwrap(), must)
}

fn utf16(text: &str, little: bool) -> Vec<u8> {
    let bytes = |unit: u16| if little { unit.to_le_bytes() } else { unit.to_be_bytes() };
    "\u{FEFF}".encode_utf16().chain(text.encode_utf16()).flat_map(bytes).collect()
}

/// The first entry of an archive, not compressed.
fn archive(name: &str, content: &str) -> Vec<u8> {
    use std::io::Write;
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let stored = zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    zip.start_file(name, stored).unwrap();
    zip.write_all(content.as_bytes()).unwrap();
    zip.finish().unwrap().into_inner()
}

/// The bad files that the demonstration offers, by its list.
fn of_the_demonstration() -> Vec<Case> {
    let coded = |code: &str| format!("item,item_code,analyte,unit,result\nA,{code},carbamazepine,ng/L,5\n");
    vec![
        text(
            "decimal comma with semicolons",
            "item;analyte;unit;result\nA;carbamazepine;ng/L;12,5\n",
            Take(&["1.v1=12,5"]),
        ),
        one("ambiguous 1.250", "1.250", Refuse(&["2 result file-number-ambiguous 1.250"])),
        rows(
            "zeros",
            "A,carbamazepine,ng/L,0\nB,carbamazepine,ng/L,0.0\n",
            Refuse(&["2 result number-zero 0", "3 result number-zero 0.0"]),
        ),
        one("n.d.", "n.d.", Refuse(&["2 result number-word n.d."])),
        rows("unknown analyte", "A,carbamazepin,ng/L,5\n", Refuse(&["2 analyte file-analyte-unknown carbamazepin"])),
        text("own item code", coded("22223x"), Take(&["1.v1=5"])),
        text("foreign item code", coded(FOREIGN), Refuse(&["2 item_code item-code-foreign 22322N"])),
        text("item code of another item", coded("22232V"), Refuse(&["2 item_code item-code-other-item 22232V"])),
        text("item code with a wrong check", coded("22222X"), Refuse(&["2 item_code item-code-form 22222X"])),
        rows(
            "duplicate row",
            "A,carbamazepine,ng/L,5\nB,carbamazepine,ng/L,6\na,Carbamazepine,ng/L,5\n",
            Refuse(&["4 analyte file-measurand-twice Carbamazepine"]),
        ),
        rows(
            "two header rows",
            "item,analyte,unit,result\nA,carbamazepine,ng/L,5\n",
            Refuse(&["2 - file-header-twice -"]),
        ),
        text(
            "UTF-16, little end first",
            utf16("item\tanalyte\tunit\tresult\r\nA\tcarbamazepine\tng/L\t5\r\n", true),
            Take(&["1.v1=5"]),
        ),
        text(
            "UTF-16, big end first",
            utf16("item\tanalyte\tunit\tresult\r\nA\tcarbamazepine\tng/L\t5\r\n", false),
            Take(&["1.v1=5"]),
        ),
        one("formula as text", "=A1*2", Refuse(&["2 result file-formula =A1*2"])),
        book(
            "formula cell",
            |sheet| {
                sheet.write_formula(1, 3, Formula::new("=6*2").set_result("12")).unwrap();
            },
            Refuse(&["2 result file-formula-cell 12"]),
        ),
        text("a million rows", "5\n".repeat(1_000_000), Refuse(&["0 - file-large -"])),
        one("negative", "-1.2", Refuse(&["2 result number-negative -1.2"])),
        one("NaN", "NaN", Refuse(&["2 result number-not-a-number NaN"])),
        one("< without number", "<", Refuse(&["2 result number-limit-without-number <"])),
        full("U without k", "A,carbamazepine,,ng/L,5,,1,absolute,,,,\n", Take(&["1.u=1", "1.u_as=absolute", "1.v1=5"])),
        full(
            "rows shifted",
            "A,carbamazepine,,ng/L,5,,,,,10,,\nB,carbamazepine,,ng/L,6,,,,,25,,\n",
            Take(&["1.loq=10", "1.v1=5", "3.loq=25", "3.v1=6"]),
        ),
        rows("µg/L header with ng/L numbers", "A,carbamazepine,µg/L,145\n", Refuse(&["2 unit file-unit µg/L"])),
    ]
}

/// Numbers that are not surely one number, and those that are.
fn of_numbers() -> Vec<Case> {
    vec![
        one("greater than", ">500", Refuse(&["2 result number-greater >500"])),
        one("another comparison", "≤5", Refuse(&["2 result number-comparison ≤5"])),
        one("limit zero", "<0", Refuse(&["2 result number-limit-not-positive <0"])),
        one("dash", "-", Refuse(&["2 result number-dash -"])),
        one("with its unit", "12 ng", Refuse(&["2 result number-letters 12 ng"])),
        one("with a percent sign", "5%", Refuse(&["2 result number-percent 5%"])),
        one("with its uncertainty", "12±2", Refuse(&["2 result number-plus-minus 12±2"])),
        one("full-width digits", "１２", Refuse(&["2 result number-digits １２"])),
        one("two points", "1.2.3", Refuse(&["2 result number-two-separators 1.2.3"])),
        one("broken group", "1 25", Refuse(&["2 result number-grouping 1 25"])),
        one("no digit before the point", ".5", Refuse(&["2 result number-digit-missing .5"])),
        one("sign behind", "5-", Refuse(&["2 result number-sign 5-"])),
        one("exponent without number", "1e", Refuse(&["2 result number-exponent 1e"])),
        one("exponent too large", "1e99", Refuse(&["2 result number-exponent-range 1e99"])),
        one("underline", "1_0", Refuse(&["2 result number-character 1_0"])),
        one("error value", "#VALUE!", Refuse(&["2 result file-error-value #VALUE!"])),
        one("ambiguous with comma", "1,250", Refuse(&["2 result file-number-ambiguous 1,250"])),
        one("comma with a leading zero", "0,125", Take(&["1.v1=0,125"])),
        one("Swiss thousands", "1'234.5", Take(&["1.v1=1'234.5"])),
        one("thin space for thousands", "1\u{2009}234,5", Take(&["1.v1=1\u{2009}234,5"])),
        one("power of ten", "1.5e-3", Take(&["1.v1=1.5e-3"])),
        one("limit", "<0.01", Take(&["1.v1=<0.01"])),
        one("digits that count", "12.50", Take(&["1.v1=12.50"])),
    ]
}

/// What other columns say.
fn of_rows() -> Vec<Case> {
    vec![
        full(
            "U without its form",
            "A,carbamazepine,,ng/L,5,,1,,2,,,\n",
            Refuse(&["2 uncertainty_form file-uncertainty-form -"]),
        ),
        full(
            "an unknown form",
            "A,carbamazepine,,ng/L,5,,1,half,2,,,\n",
            Refuse(&["2 uncertainty_form file-word half"]),
        ),
        full(
            "k without U",
            "A,carbamazepine,,ng/L,5,,,,2,,,\n",
            Refuse(&["2 expanded_uncertainty result-factor-alone -"]),
        ),
        full(
            "limit with U",
            "A,carbamazepine,,ng/L,<5,,1,absolute,2,,,\n",
            Refuse(&["2 expanded_uncertainty result-limit-with-uncertainty 1"]),
        ),
        full(
            "U of zero",
            "A,carbamazepine,,ng/L,5,,0,absolute,2,,,\n",
            Refuse(&["2 expanded_uncertainty number-not-positive 0"]),
        ),
        full("LOQ as a limit", "A,carbamazepine,,ng/L,5,,,,,<5,,\n", Refuse(&["2 loq number-limit-not-expected <5"])),
        full("LOQ alone", "A,carbamazepine,,ng/L,,,,,,5,,\n", Refuse(&["2 result result-value-missing -"])),
        full(
            "a second value that is not asked for",
            "A,carbamazepine,,ng/L,5,6,,,,,,\n",
            Refuse(&["2 result_2 file-replicate 6"]),
        ),
        full("two limits", "A,metoprolol,,ng/L,<5,<6,,,,,,\n", Refuse(&["2 result_2 result-one-limit <6"])),
        full("a value and a limit", "A,metoprolol,,ng/L,5,<6,,,,,,\n", Refuse(&["2 result result-mixed 5"])),
        full(
            "failed without a reason",
            "A,carbamazepine,,ng/L,,,,,,,failed,\n",
            Refuse(&["2 reason result-reason-missing -"]),
        ),
        full("an unknown state", "A,carbamazepine,,ng/L,5,,,,,,lost,\n", Refuse(&["2 state file-word lost"])),
        full(
            "a value beside not analysed",
            "A,carbamazepine,,ng/L,5,,,,,,not_analysed,no_method\n",
            Refuse(&["2 result result-value-and-state 5"]),
        ),
        full("another basis", "B,nitrate,NO3,ng/L,5,,,,,,,\n", Refuse(&["2 expressed_as file-expressed-as NO3"])),
        full(
            "words in another writing",
            "B,nitrate,n,ng/L,,,,,,,Not analysed,Out-of-scope\n",
            Take(&["4.reason=out_of_scope", "4.state=not_analysed"]),
        ),
        full(
            "percent by its sign",
            "A,carbamazepine,,ng/L,5,,10,%,2,,,\n",
            Take(&["1.k=2", "1.u=10", "1.u_as=percent", "1.v1=5"]),
        ),
        rows("unknown item", "C,carbamazepine,ng/L,5\n", Refuse(&["2 item file-item-unknown C"])),
        rows("no item", ",carbamazepine,ng/L,5\n", Refuse(&["2 item cell-empty -"])),
        rows("no unit", "A,carbamazepine,,5\n", Refuse(&["2 unit cell-empty -"])),
        rows("nothing filled in", "A,carbamazepine,ng/L,\n", Refuse(&["1 - file-results-none -"])),
        text(
            "errors of an earlier time",
            "item,analyte,unit,result,errors\nA,carbamazepine,ng/L,5,\"“0” is zero.\"\n",
            Take(&["1.v1=5"]),
        ),
    ]
}

/// Files that are not the table they should be.
fn of_files() -> Vec<Case> {
    vec![
        text("empty file", "", Refuse(&["0 - file-empty -"])),
        text("PDF", "%PDF-1.7\n", Refuse(&["0 - file-binary -"])),
        text("PNG", b"\x89PNG\r\n\x1A\n".as_slice(), Refuse(&["0 - file-binary -"])),
        text("JPEG", b"\xFF\xD8\xFF\xE0\x00\x10JFIF".as_slice(), Refuse(&["0 - file-binary -"])),
        text(".xls", b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1".as_slice(), Refuse(&["0 - file-old-workbook -"])),
        text(
            ".ods",
            archive("mimetype", "application/vnd.oasis.opendocument.spreadsheet"),
            Refuse(&["0 - file-ods -"]),
        ),
        text("an archive of files", archive("results.csv", "item,analyte"), Refuse(&["0 - file-not-workbook -"])),
        text(
            "a web page that calls itself .xls",
            "\r\n<html xmlns:x=\"urn:schemas\"><table><tr><td>item</td></tr></table></html>",
            Refuse(&["0 - file-markup -"]),
        ),
        text("a workbook of tags", utf16("<?xml version=\"1.0\"?><Workbook/>", true), Refuse(&["0 - file-markup -"])),
        text(
            "Windows-1252",
            // 0xB5 is the micro sign there (its published table).
            b"item;analyte;unit;result\nA;carbamazepine;\xB5g/L;5\n".as_slice(),
            Refuse(&["2 unit file-unit µg/L"]),
        ),
        text("UTF-8 with a mark", "\u{FEFF}item,analyte,unit,result\nA,carbamazepine,ng/L,5\n", Take(&["1.v1=5"])),
        text("separator named", "sep=;\nitem;analyte;unit;result\nA;carbamazepine;ng/L;5,5\n", Take(&["1.v1=5,5"])),
        text("tabs", "item\tanalyte\tunit\tresult\nA\tcarbamazepine\tng/L\t5,5\n", Take(&["1.v1=5,5"])),
        text(
            "no header",
            "A,carbamazepine,ng/L,5\nB,carbamazepine,ng/L,6\n",
            Refuse(&[
                "1 A file-column-unknown A",
                "1 carbamazepine file-column-unknown carbamazepine",
                "1 ng/L file-column-unknown ng/L",
                "1 5 file-column-unknown 5",
                "1 - file-column-missing -",
                "1 - file-column-missing -",
                "1 - file-column-missing -",
                "1 - file-column-missing -",
            ]),
        ),
        text(
            "no column of results",
            "item,analyte,unit\nA,carbamazepine,ng/L\n",
            Refuse(&["1 - file-column-missing -"]),
        ),
        rows("decimal comma between commas", "A,carbamazepine,ng/L,12,5\n", Refuse(&["2 - file-ragged -"])),
        rows("a quotation mark that stays open", "A,\"carbamazepine,ng/L,5\n", Refuse(&["2 - file-quote-open -"])),
        rows(
            "a line end inside a cell",
            "A,carbamazepine,ng/L,\"5\n6\"\n",
            Refuse(&["2 result file-control 5\u{FFFD}6"]),
        ),
        text("a header without lines", "item,analyte,unit,result\n", Refuse(&["1 - file-no-rows -"])),
        text(
            "a title above the header",
            "Results,of,March,2027\nitem,analyte,unit,result\nA,carbamazepine,ng/L,5\n",
            Refuse(&["1 - file-header-lower -"]),
        ),
    ]
}

/// Cells of workbooks.
fn of_workbooks() -> Vec<Case> {
    let date = ExcelDateTime::from_ymd(2027, 3, 12).unwrap();
    vec![
        book(
            "a number",
            |sheet| {
                sheet.write_number(1, 3, 1.25).unwrap();
            },
            Take(&["1.v1=1.25"]),
        ),
        book(
            "a number with three digits behind the point",
            |sheet| {
                sheet.write_number(1, 3, 1.125).unwrap();
            },
            Take(&["1.v1=1.125", "1.v1.reading=1.125"]),
        ),
        book(
            "a text with two readings",
            |sheet| {
                sheet.write_string(1, 3, "1.125").unwrap();
            },
            Refuse(&["2 result file-number-ambiguous 1.125"]),
        ),
        book(
            "a date",
            |sheet| {
                sheet.write_datetime_with_format(1, 3, &date, &Format::new().set_num_format("d mmm")).unwrap();
            },
            Refuse(&["2 result file-date 2027-03-12"]),
        ),
        book(
            "a percentage",
            |sheet| {
                sheet.write_number_with_format(1, 3, 0.125, &Format::new().set_num_format("0.0%")).unwrap();
            },
            Refuse(&["2 result file-percent-cell 12.5 %"]),
        ),
        book(
            "a truth value",
            |sheet| {
                sheet.write_boolean(1, 3, true).unwrap();
            },
            Refuse(&["2 result file-truth TRUE"]),
        ),
        book(
            "a computed number as value",
            |sheet| {
                sheet.write_number(1, 3, 0.1 + 0.2).unwrap();
            },
            Refuse(&["2 result file-digits 0.30000000000000004"]),
        ),
        book(
            "a negative number",
            |sheet| {
                sheet.write_number(1, 3, -1.2).unwrap();
            },
            Refuse(&["2 result number-negative -1.2"]),
        ),
    ]
}

fn cases() -> Vec<Case> {
    [of_the_demonstration(), of_numbers(), of_rows(), of_files(), of_workbooks()].into_iter().flatten().collect()
}

#[test]
fn every_file_of_results_comes_to_what_the_rules_say() {
    let mut wrong = Vec::new();
    let mut names = BTreeSet::new();
    let cases = cases();
    for Case(name, bytes, must) in &cases {
        assert!(names.insert(*name), "two cases are called {name}");
        let (found, expected) = match (super::super::results(&File::read(bytes), &items(), &round(), &codes()), must) {
            (Ok(read), Take(texts)) => {
                // All of them say the unit of the round.
                assert_eq!(read.typed.get("all.unit"), "ng/L", "{name}");
                let filled = read.typed.0.iter().filter(|(field, text)| !text.is_empty() && *field != "all.unit");
                (filled.map(|(field, text)| format!("{field}={text}")).collect::<Vec<_>>(), *texts)
            }
            (Ok(read), Refuse(problems)) => (vec![format!("taken: {:?}", read.positions)], *problems),
            (Err(problems), Refuse(expected) | Take(expected)) => (problems.iter().map(told).collect(), *expected),
        };
        if found != expected {
            wrong.push(format!("{name}: {found:#?} instead of {expected:#?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(cases.len() >= 80, "{} cases", cases.len());
}

fn told(problem: &RowProblem) -> String {
    let seen = problem.seen.as_deref().filter(|seen| !seen.is_empty()).unwrap_or("-");
    let column = problem.column.as_deref().unwrap_or("-");
    format!("{} {column} {} {seen}", problem.line, problem.problem.key.trim_start_matches("problem-"))
}

/// What is allowed and yet worth a second look is a note, not a refusal.
#[test]
fn an_uncertainty_without_k_is_taken_with_a_note() {
    let file = b"item,analyte,unit,result,expanded_uncertainty,uncertainty_form\nA,carbamazepine,ng/L,5,1,absolute\n";
    let read = super::super::results(&File::read(file), &items(), &round(), &[]).expect("a good file");

    let asked = Asked { items: &items(), measurands: &round(), asks: &Asks::default() };
    let sheet = result::read(&read.typed, &asked, None);

    assert!(sheet.errors.is_empty(), "{:?}", sheet.errors);
    assert_eq!(sheet.findings.iter().map(|one| one.id()).collect::<Vec<_>>(), ["factor-missing.1"]);
}

/// A refused file comes back with all its cells and a text for each line that
/// has a problem; mended in place, it is taken with the column left in it.
#[test]
fn a_refused_file_comes_back_with_what_is_wrong_in_a_column() {
    let bytes =
        b"item;analyte;unit;result;errors\nA;carbamazepine;ng/L;0;old\n\nB;carbamazepine;ng/L;7;\nB;nitrate;ng/L\n";
    let file = File::read(bytes);
    let problems = super::super::results(&file, &items(), &round(), &[]).expect_err("zero and a short line");

    let back = returned(&file, bytes, &problems, |problem| format!("[{}]", problem.problem.key)).expect("a table");

    let line = |line: usize, cells: &[&str], told: &str| {
        (line, cells.iter().map(|cell| (*cell).to_owned()).collect::<Vec<_>>(), told.to_owned())
    };
    assert_eq!(back.separator, Some(';'));
    assert_eq!(
        back.rows,
        [
            line(1, &["item", "analyte", "unit", "result"], "errors"),
            line(2, &["A", "carbamazepine", "ng/L", "0"], "[problem-number-zero]"),
            line(4, &["B", "carbamazepine", "ng/L", "7"], ""),
            line(5, &["B", "nitrate", "ng/L", ""], "[problem-file-ragged]"),
        ]
    );
    for no_table in [&b"%PDF-1.7"[..], b"", b"item,analyte\n\"A"] {
        let file = File::read(no_table);
        assert_eq!(returned(&file, no_table, &[], |_| String::new()), None);
    }
}
