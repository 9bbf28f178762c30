//! Tables of method groups: what is shown, what is compared, what is not.

use roundel_domain::evaluation::{RoundEvaluation, evaluate};
use roundel_domain::methods::{Answers, Compared, Factor, Group, Line, Methods, Name, Shown, Together, Why};
use roundel_domain::package::{RoundPackage, parse};
use serde_json::{Value, json};

/// A laboratory: its calibration, its standard, and its result.
type Laboratory<'a> = (&'a str, &'a str, Value);

struct Made {
    package: RoundPackage,
    evaluation: RoundEvaluation,
    answers: Answers,
}

impl Made {
    /// One measurand with σ_pt 100.
    fn of(laboratories: &[Laboratory<'_>]) -> Made {
        let code = |number: usize| format!("L{number:02}");
        let result = |(number, (_, _, result)): (usize, &Laboratory<'_>)| {
            let mut row = json!({ "participant": code(number), "measurand": "B/x" });
            let kind = if result.is_string() { "below" } else { "values" };
            let limit = |text: &str| json!(text.trim_start_matches('<').parse::<f64>().expect("a limit"));
            row[kind] = result.as_str().map_or_else(|| json!([result]), limit);
            row
        };
        let text = json!({
            "format": "round-package/1",
            "round": { "code": "R-1", "title": "Water" },
            "measurands": [{
                "id": "B/x", "item": "B", "analyte": "x", "unit": "ng/L",
                "assigned_value": { "basis": "formulation", "value": 400, "standard_uncertainty": 4 },
                "sigma_pt": { "basis": "prescribed", "value": 100 }, "scores": ["z"]
            }],
            "results": laboratories.iter().enumerate().map(result).collect::<Vec<_>>()
        });
        let package = parse(&text.to_string()).expect("a valid package");
        let answers = laboratories
            .iter()
            .enumerate()
            .map(|(number, (calibration, standard, _))| {
                let given = [("calibration", calibration), ("standard", standard)];
                let given = given.into_iter().filter(|(_, answer)| !answer.is_empty());
                (code(number), given.map(|(q, a)| (q.to_owned(), (*a).to_owned())).collect())
            })
            .collect();
        Made { evaluation: evaluate(&package, "test"), package, answers }
    }

    fn methods(&self) -> Methods<'_> {
        Methods::new(&self.package, &self.evaluation, &self.answers, 5)
    }

    fn line(&self, factor: Factor) -> Line {
        let mut lines = self.methods().table(factor, "B");
        assert_eq!(lines.len(), 1);
        lines.remove(0)
    }

    fn groups(&self, factor: Factor) -> Vec<Group> {
        match self.line(factor).shown {
            Shown::Groups(groups) => groups,
            other => panic!("no groups: {other:?}"),
        }
    }
}

fn answer(word: &str) -> Name {
    Name::Answers(vec![word.to_owned()])
}

const IN_SOLVENT: [f64; 8] = [173.13, 115.06, 142.89, 150.99, 144.13, 128.82, 177.35, 129.16];
const LABELLED: [f64; 19] = [
    528.29, 382.61, 478.34, 547.07, 289.78, 367.48, 377.67, 431.52, 367.1, 201.05, 216.17, 479.41, 365.54, 262.31,
    374.97, 472.03, 519.66, 356.87, 368.99,
];

fn two_modes() -> Vec<Laboratory<'static>> {
    let low = IN_SOLVENT.iter().map(|x| ("in_solvent", "no_standard", json!(x)));
    low.chain(LABELLED.iter().map(|x| ("isotope_dilution", "labelled_each", json!(x)))).collect()
}

/// The data of case L02 of tests/reference/groups.json, computed with R; σ_pt is
/// 100.
#[test]
fn a_group_apart_is_found_with_its_interval() {
    let made = Made::of(&two_modes());
    let groups = made.groups(Factor::Calibration);

    assert_eq!(
        groups.iter().map(|g| (g.name.clone(), g.laboratories)).collect::<Vec<_>>(),
        [(answer("isotope_dilution"), 19), (answer("in_solvent"), 8)]
    );
    assert_eq!(groups[0].compared, Compared::Not(Why::OtherLine));
    // By hand: (142.89 + 144.13)/2.
    assert_eq!(groups[1].median, Some(143.51));
    assert_eq!(groups[0].median, Some(374.97));
    assert!(groups[1].robust_sd.is_some_and(|sd| (10.0..40.0).contains(&sd)));
    let Compared::Found(found) = groups[1].compared else { panic!("{:?}", groups[1].compared) };
    for (got, expected) in [(found.in_sigma, -2.383), (found.low, -3.2842), (found.high, -1.9241)] {
        assert!((got - expected).abs() < 1e-9, "{got}, expected {expected}");
    }
    assert!((found.p_value / 9.008_704_660_878_57e-7 - 1.0).abs() < 1e-8, "{}", found.p_value);
    assert_eq!(found.adjusted, found.p_value);
    assert!(found.explains());
}

#[test]
fn answers_that_go_together_are_named() {
    let made = Made::of(&two_modes());
    let pair = |one: &str, other: &str| Together {
        one: (Factor::Calibration, one.to_owned()),
        other: (Factor::Standard, other.to_owned()),
        wholly: true,
    };

    let mut expected = vec![pair("isotope_dilution", "labelled_each"), pair("in_solvent", "no_standard")];
    assert_eq!(made.methods().together(), expected);
    // One of the eight says otherwise: 7 of 8 is above four fifths.
    let mut mixed = two_modes();
    mixed[0].1 = "labelled_some";
    expected.iter_mut().for_each(|pair| pair.wholly = false);
    expected[0].wholly = true;
    assert_eq!(Made::of(&mixed).methods().together(), expected);
}

/// The same one laboratory: the seven without a standard beside the eight that
/// calibrate in solvent would tell its result, so the eight stay together.
#[test]
fn a_second_question_does_not_tell_of_one_laboratory() {
    let mut mixed = two_modes();
    mixed[0].1 = "labelled_some";
    let made = Made::of(&mixed);

    assert_eq!(made.groups(Factor::Calibration).len(), 2);
    let names: Vec<_> = made.groups(Factor::Standard).into_iter().map(|g| (g.name, g.laboratories)).collect();
    assert_eq!(names, [(answer("labelled_each"), 19), (Name::Other, 8)]);
}

#[test]
fn who_does_not_say_is_a_group_that_is_not_compared() {
    let mut some = two_modes();
    some[20..26].iter_mut().for_each(|laboratory| (laboratory.0, laboratory.1) = ("", ""));
    let groups = Made::of(&some).groups(Factor::Calibration);

    let names: Vec<_> = groups.iter().map(|g| (g.name.clone(), g.laboratories)).collect();
    assert_eq!(names, [(answer("isotope_dilution"), 13), (answer("in_solvent"), 8), (Name::NotStated, 6)]);
    assert!(matches!(groups[0].compared, Compared::Found(_)));
    assert_eq!(groups[2].compared, Compared::Not(Why::NoGroup));
}

/// Three of eleven are more than a quarter, two of ten are not; behind four values
/// no median is told.
#[test]
fn groups_with_many_results_below_a_limit_are_not_compared() {
    let with = |values: usize, below: usize| {
        let mut all: Vec<Laboratory<'_>> = (0..values).map(|n| ("in_solvent", "", json!(150 + n))).collect();
        all.extend((0..below).map(|_| ("in_solvent", "", json!("<50"))));
        all.extend((0..15).map(|n| ("isotope_dilution", "", json!(390 + n))));
        let groups = Made::of(&all).groups(Factor::Calibration);
        groups.into_iter().filter(|group| group.name == answer("in_solvent")).collect::<Vec<_>>().remove(0)
    };

    let many = with(8, 3);
    assert_eq!((many.laboratories, many.values, many.censored, many.false_negatives), (11, 8, 3, 3));
    assert_eq!(many.compared, Compared::Not(Why::Censored));
    assert!(matches!(with(8, 2).compared, Compared::Found(_)));
    let few = with(4, 5);
    assert_eq!((few.laboratories, few.values, few.median, few.robust_sd), (9, 4, None, None));
    assert_eq!(few.compared, Compared::Not(Why::FewValues));
}

#[test]
fn a_measurand_with_few_results_shows_no_groups() {
    let few: Vec<Laboratory<'_>> = (0..4).map(|n| ("in_solvent", "", json!(150 + n))).collect();
    let made = Made::of(&few);

    assert_eq!(made.line(Factor::Calibration).shown, Shown::FewResults);
    assert_eq!(made.methods().laboratories(Factor::Calibration), []);
}

#[test]
fn one_method_for_all_is_one_group_without_a_comparison() {
    let all: Vec<Laboratory<'_>> = (0..9).map(|n| ("in_solvent", "", json!(150 + n))).collect();
    let groups = Made::of(&all).groups(Factor::Calibration);

    assert_eq!(groups.len(), 1);
    assert_eq!((groups[0].laboratories, groups[0].compared), (9, Compared::Not(Why::NoGroup)));
}
