//! The rounds QW-1 to QW-3 of the demonstration: 24 analytes in three items, about 40
//! laboratories, and everything that they type, mistakes included. Organiser, laboratories, codes
//! and all numbers are invented; every page, file and certificate made from them
//! says so with [`Scenario::REMARK`].
//!
//! A laboratory reports one value for each analyte and item: the mean of its two
//! replicates, with the digits that it prints (three; P11 and P27 two, P01 four).
//! The plan therefore asks for one value. With two, the mean of two values of
//! three digits has four, and the numbers that P21 copied would no longer be equal
//! to those of P20. The price: that both replicates of P34 are identical (X20) is
//! in its numbers, whose repeatability is not averaged, but cannot be seen.

use super::analytes::ANALYTES;
pub use super::analytes::Class;
use super::editions::{self, Edition};
use super::exclusions;
pub use super::exclusions::{Exclusion, ExclusionKind};
pub use super::judgements::Judged;
pub use super::laboratories::Group;
use super::laboratories::Laboratory;
use super::mistakes;
use super::model::{ITEMS, analysis_day};
use super::random::bytes;
use roundel_domain::code::LabCode;

/// A round of the scenario with all that is typed for it.
#[derive(Clone, Debug)]
pub struct Scenario {
    /// Code of the round.
    pub code: &'static str,
    /// Title of the round.
    pub title: &'static str,
    /// Name of the scheme.
    pub scheme: &'static str,
    /// Name of the organiser.
    pub organiser: &'static str,
    /// The items.
    pub items: Vec<Item>,
    /// The measurands: all analytes in item A, then in B, then in C.
    pub measurands: Vec<Measurand>,
    /// The laboratories that take part, of P01–P42 in this order.
    pub laboratories: Vec<LaboratoryResults>,
    /// What is left out of consensus and summary, and why.
    pub exclusions: Vec<Exclusion>,
}

impl Scenario {
    /// What every page, file and certificate of the demonstration carries.
    pub const REMARK: &'static str = "demonstration data";

    /// Values that the plan asks for, by analyte and item.
    pub const REPLICATES: u8 = 1;
}

/// What was sent out.
#[derive(Clone, Copy, Debug)]
pub struct Item {
    /// A, B or C.
    pub label: &'static str,
    /// What it is.
    pub description: &'static str,
}

/// One analyte in one item with what the organiser knows of it. All numbers are
/// texts in ng/L unless they say otherwise.
#[derive(Clone, Debug)]
pub struct Measurand {
    /// Label of the item.
    pub item: &'static str,
    /// Name of the analyte.
    pub analyte: &'static str,
    /// Unit of results and limits.
    pub unit: &'static str,
    /// How the analyte behaves.
    pub class: Class,
    /// Whether the analyte is in the item. Where it is not, there is no
    /// [`Measurand::formulation`].
    pub present: bool,
    /// The content by preparation.
    pub formulation: Option<Formulation>,
    /// What the organiser believed it to be when the plan was signed, where that was
    /// wrong (Y6): corrected after an appeal.
    pub believed: Option<Formulation>,
    /// Standard deviation for proficiency assessment, in percent of the assigned value.
    pub sigma_percent: &'static str,
    /// The limit of quantification that the plan asks for.
    pub required_loq: &'static str,
    /// Where the analyte is absent: the content below which that is proven.
    pub absent_below: Option<&'static str>,
}

/// The content of an item by its preparation.
#[derive(Clone, Debug)]
pub struct Formulation {
    /// The nominal content, native content included.
    pub value: String,
    /// Its standard uncertainty: 1.2 % of the content, to 0.01 ng/L. Invented.
    pub standard_uncertainty: String,
}

/// One laboratory with what it types.
#[derive(Clone, Debug)]
pub struct LaboratoryResults {
    /// The organiser's internal number, P01–P42.
    pub id: &'static str,
    /// The code in this round, drawn with the seed of the scenario.
    pub code: LabCode,
    /// Name, invented.
    pub name: &'static str,
    /// E-mail address, invented.
    pub email: &'static str,
    /// The organisation, where it is not the laboratory alone (X26).
    pub organisation: Option<&'static str>,
    /// How it measures.
    pub group: Group,
    /// Days from dispatch to analysis.
    pub analysis_day: u32,
    /// Whole hours after the deadline, for a late submission (X16).
    pub late_by_hours: Option<u32>,
    /// Typed, but never submitted (X24).
    pub draft_only: bool,
    /// What it tried to send first and what was refused (X2, X9, X22, X25).
    pub refused_attempt: Option<RefusedAttempt>,
    /// One cell for each measurand, in the order of [`Scenario::measurands`].
    pub cells: Vec<Cell>,
}

/// What a laboratory says of one measurand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CellState {
    /// A number.
    Value,
    /// `<` and a limit.
    Below,
    /// The analyte is not in the laboratory's scope.
    NotAnalysed,
}

/// How an expanded uncertainty is typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UncertaintyMode {
    /// In the unit of the result.
    Absolute,
    /// In percent of the result.
    Percent,
}

/// One measurand as one laboratory types it. Texts are empty where nothing is
/// typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cell {
    /// Label of the item.
    pub item: &'static str,
    /// Name of the analyte.
    pub analyte: &'static str,
    /// What is said.
    pub state: CellState,
    /// The result exactly as typed, `<` included.
    pub text: String,
    /// The reading that is chosen where the text has two: `145.250` for `145,250`.
    pub choice: Option<String>,
    /// The expanded uncertainty as typed.
    pub uncertainty: String,
    /// How it is meant; `None` where there is none.
    pub uncertainty_mode: Option<UncertaintyMode>,
    /// The coverage factor as typed.
    pub k: String,
    /// The declared limit of quantification as typed, in ng/L.
    pub loq: String,
}

/// A first attempt that the service refuses.
#[derive(Clone, Debug)]
pub struct RefusedAttempt {
    /// Number of the mistake.
    pub mistake: &'static str,
    /// Cells that differ from what is sent in the end, as first typed: item,
    /// analyte, text. No choice is made for a text with two readings.
    pub typed: Vec<(&'static str, &'static str, &'static str)>,
    /// The laboratory whose code the attempt carries in the place of the own one.
    pub code_of: Option<&'static str>,
}

/// The round QW-1 of March 2024, complete.
pub fn round_qw1() -> Scenario {
    round(&editions::QW_1)
}

/// The round QW-2 of September 2024: the slips are gone, some left, some came.
pub fn round_qw2() -> Scenario {
    round(&editions::QW_2)
}

/// The round QW-3 of March 2025: what was advised works.
pub fn round_qw3() -> Scenario {
    round(&editions::QW_3)
}

fn round(edition: &Edition) -> Scenario {
    let typed = mistakes::round(edition);
    let participants = edition.laboratories().into_iter().zip(typed);
    let laboratories: Vec<LaboratoryResults> =
        participants.map(|(laboratory, cells)| results(edition, laboratory, cells)).collect();
    let exclusions = exclusions::of(edition, &laboratories);
    Scenario {
        code: edition.code,
        title: edition.title,
        scheme: "Trace organic contaminants in natural waters",
        organiser: "Quillmere Interlaboratory Office",
        items: items(),
        measurands: measurands(edition),
        laboratories,
        exclusions,
    }
}

fn results(edition: &Edition, laboratory: &Laboratory, cells: Vec<Cell>) -> LaboratoryResults {
    let slips = edition.has_slips();
    LaboratoryResults {
        id: laboratory.id,
        code: LabCode::from_random(bytes(&["code", edition.code, laboratory.id])),
        name: laboratory.name,
        email: laboratory.email,
        organisation: laboratory.organisation,
        group: laboratory.group,
        analysis_day: analysis_day(edition, laboratory),
        late_by_hours: (slips && laboratory.id == "P19").then_some(26),
        draft_only: slips && laboratory.id == "P17",
        refused_attempt: slips.then(|| mistakes::refused_attempt(laboratory.id)).flatten(),
        cells,
    }
}

fn items() -> Vec<Item> {
    let preserved = [
        "groundwater, low level, 250 mL amber glass, sodium azide 0.2 g/L, 4 °C",
        "river water, 250 mL amber glass, sodium azide 0.2 g/L, 4 °C",
        "river water, second level of the pair B and C, 250 mL amber glass, sodium azide 0.2 g/L, 4 °C",
    ];
    ITEMS.into_iter().zip(preserved).map(|(label, description)| Item { label, description }).collect()
}

fn measurands(edition: &Edition) -> Vec<Measurand> {
    let mut measurands = Vec::new();
    for (index, item) in ITEMS.into_iter().enumerate() {
        for analyte in &ANALYTES {
            let level = edition.level(analyte, index);
            measurands.push(Measurand {
                item,
                analyte: analyte.name,
                unit: "ng/L",
                class: analyte.class,
                present: level > 0,
                formulation: (level > 0).then(|| formulation(level)),
                believed: edition.believed_tenths(analyte, index).map(formulation_of_tenths),
                sigma_percent: edition.sigma_percent(analyte),
                required_loq: "25",
                absent_below: (level == 0).then_some("2"),
            });
        }
    }
    measurands
}

fn formulation(level: u32) -> Formulation {
    // 1.2 % in whole hundredths of a ng/L, half up.
    let hundredths = (level * 12 + 5) / 10;
    Formulation {
        value: level.to_string(),
        standard_uncertainty: format!("{}.{:02}", hundredths / 100, hundredths % 100),
    }
}

fn formulation_of_tenths(tenths: u32) -> Formulation {
    let hundredths = (tenths * 12 + 50) / 100;
    Formulation {
        value: format!("{}.{}", tenths / 10, tenths % 10),
        standard_uncertainty: format!("{}.{:02}", hundredths / 100, hundredths % 100),
    }
}
