//! After evaluation: trials, review by somebody who edited nothing, publication,
//! corrections, complaints and appeals.

use crate::support::scenario::{
    self, CODE, LABORATORIES, MEASURANDS, ORGANISER, OpenRound, PASSWORD, PUBLISHING, REVIEWER, STATISTICIAN, at, email,
};
use crate::support::visitor::Visitor;

/// A closed and evaluated round with all results, a statistician and a reviewer.
async fn evaluated() -> (OpenRound, Visitor) {
    let round = OpenRound::new(6).await;
    round.all_send().await;
    let statistician = scenario::member(&round.app, &round.organiser, STATISTICIAN, "statistician").await;
    round.close().await;
    statistician.sign_in(STATISTICIAN, PASSWORD).await;
    round.reviewer.sign_in(REVIEWER, PASSWORD).await;
    statistician.submit(&at("/evaluation"), &at("/evaluation"), &[]).await.leads_to();
    (round, statistician)
}

fn fields<'a>(token: &str, more: &[(&'a str, &'a str)]) -> Vec<(String, String)> {
    let mut fields = vec![("form_token".to_owned(), token.to_owned())];
    fields.extend(more.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())));
    fields
}

/// Leaves the first result of a place out of the consensus.
async fn leave_out(who: &Visitor, organiser: &Visitor, place: usize) {
    let code = organiser.page(&at(&format!("/review/{place}"))).await.text("table.scores tbody th.code");
    scenario::decide(who, &format!("{code}.{place}"), "blunder", "other", "the label of another item").await;
}

/// The standings that the page of approval shows, in the order of the places.
async fn standings(who: &Visitor) -> Vec<String> {
    let page = who.page(&at("/approval")).await;
    let rows = page.all("table.approvals tbody tr");
    rows.iter().map(|row| row.attr("class").unwrap_or_default().trim_start_matches("standing-").to_owned()).collect()
}

#[tokio::test]
async fn nobody_approves_their_own_work_and_nothing_is_published_without_approval() {
    let (round, statistician) = evaluated().await;
    let path = at("/approval");

    // Neither who evaluated nor who runs the round may approve.
    for who in [&statistician, &round.organiser] {
        let token = who.page("/rounds").await.value("form_token");
        assert!(!who.page(&path).await.has("button[value='approve']"));
        who.post(&path, &fields(&token, &[("verdict", "approve_all"), ("version", "1")])).await.expect(403);
    }
    let page = round.organiser.page(&at("/publish")).await;
    assert!(page.text(".attention").contains("12 measurands are not approved"), "{}", page.text(".attention"));
    let token = page.value("form_token");
    let publishing = fields(&token, &[&PUBLISHING[..], &[("version", "1")]].concat());
    round.organiser.post(&at("/publish"), &publishing).await.expect(409);
    statistician
        .post(&at("/publish"), &fields(&statistician.page("/rounds").await.value("form_token"), &PUBLISHING))
        .await
        .expect(403);

    // A return without a finding, and a verdict on nothing.
    let page = round.reviewer.page(&path).await;
    let token = page.value("form_token");
    let said = fields(&token, &[("verdict", "return"), ("version", "1"), ("position", "1")]);
    let refused = round.reviewer.post(&path, &said).await.expect(422).page();
    assert!(refused.has("#finding-error") && refused.has("input[value='1'][checked]"), "kept");
    round.reviewer.post(&path, &fields(&token, &[("verdict", "approve"), ("version", "1")])).await.expect(422);

    // One goes back; eleven are approved.
    let returned = [("verdict", "return"), ("version", "1"), ("position", "1"), ("finding", "Why is u so small?")];
    round.reviewer.post(&path, &fields(&token, &returned)).await.leads_to();
    round.reviewer.post(&path, &fields(&token, &[("verdict", "approve_all"), ("version", "1")])).await.leads_to();
    let shown = standings(&round.organiser).await;
    assert_eq!(shown[0], "returned");
    assert_eq!(shown.iter().filter(|one| *one == "approved").count(), 11);
    round.organiser.post(&at("/publish"), &publishing).await.expect(409);

    // The finding is answered, once, and the measurand approved.
    let action = statistician.page(&path).await.attribute("form[action$='/answer']", "action");
    statistician.submit(&path, &action, &[("answer", "")]).await.expect(422);
    statistician.submit(&path, &action, &[("answer", "It is that of the formulation.")]).await.leads_to();
    statistician
        .post(&action, &fields(&statistician.page("/rounds").await.value("form_token"), &[("answer", "x")]))
        .await
        .expect(409);
    let page = round.reviewer.page(&path).await;
    assert!(page.text("table.approvals").contains("It is that of the formulation."));
    let again = [("verdict", "approve"), ("version", "1"), ("position", "1")];
    round.reviewer.post(&path, &fields(&token, &again)).await.leads_to();
    assert!(round.reviewer.page(&path).await.text("dl.facts").contains("the same to the last digit"));

    // A wrong password, then the right one.
    let wrong = [("code", CODE), ("meaning", "Released."), ("password", "not this one at all")];
    let refused = round.organiser.submit(&at("/publish"), &at("/publish"), &wrong).await.expect(422).page();
    assert!(refused.has("#password-error"));
    assert_eq!((refused.value("meaning").as_str(), refused.value("password").as_str()), ("Released.", ""));
    let unsaid = [("code", CODE), ("meaning", ""), ("password", PASSWORD)];
    round.organiser.submit(&at("/publish"), &at("/publish"), &unsaid).await.expect(422);
    scenario::publish(&round.organiser).await;
    assert!(round.laboratories[0].get(&at("/scores")).await.status.is_success());
    round.app.end().await;
}

#[tokio::test]
async fn an_approval_holds_for_what_stays_the_same_when_something_else_is_decided() {
    let (round, statistician) = evaluated().await;
    let path = at("/approval");
    scenario::approve(&round.reviewer).await;
    leave_out(&statistician, &round.organiser, 3).await;

    // What is approved is not what is decided now: it cannot be published.
    let refused = round.organiser.get(&at("/publish")).await.expect(409);
    assert!(refused.page().text("main").contains("evaluation"), "{}", refused.page().text("main"));
    statistician.submit(&at("/evaluation"), &at("/evaluation"), &[]).await.leads_to();

    let shown = standings(&round.organiser).await;
    assert_eq!(shown[2], "changed", "its results are not what was approved");
    assert_eq!(shown.iter().filter(|one| *one == "approved").count(), 11, "{shown:?}");
    // An old page names the old evaluation.
    let token = round.reviewer.page(&path).await.value("form_token");
    round
        .reviewer
        .post(&path, &fields(&token, &[("verdict", "approve"), ("version", "1"), ("position", "3")]))
        .await
        .expect(409);
    scenario::approve(&round.reviewer).await;
    scenario::publish(&round.organiser).await;
    round.app.end().await;
}

#[tokio::test]
async fn trials_change_nothing_are_all_kept_and_never_published() {
    let (round, statistician) = evaluated().await;
    let path = at("/trials");
    let before = round.organiser.get(&at("/package.json")).await.text();
    let asked = MEASURANDS[0];
    let id = format!("{}/{}", asked.item, asked.analyte);

    // What is wrong is told, and what was typed stays.
    let nothing = [("measurand", id.as_str())];
    statistician.submit(&path, &path, &nothing).await.expect(422);
    let wrong = [("measurand", id.as_str()), ("value", "given"), ("given", "abc"), ("leave_out", "NOBODY")];
    let refused = statistician.submit(&path, &path, &wrong).await.expect(422).page();
    assert_eq!(refused.value("given"), "abc");
    assert!(refused.has("#given-error") && refused.has("#given_uncertainty-error") && refused.has("#leave_out-error"));
    assert!(statistician.page(&path).await.texts("ol.versions li").is_empty(), "no trial was made");

    // With about half the sigma_pt every z is about twice as large: classes change.
    let half = "4.1";
    let tried = [("measurand", id.as_str()), ("sigma", "prescribed"), ("sigma_number", half)];
    let trial = statistician.submit(&path, &path, &tried).await.leads_to();
    let page = statistician.page(&trial).await;
    let z = |n: usize| scenario::z(&scenario::typed(n, 0), &asked).abs();
    let class = |z: f64| if z <= 2.0 { 0 } else { 1 + i32::from(z >= 3.0) };
    let times = scenario::number(asked.sigma) / scenario::number(half);
    let moved = (0..6).filter(|n| class(z(*n)) != class(times * z(*n))).count();
    assert!(moved > 0, "the numbers were chosen so that something moves");
    assert_eq!(page.texts("table.classes tbody tr").len(), moved);
    // Looking again is no new trial; another one is.
    statistician.page(&trial).await;
    statistician.submit(&path, &path, &[("sigma", "percent"), ("sigma_number", "40")]).await.leads_to();
    let listed = round.reviewer.page(&path).await;
    assert_eq!(listed.texts("ol.versions li").len(), 2);
    assert!(listed.text("h2").contains('2'));
    assert!(!listed.has("main form"), "a reviewer tries nothing");
    assert_eq!(round.reviewer.page(&at("/approval")).await.texts("dl.facts a"), ["2"]);

    assert_eq!(round.organiser.get(&at("/package.json")).await.text(), before);
    assert_eq!(round.organiser.page(&at("/evaluation")).await.texts("ul.versions li").len(), 1, "no evaluation of it");
    round.laboratories[0].get(&path).await.expect(404);
    round.laboratories[0].get(&trial).await.expect(404);
    round.app.end().await;
}

#[tokio::test]
async fn a_correction_has_a_reason_an_impact_an_approval_and_supersedes_what_was_published() {
    let (round, statistician) = evaluated().await;
    scenario::approve(&round.reviewer).await;
    scenario::publish(&round.organiser).await;
    let laboratory = &round.laboratories[0];
    let first = laboratory.get(&at("/package.json")).await.expect(200).text();
    let scores = laboratory.get(&at("/scores.csv")).await.expect(200).text();
    let path = at("/corrections");

    // Closed to decisions until a correction is open, which needs a reason.
    let evaluation = at("/evaluation");
    let token = statistician.page("/rounds").await.value("form_token");
    statistician.post(&evaluation, &fields(&token, &[])).await.expect(409);
    round.organiser.submit(&path, &path, &[("reason", "")]).await.expect(422);
    let reason = "The assigned value of diclofenac in A was of another batch.";
    round.organiser.submit(&path, &path, &[("reason", reason)]).await.leads_to();

    // It is told where people look, and decided on from the pages of the review.
    for staff in [&round.organiser, &statistician, &round.reviewer] {
        assert!(staff.page("/rounds").await.text("table.rounds").contains("A correction is open"));
        for page in ["", "/evaluation"] {
            assert!(staff.page(&at(page)).await.text(".correcting").contains(reason), "{page}");
        }
    }
    assert!(statistician.page(&at("/review/1")).await.has("a[href*='/decide?']"));
    assert!(statistician.page(&at("/review")).await.text("main").contains("To decide"));
    assert!(!laboratory.page("/rounds").await.text("main").contains("correction"));

    leave_out(&statistician, &round.organiser, 3).await;
    statistician.submit(&evaluation, &evaluation, &[]).await.leads_to();

    // Nobody outside sees any of it before it is published.
    assert_eq!(laboratory.get(&at("/package.json")).await.text(), first);
    assert_eq!(laboratory.get(&at("/scores.csv")).await.text(), scores);
    assert!(!laboratory.get(&at("/scores")).await.text().contains("another batch"));
    assert!(round.reviewer.page(&at("/approval")).await.has("#impact"));
    scenario::approve(&round.reviewer).await;
    let ask = round.organiser.page(&at("/publish")).await;
    assert!(ask.text("main").contains(reason), "{}", ask.text("main"));
    scenario::publish(&round.organiser).await;

    let page = laboratory.page(&at("/scores")).await;
    assert!(page.text(".attention").contains(reason) && page.text(".attention").contains("Version 2"));
    assert!(laboratory.page(&at("")).await.text(".taken").contains(reason));
    assert!(!round.organiser.page(&at("")).await.has(".correcting"));
    assert!(statistician.page(&at("/review")).await.text("main").contains("The review is over"));
    assert_ne!(laboratory.get(&at("/package.json")).await.text(), first);
    // What was published first is there to the letter.
    let before = async |file: &str| laboratory.get(&format!("{}?version=1", at(file))).await.expect(200).text();
    assert!(before("/package.json").await == first && before("/scores.csv").await == scores);
    assert!(laboratory.page(&format!("{}?version=1", at("/scores"))).await.text(".superseded").contains(reason));
    let old = page.attribute("a[href*='certificate.pdf?version=1']", "href");
    for (address, name) in [(old.as_str(), "-version-1"), (&at("/certificate.pdf"), "-version-2")] {
        let pdf = laboratory.get(address).await.expect(200);
        assert!(pdf.bytes.starts_with(b"%PDF"));
        let file = pdf.headers["content-disposition"].to_str().expect("a name").to_owned();
        assert!(file.contains(name), "{file}");
    }
    laboratory.get(&at("/certificate.pdf?version=3")).await.expect(404);
    let listed = round.organiser.page(&path).await.texts("ol.versions li");
    assert_eq!(listed.len(), 2);
    assert!(listed[0].contains(reason) && listed[1].contains("superseded by version 2"), "{listed:?}");
    statistician.post(&evaluation, &fields(&token, &[])).await.expect(409);
    round.app.end().await;
}

#[tokio::test]
async fn an_appeal_is_looked_into_and_decided_by_people_who_had_no_part() {
    let (round, statistician) = evaluated().await;
    let organiser = &round.organiser;
    let laboratory = &round.laboratories[2];
    let path = at("/cases");

    // Before publication there is nothing to appeal against.
    let appeal =
        [("kind", "appeal"), ("subject", "Our unit"), ("statement", "Please correct our unit: we typed micrograms.")];
    laboratory.submit(&path, &path, &appeal).await.expect(422);
    let complaint = [("kind", "complaint"), ("subject", "A late parcel"), ("statement", "It came after five days.")];
    laboratory.submit(&path, &path, &complaint).await.leads_to();
    scenario::approve(&round.reviewer).await;
    scenario::publish(organiser).await;
    laboratory.submit(&path, &path, &appeal).await.leads_to();
    assert!(laboratory.page(&at("/scores")).await.text("main").contains("appeal"), "marked while it is open");
    assert!(round.laboratories[1].page(&path).await.texts("ol.cases li").is_empty(), "of others nobody is told");
    let listed = organiser.get(&path).await.text();
    assert!(LABORATORIES.iter().all(|name| !listed.contains(name)), "by code");

    // All three had a part: nobody can be named, and no step is skipped.
    let case = at("/cases/2");
    assert!(!organiser.page(&case).await.has("select#person option[value]:not([value=''])"));
    let own = organiser.page("/rounds").await.value("form_token");
    organiser.post(&case, &fields(&own, &[("step", "assigned"), ("person", ""), ("statement", "")])).await.expect(422);
    let outside = scenario::member(&round.app, organiser, "fenn@quillmere.example", "reviewer").await;
    let token = outside.page("/rounds").await.value("form_token");
    let decided = [("step", "decided"), ("outcome", "upheld"), ("statement", "Yes.")];
    outside.post(&case, &fields(&token, &decided)).await.expect(409);
    let page = organiser.page(&case).await;
    let person = page.attribute("select#person option:not([value=''])", "value");
    organiser.submit(&case, &case, &[("person", &person)]).await.leads_to();
    let found = [("step", "investigated"), ("statement", "The raw text is in ng/L, as the receipt shows.")];
    statistician
        .post(&case, &fields(&statistician.page("/rounds").await.value("form_token"), &found))
        .await
        .expect(422);
    outside.post(&case, &fields(&token, &found)).await.leads_to();
    let rejected = [
        ("step", "decided"),
        ("outcome", "rejected"),
        ("statement", "Results are not corrected after closing, as the plan says."),
    ];
    round.reviewer.sign_in(REVIEWER, PASSWORD).await;
    let involved = round.reviewer.page("/rounds").await.value("form_token");
    round.reviewer.post(&case, &fields(&involved, &rejected)).await.expect(422);
    outside.post(&case, &fields(&token, &[("step", "decided"), ("statement", "No.")])).await.expect(422);
    outside.post(&case, &fields(&token, &rejected)).await.leads_to();
    organiser.submit(&case, &case, &[("step", "answered"), ("statement", "Your appeal is rejected.")]).await.leads_to();
    organiser.submit(&case, &case, &[("step", "closed")]).await.leads_to();

    let told = laboratory.page(&path).await.text("ol.cases li");
    assert!(told.contains("rejected") && told.contains("not corrected after closing"), "{told}");
    assert!(!told.contains("Robin Sedge"), "who looked into it is not told");
    assert!(!laboratory.page(&at("/scores")).await.text("main").contains("Your appeal"));
    laboratory.get(&case).await.expect(404);
    organiser.sign_in(ORGANISER, PASSWORD).await;
    laboratory.sign_in(&email(2), PASSWORD).await;
    round.app.end().await;
}
