//! A million texts in the ways of six locales, each made from a number that is
//! known: no text may be read as another number.
//!
//! The expectation is made apart from the parser: from the digits with which a
//! text was built, by integer arithmetic, never by reading the text.

use super::{Decimal, Range, parse_reported};
use std::fmt::Write;

const TEXTS: u32 = 1_000_000;

/// What a locale writes between groups, before the decimals, and as minus.
struct Style {
    name: &'static str,
    group: &'static str,
    point: char,
    minus: char,
}

const STYLES: [Style; 6] = [
    Style { name: "English", group: ",", point: '.', minus: '-' },
    Style { name: "German", group: ".", point: ',', minus: '-' },
    Style { name: "French", group: "\u{202F}", point: ',', minus: '\u{2212}' },
    Style { name: "Swiss", group: "\u{2019}", point: '.', minus: '-' },
    Style { name: "SI", group: "\u{2009}", point: '.', minus: '\u{2212}' },
    Style { name: "Polish", group: "\u{A0}", point: ',', minus: '-' },
];

/// A small generator with a fixed seed (SplitMix64, from memory), so that a
/// failure can be repeated.
struct Random(u64);

impl Random {
    fn below(&mut self, bound: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (mixed ^ (mixed >> 31)) % bound
    }
}

/// A number as the one who writes it knows it: integer part, and decimals as a
/// whole number of so many digits.
struct Known {
    negative: bool,
    integer: u64,
    decimals: u64,
    places: u32,
}

impl Known {
    fn draw(random: &mut Random) -> Known {
        let size = 10u64.pow(random.below(8) as u32);
        let places = random.below(5) as u32;
        Known {
            negative: random.below(4) == 0,
            integer: random.below(10 * size),
            decimals: random.below(10u64.pow(places)),
            places,
        }
    }

    /// Written in `style`, grouped or not.
    fn written(&self, style: &Style, grouped: bool, text: &mut String) {
        text.clear();
        if self.negative {
            text.push(style.minus);
        }
        let millions = self.integer / 1_000_000;
        let thousands = self.integer / 1_000 % 1_000;
        let units = self.integer % 1_000;
        let group = style.group;
        let done = if !grouped || self.integer < 1_000 {
            write!(text, "{}", self.integer)
        } else if millions == 0 {
            write!(text, "{thousands}{group}{units:03}")
        } else {
            write!(text, "{millions}{group}{thousands:03}{group}{units:03}")
        };
        done.expect("a string takes all");
        if self.places > 0 {
            write!(text, "{}{:0width$}", style.point, self.decimals, width = self.places as usize)
                .expect("a string takes all");
        }
    }

    /// The number in the parser's normal form.
    fn normal(&self) -> String {
        let sign = if self.negative && self.integer + self.decimals > 0 { "-" } else { "" };
        if self.places == 0 {
            format!("{sign}{}", self.integer)
        } else {
            format!("{sign}{}.{:0width$}", self.integer, self.decimals, width = self.places as usize)
        }
    }

    /// Whether the writer's style leaves one reading only, counted from the
    /// digits: a comma or point with three digits behind it and one to three,
    /// without a zero in front, before it, leaves two.
    fn expected(&self, style: &Style, grouped: bool) -> Expected {
        let marked = grouped && self.integer >= 1_000;
        let mark_is_separator = style.group == "," || style.group == ".";
        let signs = u32::from(marked && self.integer >= 1_000_000) + u32::from(marked);
        if marked && mark_is_separator {
            return if signs + u32::from(self.places > 0) > 1 { Expected::Refused } else { Expected::Two };
        }
        let three = self.places == 3 && (1..1_000).contains(&self.integer);
        if three && !marked { Expected::Two } else { Expected::One }
    }
}

#[derive(Debug, PartialEq)]
enum Expected {
    One,
    Two,
    Refused,
}

#[test]
fn of_a_million_texts_in_six_locales_none_is_read_as_another_number() {
    let mut random = Random(20_240_301);
    let mut text = String::new();
    let mut counts = [0u32; 3];
    for _ in 0..TEXTS {
        let style = &STYLES[random.below(6) as usize];
        let grouped = random.below(2) == 0;
        let known = Known::draw(&mut random);
        known.written(style, grouped, &mut text);
        let expected = known.expected(style, grouped);

        match Decimal::parse(&text, Range::Any) {
            Ok(number) => {
                assert_eq!(expected, Expected::One, "{} {text:?} is read as {number}", style.name);
                assert_eq!(number.as_str(), known.normal(), "{} {text:?}", style.name);
                counts[0] += 1;
            }
            Err(problem) => match problem.readings() {
                Some((first, second)) => {
                    assert_eq!(expected, Expected::Two, "{} {text:?}", style.name);
                    let truth = known.normal();
                    assert!(truth == first || truth == second, "{} {text:?}: {first}, {second}", style.name);
                    counts[1] += 1;
                }
                None => {
                    assert_eq!(expected, Expected::Refused, "{} {text:?}: {problem}", style.name);
                    counts[2] += 1;
                }
            },
        }
    }
    // The check must have met all three outcomes often.
    assert!(counts.iter().all(|&count| count > 20_000), "{counts:?}");
}

/// Any text that is taken has its digits in the order typed: nothing is dropped,
/// added or moved but zeros at either end.
#[test]
fn random_texts_never_lose_a_digit_and_never_panic() {
    const CHARACTERS: [&str; 26] = [
        "0", "0", "1", "2", "3", "5", "7", "9", "000", "250", ".", ",", " ", "'", "\u{2019}", "\u{A0}", "\u{202F}",
        "<", ">", "+", "-", "\u{2212}", "e", "E", "%", "１",
    ];
    let mut random = Random(7);
    let mut taken = 0;
    for _ in 0..200_000 {
        let length = 1 + random.below(9);
        let text: String = (0..length).map(|_| CHARACTERS[random.below(26) as usize]).collect();

        if let Ok(reading) = parse_reported(&text, true) {
            let mantissa = text.split(['e', 'E']).next().unwrap_or_default();
            let typed: String = mantissa.chars().filter(char::is_ascii_digit).collect();
            let read: String = reading.reported().decimal.as_str().chars().filter(char::is_ascii_digit).collect();
            assert_eq!(read.trim_matches('0'), typed.trim_matches('0'), "{text:?}");
            assert_eq!(reading.is_below(), text.contains('<'), "{text:?}");
            taken += 1;
        }
    }
    assert!(taken > 10_000, "{taken}");
}
