//! Results by file: the template, its mistakes, what was sent and what it
//! scored, read back by another crate than the one that writes workbooks.

use crate::support::page::Page;
use crate::support::scenario::{self, MEASURANDS, OpenRound, at, enter, number, send, typed, z};
use crate::support::visitor::Visitor;
use calamine::{Data, Reader, Xlsx, open_workbook_from_rs};
use rust_xlsxwriter::{ExcelDateTime, Format, Workbook};
use std::io::Cursor;

/// The cells of the first sheet, by row.
fn cells(bytes: &[u8]) -> Vec<Vec<Data>> {
    let mut book: Xlsx<_> = open_workbook_from_rs(Cursor::new(bytes.to_vec())).expect("a workbook");
    let first = book.sheet_names()[0].clone();
    book.worksheet_range(&first).expect("a sheet").rows().map(<[Data]>::to_vec).collect()
}

fn place(rows: &[Vec<Data>], column: &str) -> usize {
    let header: Vec<String> = rows[0].iter().map(ToString::to_string).collect();
    header.iter().position(|name| name == column).unwrap_or_else(|| panic!("no {column} in {header:?}"))
}

/// A column's cells, without its name.
fn column(rows: &[Vec<Data>], name: &str) -> Vec<Data> {
    let place = place(rows, name);
    rows[1..].iter().map(|row| row[place].clone()).collect()
}

fn texts(rows: &[Vec<Data>], name: &str) -> Vec<String> {
    column(rows, name).iter().map(ToString::to_string).collect()
}

async fn download(visitor: &Visitor, path: &str) -> Vec<Vec<Data>> {
    cells(&visitor.get(&at(path)).await.expect(200).bytes)
}

/// The template with these texts in its column of results, and 10 percent with
/// k = 2 in the first row.
fn filled(template: &[Vec<Data>], results: &[String]) -> Workbook {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    for (line, row) in template.iter().enumerate() {
        for (place, cell) in row.iter().enumerate().filter(|(_, cell)| **cell != Data::Empty) {
            sheet.write_string(line as u32, place as u16, cell.to_string()).unwrap();
        }
    }
    for (line, text) in results.iter().enumerate() {
        sheet.write_string(line as u32 + 1, place(template, "result") as u16, text).unwrap();
    }
    for (name, text) in [("expanded_uncertainty", "10"), ("uncertainty_form", "percent"), ("coverage_factor", "2")] {
        sheet.write_string(1, place(template, name) as u16, text).unwrap();
    }
    book
}

async fn upload(visitor: &Visitor, bytes: &[u8]) -> crate::support::answer::Answer {
    visitor.upload(&at("/results-upload"), &at("/results-upload"), "results.xlsx", bytes).await
}

/// Line, column and what stood there.
fn listed(page: &Page) -> Vec<[String; 3]> {
    let cells = page.texts("#problems tbody td");
    cells.chunks(4).map(|row| [row[0].clone(), row[1].clone(), row[2].clone()]).collect()
}

#[tokio::test]
async fn a_laboratory_reports_by_workbook_and_has_its_results_and_scores_as_one() {
    let round = OpenRound::new(2).await;
    let [laboratory, other] = &round.laboratories[..] else { panic!("two laboratories") };
    let numbers: Vec<String> = (0..12).map(|place| typed(0, place)).collect();

    let template = download(laboratory, "/results-template.xlsx").await;
    assert_eq!(texts(&template, "analyte"), MEASURANDS.map(|asked| asked.analyte));
    assert!(column(&template, "result").iter().all(|cell| *cell == Data::Empty));

    // Everything that is wrong is told at once, by line, and nothing is taken.
    let mut wrong = filled(&template, &numbers);
    let sheet = wrong.worksheet_from_index(0).unwrap();
    let (result, analyte) = (place(&template, "result") as u16, place(&template, "analyte") as u16);
    let date = ExcelDateTime::from_ymd(2026, 5, 1).unwrap();
    sheet.write_datetime_with_format(2, result, &date, &Format::new().set_num_format("d mmm")).unwrap();
    sheet.write_string(3, result, "1,234").unwrap();
    sheet.write_formula(4, result, "=1+1").unwrap();
    sheet.write_string(5, analyte, "carbamazepin").unwrap();
    let page = upload(laboratory, &wrong.save_to_buffer().unwrap()).await.expect(422).page();
    let expected = [
        ["3", "result", "2026-05-01"],
        ["4", "result", "1,234"],
        ["5", "result", "0"],
        ["6", "analyte", "carbamazepin"],
    ];
    assert_eq!(listed(&page), expected.map(|row| row.map(str::to_owned)));
    assert!(page.text("#problems").contains("“carbamazepine”"), "the nearest name is told");
    let draft = laboratory.page(&at("/results/A")).await;
    assert_eq!(draft.value("1.v1"), "");

    // Mended it is taken as a whole, shown on the pages, and sent from there.
    let mut mended = filled(&template, &numbers);
    let taken = upload(laboratory, &mended.save_to_buffer().unwrap()).await.leads_to();
    assert!(taken.starts_with(&at("/proposals/")), "{taken}");
    laboratory.submit(&taken, &format!("{taken}/take"), &[]).await.leads_to();
    let draft = laboratory.page(&at("/results/A")).await;
    assert_eq!((draft.value("1.v1"), draft.value("1.u")), (numbers[0].clone(), "10".to_owned()));
    assert_eq!(draft.attribute("select[name='A.u_as'] option[selected]", "value"), "percent");
    send(laboratory).await;
    enter(other, &std::array::from_fn(|place| typed(1, place))).await;
    send(other).await;

    // A laboratory has its own results and no one else's; the organiser has all.
    let own = download(laboratory, "/results.xlsx").await;
    let all = download(&round.organiser, "/results.xlsx").await;
    assert_eq!(texts(&own, "typed"), numbers);
    assert_eq!(column(&own, "value"), numbers.iter().map(|text| Data::Float(number(text))).collect::<Vec<_>>());
    assert_eq!((own.len(), all.len()), (13, 25));
    let mut codes = texts(&own, "code");
    codes.dedup();
    assert_eq!(codes.len(), 1);
    assert_eq!(all[1..].iter().filter(|row| row[0].to_string() == codes[0]).count(), 12);
    // 10 percent of the first result.
    let u = place(&own, "expanded_uncertainty");
    assert!(matches!(own[1][u], Data::Float(u) if (u - number(&numbers[0]) / 10.0).abs() < 1e-12));

    // Scores: for the organiser once there are some, for the laboratory once published.
    round.organiser.get(&at("/scores.csv")).await.expect(404);
    round.close().await;
    upload_is_refused(laboratory, &mut mended).await;
    round.organiser.submit(&at("/evaluation"), &at("/evaluation"), &[]).await.leads_to();
    assert_eq!(download(&round.organiser, "/scores.xlsx").await.len(), 25);
    let hidden = laboratory.get(&at("/scores.xlsx")).await.expect(404).page();
    let missing = laboratory.get("/rounds/NOWHERE/scores.xlsx").await.expect(404).page();
    assert_eq!(hidden.text("main"), missing.text("main"));
    scenario::approve(&round.reviewer).await;
    scenario::publish(&round.organiser).await;
    let scores = download(laboratory, "/scores.xlsx").await;
    assert_eq!(texts(&scores, "code"), vec![codes[0].clone(); 12]);
    for (row, asked) in column(&scores, "z").iter().zip(MEASURANDS) {
        let at =
            MEASURANDS.iter().position(|other| (other.item, other.analyte) == (asked.item, asked.analyte)).unwrap();
        let Data::Float(found) = row else { panic!("{row:?}") };
        assert!((found - z(&numbers[at], &asked)).abs() < 1e-9, "{found} for {asked:?}");
    }
    let separated = laboratory.get(&at("/scores.csv")).await.expect(200);
    assert_eq!(String::from_utf8(separated.bytes).unwrap().lines().count(), 13);
    round.app.end().await;
}

/// After closing; the form is then gone, so it is sent from another page.
async fn upload_is_refused(laboratory: &Visitor, book: &mut Workbook) {
    assert_eq!(laboratory.get(&at("/results-upload")).await.leads_to(), at(""));
    let token = laboratory.page("/rounds").await.value("form_token");
    let part = reqwest::multipart::Part::bytes(book.save_to_buffer().unwrap()).file_name("results.xlsx");
    let form = reqwest::multipart::Form::new().text("form_token", token).part("file", part);
    let path = at("/results-upload");
    let request = laboratory.request(reqwest::Method::POST, &path).multipart(form);
    laboratory.send(format!("POST {path}"), request).await.expect(409);
}

#[tokio::test]
async fn the_organisers_files_are_workbooks_too() {
    let round = OpenRound::new(1).await;
    for (path, columns) in [
        ("/measurands/template.xlsx", "item"),
        ("/assigned-values/template.xlsx", "x_pt"),
        ("/laboratories/template.xlsx", "email"),
    ] {
        let template = download(&round.organiser, path).await;
        place(&template, columns);
        assert!(template.len() >= 2, "{path}");
        // To a laboratory they do not exist.
        round.laboratories[0].get(&at(path)).await.expect(404);
    }
    let assigned = download(&round.organiser, "/assigned-values/template.xlsx").await;
    assert_eq!(texts(&assigned, "analyte"), MEASURANDS.map(|asked| asked.analyte));
    round.app.end().await;
}
