//! The demonstration, made on both databases by the actions that a person's
//! clicks run: the same round, with what its description says must be shown.

use jiff::Timestamp;
use roundel::actions;
use roundel::demo::{self, scenario};
use roundel::evaluated::Evaluated;
use roundel::{clock::Clock, state::App};
use roundel_domain::evaluation::{Basis, Detection, ScoreEntry, Signal};
use roundel_domain::methods::{Answers, Compared, Factor, Group, Methods, Name, Shown};
use roundel_domain::package::AssignedValue;
use roundel_domain::performance::{Rule, follow};
use roundel_store::{Db, evaluations, participants, rounds, testing};
use std::sync::{Arc, Mutex};

const NOW: &str = "2027-03-01T09:00:00Z";

struct Made {
    /// Evaluations of QW-1, QW-2 and QW-3.
    rounds: [Arc<Evaluated>; 3],
    answers: [Answers; 3],
    sent: [usize; 3],
    enrolled: [usize; 3],
    accounts: Vec<demo::Account>,
}

impl Made {
    fn first(&self) -> &Evaluated {
        &self.rounds[0]
    }
}

async fn made(db: &Db) -> Made {
    let now: Timestamp = NOW.parse().expect("an instant");
    let accounts = demo::fill(db, now, "http://127.0.0.1").await.expect("the demonstration is made");
    let app = App::new(db.clone(), Clock::default(), "http://127.0.0.1").await.expect("the service");
    let mut tx = db.read().await.expect("a database");
    let mut all = Vec::new();
    for code in ["qw-1", "qw-2", "qw-3"] {
        let round = rounds::by_code(&mut tx, code).await.expect("a statement").expect("a round of the scenario");
        let progress = participants::progress(&mut tx, round.id).await.expect("a statement");
        let heads = evaluations::of_round(&mut tx, round.id).await.expect("a statement");
        let (_, published) = round.state.published().expect("it is published");
        assert!(heads.iter().any(|head| head.id == published));
        let evaluated = app.evaluations.load(&mut tx, published).await.expect("its evaluation");
        let answers = actions::methods::answers(&mut tx, &round).await.expect("answers");
        all.push((evaluated, answers, progress.iter().filter(|line| line.version > 0).count(), progress.len()));
    }
    let all: [_; 3] = all.try_into().expect("three rounds");
    Made {
        rounds: all.each_ref().map(|one| Arc::clone(&one.0)),
        answers: all.each_ref().map(|one| one.1.clone()),
        sent: all.each_ref().map(|one| one.2),
        enrolled: all.each_ref().map(|one| one.3),
        accounts,
    }
}

/// The code of a laboratory of the scenario.
fn code(id: &str) -> String {
    let round = scenario::round_qw1();
    let laboratory = round.laboratories.iter().find(|l| l.id == id).expect("a laboratory of the scenario");
    laboratory.code.to_string()
}

fn score<'a>(made: &'a Made, id: &str, measurand: &str) -> &'a ScoreEntry {
    made.first().score(&code(id), measurand).unwrap_or_else(|| panic!("{id} has a score for {measurand}"))
}

#[tokio::test]
async fn the_demonstration_is_the_same_on_both_databases_and_shows_its_mistakes() {
    let hashes = Mutex::new(Vec::new());

    testing::on_both(async |db| {
        let made = made(&db).await;

        assert_eq!((made.sent, made.enrolled), ([39, 39, 40], [40, 39, 40]));
        // Four of the staff, and P01 to P42.
        assert_eq!(made.accounts.len(), 46);
        // What follows is said by the scenario's description (X1, X3, X10, X11, X12, X16).
        let unit = score(&made, "P03", "B/carbamazepine");
        assert!(unit.value.expect("a value") < 1.0 && unit.signal == Signal::Action);
        let dilution = score(&made, "P07", "B/naproxen").z.expect("a z score");
        assert!((-3.9..-3.1).contains(&dilution), "z {dilution}");
        let wide = score(&made, "P13", "B/trimethoprim");
        assert_eq!((wide.below, wide.signal, wide.loq_met), (Some(100.0), Signal::NotScored, Some(false)));
        let missed = score(&made, "P26", "B/metoprolol");
        assert_eq!((missed.signal, missed.detection), (Signal::Action, Detection::FalseNegative));
        assert_eq!(score(&made, "P29", "C/amisulpride").detection, Detection::FalsePositive);
        assert_eq!(score(&made, "P31", "A/gabapentin").detection, Detection::Trace);
        let late = made.first().result(&code("P19"), "B/carbamazepine").expect("a late result");
        assert_eq!(late.exclude.as_deref(), Some("Received after the deadline."));
        assert_eq!(score(&made, "P19", "B/carbamazepine").signal, Signal::None);
        special_cases(&made);
        groups_of_methods(&made);
        drifts_over_rounds(&made);
        hashes.lock().expect("no panic").push(made.rounds.each_ref().map(|one| one.evaluation.package_sha256.clone()));
    })
    .await;

    let hashes = hashes.into_inner().expect("no panic");
    assert!(hashes.windows(2).all(|pair| pair[0] == pair[1]), "{hashes:?}");
}

/// Y1 to Y5: how the special measurands end, as the scenario's description says.
fn special_cases(made: &Made) {
    let round = made.first();
    let outcome = |id: &str| round.measurand(id).unwrap_or_else(|| panic!("{id} was evaluated"));
    for item in ["B", "C"] {
        // Y1: information only, with the group in the reason, and the content by preparation beside it.
        let id = format!("{item}/hydrochlorothiazide");
        let (plan, evaluated) = outcome(&id);
        let decision = plan.decision.as_ref().expect("a decision");
        assert!(decision.reason.contains("calibrate in solvent"), "{}", decision.reason);
        assert!(round.scores(&id).all(|entry| entry.signal == Signal::InformationOnly), "{id}");
        assert!(evaluated.summary.quantified > 20);
    }
    for item in ["A", "B", "C"] {
        // Y2: eleven count, q between 0.3 and 0.45, z' with the reviewer's consent.
        let id = format!("{item}/N4-acetylsulfamethoxazole");
        let (plan, evaluated) = outcome(&id);
        let value = evaluated.assigned_value.as_ref().expect("a consensus");
        assert_eq!((value.basis, value.p), (Basis::Participants, Some(11)), "{id}");
        assert!(matches!(&plan.assigned_value, Some(AssignedValue::Participants(c)) if c.consent.is_some()), "{id}");
        let q = evaluated.uncertainty_ratio.expect("a ratio");
        assert!((0.3..0.45).contains(&q), "{id}: {q}");
        let judged: Vec<_> = round.scores(&id).filter(|entry| entry.value.is_some()).collect();
        assert!(judged.len() >= 11 && judged.iter().all(|entry| entry.z_prime.is_some()), "{id}");
        // Y3: six count, so the content by preparation is the value.
        let id = format!("{item}/metformin");
        let (_, evaluated) = outcome(&id);
        let value = evaluated.assigned_value.as_ref().expect("the fallback");
        assert_eq!((value.basis, evaluated.summary.quantified + evaluated.summary.censored), (Basis::Formulation, 6));
        // As corrected after the appeal: the forgotten factor of the salt is gone.
        assert_eq!(value.value, [50.0, 300.0, 360.0]["ABC".find(item).expect("an item")], "{id}");
    }
    // Y4: about one fifth below a limit, the mean of the values above the content of 14 ng/L.
    let (_, evaluated) = outcome("A/bezafibrate");
    let summary = &evaluated.summary;
    let share = summary.censored as f64 / (summary.censored + summary.quantified) as f64;
    assert!((0.05..0.25).contains(&share), "{share}");
    assert!(summary.mean.is_some_and(|mean| mean > 14.0), "{:?}", summary.mean);
    // Y5: a "<" of what is absent is right.
    for id in ["A/amisulpride", "B/amisulpride", "C/amisulpride", "A/gabapentin"] {
        let right = round.scores(id).filter(|entry| entry.detection == Detection::Correct).count();
        assert!(right >= 15, "{id}: {right}");
    }
    // A value for what is absent by mistake only; the corrected ones are not in later rounds.
    assert_eq!(made.rounds[2].measurand("B/erythromycin").map(|(plan, _)| plan.decision.is_none()), Some(true));
}

/// A laboratory's scores for an analyte over the three rounds: those of z, by round, and
/// whether any was unacceptable.
fn over_rounds(made: &Made, id: &str, analyte: &str) -> (Vec<Vec<f64>>, bool) {
    let scenarios = [scenario::round_qw1(), scenario::round_qw2(), scenario::round_qw3()];
    let mut unacceptable = false;
    let mut scores = Vec::new();
    for (scenario, round) in scenarios.iter().zip(&made.rounds) {
        let laboratory = scenario.laboratories.iter().find(|l| l.id == id).expect("it takes part in all three");
        let code = laboratory.code.to_string();
        let own = ["A", "B", "C"].into_iter().filter_map(|item| round.score(&code, &format!("{item}/{analyte}")));
        let own: Vec<&ScoreEntry> = own.collect();
        unacceptable |= own.iter().any(|entry| entry.signal == Signal::Action);
        scores.push(own.iter().filter_map(|entry| entry.z).collect());
    }
    (scores, unacceptable)
}

/// The slow drift of P23 is told by the moving average in the third round, before any
/// score is unacceptable; the acids of P33 are told in the second, and have an end once
/// they are corrected for recovery.
fn drifts_over_rounds(made: &Made) {
    let (scores, unacceptable) = over_rounds(made, "P23", "erythromycin");
    let followed = follow(&scores);
    assert_eq!((followed.rules, unacceptable), (vec![vec![], vec![], vec![Rule::Average]], false));
    for acid in ["ibuprofen", "naproxen"] {
        let (scores, unacceptable) = over_rounds(made, "P33", acid);
        let rules = follow(&scores).rules;
        assert!(rules[1].contains(&Rule::TwoBeyondTwo) && rules[2].is_empty(), "{acid}: {rules:?}");
        assert!(!unacceptable, "{acid}");
    }
}

/// The groups of methods: laboratories that calibrate in solvent lie apart in
/// hydrochlorothiazide (B and C) until the third round, where nothing does.
fn groups_of_methods(made: &Made) {
    let apart = |place: usize, item: &str| {
        let evaluated = &made.rounds[place];
        let methods = Methods::new(&evaluated.package, &evaluated.evaluation, &made.answers[place], 5);
        let lines = methods.table(Factor::Calibration, item);
        let groups = lines.into_iter().flat_map(|line| match line.shown {
            Shown::Groups(groups) => groups.into_iter().map(|group| (line.analyte.clone(), group)).collect(),
            _ => Vec::new(),
        });
        let explains = |group: &Group| matches!(&group.compared, Compared::Found(found) if found.explains());
        groups.filter(|(_, group)| explains(group)).map(|(analyte, group)| (analyte, group.name)).collect::<Vec<_>>()
    };
    let in_solvent = Name::Answers(vec!["in_solvent".to_owned()]);
    let expected = [("hydrochlorothiazide".to_owned(), in_solvent)];

    for item in ["B", "C"] {
        let found = apart(0, item);
        assert!(found.iter().any(|one| *one == expected[0]), "QW-1 {item}: {found:?}");
        assert_eq!(apart(2, item), [], "QW-3 {item}");
    }
    let evaluated = made.first();
    let methods = Methods::new(&evaluated.package, &evaluated.evaluation, &made.answers[0], 5);
    let named = methods.together();
    let pair = |answer: &str| named.iter().any(|pair| pair.one.1 == answer && pair.wholly);
    assert!(pair("in_solvent") && pair("isotope_dilution"), "{named:?}");
}
