//! What was typed is not lost: two windows, two colleagues, a session that ends,
//! a connection that breaks, a second click.

use crate::support::browser::Browser;
use crate::support::scenario::{OpenRound, all_typed, at, email, enter, enter_in};
use crate::support::visitor::Visitor;
use serde_json::{Value, json};
use std::time::Duration;

const PATH: &str = "/results/A";

/// The fields of a form as a window holds them that was opened some time ago.
async fn window(visitor: &Visitor) -> Vec<(String, String)> {
    visitor.page(&at(PATH)).await.form(&at(PATH))
}

fn with(window: &[(String, String)], changes: &[(&str, &str)]) -> Vec<(String, String)> {
    let mut fields = window.to_vec();
    for (name, text) in changes {
        match fields.iter_mut().find(|(field, _)| field == name) {
            Some(field) => (*text).clone_into(&mut field.1),
            None => fields.push(((*name).to_owned(), (*text).to_owned())),
        }
    }
    fields
}

#[tokio::test]
async fn two_windows_keep_both_texts_until_a_person_chooses() {
    let round = OpenRound::new(1).await;
    let laboratory = &round.laboratories[0];
    enter_in(laboratory, &at(PATH), vec![("1.v1", "10"), ("command", "save")]).await.leads_to();
    let (one, two) = (window(laboratory).await, window(laboratory).await);

    laboratory.post(&at(PATH), &with(&one, &[("1.v1", "11"), ("2.v1", "20"), ("command", "save")])).await.leads_to();
    // The second window never saw 11, nor 20 in the field that it leaves alone.
    let answer = laboratory.post(&at(PATH), &with(&two, &[("1.v1", "12"), ("3.v1", "30"), ("command", "save")])).await;

    let page = answer.expect(422).page();
    let choices = page.texts("fieldset.ask label");
    assert!(choices.len() == 2 && choices[0].starts_with("11 ") && choices[1].starts_with("12 "), "{choices:?}");
    assert!(choices.iter().all(|choice| choice.contains("Ada Sample")), "who typed it: {choices:?}");
    assert_eq!((page.value("2.v1").as_str(), page.value("3.v1").as_str()), ("20", "30"));
    // Whoever comes later sees both too, and cannot send before one is chosen.
    assert_eq!(laboratory.page(&at(PATH)).await.texts("fieldset.ask label").len(), 2);
    let check = laboratory.page(&at("/check")).await;
    assert!(check.texts("tr.wrong .error").iter().any(|error| error.contains("typed twice")));

    laboratory.fill(&page, &at(PATH), &[("1.v1.keep", "other"), ("command", "save")]).await.leads_to();
    let settled = laboratory.page(&at(PATH)).await;
    assert_eq!((settled.value("1.v1").as_str(), settled.has("fieldset.ask")), ("12", false));
    round.app.end().await;
}

/// The quiet saving tells a window what others typed, and the version that it
/// then shows.
#[tokio::test]
async fn a_window_that_saves_by_itself_is_told_what_others_typed() {
    let round = OpenRound::new(1).await;
    let laboratory = &round.laboratories[0];
    enter_in(laboratory, &at(PATH), vec![("1.v1", "10"), ("command", "save")]).await.leads_to();
    let (one, two) = (window(laboratory).await, window(laboratory).await);
    let quiet = async |window: &[(String, String)], changes: &[(&str, &str)]| -> Value {
        let fields = with(window, &[changes, &[("command", "quiet")]].concat());
        serde_json::from_str(&laboratory.post(&at(PATH), &fields).await.expect(200).text()).expect("JSON")
    };

    let first = quiet(&one, &[("1.v1", "0,0000")]).await;
    assert!(first["said"]["1.v1"]["error"].as_str().is_some_and(|said| said.contains("zero")), "{first}");
    let second = quiet(&two, &[("2.v1", "1.5e1")]).await;
    assert_eq!(second["changed"], json!({ "1.v1": "0,0000" }));
    assert_eq!(second["said"]["2.v1"]["echo"], "= 15 ng/L");
    assert_eq!(
        (second["both"].as_bool(), first["version"].as_i64()),
        (Some(false), second["version"].as_i64().map(|v| v - 1))
    );
    // Its own savings are no news and no conflict, even on the version shown first.
    let third = quiet(&two, &[("2.v1", "16")]).await;
    assert_eq!(third["both"], json!(false), "{third}");
    let fourth = quiet(&one, &[("1.v1", "9"), ("2.v1", "17")]).await;
    assert_eq!(fourth["both"], json!(true), "two texts of 2.v1: {fourth}");
    round.app.end().await;
}

#[tokio::test]
async fn a_session_that_ends_between_typing_and_sending_loses_nothing() {
    let round = OpenRound::asking(1).await;
    let Some(browser) = Browser::start(&round.app.address).await else { return };
    browser.sign_in(&email(0)).await;
    for (path, field, text) in [
        (PATH, "1.v1", "31.5"),
        ("/tasks/items", "A.condition_remark", "cold"),
        ("/tasks/method", "all.method_remark", "x"),
    ] {
        browser.go(&at(path)).await;
        // The session is gone before the first key.
        browser.forget().await;
        browser.type_into(field, text).await;
        browser.press("div.bar button:first-of-type").await;
        browser.enter_sign_in(&email(0)).await;
        assert_eq!(browser.path().await, at(path), "back where it was typed");
        assert_eq!(browser.page().await.value(field), text, "{path}");
    }
    browser.end().await;
    round.app.end().await;
}

/// The server cannot be reached while somebody types; when it is back, the page
/// saves by itself, and says so.
#[tokio::test]
async fn a_connection_that_breaks_while_typing_loses_nothing() {
    let round = OpenRound::new(1).await;
    let Some(browser) = Browser::start(&round.app.address).await else { return };
    browser.sign_in(&email(0)).await;
    browser.go(&at(PATH)).await;

    browser.online(false).await;
    browser.type_into("1.v1", "31.5").await;
    browser.type_into("2.v1", "4").await;
    let said = async |word: &str| {
        for _ in 0..150 {
            let text = browser.page().await.text("[data-saved]");
            if text.contains(word) {
                return;
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        panic!("never said {word:?}: {}", browser.page().await.text("[data-saved]"));
    };
    said("no connection").await;
    browser.online(true).await;
    said("Saved").await;

    let kept = round.laboratories[0].page(&at(PATH)).await;
    browser.end().await;
    assert_eq!((kept.value("1.v1").as_str(), kept.value("2.v1").as_str()), ("31.5", "4"));
    round.app.end().await;
}

/// A field that nobody left: the page goes, the text stays.
#[tokio::test]
async fn leaving_the_page_in_the_middle_of_a_field_loses_nothing() {
    let round = OpenRound::new(1).await;
    let Some(browser) = Browser::start(&round.app.address).await else { return };
    browser.sign_in(&email(0)).await;
    browser.go(&at(PATH)).await;

    browser.type_into("1.v1", "31.5").await;
    browser.go("/rounds").await;

    let laboratory = &round.laboratories[0];
    let mut kept = String::new();
    for _ in 0..50 {
        kept = laboratory.page(&at(PATH)).await.value("1.v1");
        if !kept.is_empty() {
            break;
        }
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    browser.end().await;
    assert_eq!(kept, "31.5");
    round.app.end().await;
}

/// The unit is chosen once; changed later, it asks what the digits meant.
#[tokio::test]
async fn changing_the_unit_asks_whether_numbers_are_converted_or_keep_their_digits() {
    let round = OpenRound::new(1).await;
    let laboratory = &round.laboratories[0];
    let path = at("/tasks/unit");
    enter_in(laboratory, &at(PATH), vec![("1.v1", "145"), ("2.v1", "<25"), ("1.loq", "5"), ("command", "save")])
        .await
        .leads_to();

    let asked = laboratory.submit(&path, &path, &[("all.unit", "µg/L"), ("digits", "")]).await.expect(422).page();
    assert!(asked.problems().contains("converted to µg/L"), "{}", asked.problems());
    laboratory.submit(&path, &path, &[("all.unit", "µg/L"), ("digits", "convert")]).await.leads_to();
    let page = laboratory.page(&at(PATH)).await;
    let values = ["1.v1", "2.v1", "1.loq"].map(|field| page.value(field));
    assert_eq!(values, ["0.145", "<0.025", "0.005"]);
    assert_eq!(page.text("[id='1.v1-said']"), "= 145 ng/L");
    laboratory.submit(&path, &path, &[("all.unit", "ng/L"), ("digits", "keep")]).await.leads_to();
    assert_eq!(laboratory.page(&at(PATH)).await.value("1.v1"), "0.145");
    round.app.end().await;
}

/// Numbers typed on a page that showed another unit are not taken for the new one.
#[tokio::test]
async fn a_page_that_shows_another_unit_changes_nothing() {
    let round = OpenRound::new(1).await;
    let laboratory = &round.laboratories[0];
    enter_in(laboratory, &at(PATH), vec![("1.v1", "145"), ("command", "save")]).await.leads_to();
    let stale = window(laboratory).await;
    let path = at("/tasks/unit");
    laboratory.submit(&path, &path, &[("all.unit", "µg/L"), ("digits", "convert")]).await.leads_to();

    let answer = laboratory.post(&at(PATH), &with(&stale, &[("2.v1", "145"), ("command", "save")])).await;
    assert!(answer.expect(409).page().text("main").contains("µg/L now"));
    let page = laboratory.page(&at(PATH)).await;
    assert_eq!((page.value("1.v1").as_str(), page.value("2.v1").as_str()), ("0.145", ""));
    // The unit of a form is no way around the question what the digits mean.
    let fields = with(&window(laboratory).await, &[("all.unit", "ng/L"), ("command", "save")]);
    laboratory.post(&at(PATH), &fields).await.expect(409);
    assert_eq!(laboratory.page(&at(PATH)).await.text("[id='1.v1-said']"), "= 145 ng/L");
    round.app.end().await;
}

/// What is sent is what the sender looked at.
#[tokio::test]
async fn a_draft_that_changed_after_the_check_page_was_shown_is_looked_at_again() {
    let round = OpenRound::new(1).await;
    let laboratory = &round.laboratories[0];
    enter(laboratory, &all_typed(0)).await;
    let check = laboratory.page(&at("/check")).await;
    enter_in(laboratory, &at(PATH), vec![("1.v1", "77.7"), ("command", "save")]).await.leads_to();

    let page = laboratory.fill(&check, &at("/submit"), &[]).await.expect(422).page();
    assert!(page.problems().contains("Ada Sample changed something"), "{}", page.problems());
    let receipt = laboratory.fill(&page, &at("/submit"), &[]).await.leads_to();
    assert!(laboratory.get(&format!("{receipt}/document.json")).await.expect(200).text().contains("77.7"));
    round.app.end().await;
}

/// Answers to questions stay in the record: confirmed, and corrected.
#[tokio::test]
async fn questions_are_answered_and_a_change_is_shown_against_the_version_before() {
    let round = OpenRound::new(1).await;
    let laboratory = &round.laboratories[0];
    enter(laboratory, &all_typed(0)).await;
    enter_in(laboratory, &at(PATH), vec![("1.loq", "500"), ("2.loq", "400"), ("command", "save")]).await.leads_to();
    let check = laboratory.page(&at("/check")).await;
    let names: Vec<String> =
        check.all("fieldset.question").into_iter().filter_map(|set| set.attr("id")).map(str::to_owned).collect();
    assert!(names.contains(&"all.answer.value-below-loq.1".to_owned()), "{names:?}");

    // One is to be corrected: the page leads there, and keeps the other answers.
    let mut answers: Vec<(&str, String)> =
        names.iter().map(|name| (name.as_str(), check.attribute(&format!("input[name='{name}']"), "value"))).collect();
    for answer in answers.iter_mut().filter(|(name, _)| name.ends_with(".2")) {
        answer.1 = "correct".to_owned();
    }
    let posted: Vec<(&str, &str)> = answers.iter().map(|(name, text)| (*name, text.as_str())).collect();
    let place = laboratory.fill(&check, &at("/submit"), &posted).await.leads_to();
    assert_eq!(place, at(PATH));
    enter_in(laboratory, &at(PATH), vec![("2.loq", "5"), ("command", "save")]).await.leads_to();
    let receipt = laboratory.submit(&at("/check"), &at("/submit"), &[]).await.leads_to();
    let document: Value =
        serde_json::from_str(&laboratory.get(&format!("{receipt}/document.json")).await.expect(200).text()).unwrap();
    let answer = |question: &str| {
        let answers = document["declared"]["answers"].as_array().expect("answers").iter();
        answers.clone().find(|one| one["question"] == question).map(|one| one["answer"].clone())
    };
    assert_eq!(answer("value-below-loq.1"), Some(json!("confirmed")), "{document}");
    assert_eq!(answer("value-below-loq.2"), Some(json!("corrected")), "{document}");

    enter_in(laboratory, &at(PATH), vec![("3.v1", "77.7"), ("command", "save")]).await.leads_to();
    let check = laboratory.page(&at("/check")).await;
    let marked = check.texts("table.check th .note");
    assert!(marked.len() == 1 && marked[0].contains("Version before"), "{marked:?}");
    round.app.end().await;
}

/// What a laboratory is asked depends on nothing but its own numbers and what is
/// published: with other assigned values, and other results of all others, the
/// check page and its answer are the same bytes.
#[tokio::test]
async fn no_question_depends_on_assigned_values_or_on_what_others_sent() {
    let mut pages = Vec::new();
    for variant in 0..3 {
        let round = OpenRound::with_values_times([1.0, 0.5, 3.0][variant], 4).await;
        for other in 1..4 {
            let numbers: [String; 12] = all_typed(other).map(|text| {
                let x: f64 = text.parse().expect("a number of ours");
                format!("{:.3}5", x * [1.0, 7.0, 0.01][variant] + 0.01)
            });
            enter(&round.laboratories[other], &numbers).await;
        }
        let own = &round.laboratories[0];
        enter(own, &all_typed(0)).await;
        let fields =
            vec![("1.loq", "900"), ("2.v1", "<300"), ("A.u_as", "absolute"), ("3.u", "90"), ("command", "save")];
        let entry = enter_in(own, &at(PATH), fields).await;
        let check = own.page(&at("/check")).await;
        let refused = own.fill(&check, &at("/submit"), &[]).await.expect(422).page();
        let told = |page: &crate::support::page::Page| {
            page.all("fieldset.question, tr, .problems").iter().map(|element| element.inner_html()).collect::<String>()
        };
        pages.push((entry.leads_to(), told(&check), told(&refused)));
        round.app.end().await;
    }

    assert!(pages[0].1.contains("900") && pages[0].2.contains("not answered"), "the comparison compares something");
    assert_eq!(pages[0], pages[1]);
    assert_eq!(pages[0], pages[2]);
}
