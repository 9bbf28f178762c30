//! Several people of a laboratory: rights, invitations, the end of access, and
//! the second person who sends.

use crate::headers::routes;
use crate::interface::key;
use crate::support::app::TestApp;
use crate::support::axe::{look, rules};
use crate::support::browser::Browser;
use crate::support::caller::{Caller, json};
use crate::support::page::Page;
use crate::support::scenario::{self, CODE, MEASURANDS, OpenRound, PASSWORD, at, email, enter, send};
use crate::support::sink::{Mode, Sink};
use crate::support::visitor::Visitor;
use reqwest::Method;
use roundel_store::testing::{Fresh, Kind};
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

/// Invites somebody on the page; the path of the link.
async fn invite(who: &Visitor, email: &str, rights: &str) -> String {
    let fields = [("email", email), ("rights", rights)];
    let page = who.submit("/people", "/people", &fields).await.expect(200).page();
    let address = page.text("section.once code.link");
    address[address.find("/invitations/").expect("an address with its token")..].to_owned()
}

/// Makes the account of a link; the person, signed in.
async fn join(app: &TestApp, link: &str, name: &str) -> Visitor {
    let visitor = app.visitor();
    visitor.submit(link, link, &[("name", name), ("password", PASSWORD)]).await.leads_to();
    visitor
}

/// The addresses of the forms of a person on the page: `…/rights`.
fn address_of(page: &Page, name: &str) -> String {
    let place = page.texts("table.people:first-of-type tbody th .strong").iter().position(|shown| shown == name);
    let place = place.unwrap_or_else(|| panic!("{name} is not in the list: {}", page.texts("th").join(", ")));
    page.all("form[action$='/rights']")[place].attr("action").expect("an address").to_owned()
}

/// The first laboratory with four people: two who send, one who enters, one who
/// reads.
struct House {
    round: OpenRound,
    enters: Visitor,
    reads: Visitor,
    sends: Visitor,
}

impl House {
    async fn new() -> House {
        House::on(OpenRound::new(2).await).await
    }

    async fn on(round: OpenRound) -> House {
        let ada = &round.laboratories[0];
        let mut people = Vec::new();
        for (name, rights) in [("Emil Enter", "enter"), ("Rosa Read", "read"), ("Sven Send", "submit")] {
            let address = format!("{}@alderbrook.example", name.split(' ').next().unwrap().to_lowercase());
            people.push(join(&round.app, &invite(ada, &address, rights).await, name).await);
        }
        let [enters, reads, sends] = people.try_into().expect("three came");
        House { round, enters, reads, sends }
    }

    fn ada(&self) -> &Visitor {
        &self.round.laboratories[0]
    }
}

/// What a route that takes forms asks of a person of a laboratory.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Asks {
    /// Nothing: it is everybody's own.
    Nothing,
    Enter,
    Submit,
}

/// The routes of forms that a laboratory's people have. Every other one is the
/// organiser's: to a laboratory it does not exist.
const FORMS: [(&str, Asks); 26] = [
    ("/tokens", Asks::Nothing),
    ("/tokens/{id}/revoke", Asks::Nothing),
    ("/sign-out", Asks::Nothing),
    ("/sign-in", Asks::Nothing),
    ("/invitations/{token}", Asks::Nothing),
    ("/staff-invitations/{token}", Asks::Nothing),
    ("/people", Asks::Submit),
    ("/people/second", Asks::Submit),
    ("/people/withdraw", Asks::Submit),
    ("/people/{id}/rights", Asks::Submit),
    ("/people/{id}/end", Asks::Submit),
    ("/rounds/{code}/results/{item}", Asks::Enter),
    ("/rounds/{code}/results/{item}/paste", Asks::Enter),
    ("/rounds/{code}/results-upload", Asks::Enter),
    ("/rounds/{code}/tasks/{task}", Asks::Enter),
    ("/rounds/{code}/arrival/{label}/upload", Asks::Enter),
    ("/rounds/{code}/submit", Asks::Submit),
    ("/rounds/{code}/questions", Asks::Enter),
    ("/rounds/{code}/proposals/{id}/take", Asks::Enter),
    ("/rounds/{code}/proposals/{id}/leave", Asks::Enter),
    ("/rounds/{code}/proposals/{id}/undo", Asks::Enter),
    ("/rounds/{code}/requests", Asks::Submit),
    ("/rounds/{code}/cases", Asks::Submit),
    ("/rounds/{code}/name-on-certificates", Asks::Submit),
    ("/verify", Asks::Nothing),
    ("/rounds/{code}/open-data/consent", Asks::Submit),
];

#[tokio::test]
async fn every_route_and_every_address_for_programs_keeps_to_the_rights_of_the_person() {
    let house = House::new().await;
    enter(&house.enters, &scenario::all_typed(0)).await;
    let receipt = send(house.ada()).await;
    let id = address_of(&house.ada().page("/people").await, "Sven Send").split('/').nth(2).unwrap().to_owned();
    let code = house.ada().page(&receipt).await.text("dd.code");
    let known: BTreeMap<&str, &str> = [
        ("{code}", CODE),
        ("{item}", "A"),
        ("{task}", "unit"),
        ("{label}", "A"),
        ("{position}", "1"),
        ("{lab}", &code),
        ("{id}", &id),
        ("{message}", &id),
        ("{question}", &id),
        ("{word}", "fields"),
        ("{token}", "none"),
        ("{name}", "none"),
    ]
    .into();
    let concrete = |route: &str| {
        let part = |part| known.get(part).copied().unwrap_or(part).to_owned();
        route.split('/').map(part).collect::<Vec<_>>().join("/")
    };
    let ready = |asks| FORMS.iter().any(|(_, of)| *of == asks);
    assert!(ready(Asks::Enter) && ready(Asks::Submit));
    for (who, enters) in [(&house.reads, false), (&house.enters, true)] {
        let token = who.page("/people").await.value("form_token");
        for route in routes() {
            let path = concrete(route);
            let asks = FORMS.iter().find(|(form, _)| *form == route).map(|(_, asks)| *asks);
            if asks == Some(Asks::Nothing) || route.starts_with("/setup") || route.starts_with("/static") {
                continue;
            }
            let mut fields = vec![("form_token".to_owned(), token.clone())];
            if asks == Some(Asks::Enter) {
                fields.push(("1.v1".to_owned(), "999".to_owned()));
            }
            let posted = if route.ends_with("upload") || route.contains("/studies/") {
                let form = reqwest::multipart::Form::new().text("form_token", token.clone());
                who.send(format!("POST {path}"), who.request(Method::POST, &path).multipart(form)).await
            } else {
                who.post(&path, &fields).await
            };
            let status = posted.status.as_u16();
            match asks {
                Some(Asks::Submit) => assert_eq!(status, 403, "{route}, enters: {enters}"),
                Some(Asks::Enter) if !enters => assert_eq!(status, 403, "{route}"),
                Some(_) => assert_ne!(status, 403, "{route}: may enter"),
                None => assert!([404, 405].contains(&status), "{route} answered {status}: name it in FORMS"),
            }
            if status == 403 {
                let sentence = posted.page().text("main");
                assert!(sentence.contains("Ask a colleague") || sentence.contains("ask a colleague"), "{sentence}");
            }
            let looked = who.get(&path).await;
            assert!(!looked.status.is_server_error(), "{path}");
            let form_only =
                route.ends_with("/results-upload") || route.ends_with("/paste") || route == "/people/{id}/end";
            let form_only = form_only || (route == "/rounds/{code}/proposals/{id}" && !enters);
            assert_eq!(looked.status == 403, form_only && (!enters || route.contains("end")), "GET {route}");
        }
    }
    // What the one who may only read posted is nowhere; the others' is.
    let page = house.reads.page(&at("/results/A")).await;
    assert!(!page.has("main form") && !page.has("main input"), "nothing to type into");
    assert!(page.text("main .attention").contains("may read only"));
    assert!(page.texts("#row-1 td").contains(&"999".to_owned()), "typed by the one who may enter");
    assert!(page.texts("#row-2 td").contains(&scenario::typed(0, 1)));
    assert!(!house.reads.page(&at("/tasks/unit")).await.has("main form"));
    assert!(!house.reads.page(&at("")).await.has("a[href$='results-upload']"));
    let check = house.reads.page(&at("/check")).await;
    assert!(!check.has("main button"));
    assert!(check.text("#second").contains("Ada Sample, Sven Send"), "{}", check.text("#second"));
    house.reads.page(&receipt).await;

    // Programs act with what their person may now.
    let of_reader = Caller::of(&house.reads, "change").await;
    let description = house.ada().get("/api/v1/openapi.json").await;
    let description: Value =
        if description.status == 200 { json(&description) } else { of_reader.read("/openapi.json").await };
    let mut changing = 0;
    for (right, program) in [("read", of_reader.clone()), ("enter", Caller::of(&house.enters, "change").await)] {
        for (path, methods) in description["paths"].as_object().expect("addresses") {
            let path = path.trim_start_matches("/api/v1");
            for method in methods.as_object().expect("methods").keys() {
                let method: Method = method.to_uppercase().parse().unwrap();
                let body = if method == Method::GET { String::new() } else { draft_body().to_string() };
                let kind = if body.is_empty() { "" } else { "application/json" };
                let request_key = key(&format!("{right}{path}").replace(['/', '{', '}'], ""));
                let answer = program.send(method.clone(), &concrete(path), kind, &request_key, body).await;
                let status = answer.status.as_u16();
                if path == "/rounds/{code}/results" && method == Method::POST {
                    assert_eq!(status, 403, "{right}");
                    assert!(answer.text().contains("Ask a colleague who may send"), "{}", answer.text());
                    changing += 1;
                } else if method == Method::GET {
                    assert_ne!(status, 403, "{right} GET {path}");
                } else {
                    assert_eq!(status, 404, "{right} {method} {path}: the organiser's");
                }
            }
        }
    }
    assert_eq!(changing, 2);
    // The right is given, and the same token sends.
    let address = address_of(&house.ada().page("/people").await, "Rosa Read");
    house.ada().submit("/people", &address, &[("rights", "submit")]).await.leads_to();
    of_reader.post(&at("/results"), &key("now-she-may"), &draft_body()).await.expect(201);
    house.round.app.end().await;
}

/// What [`enter`] types for the first laboratory, as a program sends it.
fn draft_body() -> Value {
    let row = |(place, asked): (usize, &scenario::Asked)| json!({ "item": asked.item, "analyte": asked.analyte, "unit": "ng/L", "values": [scenario::typed(0, place)] });
    json!({ "results": MEASURANDS.iter().enumerate().map(row).collect::<Vec<Value>>() })
}

#[tokio::test]
async fn one_person_who_may_send_is_always_left_and_bad_input_keeps_what_was_typed() {
    let round = OpenRound::new(1).await;
    let ada = &round.laboratories[0];
    let page = ada.page("/people").await;
    assert!(page.text("main").contains("You are alone here so far"));
    assert!(page.text("main").contains("Please share no account"));
    assert_eq!(page.texts("table.people tbody th .strong"), ["Ada Sample"]);
    let address = address_of(&page, "Ada Sample");
    let field = format!("rights-{}", address.split('/').nth(2).unwrap());

    for rights in ["enter", "read", "all"] {
        let fields = [("form_token".to_owned(), page.value("form_token")), ("rights".to_owned(), rights.to_owned())];
        let wrong = ada.post(&address, &fields).await.expect(422).page();
        assert!(wrong.has(&format!("#problems a[href='#{field}']")), "{}", wrong.problems());
        assert_eq!(wrong.attribute(&format!("select[id='{field}']"), "aria-describedby"), format!("{field}-error"));
    }
    let end = address.replace("/rights", "/end");
    let fields = [("form_token".to_owned(), page.value("form_token"))];
    assert!(ada.get(&end).await.expect(422).page().problems().contains("Give somebody else the right to send first"));
    ada.post(&end, &fields).await.expect(422);
    assert!(ada.page("/people").await.has("select option[value='submit'][selected]"), "nothing changed");

    // Bad input: every field is named, and what was typed stands there still.
    for (typed, rights, wrong) in [
        ("", "", vec!["email", "rights"]),
        ("emil(at)alderbrook.example", "enter", vec!["email"]),
        ("emil@alderbrook.example", "everything", vec!["rights"]),
        ("  RESULTS@alderbrook.example", "read", vec!["email"]),
    ] {
        let mut fields = fields.to_vec();
        fields.extend([("email".to_owned(), typed.to_owned()), ("rights".to_owned(), rights.to_owned())]);
        let answer = ada.post("/people", &fields).await.expect(422).page();
        assert_eq!(answer.all("#problems li").len(), wrong.len(), "{typed}: {}", answer.problems());
        for name in wrong {
            assert!(answer.has(&format!("#problems a[href='#{name}']")), "{typed}: {}", answer.problems());
            assert!(answer.has(&format!("#{name}-error")), "{typed}");
        }
        assert_eq!(answer.attribute("#email", "value"), typed);
        assert_eq!(answer.has(&format!("#rights-{rights}[checked]")), ["enter", "read"].contains(&rights), "{typed}");
    }

    // Invited twice, the newer link counts; withdrawn, none does.
    let first = invite(ada, "Emil@alderbrook.example", "enter").await;
    let second = invite(ada, "emil@alderbrook.example", "submit").await;
    round.app.visitor().get(&first).await.expect(409);
    assert_eq!(ada.page("/people").await.texts("table.people:last-of-type tbody th"), ["emil@alderbrook.example"]);
    round.app.visitor().page(&second).await;
    ada.submit("/people", "/people/withdraw", &[]).await.leads_to();
    round.app.visitor().get(&second).await.expect(409);
    let mut again = fields.to_vec();
    again.push(("email".to_owned(), "emil@alderbrook.example".to_owned()));
    ada.post("/people/withdraw", &again).await.expect(404);

    // With a second person who may send, the first may give it away; not both.
    let emil = join(&round.app, &invite(ada, "emil@alderbrook.example", "submit").await, "Emil Enter").await;
    ada.submit("/people", &address, &[("rights", "enter")]).await.leads_to();
    ada.post(&address, &[fields[0].clone(), ("rights".to_owned(), "submit".to_owned())]).await.expect(403);
    let of_emil = address_of(&emil.page("/people").await, "Emil Enter");
    emil.submit("/people", &of_emil, &[("rights", "read")]).await.expect(422);
    let record = emil.page("/people").await.text("details.record");
    for line in ["Invited: emil@alderbrook.example (enter)", "Came by invitation: Emil Enter (submit)"] {
        assert!(record.contains(line), "{line}: {record}");
    }
    assert!(record.contains("Ada Sample: submit → enter, Ada Sample"), "{record}");
    assert!(record.contains("Invitation withdrawn: emil@alderbrook.example"), "{record}");
    round.app.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn two_who_take_each_others_right_at_once_leave_one_of_them() {
    for kind in [Kind::Sqlite, Kind::Postgres] {
        let Some(fresh) = Fresh::new(kind).await else { continue };
        let round = OpenRound::on(TestApp::on(fresh).await, 1).await;
        let ada = &round.laboratories[0];
        let sven = join(&round.app, &invite(ada, "sven@alderbrook.example", "submit").await, "Sven Send").await;
        let page = ada.page("/people").await;
        let [of_ada, of_sven] = ["Ada Sample", "Sven Send"].map(|name| address_of(&page, name));
        let posted = |page: &Page| {
            vec![("form_token".to_owned(), page.value("form_token")), ("rights".to_owned(), "read".to_owned())]
        };
        let (by_ada, by_sven) = (posted(&page), posted(&sven.page("/people").await));

        let (first, second) = tokio::join!(ada.post(&of_sven, &by_ada), sven.post(&of_ada, &by_sven));

        let statuses = [first.status.as_u16(), second.status.as_u16()];
        assert_eq!(statuses.iter().filter(|status| **status == 303).count(), 1, "{kind:?}: {statuses:?}");
        assert!(statuses.iter().any(|status| [403, 422].contains(status)), "{kind:?}: {statuses:?}");
        let managing = [ada, &sven];
        let mut left = 0;
        for person in managing {
            left += usize::from(person.page("/people").await.has("form[action='/people']"));
        }
        assert_eq!(left, 1, "{kind:?}");
        round.app.end().await;
    }
}

#[tokio::test]
async fn ended_access_ends_session_token_and_invitations_at_once_and_leaves_the_name() {
    let house = House::new().await;
    enter(&house.sends, &scenario::all_typed(0)).await;
    let receipt = send(&house.sends).await;
    let program = Caller::of(&house.sends, "change").await;
    program.get(&at("")).await.expect(200);
    let of_sven = invite(&house.sends, "sven.elsewhere@alderbrook.example", "submit").await;
    let end = address_of(&house.ada().page("/people").await, "Sven Send").replace("/rights", "/end");

    house.ada().submit(&end, &end, &[]).await.leads_to();

    assert_eq!(house.sends.get("/rounds").await.leads_to(), "/sign-in");
    program.get(&at("")).await.expect(401);
    house.round.app.visitor().get(&of_sven).await.expect(409);
    let fields = [("email", "sven@alderbrook.example"), ("password", PASSWORD)];
    let refused = house.sends.submit("/sign-in", "/sign-in", &fields).await.expect(422).page();
    assert!(refused.problems().contains("Access of this account was ended"), "{}", refused.problems());
    let wrong = [("email", "sven@alderbrook.example"), ("password", "some other words")];
    let refused = house.sends.submit("/sign-in", "/sign-in", &wrong).await.expect(422).page();
    assert!(refused.problems().contains("do not belong together"), "only who knows the password is told");
    // Once more is no more.
    let token = house.ada().page("/people").await.value("form_token");
    house.ada().post(&end, &[("form_token".to_owned(), token)]).await.expect(404);
    let page = house.ada().page("/people").await;
    assert!(!page.texts("table.people tbody th .strong").contains(&"Sven Send".to_owned()));
    assert!(page.text("main").contains("Sven Send, until"), "the name stays");
    assert!(page.text("details.record").contains("Access ended: Sven Send, Ada Sample"));
    house.ada().page(&receipt).await;

    // Invited again, the same person has the same account; old keys stay dead.
    let link = invite(house.ada(), "sven@alderbrook.example", "read").await;
    let back = join(&house.round.app, &link, "Sven Send").await;
    assert!(back.page("/people").await.text("main .attention").contains("You can look at this list"));
    program.get(&at("")).await.expect(401);
    assert_eq!(house.sends.get("/rounds").await.leads_to(), "/sign-in");
    house.round.app.end().await;
}

#[tokio::test]
async fn with_a_second_person_whoever_typed_does_not_send() {
    let house = House::new().await;
    let (ada, emil, sven) = (house.ada(), &house.enters, &house.sends);
    let second = async |who: &Visitor| who.submit("/people", "/people/second", &[]).await;
    second(ada).await.leads_to();
    assert!(sven.page("/people").await.text("main").contains("On: results are sent by somebody who typed none"));

    enter(emil, &scenario::all_typed(0)).await;
    let check = emil.page(&at("/check")).await;
    assert!(check.text("#second").contains("Typed by: Emil Enter."), "{}", check.text("#second"));
    assert!(check.text("#second").contains("Ada Sample, Sven Send"));
    emil.submit(&at("/check"), &at("/submit"), &[]).await.expect(403);
    assert!(ada.page(&at("/check")).await.text("#second").contains("You typed none of what changed"));

    // Ada mends one number, and is no second person any more.
    let path = at("/results/A");
    ada.submit(&path, &path, &[("1.v1", "33.01"), ("command", "save")]).await.leads_to();
    let check = ada.page(&at("/check")).await;
    assert!(!check.has("form[action$='/submit'] button"), "nothing to press in vain");
    assert!(check.text("#second").contains("These can: Sven Send."), "{}", check.text("#second"));
    let refused = ada.submit(&at("/check"), &at("/submit"), &[]).await.expect(422).page();
    let said = refused.text("#problems a[href='#second']");
    assert!(said.contains("Typed by: Ada Sample, Emil Enter.") && said.contains("Sven Send"), "{said}");
    let receipt = send(sven).await;
    assert!(receipt.starts_with("/receipts/"));

    // What Emil types next Ada may send: she typed nothing of it.
    emil.submit(&path, &path, &[("1.v1", "33.02"), ("command", "save")]).await.leads_to();
    send(ada).await;

    // Programs: results of their own never, the draft of somebody else exactly.
    let program = Caller::of(ada, "change").await;
    let mut body = draft_body();
    body["results"][0]["values"] = json!(["33.03"]);
    let refused = program.post(&at("/results"), &key("second-own"), &body).await.expect(409);
    assert!(refused.text().contains("a program cannot send results that it brings itself"), "{}", refused.text());
    ada.submit(&path, &path, &[("1.v1", "33.03"), ("command", "save")]).await.leads_to();
    let refused = program.post(&at("/results"), &key("second-typed"), &body).await.expect(409);
    assert!(refused.text().contains("Typed by: Ada Sample."), "{}", refused.text());
    Caller::of(emil, "change").await.post(&at("/results"), &key("second-emil"), &body).await.expect(403);
    let of_sven = Caller::of(sven, "change").await;
    of_sven.post(&at("/results"), &key("second-draft"), &body).await.expect(201);

    // A program's sending between does not make a waiting draft anybody else's.
    sven.submit(&path, &path, &[("1.v1", "33.04"), ("command", "save")]).await.leads_to();
    second(ada).await.leads_to();
    body["results"][0]["values"] = json!(["33.05"]);
    program.post(&at("/results"), &key("second-off"), &body).await.expect(201);
    second(ada).await.leads_to();
    let refused = sven.submit(&at("/check"), &at("/submit"), &[]).await.expect(422).page();
    assert!(refused.text("#problems a[href='#second']").contains("Typed by: Sven Send."), "{}", refused.problems());

    // Nobody left: it says so, and what to do.
    for name in ["Sven Send", "Emil Enter"] {
        let end = address_of(&ada.page("/people").await, name).replace("/rights", "/end");
        ada.submit(&end, &end, &[]).await.leads_to();
    }
    ada.submit(&path, &path, &[("1.v1", "33.06"), ("command", "save")]).await.leads_to();
    assert!(ada.page(&at("/check")).await.text("#second").contains("nobody is left for that"));
    assert!(ada.page("/people").await.text("main").contains("Nobody can send like this"));
    second(ada).await.leads_to();
    let alone = second(ada).await.expect(422).page();
    assert!(alone.has("#problems a[href='#second']") && alone.has("#second-error"), "{}", alone.problems());
    send(ada).await;
    house.round.app.end().await;
}

#[tokio::test]
async fn another_laboratorys_people_are_as_nobody() {
    let house = House::new().await;
    let other = &house.round.laboratories[1];
    let open = invite(house.ada(), "nina@alderbrook.example", "read").await;
    let own = house.ada().page("/people").await;
    let theirs = other.page("/people").await;
    for name in ["Emil", "Rosa", "Sven", "alderbrook", "nina"] {
        assert!(!theirs.text("main").contains(name), "{name}");
    }
    let token = || ("form_token".to_owned(), theirs.value("form_token"));
    let nobody = "/people/0198c7a2-6f0e-7d3c-9b51-2f1d8a54e0aa/rights";
    for address in [address_of(&own, "Emil Enter"), nobody.to_owned()] {
        let end = address.replace("/rights", "/end");
        other.post(&address, &[token(), ("rights".to_owned(), "read".to_owned())]).await.expect(404);
        other.get(&end).await.expect(404);
        other.post(&end, &[token()]).await.expect(404);
    }
    let email = ("email".to_owned(), "nina@alderbrook.example".to_owned());
    other.post("/people/withdraw", &[token(), email]).await.expect(404);
    house.round.app.visitor().page(&open).await;

    // An address with an account elsewhere: inviting tells nothing of it, and the
    // link makes no second account and moves nobody.
    let link = invite(other, "emil@alderbrook.example", "submit").await;
    let visitor = house.round.app.visitor();
    let fields = [("name", "Eve"), ("password", PASSWORD), ("email", "eve@birchmoor.example")];
    let refused = visitor.submit(&link, &link, &fields).await.expect(422).page();
    assert!(refused.problems().contains("an account belongs to one laboratory"), "{}", refused.problems());
    assert_eq!(refused.attribute("#name", "value"), "Eve");
    house.enters.page("/people").await;

    // The organiser has no such page, and nobody comes in without signing in.
    let organiser = &house.round.organiser;
    organiser.get("/people").await.expect(403);
    assert!(!organiser.page("/rounds").await.has("nav a[href='/people']"));
    assert!(other.page("/rounds").await.has("nav a[href='/people']"));
    assert_eq!(house.round.app.visitor().get("/people").await.leads_to(), "/sign-in");
    house.round.app.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_colleague_is_invited_by_mail_unless_it_is_withdrawn() {
    let sink = Sink::start(Mode::Accept).await;
    let fresh = Fresh::new(Kind::Sqlite).await.expect("a file is always there");
    let round = OpenRound::on(TestApp::with_mail(fresh, sink.mailer()).await, 1).await;
    let ada = &round.laboratories[0];
    let before = sink.mails().len();

    let shown = invite(ada, "emil@alderbrook.example", "enter").await;
    let mails = sink.wait(before + 1).await;

    let mail = mails.last().unwrap();
    assert_eq!(mail.recipients, ["emil@alderbrook.example"]);
    assert!(mail.text().contains("Ada Sample invites you"), "{}", mail.text());
    let sent = mail.path("/invitations/");
    assert_ne!(sent, shown, "each has a token of its own");
    let emil = join(&round.app, &sent, "Emil Enter").await;
    assert!(emil.page("/people").await.has("main .attention"), "may enter, not manage");
    round.app.visitor().get(&shown).await.expect(409);
    round.app.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_pages_of_people_keep_the_accessibility_rules() {
    let Some(rules) = rules() else { return };
    let house = House::new().await;
    let Some(browser) = Browser::start(&house.round.app.address).await else { return };
    let mut faults = BTreeSet::new();
    invite(house.ada(), "a.colleague.with.a.rather.long.address@alderbrook-water-laboratory.example", "read").await;
    enter(&house.enters, &scenario::all_typed(0)).await;

    browser.sign_in(&email(0)).await;
    browser.go("/people").await;
    look(&browser, &rules, "people", &mut faults).await;
    browser.press("form[action='/people'] button").await;
    assert!(browser.page().await.has("#problems"));
    look(&browser, &rules, "people with mistakes", &mut faults).await;
    let end = address_of(&house.ada().page("/people").await, "Sven Send").replace("/rights", "/end");
    browser.go(&end).await;
    look(&browser, &rules, "end of access", &mut faults).await;
    house.ada().submit(&end, &end, &[]).await.leads_to();
    house.ada().submit("/people", "/people/second", &[]).await.leads_to();
    browser.go("/people").await;
    look(&browser, &rules, "people, one gone", &mut faults).await;
    browser.go(&at("/check")).await;
    look(&browser, &rules, "check, second person", &mut faults).await;
    browser.sign_in("rosa@alderbrook.example").await;
    for path in ["/people".to_owned(), at(""), at("/results/A"), at("/tasks/unit"), at("/check")] {
        browser.go(&path).await;
        look(&browser, &rules, &format!("{path}, to read"), &mut faults).await;
    }
    browser.end().await;

    let lines: Vec<&str> = faults.iter().map(String::as_str).collect();
    assert!(lines.is_empty(), "{} faults:\n{}", lines.len(), lines.join("\n"));
    house.round.app.end().await;
}
