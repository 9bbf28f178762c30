//! What is refused, with its sentence, and what is kept all the same.

use crate::support::app::TestApp;
use crate::support::page::Page;
use crate::support::scenario::{self, CODE, OpenRound, PASSWORD, at, email, enter, send};
use crate::support::visitor::{Visitor, filled};
use jiff::SignedDuration;
use reqwest::Method;
use roundel_store::testing::{Fresh, Kind};

/// The state that a row's receipt shows: what was evaluated, by place.
async fn evaluated(visitor: &Visitor, receipt: &str) -> Vec<String> {
    visitor.page(receipt).await.texts("table.check tbody td:nth-of-type(2)")
}

#[tokio::test]
async fn a_result_after_closing_is_refused_with_the_time_of_closing() {
    let round = OpenRound::new(1).await;
    let laboratory = &round.laboratories[0];
    enter(laboratory, &scenario::all_typed(0)).await;
    let entry = laboratory.page(&at("/results/A")).await;
    let check = laboratory.page(&at("/check")).await;

    round.app.clock.advance(SignedDuration::from_hours(26));
    round.organiser.sign_in(scenario::ORGANISER, PASSWORD).await;
    round.organiser.submit(&at("/close"), &at("/close"), &[]).await.leads_to();
    let closed = round.app.clock.now();
    // Twelve hours are over: the laboratory signs in again, its pages are old.
    laboratory.sign_in(&email(0), PASSWORD).await;
    let token = laboratory.page("/rounds").await.value("form_token");

    // The minute of closing may have been over when the test looked.
    let minute = |ahead| (closed - SignedDuration::from_secs(ahead)).strftime("%-d %B %Y, %H:%M UTC").to_string();
    let sentence = |at: &str| format!("This round was closed on {at}. Results can no longer be sent.");
    for (page, action) in [(&entry, at("/results/A")), (&check, at("/submit"))] {
        let answer = laboratory.fill(page, &action, &[("form_token", &token)]).await.expect(409);
        let said = answer.page().text("main .lead");
        assert!([0, 60].map(|ahead| sentence(&minute(ahead))).contains(&said), "{action}: {said}");
    }
    assert!(!laboratory.page(&at("")).await.has(".versions li"), "nothing was sent");
    // Looking at the form after closing leads back to the round.
    assert_eq!(laboratory.get(&at("/results/A")).await.leads_to(), at(""));
    round.app.end().await;
}

#[tokio::test]
async fn a_result_after_the_deadline_is_marked_late_and_refused_after_two_days() {
    let round = OpenRound::new(1).await;
    let laboratory = &round.laboratories[0];
    enter(laboratory, &scenario::all_typed(0)).await;

    round.app.clock.advance(SignedDuration::from_hours(26));
    laboratory.sign_in(&email(0), PASSWORD).await;
    let receipt = send(laboratory).await;
    assert!(laboratory.page(&at("")).await.has(".versions strong.late"));
    assert!(laboratory.page(&receipt).await.has(".attention"));
    let check = laboratory.page(&at("/check")).await;

    round.app.clock.advance(SignedDuration::from_hours(48));
    laboratory.sign_in(&email(0), PASSWORD).await;
    let token = laboratory.page("/rounds").await.value("form_token");
    let answer = laboratory.fill(&check, &at("/submit"), &[("form_token", &token)]).await.expect(409);
    let said = answer.page().text("main .lead");
    assert!(said.contains("more than 48 hours have passed. Results can no longer be sent."), "{said}");
    round.app.end().await;
}

#[tokio::test]
async fn what_is_anothers_answers_like_what_does_not_exist() {
    let round = OpenRound::new(3).await;
    let receipts = round.all_send().await;
    let stranger = {
        // A laboratory of this installation that is not in this round.
        scenario::new_round(&round.app, &round.organiser, "QT-2").await;
        let new = [("name", "Moorside Laboratory"), ("email", "results@moorside.example")];
        let page = "/rounds/QT-2/laboratories";
        round.organiser.submit(page, page, &new).await.leads_to();
        let shown = round.organiser.submit(page, "/rounds/QT-2/laboratories/invite", &[]).await.expect(200).page();
        let address = shown.text("section.once code.link");
        let path = address[address.find("/invitations/").unwrap()..].to_owned();
        let visitor = round.app.visitor();
        let fields = [("name", "Mo Side"), ("email", "results@moorside.example"), ("password", PASSWORD)];
        visitor.submit(&path, &path, &fields).await.leads_to();
        visitor
    };
    let other_code = round.laboratories[1].page(&receipts[1]).await.text("dd.code");
    round.close().await;
    round.publish().await;
    stranger.sign_in("results@moorside.example", PASSWORD).await;

    let nowhere = "/receipts/0190a5f0-0000-7000-8000-000000000000";
    for (who, visitor) in [("another laboratory of the round", &round.laboratories[0]), ("a stranger", &stranger)] {
        let missing = visitor.get(nowhere).await.expect(404);
        let mut paths = vec![
            receipts[1].clone(),
            format!("{}/document.json", receipts[1]),
            at(&format!("/certificates/{other_code}")),
            at(&format!("/certificates/{other_code}.pdf")),
            at("/evaluation"),
            at("/evaluation/1"),
            at(&format!("/evaluation/1/decide/{other_code}")),
            at("/review"),
            at("/review/1"),
            at("/review/finding?key=late"),
            at(&format!("/review/laboratory/{other_code}")),
            at(&format!("/decide?on={other_code}.1")),
            at("/measurands"),
            at("/assigned-values"),
            at("/assigned-values/1"),
            at("/laboratories"),
            at("/edit"),
            at("/open"),
            at("/close"),
            at("/publish"),
            "/rounds/QT-2".to_owned(),
            "/rounds/QT-9".to_owned(),
        ];
        if who == "a stranger" {
            paths.extend(
                ["", "/scores", "/scores/1", "/certificate.pdf", "/results/A", "/check", "/package.json"].map(at),
            );
        }
        for path in paths {
            if who == "a stranger" && path == "/rounds/QT-2" {
                continue;
            }
            let answer = visitor.get(&path).await.expect(404);
            assert_eq!(answer.text(), missing.text(), "{who}, {path}: the same page as for what does not exist");
        }
        assert!(visitor.get("/rounds").await.expect(200).page().has("main"));
    }
    // What is its own is there: the look above can tell the difference.
    round.laboratories[1].page(&receipts[1]).await;
    round.laboratories[1].page(&at("/scores")).await;
    round.app.end().await;
}

#[tokio::test]
async fn anothers_forms_are_refused_like_what_does_not_exist() {
    let round = OpenRound::new(2).await;
    let laboratory = &round.laboratories[0];
    let token = laboratory.page("/rounds").await.value("form_token");
    let fields = [("form_token".to_owned(), token)];

    for path in
        ["/close", "/evaluation", "/publish", "/items", "/measurands", "/laboratories", "/laboratories/invite", "/edit"]
    {
        let answer = laboratory.post(&at(path), &fields).await;
        assert_eq!(answer.status.as_u16(), 404, "POST {path}: {}", answer.page().problems());
    }
    round.app.end().await;
}

/// The rows of the table of what is wrong with a file: line, column, seen, sentence.
fn bad_rows(page: &Page) -> Vec<[String; 4]> {
    let cells = page.texts("#problems tbody td");
    cells.chunks(4).map(|row| row.to_vec().try_into().expect("a row has four cells")).collect()
}

#[tokio::test]
async fn a_file_with_ten_kinds_of_mistakes_is_told_all_of_them_at_once_and_not_taken() {
    let app = TestApp::new().await;
    let organiser = scenario::set_up(&app).await;
    scenario::new_round(&app, &organiser, CODE).await;
    let file = "item,analyte,unit,decimals,required_loq,replicates,x_pt,u_x_pt,U_x_pt,k,sigma_pt,sigma_pt_percent,route\n\
        A,good one,ng/L,1,25,1,32.4,0.39,,,8.1,,formulation\n\
        A,,ng/L,1,,1,,,,,,,\n\
        A,two many decimals,ng/L,9,,1,,,,,,,\n\
        A,five replicates,ng/L,1,,5,,,,,,,\n\
        A,words for a number,ng/L,1,low,1,,,,,,,\n\
        A,good one,ng/L,1,,1,,,,,,,\n\
        B,no uncertainty,ng/L,1,,1,32.4,,,,8.1,,\n\
        B,two sigmas,ng/L,1,,1,32.4,0.39,,,8.1,25,\n\
        B,guessed route,ng/L,1,,1,32.4,0.39,,,8.1,,guess\n\
        B,ambiguous,ng/L,1,,1,\"1,250\",0.39,,,8.1,,\n\
        B,U without k,ng/L,1,,1,32.4,,0.8,,8.1,,\n\
        B,=SUM(A1),ng/L,1,,1,,,,,,,\n\
        B,u alone,ng/L,1,,1,,0.39,,,,,\n";

    let answer = organiser
        .upload(&at("/measurands"), &at("/measurands/upload"), "mistakes.csv", file.as_bytes())
        .await
        .expect(422);

    let page = answer.page();
    let rows = bad_rows(&page);
    // Line, column and what stood there; "" where the cell was empty.
    let expected = [
        ("3", "analyte", ""),
        ("4", "decimals", "9"),
        ("5", "replicates", "5"),
        ("6", "required_loq", "low"),
        ("7", "analyte", "good one"),
        ("8", "u_x_pt", ""),
        ("9", "sigma_pt_percent", "25"),
        ("10", "route", "guess"),
        ("11", "x_pt", "1,250"),
        ("12", "U_x_pt", "0.8"),
        ("13", "analyte", "=SUM(A1)"),
        ("14", "u_x_pt", "0.39"),
    ];
    let seen: Vec<(&str, &str, &str)> =
        rows.iter().map(|[line, column, seen, _]| (line.as_str(), column.as_str(), seen.as_str())).collect();
    assert_eq!(seen, expected);
    for [line, .., sentence] in &rows {
        // What is wrong, then what to do.
        assert!(sentence.matches(['.', '!']).count() >= 2 && !sentence.contains('‹'), "line {line}: {sentence}");
    }
    assert!(page.text("#problems").contains("mistakes.csv"));
    let after = organiser.page(&at("/measurands")).await;
    assert!(!after.has("table tbody tr"), "nothing is stored, not even the good line");
    app.end().await;
}

#[tokio::test]
async fn a_double_click_is_one_sending_and_one_receipt_on_both_databases() {
    for kind in [Kind::Sqlite, Kind::Postgres] {
        let Some(fresh) = Fresh::new(kind).await else { continue };
        let round = OpenRound::on(TestApp::on(fresh).await, 1).await;
        let laboratory = &round.laboratories[0];
        enter(laboratory, &scenario::all_typed(0)).await;
        let check = laboratory.page(&at("/check")).await;
        let fields = filled(&check, &at("/submit"), &[]);

        // Both at once, as two clicks in one second are; then once more.
        let submit = at("/submit");
        let (first, second) = tokio::join!(laboratory.post(&submit, &fields), laboratory.post(&submit, &fields));
        let third = laboratory.post(&submit, &fields).await;

        let receipt = first.leads_to();
        assert!(receipt.starts_with("/receipts/"));
        assert_eq!((second.leads_to(), third.leads_to()), (receipt.clone(), receipt.clone()), "{kind:?}");
        assert_eq!(laboratory.page(&at("")).await.all(".versions li").len(), 1, "{kind:?}");
        // A revision is a new sending, and the first stays.
        enter(laboratory, &scenario::all_typed(1)).await;
        let revised = send(laboratory).await;
        assert_ne!(revised, receipt);
        assert_eq!(laboratory.page(&at("")).await.all(".versions li").len(), 2, "{kind:?}");
        assert!(laboratory.page(&receipt).await.has(&format!(".attention a[href='{revised}']")));
        round.app.end().await;
    }
}

#[tokio::test]
async fn an_ambiguous_number_is_asked_about_and_each_answer_is_kept() {
    let round = OpenRound::new(2).await;
    let path = at("/results/A");
    for (laboratory, chosen, expected) in [(0, "1.250", "1.250"), (1, "1250", "1250")] {
        let visitor = &round.laboratories[laboratory];
        enter(visitor, &scenario::all_typed(laboratory)).await;

        let asked = visitor.submit(&path, &path, &[("1.v1", "1,250"), ("command", "next")]).await.expect(422).page();

        assert_eq!(asked.value("1.v1"), "1,250", "what was typed stays");
        let radios: Vec<_> =
            asked.all("input[name='1.v1.reading']").iter().map(|r| r.attr("value").unwrap().to_owned()).collect();
        assert_eq!(radios, ["1.250", "1250"]);
        assert!(asked.all("input[name='1.v1.reading'][checked]").is_empty(), "nothing is chosen beforehand");
        // Not to choose is no choice, and blocks the sending.
        visitor.fill(&asked, &path, &[("command", "next")]).await.expect(422);
        assert!(!visitor.page(&at("/check")).await.has(&format!("form[action='{}']", at("/submit"))));

        visitor.fill(&asked, &path, &[("1.v1.reading", chosen), ("command", "next")]).await.leads_to();
        let receipt = send(visitor).await;
        assert_eq!(evaluated(visitor, &receipt).await[0].replace('\u{202f}', ""), format!("{expected} ng/L"));
        let document = visitor.get(&format!("{receipt}/document.json")).await.expect(200).text();
        let document: serde_json::Value = serde_json::from_str(&document).expect("a document is JSON");
        let first = &document["results"][0].to_string();
        assert!(first.contains("\"typed\":\"1,250\""), "the typed text is in the document: {first}");
    }
    round.app.end().await;
}

#[tokio::test]
async fn an_answer_to_a_question_does_not_outlive_the_number_it_was_about() {
    let round = OpenRound::new(1).await;
    let visitor = &round.laboratories[0];
    let path = at("/results/A");
    enter(visitor, &scenario::all_typed(0)).await;
    let asked = visitor.submit(&path, &path, &[("1.v1", "1,250"), ("command", "next")]).await.expect(422).page();
    visitor.fill(&asked, &path, &[("1.v1.reading", "1250"), ("command", "next")]).await.leads_to();

    // Another number in the same field, plain and then ambiguous again.
    visitor.submit(&path, &path, &[("1.v1", "31.5"), ("command", "next")]).await.leads_to();
    let check = visitor.page(&at("/check")).await;
    assert_eq!(check.texts("table.check tbody tr:first-of-type td:nth-of-type(2)")[0], "31.5 ng/L");
    visitor.submit(&path, &path, &[("1.v1", "2,250"), ("command", "next")]).await.expect(422);
    round.app.end().await;
}

#[tokio::test]
async fn nothing_that_was_typed_is_lost_when_something_is_wrong() {
    let round = OpenRound::new(1).await;
    let visitor = &round.laboratories[0];
    let path = at("/results/A");
    let typed = [
        ("1.v1", "12..5"),
        ("2.v1", "0"),
        ("3.v1", "-4.2"),
        ("4.v1", "n.d."),
        ("1.u", "3,1"),
        ("2.loq", "ten"),
        ("3.k", "2"),
        ("A.k_all", "x"),
        ("A.u_as", "percent"),
    ];
    let mut fields = typed.to_vec();
    fields.push(("command", "next"));

    let answer = visitor.submit(&path, &path, &fields).await.expect(422);

    for (when, page) in [("in the answer", answer.page()), ("when coming back", visitor.page(&path).await)] {
        for (name, text) in typed.iter().filter(|(name, _)| !name.ends_with("u_as")) {
            assert_eq!(page.value(name), *text, "{name}, {when}");
        }
        assert_eq!(page.attribute("select[name='A.u_as'] option[selected]", "value"), "percent", "{when}");
    }
    // One alert that leads to each field, and a sentence at the field itself.
    let page = answer.page();
    assert_eq!(page.all("[role='alert']").len(), 1);
    for field in ["1.v1", "2.v1", "3.v1", "4.v1", "2.loq", "A.k_all"] {
        assert!(page.has(&format!("[role='alert'] a[href='#{field}']")), "the alert leads to {field}");
        assert!(!page.text(&format!("[id='{field}-said']")).is_empty());
        assert_eq!(page.attribute(&format!("[id='{field}']"), "aria-invalid"), "true");
        assert!(page.attribute(&format!("[id='{field}']"), "aria-describedby").contains(&format!("{field}-said")));
    }
    round.app.end().await;
}

#[tokio::test]
async fn zero_and_negative_numbers_are_refused_with_what_to_type_instead() {
    let round = OpenRound::new(1).await;
    let visitor = &round.laboratories[0];
    let path = at("/results/A");
    let typed = [("1.v1", "0"), ("2.v1", "0,00"), ("3.v1", "-1.5"), ("4.v1", "\u{2212}1,5"), ("command", "next")];

    let page = visitor.submit(&path, &path, &typed).await.expect(422).page();

    for field in ["1.v1", "2.v1", "3.v1", "4.v1"] {
        let sentence = page.text(&format!("[id='{field}-said']"));
        assert!(sentence.ends_with("Type < and your limit of quantification, such as <5."), "{field}: {sentence}");
    }
    assert!(!visitor.page(&at("/check")).await.has(&format!("form[action='{}']", at("/submit"))), "cannot be sent");
    round.app.end().await;
}

#[tokio::test]
async fn a_form_without_this_sessions_token_or_from_another_site_changes_nothing() {
    let app = TestApp::new().await;
    let organiser = scenario::set_up(&app).await;
    let page = organiser.page("/rounds/new").await;
    let (day, time) = scenario::deadline(&app);
    let good = filled(
        &page,
        "/rounds",
        &[("code", CODE), ("title", "T"), ("closes_on", &day), ("closes_time", &time), ("time_zone", "UTC")],
    );

    for wrong in ["", "0000000000000000000000000000000000000000000000000000000000000000"] {
        let mut fields = good.clone();
        fields.iter_mut().filter(|(name, _)| name == "form_token").for_each(|(_, token)| *token = wrong.to_owned());
        organiser.post("/rounds", &fields).await.expect(403);
    }
    let elsewhere = [
        ("sec-fetch-site", "cross-site"),
        ("sec-fetch-site", "same-site"),
        ("origin", "https://elsewhere.example"),
        ("origin", "null"),
    ];
    for (name, value) in elsewhere {
        let request = organiser.request(Method::POST, "/rounds").header(name, value).form(&good);
        organiser.send(format!("POST /rounds with {name}: {value}"), request).await.expect(403);
        // Signing in under somebody else's name from another site is refused as well.
        let sign_in = [("email", scenario::ORGANISER), ("password", PASSWORD)];
        let request = app.visitor().request(Method::POST, "/sign-in").header(name, value).form(&sign_in);
        app.visitor().send(format!("POST /sign-in with {name}: {value}"), request).await.expect(403);
    }
    assert_eq!(organiser.get(&at("")).await.expect(404).status.as_u16(), 404, "no round was made");

    // The same fields from the page itself are taken: it was the token, and the site.
    let request = organiser.request(Method::POST, "/rounds").header("sec-fetch-site", "same-origin").form(&good);
    organiser.send("POST /rounds".to_owned(), request).await.leads_to();
    app.end().await;
}

#[tokio::test]
async fn an_invitation_is_used_once_replaced_by_a_newer_one_and_only_looked_at_by_get() {
    let round = OpenRound::new(0).await;
    let invitation = &round.invitations[0];
    for _ in 0..2 {
        // A mail scanner follows the link before the person does.
        round.app.visitor().page(invitation).await;
    }
    let visitor = scenario::accept(&round.app, invitation, 0).await;
    visitor.page(&at("")).await;

    let second = round.app.visitor();
    second.get(invitation).await.expect(409);
    let fields = [("name", "Eve"), ("email", "eve@alderbrook.example"), ("password", PASSWORD)]
        .map(|(n, t)| (n.to_owned(), t.to_owned()));
    second.post(invitation, &fields).await.expect(409);

    // A newer link ends the older one.
    let page = round.organiser.page(&at("/laboratories")).await;
    assert_eq!(page.all("input[name='lab']").len(), 11, "those without an account");
    let laboratory = page.laboratory("Birchmoor Analytics");
    let token = page.value("form_token");
    let shown = round
        .organiser
        .post(&at("/laboratories/invite"), &[("form_token".into(), token), ("lab".into(), laboratory)])
        .await;
    let address = shown.expect(200).page().text("section.once code.link");
    round.app.visitor().get(&round.invitations[1]).await.expect(409);
    round.app.visitor().page(&address[address.find("/invitations/").unwrap()..]).await;

    // After 14 days the rest is over.
    round.app.clock.advance(SignedDuration::from_hours(24 * 14));
    round.app.visitor().get(&round.invitations[2]).await.expect(409);
    round.app.end().await;
}

#[tokio::test]
async fn who_is_not_signed_in_is_led_to_sign_in_and_back() {
    let round = OpenRound::new(1).await;
    let visitor = round.app.visitor();

    let answer = visitor.get(&at("/results/A")).await;

    assert_eq!(answer.leads_to(), "/sign-in");
    let path = answer.header("location").to_owned();
    let fields = [("email", email(0)), ("password", PASSWORD.to_owned())];
    let fields: Vec<(&str, &str)> = fields.iter().map(|(name, text)| (*name, text.as_str())).collect();
    assert_eq!(visitor.submit(&path, "/sign-in", &fields).await.leads_to(), at("/results/A"));

    let wrong = round.app.visitor();
    for (address, password) in [(email(0), "not the password"), ("nobody@elsewhere.example".to_owned(), PASSWORD)] {
        let answer =
            wrong.submit("/sign-in", "/sign-in", &[("email", &address), ("password", password)]).await.expect(422);
        assert_eq!(answer.page().value("email"), address, "what was typed stays");
        assert_eq!(answer.page().value("password"), "");
    }
    // Signing out ends the session, not only the cookie.
    let cookie = {
        let out = round.app.visitor();
        let fields = [("email".to_owned(), email(0)), ("password".to_owned(), PASSWORD.to_owned())];
        let cookie = out.post("/sign-in", &fields).await.header("set-cookie").split(';').next().unwrap().to_owned();
        out.submit("/rounds", "/sign-out", &[]).await.leads_to();
        cookie
    };
    let request = round.app.visitor().request(Method::GET, "/rounds").header("cookie", cookie);
    assert_eq!(visitor.send("GET /rounds with an ended session".to_owned(), request).await.leads_to(), "/sign-in");
    round.app.end().await;
}

#[tokio::test]
async fn a_set_up_link_works_once() {
    let app = TestApp::new().await;
    let bad = [("password", "short"), ("email", "none"), ("provider", "Quillmere Interlaboratory Office")];
    let page = app.visitor().submit(&app.setup, &app.setup, &bad).await.expect(422).page();
    assert_eq!(page.value("provider"), "Quillmere Interlaboratory Office");

    scenario::set_up(&app).await;

    app.visitor().get(&app.setup).await.expect(404);
    let fields = scenario::SETUP.map(|(name, text)| (name.to_owned(), text.to_owned()));
    app.visitor().post(&app.setup, &fields).await.expect(404);
    app.end().await;
}
