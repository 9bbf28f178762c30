//! Long work as people see it: how far it is, stopping it, letting it go on, and
//! fetching what it made.

use crate::support::page::Page;
use crate::support::scenario::{CODE, ORGANISER, OpenRound, PASSWORD, at, member};
use crate::support::visitor::Visitor;
use jiff::SignedDuration;
use roundel_domain::id::JobId;
use roundel_store::jobs::{self, Kind};
use roundel_store::{accounts, rounds};
use std::time::Duration;

/// The page of a job once it has ended.
async fn ended(visitor: &Visitor, path: &str) -> Page {
    for _ in 0..600 {
        let page = visitor.page(path).await;
        if !page.has("form[action$='/cancel']") {
            return page;
        }
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    panic!("{path} does not end: {}", visitor.page(path).await.text("main"));
}

fn without_query(path: &str) -> String {
    path.split('?').next().unwrap_or_default().to_owned()
}

#[tokio::test]
async fn an_evaluation_is_made_as_long_work_and_seen_by_who_may_evaluate() {
    let round = OpenRound::new(3).await;
    round.all_send().await;
    let statistician = member(&round.app, &round.organiser, "numbers@quillmere.example", "statistician").await;
    let reviewer = member(&round.app, &round.organiser, "second-reviewer@quillmere.example", "reviewer").await;
    let none = statistician.page("/jobs").await;
    assert!(none.text("main").contains("Nothing was wanted yet"), "{}", none.text("main"));
    round.close().await;
    statistician.sign_in("numbers@quillmere.example", PASSWORD).await;
    reviewer.sign_in("second-reviewer@quillmere.example", PASSWORD).await;

    let path = at("/evaluation");
    let job = without_query(&statistician.submit(&path, &path, &[("command", "job")]).await.leads_to());
    let page = ended(&statistician, &job).await;
    assert!(page.text("main").contains("13 of 13 parts"), "{}", page.text("main"));
    assert_eq!(page.attribute("main a.button", "href"), path);
    assert_eq!(statistician.page(&path).await.texts("ul.versions li").len(), 1);

    assert!(round.organiser.page("/jobs").await.has(&format!("a[href='{job}']")));
    // A reviewer makes no evaluation, so it is not told of one being made.
    assert!(!reviewer.page("/jobs").await.has(&format!("a[href='{job}']")));
    reviewer.get(&job).await.expect(403);
    for path in ["/jobs", &job] {
        round.laboratories[0].get(path).await.expect(404);
    }
    round.laboratories[0].get("/jobs/none").await.expect(404);
    round.organiser.get("/jobs/none").await.expect(404);
}

#[tokio::test]
async fn a_job_is_stopped_and_goes_on_and_the_page_looks_again_unless_told_not_to() {
    let round = OpenRound::new(3).await;
    round.all_send().await;
    round.close().await;
    // Another copy of the program holds it.
    let id = JobId(roundel::clock::new_id());
    let app = &round.app.app;
    let now = app.clock.now();
    let mut tx = app.db.write().await.unwrap();
    let known = rounds::by_code(&mut tx, CODE).await.unwrap().unwrap();
    let organiser = accounts::by_email(&mut tx, ORGANISER).await.unwrap();
    jobs::insert(&mut tx, id, Kind::Evaluation, known.id, organiser.unwrap().id, now).await.unwrap();
    jobs::claim(&mut tx, id, now, now + SignedDuration::from_mins(5)).await.unwrap();
    tx.commit().await.unwrap();

    let job = format!("/jobs/{id}");
    let looks = round.organiser.get(&job).await.expect(200);
    assert_eq!(looks.header("refresh"), "3");
    let still = round.organiser.get(&format!("{job}?still=yes")).await.expect(200);
    assert_eq!(still.header("refresh"), "");
    assert!(still.page().has(&format!("a[href='{job}']")));
    let cancel = format!("{job}/cancel");
    assert_eq!(without_query(&round.organiser.submit(&job, &cancel, &[]).await.leads_to()), job);
    let stopped = round.organiser.get(&job).await.expect(200);
    assert_eq!(stopped.header("refresh"), "");
    let page = stopped.page();
    assert!(page.text("main").contains("stopped"), "{}", page.text("main"));
    // From a page that is older.
    let fields = vec![("form_token".to_owned(), page.value("form_token"))];
    let late = round.organiser.post(&cancel, &fields).await.expect(409);
    assert!(late.page().text("main").contains("cannot be stopped any more"));

    let resume = format!("{job}/resume");
    round.organiser.fill(&page, &resume, &[]).await.leads_to();
    let page = ended(&round.organiser, &job).await;
    assert!(page.has("main a.button"), "{}", page.text("main"));
    round.organiser.post(&resume, &fields).await.expect(409);
    let record = round.organiser.page(&at("")).await.text("details.record");
    for said in ["Long work stopped: evaluation", "Long work goes on: evaluation"] {
        assert!(record.contains(said), "{record}");
    }
}

/// The archive holds the files as they are: its own list of them counts them, and the
/// bytes of each certificate stand in it.
#[tokio::test]
async fn all_certificates_of_a_published_round_come_as_one_archive() {
    let round = OpenRound::new(3).await;
    let receipts = round.all_send().await;
    round.close().await;
    let start = at("/certificates");
    let fields = vec![("form_token".to_owned(), round.organiser.page("/rounds").await.value("form_token"))];
    let early = round.organiser.post(&start, &fields).await.expect(409);
    assert!(early.page().text("main").contains("not published"));
    round.publish().await;

    let fields = vec![("form_token".to_owned(), round.organiser.page(&at("")).await.value("form_token"))];
    let job = without_query(&round.organiser.post(&start, &fields).await.leads_to());
    let page = ended(&round.organiser, &job).await;
    let archive = page.attribute("main a.button", "href");
    assert_eq!(archive, format!("{job}/certificates.zip"), "{}", page.text("main"));
    let file = round.organiser.get(&archive).await.expect(200);
    assert_eq!(file.header("content-type"), "application/zip");

    let end = file.bytes.windows(4).rposition(|four| four == b"PK\x05\x06").expect("an archive ends");
    let entries = u16::from_le_bytes([file.bytes[end + 10], file.bytes[end + 11]]);
    assert_eq!(entries, 12, "one for each laboratory, also for who sent nothing");
    let code = round.laboratories[0].page(&receipts[0]).await.text("dd.code");
    let own = round.organiser.get(&at(&format!("/certificates/{code}.pdf"))).await.expect(200).bytes;
    assert!(file.bytes.windows(own.len()).any(|part| part == own), "the certificate of {code} stands in it");
    let record = round.organiser.page(&at("")).await.text("details.record");
    assert!(record.contains("The list of all codes with names was shown: certificates"), "{record}");
    round.laboratories[0].get(&archive).await.expect(404);
}
