//! The plot of a figure of results: where a value stands in it, and the rules across
//! it: assigned value, its uncertainty, limits.

use super::super::axis::Frame;
use super::super::margin::Name;
use super::super::place::{Area, Room};
use super::super::signed_limit;
use super::super::svg::{INK, SECOND, Svg};
use super::Results;
use crate::number;
use crate::words::Words;

/// Between the frame and the first and last value in it.
const PAD: f64 = 14.0;

/// Where things are.
pub(super) struct Plot {
    pub(super) frame: Frame,
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) top: f64,
    pub(super) bottom: f64,
    pub(super) step: f64,
    pub(super) first: f64,
}

impl Plot {
    /// Puts `count` points side by side, leaving `aside` at the right for labels.
    pub(super) fn lay_out(&mut self, count: usize, aside: f64) {
        let room = self.right - self.left - 2.0 * PAD - aside;
        let gaps = count.saturating_sub(1).max(1) as f64;
        // Few points stand together rather than at the two ends.
        self.step = (room / gaps).min(64.0);
        let used = self.step * count.saturating_sub(1) as f64;
        self.first = self.left + PAD + (room - used) / 2.0;
    }

    pub(super) fn y(&self, value: f64) -> f64 {
        let (low, high) = (self.bottom - PAD, self.top + PAD);
        low + (value - self.frame.low) / (self.frame.high - self.frame.low) * (high - low)
    }

    /// The height of a value, or of the frame's edge where it lies outside.
    pub(super) fn held(&self, value: f64) -> f64 {
        self.y(value.clamp(self.frame.low, self.frame.high))
    }
}

/// The assigned value, its uncertainty and the limits, on the axis of the values.
pub(super) struct Rules {
    assigned: Option<(f64, Option<f64>)>,
    /// Value and multiple of σ.
    limits: Vec<(f64, f64)>,
}

impl Rules {
    pub(super) fn of(figure: &Results) -> Rules {
        let assigned = figure.assigned.as_ref().filter(|assigned| assigned.value.is_finite());
        let sigma = figure.sigma_pt.filter(|sigma| sigma.is_finite() && *sigma > 0.0);
        let mut limits = Vec::new();
        if let (Some(assigned), Some(sigma)) = (assigned, sigma) {
            let multiple = figure.limits.warning.unwrap_or(figure.limits.action);
            limits.push((assigned.value + multiple * sigma, multiple));
            // No concentration is below zero: then there is no lower limit.
            let lower = assigned.value - multiple * sigma;
            if lower > 0.0 || assigned.value <= 0.0 {
                limits.push((lower, -multiple));
            }
        }
        Rules { assigned: assigned.map(|assigned| (assigned.value, assigned.expanded_uncertainty)), limits }
    }

    /// What the frame must show.
    pub(super) fn fixed(&self) -> Vec<f64> {
        let mut fixed: Vec<f64> = self.assigned.iter().map(|(value, _)| *value).collect();
        let reach = |(limit, _): &(f64, f64)| {
            let centre = self.assigned.map_or(*limit, |(value, _)| value);
            // A little beyond the limit, so that what crosses it is seen to.
            let far = centre + (limit - centre) * 1.6;
            if far < 0.0 && *limit >= 0.0 { 0.0 } else { far }
        };
        fixed.extend(self.limits.iter().map(reach));
        fixed
    }

    pub(super) fn names(&self, plot: &Plot, words: &Words, decimals: usize, narrow: bool) -> Vec<Name> {
        let mut names = Vec::new();
        if let Some((value, _)) = self.assigned {
            let key = if narrow { "figure-results-assigned-short" } else { "figure-results-assigned" };
            let printed = number::decimal(value, decimals);
            names.push(Name { y: plot.held(value), value: printed, text: words.t(key), strong: true });
        }
        for (value, multiple) in &self.limits {
            let text = words.with("figure-results-limit", &[("multiple", &signed_limit(*multiple))]);
            names.push(Name { y: plot.held(*value), value: number::decimal(*value, decimals), text, strong: false });
        }
        names
    }

    pub(super) fn draw(&self, svg: &mut Svg, plot: &Plot, room: &mut Room) {
        let mut rule = |svg: &mut Svg, class: &str, colour: &str, thick: f64, value: f64, dash: bool| {
            if !plot.frame.holds(value) {
                return;
            }
            let y = plot.y(value);
            room.avoid(Area { left: plot.left, top: y - 1.0, right: plot.right, bottom: y + 1.0 });
            let line = svg.line_of(class, colour, thick, (plot.left, y), (plot.right, y));
            let line = if dash { line.set("stroke-dasharray", "5 3") } else { line };
            line.end();
        };
        for (value, _) in &self.limits {
            rule(svg, "figure-limit", SECOND, 0.8, *value, true);
        }
        if let Some((value, uncertainty)) = self.assigned {
            if let Some(uncertainty) = uncertainty.filter(|uncertainty| uncertainty.is_finite() && *uncertainty > 0.0) {
                rule(svg, "figure-hairline", SECOND, 0.5, value - uncertainty, false);
                rule(svg, "figure-hairline", SECOND, 0.5, value + uncertainty, false);
            }
            rule(svg, "figure-assigned", INK, 1.2, value, false);
        }
    }
}
