//! Messages by mail, from what they tell of to the one who reads them.

use crate::interface::results;
use crate::pages::faults_of;
use crate::support::app::TestApp;
use crate::support::caller::{Caller, json};
use crate::support::page::Page;
use crate::support::scenario::{
    self, CODE, LABORATORIES, MEASURANDS, ORGANISER, PASSWORD, accept, all_typed, at, email, enter, send,
};
use crate::support::sink::{Mail, Mode, Sink};
use crate::support::visitor::Visitor;
use jiff::SignedDuration;
use roundel::serve;
use roundel::state::App;
use roundel_store::testing::{Fresh, Kind};
use roundel_store::{Db, Tx};
use std::collections::{BTreeMap, BTreeSet};
use std::time::{Duration, Instant};
use tokio::net::TcpListener;
use tokio::sync::oneshot;

async fn sqlite() -> Fresh {
    Fresh::new(Kind::Sqlite).await.expect("a file is always there")
}

/// A service with this mail server, and a round that is set up; the organiser.
async fn designed(sink: &Sink) -> (TestApp, Visitor) {
    let app = TestApp::with_mail(sqlite().await, sink.mailer()).await;
    let organiser = scenario::set_up(&app).await;
    scenario::design(&app, &organiser).await;
    (app, organiser)
}

/// Queues invitations by mail: of one laboratory, or of all.
pub(crate) async fn invite_by_mail(organiser: &Visitor, laboratory: Option<usize>) {
    let page = organiser.page(&at("/laboratories")).await;
    let mut fields = vec![("form_token".to_owned(), page.value("form_token")), ("by".to_owned(), "mail".to_owned())];
    fields.extend(laboratory.map(|place| ("lab".to_owned(), page.laboratory(LABORATORIES[place]))));
    let answer = organiser.post(&at("/laboratories/invite"), &fields).await;
    assert_eq!(answer.leads_to(), at("/laboratories"));
}

/// Codes of the laboratories, in the order of [`LABORATORIES`].
async fn codes(organiser: &Visitor) -> Vec<String> {
    let all = scenario::codes(organiser).await;
    let of = |name: &&str| all.iter().find(|(_, shown)| shown == name).map(|(code, _)| code.clone());
    LABORATORIES.iter().map(|name| of(name).expect("it is enrolled")).collect()
}

/// Those that went to an address with this in their subject.
fn to<'a>(mails: &'a [Mail], address: &str, subject: &str) -> Vec<&'a Mail> {
    let wanted = |mail: &&Mail| mail.recipients == [address] && mail.header("Subject").contains(subject);
    mails.iter().filter(wanted).collect()
}

/// The page of messages, once a cell of it has this text.
pub(crate) async fn messages_with(organiser: &Visitor, text: &str) -> Page {
    let until = Instant::now() + Duration::from_secs(20);
    loop {
        let page = organiser.page(&at("/messages")).await;
        if page.texts("tbody td").iter().any(|cell| cell.contains(text)) {
            return page;
        }
        assert!(Instant::now() < until, "no {text:?} in {:?}", page.texts("tbody td"));
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

/// Everything that the outbox keeps, as text.
async fn kept(app: &TestApp) -> String {
    let mut tx: Tx = app.app.db.read().await.unwrap();
    let rows: Vec<(String, String, String, String, String)> =
        tx.query("SELECT kind, recipient, subject, body, COALESCE(last_error, '') FROM outbox").all().await.unwrap();
    rows.into_iter().map(|(a, b, c, d, e)| [a, b, c, d, e].join("\n")).collect()
}

async fn wait_until_sent(organiser: &Visitor) {
    let until = Instant::now() + Duration::from_secs(20);
    loop {
        let states = organiser.page(&at("/messages")).await.texts("tbody tr.message td.state");
        if states.iter().all(|state| state.starts_with("sent ")) {
            return;
        }
        assert!(Instant::now() < until, "{states:?}");
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_round_by_mail_tells_each_person_what_happened_and_nobody_a_code_or_a_result() {
    let sink = Sink::start(Mode::Accept).await;
    let (app, organiser) = designed(&sink).await;

    // Everybody is invited; the links of four make accounts.
    invite_by_mail(&organiser, None).await;
    let mails = sink.wait(12).await;
    let mut laboratories = Vec::new();
    for (n, name) in LABORATORIES.iter().enumerate().take(4) {
        let mail = to(&mails, &email(n), "invitation")[0];
        assert!(mail.text().contains(name), "{}", mail.text());
        laboratories.push(accept(&app, &mail.path("/invitations/"), n).await);
    }
    for mail in &mails {
        let token = mail.path("/invitations/").trim_start_matches("/invitations/").to_owned();
        assert_eq!(token.len(), 64, "{token}");
        assert!(!kept(&app).await.contains(&token), "the outbox keeps no token");
    }
    scenario::agree_and_open(&app, &organiser).await;

    // A receipt for what is new, and only for that.
    enter(&laboratories[0], &all_typed(0)).await;
    let receipt = send(&laboratories[0]).await;
    let mails = sink.wait(13).await;
    let mail = to(&mails, &email(0), "receipt")[0];
    let page = laboratories[0].page(&receipt).await;
    assert_eq!(mail.path("/receipts/"), receipt);
    assert!(mail.text().contains(&page.text("code.hash")), "{}", mail.text());
    let key = page.attribute("a[href$='.pem']", "href");
    let key = key.trim_start_matches("/keys/").trim_end_matches(".pem");
    let reference = receipt.trim_start_matches("/receipts/");
    for line in [
        format!("Reference: {reference}"),
        format!("Key: {key}"),
        format!("Signature: {}", page.text("code.signature")),
    ] {
        assert!(mail.text().contains(&format!("{line}\n")), "{line} in {}", mail.text());
    }
    assert!(mail.text().contains("Version: 1\n") && mail.text().contains("before the deadline"), "{}", mail.text());
    assert!(mail.text().starts_with("Dear Ada Sample,\n"), "{}", mail.text());
    assert_eq!(send(&laboratories[0]).await, receipt, "nothing changed");

    // Three people and eight laboratories without an account are missing.
    let page = organiser.page(&at("/remind")).await;
    assert!(page.text("p.lead").starts_with("3 persons are reminded"), "{:?}", page.texts("p.lead"));
    organiser.submit(&at("/remind"), &at("/remind"), &[]).await.leads_to();
    let mails = sink.wait(13 + 3 + 8).await;
    for n in 0..4 {
        assert_eq!(to(&mails, &email(n), "results are missing").len(), usize::from(n != 0), "{n}");
    }
    let mail = to(&mails, &email(1), "results are missing")[0];
    assert_eq!(mail.path("/rounds/"), at(""));
    let again = organiser.submit(&at("/remind"), &at("/remind"), &[]).await.expect(422).page();
    assert!(again.texts(".problems").concat().contains("less than 24 hours ago"), "{:?}", again.texts(".problems"));
    let token = again.value("form_token");
    let fields = [("form_token".to_owned(), token), ("confirm".to_owned(), "yes".to_owned())];
    organiser.post(&at("/remind"), &fields).await.leads_to();
    sink.wait(13 + 2 * 11).await;

    // A late version says so; everybody with an account hears of the scores.
    for (n, laboratory) in laboratories.iter().enumerate().take(3).skip(1) {
        enter(laboratory, &all_typed(n)).await;
        send(laboratory).await;
    }
    sink.wait(37).await;
    app.clock.advance(SignedDuration::from_hours(26));
    let late = app.visitor();
    late.sign_in(&email(2), PASSWORD).await;
    enter(&late, &all_typed(4)).await;
    let page = late.page(&at("/check")).await;
    late.fill(&page, &at("/submit"), &[("replace", "yes")]).await.leads_to();
    let mails = sink.wait(38).await;
    assert!(mails[37].text().contains("Version: 2\n") && mails[37].text().contains("marked as late"));
    organiser.sign_in(ORGANISER, PASSWORD).await;
    organiser.submit(&at("/close"), &at("/close"), &[]).await.leads_to();
    organiser.submit(&at("/evaluation"), &at("/evaluation"), &[]).await.leads_to();
    scenario::approve(&app.visitor()).await;
    scenario::publish(&organiser).await;
    let mails = sink.wait(42).await;
    let published: BTreeSet<String> = mails[38..].iter().map(|mail| mail.recipients[0].clone()).collect();
    assert_eq!(published, (0..4).map(email).collect(), "each person once");
    assert_eq!(to(&mails, &email(2), "scores published")[0].path("/rounds/"), at(""));
    for (n, said) in [(2, "Cobbleford River Trust sees its scores"), (3, "No results of Dunmere Institute")] {
        let text = to(&mails, &email(n), "scores published")[0].text();
        assert!(text.contains(said), "{text}");
    }

    wait_until_sent(&organiser).await;
    let shown = organiser.get(&at("/messages")).await;
    assert_eq!(shown.page().all("tbody tr.message").len(), 42);
    assert_eq!(faults_of(&[(at("/messages"), shown)]), Vec::<String>::new());
    assert_nothing_secret(&mails, &codes(&organiser).await);
    app.end().await;
}

/// No code, no number that somebody typed or that was assigned, and one reader.
fn assert_nothing_secret(mails: &[Mail], codes: &[String]) {
    assert_eq!(codes.len(), 12);
    let mut numbers: Vec<String> = [0, 1, 2, 4].into_iter().flat_map(all_typed).collect();
    numbers.extend(MEASURANDS.iter().flat_map(|asked| [asked.x_pt, asked.u, asked.sigma].map(str::to_owned)));
    // Three digits alone may stand in a port, a hash or the name of a receipt.
    numbers.retain(|number| number.contains('.'));
    assert!(numbers.len() > 80, "{numbers:?}");
    for mail in mails {
        let (subject, text) = (mail.header("Subject"), mail.text());
        assert!(subject.starts_with("Quillmere Interlaboratory Office: "), "{subject}");
        assert!(!subject.contains(CODE), "{subject}");
        for secret in codes.iter().chain(&numbers) {
            assert!(!subject.contains(secret.as_str()) && !text.contains(secret.as_str()), "{secret} in {text}");
        }
        assert_eq!(mail.recipients, [mail.header("To")], "one reader, who is named");
        assert_eq!(mail.header("Auto-Submitted"), "auto-generated");
        assert!(mail.header("From").ends_with("<office@quillmere.example>"), "{}", mail.header("From"));
        let end = "\n\n-- \nQuillmere Interlaboratory Office\n1 Mill Lane\nQuillmere";
        assert!(text.trim_end().ends_with(end), "{text}");
    }
}

#[tokio::test]
async fn a_refused_message_is_given_up_and_sent_when_the_organiser_tries_again() {
    let sink = Sink::start(Mode::Refuse).await;
    let (app, organiser) = designed(&sink).await;

    invite_by_mail(&organiser, Some(3)).await;
    let page = messages_with(&organiser, "given up").await;
    let state = page.text("tbody td .late");
    assert!(state.ends_with(": The mail server answered: 550 5.1.1 no such mailbox here"), "{state}");
    assert!(page.texts("tbody td").contains(&email(3)));
    let shown = page.text("details .instructions");
    assert!(shown.contains("[link, only in the message itself]") && !shown.contains("/invitations/"), "{shown}");
    let overview = organiser.page(&at("")).await;
    assert!(overview.texts("a").contains(&"Messages: one could not be sent".to_owned()), "{:?}", overview.texts("a"));
    assert!(sink.mails().is_empty());
    let accounts = organiser.page(&at("/laboratories")).await.texts("tbody tr td:nth-child(4)");
    assert_eq!(accounts, ["not invited"; 12], "a link that nobody has is no invitation");

    sink.behave(Mode::Accept);
    organiser.submit(&at("/messages"), &at("/messages"), &[]).await.leads_to();
    let mails = sink.wait(1).await;
    accept(&app, &mails[0].path("/invitations/"), 3).await;
    wait_until_sent(&organiser).await;
    assert!(!organiser.page(&at("/messages")).await.has("tbody form"), "there is nothing left to try");
    app.end().await;
}

#[tokio::test]
async fn a_busy_server_is_asked_again_after_a_minute() {
    let sink = Sink::start(Mode::Busy).await;
    let (app, organiser) = designed(&sink).await;

    invite_by_mail(&organiser, Some(0)).await;
    let page = messages_with(&organiser, "Last try: The mail server answered: 451 4.3.0 come back later").await;
    assert!(page.texts("tbody td").iter().any(|cell| cell.starts_with("waiting; next try ")), "{:?}", page.texts("td"));

    sink.behave(Mode::Accept);
    app.app.wake_mail();
    tokio::time::sleep(Duration::from_millis(300)).await;
    assert!(sink.mails().is_empty(), "the minute is not over");
    app.clock.advance(SignedDuration::from_secs(61));
    app.app.wake_mail();
    sink.wait(1).await;
    wait_until_sent(&organiser).await;
    app.end().await;
}

#[tokio::test]
async fn a_message_that_was_kept_but_not_confirmed_comes_again_as_the_same_one() {
    let sink = Sink::start(Mode::Drop).await;
    let (app, organiser) = designed(&sink).await;
    invite_by_mail(&organiser, Some(0)).await;
    messages_with(&organiser, "waiting; next try").await;
    let page = messages_with(&organiser, "Last try: ").await;
    assert!(page.texts("tbody td").concat().contains("could not be reached"), "{:?}", page.texts("tbody td"));

    sink.behave(Mode::Accept);
    app.clock.advance(SignedDuration::from_secs(61));
    app.app.wake_mail();
    let mails = sink.wait(2).await;
    assert_eq!(mails[0].header("Message-ID"), mails[1].header("Message-ID"));
    let links = [mails[0].path("/invitations/"), mails[1].path("/invitations/")];
    assert_ne!(links[0], links[1], "no token was kept, so each has its own");

    // Either may have been read. Using one ends the other.
    let visitor = app.visitor();
    visitor.page(&links[1]).await;
    accept(&app, &links[0], 0).await;
    visitor.get(&links[1]).await.expect(409);
    app.end().await;
}

#[tokio::test]
async fn a_server_that_says_nothing_holds_nothing_up() {
    let sink = Sink::start(Mode::Hang).await;
    let app = TestApp::with_mail(sqlite().await, sink.mailer().within(Duration::from_secs(3))).await;
    let organiser = scenario::set_up(&app).await;
    scenario::design(&app, &organiser).await;

    invite_by_mail(&organiser, Some(0)).await;
    // There is one connection that writes; the job does not hold it while it waits.
    let begun = Instant::now();
    scenario::new_round(&app, &organiser, "QT-2").await;
    let page = organiser.page(&at("/messages")).await;
    let waiting = page.texts("tbody td").iter().any(|cell| cell.starts_with("waiting"));
    assert!(waiting && begun.elapsed() < Duration::from_secs(3), "{:?}, {:?}", begun.elapsed(), page.texts("td"));
    messages_with(&organiser, "The mail server did not answer within 3 s.").await;
    app.end().await;
}

#[tokio::test]
async fn a_server_that_says_nothing_does_not_keep_the_service_from_ending() {
    let sink = Sink::start(Mode::Hang).await;
    let (app, organiser) = designed(&sink).await;
    invite_by_mail(&organiser, Some(0)).await;
    // Until the message is held, and so is being sent.
    messages_with(&organiser, "waiting; next try").await;

    let begun = Instant::now();
    app.end().await;

    // 8 s are what requests may still take; the mail server has 30.
    assert!(begun.elapsed() < Duration::from_secs(12), "{:?}", begun.elapsed());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn two_copies_of_the_program_send_each_message_once() {
    for kind in [Kind::Sqlite, Kind::Postgres] {
        let Some(fresh) = Fresh::new(kind).await else { continue };
        let sink = Sink::start(Mode::Accept).await;
        let db = Db::open(&fresh.url).await.unwrap();
        let app = TestApp::with_mail(fresh, sink.mailer()).await;
        let organiser = scenario::set_up(&app).await;
        scenario::design(&app, &organiser).await;
        let second = App::new(db, app.clock.clone(), &app.address).await.unwrap().with_mail(Some(sink.mailer()));
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let (stop, stopped) = oneshot::channel::<()>();
        let server = tokio::spawn(serve::run(second.clone(), listener, async {
            let _ = stopped.await;
        }));

        invite_by_mail(&organiser, None).await;
        second.wake_mail();
        sink.wait(12).await;
        wait_until_sent(&organiser).await;

        let mut times: BTreeMap<String, usize> = BTreeMap::new();
        for mail in sink.mails() {
            *times.entry(mail.header("Message-ID")).or_default() += 1;
        }
        assert_eq!(times.len(), 12);
        assert!(times.values().all(|count| *count == 1), "{kind:?}: {times:?}");
        stop.send(()).unwrap();
        server.await.unwrap();
        app.end().await;
    }
}

#[tokio::test]
async fn an_invitation_that_is_not_needed_any_more_is_not_sent() {
    let sink = Sink::start(Mode::Busy).await;
    let (app, organiser) = designed(&sink).await;
    invite_by_mail(&organiser, Some(0)).await;
    messages_with(&organiser, "Last try: ").await;
    let listed = organiser.page(&at("/laboratories")).await;
    let laboratory = listed.laboratory(LABORATORIES[0]);
    let fields = [("form_token".to_owned(), listed.value("form_token")), ("lab".to_owned(), laboratory)];
    let page = organiser.post(&at("/laboratories/invite"), &fields).await.expect(200).page();
    let link = page.text("section.once code.link");
    accept(&app, &link[link.find("/invitations/").expect("an address with its token")..], 0).await;

    sink.behave(Mode::Accept);
    app.clock.advance(SignedDuration::from_secs(61));
    app.app.wake_mail();

    messages_with(&organiser, "The laboratory has an account by now.").await;
    assert!(sink.mails().is_empty());
    app.end().await;
}

#[tokio::test]
async fn where_no_mail_is_set_up_nothing_is_queued_and_the_page_says_how_to_go_on() {
    let round = scenario::OpenRound::new(2).await;
    let receipts = round.all_send().await;
    assert_eq!(receipts.len(), 2);

    let page = round.organiser.page(&at("/messages")).await;
    let said = page.texts("main p").join(" ");
    assert!(said.contains("No mail is set up") && said.contains("ROUNDEL_MAIL_FROM"), "{said}");
    assert!(said.contains("No message has been queued for this round."), "{said}");
    assert!(!round.organiser.page(&at("")).await.has("a[href$='/remind']"));
    round.organiser.get(&at("/remind")).await.expect(409);
    let token = round.organiser.page(&at("/laboratories")).await.value("form_token");
    let fields = [("form_token".to_owned(), token), ("by".to_owned(), "mail".to_owned())];
    round.organiser.post(&at("/laboratories/invite"), &fields).await.expect(409);

    round.close().await;
    round.publish().await;
    assert_eq!(kept(&round.app).await, "");
    round.app.end().await;
}

#[tokio::test]
async fn a_laboratory_sees_neither_messages_nor_reminders() {
    let sink = Sink::start(Mode::Accept).await;
    let app = TestApp::with_mail(sqlite().await, sink.mailer()).await;
    let round = scenario::OpenRound::on(app, 1).await;
    let laboratory = &round.laboratories[0];

    for path in [at("/messages"), at("/remind")] {
        laboratory.get(&path).await.expect(404);
        let token = laboratory.page("/rounds").await.value("form_token");
        laboratory.post(&path, &[("form_token".to_owned(), token)]).await.expect(404);
    }
    assert!(sink.mails().is_empty());
    round.app.end().await;
}

#[tokio::test]
async fn what_a_program_sends_has_one_receipt_by_mail() {
    let sink = Sink::start(Mode::Accept).await;
    let app = TestApp::with_mail(sqlite().await, sink.mailer()).await;
    let round = scenario::OpenRound::on(app, 1).await;
    let program = Caller::of(&round.laboratories[0], "change").await;

    let sent = program.post(&at("/results"), "key-of-the-first", &results(0)).await.expect(201);
    let mails = sink.wait(1).await;
    program.post(&at("/results"), "key-of-the-first", &results(0)).await.expect(201);
    program.post(&at("/results"), "key-of-the-same-results", &results(0)).await;
    wait_until_sent(&round.organiser).await;

    let receipt = json(&sent);
    let sha256 = receipt["sha256"].as_str().expect("a receipt has a hash");
    assert!(mails[0].text().contains(&format!("SHA-256: {sha256}\n")), "{receipt} {}", mails[0].text());
    assert_eq!(mails[0].recipients, [email(0)]);
    sink.wait(1).await;
    round.app.end().await;
}
