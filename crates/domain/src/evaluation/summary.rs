//! The summary of the counting quantified results.

use roundel_stats::{robust, summary};

use super::Summary;
use super::counting::Counting;

pub(super) fn of(counting: &Counting<'_>) -> Summary {
    let (quantified, censored) = (counting.quantified.len(), counting.censored.len());
    let counts = Summary {
        participants: quantified + censored + counting.excluded,
        quantified,
        censored,
        excluded: counting.excluded,
        ..Summary::default()
    };
    let Some(sample) = counting.sample() else {
        return counts;
    };
    let algorithm_a = robust::algorithm_a(&sample).ok();
    let q_method = robust::q_method(&sample).ok().map(|q| q.scale);
    Summary {
        mean: summary::mean(&sample).ok(),
        median: Some(summary::median(&sample)),
        sd: summary::standard_deviation(&sample).ok(),
        made: robust::made(&sample).ok().map(|found| found.scale),
        niqr: summary::niqr(&sample).ok().map(|found| found.scale),
        algorithm_a_mean: algorithm_a.map(|estimate| estimate.location),
        algorithm_a_sd: algorithm_a.map(|estimate| estimate.scale),
        q_method_sd: q_method,
        hampel_mean: q_method.and_then(|scale| robust::hampel(&sample, scale).ok()).map(|found| found.location),
        ..counts
    }
}
