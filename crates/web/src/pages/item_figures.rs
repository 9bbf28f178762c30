//! The figures of a study.

pub use super::figures::Drawn;
use super::item_words::Study;
use roundel_documents::figure::study::{self, StudyPoint};
use roundel_documents::figure::{NARROW, WIDE};
use roundel_documents::number;
use roundel_domain::study::verdict::{HomogeneityReport, Line, StabilityReport};
use roundel_domain::study::{Homogeneity, Stability};

fn drawn(study: &Study<'_>, figure: study::Study) -> Drawn {
    let narrow = study::Study { id: format!("{}-narrow", figure.id), width: NARROW, ..figure.clone() };
    Drawn {
        wide: study::render(&figure, &study.f.w),
        narrow: study::render(&narrow, &study.f.w),
        caption: figure.caption,
    }
}

fn ends(line: &Line, points: &[StudyPoint]) -> Option<[(f64, f64); 2]> {
    let low = points.iter().map(|point| point.x).fold(f64::INFINITY, f64::min);
    let high = points.iter().map(|point| point.x).fold(f64::NEG_INFINITY, f64::max);
    (low < high).then(|| [(low, line.at(low)), (high, line.at(high))])
}

/// Two limits around a mean, with their names.
fn limits(study: &Study<'_>, centre: f64, multiple: f64) -> Vec<(f64, String)> {
    let Some((sigma, _)) = study.sigma else { return Vec::new() };
    let name = |sign: f64| study.f.t1("figure-study-limit", "multiple", number::signed(sign * multiple, 1));
    vec![(centre + multiple * sigma, name(1.0)), (centre - multiple * sigma, name(-1.0))]
}

/// Means of the units in the order of filling.
pub fn homogeneity(study: &Study<'_>, data: &Homogeneity, report: &HomogeneityReport) -> Drawn {
    let f = study.f;
    let points: Vec<StudyPoint> = data
        .units
        .iter()
        .map(|unit| {
            let [one, two] = unit.pair();
            StudyPoint { x: unit.number as f64, y: unit.mean(), span: Some((one.min(two), one.max(two))), other: false }
        })
        .collect();
    let mean = report.duplicates.map(|found| found.mean);
    let low = points.iter().map(|point| point.y).fold(f64::INFINITY, f64::min);
    let high = points.iter().map(|point| point.y).fold(f64::NEG_INFINITY, f64::max);
    let with_unit = |value: f64| number::with_unit(&number::significant(value, 3), study.unit);
    let caption = f.t3("figure-units-caption", "count", points.len(), "low", with_unit(low), "high", with_unit(high));
    let trend = report.filling.filter(|trend| trend.is_significant);
    let limits = mean.map(|mean| limits(study, mean, 0.6)).unwrap_or_default();
    let mut notes = Vec::new();
    if !limits.is_empty() {
        notes.push(f.t("figure-units-limits"));
    }
    if trend.is_some() {
        notes.push(f.t("figure-units-line"));
    }
    drawn(
        study,
        study::Study {
            id: "units".to_owned(),
            title: f.t1("figure-units-title", "name", study.name),
            caption,
            unit: study.unit.to_owned(),
            below: f.t("figure-units-below"),
            centre: mean.map(|mean| (mean, f.t("figure-units-mean"))),
            limits,
            line: trend.and_then(|trend| ends(&trend.line, &points)),
            notes,
            points,
            width: WIDE,
        },
    )
}

/// Means of the units over days.
pub fn stability(study: &Study<'_>, data: &Stability, report: &StabilityReport) -> Drawn {
    let f = study.f;
    let first = data.first_day();
    let storage = data.storage();
    let points: Vec<StudyPoint> = data
        .points
        .iter()
        .map(|point| {
            let values = point.values.iter().map(|value| value.value());
            let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(x), h.max(x)));
            StudyPoint {
                x: point.day.value(),
                y: point.mean(),
                span: (low < high).then_some((low, high)),
                other: point.day.value() > first && storage != Some(point.condition.as_str()),
            }
        })
        .collect();
    let of_storage = report.conditions.iter().find(|condition| condition.is_storage);
    let start = report.conditions.first().map(|condition| condition.means.0);
    let trend = of_storage.and_then(|condition| condition.trend);
    let mut notes = Vec::new();
    let limits = start.map(|start| limits(study, start, 0.3)).unwrap_or_default();
    if !limits.is_empty() {
        notes.push(f.t("figure-days-limits"));
    }
    if let (Some(_), Some(condition)) = (trend, of_storage) {
        notes.push(f.t1("figure-days-line", "condition", &condition.condition));
    }
    let others: Vec<&str> = data.conditions().into_iter().filter(|condition| storage != Some(*condition)).collect();
    if !others.is_empty() {
        notes.push(f.t1("figure-days-other", "conditions", others.join(", ")));
    }
    let caption = match of_storage {
        Some(condition) => f.t3(
            "figure-days-caption",
            "condition",
            &condition.condition,
            "day",
            number::plain(condition.last_day),
            "change",
            number::with_unit(&super::item_words::signed(condition.comparison.difference), study.unit),
        ),
        None => f.t1("figure-days-title", "name", study.name),
    };
    drawn(
        study,
        study::Study {
            id: "days".to_owned(),
            title: f.t1("figure-days-title", "name", study.name),
            caption,
            unit: study.unit.to_owned(),
            below: f.t("figure-days-below"),
            centre: start.map(|start| (start, f.t("figure-days-start"))),
            limits,
            line: trend.and_then(|trend| ends(&trend.line, &points)),
            notes,
            points,
            width: WIDE,
        },
    )
}
