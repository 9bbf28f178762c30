//! Studies of items: whether the units are alike (homogeneity) and stay as they
//! are (stability). What was measured, and how it is read from a text; what it
//! means stands in [`verdict`].

pub mod sigma;
#[cfg(test)]
mod tests;
mod text;
pub mod verdict;

pub(crate) use text::{in_order, spans, twice};
pub use text::{read_date, read_homogeneity, read_stability, write_homogeneity, write_stability};

use crate::number::Decimal;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

/// The most lines of a study.
pub const MOST_LINES: usize = 200;

/// One unit with its two replicates.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Unit {
    /// Its number in the order of filling.
    pub number: i64,
    /// Its place in the order of measurement, where that was noted.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub run: Option<i64>,
    /// Both values, in the unit of the measurand.
    pub values: [Decimal; 2],
}

impl Unit {
    /// Both values.
    pub fn pair(&self) -> [f64; 2] {
        [self.values[0].value(), self.values[1].value()]
    }

    /// The mean of both.
    pub fn mean(&self) -> f64 {
        self.values[0].value() / 2.0 + self.values[1].value() / 2.0
    }
}

/// A study of homogeneity.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Homogeneity {
    /// Method, place and day of the measurements; may be empty.
    #[serde(default)]
    pub method: String,
    /// The units, in the order of filling.
    pub units: Vec<Unit>,
}

impl Homogeneity {
    /// Pairs of values, in the order of filling, as a package has them.
    pub fn pairs(&self) -> Vec<[f64; 2]> {
        self.units.iter().map(Unit::pair).collect()
    }
}

/// The values of one unit on one day under one condition.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Point {
    /// The condition, such as `4 °C`.
    pub condition: String,
    /// Days after the first.
    pub day: Decimal,
    /// Values, in the unit of the measurand; at least one.
    pub values: Vec<Decimal>,
}

impl Point {
    /// The mean of the unit: its replicates are not independent of each other,
    /// so a unit counts once.
    pub fn mean(&self) -> f64 {
        self.values.iter().map(Decimal::value).sum::<f64>() / self.values.len() as f64
    }
}

/// A study of stability.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stability {
    /// Method and place of the measurements; may be empty.
    #[serde(default)]
    pub method: String,
    /// The date of day 0.
    pub began_on: Date,
    /// The values, by condition and day.
    pub points: Vec<Point>,
}

impl Stability {
    /// The first day.
    pub fn first_day(&self) -> f64 {
        self.points.iter().map(|point| point.day.value()).fold(f64::INFINITY, f64::min)
    }

    /// Means of the units on the first day, under whatever condition.
    pub fn start(&self) -> Vec<f64> {
        let first = self.first_day();
        self.points.iter().filter(|point| point.day.value() == first).map(Point::mean).collect()
    }

    /// The conditions that have a later day, in the order of the points.
    pub fn conditions(&self) -> Vec<&str> {
        let first = self.first_day();
        let mut conditions: Vec<&str> = Vec::new();
        for point in self.points.iter().filter(|point| point.day.value() > first) {
            if !conditions.contains(&point.condition.as_str()) {
                conditions.push(&point.condition);
            }
        }
        conditions
    }

    /// The condition with the latest day, the first of several: that of storage,
    /// which has to last until the deadline.
    pub fn storage(&self) -> Option<&str> {
        let last = |condition: &&str| self.last_day(condition);
        let latest = self.conditions().iter().map(last).fold(f64::NEG_INFINITY, f64::max);
        self.conditions().into_iter().find(|condition| self.last_day(condition) == latest)
    }

    /// The last day of a condition.
    pub fn last_day(&self, condition: &str) -> f64 {
        let own = self.points.iter().filter(|point| point.condition == condition);
        own.map(|point| point.day.value()).fold(f64::NEG_INFINITY, f64::max)
    }

    /// Means of the units on the last day of a condition.
    pub fn end(&self, condition: &str) -> Vec<f64> {
        let last = self.last_day(condition);
        let own = self.points.iter().filter(|point| point.condition == condition && point.day.value() == last);
        own.map(Point::mean).collect()
    }

    /// Day and mean of each unit: those of the first day, and those of a condition.
    pub fn course(&self, condition: &str) -> Vec<(f64, f64)> {
        let first = self.first_day();
        let own = |point: &&Point| point.condition == condition || point.day.value() == first;
        self.points.iter().filter(own).map(|point| (point.day.value(), point.mean())).collect()
    }
}
