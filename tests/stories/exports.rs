//! Files of a round and open data, as laboratories and the organiser have them.

use crate::support::scenario::{OpenRound, at, codes, new_round};
use crate::support::visitor::Visitor;

/// Gives consent, or withdraws it.
async fn consent(visitor: &Visitor) {
    visitor.submit(&at("/open-data"), &at("/open-data/consent"), &[]).await.leads_to();
}

async fn csv(visitor: &Visitor, path: &str) -> Vec<Vec<String>> {
    let text = visitor.get(&at(path)).await.expect(200).text();
    assert!(text.ends_with("\r\n"));
    text.lines().map(|line| line.split(',').map(str::to_owned).collect()).collect()
}

#[tokio::test]
async fn the_tables_of_a_round_are_there_after_publication_and_its_files_are_listed() {
    let round = OpenRound::new(6).await;
    let [organiser, laboratory] = [&round.organiser, &round.laboratories[0]];
    let tables = ["results.csv", "scores.csv", "summary.csv", "plan.csv", "decisions.csv", "round.xlsx"];
    round.all_send().await;
    for table in tables {
        organiser.get(&at(&format!("/tables/{table}"))).await.expect(409);
        laboratory.get(&at(&format!("/tables/{table}"))).await.expect(404);
    }
    // What is its own a laboratory has at any time.
    let own = laboratory.get(&at("/own.zip")).await.expect(200);
    assert_eq!(own.header("content-type"), "application/zip");
    assert!(own.bytes.starts_with(b"PK"));
    organiser.get(&at("/own.zip")).await.expect(403);
    let listed = laboratory.page(&at("/files")).await;
    assert!(listed.texts("main a").iter().all(|link| !link.is_empty()));
    assert!(!listed.text("main").contains("The whole round"));
    round.close().await;
    round.publish().await;

    for visitor in [organiser, laboratory] {
        let page = visitor.page(&at("/files")).await;
        for link in page.all("table.files a") {
            let href = link.value().attr("href").unwrap();
            let answer = visitor.get(href).await.expect(200);
            assert!(answer.header("content-disposition").starts_with("attachment"), "{href}");
        }
        assert!(page.text("main").contains("The whole round"));
        let first = visitor.get(&at("/tables/round.xlsx")).await.expect(200).bytes;
        assert!(first == visitor.get(&at("/tables/round.xlsx")).await.expect(200).bytes, "the same bytes");
        let results = csv(visitor, "/tables/results.csv").await;
        assert_eq!(results[0][..6], ["code", "item", "analyte", "expressed_as", "unit", "value"]);
        // Six laboratories with a line for each of twelve measurands.
        assert_eq!(results.len(), 1 + 6 * 12);
        let summary = csv(visitor, "/tables/summary.csv").await;
        assert_eq!((summary.len(), summary[1][3].as_str()), (1 + 12, "6"));
    }
    let names: Vec<String> = codes(organiser).await.into_iter().map(|(_, name)| name).collect();
    let decided = laboratory.get(&at("/tables/decisions.csv")).await.expect(200).text();
    assert!(!decided.contains("reason") && names.iter().all(|name| !decided.contains(name.as_str())));
    round.app.visitor().get(&at("/tables/results.csv")).await.expect(303);
}

#[tokio::test]
async fn open_data_need_five_consents_and_tell_nobody_who_gave_one() {
    let round = OpenRound::new(6).await;
    let organiser = &round.organiser;
    let page = round.laboratories[0].page(&at("/open-data")).await;
    assert!(page.text("main .lead").contains("has not agreed"), "the answer is no until somebody agrees");
    for laboratory in &round.laboratories[..4] {
        consent(laboratory).await;
    }
    let page = round.laboratories[0].page(&at("/open-data")).await;
    assert!(page.text("main .lead").contains("has agreed") && page.text("main ol.events").contains("Agreed, Ada"));
    round.all_send().await;
    round.close().await;
    let page = organiser.page(&at("/open-data")).await;
    assert!(page.text("main").contains("The round is not published"), "{}", page.text("main"));
    assert!(page.text("main").contains("is said from 5 on") && !page.has("input[name='licence']"));
    organiser.get(&at("/open-data.zip")).await.expect(404);
    round.publish().await;

    // Four are too few, in a sentence, whether the form is shown or not.
    let page = organiser.page(&at("/open-data")).await;
    assert!(page.text("main .attention").contains("Fewer than 5 laboratories"), "{}", page.text("main"));
    let token = organiser.page("/rounds/new").await.value("form_token");
    let fields = [("form_token".to_owned(), token), ("licence".to_owned(), "cc0".to_owned())];
    let refused = organiser.post(&at("/open-data"), &fields).await.expect(422).page();
    assert!(refused.text("main .attention").contains("Fewer than 5 laboratories"));
    organiser.get(&at("/open-data.zip")).await.expect(404);

    // The fifth agrees after publication: that works for what is released later.
    consent(&round.laboratories[4]).await;
    let page = organiser.page(&at("/open-data")).await;
    assert!(page.text("main").contains("5 laboratories have agreed"));
    let wrong = [("form_token".to_owned(), page.value("form_token")), ("licence".to_owned(), "mine".to_owned())];
    let refused = organiser.post(&at("/open-data"), &wrong).await.expect(422).page();
    assert!(refused.text("#licence-error").contains("“mine” is none of them"), "{}", refused.problems());
    organiser.submit(&at("/open-data"), &at("/open-data"), &[("licence", "cc-by")]).await.leads_to();
    let first = organiser.get(&at("/open-data.zip")).await.expect(200);
    assert_eq!(first.header("content-type"), "application/zip");
    assert!(first.bytes == organiser.get(&at("/open-data.zip")).await.expect(200).bytes, "the same package twice");
    for laboratory in &round.laboratories {
        laboratory.get(&at("/open-data.zip")).await.expect(404);
        let token = laboratory.page("/people").await.value("form_token");
        laboratory.post(&at("/open-data"), &[("form_token".to_owned(), token)]).await.expect(404);
    }
    // Neither the page nor the record of the round says who agreed.
    let said = format!(
        "{}{}",
        organiser.page(&at("/open-data")).await.text("main"),
        organiser.page(&at("")).await.text("main")
    );
    assert!(!said.contains("Agreed to open data"), "{said}");

    // Who withdraws is out of the package at once: here fewer than five are left.
    consent(&round.laboratories[0]).await;
    let page = round.laboratories[0].page(&at("/open-data")).await;
    assert!(page.text("main ol.events").contains("Withdrawn, Ada"));
    let refused = organiser.get(&at("/open-data.zip")).await.expect(409).page();
    assert!(refused.text("main").contains("Laboratories have withdrawn"));
}

#[tokio::test]
async fn other_forms_of_analytes_are_typed_with_the_design_and_stand_in_the_plan() {
    let round = OpenRound::new(1).await;
    let (organiser, base) = (&round.organiser, "/rounds/QT-7");
    new_round(&round.app, organiser, "QT-7").await;
    let asks = format!("{base}/asks");
    let typed = "nitrate; salt; 2";

    let page = organiser.submit(&asks, &asks, &[("forms", typed)]).await.expect(422).page();

    assert!(page.text("#forms-error").contains("“nitrate” is no analyte of this round"), "{}", page.problems());
    assert_eq!(page.text("textarea[name='forms']"), typed, "what was typed is kept");
}
