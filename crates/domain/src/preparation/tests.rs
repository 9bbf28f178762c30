use super::*;

fn form(fields: &[(&str, &str)]) -> PreparationForm {
    PreparationForm(fields.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect())
}

/// Metformin hydrochloride in water: weighed, dissolved, diluted twice, added.
fn salt() -> PreparationForm {
    form(&[
        ("substance", "metformin hydrochloride, lot 7"),
        ("source", "weighed"),
        ("mass", "12.91"),
        ("mass_unit", "mg"),
        ("mass_u", "0.02"),
        ("solution", "100"),
        ("solution_unit", "mL"),
        ("solution_u", "0.05"),
        ("purity", "98.5"),
        ("purity_unit", "%"),
        ("purity_u", "0.3"),
        ("form", "salt"),
        ("factor", "0.7799"),
        ("factor_u", "0.0001"),
        ("d1_taken", "1.0"),
        ("d1_taken_unit", "mL"),
        ("d1_taken_u", "0.004"),
        ("d1_total", "100"),
        ("d1_total_unit", "mL"),
        ("d1_total_u", "0.05"),
        ("d2_taken", "2"),
        ("d2_taken_unit", "mL"),
        ("d2_taken_u", "0.006"),
        ("d2_total", "50"),
        ("d2_total_unit", "mL"),
        ("d2_total_u", "0.03"),
        ("spike", "1,5"),
        ("spike_unit", "mL"),
        ("spike_u", "0.5 %"),
        ("item", "10"),
        ("item_unit", "L"),
        ("item_u", "0.02"),
        ("native_kind", "below"),
        ("native", "< 8"),
        ("native_unit", "ng/L"),
    ])
}

fn with(mut form: PreparationForm, fields: &[(&str, &str)]) -> PreparationForm {
    form.0.extend(fields.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())));
    form
}

#[track_caller]
fn assert_relative(got: f64, expected: f64, tolerance: f64) {
    assert!((got - expected).abs() <= tolerance * expected.abs(), "{got}, expected {expected}");
}

/// By hand: 12.91 mg × 0.985 × 0.7799/100 mL = 99.17 mg/L, /100 × 2/50 = 39.67 µg/L,
/// × 1.5 mL/10 L = 5.95 ng/L; native 8/2 with 8/(2√3). u and shares: the Python
/// package uncertainties 3.2.3 (`error_components`), called once and copied.
#[test]
fn the_content_and_its_budget_are_those_of_another_program() {
    let (preparation, prepared) = salt().parse("ng/L", None).unwrap();

    assert_relative(prepared.spike, 5.950_488_818_999_998_5, 1e-12);
    assert_relative(prepared.value, 9.950_488_818_999_998, 1e-12);
    assert_relative(prepared.native, 4.0, 1e-12);
    assert_relative(prepared.standard_uncertainty, 2.309_911_221_145_657, 1e-12);
    let share = |component: Component| {
        let part = prepared.parts.iter().find(|part| part.component == component).expect("a part");
        (part.sensitivity * part.standard_uncertainty, part.share)
    };
    for (component, own, of_all) in [
        (Component::Native, 2.309_401_076_758_503_4, 0.999_558_348_347_126_5),
        (Component::Spike, 0.029_752_444_094_999_993, 0.000_165_903_183_015_158_2),
        (Component::Taken(1), 0.023_801_955_275_999_997, 0.000_106_178_037_129_701_26),
        (Component::Purity, 0.018_123_316_2, 6.155_803_641_985_825e-5),
        (Component::Mass, 0.009_218_418, 1.592_656_860_096_522_8e-5),
        (Component::Factor, 0.000_762_981, 1.091_030_443_621_845e-7),
    ] {
        let (contribution, part) = share(component);
        assert_relative(contribution.abs(), own, 1e-9);
        assert_relative(part, of_all, 1e-9);
    }
    assert_relative(prepared.parts.iter().map(|part| part.share).sum(), 1.0, 1e-12);
    assert!(prepared.native_is_large() && !prepared.is_suspiciously_certain());
    assert_eq!(PreparationForm::of(&preparation).parse("ng/L", None).unwrap().1, prepared, "the form comes back");
}

/// (2.0 µg/g × 0.25 g)/1.2 kg + 30 ng/kg, by the same package.
#[test]
fn a_gravimetric_chain_leads_to_a_content_by_mass() {
    let form = form(&[
        ("substance", "stock 4"),
        ("source", "stock"),
        ("stock", "2.0"),
        ("stock_unit", "µg/g"),
        ("stock_u", "0.02"),
        ("form", "same"),
        ("spike", "0.2500"),
        ("spike_unit", "g"),
        ("spike_u", "0.001"),
        ("item", "1.2"),
        ("item_unit", "kg"),
        ("item_u", "0.003"),
        ("native_kind", "content"),
        ("native", "0.0300"),
        ("native_unit", "µg/kg"),
        ("native_u", "0.002"),
    ]);

    let (_, prepared) = form.parse("ng/kg", None).unwrap();

    assert_relative(prepared.value, 446.666_666_666_666_63, 1e-12);
    assert_relative(prepared.standard_uncertainty, 5.022_345_899_411_284, 1e-12);
}

fn keys(form: &PreparationForm, unit: &str, planned: Option<f64>) -> Vec<(String, &'static str)> {
    let errors = form.parse(unit, planned).unwrap_err();
    errors.iter().map(|(field, problem)| (field.to_owned(), problem.key)).collect()
}

#[test]
fn units_that_do_not_lead_to_the_content_are_refused_where_they_stand() {
    for (field, unit, of, key) in [
        ("spike_unit", "mg", "ng/L", "preparation-unit-spike"),
        ("item_unit", "kg", "ng/L", "preparation-unit-item"),
        ("item_unit", "L", "ng/kg", "preparation-unit-item"),
        ("d1_taken_unit", "g", "ng/L", "preparation-unit-step"),
        ("native_unit", "µg/kg", "ng/L", "preparation-unit-native"),
        ("mass_unit", "mL", "ng/L", "preparation-unit-none"),
        ("spike_unit", "", "ng/L", "preparation-unit-missing"),
        ("item_unit", "L", "CFU/100 mL", "preparation-unit-unknown"),
    ] {
        let form = with(salt(), &[(field, unit)]);
        let found = keys(&form, of, None);
        assert!(found.contains(&(field.to_owned(), key)), "{field} {unit} {of}: {found:?}");
    }
}

#[test]
fn micrograms_for_nanograms_are_said_plainly_and_have_to_be_confirmed() {
    let wrong = with(salt(), &[("native", "0.5"), ("mass_unit", "g"), ("confirm_small", "yes")]);

    let errors = wrong.parse("ng/L", Some(6.2)).unwrap_err();
    let problem = errors.get("confirm_planned").expect("a question");
    assert_eq!((problem.key, problem.value("times")), ("preparation-times", Some("1000")));
    assert!(with(wrong, &[("confirm_planned", "yes")]).parse("ng/L", Some(6.2)).is_ok());
    let less = with(salt(), &[("native", "0.0005"), ("mass_unit", "µg"), ("confirm_small", "yes")]);
    let errors = less.parse("ng/L", Some(6.2)).unwrap_err();
    assert_eq!(errors.get("confirm_planned").map(|problem| problem.key), Some("preparation-parts"));

    assert_eq!(beside(105.0, 100.0), Beside::Near);
    assert_eq!(beside(0.11, 100.0), Beside::PowerOfTen(-3));
    assert_eq!(beside(128.2, 100.0), Beside::Apart(128.2 / 100.0));
}

#[test]
fn a_salt_without_its_factor_and_numbers_that_contradict_themselves_are_refused() {
    let with_factor = |factor| with(salt(), &[("factor", factor)]);
    assert_eq!(keys(&with_factor(""), "ng/L", None), [("factor".to_owned(), "preparation-factor-missing")]);
    assert_eq!(keys(&with_factor("1"), "ng/L", None), [("factor".to_owned(), "preparation-factor-range")]);
    let same = with(salt(), &[("form", "same")]);
    assert_eq!(keys(&same, "ng/L", None), [("factor".to_owned(), "preparation-factor-unused")]);
    for (purity, unit, key) in [
        ("0.985", "%", "preparation-purity-share"),
        ("98.5", "g/g", "preparation-purity-percent"),
        ("101", "%", "preparation-purity-above"),
    ] {
        let form = with(salt(), &[("purity", purity), ("purity_unit", unit), ("purity_u", "0.1 %")]);
        assert_eq!(keys(&form, "ng/L", None), [("purity".to_owned(), key)]);
    }
    let exchanged = with(salt(), &[("d1_taken", "100"), ("d1_total", "1.0")]);
    assert_eq!(keys(&exchanged, "ng/L", None), [("d1_total".to_owned(), "preparation-step-exchanged")]);
    let missing = with(salt(), &[("spike_u", ""), ("native_kind", ""), ("substance", " ")]);
    let fields: Vec<String> = keys(&missing, "ng/L", None).into_iter().map(|(field, _)| field).collect();
    assert_eq!(fields, ["substance", "spike_u", "native_kind"]);
}

#[test]
fn an_uncertainty_below_one_percent_is_asked_about() {
    let sure = with(salt(), &[("native_kind", "nothing"), ("native", "")]);

    let found = keys(&sure, "ng/L", None);
    assert_eq!(found, [("confirm_small".to_owned(), "preparation-small")]);
    let (_, prepared) = with(sure, &[("confirm_small", "yes")]).parse("ng/L", None).unwrap();
    assert_eq!(prepared.native, 0.0);
    assert!(prepared.percent() < 1.0 && prepared.percent() > 0.5);
}
