//! A round read as a collaborative trial, for the organiser's staff: precision with all
//! laboratories and without outliers, the tests in their order, Mandel's h and k, and
//! precision against level, analyte by analyte (F93 to F95).

use super::charts::Charted;
use super::evaluation::shown;
use super::{Frame, ok, reviewed_round};
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::extract::{Path, Person, Query};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_documents::figure::Audience;
use roundel_documents::figure::mandel::{self, Level, Mandel, MandelPoint, Statistic};
use roundel_documents::figure::precision_level::{self, PrecisionLevel, PrecisionPoint};
use roundel_documents::number;
use roundel_domain::asks::Procedure;
use roundel_domain::evaluation::precision::{
    self, Interval, LaboratoryStatistics, MeasurandPrecision, Outliers, TestOutcome, detail,
};
use roundel_domain::package::{Measurand, RoundPackage};
use roundel_domain::performance::{mandel_h_lines, mandel_k_lines};
use roundel_domain::round::Round;
use roundel_store::{measurands, rounds};
use serde::Deserialize;

/// An analyte to choose.
struct Choice {
    name: String,
    chosen: bool,
}

#[derive(Template)]
#[template(path = "evaluation/precision.html")]
struct PrecisionPage {
    f: Frame,
    round: Round,
    choices: Vec<Choice>,
    analyte: String,
    lines: Vec<Line>,
    /// No laboratory has more than one value of an item.
    single: bool,
    /// What the plan says of a study of precision.
    protocol: Option<String>,
    tested: Vec<Tested>,
    /// Levels of the tests, in percent.
    levels: &'static [&'static str],
    tests_note: String,
    charts: Vec<Charted>,
}

/// Precision in one item, with all laboratories or without those set aside.
struct Line {
    item: String,
    laboratories: String,
    numbers: Vec<String>,
}

/// A test of outlying laboratories.
struct Tested {
    item: String,
    test: String,
    laboratories: String,
    statistic: String,
    /// A critical value for each level.
    critical: Vec<String>,
    finding: String,
}

/// Which analyte a page shows.
#[derive(Debug, Default, Deserialize)]
pub struct Shown {
    #[serde(default)]
    analyte: String,
}

/// `GET /rounds/{code}/precision`.
///
/// # Errors
///
/// [`Error::NotFound`] for laboratories; a conflict before the round is closed.
pub async fn page(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    Query(wanted): Query<Shown>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    if round.state.closed_at().is_none() {
        return Err(Error::conflict("conflict-not-closed"));
    }
    let f = Frame::of(&app, &person);
    let evaluated = shown(&app, &mut tx, &round, &person.actor).await?.map(|(evaluated, _)| evaluated);
    let items = rounds::items(&mut tx, round.id).await?;
    let asked = measurands::of_round(&mut tx, round.id).await?;
    drop(tx);
    let position = |plan: &Measurand| {
        let item = items.iter().find(|item| item.label == plan.item)?;
        Some(asked.iter().find(|m| m.item == item.id && m.analyte == plan.analyte)?.position)
    };
    let mut names: Vec<String> = Vec::new();
    for plan in evaluated.iter().flat_map(|evaluated| &evaluated.package.measurands) {
        if !names.contains(&plan.analyte) {
            names.push(plan.analyte.clone());
        }
    }
    let procedure = round.asks.precision.as_ref().map_or(Procedure::Iso, |study| study.procedure);
    let levels: &[&str] = match procedure {
        Procedure::Iso => &["5", "1"],
        Procedure::Harmonised => &["2.5"],
    };
    let analyte = names.iter().find(|name| **name == wanted.analyte).or(names.first()).cloned().unwrap_or_default();
    let (mut lines, mut tested, mut drawn, mut single) = (Vec::new(), Vec::new(), Vec::new(), false);
    if let Some(evaluated) = evaluated {
        let package = part(&evaluated.package, &analyte);
        let of = |outliers| precision::evaluate(&package, outliers, &evaluated.evaluation.engine).measurands;
        let (all, kept) = (of(Outliers::Keep), of(procedure.outliers()));
        for ((plan, all), kept) in package.measurands.iter().zip(&all).zip(&kept) {
            lines.extend(lines_of(&f, &package, plan, (all, kept)));
            tested.extend(kept.tests.iter().map(|test| Tested::of(&f, plan, test)));
        }
        single = all.iter().all(|one| one.repeatability_sd.is_none());
        drawn = charts(&f, &round, &evaluated, (&package, &all), position);
    }
    let choices = names.into_iter().map(|name| Choice { chosen: name == analyte, name }).collect();
    let protocol = round.asks.precision.as_ref().map(|study| {
        let key = format!("plan-asks-precision-{}", study.procedure.word());
        f.t1(&key, "protocol", &study.protocol)
    });
    let tests_note = f.t(&format!("precision-tests-note-{}", procedure.word()));
    ok(&PrecisionPage {
        f,
        round,
        choices,
        analyte,
        protocol,
        lines,
        single,
        tested,
        levels,
        tests_note,
        charts: drawn,
    })
}

/// Precision with all laboratories, and below it without those that are set aside,
/// where there are any; none where there are no numbers.
fn lines_of(
    f: &Frame,
    package: &RoundPackage,
    plan: &Measurand,
    (all, kept): (&MeasurandPrecision, &MeasurandPrecision),
) -> Vec<Line> {
    if all.mean.is_none() {
        return Vec::new();
    }
    let line = |of: &MeasurandPrecision, laboratories: String| {
        let detail = detail(package, plan, of);
        let with_interval = |value: Option<f64>, interval: Option<Interval>| match (value, interval) {
            (Some(value), Some(Interval { low, high })) => {
                let [value, low, high] = [value, low, high].map(|number| number::significant(number, 3));
                f.t3("precision-with-interval", "value", value, "low", low, "high", high)
            }
            (value, _) => plain(value, 3),
        };
        let recovery = match (of.recovery_percent, detail.recovery_uncertainty_percent) {
            (Some(recovery), Some(u)) => format!("{} ± {}", number::decimal(recovery, 1), number::decimal(u, 1)),
            (recovery, _) => recovery.map_or_else(none, |recovery| number::decimal(recovery, 1)),
        };
        Line {
            item: f.t1("item-name", "item", &plan.item),
            laboratories,
            numbers: vec![
                plain(of.mean, 3),
                with_interval(of.repeatability_sd, detail.repeatability),
                plain(of.between_laboratory_sd, 3),
                with_interval(of.reproducibility_sd.or(detail.total_sd), detail.reproducibility),
                plain(of.repeatability_limit, 3),
                plain(of.reproducibility_limit, 3),
                recovery,
                of.horrat.map_or_else(none, |ratio| number::decimal(ratio, 2)),
            ],
        }
    };
    let aside = kept.laboratory_statistics.iter().filter(|of| of.set_aside).count();
    let mut lines = vec![line(all, f.t1("precision-all", "count", all.laboratories))];
    if aside > 0 {
        lines.push(line(kept, f.t2("precision-kept", "count", kept.laboratories, "aside", aside)));
    }
    lines
}

fn none() -> String {
    "–".to_owned()
}

fn plain(value: Option<f64>, digits: usize) -> String {
    value.map_or_else(none, |value| number::significant(value, digits))
}

impl Tested {
    fn of(f: &Frame, plan: &Measurand, test: &TestOutcome) -> Tested {
        Tested {
            item: f.t1("item-name", "item", &plan.item),
            test: f.t(&format!("precision-test-{}", test.test.word())),
            laboratories: test.participants.join(", "),
            statistic: number::decimal(test.statistic, 3),
            critical: test.critical().into_iter().map(|(_, value)| number::decimal(value, 3)).collect(),
            finding: f.t(&format!("precision-finding-{}", test.word())),
        }
    }
}

/// The part of a package that is about one analyte.
fn part(package: &RoundPackage, analyte: &str) -> RoundPackage {
    let mut part = package.clone();
    part.measurands.retain(|plan| plan.analyte == analyte);
    let kept = |id: &str| part.measurands.iter().any(|plan| plan.id == id);
    part.results = package.results.iter().filter(|result| kept(&result.measurand)).cloned().collect();
    part
}

fn charts(
    f: &Frame,
    round: &Round,
    evaluated: &Evaluated,
    (package, found): (&RoundPackage, &[MeasurandPrecision]),
    position: impl Fn(&Measurand) -> Option<i64>,
) -> Vec<Charted> {
    let analyte = package.measurands.first().map_or("", |plan| plan.analyte.as_str());
    let levels: Vec<(&Measurand, &MeasurandPrecision)> = package.measurands.iter().zip(found).collect();
    let statistics = [Statistic::H, Statistic::K].into_iter().filter_map(|statistic| {
        let levels: Vec<Level> = levels.iter().filter_map(|(plan, one)| level(f, plan, one, statistic)).collect();
        let figure = |width: u32| Mandel {
            id: format!("mandel-{}-{width}", if statistic == Statistic::H { "h" } else { "k" }),
            analyte: analyte.to_owned(),
            statistic,
            levels: levels.clone(),
            audience: Audience::Organiser,
            width,
        };
        (!levels.is_empty()).then(|| Charted::of(figure, &f.w, (mandel::render, mandel::caption, mandel::table)))
    });
    let mut charts: Vec<Charted> = statistics.collect();
    // Levels of one unit: others have no place on the axis.
    let unit = package.measurands.first().map(|plan| plan.unit.clone()).unwrap_or_default();
    let points: Vec<PrecisionPoint> = levels
        .iter()
        .filter(|(plan, one)| plan.unit == unit && one.reproducibility_sd.or(one.repeatability_sd).is_some())
        .filter_map(|(plan, one)| {
            Some(PrecisionPoint {
                name: f.t1("item-name", "item", &plan.item),
                level: one.mean.filter(|mean| *mean > 0.0)?,
                repeatability: one.repeatability_sd,
                reproducibility: one.reproducibility_sd,
                planned: evaluated.measurand(&plan.id).and_then(|(_, outcome)| outcome.sigma_pt),
                href: position(plan).map(|position| format!("/rounds/{}/review/{position}", round.code)),
            })
        })
        .collect();
    if !points.is_empty() {
        let figure = |width: u32| PrecisionLevel {
            id: format!("precision-{width}"),
            analyte: analyte.to_owned(),
            unit: unit.clone(),
            levels: points.clone(),
            width,
        };
        charts.push(Charted::of(
            figure,
            &f.w,
            (precision_level::render, precision_level::caption, precision_level::table),
        ));
    }
    charts
}

fn level(f: &Frame, plan: &Measurand, one: &MeasurandPrecision, statistic: Statistic) -> Option<Level> {
    let value = |of: &LaboratoryStatistics| match statistic {
        Statistic::H => of.mandel_h,
        Statistic::K => of.mandel_k,
    };
    let all = &one.laboratory_statistics;
    let points: Vec<MandelPoint> = all
        .iter()
        .filter(|of| value(of).is_some())
        .map(|of| MandelPoint {
            code: of.participant.clone(),
            value: value(of),
            own: false,
            href: None,
            tooltip: value(of).map(|value| format!("{}: {}", of.participant, number::decimal(value, 2))),
        })
        .collect();
    let critical = match statistic {
        Statistic::H => mandel_h_lines(all),
        Statistic::K => mandel_k_lines(all),
    };
    let mean = one.mean.map(|mean| number::significant(mean, 3)).unwrap_or_default();
    let name = f.t3("precision-level", "item", &plan.item, "mean", mean, "unit", &plan.unit);
    (!points.is_empty()).then_some(Level { name, points, critical })
}
