//! Which results count, and their values.

use roundel_stats::Sample;
use roundel_stats::summary::mean;

use crate::package::{Reported, ReportedResult};

/// The results of one measurand, told apart.
pub(super) struct Counting<'r> {
    /// Counting results with their values x.
    pub(super) quantified: Vec<(&'r ReportedResult, f64)>,
    /// Counting results below a limit, with the limit.
    pub(super) censored: Vec<(&'r ReportedResult, f64)>,
    /// The number of the others.
    pub(super) excluded: usize,
}

impl<'r> Counting<'r> {
    pub(super) fn of(results: &[&'r ReportedResult]) -> Self {
        let mut counting = Self { quantified: Vec::new(), censored: Vec::new(), excluded: 0 };
        for result in results.iter().copied() {
            match (&result.reported, value_of(result)) {
                _ if !result.counts() => counting.excluded += 1,
                (Reported::Below(limit), _) => counting.censored.push((result, *limit)),
                (Reported::Values(_), Some(value)) => counting.quantified.push((result, value)),
                (Reported::Values(_), None) => counting.excluded += 1,
            }
        }
        counting
    }

    /// The values of all quantified results.
    pub(super) fn sample(&self) -> Option<Sample> {
        Sample::new(self.quantified.iter().map(|(_, value)| *value)).ok()
    }

    /// Whether at least a quarter of the counting results is below a limit.
    pub(super) fn many_are_censored(&self) -> bool {
        let all = self.quantified.len() + self.censored.len();
        all > 0 && 4 * self.censored.len() >= all
    }
}

/// The mean of a result's values.
pub(super) fn value_of(result: &ReportedResult) -> Option<f64> {
    match &result.reported {
        Reported::Values(values) => mean(&Sample::new(values.iter().copied()).ok()?).ok(),
        Reported::Below(_) => None,
    }
}
