//! What the review finds in rounds like the demonstration's, over several seeds:
//! each deliberate mistake that numbers can show, and no honest laboratory.

use crate::demo::random::with_seed;
use crate::demo::scenario::{Cell, CellState, LaboratoryResults, Scenario, UncertaintyMode, round_qw1};
use roundel_domain::asks::Asks;
use roundel_domain::assemble::{self, Contribution, Layers};
use roundel_domain::declared::Declared;
use roundel_domain::evaluation::evaluate;
use roundel_domain::id::{ItemId, MeasurandId, RoundId};
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::number::{Decimal, Range};
use roundel_domain::plan::{Asked, PlanForm};
use roundel_domain::result::{Entry, Number, Reason, Reported, Uncertainty, UncertaintyForm};
use roundel_domain::review::{Finding, Kind, KnownForm, Look, Material, Set};
use roundel_domain::round::{Round, RoundState};
use std::collections::BTreeMap;

const SEEDS: [&str; 5] =
    ["quillmere-demo-v1", "quillmere-check-1", "quillmere-check-2", "quillmere-check-3", "quillmere-check-4"];

fn number(text: &str, choice: Option<&str>) -> Number {
    let text = text.trim_start_matches('<');
    let decimal =
        Decimal::parse_with_choice(text, Range::NonNegative, choice).unwrap_or_else(|p| panic!("{text}: {p:?}"));
    Number { typed: text.to_owned(), decimal }
}

fn entry(position: i64, cell: &Cell) -> Entry {
    let choice = cell.choice.as_deref();
    let uncertainty = cell.uncertainty_mode.map(|mode| Uncertainty {
        expanded: number(&cell.uncertainty, None),
        form: if mode == UncertaintyMode::Percent { UncertaintyForm::Percent } else { UncertaintyForm::Absolute },
        coverage_factor: Some(number(&cell.k, None)),
    });
    let reported = match cell.state {
        CellState::Value => Reported::Value { values: vec![number(&cell.text, choice)], uncertainty },
        CellState::Below => Reported::Below { limit: number(&cell.text, choice) },
        CellState::NotAnalysed => Reported::NotAnalysed { reason: Reason::OutOfScope },
    };
    Entry {
        position,
        item: cell.item.to_owned(),
        analyte: cell.analyte.to_owned(),
        unit: "ng/L".to_owned(),
        typed_unit: None,
        expressed_as: String::new(),
        loq: (!cell.loq.is_empty()).then(|| number(&cell.loq, None)),
        reported,
    }
}

fn declared(laboratory: &LaboratoryResults) -> Declared {
    let answers = laboratory.group.method().split(", ").collect::<Vec<_>>();
    let method = BTreeMap::from([
        ("enrichment".to_owned(), answers[0].to_owned()),
        ("calibration".to_owned(), answers.last().unwrap().to_string()),
    ]);
    Declared { method, ..Declared::default() }
}

fn measurands(scenario: &Scenario, items: &[Item]) -> Vec<Measurand> {
    let plan = |m: &crate::demo::scenario::Measurand| {
        let form = match (&m.formulation, m.absent_below) {
            (Some(made), _) => PlanForm {
                route: "formulation".to_owned(),
                value: made.value.clone(),
                standard_uncertainty: made.standard_uncertainty.clone(),
                sigma_route: "percent".to_owned(),
                sigma: m.sigma_percent.to_owned(),
                ..PlanForm::default()
            },
            (None, limit) => PlanForm {
                route: "absent".to_owned(),
                absent_below: limit.unwrap_or_default().to_owned(),
                ..PlanForm::default()
            },
        };
        form.parse(Asked { unit: m.unit, has_required_loq: true, uncertainty: false })
            .unwrap_or_else(|errors| panic!("{errors:?}"))
    };
    let measurand = |(index, m): (usize, &crate::demo::scenario::Measurand)| Measurand {
        id: MeasurandId(crate::clock::new_id()),
        item: items.iter().find(|item| item.label == m.item).unwrap().id,
        position: index as i64 + 1,
        analyte: m.analyte.to_owned(),
        unit: m.unit.to_owned(),
        expressed_as: String::new(),
        decimals: 0,
        replicates: 1,
        required_loq: Decimal::positive(m.required_loq).ok(),
        plan: Some(plan(m)),
    };
    scenario.measurands.iter().enumerate().map(measurand).collect()
}

/// The findings of a round, with the laboratories by their internal numbers.
fn findings(scenario: &Scenario) -> Vec<Finding> {
    let items: Vec<Item> = (1..)
        .zip(&scenario.items)
        .map(|(position, item)| Item {
            id: ItemId(crate::clock::new_id()),
            position,
            label: item.label.to_owned(),
            matrix: String::new(),
        })
        .collect();
    let measurands = measurands(scenario, &items);
    let sets: Vec<Set> = scenario
        .laboratories
        .iter()
        .filter(|laboratory| !laboratory.draft_only)
        .map(|laboratory| Set {
            code: laboratory.id.to_owned(),
            late: laboratory.late_by_hours.is_some(),
            declared: declared(laboratory),
            entries: (1..).zip(&laboratory.cells).map(|(position, cell)| entry(position, cell)).collect(),
        })
        .collect();
    let contributions: Vec<Contribution> = sets
        .iter()
        .map(|set| Contribution {
            code: set.code.clone(),
            organisation: None,
            late: set.late,
            method: set.declared.method_group(),
            entries: set.entries.clone(),
        })
        .collect();
    let at = "2024-03-29T16:00:00Z".parse().unwrap();
    let round = Round {
        id: RoundId(crate::clock::new_id()),
        code: scenario.code.to_owned(),
        title: scenario.title.to_owned(),
        scheme: String::new(),
        instructions: String::new(),
        time_zone: "UTC".to_owned(),
        closes_at: at,
        asks: Asks::default(),
        state: RoundState::Open { opened_at: at },
    };
    let package = assemble::package(&round, &items, &measurands, &contributions, &Layers::default());
    let evaluation = evaluate(&package, "");
    let forms = [KnownForm { analyte: "ibuprofen".to_owned(), ratio: 1.71 }];
    Look::new(Material {
        items: &items,
        measurands: &measurands,
        package: &package,
        evaluation: &evaluation,
        sets: &sets,
        forms: &forms,
        seed: 1,
    })
    .findings()
}

/// The kinds that an honest laboratory must never be told of.
const GROSS: [Kind; 5] = [Kind::WholeSetFactor, Kind::ItemSwap, Kind::RowShift, Kind::AnalyteSwap, Kind::Similarity];

/// Patterns over what one laboratory sent.
const PATTERNS: [Kind; 3] = [Kind::AnalyteBias, Kind::ZetaBeyond, Kind::OneUncertainty];

#[test]
fn each_mistake_is_found_and_no_honest_laboratory_over_five_seeds() {
    // X1, X5 to X8, X21: keys of the findings, as the scenario has the mistakes.
    let expected = [
        "whole-set-factor:P03",
        "item-swap:P12:A:B",
        "item-swap:P15:B:C",
        "analyte-swap:P16:gemfibrozil:naproxen",
        "row-shift:P08:C",
        "similarity:P20:P21",
    ];
    let (mut salts, mut tenths, mut acids, mut wrong) = (0, 0, 0, Vec::new());
    for seed in SEEDS {
        let found = with_seed(seed, || findings(&round_qw1()));

        let keys: Vec<&str> = found.iter().map(|finding| finding.key.as_str()).collect();
        let gross: Vec<&str> =
            found.iter().filter(|one| GROSS.contains(&one.kind)).map(|one| one.key.as_str()).collect();
        for key in expected {
            let other = key.replace("gemfibrozil:naproxen", "naproxen:gemfibrozil");
            if !keys.contains(&key) && !keys.contains(&other.as_str()) {
                wrong.push(format!("{seed}: {key} is missing"));
            }
        }
        if gross.len() != expected.len() {
            wrong.push(format!("{seed}: {gross:?}"));
        }
        // X3: naproxen in B is the 18th analyte of the second item.
        tenths += usize::from(keys.contains(&"single-factor:P07:42"));
        // X4: sulfamethoxazole, the 9th analyte; weak laboratories come beside it.
        let aliquot = ["possible-factor:P09:9", "possible-factor:P09:33", "possible-factor:P09:57"];
        if !aliquot.iter().any(|key| keys.contains(key)) {
            wrong.push(format!("{seed}: the aliquot of P09 is missing"));
        }
        for one in found.iter().filter(|one| matches!(one.kind, Kind::AnalyteSwap | Kind::PossibleExchange)) {
            println!("{seed}: {} {:?}", one.key, one.values.iter().find(|(name, _)| *name == "times"));
        }
        // X14, X15, X19: for information, so that weak laboratories may have them too.
        acids += usize::from(keys.contains(&"analyte-bias:P33:low"));
        for key in ["zeta-beyond:P06", "one-uncertainty:P10"] {
            if !keys.contains(&key) {
                wrong.push(format!("{seed}: {key} is missing"));
            }
        }
        for one in found.iter().filter(|one| PATTERNS.contains(&one.kind)) {
            println!("{seed}: {}", one.key);
        }
        salts += usize::from(keys.contains(&"basis-ratio:P22:ibuprofen"));
        let count = |kind: Kind| found.iter().filter(|one| one.kind == kind).count();
        let exchanges = count(Kind::PossibleExchange);
        let single = found.iter().filter(|one| one.kind == Kind::SingleFactor && one.codes != ["P07"]).count();
        println!(
            "{seed}: gross {}, other single factors {single}, possible factors {}, possible exchanges {exchanges}, other forms {}, all findings {}",
            gross.len(),
            count(Kind::PossibleFactor),
            count(Kind::BasisRatio),
            found.len()
        );
    }
    // With an error of its own of more than 25 % a tenth is no tenth any more (D22).
    println!("tenths found: {tenths} of {}", SEEDS.len());
    assert!(tenths >= 4, "{tenths}");
    // Two of three of these salts are found where items spread by 15 to 25 %.
    println!("salts found: {salts} of {}", SEEDS.len());
    assert!(salts >= 2, "{salts}");
    // Acids at 0.62 are 1.5 σ_pt low; what a laboratory and its method add hides it at times.
    println!("acids found: {acids} of {}", SEEDS.len());
    assert!(acids >= 3, "{acids}");
    assert!(wrong.is_empty(), "{wrong:#?}");
}
