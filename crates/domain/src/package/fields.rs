//! Typed reading of a JSON text from front to end, noting every problem on
//! the way. A value that cannot be used is replaced by an empty one, or NaN: a
//! document with a problem is never handed on.

use std::collections::HashSet;
use std::fmt::Write as _;

use serde::de::value::StrDeserializer;
use serde::de::{DeserializeOwned, IntoDeserializer as _};

use super::Problem;
use super::cursor::{Cursor, Kind, text_of};

/// Larger magnitudes are not computed with: their squares would overflow.
pub(crate) const LARGEST: f64 = 1e150;
/// A document of junk has as many problems as commas; nobody reads more lines
/// than these, and they bound the memory.
const MOST_PROBLEMS: usize = 10_000;
/// Characters of a text that a message repeats.
const MOST_QUOTED: usize = 200;

/// The problems found so far, each with the place that it is sorted by.
#[derive(Default)]
pub(super) struct Problems {
    found: Vec<(usize, Problem)>,
    left_out: usize,
}

impl Problems {
    pub(super) fn add(&mut self, place: usize, pointer: &str, message: impl Into<String>) {
        if self.found.len() == MOST_PROBLEMS {
            self.left_out += 1;
        } else {
            self.found.push((place, Problem { pointer: pointer.to_owned(), message: message.into() }));
        }
    }

    /// In document order.
    pub(super) fn sorted(mut self) -> Vec<Problem> {
        self.found.sort_by_key(|(place, _)| *place);
        let mut problems: Vec<Problem> = self.found.into_iter().map(|(_, problem)| problem).collect();
        if self.left_out > 0 {
            let message = format!("{} further problems are not listed; correct these first", self.left_out);
            problems.push(Problem { pointer: String::new(), message });
        }
        problems
    }
}

/// A document that is being read.
pub(super) struct Reader<'t> {
    pub(super) cursor: Cursor<'t>,
    /// The JSON Pointer to the value that comes next.
    pub(super) pointer: String,
    pub(super) problems: Problems,
}

/// What was found in an object.
pub(super) struct Members {
    /// Where the object starts.
    pub(super) place: usize,
    found: u32,
    known: &'static [&'static str],
}

impl Members {
    /// Whether a known member was there, readable or not.
    pub(super) fn has(&self, name: &str) -> bool {
        self.known.iter().position(|known| *known == name).is_some_and(|number| self.found & (1 << number) != 0)
    }
}

impl<'t> Reader<'t> {
    pub(super) fn new(text: &'t str) -> Result<Self, serde_json::Error> {
        Ok(Self { cursor: Cursor::new(text)?, pointer: String::new(), problems: Problems::default() })
    }

    /// Notes a problem of the value that the pointer leads to, at its place.
    pub(super) fn note(&mut self, place: usize, message: impl Into<String>) {
        self.problems.add(place, &self.pointer, message);
    }

    /// Passes over a value that is not what was expected.
    fn wrong_type<T>(&mut self, expected: &str) -> Option<T> {
        let (place, kind) = (self.cursor.place(), self.cursor.kind());
        let raw = self.cursor.pass();
        let found = match kind {
            Kind::Null | Kind::Flag => raw.to_owned(),
            Kind::Number => match finite(raw) {
                Some(number) => number.to_string(),
                None => {
                    self.note(place, beyond(raw));
                    return None;
                }
            },
            Kind::Text => format!("the text {}", quoted(&text_of(raw).unwrap_or_default())),
            Kind::List => "a list".to_owned(),
            Kind::Object => "an object".to_owned(),
        };
        self.note(place, format!("expected {expected}, found {found}"));
        None
    }

    /// An object: `read` is called for each of its members in front of its
    /// value. Members whose names are not in `known` are reported, and so are
    /// those that come twice.
    pub(super) fn object(
        &mut self,
        known: &'static [&'static str],
        mut read: impl FnMut(&mut Self, &'static str),
    ) -> Option<Members> {
        if self.cursor.kind() != Kind::Object {
            return self.wrong_type("an object");
        }
        let mut members = Members { place: self.cursor.place(), found: 0, known };
        self.cursor.enter();
        while self.cursor.more() {
            let raw = self.cursor.key();
            let place = self.cursor.place();
            let key = text_of(raw).unwrap_or_else(|_| raw.to_owned());
            let length = self.pointer.len();
            let _ = write!(self.pointer, "/{}", Escaped(&key));
            match known.iter().position(|name| *name == key) {
                None => {
                    self.note(place, format!("unknown field {}; expected one of {}", quoted(&key), known.join(", ")));
                    self.cursor.pass();
                }
                Some(number) if members.found & (1 << number) != 0 => {
                    self.note(place, format!("duplicate key {key:?}; each field may appear once"));
                    self.cursor.pass();
                }
                Some(number) => {
                    members.found |= 1 << number;
                    read(self, known[number]);
                }
            }
            self.pointer.truncate(length);
        }
        Some(members)
    }

    /// Reports those members that must be there and are not.
    pub(super) fn need(&mut self, members: &Members, names: &[&str]) {
        for name in names.iter().filter(|name| !members.has(name)) {
            self.note(members.place, format!("the field {name:?} is missing"));
        }
    }

    /// A list: `read` is called in front of each item. Its length, where it is
    /// one.
    pub(super) fn list(&mut self, expected: &str, mut read: impl FnMut(&mut Self, usize)) -> Option<usize> {
        if self.cursor.kind() != Kind::List {
            return self.wrong_type(expected);
        }
        self.cursor.enter();
        let mut count = 0;
        while self.cursor.more() {
            let length = self.pointer.len();
            let _ = write!(self.pointer, "/{count}");
            read(self, count);
            self.pointer.truncate(length);
            count += 1;
        }
        Some(count)
    }

    /// A list with at least one item.
    pub(super) fn filled_list(&mut self, expected: &str, read: impl FnMut(&mut Self, usize)) -> Option<usize> {
        let place = self.cursor.place();
        let count = self.list(expected, read)?;
        if count == 0 {
            self.note(place, format!("expected {expected}, found an empty list"));
        }
        Some(count)
    }

    pub(super) fn text(&mut self) -> Option<String> {
        if self.cursor.kind() != Kind::Text {
            return self.wrong_type("text");
        }
        let place = self.cursor.place();
        text_of(self.cursor.pass()).map_err(|error| self.note(place, format!("text that cannot be read: {error}"))).ok()
    }

    /// Text with at least one character that is not white space.
    pub(super) fn filled_text(&mut self) -> Option<String> {
        let place = self.cursor.place();
        let text = self.text()?;
        if text.trim().is_empty() {
            self.note(place, "expected text, found none");
            return None;
        }
        Some(text)
    }

    /// Texts that may stand only once in their list.
    pub(super) fn once(&mut self, seen: &mut HashSet<String>, read: impl FnOnce(&mut Self)) {
        let (place, mut ahead) = (self.cursor.place(), self.cursor);
        read(self);
        if ahead.kind() == Kind::Text
            && let Ok(text) = text_of(ahead.pass())
        {
            match seen.contains(&text) {
                true => self.note(place, format!("{} is listed twice", quoted(&text))),
                false => drop(seen.insert(text)),
            }
        }
    }

    /// One of the words of an enum.
    pub(super) fn word<T: DeserializeOwned>(&mut self) -> Option<T> {
        if self.cursor.kind() != Kind::Text {
            return self.wrong_type("a word");
        }
        let place = self.cursor.place();
        let text = self.text()?;
        let word: String = text.chars().take(MOST_QUOTED).collect();
        let reader: StrDeserializer<'_, serde::de::value::Error> = word.as_str().into_deserializer();
        T::deserialize(reader)
            .map_err(|error| {
                self.note(place, error.to_string().replace("unknown variant", "unknown or unsupported value"));
            })
            .ok()
    }

    pub(super) fn flag(&mut self) -> Option<bool> {
        if self.cursor.kind() != Kind::Flag {
            return self.wrong_type("true or false");
        }
        Some(self.cursor.pass() == "true")
    }

    pub(super) fn number(&mut self) -> Option<f64> {
        self.number_where("a number", |_| true)
    }

    pub(super) fn positive(&mut self) -> Option<f64> {
        self.number_where("a number above 0", |number| number > 0.0)
    }

    pub(super) fn not_negative(&mut self) -> Option<f64> {
        self.number_where("a number that is not negative", |number| number >= 0.0)
    }

    /// A whole number from `least` to `most`.
    pub(super) fn whole(&mut self, least: u32, most: u32) -> Option<u32> {
        let expected = format!("a whole number from {least} to {most}");
        let fits = |number: f64| number.fract() == 0.0 && (f64::from(least)..=f64::from(most)).contains(&number);
        self.number_where(&expected, fits).map(|number| number as u32)
    }

    fn number_where(&mut self, expected: &str, fits: impl Fn(f64) -> bool) -> Option<f64> {
        if self.cursor.kind() != Kind::Number {
            return self.wrong_type(expected);
        }
        let place = self.cursor.place();
        let raw = self.cursor.pass();
        match finite(raw) {
            None => self.note(place, beyond(raw)),
            Some(number) if number.abs() > LARGEST => {
                self.note(place, format!("expected a number of magnitude at most {LARGEST:e}, found {number:e}"));
            }
            Some(number) if fits(number) => return Some(number),
            Some(number) => self.note(place, format!("expected {expected}, found {number}")),
        }
        None
    }
}

/// The double next to a number; adding zero makes a negative zero positive.
fn finite(raw: &str) -> Option<f64> {
    raw.parse::<f64>().ok().filter(|number| number.is_finite()).map(|number| number + 0.0)
}

fn beyond(raw: &str) -> String {
    format!("{} is beyond the range of a double; expected a finite number", shortened(raw))
}

/// A text as a message repeats it.
pub(super) fn quoted(text: &str) -> String {
    format!("{:?}", shortened(text))
}

fn shortened(text: &str) -> std::borrow::Cow<'_, str> {
    match text.char_indices().nth(MOST_QUOTED) {
        Some((end, _)) => format!("{}…", &text[..end]).into(),
        None => text.into(),
    }
}

/// A key as it stands in a JSON Pointer.
struct Escaped<'k>(&'k str);

impl std::fmt::Display for Escaped<'_> {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        for character in self.0.chars() {
            match character {
                '~' => formatter.write_str("~0")?,
                '/' => formatter.write_str("~1")?,
                other => formatter.write_char(other)?,
            }
        }
        Ok(())
    }
}
