//! The precision of the method as a report prints it.

use crate::evaluated::Evaluated;
use roundel_documents::report::{FEWEST_SHOWN, Precision, PrecisionCell, PrecisionNumbers, PrecisionOf, PrecisionTest};
use roundel_domain::asks::PrecisionStudy;
use roundel_domain::evaluation::precision::{self, Interval, MeasurandPrecision, Outliers, TestOutcome, detail};
use roundel_domain::package::{Measurand as Plan, Reported, ReportedResult, RoundPackage};
use roundel_domain::performance::{mandel_h_lines, mandel_k_lines};
use roundel_domain::round::Round;
use std::collections::HashMap;

/// The precision of all measurands; none where the plan makes no study of it.
pub(super) fn precision(round: &Round, evaluated: &Evaluated) -> Option<Precision> {
    let study = round.asks.precision.as_ref()?;
    Some(of_package(&evaluated.package, study, &evaluated.evaluation.engine))
}

/// The precision of all measurands of a package.
pub(crate) fn of_package(package: &RoundPackage, study: &PrecisionStudy, engine: &str) -> Precision {
    let of = |outliers| precision::evaluate(package, outliers, engine).measurands;
    let (all, kept) = (of(Outliers::Keep), of(study.procedure.outliers()));
    let mut results: HashMap<&str, Vec<&ReportedResult>> = HashMap::new();
    for result in &package.results {
        results.entry(&result.measurand).or_default().push(result);
    }
    let measurands = package.measurands.iter().zip(all.iter().zip(&kept)).map(|(plan, (all, kept))| {
        let own = results.get(plan.id.as_str()).map_or(&[][..], Vec::as_slice);
        measurand(package, plan, own, (all, kept))
    });
    Precision {
        procedure: study.procedure.word().to_owned(),
        protocol: study.protocol.clone(),
        measurands: measurands.collect(),
    }
}

fn measurand(
    package: &RoundPackage,
    plan: &Plan,
    results: &[&ReportedResult],
    (all, kept): (&MeasurandPrecision, &MeasurandPrecision),
) -> PrecisionOf {
    let shown = PrecisionOf {
        item: plan.item.clone(),
        analyte: plan.analyte.clone(),
        unit: plan.unit.clone(),
        few: results.len() < FEWEST_SHOWN,
        cells: Vec::new(),
        h_lines: None,
        k_lines: None,
        all: PrecisionNumbers::default(),
        kept: None,
        tests: Vec::new(),
    };
    if shown.few {
        return shown;
    }
    let mut cells: Vec<PrecisionCell> = results.iter().map(|result| cell(result, kept)).collect();
    cells.sort_by(|a, b| a.code.cmp(&b.code));
    let any_aside = kept.laboratory_statistics.iter().any(|of| of.set_aside);
    PrecisionOf {
        cells,
        h_lines: mandel_h_lines(&kept.laboratory_statistics),
        k_lines: mandel_k_lines(&kept.laboratory_statistics),
        all: numbers(package, plan, all),
        kept: any_aside.then(|| numbers(package, plan, kept)),
        tests: kept.tests.iter().map(test).collect(),
        ..shown
    }
}

fn cell(result: &ReportedResult, kept: &MeasurandPrecision) -> PrecisionCell {
    let (values, below) = match &result.reported {
        Reported::Values(values) => (values.clone(), None),
        Reported::Below(limit) => (Vec::new(), Some(*limit)),
    };
    let counted = kept.laboratory_statistics.iter().find(|of| of.participant == result.participant);
    PrecisionCell {
        code: result.participant.clone(),
        values,
        below,
        mean: counted.map(|of| of.mean),
        sd: counted.and_then(|of| of.sd),
        h: counted.and_then(|of| of.mandel_h),
        k: counted.and_then(|of| of.mandel_k),
        left_out: result.exclude.clone().unwrap_or_default(),
        set_aside: counted.is_some_and(|of| of.set_aside),
    }
}

fn numbers(package: &RoundPackage, plan: &Plan, found: &MeasurandPrecision) -> PrecisionNumbers {
    let detail = detail(package, plan, found);
    let ends = |interval: Interval| [interval.low, interval.high];
    PrecisionNumbers {
        laboratories: found.laboratories,
        results: found.results,
        mean: found.mean,
        repeatability_sd: found.repeatability_sd,
        between_sd: found.between_laboratory_sd,
        reproducibility_sd: found.reproducibility_sd,
        total_sd: detail.total_sd,
        repeatability_interval: detail.repeatability.map(ends),
        reproducibility_interval: detail.reproducibility.map(ends),
        repeatability_limit: found.repeatability_limit,
        reproducibility_limit: found.reproducibility_limit,
        recovery: found.recovery_percent,
        recovery_uncertainty: detail.recovery_uncertainty_percent,
        horrat: found.horrat,
        horrat_unmodified: found.horrat_unmodified,
    }
}

fn test(outcome: &TestOutcome) -> PrecisionTest {
    PrecisionTest {
        test: outcome.test.word().to_owned(),
        codes: outcome.participants.clone(),
        statistic: outcome.statistic,
        critical: outcome.critical(),
        finding: outcome.word().to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use roundel_documents::number;
    use roundel_domain::asks::Procedure;
    use roundel_domain::package::parse;
    use serde_json::Value;

    /// A package with its whole precision, computed apart from this project.
    const CASE: &str = "trial";

    fn golden(name: &str, kind: &str) -> String {
        let path = format!("{}/../../tests/reference/golden/{name}.{kind}.json", env!("CARGO_MANIFEST_DIR"));
        std::fs::read_to_string(path).expect("a golden file")
    }

    #[test]
    fn a_report_prints_the_precision_that_was_computed_apart() {
        let case = CASE;
        let package = parse(&golden(case, "package")).expect("a package");
        let expected: Value = serde_json::from_str(&golden(case, "precision")).expect("JSON");
        let study = PrecisionStudy { procedure: Procedure::Iso, protocol: "as published".to_owned() };
        let found = of_package(&package, &study, "roundel test");
        assert_eq!(found.measurands.len(), package.measurands.len());
        for (of, expected) in found.measurands.iter().zip(expected["measurands"].as_array().expect("a list")) {
            let numbers = of.kept.as_ref().unwrap_or(&of.all);
            for (name, value) in [
                ("mean", numbers.mean),
                ("repeatability_sd", numbers.repeatability_sd),
                ("reproducibility_sd", numbers.reproducibility_sd),
                ("repeatability_limit", numbers.repeatability_limit),
                ("reproducibility_limit", numbers.reproducibility_limit),
                ("recovery_percent", numbers.recovery),
                ("horrat", numbers.horrat),
            ] {
                let shown = |value: f64| number::significant(value, 6);
                assert_eq!(value.map(shown), expected[name].as_f64().map(shown), "{case} {}: {name}", of.analyte);
            }
            assert_eq!(numbers.laboratories as u64, expected["laboratories"].as_u64().expect("a number"));
            assert_eq!(of.tests.len(), expected["tests"].as_array().expect("a list").len());
            let aside = expected["laboratory_statistics"].as_array().expect("a list");
            let aside = aside.iter().filter(|one| one["set_aside"] == true).count();
            assert_eq!(of.cells.iter().filter(|cell| cell.set_aside).count(), aside, "{case}");
        }
    }

    #[test]
    fn fewer_than_five_laboratories_are_shown_nothing_of_each_other() {
        let mut package = parse(&golden(CASE, "package")).expect("a package");
        let first = package.measurands[0].id.clone();
        let mut kept = 0;
        package.results.retain(|result| {
            kept += usize::from(result.measurand == first);
            result.measurand != first || kept <= 4
        });
        let study = PrecisionStudy { procedure: Procedure::Harmonised, protocol: "as published".to_owned() };
        let found = of_package(&package, &study, "roundel test");
        let few = &found.measurands[0];
        assert!(few.few && few.cells.is_empty() && few.tests.is_empty() && few.all.mean.is_none(), "{few:?}");
    }
}
