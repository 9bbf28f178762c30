//! Straight lines: by least squares, and by the median of all slopes.

use crate::error::finite;
use crate::numeric::{ascending, middle, sum};
use crate::{Error, Used, quantile};

/// A line by least squares.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// Value at x = 0.
    pub intercept: f64,
    /// Change of y per unit of x.
    pub slope: f64,
    /// Standard error of the slope, from the residuals.
    pub slope_sd: f64,
    /// Standard deviation of the residuals, with n − 2.
    pub residual_sd: f64,
    /// n − 2.
    pub freedom: usize,
}

/// Fits y = a + b x by least squares to the points (x, y).
///
/// ```
/// use roundel_stats::regression;
///
/// let line = regression::least_squares(&[(0.0, 1.0), (1.0, 3.0), (2.0, 5.0)])?;
/// assert_eq!((line.intercept, line.slope, line.freedom), (1.0, 2.0, 1));
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 3 points; [`Error::NoSpread`] where all x are
/// equal; [`Error::NotFinite`] for what is no finite number.
pub fn least_squares(points: &[(f64, f64)]) -> Result<Line, Error> {
    let points = checked(points)?;
    let count = points.len() as f64;
    let (x_mean, y_mean) = (sum(points.iter().map(|p| p.0)) / count, sum(points.iter().map(|p| p.1)) / count);
    let square = sum(points.iter().map(|p| (p.0 - x_mean) * (p.0 - x_mean)));
    if square <= 0.0 {
        return Err(Error::NoSpread);
    }
    let slope = finite(sum(points.iter().map(|p| (p.0 - x_mean) * (p.1 - y_mean))) / square)?;
    let residuals = sum(points.iter().map(|p| {
        let residual = p.1 - y_mean - slope * (p.0 - x_mean);
        residual * residual
    }));
    let residual_sd = finite((residuals / (count - 2.0)).sqrt())?;
    Ok(Line {
        intercept: finite(y_mean - slope * x_mean)?,
        slope,
        slope_sd: finite(residual_sd / square.sqrt())?,
        residual_sd,
        freedom: points.len() - 2,
    })
}

impl Line {
    /// Whether the slope differs from zero: |b| > t(n − 2; 1 − α/2) s_b.
    ///
    /// ```
    /// use roundel_stats::regression;
    ///
    /// let line = regression::least_squares(&[(0.0, 1.0), (1.0, 3.0), (2.0, 5.1), (3.0, 6.9)])?;
    /// assert!(line.is_significant(0.05)?);
    /// let level = regression::least_squares(&[(0.0, 1.0), (1.0, 3.0), (2.0, 3.0), (3.0, 1.0)])?;
    /// assert!(!level.is_significant(0.05)?);
    /// # Ok::<(), roundel_stats::Error>(())
    /// ```
    ///
    /// # Errors
    ///
    /// [`Error::OutOfRange`] for an `alpha` that is no probability.
    pub fn is_significant(&self, alpha: f64) -> Result<bool, Error> {
        let t = quantile::student(self.freedom as f64, alpha / 2.0)?;
        Ok(self.slope.abs() > t * self.slope_sd * (1.0 + crate::score::GUARD))
    }

    /// The value on the line at `x`.
    ///
    /// ```
    /// use roundel_stats::regression;
    ///
    /// let line = regression::least_squares(&[(0.0, 1.0), (1.0, 3.0), (2.0, 5.0)])?;
    /// assert_eq!(line.at(4.0), 9.0);
    /// # Ok::<(), roundel_stats::Error>(())
    /// ```
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        self.intercept + self.slope * x
    }
}

/// The median of the slopes between all pairs of points, with its interval.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MedianSlope {
    /// The median slope.
    pub slope: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end of the interval.
    pub high: f64,
    /// The number of points.
    pub used: Used,
}

/// Theil's slope with Sen's interval (Sen 1968, JASA 63, 1379): ranks about
/// the middle of the N slopes at half of z √V on either side, V the variance
/// of Kendall's S with ties. Resists up to 29 % of outliers; O(n² log n).
///
/// ```
/// use roundel_stats::regression;
///
/// // Six of the ten slopes are 1, whatever the last point is.
/// let points = [(0.0, 0.0), (1.0, 1.0), (2.0, 2.0), (3.0, 3.0), (4.0, 100.0)];
/// assert_eq!(regression::median_slope(&points, 0.05)?.slope, 1.0);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 3 points; [`Error::NoSpread`] where all x are
/// equal; [`Error::OutOfRange`] for an `alpha` that is no probability.
pub fn median_slope(points: &[(f64, f64)], alpha: f64) -> Result<MedianSlope, Error> {
    let points = checked(points)?;
    let pairs = points.iter().enumerate().flat_map(|(place, a)| points[place + 1..].iter().map(move |b| (a, b)));
    let mut slopes = Vec::with_capacity(points.len() * (points.len() - 1) / 2);
    slopes.extend(pairs.filter(|(a, b)| b.0 > a.0).map(|(a, b)| (b.1 - a.1) / (b.0 - a.0)));
    let slopes = ascending(slopes);
    if slopes.is_empty() {
        return Err(Error::NoSpread);
    }
    let z = -quantile::normal(alpha / 2.0)?;
    let reach = z * kendall_variance(&points).sqrt();
    let count = slopes.len() as f64;
    let last = slopes.len() - 1;
    let low = (((count - reach) / 2.0).round_ties_even() as isize - 1).clamp(0, last as isize) as usize;
    let high = (((count + reach) / 2.0).round_ties_even() as usize).min(last);
    let (low, high, used) = (slopes[low], slopes[high], Used::directly(points.len()));
    Ok(MedianSlope { slope: finite(middle(&slopes))?, low, high, used })
}

/// Variance of Kendall's S without association: (n(n−1)(2n+5) − ties)/18.
fn kendall_variance(points: &[(f64, f64)]) -> f64 {
    let term = |count: f64| count * (count - 1.0) * (2.0 * count + 5.0);
    let tied = |values: Vec<f64>| -> f64 { values.chunk_by(|a, b| a == b).map(|run| term(run.len() as f64)).sum() };
    let (x, y) = (points.iter().map(|p| p.0), points.iter().map(|p| p.1));
    (term(points.len() as f64) - tied(ascending(x)) - tied(ascending(y))) / 18.0
}

/// In an order that does not depend on that of the input.
fn checked(points: &[(f64, f64)]) -> Result<Vec<(f64, f64)>, Error> {
    if points.len() < 3 {
        return Err(Error::TooFew { needed: 3, given: points.len() });
    }
    if points.iter().any(|(x, y)| !(x.is_finite() && y.is_finite())) {
        return Err(Error::NotFinite);
    }
    let mut points = points.to_vec();
    points.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    Ok(points)
}
