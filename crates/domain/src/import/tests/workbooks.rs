//! Workbooks: those that another crate writes, and parts written by hand as
//! spreadsheet programs write them.

use super::*;
use rust_xlsxwriter::{ExcelDateTime, Format, Formula, Workbook};
use std::io::{Cursor, Write};
use zip::write::SimpleFileOptions;

const RELATIONSHIPS: &str = r#"<Relationships><Relationship Id="rId1" Type="http://x/officeDocument" Target="xl/workbook.xml"/></Relationships>"#;
const BOOK_RELATIONSHIPS: &str = r#"<Relationships>
    <Relationship Id="a" Type="http://x/worksheet" Target="worksheets/sheet1.xml"/>
    <Relationship Id="b" Type="http://x/sharedStrings" Target="/xl/sharedStrings.xml"/>
    <Relationship Id="c" Type="http://x/styles" Target="styles.xml"/></Relationships>"#;

fn archive(entries: &[(&str, &str)]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, text) in entries {
        zip.start_file(*name, SimpleFileOptions::default()).unwrap();
        zip.write_all(text.as_bytes()).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// A workbook with one sheet of these rows, and these texts and styles.
fn by_hand(rows: &str, texts: &str, styles: &str) -> Vec<u8> {
    archive(&[
        ("_rels/.rels", RELATIONSHIPS),
        (
            "xl/workbook.xml",
            r#"<workbook xmlns:r="x"><sheets><sheet name="One" sheetId="1" r:id="a"/></sheets></workbook>"#,
        ),
        ("xl/_rels/workbook.xml.rels", BOOK_RELATIONSHIPS),
        ("xl/sharedStrings.xml", &format!("<sst>{texts}</sst>")),
        ("xl/styles.xml", &format!("<styleSheet>{styles}</styleSheet>")),
        ("xl/worksheets/sheet1.xml", &format!("<worksheet><sheetData>{rows}</sheetData></worksheet>")),
    ])
}

/// The cells of the only table: a line for each row, with its number.
fn cells(bytes: &[u8]) -> Vec<String> {
    let file = File::read(bytes);
    let table = file.table().expect("a good file");
    let header = format!("{}: {}", table.header_line, table.header.join("|"));
    let rows = table.rows.iter().map(|row| format!("{}: {}", row.line, row.cells.join("|")));
    std::iter::once(header).chain(rows).collect()
}

fn problems(bytes: &[u8]) -> Vec<String> {
    listed(File::read(bytes).table())
}

const FIRST: &str = r#"<row r="1"><c r="A1" t="inlineStr"><is><t>name</t></is></c><c r="B1" t="inlineStr"><is><t>value</t></is></c></row>"#;

/// The second cell of the second row, with this tag and content.
fn cell(tag: &str, content: &str) -> String {
    format!(r#"{FIRST}<row r="2"><c r="A2" t="str"><v>x</v></c><c r="B2"{tag}>{content}</c></row>"#)
}

#[test]
fn a_workbook_gives_the_rows_that_a_text_file_gives() {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    for (column, name) in ["item", "analyte", "unit", "x_pt", "u_x_pt", "sigma_pt_percent", "route"].iter().enumerate()
    {
        sheet.write_string(2, column as u16, *name).unwrap();
    }
    for (column, text) in [(0, "A"), (1, " carbamazepine "), (2, "ng/L"), (6, "formulation")] {
        sheet.write_string(4, column, text).unwrap();
    }
    sheet.write_number(4, 3, 32.4).unwrap();
    sheet.write_string(4, 4, "0.390").unwrap();
    sheet.write_number(4, 5, 25.0).unwrap();
    // Formats without content stand below and to the right.
    sheet.write_blank(9, 11, &Format::new().set_bold()).unwrap();
    let bytes = book.save_to_buffer().unwrap();

    let file = assigned_values(&bytes, &known()).expect("a good file");

    assert_eq!(file.rows.len(), 1);
    assert_eq!((file.rows[0].line, file.rows[0].measurand), (5, 0));
    assert_eq!(given(&file.rows[0]).x_pt.as_str(), "32.4");
    assert_eq!(given(&file.rows[0]).uncertainty, Uncertainty::Standard(Decimal::positive("0.390").unwrap()));
    assert_eq!(given(&file.rows[0]).route, Some(Route::Formulation));
}

/// 32.399999999999999 and 0.30000000000000004 are how programs write the
/// doubles next to 32.4 and 0.1 + 0.2 with 17 digits.
#[test]
fn a_stored_number_is_the_shortest_text_of_the_same_number() {
    for (stored, expected) in [
        ("32.399999999999999", "32.4"),
        ("1.1000000000000001", "1.1"),
        ("1.250", "1.25"),
        ("1234", "1234"),
        ("1E-3", "0.001"),
        ("-0.05", "-0.05"),
        ("1E+20", "1e20"),
        ("2.5E-9", "2.5e-9"),
        ("0", "0"),
    ] {
        let rows = cells(&by_hand(&cell("", &format!("<v>{stored}</v>")), "", ""));
        assert_eq!(rows[1], format!("2: x|{expected}"), "{stored}");
    }
}

#[test]
fn a_number_with_more_digits_than_a_spreadsheet_shows_is_refused_with_the_one_it_shows() {
    for (stored, rounded) in [("0.30000000000000004", "0.3"), ("32.39871234567812", "32.3987123456781")] {
        let file = File::read(&by_hand(&cell("", &format!("<v>{stored}</v>")), "", ""));
        let problems = file.table().expect_err("too many digits");

        assert_eq!(problems[0].problem.key, "problem-file-digits");
        assert_eq!(problems[0].problem.value("rounded"), Some(rounded));
        assert_eq!(
            (problems[0].line, problems[0].column.as_deref(), problems[0].seen.as_deref()),
            (2, Some("value"), Some(stored))
        );
    }
}

#[test]
fn a_stored_number_has_one_reading_and_a_text_with_three_digits_has_two() {
    let rows = |tag, content: &str| {
        let names = ["item", "analyte", "unit", "x_pt", "u_x_pt", "sigma_pt_percent"];
        let text = |text: &str| format!("<c t=\"str\"><v>{text}</v></c>");
        let header: String = names.iter().map(|name| text(name)).collect();
        let row = ["A", "carbamazepine", "ng/L"].map(text).concat();
        format!("<row>{header}</row><row>{row}<c{tag}><v>{content}</v></c><c><v>0.125</v></c><c><v>25</v></c></row>")
    };

    let number = assigned_values(&by_hand(&rows("", "1.234"), "", ""), &known()).expect("a good file");
    let text = assigned_values(&by_hand(&rows(" t=\"str\"", "1.234"), "", ""), &known());

    assert_eq!(given(&number.rows[0]).x_pt.as_str(), "1.234");
    assert_eq!(listed(text), ["2 x_pt file-number-ambiguous"]);
}

#[test]
fn dates_truth_values_percentages_errors_and_formulas_are_never_turned_into_something_else() {
    let styles = r#"<numFmts><numFmt numFmtId="164" formatCode="d\-mmm"/></numFmts><cellXfs><xf numFmtId="0"/><xf numFmtId="14"/><xf numFmtId="164"/><xf numFmtId="10"/></cellXfs>"#;
    for (tag, content, key, seen) in [
        // 46143 is 1 May 2026: 1 January 1900 is 1, and 29 February 1900 counts.
        (" s=\"1\"", "<v>46143</v>", "date", "2026-05-01"),
        (" s=\"2\"", "<v>46143.5</v>", "date", "2026-05-01 12:00:00"),
        (" s=\"2\"", "<v>0.25</v>", "date", "06:00:00"),
        (" t=\"d\"", "<v>2026-05-01</v>", "date", "2026-05-01"),
        (" s=\"3\"", "<v>0.25</v>", "percent-cell", "25 %"),
        (" t=\"b\"", "<v>1</v>", "truth", "TRUE"),
        (" t=\"e\"", "<v>#DIV/0!</v>", "error-value", "#DIV/0!"),
        ("", "<f>A1*2</f><v>3.1</v>", "formula-cell", "3.1"),
        ("", "<f>A1*2</f>", "formula-cell", "=A1*2"),
        ("", "<f t=\"shared\" si=\"0\"/><v>7</v>", "formula-cell", "7"),
        (" t=\"str\"", "<f>T(A1)</f><v>text</v>", "formula-cell", "text"),
        (" t=\"str\"", "<v>=1+1</v>", "formula", "=1+1"),
    ] {
        let file = File::read(&by_hand(&cell(tag, content), "", styles));
        let problems = file.table().expect_err(content);

        assert_eq!(listed(file.table()), [format!("2 value file-{key}")], "{content}");
        assert_eq!(problems[0].seen.as_deref(), Some(seen), "{content}");
    }
}

#[test]
fn the_same_problems_are_found_in_what_another_crate_writes() {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    for (column, name) in ["date", "formula", "truth", "share"].iter().enumerate() {
        sheet.write_string(0, column as u16, *name).unwrap();
    }
    let date = ExcelDateTime::from_ymd(2026, 5, 1).unwrap();
    sheet.write_datetime_with_format(1, 0, &date, &Format::new().set_num_format("dd/mm/yyyy")).unwrap();
    sheet.write_formula(1, 1, Formula::new("=1+1").set_result("2")).unwrap();
    sheet.write_boolean(1, 2, true).unwrap();
    sheet.write_number_with_format(1, 3, 0.25, &Format::new().set_num_format("0.0%")).unwrap();

    let found = problems(&book.save_to_buffer().unwrap());

    assert_eq!(
        found,
        ["2 date file-date", "2 formula file-formula-cell", "2 truth file-truth", "2 share file-percent-cell"]
    );
}

#[test]
fn texts_are_put_together_from_runs_without_their_reading_aids() {
    let texts = "<si><t>name</t></si><si><r><t xml:space=\"preserve\">R&amp;D </t></r><r><t>&#181;g</t></r><rPh sb=\"0\"><t>aid</t></rPh></si><si/>";
    let rows = r#"<row r="3"><c r="A3" t="s"><v>0</v></c><c r="C3" t="inlineStr"><is><r><t>val</t></r><r><t>ue</t></r></is></c><c r="B3" t="s"><v>0</v></c></row>"#;

    let unordered = problems(&by_hand(rows, texts, ""));
    let rows = rows.replace(r#"<c r="B3" t="s"><v>0</v></c>"#, "")
        + r#"<row r="7"><c r="A7" t="s"><v>1</v></c><c r="B7" t="str"><v>1.5</v></c><c r="C7" t="s"><v>2</v></c></row>"#;
    let header = rows.replace(r#"r="C3""#, r#"r="B3""#);

    assert_eq!(unordered, ["0 - file-workbook-broken"]);
    assert_eq!(cells(&by_hand(&header, texts, "")), ["3: name|value", "7: R&D µg|1.5"]);
}

#[test]
fn the_sheet_with_the_column_names_is_read_and_hidden_ones_are_not() {
    let mut book = Workbook::new();
    let about = book.add_worksheet().set_name("About").unwrap();
    about.write_string(0, 0, "How to fill in").unwrap();
    let hidden = book.add_worksheet().set_name("Old").unwrap();
    hidden.set_hidden(true);
    hidden.write_string(0, 0, "name").unwrap().write_string(0, 1, "email").unwrap();
    hidden.write_string(1, 0, "Old").unwrap().write_string(1, 1, "old@lab.example").unwrap();
    book.add_worksheet().set_name("Empty").unwrap();
    let data = book.add_worksheet().set_name("Data").unwrap();
    data.write_string(0, 0, "name").unwrap().write_string(0, 1, "email").unwrap();
    data.write_string(1, 0, "Lab").unwrap().write_string(1, 1, "a@lab.example").unwrap();
    let bytes = book.save_to_buffer().unwrap();

    let rows = laboratories(&bytes).expect("a good file");

    assert_eq!(rows.iter().map(|row| row.name.as_str()).collect::<Vec<_>>(), ["Lab"]);
    // No sheet has one of these columns; where one has some, it is that sheet's problem.
    assert_eq!(listed(assigned_values(&bytes, &known())), ["0 - file-sheet-header"]);
    let data = book.worksheet_from_name("Data").unwrap();
    data.write_string(0, 1, "mail").unwrap();
    let found = listed(laboratories(&book.save_to_buffer().unwrap()));
    assert_eq!(found, ["1 mail file-column-unknown", "1 - file-column-missing"]);
}

#[test]
fn a_title_above_the_column_names_is_told() {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    sheet.write_string(0, 0, "Laboratories 2027").unwrap();
    sheet.write_string(2, 0, "name").unwrap().write_string(2, 1, "email").unwrap();
    sheet.write_string(3, 0, "Lab").unwrap().write_string(3, 1, "a@lab.example").unwrap();

    assert_eq!(listed(laboratories(&book.save_to_buffer().unwrap())), ["1 - file-header-lower"]);
}

#[test]
fn merged_cells_hold_their_text_once() {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    sheet
        .write_string(0, 0, "item")
        .unwrap()
        .write_string(0, 1, "analyte")
        .unwrap()
        .write_string(0, 2, "unit")
        .unwrap();
    sheet.merge_range(1, 0, 2, 0, "A", &Format::new()).unwrap();
    for (row, analyte) in [(1, "caffeine"), (2, "metoprolol")] {
        sheet.write_string(row, 1, analyte).unwrap().write_string(row, 2, "ng/L").unwrap();
    }

    assert_eq!(listed(measurands(&book.save_to_buffer().unwrap())), ["3 item cell-empty"]);
}

#[test]
fn days_may_be_counted_from_1904() {
    let book =
        r#"<workbook xmlns:r="x"><workbookPr date1904="1"/><sheets><sheet name="One" r:id="a"/></sheets></workbook>"#;
    let styles = r#"<styleSheet><cellXfs><xf numFmtId="14"/></cellXfs></styleSheet>"#;
    let rows = format!("<worksheet><sheetData>{}</sheetData></worksheet>", cell("", "<v>1</v>"));
    let bytes = archive(&[
        ("_rels/.rels", RELATIONSHIPS),
        ("xl/workbook.xml", book),
        ("xl/_rels/workbook.xml.rels", &BOOK_RELATIONSHIPS.replace("/xl/sharedStrings.xml", "sharedStrings.xml")),
        ("xl/sharedStrings.xml", "<sst/>"),
        ("xl/styles.xml", styles),
        ("xl/worksheets/sheet1.xml", &rows),
    ]);

    let problems = File::read(&bytes).table().cloned().expect_err("a date");

    assert_eq!(problems[0].seen.as_deref(), Some("1904-01-02"));
}

#[test]
fn parts_are_found_under_names_that_differ_in_capitals_and_strokes() {
    let bytes = archive(&[
        ("_rels/.rels", &RELATIONSHIPS.replace("xl/workbook", "/XL\\Workbook")),
        (
            "xl\\workbook.xml",
            r#"<x:workbook xmlns:x="y" xmlns:q="z"><x:sheets><x:sheet q:id="a" name="One"/></x:sheets></x:workbook>"#,
        ),
        (
            "xl/_rels/workbook.xml.rels",
            r#"<Relationships><Relationship Id="a" Type="http://x/worksheet" Target="../xl/./Sheet.xml"/></Relationships>"#,
        ),
        (
            "xl/sheet.xml",
            r#"<x:worksheet xmlns:x="y"><x:sheetData><x:row><x:c t="str"><x:v>a</x:v></x:c></x:row><x:row><x:c><x:v>1</x:v></x:c></x:row></x:sheetData></x:worksheet>"#,
        ),
    ]);

    assert_eq!(cells(&bytes), ["1: a", "2: 1"]);
}

#[test]
fn a_list_of_problems_ends_with_the_word_that_there_are_more() {
    let rows: String =
        (0..500).map(|_| "<row><c t=\"b\"><v>1</v></c><c t=\"str\"><v>a@lab.example</v></c></row>").collect();
    let header = "<row><c t=\"str\"><v>name</v></c><c t=\"str\"><v>email</v></c></row>";

    let found = listed(laboratories(&by_hand(&format!("{header}{rows}"), "", "")));

    assert_eq!(found.len(), MAX_PROBLEMS + 1);
    assert_eq!((found[0].as_str(), found[MAX_PROBLEMS].as_str()), ("2 name file-truth", "0 - file-more"));
}

/// Bytes of a good workbook changed at random places: refused or read, and
/// never more.
#[test]
fn no_damage_makes_reading_panic() {
    let good = by_hand(&cell("", "<v>1.5</v>"), "<si><t>text</t></si>", "<cellXfs><xf numFmtId=\"14\"/></cellXfs>");
    let mut state = 1u64;
    let mut next = |most: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % most
    };
    for _ in 0..3_000 {
        let mut bytes = good.clone();
        for _ in 0..=next(3) {
            let place = next(bytes.len());
            bytes[place] = next(256) as u8;
        }
        bytes.truncate(bytes.len() - next(2) * next(40));
        if let Ok(table) = File::read(&bytes).table() {
            assert!(table.rows.iter().all(|row| row.cells.len() == table.header.len()));
        }
    }
}
