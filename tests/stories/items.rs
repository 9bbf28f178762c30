//! Items: how they were made, whether their units are alike and stay so, what is
//! decided on that, which unit went where, and what is withdrawn.

use crate::support::answer::Answer;
use crate::support::app::TestApp;
use crate::support::page::Page;
use crate::support::scenario::{self, ITEMS, OpenRound, at, email, enter, member, send};
use crate::support::sink::{Mode, Sink};
use crate::support::visitor::Visitor;
use roundel_store::testing::{Fresh, Kind};
use std::collections::BTreeSet;

/// Carbamazepine in item B: x_pt 145.7, sigma_pt 36.4.
const MEASURAND: &str = "/items/B/5";

/// 145.7 ng/L: 10 µg/mL × 1 mL/100 mL × 43.71 mL in 30 L.
const CHAIN: [(&str, &str); 18] = [
    ("substance", "carbamazepine, lot 12"),
    ("source", "stock"),
    ("stock", "10"),
    ("stock_unit", "µg/mL"),
    ("stock_u", "1 %"),
    ("form", "same"),
    ("d1_taken", "1"),
    ("d1_taken_unit", "mL"),
    ("d1_taken_u", "0.4 %"),
    ("d1_total", "100"),
    ("d1_total_unit", "mL"),
    ("d1_total_u", "0.05"),
    ("spike", "43.71"),
    ("spike_unit", "mL"),
    ("spike_u", "0.5 %"),
    ("item", "30"),
    ("item_unit", "L"),
    ("item_u", "0.03"),
];

fn with<'a>(fields: &[(&'a str, &'a str)], changes: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let kept = fields.iter().filter(|(name, _)| !changes.iter().any(|(changed, _)| changed == name));
    kept.chain(changes).copied().collect()
}

async fn prepare(visitor: &Visitor, changes: &[(&str, &str)]) -> Answer {
    let path = at(&format!("{MEASURAND}/preparation"));
    let fields = with(&CHAIN, &[("native_kind", "nothing"), ("native", "")]);
    visitor.submit(&path, &path, &with(&fields, changes)).await
}

/// A draft with its measurands and plans.
async fn draft() -> (TestApp, Visitor) {
    let app = TestApp::new().await;
    let organiser = scenario::set_up(&app).await;
    scenario::design(&app, &organiser).await;
    (app, organiser)
}

/// The facts of a section by their names.
fn fact(page: &Page, section: &str, name: &str) -> String {
    let names = page.texts(&format!("#{section} dl.facts dt"));
    let place = names.iter().position(|shown| shown == name).unwrap_or_else(|| panic!("{name} in {names:?}"));
    page.texts(&format!("#{section} dl.facts dd"))[place].clone()
}

#[tokio::test]
async fn a_preparation_becomes_the_assigned_value_only_while_the_round_is_set_up() {
    let (app, organiser) = draft().await;
    let page = at(MEASURAND);

    // A salt without its factor, and a unit that does not fit, are refused with what was typed.
    let refused = prepare(&organiser, &[("form", "salt"), ("spike_unit", "mg")]).await.expect(422).page();
    assert!(refused.has("#problems a[href='#factor']") && refused.value("spike") == "43.71");
    let refused = prepare(&organiser, &[("spike_unit", "mg")]).await.expect(422).page();
    assert!(refused.has("#problems a[href='#spike_unit']"), "{}", refused.problems());

    // µg for ng: said plainly, and recorded only when confirmed.
    let refused = prepare(&organiser, &[("stock_unit", "mg/mL")]).await.expect(422).page();
    assert!(refused.problems().contains("1000 times the planned value"), "{}", refused.problems());
    assert!(!organiser.page(&page).await.has("#preparation dl"), "nothing was recorded");
    let action = at(&format!("{MEASURAND}/preparation"));
    let confirmed = organiser.fill(&refused, &action, &[("confirm_planned", "yes")]).await;
    assert_eq!(confirmed.leads_to(), page);
    assert!(organiser.page(&page).await.text("#preparation").contains("1000 times"));

    // u by hand: √(1² + 0.4² + 0.05² + 0.5² + 0.1²) = 1.19 % of 145.7 = 1.74, printed upwards.
    prepare(&organiser, &[]).await.leads_to();
    let shown = organiser.page(&page).await;
    assert_eq!(fact(&shown, "preparation", "Content by preparation"), "145.7 ng/L");
    assert_eq!(fact(&shown, "preparation", "u by propagation"), "1.8 ng/L (1.2 %)");
    assert_eq!(shown.all("#preparation table tbody tr").len(), 5, "five quantities");
    assert!(shown.text("#preparation details summary").contains('2'), "earlier versions are listed");

    // A native content of a third is a warning; "<" counts as half the limit.
    let native = [("native_kind", "below"), ("native", "120"), ("native_unit", "ng/L"), ("spike", "25")];
    prepare(&organiser, &native).await.leads_to();
    let shown = organiser.page(&page).await;
    assert!(shown.text("#preparation").contains("more than 20 %"), "{}", shown.text("#preparation"));
    assert!(fact(&shown, "preparation", "Native content").contains("L/(2√3)"));
    prepare(&organiser, &[]).await.leads_to();

    organiser.submit(&page, &at(&format!("{MEASURAND}/take")), &[]).await.leads_to();
    let plans = organiser.page(&at("/assigned-values")).await;
    assert!(plans.text("#m5").contains("145.7") && plans.text("#m5").contains("1.8"), "{}", plans.text("#m5"));
    // What is on record keeps the measurand.
    organiser.submit(&at("/measurands"), &at("/measurands/5/remove"), &[]).await.expect(409);

    scenario::invite(&organiser).await;
    let before = organiser.page(&page).await;
    scenario::agree_and_open(&app, &organiser).await;
    organiser.fill(&before, &at(&format!("{MEASURAND}/take")), &[]).await.expect(409);
    assert!(organiser.page(&page).await.text("#preparation").contains("amendment"));
    app.end().await;
}

/// Ten units with a standard deviation between them of 0.5 sigma_pt and more.
fn uneven() -> String {
    let means = [110, 180, 120, 171, 131, 165, 140, 190, 101, 150];
    let line =
        |(place, mean): (usize, &i32)| format!("{}\t{}\t{}\t{}", place + 1, (place * 7) % 10 + 1, mean, mean + 4);
    means.iter().enumerate().map(line).collect::<Vec<_>>().join("\n")
}

#[tokio::test]
async fn a_study_that_fails_needs_a_decision_and_reaches_the_package_with_it() {
    let round = OpenRound::new(3).await;
    let statistician = member(&round.app, &round.organiser, scenario::STATISTICIAN, "statistician").await;
    let reviewer = &round.reviewer;
    let form = at(&format!("{MEASURAND}/homogeneity"));

    // Every mistake by its line, and nothing lost.
    let bad = "1;1;10\n2;1.250;9;8\n2;2;n.d.;8";
    let refused = statistician.submit(&form, &form, &[("data", bad)]).await.expect(422).page();
    assert_eq!(refused.texts("#lines tbody td:first-child"), ["2", "3"]);
    assert_eq!(refused.text("textarea"), bad.split_whitespace().collect::<Vec<_>>().join(" "));
    statistician.submit(&form, &form, &[("data", &uneven()), ("method", "LC-MS/MS")]).await.leads_to();
    let stability = at(&format!("{MEASURAND}/stability"));
    let data = "4 °C;0;145;146\n4 °C;0;147;146\n4 °C;14;145;144\n4 °C;28;146;144\n4 °C;28;145;147";
    let refused = statistician.submit(&stability, &stability, &[("data", data)]).await.expect(422).page();
    assert!(refused.has("#problems a[href='#began_on']"));
    let fields = [("data", data), ("began_on", "2020-01-01")];
    statistician.submit(&stability, &stability, &fields).await.leads_to();

    let page = statistician.page(&at(MEASURAND)).await;
    assert_eq!(page.text("#homogeneity .verdict .class"), "does not pass");
    assert!(page.has("#homogeneity figure svg") && page.text("#homogeneity").contains("chance of"));
    assert_eq!(page.text("#stability .verdict .class"), "passes");
    assert!(page.text("#stability").contains("Stability is not shown to the end"));
    let list = statistician.page(&at("/items")).await;
    assert!(list.text("#m5").contains("Needs a decision") && list.text(".attention").contains("One measurand"));

    // Who may only look is shown no form, and is refused; a laboratory finds nothing.
    let seen = reviewer.page(&at(MEASURAND)).await;
    assert!(!seen.text("#homogeneity").contains("Decide"), "{}", seen.text("#homogeneity"));
    let decide = at(&format!("{MEASURAND}/decide/homogeneity"));
    reviewer.get(&decide).await.expect(403);
    for path in [at("/items"), at("/items/B"), at(MEASURAND), decide.clone(), form.clone(), at("/studies")] {
        round.laboratories[0].get(&path).await.expect(404);
    }

    let refused = statistician.submit(&decide, &decide, &[("reason", "Units differ.")]).await.expect(422).page();
    assert!(refused.has("#problems a[href='#kind']"));
    let fields = [("kind", "add_sd"), ("reason", "Units differ.")];
    let refused = statistician.submit(&decide, &decide, &fields).await.expect(422).page();
    assert!(refused.has("#problems a[href='#number']"));
    let fields = [("kind", "add_sd"), ("number", "12.5"), ("reason", "Units differ.")];
    statistician.submit(&decide, &decide, &fields).await.leads_to();
    let list = statistician.page(&at("/items")).await;
    assert!(!list.text("#m5").contains("Needs a decision") && list.text("#m5").contains("12.5"));

    round.all_send().await;
    round.close().await;
    round.publish().await;
    let package = round.organiser.get(&at("/package.json")).await.expect(200).text();
    let package: serde_json::Value = serde_json::from_str(&package).unwrap();
    let measurand = &package["measurands"][4];
    assert_eq!(measurand["homogeneity"][0], serde_json::json!([110.0, 114.0]));
    assert_eq!(measurand["homogeneity"].as_array().map(Vec::len), Some(10));
    // Means of the units, so that replicates do not count twice.
    assert_eq!(measurand["stability"], serde_json::json!({"before": [145.5, 146.5], "after": [145.0, 146.0]}));
    assert_eq!(measurand["sigma_pt"]["additional_sd"], 12.5);
    // Published: what was recorded stays.
    round.organiser.submit(&form, &form, &[("data", &uneven())]).await.expect(409);
    round.app.end().await;
}

#[tokio::test]
async fn a_consensus_does_not_count_what_its_units_differed_twice() {
    let (app, organiser) = draft().await;
    let plan = at("/assigned-values/5");
    let consensus = [
        ("route", "algorithm_a"),
        ("value", ""),
        ("standard_uncertainty", ""),
        ("sigma_route", "percent"),
        ("sigma", "25"),
    ];
    organiser.submit(&plan, &plan, &consensus).await.leads_to();
    let form = at(&format!("{MEASURAND}/homogeneity"));
    organiser.submit(&form, &form, &[("data", &uneven())]).await.leads_to();
    assert!(organiser.page(&at(MEASURAND)).await.text(".subtitle").contains("relative to the mean of the study"));

    let decide = at(&format!("{MEASURAND}/decide/homogeneity"));
    let fields = [("kind", "add_uncertainty"), ("number", "9"), ("reason", "Units differ.")];
    let refused = organiser.submit(&decide, &decide, &fields).await.expect(422).page();
    assert!(refused.problems().contains("already contains what their units differed"), "{}", refused.problems());
    assert_eq!(refused.value("number"), "9");
    organiser.submit(&decide, &decide, &with(&fields, &[("kind", "add_sd")])).await.leads_to();
    app.end().await;
}

#[tokio::test]
async fn a_file_brings_the_studies_of_many_measurands_all_or_none() {
    let (app, organiser) = draft().await;
    let mut file = "item,analyte,unit,number,run,value_1,value_2\n".to_owned();
    for (item, _) in ITEMS {
        for unit in 1..=7 {
            let run = (unit * 3) % 7 + 1;
            file.push_str(&format!("{item},metoprolol,ng/L,{unit},{run},4{unit}.1,4{unit}.4\n"));
        }
    }
    let (page, action) = (at("/studies"), at("/studies/homogeneity"));

    let refused = organiser.upload(&page, &action, "h.csv", file.replace("45.4", "n.d.").as_bytes()).await;
    assert_eq!(refused.expect(422).page().all("#problems tbody tr").len(), 3);
    assert!(!organiser.page(&at("/items/B/6")).await.has("#homogeneity .verdict"));
    assert_eq!(organiser.upload(&page, &action, "h.csv", file.as_bytes()).await.leads_to(), at("/items"));
    for path in ["/items/A/2", "/items/B/6", "/items/C/10"] {
        let shown = organiser.page(&at(path)).await;
        assert_eq!(shown.all("#homogeneity details table tbody tr").len(), 7, "{path}");
    }
    let file = "item;analyte;unit;began_on;condition;day;value_1\nA;diclofenac;ng/L;2027-03-01;4 °C;0;55\n\
        A;diclofenac;ng/L;2027-03-01;4 °C;28;54\n";
    organiser.upload(&page, &at("/studies/stability"), "s.csv", file.as_bytes()).await.leads_to();
    assert!(organiser.page(&at("/items/A/3")).await.has("#stability .verdict"));
    for template in ["homogeneity.csv", "homogeneity.xlsx", "stability.csv", "stability.xlsx"] {
        organiser.get(&at(&format!("/studies/{template}"))).await.expect(200);
    }
    app.end().await;
}

async fn ledger(organiser: &Visitor, fields: &[(&str, &str)]) -> Answer {
    let path = at("/items/A");
    let token = organiser.page(&path).await.value("form_token");
    let fields = [&[("form_token", token.as_str())], fields].concat();
    let fields: Vec<(String, String)> = fields.iter().map(|(n, t)| ((*n).to_owned(), (*t).to_owned())).collect();
    organiser.post(&path, &fields).await
}

#[tokio::test]
async fn a_unit_is_drawn_sent_confirmed_and_replaced_under_codes_only() {
    let round = OpenRound::asking(2).await;
    let organiser = &round.organiser;
    let today = round.app.clock.now().strftime("%Y-%m-%d").to_string();
    let number = |page: &Page, code: &str| {
        let codes = page.texts("table.stack tbody th");
        let place = codes.iter().position(|shown| shown == code).unwrap();
        page.texts("table.stack tbody td[data-label='Unit']")[place].clone()
    };

    ledger(organiser, &[("command", "make"), ("made", "13")]).await.leads_to();
    let refused = ledger(organiser, &[("command", "dispatch"), ("dispatched_on", &today)]).await.expect(422).page();
    assert!(refused.problems().contains("No unit waits"), "{}", refused.problems());
    ledger(organiser, &[("command", "assign")]).await.leads_to();
    let page = organiser.page(&at("/items/A")).await;
    let mut drawn: Vec<String> = page.texts("table.stack tbody td[data-label='Unit']");
    drawn.sort();
    drawn.dedup();
    assert_eq!(drawn.len(), 12, "each participant has a unit of its own");
    let fields = [("command", "dispatch"), ("dispatched_on", today.as_str()), ("carrier", "Mereside Couriers")];
    ledger(organiser, &fields).await.leads_to();
    let page = organiser.page(&at("/items/A")).await;
    assert_eq!(page.text(".attention").matches(", ").count() + 1, 13, "twelve codes are listed, after a comma");

    // A laboratory says that its unit came; then it is on the list no more.
    let labels = round.labels(0).await;
    scenario::say_beside(&round.laboratories[0], &labels, &today).await;
    let code = round.laboratories[0].page(&at("")).await.text("p.subtitle");
    let code = code.rsplit(' ').next().unwrap().to_owned();
    let page = organiser.page(&at("/items/A")).await;
    assert!(!page.text(".attention").contains(&code), "{}", page.text(".attention"));
    let text = organiser.get(&at("/items/A")).await.text();
    for name in scenario::LABORATORIES {
        assert!(!text.contains(name), "{name} stands beside codes");
    }

    // Damaged: the spare takes its place, once; there is no second spare.
    let before = number(&page, &code);
    let fields = [("command", "replace"), ("code", code.as_str()), ("reason", "Bottle broken.")];
    let wrong = ledger(organiser, &with(&fields, &[("code", "NOBODY")])).await.expect(422).page();
    assert_eq!(wrong.value("reason"), "Bottle broken.");
    ledger(organiser, &fields).await.leads_to();
    let page = organiser.page(&at("/items/A")).await;
    assert_ne!(number(&page, &code), before);
    assert!(page.text("table.stack").contains(&format!("Unit {before} void: Bottle broken.")));
    assert!(ledger(organiser, &fields).await.expect(422).page().problems().contains("0 are spare"));
    let file = organiser.get(&at("/items/A/units.csv")).await.expect(200).text();
    assert!(file.contains(&code) && file.contains("Mereside Couriers") && file.contains(&labels[0]), "{file}");
    round.app.end().await;
}

#[tokio::test]
async fn an_unsuitable_item_is_withdrawn_with_the_same_notice_to_all_at_once() {
    let sink = Sink::start(Mode::Accept).await;
    let round =
        OpenRound::on(TestApp::with_mail(Fresh::new(Kind::Sqlite).await.unwrap(), sink.mailer()).await, 2).await;
    let [first, second] = [0, 1].map(|n| &round.laboratories[n]);
    enter(first, &scenario::all_typed(0)).await;
    let path = at("/items/B/withdraw");

    let refused = round.organiser.submit(&path, &path, &[("reason", "Bottles leak.")]).await.expect(422).page();
    assert!(refused.has("#problems a[href='#what']") && refused.text("textarea") == "Bottles leak.");
    let fields = [("what", "5"), ("reason", "Carbamazepine sticks to the caps of item B.")];
    round.organiser.submit(&path, &path, &fields).await.leads_to();
    let again = round.organiser.submit(&path, &path, &fields).await.expect(422).page();
    assert!(again.problems().contains("withdrawn already"));

    for laboratory in [first, second] {
        let notice = laboratory.page(&at("")).await.text(".withdrawn");
        assert!(notice.contains("sticks to the caps") && notice.contains("not be scored"), "{notice}");
        let row = laboratory.page(&at("/results/B")).await;
        assert!(row.text("#row-5").contains("withdrawn: Carbamazepine sticks"), "{}", row.text("#row-5"));
        assert!(!row.text("#row-6").contains("withdrawn"));
    }
    assert_eq!(first.page(&at("/results/B")).await.value("5.v1"), scenario::typed(0, 4), "nothing typed is lost");
    let mails = sink.wait(2).await;
    let recipients: BTreeSet<String> = mails.iter().map(|mail| mail.recipients[0].clone()).collect();
    assert_eq!(recipients, (0..2).map(email).collect());
    for mail in &mails {
        assert!(mail.text().contains("this is withdrawn: B/carbamazepine"), "{}", mail.text());
        assert!(mail.text().contains("sticks to the caps") && mail.path("/rounds/") == at(""));
    }

    send(first).await;
    round.close().await;
    round.publish().await;
    let scores = first.page(&at("/scores/5")).await;
    assert!(scores.text("main").contains("sticks to the caps"), "{}", scores.text("main"));
    round.app.end().await;
}
