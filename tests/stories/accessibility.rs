//! Every kind of page keeps the rules of axe-core, light and dark, wide and
//! narrow, and none is wider than its window.

use crate::mail::{invite_by_mail, messages_with};
use crate::support::app::TestApp;
use crate::support::axe::{WIDTHS, broken, look, rules, violations};
use crate::support::browser::Browser;
use crate::support::scenario::{self, ORGANISER, OpenRound, at, email, enter, send};
use crate::support::sink::{Mode, Sink};
use roundel_store::testing::{Fresh, Kind};
use std::collections::BTreeSet;

async fn visit(browser: &Browser, rules: &str, paths: &[String], faults: &mut BTreeSet<String>) {
    for path in paths {
        browser.width(WIDTHS[0]).await;
        browser.go(path).await;
        look(browser, rules, path, faults).await;
    }
}

async fn sign_in(browser: &Browser, email: &str) {
    browser.width(WIDTHS[0]).await;
    browser.sign_in(email).await;
}

#[track_caller]
fn assert_none(faults: &BTreeSet<String>) {
    let lines: Vec<&str> = faults.iter().map(String::as_str).collect();
    assert!(lines.is_empty(), "{} faults:\n{}", lines.len(), lines.join("\n"));
}

#[tokio::test]
async fn the_rules_find_three_planted_faults_and_no_others() {
    let app = TestApp::new().await;
    let Some(rules) = rules() else { return };
    let Some(browser) = Browser::start(&app.address).await else { return };
    browser.go("/sign-in").await;
    let before = violations(&browser, &rules).await;

    let plant = "const main = document.querySelector('main'); \
        const image = document.createElement('img'); image.src = '/static/none.svg'; main.append(image); \
        const field = document.createElement('input'); field.type = 'text'; main.append(field); \
        const pale = document.createElement('p'); pale.textContent = 'pale'; main.append(pale); \
        pale.style.color = '#bbb'; pale.style.background = '#fff';";
    browser.run(plant, vec![]).await;
    let after = violations(&browser, &rules).await;
    browser.end().await;

    assert!(before.is_empty(), "{before:?}");
    assert_eq!(broken(&after), ["color-contrast", "image-alt", "label"], "{after:?}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn pages_before_and_during_a_round_keep_the_accessibility_rules() {
    let Some(rules) = rules() else { return };
    let app = TestApp::new().await;
    let Some(browser) = Browser::start(&app.address).await else { return };
    let mut faults = BTreeSet::new();
    let paths = |paths: &[&str]| paths.iter().map(|path| (*path).to_owned()).collect::<Vec<String>>();

    visit(&browser, &rules, &[vec!["/".to_owned()], vec![app.setup.clone()]].concat(), &mut faults).await;
    browser.press("main form button").await;
    look(&browser, &rules, "set-up with mistakes", &mut faults).await;
    browser.width(WIDTHS[0]).await;
    let organiser = scenario::set_up(&app).await;
    visit(&browser, &rules, &paths(&["/sign-in", "/no/such/page"]), &mut faults).await;
    sign_in(&browser, "nobody@elsewhere.example").await;
    look(&browser, &rules, "sign-in refused", &mut faults).await;
    sign_in(&browser, ORGANISER).await;
    visit(&browser, &rules, &paths(&["/tokens", "/interface", "/problems/fields"]), &mut faults).await;
    browser.width(WIDTHS[0]).await;
    browser.go("/tokens").await;
    browser.press("form[action='/tokens'] button").await;
    look(&browser, &rules, "a token with mistakes", &mut faults).await;
    for (field, text) in [("right", "look"), ("days", "30")] {
        browser
            .run("document.getElementById(arguments[0]).checked = true", vec![format!("{field}-{text}").into()])
            .await;
    }
    browser.type_into("name", "bench system").await;
    browser.press("form[action='/tokens'] button").await;
    look(&browser, &rules, "a token that was made", &mut faults).await;
    visit(&browser, &rules, &paths(&["/rounds", "/rounds/new"]), &mut faults).await;
    browser.press("form[action='/rounds'] button").await;
    look(&browser, &rules, "a round with mistakes", &mut faults).await;
    scenario::new_round(&app, &organiser, scenario::CODE).await;
    let drafts = ["", "/edit", "/measurands", "/assigned-values", "/laboratories"].map(at);
    visit(&browser, &rules, &drafts, &mut faults).await;
    let mistakes = "item,analyte,unit,decimals\nA,,ng/L,x\nA,atrazine,,1\n";
    browser.width(WIDTHS[0]).await;
    browser.go(&at("/measurands")).await;
    browser.upload(&at("/measurands/upload"), "mistakes.csv", mistakes).await;
    look(&browser, &rules, "a file with mistakes", &mut faults).await;
    for (page, file) in [
        ("/measurands", scenario::measurands_file()),
        ("/assigned-values", scenario::assigned_file()),
        ("/laboratories", scenario::laboratories_file()),
    ] {
        organiser.upload(&at(page), &at(&format!("{page}/upload")), "file.csv", file.as_bytes()).await.leads_to();
    }
    visit(&browser, &rules, &drafts, &mut faults).await;
    visit(&browser, &rules, &["/assigned-values/1", "/open", "/plan", "/forecast"].map(at), &mut faults).await;
    browser.width(WIDTHS[0]).await;
    browser.go(&at("/laboratories")).await;
    browser.press(&format!("form[action='{}'][data-once] button", at("/laboratories/invite"))).await;
    look(&browser, &rules, "links of invitations", &mut faults).await;
    let links = scenario::invitation_paths(&browser.page().await);
    scenario::agree_and_open(&app, &organiser).await;
    visit(&browser, &rules, &["", "/laboratories", "/close"].map(at), &mut faults).await;
    visit(&browser, &rules, &["/plan", "/plan/1", "/amend", "/amend/1", "/sealed"].map(at), &mut faults).await;
    browser.width(WIDTHS[0]).await;
    browser.go(&at("/amend/1")).await;
    browser.press(&format!("form[action='{}'] button", at("/amend/1"))).await;
    look(&browser, &rules, "an amendment with mistakes", &mut faults).await;
    browser.forget().await;
    visit(&browser, &rules, &links[..1], &mut faults).await;
    browser.press("main form button").await;
    look(&browser, &rules, "an invitation with mistakes", &mut faults).await;

    let laboratory = scenario::accept(&app, &links[0], 0).await;
    sign_in(&browser, &email(0)).await;
    visit(&browser, &rules, &["", "/results/A", "/results/A/paste", "/results-upload", "/check"].map(at), &mut faults)
        .await;
    browser.width(WIDTHS[0]).await;
    browser.go(&at("/results/A")).await;
    for (name, text) in [("1.v1", "1,250"), ("2.v1", "0"), ("3.u", "x"), ("4.v1", "<30")] {
        browser.type_into(name, text).await;
    }
    browser.choose("2.state", "failed").await;
    browser.press("div.bar button[value='next']").await;
    look(&browser, &rules, "results with mistakes and a question", &mut faults).await;
    visit(&browser, &rules, &[at("/check")], &mut faults).await;
    laboratory.submit(&at("/results/A"), &at("/results/A"), &[("2.state", ""), ("3.u", ""), ("command", "save")]).await;
    enter(&laboratory, &scenario::all_typed(0)).await;
    visit(&browser, &rules, &[at("/check")], &mut faults).await;
    let receipt = send(&laboratory).await;
    visit(&browser, &rules, &["/rounds".to_owned(), at(""), receipt.clone(), "/keys".to_owned()], &mut faults).await;
    browser.width(WIDTHS[0]).await;
    browser.go(&receipt).await;
    browser.run("document.querySelector('main details').open = true", Vec::new()).await;
    look(&browser, &rules, "how a receipt is checked", &mut faults).await;
    browser.end().await;

    assert_none(&faults);
    app.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn pages_after_a_round_keep_the_accessibility_rules() {
    let Some(rules) = rules() else { return };
    let round = OpenRound::new(8).await;
    let Some(browser) = Browser::start(&round.app.address).await else { return };
    let mut faults = BTreeSet::new();
    let receipts = round.all_send().await;
    let code = round.laboratories[1].page(&receipts[1]).await.text("dd.code");
    round.close().await;

    sign_in(&browser, ORGANISER).await;
    visit(&browser, &rules, &["", "/evaluation"].map(at), &mut faults).await;
    round.organiser.submit(&at("/evaluation"), &at("/evaluation"), &[]).await.leads_to();
    let decide = at(&format!("/decide?on={code}.1"));
    let pages = ["/evaluation", "/publish", "/review", "/review/1", "/clarifications"].map(at);
    visit(&browser, &rules, &pages, &mut faults).await;
    let set = at(&format!("/review/laboratory/{code}"));
    let finding = round.organiser.page(&set).await.attribute("ul.worklist a", "href");
    visit(&browser, &rules, &[set, finding, decide.clone()], &mut faults).await;
    browser.press("main form button").await;
    look(&browser, &rules, "a decision without a reason", &mut faults).await;
    let fields = [("kind", "blunder"), ("cause", "other"), ("reason", "the label of another item")];
    let preview = round.organiser.submit(&decide, &at("/decide"), &fields).await.expect(200);
    assert!(preview.page().has("button"));
    scenario::decide(&round.organiser, &format!("{code}.1"), "blunder", "other", "the label of another item").await;
    visit(&browser, &rules, &[at("/evaluation"), at("/review/1"), decide], &mut faults).await;
    sign_in(&browser, &email(0)).await;
    visit(&browser, &rules, &[at("")], &mut faults).await;
    round.publish().await;
    visit(&browser, &rules, &["", "/scores", "/scores/1", "/scores/12"].map(at), &mut faults).await;
    sign_in(&browser, ORGANISER).await;
    visit(&browser, &rules, &["", "/evaluation", "/review/3"].map(at), &mut faults).await;
    let report = ["/report", "/report/texts/advice", "/report/read?version=0"].map(at);
    visit(&browser, &rules, &report, &mut faults).await;
    visit(&browser, &rules, &["/methods-of-evaluation".to_owned()], &mut faults).await;
    browser.end().await;

    assert_none(&faults);
    round.app.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn pages_of_messages_keep_the_accessibility_rules() {
    let Some(rules) = rules() else { return };
    let sink = Sink::start(Mode::Refuse).await;
    let fresh = Fresh::new(Kind::Sqlite).await.expect("a file is always there");
    let app = TestApp::with_mail(fresh, sink.mailer()).await;
    let Some(browser) = Browser::start(&app.address).await else { return };
    let mut faults = BTreeSet::new();
    let organiser = scenario::set_up(&app).await;
    scenario::design(&app, &organiser).await;

    sign_in(&browser, ORGANISER).await;
    visit(&browser, &rules, &["/messages", "/laboratories"].map(at), &mut faults).await;
    scenario::agree_and_open(&app, &organiser).await;
    invite_by_mail(&organiser, None).await;
    messages_with(&organiser, "given up").await;
    visit(&browser, &rules, &["/messages", "/laboratories", "/remind", ""].map(at), &mut faults).await;
    let links = scenario::invite(&organiser).await;
    scenario::accept(&app, &links[0], 0).await;
    sink.behave(Mode::Busy);
    organiser.submit(&at("/remind"), &at("/remind"), &[]).await.leads_to();
    messages_with(&organiser, "Last try").await;
    visit(&browser, &rules, &[at("/laboratories"), at("/remind")], &mut faults).await;
    browser.press("main form button").await;
    look(&browser, &rules, "a second reminder that is not confirmed", &mut faults).await;
    browser.width(WIDTHS[0]).await;
    browser.go(&at("/messages")).await;
    browser.run("document.querySelector('tbody details').open = true", Vec::new()).await;
    look(&browser, &rules, "the text of a message", &mut faults).await;
    browser.end().await;

    assert_none(&faults);
    app.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn pages_of_questions_and_requests_keep_the_accessibility_rules() {
    let Some(rules) = rules() else { return };
    let round = OpenRound::new(1).await;
    let Some(browser) = Browser::start(&round.app.address).await else { return };
    let mut faults = BTreeSet::new();
    let [questions, requests] = [at("/questions"), at("/requests")];
    let both = [questions.clone(), requests.clone()];
    let laboratory = &round.laboratories[0];
    let button = |path: &str| format!("main form[action='{path}'] button");

    sign_in(&browser, &email(0)).await;
    visit(&browser, &rules, &both, &mut faults).await;
    browser.width(WIDTHS[0]).await;
    browser.go(&questions).await;
    browser.press(&button(&questions)).await;
    look(&browser, &rules, "a question with mistakes", &mut faults).await;
    for text in ["Which bottle is item A?", "What did others find?", "How much is in it?"] {
        laboratory.submit(&questions, &questions, &[("question", text)]).await.leads_to();
    }
    visit(&browser, &rules, &both[..1], &mut faults).await;

    sign_in(&browser, ORGANISER).await;
    visit(&browser, &rules, &[questions.clone(), requests.clone(), at("")], &mut faults).await;
    let places: Vec<String> = {
        let page = round.organiser.page(&questions).await;
        page.all("ul.waiting a").iter().filter_map(|link| link.attr("href")).map(str::to_owned).collect()
    };
    visit(&browser, &rules, &places[..1], &mut faults).await;
    browser.width(WIDTHS[0]).await;
    browser.go(&places[0]).await;
    browser.run("document.getElementById('answer').value = 'About 25 ng/L.'", Vec::new()).await;
    browser.press("main button[value='answer']").await;
    look(&browser, &rules, "an answer with a number", &mut faults).await;
    for (path, text, command) in [(&places[1], "The blue one.", "answer"), (&places[2], "", "close")] {
        let page = round.organiser.page(path).await;
        round.organiser.fill(&page, path, &[("answer", text), ("command", command)]).await.leads_to();
    }
    visit(&browser, &rules, &[questions.clone(), places[1].clone(), places[2].clone()], &mut faults).await;

    round.close().await;
    sign_in(&browser, &email(0)).await;
    visit(&browser, &rules, &both, &mut faults).await;
    browser.width(WIDTHS[0]).await;
    browser.go(&requests).await;
    browser.press(&button(&requests)).await;
    look(&browser, &rules, "a request with mistakes", &mut faults).await;
    let fields = [("kind", "correction"), ("reason", "Items B and C were exchanged.")];
    laboratory.submit(&requests, &requests, &fields).await.leads_to();
    visit(&browser, &rules, &both[1..], &mut faults).await;
    sign_in(&browser, ORGANISER).await;
    let place = round.organiser.page(&requests).await.attribute("ul.requests a", "href");
    visit(&browser, &rules, &[requests.clone(), place.clone()], &mut faults).await;
    browser.press(&button(&place)).await;
    look(&browser, &rules, "a decision with mistakes", &mut faults).await;
    round
        .organiser
        .submit(&place, &place, &[("ruling", "not-accepted"), ("evidence", "See the plan.")])
        .await
        .leads_to();
    visit(&browser, &rules, &[requests, place], &mut faults).await;
    browser.end().await;

    assert_none(&faults);
    round.app.end().await;
}

#[tokio::test]
async fn pages_of_a_laboratorys_work_keep_the_accessibility_rules() {
    let round = OpenRound::asking(1).await;
    let Some(rules) = rules() else { return };
    let Some(browser) = Browser::start(&round.app.address).await else { return };
    let mut faults = BTreeSet::new();
    let laboratory = &round.laboratories[0];
    let path = at("/results/A");
    let window = laboratory.page(&path).await.form(&path);
    let fields = [("all.unit", "ng/L"), ("1.v1", "145"), ("1.v2", "<100"), ("1.loq", "500"), ("command", "save")];
    laboratory.submit(&path, &path, &fields).await.expect(422);
    // A second window that did not see it: two texts of one field.
    let stale = window.into_iter().map(|(name, text)| match name.as_str() {
        "1.v1" => (name, "200".to_owned()),
        _ => (name, text),
    });
    laboratory.post(&path, &stale.collect::<Vec<_>>()).await.expect(422);
    let tasks = at("/tasks/items");
    laboratory.submit(&tasks, &tasks, &[("A.code", "XXXXXX"), ("A.received_on", "2099-01-01")]).await.expect(422);

    sign_in(&browser, &email(0)).await;
    let mut paths = ["", "/results/A", "/check"].map(at).to_vec();
    paths.extend(["unit", "items", "method", "performance", "declaration"].map(|task| at(&format!("/tasks/{task}"))));
    visit(&browser, &rules, &paths, &mut faults).await;
    // The error state of each task, and of a question that was not answered.
    for (task, name, text) in [
        ("unit", "all.unit", ""),
        ("items", "A.code", "BBBB"),
        ("method", "1.recovery_factor", "x"),
        ("performance", "1.p_rsd", "9"),
        ("declaration", "all.own", ""),
    ] {
        browser.width(WIDTHS[0]).await;
        browser.go(&at(&format!("/tasks/{task}"))).await;
        if !text.is_empty() {
            browser.type_into(name, text).await;
        }
        browser.press("div.bar button:first-of-type").await;
        look(&browser, &rules, &format!("{task} with mistakes"), &mut faults).await;
    }
    sign_in(&browser, ORGANISER).await;
    visit(&browser, &rules, &["/asks", "/labels"].map(at), &mut faults).await;
    browser.end().await;

    assert_none(&faults);
    round.app.end().await;
}

#[tokio::test]
async fn questions_before_sending_keep_the_accessibility_rules() {
    let round = OpenRound::new(1).await;
    let Some(rules) = rules() else { return };
    let Some(browser) = Browser::start(&round.app.address).await else { return };
    let mut faults = BTreeSet::new();
    let laboratory = &round.laboratories[0];
    enter(laboratory, &scenario::all_typed(0)).await;
    let fields = vec![("1.loq", "900"), ("2.v1", "<300"), ("command", "save")];
    scenario::enter_in(laboratory, &at("/results/A"), fields).await.leads_to();

    sign_in(&browser, &email(0)).await;
    browser.go(&at("/check")).await;
    look(&browser, &rules, "questions", &mut faults).await;
    browser.width(WIDTHS[0]).await;
    browser.press(&format!("form[action='{}'] button", at("/submit"))).await;
    assert!(browser.page().await.problems().contains("not answered"));
    look(&browser, &rules, "questions without an answer", &mut faults).await;
    browser.end().await;

    assert_none(&faults);
    round.app.end().await;
}
