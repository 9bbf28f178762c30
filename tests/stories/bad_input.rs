//! Every form of a laboratory's work, and those that set it up, with bad input
//! made at random: status 422, the list of what is wrong and the fields agree,
//! and nothing that was typed is lost.

use crate::support::page::{Page, words};
use crate::support::scenario::{self, OpenRound, at};
use crate::support::visitor::Visitor;

/// Texts that no field takes as they are, and the character that marks them.
const BAD: [&str; 8] = ["1,2,3", "12..5", "0", "-4.2", "ten", "<", "1e999", "99\u{ff0f}9"];

/// A small generator with a fixed seed (the constants of Numerical Recipes, from
/// memory), so that a failure can be repeated.
struct Random(u32);

impl Random {
    fn below(&mut self, bound: usize) -> usize {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (self.0 >> 8) as usize % bound
    }
}

/// The fields of a form into which a person types: name and kind.
fn typed_fields(page: &Page, action: &str) -> Vec<(String, String)> {
    let form = format!("form[action='{action}']");
    let fields = page.all(&format!("{form} input[type='text'], {form} input[type='date'], {form} textarea"));
    fields
        .into_iter()
        .filter_map(|field| Some((field.attr("name")?.to_owned(), field.attr("type").unwrap_or("area").to_owned())))
        .collect()
}

/// Posts bad texts into every field and looks at the answer; how many fields
/// were found wrong.
async fn walk(visitor: &Visitor, path: &str, action: &str, extra: &[(&str, &str)], random: &mut Random) -> usize {
    let page = visitor.page(path).await;
    let fields = typed_fields(&page, action);
    assert!(!fields.is_empty(), "{path} has a form to {action}");
    let typed: Vec<(String, String)> = fields
        .iter()
        .map(|(name, kind)| {
            let text = match kind.as_str() {
                "date" => ["2099-01-01", "1.2.2027", "yesterday"][random.below(3)],
                "area" => "\u{7}",
                _ => BAD[random.below(BAD.len())],
            };
            (name.clone(), text.to_owned())
        })
        .collect();
    let mut posted: Vec<(&str, &str)> = typed.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    posted.extend(extra);
    let answer = visitor.fill(&page, action, &posted).await;
    let page = answer.expect(422).page();

    for (name, text) in
        typed.iter().filter(|(name, _)| fields.iter().any(|(field, kind)| field == name && kind != "area"))
    {
        assert_eq!(page.value(name), *text, "{name} of {path} keeps what was typed");
    }
    let listed: Vec<(String, String)> = page
        .all("#problems a[href^='#']")
        .into_iter()
        .map(|a| (a.attr("href").unwrap_or_default()[1..].to_owned(), words(a)))
        .collect();
    assert!(!listed.is_empty(), "{path} lists what is wrong: {}", page.problems());
    for (field, sentence) in &listed {
        let at = format!("[id='{field}']");
        assert!(page.has(&at), "the list of {path} leads to {field}");
        if page.all(&at)[0].value().name() == "fieldset" {
            continue;
        }
        assert_eq!(page.attribute(&at, "aria-invalid"), "true", "{field} of {path}");
        let told = page.attribute(&at, "aria-describedby");
        let near = told
            .split_whitespace()
            .map(|id| page.text(&format!("[id='{id}']")))
            .find(|text| sentence.contains(text.as_str()) && !text.is_empty());
        assert!(near.is_some(), "{field} of {path} says what the list says: {sentence}");
    }
    listed.len()
}

#[tokio::test]
async fn every_form_of_a_laboratorys_work_takes_bad_input_in_the_same_way() {
    let round = OpenRound::asking(1).await;
    let laboratory = &round.laboratories[0];
    let mut random = Random(2027);
    let mut wrong = 0;
    for _ in 0..6 {
        for (item, _) in scenario::ITEMS {
            let path = at(&format!("/results/{item}"));
            wrong += walk(laboratory, &path, &path, &[("command", "save")], &mut random).await;
        }
        for (task, command) in [("items", "done"), ("method", "done"), ("performance", "save")] {
            let path = at(&format!("/tasks/{task}"));
            wrong += walk(laboratory, &path, &path, &[("command", command)], &mut random).await;
        }
        let path = at("/questions");
        wrong += walk(laboratory, &path, &path, &[], &mut random).await;
    }
    assert!(wrong > 300, "{wrong}");
    round.close().await;
    let path = at("/requests");
    walk(laboratory, &path, &path, &[], &mut random).await;
    round.app.end().await;
}

#[tokio::test]
async fn what_is_asked_beside_results_takes_bad_input_in_the_same_way() {
    let app = crate::support::app::TestApp::new().await;
    let organiser = scenario::set_up(&app).await;
    scenario::design(&app, &organiser).await;
    let path = at("/asks");
    let mut random = Random(7);
    for _ in 0..6 {
        walk(&organiser, &path, &path, &[("performance", "yes")], &mut random).await;
    }
    app.end().await;
}

#[tokio::test]
async fn plans_and_amendments_take_bad_input_in_the_same_way() {
    let app = crate::support::app::TestApp::new().await;
    let organiser = scenario::set_up(&app).await;
    scenario::design(&app, &organiser).await;
    let mut random = Random(17);
    for _ in 0..6 {
        let path = at("/assigned-values/1");
        walk(&organiser, &path, &path, &[], &mut random).await;
    }
    walk(&organiser, &at("/plan"), &at("/plan"), &[("command", "save")], &mut random).await;
    scenario::agree_and_open(&app, &organiser).await;
    for _ in 0..6 {
        let path = at("/amend/1");
        walk(&organiser, &path, &path, &[], &mut random).await;
    }
    app.end().await;
}
