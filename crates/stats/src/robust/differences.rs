//! Order statistics of the differences between ascending values, counted
//! instead of listed: p values have p(p − 1)/2 differences, but how many are
//! at most a given size two pointers count in p steps.
//!
//! Counts are doubles: whole numbers where each pair counts once, which are
//! exact, and sums of weights where it does not.

use std::cmp::Ordering;

use crate::Sample;
use crate::numeric::Running;

/// Differences of values of magnitude m that are closer than this × m are
/// equal: 1.75−1.55 and 1.55−1.35 are different binary numbers.
pub(super) const SAME_DIFFERENCE: f64 = 8.0 * f64::EPSILON;

/// What the last bits of two values may do to their difference.
pub(super) fn rounding(first: f64, second: f64) -> f64 {
    SAME_DIFFERENCE * first.abs().max(second.abs())
}

/// Which pairs of ascending values are compared, and what each counts.
pub(super) trait Pairs {
    /// What the pairs of the value at `place` with those from `start` on, up
    /// to itself, count together.
    fn count(&self, start: usize, place: usize) -> f64;
    /// Whether two values are compared.
    fn are_compared(&self, low: usize, high: usize) -> bool;
}

/// Every pair, once.
pub(super) struct Every;

impl Pairs for Every {
    fn count(&self, start: usize, place: usize) -> f64 {
        // A signed number becomes a double in one instruction.
        (place - start) as i64 as f64
    }

    fn are_compared(&self, _: usize, _: usize) -> bool {
        true
    }
}

/// Pairs from two groups; those of any two groups count the same together,
/// whatever their numbers of values.
pub(super) struct Between {
    /// The group of each value.
    groups: Vec<usize>,
    /// The places of all values, group after group, ascending in each.
    places: Vec<usize>,
    /// At k where those of group k start in that list.
    starts: Vec<usize>,
    /// For a value of each group: one where all groups are as large as the
    /// largest.
    weights: Vec<f64>,
    /// At k the weights of the first k values.
    sums: Vec<f64>,
}

impl Between {
    /// All values of the groups in ascending order, with what tells them
    /// apart.
    pub(super) fn of<'v>(groups: &'v [Sample]) -> (Vec<f64>, Self) {
        // In an order that does not depend on that of the groups.
        let mut groups: Vec<&Sample> = groups.iter().collect();
        groups.sort_unstable_by(|a, b| a.values().partial_cmp(b.values()).unwrap_or(Ordering::Equal));
        let own = |(group, sample): (usize, &&'v Sample)| sample.values().iter().map(move |x| (*x, group));
        let mut tagged: Vec<(f64, usize)> = Vec::with_capacity(groups.iter().map(|group| group.len()).sum());
        tagged.extend(groups.iter().enumerate().flat_map(own));
        tagged.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let most = groups.iter().map(|group| group.len()).max().unwrap_or(1) as f64;
        let weights: Vec<f64> = groups.iter().map(|group| most / group.len() as f64).collect();
        let mut places: Vec<usize> = (0..tagged.len()).collect();
        places.sort_unstable_by_key(|place| (tagged[*place].1, *place));
        let mut starts = vec![0; groups.len() + 1];
        for (place, group) in groups.iter().enumerate() {
            starts[place + 1] = starts[place] + group.len();
        }
        let mut running = Running::default();
        let mut sums = vec![0.0; tagged.len() + 1];
        for (place, (_, group)) in tagged.iter().enumerate() {
            sums[place + 1] = running.add(weights[*group]);
        }
        let (values, groups) = tagged.into_iter().unzip();
        (values, Self { groups, places, starts, weights, sums })
    }
}

impl Pairs for Between {
    fn count(&self, start: usize, place: usize) -> f64 {
        let group = self.groups[place];
        let places = &self.places[self.starts[group]..self.starts[group + 1]];
        let before = |end: usize| places.partition_point(|own| *own < end);
        let weight = self.weights[group];
        let own = weight * (before(place) - before(start)) as f64;
        weight * (self.sums[place] - self.sums[start] - own)
    }

    fn are_compared(&self, low: usize, high: usize) -> bool {
        self.groups[low] != self.groups[high]
    }
}

/// The differences between ascending values. Those that rounding may have
/// made count as zero.
pub(super) struct Differences<'v, P> {
    values: &'v [f64],
    pairs: P,
}

/// Differences that are equal but for rounding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Class {
    /// The smallest of them as a binary number.
    pub(super) size: f64,
    /// The count of smaller differences.
    pub(super) below: f64,
    /// The count of those that are smaller or belong to it.
    pub(super) through: f64,
    low: f64,
    high: f64,
}

impl<'v, P: Pairs> Differences<'v, P> {
    /// Of ascending values, two or more.
    pub(super) fn of(values: &'v [f64], pairs: P) -> Self {
        Self { values, pairs }
    }

    /// The count of all.
    pub(super) fn count(&self) -> f64 {
        self.counted(|_, _| true)
    }

    /// The count of those of at most `limit`, those that count as zero
    /// included.
    pub(super) fn up_to(&self, limit: f64) -> f64 {
        self.counted(|size, rounding| size <= limit || size <= rounding)
    }

    fn under(&self, limit: f64) -> f64 {
        self.counted(|size, rounding| size < limit || size <= rounding)
    }

    fn counted(&self, within: impl Fn(f64, f64) -> bool) -> f64 {
        let mut count = 0.0;
        self.each_start(within, |place, start| count += self.pairs.count(start, place));
        count
    }

    /// The class in which `rank` is reached, which is not zero. Bisects on the
    /// bits of the size, which order numbers that are not negative: 64 counts
    /// at most.
    pub(super) fn ranked(&self, rank: f64) -> Class {
        let (mut low, mut high) = (0_u64, (self.values[self.values.len() - 1] - self.values[0]).to_bits());
        while low < high {
            let middle = low + (high - low) / 2;
            if self.up_to(f64::from_bits(middle)) >= rank { high = middle } else { low = middle + 1 }
        }
        self.class_of(f64::from_bits(high))
    }

    /// The class next above.
    pub(super) fn above(&self, class: &Class) -> Class {
        self.class_of(self.smallest_beyond(f64::INFINITY, |size, rounding| size <= class.high || size <= rounding))
    }

    /// The class next below, or `None` where only zeros are.
    pub(super) fn beneath(&self, class: &Class) -> Option<Class> {
        let mut next = 0.0_f64;
        self.each_start(
            |size, rounding| size < class.low || size <= rounding,
            |place, start| {
                if let Some(low) = (start..place).find(|low| self.pairs.are_compared(*low, place)) {
                    let (low, high) = (self.values[low], self.values[place]);
                    if high - low > rounding(low, high) {
                        next = next.max(high - low);
                    }
                }
            },
        );
        (next > 0.0).then(|| self.class_of(next))
    }

    /// Everything that equals `size` but for the rounding of the larger of
    /// the values concerned.
    fn class_of(&self, size: f64) -> Class {
        let reach = self.largest_rounding_at(size);
        let (low, high) = (size - reach, size + reach);
        let smallest = self.smallest_beyond(size, |size, rounding| size < low || size <= rounding);
        Class { size: smallest, below: self.under(low), through: self.up_to(high), low, high }
    }

    /// The smallest difference that is not `within`, or `most` if that is
    /// smaller.
    fn smallest_beyond(&self, most: f64, within: impl Fn(f64, f64) -> bool) -> f64 {
        let mut smallest = most;
        self.each_start(within, |place, start| {
            if let Some(low) = (0..start).rev().find(|low| self.pairs.are_compared(*low, place)) {
                smallest = smallest.min(self.values[place] - self.values[low]);
            }
        });
        smallest
    }

    /// The largest rounding among differences that may equal `size`.
    fn largest_rounding_at(&self, size: f64) -> f64 {
        let mut largest = 0.0_f64;
        let (mut from, mut to) = (0, 0);
        for (place, high) in self.values.iter().enumerate() {
            let difference = |start: usize| high - self.values[start];
            let own = |start: usize| rounding(self.values[start], *high);
            while from < place && difference(from) > size + own(from) {
                from += 1;
            }
            while to < place && difference(to) >= size - own(to) {
                to += 1;
            }
            if from < to {
                // Magnitudes are largest at one of the ends.
                largest = largest.max(own(from)).max(own(to - 1));
            }
        }
        largest
    }

    /// For each value as the larger one, the place of the first smaller one
    /// whose difference is `within`; that place never moves back.
    fn each_start(&self, within: impl Fn(f64, f64) -> bool, mut each: impl FnMut(usize, usize)) {
        let mut start = 0;
        for (place, high) in self.values.iter().enumerate() {
            while start < place && !within(high - self.values[start], rounding(self.values[start], *high)) {
                start += 1;
            }
            each(place, start);
        }
    }
}
