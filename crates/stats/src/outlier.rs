//! Tests of consistency and for outliers in a collaborative trial
//! (ISO 5725-2:2019, clause 7.3): Cochran, Grubbs, Mandel.

use crate::error::finite;
use crate::numeric::sum;
use crate::score::GUARD;
use crate::{Error, Sample, quantile, summary};

/// Critical values of the test for a pair at 1 % and 5 %, for 4 to 20
/// laboratories: the printed table of ISO 5725-2 (Table 5, from memory,
/// agreeing with a simulation of 8 million samples each). There is no simple
/// formula.
const PAIR: [[f64; 2]; 17] = [
    [0.0000, 0.0002],
    [0.0018, 0.0090],
    [0.0116, 0.0349],
    [0.0308, 0.0708],
    [0.0563, 0.1101],
    [0.0851, 0.1492],
    [0.1150, 0.1864],
    [0.1448, 0.2213],
    [0.1738, 0.2537],
    [0.2016, 0.2836],
    [0.2280, 0.3112],
    [0.2530, 0.3367],
    [0.2767, 0.3603],
    [0.2990, 0.3822],
    [0.3200, 0.4025],
    [0.3398, 0.4214],
    [0.3585, 0.4391],
];
const FEWEST_FOR_PAIR: usize = 4;

/// Critical values of the tests for a pair at 2.5 %, for 4 to 30 laboratories: of the
/// smaller of the ratios at the two ends, and of the ratio without both extremes.
/// Simulated, 3 million samples each; the harmonised protocol of collaborative studies
/// (IUPAC 1995, from memory) tests each of the two at this level.
const PAIR_HARMONISED: [[f64; 2]; 27] = [
    [0.00005, 0.00012],
    [0.00446, 0.00627],
    [0.0217, 0.0263],
    [0.0495, 0.0562],
    [0.0824, 0.0904],
    [0.1169, 0.1258],
    [0.1513, 0.1603],
    [0.1843, 0.1930],
    [0.2152, 0.2241],
    [0.2442, 0.2529],
    [0.2719, 0.2799],
    [0.2973, 0.3051],
    [0.3212, 0.3287],
    [0.3433, 0.3505],
    [0.3644, 0.3710],
    [0.3839, 0.3902],
    [0.4023, 0.4081],
    [0.4191, 0.4249],
    [0.4353, 0.4407],
    [0.4508, 0.4558],
    [0.4648, 0.4699],
    [0.4783, 0.4832],
    [0.4913, 0.4959],
    [0.5034, 0.5077],
    [0.5147, 0.5190],
    [0.5256, 0.5297],
    [0.5363, 0.5404],
];

/// What a test says about a laboratory.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scrutiny {
    /// Nothing at 5 %.
    None,
    /// Beyond the critical value at 5 %, not at 1 %.
    Straggler,
    /// Beyond the critical value at 1 %.
    Outlier,
}

/// Critical values of a test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Critical {
    /// At 5 %.
    pub at_5: f64,
    /// At 1 %.
    pub at_1: f64,
}

impl Critical {
    /// For a statistic that is significant when large (Cochran, Grubbs).
    ///
    /// ```
    /// use roundel_stats::outlier::{Critical, Scrutiny};
    ///
    /// let critical = Critical { at_5: 2.0, at_1: 2.5 };
    /// assert_eq!(critical.judge_large(2.0), Scrutiny::None);
    /// assert_eq!(critical.judge_large(2.2), Scrutiny::Straggler);
    /// assert_eq!(critical.judge_large(2.6), Scrutiny::Outlier);
    /// ```
    #[must_use]
    pub fn judge_large(&self, statistic: f64) -> Scrutiny {
        self.judge(is_beyond(statistic, self.at_5), is_beyond(statistic, self.at_1))
    }

    /// For a statistic that is significant when small (pairs).
    ///
    /// ```
    /// use roundel_stats::outlier::{Critical, Scrutiny};
    ///
    /// let critical = Critical { at_5: 0.3, at_1: 0.2 };
    /// assert_eq!(critical.judge_small(0.25), Scrutiny::Straggler);
    /// assert_eq!(critical.judge_small(0.1), Scrutiny::Outlier);
    /// ```
    #[must_use]
    pub fn judge_small(&self, statistic: f64) -> Scrutiny {
        self.judge(is_below(statistic, self.at_5), is_below(statistic, self.at_1))
    }

    fn judge(&self, beyond_5: bool, beyond_1: bool) -> Scrutiny {
        match (beyond_5, beyond_1) {
            (_, true) => Scrutiny::Outlier,
            (true, false) => Scrutiny::Straggler,
            (false, false) => Scrutiny::None,
        }
    }
}

/// One of the two ends of ordered means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The largest.
    High,
    /// The smallest.
    Low,
}

/// Cochran's C = s²max/Σs² of standard deviations from equal numbers of
/// results.
///
/// ```
/// use roundel_stats::{Sample, outlier};
///
/// assert_eq!(outlier::cochran(&Sample::new([1.0, 1.0, 2.0])?)?, 4.0 / 6.0);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 laboratories; [`Error::NoSpread`] where all
/// standard deviations are zero.
pub fn cochran(deviations: &Sample) -> Result<f64, Error> {
    deviations.at_least(2)?;
    let total = sum(deviations.values().iter().map(|s| s * s));
    if total <= 0.0 {
        return Err(Error::NoSpread);
    }
    finite(deviations.maximum() * deviations.maximum() / total)
}

/// Critical value of Cochran's C for `laboratories` with `results` each:
/// F/(F + p − 1) with F(n − 1, (p − 1)(n − 1); 1 − α/p).
///
/// ```
/// use roundel_stats::outlier;
///
/// // As ISO 5725-2 prints it (from memory).
/// assert!((outlier::cochran_critical(10, 2, 0.05)? - 0.602).abs() < 6e-4);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 laboratories or 2 results; [`Error::OutOfRange`]
/// for an `alpha` that is no probability.
pub fn cochran_critical(laboratories: usize, results: usize, alpha: f64) -> Result<f64, Error> {
    for number in [laboratories, results] {
        if number < 2 {
            return Err(Error::TooFew { needed: 2, given: number });
        }
    }
    let (p, freedom) = (laboratories as f64, results as f64 - 1.0);
    let f = quantile::fisher(freedom, (p - 1.0) * freedom, alpha / p)?;
    finite(f / (f + p - 1.0))
}

/// Grubbs' G = |extreme − mean|/s of the means at one end.
///
/// ```
/// use roundel_stats::{Sample, outlier::{End, grubbs}};
///
/// assert_eq!(grubbs(&Sample::new([1.0, 2.0, 3.0])?, End::High)?, 1.0);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 3 means; [`Error::NoSpread`] where all are equal.
pub fn grubbs(means: &Sample, end: End) -> Result<f64, Error> {
    means.at_least(3)?;
    let deviation = summary::standard_deviation(means)?;
    if deviation == 0.0 {
        return Err(Error::NoSpread);
    }
    let centre = summary::mean(means)?;
    finite(match end {
        End::High => (means.maximum() - centre) / deviation,
        End::Low => (centre - means.minimum()) / deviation,
    })
}

/// Critical value of Grubbs' G, two-sided:
/// (p − 1)/√p × √(t²/(p − 2 + t²)) with t(p − 2; 1 − α/2p).
///
/// ```
/// use roundel_stats::outlier;
///
/// // As ISO 5725-2 prints it (from memory).
/// assert!((outlier::grubbs_critical(10, 0.05)? - 2.290).abs() < 6e-4);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 3 means; [`Error::OutOfRange`] for an `alpha` that
/// is no probability.
pub fn grubbs_critical(means: usize, alpha: f64) -> Result<f64, Error> {
    if means < 3 {
        return Err(Error::TooFew { needed: 3, given: means });
    }
    let p = means as f64;
    let t = quantile::student(p - 2.0, alpha / (2.0 * p))?;
    finite((p - 1.0) / p.sqrt() * (t * t / (p - 2.0 + t * t)).sqrt())
}

/// Grubbs' statistic for a pair at one end: the sum of squares without the
/// two over that of all. Small when they stand apart.
///
/// ```
/// use roundel_stats::{Sample, outlier::{End, grubbs_pair}};
///
/// // By hand: 0.5 without the two smallest, 5 with them.
/// let ratio = grubbs_pair(&Sample::new([1.0, 2.0, 3.0, 4.0])?, End::Low)?;
/// assert!((ratio - 0.1).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 4 means; [`Error::NoSpread`] where all are equal.
pub fn grubbs_pair(means: &Sample, end: End) -> Result<f64, Error> {
    means.at_least(FEWEST_FOR_PAIR)?;
    let values = means.values();
    let rest = match end {
        End::High => &values[..values.len() - 2],
        End::Low => &values[2..],
    };
    without(values, rest)
}

/// Printed critical values for a pair among 4 to 20 means, `None` outside.
///
/// ```
/// use roundel_stats::outlier::grubbs_pair_critical;
///
/// assert_eq!(grubbs_pair_critical(10).map(|critical| critical.at_5), Some(0.1864));
/// assert_eq!(grubbs_pair_critical(21), None);
/// ```
#[must_use]
pub fn grubbs_pair_critical(means: usize) -> Option<Critical> {
    let [at_1, at_5] = *PAIR.get(means.checked_sub(FEWEST_FOR_PAIR)?)?;
    Some(Critical { at_5, at_1 })
}

/// Grubbs' statistic for the largest and the smallest mean together: the sum of
/// squares without the two over that of all. Small when they stand apart.
///
/// ```
/// use roundel_stats::{Sample, outlier::grubbs_extremes};
///
/// // By hand: 0.5 without the two, 5 with them.
/// let ratio = grubbs_extremes(&Sample::new([1.0, 2.0, 3.0, 4.0])?)?;
/// assert!((ratio - 0.1).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 4 means; [`Error::NoSpread`] where all are equal.
pub fn grubbs_extremes(means: &Sample) -> Result<f64, Error> {
    means.at_least(FEWEST_FOR_PAIR)?;
    let values = means.values();
    without(values, &values[1..values.len() - 1])
}

/// Critical values of the harmonised protocol for pairs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HarmonisedPair {
    /// For the smaller of the two ratios of [`grubbs_pair`].
    pub same_end: f64,
    /// For [`grubbs_extremes`].
    pub extremes: f64,
}

/// Simulated critical values at 2.5 % for a pair among 4 to 30 means, `None` outside.
///
/// ```
/// use roundel_stats::outlier::{grubbs_pair_critical, harmonised_pair_critical};
///
/// // Two ends at 2.5 % together: stricter than one end at 5 %, as ISO 5725-2 prints it.
/// let pair = harmonised_pair_critical(10).unwrap();
/// let printed = grubbs_pair_critical(10).unwrap();
/// assert!(printed.at_1 < pair.same_end && pair.same_end < printed.at_5);
/// assert_eq!(harmonised_pair_critical(31), None);
/// ```
#[must_use]
pub fn harmonised_pair_critical(means: usize) -> Option<HarmonisedPair> {
    let [same_end, extremes] = *PAIR_HARMONISED.get(means.checked_sub(FEWEST_FOR_PAIR)?)?;
    Some(HarmonisedPair { same_end, extremes })
}

/// Whether a statistic that is significant when large is beyond its critical value.
#[must_use]
pub fn is_beyond(statistic: f64, critical: f64) -> bool {
    statistic > critical * (1.0 + GUARD)
}

/// Whether a statistic that is significant when small is below its critical value.
#[must_use]
pub fn is_below(statistic: f64, critical: f64) -> bool {
    statistic < critical * (1.0 - GUARD)
}

/// The sum of squares of `rest` over that of `values`.
fn without(values: &[f64], rest: &[f64]) -> Result<f64, Error> {
    let squares = |values: &[f64]| -> Result<f64, Error> {
        let sample = Sample::new(values.iter().copied())?;
        let deviation = summary::standard_deviation(&sample)?;
        Ok(deviation * deviation * (values.len() as f64 - 1.0))
    };
    let all = squares(values)?;
    if all == 0.0 {
        return Err(Error::NoSpread);
    }
    finite(squares(rest)? / all)
}

/// Mandel's h of each mean, in the order given: its deviation from the mean
/// of the means, in their standard deviations.
///
/// ```
/// use roundel_stats::outlier;
///
/// assert_eq!(outlier::mandel_h(&[3.0, 1.0, 2.0])?, [1.0, -1.0, 0.0]);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 3 means; [`Error::NoSpread`] where all are equal.
pub fn mandel_h(means: &[f64]) -> Result<Vec<f64>, Error> {
    let sample = Sample::new(means.iter().copied())?;
    sample.at_least(3)?;
    let (centre, deviation) = (summary::mean(&sample)?, summary::standard_deviation(&sample)?);
    if deviation == 0.0 {
        return Err(Error::NoSpread);
    }
    means.iter().map(|mean| finite((mean - centre) / deviation)).collect()
}

/// Mandel's k of each standard deviation, in the order given: over the root
/// mean square of all.
///
/// ```
/// use roundel_stats::outlier;
///
/// // √((1 + 49)/2) = 5.
/// assert_eq!(outlier::mandel_k(&[1.0, 7.0])?, [0.2, 1.4]);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::Empty`], [`Error::NotFinite`]; [`Error::NoSpread`] where all are
/// zero.
pub fn mandel_k(deviations: &[f64]) -> Result<Vec<f64>, Error> {
    let sample = Sample::new(deviations.iter().copied())?;
    let pooled = (sum(sample.values().iter().map(|s| s * s)) / sample.len() as f64).sqrt();
    if pooled == 0.0 {
        return Err(Error::NoSpread);
    }
    deviations.iter().map(|deviation| finite(deviation / pooled)).collect()
}

/// Indicator line of Mandel's h: (p − 1)t/√(p(t² + p − 2)) with
/// t(p − 2; 1 − α/2).
///
/// ```
/// use roundel_stats::outlier;
///
/// // By hand with t(8; 0.975) = 2.306: 20.754/√133.18.
/// assert!((outlier::mandel_h_critical(10, 0.05)? - 1.798).abs() < 1e-3);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 3 laboratories; [`Error::OutOfRange`] for an
/// `alpha` that is no probability.
pub fn mandel_h_critical(laboratories: usize, alpha: f64) -> Result<f64, Error> {
    if laboratories < 3 {
        return Err(Error::TooFew { needed: 3, given: laboratories });
    }
    let p = laboratories as f64;
    let t = quantile::student(p - 2.0, alpha / 2.0)?;
    finite((p - 1.0) * t / (p * (t * t + p - 2.0)).sqrt())
}

/// Indicator line of Mandel's k: √(pF/(F + p − 1)) with
/// F(n − 1, (p − 1)(n − 1); 1 − α).
///
/// ```
/// use roundel_stats::outlier;
///
/// // By hand with F(1, 9; 0.95) = 5.117: √(51.17/14.117).
/// assert!((outlier::mandel_k_critical(10, 2, 0.05)? - 1.904).abs() < 1e-3);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 2 laboratories or 2 results; [`Error::OutOfRange`]
/// for an `alpha` that is no probability.
pub fn mandel_k_critical(laboratories: usize, results: usize, alpha: f64) -> Result<f64, Error> {
    for number in [laboratories, results] {
        if number < 2 {
            return Err(Error::TooFew { needed: 2, given: number });
        }
    }
    let (p, freedom) = (laboratories as f64, results as f64 - 1.0);
    let f = quantile::fisher(freedom, (p - 1.0) * freedom, alpha)?;
    finite((p * f / (f + p - 1.0)).sqrt())
}
