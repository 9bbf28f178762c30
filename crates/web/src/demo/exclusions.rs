//! What a person leaves out of consensus and summary. Every reason names what was
//! seen and stands whether the numbers are high or low; no number is altered, and
//! what is left out is scored as reported. “Possible factor 2” (X4), a wrong basis
//! (X17, X18), uncorrected recovery (X19), copied numbers (X21) and numbers below
//! the own limit (X23) are kept: none of them is surely a blunder.

use super::editions::Edition;
use super::mistakes::SHIFTED_ROWS;
use super::random::uniform;
use super::scenario::{Cell, CellState, LaboratoryResults};

/// Why a result is left out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ExclusionKind {
    /// A person decided that it is a blunder.
    Blunder,
    /// It came after the deadline.
    Late,
    /// Another laboratory of the organisation counts in its place.
    Organisation,
}

/// One result that is left out of consensus and summary.
#[derive(Clone, Debug)]
pub struct Exclusion {
    /// P01–P42.
    pub laboratory: &'static str,
    /// Label of the item.
    pub item: &'static str,
    /// Name of the analyte.
    pub analyte: &'static str,
    /// Why, as a kind.
    pub kind: ExclusionKind,
    /// Number of the mistake.
    pub mistake: &'static str,
    /// Why, as a sentence for the report.
    pub reason: &'static str,
}

const UNIT: &str = "All results of the set are consistent with a factor of 1/1000, such as from µg/L reported as ng/L.";
const DILUTION: &str = "The result is consistent with a factor of 1/10, such as from a dilution not accounted for; the other results of the laboratory are in order.";
const ITEMS_A_B: &str = "The results of items A and B are consistent with an exchange of the two items.";
const ITEMS_B_C: &str = "The results of items B and C are consistent with an exchange of the two items.";
const ANALYTES: &str =
    "The results of naproxen and gemfibrozil are consistent with an exchange of the two analytes in all items.";
const ROWS: &str = "The results of five neighbouring rows of item C are consistent with a shift by one row: each fits the analyte of the row above.";
const LATE: &str =
    "The results were received 26 hours after the deadline; the plan keeps late results out of the consensus.";
const ORGANISATION: &str = "Another laboratory of the same organisation counts for this measurand; the plan takes one result of each organisation, drawn with its seed.";

/// The exclusions of a round, by laboratory in the order of the table.
pub(super) fn of(edition: &Edition, laboratories: &[LaboratoryResults]) -> Vec<Exclusion> {
    let mut exclusions = Vec::new();
    for laboratory in laboratories.iter().filter(|laboratory| !laboratory.draft_only) {
        for cell in laboratory.cells.iter().filter(|cell| cell.state != CellState::NotAnalysed) {
            let slip = edition.has_slips().then(|| why(laboratory.id, cell)).flatten();
            let found = slip.or_else(|| {
                let yields = yields(edition.code, laboratory, laboratories, cell);
                yields.then_some((ExclusionKind::Organisation, "X26", ORGANISATION))
            });
            if let Some((kind, mistake, reason)) = found {
                let (item, analyte) = (cell.item, cell.analyte);
                exclusions.push(Exclusion { laboratory: laboratory.id, item, analyte, kind, mistake, reason });
            }
        }
    }
    exclusions
}

fn why(laboratory: &str, cell: &Cell) -> Option<(ExclusionKind, &'static str, &'static str)> {
    let (mistake, reason) = match (laboratory, cell.item, cell.analyte) {
        ("P03", _, _) => ("X1", UNIT),
        ("P07", "B", "naproxen") => ("X3", DILUTION),
        ("P12", "A" | "B", _) => ("X5", ITEMS_A_B),
        ("P15", "B" | "C", _) => ("X6", ITEMS_B_C),
        ("P16", _, "naproxen" | "gemfibrozil") => ("X7", ANALYTES),
        ("P08", "C", analyte) if SHIFTED_ROWS.contains(&analyte) => ("X8", ROWS),
        ("P19", _, _) => return Some((ExclusionKind::Late, "X16", LATE)),
        _ => return None,
    };
    Some((ExclusionKind::Blunder, mistake, reason))
}

/// Whether another laboratory of the organisation was drawn and has this measurand.
fn yields(round: &str, laboratory: &LaboratoryResults, all: &[LaboratoryResults], cell: &Cell) -> bool {
    let Some(organisation) = laboratory.organisation else {
        return false;
    };
    let lot = |id: &str| uniform(&["organisation", round, id]);
    let place = laboratory.cells.iter().position(|one| std::ptr::eq(one, cell)).expect("a cell of the laboratory");
    all.iter()
        .filter(|other| other.organisation == Some(organisation) && other.id != laboratory.id)
        .any(|other| lot(other.id) < lot(laboratory.id) && other.cells[place].state != CellState::NotAnalysed)
}
