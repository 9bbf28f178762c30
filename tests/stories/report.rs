//! The report of a round: what is missing of it, what people write, the codes that they
//! must not name unawares, issuing it, and reading it.

use crate::support::app::TestApp;
use crate::support::certificate::{READER, text_of};
use crate::support::page::words;
use crate::support::scenario::{self, CODE, LABORATORIES, MEASURANDS, OpenRound, PASSWORD, REVIEWER, STATISTICIAN, at};
use crate::support::sink::{Mode, Sink};
use crate::support::visitor::Visitor;
use roundel_store::testing::{Fresh, Kind};
use std::collections::BTreeSet;
use std::process::Command;
use std::time::{Duration, Instant};

const HEADINGS: [&str; 10] = [
    "expectation",
    "variation",
    "earlier",
    "methods",
    "errors",
    "advice",
    "unusual",
    "conclusions",
    "items",
    "recommendations",
];

/// A closed and evaluated round with all results, and a statistician; mail goes to `sink`.
async fn evaluated(sink: &Sink) -> (OpenRound, Visitor) {
    let fresh = Fresh::new(Kind::Sqlite).await.expect("a file is always there");
    let round = OpenRound::on(TestApp::with_mail(fresh, sink.mailer()).await, 6).await;
    round.all_send().await;
    let statistician = scenario::member(&round.app, &round.organiser, STATISTICIAN, "statistician").await;
    round.close().await;
    statistician.sign_in(STATISTICIAN, PASSWORD).await;
    round.reviewer.sign_in(REVIEWER, PASSWORD).await;
    statistician.submit(&at("/evaluation"), &at("/evaluation"), &[]).await.leads_to();
    (round, statistician)
}

fn text_of_heading(word: &str) -> String {
    at(&format!("/report/texts/{word}"))
}

/// Issues a report, with the token of another page: what a form has not may be posted.
async fn issue(who: &Visitor, status: &str, reason: &str) -> crate::support::answer::Answer {
    let token = who.page("/rounds").await.value("form_token");
    let fields = [("form_token", token.as_str()), ("status", status), ("reason", reason)];
    let fields = fields.map(|(name, text)| (name.to_owned(), text.to_owned()));
    who.post(&at("/report"), &fields).await
}

fn has_reader() -> bool {
    Command::new(READER).arg("-v").output().is_ok()
}

#[tokio::test]
async fn an_organiser_fills_what_is_missing_issues_the_final_report_and_a_laboratory_reads_it() {
    let sink = Sink::start(Mode::Accept).await;
    let (round, statistician) = evaluated(&sink).await;
    let path = at("/report");

    // Before publication: the staff sees what is missing, laboratories see nothing.
    let page = round.organiser.page(&path).await;
    assert_eq!(page.all("ul.checklist").first().map(|list| list.children().count() > 20), Some(true));
    let whole = page.text("main");
    assert!(whole.contains("Not written: advice to participants."), "{whole}");
    assert!(whole.contains("Nobody has authorised it"), "{whole}");
    assert!(page.has("input[value='preliminary']") && !page.has("input[value='final']"));
    for who in [&statistician, &round.reviewer] {
        assert!(!who.page(&path).await.has("input[name='status']"), "only the organiser issues");
        issue(who, "preliminary", "").await.expect(403);
    }
    let laboratory = &round.laboratories[0];
    for address in ["/report", "/report/read", "/report.pdf", "/report/texts/advice", "/report/read?version=0"] {
        laboratory.get(&at(address)).await.expect(404);
    }
    issue(laboratory, "final", "").await.expect(404);
    let refused = issue(&round.organiser, "final", "").await.expect(422).page();
    assert!(refused.text("#status").contains("issued after the round is published"), "{}", refused.text("main"));
    issue(&round.organiser, "preliminary", "").await.leads_to();
    laboratory.get(&path).await.expect(404);

    // After publication: still blocked, with a list of what is missing.
    scenario::approve(&round.reviewer).await;
    scenario::publish(&round.organiser).await;
    laboratory.get(&path).await.expect(404);
    let refused = issue(&round.organiser, "final", "").await.expect(422).page();
    assert!(refused.text("#status").contains("things are missing"), "{}", refused.text("#status"));
    assert!(refused.text("main").contains("Recommendations are not written."));

    // Codes in a text are found, also in small letters, and what was typed is kept.
    let told = laboratory.page(&at("/scores")).await.text(".subtitle");
    let codes = scenario::codes(&round.organiser).await;
    let own = codes.iter().find(|(code, _)| told.contains(code.as_str()));
    let (code, _) = own.expect("the page names the own code").clone();
    let advice = text_of_heading("advice");
    let named = format!("Laboratory {} had all of them high.", code.to_lowercase());
    let refused = statistician.submit(&advice, &advice, &[("text", &named)]).await.expect(422).page();
    assert!(refused.text("#confirmed-error").contains(&code), "{}", refused.text("main"));
    assert_eq!(refused.text("textarea#text"), named);
    let confirmed = [("text", named.as_str()), ("confirmed", "yes")];
    let token = refused.value("form_token");
    let fields: Vec<(String, String)> = [("form_token", token.as_str())]
        .iter()
        .chain(&confirmed)
        .map(|(name, text)| ((*name).to_owned(), (*text).to_owned()))
        .collect();
    statistician.post(&advice, &fields).await.leads_to();
    // Neither a text nor a reason, and both.
    let refused = statistician.submit(&advice, &advice, &[("text", "")]).await.expect(422).page();
    assert!(refused.has("#text-error"));
    let both = [("text", "Words."), ("not_applicable", "No.")];
    assert!(statistician.submit(&advice, &advice, &both).await.expect(422).page().has("#not_applicable-error"));

    for word in HEADINGS {
        let address = text_of_heading(word);
        let fields = match word {
            "earlier" => [("text", ""), ("not_applicable", "It is the first round.")],
            _ => [("text", "What was seen.\n\nAnd more of it."), ("not_applicable", "")],
        };
        let who = if word == "errors" { &round.reviewer } else { &round.organiser };
        who.submit(&address, &address, &fields).await.leads_to();
    }
    let page = round.organiser.page(&path).await;
    assert!(page.text(".lead").contains("Everything that a final report must have"), "{}", page.text("main"));
    round.organiser.submit(&path, &path, &[("status", "final")]).await.leads_to();

    // A laboratory reads it: all contents, and the numbers that were published.
    let page = laboratory.page(&path).await;
    let heads = page.texts("article.report section h2");
    for letter in 'a'..='t' {
        assert!(heads.iter().any(|head| head.starts_with(&format!("{letter} "))), "{letter} in {heads:?}");
    }
    assert!(!page.text("article.report").contains("Not written yet"));
    let figures = page.all("article.report figure.drawn");
    assert!(figures.len() >= 4, "{} figures", figures.len());
    assert!(figures.iter().all(|figure| !words(*figure).contains(&code)), "no figure names a laboratory");
    for (place, asked) in MEASURANDS.iter().enumerate().filter(|(_, asked)| asked.item == "A") {
        let rows = page.texts("section[aria-labelledby='item-statistics'] tbody tr");
        let row = rows.iter().find(|row| row.starts_with(asked.analyte)).expect("a row of the analyte");
        assert!(row.contains(asked.x_pt) && row.contains(asked.sigma), "{row}");
        let typed = scenario::typed(0, place);
        let own = page.texts("section[aria-labelledby='item-results'] tbody tr");
        assert!(own.iter().any(|row| row.starts_with(&code) && row.contains(&typed)), "{code} {typed} in {own:?}");
    }
    assert!(LABORATORIES.iter().all(|name| !page.text("article.report").contains(name)), "codes only");
    let pdf = laboratory.get(&at("/report.pdf")).await.expect(200);
    assert_eq!(pdf.header("content-type"), "application/pdf");
    let german = laboratory.get(&at("/report.pdf?language=de")).await.expect(200);
    if has_reader() {
        let text = text_of(&pdf.bytes);
        for asked in &MEASURANDS {
            assert!(text.contains(asked.x_pt), "{} in the document", asked.x_pt);
        }
        assert!(text.contains(&format!("End of report {CODE}-R, version 2")), "version 1 was the preliminary one");
        assert!(!text.contains("Preliminary"));
        let text = text_of(&german.bytes);
        assert!(text.contains("Bericht zum Ringversuch") && text.contains(&MEASURANDS[0].x_pt.replace('.', ",")));
    }

    // It is never edited: no second final one, and a correction needs its reason.
    let refused = issue(&round.organiser, "final", "").await.expect(422).page();
    assert!(refused.text("#status").contains("There is a final report already"), "{}", refused.text("#status"));
    let refused = issue(&round.organiser, "corrected", " ").await.expect(422).page();
    assert!(refused.has("#reason-error"));
    let named = format!("A comment named laboratory {}.", code.to_lowercase());
    let refused = issue(&round.organiser, "corrected", &named).await.expect(422).page();
    assert!(refused.text("#reason-error").contains(&code), "a reason goes out by mail: {}", refused.text("main"));
    assert!(!laboratory.page(&at("")).await.has(".corrected"), "nothing was issued");
    issue(&round.organiser, "corrected", "A comment named a laboratory.").await.leads_to();
    is_told(&round, &sink, &code).await;
    let page = laboratory.page(&path).await;
    assert!(page.text("article.report").contains("replaces QT-1-R, version 2. Reason: A comment named a laboratory."));
    let old = laboratory.page(&at("/report/read?version=2")).await;
    assert!(old.text(".attention").contains("Superseded"), "{}", old.text("article.report"));
    laboratory.get(&at("/report/read?version=1")).await.expect(404);
    laboratory.get(&at("/report/read?version=9")).await.expect(404);
    if has_reader() {
        let text = text_of(&laboratory.get(&at("/report.pdf?version=2")).await.expect(200).bytes);
        assert!(text.contains("Superseded"));
    }

    // While a correction is open nothing of it reaches a laboratory, also by no report.
    let corrections = at("/corrections");
    round
        .organiser
        .submit(&corrections, &corrections, &[("reason", "The label of item B was wrong.")])
        .await
        .leads_to();
    issue(&round.organiser, "corrected", "Too early.").await.expect(422);
    issue(&round.organiser, "interim", "").await.leads_to();
    assert!(round.reviewer.page(&at("/report/read?version=4")).await.text(".attention").contains("Interim"));
    laboratory.get(&at("/report/read?version=4")).await.expect(404);
    assert!(!laboratory.page(&path).await.text("main").contains("Version 4"));
    round.app.end().await;
}

/// Everybody who had version 2 is told that version 3 took its place, with the reason.
async fn is_told(round: &OpenRound, sink: &Sink, code: &str) {
    for laboratory in &round.laboratories {
        let notice = laboratory.page(&at("")).await.text(".corrected");
        assert!(notice.contains("Version 3 of the report took the place of version 2"), "{notice}");
        assert!(notice.contains("Reason: A comment named a laboratory."), "{notice}");
        assert!(notice.contains("No assigned value and no class changed."), "{notice}");
    }
    let gate = round.organiser.page(&at("/report")).await.text("ul.versions");
    let all = LABORATORIES.len();
    assert!(gate.contains(&format!("{all} laboratories were told on the page of the round and by {all} messages")));
    let until = Instant::now() + Duration::from_secs(20);
    let mails = loop {
        let mails: Vec<_> =
            sink.mails().into_iter().filter(|m| m.header("Subject").contains("corrected report")).collect();
        if mails.len() >= all {
            break mails;
        }
        assert!(Instant::now() < until, "{} of {all} messages", mails.len());
        tokio::time::sleep(Duration::from_millis(20)).await;
    };
    let recipients: BTreeSet<String> = mails.iter().flat_map(|mail| mail.recipients.clone()).collect();
    assert_eq!((recipients.len(), mails.len()), (all, all), "one message to each");
    for mail in mails {
        let text = mail.text();
        assert!(text.contains("Version 3 takes the place of version 2"), "{text}");
        assert!(text.contains("Reason: A comment named a laboratory.") && text.contains(&at("/report")), "{text}");
        assert!(!text.contains(code), "{text}");
    }
    // The signed list of what does not stand any more has the old one's digest.
    let old = round.laboratories[0].page(&at("/report/read?version=2")).await.text("article.report > p.hint code.hash");
    let notices = round.app.visitor().get("/notices.json").await.expect(200).text();
    assert!(old.len() == 64 && notices.contains(&old), "{old} in {notices}");
}

#[tokio::test]
async fn anybody_can_read_how_results_are_evaluated() {
    let round = OpenRound::new(1).await;

    let page = round.app.visitor().page("/methods-of-evaluation").await;

    let titles = page.texts("section h2");
    for title in ["Algorithm A", "Q method", "Median and MADe", "z score", "Eₙ score", "Homogeneity of items"] {
        assert!(titles.iter().any(|known| known == title), "{title} in {titles:?}");
    }
    // ISO 13528:2022 C.3.1 (from memory): the factor of Algorithm A.
    assert!(page.text("section[aria-labelledby='algorithm_a']").contains("1.134"));
    round.app.end().await;
}

/// A study of precision is fixed in the plan, and the report says it with numbers that
/// come from what was typed.
#[tokio::test]
async fn a_study_of_precision_stands_in_the_plan_and_in_the_report() {
    let round = OpenRound::of_precision(6, "harmonised", "QM-7, edition 2").await;
    let planned = "by the protocol QM-7, edition 2; outlying laboratories are found by the harmonised protocol";
    let plan = round.organiser.page(&at("/plan/1")).await;
    assert!(plan.text("main").contains(planned), "{}", plan.text("main"));
    round.all_send().await;
    let statistician = scenario::member(&round.app, &round.organiser, STATISTICIAN, "statistician").await;
    round.close().await;
    statistician.sign_in(STATISTICIAN, PASSWORD).await;
    statistician.submit(&at("/evaluation"), &at("/evaluation"), &[]).await.leads_to();

    let draft = statistician.page(&at("/report/read?version=0")).await;
    let section = "section[aria-labelledby='item-precision']";
    assert!(draft.text(section).contains("QM-7, edition 2") && draft.text(section).contains("at 2.5"));
    // Each laboratory gave one value: s_R is the standard deviation of these, by its
    // formula. Of the first two, which are of one organisation, one counts.
    let rows = draft.texts(&format!("{section} tbody tr"));
    let is_without = |left_out: usize| {
        MEASURANDS.iter().enumerate().filter(|(_, asked)| asked.item == "A").all(|(place, asked)| {
            let counting = (0..6).filter(|n| *n != left_out);
            let typed: Vec<f64> = counting.map(|n| scenario::number(&scenario::typed(n, place))).collect();
            let mean = typed.iter().sum::<f64>() / 5.0;
            let sd = (typed.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / 4.0).sqrt();
            let digits = usize::try_from(2 - sd.log10().floor() as i32).unwrap_or_default();
            let name = format!("{}, ng/L", asked.analyte);
            let row = rows.iter().find(|row| row.starts_with(&name)).expect("a row of the analyte");
            row.contains(&format!("–{sd:.digits$}"))
        })
    };
    assert!(is_without(0) != is_without(1), "{rows:?}");
    let page = statistician.page(&at("/precision")).await;
    assert!(page.text("main").contains(planned) && page.text("main").contains("at 2.5"));
    // A laboratory reads what the plan says, and nothing of the numbers.
    round.laboratories[0].get(&at("/precision")).await.expect(404);

    // Without a protocol there is no study.
    scenario::new_round(&round.app, &round.organiser, "QV-1").await;
    let asks = "/rounds/QV-1/asks";
    let refused = round.organiser.submit(asks, asks, &[("precision", "iso")]).await.expect(422).page();
    assert!(refused.text("#protocol-error").contains("Name the protocol"), "{}", refused.text("main"));
    round.app.end().await;
}
