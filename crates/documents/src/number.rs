//! Numbers as people read them: true minus, rounding half to even on the shortest
//! decimal text (ISO 80000-1, rule from memory), decimal signs one below the other.
//!
//! Nothing here knows a language; the decimal sign is a point. Machine copies use
//! the language's own formatting, not this.

/// The minus of print, U+2212.
pub const MINUS: char = '\u{2212}';
/// As wide as a digit, U+2007.
pub const FIGURE_SPACE: char = '\u{2007}';
/// As wide as a point, U+2008.
pub const PUNCTUATION_SPACE: char = '\u{2008}';
/// Between a number and its unit, U+202F (narrow, no break).
pub const NARROW_SPACE: char = '\u{202F}';

/// A finite number taken apart: sign, digits of its shortest decimal text, and the
/// power of ten of the first digit.
struct Shortest {
    negative: bool,
    digits: Vec<u8>,
    exponent: i32,
}

impl Shortest {
    fn of(value: f64) -> Shortest {
        let text = format!("{:e}", value.abs());
        let (mantissa, exponent) = text.split_once('e').expect("the exponent form has an e");
        let digits = mantissa.bytes().filter(u8::is_ascii_digit).map(|digit| digit - b'0').collect();
        let exponent = exponent.parse().expect("the exponent form ends in a whole number");
        Shortest { negative: value < 0.0, digits, exponent }
    }

    /// Rounds half to even, keeping digits down to ten to the power of `last`.
    fn round(&mut self, last: i32) {
        let kept = self.exponent - last + 1;
        if kept < 0 {
            self.digits = vec![0];
            self.exponent = last;
            return;
        }
        let kept = usize::try_from(kept).expect("not negative");
        if kept >= self.digits.len() {
            return;
        }
        let tail = self.digits.split_off(kept);
        let more = tail[1..].iter().any(|&digit| digit > 0);
        let odd = self.digits.last().is_some_and(|digit| digit % 2 == 1);
        if tail[0] > 5 || (tail[0] == 5 && (more || odd)) {
            self.add_one_at_the_end();
        }
        if self.digits.is_empty() {
            self.digits.push(0);
            self.exponent = last;
        }
    }

    fn add_one_at_the_end(&mut self) {
        for digit in self.digits.iter_mut().rev() {
            if *digit < 9 {
                *digit += 1;
                return;
            }
            *digit = 0;
        }
        self.digits.insert(0, 1);
        self.exponent += 1;
    }

    fn is_zero(&self) -> bool {
        self.digits.iter().all(|&digit| digit == 0)
    }

    /// The digit that stands at ten to the power of `place`.
    fn at(&self, place: i32) -> char {
        let index = self.exponent - place;
        let digit = usize::try_from(index).ok().and_then(|index| self.digits.get(index)).copied();
        char::from(b'0' + digit.unwrap_or(0))
    }

    /// Without a sign, to `decimals` decimals.
    fn text(&self, decimals: usize) -> String {
        let mut text: String = (0..=self.exponent.max(0)).rev().map(|place| self.at(place)).collect();
        if decimals > 0 {
            text.push('.');
            text.extend((1..).take(decimals).map(|place: i32| self.at(-place)));
        }
        text
    }
}

fn places(decimals: usize) -> i32 {
    -i32::try_from(decimals).unwrap_or(i32::MAX)
}

fn rounded(value: f64, decimals: usize) -> Shortest {
    let mut shortest = Shortest::of(value);
    shortest.round(places(decimals));
    shortest
}

/// `value` to `decimals` decimals, with a true minus; zero has no sign.
///
/// What is not finite is printed as an en dash: no number of ours is, and a page
/// must not say "NaN".
pub fn decimal(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    let number = rounded(value, decimals);
    let minus = number.negative && !number.is_zero();
    if minus { format!("{MINUS}{}", number.text(decimals)) } else { number.text(decimals) }
}

/// Like [`decimal`], with a plus before what is above zero: scores, D %.
pub fn signed(value: f64, decimals: usize) -> String {
    let text = decimal(value, decimals);
    let positive = value > 0.0 && text.bytes().any(|byte| matches!(byte, b'1'..=b'9'));
    if positive { format!("+{text}") } else { text }
}

/// `value` to `digits` significant digits, never in exponent form.
pub fn significant(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    let mut number = Shortest::of(value);
    let wanted = i32::try_from(digits.max(1)).unwrap_or(i32::MAX);
    number.round(number.exponent - wanted + 1);
    // Rounding may have given a digit more before the point: 9.96 to 10.0.
    let decimals = usize::try_from(wanted - 1 - number.exponent).unwrap_or(0);
    let text = number.text(decimals);
    if number.negative && !number.is_zero() { format!("{MINUS}{text}") } else { text }
}

/// The decimals that `value` needs to have `digits` significant digits.
pub fn decimals_for(value: f64, digits: usize) -> usize {
    if !value.is_finite() || value == 0.0 {
        return 0;
    }
    let mut number = Shortest::of(value);
    let wanted = i32::try_from(digits.max(1)).unwrap_or(i32::MAX);
    number.round(number.exponent - wanted + 1);
    usize::try_from(wanted - 1 - number.exponent).unwrap_or(0)
}

/// `value` with all the digits of its shortest decimal text.
pub fn shortest(value: f64) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    decimal(value, decimals_of(value))
}

/// The decimals of the shortest decimal text of `value`.
pub fn decimals_of(value: f64) -> usize {
    if !value.is_finite() {
        return 0;
    }
    let number = Shortest::of(value);
    let count = i32::try_from(number.digits.len()).unwrap_or(i32::MAX);
    usize::try_from(count - 1 - number.exponent).unwrap_or(0)
}

/// `value` without the noise of binary arithmetic: at most twelve significant
/// digits, and no trailing zeros. A mean of 12.30 and 12.40 is 12.35.
pub fn plain(value: f64) -> String {
    let rounded = format!("{value:.11e}").parse().unwrap_or(value);
    shortest(rounded)
}

/// `value` for a label in a figure: three significant digits, and no more decimals
/// than it has.
pub fn brief(value: f64) -> String {
    decimal(value, decimals_for(value, 3).min(decimals_of(value)))
}

/// A score with its sign and two decimals, and with as many more as it takes to
/// stay on its side of every limit: 1.998 is not 2.00.
///
/// `limits` are without sign. A score that equals a limit to one part in 10⁹ is at
/// the limit, as it is for its class.
pub fn score(value: f64, limits: &[f64]) -> String {
    const MOST: usize = 12;
    if !value.is_finite() {
        return "–".to_owned();
    }
    let side = |number: f64, limit: f64| {
        let tolerance = limit * 1e-9;
        i8::from(number - limit > tolerance) - i8::from(limit - number > tolerance)
    };
    let decimals = (2..MOST)
        .find(|&decimals| {
            let printed: f64 = rounded(value.abs(), decimals).text(decimals).parse().unwrap_or(value.abs());
            limits.iter().all(|&limit| side(printed, limit) == side(value.abs(), limit))
        })
        .unwrap_or(MOST);
    signed(value, decimals)
}

/// D %: one decimal and a sign, without the percent sign.
pub fn difference_percent(value: f64) -> String {
    signed(value, 1)
}

/// The numbers of an assigned value as they are printed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Published {
    /// x_pt.
    pub assigned_value: String,
    /// u(x_pt), where there is one.
    pub standard_uncertainty: Option<String>,
    /// σ_pt, where there is one.
    pub sigma_pt: Option<String>,
}

/// Prints x_pt, u(x_pt) and σ_pt: a number that was published rounded with all its
/// digits; otherwise u to two significant digits (up), x_pt to the same place and
/// at least three digits, σ_pt to three.
pub fn published(assigned_value: f64, standard_uncertainty: Option<f64>, sigma_pt: Option<f64>) -> Published {
    let place = standard_uncertainty.map_or(0, |uncertainty| decimals_for(uncertainty, 2));
    let least = place.max(decimals_for(assigned_value, 3));
    Published {
        assigned_value: exact_or(assigned_value, least, |value| decimal(value, least)),
        standard_uncertainty: standard_uncertainty
            .map(|value| exact_or(value, decimals_for(value, 2), |value| significant_up(value, 2))),
        sigma_pt: sigma_pt.map(|value| exact_or(value, decimals_for(value, 3), |value| significant(value, 3))),
    }
}

/// All digits of a number of at most five, to `least` decimals or more; a longer
/// number by `round`.
fn exact_or(value: f64, least: usize, round: impl Fn(f64) -> String) -> String {
    if !value.is_finite() {
        return "–".to_owned();
    }
    if Shortest::of(value).digits.len() > 5 {
        return round(value);
    }
    decimal(value, decimals_of(value).max(least))
}

/// `value` above zero to `digits` significant digits, never down.
fn significant_up(value: f64, digits: usize) -> String {
    let decimals = decimals_for(value, digits);
    let text = decimal(value, decimals);
    let printed: f64 = text.parse().unwrap_or(value);
    if printed >= value {
        return text;
    }
    let mut number = rounded(value, decimals);
    let wanted = usize::try_from(number.exponent - places(decimals) + 1).unwrap_or(1);
    number.digits.resize(wanted, 0);
    number.add_one_at_the_end();
    number.text(decimals)
}

/// A number and its unit, with a narrow space between; without a unit the number.
pub fn with_unit(number: &str, unit: &str) -> String {
    if unit.is_empty() { number.to_owned() } else { format!("{number}{NARROW_SPACE}{unit}") }
}

/// A number as it was typed, with a true minus for a hyphen at its head.
pub fn typed(text: &str) -> String {
    match text.strip_prefix('-') {
        Some(rest) => format!("{MINUS}{rest}"),
        None => text.to_owned(),
    }
}

/// Pads the texts of one column at their end, so that, set flush right in tabular
/// figures, their decimal signs stand one below the other.
///
/// "<25" and whole numbers align with what they lack; a text without a digit (a
/// dash, a word) stays as it is, flush right.
pub fn align(column: &[String]) -> Vec<String> {
    let most = column.iter().map(|text| tail(text)).max_by_key(|tail| tail.places).unwrap_or_default();
    column
        .iter()
        .map(|text| {
            if !text.chars().any(|letter| letter.is_ascii_digit()) {
                return text.clone();
            }
            let own = tail(text);
            let mut padded = text.clone();
            if most.point && !own.point {
                padded.push(PUNCTUATION_SPACE);
            }
            padded.extend(std::iter::repeat_n(FIGURE_SPACE, most.places - own.places));
            padded
        })
        .collect()
}

/// What follows the whole part of a number.
#[derive(Clone, Copy, Default)]
struct Tail {
    point: bool,
    places: usize,
}

fn tail(text: &str) -> Tail {
    let first = text.find(|letter: char| letter.is_ascii_digit());
    let number = first.map_or("", |first| &text[first..]);
    match number.split_once(['.', ',']) {
        Some((_, decimals)) => Tail { point: true, places: decimals.chars().count() },
        None => Tail::default(),
    }
}
