//! How a result is drawn: a round dot within the limits, an open diamond for a
//! warning, a filled square for action; a ring around one's own.

use super::svg::{ACTION, Face, OWN, Svg, WARNING, WITHIN};
use crate::mark::Mark;

/// How large and how.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Style {
    pub(crate) face: Face,
    /// Radius of a round dot; the other shapes go by it.
    pub(crate) radius: f64,
}

impl Style {
    /// Half the height of the largest shape, for clearances.
    pub(crate) fn reach(&self) -> f64 {
        self.diamond()
    }

    fn square(&self) -> f64 {
        self.radius.max(1.9) * 0.95
    }

    fn diamond(&self) -> f64 {
        self.radius.max(2.2) * 1.4
    }

    fn line(&self) -> f64 {
        (self.radius * 0.42).clamp(0.8, 1.6)
    }

    /// Radius of the ring around one's own.
    pub(crate) fn ring(&self) -> f64 {
        self.radius.max(2.2) + 4.2
    }
}

/// Class name and light colour of a mark.
pub(crate) fn colour(mark: Mark) -> (&'static str, &'static str) {
    match mark {
        Mark::Warning => ("mark-warning", WARNING),
        Mark::Action => ("mark-action", ACTION),
        _ => ("mark-within", WITHIN),
    }
}

/// The shape of `mark` with its middle `at`; a hollow diamond, being open already, is
/// crossed by a line.
pub(crate) fn shape(svg: &mut Svg, style: Style, mark: Mark, hollow: bool, (x, y): (f64, f64)) {
    let (class, stroke) = colour(mark);
    let crossed = hollow && mark == Mark::Warning;
    let hollow = hollow || mark == Mark::Warning;
    let class = format!("{class} {}", if hollow { "mark-hollow" } else { "mark-filled" });
    let fill = if hollow { style.face.ground() } else { stroke };
    let element = match mark {
        Mark::Warning => {
            let reach = style.diamond();
            svg.open("path")
                .set("d", &super::svg::path(&[(x, y - reach), (x + reach, y), (x, y + reach), (x - reach, y)]))
        }
        Mark::Action => {
            let half = style.square();
            svg.open("rect").num("x", x - half).num("y", y - half).num("width", half * 2.0).num("height", half * 2.0)
        }
        _ => svg.open("circle").num("cx", x).num("cy", y).num("r", style.radius - if hollow { 0.4 } else { 0.0 }),
    };
    element.set("class", &class).set("fill", fill).set("stroke", stroke).num("stroke-width", style.line()).end();
    if crossed {
        let reach = style.diamond();
        svg.line("mark-warning", stroke, style.line(), (x - reach, y), (x + reach, y));
    }
}

/// The ring around one's own.
pub(crate) fn ring(svg: &mut Svg, style: Style, (x, y): (f64, f64)) {
    svg.open("circle")
        .set("class", "mark-own")
        .num("cx", x)
        .num("cy", y)
        .num("r", style.ring())
        .set("fill", "none")
        .set("stroke", OWN)
        .num("stroke-width", 1.8)
        .end();
}

/// The arrow of a "<": it starts at its limit and points to lower values, along
/// `direction` (a unit vector), `length` long.
pub(crate) fn arrow(svg: &mut Svg, style: Style, mark: Mark, at: (f64, f64), direction: (f64, f64), length: f64) {
    let (class, stroke) = colour(mark);
    let (x, y) = direction;
    let along = |distance: f64, aside: f64| (at.0 + x * distance - y * aside, at.1 + y * distance + x * aside);
    let head = (style.radius * 1.1).clamp(2.0, 3.6);
    let line = style.line().min(1.2);
    svg.line(class, stroke, line, along(0.0, 0.0), along(length, 0.0));
    svg.open("path")
        .set("class", class)
        .set("d", &super::svg::polyline(&[along(length - head, -head), along(length, 0.0), along(length - head, head)]))
        .set("fill", "none")
        .set("stroke", stroke)
        .num("stroke-width", line)
        .end();
    if mark.is_signal() {
        shape(svg, style, mark, false, at);
    } else {
        let half = style.radius.max(2.4);
        svg.line(class, stroke, style.line(), along(0.0, -half), along(0.0, half));
    }
}

/// A small open arrow head at the frame: the mark stands further out.
pub(crate) fn beyond(svg: &mut Svg, mark: Mark, at: (f64, f64), direction: (f64, f64), distance: f64) {
    let (class, stroke) = colour(mark);
    let (x, y) = direction;
    let along = |distance: f64, aside: f64| (at.0 + x * distance - y * aside, at.1 + y * distance + x * aside);
    let points = [along(distance, -3.0), along(distance + 3.0, 0.0), along(distance, 3.0)];
    svg.open("path")
        .set("class", class)
        .set("d", &super::svg::polyline(&points))
        .set("fill", "none")
        .set("stroke", stroke)
        .num("stroke-width", 1.1)
        .end();
}

/// Begins the group of one point: a link where it has an address.
///
/// Returns the name of the element, to be closed.
pub(crate) fn begin(svg: &mut Svg, href: Option<&str>, tooltip: Option<&str>) -> &'static str {
    let name = if href.is_some() { "a" } else { "g" };
    let mut element = svg.open(name);
    if let Some(href) = href {
        element = element.set("class", "figure-link").set("href", href);
        if let Some(tooltip) = tooltip {
            element = element.set("aria-label", tooltip);
        }
    }
    element.start();
    if let Some(tooltip) = tooltip {
        svg.open("title").content(tooltip);
    }
    name
}

/// An invisible area that makes a small mark easier to hit.
pub(crate) fn target(svg: &mut Svg, (x, y): (f64, f64), width: f64, height: f64) {
    svg.open("rect")
        .set("class", "figure-target")
        .num("x", x - width / 2.0)
        .num("y", y - height / 2.0)
        .num("width", width)
        .num("height", height)
        .set("fill", "none")
        .set("pointer-events", "all")
        .end();
}
