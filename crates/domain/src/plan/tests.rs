use super::*;
use crate::id::{ItemId, MeasurandId};
use crate::measurand::Measurand;
use crate::package::Score;
use uuid::Uuid;

const ASKED: Asked<'static> = Asked { unit: "ng/L", has_required_loq: true, uncertainty: false };

fn form(fields: &[(&str, &str)]) -> PlanForm {
    let fields: serde_json::Map<String, serde_json::Value> =
        fields.iter().map(|(name, text)| ((*name).to_owned(), (*text).into())).collect();
    serde_json::from_value(fields.into()).expect("fields of the form")
}

fn refused(fields: &[(&str, &str)], asked: Asked<'_>) -> Vec<(String, &'static str)> {
    let errors = form(fields).parse(asked).expect_err("refused");
    errors.iter().map(|(field, problem)| (field.to_owned(), problem.key)).collect()
}

const GIVEN: [(&str, &str); 5] = [
    ("route", "formulation"),
    ("value", "32.4"),
    ("standard_uncertainty", "0.4"),
    ("sigma_route", "percent"),
    ("sigma", "25"),
];

fn with<'a>(more: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    GIVEN.iter().filter(|(name, _)| more.iter().all(|(other, _)| other != name)).chain(more).copied().collect()
}

#[test]
fn what_was_stored_before_is_read_and_written_as_it_was() {
    for text in [
        r#"{"assigned":{"route":"formulation","value":"32.4","uncertainty":{"standard":"0.4"}},"sigma_pt":{"percent":"25"}}"#,
        r#"{"assigned":{"route":"participants","estimator":"algorithm_a"},"sigma_pt":"horwitz"}"#,
        r#"{"assigned":{"route":"absent","absent_below":"1"}}"#,
    ] {
        let plan: Plan = serde_json::from_str(text).unwrap();
        assert_eq!(serde_json::to_string(&plan).unwrap(), text);
        assert_eq!(plan.decides, Decides::Z);
    }
}

#[test]
fn every_plan_comes_back_from_its_form() {
    for fields in [
        with(&[]),
        with(&[("standard_uncertainty", ""), ("expanded_uncertainty", "0.8"), ("coverage_factor", "2")]),
        with(&[("route", "q_hampel"), ("fallback_route", "reference"), ("censored", "limit_aware")]),
        with(&[("limit_warning", "1.5"), ("limits_reason", "A law asks for it.")]),
        vec![("route", "by_count"), ("sigma_route", "prescribed"), ("sigma", "8")],
        vec![("route", "absent")],
    ] {
        let plan = form(&fields).parse(ASKED).unwrap();
        assert_eq!(PlanForm::of(&plan).parse(ASKED).unwrap(), plan, "{fields:?}");
    }
    let plan = form(&with(&[("limit_warning", "1.5"), ("limits_reason", "A law.")])).parse(ASKED).unwrap();
    let limits = plan.limits.expect("limits of its own");
    assert_eq!([limits.warning, limits.action, limits.e_n].map(|n| n.to_string()), ["1.5", "3", "1"]);
    let usual = form(&with(&[("limit_warning", "2"), ("limit_action", "3")])).parse(ASKED).unwrap();
    assert_eq!(usual.limits, None, "those of ISO 13528 are no limits of its own");
}

#[test]
fn contradictions_are_refused() {
    let asked = Asked { uncertainty: true, ..ASKED };
    let decides = |word| with(&[("decides", word)]);
    for word in ["e_n", "zeta"] {
        let expected = [("decides".to_owned(), "plan-score-needs-uncertainty")];
        assert_eq!(refused(&decides(word), ASKED), expected, "{word}");
        assert!(form(&decides(word)).parse(asked).is_ok(), "{word} where U is asked");
    }
    let consensus = [("route", "by_count"), ("sigma_route", "percent"), ("sigma", "25"), ("decides", "e_n")];
    assert_eq!(refused(&consensus, asked), [("decides".to_owned(), "plan-en-consensus")]);
    // 2 sigma_pt >= x_pt (D15), however sigma_pt is given.
    for (route, sigma) in [("percent", "50"), ("prescribed", "16.2")] {
        let fields = with(&[("sigma_route", route), ("sigma", sigma)]);
        assert_eq!(refused(&fields, ASKED), [("sigma".to_owned(), "plan-sigma-too-wide")], "{sigma}");
    }
    let consensus = [("route", "by_count"), ("sigma_route", "percent"), ("sigma", "50")];
    assert_eq!(refused(&consensus, ASKED), [("sigma".to_owned(), "plan-sigma-too-wide")]);
    assert!(form(&with(&[("sigma", "49.9")])).parse(ASKED).is_ok());
    for sigma in ["0", "-1", ""] {
        assert_eq!(refused(&with(&[("sigma", sigma)]), ASKED)[0].0, "sigma", "{sigma:?}");
    }
    let beside = with(&[("route", "median_made")]);
    assert_eq!(refused(&beside, ASKED), [("fallback_route".to_owned(), "plan-fallback-unsaid")], "nothing is dropped");
    let limits = with(&[("limit_warning", "3.5"), ("limits_reason", "Why not.")]);
    assert_eq!(refused(&limits, ASKED), [("limit_action".to_owned(), "plan-limits-order")]);
    assert_eq!(refused(&with(&[("limit_e_n", "0.9")]), ASKED), [("limits_reason".to_owned(), "text-missing")]);
}

#[test]
fn what_a_planner_should_look_at_is_told_and_not_refused() {
    let keys = |fields: &[(&str, &str)], expected| -> Vec<&'static str> {
        let plan = form(fields).parse(ASKED).unwrap();
        plan.warnings(expected).iter().map(|warning| warning.key).collect()
    };
    assert_eq!(keys(&with(&[]), Some(3)), [""; 0], "a given value needs no number of laboratories");
    // 3 sigma_pt >= x_pt (D15): 33.4 % of it.
    assert_eq!(keys(&with(&[("sigma", "33.4")]), None), ["plan-warn-wide"]);
    assert_eq!(keys(&with(&[("sigma", "33.3")]), None), [""; 0]);
    // q = u / sigma_pt (D4): sigma_pt is 8.1, so 0.3 is 2.43 and 0.5 is 4.05.
    assert_eq!(keys(&with(&[("standard_uncertainty", "2.5")]), None), ["plan-warn-qualified"]);
    assert_eq!(keys(&with(&[("standard_uncertainty", "4.1")]), None), ["plan-warn-uncertain"]);
    let consensus = [("route", "by_count"), ("sigma_route", "percent"), ("sigma", "25")];
    assert_eq!(keys(&consensus, Some(7)), ["plan-warn-few"]);
    assert_eq!(keys(&consensus, Some(8)), [""; 0]);
    let safe = with(&[("route", "by_count"), ("fallback_route", "formulation")]);
    assert_eq!(keys(&safe, Some(7)), [""; 0], "it has a fallback");
}

#[test]
fn the_deciding_score_comes_first_and_e_n_needs_an_independent_value() {
    let asked = Asked { uncertainty: true, ..ASKED };
    let scores = |fields: &[(&str, &str)]| form(fields).parse(asked).unwrap().scores();
    use Score::{Difference, DifferencePercent, En, Z, Zeta};
    assert_eq!(scores(&with(&[])), [Z, Zeta, En, Difference, DifferencePercent]);
    assert_eq!(scores(&with(&[("decides", "e_n")])), [En, Z, Zeta, Difference, DifferencePercent]);
    assert_eq!(scores(&with(&[("decides", "zeta")])), [Zeta, Z, En, Difference, DifferencePercent]);
    let consensus = [("route", "by_count"), ("sigma_route", "percent"), ("sigma", "25")];
    assert_eq!(scores(&consensus), [Z, Zeta, Difference, DifferencePercent]);
}

fn measurand(plan: Option<Plan>) -> Measurand {
    Measurand {
        id: MeasurandId(Uuid::nil()),
        item: ItemId(Uuid::nil()),
        position: 2,
        analyte: "nitrate".to_owned(),
        unit: "ng/L".to_owned(),
        expressed_as: String::new(),
        decimals: 1,
        replicates: 1,
        required_loq: None,
        plan,
    }
}

#[test]
fn a_template_leaves_value_and_uncertainty_to_each_measurand() {
    let parse = |fields: &[(&str, &str)]| form(fields).parse(ASKED).unwrap();
    let own = parse(&with(&[("value", "145"), ("standard_uncertainty", "1.8")]));
    let template = parse(&with(&[("route", "reference"), ("sigma", "20"), ("censored", "limit_aware")]));

    let made = applied(&template, &measurand(Some(own.clone()))).unwrap().expect("it has a value");
    let (basis, given) = made.assigned.given().expect("a value");
    assert_eq!((basis, given.value.to_string()), (Basis::Reference, "145".to_owned()));
    assert_eq!((made.sigma_pt, made.censored), (template.sigma_pt.clone(), Censored::LimitAware));

    assert_eq!(applied(&template, &measurand(None)), Ok(None), "no value to be scored against");
    let absent = parse(&[("route", "absent")]);
    assert_eq!(applied(&template, &measurand(Some(absent.clone()))), Ok(None));
    assert_eq!(applied(&absent, &measurand(Some(own.clone()))), Ok(None), "absence is known of each alone");

    let consensus = parse(&with(&[("route", "by_count"), ("fallback_route", "formulation")]));
    let made = applied(&consensus, &measurand(Some(own.clone()))).unwrap().expect("a consensus needs no value");
    let fallback = made.assigned.given_at_all().map(|(_, given)| given.value.to_string());
    assert_eq!(fallback.as_deref(), Some("145"), "its own value is what it falls back on");
    let made = applied(&consensus, &measurand(None)).unwrap().expect("a consensus needs no value");
    assert_eq!(made.assigned.given_at_all(), None);

    let wide = parse(&[
        ("route", "formulation"),
        ("value", "400"),
        ("standard_uncertainty", "4"),
        ("sigma_route", "prescribed"),
        ("sigma", "100"),
    ]);
    let errors = applied(&wide, &measurand(Some(own))).expect_err("2 x 100 is more than 145");
    assert_eq!(errors.get("sigma").map(|problem| problem.key), Some("plan-sigma-too-wide"));
}
