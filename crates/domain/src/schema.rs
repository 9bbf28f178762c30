//! JSON Schemas of the open documents, draft 2020-12, made from their types.
//!
//! The committed files beside the modules are what [`package`], [`evaluation`]
//! and [`precision`] give; a test compares them. After a change of a type,
//! `cargo run -p roundel-domain --example schemas` writes them anew.

use schemars::generate::SchemaSettings;
use schemars::transform::{Transform, transform_subschemas};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde_json::{Value, json};

use crate::evaluation::RoundEvaluation;
use crate::evaluation::precision::PrecisionEvaluation;
use crate::package::{LARGEST, RoundPackage};

/// The schema of round packages.
///
/// ```
/// use roundel_domain::{package, schema};
///
/// let committed: serde_json::Value = serde_json::from_str(package::SCHEMA)?;
/// assert_eq!(schema::package(), committed);
/// # Ok::<(), serde_json::Error>(())
/// ```
#[must_use]
pub fn package() -> Value {
    of::<RoundPackage>("urn:roundel:round-package:1")
}

/// The schema of round evaluations.
#[must_use]
pub fn evaluation() -> Value {
    of::<RoundEvaluation>("urn:roundel:round-evaluation:1")
}

/// The schema of precision documents.
#[must_use]
pub fn precision() -> Value {
    of::<PrecisionEvaluation>("urn:roundel:precision:1")
}

fn of<T: JsonSchema>(id: &str) -> Value {
    let settings = SchemaSettings::draft2020_12().for_serialize().with_transform(Strict);
    let mut schema = settings.into_generator().into_root_schema_for::<T>();
    schema.insert("$id".to_owned(), id.into());
    schema.to_value()
}

/// What is absent in a document is not there, never null; and names of Rust's
/// numbers say nothing to a reader of JSON.
#[derive(Clone)]
struct Strict;

impl Transform for Strict {
    fn transform(&mut self, schema: &mut Schema) {
        if let Some(Value::Array(types)) = schema.get_mut("type") {
            types.retain(|name| name != "null");
            if let [only] = &types[..] {
                let only = only.clone();
                schema.insert("type".to_owned(), only);
            }
        }
        let without_null = match schema.get("anyOf") {
            Some(Value::Array(kinds)) if kinds.contains(&json!({ "type": "null" })) => kinds.first().cloned(),
            _ => None,
        };
        if let Some(Value::Object(only)) = without_null {
            schema.remove("anyOf");
            schema.ensure_object().extend(only);
        }
        schema.remove("format");
        transform_subschemas(self, schema);
    }
}

/// A number whose square a double can hold.
pub(crate) fn number(_: &mut SchemaGenerator) -> Schema {
    json_schema!({ "type": "number", "minimum": -LARGEST, "maximum": LARGEST })
}

/// A number above zero.
pub(crate) fn positive(_: &mut SchemaGenerator) -> Schema {
    json_schema!({ "type": "number", "exclusiveMinimum": 0, "maximum": LARGEST })
}

/// A number that is not negative.
pub(crate) fn not_negative(_: &mut SchemaGenerator) -> Schema {
    json_schema!({ "type": "number", "minimum": 0, "maximum": LARGEST })
}

/// One number or more.
pub(crate) fn numbers(generator: &mut SchemaGenerator) -> Schema {
    json_schema!({ "type": "array", "minItems": 1, "items": number(generator) })
}

/// Pairs of numbers, one or more.
pub(crate) fn pairs(generator: &mut SchemaGenerator) -> Schema {
    let pair = json_schema!({ "type": "array", "minItems": 2, "maxItems": 2, "items": number(generator) });
    json_schema!({ "type": "array", "minItems": 1, "items": pair })
}

/// Text with a character that is not white space.
pub(crate) fn filled_text(_: &mut SchemaGenerator) -> Schema {
    json_schema!({ "type": "string", "pattern": "\\S" })
}

/// A list of such texts.
pub(crate) fn filled_texts(generator: &mut SchemaGenerator) -> Schema {
    json_schema!({ "type": "array", "items": filled_text(generator) })
}

/// Codes, each once, one or more.
pub(crate) fn codes(generator: &mut SchemaGenerator) -> Schema {
    json_schema!({ "type": "array", "minItems": 1, "uniqueItems": true, "items": filled_text(generator) })
}

/// A SHA-256 in hexadecimal.
pub(crate) fn sha256(_: &mut SchemaGenerator) -> Schema {
    json_schema!({ "type": "string", "pattern": "^[0-9a-f]{64}$" })
}

/// Only `true`: what is false is absent.
pub(crate) fn only_true(_: &mut SchemaGenerator) -> Schema {
    json_schema!({ "const": true })
}

/// Rules between the fields of one measurand.
pub(crate) fn rules_of_a_measurand() -> Value {
    let has_basis = |basis: Value| json!({ "properties": { "basis": basis }, "required": ["basis"] });
    json!([
        {
            "if": { "properties": { "present": { "const": false } }, "required": ["present"] },
            "then": {
                "properties": { "assigned_value": false, "sigma_pt": false },
                "anyOf": [{ "required": ["required_loq"] }, { "required": ["absent_below"] }],
            },
            "else": { "required": ["assigned_value"] },
        },
        {
            "if": {
                "properties": { "sigma_pt": has_basis(json!({ "const": "horwitz" })) },
                "required": ["sigma_pt"],
            },
            "then": { "required": ["mass_fraction_per_unit"] },
        },
        {
            "if": {
                "properties": {
                    "present": { "const": true },
                    "scores": { "contains": { "enum": ["z", "z_prime"] } },
                    "assigned_value": { "properties": { "basis": { "not": { "const": "none" } } } },
                },
                "required": ["scores", "assigned_value"],
            },
            "then": { "required": ["sigma_pt"] },
        },
    ])
}

/// Adds a field with one value, of the given name, to an object; such fields
/// are written by hand and stand in no type.
pub(crate) struct Constant(pub(crate) &'static str, pub(crate) &'static str);

impl Transform for Constant {
    fn transform(&mut self, schema: &mut Schema) {
        let Self(name, value) = *self;
        let object = schema.ensure_object();
        object.entry("properties").or_insert_with(|| json!({}))[name] = json!({ "const": value });
        if let Value::Array(required) = object.entry("required").or_insert_with(|| json!([])) {
            required.insert(0, name.into());
        }
    }
}
