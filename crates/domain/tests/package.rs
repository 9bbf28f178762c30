//! Strict reading of the open round package: every problem, in document
//! order, in one pass.

#![expect(clippy::unwrap_used, reason = "helpers of tests may fail loudly")]

use roundel_domain::package::{
    AssignedValue, GivenBasis, GivenValue, Measurand, PackageRound, Reported, ReportedResult, RoundPackage, Score,
    SigmaBasis, SigmaPt, parse,
};
use serde_json::{Value, json};

/// A small valid package.
fn valid() -> Value {
    json!({
        "format": "round-package/1",
        "round": { "code": "R-1", "title": "Water" },
        "measurands": [{
            "id": "A/x", "item": "A", "analyte": "x", "unit": "ng/L", "replicates": 2,
            "assigned_value": { "basis": "formulation", "value": 50.0, "standard_uncertainty": 0.6 },
            "sigma_pt": { "basis": "relative", "percent": 22.0 },
            "scores": ["z"]
        }],
        "results": [
            { "participant": "P1", "measurand": "A/x", "values": [48.2, 49.1] },
            { "participant": "P2", "measurand": "A/x", "below": 25.0 }
        ]
    })
}

/// The valid package with the value at a pointer replaced, or removed.
fn with(pointer: &str, value: Option<Value>) -> String {
    let mut package = valid();
    let (parent, name) = pointer.rsplit_once('/').unwrap();
    match (package.pointer_mut(parent).unwrap(), value) {
        (Value::Object(members), Some(value)) => {
            members.insert(name.to_owned(), value);
        }
        (Value::Object(members), None) => {
            members.remove(name).unwrap();
        }
        (Value::Array(items), Some(value)) => items.insert(name.parse().unwrap(), value),
        other => panic!("{other:?}"),
    }
    package.to_string()
}

/// The lines that a person sees.
fn problems(text: &str) -> Vec<String> {
    match parse(text) {
        Ok(_) => Vec::new(),
        Err(problems) => problems.iter().map(ToString::to_string).collect(),
    }
}

#[track_caller]
fn assert_one_problem(text: &str, pointer: &str, word: &str) {
    let problems = problems(text);
    assert_eq!(problems.len(), 1, "{problems:#?}");
    assert!(problems[0].starts_with(&format!("error: {pointer}: ")), "{problems:?}");
    assert!(problems[0].contains(word), "{problems:?}");
}

#[test]
fn a_valid_package_has_no_problem() {
    assert_eq!(problems(&valid().to_string()), Vec::<String>::new());
}

#[test]
fn text_that_is_not_json_is_one_problem_with_line_and_column() {
    for text in ["{\n  \"format\": nonsense\n}", "", "{\"a\": NaN}", "{} {}", "[1, 2"] {
        let problems = problems(text);

        assert_eq!(problems.len(), 1, "{text}: {problems:?}");
        assert!(problems[0].starts_with("error: : not JSON: "), "{problems:?}");
        assert!(problems[0].contains("line ") && problems[0].contains("column "), "{problems:?}");
    }
}

#[test]
fn a_document_that_is_no_object_is_a_problem_of_the_whole() {
    assert_one_problem("[]", "", "expected an object");
}

#[test]
fn each_misuse_of_a_field_is_named_at_its_place() {
    let cases = [
        ("/format", Some(json!("round-package/2")), "/format", "round-package/2"),
        ("/format", None, "", "\"format\" is missing"),
        ("/extra", Some(json!(1)), "/extra", "unknown field"),
        ("/round/titel", Some(json!("x")), "/round/titel", "unknown field"),
        ("/round/code", Some(json!(7)), "/round/code", "expected text"),
        ("/measurands/0/scorse", Some(json!([])), "/measurands/0/scorse", "unknown field"),
        ("/measurands/0/unit", None, "/measurands/0", "\"unit\" is missing"),
        ("/measurands/0/replicates", Some(json!(2.5)), "/measurands/0/replicates", "whole number"),
        ("/measurands/0/replicates", Some(json!(1)), "/results/0/values", "at most 1"),
        ("/measurands/0/assigned_value", None, "/measurands/0", "\"assigned_value\" is missing"),
        ("/measurands/0/assigned_value/basis", Some(json!("guess")), "/measurands/0/assigned_value/basis", "guess"),
        ("/measurands/0/assigned_value/basis", None, "/measurands/0/assigned_value", "\"basis\" is missing"),
        (
            "/measurands/0/assigned_value/standard_uncertainty",
            Some(json!(0)),
            "/measurands/0/assigned_value/standard_uncertainty",
            "above 0",
        ),
        (
            "/measurands/0/assigned_value/estimator",
            Some(json!("mean")),
            "/measurands/0/assigned_value/estimator",
            "unknown field",
        ),
        ("/measurands/0/assigned_value/value", Some(json!(0)), "/measurands/0/sigma_pt", "sigma_pt comes out as 0"),
        (
            "/measurands/0/assigned_value",
            Some(json!({"basis": "participants", "estimator": "huber"})),
            "/measurands/0/assigned_value/estimator",
            "`huber`",
        ),
        (
            "/measurands/0/assigned_value",
            Some(json!({"basis": "participants", "fallback": {"basis": "participants"}})),
            "/measurands/0/assigned_value/fallback/basis",
            "participants",
        ),
        ("/measurands/0/sigma_pt", None, "/measurands/0", "\"sigma_pt\" is missing"),
        ("/measurands/0/sigma_pt", Some(json!({"basis": "horwitz"})), "/measurands/0", "mass_fraction_per_unit"),
        ("/measurands/0/sigma_pt/percent", Some(json!(-1)), "/measurands/0/sigma_pt/percent", "above 0, found -1"),
        ("/measurands/0/scores", Some(json!(["z", "q"])), "/measurands/0/scores/1", "`q`"),
        ("/measurands/0/scores", Some(json!(["z", "z"])), "/measurands/0/scores/1", "twice"),
        (
            "/measurands/0/limits",
            Some(json!({"warning": 2, "action": 3})),
            "/measurands/0/limits",
            "\"e_n\" is missing",
        ),
        ("/measurands/0/censored", Some(json!("substitute")), "/measurands/0/censored", "`substitute`"),
        ("/measurands/0/rounding", Some(json!({"sigma_pt": -1})), "/measurands/0/rounding/sigma_pt", "whole number"),
        ("/measurands/0/present", Some(json!("no")), "/measurands/0/present", "true or false"),
        ("/measurands/0/homogeneity", Some(json!([[1, 2], [3]])), "/measurands/0/homogeneity/1", "pair"),
        ("/measurands/0/stability", Some(json!({"before": [1]})), "/measurands/0/stability", "\"after\" is missing"),
        (
            "/measurands/0/decision",
            Some(json!({"signal": "none", "reason": "x"})),
            "/measurands/0/decision/signal",
            "`none`",
        ),
        ("/results/0/measurand", Some(json!("B/x")), "/results/0/measurand", "B/x"),
        ("/results/0/values", Some(json!([])), "/results/0/values", "empty list"),
        ("/results/0/values", Some(json!([1, "2"])), "/results/0/values/1", "the text \"2\""),
        ("/results/0/values", Some(json!([1, null])), "/results/0/values/1", "null"),
        ("/results/0/values", None, "/results/0", "neither"),
        ("/results/0/below", Some(json!(5)), "/results/0", "both"),
        ("/results/1/below", Some(json!(0)), "/results/1/below", "above 0"),
        ("/results/1/participant", Some(json!("P1")), "/results/1", "second result"),
        ("/results/0/exclude", Some(json!("")), "/results/0/exclude", "expected text"),
        ("/results/0/coverage_factor", Some(json!(0)), "/results/0/coverage_factor", "above 0"),
        ("/results/0/values", Some(json!([1e200])), "/results/0/values/0", "magnitude"),
    ];

    for (field, value, pointer, word) in cases {
        assert_one_problem(&with(field, value), pointer, word);
    }
}

#[test]
fn numbers_that_no_double_holds_and_duplicate_keys_are_found_at_any_depth() {
    let text = valid().to_string();

    let huge = text.replace("48.2", "1e999");
    assert_one_problem(&huge, "/results/0/values/0", "1e999");
    let twice = text.replace("\"percent\":22.0", "\"percent\":22.0,\"percent\":25.0");
    assert_ne!(twice, text);
    assert_one_problem(&twice, "/measurands/0/sigma_pt/percent", "duplicate key");
    let whole = text.replacen('{', "{\"round\":{\"code\":\"R-1\",\"title\":\"Water\"},", 1);
    assert_one_problem(&whole, "/round", "duplicate key");
}

#[test]
fn pointers_are_escaped_as_rfc_6901_says() {
    assert_one_problem(&with("/a~b", Some(json!(1))), "/a~0b", "unknown field");
    let slash = valid().to_string().replacen('{', "{\"a/b\":1,", 1);
    assert_one_problem(&slash, "/a~1b", "unknown field");
}

#[test]
fn all_problems_are_reported_in_document_order() {
    let text = r#"{
        "results": [
            { "participant": "P1", "measurand": "A/y", "values": [1], "scored": 1 },
            { "participant": "P1", "measurand": "A/x", "values": [1, 2] }
        ],
        "surprise": true,
        "measurands": [
            { "id": "A/x", "item": "A", "analyte": "x", "unit": "ng/L", "scores": ["z", "w"],
              "assigned_value": { "basis": "reference", "value": 1e400, "standard_uncertainty": 1 } },
            { "id": "A/x", "item": "A", "analyte": "x", "unit": "ng/L", "assigned_value": { "basis": "none" } }
        ],
        "round": { "code": "R", "title": "T", "title": "U" }
    }"#;

    let pointers: Vec<String> = parse(text).unwrap_err().into_iter().map(|problem| problem.pointer).collect();

    assert_eq!(
        pointers,
        [
            "",
            "/results/0/measurand",
            "/results/0/scored",
            "/results/1/values",
            "/surprise",
            "/measurands/0",
            "/measurands/0/scores/1",
            "/measurands/0/assigned_value/value",
            "/measurands/1/id",
            "/round/title",
        ]
    );
}

#[test]
fn one_organisation_may_count_once_per_measurand() {
    let mut package = valid();
    for result in package["results"].as_array_mut().unwrap() {
        result["organisation"] = json!("red");
    }
    assert_one_problem(&package.to_string(), "/results/1/organisation", "red");

    package["results"][0]["exclude"] = json!("second method");
    assert_eq!(problems(&package.to_string()), Vec::<String>::new());
}

#[test]
fn an_absent_analyte_has_no_value_but_a_limit() {
    let absent = |extra: Value| {
        let mut package = valid();
        let measurand = package["measurands"][0].as_object_mut().unwrap();
        measurand.insert("present".to_owned(), json!(false));
        measurand.remove("scores");
        for (name, value) in extra.as_object().unwrap() {
            match value {
                Value::Null => measurand.remove(name),
                value => measurand.insert(name.clone(), value.clone()),
            };
        }
        package.to_string()
    };

    let kept = problems(&absent(json!({"required_loq": 10})));
    assert_eq!(kept.len(), 2, "{kept:?}");
    assert!(kept[0].starts_with("error: /measurands/0/assigned_value: "), "{kept:?}");
    assert!(kept[1].starts_with("error: /measurands/0/sigma_pt: "), "{kept:?}");
    let no_limit = absent(json!({"assigned_value": null, "sigma_pt": null}));
    assert_one_problem(&no_limit, "/measurands/0", "required_loq");
    let right = absent(json!({"assigned_value": null, "sigma_pt": null, "absent_below": 1}));
    assert_eq!(problems(&right), Vec::<String>::new());
}

#[test]
fn a_bound_needs_sigma_where_a_class_is_asked_for() {
    let mut package = valid();
    package["measurands"][0].as_object_mut().unwrap().remove("sigma_pt");
    package["measurands"][0]["scores"] = json!(["zeta"]);
    assert_one_problem(&package.to_string(), "/measurands/0", "bound");

    package["measurands"][0]["scores"] = json!(["difference"]);
    assert_eq!(problems(&package.to_string()), Vec::<String>::new());
}

#[test]
fn a_deeply_nested_document_is_refused_without_harm() {
    let text = format!("{{\"format\":{}{}}}", "[".repeat(100_000), "]".repeat(100_000));

    let problems = problems(&text);

    assert!(problems.contains(&"error: /format: expected text, found a list".to_owned()), "{problems:?}");
}

#[test]
fn the_hash_is_that_of_the_canonical_form() {
    // The canonical form written by hand after RFC 8785, hashed with sha256sum
    // of GNU coreutils 9.1:
    // {"format":"round-package/1","measurands":[{"analyte":"a","assigned_value":
    // {"basis":"expert","standard_uncertainty":1e-7,"value":50},"id":"A",…,
    // "results":[{"measurand":"B","participant":"P1","values":[0]},
    // {"below":1e+21,"measurand":"B","participant":"P2"}],"round":{"code":"R","title":"é"}}
    let package = RoundPackage {
        round: PackageRound { code: "R".to_owned(), title: "é".to_owned(), omitted: None },
        measurands: ["B", "A"]
            .map(|id| Measurand {
                id: id.to_owned(),
                item: "i".to_owned(),
                analyte: "a".to_owned(),
                unit: "u".to_owned(),
                assigned_value: Some(AssignedValue::Given(GivenValue {
                    basis: GivenBasis::Expert,
                    value: 50.0,
                    standard_uncertainty: 1e-7,
                    additional_uncertainty: None,
                })),
                sigma_pt: Some(SigmaPt::new(SigmaBasis::Prescribed { value: 2.5 })),
                scores: Some(vec![Score::En]),
                ..Measurand::default()
            })
            .to_vec(),
        results: vec![
            ReportedResult::new("P2", "B", Reported::Below(1e21)),
            ReportedResult::new("P1", "B", Reported::Values(vec![-0.0])),
        ],
    };

    assert_eq!(package.sha256(), "8d2828e06793300dd1629a94a4d94970e72fbd1b91b8099d5cccb219b7dbd2c8");
    assert_eq!(package.problems(), Vec::new());
}

#[test]
fn a_problem_is_one_line_whatever_the_keys_are() {
    let text = valid().to_string().replacen('{', "{\"a\\nb\":1,", 1);

    let problems = problems(&text);

    assert_eq!(problems.len(), 1);
    assert!(problems[0].starts_with("error: /a\\nb: ") && !problems[0].contains('\n'), "{problems:?}");
}

#[test]
fn of_ten_thousand_problems_the_rest_is_counted() {
    let mut package = valid();
    package["results"] = Value::Array(vec![json!(1); 10_010]);

    let problems = problems(&package.to_string());

    assert_eq!(problems.len(), 10_001);
    assert_eq!(problems[9_999], "error: /results/9999: expected an object, found 1");
    assert_eq!(problems[10_000], "error: : 10 further problems are not listed; correct these first");
}

#[test]
fn a_message_repeats_the_beginning_of_a_long_text() {
    let long = with("/measurands/0/scores", Some(json!("ä".repeat(5000))));

    let problems = problems(&long);

    let expected = format!("expected a list of scores, found the text \"{}…\"", "ä".repeat(200));
    assert_eq!(problems, [format!("error: /measurands/0/scores: {expected}")]);
}
