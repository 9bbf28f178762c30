//! Codes that stand on labels and papers: the random code of a laboratory in one
//! round, and the code of a round.

use crate::field::{Problem, shortened};
use std::fmt;

/// The characters of a laboratory code. Left out are vowels, so that no code is
/// a word, and one or all of each set that looks alike: 0 O Q, 1 I L, 2 Z, 5 S,
/// 6 G, 8 B, U V. There are 23, a prime number, as the check needs.
pub const ALPHABET: &[u8; 23] = b"23456789CDFHJKMNPRTVWXY";

/// Random characters of a laboratory code, before its check character.
const RANDOM_CHARACTERS: usize = 5;

/// Characters of a laboratory code.
const LENGTH: usize = RANDOM_CHARACTERS + 1;

/// The base of the weights; see [`check_sum`].
const RADIX: usize = 2;

/// How many different laboratory codes there are: 23⁵ = 6,436,343.
pub const LABORATORY_CODES: u128 = (ALPHABET.len() as u128).pow(RANDOM_CHARACTERS as u32);

/// The code of one laboratory in one round: five random characters and a check
/// character, so that a code that is typed or written wrong is not another
/// laboratory's code.
///
/// The check is a pure system with one check character, modulus 23 and radix 2,
/// built as the pure systems MOD 11-2 and MOD 37-2 of ISO/IEC 7064 are (from
/// memory; the standard has no modulus 23). It finds every single wrong character
/// and every exchange of two characters, adjacent or not.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LabCode([u8; LENGTH]);

impl LabCode {
    /// The code that 16 random bytes give. With uniform bytes every code has the
    /// same chance to within 2⁻¹⁰⁵. The caller draws again when the round already
    /// has the code.
    pub fn from_random(bytes: [u8; 16]) -> Self {
        let mut number = u128::from_be_bytes(bytes) % LABORATORY_CODES;
        let mut positions = [0; LENGTH];
        for position in positions.iter_mut().take(RANDOM_CHARACTERS).rev() {
            *position = (number % ALPHABET.len() as u128) as usize;
            number /= ALPHABET.len() as u128;
        }
        // The last weight is 1, so the check character is what the sum lacks.
        positions[RANDOM_CHARACTERS] = (ALPHABET.len() - check_sum(&positions)) % ALPHABET.len();
        LabCode(positions.map(|position| ALPHABET[position]))
    }

    /// Reads a code as typed; small letters and spaces around it are taken.
    ///
    /// # Errors
    ///
    /// `problem-code-empty`, `problem-code-length`, `problem-code-character` (a
    /// character that no code has) or `problem-code-check` (one character is
    /// wrong or two are exchanged), each with the text seen.
    pub fn parse(text: &str) -> Result<Self, Problem> {
        let text = text.trim();
        if text.is_empty() {
            return Err(Problem::new("problem-code-empty"));
        }
        let refused = |key| Problem::new(key).with("seen", shortened(text));
        let mut positions = [0; LENGTH];
        let mut count = 0;
        for character in text.chars() {
            let Some(position) = position_of(character) else {
                return Err(refused("problem-code-character").with("character", shortened(&character.to_string())));
            };
            if let Some(slot) = positions.get_mut(count) {
                *slot = position;
            }
            count += 1;
        }
        if count != LENGTH {
            return Err(refused("problem-code-length").with("count", count).with("expected", LENGTH));
        }
        if check_sum(&positions) != 0 {
            return Err(refused("problem-code-check"));
        }
        Ok(LabCode(positions.map(|position| ALPHABET[position])))
    }

    /// The six characters.
    pub fn as_str(&self) -> &str {
        str::from_utf8(&self.0).expect("the alphabet is ASCII")
    }
}

impl fmt::Display for LabCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

fn position_of(character: char) -> Option<usize> {
    let upper = u8::try_from(character.to_ascii_uppercase()).ok()?;
    ALPHABET.iter().position(|&known| known == upper)
}

/// Σ aᵢ·2^(n−1−i) modulo 23, zero for a code that is in order.
///
/// One wrong character changes the sum by (a − b)·2^j, which 23 cannot divide;
/// two exchanged ones by (a − b)·(2^j − 2^k), which it cannot divide either,
/// because the powers of 2 from 0 to 5 are all different modulo 23.
fn check_sum(positions: &[usize; LENGTH]) -> usize {
    positions.iter().fold(0, |sum, position| (sum * RADIX + position) % ALPHABET.len())
}

/// The code of a round: 1–20 letters, digits and hyphens, such as `QW-1`. It
/// stands in addresses, so it has no other characters, begins and ends with a
/// letter or digit, and is not `new`. Letters stay as typed; two codes that
/// differ only in capitals are meant to be the same: compare [`RoundCode::key`].
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct RoundCode(String);

impl RoundCode {
    /// The most characters of a round code.
    pub const MAX_LENGTH: usize = 20;

    /// Reads a round code; spaces around it are dropped.
    ///
    /// # Errors
    ///
    /// `problem-round-code-…`, with the text seen.
    pub fn parse(text: &str) -> Result<Self, Problem> {
        let text = text.trim();
        let refused = |key| Problem::new(key).with("seen", shortened(text));
        if text.is_empty() {
            return Err(Problem::new("problem-round-code-empty"));
        }
        if let Some(character) = text.chars().find(|c| !c.is_ascii_alphanumeric() && *c != '-') {
            return Err(refused("problem-round-code-character").with("character", shortened(&character.to_string())));
        }
        if text.len() > RoundCode::MAX_LENGTH {
            return Err(refused("problem-round-code-long").with("limit", RoundCode::MAX_LENGTH));
        }
        if text.starts_with('-') || text.ends_with('-') {
            return Err(refused("problem-round-code-hyphen"));
        }
        if text.eq_ignore_ascii_case("new") {
            return Err(refused("problem-round-code-reserved"));
        }
        Ok(RoundCode(text.to_owned()))
    }

    /// The code as typed.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The code in small letters: equal for codes that count as the same.
    pub fn key(&self) -> String {
        self.0.to_ascii_lowercase()
    }
}

impl fmt::Display for RoundCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Codes spread over the whole range by a multiplicative step (the prime
    /// 1,000,003 shares no factor with 23).
    fn sample(count: u128) -> impl Iterator<Item = LabCode> {
        (0..count).map(|n| LabCode::from_random((n * 1_000_003 % LABORATORY_CODES).to_be_bytes()))
    }

    #[test]
    fn a_code_reads_back_as_itself() {
        for code in sample(5_000) {
            assert_eq!(LabCode::parse(code.as_str()), Ok(code));
            assert_eq!(LabCode::parse(&format!(" {} ", code.as_str().to_lowercase())), Ok(code));
        }
    }

    #[test]
    fn different_numbers_give_different_codes() {
        let codes: std::collections::HashSet<LabCode> = sample(20_000).collect();

        assert_eq!(codes.len(), 20_000);
    }

    /// Counted by hand from the rule: 00000 has the sum 0; 0000(1) counts 2·1, so
    /// the check character stands at 23 − 2 = 21, which is X; the last of all
    /// codes is YYYYY: 22·(2+4+8+16+32) = 1364 = 59·23 + 7, check 16, which is P.
    #[test]
    fn check_characters_are_those_of_the_rule() {
        let code = |n: u128| LabCode::from_random(n.to_be_bytes()).to_string();

        assert_eq!(code(0), "222222");
        assert_eq!(code(1), "22223X");
        assert_eq!(code(LABORATORY_CODES - 1), "YYYYYP");
        assert_eq!(code(LABORATORY_CODES), "222222");
    }

    /// The whole proof: the sum is linear, so a mistake changes it by the difference
    /// of two characters times a weight, or times the difference of two weights.
    /// All of them are gone through, with weights counted by doubling.
    #[test]
    fn no_wrong_and_no_exchanged_pair_leaves_the_sum_as_it_is() {
        let weights = [32 % 23, 16, 8, 4, 2, 1];
        for difference in 1..23 {
            for (place, one) in weights.iter().enumerate() {
                assert_ne!(difference * one % 23, 0);
                for other in &weights[..place] {
                    assert_ne!(difference * (23 + other - one) % 23, 0);
                }
            }
        }
    }

    #[test]
    fn every_single_wrong_character_is_found() {
        for code in sample(2_000) {
            for place in 0..LENGTH {
                for &other in ALPHABET.iter().filter(|&&other| other != code.0[place]) {
                    let mut wrong = code.0;
                    wrong[place] = other;

                    let text = String::from_utf8(wrong.to_vec()).unwrap();
                    assert_eq!(LabCode::parse(&text).expect_err(&text).key, "problem-code-check");
                }
            }
        }
    }

    #[test]
    fn every_exchange_of_two_characters_is_found() {
        let mut exchanged = 0;
        for code in sample(20_000) {
            for first in 0..LENGTH {
                for second in first + 1..LENGTH {
                    if code.0[first] == code.0[second] {
                        continue;
                    }
                    let mut wrong = code.0;
                    wrong.swap(first, second);
                    exchanged += 1;

                    let text = String::from_utf8(wrong.to_vec()).unwrap();
                    assert_eq!(LabCode::parse(&text).expect_err(&text).key, "problem-code-check");
                }
            }
        }
        assert!(exchanged > 250_000, "{exchanged}");
    }

    #[test]
    fn a_character_that_no_code_has_is_named() {
        for (text, character) in [("22O22X", "O"), ("2222-X", "-"), ("22２22X", "２"), ("22 22X", " "), ("É2222X", "É")]
        {
            let problem = LabCode::parse(text).expect_err(text);

            assert_eq!(problem.key, "problem-code-character");
            assert_eq!(problem.value("character"), Some(character));
            assert_eq!(problem.value("seen"), Some(text));
        }
    }

    #[test]
    fn a_code_of_another_length_is_refused() {
        assert_eq!(LabCode::parse("").expect_err("empty").key, "problem-code-empty");
        for text in ["2222", "2222222222222222222222222222222222222222222222222222222"] {
            assert_eq!(LabCode::parse(text).expect_err(text).key, "problem-code-length");
        }
    }

    #[test]
    fn random_bytes_reach_every_character_at_every_place() {
        let mut seen = [[false; 23]; LENGTH];
        for code in sample(5_000) {
            for (place, character) in code.0.iter().enumerate() {
                seen[place][ALPHABET.iter().position(|known| known == character).unwrap()] = true;
            }
        }

        assert!(seen.iter().flatten().all(|&reached| reached));
    }

    #[test]
    fn round_codes_are_letters_digits_and_hyphens() {
        for text in ["QW-1", "r", "2027-03-water-ABCDEFG"] {
            assert_eq!(RoundCode::parse(text).is_ok(), text.len() <= 20, "{text}");
        }
        let cases = [
            ("", "problem-round-code-empty"),
            ("QW 1", "problem-round-code-character"),
            ("QW/1", "problem-round-code-character"),
            ("QWÄ", "problem-round-code-character"),
            ("-QW", "problem-round-code-hyphen"),
            ("QW-", "problem-round-code-hyphen"),
            ("NEW", "problem-round-code-reserved"),
            ("123456789012345678901", "problem-round-code-long"),
        ];
        for (text, key) in cases {
            assert_eq!(RoundCode::parse(text).expect_err(text).key, key, "{text}");
        }
        assert_eq!(RoundCode::parse(" QW-1 ").map(|code| code.key()), Ok("qw-1".to_owned()));
    }
}
