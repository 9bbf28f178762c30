//! What is found in small rounds whose numbers are made by hand.

use roundel_domain::asks::Asks;
use roundel_domain::assemble::{self, Contribution, Layers};
use roundel_domain::declared::Declared;
use roundel_domain::evaluation::evaluate;
use roundel_domain::id::{ItemId, MeasurandId, RoundId};
use roundel_domain::judgement::Topic;
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::number::{Decimal, Range};
use roundel_domain::plan::{Asked, PlanForm};
use roundel_domain::result::{Entry, Number, Reported};
use roundel_domain::review::{Decided, Finding, Kind, Look, Material, Set};
use roundel_domain::round::{Round, RoundState};
use uuid::Uuid;

fn number(value: f64) -> Number {
    let typed = format!("{value}");
    Number { decimal: Decimal::parse(&typed, Range::Positive).expect("a number"), typed }
}

/// A set of `code`: two replicates for each of six analytes around 100.
fn set(code: &str, replicates: impl Fn(i64) -> [f64; 2], loq: f64) -> Set {
    let entry = |position: i64| Entry {
        position,
        item: "A".to_owned(),
        analyte: format!("analyte {position}"),
        unit: "ng/L".to_owned(),
        typed_unit: None,
        expressed_as: String::new(),
        loq: Some(number(loq)),
        reported: Reported::Value { values: replicates(position).map(number).to_vec(), uncertainty: None },
    };
    Set { code: code.to_owned(), late: false, declared: Declared::default(), entries: (1..=6).map(entry).collect() }
}

fn findings(sets: &[Set]) -> Vec<Finding> {
    let item = Item { id: ItemId(Uuid::from_u128(1)), position: 1, label: "A".to_owned(), matrix: String::new() };
    let plan = PlanForm {
        route: "formulation".to_owned(),
        value: "100".to_owned(),
        standard_uncertainty: "1".to_owned(),
        sigma_route: "percent".to_owned(),
        sigma: "10".to_owned(),
        ..PlanForm::default()
    };
    let measurand = |position: i64| Measurand {
        id: MeasurandId(Uuid::from_u128(100 + position as u128)),
        item: item.id,
        position,
        analyte: format!("analyte {position}"),
        unit: "ng/L".to_owned(),
        expressed_as: String::new(),
        decimals: 0,
        replicates: 2,
        required_loq: Decimal::positive("25").ok(),
        plan: Some(plan.parse(Asked { unit: "ng/L", has_required_loq: true, uncertainty: false }).expect("a plan")),
    };
    let measurands: Vec<Measurand> = (1..=6).map(measurand).collect();
    let at = "2027-03-01T12:00:00Z".parse().expect("an instant");
    let round = Round {
        id: RoundId(Uuid::from_u128(2)),
        code: "R-1".to_owned(),
        title: "Water".to_owned(),
        scheme: String::new(),
        instructions: String::new(),
        time_zone: "UTC".to_owned(),
        closes_at: at,
        asks: Asks::default(),
        state: RoundState::Open { opened_at: at },
    };
    let contribution = |set: &Set| Contribution {
        code: set.code.clone(),
        organisation: None,
        late: set.late,
        method: None,
        entries: set.entries.clone(),
    };
    let contributions: Vec<Contribution> = sets.iter().map(contribution).collect();
    let items = [item];
    let package = assemble::package(&round, &items, &measurands, &contributions, &Layers::default());
    let evaluation = evaluate(&package, "");
    let material = Material {
        items: &items,
        measurands: &measurands,
        package: &package,
        evaluation: &evaluation,
        sets,
        forms: &[],
        seed: 1,
    };
    Look::new(material).findings()
}

/// Nine sets within a few per cent of 100, replicates 1 or 2 apart.
fn usual() -> Vec<Set> {
    let replicates = |n: i64| {
        move |position: i64| {
            let x = 96.0 + ((3 * n + 5 * position) % 9) as f64;
            [x, x + 1.0 + ((n + position) % 2) as f64]
        }
    };
    (1..=9).map(|n| set(&format!("L-{n}"), replicates(n), 10.0)).collect()
}

fn keys(findings: &[Finding]) -> Vec<&str> {
    findings.iter().map(|finding| finding.key.as_str()).collect()
}

#[test]
fn in_a_usual_round_nothing_is_found() {
    assert_eq!(keys(&findings(&usual())), Vec::<&str>::new());
}

#[test]
fn replicates_that_are_the_same_everywhere_limits_and_lateness_are_found() {
    let mut sets = usual();
    sets.push(set("L-A", |position| [98.0 + position as f64; 2], 10.0));
    sets.push(set("L-B", |position| [99.0, 100.0 + (position % 3) as f64], 101.5));
    sets.push(set("L-C", |position| if position == 2 { [80.0, 120.0] } else { [99.0, 100.5] }, 10.0));
    sets[3].late = true;

    let found = findings(&sets);

    let mut expected = vec!["identical-replicates:L-A", "replicate-spread:L-C", "late:L-4"];
    expected.splice(2..2, ["loq-above-required:L-B", "below-own-loq:L-B"]);
    assert_eq!(keys(&found), expected);
    assert_eq!(found[0].cells.len(), 6);
    assert_eq!(found[1].cells, [("L-C".to_owned(), 2)]);
}

#[test]
fn a_limit_stated_with_a_result_is_held_against_the_required_one() {
    let mut sets = usual();
    sets[0].entries[2].reported = Reported::Below { limit: number(25.0) };
    sets[1].entries[2].reported = Reported::Below { limit: number(60.0) };

    let found = findings(&sets);

    let wide: Vec<_> = found.iter().filter(|one| one.kind == Kind::LoqAboveRequired).collect();
    assert_eq!(wide.len(), 1, "{found:?}");
    assert_eq!(wide[0].cells, [("L-2".to_owned(), 3)]);
}

#[test]
fn a_finding_is_settled_by_its_key_by_all_its_results_or_by_its_topic() {
    let mut sets = usual();
    sets.push(set("L-A", |_| [0.1, 0.101], 10.0));
    let found = findings(&sets);
    let whole = found.iter().find(|one| one.kind == Kind::WholeSetFactor).expect("a factor of a thousand");
    assert_eq!((whole.key.as_str(), whole.cells.len()), ("whole-set-factor:L-A", 6));

    let mut decided = Decided::default();
    assert!(!whole.is_settled(&decided));
    decided.results.extend(whole.cells.iter().take(5).cloned());
    assert!(!whole.is_settled(&decided), "one result is not decided on");
    decided.results.extend(whole.cells.iter().cloned());
    assert!(whole.is_settled(&decided));
    let named = Decided { findings: [whole.key.clone()].into(), ..Decided::default() };
    assert!(whole.is_settled(&named));
    let list = found.iter().find(|one| one.kind == Kind::HalfAway).expect("a list");
    assert!(!list.is_settled(&decided));
    decided.measurands.insert((list.positions[0], Topic::Other));
    assert!(list.is_settled(&decided));
}

#[test]
fn every_kind_has_its_word() {
    for (place, kind) in Kind::ALL.into_iter().enumerate() {
        assert_eq!(Kind::of(kind.word()), Some(kind));
        assert!(Kind::ALL[..place].iter().all(|before| *before < kind), "in the order of the list: {kind:?}");
    }
}
