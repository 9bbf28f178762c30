//! Findings on a measurand as a whole.

use super::{Cell, Finding, Kind, Look, One, Shown, value_of};
use crate::assemble::FEWEST_SHOWN;
use crate::evaluation::{Basis, Criterion, Detection, Signal};
use crate::screening::{self, Place};
use roundel_stats::budget::{self, Agreement};
use roundel_stats::consensus::Measured;
use roundel_stats::{Sample, robust, summary};

/// D10.
const CENSORED: f64 = 0.05;
/// D11: x_pt below this multiple of the median limit of quantification.
const NEAR_LOQ: f64 = 3.0;
/// D20b.
const HALF: f64 = 0.5;
/// D26 needs a consensus.
const FEWEST_FOR_CONSENSUS: usize = 8;
const FEW: std::ops::RangeInclusive<usize> = 8..=11;
/// D30.
const WIDER: f64 = 1.5;
/// D40.
const MOST_UNACCEPTABLE: f64 = 0.05;
const MOST_EXCLUDED: f64 = 0.20;
const NEGLIGIBLE: f64 = 0.3;

pub(super) fn findings(look: &Look<'_>) -> Vec<Finding> {
    let mut all = Vec::new();
    for one in look.evaluated() {
        let found = [
            modality(look, &one),
            skewness(look, &one),
            date_effect(look, &one),
            wide_spread(look, &one),
            near_loq(look, &one),
            independent_value(&one),
            few(&one),
            ratio(&one),
            censored(&one),
            excluded(&one),
            unacceptable(look, &one),
            detected(look, &one, Kind::FalsePositive, Detection::FalsePositive),
            detected(look, &one, Kind::FalseNegative, Detection::FalseNegative),
            half_away(look, &one),
        ];
        all.extend(found.into_iter().flatten());
        all.extend(material(&one));
    }
    all
}

fn finding(kind: Kind, one: &One<'_>) -> Finding {
    let m = one.measurand;
    Finding::new(kind, &m.position.to_string())
        .on(m.position)
        .text("analyte", &m.analyte)
        .text("item", &one.plan.item)
        .text("unit", &m.unit)
}

/// The values that count.
fn counting(look: &Look<'_>, one: &One<'_>) -> Vec<f64> {
    look.scored(&one.plan.id).filter(|(result, _)| result.counts()).filter_map(|(result, _)| value_of(result)).collect()
}

fn modality(look: &Look<'_>, one: &One<'_>) -> Option<Finding> {
    let sigma_pt = one.outcome.sigma_pt?;
    let values = counting(look, one);
    let found = screening::modality(&values, sigma_pt, look.material.seed).filter(|found| found.is_multimodal)?;
    let (low, high) = (found.modes.first()?.place, found.modes.last()?.place);
    let finding = finding(Kind::Modality, one)
        .with("count", Shown::Count(found.modes.len()))
        .with("low", Shown::Number(low, 3))
        .with("high", Shown::Number(high, 3))
        .with("several", Shown::Percent(found.several))
        .with("smallest", Shown::Percent(found.smallest_share));
    Some(finding.with("p", Shown::Count(values.len())))
}

fn skewness(look: &Look<'_>, one: &One<'_>) -> Option<Finding> {
    let sigma_pt = one.outcome.sigma_pt?;
    let found = screening::skewness(&counting(look, one), sigma_pt).filter(|found| found.show_logarithmic)?;
    Some(
        finding(Kind::Skewness, one)
            .with("medcouple", Shown::Signed(found.medcouple, 2))
            .with("difference", Shown::Signed(found.mean_less_median / sigma_pt, 2)),
    )
}

/// Results by the day on which the laboratory says it analysed the item.
fn date_effect(look: &Look<'_>, one: &One<'_>) -> Option<Finding> {
    let (value, sigma_pt) = (one.outcome.assigned_value.as_ref()?.value, one.outcome.sigma_pt?);
    let day = |code: &str| {
        let set = look.material.sets.iter().find(|set| set.code == code)?;
        let arrival = set.declared.items.iter().find(|arrival| arrival.item == one.plan.item)?;
        let since = arrival.analysed_on.since(jiff::civil::date(2000, 1, 1)).ok()?;
        Some(f64::from(since.get_days()))
    };
    let counts = look.scored(&one.plan.id).filter(|(result, _)| result.counts());
    let points: Vec<(f64, f64)> =
        counts.filter_map(|(result, _)| Some((day(&result.participant)?, value_of(result)?))).collect();
    let found = screening::date_effect(&points, value, sigma_pt).filter(|found| found.is_possible_instability)?;
    Some(
        finding(Kind::DateEffect, one)
            .with("slope", Shown::Signed(100.0 * found.slope.slope, 2))
            .with("low", Shown::Signed(100.0 * found.slope.low, 2))
            .with("high", Shown::Signed(100.0 * found.slope.high, 2))
            .with("change", Shown::Signed(found.change / sigma_pt, 2))
            .with("p", Shown::Count(points.len())),
    )
}

/// s* against that of the same analyte in the item where it is smallest, both
/// over their centres: levels differ (D30).
fn wide_spread(look: &Look<'_>, one: &One<'_>) -> Option<Finding> {
    let relative = |one: &One<'_>| {
        let summary = &one.outcome.summary;
        let enough = summary.quantified >= FEWEST_FOR_CONSENSUS;
        Some(summary.algorithm_a_sd? / summary.algorithm_a_mean.filter(|x| enough && *x > 0.0)?)
    };
    let own = relative(one)?;
    let place = look.places.get(&one.measurand.position)?;
    let same = |other: &One<'_>| {
        look.places.get(&other.measurand.position).is_some_and(|other: &Place| other.analyte == place.analyte)
            && other.measurand.position != one.measurand.position
    };
    let others = look.evaluated().filter(same);
    let (sister, least) = others
        .filter_map(|other| Some((other.plan.item.as_str(), relative(&other)?)))
        .min_by(|a, b| a.1.total_cmp(&b.1))?;
    (own > WIDER * least).then(|| {
        finding(Kind::WideSpread, one)
            .with("spread", Shown::Percent(own))
            .text("sister", sister)
            .with("least", Shown::Percent(least))
    })
}

fn near_loq(look: &Look<'_>, one: &One<'_>) -> Option<Finding> {
    let value = one.outcome.assigned_value.as_ref()?.value;
    let rows = look.material.sets.iter().flat_map(|set| &set.entries);
    let own = rows.filter(|entry| entry.position == one.measurand.position);
    let limits = Sample::new(own.filter_map(|entry| Some(entry.loq.as_ref()?.decimal.value()))).ok()?;
    let median = summary::median(&limits);
    (limits.len() >= FEWEST_SHOWN && value < NEAR_LOQ * median).then(|| {
        finding(Kind::NearLoq, one).with("value", Shown::Number(value, 3)).with("median", Shown::Number(median, 3))
    })
}

/// D26: a consensus of those that count against the value that was planned from
/// elsewhere.
fn independent_value(one: &One<'_>) -> Option<Finding> {
    let value = one.outcome.assigned_value.as_ref().filter(|value| value.basis != Basis::Participants)?;
    let summary = &one.outcome.summary;
    let p = summary.quantified;
    let (location, spread) = (summary.algorithm_a_mean?, summary.algorithm_a_sd.filter(|s| *s > 0.0)?);
    let u = robust::standard_uncertainty(spread, p).ok().filter(|_| p >= FEWEST_FOR_CONSENSUS)?;
    let consensus = Measured { value: location, standard_uncertainty: u };
    let independent = Measured { value: value.value, standard_uncertainty: value.standard_uncertainty };
    let found = budget::compare(consensus, independent, one.outcome.sigma_pt?).ok()?;
    (found.agreement == Agreement::Disagrees).then(|| {
        finding(Kind::IndependentValue, one)
            .with("consensus", Shown::Number(location, 3))
            .with("independent", Shown::Number(value.value, 3))
            .with("difference", Shown::Signed(found.difference / one.outcome.sigma_pt.unwrap_or(1.0), 2))
            .with("u", Shown::Number(found.standard_uncertainty, 2))
            .with("p", Shown::Count(p))
    })
}

fn few(one: &One<'_>) -> Option<Finding> {
    let value = one.outcome.assigned_value.as_ref().filter(|value| value.basis == Basis::Participants)?;
    let p = value.p?;
    FEW.contains(&p).then(|| finding(Kind::FewParticipants, one).with("p", Shown::Count(p)))
}

fn ratio(one: &One<'_>) -> Option<Finding> {
    let ratio = one.outcome.uncertainty_ratio.filter(|ratio| *ratio > NEGLIGIBLE * (1.0 + 1e-9))?;
    Some(finding(Kind::UncertaintyRatio, one).with("q", Shown::Number(ratio, 2)))
}

fn censored(one: &One<'_>) -> Option<Finding> {
    let summary = &one.outcome.summary;
    let all = summary.quantified + summary.censored;
    let share = summary.censored as f64 / all.max(1) as f64;
    // Where the analyte is absent, "<" is the right answer.
    (one.plan.is_present() && summary.censored > 0 && share >= CENSORED).then(|| {
        finding(Kind::CensoredShare, one)
            .with("count", Shown::Count(summary.censored))
            .with("of", Shown::Count(all))
            .with("share", Shown::Percent(share))
    })
}

fn excluded(one: &One<'_>) -> Option<Finding> {
    let summary = &one.outcome.summary;
    let share = summary.excluded as f64 / summary.participants.max(1) as f64;
    (share > MOST_EXCLUDED).then(|| {
        finding(Kind::ManyExcluded, one)
            .with("count", Shown::Count(summary.excluded))
            .with("of", Shown::Count(summary.participants))
            .with("share", Shown::Percent(share))
    })
}

fn unacceptable(look: &Look<'_>, one: &One<'_>) -> Option<Finding> {
    let classed = |signal: Signal| matches!(signal, Signal::None | Signal::Warning | Signal::Action);
    let signals: Vec<Signal> =
        look.scored(&one.plan.id).map(|(_, score)| score.signal).filter(|signal| classed(*signal)).collect();
    let count = signals.iter().filter(|signal| **signal == Signal::Action).count();
    let share = count as f64 / signals.len().max(1) as f64;
    (count > 0 && share > MOST_UNACCEPTABLE).then(|| {
        finding(Kind::ManyUnacceptable, one)
            .with("count", Shown::Count(count))
            .with("of", Shown::Count(signals.len()))
            .with("share", Shown::Percent(share))
    })
}

/// Results of a measurand that are listed together.
fn listed(kind: Kind, one: &One<'_>, codes: Vec<&str>) -> Option<Finding> {
    let cells: Vec<Cell> = codes.iter().map(|code| ((*code).to_owned(), one.measurand.position)).collect();
    (!cells.is_empty())
        .then(|| finding(kind, one).at(cells).with("count", Shown::Count(codes.len())).text("codes", codes.join(", ")))
}

fn detected(look: &Look<'_>, one: &One<'_>, kind: Kind, detection: Detection) -> Option<Finding> {
    let found = look.scored(&one.plan.id).filter(|(_, score)| score.detection == detection);
    listed(kind, one, found.map(|(result, _)| result.participant.as_str()).collect())
}

/// Results more than half of the robust centre away (D20b): listed, never left
/// out for it.
fn half_away(look: &Look<'_>, one: &One<'_>) -> Option<Finding> {
    let centre = look.centres.at(*look.places.get(&one.measurand.position)?)?;
    let is_away = |x: f64| (x - centre).abs() > HALF * centre;
    let away = look.scored(&one.plan.id).filter(|(result, _)| value_of(result).is_some_and(is_away));
    listed(Kind::HalfAway, one, away.map(|(result, _)| result.participant.as_str()).collect())
}

/// Tests of the material that are not plainly passed.
fn material(one: &One<'_>) -> Vec<Finding> {
    let plain = |criterion: Option<Criterion>| criterion == Some(Criterion::Simple);
    let mut found = Vec::new();
    if let Some(check) = one.outcome.homogeneity.as_ref().filter(|check| !plain(check.criterion)) {
        found.push(tested(
            Kind::Homogeneity,
            one,
            check.between_sd.unwrap_or(check.within_sd),
            check.limit,
            check.criterion,
        ));
    }
    if let Some(check) = one.outcome.stability.as_ref().filter(|check| !plain(check.criterion)) {
        found.push(tested(Kind::Stability, one, check.difference, check.limit, check.criterion));
    }
    found
}

fn tested(kind: Kind, one: &One<'_>, seen: f64, limit: Option<f64>, criterion: Option<Criterion>) -> Finding {
    let met = if criterion == Some(Criterion::Expanded) { "expanded" } else { "none" };
    let finding = finding(kind, one).with("seen", Shown::Number(seen, 2)).text("met", met);
    match limit {
        Some(limit) => finding.with("limit", Shown::Number(limit, 2)),
        None => finding.text("limit", "–"),
    }
}
