//! Tables as files, read by another crate than the one that writes them.

use calamine::{Data, Reader, Xlsx, open_workbook_from_rs};
use roundel_documents::sheet::{About, Cell, Column, Sheet, book as bound, csv, xlsx};
use std::io::Cursor;

fn sheet(rows: Vec<Vec<Cell>>) -> Sheet {
    Sheet {
        name: "Table".to_owned(),
        columns: vec![Column::filled("name"), Column::filled("value"), Column::choice("state", &["below", "failed"])],
        rows,
        about: Some(About { name: "About".to_owned(), lines: vec!["Heading".to_owned(), "A line.".to_owned()] }),
    }
}

fn row(name: &str, value: Cell, state: Cell) -> Vec<Cell> {
    vec![Cell::text(name), value, state]
}

fn book(bytes: Vec<u8>) -> Xlsx<Cursor<Vec<u8>>> {
    open_workbook_from_rs(Cursor::new(bytes)).expect("a workbook")
}

#[test]
fn separated_values_are_as_rfc_4180_has_them() {
    let rows = vec![
        row("a, \"b\"", Cell::Number(-1.5), Cell::Empty),
        row("µg", Cell::Decimal("1.50".to_owned()), Cell::text("below")),
    ];

    assert_eq!(csv(&sheet(rows)), "name,value,state\r\n\"a, \"\"b\"\"\",-1.5,\r\nµg,1.50,below\r\n");
}

#[test]
fn a_text_that_would_be_computed_begins_with_an_apostrophe_and_a_negative_number_does_not() {
    for (text, expected) in [
        ("=1+1", "'=1+1"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("+cmd|' /C calc'!A0", "'+cmd|' /C calc'!A0"),
        ("-2+A1", "'-2+A1"),
        ("-", "'-"),
        ("\t=1", "\"'\t=1\""),
        ("-1.5", "-1.5"),
        ("+3", "+3"),
        ("<25", "<25"),
        ("a=1", "a=1"),
    ] {
        let text = csv(&sheet(vec![row(text, Cell::Number(-0.25), Cell::Empty)]));
        assert_eq!(text, format!("name,value,state\r\n{expected},-0.25,\r\n"));
    }
}

#[test]
fn a_workbook_has_texts_as_texts_and_numbers_as_numbers() {
    let rows = vec![
        row("=1+1", Cell::Decimal("1.50".to_owned()), Cell::text("1.5")),
        row("-2", Cell::Number(-0.25), Cell::Empty),
    ];

    let mut book = book(xlsx(&sheet(rows)).expect("a workbook"));

    assert_eq!(book.sheet_names(), ["Table", "About"]);
    let cells = book.worksheet_range("Table").expect("a sheet");
    let text = |text: &str| Data::String(text.to_owned());
    assert_eq!(cells.rows().next().expect("a header"), [text("name"), text("value"), text("state")]);
    assert_eq!(cells.rows().nth(1).expect("a row"), [text("=1+1"), Data::Float(1.5), text("1.5")]);
    assert_eq!(cells.rows().nth(2).expect("a row"), [text("-2"), Data::Float(-0.25), Data::Empty]);
    assert!(book.worksheet_formula("Table").is_ok_and(|formulas| formulas.is_empty()));
    let about = book.worksheet_range("About").expect("a sheet");
    assert_eq!(about.get_value((1, 0)), Some(&text("A line.")));
}

#[test]
fn the_same_table_gives_the_same_bytes() {
    let rows = || vec![row("a", Cell::Number(1.0), Cell::Empty)];

    assert!(xlsx(&sheet(rows())).expect("a workbook") == xlsx(&sheet(rows())).expect("a workbook"));
}

#[test]
fn several_tables_stand_in_one_workbook_with_what_they_are_said_last() {
    let named = |name: &str, value: Cell| Sheet { name: name.to_owned(), ..sheet(vec![row("@x", value, Cell::Empty)]) };
    let sheets = [named("results", Cell::Decimal("-0.50".to_owned())), named("scores", Cell::Number(-3.0))];
    let about = About { name: "About".to_owned(), lines: vec!["Round R-1".to_owned()] };

    let bytes = bound(&sheets, Some(&about)).expect("a workbook");
    let mut read = book(bytes.clone());

    assert_eq!(read.sheet_names(), ["results", "scores", "About"]);
    let cell = |book: &mut Xlsx<_>, sheet: &str, column| {
        book.worksheet_range(sheet).expect("a sheet").get_value((1, column)).cloned().expect("a cell")
    };
    assert_eq!(cell(&mut read, "results", 0), Data::String("@x".to_owned()));
    assert_eq!(cell(&mut read, "results", 1), Data::Float(-0.5));
    assert_eq!(cell(&mut read, "scores", 1), Data::Float(-3.0));
    assert!(bound(&sheets, Some(&about)).expect("a workbook") == bytes);
    assert!(bound(&[named("a", Cell::Empty), named("a", Cell::Empty)], None).is_err(), "one name twice");
}
