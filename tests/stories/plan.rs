//! The plan of a round: frozen and signed by two persons before it opens, amended
//! in the open afterwards, and sealed values that anybody can check.

use crate::support::app::TestApp;
use crate::support::browser::Browser;
use crate::support::page::Page;
use crate::support::scenario::{
    self, CODE, HEADINGS, MEASURANDS, ORGANISER, OpenRound, PASSWORD, REVIEWER, STATISTICIAN, at, email,
};
use crate::support::sink::{Mode, Sink};
use crate::support::visitor::Visitor;
use jiff::{SignedDuration, Timestamp};
use roundel_store::testing::{Fresh, Kind};
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;

fn sha256(bytes: &[u8]) -> String {
    hex::encode(Sha256::digest(bytes))
}

/// Posts a form that no page shows, with the session's token.
async fn force(visitor: &Visitor, path: &str, fields: &[(&str, &str)], status: u16) -> Page {
    let token = visitor.page("/rounds").await.value("form_token");
    let mut all = vec![("form_token".to_owned(), token)];
    all.extend(fields.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())));
    visitor.post(path, &all).await.expect(status).page()
}

/// What the line of the plan in the round's checklist says.
async fn plan_line(organiser: &Visitor) -> String {
    let lines = organiser.page(&at("")).await.texts("ul.checklist li");
    lines.into_iter().find(|line| line.ends_with(" Plan")).expect("a line of the plan")
}

async fn designed() -> (TestApp, Visitor) {
    let app = TestApp::new().await;
    let organiser = scenario::set_up(&app).await;
    scenario::design(&app, &organiser).await;
    (app, organiser)
}

#[tokio::test]
async fn a_round_does_not_open_before_two_persons_have_signed_what_it_says() {
    let (app, organiser) = designed().await;
    let reviewer = scenario::member(&app, &organiser, REVIEWER, "reviewer").await;
    assert_eq!(plan_line(&organiser).await, "To do The plan is not frozen yet. Plan");
    assert!(!organiser.page(&at("")).await.has(&format!("a[href='{}']", at("/open"))));
    force(&organiser, &at("/open"), &[], 409).await;

    // Nothing is frozen while a heading is open.
    let page = organiser.page(&at("/plan")).await;
    assert!(!page.has(&format!("form[action='{}']", at("/plan/freeze"))), "18 headings are open");
    assert!(page.text("ul.checklist").contains("18 headings of the checklist have no text."));
    force(&organiser, &at("/plan/freeze"), &[("password", PASSWORD)], 409).await;
    scenario::write_checklist(&organiser).await;

    // A wrong password signs nothing, nor does an empty one.
    for password in ["", "nine mossy kettle"] {
        let page = organiser.submit(&at("/plan"), &at("/plan/freeze"), &[("password", password)]).await;
        let page = page.expect(422).page();
        assert!(page.has("[role='alert'] a[href='#password']"), "{}", page.problems());
        assert_eq!(page.attribute("#password", "aria-invalid"), "true");
        assert!(!page.has("ol.plan-versions"), "nothing was frozen");
    }
    let version = scenario::freeze(&organiser).await;
    assert_eq!(version, at("/plan/1"));
    assert_eq!(plan_line(&organiser).await, "To do The plan waits for the signature of a second person. Plan");
    force(&organiser, &at("/open"), &[], 409).await;

    // The author does not sign twice, by page or by force.
    let page = organiser.page(&version).await;
    assert!(!page.has("form.sign") && page.text("p.attention").starts_with("You froze this version."));
    let refused = force(&organiser, &at("/plan/1/sign"), &[("password", PASSWORD)], 409).await;
    assert!(refused.text("main").contains("Another person"), "{}", refused.text("main"));
    // The second person needs the own password too.
    let page = reviewer.submit(&version, &at("/plan/1/sign"), &[("password", "not hers at all")]).await;
    assert!(page.expect(422).page().has("#password-error"));
    force(&organiser, &at("/open"), &[], 409).await;
    scenario::sign(&reviewer, &version).await;

    // Who signed what, as what, and what it means.
    let page = reviewer.page(&version).await;
    let signed = page.texts("ul.signatures li");
    assert_eq!(signed.len(), 2, "{signed:?}");
    assert!(signed[0].starts_with("Orla Quill, organiser: made this plan and answers for it "), "{signed:?}");
    assert!(
        signed[1].starts_with("Robin Sedge, technical reviewer: has read it and agrees that the round is run by it "),
        "{signed:?}"
    );
    // The hash is over the file, byte for byte.
    let file = reviewer.get(&at("/plan/1/document.json")).await.expect(200);
    assert_eq!(page.texts("code.hash"), [sha256(&file.bytes)]);
    let text = String::from_utf8(file.bytes).unwrap();
    assert!(text.contains("\"format\":\"roundel-plan/1\"") && text.contains("\"D8\":{"), "{text}");
    assert_eq!(page.all("table.planned tbody tr").len(), 12);
    assert_eq!(page.all("dl.rules dt").len(), 40);
    // Laboratories are not shown that there is a plan.
    let laboratory = scenario::accept(&app, &scenario::invite(&organiser).await[0], 0).await;
    for path in ["/plan", "/plan/1", "/plan/1/document.json", "/amend", "/amend/1", "/forecast"] {
        laboratory.get(&at(path)).await.expect(404);
    }

    scenario::open(&organiser).await;
    let state = organiser.page(&at("/plan")).await;
    assert_eq!(state.text("p.lead"), "The round is run by version 1.");
    for path in ["/plan", "/plan/1", "/plan/1/document.json", "/amend", "/forecast", "/sealed"] {
        reviewer.get(&at(path)).await.expect(200);
    }
    app.end().await;
}

#[tokio::test]
async fn a_change_after_freezing_needs_a_new_version() {
    let (app, organiser) = designed().await;
    let reviewer = scenario::freeze_and_sign(&app, &organiser).await;
    assert_eq!(plan_line(&organiser).await, "Ready The plan is frozen and signed by two persons. Plan");

    // Whatever is fixed makes the frozen plan count no more: the text of the round,
    // what is asked, a measurand's plan, the checklist.
    let plan = [("sigma_route", "percent"), ("sigma", "20")];
    type Step<'a> = (&'a str, &'a str, &'a [(&'a str, &'a str)]);
    let changes: [Step<'_>; 4] = [
        ("/edit", "/edit", &[("instructions", "Shake twice.")]),
        ("/asks", "/asks", &[("declaration", "yes")]),
        ("/assigned-values/3", "/assigned-values/3", &plan),
        ("/plan", "/plan", &[("damage", "Spare units are sent."), ("command", "save")]),
    ];
    for (n, (page, action, fields)) in changes.into_iter().enumerate() {
        organiser.submit(&at(page), &at(action), fields).await.leads_to();
        let line = plan_line(&organiser).await;
        assert!(line.contains("was changed after its plan was frozen"), "{page}: {line}");
        force(&organiser, &at("/open"), &[], 409).await;
        // Nobody signs what the round no longer says.
        let frozen = scenario::freeze(&organiser).await;
        assert_eq!(frozen, at(&format!("/plan/{}", n + 2)));
        scenario::sign(&reviewer, &frozen).await;
    }
    // A frozen version that is outdated cannot be signed.
    organiser.submit(&at("/edit"), &at("/edit"), &[("title", "Traces")]).await.leads_to();
    let frozen = scenario::freeze(&organiser).await;
    organiser.submit(&at("/edit"), &at("/edit"), &[("title", "More traces")]).await.leads_to();
    assert!(!reviewer.page(&frozen).await.has("form.sign"));
    force(&reviewer, &format!("{frozen}/sign"), &[("password", PASSWORD)], 409).await;
    let states = organiser.page(&at("/plan")).await.texts("ol.plan-versions .state");
    assert_eq!(states[0], "outdated: the round says something else now", "{states:?}");
    assert_eq!(states.len(), 6);
    app.end().await;
}

#[tokio::test]
async fn the_checklist_is_offered_texts_and_keeps_what_was_typed() {
    let (app, organiser) = designed().await;
    let path = at("/plan");

    // Offered for empty fields, shown, and not saved.
    let own = ("timetable", "As every year.");
    let page = organiser.submit(&path, &path, &[own, ("command", "suggest")]).await.expect(200).page();
    let text = |page: &Page, name: &str| page.all(&format!("#{name}"))[0].text().collect::<String>();
    assert_eq!(text(&page, "timetable"), own.1, "what was typed stays");
    assert!(text(&page, "provider").starts_with("Quillmere Interlaboratory Office"), "{}", text(&page, "provider"));
    assert!(text(&page, "expected").starts_with("12 laboratories are enrolled, of 11 independent organisations"));
    assert!(text(&page, "measurands").contains("carbamazepine, metoprolol, diclofenac, gabapentin"));
    assert_eq!(text(&page, "errors"), "", "the round says nothing of it");
    assert!(page.text("p.done").contains("Nothing is saved yet"));
    assert_eq!(text(&organiser.page(&path).await, "provider"), "");

    // A heading that does not apply needs its reason; what was typed comes back.
    let wrong = [("external", "Not applicable."), ("damage", "A spare unit is sent."), ("command", "save")];
    let page = organiser.submit(&path, &path, &wrong).await.expect(422).page();
    assert!(page.has("[role='alert'] a[href='#external']"), "{}", page.problems());
    assert_eq!(page.attribute("#external", "aria-invalid"), "true");
    assert_eq!(text(&page, "damage"), "A spare unit is sent.");
    assert_eq!(text(&organiser.page(&path).await, "damage"), "", "nothing was saved");
    let right =
        [("external", "Not applicable: done in house."), ("damage", "A spare unit is sent."), ("command", "save")];
    organiser.submit(&path, &path, &right).await.leads_to();
    let page = organiser.page(&path).await;
    assert_eq!(text(&page, "external"), "Not applicable: done in house.");
    assert!(page.text("main").contains("2 of 18 headings have a text."));
    assert_eq!(HEADINGS.len(), page.all("form textarea").len());

    // A reviewer reads and writes nothing.
    let reviewer = scenario::member(&app, &organiser, REVIEWER, "reviewer").await;
    assert!(!reviewer.page(&path).await.has("textarea"));
    force(&reviewer, &path, &[("damage", "No."), ("command", "save")], 403).await;
    force(&reviewer, &at("/plan/freeze"), &[("password", PASSWORD)], 403).await;
    app.end().await;
}

/// Two days later than now, as a form has it.
fn two_days_later(round: &OpenRound) -> (Timestamp, String, String) {
    // The deadline of the scenario is 25 hours after it was made.
    let at = round.app.clock.now() + SignedDuration::from_hours(25 + 48);
    (at, at.strftime("%Y-%m-%d").to_string(), at.strftime("%H:%M").to_string())
}

const REASON: &str = "The parcels were held up by snow.";

/// Y8 of the demonstration: two days later for all, printed with the reason.
#[tokio::test]
async fn a_deadline_moves_for_all_at_once_when_a_second_person_has_signed() {
    let sink = Sink::start(Mode::Accept).await;
    let fresh = Fresh::new(Kind::Sqlite).await.expect("a file is always there");
    let round = OpenRound::on(TestApp::with_mail(fresh, sink.mailer()).await, 3).await;
    let (path, laboratory) = (at("/amend"), &round.laboratories[0]);
    let before = laboratory.page(&at("")).await.text("time.deadline");
    let (to, day, time) = two_days_later(&round);

    // Never earlier, never without a reason, never with a wrong password.
    let now = round.app.clock.now();
    let early = (now + SignedDuration::from_hours(24)).strftime("%Y-%m-%d").to_string();
    for (day, reason, password, wrong) in [
        (early.as_str(), REASON, PASSWORD, "closes_on"),
        (&day, "", PASSWORD, "reason"),
        (&day, REASON, "nine kettles", "password"),
    ] {
        let fields = [("closes_on", day), ("closes_time", "00:01"), ("reason", reason), ("password", password)];
        let page = round.organiser.submit(&path, &path, &fields).await.expect(422).page();
        assert!(page.has(&format!("[role='alert'] a[href='#{wrong}']")), "{wrong}: {}", page.problems());
        assert_eq!(page.value("closes_on"), day, "what was typed comes back");
        assert_eq!(page.all("#reason")[0].text().collect::<String>(), reason);
    }
    let fields = [("closes_on", &*day), ("closes_time", &*time), ("reason", REASON), ("password", PASSWORD)];
    let version = round.organiser.submit(&path, &path, &fields).await.leads_to();
    assert_eq!(version, at("/plan/2"));

    // A proposal changes nothing, and another has to wait for it.
    assert_eq!(laboratory.page(&at("")).await.text("time.deadline"), before);
    force(&round.organiser, &path, &fields, 409).await;
    force(&round.organiser, &at("/plan/2/sign"), &[("password", PASSWORD)], 409).await;
    assert_eq!(sink.mails().len(), 0);

    scenario::sign(&round.reviewer, &version).await;
    let page = laboratory.page(&at("")).await;
    let after = to.strftime("%-d %B %Y, %H:%M UTC").to_string();
    assert_eq!(page.text("time.deadline"), after);
    let told = page.text("div.moved");
    for part in [&*before, &after, REASON] {
        assert!(told.contains(part), "{part} in {told}");
    }
    // Everybody is told at once: people, and laboratories that have none yet.
    let mails = sink.wait(12).await;
    let recipients: BTreeSet<String> = mails.iter().map(|mail| mail.recipients[0].clone()).collect();
    assert_eq!(recipients, (0..12).map(email).collect());
    for mail in &mails {
        assert_eq!(
            mail.header("Subject"),
            "Quillmere Interlaboratory Office: later deadline of Trace organic contaminants in water"
        );
        let text = mail.text();
        for part in [&*before, &after, REASON] {
            assert!(text.contains(part), "{part} in {text}");
        }
    }
    // It is kept for good, with who signed it.
    let document = round.reviewer.page(&version).await;
    assert!(document.text("section.attention").contains(REASON));
    assert_eq!(document.all("ul.signatures li").len(), 2);
    // Results come in time until the new deadline.
    round.app.clock.advance(SignedDuration::from_hours(40));
    laboratory.sign_in(&email(0), PASSWORD).await;
    scenario::enter(laboratory, &scenario::all_typed(0)).await;
    let receipt = scenario::send(laboratory).await;
    assert!(!laboratory.page(&receipt).await.has("strong.late"));
    round.app.end().await;
}

#[tokio::test]
async fn a_proposal_can_be_withdrawn_and_a_deadline_that_is_over_stays() {
    let round = OpenRound::new(1).await;
    let path = at("/amend");
    let (_, day, time) = two_days_later(&round);
    let fields = [("closes_on", &*day), ("closes_time", &*time), ("reason", REASON), ("password", PASSWORD)];
    let first = round.organiser.submit(&path, &path, &fields).await.leads_to();
    force(&round.reviewer, &format!("{first}/withdraw"), &[], 403).await;
    round.organiser.submit(&first, &format!("{first}/withdraw"), &[]).await.leads_to();
    force(&round.reviewer, &format!("{first}/sign"), &[("password", PASSWORD)], 409).await;
    assert!(round.organiser.page(&first).await.text("p.attention").starts_with("Withdrawn by Orla Quill"));
    assert_eq!(round.organiser.page(&at("/plan")).await.text("p.lead"), "The round is run by version 1.");

    // The next is proposed in time and signed too late.
    let second = round.organiser.submit(&path, &path, &fields).await.leads_to();
    assert_eq!(second, at("/plan/3"));
    round.app.clock.advance(SignedDuration::from_hours(26));
    round.reviewer.sign_in(REVIEWER, PASSWORD).await;
    round.organiser.sign_in(ORGANISER, PASSWORD).await;
    force(&round.reviewer, &format!("{second}/sign"), &[("password", PASSWORD)], 409).await;
    round.organiser.submit(&second, &format!("{second}/withdraw"), &[]).await.leads_to();
    assert!(!round.organiser.page(&path).await.has(&format!("form[action='{path}']")), "it is over");
    round.app.end().await;
}

#[tokio::test]
async fn the_statistical_plan_is_amended_by_a_reviewer_once_results_are_in() {
    let round = OpenRound::new(3).await;
    let statistician = scenario::member(&round.app, &round.organiser, STATISTICIAN, "statistician").await;
    let (path, reason) = (at("/amend/1"), "The dilution of the standard was wrong.");
    let change = [
        ("value", "33.10"),
        ("sigma_route", "prescribed"),
        ("sigma", "8.28"),
        ("reason", reason),
        ("password", PASSWORD),
    ];
    // Before results are in, any second person of the staff signs.
    let first = round.organiser.submit(&path, &path, &change).await.leads_to();
    scenario::sign(&statistician, &first).await;
    let shown = |page: &Page| page.texts("tr#m1 td.n");
    assert_eq!(shown(&round.organiser.page(&at("/assigned-values")).await)[0], "33.10");

    round.all_send().await;
    round.close().await;
    statistician.sign_in(STATISTICIAN, PASSWORD).await;
    round.organiser.submit(&at("/evaluation"), &at("/evaluation"), &[]).await.leads_to();
    // The same again is no amendment, and a contradiction is none either.
    let same = [("reason", reason), ("password", PASSWORD)];
    let page = round.organiser.submit(&path, &path, &same).await.expect(422).page();
    assert!(page.has("[role='alert'] a[href='#route']"), "{}", page.problems());
    let wide = [("sigma", "20"), ("reason", reason), ("password", PASSWORD)];
    let page = round.organiser.submit(&path, &path, &wide).await.expect(422).page();
    assert!(page.has("[role='alert'] a[href='#sigma']"), "{}", page.problems());
    assert_eq!(page.value("sigma"), "20");

    let change = [("value", "34.20"), ("reason", reason), ("password", PASSWORD)];
    let second = statistician.submit(&path, &path, &change).await.leads_to();
    let why_not = round.organiser.page(&second).await.texts("p.attention");
    assert!(why_not.iter().any(|text| text.contains("a reviewer has to sign it")), "{why_not:?}");
    force(&round.organiser, &format!("{second}/sign"), &[("password", PASSWORD)], 409).await;
    assert_eq!(shown(&round.organiser.page(&at("/assigned-values")).await)[0], "33.10", "not yet");
    scenario::sign(&round.reviewer, &second).await;
    assert_eq!(shown(&round.organiser.page(&at("/assigned-values")).await)[0], "34.20");
    let document = round.reviewer.page(&second).await.text("section.attention");
    assert!(document.contains("3 laboratories had sent results") && document.contains(reason), "{document}");
    // The evaluation made before holds something else, so it is not published.
    let page = round.organiser.submit(&at("/evaluation"), &at("/evaluation"), &[]).await.leads_to();
    assert_eq!(page, at("/evaluation"), "it is evaluated anew");
    // Participants are told nothing of assigned values.
    let laboratory = round.laboratories[0].get(&at("")).await.expect(200).text();
    assert!(!laboratory.contains("34.20") && !laboratory.contains(reason), "{laboratory}");
    round.app.end().await;
}

#[tokio::test]
async fn sealed_values_can_be_checked_by_anybody_after_publication() {
    let round = OpenRound::new(3).await;
    let laboratory = &round.laboratories[0];
    let promised = laboratory.page(&at("")).await.text("code.sealed");
    assert_eq!(promised.len(), 64);
    let page = laboratory.page(&at("/sealed")).await;
    assert_eq!(page.text("code.sealed"), promised);
    assert!(!page.has("pre"), "nothing but the number is told");
    for who in [laboratory, &round.organiser, &round.reviewer] {
        who.get(&at("/sealed.json")).await.expect(404);
    }
    for asked in MEASURANDS {
        assert!(!laboratory.get(&at("/sealed")).await.text().contains(asked.x_pt), "{}", asked.x_pt);
    }
    round.all_send().await;
    round.close().await;
    round.publish().await;

    // What sha256sum does with the file, and with what the page shows.
    let file = laboratory.get(&at("/sealed.json")).await.expect(200);
    assert_eq!(sha256(&file.bytes), promised);
    let page = laboratory.page(&at("/sealed")).await;
    let shown = page.all("pre.sealed-text")[0].text().collect::<String>();
    assert_eq!(sha256(shown.as_bytes()), promised);
    assert_eq!(page.text("code.sealed"), promised);
    let sealed: serde_json::Value = serde_json::from_str(&shown).unwrap();
    let values: Vec<&str> =
        sealed["values"].as_array().unwrap().iter().map(|value| value["value"].as_str().unwrap()).collect();
    assert_eq!(values, MEASURANDS.map(|asked| asked.x_pt));
    assert!(sealed["salt"].as_str().unwrap().len() >= 32, "128 bits at least, in hexadecimal");
    assert_eq!(sealed["round"], CODE);
    round.app.end().await;
}

#[tokio::test]
async fn one_plan_is_the_template_of_all() {
    let (app, organiser) = designed().await;
    let path = at("/assigned-values/1");
    let fields = [("sigma_route", "percent"), ("sigma", "20"), ("censored", "limit_aware"), ("apply", "item")];
    organiser.submit(&path, &path, &fields).await.leads_to();
    let list = async |css: &str| organiser.page(&at("/assigned-values")).await.texts(css);
    let sigmas = list("tbody td:last-child").await;
    assert_eq!(sigmas[..4], ["20 % of x"; 4], "item A");
    assert_eq!(sigmas[4], MEASURANDS[4].sigma, "item B is as it was");
    let values = list("tbody td:nth-of-type(3)").await;
    assert_eq!(values, MEASURANDS.map(|asked| asked.x_pt), "values stay each measurand's own");

    // To all, as a consensus with each value to fall back on.
    let fields = [("route", "by_count"), ("fallback_route", "formulation"), ("apply", "all")];
    organiser.submit(&path, &path, &fields).await.leads_to();
    let routes = list("tbody td:nth-of-type(2)").await;
    assert_eq!(routes.len(), 12);
    assert!(routes.iter().all(|route| route.starts_with("participants, by number; else formulation")), "{routes:?}");
    assert_eq!(list("tbody td:nth-of-type(3)").await, MEASURANDS.map(|asked| asked.x_pt));

    // What fits one and not another is refused as a whole, and told which.
    let fields = [
        ("route", "formulation"),
        ("fallback_route", ""),
        ("sigma_route", "prescribed"),
        ("sigma", "16"),
        ("apply", "item"),
    ];
    organiser.submit(&path, &path, &fields).await.leads_to();
    let place = at("/assigned-values/6");
    let fields = [("route", "formulation"), ("sigma_route", "prescribed"), ("sigma", "70"), ("apply", "all")];
    let page = organiser.submit(&place, &place, &fields).await.expect(422).page();
    assert!(page.text("#apply").contains("does not fit A/carbamazepine"), "{}", page.problems());
    assert_eq!(list("tbody td:last-child").await[5], "20 % of x", "nothing was written");
    app.end().await;
}

#[tokio::test]
async fn e_n_decides_only_where_every_result_has_its_uncertainty() {
    let (app, organiser) = designed().await;
    let path = at("/assigned-values/1");
    let page = organiser.submit(&path, &path, &[("decides", "e_n")]).await.expect(422).page();
    assert!(page.text("#decides").contains("needs the uncertainty of every result"), "{}", page.problems());
    assert!(page.has("details[open] #decides"), "what is wrong is not folded away");
    organiser.submit(&at("/asks"), &at("/asks"), &[("uncertainty", "yes")]).await.leads_to();
    organiser.submit(&path, &path, &[("decides", "e_n")]).await.leads_to();
    // Asking no more contradicts the plan, so that it is not frozen.
    organiser.submit(&at("/asks"), &at("/asks"), &[("uncertainty", "")]).await.leads_to();
    scenario::write_checklist(&organiser).await;
    let points = organiser.page(&at("/plan")).await.text("ul.checklist");
    assert!(points.contains("A/carbamazepine: E_n needs the uncertainty"), "{points}");
    force(&organiser, &at("/plan/freeze"), &[("password", PASSWORD)], 409).await;
    organiser.submit(&at("/asks"), &at("/asks"), &[("uncertainty", "yes")]).await.leads_to();
    scenario::agree_and_open(&app, &organiser).await;

    // Laboratories are held to it.
    let laboratory = scenario::accept(&app, &scenario::invite(&organiser).await[0], 0).await;
    let fields = vec![("1.v1", "32"), ("command", "next")];
    let page = scenario::enter_in(&laboratory, &at("/results/A"), fields).await.expect(422).page();
    assert!(page.problems().contains("carbamazepine: This round asks for the expanded"), "{}", page.problems());
    let fields = vec![("1.v1", "32"), ("1.u", "4"), ("A.u_as", "absolute"), ("command", "next")];
    let page = scenario::enter_in(&laboratory, &at("/results/A"), fields).await.expect(422).page();
    assert!(page.problems().contains("coverage factor"), "{}", page.problems());
    app.end().await;
}

#[tokio::test]
async fn the_forecast_says_what_so_many_results_can_give() {
    let (app, organiser) = designed().await;
    let path = at("/assigned-values/1");
    let fields = [
        ("route", "by_count"),
        ("value", ""),
        ("standard_uncertainty", ""),
        ("sigma_route", "percent"),
        ("sigma", "25"),
    ];
    organiser.submit(&path, &path, &fields).await.leads_to();
    let row = async |query: &str| {
        let page = organiser.page(&at(&format!("/forecast{query}"))).await;
        page.texts("table.forecast tbody tr:first-child td")[1..6].to_vec()
    };
    // 12 laboratories of 11 organisations; q = 1.25 · 0.8 / √11 = 0.30 (0.3015), so z' (D4).
    assert_eq!(row("").await, ["11", "0.80 assumed", "0.30", "12", "z', qualified"]);
    assert_eq!(row("?results=12&ratio=0.8").await, ["12", "0.80 assumed", "0.29", "12", "z"]);
    assert_eq!(row("?results=7&ratio=0.6").await[4], "no consensus");
    // 1.25 · 1.2 / √8 = 0.53.
    assert_eq!(row("?results=8&ratio=1.2").await, ["8", "1.20 assumed", "0.53", "25", "information only"]);
    // The rules, 3.2.
    let page = organiser.page(&at("/forecast")).await;
    assert_eq!(page.texts("table.needs tbody th"), ["0.6", "0.8", "1.0", "1.2", "1.5"]);
    assert_eq!(page.texts("table.needs tbody td"), ["7", "12", "18", "25", "40"]);
    let page = organiser.get(&at("/forecast?results=many&ratio=0")).await.expect(422).page();
    for field in ["results", "ratio"] {
        assert!(page.has(&format!("[role='alert'] a[href='#{field}']")), "{}", page.problems());
    }
    assert_eq!(page.value("results"), "many");
    app.end().await;
}

/// From the checklist to the second signature without a mouse.
#[tokio::test]
async fn a_plan_is_frozen_and_signed_with_the_keyboard_alone() {
    let (app, organiser) = designed().await;
    let Some(browser) = Browser::start(&app.address).await else { return };
    scenario::member(&app, &organiser, REVIEWER, "reviewer").await;
    browser.sign_in(ORGANISER).await;
    browser.go(&at("/plan")).await;
    browser.enter_on("it.value === 'suggest'").await;
    assert!(browser.page().await.text("p.done").contains("Nothing is saved yet"));
    for name in ["external", "criteria", "errors", "production", "homogeneity", "damage"] {
        browser.key_in(name, "Not applicable: a test of the service").await;
    }
    browser.enter_on("it.value === 'save'").await;
    browser.key_in("password", PASSWORD).await;
    browser.enter_on("it.tagName === 'BUTTON' && it.form.action.endsWith('/plan/freeze')").await;
    assert_eq!(browser.path().await, at("/plan/1"));
    browser.sign_in(REVIEWER).await;
    browser.go(&at("/plan")).await;
    browser.enter_on("it.className === 'button'").await;
    browser.key_in("password", PASSWORD).await;
    browser.enter_on("it.tagName === 'BUTTON' && it.form.action.endsWith('/sign')").await;
    assert_eq!(browser.page().await.text("p.lead"), "Version 1 is signed by two persons. The round can open with it.");
    browser.end().await;
    app.end().await;
}
