//! What every answer tells the browser.

use crate::support::answer::Answer;
use crate::support::scenario::{self, CODE, OpenRound, PASSWORD, at};
use crate::support::visitor::Visitor;
use jiff::SignedDuration;
use reqwest::Method;
use std::collections::BTreeMap;

/// The source of the routes: a route that is added is tested from then on.
const ROUTES: &str = include_str!("../../crates/web/src/routes.rs");

/// The addresses of the service, as its source has them.
pub(crate) fn routes() -> Vec<&'static str> {
    ROUTES.split(".route(\"").skip(1).map(|rest| rest.split('"').next().expect("an address ends")).collect()
}

#[track_caller]
fn assert_hardened(answer: &Answer) {
    let asked = &answer.asked;
    let policy = answer.header("content-security-policy");
    let directives: BTreeMap<&str, &str> = policy.split(';').filter_map(|one| one.trim().split_once(' ')).collect();
    for (name, value) in [
        ("default-src", "'none'"),
        ("script-src", "'self'"),
        ("style-src", "'self'"),
        ("form-action", "'self'"),
        ("base-uri", "'none'"),
        ("frame-ancestors", "'none'"),
    ] {
        assert_eq!(directives.get(name), Some(&value), "{asked}: {name} in {policy:?}");
    }
    assert!(!policy.contains("unsafe"), "{asked}: {policy}");
    for (name, value) in [
        ("x-content-type-options", "nosniff"),
        ("referrer-policy", "same-origin"),
        ("cross-origin-opener-policy", "same-origin"),
        ("cross-origin-resource-policy", "same-origin"),
    ] {
        assert_eq!(answer.header(name), value, "{asked}: {name}");
    }
    assert!(!answer.header("permissions-policy").is_empty(), "{asked}");
    assert!(answer.headers.get("server").is_none(), "{asked}: nobody needs to know what answers");
    let cache = answer.header("cache-control");
    if asked.contains("/static/") && answer.status.is_success() {
        assert!(cache.contains("immutable"), "{asked}: {cache}");
    } else {
        assert_eq!(cache, "no-store", "{asked}");
    }
    let kind = answer.header("content-type");
    assert!(answer.bytes.is_empty() || !kind.is_empty(), "{asked} has a body of no kind");
    assert!(!kind.starts_with("text/") || kind.to_lowercase().ends_with("charset=utf-8"), "{asked}: {kind}");
}

#[tokio::test]
async fn every_answer_of_every_route_is_hardened_errors_included() {
    let round = OpenRound::new(3).await;
    let receipts = round.all_send().await;
    let code = round.laboratories[0].page(&receipts[0]).await.text("dd.code");
    let style = round.organiser.page("/rounds").await.attribute("link[rel='stylesheet']", "href");
    let key = round.app.visitor().page("/keys").await.attribute("section.key a", "href");
    let known: BTreeMap<&str, &str> = [
        ("{code}", CODE),
        ("{item}", "A"),
        ("{label}", "A"),
        ("{position}", "1"),
        ("{lab}", &code),
        ("{id}", receipts[0].trim_start_matches("/receipts/")),
        ("{token}", round.invitations[5].trim_start_matches("/invitations/")),
        ("{word}", "key-missing"),
        ("{version}", "1"),
        ("{task}", "unit"),
        ("{topic}", "homogeneity"),
        ("{heading}", "advice"),
        ("{number}", "1"),
        ("{key}", key.trim_start_matches("/keys/")),
        ("{name}", style.trim_start_matches("/static/")),
    ]
    .into();
    let concrete = |route: &str| {
        let parts = route.split('/').map(|part| {
            assert!(
                !part.starts_with('{') || known.contains_key(part),
                "{part} of {route} is new: give it a value here"
            );
            known.get(part).copied().unwrap_or(part)
        });
        parts.collect::<Vec<_>>().join("/")
    };
    let paths: Vec<String> = routes().into_iter().map(concrete).collect();
    assert!(paths.len() >= 40 && paths.contains(&at("/certificate.pdf")), "the routes were read: {paths:?}");
    let nobody = round.app.visitor();
    let mut statuses: BTreeMap<u16, usize> = BTreeMap::new();

    let mut look = async |who: &Visitor, token: &str| {
        for path in &paths {
            let mut answers = vec![who.get(path).await];
            if path != "/sign-out" {
                // Without a token first: refused wherever somebody must be signed in.
                answers.push(who.post(path, &[]).await);
            }
            let request = who.request(Method::DELETE, path);
            answers.push(who.send(format!("DELETE {path}"), request).await);
            let request = who.request(Method::POST, path).header("sec-fetch-site", "cross-site");
            let forged = who.send(format!("forged POST {path}"), request).await;
            assert!(forged.status.is_client_error(), "{}: {}", forged.asked, forged.status);
            answers.push(forged);
            for answer in answers {
                assert!(!answer.status.is_server_error(), "{token}: {} answered {}", answer.asked, answer.status);
                assert_hardened(&answer);
                *statuses.entry(answer.status.as_u16()).or_default() += 1;
            }
        }
    };
    look(&nobody, "nobody").await;
    look(&round.organiser, "organiser, open").await;
    look(&round.laboratories[0], "laboratory, open").await;
    round.close().await;
    round.publish().await;
    look(&round.organiser, "organiser, published").await;
    look(&round.laboratories[0], "laboratory, published").await;

    for path in
        ["/no/such/page", "/rounds/NONE", "/static/none.css", "/receipts/none", "/setup/none", "/%00", "/rounds/%FF"]
    {
        let answer = round.organiser.get(path).await;
        assert!(answer.status.is_client_error(), "{path}: {}", answer.status);
        assert_hardened(&answer);
    }
    for status in [200, 303, 403, 404, 405, 409] {
        assert!(statuses.contains_key(&status), "the walk met {status}: {statuses:?}");
    }
    round.app.end().await;
}

#[tokio::test]
async fn a_body_that_is_too_large_is_refused_with_a_page_and_all_headers() {
    let round = OpenRound::new(1).await;
    let token = round.organiser.page("/rounds").await.value("form_token");

    let fields = [("form_token".to_owned(), token), ("title".to_owned(), "x".repeat(600 * 1024))];
    let answer = round.organiser.post("/rounds", &fields).await.expect(400);
    assert_hardened(&answer);
    assert!(answer.page().has("h1"));

    scenario::new_round(&round.app, &round.organiser, "QT-2").await;
    let page = "/rounds/QT-2/measurands";
    let answer =
        round.organiser.upload(page, "/rounds/QT-2/measurands/upload", "large.csv", &vec![b'a'; 2_000_000]).await;
    assert_hardened(&answer.clone().expect(400));
    assert!(answer.page().has("h1"));
    round.app.end().await;
}

#[tokio::test]
async fn the_cookie_is_kept_from_scripts_and_other_sites_and_ends_after_twelve_hours() {
    let round = OpenRound::new(1).await;
    let visitor = round.app.visitor();
    let fields = [("email".to_owned(), scenario::ORGANISER.to_owned()), ("password".to_owned(), PASSWORD.to_owned())];

    let cookie = visitor.post("/sign-in", &fields).await.header("set-cookie").to_owned();

    let parts: Vec<&str> = cookie.split(';').map(str::trim).collect();
    for part in ["HttpOnly", "Path=/", "Max-Age=43200"] {
        assert!(parts.contains(&part), "{part}: {cookie}");
    }
    assert!(parts.contains(&"SameSite=Lax") || parts.contains(&"SameSite=Strict"), "{cookie}");
    visitor.page("/rounds").await;
    round.app.clock.advance(SignedDuration::from_hours(12));
    assert_eq!(visitor.get("/rounds").await.leads_to(), "/sign-in", "the server ends it as well");
    round.app.end().await;
}

#[tokio::test]
async fn where_people_come_encrypted_the_cookie_never_travels_in_the_clear() {
    let app = crate::support::app::TestApp::reached_at("https://pt.example").await;
    let organiser = app.visitor();
    let fields = scenario::SETUP.map(|(name, text)| (name.to_owned(), text.to_owned()));

    let cookie = organiser.post(&app.setup, &fields).await.header("set-cookie").to_owned();

    assert!(cookie.split(';').any(|part| part.trim() == "Secure"), "{cookie}");
    app.end().await;
}
