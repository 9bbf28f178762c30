//! Questions that nobody is known to have asked, and requests after closing that
//! change nothing.

use crate::support::answer::Answer;
use crate::support::app::TestApp;
use crate::support::page::Page;
use crate::support::scenario::{self, LABORATORIES, OpenRound, all_typed, at, email, enter, send};
use crate::support::sink::{Mode, Sink};
use crate::support::visitor::Visitor;
use crate::support::walk::walk;
use roundel_store::testing::{Fresh, Kind};
use std::collections::BTreeSet;

async fn ask(laboratory: &Visitor, text: &str) {
    let path = at("/questions");
    assert_eq!(laboratory.submit(&path, &path, &[("question", text)]).await.leads_to(), path);
}

/// Where the organiser answers the question with this text.
async fn place(organiser: &Visitor, text: &str) -> String {
    let page = organiser.page(&at("/questions")).await;
    let texts = page.texts("ul.waiting p.words");
    let index = texts.iter().position(|shown| shown == text).unwrap_or_else(|| panic!("{text:?} in {texts:?}"));
    page.all("ul.waiting a")[index].attr("href").unwrap().to_owned()
}

async fn answer(organiser: &Visitor, question: &str, text: &str, more: &[(&str, &str)]) -> Answer {
    let path = place(organiser, question).await;
    let page = organiser.page(&path).await;
    let mut fields = page.form(&path);
    fields.retain(|(name, _)| name != "answer");
    fields.extend([("answer", text)].iter().chain(more).map(|(name, text)| ((*name).to_owned(), (*text).to_owned())));
    organiser.post(&path, &fields).await
}

/// The page says what is wrong in one alert that leads to the field, says it at the
/// field, and keeps what was typed.
#[track_caller]
fn assert_field_is_wrong(page: &Page, field: &str, kept: &str) {
    assert_eq!(page.all("[role='alert']").len(), 1);
    assert!(page.has(&format!("[role='alert'] a[href='#{field}']")), "{}", page.problems());
    assert!(!page.text(&format!("[id='{field}-error']")).is_empty());
    let control = format!("[id='{field}']");
    assert_eq!(page.attribute(&control, "aria-invalid"), "true");
    assert!(page.attribute(&control, "aria-describedby").contains(&format!("{field}-error")));
    let text: String = page.all(&control)[0].text().collect();
    assert_eq!(text, kept);
}

/// Texts that a field does not take.
fn bad_texts() -> [String; 3] {
    [" \n ".to_owned(), "x".repeat(8_001), "a\u{7}b".to_owned()]
}

#[tokio::test]
async fn a_question_is_answered_to_all_or_to_nobody_and_nobody_learns_who_asked() {
    let round = OpenRound::new(3).await;
    let [asker, other, silent] = [0, 1, 2].map(|n| &round.laboratories[n]);
    let code = {
        enter(asker, &all_typed(0)).await;
        let receipt = send(asker).await;
        asker.page(&receipt).await.text("dd.code")
    };
    ask(asker, "Which bottle is item A?").await;
    ask(asker, "Which bottle is item A?").await;
    ask(other, "May item B be frozen?").await;
    ask(asker, "What did the others find?").await;

    // Each sees its own open questions; the organiser sees all, once each.
    let open = |page: &Page| page.texts("ul.waiting p.words").into_iter().collect::<BTreeSet<_>>();
    let own = BTreeSet::from(["Which bottle is item A?".to_owned(), "What did the others find?".to_owned()]);
    assert_eq!(open(&asker.page(&at("/questions")).await), own);
    assert_eq!(open(&other.page(&at("/questions")).await), BTreeSet::from(["May item B be frozen?".to_owned()]));
    assert!(open(&silent.page(&at("/questions")).await).is_empty());
    assert_eq!(round.organiser.page(&at("/questions")).await.all("ul.waiting li").len(), 3);
    assert!(round.organiser.page(&at("")).await.texts("p.links a").contains(&"Questions: 3 to answer".to_owned()));

    answer(&round.organiser, "Which bottle is item A?", "The one with\na blue cap.", &[("command", "answer")])
        .await
        .leads_to();
    answer(&round.organiser, "May item B be frozen?", "No.", &[("command", "answer")]).await.leads_to();
    let closed = place(&round.organiser, "What did the others find?").await;
    let lost = answer(&round.organiser, "What did the others find?", "Nothing", &[("command", "close")]).await;
    assert_field_is_wrong(&lost.expect(422).page(), "answer", "Nothing");
    answer(&round.organiser, "What did the others find?", "", &[("command", "close")]).await.leads_to();

    // All read the same, newest first, the asker too; a closed one is nobody else's.
    for laboratory in [asker, other, silent] {
        let page = laboratory.page(&at("/questions")).await;
        assert_eq!(page.texts("ol.answered p.question"), ["May item B be frozen?", "Which bottle is item A?"]);
        assert_eq!(page.texts("ol.answered p.answer"), ["No.", "The one with a blue cap."]);
        assert!(!page.has("ul.waiting"));
    }
    assert_eq!(asker.page(&at("/questions")).await.texts("ul.closed p.words"), ["What did the others find?"]);
    for laboratory in [other, silent] {
        let found = walk(laboratory, &["/rounds".to_owned(), at(""), at("/questions")]).await;
        for (path, answer) in &found {
            let text = String::from_utf8_lossy(&answer.bytes);
            assert!(!text.contains("What did the others find?"), "{path}");
            assert!(!text.contains(&code) && !text.contains(LABORATORIES[0]), "{path}");
        }
        laboratory.get(&closed).await.expect(404);
    }

    // What was answered or closed stays so.
    for (path, command) in [(&closed, "answer"), (&closed, "close")] {
        let token = round.organiser.page(&at("/questions")).await.value("form_token");
        let fields = [("form_token", token.as_str()), ("answer", ""), ("command", command)];
        let fields = fields.map(|(name, text)| {
            (name.to_owned(), if name == "answer" && command == "answer" { "Yes".to_owned() } else { text.to_owned() })
        });
        round.organiser.post(path, &fields).await.expect(409);
    }
    // The organiser's pages name nobody: neither the list, nor the question, nor the record.
    for path in [at("/questions"), closed.clone()] {
        let text = round.organiser.get(&path).await.expect(200).text();
        for name in ["Ada Sample", LABORATORIES[0], LABORATORIES[1], &code, &email(0)] {
            assert!(!text.contains(name), "{name} on {path}");
        }
    }
    let record = round.organiser.page(&at("")).await.texts("ol.events li");
    let asked: Vec<&String> = record.iter().filter(|line| line.ends_with("A question was asked")).collect();
    assert_eq!(asked.len(), 3, "with no name behind it: {record:?}");
    assert!(
        record.iter().any(|line| line.ends_with("A question was answered to all participants, Orla Quill")),
        "{record:?}"
    );
    round.app.end().await;
}

#[tokio::test]
async fn an_answer_with_a_concentration_is_confirmed_before_all_read_it() {
    let round = OpenRound::new(1).await;
    let laboratory = &round.laboratories[0];
    ask(laboratory, "How much is in item A?").await;
    let path = place(&round.organiser, "How much is in item A?").await;
    let text = "Expect about 25 ng/L in item A.";

    let page =
        answer(&round.organiser, "How much is in item A?", text, &[("command", "answer")]).await.expect(422).page();

    assert!(page.has("[role='alert'] a[href='#numbers']"));
    assert!(page.text("[id='numbers-error']").contains("25 ng/L"), "{}", page.problems());
    assert_eq!(page.attribute("#numbers", "aria-describedby"), "numbers-error");
    assert_eq!(page.all("#answer")[0].text().collect::<String>(), text);
    assert!(laboratory.page(&at("/questions")).await.texts("ol.answered li").is_empty(), "not published");

    let mut fields = page.form(&path);
    fields.extend([("numbers", "yes"), ("command", "answer")].map(|(name, text)| (name.to_owned(), text.to_owned())));
    round.organiser.post(&path, &fields).await.leads_to();
    assert_eq!(laboratory.page(&at("/questions")).await.texts("ol.answered p.answer"), [text]);
    // The question is published with its answer.
    ask(laboratory, "We find 40 ng/L. Is that right?").await;
    let telling = answer(&round.organiser, "We find 40 ng/L. Is that right?", "No.", &[("command", "answer")]).await;
    assert!(telling.expect(422).page().text("[id='numbers-error']").contains("40 ng/L"));
    round.app.end().await;
}

#[tokio::test]
async fn texts_that_are_not_as_they_should_be_come_back_as_they_were_typed() {
    let round = OpenRound::new(1).await;
    let laboratory = &round.laboratories[0];
    ask(laboratory, "Which bottle?").await;
    for text in bad_texts() {
        let page = laboratory.submit(&at("/questions"), &at("/questions"), &[("question", &text)]).await;
        assert_field_is_wrong(&page.expect(422).page(), "question", &text);
        let page = answer(&round.organiser, "Which bottle?", &text, &[("command", "answer")]).await;
        assert_field_is_wrong(&page.expect(422).page(), "answer", &text);
    }
    assert_eq!(laboratory.page(&at("/questions")).await.all("ul.waiting li").len(), 1);
    round.close().await;
    for text in bad_texts() {
        let fields = [("kind", "late"), ("reason", &*text)];
        let page = laboratory.submit(&at("/requests"), &at("/requests"), &fields).await.expect(422).page();
        assert_field_is_wrong(&page, "reason", &text);
        assert_eq!(page.attribute("#kind option[selected]", "value"), "late");
    }
    let page = laboratory.submit(&at("/requests"), &at("/requests"), &[("reason", "The courier.")]).await;
    let page = page.expect(422).page();
    assert!(page.has("[role='alert'] a[href='#kind']"), "{}", page.problems());
    assert_eq!(page.all("#reason")[0].text().collect::<String>(), "The courier.");
    assert_eq!(page.attribute("#kind", "aria-invalid"), "true");
    // The organiser asks nothing and reports nothing.
    let token = round.organiser.page(&at("/questions")).await.value("form_token");
    for path in [at("/questions"), at("/requests")] {
        let fields = [("form_token".to_owned(), token.clone()), ("question".to_owned(), "Who?".to_owned())];
        round.organiser.post(&path, &fields).await.expect(403);
    }
    round.app.end().await;
}

#[tokio::test]
async fn before_a_round_is_open_there_are_no_questions_of_laboratories() {
    let app = TestApp::new().await;
    let organiser = scenario::set_up(&app).await;
    scenario::design(&app, &organiser).await;
    let laboratory = scenario::accept(&app, &scenario::invite(&organiser).await[0], 0).await;

    laboratory.get(&at("/questions")).await.expect(404);
    laboratory.get(&at("/requests")).await.expect(404);
    let token = laboratory.page("/rounds").await.value("form_token");
    let fields = [("form_token".to_owned(), token), ("question".to_owned(), "When?".to_owned())];
    laboratory.post(&at("/questions"), &fields).await.expect(404);
    app.end().await;
}

#[tokio::test]
async fn a_new_answer_is_told_to_everybody_by_mail_and_says_nothing_itself() {
    let sink = Sink::start(Mode::Accept).await;
    let fresh = Fresh::new(Kind::Sqlite).await.expect("a file is always there");
    let round = OpenRound::on(TestApp::with_mail(fresh, sink.mailer()).await, 3).await;
    ask(&round.laboratories[1], "Which bottle is item A?").await;

    answer(&round.organiser, "Which bottle is item A?", "The blue one.", &[("command", "answer")]).await.leads_to();

    let mails = sink.wait(3).await;
    let recipients: BTreeSet<String> = mails.iter().map(|mail| mail.recipients[0].clone()).collect();
    assert_eq!(recipients, (0..3).map(email).collect(), "each person once, the asker like the others");
    for mail in &mails {
        assert_eq!(mail.recipients.len(), 1);
        assert_eq!(
            mail.header("Subject"),
            "Quillmere Interlaboratory Office: a question on Trace organic contaminants in water was answered"
        );
        assert_eq!(mail.path("/rounds/"), at("/questions"));
        let text = mail.text();
        assert!(!text.contains("bottle") && !text.contains("blue"), "{text}");
    }
    // A question that is closed is told to nobody.
    ask(&round.laboratories[1], "And B?").await;
    answer(&round.organiser, "And B?", "", &[("command", "close")]).await.leads_to();
    ask(&round.laboratories[1], "And C?").await;
    answer(&round.organiser, "And C?", "The red one.", &[("command", "answer")]).await.leads_to();
    assert_eq!(sink.wait(6).await.len(), 6);
    round.app.end().await;
}

#[tokio::test]
async fn a_request_after_closing_is_decided_by_the_rule_and_changes_nothing() {
    let round = OpenRound::new(3).await;
    let [laboratory, other] = [0, 1].map(|n| &round.laboratories[n]);
    let receipts = round.all_send().await;
    let codes = [laboratory.page(&receipts[0]).await.text("dd.code"), other.page(&receipts[1]).await.text("dd.code")];
    let early = laboratory.page(&at("/requests")).await;
    assert!(early.text("p.lead").contains("send a new version"), "{}", early.text("p.lead"));
    assert!(!early.has("form[action$='/requests']") && !laboratory.page(&at("")).await.has("a[href$='/requests']"));
    let token = early.value("form_token");
    let fields = [("form_token", &*token), ("kind", "correction"), ("reason", "Items exchanged.")];
    let fields = fields.map(|(name, text)| (name.to_owned(), text.to_owned()));
    laboratory.post(&at("/requests"), &fields).await.expect(409);
    round.close().await;
    let before = laboratory.get(&format!("{}/document.json", receipts[0])).await.expect(200).bytes;

    let (path, reason) = (at("/requests"), "We exchanged items B and C.\nSeen today.");
    for _ in 0..2 {
        let fields = [("kind", "correction"), ("reason", reason)];
        assert_eq!(laboratory.submit(&path, &path, &fields).await.leads_to(), path);
    }
    other.submit(&path, &path, &[("kind", "late"), ("reason", "The courier was late.")]).await.leads_to();

    // Each sees its own, once; the organiser sees codes and no names.
    assert_eq!(laboratory.page(&path).await.all("ul.requests li").len(), 1, "pressed twice, made once");
    assert_eq!(other.page(&path).await.texts("ul.requests p.words"), ["The courier was late."]);
    let organisers = round.organiser.page(&path).await;
    let heads: BTreeSet<String> = organisers.texts("ul.requests h3 .code").into_iter().collect();
    assert_eq!(heads, codes.iter().cloned().collect());
    assert!(!organisers.texts("main").concat().contains(LABORATORIES[0]));
    assert!(round.organiser.page(&at("")).await.texts("p.links a").contains(&"Requests: 2 to decide".to_owned()));

    let href = |code: &str| {
        let index = organisers.texts("ul.requests h3 .code").iter().position(|shown| shown == code).unwrap();
        organisers.all("ul.requests a")[index].attr("href").unwrap().to_owned()
    };
    let [first, second] = [href(&codes[0]), href(&codes[1])];
    laboratory.get(&first).await.expect(404);
    let page = round.organiser.submit(&first, &first, &[("evidence", "kept")]).await.expect(422).page();
    assert!(page.has("[role='alert'] a[href='#ruling']") && !page.text("#ruling-error").is_empty());
    assert_eq!(page.all("#evidence")[0].text().collect::<String>(), "kept");
    let page = round.organiser.submit(&second, &second, &[("ruling", "transcription-fault")]).await.expect(422).page();
    assert_field_is_wrong(&page, "evidence", "");
    round.organiser.submit(&first, &first, &[("ruling", "not-accepted")]).await.leads_to();
    let fields = [("ruling", "transcription-fault"), ("evidence", "Sheet 4 of 12 April, copied as 1.5.")];
    round.organiser.submit(&second, &second, &fields).await.leads_to();

    let page = laboratory.page(&path).await;
    assert_eq!(page.texts("ul.requests strong"), ["Not accepted."]);
    assert!(
        page.texts("ul.requests").concat().contains(
            "not changed after closing, whatever the reason; they are scored as they were sent (ISO 13528, 6.3)"
        ),
        "{}",
        page.texts("main").concat()
    );
    let page = other.page(&path).await;
    assert!(page.text("ul.requests strong").starts_with("Acknowledged: a transcription fault"));
    assert_eq!(page.texts("ul.requests p.answer"), ["Sheet 4 of 12 April, copied as 1.5."]);
    let fields =
        [("form_token".to_owned(), organisers.value("form_token")), ("ruling".to_owned(), "not-accepted".to_owned())];
    round.organiser.post(&first, &fields).await.expect(409);

    let after = laboratory.get(&format!("{}/document.json", receipts[0])).await.expect(200).bytes;
    assert_eq!(after, before, "what was sent stays as it is");
    assert_eq!(laboratory.page(&at("")).await.all("ul.versions li").len(), 1);
    let record = round.organiser.page(&at("")).await.texts("ol.events li");
    let made: Vec<&String> = record.iter().filter(|line| line.contains("A request after closing was made")).collect();
    assert_eq!(made.len(), 2, "{record:?}");
    assert!(made.iter().all(|line| !line.contains("Ada Sample")), "a code never stands beside a name: {made:?}");
    let decided = format!("A request after closing was decided: {}: not-accepted, Orla Quill", codes[0]);
    assert!(record.iter().any(|line| line.ends_with(&decided)), "{record:?}");
    // After publication the same holds.
    round.publish().await;
    laboratory.submit(&path, &path, &[("kind", "other"), ("reason", "Thank you.")]).await.leads_to();
    round.app.end().await;
}
