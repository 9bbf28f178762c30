//! Checked data.

use crate::Error;

/// One or more finite numbers, in ascending order.
///
/// Sorting on entry makes every statistic independent of the order of the
/// data to the last bit.
#[derive(Clone, Debug, PartialEq)]
pub struct Sample {
    values: Vec<f64>,
}

impl Sample {
    /// Takes finite numbers in any order. A negative zero becomes zero.
    ///
    /// ```
    /// use roundel_stats::{Error, Sample};
    ///
    /// let sample = Sample::new([3.0, -0.0, -2.0])?;
    /// assert_eq!(sample.values(), [-2.0, 0.0, 3.0]);
    /// assert_eq!(Sample::new([1.0, f64::NAN]), Err(Error::NotFinite));
    /// # Ok::<(), roundel_stats::Error>(())
    /// ```
    ///
    /// # Errors
    ///
    /// [`Error::Empty`] without a value, [`Error::NotFinite`] for NaN and
    /// infinities.
    pub fn new(values: impl IntoIterator<Item = f64>) -> Result<Self, Error> {
        let mut values: Vec<f64> = values.into_iter().map(|value| value + 0.0).collect();
        Self::check_and_sort(&mut values)?;
        Ok(Self { values })
    }

    /// Other values in the same memory.
    pub(crate) fn replace(&mut self, values: impl Iterator<Item = f64>) -> Result<(), Error> {
        self.values.clear();
        self.values.extend(values.map(|value| value + 0.0));
        Self::check_and_sort(&mut self.values)
    }

    fn check_and_sort(values: &mut [f64]) -> Result<(), Error> {
        if values.is_empty() {
            return Err(Error::Empty);
        }
        if values.iter().any(|value| !value.is_finite()) {
            return Err(Error::NotFinite);
        }
        // Numbers that compare as equal have the same bits, so an unstable
        // sort, which takes no memory, gives the same.
        values.sort_unstable_by(f64::total_cmp);
        Ok(())
    }

    /// The values in ascending order.
    ///
    /// ```
    /// use roundel_stats::Sample;
    ///
    /// assert_eq!(Sample::new([2.0, 1.0])?.values(), [1.0, 2.0]);
    /// # Ok::<(), roundel_stats::Error>(())
    /// ```
    #[must_use]
    pub fn values(&self) -> &[f64] {
        &self.values
    }

    /// The number of values, at least 1.
    ///
    /// ```
    /// use roundel_stats::Sample;
    ///
    /// assert_eq!(Sample::new([2.0, 1.0])?.len(), 2);
    /// # Ok::<(), roundel_stats::Error>(())
    /// ```
    #[must_use]
    #[expect(clippy::len_without_is_empty, reason = "a sample is never empty")]
    pub fn len(&self) -> usize {
        self.values.len()
    }

    /// The smallest value.
    ///
    /// ```
    /// use roundel_stats::Sample;
    ///
    /// assert_eq!(Sample::new([2.0, 1.0])?.minimum(), 1.0);
    /// # Ok::<(), roundel_stats::Error>(())
    /// ```
    #[must_use]
    pub fn minimum(&self) -> f64 {
        self.values[0]
    }

    /// The largest value.
    ///
    /// ```
    /// use roundel_stats::Sample;
    ///
    /// assert_eq!(Sample::new([2.0, 1.0])?.maximum(), 2.0);
    /// # Ok::<(), roundel_stats::Error>(())
    /// ```
    #[must_use]
    pub fn maximum(&self) -> f64 {
        self.values[self.values.len() - 1]
    }

    /// Fails where there are fewer than `needed` values.
    pub(crate) fn at_least(&self, needed: usize) -> Result<(), Error> {
        if self.len() < needed {
            return Err(Error::TooFew { needed, given: self.len() });
        }
        Ok(())
    }
}

/// A spread no larger than the rounding of values of the given magnitude is
/// none: two results that are equal as decimals may differ in the last bit
/// once they are means of replicates.
pub(crate) fn spread(scale: f64, magnitude: f64) -> f64 {
    if scale <= 4.0 * f64::EPSILON * magnitude.abs() { 0.0 } else { scale }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_sorted_and_negative_zero_is_zero() {
        let sample = Sample::new([3.0, -0.0, -2.0]).unwrap();

        assert_eq!(sample.values(), [-2.0, 0.0, 3.0]);
        assert!(sample.values()[1].is_sign_positive());
    }

    #[test]
    fn nothing_and_numbers_that_are_not_finite_are_refused() {
        assert_eq!(Sample::new([]), Err(Error::Empty));
        assert_eq!(Sample::new([1.0, f64::NAN]), Err(Error::NotFinite));
        assert_eq!(Sample::new([1.0, f64::INFINITY]), Err(Error::NotFinite));
    }
}
