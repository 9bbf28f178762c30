//! A walk through a text that is known to be JSON: nothing is copied, and
//! what is passed over is not kept.

use serde::de::IgnoredAny;

/// The kinds of JSON values.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Null,
    Flag,
    Number,
    Text,
    List,
    Object,
}

/// A place in a JSON text, in front of a value or of what divides values.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cursor<'t> {
    text: &'t str,
    place: usize,
}

impl<'t> Cursor<'t> {
    /// In front of the value that the whole text is.
    pub(super) fn new(text: &'t str) -> Result<Self, serde_json::Error> {
        // Everything below relies on this: the text is one JSON value.
        serde_json::from_str::<IgnoredAny>(text)?;
        Ok(Self { text, place: 0 })
    }

    /// The same text at the given place.
    pub(super) fn at(self, place: usize) -> Self {
        Self { place, ..self }
    }

    fn byte(&self) -> u8 {
        self.text.as_bytes().get(self.place).copied().unwrap_or_default()
    }

    fn skip_space(&mut self) {
        while matches!(self.byte(), b' ' | b'\t' | b'\n' | b'\r') {
            self.place += 1;
        }
    }

    /// Where the next value starts.
    pub(super) fn place(&mut self) -> usize {
        self.skip_space();
        self.place
    }

    /// What the next value is.
    pub(super) fn kind(&mut self) -> Kind {
        self.skip_space();
        match self.byte() {
            b'{' => Kind::Object,
            b'[' => Kind::List,
            b'"' => Kind::Text,
            b't' | b'f' => Kind::Flag,
            b'n' => Kind::Null,
            _ => Kind::Number,
        }
    }

    /// Steps into a list or an object.
    pub(super) fn enter(&mut self) {
        self.skip_space();
        self.place += 1;
    }

    /// Whether another value follows in the list or object; steps out of it
    /// where none does.
    pub(super) fn more(&mut self) -> bool {
        self.skip_space();
        match self.byte() {
            b',' => {
                self.place += 1;
                true
            }
            b']' | b'}' | 0 => {
                self.place += 1;
                false
            }
            _ => true,
        }
    }

    /// The text of the next key, with its quotes; steps in front of its value.
    pub(super) fn key(&mut self) -> &'t str {
        let key = self.pass();
        self.skip_space();
        self.place += 1;
        key
    }

    /// The text of the next value; steps behind it.
    pub(super) fn pass(&mut self) -> &'t str {
        let start = self.place();
        match self.byte() {
            b'"' => self.pass_text(),
            b'{' | b'[' => {
                // Counted, not called again for each level: a document of
                // brackets alone costs no stack.
                let mut depth = 0_usize;
                loop {
                    match self.byte() {
                        b'{' | b'[' => depth += 1,
                        b'}' | b']' => depth -= 1,
                        b'"' => {
                            self.pass_text();
                            continue;
                        }
                        _ => {}
                    }
                    self.place += 1;
                    if depth == 0 || self.place >= self.text.len() {
                        break;
                    }
                }
            }
            _ => {
                while !matches!(self.byte(), b',' | b']' | b'}' | b' ' | b'\t' | b'\n' | b'\r' | 0) {
                    self.place += 1;
                }
            }
        }
        &self.text[start..self.place]
    }

    fn pass_text(&mut self) {
        self.place += 1;
        loop {
            match self.byte() {
                b'\\' => self.place += 2,
                b'"' | 0 => break,
                _ => self.place += 1,
            }
        }
        self.place += 1;
    }

    /// How many items of `shortest` bytes or more the list that comes next has.
    pub(super) fn items(mut self, shortest: usize) -> usize {
        if self.kind() != Kind::List {
            return 0;
        }
        self.enter();
        let mut count = 0;
        while self.more() {
            count += usize::from(self.pass().len() >= shortest);
        }
        count
    }

    /// The cursor in front of a member of the object that comes next.
    pub(super) fn member(mut self, name: &str) -> Option<Self> {
        if self.kind() != Kind::Object {
            return None;
        }
        self.enter();
        while self.more() {
            if text_of(self.key()).is_ok_and(|key| key == name) {
                return Some(self);
            }
            self.pass();
        }
        None
    }
}

/// What a text between quotes says; an error for half of a surrogate pair.
pub(super) fn text_of(quoted: &str) -> Result<String, serde_json::Error> {
    match quoted.get(1..quoted.len() - 1) {
        Some(plain) if !plain.contains('\\') => Ok(plain.to_owned()),
        _ => serde_json::from_str(quoted),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_passed_whole_with_brackets_and_quotes_in_texts() {
        let text = r#" { "a\"}" : [1 , {"b":"]\\"}, [] ] ,"c":-1.5e3,"d":null, "e" : {} } "#;
        let mut cursor = Cursor::new(text).unwrap();
        let mut seen = Vec::new();

        assert_eq!(cursor.kind(), Kind::Object);
        cursor.enter();
        while cursor.more() {
            seen.push((cursor.key(), cursor.kind(), cursor.pass()));
        }

        let expected = [
            (r#""a\"}""#, Kind::List, r#"[1 , {"b":"]\\"}, [] ]"#),
            (r#""c""#, Kind::Number, "-1.5e3"),
            (r#""d""#, Kind::Null, "null"),
            (r#""e""#, Kind::Object, "{}"),
        ];
        assert_eq!(seen, expected);
    }

    #[test]
    fn a_member_is_found_by_the_name_that_its_key_means() {
        let cursor = Cursor::new(r#"{"a":{"b":1},"\u0062":2}"#).unwrap();

        assert_eq!(cursor.member("b").map(|mut member| member.pass()), Some("2"));
        assert!(cursor.member("c").is_none());
    }
}
