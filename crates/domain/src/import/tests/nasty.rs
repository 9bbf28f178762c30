//! The nasty files.

use super::*;

fn of_laboratories(file: &[u8], expected: &[&str]) {
    assert_eq!(listed(laboratories(file)), expected, "{:?}", String::from_utf8_lossy(&file[..file.len().min(200)]));
}

fn of_measurands(rows: &str, expected: &[&str]) {
    let file =
        format!("item,analyte,unit,decimals,replicates,x_pt,u_x_pt,U_x_pt,k,sigma_pt,sigma_pt_percent,route\n{rows}");
    assert_eq!(listed(measurands(file.as_bytes())), expected, "{file}");
}

fn of_assigned(rows: &str, expected: &[&str]) {
    let file = format!("item,analyte,unit,x_pt,u_x_pt,U_x_pt,k,sigma_pt,sigma_pt_percent,route\n{rows}");
    assert_eq!(listed(assigned_values(file.as_bytes(), &known())), expected, "{file}");
}

#[test]
fn files_that_are_no_tables() {
    of_laboratories(b"", &["0 - file-empty"]);
    of_laboratories(b"\n \n;;\n", &["0 - file-empty"]);
    of_laboratories(b"\xEF\xBB\xBF", &["0 - file-empty"]);
    of_laboratories(b"name,email\n", &["1 - file-no-rows"]);
    of_laboratories(b"PK\x03\x04\x14\x00", &["0 - file-workbook-broken"]);
    of_laboratories(b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", &["0 - file-old-workbook"]);
    of_laboratories(b"%PDF-1.7", &["0 - file-binary"]);
    of_laboratories(b"name,email\nLab\x00,a@lab.example\n", &["2 - file-null"]);
    // UTF-16 without its mark.
    of_laboratories(b"n\x00a\x00m\x00e\x00", &["1 - file-null"]);
    // UTF-16 with half a character at its end, and half of a surrogate pair.
    of_laboratories(b"\xFF\xFEn\x00a", &["0 - file-encoding"]);
    of_laboratories(b"\xFF\xFE\x00\xD8n\x00", &["0 - file-encoding"]);
    of_laboratories(b"\xEF\xBB\xBFname\xFF", &["0 - file-encoding"]);
}

#[test]
fn files_beyond_the_limits() {
    let large = vec![b'a'; MAX_BYTES + 1];
    of_laboratories(&large, &["0 - file-large"]);

    let mut many = "name,email\n".to_owned();
    (0..=MAX_ROWS).for_each(|row| many.push_str(&format!("L{row},l{row}@lab.example\n")));
    of_laboratories(many.as_bytes(), &["20002 - file-rows"]);

    let wide = format!("name,email{}\nLab,a@lab.example{}\n", ",x".repeat(63), ",".repeat(63));
    of_laboratories(wide.as_bytes(), &["1 - file-columns"]);

    let long = format!("name,email\n{},a@lab.example\n", "n".repeat(MAX_CELL + 1));
    of_laboratories(long.as_bytes(), &["2 name file-cell-long"]);

    let name = format!("name,email\n{},a@lab.example\n", "n".repeat(201));
    of_laboratories(name.as_bytes(), &["2 name cell-long"]);
}

#[test]
fn headers_that_are_not_as_they_should_be() {
    of_laboratories(b"name,mail\nLab,a@lab.example\n", &["1 mail file-column-unknown", "1 - file-column-missing"]);
    of_laboratories(b"name,email,name\nLab,a@lab.example,Lab\n", &["1 name file-column-twice"]);
    of_laboratories(b"name,email,Name\nLab,a@lab.example,x\n", &["1 Name file-column-twice"]);
    of_laboratories(b"name,,email\nLab,x,a@lab.example\n", &["1 - file-column-unnamed"]);
    of_laboratories(b"name,email\nname,email\nLab,a@lab.example\n", &["2 - file-header-twice"]);
    of_laboratories(b"Laboratories 2027,\nname,email\nLab,a@lab.example\n", &["1 - file-header-lower"]);
    of_laboratories(b"our list,of laboratories\nname,email\nLab,a@lab.example\n", &["1 - file-header-lower"]);
    of_laboratories(b"Laboratories 2027\nname;email\nLab;a@lab.example\n", &["1 - file-title"]);
    // No header at all.
    of_laboratories(
        b"Lab,a@lab.example\nOther,b@lab.example\n",
        &[
            "1 Lab file-column-unknown",
            "1 a@lab.example file-column-unknown",
            "1 - file-column-missing",
            "1 - file-column-missing",
        ],
    );
    // Another kind of file.
    of_laboratories(
        b"item,analyte\nA,caffeine\n",
        &[
            "1 item file-column-unknown",
            "1 analyte file-column-unknown",
            "1 - file-column-missing",
            "1 - file-column-missing",
        ],
    );
}

#[test]
fn rows_that_are_no_rows() {
    of_laboratories(b"name,email\nLab\nOther,b@lab.example,x\n", &["2 - file-ragged", "3 - file-ragged"]);
    // A decimal comma without quotation marks.
    of_measurands("A,caffeine,ng/L,1,1,32,4,0.39,,,,25,\n", &["2 - file-ragged"]);
    of_laboratories(b"name,email\n\"Lab,a@lab.example\n", &["2 - file-quote-open"]);
    of_laboratories(b"name,email\n\"Lab\" West,a@lab.example\n", &["2 - file-quote-inside"]);
}

#[test]
fn cells_that_a_spreadsheet_would_compute() {
    of_laboratories(
        b"name,email,organisation\n\
          =HYPERLINK(x),a@lab.example,\n\
          @SUM(A1),b@lab.example,+cmd\n\
          Lab,c@lab.example,-2+A1\n\
          #REF!,d@lab.example,#N/A\n\
          #1 Laboratory,e@lab.example,\n",
        &[
            "2 name file-formula",
            "3 name file-formula",
            "3 organisation file-formula",
            "4 organisation file-formula",
            "5 name file-error-value",
            "5 organisation file-error-value",
        ],
    );
}

#[test]
fn laboratories_that_are_wrong() {
    of_laboratories(
        b"name,email\n\
          ,a@lab.example\n\
          Lab,\n\
          Other,lab.example\n\
          Third,a@lab.example\n\
          third,A@LAB.example\n\
          Fourth,\"x@lab.example, y@lab.example\"\n",
        &[
            "2 name cell-empty",
            "3 email email-empty",
            "4 email email-form",
            "5 email file-email-twice",
            "6 name file-laboratory-twice",
            "6 email file-email-twice",
            "7 email email-several",
        ],
    );
}

#[test]
fn measurands_that_are_wrong() {
    of_measurands(
        "A,caffeine,ng/L,,,,,,,,,\n\
         a, Caffeine ,ng/L,,,,,,,,,\n\
         ,,,,,,,,,,,x\n\
         B,µ-cresol,ng/L,7,5,,,,,,,\n\
         B,μ-Cresol,ng/L,1.0,0,,,,,,,\n",
        &[
            "3 analyte file-measurand-twice",
            "4 item cell-empty",
            "4 analyte cell-empty",
            "4 unit cell-empty",
            "4 route file-x-missing",
            "5 decimals whole-number",
            "5 replicates whole-number",
            "6 decimals whole-number",
            "6 replicates whole-number",
            "6 analyte file-measurand-twice",
        ],
    );
}

#[test]
fn every_kind_of_number_is_refused_in_its_cell() {
    of_measurands(
        "A,a1,ng/L,,,\"1,250\",0.5,,,,25,\n\
         A,a2,ng/L,,,32,0,,,,0,\n\
         A,a3,ng/L,,,32,-0.5,,,-3,,\n\
         A,a4,ng/L,,,32 ng/L,0.5,,,,25 %,\n\
         A,a5,ng/L,,,n.d.,0.5,,,,NaN,\n\
         A,a6,ng/L,,,<5,0.5,,,,250,\n\
         A,a7,ng/L,,,0,0.5,,,,25,\n",
        &[
            "2 x_pt file-number-ambiguous",
            "3 u_x_pt number-not-positive",
            "3 sigma_pt_percent number-not-positive",
            "4 u_x_pt number-not-positive",
            "4 sigma_pt number-not-positive",
            "5 x_pt number-letters",
            "5 sigma_pt_percent number-percent",
            "6 x_pt number-word",
            "6 sigma_pt_percent number-not-a-number",
            "7 x_pt number-limit-not-expected",
            "7 sigma_pt_percent number-above-hundred",
            "8 x_pt file-percent-of-nothing",
        ],
    );
}

#[test]
fn alternatives_are_neither_both_nor_none() {
    of_assigned(
        "A,carbamazepine,ng/L,32,0.4,0.8,2,8,,\n\
         A,metoprolol,µg/L,32,,,,,,\n\
         B,carbamazepine,ng/L,32,,0.8,,8,25,\n",
        &[
            "2 U_x_pt file-uncertainty-both",
            "3 u_x_pt file-uncertainty-missing",
            "3 sigma_pt file-sigma-missing",
            "4 U_x_pt file-k-missing",
            "4 sigma_pt_percent file-sigma-both",
        ],
    );
    of_assigned(
        "A,carbamazepine,ng/L,32,0.4,,2,8,,guess\n\
         B,carbamazepine,ng/L,,0.4,,,8,,\n",
        &["2 k file-k-alone", "2 route file-route", "3 x_pt cell-empty", "3 u_x_pt file-x-missing"],
    );
}

#[test]
fn assigned_values_that_do_not_fit_the_round() {
    of_assigned(
        "A,carbamazepin,ng/L,32,0.4,,,8,,\n\
         D,carbamazepine,ng/L,32,0.4,,,8,,\n\
         A,metoprolol,ng/L,32,0.4,,,8,,\n\
         B,carbamazepine,,32,0.4,,,8,,\n\
         A,carbamazepine,ng/L,32,0.4,,,8,,\n\
         a,Carbamazepine,ng/L,32,0.4,,,8,,\n",
        &[
            "2 analyte file-analyte-unknown",
            "3 item file-item-unknown",
            "4 unit file-unit",
            "5 unit cell-empty",
            "7 analyte file-measurand-twice",
        ],
    );
}

#[test]
fn a_file_without_a_column_of_uncertainties_is_told_once() {
    let file = b"item,analyte,unit,x_pt\nA,carbamazepine,ng/L,32\nB,carbamazepine,ng/L,32\n";

    let problems = assigned_values(file, &known()).expect_err("two columns are missing");

    let columns: Vec<Option<&str>> = problems.iter().map(|problem| problem.problem.value("column")).collect();
    assert_eq!(columns, [Some("u_x_pt"), Some("sigma_pt")]);
}

#[test]
fn a_problem_shows_what_was_seen_and_what_to_write() {
    let file = "item,analyte,unit,x_pt,u_x_pt,sigma_pt\nA,carbamazepine,µg/L,\"1,250\",0.4,8\n";

    let problems = assigned_values(file.as_bytes(), &known()).expect_err("unit and number are wrong");

    let unit = &problems[0];
    assert_eq!((unit.line, unit.column.as_deref(), unit.seen.as_deref()), (2, Some("unit"), Some("µg/L")));
    assert_eq!(unit.problem.value("expected"), Some("ng/L"));
    let number = &problems[1];
    assert_eq!((number.column.as_deref(), number.seen.as_deref()), (Some("x_pt"), Some("1,250")));
    assert_eq!(number.problem.value("write"), Some("1.2500"));
    assert_eq!(number.problem.value("second"), Some("1250"));
}

/// What the problem says to write must be readable as what it says.
#[test]
fn the_advice_for_two_readings_has_one_reading() {
    for (text, value) in [("1.2500", 1.25), ("12.5000", 12.5), ("1250", 1250.0)] {
        assert_eq!(crate::number::Decimal::positive(text).map(|number| number.value()), Ok(value));
    }
}

#[test]
fn no_bytes_make_the_reader_panic() {
    const PIECES: [&[u8]; 16] = [
        b"name",
        b"email",
        b"\"",
        b",",
        b";",
        b"\t",
        b"\n",
        b"\r",
        b"\xFF\xFE",
        b"\xEF\xBB\xBF",
        b"\x00",
        b"\xE9",
        b"=",
        b"1,250",
        b" ",
        b"a@lab.example",
    ];
    let mut state = 1u64;
    for _ in 0..20_000 {
        let mut file = Vec::new();
        for _ in 0..12 {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            file.extend_from_slice(PIECES[(state >> 60) as usize]);
        }
        if let Ok(table) = File::read(&file).table() {
            assert!(table.rows.iter().all(|row| row.cells.len() == table.header.len()));
        }
    }
}
