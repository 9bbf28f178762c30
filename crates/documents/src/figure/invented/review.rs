//! Invented data of the figures that a review and the pages of items show.

use super::{ASSIGNED, Case, Dice, SHARE, laboratories};
use crate::figure::density::Density;
use crate::figure::strip::{Group, Point, Strip};

/// Below these there is a tick for each result and no curve.
const FEWEST_FOR_CURVE: usize = 3;

/// Where the results of item A crowd. The curve and its modes are the reader's to
/// compute; for fewer than three results there is a level line in its place.
pub fn density(case: Case, width: u32) -> Density {
    let value = ASSIGNED[0];
    let sigma = value * SHARE;
    let (mut ticks, mut excluded) = (Vec::new(), Vec::new());
    for (place, one) in laboratories(case).iter().enumerate() {
        // A second group, so that there is more than one mode.
        let x = if case == Case::Forty && place % 4 == 0 { one.values[0] * 1.9 } else { one.values[0] };
        if place % 17 == 16 { excluded.push(x) } else { ticks.push(x) }
    }
    let level = [(value - 3.0 * sigma, 0.0), (value + 3.0 * sigma, 0.0)];
    Density {
        id: format!("density-{}-{width}", case.word()),
        measurand: format!("{}, item A", case.analyte()),
        unit: "ng/L".to_owned(),
        bandwidth: 0.75 * sigma,
        curve: if ticks.len() < FEWEST_FOR_CURVE { level.to_vec() } else { Vec::new() },
        modes: Vec::new(),
        ticks,
        excluded,
        assigned: Some(value),
        width,
    }
}

/// The standard deviation for proficiency assessment of the figures here.
pub fn sigma_pt() -> f64 {
    ASSIGNED[0] * SHARE
}

/// All results of one laboratory over the centres of all: some a factor of ten off,
/// two exchanged, and with extremes a thousandfold and a billionfold.
pub fn strip(case: Case, width: u32) -> Strip {
    let mut dice = Dice::new(case.seed() + 17);
    let (analytes, items) = match case {
        Case::One => (1, 1),
        Case::Forty => (24, 3),
        Case::FourHundred => (80, 5),
        _ => (8, 3),
    };
    let mut group = |item: usize| {
        let points = (0..analytes).map(|place| {
            let spread = if case == Case::Ties { 0.0 } else { dice.normal() * 0.08 };
            let ratio = match (case, item, place) {
                (Case::Extremes, 0, _) => spread - 3.0,
                (Case::Extremes, 1, 2) => 9.0,
                (Case::One | Case::Ties, _, _) => spread,
                (_, 1, 3) => spread - 1.0,
                (_, 2, 4 | 5) => spread + 0.5,
                _ => spread,
            };
            let exchanged = ratio > 0.4 && ratio < 1.0;
            Point {
                ratio,
                elsewhere: exchanged.then_some(ratio - 0.5),
                marked: ratio.abs() > 0.4,
                href: None,
                tooltip: format!("{} {}: 10^{ratio:.2}", case.analyte(), place + 1),
            }
        });
        Group { name: format!("Item {}", char::from(b'A' + item as u8)), points: points.collect() }
    };
    Strip {
        groups: (0..items).map(&mut group).collect(),
        id: format!("strip-{}-{width}", case.word()),
        code: "RXLF7".to_owned(),
        width,
    }
}

/// The most lines that a study may have.
const MOST_LINES: usize = 200;

fn number(value: f64) -> String {
    format!("{value:.1}")
}

/// Duplicates of units in the order of filling, a line each as a study is typed:
/// number; value; value. As many units as there are laboratories, up to the most that
/// a study may have.
pub fn units(case: Case) -> String {
    let mut dice = Dice::new(case.seed() + 19);
    let count = case.count().min(MOST_LINES);
    let line = |place: usize| {
        let centre = match case {
            Case::Ties => ASSIGNED[0],
            Case::Extremes if place == 6 => ASSIGNED[0] * 4.0,
            // Filled from a vessel that was not mixed well.
            Case::FourHundred => ASSIGNED[0] * (1.0 + 0.0008 * place as f64 + 0.02 * dice.normal()),
            _ => ASSIGNED[0] * (1.0 + 0.02 * dice.normal()),
        };
        let mut value = || if case == Case::Ties { centre } else { centre * (1.0 + 0.03 * dice.normal()) };
        format!("{}; {}; {}", place + 1, number(value()), number(value()))
    };
    (0..count).map(line).collect::<Vec<_>>().join("\n")
}

/// Duplicates of units over days under two conditions, a line each as a study is
/// typed: condition; day; value; value. With one point, one unit on either day.
pub fn days(case: Case) -> String {
    let mut dice = Dice::new(case.seed() + 23);
    let (units, days): (usize, &[u32]) = match case {
        Case::One => (1, &[0, 28]),
        Case::Forty => (6, &[0, 7, 14, 21, 28, 35]),
        Case::FourHundred => (8, &[0, 4, 8, 12, 16, 20, 24, 28, 32, 36, 40, 44, 48, 52, 56, 60, 64, 68, 72, 76]),
        _ => (3, &[0, 14, 28]),
    };
    let (cold, warm) = match case {
        Case::LongNames => {
            ("refrigerated in the dark, amber glass, head space less than 2 mL", "on the bench by the window")
        }
        _ => ("4 °C", "25 °C"),
    };
    let mut lines = Vec::new();
    let mut add = |condition: &str, day: u32, loss: f64| {
        for _ in 0..units {
            let mut value = || {
                let spread = if case == Case::Ties { 0.0 } else { 0.02 * dice.normal() };
                number(ASSIGNED[0] * (1.0 + spread) * (1.0 - loss * f64::from(day)).max(0.0))
            };
            lines.push(format!("{condition}; {day}; {}; {}", value(), value()));
        }
    };
    let loss = match case {
        Case::Ties => 0.0,
        Case::Extremes => 0.03,
        _ => 0.002,
    };
    for day in days {
        add(cold, *day, loss);
    }
    if case != Case::One {
        add(warm, 3, 2.0 * loss);
    }
    lines.join("\n")
}
