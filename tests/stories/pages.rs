//! What holds for every page: texts, labels, nothing inline.

use crate::support::answer::Answer;
use crate::support::app::TestApp;
use crate::support::page::{Page, words};
use crate::support::scenario::{self, OpenRound, at, enter};
use crate::support::walk::walk;
use scraper::ElementRef;
use std::collections::BTreeSet;

/// What is wrong with a page, by any of the rules.
fn faults(path: &str, text: &str) -> Vec<String> {
    let page = Page::read(text);
    let mut faults = Vec::new();
    let mut fault = |what: &str, element: &str| {
        faults.push(format!("{path}: {what}: {}", element.chars().take(200).collect::<String>()))
    };
    // A key that the catalogue has not is shown in these quotes.
    for (sign, what) in [('‹', "a text is missing"), ('›', "a text is missing")] {
        if let Some(at) = text.find(sign) {
            fault(what, &text[at..].chars().take(60).collect::<String>());
        }
    }
    if let Some(at) = text.find("{$").or_else(|| text.find("{ $")) {
        fault("a text has a value that nobody gave", &text[at..].chars().take(60).collect::<String>());
    }
    for element in page.all("*") {
        for (name, _) in element.value().attrs() {
            if name == "style" || name.starts_with("on") {
                fault("something inline", &element.html());
            }
        }
    }
    for element in page.all("style, script:not([src]), iframe, base, [src^='http'], link[href^='http']") {
        fault("something inline or from elsewhere", &element.html());
    }
    faults.extend(structure_faults(path, &page));
    faults.extend(label_faults(path, &page));
    faults
}

fn structure_faults(path: &str, page: &Page) -> Vec<String> {
    let mut faults = Vec::new();
    for (css, count) in [("h1", 1), ("main", 1), ("title", 1), ("html[lang='en']", 1)] {
        // An SVG has titles of its own.
        let found = page.all(css).into_iter().filter(|e| css != "title" || !inside(*e, "svg")).count();
        if found != count {
            faults.push(format!("{path}: {found} × {css}"));
        }
    }
    if page.text("title").trim_start_matches(['·', ' ']) == "Roundel" {
        faults.push(format!("{path}: the title is empty"));
    }
    let mut ids = BTreeSet::new();
    for element in page.all("[id]") {
        let id = element.attr("id").unwrap_or_default();
        if id.is_empty() || id.contains(char::is_whitespace) || !ids.insert(id.to_owned()) {
            faults.push(format!("{path}: the id {id:?} is empty, has a space, or stands there twice"));
        }
    }
    for element in page.all("a[href^='#'], [aria-describedby], [aria-labelledby], label[for]") {
        let named = ["aria-describedby", "aria-labelledby", "for"].into_iter().filter_map(|name| element.attr(name));
        let anchor =
            element.attr("href").filter(|_| element.value().name() == "a").map(|href| href.trim_start_matches('#'));
        for id in named.flat_map(str::split_whitespace).chain(anchor) {
            if !ids.contains(id) {
                faults.push(format!(
                    "{path}: nothing has the id {id:?}: {}",
                    element.html().chars().take(120).collect::<String>()
                ));
            }
        }
    }
    faults
}

fn inside(element: ElementRef<'_>, name: &str) -> bool {
    element.ancestors().filter_map(ElementRef::wrap).any(|above| above.value().name() == name)
}

fn label_faults(path: &str, page: &Page) -> Vec<String> {
    let mut faults = Vec::new();
    for control in page.all("input:not([type='hidden']), select, textarea") {
        let id = control.attr("id").unwrap_or_default();
        let label = page.all("label").into_iter().find(|label| label.attr("for") == Some(id));
        if id.is_empty() || label.is_none_or(|label| words(label).is_empty()) {
            faults.push(format!("{path}: no label: {}", control.html()));
        }
    }
    for control in page.all("button, a[href]") {
        let drawn = !control
            .select(&crate::support::page::selector("svg[aria-label], svg title, img[alt]"))
            .collect::<Vec<_>>()
            .is_empty();
        let named = control.attr("aria-label").is_some_and(|label| !label.trim().is_empty());
        if words(control).is_empty() && !named && !drawn {
            faults.push(format!("{path}: nothing says what this does: {}", control.html()));
        }
    }
    for image in page.all("img:not([alt])") {
        faults.push(format!("{path}: {}", image.html()));
    }
    faults
}

/// What is wrong with the pages among some answers.
pub(crate) fn faults_of(found: &[(String, Answer)]) -> Vec<String> {
    found
        .iter()
        .filter(|(_, answer)| answer.is_page())
        .flat_map(|(path, answer)| faults(path, &answer.text()))
        .collect()
}

#[track_caller]
fn assert_none(when: &str, faults: Vec<String>) {
    let unique: BTreeSet<String> = faults.into_iter().collect();
    assert!(
        unique.is_empty(),
        "{when}: {} faults:\n{}",
        unique.len(),
        unique.into_iter().collect::<Vec<_>>().join("\n")
    );
}

#[test]
fn the_rules_find_what_breaks_them() {
    let broken = "<!doctype html><html lang=en><title>x · Roundel</title><main><h1>x</h1><h1>y</h1><p style='color:red'>\
        ‹key› {$name}</p><script>1</script><label for=a>A</label><input id=b><input id=b><a href='#nowhere'>x</a>\
        <button></button><img src=x></main>";

    let found = faults("broken", broken).join("\n");

    for rule in [
        "2 × h1",
        "something inline: <p",
        "a text is missing",
        "nobody gave",
        "<script>",
        "twice",
        "\"a\"",
        "no label",
        "\"nowhere\"",
        "what this does",
        "<img",
    ] {
        assert!(found.contains(rule), "{rule} is not found in:\n{found}");
    }
}

#[tokio::test]
async fn every_page_on_the_way_of_a_round_keeps_the_rules() {
    let app = TestApp::new().await;
    let nobody = app.visitor();
    assert_none("before set-up", faults_of(&walk(&nobody, &["/".to_owned(), app.setup.clone()]).await));
    let organiser = scenario::set_up(&app).await;
    let start = ["/rounds".to_owned()];
    assert_none("without rounds", faults_of(&walk(&organiser, &start).await));
    scenario::new_round(&app, &organiser, "QT-0").await;
    assert_none("an empty round", faults_of(&walk(&organiser, &start).await));
    app.end().await;

    let round = OpenRound::new(6).await;
    let laboratory = &round.laboratories[0];
    let mut all = walk(&round.organiser, &start).await;
    all.extend(walk(&round.app.visitor(), &["/sign-in".to_owned(), round.invitations[8].clone()]).await);
    all.extend(walk(laboratory, &start).await);
    enter(laboratory, &scenario::all_typed(0)).await;
    assert_none("while open", faults_of(&all));
    let receipts = round.all_send().await;
    enter(laboratory, &scenario::all_typed(3)).await;
    scenario::send(laboratory).await;
    all = walk(laboratory, &[start[0].clone(), receipts[0].clone()]).await;
    assert_none("when sent", faults_of(&all));
    round.close().await;
    let code = round.laboratories[1].page(&receipts[1]).await.text("dd.code");
    all = walk(&round.organiser, &[start[0].clone(), at("/close")]).await;
    round.organiser.submit(&at("/evaluation"), &at("/evaluation"), &[]).await.leads_to();
    let decide = at(&format!("/decide?on={code}.1"));
    all.extend(walk(&round.organiser, &[start[0].clone(), at("/publish"), decide.clone()]).await);
    scenario::decide(&round.organiser, &format!("{code}.1"), "blunder", "other", "the label of another item").await;
    all.extend(walk(&round.organiser, &start).await);
    assert_none("when closed and evaluated", faults_of(&all));
    round.publish().await;
    all = walk(&round.organiser, &start).await;
    all.extend(walk(laboratory, &start).await);
    // One that was enrolled and sent nothing.
    let silent = scenario::accept(&round.app, &round.invitations[11], 11).await;
    all.extend(walk(&silent, &start).await);
    assert_none("when published", faults_of(&all));
    round.app.end().await;
}

#[tokio::test]
async fn every_form_with_mistakes_keeps_the_rules() {
    let app = TestApp::new().await;
    let mut found = Vec::new();
    let wrong = [("email", "none"), ("password", "short")];
    found.push(app.visitor().submit(&app.setup, &app.setup, &wrong).await.expect(422));
    let organiser = scenario::set_up(&app).await;
    found.push(app.visitor().submit("/sign-in", "/sign-in", &wrong).await.expect(422));
    found.push(organiser.submit("/rounds/new", "/rounds", &[("code", "a b"), ("time_zone", "Mars")]).await.expect(422));
    scenario::new_round(&app, &organiser, scenario::CODE).await;
    found.push(organiser.submit(&at("/measurands"), &at("/items"), &[("label", "a/b")]).await.expect(422));
    for (page, upload) in [("/measurands", "/measurands/upload"), ("/laboratories", "/laboratories/upload")] {
        let bytes = b"item,analyte,name\nA,,\n,,\n";
        found.push(organiser.upload(&at(page), &at(upload), "<b>\"bad\".csv", bytes).await.expect(422));
    }
    let file = scenario::measurands_file();
    organiser.upload(&at("/measurands"), &at("/measurands/upload"), "m.csv", file.as_bytes()).await.leads_to();
    let fields = [("decimals", "x"), ("required_loq", "0"), ("replicates", "9")];
    found.push(organiser.submit(&at("/measurands"), &at("/measurands"), &fields).await.expect(422));
    let bytes = b"item;analyte;unit;x_pt\nZ;none;g;1\n";
    found.push(
        organiser.upload(&at("/assigned-values"), &at("/assigned-values/upload"), "a.csv", bytes).await.expect(422),
    );
    let fields = [("value", "1,250"), ("sigma", "abc"), ("route", "formulation")];
    found.push(organiser.submit(&at("/assigned-values/1"), &at("/assigned-values/1"), &fields).await.expect(422));
    let fields = [("name", ""), ("email", "a@b@c")];
    found.push(organiser.submit(&at("/laboratories"), &at("/laboratories"), &fields).await.expect(422));
    app.end().await;

    let round = OpenRound::new(1).await;
    let path = at("/results/A");
    let typed =
        [("1.v1", "1,250"), ("2.v1", "0"), ("3.state", "failed"), ("4.k", "1"), ("A.k_all", "?"), ("command", "next")];
    found.push(round.laboratories[0].submit(&path, &path, &typed).await.expect(422));
    found.push(round.laboratories[0].get(&at("/check")).await.expect(200));
    let open = round.invitations[3].clone();
    found.push(round.app.visitor().submit(&open, &open, &[("password", "alderbrook")]).await.expect(422));
    round.close().await;
    round.organiser.submit(&at("/evaluation"), &at("/evaluation"), &[]).await.leads_to();
    scenario::approve(&round.reviewer).await;
    found.push(round.organiser.submit(&at("/publish"), &at("/publish"), &[("code", "QT")]).await.expect(422));
    round.app.end().await;

    let found: Vec<(String, Answer)> = found.into_iter().map(|answer| (answer.asked.clone(), answer)).collect();
    for (path, answer) in &found {
        let page = answer.page();
        if answer.status.as_u16() == 422 {
            assert_eq!(page.all("[role='alert']").len(), 1, "{path}: one alert: {}", page.problems());
            assert!(!words(page.all("title")[0]).is_empty());
        }
    }
    assert_none("with mistakes", faults_of(&found));
}
