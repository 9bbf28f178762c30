//! Round numbers on an axis, and the part of it that a figure shows.

/// A stretch of an axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Frame {
    pub(crate) low: f64,
    pub(crate) high: f64,
}

impl Frame {
    pub(crate) fn holds(&self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }

    fn grow(&mut self, value: f64) {
        self.low = self.low.min(value);
        self.high = self.high.max(value);
    }

    /// Four to seven round numbers inside, and the decimals that they need.
    pub(crate) fn ticks(&self) -> (Vec<f64>, usize) {
        let raw = (self.high - self.low) / 5.0;
        let power = raw.log10().floor();
        let ten = 10_f64.powf(power);
        let factor = [1.0, 2.0, 5.0, 10.0].into_iter().find(|factor| factor * ten >= raw * 0.8).unwrap_or(10.0);
        let step = factor * ten;
        let first = (self.low / step - 1e-9).ceil();
        let last = (self.high / step + 1e-9).floor();
        let count = (last - first).clamp(0.0, 20.0) as u32;
        // A step of 10 has one place less than its power says.
        let place = if factor == 10.0 { power + 1.0 } else { power };
        let decimals = (-place).max(0.0) as usize;
        ((0..=count).map(|index| (first + f64::from(index)) * step).collect(), decimals)
    }
}

/// Which part of the axis shows `values`: the limits and the bulk of the values,
/// not what lies far out. It begins at zero where that costs little.
///
/// `fixed` is what must be seen (assigned value and limits). A value is in the bulk
/// if it lies within one and a half spreads of the middle half of the values
/// (three, where there are no limits to be seen).
pub(crate) fn frame(values: &[f64], fixed: &[f64]) -> Frame {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = quantile(&sorted, 0.5).or(fixed.first().copied()).unwrap_or(0.0);
    let mut frame = Frame { low: middle, high: middle };
    fixed.iter().for_each(|&value| frame.grow(value));
    if let (Some(first), Some(third)) = (quantile(&sorted, 0.25), quantile(&sorted, 0.75)) {
        let reach = (third - first) * if fixed.len() > 1 { 1.5 } else { 3.0 };
        // The rank, not the interpolated value, where a wild one is among few.
        let bulk = sorted.iter().filter(|&&value| first - reach <= value && value <= third + reach);
        bulk.for_each(|&value| frame.grow(value));
    }
    let span = frame.high - frame.low;
    if span <= 0.0 {
        let half = if middle == 0.0 { 1.0 } else { middle.abs() };
        frame = Frame { low: middle - half, high: middle + half };
    } else {
        frame = Frame { low: frame.low - span * 0.06, high: frame.high + span * 0.06 };
    }
    let all_positive = sorted.first().is_none_or(|&least| least >= 0.0) && fixed.iter().all(|&value| value >= 0.0);
    if all_positive && frame.low < 0.35 * frame.high {
        frame.low = 0.0;
    }
    frame
}

/// By the lower of the two neighbouring ranks for the third quartile and the upper
/// for the first, so that one wild value among few does not stretch it.
fn quantile(sorted: &[f64], share: f64) -> Option<f64> {
    let last = sorted.len().checked_sub(1)?;
    let rank = last as f64 * share;
    let index = if share > 0.5 { rank.floor() } else { rank.ceil() };
    sorted.get((index as usize).min(last)).copied()
}
