//! What a study means (ISO 13528:2022 Annex B, from memory; IUPAC 2006; Fearn and
//! Thompson 2001): sufficient by the plain limit, only by the one that allows for
//! the uncertainty of the test, or not.

use super::{Homogeneity, Stability};
use jiff::civil::Date;
use roundel_stats::homogeneity::{self, Cochran, Criterion, Duplicates, FEWEST_UNITS};
pub use roundel_stats::regression::Line;
use roundel_stats::regression::least_squares;
use roundel_stats::{Sample, stability};

/// What s_w may be of σ_pt for the test to be of use (F15).
pub const WITHIN_WANTED: f64 = 0.5;
/// The standard deviation between units, in σ_pt, whose chance of being found is
/// printed (F15).
pub const POWER_AT: f64 = 0.6;
/// Significance of a trend.
const ALPHA: f64 = 0.05;
/// Without so many time points there is no test of the slope.
const FEWEST_DAYS: usize = 3;

/// Whether units are sufficiently alike, or stay sufficiently as they are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// By the plain limit, 0.3 σ_pt.
    Simple,
    /// Only by the expanded limit.
    Expanded,
    /// By neither.
    Insufficient,
    /// σ_pt is not known yet.
    NoSigma,
    /// Too few units: s_s is a number, not a test.
    NotATest,
}

impl Verdict {
    /// The word in keys of texts.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Simple => "simple",
            Verdict::Expanded => "expanded",
            Verdict::Insufficient => "insufficient",
            Verdict::NoSigma => "no-sigma",
            Verdict::NotATest => "not-a-test",
        }
    }

    /// Whether a person has to decide what follows.
    pub fn needs_decision(self) -> bool {
        matches!(self, Verdict::Insufficient)
    }

    /// From good to bad, to find the worst of several.
    fn rank(self) -> u8 {
        match self {
            Verdict::Simple => 0,
            Verdict::Expanded => 1,
            Verdict::NotATest => 2,
            Verdict::NoSigma => 3,
            Verdict::Insufficient => 4,
        }
    }
}

fn named(criterion: Criterion) -> Verdict {
    match criterion {
        Criterion::Simple => Verdict::Simple,
        Criterion::Expanded => Verdict::Expanded,
        Criterion::None => Verdict::Insufficient,
    }
}

/// A trend over an order or over time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trend {
    /// The line.
    pub line: Line,
    /// Whether its slope differs from zero at 5 %.
    pub is_significant: bool,
    /// How far the line runs from the first to the last.
    pub range: f64,
}

fn trend(points: &[(f64, f64)]) -> Option<Trend> {
    let line = least_squares(points).ok()?;
    let (low, high) = points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), (x, _)| (l.min(*x), h.max(*x)));
    Some(Trend { line, is_significant: line.is_significant(ALPHA).ok()?, range: line.slope * (high - low) })
}

/// What a study of homogeneity says.
#[derive(Clone, Debug, PartialEq)]
pub struct HomogeneityReport {
    /// The analysis of the duplicates; none for a single unit.
    pub duplicates: Option<Duplicates>,
    /// 0.3 σ_pt.
    pub limit: Option<f64>,
    /// √(F1 (0.3 σ_pt)² + F2 s_w²).
    pub expanded_limit: Option<f64>,
    /// The verdict.
    pub verdict: Verdict,
    /// Interval for s_s of 95 %, where there is no test.
    pub interval: Option<(f64, f64)>,
    /// Cochran's test on the differences of the duplicates, where any differ.
    pub cochran: Option<Cochran>,
    /// The number of the unit whose duplicates differ most.
    pub widest: Option<i64>,
    /// The trend over the order of filling.
    pub filling: Option<Trend>,
    /// The trend over the order of measurement, where it was noted.
    pub run: Option<Trend>,
    /// Whether the order of measurement was noted for all units.
    pub has_run: bool,
    /// Whether they were measured in the order of filling: then a drift of the
    /// instrument cannot be told from one of the items.
    pub run_is_filling: bool,
    /// s_w/σ_pt.
    pub within_share: Option<f64>,
    /// Chance to find units that differ by [`POWER_AT`] σ_pt with the expanded limit.
    pub power: Option<f64>,
}

impl HomogeneityReport {
    /// u_hom that a decision may take: from a significant slope over the filling,
    /// range/(2√3), or s_s, whichever is larger.
    pub fn offered_uncertainty(&self) -> Option<f64> {
        let between = self.duplicates.map(|found| found.between_sd);
        let slope = self.filling.filter(|trend| trend.is_significant).map(|trend| homogeneity::of_range(trend.range));
        let offered = between.into_iter().chain(slope).fold(0.0, f64::max);
        (offered > 0.0).then_some(offered)
    }
}

/// What a study of homogeneity says against σ_pt.
pub fn homogeneity(study: &Homogeneity, sigma_pt: Option<f64>) -> HomogeneityReport {
    let sigma_pt = sigma_pt.filter(|sigma| *sigma > 0.0);
    let pairs = study.pairs();
    let duplicates = homogeneity::duplicates(&pairs).ok();
    let tested = duplicates.filter(|found| found.units >= FEWEST_UNITS);
    let verdict = match (tested, sigma_pt) {
        (None, _) => Verdict::NotATest,
        (Some(_), None) => Verdict::NoSigma,
        (Some(found), Some(sigma)) => found.criterion(sigma).map_or(Verdict::NotATest, named),
    };
    let by = |x: fn(&super::Unit) -> Option<i64>| -> Vec<(f64, f64)> {
        study.units.iter().filter_map(|unit| Some((x(unit)? as f64, unit.mean()))).collect()
    };
    let has_run = !study.units.is_empty() && study.units.iter().all(|unit| unit.run.is_some());
    let difference = |unit: &super::Unit| (unit.values[0].value() - unit.values[1].value()).abs();
    let widest = study.units.iter().max_by(|one, other| difference(one).total_cmp(&difference(other)));
    HomogeneityReport {
        limit: sigma_pt.map(homogeneity::limit),
        expanded_limit: tested.zip(sigma_pt).and_then(|(found, sigma)| found.expanded_limit(sigma).ok()),
        verdict,
        interval: duplicates.filter(|_| tested.is_none()).and_then(|found| found.between_interval(ALPHA).ok()),
        cochran: homogeneity::cochran(&pairs).ok(),
        widest: widest.map(|unit| unit.number),
        filling: trend(&by(|unit| Some(unit.number))),
        run: if has_run { trend(&by(|unit| unit.run)) } else { None },
        has_run,
        run_is_filling: has_run && study.units.windows(2).all(|pair| pair[0].run < pair[1].run),
        within_share: duplicates.zip(sigma_pt).map(|(found, sigma)| found.within_sd / sigma),
        power: tested.zip(sigma_pt).and_then(|(found, sigma)| power(&found, sigma)),
        duplicates,
    }
}

fn power(found: &Duplicates, sigma: f64) -> Option<f64> {
    let passes = homogeneity::chance_to_pass(found.units, POWER_AT * sigma, found.within_sd, sigma, true);
    passes.ok().map(|chance| 1.0 - chance)
}

/// What a study of stability says of one condition.
#[derive(Clone, Debug, PartialEq)]
pub struct ConditionReport {
    /// The condition.
    pub condition: String,
    /// Whether it is that of storage, which has to last until the deadline.
    pub is_storage: bool,
    /// Its last day.
    pub last_day: f64,
    /// Units on the first day, and on the last.
    pub units: (usize, usize),
    /// Means on the first day, and on the last.
    pub means: (f64, f64),
    /// Their comparison.
    pub comparison: stability::Comparison,
    /// 0.3 σ_pt.
    pub limit: Option<f64>,
    /// 0.3 σ_pt + 2 u.
    pub expanded_limit: Option<f64>,
    /// The verdict.
    pub verdict: Verdict,
    /// The slope over time, where there are three days or more.
    pub trend: Option<stability::Trend>,
}

impl ConditionReport {
    /// u_stab that a decision may take: of the rectangle from no change to the
    /// change, |difference|/√3, or that of the slope over the period, whichever
    /// is larger.
    pub fn offered_uncertainty(&self) -> f64 {
        let change = 2.0 * homogeneity::of_range(self.comparison.difference);
        self.trend.map_or(change, |trend| change.max(trend.standard_uncertainty))
    }
}

/// What a study of stability says.
#[derive(Clone, Debug, PartialEq)]
pub struct StabilityReport {
    /// Each condition, in the order of the study.
    pub conditions: Vec<ConditionReport>,
    /// The worst of their verdicts.
    pub verdict: Verdict,
    /// The last day under the condition of storage.
    pub shown_until: Option<Date>,
    /// Whether that is before the deadline for results.
    pub ends_early: bool,
}

/// What a study of stability says against σ_pt, for results until `deadline`.
pub fn stability(study: &Stability, sigma_pt: Option<f64>, deadline: Date) -> StabilityReport {
    let sigma_pt = sigma_pt.filter(|sigma| *sigma > 0.0);
    let storage = study.storage();
    let of = |condition: &&str| of_condition(study, condition, sigma_pt, storage == Some(*condition));
    let conditions: Vec<ConditionReport> = study.conditions().iter().filter_map(of).collect();
    let verdict = conditions.iter().map(|report| report.verdict).max_by_key(|verdict| verdict.rank());
    let days = storage.map(|condition| study.last_day(condition));
    let shown_until = days.and_then(|days| {
        // A part of a day does not reach the next one.
        let span = jiff::Span::new().try_days(days.floor() as i64).ok()?;
        study.began_on.checked_add(span).ok()
    });
    StabilityReport {
        verdict: verdict.unwrap_or(Verdict::NotATest),
        ends_early: shown_until.is_none_or(|date| date < deadline),
        shown_until,
        conditions,
    }
}

fn of_condition(
    study: &Stability,
    condition: &str,
    sigma_pt: Option<f64>,
    is_storage: bool,
) -> Option<ConditionReport> {
    let (before, after) = (Sample::new(study.start()).ok()?, Sample::new(study.end(condition)).ok()?);
    let comparison = stability::compare(&before, &after).ok()?;
    let course = study.course(condition);
    let mut days: Vec<f64> = course.iter().map(|(day, _)| *day).collect();
    days.sort_by(f64::total_cmp);
    days.dedup();
    let period = study.last_day(condition) - study.first_day();
    let mean = |sample: &Sample| roundel_stats::summary::mean(sample).ok();
    Some(ConditionReport {
        condition: condition.to_owned(),
        is_storage,
        last_day: study.last_day(condition),
        units: (before.len(), after.len()),
        means: (mean(&before)?, mean(&after)?),
        limit: sigma_pt.map(homogeneity::limit),
        expanded_limit: sigma_pt.and_then(|sigma| comparison.expanded_limit(sigma)),
        verdict: sigma_pt.map_or(Verdict::NoSigma, |sigma| named(comparison.criterion(sigma))),
        trend: (days.len() >= FEWEST_DAYS).then(|| stability::trend(&course, period).ok()).flatten(),
        comparison,
    })
}
