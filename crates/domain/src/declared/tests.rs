//! What may be said beside results, and what is refused.

use super::*;
use crate::asks::{Asks, AsksForm};
use crate::id::MeasurandId;
use crate::measurand::Item;
use uuid::Uuid;

fn item(n: u128, label: &str) -> Item {
    Item { id: ItemId(Uuid::from_u128(n)), position: n as i64, label: label.to_owned(), matrix: String::new() }
}

fn measurand(position: i64, item: &Item, analyte: &str, expressed_as: &str) -> Measurand {
    Measurand {
        id: MeasurandId(Uuid::from_u128(100 + position as u128)),
        item: item.id,
        position,
        analyte: analyte.to_owned(),
        unit: "ng/L".to_owned(),
        expressed_as: expressed_as.to_owned(),
        decimals: 1,
        replicates: 1,
        required_loq: None,
        plan: None,
    }
}

fn asks() -> Asks {
    let form = AsksForm {
        arrival: "codes".to_owned(),
        method: "yes".to_owned(),
        performance: "yes".to_owned(),
        ..AsksForm::suggested()
    };
    let mut errors = FieldErrors::new();
    let asks = form.parse(&[], &mut errors);
    assert_eq!(errors, FieldErrors::new());
    asks
}

fn typed(fields: &[(&str, &str)]) -> Typed {
    Typed(fields.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect())
}

/// What is wrong and what is missing, with item A (code BBBBBB is not one) on
/// 10 March 2027.
fn reading(fields: &[(&str, &str)]) -> Read {
    let items = [item(1, "A")];
    let measurands = [measurand(1, &items[0], "ibuprofen", "free acid"), measurand(2, &items[0], "metformin", "")];
    let asks = asks();
    let asked = Asked { items: &items, measurands: &measurands, asks: &asks };
    let codes = [(items[0].id, code())];
    read(&typed(fields), &asked, &codes, "2027-03-10".parse().unwrap())
}

fn code() -> String {
    LabCode::from_random([7; 16]).to_string()
}

fn keys(errors: &FieldErrors) -> Vec<(String, &'static str)> {
    errors.iter().map(|(field, problem)| (field.to_owned(), problem.key)).collect()
}

#[test]
fn an_item_needs_its_code_days_and_condition() {
    let nothing = reading(&[]).arrival;
    assert!(!nothing.begun && nothing.errors.is_empty());
    assert_eq!(
        keys(&nothing.open),
        [
            ("A.received_on".to_owned(), "arrival-date-missing"),
            ("A.analysed_on".to_owned(), "analysis-date-missing"),
            ("A.condition".to_owned(), "condition-missing"),
            ("A.code".to_owned(), "label-code-missing"),
        ]
    );
    let code = code();
    let good = [
        ("A.received_on", "2027-03-02"),
        ("A.analysed_on", "2027-03-08"),
        ("A.condition", "intact"),
        ("A.code", code.as_str()),
    ];
    let read = reading(&good);
    assert!(read.arrival.is_done() && read.arrival.begun);
    assert_eq!(read.declared.items[0].code, code);

    let wrong = |field: &str, text: &str| {
        let mut fields = typed(&good);
        fields.set(field, text);
        let fields: Vec<(&str, &str)> = fields.0.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
        let part = reading(&fields).arrival;
        part.errors.iter().chain(part.open.iter()).map(|(_, problem)| problem.key).collect::<Vec<_>>()
    };
    assert_eq!(wrong("A.received_on", "2027-03-11"), ["date-in-future"]);
    assert_eq!(wrong("A.received_on", "2.3.2027"), ["date-form"]);
    assert_eq!(wrong("A.analysed_on", "2027-03-01"), ["analysis-before-arrival"]);
    assert_eq!(wrong("A.condition", "lost"), ["choice-unknown"]);
    assert_eq!(wrong("A.condition", "other"), ["condition-remark-missing"]);
    assert_eq!(wrong("A.code", "XXX"), ["label-code-length"]);
    assert_eq!(wrong("A.code", &LabCode::from_random([9; 16]).to_string()), ["label-code-foreign"]);
}

#[test]
fn the_basis_is_confirmed_where_there_is_one_and_a_factor_says_where_it_comes_from() {
    assert_eq!(keys(&reading(&[]).method.open), [("1.basis".to_owned(), "basis-unconfirmed")]);

    let read = reading(&[
        ("1.basis", "yes"),
        ("1.recovery", "factor"),
        ("1.recovery_factor", "2,5"),
        ("1.recovery_origin", "spiked river water"),
        ("all.m_enrichment", "direct"),
    ]);
    assert!(read.method.is_done(), "{:?}", read.method);
    assert_eq!(read.declared.analytes[0].factor.as_ref().map(|factor| factor.decimal.as_str()), Some("2.5"));
    // F36 asks about factors outside 0.3 to 2.
    assert_eq!(read.findings.iter().map(Finding::id).collect::<Vec<_>>(), ["recovery-factor.1"]);
    assert_eq!(read.declared.method_group().as_deref(), Some("direct/not_stated/not_stated/not_stated"));

    let part = reading(&[("1.basis", "yes"), ("1.recovery", "factor"), ("2.recovery_factor", "1.1")]).method;
    assert_eq!(keys(&part.errors), [("2.recovery".to_owned(), "recovery-factor-alone")]);
    assert_eq!(
        keys(&part.open),
        [
            ("1.recovery_factor".to_owned(), "recovery-factor-missing"),
            ("1.recovery_origin".to_owned(), "recovery-origin-missing"),
        ]
    );
    assert_eq!(
        reading(&[("all.m_volume", "5 mL")]).method.errors.get("all.m_volume").map(|p| p.key),
        Some("choice-unknown")
    );
}

/// The limits are those that the form suggests: LOQ at most 25 ng/L,
/// recovery 70 to 120 %, RSD at most 3 %, carry-over below 0.5 %.
#[test]
fn limits_that_are_not_met_are_named_and_stop_nothing() {
    let unmet = |part: &str, text: &str| {
        let read = reading(&[(&format!("1.{part}"), text)]);
        assert!(read.performance.is_done());
        read.unmet.iter().map(|unmet| (unmet.position, unmet.part, unmet.problem.key)).collect::<Vec<_>>()
    };

    assert_eq!(unmet("p_loq", "30"), [(1, "p_loq", "limit-exceeded")]);
    assert_eq!(unmet("p_loq", "25"), []);
    assert_eq!(unmet("p_recovery", "69.9"), [(1, "p_recovery", "limit-not-reached")]);
    assert_eq!(unmet("p_recovery", "121"), [(1, "p_recovery", "limit-exceeded")]);
    assert_eq!(unmet("p_rsd", "3,1"), [(1, "p_rsd", "limit-exceeded")]);
    assert_eq!(unmet("p_carry", "0"), []);
    assert_eq!(unmet("p_carry", "0.6"), [(1, "p_carry", "limit-exceeded")]);
    let wrong = reading(&[("1.p_from", "100"), ("1.p_to", "10"), ("1.p_r2", "1.5")]).performance;
    assert_eq!(keys(&wrong.errors), [("1.p_to".to_owned(), "span-order"), ("1.p_r2".to_owned(), "r2-above-one")]);
}

#[test]
fn an_answer_counts_for_the_numbers_it_was_given_on() {
    let finding = roundel_selfcheck::recovery_factor(1, 2.5);
    let other = roundel_selfcheck::recovery_factor(1, 3.0);
    let answered = typed(&[(&answer_field(&finding), &confirmation(&finding))]);

    let findings = [finding];
    let (given, waiting) = answers(&answered, &findings);
    assert_eq!((given.len(), given[0].answer.as_str(), waiting.len()), (1, "confirmed", 0));
    let findings = [other];
    assert_eq!(answers(&answered, &findings).1.len(), 1, "another number is another question");
    let to_correct = typed(&[("all.answer.recovery-factor.1", "correct")]);
    let (given, waiting) = answers(&to_correct, &[]);
    assert_eq!((given[0].answer.as_str(), waiting.len()), ("corrected", 0));
}
