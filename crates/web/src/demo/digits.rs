//! Numbers as a laboratory prints them: a whole number of the last printed digit.

use std::fmt;

/// `mantissa` × 10^`power`, printed in decimal notation with all its digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Digits {
    mantissa: u64,
    power: i32,
}

impl Digits {
    /// A number as it stands.
    pub(super) const fn new(mantissa: u64, power: i32) -> Self {
        Digits { mantissa, power }
    }

    /// `value`, which is above zero, to `digits` significant digits, half away
    /// from zero.
    pub(super) fn round(value: f64, digits: u32) -> Self {
        let full = 10u64.pow(digits);
        let mut power = value.log10().floor() as i32 + 1 - digits as i32;
        let mut mantissa = scaled(value, -power);
        // The logarithm can miss the power of ten by one, and 99.96 becomes 100.0.
        if mantissa >= full {
            power += 1;
            mantissa = scaled(value, -power);
        }
        Digits { mantissa, power }
    }

    /// The same digits times a power of ten.
    pub(super) fn shifted(self, power: i32) -> Self {
        Digits { mantissa: self.mantissa, power: self.power + power }
    }

    /// The number.
    pub(super) fn value(self) -> f64 {
        let scale = 10f64.powi(self.power.abs());
        if self.power < 0 { self.mantissa as f64 / scale } else { self.mantissa as f64 * scale }
    }
}

fn scaled(value: f64, power: i32) -> u64 {
    let scale = 10f64.powi(power.abs());
    (if power < 0 { value / scale } else { value * scale }).round() as u64
}

impl fmt::Display for Digits {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let digits = self.mantissa.to_string();
        if self.power >= 0 {
            let zeros = self.power.unsigned_abs() as usize;
            return write!(f, "{digits}{:0<zeros$}", "");
        }
        let decimals = self.power.unsigned_abs() as usize;
        let padded = format!("{digits:0>width$}", width = decimals + 1);
        let (integer, fraction) = padded.split_at(padded.len() - decimals);
        write!(f, "{integer}.{fraction}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_printed_with_the_digits_asked_for() {
        for (value, digits, printed) in [
            (145.25, 3, "145"),
            (145.5, 3, "146"),
            (32.149, 3, "32.1"),
            (5.0, 3, "5.00"),
            (99.96, 3, "100"),
            (999.6, 3, "1000"),
            (1234.0, 3, "1230"),
            (0.04321, 2, "0.043"),
            (1000.0, 4, "1000"),
            (100.0, 3, "100"),
            (0.001, 2, "0.0010"),
        ] {
            assert_eq!(Digits::round(value, digits).to_string(), printed, "{value}");
        }
    }

    #[test]
    fn a_power_of_ten_moves_the_point_and_keeps_the_digits() {
        let number = Digits::round(145.3, 3);

        assert_eq!(number.shifted(-3).to_string(), "0.145");
        assert_eq!(number.shifted(2).to_string(), "14500");
        assert_eq!(number.shifted(-3).value(), 0.145);
    }
}
