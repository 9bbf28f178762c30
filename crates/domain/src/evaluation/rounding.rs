//! Rounding of published numbers, on the shortest decimal text of a number:
//! 2.675 to two decimals is 2.68, although the double is a little less.

/// Rounds to `decimals` decimals, half to even.
///
/// ```
/// use roundel_domain::evaluation::rounding::half_even;
///
/// assert_eq!(half_even(2.675, 2), 2.68);
/// assert_eq!(half_even(2.665, 2), 2.66);
/// ```
#[must_use]
pub fn half_even(number: f64, decimals: u32) -> f64 {
    rounded(number, decimals, |last, rest| match rest[0].cmp(&b'5') {
        std::cmp::Ordering::Less => false,
        std::cmp::Ordering::Greater => true,
        std::cmp::Ordering::Equal => rest[1..].iter().any(|digit| *digit != b'0') || last % 2 == 1,
    })
}

/// Rounds to `decimals` decimals, away from zero.
///
/// ```
/// use roundel_domain::evaluation::rounding::up;
///
/// assert_eq!(up(0.121, 2), 0.13);
/// assert_eq!(up(0.12, 2), 0.12);
/// ```
#[must_use]
pub fn up(number: f64, decimals: u32) -> f64 {
    rounded(number, decimals, |_, rest| rest.iter().any(|digit| *digit != b'0'))
}

/// `away` sees the last digit that is kept and those that are not.
fn rounded(number: f64, decimals: u32, away: impl Fn(u64, &[u8]) -> bool) -> f64 {
    if number == 0.0 || !number.is_finite() {
        return number;
    }
    let scientific = format!("{:e}", number.abs());
    let (mantissa, exponent) = scientific.split_once('e').unwrap_or((&scientific, "0"));
    let digits: Vec<u8> = mantissa.bytes().filter(|digit| *digit != b'.').collect();
    let keep = exponent.parse::<i64>().unwrap_or_default() + 1 + i64::from(decimals);
    if keep >= digits.len() as i64 {
        return number;
    }
    let (kept, rest) = match usize::try_from(keep) {
        Ok(keep) => (digits[..keep].to_vec(), digits[keep..].to_vec()),
        // Less than a tenth of the last place.
        Err(_) => (Vec::new(), [b"0".as_slice(), &digits].concat()),
    };
    let kept = kept.iter().fold(0_u64, |kept, digit| 10 * kept + u64::from(digit - b'0'));
    let kept = if away(kept % 10, &rest) { kept + 1 } else { kept };
    let magnitude: f64 = format!("{kept}e-{decimals}").parse().unwrap_or(f64::NAN);
    if number < 0.0 { 0.0 - magnitude } else { magnitude }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn halves_go_to_the_even_digit_of_the_decimal_text() {
        // The open package names 2.675; the others by the rule, by hand.
        let cases = [
            (2.675, 2, 2.68),
            (2.665, 2, 2.66),
            (0.5, 0, 0.0),
            (1.5, 0, 2.0),
            (2.5, 0, 2.0),
            (2.500_001, 0, 3.0),
            (2.51, 0, 3.0),
            (-2.675, 2, -2.68),
            (9.996, 2, 10.0),
            (0.004, 2, 0.0),
            (0.000_4, 2, 0.0),
            (0.005, 2, 0.0),
            (0.015, 2, 0.02),
            (1e-12, 3, 0.0),
            (147.400_735, 0, 147.0),
            (12.3, 4, 12.3),
        ];

        for (number, decimals, expected) in cases {
            assert_eq!(half_even(number, decimals), expected, "{number} to {decimals}");
        }
    }

    #[test]
    fn an_uncertainty_is_rounded_up_and_stays_where_it_is_round() {
        let cases = [(6.441, 1, 6.5), (0.12, 2, 0.12), (0.120_000_1, 2, 0.13), (0.000_1, 2, 0.01), (9.91, 1, 10.0)];

        for (number, decimals, expected) in cases {
            assert_eq!(up(number, decimals), expected, "{number} to {decimals}");
        }
    }

    #[test]
    fn nothing_becomes_a_negative_zero() {
        assert!(half_even(-0.004, 2).is_sign_positive());
    }
}
