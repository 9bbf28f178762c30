//! What an open data package promises, on rounds drawn at random: the promises are
//! the text of rule D36 and of requirement F116.

#![allow(clippy::unwrap_used, reason = "in a test, what cannot go on has failed")]

use jiff::Timestamp;
use proptest::prelude::*;
use roundel_domain::checklist::Checklist;
use roundel_domain::code::LabCode;
use roundel_domain::evaluation::{RoundEvaluation, evaluate};
use roundel_domain::frozen::{Content, PlannedItem, PlannedMeasurand, PlannedRound};
use roundel_domain::methods::Answers;
use roundel_domain::open_data::{Decided, FEWEST, Instants, OpenData, Refused, Source, TABLES, Value, build};
use roundel_domain::package::{self, Reported, ReportedResult, RoundPackage};
use roundel_domain::rules;
use std::collections::{BTreeMap, BTreeSet};

const QUESTIONS: [&str; 5] = ["enrichment", "separation", "detection", "calibration", "standard"];
const WORDS: [&str; 4] = ["direct", "online", "offline_solid_phase", "other"];

fn at(text: &str) -> Timestamp {
    text.parse().unwrap()
}

/// A round as a package is made from it.
#[derive(Clone, Debug)]
struct Sample {
    package: RoundPackage,
    consents: BTreeSet<String>,
    answers: Answers,
    seed: [u8; 32],
}

/// What is drawn of one laboratory: its code, whether it consents, its answers (0 is
/// none), and which of the three measurands it reported.
type Drawn = ([u8; 16], bool, [u8; 5], [bool; 3]);

fn sample(drawn: &[Drawn], seed: [u8; 32]) -> Sample {
    let measurand = |item: &str| package::Measurand {
        id: format!("{item}/nitrate"),
        item: item.to_owned(),
        analyte: "nitrate".to_owned(),
        unit: "ng/L".to_owned(),
        assigned_value: Some(package::AssignedValue::Participants(package::Consensus::default())),
        sigma_pt: Some(package::SigmaPt::new(package::SigmaBasis::Relative { percent: 20.0 })),
        scores: Some(vec![package::Score::Z, package::Score::DifferencePercent]),
        ..package::Measurand::default()
    };
    let mut sample = Sample {
        package: RoundPackage {
            round: package::PackageRound { code: "R-1".to_owned(), ..package::PackageRound::default() },
            measurands: ["A", "B", "C"].map(measurand).to_vec(),
            results: Vec::new(),
        },
        consents: BTreeSet::new(),
        answers: Answers::new(),
        seed,
    };
    for (place, (bytes, consents, answers, reported)) in drawn.iter().enumerate() {
        let code = LabCode::from_random(*bytes).to_string();
        if sample.answers.contains_key(&code) {
            continue;
        }
        if *consents {
            sample.consents.insert(code.clone());
        }
        let given = QUESTIONS.iter().zip(answers).filter(|(_, answer)| **answer > 0);
        let given =
            given.map(|(question, answer)| ((*question).to_owned(), WORDS[usize::from(*answer) - 1].to_owned()));
        sample.answers.insert(code.clone(), given.collect());
        for (item, _) in ["A", "B", "C"].iter().zip(reported).filter(|(_, reported)| **reported) {
            let value = Reported::Values(vec![90.0 + 1.375 * place as f64]);
            sample.package.results.push(ReportedResult::new(&code, &format!("{item}/nitrate"), value));
        }
    }
    sample
}

fn content() -> Content {
    let measurand = |(position, item): (i64, &str)| PlannedMeasurand {
        position,
        item: item.to_owned(),
        analyte: "nitrate".to_owned(),
        unit: "ng/L".to_owned(),
        expressed_as: String::new(),
        decimals: 0,
        replicates: 1,
        required_loq: None,
        plan: None,
    };
    Content {
        provider: "Quillmere Interlaboratory Office".to_owned(),
        round: PlannedRound {
            code: "R-1".to_owned(),
            title: "Water of the mere".to_owned(),
            scheme: "Water".to_owned(),
            instructions: "Ask Odile Marsh.".to_owned(),
            time_zone: "UTC".to_owned(),
            closes_at: at("2027-03-26T16:00:00Z"),
        },
        items: vec![PlannedItem { label: "A".to_owned(), matrix: "river water".to_owned() }],
        measurands: [(1, "A"), (2, "B"), (3, "C")].map(measurand).to_vec(),
        asks: roundel_domain::asks::Asks::default(),
        checklist: Checklist::default(),
        rules: rules::defaults(),
    }
}

impl Sample {
    fn evaluation(&self) -> RoundEvaluation {
        evaluate(&self.package, "roundel test")
    }

    fn build(&self, decisions: &[Decided]) -> Result<OpenData, Refused> {
        let instants = Instants {
            opened: at("2027-03-01T08:00:00Z"),
            closes: at("2027-03-26T16:00:00Z"),
            published: at("2027-04-20T09:00:00Z"),
        };
        build(&Source {
            package: &self.package,
            evaluation: &self.evaluation(),
            consents: &self.consents,
            answers: &self.answers,
            decisions,
            plan: &content(),
            instants,
            seed: self.seed,
        })
    }
}

fn rows<'a>(data: &'a OpenData, name: &str) -> &'a [Vec<Value>] {
    &data.tables.iter().find(|table| table.name == name).unwrap().rows
}

/// Everything that a package says, as one text.
fn bytes(data: &OpenData) -> String {
    format!("{:?}{}", data.tables, data.plan)
}

fn drawn() -> impl Strategy<Value = Vec<Drawn>> {
    let of_one = (any::<[u8; 16]>(), prop::bool::weighted(0.8), prop::array::uniform5(0_u8..=4), any::<[bool; 3]>());
    prop::collection::vec(of_one, 3..45)
}

/// Rounds in which few methods are used, so that combinations stay.
fn alike() -> impl Strategy<Value = Vec<Drawn>> {
    let answers = prop::sample::select(vec![[1, 1, 1, 1, 1], [2, 1, 1, 1, 1], [2, 2, 1, 3, 1], [3, 1, 0, 1, 2]]);
    let of_one = (any::<[u8; 16]>(), prop::bool::weighted(0.9), answers, Just([true, true, false]));
    prop::collection::vec(of_one, 8..60)
}

/// The promises, on one round.
fn keeps(sample: &Sample) -> Result<(), TestCaseError> {
    let data = match sample.build(&[]) {
        Err(Refused::Few) => return Ok(()),
        other => other.map_err(|refused| TestCaseError::fail(format!("{refused}")))?,
    };
    let laboratories = rows(&data, "laboratories");
    prop_assert!(laboratories.len() >= FEWEST && laboratories.len() == data.laboratories);
    // Each combination of answers is that of five laboratories or more.
    let mut combinations: BTreeMap<Vec<&str>, usize> = BTreeMap::new();
    for row in laboratories {
        *combinations.entry(row[1..].iter().map(Value::text).collect()).or_default() += 1;
    }
    prop_assert!(combinations.values().all(|count| *count >= FEWEST), "{:?}", combinations);
    // Each measurand is that of five or more, and all that consented and reported it.
    for item in ["A", "B", "C"] {
        let id = format!("{item}/nitrate");
        let results = sample.package.results.iter().filter(|result| result.measurand == id);
        let consenting = results.filter(|result| sample.consents.contains(&result.participant)).count();
        let there = rows(&data, "results").iter().filter(|row| row[1].text() == item).count();
        prop_assert_eq!(there, if consenting >= FEWEST { consenting } else { 0 });
        prop_assert_eq!(data.left_out.measurands.contains(&id), consenting < FEWEST);
    }
    // No code of the round stands anywhere, whoever consented.
    let text = bytes(&data);
    for code in sample.answers.keys() {
        prop_assert!(!text.contains(code.as_str()), "{code} stands in the package");
    }
    // Names and sentences of the plan do not stand in it either.
    for word in ["Quillmere", "Odile", "mere"] {
        prop_assert!(!text.contains(word), "{word} stands in the package");
    }
    prop_assert!(!data.plan.contains("2027"), "a date stands in the plan");
    // The same again, also when the results came in another order.
    let mut turned = sample.clone();
    turned.package.results.reverse();
    prop_assert_eq!(bytes(&turned.build(&[]).unwrap()), text);
    for table in &data.tables {
        prop_assert!(table.rows.iter().all(|row| row.len() == table.columns.len()), "{}", table.name);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn a_package_of_any_round_keeps_its_promises(drawn in drawn(), seed in any::<[u8; 32]>()) {
        keeps(&sample(&drawn, seed))?;
    }

    #[test]
    fn a_package_of_a_round_with_few_methods_keeps_its_promises(drawn in alike(), seed in any::<[u8; 32]>()) {
        keeps(&sample(&drawn, seed))?;
    }

    /// From the number of laboratories in each group of the round and of the package
    /// nobody learns how fewer than five of those without consent worked.
    #[test]
    fn no_combination_that_is_shown_has_few_others_in_the_round(drawn in alike(), seed in any::<[u8; 32]>()) {
        let sample = sample(&drawn, seed);
        let Ok(data) = sample.build(&[]) else { return Ok(()) };
        let shown: BTreeSet<Vec<&str>> =
            rows(&data, "laboratories").iter().map(|row| row[1..].iter().map(Value::text).collect()).collect();
        for combination in shown.iter().filter(|one| !one.iter().any(|word| ["withheld", "other"].contains(word))) {
            let others = sample.answers.iter().filter(|(code, own)| {
                let own: Vec<&str> =
                    QUESTIONS.iter().map(|q| own.get(*q).map_or("not_stated", String::as_str)).collect();
                !sample.consents.contains(*code) && own == *combination
            });
            let others = others.count();
            prop_assert!(others == 0 || others >= FEWEST, "{others} without consent answered {combination:?}");
        }
    }
}

fn twenty() -> Sample {
    let one = |n: u8| ([n.wrapping_mul(37).wrapping_add(11); 16], true, [1, 1, 1, 1, 1], [true; 3]);
    let drawn: Vec<Drawn> = (0..20).map(one).collect();
    sample(&drawn, [7; 32])
}

#[test]
fn fresh_codes_and_their_order_depend_on_the_seed_alone_and_not_on_codes_of_the_round() {
    let mut sample = twenty();
    let first_code = sample.package.results[0].participant.clone();
    // The value of the first laboratory tells where it stands in the package.
    let value = sample.package.results.iter().find(|result| result.participant == first_code).unwrap();
    let Reported::Values(values) = value.reported.clone() else { panic!("a value") };
    let mut places = BTreeSet::new();
    let mut names = BTreeSet::new();
    for seed in 0..200_u8 {
        sample.seed = [seed; 32];
        let data = sample.build(&[]).unwrap();
        let of_a: Vec<&Vec<Value>> = rows(&data, "results").iter().filter(|row| row[1].text() == "A").collect();
        let place = of_a.iter().position(|row| row[5] == Value::Number(values[0])).unwrap();
        places.insert(place);
        names.insert(of_a[place][0].text().to_owned());
    }

    // Drawn uniformly, one of 20 places is missed by 200 draws with p = 20·0.95^200 < 0.001.
    assert_eq!(places.len(), 20, "every place comes up: {places:?}");
    assert_eq!(names.len(), 200, "never the same code again");
}

#[test]
fn the_summary_is_of_the_package_and_the_assigned_value_is_the_published_one() {
    let mut sample = twenty();
    // The last laboratory does not consent, and lies far out.
    let last = sample.package.results.last().unwrap().participant.clone();
    sample.consents.remove(&last);
    for result in sample.package.results.iter_mut().filter(|result| result.participant == last) {
        result.reported = Reported::Values(vec![5000.0]);
    }
    let data = sample.build(&[]).unwrap();
    let summary = &rows(&data, "summary")[0];
    let columns: Vec<&str> = TABLES[3].1.iter().map(|column| column.name).collect();
    let cell = |name: &str| &summary[columns.iter().position(|column| *column == name).unwrap()];
    // By hand: 19 values 90, 91.375, … have the mean 90 + 1.375·9.
    let Value::Number(mean) = cell("mean") else { panic!("a mean") };
    assert!((mean - (90.0 + 1.375 * 9.0)).abs() < 1e-9, "{mean}");
    assert_eq!(cell("laboratories"), &Value::Count(19));
    let published = sample.evaluation().measurands[0].assigned_value.as_ref().unwrap().value;
    assert_eq!(cell("x_pt"), &Value::Number(published));
    assert_eq!(data.left_out.laboratories, None, "one without consent is not told");
}

#[test]
fn decisions_are_told_in_words_and_days_and_only_of_laboratories_in_the_package() {
    let mut sample = twenty();
    let codes: Vec<String> = sample.answers.keys().cloned().collect();
    sample.consents.remove(&codes[3]);
    let decided = |code: Option<&String>, topic, kind, cause| Decided {
        code: code.cloned(),
        measurand: "B/nitrate".to_owned(),
        topic,
        kind,
        cause,
        at: at("2027-04-02T07:59:59Z"),
    };
    let decisions = [
        decided(Some(&codes[3]), "result", "blunder", "unit"),
        decided(Some(&codes[4]), "result", "blunder", "dilution"),
        decided(None, "homogeneity", "as_planned", ""),
    ];

    let data = sample.build(&decisions).unwrap();

    let told = rows(&data, "decisions");
    let words: Vec<Vec<&str>> = told.iter().map(|row| row[1..6].iter().map(Value::text).collect()).collect();
    assert_eq!(
        words,
        [["B", "nitrate", "homogeneity", "as_planned", ""], ["B", "nitrate", "result", "blunder", "dilution"]]
    );
    // 32 days less a second after the opening at 08:00.
    assert!(told.iter().all(|row| row[6] == Value::Count(31)), "{told:?}");
    assert!(told[1][0].text().starts_with("lab-"));
}

#[test]
fn fewer_than_five_consents_give_no_package() {
    let mut sample = twenty();
    let four: BTreeSet<String> = sample.consents.iter().take(4).cloned().collect();
    sample.consents = four;
    assert_eq!(sample.build(&[]), Err(Refused::Few));
    assert!(twenty().build(&[]).is_ok());
}
