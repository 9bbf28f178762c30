//! Random numbers for simulations and resampling: a small generator whose
//! whole state is the seed, so that the same seed gives the same numbers on
//! every machine. Nothing here is fit for secrets.

use crate::numeric::normal_quantile;

/// SplitMix64 (Steele, Lea and Flood 2014): 2⁶⁴ numbers before it repeats.
#[derive(Clone, Debug)]
pub struct Random {
    state: u64,
}

impl Random {
    /// Starts at a seed.
    ///
    /// ```
    /// use roundel_stats::random::Random;
    ///
    /// assert_eq!(Random::new(7).bits(), Random::new(7).bits());
    /// ```
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    /// The next 64 bits.
    ///
    /// ```
    /// use roundel_stats::random::Random;
    ///
    /// // As listed with the reference implementation (from memory).
    /// assert_eq!(Random::new(1_234_567).bits(), 6_457_827_717_110_365_317);
    /// ```
    pub fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.state;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// Uniform between 0 and 1, never either.
    ///
    /// ```
    /// use roundel_stats::random::Random;
    ///
    /// let share = Random::new(7).uniform();
    /// assert!(share > 0.0 && share < 1.0);
    /// ```
    pub fn uniform(&mut self) -> f64 {
        ((self.bits() >> 11) as f64 + 0.5) / 9_007_199_254_740_992.0
    }

    /// Standard normal, by inversion.
    ///
    /// ```
    /// use roundel_stats::random::Random;
    ///
    /// let mut random = Random::new(7);
    /// let beyond = (0..1000).filter(|_| random.normal().abs() > 1.96).count();
    /// assert!((20..=80).contains(&beyond), "about 5 % of 1000: {beyond}");
    /// ```
    pub fn normal(&mut self) -> f64 {
        normal_quantile(self.uniform())
    }

    /// A place below `count`, which is at least 1. (Its bias is count/2⁶⁴.)
    ///
    /// ```
    /// use roundel_stats::random::Random;
    ///
    /// assert!(Random::new(7).place(10) < 10);
    /// assert_eq!(Random::new(7).place(1), 0);
    /// ```
    pub fn place(&mut self, count: usize) -> usize {
        ((u128::from(self.bits()) * count as u128) >> 64) as usize
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_published_sequence_comes_out() {
        // First outputs for the seed 1234567, as listed with the reference
        // implementation of SplitMix64 (from memory).
        let mut random = Random::new(1_234_567);

        assert_eq!([random.bits(), random.bits()], [6_457_827_717_110_365_317, 3_203_168_211_198_807_973]);
    }

    #[test]
    fn normal_numbers_have_mean_zero_and_variance_one() {
        // Within four standard errors, 1/√n and √(2/n).
        let mut random = Random::new(1);
        let values: Vec<f64> = (0..10_000).map(|_| random.normal()).collect();

        let mean = values.iter().sum::<f64>() / 1e4;
        let variance = values.iter().map(|x| x * x).sum::<f64>() / 1e4;
        assert!(mean.abs() < 0.04 && (variance - 1.0).abs() < 4.0 * (2.0_f64 / 1e4).sqrt(), "{mean} {variance}");
    }
}
