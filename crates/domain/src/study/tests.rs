use super::verdict::{self, Verdict};
use super::*;
use crate::import::{File, KnownMeasurand};
use crate::plan::Plan;

/// Copper in soya flour: 12 units in duplicate, with their published
/// intermediate values (IUPAC harmonised protocol 2006, Pure Appl. Chem. 78,
/// 145–196, appendix 1; data recalled from memory, arithmetic consistent).
const SOYA: [[&str; 2]; 12] = [
    ["10.5", "10.4"],
    ["9.6", "9.5"],
    ["10.4", "9.9"],
    ["9.5", "9.9"],
    ["10.0", "9.7"],
    ["9.6", "10.1"],
    ["9.8", "10.4"],
    ["9.8", "10.2"],
    ["10.8", "10.7"],
    ["10.2", "10.0"],
    ["9.8", "9.5"],
    ["10.2", "10.0"],
];

fn soya() -> Homogeneity {
    let lines: Vec<String> =
        SOYA.iter().enumerate().map(|(place, [one, two])| format!("{}\t{one}\t{two}", place + 1)).collect();
    Homogeneity { method: String::new(), units: read_homogeneity(&lines.join("\n")).unwrap() }
}

#[test]
fn the_published_example_comes_out_as_published() {
    let report = verdict::homogeneity(&soya(), Some(1.1));

    let found = report.duplicates.unwrap();
    // s_an² = 0.061 25 and s_sam² = 0.085 038: arithmetic of the example.
    assert!((found.within_sd - 0.247_487_373_415_291_56).abs() < 1e-12);
    assert!((found.between_sd - 0.291_612_549_091_905_1).abs() < 1e-12);
    let cochran = report.cochran.unwrap();
    assert!((cochran.statistic - 0.244_897_959_183_673_32).abs() < 1e-12);
    // c = F1 × 0.1089 + F2 × 0.061 25 with exact quantiles.
    assert!((report.expanded_limit.unwrap().powi(2) - 0.247_377_137_349_351_57).abs() < 1e-9);
    // 0.2916 is below 0.33.
    assert_eq!(report.verdict, Verdict::Simple);
    assert_eq!((report.has_run, report.run), (false, None), "no order of measurement, no test over it");
    assert_eq!(report.widest, Some(7), "0.6 between the duplicates of the seventh");
    let strict = |sigma| verdict::homogeneity(&soya(), Some(sigma)).verdict;
    assert_eq!((strict(0.8), strict(0.4)), (Verdict::Expanded, Verdict::Insufficient));
}

#[test]
fn few_units_are_not_a_test_and_no_sigma_is_no_verdict() {
    let mut study = soya();
    assert_eq!(verdict::homogeneity(&study, None).verdict, Verdict::NoSigma);
    study.units.truncate(6);

    let report = verdict::homogeneity(&study, Some(1.1));

    assert_eq!(report.verdict, Verdict::NotATest);
    let (low, high) = report.interval.unwrap();
    assert!(low <= report.duplicates.unwrap().between_sd && report.duplicates.unwrap().between_sd < high);
    assert_eq!((report.power, report.expanded_limit), (None, None));
    study.units.truncate(1);
    assert_eq!(verdict::homogeneity(&study, Some(1.1)).duplicates, None);
}

#[test]
fn a_trend_over_the_filling_is_found_and_its_uncertainty_offered() {
    let lines: Vec<String> = (1..=10).map(|n| format!("{n};{};{};{}", 11 - n, 100 + n, 100 + n)).collect();
    let study = Homogeneity { method: String::new(), units: read_homogeneity(&lines.join("\n")).unwrap() };

    let report = verdict::homogeneity(&study, Some(25.0));

    let filling = report.filling.unwrap();
    assert!(filling.is_significant && (filling.range - 9.0).abs() < 1e-9);
    assert!((report.run.unwrap().range + 9.0).abs() < 1e-9);
    assert!(!report.run_is_filling);
    // s_s of 1 to 10 is √(55/6) = 3.03, more than 9/(2√3) = 2.60.
    assert!((report.offered_uncertainty().unwrap() - (55.0_f64 / 6.0).sqrt()).abs() < 1e-9);
    assert_eq!(report.power, None, "duplicates without any difference say nothing of a power");
}

#[test]
fn every_mistake_of_a_pasted_table_is_told_by_its_line() {
    let told = |text: &str| -> Vec<(usize, &'static str)> {
        let problems = read_homogeneity(text).unwrap_err();
        problems.iter().map(|problem| (problem.line, problem.problem.key)).collect()
    };

    let text = "unit;run;value 1;value 2\n1;3;10,5;10.4\n\n2;x;1.250;n.d.\n1;3;9;9\n4;5;6\n5;6;-1;2";
    assert_eq!(
        told(text),
        [
            (4, "study-whole-number"),
            (4, "problem-file-number-ambiguous"),
            (4, "problem-number-word"),
            (6, "study-columns-differ"),
            (7, "problem-number-below-zero"),
            (5, "study-unit-twice"),
            (5, "study-run-twice"),
        ]
    );
    assert_eq!(told(" \n"), [(0, "study-empty")]);
    assert_eq!(told("1;2"), [(1, "study-columns")]);
    assert_eq!(told("n.d.;n.d.;n.d.").len(), 3, "no heading: nothing is dropped");
    let units = read_homogeneity("2\t1\t1,5\t1,6\t\n1\t2\t1.4\t1.5").unwrap();
    assert_eq!(units.iter().map(|unit| (unit.number, unit.run)).collect::<Vec<_>>(), [(1, Some(2)), (2, Some(1))]);
    assert_eq!(units[1].pair(), [1.5, 1.6]);
}

#[test]
fn what_is_written_reads_back() {
    let mut study = soya();
    assert_eq!(read_homogeneity(&write_homogeneity(&study)).unwrap(), study.units);
    study.units[0].values[0] = Decimal::parse("1.2500", crate::number::Range::Any).unwrap();
    assert_eq!(read_homogeneity(&write_homogeneity(&study)).unwrap()[0].pair()[0], 1.25);
    let points = read_stability("4 °C, 0, 100, 101\n4 °C, 28, 95.5").unwrap();
    let study = Stability { method: String::new(), began_on: "2027-03-01".parse().unwrap(), points };
    assert_eq!(read_stability(&write_stability(&study)).unwrap(), study.points);
}

fn course(lines: &str) -> Stability {
    let points = read_stability(lines).unwrap();
    Stability { method: String::new(), began_on: "2027-03-01".parse().unwrap(), points }
}

/// By hand: units 100 and 102 before, 93 and 95 after, so −7 with
/// u = √(2/2 + 2/2); 0.3 × 25 = 7.5 and 0.3 × 15 = 4.5.
#[test]
fn units_are_compared_by_their_means_and_each_condition_with_the_start() {
    let study = course("4 °C;0;99;101\n4 °C;0;102\n4 °C;14;97\n4 °C;28;93\n4 °C;28;94;96\n25 °C;3;101;101");
    let deadline = |text: &str| text.parse().unwrap();

    let report = verdict::stability(&study, Some(25.0), deadline("2027-03-29"));

    let [cold, warm] = report.conditions.as_slice() else { panic!("{:?}", report.conditions) };
    assert_eq!((cold.condition.as_str(), cold.is_storage, cold.units), ("4 °C", true, (2, 2)));
    assert_eq!(cold.comparison.difference, -7.0);
    assert!((cold.comparison.standard_uncertainty.unwrap() - 2.0_f64.sqrt()).abs() < 1e-12);
    assert_eq!(cold.verdict, Verdict::Simple);
    assert!((cold.offered_uncertainty() - 7.0 / 3.0_f64.sqrt()).abs() < 1e-9);
    assert!(cold.trend.unwrap().is_significant && warm.trend.is_none());
    assert_eq!((warm.condition.as_str(), warm.comparison.difference, warm.is_storage), ("25 °C", 0.0, false));
    assert_eq!((report.ends_early, report.shown_until), (false, Some(deadline("2027-03-29"))));
    assert!(verdict::stability(&study, Some(25.0), deadline("2027-03-30")).ends_early);
    let by = |sigma| verdict::stability(&study, sigma, deadline("2027-03-29")).verdict;
    assert_eq!(
        (by(Some(15.0)), by(Some(10.0)), by(None)),
        (Verdict::Expanded, Verdict::Insufficient, Verdict::NoSigma)
    );
    assert_eq!(study.storage(), Some("4 °C"));
}

#[test]
fn a_study_of_one_day_and_lines_without_values_are_refused() {
    let keys = |text: &str| -> Vec<(usize, &'static str)> {
        read_stability(text).unwrap_err().iter().map(|problem| (problem.line, problem.problem.key)).collect()
    };
    assert_eq!(keys("4 °C;0;1\n4 °C;0;2"), [(0, "study-one-day")]);
    assert_eq!(
        keys("condition;day;value 1\n4 °C;0\n;x;1"),
        [(2, "study-columns-stability"), (3, "text-missing"), (3, "problem-number-letters")]
    );
}

fn known() -> Vec<KnownMeasurand> {
    let one = |item: &str, analyte: &str| KnownMeasurand {
        item: item.to_owned(),
        analyte: analyte.to_owned(),
        unit: "ng/L".to_owned(),
    };
    vec![one("A", "citalopram"), one("B", "citalopram")]
}

#[test]
fn a_file_holds_studies_of_many_measurands() {
    let file = "item,analyte,unit,number,run,value_1,value_2\n\
        B,citalopram,ng/L,2,1,88.1,89\nA,citalopram,ng/L,1,,12.1,12.4\nB,Citalopram,ng/L,1,2,87,86.5\n";
    let read = crate::import::homogeneity(&File::read(file.as_bytes()), &known()).unwrap();
    assert_eq!(read.len(), 2);
    assert_eq!(read[&1].iter().map(|unit| unit.number).collect::<Vec<_>>(), [1, 2]);
    assert_eq!(read[&0][0].run, None);
    let file = "item,analyte,unit,began_on,condition,day,value_1,value_2\n\
        A,citalopram,ng/L,2024-03-01,4 °C,0,12,13\nA,citalopram,ng/L,2024-03-01,4 °C,28,12,\n";
    let read = crate::import::stability(&File::read(file.as_bytes()), &known()).unwrap();
    assert_eq!((read[&0].0, read[&0].1.len()), ("2024-03-01".parse().unwrap(), 2));

    let keys = |file: &str| -> Vec<(usize, &'static str)> {
        let problems = crate::import::homogeneity(&File::read(file.as_bytes()), &known()).unwrap_err();
        problems.iter().map(|problem| (problem.line, problem.problem.key)).collect()
    };
    let file = "item,analyte,unit,number,run,value_1,value_2\n\
        A,citalopram,µg/L,1,1,1,2\nA,citalopram,ng/L,1.5,1,1,2\nA,aspirin,ng/L,1,1,,2\n";
    assert_eq!(
        keys(file),
        [
            (2, "problem-file-unit"),
            (3, "study-whole-number"),
            (4, "problem-file-analyte-unknown"),
            (4, "problem-cell-empty")
        ]
    );
    let file = "item,analyte,unit,number,run,value_1,value_2\nA,citalopram,ng/L,1,,1,2\nA,citalopram,ng/L,1,1,1,2\n";
    assert_eq!(keys(file), [(3, "study-unit-twice"), (2, "study-run-missing")]);
}

/// 25 % of 120; 0.22 × content below a mass fraction of 1.2e-7 (Thompson 2000).
#[test]
fn a_relative_sigma_is_that_of_the_best_known_level() {
    use super::sigma::{Level, SigmaFrom, sigma_pt};
    use crate::plan::{Asked, PlanForm};
    let plan = |route: &str, sigma_route: &str, sigma: &str| {
        let given = if route == "formulation" { ("120", "2") } else { ("", "") };
        let form = PlanForm {
            route: route.to_owned(),
            value: given.0.to_owned(),
            standard_uncertainty: given.1.to_owned(),
            sigma_route: sigma_route.to_owned(),
            sigma: sigma.to_owned(),
            ..PlanForm::default()
        };
        form.parse(Asked { unit: "ng/L", has_required_loq: false, uncertainty: false }).unwrap()
    };
    let all = Level { evaluated: Some(28.0), prepared: Some(100.0), mean: Some(90.0) };
    let of = |plan: &Plan, level| sigma_pt(Some(plan), "ng/L", level);

    assert_eq!(of(&plan("formulation", "percent", "25"), all), Some((30.0, SigmaFrom::Plan)));
    assert_eq!(of(&plan("algorithm_a", "prescribed", "9"), all), Some((9.0, SigmaFrom::Plan)));
    let consensus = plan("algorithm_a", "percent", "25");
    assert_eq!(of(&consensus, all), Some((28.0, SigmaFrom::Evaluation)));
    assert_eq!(of(&consensus, Level { evaluated: None, ..all }), Some((25.0, SigmaFrom::Preparation)));
    let mean = Level { mean: Some(90.0), ..Level::default() };
    assert_eq!(of(&consensus, mean), Some((22.5, SigmaFrom::Study)));
    let (horwitz, _) = of(&plan("algorithm_a", "horwitz", ""), mean).unwrap();
    assert!((horwitz - 19.8).abs() < 1e-9, "{horwitz}");
    assert_eq!(of(&consensus, Level::default()), None);
    assert_eq!(sigma_pt(None, "ng/L", all), None);
}
