//! The organiser's people: three duties, codes instead of names, and every
//! look-up on the record.

use crate::support::scenario::{self, CODE, LABORATORIES, OpenRound, PASSWORD, REVIEWER, STATISTICIAN, at};
use crate::support::visitor::Visitor;

/// What the record of the round tells of looking codes up.
async fn look_ups(organiser: &Visitor) -> Vec<String> {
    let events = organiser.page(&at("")).await.texts("ol.events li");
    events.into_iter().filter(|event| event.contains("looked up") || event.contains("list of all codes")).collect()
}

#[tokio::test]
async fn a_name_is_seen_from_a_code_only_with_a_reason_and_the_record_keeps_it() {
    let round = OpenRound::new(1).await;
    let organiser = &round.organiser;

    let page = organiser.page(&at("/laboratories")).await;
    let progress = organiser.page(&at("")).await;
    let codes = progress.texts("th.code");
    assert_eq!(codes.len(), 12);
    let html = organiser.get(&at("/laboratories")).await.text();
    assert!(codes.iter().all(|code| !html.contains(code)), "no code stands on the page with the names");
    assert!(look_ups(organiser).await.is_empty());

    // Without a reason, and for a code of no laboratory, nothing is told.
    let path = at("/laboratories/look-up#look-up");
    let refused = organiser.fill(&page, &path, &[("code", &codes[0])]).await.expect(422).page();
    assert_eq!(refused.value("code"), codes[0], "what was typed stays");
    assert!(!refused.has("div.once"));
    organiser.fill(&page, &path, &[("code", "AAAAA-A"), ("reason", "a parcel came back")]).await.expect(422);
    assert!(look_ups(organiser).await.is_empty());

    let fields = [("code", codes[0].as_str()), ("reason", "a parcel came back")];
    let told = organiser.fill(&page, &path, &fields).await.expect(200).page().text("div.once strong");
    assert!(LABORATORIES.iter().any(|name| told == format!("{} is {name}.", codes[0])), "{told}");
    assert_eq!(scenario::codes(organiser).await.len(), 12);

    let record = look_ups(organiser).await;
    assert_eq!(record.len(), 2, "{record:?}");
    assert!(record[1].contains(&codes[0]) && record[1].contains("a parcel came back"), "{record:?}");
    assert!(record[0].contains("dispatch of the parcels") && record[0].contains("Orla Quill"), "{record:?}");
    round.app.end().await;
}

#[tokio::test]
async fn statistician_and_reviewer_see_codes_and_no_names() {
    let round = OpenRound::new(3).await;
    round.all_send().await;
    let statistician = scenario::member(&round.app, &round.organiser, STATISTICIAN, "statistician").await;
    let reviewer = &round.reviewer;
    round.close().await;
    statistician.sign_in(STATISTICIAN, PASSWORD).await;
    reviewer.sign_in(REVIEWER, PASSWORD).await;

    // The statistician evaluates; the reviewer edits nothing.
    let evaluation = at("/evaluation");
    statistician.submit(&evaluation, &evaluation, &[]).await.leads_to();
    let token = reviewer.page("/rounds").await.value("form_token");
    let form = [("form_token".to_owned(), token)];
    reviewer.post(&evaluation, &form).await.expect(403);

    let lab = round.organiser.page(&at("")).await.texts("th.code").remove(0);
    for who in [&statistician, reviewer] {
        assert!(who.page("/rounds").await.texts("th a").contains(&CODE.to_owned()));
        for path in [at(""), at("/evaluation"), at("/review/1"), at("/review"), at("/results.csv"), at("/package.json")]
        {
            let shown = who.get(&path).await.expect(200).text();
            for name in LABORATORIES {
                assert!(!shown.contains(name), "{path} names {name}");
            }
        }
        // What carries names, or changes them, is the organiser's.
        for path in [at("/laboratories"), at("/labels"), at("/messages"), at("/edit")] {
            who.get(&path).await.expect(403);
        }
        who.get(&at(&format!("/certificates/{lab}.pdf"))).await.expect(403);
        who.post(&at("/laboratories/look-up"), &[("code".to_owned(), lab.clone())]).await.expect(403);
        who.get("/people").await.expect(403);
    }
    round.app.end().await;
}

#[tokio::test]
async fn access_of_the_staff_ends_at_once_and_the_last_organiser_stays() {
    let round = OpenRound::new(1).await;
    let organiser = &round.organiser;
    let reviewer = &round.reviewer;
    let end_of = |name: &str, page: &crate::support::page::Page| {
        let rows = page.texts("table.people tbody th .strong");
        let place = rows.iter().position(|shown| shown == name).expect("in the list");
        page.all("td.actions a")[place].attr("href").expect("an address").to_owned()
    };

    // The address of an account, and no duty: told, and kept.
    let refused = organiser.submit("/staff", "/staff", &[("email", REVIEWER)]).await.expect(422).page();
    assert_eq!(refused.texts("p.error").len(), 2);
    assert_eq!(refused.value("email"), REVIEWER);

    let page = organiser.page("/staff").await;
    let own = end_of("Orla Quill", &page);
    organiser.submit(&own, &own, &[]).await.expect(422);
    let end = end_of("Robin Sedge", &page);
    organiser.submit(&end, &end, &[]).await.leads_to();

    assert!(reviewer.get("/rounds").await.leads_to().starts_with("/sign-in"));
    // A used link, and one that was taken back, lead nowhere.
    let shown = organiser.submit("/staff", "/staff", &[("email", "x@quillmere.example"), ("duty", "organiser")]).await;
    let address = shown.expect(200).page().text("section.once code.link");
    let link = &address[address.find("/staff-invitations/").expect("a link")..];
    round.app.visitor().page(link).await;
    organiser.submit("/staff", "/staff/withdraw", &[]).await.leads_to();
    round.app.visitor().get(link).await.expect(409);
    // The laboratory learns of no such page.
    round.laboratories[0].get("/staff").await.expect(404);
    round.app.end().await;
}
