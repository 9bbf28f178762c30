//! What only all results together show.

use crate::{Finding, Place, Row, shown};
use std::collections::BTreeMap;

/// From so many results on, a pattern over all of them is asked about.
const FEWEST: usize = 5;
/// And from this share of them.
const SHARE: f64 = 0.8;
/// The same number in so many places is asked about (F41).
const SAME_PLACES: usize = 4;
/// Identical replicates in more than this share of the results are asked about (F35).
const IDENTICAL_SHARE: f64 = 0.6;
/// So many rows one behind the other with the limits of their neighbours are
/// taken for shifted ones.
const SHIFTED_ROWS: usize = 3;

pub(crate) fn check(rows: &[Row], findings: &mut Vec<Finding>) {
    factor_of_span(rows, findings);
    far_below_loq(rows, findings);
    same_numbers(rows, findings);
    identical_replicates(rows, findings);
    same_uncertainty(rows, findings);
    shifted(rows, findings);
}

/// Nearly all results lie outside the published span, and would lie inside it
/// if they were a thousand times as large, or as small.
fn factor_of_span(rows: &[Row], findings: &mut Vec<Finding>) {
    let with_span: Vec<(f64, (f64, f64))> = rows.iter().filter_map(|row| Some((row.mean()?, row.span?))).collect();
    let share = |factor: f64| {
        let inside = with_span.iter().filter(|(x, (from, to))| (*from..=*to).contains(&(x * factor))).count();
        inside as f64 / with_span.len() as f64
    };
    if with_span.len() < FEWEST || share(1.0) > 1.0 - SHARE {
        return;
    }
    for (factor, kind) in [(1000.0, "thousand-times-low"), (0.001, "thousand-times-high")] {
        if share(factor) >= SHARE {
            findings.push(Finding::new(kind, Place::All).with("count", with_span.len()));
        }
    }
}

/// Nearly all results are below a tenth of the laboratory's own limit of
/// quantification.
fn far_below_loq(rows: &[Row], findings: &mut Vec<Finding>) {
    let with_loq: Vec<bool> = rows.iter().filter_map(|row| Some(row.mean()? < 0.1 * row.loq?)).collect();
    let count = with_loq.iter().filter(|low| **low).count();
    if with_loq.len() >= FEWEST && count as f64 >= SHARE * with_loq.len() as f64 {
        findings.push(Finding::new("far-below-loq", Place::All).with("count", count).with("of", with_loq.len()));
    }
}

fn same_numbers(rows: &[Row], findings: &mut Vec<Finding>) {
    let mut places: BTreeMap<&str, Vec<i64>> = BTreeMap::new();
    for row in rows {
        // Replicates of one result are looked at on their own.
        let mut own: Vec<&str> = row.values.iter().map(|(_, text)| text.as_str()).collect();
        own.sort_unstable();
        own.dedup();
        for text in own {
            places.entry(text).or_default().push(row.position);
        }
    }
    let most = places.into_iter().filter(|(_, positions)| positions.len() >= SAME_PLACES);
    if let Some((text, positions)) = most.max_by_key(|(_, positions)| positions.len()) {
        findings.push(Finding::new("same-number", Place::All).with("number", text).with("count", positions.len()));
    }
}

fn identical_replicates(rows: &[Row], findings: &mut Vec<Finding>) {
    let several: Vec<bool> = rows
        .iter()
        .filter(|row| row.values.len() > 1)
        .map(|row| row.values.iter().all(|(_, text)| *text == row.values[0].1))
        .collect();
    let count = several.iter().filter(|same| **same).count();
    if several.len() >= FEWEST && count as f64 > IDENTICAL_SHARE * several.len() as f64 {
        findings.push(Finding::new("same-replicates", Place::All).with("count", count).with("of", several.len()));
    }
}

/// The same uncertainty in the unit for small and large results: perhaps meant
/// in percent.
fn same_uncertainty(rows: &[Row], findings: &mut Vec<Finding>) {
    let absolute: Vec<(f64, f64)> = rows
        .iter()
        .filter(|row| row.uncertainty_is_absolute)
        .filter_map(|row| Some((row.mean()?, row.uncertainty?)))
        .collect();
    if absolute.len() < FEWEST {
        return;
    }
    let mut sizes: Vec<f64> = absolute.iter().map(|(_, size)| *size).collect();
    sizes.sort_by(f64::total_cmp);
    let middle = sizes[sizes.len() / 2];
    let same: Vec<f64> = absolute.iter().filter(|(_, size)| *size == middle).map(|(x, _)| *x).collect();
    let least = same.iter().copied().fold(f64::INFINITY, f64::min);
    let most = same.iter().copied().fold(0.0, f64::max);
    if same.len() as f64 >= SHARE * absolute.len() as f64 && most > 3.0 * least {
        findings.push(
            Finding::new("same-uncertainty", Place::All)
                .with("u", shown(middle))
                .with("count", same.len())
                .with("least", shown(least))
                .with("most", shown(most)),
        );
    }
}

/// In one item the limits of quantification of several rows in a row are those
/// that their neighbours have in the other items: the rows may be shifted.
fn shifted(rows: &[Row], findings: &mut Vec<Finding>) {
    let mut limits: BTreeMap<&str, Vec<(&str, f64)>> = BTreeMap::new();
    let mut items: Vec<&str> = Vec::new();
    for row in rows {
        if !items.contains(&row.item.as_str()) {
            items.push(&row.item);
        }
        if let Some(loq) = row.loq {
            limits.entry(&row.analyte).or_default().push((&row.item, loq));
        }
    }
    // What the laboratory says of an analyte in the other items, if that is one number.
    let elsewhere = |analyte: &str, item: &str| {
        let mut others = limits.get(analyte)?.iter().filter(|(other, _)| *other != item).map(|(_, loq)| *loq);
        let first = others.next()?;
        others.all(|loq| loq == first).then_some(first)
    };
    for item in items {
        let own: Vec<&Row> = rows.iter().filter(|row| row.item == item).collect();
        for step in [-1isize, 1] {
            if let Some((first, last)) = run(&own, step, |analyte| elsewhere(analyte, item)) {
                findings.push(
                    Finding::new("rows-shifted", Place::Item(item.to_owned()))
                        .with("item", item)
                        .with("first", &own[first].analyte)
                        .with("last", &own[last].analyte),
                );
                break;
            }
        }
    }
}

/// The longest run of rows whose limit is that of the row `step` away.
fn run(own: &[&Row], step: isize, elsewhere: impl Fn(&str) -> Option<f64>) -> Option<(usize, usize)> {
    let mut best: Option<(usize, usize)> = None;
    let (mut begin, mut odd) = (0, 0);
    for at in 0..=own.len() {
        let fits = own.get(at).is_some_and(|row| {
            let neighbour = at.checked_add_signed(step).and_then(|at| own.get(at));
            row.loq.is_some() && row.loq == neighbour.and_then(|row| elsewhere(&row.analyte))
        });
        if fits {
            odd += usize::from(own[at].loq != elsewhere(&own[at].analyte));
            continue;
        }
        let length = at - begin;
        if length >= SHIFTED_ROWS && odd >= 2 && best.is_none_or(|(first, last)| length > last - first + 1) {
            best = Some((begin, at - 1));
        }
        (begin, odd) = (at + 1, 0);
    }
    best
}
