//! How the uncertainty of a single row is given.

use super::*;
use crate::id::{ItemId, MeasurandId};
use uuid::Uuid;

fn item(n: u128, label: &str) -> Item {
    Item { id: ItemId(Uuid::from_u128(n)), position: n as i64, label: label.to_owned(), matrix: String::new() }
}

fn measurand(position: i64, item: &Item) -> Measurand {
    Measurand {
        id: MeasurandId(Uuid::from_u128(100 + position as u128)),
        item: item.id,
        position,
        analyte: format!("analyte {position}"),
        unit: "ng/L".to_owned(),
        expressed_as: String::new(),
        decimals: 1,
        replicates: 1,
        required_loq: None,
        plan: None,
    }
}

fn typed(fields: &[(&str, &str)]) -> Typed {
    Typed(fields.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect())
}

/// U in the unit, by row: 40 with U 10 is 10 in the unit, and 4 as percent of it.
fn uncertainties(typed: &Typed, items: &[Item], measurands: &[Measurand]) -> Vec<Option<f64>> {
    let mut typed = typed.clone();
    typed.set("all.unit", "ng/L");
    let sheet = read(&typed, &Asked { items, measurands, asks: &Asks::default() }, None);
    assert_eq!(sheet.errors, FieldErrors::new());
    sheet.entries.iter().map(Entry::expanded_uncertainty).collect()
}

#[test]
fn a_row_says_itself_how_its_uncertainty_is_given() {
    let items = [item(1, "A")];
    let measurands = [measurand(1, &items[0]), measurand(2, &items[0])];
    let rows = [("1.v1", "40"), ("1.u", "10"), ("2.v1", "40"), ("2.u", "10")];

    let of_item = typed(&[&rows[..], &[("A.u_as", "absolute")]].concat());
    let differs = typed(&[&rows[..], &[("A.u_as", "absolute"), ("2.u_as", "percent")]].concat());
    let each = typed(&[&rows[..], &[("1.u_as", "percent"), ("2.u_as", "absolute")]].concat());

    assert_eq!(uncertainties(&of_item, &items, &measurands), [Some(10.0), Some(10.0)]);
    assert_eq!(uncertainties(&differs, &items, &measurands), [Some(10.0), Some(4.0)]);
    assert_eq!(uncertainties(&each, &items, &measurands), [Some(4.0), Some(10.0)]);
}

#[test]
fn the_word_of_an_item_labelled_with_a_number_is_not_taken_for_that_of_a_row() {
    let items = [item(1, "1"), item(2, "2")];
    let measurands = [measurand(1, &items[0]), measurand(2, &items[0]), measurand(3, &items[1])];
    let rows = [("1.v1", "40"), ("1.u", "10"), ("2.v1", "40"), ("2.u", "10"), ("3.v1", "40"), ("3.u", "10")];
    let forms = [("1.u_as", "absolute"), ("2.u_as", "percent")];

    let of_items = typed(&[&rows[..], &forms].concat());
    let own = typed(&[&rows[..], &forms, &[("2.u_as.row", "percent"), ("3.u_as", "absolute")]].concat());

    assert_eq!(uncertainties(&of_items, &items, &measurands), [Some(10.0), Some(10.0), Some(4.0)]);
    assert_eq!(uncertainties(&own, &items, &measurands), [Some(10.0), Some(4.0), Some(10.0)]);
    assert_eq!((form_field(&items, 2), form_field(&items, 3)), ("2.u_as.row".to_owned(), "3.u_as".to_owned()));
}

/// What is read is the same before and after; the page needs no word of a row.
#[test]
fn items_say_what_all_their_rows_say() {
    let items = [item(1, "A"), item(2, "B")];
    let measurands =
        [measurand(1, &items[0]), measurand(2, &items[0]), measurand(3, &items[1]), measurand(4, &items[1])];
    let rows = [
        ("1.v1", "40"),
        ("1.u", "10"),
        ("2.v1", "40"),
        ("2.u", "10"),
        ("3.v1", "40"),
        ("3.u", "10"),
        ("4.v1", "40"),
        ("4.u", "10"),
        ("B.u_as", "absolute"),
    ];
    let words = [("1.u_as", "percent"), ("2.u_as", "percent"), ("3.u_as", "percent"), ("4.u_as", "absolute")];
    let mut settled = typed(&[&rows[..], &words].concat());
    let before = uncertainties(&settled, &items, &measurands);

    settled.settle_forms(&items, &measurands);

    assert_eq!(uncertainties(&settled, &items, &measurands), before);
    assert_eq!(before, [Some(4.0), Some(4.0), Some(4.0), Some(10.0)]);
    let said = |field: &str| settled.get(field).to_owned();
    assert_eq!((said("A.u_as"), said("1.u_as"), said("2.u_as")), ("percent".into(), String::new(), String::new()));
    assert_eq!((said("B.u_as"), said("3.u_as"), said("4.u_as")), ("absolute".into(), "percent".into(), String::new()));
}

#[test]
fn a_form_keeps_the_word_of_its_item_and_of_rows_in_it_only() {
    let items = [item(1, "A"), item(2, "B")];
    let measurands = [measurand(1, &items[0]), measurand(2, &items[1])];
    let posted = [("A.u_as", "percent"), ("1.u_as", "absolute"), ("B.u_as", "x"), ("2.u_as", "x"), ("9.u_as", "x")];
    let asked = Asked { items: &items, measurands: &measurands, asks: &Asks::default() };

    let kept = Typed::posted(posted.into_iter(), &asked);

    assert_eq!(kept, typed(&[("A.u_as", "percent"), ("1.u_as", "absolute"), ("B.u_as", "x"), ("2.u_as", "x")]));
}

/// 0.145 µg/L is 145 ng/L: by the prefixes of the SI.
#[test]
fn numbers_are_typed_in_the_unit_of_the_laboratory_and_kept_in_that_of_the_round() {
    let items = [item(1, "A")];
    let measurands = [measurand(1, &items[0]), measurand(2, &items[0])];
    let asked = Asked { items: &items, measurands: &measurands, asks: &Asks::default() };
    let rows = [
        ("1.v1", "0,145"),
        ("1.u", "0.03"),
        ("1.loq", "0.0050"),
        ("2.v1", "<0.025"),
        ("A.u_as", "absolute"),
        ("A.k_all", "2"),
    ];

    let sheet = read(&typed(&[&rows[..], &[("all.unit", "µg/L")]].concat()), &asked, None);

    assert_eq!(sheet.errors, FieldErrors::new());
    let [first, second] = &sheet.entries[..] else { panic!("{sheet:?}") };
    assert_eq!((first.unit.as_str(), first.typed_unit.as_deref()), ("ng/L", Some("µg/L")));
    let Reported::Value { values, uncertainty: Some(uncertainty) } = &first.reported else { panic!("{first:?}") };
    assert_eq!((values[0].typed.as_str(), values[0].decimal.as_str()), ("0,145", "145"));
    assert_eq!(uncertainty.expanded.decimal.as_str(), "30");
    assert_eq!(first.loq.as_ref().map(|loq| loq.decimal.as_str()), Some("5.0"));
    let Reported::Below { limit } = &second.reported else { panic!("{second:?}") };
    assert_eq!((limit.typed.as_str(), limit.decimal.as_str()), ("<0.025", "25"));

    let unsaid = read(&typed(&rows), &asked, None);
    assert_eq!(
        unsaid.errors.iter().map(|(field, p)| (field, p.key)).collect::<Vec<_>>(),
        [("all.unit", "unit-missing")]
    );
    let percent = typed(&[&rows[..], &[("all.unit", "µg/L"), ("A.u_as", "percent")]].concat());
    let Reported::Value { uncertainty: Some(share), .. } = &read(&percent, &asked, None).entries[0].reported else {
        panic!("a value")
    };
    assert_eq!(share.expanded.decimal.as_str(), "0.03", "a percentage has no unit of the round");
}

#[test]
fn two_texts_of_a_field_are_asked_about_until_one_is_chosen() {
    let items = [item(1, "A"), item(2, "B")];
    let measurands = [measurand(1, &items[0]), measurand(2, &items[1])];
    let asked = Asked { items: &items, measurands: &measurands, asks: &Asks::default() };
    let both = typed(&[("1.v1", "40"), ("1.v1.other", "44"), ("2.v1", "7"), ("all.unit", "ng/L")]);

    let seen = |only| {
        let errors = read(&both, &asked, only).errors;
        errors.iter().map(|(field, problem)| format!("{field} {problem}")).collect::<Vec<_>>()
    };

    assert_eq!(seen(None), ["1.v1 draft-two-texts stored=\"40\" other=\"44\""]);
    assert_eq!(seen(Some(&items[1])), Vec::<String>::new());
}

#[test]
fn what_is_identified_and_not_quantified_has_no_number() {
    let items = [item(1, "A")];
    let measurands = [measurand(1, &items[0])];
    let asked = Asked { items: &items, measurands: &measurands, asks: &Asks::default() };
    let said = |fields: &[(&str, &str)]| {
        let sheet = read(&typed(&[fields, &[("1.state", "identified"), ("all.unit", "ng/L")]].concat()), &asked, None);
        let keys: Vec<&str> = sheet.errors.iter().map(|(_, problem)| problem.key).collect();
        (sheet.entries.first().map(|entry| entry.reported.clone()), keys)
    };

    assert_eq!(said(&[("1.loq", "5")]), (Some(Reported::Identified), vec![]));
    assert_eq!(said(&[("1.v1", "3")]), (None, vec!["result-value-and-state"]));
    assert_eq!(said(&[("1.u", "3")]), (None, vec!["result-limit-with-uncertainty"]));
}
