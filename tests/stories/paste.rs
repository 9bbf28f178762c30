//! Blocks out of a spreadsheet, and files: what they would change is shown
//! first, then taken over, undone, or left.

use crate::support::app::TestApp;
use crate::support::axe::{look, rules};
use crate::support::browser::Browser;
use crate::support::page::Page;
use crate::support::scenario::{self, OpenRound, at, email};
use crate::support::visitor::Visitor;
use calamine::{Data, Reader, Xlsx};
use jiff::SignedDuration;
use rust_xlsxwriter::Workbook;
use serde_json::json;
use std::collections::BTreeSet;
use std::io::Cursor;
use std::time::{Duration, Instant};

/// Pastes a block on the page without scripts; the path of what is proposed.
async fn paste(visitor: &Visitor, item: &str, row: &str, part: &str, block: &str) -> String {
    let path = at(&format!("/results/{item}/paste"));
    let fields = [("block", block), ("row", row), ("part", part)];
    let proposal = visitor.submit(&path, &path, &fields).await.leads_to();
    assert!(proposal.starts_with(&at("/proposals/")), "{proposal}");
    proposal
}

async fn press(visitor: &Visitor, proposal: &str, what: &str) -> String {
    visitor.submit(proposal, &format!("{proposal}/{what}"), &[]).await.leads_to()
}

async fn upload(visitor: &Visitor, name: &str, bytes: &[u8]) -> crate::support::answer::Answer {
    visitor.upload(&at("/results-upload"), &at("/results-upload"), name, bytes).await
}

/// Analyte, field, text now, text then, and what is read or wrong.
fn changes(page: &Page) -> Vec<[String; 5]> {
    let (names, cells) = (page.texts(".changes tbody th"), page.texts(".changes tbody td"));
    assert_eq!(names.len() * 4, cells.len());
    let row = |(name, cells): (String, &[String])| {
        [name, cells[0].clone(), cells[1].clone(), cells[2].clone(), cells[3].clone()]
    };
    names.into_iter().zip(cells.chunks(4)).map(row).collect()
}

fn expected(rows: &[[&str; 5]]) -> Vec<[String; 5]> {
    rows.iter().map(|row| row.map(str::to_owned)).collect()
}

async fn draft(visitor: &Visitor, item: &str, names: &[&str]) -> Vec<String> {
    let page = visitor.page(&at(&format!("/results/{item}"))).await;
    names.iter().map(|name| page.value(name)).collect()
}

#[tokio::test]
async fn a_block_is_looked_at_taken_over_and_undone_without_scripts() {
    let round = OpenRound::new(1).await;
    let laboratory = &round.laboratories[0];
    let entry = at("/results/A");
    laboratory
        .submit(&entry, &entry, &[("all.unit", "ng/L"), ("1.v1", "30"), ("2.v1", "41"), ("command", "save")])
        .await
        .leads_to();
    assert!(laboratory.page(&entry).await.has("a[data-paste]"));

    // Nothing in the field: the page says so, with the choice kept.
    let path = at("/results/A/paste");
    let empty =
        laboratory.submit(&path, &path, &[("block", " \n"), ("row", "3"), ("part", "u")]).await.expect(422).page();
    assert!(empty.has("#block[aria-invalid='true']") && empty.has("#problems a[href='#block']"));
    assert_eq!(empty.attribute("#row option[selected]", "value"), "3");

    // In another order than the form has, one name misspelt, one number that
    // has two readings, and one text that is there already.
    let block = "diclofenac\t55,2\t9\r\nCARBAMAZEPINE\t1,250\t\r\nmetoprolol\t41\t\r\ngabapentine\t64\t\r\n";
    let proposal = paste(laboratory, "A", "1", "v1", block).await;
    let page = laboratory.page(&proposal).await;
    assert_eq!(
        changes(&page),
        expected(&[
            [
                "carbamazepine, item A",
                "Value",
                "30",
                "1,250",
                "“1,250” can be read as 1.250 or as 1250. Choose the one that you mean."
            ],
            ["diclofenac, item A", "Value", "empty", "55,2", "55.2 ng/L"],
            [
                "diclofenac, item A",
                "U",
                "empty",
                "9",
                "Nothing says how the uncertainties of item A are given. Choose “in the unit of the result” or “in percent of the result”."
            ],
        ])
    );
    let said = page.text("main");
    assert!(said.contains("3 fields would change") && said.contains("One row has the texts that stand there already"));
    assert!(said.contains("One row stands in another place than in the form: diclofenac, item A"), "{said}");
    assert!(said.contains("“gabapentin”"), "the nearest name is told");
    assert_eq!(page.texts("td code"), ["gabapentine", "64"], "what is not taken is told cell by cell");
    // Looking changes nothing, however often.
    assert_eq!(changes(&laboratory.page(&proposal).await).len(), 3);
    assert_eq!(draft(laboratory, "A", &["1.v1", "2.v1", "3.v1", "3.u"]).await, ["30", "41", "", ""]);

    assert_eq!(press(laboratory, &proposal, "take").await, proposal);
    assert_eq!(draft(laboratory, "A", &["1.v1", "2.v1", "3.v1", "3.u"]).await, ["1,250", "41", "55,2", "9"]);
    let taken = laboratory.page(&proposal).await;
    assert!(taken.text("h1").contains("has changed") && changes(&taken).len() == 3);

    // What was typed since stays.
    laboratory.submit(&entry, &entry, &[("3.v1", "56"), ("command", "save")]).await.expect(422);
    assert_eq!(press(laboratory, &proposal, "undo").await, proposal);
    assert_eq!(draft(laboratory, "A", &["1.v1", "2.v1", "3.v1", "3.u"]).await, ["30", "41", "56", ""]);
    // Neither can be done again.
    let token = laboratory.page("/rounds").await.value("form_token");
    let again = [("form_token".to_owned(), token)];
    for what in ["take", "undo"] {
        assert_eq!(laboratory.post(&format!("{proposal}/{what}"), &again).await.leads_to(), proposal);
    }
    assert_eq!(draft(laboratory, "A", &["1.v1", "2.v1", "3.v1", "3.u"]).await, ["30", "41", "56", ""]);

    // Left as it is, a proposal is gone; and a new one takes the place of an old one.
    let left = paste(laboratory, "A", "4", "v1", "70\n").await;
    laboratory.get(&proposal).await.expect(404);
    assert_eq!(press(laboratory, &left, "leave").await, entry);
    laboratory.get(&left).await.expect(404);
    assert_eq!(draft(laboratory, "A", &["4.v1"]).await, [""]);
    round.app.end().await;
}

/// X8 of the demonstration: item C one row down, seen by its limits of
/// quantification.
#[tokio::test]
async fn rows_that_slipped_are_seen_by_their_limits() {
    let round = OpenRound::new(1).await;
    let laboratory = &round.laboratories[0];
    for (item, row) in [("A", "1"), ("B", "5")] {
        let proposal = paste(laboratory, item, row, "loq", "5\n8\n10\n20\n").await;
        assert!(!laboratory.page(&proposal).await.has("#slipped"), "{item} is like what is there");
        press(laboratory, &proposal, "take").await;
    }
    let slipped = [
        "metoprolol in item C: LOQ 5, and 8 in item A, 8 in item B",
        "diclofenac in item C: LOQ 8, and 10 in item A, 10 in item B",
        "gabapentin in item C: LOQ 10, and 20 in item A, 20 in item B",
    ];

    let page = laboratory.page(&paste(laboratory, "C", "10", "loq", "5\n8\n10\n20\n").await).await;
    assert_eq!(page.texts("section.attention li"), slipped);
    assert_eq!(page.texts("td code"), ["20"], "the last one fell out of the form");

    let file =
        "item,analyte,unit,result,loq\nC,metoprolol,ng/L,121,5\nC,diclofenac,ng/L,312,8\nC,gabapentin,ng/L,467,10\n";
    let proposal = upload(laboratory, "results.csv", file.as_bytes()).await.leads_to();
    assert_eq!(laboratory.page(&proposal).await.texts("section.attention li"), slipped);

    let right = "C\tcarbamazepine\t5.0\nC\tmetoprolol\t8\nC\tdiclofenac\t10\nC\tgabapentin\t20\n";
    let page = laboratory.page(&paste(laboratory, "C", "9", "loq", right).await).await;
    assert!(!page.has("#slipped") && changes(&page).len() == 4);
    round.app.end().await;
}

/// X9 and X25: a file with zeros and a negative number is refused with its
/// lines, and comes back with what is wrong in a column; a pasted block keeps
/// them as typed, marked, and the form does not let them pass.
#[tokio::test]
async fn zeros_and_negative_numbers_are_refused_in_files_and_marked_in_blocks() {
    let round = OpenRound::new(2).await;
    let [laboratory, other] = &round.laboratories[..] else { panic!("two laboratories") };
    let file =
        "item;analyte;unit;result;loq\nA;carbamazepine;ng/L;30;5\nA;gabapentin;ng/L;0;5\nB;gabapentin;ng/L;-1,2;5\n";

    let refused = upload(laboratory, "results.csv", file.as_bytes()).await.expect(422).page();
    let listed = refused.texts("#problems tbody td");
    assert_eq!((&*listed[0], &*listed[1], &*listed[2]), ("3", "result", "0"));
    assert_eq!((&*listed[4], &*listed[5], &*listed[6]), ("4", "result", "-1,2"));
    assert!(listed[3].contains("Type < and your limit of quantification"), "{listed:?}");
    assert_eq!(draft(laboratory, "A", &["1.v1"]).await, [""], "nothing of the file is taken");

    // The file with its errors, for this laboratory and for an hour.
    let back = refused.attribute("main a.button", "href");
    let answer = laboratory.get(&back).await.expect(200);
    assert!(answer.header("content-disposition").contains("results-errors.csv"));
    let text = answer.text();
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len(), 4);
    assert_eq!((lines[0], lines[1]), ("\u{feff}item;analyte;unit;result;loq;errors", "A;carbamazepine;ng/L;30;5;"));
    assert!(lines[2].starts_with("A;gabapentin;ng/L;0;5;result: “0” is zero"), "{}", lines[2]);
    assert!(lines[3].starts_with("B;gabapentin;ng/L;-1,2;5;result: “-1,2” is negative"), "{}", lines[3]);
    let hidden = other.get(&back).await.expect(404).page();
    assert_eq!(hidden.text("main"), other.get(&at("/proposals/none/file")).await.expect(404).page().text("main"));
    // Mended in place, with the column left in it, it is taken.
    let mended = text.replace(";0;5;", ";<5;5;").replace(";-1,2;5;", ";<5;5;");
    let proposal = upload(laboratory, "results-errors.csv", mended.as_bytes()).await.leads_to();
    let fields: Vec<String> =
        changes(&laboratory.page(&proposal).await).into_iter().map(|row| row[1].clone()).collect();
    assert_eq!(fields, ["Unit", "Value", "LOQ", "Value", "LOQ", "Value", "LOQ"], "the file says its unit");
    laboratory.get(&back).await.expect(404);

    // A workbook comes back as one, its cells as texts.
    let mut book = Workbook::new();
    let sheet = book.add_worksheet().set_name("Our results").unwrap();
    for (row, cells) in [["item", "analyte", "unit", "result"], ["A", "gabapentin", "ng/L", "=1+1"]].iter().enumerate()
    {
        for (column, text) in cells.iter().enumerate() {
            sheet.write_string(row as u32, column as u16, *text).unwrap();
        }
    }
    let refused = upload(laboratory, "results.xlsx", &book.save_to_buffer().unwrap()).await.expect(422).page();
    let back = refused.attribute("main a.button", "href");
    let bytes = laboratory.get(&back).await.expect(200).bytes;
    let mut read: Xlsx<_> = calamine::open_workbook_from_rs(Cursor::new(bytes)).unwrap();
    let range = read.worksheet_range("Our results").unwrap();
    assert_eq!(range.get_value((1, 3)), Some(&Data::String("=1+1".to_owned())));
    assert!(range.get_value((1, 4)).is_some_and(|cell| cell.to_string().contains("formula")));
    round.app.clock.advance(SignedDuration::from_mins(61));
    laboratory.get(&back).await.expect(404);

    // Nothing can be told apart in a picture, so nothing comes back.
    let page = upload(laboratory, "results.xlsx", b"\x89PNG\r\n").await.expect(422).page();
    assert!(!page.has("main a.button"));

    // The same in a block: kept as typed, marked, and stopped by the form.
    let proposal = paste(laboratory, "A", "1", "v1", "30\n-1,2\n0\n").await;
    let read: Vec<String> = changes(&laboratory.page(&proposal).await).into_iter().map(|row| row[4].clone()).collect();
    assert!(read[0] == "30" && read[1].contains("is negative") && read[2].contains("is zero"), "{read:?}");
    press(laboratory, &proposal, "take").await;
    assert_eq!(draft(laboratory, "A", &["1.v1", "2.v1", "3.v1"]).await, ["30", "-1,2", "0"]);
    let entry = at("/results/A");
    laboratory.submit(&entry, &entry, &[("command", "next")]).await.expect(422);
    round.app.end().await;
}

#[tokio::test]
async fn a_proposal_is_not_there_for_others() {
    let round = OpenRound::new(2).await;
    let [laboratory, other] = &round.laboratories[..] else { panic!("two laboratories") };
    let proposal = paste(laboratory, "A", "1", "v1", "30\n").await;
    let missing = at("/proposals/0199c0de-0000-7000-8000-000000000000");

    let words = other.get(&missing).await.expect(404).page().text("main");
    assert_eq!(other.get(&proposal).await.expect(404).page().text("main"), words);
    let token = [("form_token".to_owned(), other.page("/rounds").await.value("form_token"))];
    for what in ["take", "leave", "undo"] {
        other.post(&format!("{proposal}/{what}"), &token).await.expect(404);
    }
    round.organiser.get(&proposal).await.expect(403);
    assert_eq!(draft(laboratory, "A", &["1.v1"]).await, [""]);
    press(laboratory, &proposal, "take").await;
    assert_eq!(draft(laboratory, "A", &["1.v1"]).await, ["30"]);
    assert_eq!(draft(other, "A", &["1.v1"]).await, [""]);

    // After closing there is nothing to take over any more.
    let late = paste(laboratory, "A", "2", "v1", "31\n").await;
    round.close().await;
    assert_eq!(laboratory.get(&late).await.leads_to(), at(""));
    let token = [("form_token".to_owned(), laboratory.page("/rounds").await.value("form_token"))];
    laboratory.post(&format!("{late}/take"), &token).await.expect(409);
    round.app.end().await;
}

/// X22 of the demonstration: the code of another laboratory's vial, in a file
/// and in a block. Nothing tells whose it is.
#[tokio::test]
async fn a_code_of_another_vial_is_refused() {
    let app = TestApp::new().await;
    let organiser = scenario::set_up(&app).await;
    scenario::design(&app, &organiser).await;
    organiser.submit(&at("/asks"), &at("/asks"), &[("arrival", "codes")]).await.leads_to();
    let invitations = scenario::invite(&organiser).await;
    scenario::agree_and_open(&app, &organiser).await;
    let laboratory = scenario::accept(&app, &invitations[0], 0).await;
    let round = laboratory.page(&at("")).await.text("main");
    let labels = organiser.page(&at("/labels")).await;
    let (codes, cells) = (labels.texts("tbody th"), labels.texts("tbody td"));
    let rows: Vec<(&String, &[String])> = codes.iter().zip(cells.chunks(2)).collect();
    let label = |own: bool, item: &str| {
        let found = rows.iter().find(|(code, cells)| round.contains(code.as_str()) == own && cells[0] == item);
        found.unwrap_or_else(|| panic!("{rows:?}")).1[1].clone()
    };
    let (own, of_b, foreign) = (label(true, "A"), label(true, "B"), label(false, "A"));
    let file = |code: &str| format!("item,item_code,analyte,unit,result\nA,{code},carbamazepine,ng/L,30\n");

    for (code, words) in [(&foreign, "stands on none of the vials"), (&of_b, "stands on your vial of item B")] {
        let refused = upload(&laboratory, "results.csv", file(code).as_bytes()).await.expect(422).page();
        let told = refused.texts("#problems tbody td");
        assert_eq!((&*told[0], &*told[1], &told[2]), ("2", "item_code", code));
        assert!(told[3].contains(words), "{}", told[3]);
        let block = file(code).replace(',', "\t");
        let page = laboratory.page(&paste(&laboratory, "A", "1", "v1", &block).await).await;
        assert!(!page.has(".changes") && page.text("main").contains(words), "{}", page.text("main"));
    }
    let proposal = upload(&laboratory, "results.csv", file(&own).as_bytes()).await.leads_to();
    assert_eq!(changes(&laboratory.page(&proposal).await).len(), 2);
    app.end().await;
}

/// What somebody typed while a proposal was looked at is not overwritten: both
/// texts stand until one is chosen. Numbers are in the laboratory's unit.
#[tokio::test]
async fn a_proposal_is_merged_with_what_others_typed_meanwhile() {
    let round = OpenRound::new(1).await;
    let laboratory = &round.laboratories[0];
    let entry = at("/results/A");
    laboratory.submit(&entry, &entry, &[("all.unit", "µg/L"), ("1.v1", "0.030"), ("command", "save")]).await.leads_to();
    let proposal = paste(laboratory, "A", "1", "v1", "0.0312\n0.0451\n").await;
    let looked_at = laboratory.page(&proposal).await;
    assert_eq!(
        changes(&looked_at),
        expected(&[
            ["carbamazepine, item A", "Value", "0.030", "0.0312", "0.0312 µg/L = 31.2 ng/L"],
            ["metoprolol, item A", "Value", "empty", "0.0451", "0.0451 µg/L = 45.1 ng/L"],
        ])
    );

    laboratory.submit(&entry, &entry, &[("1.v1", "0.033"), ("command", "save")]).await.leads_to();
    laboratory.fill(&looked_at, &format!("{proposal}/take"), &[]).await.leads_to();

    let page = laboratory.page(&entry).await;
    assert_eq!((page.value("1.v1"), page.value("2.v1")), ("0.033".to_owned(), "0.0451".to_owned()));
    assert!(page.has("input[name='1.v1.keep']"), "the other text is asked about");
    assert!(page.text("main").contains("0.0312"), "{}", page.text("main"));
    press(laboratory, &proposal, "undo").await;
    let page = laboratory.page(&entry).await;
    assert_eq!((page.value("1.v1"), page.value("2.v1")), ("0.033".to_owned(), String::new()));
    assert!(!page.has("input[name='1.v1.keep']"));

    // A file is in the unit of the round, and this laboratory's numbers are not.
    let file = "item,analyte,unit,result\nA,carbamazepine,ng/L,30\n";
    let refused = upload(laboratory, "results.csv", file.as_bytes()).await.expect(422).page();
    assert!(refused.text("#problems").contains("µg/L"), "{}", refused.text("#problems"));
    round.app.end().await;
}

/// What a person's paste does in the browser.
const PASTE: &str = "const data = new DataTransfer(); data.setData('text/plain', arguments[1]); \
    const field = document.querySelector(`[name='${arguments[0]}']`); field.focus(); \
    return field.dispatchEvent(new ClipboardEvent('paste', { clipboardData: data, bubbles: true, cancelable: true }))";

async fn arrives(browser: &Browser, start: &str) {
    let until = Instant::now() + Duration::from_secs(20);
    while !browser.path().await.starts_with(start) {
        assert!(Instant::now() < until, "the block led to {}", browser.path().await);
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_block_pasted_into_a_field_leads_to_what_it_would_change() {
    let round = OpenRound::new(1).await;
    let Some(browser) = Browser::start(&round.app.address).await else { return };
    browser.sign_in(&email(0)).await;
    browser.go(&at("/results/B")).await;
    // A single cell goes into the field as any text does.
    assert_eq!(browser.run(PASTE, vec![json!("5.v1"), json!("145,7\r\n")]).await, json!(true));
    assert_eq!(browser.path().await, at("/results/B"));
    browser.type_into("5.v1", "145,7").await;

    let block = "261,3\t31\n382,9\t\n1,250\tx\n99\t\n";
    assert_eq!(browser.run(PASTE, vec![json!("6.v1"), json!(block)]).await, json!(false));
    arrives(&browser, &at("/proposals/")).await;

    let page = browser.page().await;
    let fields: Vec<_> = changes(&page).into_iter().map(|row| format!("{} {} {}", row[0], row[1], row[3])).collect();
    assert_eq!(
        fields,
        [
            "metoprolol, item B Value 261,3",
            "metoprolol, item B U 31",
            "diclofenac, item B Value 382,9",
            "gabapentin, item B Value 1,250",
            "gabapentin, item B U x"
        ]
    );
    assert_eq!(page.texts("td code"), ["99"]);
    assert_eq!(draft(&round.laboratories[0], "B", &["5.v1", "6.v1"]).await, ["145,7", ""], "what was typed is kept");
    if let Some(rules) = rules() {
        let mut faults = BTreeSet::new();
        look(&browser, &rules, "what a block would change", &mut faults).await;
        browser.press("form[action$='/take'] button").await;
        look(&browser, &rules, "what a block has changed", &mut faults).await;
        browser.go(&at("/results/B/paste")).await;
        browser.press("main form button").await;
        look(&browser, &rules, "a block that is missing", &mut faults).await;
        assert!(faults.is_empty(), "{faults:#?}");
        browser.width(1280).await;
        browser.dark(false).await;
        browser.run("history.go(-2)", vec![]).await;
        arrives(&browser, &at("/proposals/")).await;
    } else {
        browser.press("form[action$='/take'] button").await;
    }
    browser.go(&at("/results/B")).await;
    assert_eq!(browser.page().await.value("6.v1"), "261,3");
    round.app.end().await;
    browser.end().await;
}
