//! Laboratories that report more equal numbers than chance lets expect. A
//! private note to the reviewer; reasons other than copying exist.

use roundel_stats::{Sample, summary};

use super::{Centres, Grid, Place};

const FEWEST_SHARED: usize = 30;
const FALSE_DISCOVERIES: f64 = 0.01;
const CLIPPED: f64 = 0.6;
/// Equal but for the last bits.
const SAME: f64 = 1e-12;

/// Two laboratories with more equal numbers than chance lets expect.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Similarity {
    /// The two laboratories.
    pub laboratories: [usize; 2],
    /// How many results both reported.
    pub shared: usize,
    /// e: how many of them are equal numbers. This is the evidence.
    pub equal: usize,
    /// How many equal numbers chance lets expect.
    pub expected: f64,
    /// Probability of e or more by chance.
    pub probability: f64,
    /// Correlation of the residuals, which only supports it: honest pairs
    /// reach 0.6 too.
    pub correlation: Option<f64>,
}

/// Pairs with 30 shared results or more whose number of equal ones stands out
/// at a false discovery rate of 1 % (Benjamini and Hochberg 1995), by rising
/// probability.
///
/// By chance means: in every cell the numbers are dealt anew among
/// laboratories of the same group of methods that report to as many digits:
/// two that round to two digits meet often. Cells are dealt independently, so the number of equal
/// ones is a sum of independent events whose distribution is computed, not
/// simulated. The numbers of the pair itself are among those dealt, which
/// makes the test a little cautious, and two laboratories that are alone in
/// their groups cannot stand out.
#[must_use]
pub fn similarities(grid: &Grid, centres: &Centres) -> Vec<Similarity> {
    let residuals = residuals(grid, centres);
    let mut all: Vec<Similarity> = Vec::new();
    let groups = groups(grid);
    let chances: Vec<Vec<Vec<f64>>> = grid.places().map(|place| chances(grid, &groups, place)).collect();
    for first in 0..grid.laboratories {
        for second in first + 1..grid.laboratories {
            let shared: Vec<(usize, f64, f64)> = grid
                .places()
                .enumerate()
                .filter_map(|(index, place)| Some((index, grid.value(first, place)?, grid.value(second, place)?)))
                .collect();
            if shared.len() < FEWEST_SHARED {
                continue;
            }
            let by_chance: Vec<f64> =
                shared.iter().map(|(index, _, _)| chances[*index][groups[first]][groups[second]]).collect();
            let equal = shared.iter().filter(|(_, x, y)| same(*x, *y)).count();
            all.push(Similarity {
                laboratories: [first, second],
                shared: shared.len(),
                equal,
                expected: by_chance.iter().sum(),
                probability: at_least(equal, &by_chance),
                correlation: correlation(&residuals[first], &residuals[second]),
            });
        }
    }
    standing_out(all)
}

fn same(x: f64, y: f64) -> bool {
    (x - y).abs() <= SAME * x.abs()
}

/// The group of each laboratory, from 0: its method and its digits.
fn groups(grid: &Grid) -> Vec<usize> {
    let kinds: Vec<(Option<usize>, usize)> =
        (0..grid.laboratories).map(|one| (grid.methods[one], digits(grid, one))).collect();
    let mut known = kinds.clone();
    known.sort_unstable();
    known.dedup();
    kinds.iter().map(|kind| known.partition_point(|other| other < kind)).collect()
}

/// The significant digits to which a laboratory reports: the most that one of
/// its numbers has.
fn digits(grid: &Grid, laboratory: usize) -> usize {
    let count =
        |value: f64| format!("{value:e}").bytes().take_while(|byte| *byte != b'e').filter(u8::is_ascii_digit).count();
    grid.places().filter_map(|place| grid.value(laboratory, place)).map(count).max().unwrap_or(0)
}

/// In one cell, for each two groups, the share of pairs with equal numbers.
fn chances(grid: &Grid, groups: &[usize], place: Place) -> Vec<Vec<f64>> {
    let count = groups.iter().max().map_or(0, |most| most + 1);
    let (mut pairs, mut equal) = (vec![vec![0.0; count]; count], vec![vec![0.0; count]; count]);
    for first in 0..grid.laboratories {
        for second in 0..grid.laboratories {
            if let (true, Some(x), Some(y)) = (first != second, grid.value(first, place), grid.value(second, place)) {
                pairs[groups[first]][groups[second]] += 1.0;
                equal[groups[first]][groups[second]] += f64::from(u8::from(same(x, y)));
            }
        }
    }
    let share = |(equal, pairs): (&f64, &f64)| if *pairs > 0.0 { equal / pairs } else { 0.0 };
    equal.iter().zip(&pairs).map(|(equal, pairs)| equal.iter().zip(pairs).map(share).collect()).collect()
}

/// Probability that `count` or more of independent events happen.
fn at_least(count: usize, chances: &[f64]) -> f64 {
    let mut exactly = vec![0.0; chances.len() + 1];
    exactly[0] = 1.0;
    for (made, chance) in chances.iter().enumerate() {
        for number in (0..=made).rev() {
            exactly[number + 1] += exactly[number] * chance;
            exactly[number] *= 1.0 - chance;
        }
    }
    exactly[count..].iter().sum()
}

/// ln x/m, less the median of the method group in the cell and that of the
/// laboratory, drawn in to ± 0.6.
fn residuals(grid: &Grid, centres: &Centres) -> Vec<Vec<Option<f64>>> {
    let logs: Vec<Vec<Option<f64>>> = (0..grid.laboratories)
        .map(|one| grid.places().map(|place| Some((grid.value(one, place)? / centres.at(place)?).ln())).collect())
        .collect();
    let method = &grid.methods;
    let without_group: Vec<Vec<Option<f64>>> = logs
        .iter()
        .enumerate()
        .map(|(one, row)| {
            let of_group = |index: usize| {
                let members = (0..grid.laboratories).filter(|other| method[*other] == method[one]);
                median(members.filter_map(|other| logs[other][index]))
            };
            row.iter().enumerate().map(|(index, log)| Some((*log)? - of_group(index)?)).collect()
        })
        .collect();
    without_group
        .into_iter()
        .map(|row| {
            let own = median(row.iter().copied().flatten()).unwrap_or(0.0);
            row.into_iter().map(|residual| residual.map(|x| (x - own).clamp(-CLIPPED, CLIPPED))).collect()
        })
        .collect()
}

fn median(values: impl Iterator<Item = f64>) -> Option<f64> {
    Sample::new(values.collect::<Vec<f64>>()).ok().map(|sample| summary::median(&sample))
}

fn correlation(first: &[Option<f64>], second: &[Option<f64>]) -> Option<f64> {
    let pairs: Vec<(f64, f64)> = first.iter().zip(second).filter_map(|(x, y)| Some(((*x)?, (*y)?))).collect();
    let count = pairs.len() as f64;
    let mean = |part: fn(&(f64, f64)) -> f64| pairs.iter().map(part).sum::<f64>() / count;
    let (x_mean, y_mean) = (mean(|pair| pair.0), mean(|pair| pair.1));
    let product = |f: &dyn Fn(f64, f64) -> f64| pairs.iter().map(|(x, y)| f(x - x_mean, y - y_mean)).sum::<f64>();
    let spread = (product(&|x, _| x * x) * product(&|_, y| y * y)).sqrt();
    (spread > 0.0).then(|| product(&|x, y| x * y) / spread)
}

/// Benjamini and Hochberg's rule.
fn standing_out(mut all: Vec<Similarity>) -> Vec<Similarity> {
    all.sort_by(|a, b| a.probability.total_cmp(&b.probability));
    let tests = all.len() as f64;
    let passes = |(place, one): (usize, &Similarity)| one.probability <= FALSE_DISCOVERIES * (place + 1) as f64 / tests;
    let count = all.iter().enumerate().filter(|(place, one)| passes((*place, one))).map(|(place, _)| place + 1).max();
    all.truncate(count.unwrap_or(0));
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_number_of_events_follows_the_binomial_distribution() {
        // By arithmetic: 3 of 4 or more at 1/2 is 5/16.
        assert!((at_least(3, &[0.5; 4]) - 5.0 / 16.0).abs() < 1e-15);
        assert!((at_least(0, &[0.3, 0.9]) - 1.0).abs() < 1e-15);
        assert!((at_least(2, &[0.3, 0.9]) - 0.27).abs() < 1e-15);
    }
}
