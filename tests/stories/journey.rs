//! The whole way of a round, as people go it: from the set-up link to a
//! certificate whose scores agree with a calculation that is not ours.

use crate::support::app::TestApp;
use crate::support::browser::Browser;
use crate::support::certificate::{READER, text_of};
use crate::support::scenario::{
    self, CODE, ITEMS, LABORATORIES, MEASURANDS, ORGANISER, PASSWORD, REVIEWER, accept, all_typed, at, email, enter,
    invitation_paths, send, z,
};
use crate::support::visitor::Visitor;
use jiff::SignedDuration;
use roundel_domain::evaluation::RoundEvaluation;
use roundel_domain::{evaluation, package};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// What was typed: by laboratory and place.
type Typed = Vec<[String; 12]>;

/// What the three laboratories with a browser type: the first with decimal
/// commas, the second with a limit, the third at first something else.
fn typed() -> Typed {
    let mut typed: Typed = (0..12).map(all_typed).collect();
    for text in &mut typed[0] {
        *text = text.replace('.', ",");
    }
    typed[1][3] = "<25".to_owned();
    typed
}

/// Set-up, a round, three files, invitations; the links.
async fn organise(app: &TestApp, browser: &Browser) -> Vec<String> {
    browser.go(&app.setup).await;
    for (name, text) in scenario::SETUP {
        browser.type_into(name, text).await;
    }
    browser.press("main form button").await;
    browser.press("a[href='/rounds/new']").await;
    let (day, time) = scenario::deadline(app);
    for (name, text) in [
        ("code", CODE),
        ("title", "Trace organic contaminants in water"),
        ("scheme", "Natural waters"),
        ("closes_on", &day),
        ("closes_time", &time),
        ("time_zone", "UTC"),
        ("instructions", "Shake each bottle."),
    ] {
        browser.type_into(name, text).await;
    }
    browser.press("form[action='/rounds'] button").await;
    assert_eq!(browser.path().await, at(""));

    browser.press(&format!("ul.checklist a[href='{}']", at("/measurands"))).await;
    browser.upload(&at("/measurands/upload"), "measurands.csv", &scenario::measurands_file()).await;
    assert_eq!(browser.page().await.all("table tbody tr").len(), 12);
    browser.go(&at("/assigned-values")).await;
    browser.upload(&at("/assigned-values/upload"), "assigned.csv", &scenario::assigned_file()).await;
    browser.go(&at("/laboratories")).await;
    browser.upload(&at("/laboratories/upload"), "laboratories.csv", &scenario::laboratories_file()).await;
    browser.press(&format!("form[action='{}'][data-once] button", at("/laboratories/invite"))).await;
    let links = invitation_paths(&browser.page().await);
    // The plan and its two signatures are a story of their own.
    let organiser = app.visitor();
    organiser.sign_in(ORGANISER, PASSWORD).await;
    scenario::freeze_and_sign(app, &organiser).await;
    browser.go(&at("")).await;
    browser.press(&format!("a.button[href='{}']", at("/open"))).await;
    browser.press(&format!("form[action='{}'] button", at("/open"))).await;
    links
}

/// Types the numbers of one item, and goes on.
async fn type_item(browser: &Browser, item: &str, numbers: &[String; 12]) {
    if browser.page().await.has("select[name='all.unit']") {
        browser.choose("all.unit", "ng/L").await;
    }
    for (place, _) in MEASURANDS.iter().enumerate().filter(|(_, asked)| asked.item == item) {
        browser.type_into(&format!("{}.v1", place + 1), &numbers[place]).await;
    }
    browser.press("div.bar button[value='next']").await;
}

/// Accepts an invitation and sends through the pages; the path of the receipt.
async fn report(browser: &Browser, link: &str, laboratory: usize, numbers: &[String; 12]) -> String {
    browser.forget().await;
    browser.go(link).await;
    browser.type_into("name", "Ada Sample").await;
    browser.type_into("email", &email(laboratory)).await;
    browser.type_into("password", PASSWORD).await;
    browser.press("main form button").await;
    browser.press(&format!("a[href='{}']", at(""))).await;
    browser.press(&format!("a[href='{}']", at("/results/A"))).await;
    for (item, _) in ITEMS {
        assert_eq!(browser.path().await, at(&format!("/results/{item}")));
        type_item(browser, item, numbers).await;
    }
    assert_eq!(browser.path().await, at("/check"));
    browser.press(&format!("form[action='{}'] button", at("/submit"))).await;
    browser.path().await
}

async fn close_and_publish(app: &TestApp, browser: &Browser) {
    app.clock.advance(SignedDuration::from_hours(26));
    browser.sign_in(ORGANISER).await;
    browser.press(&format!("a[href='{}']", at(""))).await;
    browser.press(&format!("a.button[href='{}']", at("/close"))).await;
    browser.press(&format!("form[action='{}'] button", at("/close"))).await;
    browser.press(&format!("a.button[href='{}']", at("/evaluation"))).await;
    browser.press(&format!("form[action='{}'] button", at("/evaluation"))).await;
    // Nobody approves their own work: the reviewer does.
    browser.sign_in(REVIEWER).await;
    browser.press(&format!("a[href='{}']", at(""))).await;
    browser.press(&format!("a.button[href='{}']", at("/evaluation"))).await;
    browser.press(&format!("a.button[href='{}']", at("/approval"))).await;
    browser.press("button[value='approve_all']").await;
    browser.sign_in(ORGANISER).await;
    browser.press(&format!("a[href='{}']", at(""))).await;
    browser.press(&format!("a.button[href='{}']", at("/evaluation"))).await;
    browser.press(&format!("a[href='{}']", at("/publish"))).await;
    browser.type_into("code", CODE).await;
    browser.type_into("meaning", "Released as final.").await;
    browser.type_into("password", PASSWORD).await;
    browser.press(&format!("form[action='{}'] button", at("/publish"))).await;
}

/// A number as a certificate or a page prints it, as a program writes it.
fn plain(text: &str) -> String {
    text.replace('\u{2212}', "-").replace(['\u{202f}', '\u{2009}', '\u{a0}'], "")
}

/// The lines of a certificate that hold results: item, analyte, cells.
fn rows(text: &str) -> Vec<(String, String, Vec<String>)> {
    let mut item = String::new();
    let mut rows = Vec::new();
    for line in text.lines().map(plain) {
        let cells: Vec<String> = line.split_whitespace().map(str::to_owned).collect();
        if let Some((_, rest)) = line.split_once("Results: Item ") {
            item = rest.split([',', ' ']).next().unwrap_or_default().to_owned();
        }
        if let Some(analyte) =
            cells.first().filter(|first| MEASURANDS.iter().any(|asked| asked.analyte == first.as_str()))
            && cells.len() > 4
        {
            rows.push((item.clone(), analyte.clone(), cells));
        }
    }
    rows
}

/// The scores of the certificate equal z, computed here from what was typed and
/// from the file of assigned values: z = (x − x_pt)/sigma_pt, ISO 13528:2022,
/// 9.4, printed with two decimals.
fn assert_scores_of_certificate(pdf: &[u8], numbers: &[String; 12]) {
    let text = text_of(pdf);
    let rows = rows(&text);
    for (place, asked) in MEASURANDS.iter().enumerate() {
        let row =
            rows.iter().find(|(item, analyte, _)| (item.as_str(), analyte.as_str()) == (asked.item, asked.analyte));
        let (.., cells) = row.unwrap_or_else(|| panic!("{} in {} has no line in:\n{text}", asked.analyte, asked.item));
        assert!(cells.contains(&numbers[place]), "{asked:?}: {} as typed is not in {cells:?}", numbers[place]);
        // A limit L has no score, but a bound: the score was below (L − x_pt)/sigma_pt.
        let expected = format!("{:.2}", z(numbers[place].trim_start_matches('<'), asked));
        // The score stands before the class, which is a word or begins with a mark.
        let class =
            |cell: &String| cell.starts_with(['■', '◇']) || cell.chars().filter(|c| c.is_alphabetic()).count() > 2;
        let before = cells.iter().skip(1).position(class).map(|at| &cells[at]);
        let printed = before.map(|cell| cell.trim_start_matches(['+', '<', '≤']));
        assert_eq!(printed, Some(expected.as_str()), "{asked:?}: {cells:?}");
    }
}

fn sha256(text: &str) -> String {
    hex::encode(Sha256::digest(text.as_bytes()))
}

/// z of each result of a laboratory, by item and analyte, in an evaluation.
fn scores(evaluation: &RoundEvaluation, code: &str) -> BTreeMap<String, f64> {
    let own = evaluation.scores.iter().filter(|score| score.participant == code);
    own.filter_map(|score| Some((score.measurand.clone(), score.z?))).collect()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn from_the_set_up_link_to_a_certificate_that_agrees_with_an_independent_calculation() {
    let app = TestApp::new().await;
    if !crate::support::has(READER, "the story of a whole round") {
        return;
    }
    let Some(browser) = Browser::start(&app.address).await else { return };
    let typed = typed();

    let links = organise(&app, &browser).await;
    let mut codes = Vec::new();
    for laboratory in 0..3 {
        let mut numbers = typed[laboratory].clone();
        if laboratory == 2 {
            // A slip of the decimal sign, mended before the deadline.
            numbers[0] = format!("{}0", numbers[0].replace('.', ""));
        }
        let receipt = report(&browser, &links[laboratory], laboratory, &numbers).await;
        assert!(receipt.starts_with("/receipts/"), "{receipt}");
        codes.push(browser.page().await.text("dd.code"));
    }
    browser.go(&at("/results/A")).await;
    type_item(&browser, "A", &typed[2]).await;
    browser.go(&at("/check")).await;
    browser.press(&format!("form[action='{}'] button", at("/submit"))).await;
    for laboratory in 3..12 {
        let visitor = accept(&app, &links[laboratory], laboratory).await;
        enter(&visitor, &typed[laboratory]).await;
        let receipt = send(&visitor).await;
        codes.push(visitor.page(&receipt).await.text("dd.code"));
    }
    close_and_publish(&app, &browser).await;
    let mut certificates = Vec::new();
    for laboratory in 0..3 {
        browser.sign_in(&email(laboratory)).await;
        browser.press(&format!("a[href='{}']", at(""))).await;
        browser.press(&format!("a.button[href='{}']", at("/scores"))).await;
        certificates.push(browser.download(&format!("a[href='{}']", at("/certificate.pdf"))).await);
    }
    browser.end().await;

    for (certificate, numbers) in certificates.iter().zip(&typed) {
        assert_scores_of_certificate(certificate, numbers);
    }
    let text = text_of(&certificates[0]);
    assert!(
        text.contains(LABORATORIES[0]) && text.contains("Quillmere Interlaboratory Office") && text.contains(&codes[0])
    );
    assert!(LABORATORIES.iter().skip(1).all(|other| !text.contains(other)), "nobody else is named");
    let laboratory = app.visitor();
    laboratory.sign_in(&email(0), PASSWORD).await;
    assert_package_gives_the_same(&laboratory, &certificates, &codes, &typed).await;
    app.end().await;
}

/// The package that a laboratory downloads, evaluated by the library alone,
/// gives the very evaluation that the certificates name, and what the plain
/// formula gives.
async fn assert_package_gives_the_same(visitor: &Visitor, certificates: &[Vec<u8>], codes: &[String], typed: &Typed) {
    let text = visitor.get(&at("/package.json")).await.expect(200).text();
    let package = package::parse(&text).expect("a package of ours is valid");
    let evaluation = evaluation::evaluate(&package, roundel::ENGINE);
    let hashes = [sha256(&text), sha256(&evaluation.to_json())];
    for (laboratory, code) in codes.iter().enumerate() {
        let scores = scores(&evaluation, code);
        let numeric = typed[laboratory].iter().filter(|text| !text.starts_with('<')).count();
        assert_eq!(scores.len(), numeric, "{code}: {scores:?}");
        for (place, asked) in
            MEASURANDS.iter().enumerate().filter(|(place, _)| !typed[laboratory][*place].starts_with('<'))
        {
            let id = roundel_domain::assemble::measurand_id(asked.item, asked.analyte);
            let expected = z(&typed[laboratory][place], asked);
            let got = scores[&id];
            // Both are double arithmetic on the same texts: a few last digits.
            assert!((got - expected).abs() <= 1e-12 * expected.abs().max(1.0), "{code}, {id}: {got} and {expected}");
        }
        if let Some(certificate) = certificates.get(laboratory) {
            let printed: String = text_of(certificate).split_whitespace().collect();
            for (what, hash) in ["package", "evaluation"].iter().zip(&hashes) {
                assert!(
                    printed.contains(hash),
                    "the certificate names its {what} by {hash}:\n{}",
                    text_of(certificate)
                );
            }
        }
    }
}

#[tokio::test]
async fn what_is_typed_is_kept_by_itself_while_a_person_types() {
    let round = scenario::OpenRound::new(1).await;
    let Some(browser) = Browser::start(&round.app.address).await else { return };
    browser.sign_in(&email(0)).await;
    browser.go(&at("/results/A")).await;

    browser.type_into("1.v1", "12,34").await;
    // Leaving the field is enough.
    browser.type_into("2.v1", "1").await;
    let laboratory = &round.laboratories[0];
    let mut kept = String::new();
    for _ in 0..100 {
        kept = laboratory.page(&at("/results/A")).await.value("1.v1");
        if !kept.is_empty() {
            break;
        }
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    browser.end().await;

    assert_eq!(kept, "12,34");
    round.app.end().await;
}
