//! The tests of homogeneity and stability. Neither changes a signal by
//! itself: that is what a decision is for.

use roundel_stats::{Sample, homogeneity, stability};

use super::{Criterion, HomogeneityCheck, StabilityCheck};
use crate::package::{Measurand, Stability};

/// Both tests, where there are data.
pub(super) struct Checks {
    pub(super) homogeneity: Option<HomogeneityCheck>,
    pub(super) stability: Option<StabilityCheck>,
}

/// `without_addition` is σ_pt without `additional_sd`.
pub(super) fn of(plan: &Measurand, without_addition: Option<f64>, sigma_pt: Option<f64>) -> Checks {
    Checks {
        homogeneity: plan.homogeneity.as_ref().and_then(|pairs| homogeneity(pairs, without_addition)),
        stability: plan.stability.as_ref().and_then(|data| stability(data, sigma_pt)),
    }
}

fn homogeneity(pairs: &[[f64; 2]], sigma_pt: Option<f64>) -> Option<HomogeneityCheck> {
    let duplicates = match homogeneity::duplicates(pairs) {
        Ok(duplicates) => duplicates,
        Err(_) => return single_unit(pairs, sigma_pt),
    };
    let tested = sigma_pt.filter(|_| duplicates.units >= homogeneity::FEWEST_UNITS);
    let criterion = tested.and_then(|sigma_pt| duplicates.criterion(sigma_pt).ok()).map(named);
    Some(HomogeneityCheck {
        units: duplicates.units,
        mean: duplicates.mean,
        between_sd: Some(duplicates.between_sd),
        within_sd: duplicates.within_sd,
        limit: sigma_pt.map(homogeneity::limit),
        expanded_limit: tested.and_then(|sigma_pt| duplicates.expanded_limit(sigma_pt).ok()),
        sufficient: criterion.map(|criterion| criterion != Criterion::None),
        criterion,
    })
}

/// Of one unit only the spread within is known.
fn single_unit(pairs: &[[f64; 2]], sigma_pt: Option<f64>) -> Option<HomogeneityCheck> {
    let [[first, second]] = pairs else {
        return None;
    };
    Some(HomogeneityCheck {
        units: 1,
        mean: first / 2.0 + second / 2.0,
        between_sd: None,
        within_sd: (first - second).abs() / std::f64::consts::SQRT_2,
        limit: sigma_pt.map(homogeneity::limit),
        expanded_limit: None,
        sufficient: None,
        criterion: None,
    })
}

fn stability(data: &Stability, sigma_pt: Option<f64>) -> Option<StabilityCheck> {
    let before = Sample::new(data.before.iter().copied()).ok()?;
    let after = Sample::new(data.after.iter().copied()).ok()?;
    let comparison = stability::compare(&before, &after).ok()?;
    let criterion = sigma_pt.map(|sigma_pt| named(comparison.criterion(sigma_pt)));
    Some(StabilityCheck {
        difference: comparison.difference + 0.0,
        limit: sigma_pt.map(homogeneity::limit),
        expanded_limit: sigma_pt.and_then(|sigma_pt| comparison.expanded_limit(sigma_pt)),
        sufficient: criterion.map(|criterion| criterion != Criterion::None),
        criterion,
    })
}

fn named(criterion: homogeneity::Criterion) -> Criterion {
    match criterion {
        homogeneity::Criterion::Simple => Criterion::Simple,
        homogeneity::Criterion::Expanded => Criterion::Expanded,
        homogeneity::Criterion::None => Criterion::None,
    }
}
