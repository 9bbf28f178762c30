//! Good files, and many nasty ones: for each the whole list of what is wrong,
//! written by hand as `line column key`.

mod blocks;
mod golden;
mod nasty;
mod results;
mod texts;
mod workbooks;

use super::*;
use crate::number::Decimal;
use crate::text;

const MEASURANDS: &str = "item,analyte,unit,expressed_as,decimals,required_loq,replicates,x_pt,u_x_pt,U_x_pt,k,sigma_pt,sigma_pt_percent,route";

fn laboratories(bytes: &[u8]) -> Result<Vec<LaboratoryRow>, Vec<RowProblem>> {
    super::laboratories(&File::read(bytes))
}

fn measurands(bytes: &[u8]) -> Result<Vec<MeasurandRow>, Vec<RowProblem>> {
    super::measurands(&File::read(bytes))
}

fn assigned_values(bytes: &[u8], known: &[KnownMeasurand]) -> Result<AssignedFile, Vec<RowProblem>> {
    super::assigned_values(&File::read(bytes), known)
}

fn known() -> Vec<KnownMeasurand> {
    let one = |item: &str, analyte: &str, unit: &str| KnownMeasurand {
        item: item.to_owned(),
        analyte: analyte.to_owned(),
        unit: unit.to_owned(),
    };
    vec![one("A", "carbamazepine", "ng/L"), one("A", "Metoprolol", "µg/L"), one("B", "carbamazepine", "ng/L")]
}

/// The problems of a file, one text each.
fn listed<T: std::fmt::Debug>(read: Result<T, Vec<RowProblem>>) -> Vec<String> {
    let line = |problem: &RowProblem| {
        let column = problem.column.as_deref().unwrap_or("-");
        format!("{} {column} {}", problem.line, problem.problem.key.trim_start_matches("problem-"))
    };
    read.expect_err("the file has problems").iter().map(line).collect()
}

#[test]
fn a_file_of_measurands_gives_its_rows() {
    let file = format!(
        "{MEASURANDS}\n\
         A,carbamazepine,ng/L,carbamazepine,1,25,2,32.40,0.39,,,,25,formulation\n\
         \n\
         B, \"caffeine, anhydrous\" ,µg/L,,,,,145.25,,3.5,2,36,,Reference\n\
         C,\"the \"\"sum\"\"\",mg/kg,,,,,,,,,,22.5,\n"
    );

    let rows = measurands(file.as_bytes()).expect("a good file");

    assert_eq!(rows.len(), 3);
    assert_eq!((rows[0].line, rows[1].line, rows[2].line), (2, 4, 5));
    assert_eq!(rows[0].expressed_as.as_deref(), Some("carbamazepine"));
    assert_eq!((rows[0].decimals, rows[0].replicates, rows[1].replicates), (Some(1), 2, 1));
    assert_eq!(rows[0].required_loq.as_ref().map(|loq| loq.value()), Some(25.0));
    let assigned = rows[0].assigned.as_ref().expect("an assigned value");
    assert_eq!(assigned.x_pt.as_str(), "32.40");
    assert_eq!(assigned.uncertainty.standard(), 0.39);
    assert_eq!(assigned.route, Some(Route::Formulation));
    assert_eq!(rows[1].analyte, "caffeine, anhydrous");
    assert_eq!(rows[1].assigned.as_ref().map(|value| value.uncertainty.standard()), Some(1.75));
    assert_eq!(rows[1].assigned.as_ref().and_then(|value| value.route), Some(Route::Reference));
    assert!(matches!(rows[1].sigma, Some(Sigma::Absolute(_))));
    assert_eq!(rows[2].analyte, "the \"sum\"");
    assert_eq!(rows[2].assigned, None);
    assert!(matches!(rows[2].sigma, Some(Sigma::Percent(_))));
}

#[test]
fn the_same_table_is_read_from_every_separator_line_end_and_encoding() {
    let expected = vec![LaboratoryRow {
        line: 2,
        name: "Vodní laboratoř".to_owned(),
        email: "a@voda.example".to_owned(),
        organisation: Some("Skupina".to_owned()),
    }];
    let utf16 = |text: &str, little: bool| -> Vec<u8> {
        let unit = |unit: u16| {
            if little { unit.to_le_bytes() } else { unit.to_be_bytes() }
        };
        "\u{FEFF}".encode_utf16().chain(text.encode_utf16()).flat_map(unit).collect()
    };
    for separator in [",", ";", "\t"] {
        for end in ["\n", "\r\n", "\r", ""] {
            let line = if end.is_empty() { "\n" } else { end };
            let text = format!("name,email,organisation{line}Vodní laboratoř,a@voda.example,Skupina{end}")
                .replace(',', separator);
            let with_mark = format!("\u{FEFF}{text}");
            for bytes in [text.as_bytes().to_vec(), with_mark.into_bytes(), utf16(&text, true), utf16(&text, false)] {
                assert_eq!(laboratories(&bytes), Ok(expected.clone()), "{text:?}");
            }
        }
    }
}

#[test]
fn a_windows_1252_file_is_read_and_named() {
    // ü is 0xFC and the dash 0x96 in Windows-1252 (its published table).
    let file = File::read(b"name;email\nPr\xFCfstelle \x96 Nord;a@lab.example\n");
    let table = file.table().expect("a good file");

    assert_eq!(table.encoding.name(), "Windows-1252");
    assert_eq!(table.separator, Some(';'));
    assert_eq!(table.rows[0].cells[0], "Prüfstelle – Nord");
}

#[test]
fn a_line_that_names_the_separator_decides() {
    let file = File::read(b"sep=;\r\na,x;b\r\n1,5;2\r\n");
    let table = file.table().expect("a good file");

    assert_eq!(table.separator, Some(';'));
    assert_eq!(table.header, ["a,x", "b"]);
    assert_eq!((table.header_line, table.rows[0].line), (2, 3));
}

#[test]
fn empty_columns_at_the_end_and_blank_lines_are_no_problem() {
    let file = b"\n\nname;email;;\nLab;a@lab.example;;\n;;;\n\nOther;b@lab.example;;\n   \n";

    let rows = laboratories(file).expect("a good file");

    assert_eq!(rows.iter().map(|row| row.line).collect::<Vec<_>>(), [4, 7]);
}

#[test]
fn lines_are_counted_through_cells_with_line_ends() {
    let file = "name,email\n\"two\nlines\",a@lab.example\nLab,nothing\n";

    let problems = listed(laboratories(file.as_bytes()));

    assert_eq!(problems, ["2 name file-control", "4 email email-form"]);
}

#[test]
fn assigned_values_find_their_measurands_and_missing_ones_are_told() {
    let file = "item;analyte;unit;x_pt;U_x_pt;k;sigma_pt_percent\n\
                a;  CARBAMAZEPINE ;ng/l;32,4;0,8;2;25\n\
                A;metoprolol;μg/L;40.0;1.0;2,00;25\n";

    let read = assigned_values(file.as_bytes(), &known()).expect("a good file");

    assert_eq!(read.rows.iter().map(|row| row.measurand).collect::<Vec<_>>(), [0, 1]);
    assert_eq!(given(&read.rows[0]).x_pt.as_str(), "32.4");
    assert_eq!(given(&read.rows[0]).uncertainty.standard(), 0.4);
    assert_eq!(read.missing, [2]);
}

#[test]
fn column_names_may_differ_in_capitals_but_for_the_two_uncertainties() {
    let good = "Item,Analyte,UNIT,Required LOQ\nA,caffeine,ng/L,25\n";
    assert_eq!(measurands(good.as_bytes()).map(|rows| rows.len()), Ok(1));

    let bad = "item,analyte,unit,x_pt,U_X_PT,k\nA,caffeine,ng/L,25,2,2\n";
    assert_eq!(listed(measurands(bad.as_bytes())), ["1 U_X_PT file-column-unknown"]);
}

#[test]
fn templates_are_good_files() {
    assert_eq!(measurands(measurands_template().as_bytes()).map(|rows| rows.len()), Ok(1));
    assert_eq!(laboratories(laboratories_template().as_bytes()).map(|rows| rows.len()), Ok(1));
    let read = assigned_values(assigned_values_template().as_bytes(), &known());
    assert_eq!(read.map(|file| file.missing), Ok(vec![1, 2]));
}

#[test]
fn names_are_compared_without_capitals_and_with_one_mu() {
    assert_eq!(text::key("  N4-Acetyl\u{A0} X "), "n4-acetyl x");
    assert_eq!(text::key("\u{B5}-Cresol"), text::key("\u{3BC}-cresol"));
    assert!(same_unit("\u{B5}g/L", "\u{3BC}g / l"));
    assert!(!same_unit("mg/L", "Mg/L"));
    assert!(!same_unit("ng/L", "µg/L"));
}

/// The value of a row that does not come from the participants.
fn given(row: &AssignedRow) -> &AssignedValue {
    match &row.source {
        Source::Given(value) => value,
        Source::Consensus { .. } => panic!("a consensus: {row:?}"),
    }
}

#[test]
fn a_row_may_ask_for_a_consensus_with_or_without_a_value_to_fall_back_on() {
    let file = "item,analyte,unit,x_pt,u_x_pt,sigma_pt_percent,route,fallback\n\
                A,carbamazepine,ng/L,,,25,By_Count,\n\
                A,metoprolol,\u{3bc}g/L,40.6,0.52,25,median_niqr,reference\n\
                B,caffeine,ng/L,40.6,0.52,25,q_hampel,\n";
    let known: Vec<KnownMeasurand> =
        [("A", "carbamazepine", "ng/L"), ("A", "metoprolol", "\u{3bc}g/L"), ("B", "caffeine", "ng/L")]
            .map(|(item, analyte, unit)| KnownMeasurand {
                item: item.to_owned(),
                analyte: analyte.to_owned(),
                unit: unit.to_owned(),
            })
            .into();

    let rows = assigned_values(file.as_bytes(), &known).expect("a good file").rows;

    use crate::plan::{Basis, Estimator};
    let read: Vec<(Estimator, Option<(Basis, &str)>)> = rows
        .iter()
        .map(|row| match &row.source {
            Source::Consensus { estimator, fallback } => {
                (*estimator, fallback.as_ref().map(|(basis, value)| (*basis, value.x_pt.as_str())))
            }
            Source::Given(_) => panic!("{row:?}"),
        })
        .collect();
    assert_eq!(
        read,
        [
            (Estimator::ByCount, None),
            (Estimator::MedianNiqr, Some((Basis::Reference, "40.6"))),
            (Estimator::QHampel, Some((Basis::Formulation, "40.6"))),
        ]
    );

    let bad = "item,analyte,unit,x_pt,u_x_pt,sigma_pt_percent,route,fallback\n\
               A,carbamazepine,ng/L,,0.4,25,by_count,\n\
               A,metoprolol,\u{3bc}g/L,40.6,0.52,25,by_count,guess\n\
               B,caffeine,ng/L,40.6,0.52,25,formulation,expert\n";
    let problems = assigned_values(bad.as_bytes(), &known).expect_err("three mistakes");
    let seen: Vec<(usize, &str, &str)> =
        problems.iter().map(|p| (p.line, p.column.as_deref().unwrap_or_default(), p.problem.key)).collect();
    assert_eq!(
        seen,
        [
            (2, "u_x_pt", "problem-file-x-missing"),
            (3, "fallback", "problem-file-fallback"),
            (4, "fallback", "problem-file-fallback-alone"),
        ]
    );
}
