//! The JSON Schemas against real documents, and against the strict reader:
//! what the schema refuses, the reader refuses too.

use std::path::PathBuf;

use jsonschema::Validator;
use roundel_domain::evaluation::precision::{self, Outliers};
use roundel_domain::evaluation::{self, evaluate};
use roundel_domain::package::{self, parse};
use roundel_domain::schema;
use serde_json::{Value, json};

fn validator(schema: &str) -> Validator {
    let schema: Value = serde_json::from_str(schema).expect("a schema is JSON");
    jsonschema::draft202012::meta::validate(&schema).expect("a schema follows draft 2020-12");
    jsonschema::draft202012::new(&schema).expect("a schema can be used")
}

fn golden(name: &str) -> String {
    let path: PathBuf = [env!("CARGO_MANIFEST_DIR"), "../../tests/reference/golden", name].iter().collect();
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

#[track_caller]
fn assert_valid(schema: &str, document: &str) {
    let document: Value = serde_json::from_str(document).expect("a document is JSON");
    let errors: Vec<String> =
        validator(schema).iter_errors(&document).map(|error| format!("{}: {error}", error.instance_path())).collect();
    assert!(errors.is_empty(), "{errors:#?}");
}

const WRITE: &str = "`cargo run -p roundel-domain --example schemas` writes them anew";

#[test]
fn the_committed_schemas_are_what_the_types_give() {
    for (committed, made) in [
        (package::SCHEMA, schema::package()),
        (evaluation::SCHEMA, schema::evaluation()),
        (precision::SCHEMA, schema::precision()),
    ] {
        assert!(serde_json::from_str::<Value>(committed).unwrap() == made, "{}: {WRITE}", made["title"]);
    }
}

#[test]
fn every_object_is_closed_described_and_without_null() {
    for schema in [schema::package(), schema::evaluation(), schema::precision()] {
        assert!(!schema.to_string().contains("\"null\""));
        let parts = schema["$defs"].as_object().unwrap().values().chain([&schema]);
        for part in parts {
            let closed = part["additionalProperties"] == false || part["unevaluatedProperties"] == false;
            assert!(part["type"] != "object" || closed, "{part}");
            assert!(part["description"].is_string(), "{part}");
        }
    }
}

#[test]
fn whole_packages_and_their_output_follow_the_schemas() {
    for name in ["round.package.json", "trial.package.json"] {
        let text = golden(name);
        let package = parse(&text).unwrap();

        assert_valid(package::SCHEMA, &text);
        assert_valid(evaluation::SCHEMA, &evaluate(&package, "roundel test").to_json());
        for outliers in [Outliers::SetAside, Outliers::Keep] {
            let document = precision::evaluate(&package, outliers, "roundel test").to_json();
            assert_valid(precision::SCHEMA, &document);
        }
    }
}

/// A package with every field that there is.
fn full() -> Value {
    json!({
        "format": "round-package/1",
        "round": { "code": "R", "title": "T", "omitted": ["method"] },
        "measurands": [
            {
                "id": "m", "item": "A", "analyte": "x", "unit": "ng/L", "replicates": 2,
                "assigned_value": {
                    "basis": "participants", "estimator": "mean", "participants": ["P1", "P2"],
                    "fallback": { "basis": "expert", "value": 5, "standard_uncertainty": 1, "additional_uncertainty": 0.5 },
                    "consent": "few", "additional_uncertainty": 0.1
                },
                "sigma_pt": { "basis": "precision", "repeatability_sd": 1, "reproducibility_sd": 2, "additional_sd": 0.1 },
                "scores": ["z", "zeta"], "limits": { "warning": 2, "action": 3, "e_n": 1 },
                "censored": "limit_aware",
                "rounding": { "assigned_value": 1, "standard_uncertainty": 2, "sigma_pt": 2 },
                "present": true, "absent_below": 1, "required_loq": 2, "mass_fraction_per_unit": 1e-12,
                "homogeneity": [[1, 2], [2, 3]], "stability": { "before": [1], "after": [2] },
                "decision": { "signal": "information_only", "reason": "because" }
            },
            { "id": "n", "item": "A", "analyte": "y", "unit": "", "present": false, "absent_below": 1 }
        ],
        "results": [
            { "participant": "P1", "measurand": "m", "values": [1, 2], "expanded_uncertainty": 1, "coverage_factor": 2,
              "exclude": "late", "scored": false, "organisation": "red", "method": "GC" },
            { "participant": "P2", "measurand": "m", "below": 3 }
        ]
    })
}

/// Pointers to everything in a document.
fn pointers(value: &Value, pointer: &str, found: &mut Vec<String>) {
    found.push(pointer.to_owned());
    match value {
        Value::Object(members) => {
            members.iter().for_each(|(key, value)| pointers(value, &format!("{pointer}/{key}"), found));
        }
        Value::Array(items) => {
            items.iter().enumerate().for_each(|(place, value)| pointers(value, &format!("{pointer}/{place}"), found));
        }
        _ => {}
    }
}

#[test]
fn schema_and_reader_refuse_the_same_damage_to_any_field() {
    let schema = validator(package::SCHEMA);
    let document = full();
    assert!(schema.is_valid(&document) && parse(&document.to_string()).is_ok());
    let mut places = Vec::new();
    pointers(&document, "", &mut places);
    let damages =
        [json!(null), json!(true), json!(-1), json!(0), json!(0.5), json!(" "), json!("x"), json!([]), json!({})];
    let mut refused = 0;
    for place in places {
        for damage in &damages {
            let mut damaged = document.clone();
            *damaged.pointer_mut(&place).unwrap() = damage.clone();

            let by_schema = !schema.is_valid(&damaged);
            let by_reader = parse(&damaged.to_string()).is_err();

            assert!(by_reader || !by_schema, "only the schema refuses {damage} at {place}");
            refused += usize::from(by_schema);
        }
    }
    assert!(refused > 400, "{refused}");
}

#[test]
fn what_the_reader_refuses_within_one_object_the_schema_refuses() {
    let schema = validator(package::SCHEMA);
    let changes: [(&str, Value); 14] = [
        ("/surprise", json!(1)),
        ("/round/surprise", json!(1)),
        ("/measurands/0/surprise", json!(1)),
        ("/measurands/0/assigned_value/value", json!(1)),
        ("/measurands/0/assigned_value/fallback/basis", json!("participants")),
        ("/measurands/0/sigma_pt/percent", json!(1)),
        ("/measurands/0/scores", json!(["z", "z"])),
        ("/measurands/0/limits", json!({ "warning": 2 })),
        ("/measurands/0/present", json!(false)),
        ("/measurands/1/present", json!(true)),
        ("/measurands/1/sigma_pt", json!({ "basis": "participants" })),
        ("/results/0/below", json!(1)),
        ("/results/1/surprise", json!(1)),
        ("/results/1/participant", json!("")),
    ];

    for (pointer, value) in changes {
        let mut document = full();
        let (parent, name) = pointer.rsplit_once('/').unwrap();
        document.pointer_mut(parent).unwrap()[name] = value;

        assert!(!schema.is_valid(&document), "{pointer}");
        assert!(parse(&document.to_string()).is_err(), "{pointer}");
    }
}
