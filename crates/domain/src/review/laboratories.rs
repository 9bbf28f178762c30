//! Findings on what one laboratory sent, and on two that are alike.

use super::{Cell, Finding, Kind, Look, Set, Shown, patterns};
use crate::evaluation::Signal;
use crate::result::{Entry, Number, Reported};
use crate::screening::{self, AnalyteSwap, KnownRatio, Place, RowShift, Wording};
use crate::text;
use roundel_stats::{Sample, outlier, summary};

/// Fewer results than this have no pattern.
const FEWEST_FOR_PATTERN: usize = 10;
/// Median |z| from which a leaning is worth a look.
const LEANING: f64 = 1.0;
/// Standard error of a median over that of a mean, and the normal quantile.
const MEDIAN_TO_MEAN: f64 = 1.2533;
const INTERVAL: f64 = 1.96;
/// D40.
const MOST_UNACCEPTABLE: f64 = 0.30;
/// D18: u above this multiple of s* is probably too large.
const LARGE: f64 = 1.5;
/// Share of a laboratory's uncertainties from which they are worth a line.
const MOSTLY: f64 = 0.5;
const FEWEST_UNCERTAINTIES: usize = 5;
const FEWEST_REPLICATES: usize = 5;
/// An exchange of analytes is off by this multiple of what others are.
const STANDS_OUT: f64 = 12.0;
/// A group of methods explains what is left less than this share by it.
const EXPLAINED_BY_GROUP: f64 = 0.5;
const FEWEST_IN_GROUP: usize = 4;

pub(super) fn findings(look: &Look<'_>) -> Vec<Finding> {
    let mut all = Vec::new();
    for (one, code) in look.codes.iter().enumerate() {
        let Some(set) = look.material.sets.iter().find(|set| set.code == *code) else { continue };
        let explained = screened(look, one, code, &mut all);
        all.extend(unacceptable(look, code));
        if !explained {
            all.extend(basis(look, one, code));
            all.extend(leaning(look, one, code));
            all.extend(patterns::analytes_aside(look, one, code));
        }
        all.extend(uncertainties(look, code));
        all.extend(patterns::doubted(look, code));
        all.extend(patterns::one_for_all(set));
        all.extend(limits(look, set));
        all.extend(below_own(set));
        all.extend(identical(set));
        if set.late {
            all.push(Finding::new(Kind::Late, code).of(&[code]).text("code", code));
        }
    }
    all.extend(replicate_spread(look));
    all.extend(similar(look));
    all
}

fn cells(look: &Look<'_>, one: usize, places: impl Iterator<Item = Place>) -> Vec<Cell> {
    let reported = places.filter(|place| look.grid.value(one, *place).is_some());
    reported.filter_map(|place| Some((look.codes[one].clone(), look.position(place)?))).collect()
}

fn in_item(look: &Look<'_>, item: usize) -> impl Iterator<Item = Place> + use<> {
    let count = look.places.values().map(|place| place.analyte + 1).max().unwrap_or(0);
    (0..count).map(move |analyte| Place { item, analyte })
}

fn of_analyte(look: &Look<'_>, analyte: usize) -> impl Iterator<Item = Place> + use<> {
    (0..look.material.items.len()).map(move |item| Place { item, analyte })
}

/// What the screening of a laboratory's own results says; whether a whole set is
/// explained by it.
fn screened(look: &Look<'_>, one: usize, code: &str, all: &mut Vec<Finding>) -> bool {
    let found = screening::laboratory(&look.grid, &look.centres, one);
    if let Some(factor) = found.whole_set {
        let places = (0..look.material.items.len()).flat_map(|item| in_item(look, item));
        let finding = Finding::new(Kind::WholeSetFactor, code)
            .at(cells(look, one, places))
            .text("code", code)
            .text("power", factor.power.to_string().replace('-', "\u{2212}"))
            .with("count", Shown::Count(factor.count))
            .with("median", Shown::Signed(factor.median_log, 2))
            .with("spread", Shown::Number(factor.spread_log, 2));
        all.push(finding);
        return true;
    }
    for swap in &found.item_swaps {
        let [first, second] = swap.items;
        let about = format!("{code}:{}:{}", look.item(first), look.item(second));
        let mut finding = Finding::new(Kind::ItemSwap, &about)
            .at(cells(look, one, in_item(look, first).chain(in_item(look, second))))
            .text("code", code)
            .text("first", look.item(first))
            .text("second", look.item(second))
            .with("count", Shown::Count(swap.count));
        finding = sums(finding, swap.as_reported, swap.exchanged);
        finding.fits = fits(look, &finding.cells, |place| {
            Some(Place { item: if place.item == first { second } else { first }, ..place })
        });
        all.push(finding);
    }
    all.extend(found.row_shifts.iter().map(|shift| row_shift(look, one, code, shift)));
    for swap in &found.analyte_swaps {
        let [first, second] = swap.analytes;
        let about = format!("{code}:{}:{}", text::key(look.analyte(first)), text::key(look.analyte(second)));
        let (times, of_group) = against_others(look, one, swap);
        let stands_out = times > STANDS_OUT && !of_group;
        let kind = if stands_out { Kind::AnalyteSwap } else { Kind::PossibleExchange };
        let mut finding = Finding::new(kind, &about)
            .at(cells(look, one, of_analyte(look, first).chain(of_analyte(look, second))))
            .text("code", code)
            .text("first", look.analyte(first))
            .text("second", look.analyte(second))
            .with("times", Shown::Number(times, 2))
            .with("count", Shown::Count(swap.count));
        finding = sums(finding, swap.as_reported, swap.exchanged);
        finding.fits = fits(look, &finding.cells, |place| {
            Some(Place { analyte: if place.analyte == first { second } else { first }, ..place })
        });
        all.push(finding);
    }
    for single in &found.single_factors {
        let kind = match single.wording {
            Wording::ConsistentWith => Kind::SingleFactor,
            Wording::Possible => Kind::PossibleFactor,
        };
        let Some(position) = look.position(single.place) else { continue };
        let finding = Finding::new(kind, &format!("{code}:{position}"))
            .at(vec![(code.to_owned(), position)])
            .text("code", code)
            .text("analyte", look.analyte(single.place.analyte))
            .text("item", look.item(single.place.item))
            .with("factor", Shown::Number(single.factor, 1))
            .with("ratio", Shown::Number(single.ratio, 3))
            .with("z", Shown::Signed(single.z, 2))
            .text("others", if single.others_in_order { "yes" } else { "no" });
        all.push(finding);
    }
    !found.item_swaps.is_empty()
}

/// By how many times the mean square of its other analytes (their median) the two
/// analytes of a laboratory are off, and whether its group of methods explains one
/// of the two. Weak laboratories have pairs that only look exchanged; they are off
/// little more than the rest.
fn against_others(look: &Look<'_>, one: usize, swap: &AnalyteSwap) -> (f64, bool) {
    let log = |one: usize, place: Place| Some((look.grid.value(one, place)? / look.centres.at(place)?).ln());
    let square = |analyte: usize| {
        let squares: Vec<f64> = of_analyte(look, analyte).filter_map(|place| log(one, place)).map(|x| x * x).collect();
        (!squares.is_empty()).then(|| squares.iter().sum::<f64>() / squares.len() as f64)
    };
    let count = look.places.values().map(|place| place.analyte + 1).max().unwrap_or(0);
    let others = (0..count).filter(|analyte| !swap.analytes.contains(analyte)).filter_map(square);
    let Ok(others) = Sample::new(others.collect::<Vec<f64>>()) else { return (0.0, false) };
    let own = swap.as_reported / (2 * swap.count) as f64;
    let in_group = |place: Place| {
        let group = (0..look.codes.len()).filter(|other| *other != one && look.grid.same_method(one, *other));
        let logs = Sample::new(group.filter_map(|other| log(other, place)).collect::<Vec<f64>>()).ok()?;
        (logs.len() >= FEWEST_IN_GROUP).then(|| log(one, place).map(|x| (x - summary::median(&logs)).powi(2)))?
    };
    let of_group = |analyte: usize| {
        let squares: Vec<f64> = of_analyte(look, analyte).filter_map(in_group).collect();
        (!squares.is_empty()).then(|| squares.iter().sum::<f64>() / squares.len() as f64)
    };
    let explained = |analyte: usize| {
        of_group(analyte).zip(square(analyte)).is_some_and(|(group, all)| group < EXPLAINED_BY_GROUP * all)
    };
    (own / summary::median(&others).max(f64::MIN_POSITIVE), swap.analytes.into_iter().any(explained))
}

fn row_shift(look: &Look<'_>, one: usize, code: &str, shift: &RowShift) -> Finding {
    let item = shift.item;
    let rows = (shift.first..=shift.last).map(|analyte| Place { item, analyte });
    let finding = Finding::new(Kind::RowShift, &format!("{code}:{}", look.item(item)))
        .at(cells(look, one, rows))
        .text("code", code)
        .text("item", look.item(item))
        .text("first", look.analyte(shift.first))
        .text("last", look.analyte(shift.last))
        .text("direction", if shift.downwards { "down" } else { "up" })
        .with("count", Shown::Count(shift.last - shift.first + 1));
    let mut finding = sums(finding, shift.as_reported, shift.shifted);
    finding.fits = fits(look, &finding.cells, |place| {
        let origin = if shift.downwards { place.analyte.checked_sub(1)? } else { place.analyte + 1 };
        Some(Place { analyte: origin, ..place })
    });
    finding
}

fn sums(finding: Finding, before: f64, after: f64) -> Finding {
    finding
        .with("before", Shown::Number(before, 3))
        .with("after", Shown::Number(after, 2))
        .with("left", Shown::Number(after / before, 2))
}

fn fits(look: &Look<'_>, cells: &[Cell], origin: impl Fn(Place) -> Option<Place>) -> Vec<(i64, i64)> {
    let of = |position: &i64| look.position(origin(*look.places.get(position)?)?);
    cells.iter().filter_map(|(_, position)| Some((*position, of(position)?))).collect()
}

fn basis(look: &Look<'_>, one: usize, code: &str) -> Vec<Finding> {
    let index = |analyte: &str| {
        let wanted = text::key(analyte);
        crate::declared::analytes(look.material.measurands).iter().position(|m| text::key(&m.analyte) == wanted)
    };
    let known: Vec<KnownRatio> = look
        .material
        .forms
        .iter()
        .filter_map(|form| Some(KnownRatio { analyte: index(&form.analyte)?, ratio: form.ratio }))
        .collect();
    let found = screening::basis_ratios(&look.grid, &look.centres, one, &known);
    let finding = |ratio: &screening::BasisRatio| {
        let analyte = look.analyte(ratio.analyte);
        Finding::new(Kind::BasisRatio, &format!("{code}:{}", text::key(analyte)))
            .at(cells(look, one, of_analyte(look, ratio.analyte)))
            .text("code", code)
            .text("analyte", analyte)
            .with("ratio", Shown::Number(ratio.ratio, 3))
            .with("observed", Shown::Number(ratio.observed, 3))
            .with("count", Shown::Count(ratio.items))
    };
    found.analytes.iter().map(finding).collect()
}

/// Whether all results lean to one side: the median z with an interval of 95 %
/// that is plainly away from zero (F85).
fn leaning(look: &Look<'_>, one: usize, code: &str) -> Option<Finding> {
    let places = look.places.values().copied();
    let scores: Vec<f64> = places.filter_map(|place| look.grid.z(one, place)).collect();
    let sample = Sample::new(scores).ok().filter(|sample| sample.len() >= FEWEST_FOR_PATTERN)?;
    let median = summary::median(&sample);
    let scale = roundel_stats::robust::made(&sample).ok()?.scale;
    let half = INTERVAL * MEDIAN_TO_MEAN * scale / (sample.len() as f64).sqrt();
    (median.abs() >= LEANING && median.abs() > half).then(|| {
        Finding::new(Kind::BiasPattern, code)
            .of(&[code])
            .text("code", code)
            .text("side", if median < 0.0 { "low" } else { "high" })
            .with("median", Shown::Signed(median, 2))
            .with("low", Shown::Signed(median - half, 2))
            .with("high", Shown::Signed(median + half, 2))
            .with("count", Shown::Count(sample.len()))
    })
}

fn unacceptable(look: &Look<'_>, code: &str) -> Option<Finding> {
    let classed = |signal: Signal| matches!(signal, Signal::None | Signal::Warning | Signal::Action);
    let own: Vec<_> =
        look.material.evaluation.scores.iter().filter(|s| s.participant == code && classed(s.signal)).collect();
    let count = own.iter().filter(|score| score.signal == Signal::Action).count();
    let share = count as f64 / own.len().max(1) as f64;
    (count > 1 && share > MOST_UNACCEPTABLE).then(|| {
        Finding::new(Kind::LaboratoryUnacceptable, code)
            .of(&[code])
            .text("code", code)
            .with("count", Shown::Count(count))
            .with("of", Shown::Count(own.len()))
            .with("share", Shown::Percent(share))
    })
}

/// Uncertainties outside of u(x_pt) to 1.5 s* (D18), counted over all results of
/// a laboratory.
fn uncertainties(look: &Look<'_>, code: &str) -> Option<Finding> {
    let (mut all, mut small, mut large) = (0, Vec::new(), Vec::new());
    for one in look.evaluated() {
        let Some(result) = look.results.get(&(code, one.plan.id.as_str())) else { continue };
        let (Some(u), Some(value)) = (result.standard_uncertainty(), one.outcome.assigned_value.as_ref()) else {
            continue;
        };
        let Some(spread) = value.robust_sd.or(one.outcome.summary.algorithm_a_sd) else { continue };
        all += 1;
        let cell = (code.to_owned(), one.measurand.position);
        if u < value.standard_uncertainty {
            small.push(cell);
        } else if u > LARGE * spread {
            large.push(cell);
        }
    }
    let (side, cells) = if small.len() >= large.len() { ("small", small) } else { ("large", large) };
    let enough = all >= FEWEST_UNCERTAINTIES && cells.len() as f64 >= MOSTLY * all as f64;
    enough.then(|| {
        let count = cells.len();
        Finding::new(Kind::Uncertainty, &format!("{code}:{side}"))
            .at(cells)
            .text("code", code)
            .text("side", side)
            .with("count", Shown::Count(count))
            .with("of", Shown::Count(all))
    })
}

fn value(number: &Number) -> f64 {
    number.decimal.value()
}

/// A "<" with a wider limit than the declared one counts with the limit that it
/// states: that is what the evaluation holds against the required one.
fn limits(look: &Look<'_>, set: &Set) -> Option<Finding> {
    let is_above = |entry: &&Entry| {
        let Some(required) = look.measurand(entry.position).and_then(|m| m.required_loq.as_ref()) else {
            return false;
        };
        let stated = match &entry.reported {
            Reported::Below { limit } => Some(limit),
            _ => None,
        };
        entry.loq.iter().chain(stated).any(|limit| value(limit) > required.value())
    };
    let cells: Vec<Cell> = set.entries.iter().filter(is_above).map(|entry| cell(set, entry)).collect();
    let count = cells.len();
    (count > 0).then(|| {
        let finding = Finding::new(Kind::LoqAboveRequired, &set.code).at(cells);
        finding.text("code", &set.code).with("count", Shown::Count(count))
    })
}

fn cell(set: &Set, entry: &Entry) -> Cell {
    (set.code.clone(), entry.position)
}

fn below_own(set: &Set) -> Option<Finding> {
    let is_below = |entry: &&Entry| match (entry.value(), &entry.loq) {
        (Some(x), Some(loq)) => x < value(loq),
        _ => false,
    };
    let cells: Vec<Cell> = set.entries.iter().filter(is_below).map(|entry| cell(set, entry)).collect();
    let count = cells.len();
    (count > 0).then(|| {
        let finding = Finding::new(Kind::BelowOwnLoq, &set.code).at(cells);
        finding.text("code", &set.code).with("count", Shown::Count(count))
    })
}

/// All replicates of a laboratory identical, in five results or more.
fn identical(set: &Set) -> Option<Finding> {
    let replicated = set.entries.iter().filter_map(|entry| match &entry.reported {
        Reported::Value { values, .. } if values.len() > 1 => Some((entry, values)),
        _ => None,
    });
    let (mut all, mut cells) = (0, Vec::new());
    for (entry, values) in replicated {
        all += 1;
        if values.iter().all(|number| value(number) == value(&values[0])) {
            cells.push(cell(set, entry));
        }
    }
    let count = cells.len();
    (all >= FEWEST_REPLICATES && count == all).then(|| {
        let finding = Finding::new(Kind::IdenticalReplicates, &set.code).at(cells);
        finding.text("code", &set.code).with("count", Shown::Count(count))
    })
}

/// Replicates that differ more than Mandel's k allows at 1 % (F52), listed by
/// laboratory.
fn replicate_spread(look: &Look<'_>) -> Vec<Finding> {
    let mut beyond: Vec<(String, i64)> = Vec::new();
    for one in look.evaluated() {
        let spreads: Vec<(&str, usize, f64)> = look
            .scored(&one.plan.id)
            .filter_map(|(result, _)| match &result.reported {
                crate::package::Reported::Values(values) if values.len() > 1 => {
                    let sd = summary::standard_deviation(&Sample::new(values.iter().copied()).ok()?).ok()?;
                    Some((result.participant.as_str(), values.len(), sd))
                }
                _ => None,
            })
            .collect();
        let Some(most) = spreads.iter().map(|(_, count, _)| *count).max() else { continue };
        let spreads: Vec<_> = spreads.into_iter().filter(|(_, count, _)| *count == most).collect();
        let deviations: Vec<f64> = spreads.iter().map(|(_, _, sd)| *sd).collect();
        let (Ok(ratios), Ok(critical)) =
            (outlier::mandel_k(&deviations), outlier::mandel_k_critical(spreads.len(), most, 0.01))
        else {
            continue;
        };
        let far = spreads.iter().zip(ratios).filter(|(_, ratio)| *ratio > critical);
        beyond.extend(far.map(|((code, _, _), _)| ((*code).to_owned(), one.measurand.position)));
    }
    beyond.sort();
    let by_code = beyond.chunk_by(|a, b| a.0 == b.0);
    by_code
        .map(|cells| {
            let code = &cells[0].0;
            let finding = Finding::new(Kind::ReplicateSpread, code).at(cells.to_vec());
            finding.text("code", code).with("count", Shown::Count(cells.len()))
        })
        .collect()
}

fn similar(look: &Look<'_>) -> Vec<Finding> {
    let found = screening::similarities(&look.grid, &look.centres);
    let finding = |pair: &screening::Similarity| {
        let [first, second] = pair.laboratories.map(|one| look.codes[one].as_str());
        let finding = Finding::new(Kind::Similarity, &format!("{first}:{second}"))
            .of(&[first, second])
            .text("first", first)
            .text("second", second)
            .with("equal", Shown::Count(pair.equal))
            .with("shared", Shown::Count(pair.shared))
            .with("expected", Shown::Number(pair.expected, 2))
            .with("probability", Shown::Probability(pair.probability));
        match pair.correlation {
            Some(r) => finding.with("correlation", Shown::Number(r, 2)),
            None => finding.text("correlation", "–"),
        }
    };
    found.iter().map(finding).collect()
}
