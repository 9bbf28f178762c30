//! The slips of laboratories that can be caught before the deadline, as they
//! happen: with the keyboard alone, with scripts and without.
//!
//! The slips and what must be shown are those of the demonstration's scenario.

use crate::support::browser::Browser;
use crate::support::page::Page;
use crate::support::scenario::{self, ITEMS, MEASURANDS, OpenRound, PASSWORD, at, email, say_beside};
use crate::support::visitor::Visitor;
use std::collections::BTreeMap;

fn today(round: &OpenRound) -> String {
    round.app.clock.now().strftime("%Y-%m-%d").to_string()
}

/// Two honest values for a place, not the same, and inside the published span.
fn honest(place: usize) -> [String; 2] {
    let x = scenario::number(MEASURANDS[place].x_pt);
    [format!("{:.1}", x * 0.98), format!("{:.1}", x * 1.03)]
}

/// An honest laboratory's fields for an item.
fn honest_fields(item: &str) -> BTreeMap<String, String> {
    let mut fields = BTreeMap::new();
    let places = MEASURANDS.iter().enumerate().filter(|(_, asked)| asked.item == item);
    for (place, _) in places {
        let row = place + 1;
        let [first, second] = honest(place);
        fields.insert(format!("{row}.v1"), first);
        fields.insert(format!("{row}.v2"), second);
        fields.insert(format!("{row}.loq"), ["5", "8", "10", "3"][place % 4].to_owned());
    }
    fields
}

/// Saves the three items with some fields changed; the check page.
async fn enter(visitor: &Visitor, changes: &[(&str, &str)]) -> Page {
    for (item, _) in ITEMS {
        let mut fields = honest_fields(item);
        let rows: Vec<String> =
            fields.keys().map(|name| name.split('.').next().unwrap_or_default().to_owned()).collect();
        for (name, text) in changes {
            let owner = name.split('.').next().unwrap_or_default();
            if owner == item || rows.iter().any(|row| row == owner) {
                fields.insert((*name).to_owned(), (*text).to_owned());
            }
        }
        let fields: Vec<(&str, &str)> = fields.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
        let path = at(&format!("/results/{item}"));
        scenario::enter_in(visitor, &path, [&fields[..], &[("command", "save")]].concat()).await.leads_to();
    }
    visitor.page(&at("/check")).await
}

/// The names of the questions that a check page asks.
fn questions(page: &Page) -> Vec<String> {
    let ids = page.all("fieldset.question").into_iter().filter_map(|set| set.attr("id"));
    ids.map(|id| id.trim_start_matches("all.answer.").to_owned()).collect()
}

#[tokio::test]
async fn an_honest_laboratory_is_asked_nothing_and_each_slip_asks_its_own_question() {
    let round = OpenRound::asking(1).await;
    let laboratory = &round.laboratories[0];
    say_beside(laboratory, &round.labels(0).await, &today(&round)).await;

    assert_eq!(questions(&enter(laboratory, &[]).await), Vec::<String>::new());
    // X10: a limit above what the plan asks for.
    let asked = questions(&enter(laboratory, &[("6.v1", "<100"), ("6.v2", "")]).await);
    assert_eq!(asked, ["limit-above-required.6"]);
    // X23: a value below the own limit of quantification.
    let asked = questions(&enter(laboratory, &[("1.v1", "4.1"), ("1.v2", "4.4"), ("1.loq", "5")]).await);
    assert_eq!(asked, ["value-below-loq.1", "outside-span.1"]);
    // X15: U in percent, typed as ng/L.
    let factors = ["A.u_as", "B.u_as", "C.u_as"].map(|name| (name, "absolute"));
    let ks = ["A.k_all", "B.k_all", "C.k_all"].map(|name| (name, "2"));
    let us: Vec<String> = (1..=12).map(|row| format!("{row}.u")).collect();
    let us: Vec<(&str, &str)> = us.iter().map(|name| (name.as_str(), "25")).collect();
    let asked = questions(&enter(laboratory, &[&factors[..], &ks, &us].concat()).await);
    assert_eq!(asked, ["same-uncertainty"]);
    // X20: both values the same everywhere.
    let copies: Vec<(String, String)> =
        (0..12).map(|place| (format!("{}.v2", place + 1), honest(place)[0].clone())).collect();
    let copies: Vec<(&str, &str)> = copies.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let emptied: Vec<(&str, &str)> = us.iter().map(|(name, _)| (*name, "")).collect();
    let asked = questions(&enter(laboratory, &[&emptied[..], &copies].concat()).await);
    assert_eq!(asked, ["same-replicates"]);
    // X8: the rows of item C moved down by one, their limits with them.
    let moved: Vec<(String, String)> = (9..12)
        .flat_map(|place| {
            let above = honest(place - 1);
            let loq = ["5", "8", "10", "3"][(place - 1) % 4].to_owned();
            let row = place + 1;
            [
                (format!("{row}.v1"), above[0].clone()),
                (format!("{row}.v2"), above[1].clone()),
                (format!("{row}.loq"), loq),
            ]
        })
        .collect();
    let moved: Vec<(&str, &str)> = moved.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let asked = questions(&enter(laboratory, &moved).await);
    assert_eq!(asked, ["rows-shifted.C"]);
    // X1: µg/L typed as ng/L, the limits of quantification excepted.
    let small: Vec<(String, String)> = (0..12)
        .flat_map(|place| {
            let thousandth = |text: &str| format!("{:.5}", scenario::number(text) / 1000.0);
            let values = honest(place);
            [
                (format!("{}.v1", place + 1), thousandth(&values[0])),
                (format!("{}.v2", place + 1), thousandth(&values[1])),
            ]
        })
        .collect();
    let small: Vec<(&str, &str)> = small.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    let asked = questions(&enter(laboratory, &small).await);
    assert!(
        asked.contains(&"thousand-times-low".to_owned()) && asked.contains(&"far-below-loq".to_owned()),
        "{asked:?}"
    );
    round.app.end().await;
}

/// X9 and X25: zero and a negative number are refused, with the way out; what was
/// typed stays.
#[tokio::test]
async fn zero_and_negative_numbers_are_refused_with_what_to_type_instead() {
    let round = OpenRound::asking(1).await;
    let laboratory = &round.laboratories[0];
    let path = at("/results/A");

    let fields = [("all.unit", "ng/L"), ("1.v1", "0"), ("2.v1", "-1.2"), ("command", "next")];
    let page = laboratory.submit(&path, &path, &fields).await.expect(422).page();

    for (field, text) in [("1.v1", "0"), ("2.v1", "-1.2")] {
        assert_eq!(page.value(field), text);
        let said = page.text(&format!("[id='{field}-said']"));
        assert!(said.contains("Type < and your limit"), "{said}");
        assert!(page.problems().contains(&said), "summary and field agree: {}", page.problems());
    }
    round.app.end().await;
}

/// X22: the label of somebody else's bottle. Nothing tells whose it is.
#[tokio::test]
async fn the_code_on_the_label_must_be_that_of_the_own_bottle() {
    let round = OpenRound::asking(2).await;
    let laboratory = &round.laboratories[0];
    let (own, foreign) = (round.labels(0).await, round.labels(1).await);
    let path = at("/tasks/items");
    let today = today(&round);
    let post = async |code: &str| {
        let fields = [
            ("A.code", code),
            ("A.received_on", &today),
            ("A.condition", "intact"),
            ("A.analysed_on", &today),
            ("command", "later"),
        ];
        laboratory.submit(&path, &path, &fields).await
    };
    let said = async |code: &str| {
        let page = post(code).await.expect(422).page();
        assert_eq!(page.value("A.code"), code);
        page.text("[id='A.code-said']").replace(code, "…")
    };

    let of_another = said(&foreign[0]).await;
    assert!(of_another.contains("not the code of one of your items"), "{of_another}");
    // A code in order that nobody has.
    assert_eq!(said("BBBBBH").await.replace("BBBBBH", "…"), said_of_nobody(laboratory, &path, &today).await);
    assert!(said(&own[1]).await.contains("another of your items"));
    let mut wrong: Vec<char> = own[0].chars().collect();
    wrong.swap(0, 1);
    if wrong[0] != wrong[1] {
        assert!(said(&wrong.iter().collect::<String>()).await.contains("two are exchanged"));
    }
    post(&own[0].to_lowercase()).await.leads_to();
    // Without its labels nothing is sent.
    let page = enter(laboratory, &[]).await;
    assert!(!page.has(&format!("form[action='{}']", at("/submit"))));
    assert!(page.problems().contains("code on the label is missing"), "{}", page.problems());
    round.app.end().await;
}

/// What is said of some code that has the form of one.
async fn said_of_nobody(laboratory: &Visitor, path: &str, today: &str) -> String {
    let fields = [("A.code", "BBBBBH"), ("A.received_on", today), ("command", "later")];
    laboratory.submit(path, path, &fields).await.expect(422).page().text("[id='A.code-said']").replace("BBBBBH", "…")
}

/// X24: a draft that nobody sends is called so wherever the laboratory looks.
#[tokio::test]
async fn a_draft_that_was_not_sent_says_so() {
    let round = OpenRound::asking(1).await;
    let laboratory = &round.laboratories[0];
    say_beside(laboratory, &round.labels(0).await, &today(&round)).await;
    enter(laboratory, &[]).await;

    let tasks = laboratory.page(&at("")).await.texts("ul.tasks li");
    assert!(tasks.last().is_some_and(|line| line.contains("ready to send")), "{tasks:?}");
    let organiser = round.organiser.page(&at("")).await;
    assert!(organiser.texts("tbody td").iter().any(|cell| cell.contains("draft")), "{:?}", organiser.texts("tbody td"));
    round.app.end().await;
}

async fn sign_in(browser: &Browser) {
    browser.forget().await;
    browser.go("/sign-in").await;
    browser.key_in("email", &email(0)).await;
    browser.key_in("password", PASSWORD).await;
    browser.enter_on("it.tagName === 'BUTTON' && it.textContent.trim() === 'Sign in'").await;
}

/// What a laboratory with nearly all slips types for a place: values, U, LOQ.
fn slipping(place: usize) -> ([String; 2], &'static str, &'static str) {
    let [first, _] = honest(place);
    // X20: the same value twice, everywhere; X15: U is 25, meant in percent.
    let both = [first.clone(), first];
    let own = ["5", "8", "10", "3"];
    match place + 1 {
        // X23: below the own limit of quantification.
        4 => (both, "25", "80"),
        // X25: below zero.
        2 => (["-1.2".to_owned(), String::new()], "", own[1]),
        // X9: zero where nothing was found.
        3 => (["0".to_owned(), String::new()], "", own[2]),
        // X2: a number with two readings.
        5 => (["145,250".to_owned(), "145.3".to_owned()], "25", own[0]),
        // X10: a limit above what the plan asks for.
        6 => (["<100".to_owned(), String::new()], "", own[1]),
        // X8: the rows of C stand one row too low, their limits with them.
        10..=12 => (both, "25", own[(place - 1) % 4]),
        _ => (both, "25", own[place % 4]),
    }
}

/// X2, X8, X9, X10, X15, X20, X22, X23, X24 and X25 from the sign-in to the
/// receipt, with no pointer.
async fn a_round_with_the_keyboard(browser: &Browser, round: &OpenRound) {
    let (labels, foreign) = (round.labels(0).await, round.labels(1).await);
    let button = |word: &str| format!("it.tagName === 'BUTTON' && it.value === '{word}'");
    let link = |path: &str| format!("it.tagName === 'A' && it.getAttribute('href') === '{}'", at(path));
    let send = "it.tagName === 'BUTTON' && it.closest('form').action.endsWith('/submit')";
    sign_in(browser).await;
    browser.enter_on(&link("")).await;
    browser.enter_on(&link("/tasks/unit")).await;
    browser.key_in("all.unit", "ng/L").await;
    browser.enter_on(&button("done")).await;
    browser.enter_on(&link("/tasks/items")).await;
    for (n, ((item, _), label)) in ITEMS.iter().zip(&labels).enumerate() {
        // X22: the label of somebody else's bottle first.
        browser.key_in(&format!("{item}.code"), if n == 0 { &foreign[0] } else { label }).await;
        browser.key_in(&format!("{item}.received_on"), &keyed_day(round)).await;
        browser.key_in(&format!("{item}.condition"), "Intact and cool").await;
        browser.key_in(&format!("{item}.analysed_on"), &keyed_day(round)).await;
    }
    browser.enter_on(&button("done")).await;
    let page = browser.page().await;
    assert!(page.problems().contains("not the code of one of your items"), "{}", page.problems());
    browser.key_in("A.code", &labels[0]).await;
    browser.enter_on(&button("done")).await;
    assert_eq!(browser.path().await, at(""), "{}", browser.page().await.problems());
    browser.enter_on(&link("/results/A")).await;
    for (item, _) in ITEMS {
        assert_eq!(browser.path().await, at(&format!("/results/{item}")));
        browser.key_in(&format!("{item}.u_as"), "in the unit").await;
        browser.key_in(&format!("{item}.k_all"), "2").await;
        for (place, _) in MEASURANDS.iter().enumerate().filter(|(_, asked)| asked.item == item) {
            let ([first, second], u, loq) = slipping(place);
            for (part, text) in [("v1", first.as_str()), ("v2", &second), ("u", u), ("loq", loq)] {
                if !text.is_empty() {
                    browser.key_in(&format!("{}.{part}", place + 1), text).await;
                }
            }
        }
        browser.enter_on(&button("next")).await;
        let problems = browser.page().await.problems();
        match item {
            "A" => {
                assert!(problems.contains("is negative") && problems.contains("is zero"), "{problems}");
                browser.key_in("2.v1", "<25").await;
                browser.key_in("3.v1", "<10").await;
                browser.enter_on(&button("next")).await;
            }
            "B" => {
                assert!(problems.contains("145.250"), "{problems}");
                browser.tab_to("it.name === '5.v1.reading'").await;
                browser.keys(" ").await;
                browser.enter_on(&button("next")).await;
            }
            _ => {}
        }
    }
    assert_eq!(browser.path().await, at("/check"), "{}", browser.page().await.problems());
    browser.go(&at("/tasks/declaration")).await;
    browser.tab_to("it.name === 'all.own'").await;
    browser.keys(" ").await;
    browser.enter_on(&button("done")).await;
    // X24: what is typed and not sent is called so.
    let tasks = browser.page().await.texts("ul.tasks li");
    assert!(tasks.last().is_some_and(|line| line.contains("questions about your results")), "{tasks:?}");
    browser.enter_on(&link("/check")).await;
    let asked = questions(&browser.page().await);
    for question in
        ["value-below-loq.4", "limit-above-required.6", "same-replicates", "same-uncertainty", "rows-shifted.C"]
    {
        assert!(asked.contains(&question.to_owned()), "{question} is not in {asked:?}");
    }
    // Not answered: refused, and the questions are named.
    browser.enter_on(send).await;
    let problems = browser.page().await.problems();
    assert_eq!(problems.matches("is not answered").count(), 2 * asked.len(), "in the list and at each: {problems}");
    for question in &asked {
        browser.tab_to(&format!("it.name === 'all.answer.{question}'")).await;
        browser.keys(" ").await;
    }
    browser.enter_on(send).await;
    let path = browser.path().await;
    assert!(path.starts_with("/receipts/"), "{path}: {}", browser.page().await.problems());
    let document = round.laboratories[0].get(&format!("{path}/document.json")).await.expect(200).text();
    assert!(document.contains("\"typed\": \"145,250\"") && document.contains("\"decimal\": \"145.250\""));
    assert_eq!(document.matches("\"answer\": \"confirmed\"").count(), asked.len(), "{document}");
}

/// A day as the keys of a date field take it in the browser's own language.
fn keyed_day(round: &OpenRound) -> String {
    round.app.clock.now().strftime("%m%d%Y").to_string()
}

#[tokio::test]
async fn a_laboratory_reports_with_the_keyboard_alone() {
    let round = OpenRound::asking(2).await;
    let Some(browser) = Browser::start(&round.app.address).await else { return };
    a_round_with_the_keyboard(&browser, &round).await;
    browser.end().await;
    round.app.end().await;
}

#[tokio::test]
async fn a_laboratory_reports_with_the_keyboard_alone_and_without_scripts() {
    let round = OpenRound::asking(2).await;
    let Some(browser) = Browser::start(&round.app.address).await else { return };
    browser.scripts(false).await;
    a_round_with_the_keyboard(&browser, &round).await;
    browser.end().await;
    round.app.end().await;
}
