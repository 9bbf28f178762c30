//! Order statistics of the differences between ascending values, counted
//! instead of listed: p values have p(p − 1)/2 differences, but how many are
//! at most a given size two pointers count in p steps.

/// Differences of values of magnitude m that are closer than this × m are
/// equal: 1.75−1.55 and 1.55−1.35 are different binary numbers.
pub(super) const SAME_DIFFERENCE: f64 = 8.0 * f64::EPSILON;

/// What the last bits of two values may do to their difference.
pub(super) fn rounding(first: f64, second: f64) -> f64 {
    SAME_DIFFERENCE * first.abs().max(second.abs())
}

/// All differences between ascending values. Those that rounding may have
/// made count as zero.
pub(super) struct Differences<'v> {
    values: &'v [f64],
}

/// Differences that are equal but for rounding.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Class {
    /// The smallest of them as a binary number.
    pub(super) size: f64,
    /// How many differences are smaller.
    pub(super) below: usize,
    /// How many are smaller or belong to it.
    pub(super) through: usize,
    low: f64,
    high: f64,
}

impl<'v> Differences<'v> {
    /// Of ascending values, two or more.
    pub(super) fn of(values: &'v [f64]) -> Self {
        Self { values }
    }

    /// p(p − 1)/2.
    pub(super) fn count(&self) -> usize {
        self.values.len() * (self.values.len() - 1) / 2
    }

    /// How many are at most `limit`, those that count as zero included.
    pub(super) fn up_to(&self, limit: f64) -> usize {
        let mut count = 0;
        self.each_start(|size, rounding| size <= limit || size <= rounding, |place, start| count += place - start);
        count
    }

    fn under(&self, limit: f64) -> usize {
        let mut count = 0;
        self.each_start(|size, rounding| size < limit || size <= rounding, |place, start| count += place - start);
        count
    }

    /// The class of the `rank`-th smallest, which is not zero. Bisects on the
    /// bits of the size, which order numbers that are not negative: 64 counts
    /// at most.
    pub(super) fn ranked(&self, rank: usize) -> Class {
        let (mut low, mut high) = (0_u64, (self.values[self.values.len() - 1] - self.values[0]).to_bits());
        while low < high {
            let middle = low + (high - low) / 2;
            if self.up_to(f64::from_bits(middle)) >= rank { high = middle } else { low = middle + 1 }
        }
        self.class_of(f64::from_bits(high))
    }

    /// The class next above.
    pub(super) fn above(&self, class: &Class) -> Class {
        let mut next = f64::INFINITY;
        self.each_start(
            |size, rounding| size <= class.high || size <= rounding,
            |place, start| {
                if let Some(low) = start.checked_sub(1) {
                    next = next.min(self.values[place] - self.values[low]);
                }
            },
        );
        self.class_of(next)
    }

    /// The class next below, or `None` where only zeros are.
    pub(super) fn beneath(&self, class: &Class) -> Option<Class> {
        let mut next = 0.0_f64;
        self.each_start(
            |size, rounding| size < class.low || size <= rounding,
            |place, start| {
                let (low, high) = (self.values[start], self.values[place]);
                if start < place && high - low > rounding(low, high) {
                    next = next.max(high - low);
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
        let mut smallest = size;
        self.each_start(
            |size, rounding| size < low || size <= rounding,
            |place, start| {
                if let Some(first) = start.checked_sub(1) {
                    smallest = smallest.min(self.values[place] - self.values[first]);
                }
            },
        );
        Class { size: smallest, below: self.under(low), through: self.up_to(high), low, high }
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
