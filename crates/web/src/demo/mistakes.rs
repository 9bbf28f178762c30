//! From what the laboratories measure to what they type, with the deliberate
//! mistakes X1–X26.

use super::analytes::{ANALYTES, Analyte};
use super::digits::Digits;
use super::editions::Edition;
use super::laboratories::Laboratory;
use super::model::{ITEMS, Place, analyte, loq, relative_uncertainty, scope};
use super::random::{normal, uniform};
use super::scenario::{Cell, CellState, RefusedAttempt, UncertaintyMode};

/// Who must have which analytes in its scope for its mistake.
const FORCED: [(&str, &[&str]); 14] = [
    ("P04", &["carbamazepine"]),
    ("P07", &["naproxen"]),
    ("P08", &["fluoxetine", "diclofenac", "ibuprofen", "naproxen", "gemfibrozil", "bezafibrate"]),
    ("P09", &["sulfamethoxazole"]),
    ("P11", &["amisulpride", "gabapentin"]),
    ("P13", &["trimethoprim"]),
    ("P16", &["naproxen", "gemfibrozil"]),
    ("P22", &["ibuprofen"]),
    ("P24", &["N4-acetylsulfamethoxazole"]),
    ("P26", &["metoprolol"]),
    ("P29", &["amisulpride"]),
    ("P31", &["gabapentin"]),
    ("P33", &["diclofenac", "ibuprofen", "naproxen", "gemfibrozil", "bezafibrate"]),
    ("P36", &["citalopram"]),
];

/// Laboratories of M1–M3 without a mistake, and those whose mistake touches
/// neither a value nor its counting in a rare analyte: no or a wrong uncertainty
/// (P02, P06, P10), one comma (P04), a foreign code at first (P25).
const COUNTING: [&str; 13] =
    ["P01", "P02", "P04", "P05", "P06", "P10", "P18", "P20", "P23", "P25", "P27", "P30", "P32"];

/// The rows that P08 pasted one row too low (X8): each holds the row above it.
pub(super) const SHIFTED_ROWS: [&str; 5] = ["diclofenac", "ibuprofen", "naproxen", "gemfibrozil", "bezafibrate"];

/// The cells of every laboratory of a round in the order of the table, each by item,
/// then by analyte.
pub(super) fn round(edition: &Edition) -> Vec<Vec<Cell>> {
    let laboratories = edition.laboratories();
    let mut all: Vec<Vec<Cell>> = laboratories.iter().map(|_| empty_cells()).collect();
    for (index, analyte) in ANALYTES.iter().enumerate() {
        let forced: Vec<&str> =
            FORCED.iter().filter(|(_, names)| names.contains(&analyte.name)).map(|(id, _)| *id).collect();
        let members = scope(edition, analyte, &forced, |id| COUNTING.contains(&id));
        for (laboratory, cells) in laboratories.iter().zip(&mut all) {
            if members.contains(&laboratory.id) {
                for item in 0..ITEMS.len() {
                    measure(&Place { edition, laboratory, analyte, item }, &mut cells[item * ANALYTES.len() + index]);
                }
            }
        }
    }
    let copied = laboratories.iter().position(|one| one.id == "P20").expect("a laboratory of every round");
    let copied_from = all[copied].clone();
    for (laboratory, cells) in laboratories.iter().zip(&mut all) {
        if edition.has_slips() {
            spoil(edition, laboratory, cells, &copied_from);
        }
        for cell in cells {
            cell.choice = choice(&cell.text);
        }
    }
    all
}

/// What a laboratory tried to send before, and what was refused.
pub(super) fn refused_attempt(laboratory: &str) -> Option<RefusedAttempt> {
    let attempt = |mistake, typed: &[(&'static str, &'static str, &'static str)], code_of| RefusedAttempt {
        mistake,
        typed: typed.to_vec(),
        code_of,
    };
    match laboratory {
        "P04" => Some(attempt("X2", &[("B", "carbamazepine", "145,250")], None)),
        "P11" => {
            let zeros = [
                ("A", "amisulpride", "0"),
                ("B", "amisulpride", "0"),
                ("C", "amisulpride", "0"),
                ("A", "gabapentin", "0"),
            ];
            Some(attempt("X9", &zeros, None))
        }
        "P25" => Some(attempt("X22", &[], Some("P26"))),
        "P36" => Some(attempt("X25", &[("A", "citalopram", "-1.2")], None)),
        _ => None,
    }
}

fn empty_cells() -> Vec<Cell> {
    let cell = |item, analyte: &Analyte| Cell {
        item,
        analyte: analyte.name,
        state: CellState::NotAnalysed,
        text: String::new(),
        choice: None,
        uncertainty: String::new(),
        uncertainty_mode: None,
        k: String::new(),
        loq: String::new(),
    };
    ITEMS.into_iter().flat_map(|item| ANALYTES.iter().map(move |analyte| cell(item, analyte))).collect()
}

/// Fills a cell with the laboratory's result, and with the mistakes that are a
/// factor on it.
fn measure(place: &Place<'_>, cell: &mut Cell) {
    let laboratory = place.laboratory;
    let limit = loq(laboratory, place.analyte);
    let mean = place.mean(laboratory.id == "P34");
    cell.loq = limit.to_string();
    if mean < f64::from(limit) * reporting_share(laboratory) {
        below(cell, unit_slip(place, Digits::new(u64::from(limit), 0)));
    } else {
        let value = Digits::round(mean * factor(place), laboratory.digits);
        write_value(place, cell, unit_slip(place, value));
    }
}

/// X23: P28 gives numbers down to half of its limit of quantification.
fn reporting_share(laboratory: &Laboratory) -> f64 {
    if laboratory.id == "P28" { 0.5 } else { 1.0 }
}

/// X3 dilution forgotten, X4 aliquot, both in the first round only; X17 as lysine
/// salt, X18 as equivalents of the parent compound.
fn factor(place: &Place<'_>) -> f64 {
    match (place.laboratory.id, place.analyte.name, ITEMS[place.item]) {
        ("P07", "naproxen", "B") if place.edition.has_slips() => 0.1,
        ("P09", "sulfamethoxazole", _) if place.edition.has_slips() => 2.0,
        ("P22", "ibuprofen", _) => 1.71,
        ("P24", "N4-acetylsulfamethoxazole", _) => 0.858,
        _ => 1.0,
    }
}

/// X1: P03 types µg/L as ng/L in the first round, its limits of quantification
/// excepted.
fn unit_slip(place: &Place<'_>, number: Digits) -> Digits {
    if place.laboratory.id == "P03" && place.edition.has_slips() { number.shifted(-3) } else { number }
}

fn below(cell: &mut Cell, limit: Digits) {
    cell.state = CellState::Below;
    cell.text = format!("<{limit}");
    cell.uncertainty.clear();
    cell.uncertainty_mode = None;
    cell.k.clear();
}

fn write_value(place: &Place<'_>, cell: &mut Cell, value: Digits) {
    cell.state = CellState::Value;
    cell.text = value.to_string();
    let uncertainty = uncertainty(place, value);
    cell.k = if uncertainty.is_some() { "2".to_owned() } else { String::new() };
    cell.uncertainty_mode = uncertainty.as_ref().map(|(_, mode)| *mode);
    cell.uncertainty = uncertainty.map(|(text, _)| text).unwrap_or_default();
}

/// The expanded uncertainty as typed, k = 2: X13 none, X15 the percentage as an
/// absolute number, X14 the standard uncertainty in its place.
fn uncertainty(place: &Place<'_>, value: Digits) -> Option<(String, UncertaintyMode)> {
    let laboratory = place.laboratory.id;
    match laboratory {
        "P02" => return None,
        "P10" => return Some(("25".to_owned(), UncertaintyMode::Absolute)),
        _ => {}
    }
    let percent = f64::from(relative_uncertainty(place)?);
    let stated = if laboratory == "P06" { percent / 2.0 } else { percent };
    if uniform(&["u-mode", laboratory]) < 0.5 {
        return Some((stated.to_string(), UncertaintyMode::Percent));
    }
    Some((Digits::round(value.value() * stated / 100.0, 2).to_string(), UncertaintyMode::Absolute))
}

/// The mistakes that act on what is typed already.
fn spoil(edition: &Edition, laboratory: &Laboratory, cells: &mut [Cell], copied_from: &[Cell]) {
    let place = |analyte_name: &str, item| Place { edition, laboratory, analyte: analyte(analyte_name), item };
    match laboratory.id {
        // X2
        "P04" => {
            write_value(&place("carbamazepine", 1), cell(cells, 1, "carbamazepine"), Digits::new(145_250, -3));
            cell(cells, 1, "carbamazepine").text = "145,250".to_owned();
        }
        // X9: sent again with limits.
        "P11" => {
            for (item, name) in [(0, "amisulpride"), (1, "amisulpride"), (2, "amisulpride"), (0, "gabapentin")] {
                below_own_loq(laboratory, cell(cells, item, name));
            }
        }
        // X10
        "P13" => below(cell(cells, 1, "trimethoprim"), Digits::new(100, 0)),
        // X11
        "P26" => below(cell(cells, 1, "metoprolol"), Digits::new(10, 0)),
        // X12
        "P29" => write_value(&place("amisulpride", 2), cell(cells, 2, "amisulpride"), Digits::new(38, 0)),
        "P31" => write_value(&place("gabapentin", 0), cell(cells, 0, "gabapentin"), Digits::new(41, -1)),
        // X25: sent again with a limit.
        "P36" => below_own_loq(laboratory, cell(cells, 0, "citalopram")),
        // X5, X6
        "P12" => exchange_items(cells, 0, 1),
        "P15" => exchange_items(cells, 1, 2),
        // X7
        "P16" => (0..ITEMS.len()).for_each(|item| exchange_analytes(cells, item, "naproxen", "gemfibrozil")),
        // X8
        "P08" => shift_rows(cells, 2),
        // X21
        "P21" => copy(edition, laboratory, cells, copied_from),
        _ => {}
    }
}

/// Where the cell of an analyte in an item stands.
fn index(item: usize, name: &str) -> usize {
    let row = ANALYTES.iter().position(|analyte| analyte.name == name).expect("a name of the table");
    item * ANALYTES.len() + row
}

fn cell<'a>(cells: &'a mut [Cell], item: usize, name: &str) -> &'a mut Cell {
    &mut cells[index(item, name)]
}

fn below_own_loq(laboratory: &Laboratory, cell: &mut Cell) {
    below(cell, Digits::new(u64::from(loq(laboratory, analyte(cell.analyte))), 0));
}

/// Exchanges what is said in two cells, and leaves the declared limits where they are.
fn exchange(cells: &mut [Cell], one: usize, other: usize) {
    let (first, second) = (cells[one].clone(), cells[other].clone());
    take_result(&mut cells[one], &second);
    take_result(&mut cells[other], &first);
}

/// Takes the result of another cell, but neither its place nor its limit of
/// quantification.
fn take_result(cell: &mut Cell, from: &Cell) {
    cell.state = from.state;
    cell.text.clone_from(&from.text);
    cell.uncertainty.clone_from(&from.uncertainty);
    cell.uncertainty_mode = from.uncertainty_mode;
    cell.k.clone_from(&from.k);
}

fn exchange_items(cells: &mut [Cell], one: usize, other: usize) {
    let count = ANALYTES.len();
    (0..count).for_each(|analyte| exchange(cells, one * count + analyte, other * count + analyte));
}

fn exchange_analytes(cells: &mut [Cell], item: usize, one: &str, other: &str) {
    exchange(cells, index(item, one), index(item, other));
}

/// Puts each row's result and limit of quantification into the row below.
fn shift_rows(cells: &mut [Cell], item: usize) {
    let first = index(item, SHIFTED_ROWS[0]);
    for at in (first..first + SHIFTED_ROWS.len()).rev() {
        let above = cells[at - 1].clone();
        take_result(&mut cells[at], &above);
        cells[at].loq = above.loq;
    }
}

/// P21 takes 85 % of the numbers that both have from P20, 40 % of those as they
/// are and the rest changed by about 2 %.
fn copy(edition: &Edition, laboratory: &Laboratory, cells: &mut [Cell], from: &[Cell]) {
    let round = edition.code;
    for (own, other) in cells.iter_mut().zip(from) {
        let (analyte_name, item) = (own.analyte, own.item);
        if own.state != CellState::Value
            || other.state != CellState::Value
            || uniform(&["copied", round, analyte_name, item]) >= 0.85
        {
            continue;
        }
        let place = Place {
            edition,
            laboratory,
            analyte: analyte(analyte_name),
            item: ITEMS.iter().position(|label| *label == item).expect("an item of the table"),
        };
        let value: f64 = other.text.parse().expect("a number as this module prints it");
        let exactly = uniform(&["copied-as-is", round, analyte_name, item]) < 0.40;
        let change = if exactly { 1.0 } else { 1.0 + 0.02 * normal(&["copied-change", round, analyte_name, item]) };
        write_value(&place, own, Digits::round(value * change, laboratory.digits));
    }
}

/// The reading with a decimal sign, where a text has two.
fn choice(text: &str) -> Option<String> {
    let number = text.trim_start_matches('<');
    let (integer, fraction) = number.split_once(['.', ','])?;
    let ambiguous = fraction.len() == 3 && integer.len() <= 3 && !integer.starts_with('0');
    ambiguous.then(|| text.replace(',', "."))
}
