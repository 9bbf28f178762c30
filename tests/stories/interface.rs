//! The same job by programs: through the interface and files alone.

use crate::support::answer::Answer;
use crate::support::app::TestApp;
use crate::support::caller::{Caller, json, mistakes};
use crate::support::certificate::{READER, text_of};
use crate::support::has;
use crate::support::program::{command, run};
use crate::support::scenario::{self, CODE, LABORATORIES, MEASURANDS, OpenRound, PASSWORD, at, email};
use crate::support::visitor::Visitor;
use jiff::SignedDuration;
use reqwest::Method;
use roundel_store::testing::{Fresh, Kind};
use serde_json::{Value, json};
use std::time::Duration;
use tokio::io::AsyncWriteExt;
use tokio::net::TcpStream;

/// What a laboratory's program sends: all measurands, some with uncertainties.
pub(crate) fn results(laboratory: usize) -> Value {
    let rows: Vec<Value> = MEASURANDS
        .iter()
        .enumerate()
        .map(|(place, asked)| {
            let mut row = json!({
                "item": asked.item, "analyte": asked.analyte, "unit": "ng/L",
                "values": [scenario::typed(laboratory, place)], "loq": "5",
            });
            if place % 3 == 0 {
                let form = if place % 2 == 0 { "percent" } else { "absolute" };
                row["uncertainty"] = json!({ "expanded": "12.5", "form": form, "coverage_factor": "2" });
            }
            row
        })
        .collect();
    json!({ "results": rows })
}

/// The same as the file of a spreadsheet.
fn results_file(laboratory: usize) -> String {
    let mut file = "item,analyte,unit,result,loq\n".to_owned();
    for (place, asked) in MEASURANDS.iter().enumerate() {
        file.push_str(&format!("{},{},ng/L,{},5\n", asked.item, asked.analyte, scenario::typed(laboratory, place)));
    }
    file
}

pub(crate) fn text<'a>(value: &'a Value, name: &str) -> &'a str {
    value[name].as_str().unwrap_or_else(|| panic!("no text {name} in {value}"))
}

/// A key of its own for each request.
pub(crate) fn key(of: &str) -> String {
    format!("key-of-a-test-{of}")
}

async fn all_the_way(app: TestApp) {
    let page = scenario::set_up(&app).await;
    let organiser = Caller::of(&page, "change").await;
    let (day, time) = scenario::deadline(&app);
    let round = json!({
        "code": CODE, "title": "Trace organic contaminants in water", "scheme": "Natural waters",
        "closes_on": day, "closes_time": time, "time_zone": "UTC", "instructions": "Shake each bottle.",
    });
    let made = organiser.post("/rounds", &key("round"), &round).await.expect(201);
    assert_eq!(made.header("location"), format!("/api/v1{}", at("")));

    // Measurands and assigned values by file, laboratories in JSON.
    let file = scenario::measurands_file();
    let taken =
        organiser.send(Method::POST, &at("/measurands"), "text/csv", &key("measurands"), file).await.expect(201);
    assert_eq!(json(&taken), json!({ "count": 12 }));
    let file = scenario::assigned_file();
    let set = organiser.send(Method::PUT, &at("/assigned-values"), "text/csv", "", file).await.expect(200);
    assert_eq!(json(&set), json!({ "count": 12, "without": [] }));
    let laboratories: Vec<Value> = (0..12).map(|n| json!({ "name": LABORATORIES[n], "email": email(n) })).collect();
    let body = json!({ "participants": laboratories });
    organiser.post(&at("/participants"), &key("laboratories"), &body).await.expect(201);

    let links = json(&organiser.post(&at("/invitations"), "", &json!({})).await.expect(201));
    let links = links["invitations"].as_array().unwrap();
    assert_eq!(links.len(), 12);
    // A program opens no round whose plan nobody has signed, and cannot sign it.
    let refused = organiser.send(Method::POST, &at("/opening"), "", &key("early"), String::new()).await.expect(409);
    assert!(text(&json(&refused), "detail").contains("programs cannot sign"), "{}", json(&refused));
    scenario::freeze_and_sign(&app, &page).await;
    organiser.send(Method::POST, &at("/opening"), "", &key("open"), String::new()).await.expect(200);

    // Each laboratory has people, and these have programs.
    let mut programs = Vec::new();
    for (n, name) in LABORATORIES.iter().enumerate() {
        let link = links.iter().find(|link| text(link, "name") == *name).unwrap();
        let path = text(link, "link").strip_prefix(&app.address).unwrap();
        programs.push(Caller::of(&scenario::accept(&app, path, n).await, "change").await);
    }
    let mut codes = Vec::new();
    for (n, program) in programs.iter().enumerate() {
        let view = program.read(&at("")).await;
        assert_eq!(view["measurands"].as_array().unwrap().len(), 12);
        assert_eq!(text(&view, "state"), "open");
        codes.push(text(&view, "participant").to_owned());
        let sent = if n == 1 {
            let file = results_file(n);
            program.send(Method::POST, &at("/results"), "text/csv", &key("results"), file).await.expect(201)
        } else {
            program.post(&at("/results"), &key("results"), &results(n)).await.expect(201)
        };
        let receipt = json(&sent);
        assert_eq!((&receipt["version"], &receipt["late"]), (&json!(1), &json!(false)));
        let document = program.get(&format!("/receipts/{}/document", text(&receipt, "id"))).await.expect(200);
        assert_eq!(sha256(&document.bytes), text(&receipt, "sha256"));
        assert_eq!(program.get(&at("/results")).await.expect(200).bytes, document.bytes);
        program.get(&at("/scores")).await.expect(404);
        program.get(&at("/package")).await.expect(404);
    }
    let progress = organiser.read(&at("/progress")).await;
    assert!(progress["participants"].as_array().unwrap().iter().all(|line| line["version"] == 1));

    app.clock.advance(SignedDuration::from_hours(26));
    organiser.send(Method::POST, &at("/closing"), "", &key("close"), String::new()).await.expect(200);
    let late = programs[0].post(&at("/results"), &key("too late"), &results(1)).await;
    assert_eq!(late.status.as_u16(), 400, "a blank has no place in a key");
    programs[0].post(&at("/results"), &key("too-late"), &results(1)).await.expect(409);

    let evaluated = organiser.send(Method::POST, &at("/evaluations"), "", &key("first"), String::new()).await;
    assert_eq!(json(&evaluated.expect(201))["version"], 1);
    let decision = json!({
        "participant": codes[0], "item": "A", "analyte": "carbamazepine", "exclude": true, "reason": "a wrong dilution",
    });
    organiser.post(&at("/decisions"), &key("decision"), &decision).await.expect(201);
    let publication = |version: i64| json!({ "evaluation": version, "code": CODE, "meaning": "Released as final.", "password": PASSWORD });
    let stale = publication(1);
    organiser.post(&at("/publication"), &key("publish"), &stale).await.expect(409);
    organiser.send(Method::POST, &at("/evaluations"), "", &key("second"), String::new()).await.expect(201);
    let current = publication(2);
    let refused = organiser.post(&at("/publication"), &key("publish"), &current).await.expect(409);
    assert!(refused.text().contains("A reviewer approves"), "{}", refused.text());
    let mut wrong = current.clone();
    wrong["password"] = json!("another password of mine");
    organiser.post(&at("/publication"), &key("publish"), &wrong).await.expect(422);
    // A program approves nothing: a reviewer does, who edited nothing.
    scenario::approve(&app.visitor()).await;
    // What was refused has left its key free.
    organiser.post(&at("/publication"), &key("publish"), &current).await.expect(201);

    for (n, program) in programs.iter().enumerate() {
        let scores = program.read(&at("/scores")).await;
        let scores = scores["scores"].as_array().unwrap();
        assert_eq!(scores.len(), 12);
        for (place, asked) in MEASURANDS.iter().enumerate() {
            let line = &scores[place];
            assert_eq!(text(line, "participant"), codes[n]);
            let expected = scenario::z(&scenario::typed(n, place), asked);
            let got: f64 = text(line, "score").parse().unwrap();
            assert!((got - expected).abs() < 1e-9, "{asked:?}: {got} and {expected}");
            assert_eq!(text(line, "score_kind"), "z");
        }
        let excluded = scores[0].get("excluded").is_some();
        assert_eq!(excluded, n == 0, "laboratory {n}");
    }
    certificate_and_package_agree(&programs[3], &codes[3]).await;
    app.end().await;
}

/// The package, evaluated by the program without a server, prints the scores
/// that the certificate has.
async fn certificate_and_package_agree(program: &Caller, code: &str) {
    let package = program.get(&at("/package")).await.expect(200);
    let folder = tempfile::TempDir::new().unwrap();
    let file = folder.path().join("package.json");
    std::fs::write(&file, &package.bytes).unwrap();
    let (status, evaluation, problems) = run(command(&["evaluate", file.to_str().unwrap()]));
    assert_eq!((status, problems.as_str()), (Some(0), ""));
    let evaluation: Value = serde_json::from_str(&evaluation).unwrap();
    let own: Vec<f64> = evaluation["scores"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|score| score["participant"] == code)
        .map(|score| score["z"].as_f64().unwrap())
        .collect();
    assert_eq!(own.len(), 12);
    let pdf = program.get(&at("/certificate")).await.expect(200);
    assert_eq!(pdf.header("content-type"), "application/pdf");
    if has(READER, "reading the certificate") {
        let printed = text_of(&pdf.bytes);
        for z in own {
            // As ISO 13528:2022, 9.4 has it: two decimals, a sign.
            let expected = format!("{}{:.2}", if z < 0.0 { "−" } else { "+" }, z.abs());
            assert!(printed.contains(&expected), "the certificate has no {expected}");
        }
    }
}

fn sha256(bytes: &[u8]) -> String {
    use sha2::Digest;
    hex::encode(sha2::Sha256::digest(bytes))
}

#[tokio::test]
async fn the_whole_main_job_goes_through_the_interface_on_both_databases() {
    all_the_way(TestApp::new().await).await;
    if let Some(fresh) = Fresh::new(Kind::Postgres).await {
        all_the_way(TestApp::on(fresh).await).await;
    }
}

/// A round that takes results, and a program of the first laboratory.
async fn open_round(fresh: Fresh) -> (OpenRound, Caller) {
    let round = OpenRound::on(TestApp::on(fresh).await, 2).await;
    let program = Caller::of(&round.laboratories[0], "change").await;
    (round, program)
}

async fn on_both(story: impl AsyncFn(Fresh)) {
    for kind in [Kind::Sqlite, Kind::Postgres] {
        if let Some(fresh) = Fresh::new(kind).await {
            story(fresh).await;
        }
    }
}

pub(crate) async fn receipts(program: &Caller) -> Vec<Value> {
    program.read(&at("/receipts")).await["receipts"].as_array().unwrap().clone()
}

/// Sends a request and never reads an answer: the connection breaks when this
/// is dropped.
async fn ask_and_break(app: &TestApp, program: &Caller, key: &str, body: &Value) -> TcpStream {
    let body = body.to_string();
    let mut stream = TcpStream::connect(app.address.trim_start_matches("http://")).await.unwrap();
    let head = format!(
        "POST /api/v1{} HTTP/1.1\r\nHost: roundel.example\r\nAuthorization: Bearer {}\r\nIdempotency-Key: {key}\r\n\
         Content-Type: application/json\r\nContent-Length: {}\r\n\r\n",
        at("/results"),
        program.token,
        body.len()
    );
    stream.write_all(head.as_bytes()).await.unwrap();
    stream.write_all(body.as_bytes()).await.unwrap();
    stream
}

#[tokio::test]
async fn a_connection_that_breaks_after_the_commit_loses_and_doubles_nothing() {
    on_both(async |fresh| {
        let (round, program) = open_round(fresh).await;
        let broken = ask_and_break(&round.app, &program, &key("broken"), &results(0)).await;
        let mut stored = receipts(&program).await;
        for _ in 0..500 {
            if !stored.is_empty() {
                break;
            }
            tokio::time::sleep(Duration::from_millis(10)).await;
            stored = receipts(&program).await;
        }
        drop(broken);
        assert_eq!(stored.len(), 1, "it was committed");

        let again = program.post(&at("/results"), &key("broken"), &results(0)).await.expect(201);
        assert_eq!(json(&again), stored[0]);
        let once_more = program.post(&at("/results"), &key("broken"), &results(0)).await.expect(201);
        assert_eq!((&once_more.bytes, once_more.header("location")), (&again.bytes, again.header("location")));
        assert_eq!(receipts(&program).await.len(), 1);

        // Broken at once, with the answer unknown: the same holds.
        for _ in 0..10 {
            drop(ask_and_break(&round.app, &program, &key("unknown"), &results(1)).await);
        }
        let again = program.post(&at("/results"), &key("unknown"), &results(1)).await.expect(201);
        let stored = receipts(&program).await;
        assert_eq!(stored.len(), 2);
        assert_eq!(json(&again), stored[1]);
        round.app.end().await;
    })
    .await;
}

#[tokio::test]
async fn fifty_requests_at_once_under_one_key_have_one_effect() {
    on_both(async |fresh| {
        let (round, program) = open_round(fresh).await;
        let tasks: Vec<_> = (0..50)
            .map(|_| {
                let program = program.clone();
                tokio::spawn(async move { program.post(&at("/results"), &key("at-once"), &results(0)).await })
            })
            .collect();
        let mut answers = Vec::new();
        for task in tasks {
            answers.push(task.await.unwrap().expect(201).bytes);
        }
        answers.dedup();
        assert_eq!(answers.len(), 1, "all have the same receipt");
        assert_eq!(receipts(&program).await.len(), 1);
        round.app.end().await;
    })
    .await;
}

#[tokio::test]
async fn a_key_is_of_one_request() {
    let (round, program) = open_round(Fresh::new(Kind::Sqlite).await.unwrap()).await;
    let kind = |answer: &Answer| text(&json(answer), "type").rsplit('/').next().unwrap().to_owned();

    let without = program.post(&at("/results"), "", &results(0)).await.expect(400);
    assert_eq!(kind(&without), "key-missing");
    let short = program.post(&at("/results"), "short", &results(0)).await.expect(400);
    assert_eq!(kind(&short), "unreadable");
    // What is refused leaves its key free.
    program.post(&at("/results"), &key("one"), &json!({ "results": [] })).await.expect(422);
    let taken = program.post(&at("/results"), &key("one"), &results(0)).await.expect(201);
    let other = program.post(&at("/results"), &key("one"), &results(1)).await.expect(422);
    assert_eq!(kind(&other), "key-used");
    // With or without the quotes of a structured field it is the same key.
    let quoted = program.post(&at("/results"), &format!("\"{}\"", key("one")), &results(0)).await.expect(201);
    assert_eq!(quoted.bytes, taken.bytes);
    // Another laboratory has keys of its own.
    let other = Caller::of(&round.laboratories[1], "change").await;
    let own = other.post(&at("/results"), &key("one"), &results(1)).await.expect(201);
    assert_ne!(own.bytes, taken.bytes);
    round.app.end().await;
}

#[tokio::test]
async fn every_mistake_is_answered_at_once_with_its_place() {
    let (round, program) = open_round(Fresh::new(Kind::Sqlite).await.unwrap()).await;
    let mut body = results(0);
    body["results"][0]["values"] = json!([31.9]);
    body["results"][1]["colour"] = json!("blue");
    body["results"][3]["uncertainty"] = json!({ "expanded": "4" });
    body["late"] = json!(true);
    let answer = program.post(&at("/results"), &key("shape"), &body).await.expect(422);
    let mut found = mistakes(&answer);
    found.sort();
    let expected = [
        ("/late", "json-unknown"),
        ("/results/0/values/0", "json-text"),
        ("/results/1/colour", "json-unknown"),
        ("/results/3/uncertainty/form", "json-missing"),
    ];
    assert_eq!(found, expected.map(|(at, code)| (at.to_owned(), code.to_owned())));

    let mut body = results(0);
    body["results"][0]["unit"] = json!("µg/L");
    body["results"][1]["values"] = json!(["1,234"]);
    body["results"][2]["values"] = json!(["twelve"]);
    body["results"][3]["uncertainty"] = json!({ "expanded": "4", "form": "relative", "coverage_factor": "0" });
    body["results"][4] = json!({ "item": "B", "analyte": "carbamazepine", "unit": "ng/L", "state": "failed" });
    body["results"][5]["analyte"] = json!("metoprolole");
    body["results"][6] = body["results"][7].clone();
    let answer = program.post(&at("/results"), &key("content"), &body).await.expect(422);
    let found = mistakes(&answer);
    for expected in [
        ("/results/0/unit", "result-unit"),
        ("/results/1/values/0", "result-number-ambiguous"),
        ("/results/2/values/0", "number-letters"),
        ("/results/3/uncertainty/form", "result-form"),
        ("/results/3/uncertainty/coverage_factor", "number-not-positive"),
        ("/results/4/reason", "result-reason-missing"),
        ("/results/5/analyte", "result-analyte"),
        ("/results/7", "result-twice"),
    ] {
        let expected = (expected.0.to_owned(), expected.1.to_owned());
        assert!(found.contains(&expected), "no {expected:?} in {found:?}");
    }
    let missing = found.iter().filter(|(at, code)| at == "/results" && code == "result-missing").count();
    assert_eq!(missing, 2, "metoprolol in B and diclofenac in B: {found:?}");
    assert_eq!(receipts(&program).await, Vec::<Value>::new());

    // A file has lines and columns.
    let file = results_file(0).replace("ng/L", "mg/L").replacen("A,metoprolol", "A,metoprolole", 1);
    let answer = program.send(Method::POST, &at("/results"), "text/csv", &key("file"), file).await.expect(422);
    let errors = json(&answer)["errors"].as_array().unwrap().clone();
    assert_eq!(errors.len(), 12);
    assert_eq!(
        (&errors[0]["line"], &errors[0]["column"], &errors[0]["seen"]),
        (&json!(2), &json!("unit"), &json!("mg/L"))
    );
    assert_eq!((&errors[1]["line"], &errors[1]["column"]), (&json!(3), &json!("analyte")));
    let short: String = results_file(0).lines().take(12).map(|line| format!("{line}\n")).collect();
    let answer = program.send(Method::POST, &at("/results"), "text/csv", &key("short"), short).await.expect(422);
    assert_eq!(mistakes(&answer), [("/results".to_owned(), "result-missing".to_owned())]);
    for (kind, body, status) in [
        ("application/json", "{\"results\": [}", 400),
        ("application/json", "{\"results\": [], \"results\": []}", 422),
        (
            "application/json",
            "{\"replace_in_time\": true, \"replace_in_time\": false, \"results\": [{\"item\": \"A\", \"analyte\": \"x\", \"unit\": \"y\"}]}",
            400,
        ),
        ("application/xml", "<results/>", 415),
        ("", "", 415),
    ] {
        let answer = program.send(Method::POST, &at("/results"), kind, &key("shape"), body.to_owned()).await;
        assert_eq!(answer.status.as_u16(), status, "{kind} {body}");
        assert_eq!(answer.header("content-type"), "application/problem+json");
    }
    let huge = format!("{{\"results\": \"{}\"}}", "x".repeat(1_200_000));
    program.send(Method::POST, &at("/results"), "application/json", &key("huge"), huge).await.expect(413);
    round.app.end().await;
}

#[tokio::test]
async fn the_organisers_mistakes_have_places_too() {
    let app = TestApp::new().await;
    let page = scenario::set_up(&app).await;
    let organiser = Caller::of(&page, "change").await;
    scenario::new_round(&app, &page, CODE).await;

    let round = json!({ "code": CODE, "title": "", "closes_on": "soon", "closes_time": "17:00", "time_zone": "Mars" });
    let found = mistakes(&organiser.post("/rounds", &key("round"), &round).await.expect(422));
    assert_eq!(found.iter().map(|(at, _)| at.as_str()).collect::<Vec<_>>(), ["/title", "/closes_on", "/time_zone"]);

    let items = json!({ "items": [{ "label": "A" }, { "label": "a" }, { "label": "too long a label" }] });
    let found = mistakes(&organiser.post(&at("/items"), &key("items"), &items).await.expect(422));
    assert_eq!(found.iter().map(|(at, _)| at.as_str()).collect::<Vec<_>>(), ["/items/1/label", "/items/2/label"]);
    let items = json!({ "items": [{ "label": "A", "matrix": "river water" }, { "label": "B" }] });
    organiser.post(&at("/items"), &key("items"), &items).await.expect(201);

    let measurand = |item: &str, analyte: &str, unit: &str| json!({ "item": item, "analyte": analyte, "unit": unit });
    let body = json!({ "measurands": [
        measurand("A", "carbamazepine", "ng/L"), measurand("A", "Carbamazepine", "ng/L"), measurand("C", "x", ""),
    ] });
    let found = mistakes(&organiser.post(&at("/measurands"), &key("measurands"), &body).await.expect(422));
    let places: Vec<&str> = found.iter().map(|(at, _)| at.as_str()).collect();
    assert_eq!(places, ["/measurands/1/analyte", "/measurands/2/item", "/measurands/2/unit"]);
    let body = json!({ "measurands": [measurand("A", "carbamazepine", "ng/L"), measurand("B", "diclofenac", "ng/L")] });
    organiser.post(&at("/measurands"), &key("measurands"), &body).await.expect(201);

    let plan = json!({
        "route": "formulation", "value": "32.4", "standard_uncertainty": "0.39", "sigma_route": "percent", "sigma": "25",
    });
    let one = |item: &str, analyte: &str, plan: &Value| json!({ "item": item, "analyte": analyte, "plan": plan });
    let body = json!({ "assigned_values": [
        one("A", "carbamazepine", &json!({ "route": "formulation", "value": "x" })), one("A", "diclofenac", &plan),
    ] });
    let found = mistakes(&organiser.put(&at("/assigned-values"), &body).await.expect(422));
    assert!(found.iter().any(|(at, _)| at == "/assigned_values/0/plan/value"), "{found:?}");
    assert!(found.iter().any(|(at, _)| at == "/assigned_values/1/analyte"), "{found:?}");
    let body = json!({ "assigned_values": [one("A", "carbamazepine", &plan)] });
    let set = json(&organiser.put(&at("/assigned-values"), &body).await.expect(200));
    assert_eq!(set, json!({ "count": 1, "without": ["B/diclofenac"] }));
    let read = organiser.read(&at("/assigned-values")).await;
    assert_eq!(text(&read["assigned_values"][0]["plan"], "value"), "32.4");
    assert_eq!(read["without"], json!(["B/diclofenac"]));

    let body = json!({ "participants": [
        { "name": "Alderbrook", "email": "a@alder.example" }, { "name": "alderbrook", "email": "b@alder.example" },
        { "name": "Birch", "email": "not an address" },
    ] });
    let found = mistakes(&organiser.post(&at("/participants"), &key("labs"), &body).await.expect(422));
    assert_eq!(
        found.iter().map(|(at, _)| at.as_str()).collect::<Vec<_>>(),
        ["/participants/1/name", "/participants/2/email"]
    );
    let not_ready = organiser.send(Method::POST, &at("/opening"), "", &key("open"), String::new()).await.expect(409);
    assert_eq!(text(&json(&not_ready), "title"), "Not as things stand");

    // What was put in can be taken out while the round is being set up.
    let gone = organiser.send(Method::DELETE, &at("/measurands/2"), "", "", String::new()).await;
    assert_eq!(gone.status.as_u16(), 204);
    organiser.send(Method::DELETE, &at("/items/B"), "", "", String::new()).await.expect(204);
    let view = organiser.read(&at("")).await;
    assert_eq!(view["items"].as_array().unwrap().len(), 1);
    assert_eq!(view["measurands"].as_array().unwrap().len(), 1);
    app.end().await;
}

#[tokio::test]
async fn rounds_come_in_slices_that_lead_on() {
    let app = TestApp::new().await;
    let page = scenario::set_up(&app).await;
    let organiser = Caller::of(&page, "look").await;
    for n in 1..=5 {
        scenario::new_round(&app, &page, &format!("QT-{n}")).await;
    }
    let codes = |list: &Value| -> Vec<String> {
        list["rounds"].as_array().unwrap().iter().map(|round| text(round, "code").to_owned()).collect()
    };
    let first = organiser.get("/rounds?limit=2").await.expect(200);
    assert_eq!(codes(&json(&first)), ["QT-5", "QT-4"]);
    let next = text(&json(&first), "next").to_owned();
    assert_eq!(first.header("link"), format!("<{next}>; rel=\"next\""));
    // A round that is made meanwhile moves nothing.
    scenario::new_round(&app, &page, "QT-6").await;
    let path = next.strip_prefix(&format!("{}/api/v1", app.address)).unwrap();
    let second = organiser.read(path).await;
    assert_eq!(codes(&second), ["QT-3", "QT-2"]);
    let path = text(&second, "next").strip_prefix(&format!("{}/api/v1", app.address)).unwrap();
    let third = organiser.read(path).await;
    assert_eq!((codes(&third), third.get("next")), (vec!["QT-1".to_owned()], None));
    for bad in ["/rounds?limit=0", "/rounds?limit=x", "/rounds?after=QT-1", "/rounds?colour=blue"] {
        organiser.get(bad).await.expect(400);
    }
    app.end().await;
}

#[tokio::test]
async fn the_description_is_served_and_every_kind_of_problem_has_a_page() {
    let app = TestApp::new().await;
    let stranger: Visitor = app.visitor();
    let described = json(&stranger.get("/api/v1/openapi.json").await.expect(200));
    assert_eq!(text(&described, "openapi"), "3.1.0");
    assert_eq!(text(&described["servers"][0], "url"), format!("{}/api/v1", app.address));
    let page = stranger.page("/interface").await;
    let kinds: Vec<String> =
        page.all("a[href^='/problems/']").iter().map(|a| a.attr("href").unwrap().to_owned()).collect();
    assert_eq!(kinds.len(), 14);
    for kind in kinds {
        assert!(!stranger.page(&kind).await.text("main .lead").is_empty());
    }
    app.end().await;
}
