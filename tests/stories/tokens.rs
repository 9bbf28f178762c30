//! Tokens of programs: what a wrong one learns, and where a right one is kept.

use crate::interface::{key, receipts, results, text};
use crate::support::answer::Answer;
use crate::support::app::TestApp;
use crate::support::caller::{Caller, json};
use crate::support::scenario::{self, OpenRound, at};
use jiff::SignedDuration;
use reqwest::Method;
use serde_json::json;

/// Status and body of an answer, to be compared.
fn seen(answer: &Answer) -> (u16, String) {
    (answer.status.as_u16(), answer.text())
}

#[tokio::test]
async fn a_wrong_token_learns_nothing() {
    let round = OpenRound::new(2).await;
    let laboratory = &round.laboratories[0];
    let open = Caller::of(laboratory, "change").await;
    let of_other = Caller::of(&round.laboratories[1], "change").await;
    let sent = json(&open.post(&at("/results"), &key("sent"), &results(0)).await.expect(201));

    // Revoked on the page; ended by time.
    let revoked = Caller::of(laboratory, "change").await;
    let action = laboratory.page("/tokens").await.all("td.actions form")[0].attr("action").unwrap().to_owned();
    laboratory.submit("/tokens", &action, &[]).await.leads_to();
    let paths =
        [at(""), at("/results"), at("/nothing"), "/nothing".to_owned(), format!("/receipts/{}", text(&sent, "id"))];
    let reference = seen(&Caller::showing(laboratory, "").get(&paths[0]).await);
    assert_eq!(reference.0, 401);
    let unknown = format!("roundel_{}", "0".repeat(64));
    let cut = &open.token[..open.token.len() - 1];
    for token in ["", "x", &unknown, cut, &revoked.token, &open.token.to_uppercase()] {
        let wrong = Caller::showing(laboratory, token);
        for path in &paths {
            assert_eq!(seen(&wrong.get(path).await), reference, "{token:?} {path}");
            let posted = wrong.post(path, &key("wrong"), &json!({})).await;
            assert_eq!(seen(&posted), reference, "{token:?} {path}");
        }
    }
    // A cookie is no token, and other schemes are none.
    let with_cookie = laboratory.get(&format!("/api/v1{}", at(""))).await;
    assert_eq!(seen(&with_cookie), reference);
    let basic =
        laboratory.request(Method::GET, "/api/v1/rounds").header("authorization", format!("Basic {}", open.token));
    assert_eq!(seen(&laboratory.send("basic".to_owned(), basic).await), reference);

    // Another laboratory's, and what is the organiser's, is as what does not exist.
    let missing = seen(&of_other.get(&at("/nothing")).await);
    assert_eq!(missing.0, 404);
    for path in [
        format!("/receipts/{}", text(&sent, "id")),
        format!("/receipts/{}/document", text(&sent, "id")),
        "/receipts/0198c7a2-6f0e-7d3c-9b51-2f1d8a54e0aa".to_owned(),
        "/rounds/QT-99".to_owned(),
        at("/assigned-values"),
        at("/participants"),
        at("/progress"),
        at("/evaluation"),
        at("/evaluations"),
        at("/scores"),
        at("/package"),
        at("/certificate"),
    ] {
        assert_eq!(seen(&of_other.get(&path).await), missing, "{path}");
    }
    for path in ["/opening", "/closing", "/evaluations", "/publication", "/decisions", "/invitations", "/items"] {
        let posted = of_other.post(&at(path), &key("other"), &json!({})).await;
        assert_eq!(seen(&posted), missing, "{path}");
    }
    assert_eq!(seen(&of_other.post("/rounds", &key("other"), &json!({})).await), missing);

    // The organiser never sends; a token that looks changes nothing.
    let organiser = Caller::of(&round.organiser, "change").await;
    organiser.post(&at("/results"), &key("organiser"), &results(0)).await.expect(403);
    let looking = Caller::of(laboratory, "look").await;
    looking.get(&at("/receipts")).await.expect(200);
    looking.post(&at("/results"), &key("looking"), &results(1)).await.expect(403);
    assert_eq!(receipts(&open).await.len(), 1);

    round.app.clock.advance(SignedDuration::from_hours(24 * 31));
    assert_eq!(seen(&open.get(&at("")).await), reference, "it has ended");
    round.app.end().await;
}

#[tokio::test]
async fn a_token_is_shown_once_and_nowhere_kept() {
    let app = TestApp::new().await;
    let page = scenario::set_up(&app).await;
    for (fields, wrong) in [
        (vec![("name", ""), ("right", "look"), ("days", "30")], "#name-error"),
        (vec![("name", "bench")], "#right-error"),
        (vec![("name", "bench"), ("right", "look"), ("days", "31")], "#days-error"),
    ] {
        let form = page.page("/tokens").await;
        let mut posted = vec![("form_token".to_owned(), form.value("form_token"))];
        posted.extend(fields.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())));
        let answer = page.post("/tokens", &posted).await.expect(422).page();
        assert!(answer.has(wrong), "{fields:?}: {}", answer.problems());
    }
    let program = Caller::of(&page, "change").await;
    assert!(!page.get("/tokens").await.text().contains(&program.token));
    program.get("/rounds").await.expect(200);
    assert!(!app.dump().await.contains(&program.token), "only its hash is kept");
    let listed = page.page("/tokens").await;
    assert_eq!(listed.text("tbody th"), "bench system");
    assert_eq!(listed.text("tbody td:nth-of-type(1)"), "look and change");
    // Somebody else's token cannot be revoked, nor one twice.
    let action = listed.all("td.actions form")[0].attr("action").unwrap().to_owned();
    page.submit("/tokens", &action, &[]).await.leads_to();
    let posted = [("form_token".to_owned(), listed.value("form_token"))];
    page.post(&action, &posted).await.expect(404);
    program.get("/rounds").await.expect(401);
    app.end().await;
}
