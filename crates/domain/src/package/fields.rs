//! Typed reading of JSON values, noting every problem on the way. A value
//! that cannot be used is replaced by an empty one, or NaN: a document with a problem
//! is never handed on.

use serde::de::value::StrDeserializer;
use serde::de::{DeserializeOwned, IntoDeserializer as _};

use super::Problem;
use super::json::{Node, Placed, Value};

/// Larger magnitudes are not computed with: their squares would overflow.
const LARGEST: f64 = 1e150;

/// The members of an object whose names are known.
pub(super) struct Fields<'n> {
    node: &'n Node,
    members: &'n [(String, Node)],
}

/// Where the problems go.
#[derive(Default)]
pub(super) struct Notes {
    pub(super) problems: Vec<Placed>,
}

impl Notes {
    pub(super) fn add(&mut self, node: &Node, message: impl Into<String>) {
        self.problems.push((node.place, Problem { pointer: node.pointer.clone(), message: message.into() }));
    }

    /// The problems in document order.
    pub(super) fn sorted(mut self) -> Vec<Problem> {
        self.problems.sort_by_key(|(place, _)| *place);
        self.problems.into_iter().map(|(_, problem)| problem).collect()
    }

    fn wrong_type(&mut self, node: &Node, expected: &str) {
        let found = match &node.value {
            Value::Broken => return,
            Value::Null => "null".to_owned(),
            Value::Flag(flag) => flag.to_string(),
            Value::Number(number) => number.to_string(),
            Value::Text(text) => format!("the text {text:?}"),
            Value::List(_) => "a list".to_owned(),
            Value::Object(_) => "an object".to_owned(),
        };
        self.add(node, format!("expected {expected}, found {found}"));
    }

    /// An object; members whose names are not in `known` are reported.
    pub(super) fn object<'n>(&mut self, node: &'n Node, known: &[&str]) -> Option<Fields<'n>> {
        let Value::Object(members) = &node.value else {
            self.wrong_type(node, "an object");
            return None;
        };
        for (name, member) in members {
            if !known.contains(&name.as_str()) {
                self.add(member, format!("unknown field {name:?}; expected one of {}", known.join(", ")));
            }
        }
        Some(Fields { node, members })
    }

    pub(super) fn list<'n>(&mut self, node: &'n Node, expected: &str) -> &'n [Node] {
        if let Value::List(items) = &node.value {
            return items;
        }
        self.wrong_type(node, expected);
        &[]
    }

    /// A list with at least one item.
    pub(super) fn filled_list<'n>(&mut self, node: &'n Node, expected: &str) -> &'n [Node] {
        if matches!(&node.value, Value::List(items) if items.is_empty()) {
            self.add(node, format!("expected {expected}, found an empty list"));
        }
        self.list(node, expected)
    }

    pub(super) fn text(&mut self, node: &Node) -> String {
        if let Value::Text(text) = &node.value {
            return text.clone();
        }
        self.wrong_type(node, "text");
        String::new()
    }

    /// Text with at least one character that is not white space.
    pub(super) fn filled_text(&mut self, node: &Node) -> String {
        let text = self.text(node);
        if matches!(node.value, Value::Text(_)) && text.trim().is_empty() {
            self.add(node, "expected text, found none");
        }
        text
    }

    /// One of the words of an enum.
    pub(super) fn word<T: DeserializeOwned>(&mut self, node: &Node) -> Option<T> {
        let Value::Text(text) = &node.value else {
            self.wrong_type(node, "a word");
            return None;
        };
        let reader: StrDeserializer<'_, serde::de::value::Error> = text.as_str().into_deserializer();
        T::deserialize(reader)
            .map_err(|error| {
                self.add(node, error.to_string().replace("unknown variant", "unknown or unsupported value"))
            })
            .ok()
    }

    pub(super) fn flag(&mut self, node: &Node) -> Option<bool> {
        if let Value::Flag(flag) = node.value {
            return Some(flag);
        }
        self.wrong_type(node, "true or false");
        None
    }

    pub(super) fn number(&mut self, node: &Node) -> f64 {
        self.number_where(node, "a number", |_| true)
    }

    pub(super) fn positive(&mut self, node: &Node) -> f64 {
        self.number_where(node, "a number above 0", |number| number > 0.0)
    }

    pub(super) fn not_negative(&mut self, node: &Node) -> f64 {
        self.number_where(node, "a number that is not negative", |number| number >= 0.0)
    }

    /// A whole number from `least` to `most`.
    pub(super) fn whole(&mut self, node: &Node, least: u32, most: u32) -> u32 {
        let expected = format!("a whole number from {least} to {most}");
        let fits = |number: f64| number.fract() == 0.0 && (f64::from(least)..=f64::from(most)).contains(&number);
        self.number_where(node, &expected, fits) as u32
    }

    fn number_where(&mut self, node: &Node, expected: &str, fits: impl Fn(f64) -> bool) -> f64 {
        match node.value {
            Value::Number(number) if number.abs() > LARGEST => {
                self.add(node, format!("expected a number of magnitude at most {LARGEST:e}, found {number:e}"));
            }
            Value::Number(number) if fits(number) => return number,
            _ => self.wrong_type(node, expected),
        }
        f64::NAN
    }
}

impl<'n> Fields<'n> {
    /// The object itself.
    pub(super) fn node(&self) -> &'n Node {
        self.node
    }

    pub(super) fn get(&self, name: &str) -> Option<&'n Node> {
        self.members.iter().find(|(member, _)| member == name).map(|(_, node)| node)
    }

    /// A member that must be there.
    pub(super) fn need(&self, notes: &mut Notes, name: &str) -> Option<&'n Node> {
        let found = self.get(name);
        if found.is_none() {
            notes.add(self.node, format!("the field {name:?} is missing"));
        }
        found
    }
}
