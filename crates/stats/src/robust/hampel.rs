//! Hampel's location with a given scale, solved exactly.

use crate::numeric::ascending;
use crate::{Error, Sample, summary};

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
/// # Errors
///
/// [`Error::NoSpread`] where `scale` is not above zero.
pub fn hampel_location(sample: &Sample, scale: f64) -> Result<f64, Error> {
    let roots = scaled_roots(sample, scale)?;
    let nearest = roots.iter().copied().min_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or(0.0);
    let rival = roots
        .iter()
        .any(|root| (root - nearest).abs() > EQUALLY_NEAR && (root.abs() - nearest.abs()).abs() <= EQUALLY_NEAR);
    let offset = if rival { 0.0 } else { nearest };
    crate::error::finite(summary::median(sample) + scale * offset)
}

/// All roots of Hampel's equation in ascending order; of an interval on which
/// the sum vanishes without every term doing so, both ends and, if it lies
/// within, the median.
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
    let mut nodes =
        ascending(values.iter().flat_map(|x| CORNERS.into_iter().flat_map(move |corner| [x - corner, x + corner])));
    nodes.dedup_by(|next, kept| *next - *kept <= ROUNDING);
    let lines: Vec<Option<Line>> = nodes.windows(2).map(|ends| Line::between(&values, ends[0], ends[1])).collect();
    let mut roots = Vec::new();
    for (place, line) in lines.iter().enumerate() {
        let Some(line) = line else { continue };
        // An end where the sum fades into the stretch on which all terms are
        // zero is no root.
        let closed_below = place > 0 && lines[place - 1].is_some();
        let closed_above = lines.get(place + 1).is_some_and(Option::is_some);
        line.roots(nodes[place], nodes[place + 1], closed_below, closed_above, &mut roots);
    }
    let mut roots = ascending(roots);
    roots.dedup_by(|next, kept| *next - *kept <= ROUNDING);
    Ok(roots)
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
        let mut terms = 0_usize;
        let (mut constants, mut slope) = (Vec::with_capacity(values.len()), 0.0);
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
            constants.push(part.0);
            slope += part.1;
        }
        (terms > 0).then(|| Self { constant: crate::numeric::sum(constants), slope })
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

        assert_eq!(hampel_location(&sample, 1.0), Ok(52.0));
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

            let got = hampel_location(&sample, scale).unwrap();

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
