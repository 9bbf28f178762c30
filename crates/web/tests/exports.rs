//! The tables of the demonstration's published rounds, made again from the exported
//! results by Python with numpy and scipy, and its open data package, read by it.

use jiff::Timestamp;
use roundel::clock::Clock;
use roundel::demo;
use roundel::pages::{Frame, open_data};
use roundel::published::{TABLES, Tables};
use roundel::state::App;
use roundel_documents::report::{Medium, Report, content};
use roundel_documents::sheet;
use roundel_documents::words::Words;
use roundel_domain::evaluation::Signal;
use roundel_domain::round::Round;
use roundel_store::testing::{ALL, Fresh, Kind};
use roundel_store::{participants, reports, rounds};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The environment variable with a Python that has numpy, scipy and openpyxl.
const PYTHON: &str = "ROUNDEL_TEST_PYTHON";

/// That Python; without it what is left out is said on standard error.
fn python() -> Option<PathBuf> {
    let named = std::env::var_os(PYTHON).map(PathBuf::from);
    if named.is_none() {
        assert!(std::env::var_os(ALL).is_none(), "{ALL} is set and {PYTHON} is not");
        let sentence = format!(
            "left out: making the exported tables again with numpy and scipy, because {PYTHON} is not set; \
             `bash tests/run` sets it\n"
        );
        let _ = std::io::stderr().write_all(sentence.as_bytes());
    }
    named
}

fn folder() -> PathBuf {
    let folder = std::env::temp_dir().join(format!("roundel-exports-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a temporary folder can be made");
    folder
}

async fn demonstration() -> (Fresh, App) {
    let fresh = Fresh::new(Kind::Sqlite).await.expect("a file is always there");
    let now: Timestamp = "2027-03-01T09:00:00Z".parse().expect("an instant");
    demo::fill(&fresh.db, now, "http://127.0.0.1").await.expect("the demonstration is made");
    let app = App::new(fresh.db.clone(), Clock::default(), "http://127.0.0.1").await.expect("the service");
    (fresh, app)
}

async fn tables(app: &App, code: &str, whole: bool) -> Tables {
    let mut tx = app.db.read().await.expect("a database");
    let round = rounds::by_code(&mut tx, code).await.expect("a statement").expect("a round of the scenario");
    Tables::of(app, &mut tx, round, whole).await.expect("it is published")
}

/// How many measurands have results of fewer laboratories than may be shown.
fn few(tables: &Tables) -> usize {
    let ids = tables.evaluated.package.measurands.iter().map(|m| m.id.as_str());
    ids.filter(|id| (1..5).contains(&tables.evaluated.scores(id).count())).count()
}

/// The parts of the report that holds, in English, as JSON.
async fn report(app: &App, round: &Round) -> String {
    let mut tx = app.db.read().await.expect("a database");
    let heads = reports::of_round(&mut tx, round.id).await.expect("a statement");
    let newest = heads.iter().find(|head| head.superseded_by.is_none()).expect("the scenario issues a report");
    let text = reports::document(&mut tx, round.id, newest.version).await.expect("a statement").expect("it is kept");
    let parts = content(&Report::from_json(&text).expect("a report"), &Words::English, Medium::Page, None);
    serde_json::to_string(&parts).expect("JSON")
}

fn write(folder: &Path, tables: &Tables) {
    let f = Frame::bare();
    let all: Vec<_> = TABLES.iter().map(|word| tables.table(&f, word).expect("a table")).collect();
    for (word, table) in TABLES.iter().zip(&all) {
        std::fs::write(folder.join(format!("{word}.csv")), sheet::csv(table)).expect("a file can be written");
    }
    let book = sheet::book(&all, Some(&tables.about(&f))).expect("a workbook");
    assert!(book == sheet::book(&all, Some(&tables.about(&f))).expect("a workbook"), "the same bytes again");
    std::fs::write(folder.join("round.xlsx"), book).expect("a file can be written");
}

#[tokio::test]
async fn the_exported_tables_come_out_the_same_when_numpy_and_scipy_make_them_again() {
    let Some(python) = python() else { return };
    let (fresh, app) = demonstration().await;
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/recompute.py");
    let base = folder();

    for code in ["QW-1", "QW-2", "QW-3"] {
        let folder = base.join(code);
        std::fs::create_dir_all(&folder).expect("a temporary folder can be made");
        let tables = tables(&app, code, true).await;
        write(&folder, &tables);
        if code == "QW-1" {
            let mut tx = app.db.read().await.expect("a database");
            let zip = open_data::released(&app, &mut tx, &tables.round).await.expect("a released package");
            let again = open_data::released(&app, &mut tx, &tables.round).await.expect("a released package");
            assert!(zip == again, "the same package twice");
            let enrolled = participants::of_round(&mut tx, tables.round.id).await.expect("a statement");
            let codes: Vec<String> = enrolled.into_iter().map(|one| one.code).collect();
            std::fs::write(folder.join("open-data.zip"), zip).expect("a file can be written");
            std::fs::write(folder.join("codes.txt"), codes.join("\n")).expect("a file can be written");
        }

        std::fs::write(folder.join("report.json"), report(&app, &tables.round).await).expect("a file can be written");

        let output = Command::new(&python).arg(&script).arg(&folder).output().expect("Python starts");

        let (said, error) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
        assert!(output.status.success(), "{code}: {error}");
        println!("{code}: {said}");
        let said: serde_json::Value = serde_json::from_str(&said).expect("one line of JSON");
        assert_eq!(said["differences"], serde_json::json!([]), "{code}");
        let compared = |what: &str| said["compared"][what].as_u64().unwrap_or_default();
        let measurands = tables.measurands.len() as u64;
        assert_eq!((said["measurands"].as_u64(), compared("median") > 0), (Some(measurands), true));
        let scored = tables.evaluated.evaluation.scores.iter().filter(|score| score.z.is_some()).count();
        assert_eq!(compared("z"), scored as u64, "{code}: every z");
        let classes = [Signal::None, Signal::Warning, Signal::Action];
        let with_z =
            |score: &&roundel_domain::evaluation::ScoreEntry| score.z.is_some() && classes.contains(&score.signal);
        let classed = tables.evaluated.evaluation.scores.iter().filter(with_z).count();
        assert_eq!(compared("class"), classed as u64, "{code}: every class");
        assert!(compared("numeric cells") > 1000, "{code}");
        let shown = tables.measurands.len() as u64 - few(&tables) as u64;
        assert_eq!(compared("report p"), shown, "{code}: every measurand that the report shows");
        assert!(compared("report scores") > 1000 && compared("report classes") > 1000, "{code}: {said}");
        assert!(compared("report range") > 50 && compared("report s*") > 20, "{code}: {said}");
        if code == "QW-1" {
            assert!(compared("laboratories in open data") >= 30 && compared("z of open data") > 1000);
        }
    }
    std::fs::remove_dir_all(&base).expect("the folder is ours");
    drop(app);
    fresh.end().await;
}

#[tokio::test]
async fn a_laboratorys_copy_is_without_measurands_of_few_and_without_sentences() {
    let (fresh, app) = demonstration().await;
    let f = Frame::bare();

    let (whole, shared) = (tables(&app, "QW-1", true).await, tables(&app, "QW-1", false).await);

    let few = |tables: &Tables| {
        let ids = tables.evaluated.package.measurands.iter().map(|m| m.id.as_str());
        ids.filter(|id| tables.evaluated.scores(id).count() < 5).count()
    };
    assert_eq!(whole.measurands.len() - shared.measurands.len(), few(&whole));
    let columns = |tables: &Tables| {
        let table = tables.table(&f, "decisions").expect("a table");
        table.columns.iter().map(|column| column.name.clone()).collect::<Vec<_>>()
    };
    assert!(columns(&whole).contains(&"reason".to_owned()) && !columns(&shared).contains(&"reason".to_owned()));
    let decisions = shared.table(&f, "decisions").expect("a table");
    assert!(!decisions.rows.is_empty(), "the scenario decides");
    drop(app);
    fresh.end().await;
}
