//! JSON with the places of its values: keeps the order of the document and
//! notices duplicate keys and numbers that no double can hold, which the
//! usual value type cannot.

use std::collections::HashSet;
use std::fmt;

use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use serde_json::value::RawValue;

use super::Problem;

/// Deeper than any package; keeps hostile documents from exhausting the stack.
const DEEPEST: usize = 32;

/// A value and where it stands.
#[derive(Debug)]
pub(super) struct Node {
    /// JSON Pointer; empty where none were asked for.
    pub(super) pointer: String,
    /// Number in document order.
    pub(super) place: usize,
    pub(super) value: Value,
}

#[derive(Debug)]
pub(super) enum Value {
    Null,
    Flag(bool),
    Number(f64),
    Text(String),
    List(Vec<Node>),
    Object(Vec<(String, Node)>),
    /// Already reported.
    Broken,
}

/// A problem with its place, for sorting.
pub(super) type Placed = (usize, Problem);

/// Reads a document and notes what is wrong with its values. Without pointers
/// those of all nodes are empty.
pub(super) fn read(text: &str, with_pointers: bool, problems: &mut Vec<Placed>) -> Result<Node, Problem> {
    let whole: &RawValue = serde_json::from_str(text)
        .map_err(|error| Problem { pointer: String::new(), message: format!("not JSON: {error}") })?;
    Ok(Reader { problems, places: 0, with_pointers }.node(whole, String::new(), 0))
}

struct Reader<'p> {
    problems: &'p mut Vec<Placed>,
    places: usize,
    with_pointers: bool,
}

impl Reader<'_> {
    fn node(&mut self, raw: &RawValue, pointer: String, depth: usize) -> Node {
        let place = self.places;
        self.places += 1;
        let value =
            if depth > DEEPEST { Err("nested too deeply".to_owned()) } else { self.value(raw.get(), &pointer, depth) };
        let value = value.unwrap_or_else(|message| {
            self.problems.push((place, Problem { pointer: pointer.clone(), message }));
            Value::Broken
        });
        Node { pointer, place, value }
    }

    fn value(&mut self, raw: &str, pointer: &str, depth: usize) -> Result<Value, String> {
        let broken = |error: serde_json::Error| format!("text that cannot be read: {error}");
        Ok(match raw.as_bytes().first() {
            Some(b'{') => {
                let members: Members<'_> = serde_json::from_str(raw).map_err(broken)?;
                Value::Object(self.members(members.0, pointer, depth))
            }
            Some(b'[') => {
                let items: Vec<&RawValue> = serde_json::from_str(raw).map_err(broken)?;
                let item = |(index, item)| {
                    let below = self.below(pointer, index);
                    self.node(item, below, depth + 1)
                };
                Value::List(items.into_iter().enumerate().map(item).collect())
            }
            Some(b'"') => Value::Text(serde_json::from_str(raw).map_err(broken)?),
            Some(b't') => Value::Flag(true),
            Some(b'f') => Value::Flag(false),
            Some(b'n') => Value::Null,
            _ => match raw.parse::<f64>() {
                // Adding zero makes a negative zero positive.
                Ok(number) if number.is_finite() => Value::Number(number + 0.0),
                _ => {
                    return Err(format!("{raw} is beyond the range of a double; expected a finite number"));
                }
            },
        })
    }

    fn below(&self, pointer: &str, index: usize) -> String {
        if self.with_pointers { format!("{pointer}/{index}") } else { String::new() }
    }

    fn members(&mut self, members: Vec<(String, &RawValue)>, pointer: &str, depth: usize) -> Vec<(String, Node)> {
        let mut seen = HashSet::new();
        let mut kept = Vec::with_capacity(members.len());
        for (key, raw) in members {
            let below = if self.with_pointers {
                format!("{pointer}/{}", key.replace('~', "~0").replace('/', "~1"))
            } else {
                String::new()
            };
            let node = self.node(raw, below, depth + 1);
            if seen.insert(key.clone()) {
                kept.push((key, node));
            } else {
                let message = format!("duplicate key {key:?}; each field may appear once");
                self.problems.push((node.place, Problem { pointer: node.pointer, message }));
            }
        }
        kept
    }
}

/// The members of an object, duplicates included.
struct Members<'a>(Vec<(String, &'a RawValue)>);

impl<'de: 'a, 'a> Deserialize<'de> for Members<'a> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Collect;
        impl<'de> Visitor<'de> for Collect {
            type Value = Members<'de>;

            fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
                formatter.write_str("an object")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut members = Vec::new();
                while let Some(member) = map.next_entry()? {
                    members.push(member);
                }
                Ok(Members(members))
            }
        }
        deserializer.deserialize_map(Collect)
    }
}
