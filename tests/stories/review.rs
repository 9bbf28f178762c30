//! After closing: what was frozen, what is found, deciding with the effect seen
//! before, asking to confirm, and paging with the keyboard.

use crate::support::browser::Browser;
use crate::support::page::Page;
use crate::support::scenario::{
    self, MEASURANDS, ORGANISER, OpenRound, PASSWORD, REVIEWER, STATISTICIAN, all_typed, at, enter, number, send,
};
use crate::support::visitor::Visitor;

/// Eight laboratories about the assigned values; the last one a thousand times too low.
async fn closed_round() -> (OpenRound, Vec<String>) {
    let round = OpenRound::new(8).await;
    let mut codes = Vec::new();
    for (n, laboratory) in round.laboratories.iter().enumerate() {
        let numbers: [String; 12] = std::array::from_fn(|place| {
            let x = number(MEASURANDS[place].x_pt) * (0.97 + 0.01 * ((n + place) % 7) as f64);
            if n == 7 { format!("{:.4}", x / 1000.0) } else { format!("{x:.2}") }
        });
        enter(laboratory, &numbers).await;
        let check = laboratory.page(&at("/check")).await;
        let questions = check.texts("form select, form input[type='radio']").len();
        let receipt = if questions == 0 { send(laboratory).await } else { confirm_and_send(laboratory).await };
        codes.push(laboratory.page(&receipt).await.text("dd.code"));
    }
    round.close().await;
    (round, codes)
}

/// Answers every question of the check page with "it is right as it stands".
async fn confirm_and_send(laboratory: &Visitor) -> String {
    let page = laboratory.page(&at("/check")).await;
    let choices: Vec<(String, String)> = page
        .all("input[type='radio']")
        .into_iter()
        .filter(|input| input.attr("value").unwrap_or_default().starts_with("confirmed"))
        .map(|input| (input.attr("name").unwrap().to_owned(), input.attr("value").unwrap().to_owned()))
        .collect();
    let fields: Vec<(&str, &str)> = choices.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    laboratory.submit(&at("/check"), &at("/submit"), &fields).await.leads_to()
}

#[tokio::test]
async fn a_whole_set_is_found_and_decided_on_with_its_effect_seen_before() {
    let (round, codes) = closed_round().await;
    let statistician = scenario::member(&round.app, &round.organiser, STATISTICIAN, "statistician").await;
    let wild = &codes[7];

    let list = statistician.page(&at("/review")).await;
    assert_eq!(list.text("code.hash").len(), 64);
    let found = list.texts("#whole-set-factor li");
    assert_eq!(found.len(), 1, "{}", list.text("main"));
    assert!(
        found[0].contains(&format!("{wild}: all 12 results are consistent with a factor of 10^\u{2212}3")),
        "{found:?}"
    );
    let finding = list.attribute("#whole-set-factor li a", "href");
    let page = statistician.page(&finding).await;
    assert!(page.has("figure svg") && page.all("tbody tr").len() == 12);
    let form = page.attribute("a.button", "href");

    // Without a choice and a reason nothing is shown, and what was typed stays.
    let wrong = statistician.submit(&form, &at("/decide"), &[("reason", " ")]).await.expect(422).page();
    for field in ["kind", "cause", "reason"] {
        assert!(wrong.has(&format!("#problems a[href='#{field}']")), "{}", wrong.problems());
    }
    let mut fields = vec![("kind", "invalid"), ("cause", "unit"), ("reason", "Typed in µg/L.")];
    let preview = statistician.submit(&form, &at("/decide"), &fields).await.expect(200).page();
    assert!(preview.text("p.attention").contains("Nothing is decided yet."));
    assert_eq!(preview.texts("table tbody td span.class.unscored").len(), 12, "{}", preview.text("main"));
    assert_eq!(statistician.page(&finding).await.texts("tbody td p.remark").len(), 0);

    // As a blunder it is scored as reported, and no class changes with values of preparation.
    fields[0].1 = "blunder";
    let preview = statistician.submit(&form, &at("/decide"), &fields).await.expect(200).page();
    assert!(preview.texts("table tbody td span.class").is_empty());
    let confirmed = preview.form(&at("/decide"));
    let done = statistician.post(&at("/decide"), &confirmed).await.leads_to();
    assert_eq!(done, at(&format!("/review/laboratory/{wild}")));
    let set = statistician.page(&at(&format!("/review/laboratory/{wild}"))).await;
    assert_eq!(set.texts("tbody td p.remark").iter().filter(|text| text.contains("Typed in µg/L")).count(), 12);
    assert!(!statistician.page(&at("/review")).await.has("#whole-set-factor"), "it is done");
    let all = statistician.page(&at("/review?show=all&kind=whole-set-factor")).await;
    assert_eq!(all.texts("#whole-set-factor li .word"), ["Done"]);

    // Taken back, it counts again; a reviewer sees all and decides nothing.
    scenario::decide(&statistician, &format!("{wild}.all"), "keep", "in_order", "The unit was right.").await;
    let set = statistician.page(&at(&format!("/review/laboratory/{wild}"))).await;
    assert!(set.texts("tbody td p.remark").iter().all(|text| !text.contains("Typed in")));
    let reviewer = &round.reviewer;
    reviewer.sign_in(REVIEWER, PASSWORD).await;
    let seen = reviewer.page(&at("/review/1")).await;
    assert!(!seen.has("a[href*='/decide?']") && seen.has("table.scores"));
    assert_ne!(reviewer.get(&at(&format!("/decide?on={wild}.1"))).await.status.as_u16(), 200);
    round.app.end().await;
}

#[tokio::test]
async fn a_withdrawn_result_reads_withdrawn_for_its_own_laboratory_alone() {
    let (round, codes) = closed_round().await;
    let (owner, other) = (&round.laboratories[7], &round.laboratories[0]);
    let on = format!("{}.1", codes[7]);
    scenario::decide(&round.organiser, &on, "withdrawn", "withdrawn", "Wrong bottle.").await;
    round.publish().await;

    let words = |page: &Page| page.texts("span.class.unscored").into_iter().filter(|word| word == "withdrawn").count();
    assert_eq!(words(&owner.page(&at("/scores")).await), 1);
    let one = owner.page(&at("/scores/1")).await;
    assert_eq!(one.text("span.class.unscored"), "withdrawn");
    assert!(one.text("main").contains("Withdrawn by the laboratory. Wrong bottle"), "{}", one.text("main"));
    let seen = other.page(&at("/scores/1")).await.text("main");
    assert!(seen.contains("not scored") && !seen.to_lowercase().contains("withdrawn"), "{seen}");
    let table = owner.get(&at("/scores.csv")).await.expect(200).text();
    assert!(table.contains(",withdrawn,"), "{table}");
    round.app.end().await;
}

#[tokio::test]
async fn a_finding_is_kept_with_a_reason_and_opened_again() {
    let (round, codes) = closed_round().await;
    let path = at(&format!("/review/finding?key=whole-set-factor%3A{}", codes[7]));
    let note = at("/review/finding");

    let wrong = round.organiser.submit(&path, &note, &[("command", "keep")]).await.expect(422).page();
    assert!(wrong.has("#problems a[href='#reason']"));
    round.organiser.submit(&path, &note, &[("reason", "Looked at."), ("command", "keep")]).await.leads_to();
    let page = round.organiser.page(&path).await;
    assert!(page.text("main").contains("It has been decided on.") && page.text("ol.events").contains("Looked at."));
    round.organiser.submit(&path, &note, &[("reason", "After all."), ("command", "open")]).await.leads_to();
    let page = round.organiser.page(&path).await;
    assert!(page.text("main").contains("Nobody has decided on it."));
    assert_eq!(page.all("ol.events li").len(), 2);
    round.app.end().await;
}

#[tokio::test]
async fn a_laboratory_is_asked_for_a_whole_item_and_answers_and_nothing_changes() {
    let (round, codes) = closed_round().await;
    let (asked, other) = (&round.laboratories[7], &round.laboratories[0]);
    let before = round.organiser.page(&at("/review")).await.text("code.hash");

    let set = at(&format!("/review/laboratory/{}", codes[7]));
    round.organiser.submit(&set, &at("/clarifications"), &[("item", "B")]).await.leads_to();
    round.organiser.submit(&set, &at("/clarifications"), &[("item", "B")]).await.expect(409);

    let page = asked.page(&at("/clarifications")).await;
    let text = page.text("main");
    assert!(text.contains("Please confirm unit, basis and transcription of your results for item B."), "{text}");
    for analyte in ["carbamazepine", "metoprolol", "diclofenac", "gabapentin"] {
        assert!(text.contains(analyte), "{text}");
    }
    assert!(asked.page(&at("")).await.has("p.attention a"));
    assert!(!other.page(&at("")).await.text("main").contains("confirm"));
    let wrong = asked.submit(&at("/clarifications"), &at("/clarifications"), &[("answer", " ")]).await.expect(422);
    assert!(wrong.page().has("#problems a[href='#answer']"));
    let answer = [("answer", "We typed µg/L.")];
    asked.submit(&at("/clarifications"), &at("/clarifications"), &answer).await.leads_to();
    assert!(round.organiser.page(&set).await.text("main").contains("We typed µg/L."));
    assert_eq!(round.organiser.page(&at("/review")).await.text("code.hash"), before, "no number changed");

    round.publish().await;
    let token = round.organiser.page("/rounds").await.value("form_token");
    let fields = [("form_token", &*token), ("lab", &*codes[0]), ("item", "A")];
    let fields = fields.map(|(name, text)| (name.to_owned(), text.to_owned()));
    round.organiser.post(&at("/clarifications"), &fields).await.expect(409);
    round.app.end().await;
}

#[tokio::test]
async fn a_measurand_is_decided_on_as_a_whole() {
    let (round, _) = closed_round().await;
    let path = at("/review/5");

    let wrong = round.organiser.submit(&path, &path, &[("topic", "shape"), ("kind", "information_only")]).await;
    assert!(wrong.expect(422).page().has("#problems a[href='#reason']"));
    let fields = [("topic", "shape"), ("kind", "information_only"), ("reason", "Two groups.")];
    round.organiser.submit(&path, &path, &fields).await.leads_to();
    let page = round.organiser.page(&path).await;
    assert!(page.text("ol.events").contains("Two groups."));
    assert_eq!(page.texts("table.scores span.class.information").len(), 8);
    round.app.end().await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn arrow_keys_go_from_page_to_page_and_never_out_of_a_field() {
    let round = OpenRound::new(6).await;
    for (n, laboratory) in round.laboratories.iter().enumerate() {
        enter(laboratory, &all_typed(n)).await;
        send(laboratory).await;
    }
    round.close().await;
    let Some(browser) = Browser::start(&round.app.address).await else { return };
    browser.sign_in(ORGANISER).await;
    let unseen =
        |text: &str| text.split("Not opened by you: ").nth(1).map(|rest| rest[..2].trim_end_matches('.').to_owned());

    browser.go(&at("/review/1")).await;
    browser.keys("\u{e014}").await;
    let mut path = browser.path().await;
    for _ in 0..40 {
        if path.ends_with("/review/2") {
            break;
        }
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
        path = browser.path().await;
    }
    assert!(path.ends_with("/review/2"), "{path}");
    browser.run("document.querySelector('#reason').focus()", Vec::new()).await;
    browser.keys("\u{e014}").await;
    tokio::time::sleep(std::time::Duration::from_millis(300)).await;
    assert!(browser.path().await.ends_with("/review/2"));

    let list = round.organiser.page(&at("/review")).await;
    assert_eq!(unseen(&list.text("main")).as_deref(), Some("10"), "two of twelve pages were opened");
    browser.end().await;
    round.app.end().await;
}
