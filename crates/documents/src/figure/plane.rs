//! Two axes with round numbers, and points on the plane between them.

use super::axis::Frame;
use super::label::{Label, Weight};
use super::marks::{self, Style};
use super::place::{Area, Room};
use super::svg::{Anchor, SECOND, Svg, TEXT};
use super::text::width;
use super::{Audience, Point};
use crate::mark::Mark;
use crate::number;

/// Between the plot's edges and the marks nearest to them.
pub(crate) const PAD: f64 = 12.0;

/// Where things are.
#[derive(Clone, Debug)]
pub(crate) struct Plane {
    pub(crate) x: Frame,
    pub(crate) y: Frame,
    pub(crate) area: Area,
}

/// A tick with its text.
pub(crate) type Tick = (f64, String);

impl Plane {
    pub(crate) fn across(&self, x: f64) -> f64 {
        let share = (x.clamp(self.x.low, self.x.high) - self.x.low) / (self.x.high - self.x.low);
        self.area.left + PAD + share * (self.area.right - self.area.left - 2.0 * PAD)
    }

    pub(crate) fn height(&self, y: f64) -> f64 {
        let share = (y.clamp(self.y.low, self.y.high) - self.y.low) / (self.y.high - self.y.low);
        self.area.bottom - PAD - share * (self.area.bottom - self.area.top - 2.0 * PAD)
    }

    /// The place of a point; one outside stands at the edge.
    pub(crate) fn at(&self, [x, y]: [f64; 2]) -> (f64, f64) {
        (self.across(x), self.height(y))
    }

    pub(crate) fn holds(&self, [x, y]: [f64; 2]) -> bool {
        self.x.holds(x) && self.y.holds(y)
    }

    /// Lines and texts of both axes, with the names at their ends.
    pub(crate) fn draw_axes(&self, svg: &mut Svg, (across, up): (&[Tick], &[Tick]), (below, beside): (&str, &str)) {
        let Area { left, top, right, bottom } = self.area;
        svg.line("figure-axis", SECOND, 0.8, (left, top), (left, bottom));
        svg.line("figure-axis", SECOND, 0.8, (left, bottom), (right, bottom));
        let mut free = f64::INFINITY;
        for (tick, text) in up {
            let y = self.height(*tick);
            if y + TEXT * 0.6 > free {
                continue;
            }
            free = y - TEXT * 0.6;
            svg.line("figure-axis", SECOND, 0.8, (left - 4.0, y), (left, y));
            svg.words("figure-second", (left - 7.0, y + TEXT * 0.35), Anchor::End, text);
        }
        let mut free = f64::NEG_INFINITY;
        for (tick, text) in across {
            let x = self.across(*tick);
            let half = width(text) / 2.0;
            if x - half < free {
                continue;
            }
            free = x + half + 4.0;
            svg.line("figure-axis", SECOND, 0.8, (x, bottom), (x, bottom + 4.0));
            svg.words("figure-second", (x, bottom + 17.0), Anchor::Middle, text);
        }
        svg.words("figure-second", (2.0, 14.0), Anchor::Start, beside);
        svg.words("figure-second", (left, bottom + 34.0), Anchor::Start, below);
    }

    /// Draws a point with its link, ring and shape; what lies outside gets a small
    /// arrow head and its number.
    pub(crate) fn draw_point(
        &self,
        svg: &mut Svg,
        room: &mut Room,
        style: Style,
        audience: Audience,
        point: &Point,
    ) -> Option<Label> {
        let at = self.at(point.at);
        let outside = !self.holds(point.at);
        let shown = point.own || audience == Audience::Organiser;
        let name =
            marks::begin(svg, point.href.as_deref().filter(|_| shown), point.tooltip.as_deref().filter(|_| shown));
        marks::shape(svg, style, point.mark, point.mark == Mark::InformationOnly, at);
        let mut reach = style.reach() + 1.0;
        if outside {
            let [x, y] = point.at;
            let side =
                |value: f64, frame: &Frame| f64::from(i8::from(value > frame.high) - i8::from(value < frame.low));
            let (across, up) = (side(x, &self.x), side(y, &self.y));
            let long = across.hypot(up).max(1.0);
            marks::beyond(svg, point.mark, at, (across / long, -up / long), style.reach() + 1.5);
            reach += 5.0;
        }
        if point.own {
            marks::ring(svg, style, at);
            reach = reach.max(style.ring() + 1.0);
        }
        marks::target(svg, at, 24.0, 24.0);
        svg.close(name);
        room.take(Area::around(at, reach, reach));
        let named = point.own || (audience == Audience::Organiser && point.mark.is_signal());
        let value = outside.then(|| point.written.clone()).filter(|text| !text.is_empty());
        let text = match (named, value) {
            (true, Some(value)) => format!("{} {value}", point.code),
            (true, None) => point.code.clone(),
            (false, Some(value)) => value,
            (false, None) => return None,
        };
        let weight = match (point.own, outside) {
            (true, _) => Weight::Own,
            (false, true) => Weight::Beyond,
            (false, false) => Weight::Signal,
        };
        Some(Label { at, clearance: reach, text, weight })
    }
}

/// Round numbers of a stretch with their texts.
pub(crate) fn ticks(frame: &Frame) -> Vec<Tick> {
    let (ticks, decimals) = frame.ticks();
    ticks.into_iter().map(|tick| (tick, number::decimal(tick, decimals))).collect()
}

/// The width that the texts of the upright axis need, with their ticks.
pub(crate) fn room_for(ticks: &[Tick]) -> f64 {
    ticks.iter().map(|(_, text)| width(text)).fold(16.0, f64::max) + 12.0
}

/// Numbers 1, 2, 5 and their tenfolds inside a stretch of logarithms, and the stretch
/// widened to the nearest of them.
pub(crate) fn decades(low: f64, high: f64) -> (Frame, Vec<Tick>) {
    let (low, high) = (low.min(high).max(1e-300), high.max(low).max(1e-300));
    let mut all: Vec<f64> = Vec::new();
    let (first, last) = (low.log10().floor() as i32 - 1, high.log10().ceil() as i32 + 1);
    for power in first..=last {
        all.extend([1.0, 2.0, 5.0].map(|factor| factor * 10_f64.powi(power)));
    }
    let from = all.iter().rposition(|&value| value <= low * (1.0 + 1e-9)).unwrap_or(0);
    let to = all.iter().position(|&value| value >= high * (1.0 - 1e-9)).unwrap_or(all.len() - 1);
    // At least two numbers, so that there is a stretch.
    let (from, to) = if from >= to { (from.saturating_sub(1), (from + 1).min(all.len() - 1)) } else { (from, to) };
    let mut ticks: Vec<Tick> = all[from..=to].iter().map(|&value| (value.log10(), number::plain(value))).collect();
    let frame = Frame { low: all[from].log10(), high: all[to].log10() };
    // Over many decades the powers of ten are enough.
    if ticks.len() > 10 {
        ticks.retain(|(value, _)| (value - value.round()).abs() < 1e-9);
    }
    (frame, ticks)
}
