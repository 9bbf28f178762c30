//! Hampel's location with a given scale, solved exactly.

use super::algorithm_a::outward;
use crate::numeric::{Running, ascending};
use crate::{Error, Sample, Used, summary};

/// Corners of the function psi, in standard deviations (ISO 13528:2022 C.5.3,
/// from memory): linear, level, falling, zero.
const CORNERS: [f64; 3] = [1.5, 3.0, 4.5];
/// What rounding may do to a place or to the sum, in standard deviations.
const ROUNDING: f64 = 1e-11;
/// Two roots are equally near the median within this.
const EQUALLY_NEAR: f64 = 1e-9;

/// Hampel's robust mean for a given scale (ISO 13528:2022 C.5.3): the root of
/// Σ psi((x − x*)/s*) nearest the median; the median itself where two roots
/// are equally near. The equation has further roots at values far outside,
/// so no iteration is used: the sum is linear between known places, and all
/// roots are found.
///
/// ```
/// use roundel_stats::{Sample, robust};
///
/// // By hand: 100 is too far off to count, and 1, 2, 3 balance about 2. A second
/// // root is at 100 itself.
/// let found = robust::hampel(&Sample::new([1.0, 2.0, 3.0, 100.0])?, 1.0)?;
/// assert!((found.location - 2.0).abs() < 1e-12);
/// assert_eq!(found.roots, 2);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::NoSpread`] where `scale` is not above zero.
pub fn hampel(sample: &Sample, scale: f64) -> Result<Hampel, Error> {
    let roots = scaled_roots(sample, scale)?;
    let nearest = roots.iter().copied().min_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or(0.0);
    let rival = roots
        .iter()
        .any(|root| (root - nearest).abs() > EQUALLY_NEAR && (root.abs() - nearest.abs()).abs() <= EQUALLY_NEAR);
    let offset = if rival { 0.0 } else { nearest };
    let location = crate::error::finite(summary::median(sample) + scale * offset)?;
    Ok(Hampel { location, scale, roots: roots.len(), used: Used::directly(sample.len()) })
}

/// Hampel's robust mean with what it was made from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hampel {
    /// Robust mean, x*.
    pub location: f64,
    /// The scale that was given.
    pub scale: f64,
    /// The number of roots that the location was chosen from.
    pub roots: usize,
    /// The number of values; nothing is iterated.
    pub used: Used,
}

/// All roots of Hampel's equation in ascending order; of an interval on which
/// the sum vanishes without every term doing so, both ends and, if it lies
/// within, the median.
///
/// ```
/// use roundel_stats::{Sample, robust};
///
/// // By hand: see the example of the location.
/// let roots = robust::hampel_roots(&Sample::new([1.0, 2.0, 3.0, 100.0])?, 1.0)?;
/// assert_eq!(roots.len(), 2);
/// assert!((roots[0] - 2.0).abs() < 1e-12 && (roots[1] - 100.0).abs() < 1e-12);
/// # Ok::<(), roundel_stats::Error>(())
/// ```
///
/// # Errors
///
/// [`Error::NoSpread`] where `scale` is not above zero.
pub fn hampel_roots(sample: &Sample, scale: f64) -> Result<Vec<f64>, Error> {
    let centre = summary::median(sample);
    let roots = scaled_roots(sample, scale)?;
    Ok(roots.into_iter().map(|root| centre + scale * root).collect())
}

/// Roots in standard deviations from the median.
fn scaled_roots(sample: &Sample, scale: f64) -> Result<Vec<f64>, Error> {
    if !(scale > 0.0 && scale.is_finite()) {
        return Err(Error::NoSpread);
    }
    let centre = summary::median(sample);
    let values: Vec<f64> = sample.values().iter().map(|x| (x - centre) / scale).collect();
    let mut nodes = Vec::with_capacity(2 * CORNERS.len() * values.len());
    nodes.extend(values.iter().flat_map(|x| CORNERS.into_iter().flat_map(move |corner| [x - corner, x + corner])));
    let mut nodes = ascending(nodes);
    nodes.dedup_by(|next, kept| *next - *kept <= ROUNDING);
    let sketch = Sketch::of(&values);
    let open = |place: usize| nodes.get(place + 1).is_some_and(|high| sketch.terms(nodes[place], *high) > 0);
    let mut roots = Vec::with_capacity(nodes.len());
    for (place, ends) in nodes.windows(2).enumerate() {
        let (low, high) = (ends[0], ends[1]);
        if !sketch.may_have_root(low, high) {
            continue;
        }
        let Some(line) = Line::between(&values, low, high) else { continue };
        // An end where the sum fades into the stretch on which all terms are
        // zero is no root.
        let (closed_below, closed_above) = (place > 0 && open(place - 1), open(place + 1));
        line.roots(low, high, closed_below, closed_above, &mut roots);
    }
    let mut roots = ascending(roots);
    roots.dedup_by(|next, kept| *next - *kept <= ROUNDING);
    Ok(roots)
}

/// The sum of psi in O(log p) by sums made once, good enough to tell where no
/// root can be; the few stretches that remain are computed value by value.
struct Sketch<'v> {
    values: &'v [f64],
    /// Counted outwards from the median, as wild values cost digits.
    sums: Vec<f64>,
}

/// Far more than the sums of a sketch may be wrong, per term.
const SKETCHED: f64 = 1e-6;

impl<'v> Sketch<'v> {
    fn of(values: &'v [f64]) -> Self {
        let origin = values.partition_point(|x| *x < 0.0);
        Self { values, sums: outward(values, origin, |x| x) }
    }

    /// Places of the values within the given distance of the middle.
    fn within(&self, middle: f64, distance: f64) -> (usize, usize) {
        let first = self.values.partition_point(|x| x - middle < -distance);
        let last = self.values.partition_point(|x| x - middle <= distance);
        (first, last)
    }

    /// How many values have a term that is not zero throughout.
    fn terms(&self, low: f64, high: f64) -> usize {
        let (first, last) = self.within((low + high) / 2.0, CORNERS[2]);
        last - first
    }

    fn may_have_root(&self, low: f64, high: f64) -> bool {
        let middle = (low + high) / 2.0;
        let [inner, level, outer] = CORNERS.map(|distance| self.within(middle, distance));
        let terms = (outer.1 - outer.0) as f64;
        if terms == 0.0 {
            return false;
        }
        let sum = |(first, last): (usize, usize)| self.sums[last] - self.sums[first];
        let count = |(first, last): (usize, usize)| (last - first) as f64;
        let (falling_low, falling_high) = ((outer.0, level.0), (level.1, outer.1));
        let constant = sum(inner) - CORNERS[0] * count((level.0, inner.0)) + CORNERS[0] * count((inner.1, level.1))
            - sum(falling_low)
            - CORNERS[2] * count(falling_low)
            - sum(falling_high)
            + CORNERS[2] * count(falling_high);
        let slope = count(inner) - count(falling_low) - count(falling_high);
        let ends = [constant - slope * low, constant - slope * high];
        let size = self.values[outer.0].abs().max(self.values[outer.1 - 1].abs());
        let margin = SKETCHED * terms * (1.0 + SKETCHED * size);
        ends.iter().any(|end| end.abs() <= margin) || (ends[0] > 0.0) != (ends[1] > 0.0)
    }
}

/// The sum of psi on a stretch without corners: `constant` − `slope` × place.
struct Line {
    constant: f64,
    slope: f64,
}

impl Line {
    /// `None` where every term is zero.
    fn between(values: &[f64], low: f64, high: f64) -> Option<Self> {
        let middle = (low + high) / 2.0;
        let (mut terms, mut constant, mut slope) = (0_usize, Running::default(), 0.0);
        for x in values {
            let distance = x - middle;
            let side = distance.signum();
            let part = match distance.abs() {
                d if d <= CORNERS[0] => (*x, 1.0),
                d if d <= CORNERS[1] => (side * CORNERS[0], 0.0),
                d if d <= CORNERS[2] => (side * CORNERS[2] - x, -1.0),
                _ => continue,
            };
            terms += 1;
            constant.add(part.0);
            slope += part.1;
        }
        (terms > 0).then(|| Self { constant: constant.add(0.0), slope })
    }

    fn roots(&self, low: f64, high: f64, closed_below: bool, closed_above: bool, roots: &mut Vec<f64>) {
        let margin = |closed: bool| if closed { ROUNDING } else { -ROUNDING };
        if self.slope != 0.0 {
            let root = self.constant / self.slope;
            if root >= low - margin(closed_below) && root <= high + margin(closed_above) {
                roots.push(root);
            }
        } else if self.constant.abs() <= ROUNDING {
            roots.extend([low, high]);
            if low < 0.0 && high > 0.0 {
                roots.push(0.0);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The function as the standard writes it.
    fn psi(q: f64) -> f64 {
        match q.abs() {
            size if size <= 1.5 => q,
            size if size <= 3.0 => 1.5 * q.signum(),
            size if size <= 4.5 => (4.5 - size) * q.signum(),
            _ => 0.0,
        }
    }

    fn total(values: &[f64], scale: f64, place: f64) -> f64 {
        values.iter().map(|x| psi((x - place) / scale)).sum()
    }

    #[test]
    fn two_equal_groups_far_apart_have_the_median_between_them() {
        let sample = Sample::new([1.0, 2.0, 3.0, 101.0, 102.0, 103.0]).unwrap();

        assert_eq!(hampel(&sample, 1.0).map(|found| (found.location, found.roots)), Ok((52.0, 2)));
        assert_eq!(hampel_roots(&sample, 1.0).map(|roots| roots.len()), Ok(2));
    }

    proptest! {
        #[test]
        fn the_answer_is_a_root_and_no_change_of_sign_lies_nearer_the_median(
            tenths in prop::collection::vec(0_i32..400, 2..25),
            scale in 0.3_f64..8.0,
        ) {
            let sample = Sample::new(tenths.into_iter().map(|x| f64::from(x) / 10.0)).unwrap();
            let values = sample.values();
            let centre = summary::median(&sample);

            let got = hampel(&sample, scale).unwrap().location;

            let all = hampel_roots(&sample, scale).unwrap();
            prop_assert!(!all.is_empty());
            for root in &all {
                prop_assert!(total(values, scale, *root).abs() < 1e-8, "{}", root);
            }
            let near = (got - centre).abs();
            let tie = got == centre && total(values, scale, got).abs() > 1e-8;
            let steps = 4000;
            let (low, high) = (sample.minimum() - 5.0 * scale, sample.maximum() + 5.0 * scale);
            let place = |step: i32| low + (high - low) * f64::from(step) / f64::from(steps);
            for step in 0..steps {
                let (left, right) = (place(step), place(step + 1));
                let ends = [left, right].map(|place| total(values, scale, place));
                // Not where all of a stretch is zero but for rounding, or where
                // all terms may be zero between the two places.
                let fades = values.iter().flat_map(|x| [x - 4.5 * scale, x + 4.5 * scale]);
                let mut gaps = fades.filter(|fade| *fade >= left && *fade <= right);
                if ends[0] * ends[1] < 0.0 && ends.iter().all(|end| end.abs() > 1e-9) && gaps.next().is_none() {
                    prop_assert!(all.iter().any(|root| *root >= left - 1e-9 && *root <= right + 1e-9));
                    let distance = (left - centre).abs().min((right - centre).abs());
                    prop_assert!(tie || distance >= near - (right - left), "{} {}", got, left);
                }
            }
        }
    }
}
