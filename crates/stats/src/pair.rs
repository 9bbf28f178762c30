//! Robust location and covariance of pairs of results: the ellipse of a Youden
//! plot that a wild laboratory does not stretch.
//!
//! Scales are [`robust::qn`], locations medians, and the correlation that of
//! Gnanadesikan and Kettenring (1972): from the scales of sum and difference of
//! the standardised values. It lies between −1 and 1, so that the covariance of
//! two variables is never indefinite.

use crate::error::finite;
use crate::{Error, Sample, robust, summary};

/// The fewest pairs that an ellipse is drawn from.
pub const FEWEST: usize = 10;

/// Robust figures of pairs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    /// Medians of both items, in their units.
    pub location: [f64; 2],
    /// Qn of both items, in their units.
    pub scale: [f64; 2],
    /// (Qn(u)² − Qn(v)²)/(Qn(u)² + Qn(v)²) of u = x/s_x + y/s_y and
    /// v = x/s_x − y/s_y.
    pub correlation: f64,
}

impl Pair {
    /// The covariance matrix, row by row; in the product of the units.
    #[must_use]
    pub fn covariance(&self) -> [[f64; 2]; 2] {
        let [x, y] = self.scale;
        let both = self.correlation * x * y;
        [[x * x, both], [both, y * y]]
    }

    /// The squared distance of a pair from the location, by the covariance:
    /// dimensionless. Compare with [`crate::youden::ellipse`].
    ///
    /// ```
    /// use roundel_stats::pair::Pair;
    ///
    /// // By hand: z = (1, 1), r = 1/2: (1 − 1 + 1)/(3/4).
    /// let pair = Pair { location: [1.0, 2.0], scale: [1.0, 2.0], correlation: 0.5 };
    /// assert!((pair.distance([2.0, 4.0])? - 4.0 / 3.0).abs() < 1e-12);
    /// # Ok::<(), roundel_stats::Error>(())
    /// ```
    ///
    /// # Errors
    ///
    /// [`Error::NotFinite`] for a pair that is no pair of numbers.
    pub fn distance(&self, pair: [f64; 2]) -> Result<f64, Error> {
        if !pair.iter().all(|value| value.is_finite()) {
            return Err(Error::NotFinite);
        }
        let [x, y] = [0, 1].map(|side| (pair[side] - self.location[side]) / self.scale[side]);
        let r = self.correlation;
        finite((x * x - 2.0 * r * x * y + y * y) / (1.0 - r * r))
    }

    /// The point of the ellipse of squared radius `squared` at `angle` (in
    /// radians, of the circle that the ellipse is made of).
    #[must_use]
    pub fn on_ellipse(&self, squared: f64, angle: f64) -> [f64; 2] {
        let (sine, cosine) = angle.sin_cos();
        let radius = squared.max(0.0).sqrt();
        let r = self.correlation;
        let across = r * cosine + (1.0 - r * r).max(0.0).sqrt() * sine;
        [self.location[0] + self.scale[0] * radius * cosine, self.location[1] + self.scale[1] * radius * across]
    }
}

/// Robust figures of pairs; the order in which they are given does not matter.
///
/// ```
/// use roundel_stats::pair::pair;
///
/// // The sum has three times the scale of the difference: r = (9 − 1)/(9 + 1).
/// let pairs = [[2.0, 1.0], [1.0, 2.0], [-1.0, -2.0], [-2.0, -1.0]];
/// let found = pair(&pairs)?;
/// assert_eq!(found.location, [0.0, 0.0]);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::TooFew`] below 3 pairs; [`Error::NotFinite`]; [`Error::NoSpread`]
/// where more than half of the values of an item are equal, or the bulk of the
/// pairs lies on a line: the covariance is singular.
pub fn pair(pairs: &[[f64; 2]]) -> Result<Pair, Error> {
    if pairs.len() < 3 {
        return Err(Error::TooFew { needed: 3, given: pairs.len() });
    }
    let [x, y] = [0, 1].map(|side| Sample::new(pairs.iter().map(|pair| pair[side])));
    let (x, y) = (x?, y?);
    let location = [summary::median(&x), summary::median(&y)];
    let scale = [robust::qn(&x)?.scale, robust::qn(&y)?.scale];
    if scale.contains(&0.0) {
        return Err(Error::NoSpread);
    }
    let standard = |pair: &[f64; 2]| [0, 1].map(|side| (pair[side] - location[side]) / scale[side]);
    let along = |sign: f64| {
        let values = pairs.iter().map(standard).map(|[x, y]| x + sign * y);
        Sample::new(values).and_then(|sample| robust::qn(&sample)).map(|qn| qn.scale * qn.scale)
    };
    let (sum, difference) = (along(1.0)?, along(-1.0)?);
    let correlation = finite((sum - difference) / (sum + difference)).map_err(|_| Error::NoSpread)?;
    if 1.0 - correlation.abs() <= SINGULAR {
        return Err(Error::NoSpread);
    }
    Ok(Pair { location, scale, correlation })
}

/// A correlation this near to one is a line: the arithmetic of the standardised
/// values leaves about so much.
const SINGULAR: f64 = 1e-12;
