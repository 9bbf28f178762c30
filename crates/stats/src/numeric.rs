//! Sums and the normal distribution, by means that give the same bits on
//! every machine: only IEEE operations, `sqrt`, and the functions of `libm`.

use std::f64::consts::{PI, SQRT_2};

/// The sum with the rounding errors carried along (Neumaier 1974).
pub(crate) fn sum(terms: impl IntoIterator<Item = f64>) -> f64 {
    let mut running = Running::default();
    for term in terms {
        running.add(term);
    }
    running.total + running.lost
}

/// A sum that grows, with the rounding errors carried along.
#[derive(Default)]
pub(crate) struct Running {
    total: f64,
    lost: f64,
}

impl Running {
    /// The sum with one term more.
    pub(crate) fn add(&mut self, term: f64) -> f64 {
        let next = self.total + term;
        self.lost +=
            if self.total.abs() >= term.abs() { (self.total - next) + term } else { (term - next) + self.total };
        self.total = next;
        self.total + self.lost
    }
}

/// The sum of `term` over the values by halves, with an error that grows with
/// the logarithm of their number: for values without a large common offset.
pub(crate) fn sum_by_halves(values: &[f64], term: impl Fn(f64) -> f64 + Copy) -> f64 {
    const FEW: usize = 64;
    if values.len() > FEW {
        let (low, high) = values.split_at(values.len() / 2);
        return sum_by_halves(low, term) + sum_by_halves(high, term);
    }
    // Four sums side by side, as the processor adds them.
    let (quads, rest) = values.as_chunks::<4>();
    let mut lanes = [0.0; 4];
    for quad in quads {
        for (lane, value) in lanes.iter_mut().zip(quad) {
            *lane += term(*value);
        }
    }
    for value in rest {
        lanes[0] += term(*value);
    }
    (lanes[0] + lanes[1]) + (lanes[2] + lanes[3])
}

/// Middle value of ascending values, or the mean of the two middle ones.
/// The values are at least one.
pub(crate) fn middle(ascending: &[f64]) -> f64 {
    let half = ascending.len() / 2;
    if ascending.len() % 2 == 1 { ascending[half] } else { midpoint(ascending[half - 1], ascending[half]) }
}

/// The mean of two numbers.
pub(crate) fn midpoint(first: f64, second: f64) -> f64 {
    let total = first + second;
    if total.is_finite() { total / 2.0 } else { first / 2.0 + second / 2.0 }
}

/// The values in ascending order.
pub(crate) fn ascending(values: impl IntoIterator<Item = f64>) -> Vec<f64> {
    let mut values: Vec<f64> = values.into_iter().collect();
    values.sort_unstable_by(f64::total_cmp);
    values
}

/// Standard normal density.
pub(crate) fn normal_density(x: f64) -> f64 {
    libm::exp(-0.5 * x * x) / (2.0 * PI).sqrt()
}

/// Standard normal distribution function.
pub(crate) fn normal_cdf(x: f64) -> f64 {
    0.5 * libm::erfc(-x / SQRT_2)
}

/// Quantile of the standard normal distribution for 0 < `probability` < 1:
/// a start within 4.5e-4 (Abramowitz and Stegun 26.2.23, from memory), then
/// Halley's iteration on the distribution function until it rests.
pub(crate) fn normal_quantile(probability: f64) -> f64 {
    if probability > 0.5 {
        return -normal_quantile(1.0 - probability);
    }
    let t = (-2.0 * libm::log(probability)).sqrt();
    let numerator = 2.515_517 + t * (0.802_853 + t * 0.010_328);
    let denominator = 1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308));
    let mut x = numerator / denominator - t;
    for _ in 0..4 {
        let step = (normal_cdf(x) - probability) / normal_density(x);
        x -= step / (1.0 + 0.5 * x * step);
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::distribution::{ContinuousCDF as _, Normal};

    #[test]
    fn the_normal_quantile_agrees_with_another_implementation() {
        let other = Normal::new(0.0, 1.0).unwrap();

        for probability in [1e-9, 1e-4, 0.025, 0.3, 0.5, 0.625, 0.75, 0.9, 0.999, 0.999_999] {
            let expected = other.inverse_cdf(probability);
            let got = normal_quantile(probability);
            assert!((got - expected).abs() <= 1e-12 * (1.0 + expected.abs()), "{probability}: {got} {expected}");
        }
    }

    #[test]
    fn a_compensated_sum_keeps_what_a_plain_sum_loses() {
        assert_eq!(sum([1.0, 1e100, 1.0, -1e100]), 2.0);
    }
}
