//! The report of a round, read back from its PDF.

#![allow(clippy::unwrap_used, reason = "in a test, what cannot go on has failed")]

mod fixtures;
#[path = "fixtures/precision.rs"]
mod precision;
#[path = "fixtures/reading.rs"]
mod reading;
#[path = "fixtures/report.rs"]
mod reports;

use reports::report;
use roundel_documents::report::{Block, Medium, Report, Status, content, render};
use roundel_documents::words::Words;

/// The text of a PDF as it is laid out; none where the machine has no reader.
fn text_of(pdf: &[u8]) -> Option<String> {
    let read = || reading::piped("pdftotext", &["-layout", "-", "-"], pdf).expect("the reader reads it");
    reading::has("pdftotext").then(|| String::from_utf8(read()).expect("the reader writes UTF-8"))
}

/// The text as one line of words.
fn words_of(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_text_of_a_report_in_both_languages_is_as_it_was_read_and_kept() {
    let report = report(6, 3);
    for words in [Words::English, Words::German] {
        let pdf = render(&report, &words, None).unwrap();
        if reading::has("pdfinfo") {
            let text = reading::in_order(&pdf).unwrap();
            reading::compare(&format!("report-{}.txt", words.tag()), &text).unwrap();
        }
    }
}

#[test]
fn the_same_report_gives_the_same_bytes_on_two_runs_and_on_two_threads() {
    let report = report(8, 3);
    let first = render(&report, &Words::English, None).unwrap();
    let others: Vec<Vec<u8>> = std::thread::scope(|scope| {
        let run = || scope.spawn(|| render(&report, &Words::English, None).unwrap());
        [run(), run()].map(|handle| handle.join().unwrap()).into()
    });

    assert!(others.iter().all(|other| *other == first));
    let stored = Report::from_json(&report.to_json().unwrap()).unwrap();
    assert!(render(&stored, &Words::English, None).unwrap() == first, "also from its stored text");
}

#[test]
fn every_number_of_the_tables_stands_in_the_document() {
    let report = report(9, 3);
    let Some(text) = text_of(&render(&report, &Words::English, None).unwrap()) else { return };
    let mut rows = 0;
    for measurand in &report.measurands {
        for row in &measurand.results {
            // A line of the table of results begins with the code and holds result and U; k is
            // in the head.
            let uncertainty = if row.uncertainty.is_empty() { "–" } else { row.uncertainty.as_str() };
            let tail = format!("{} {uncertainty}", row.reported);
            let found = text.lines().map(words_of).filter(|line| line.starts_with(&row.code)).any(|line| {
                line.strip_prefix(&row.code).is_some_and(|rest| rest.trim_start().starts_with(tail.trim()))
            });
            assert!(found, "{} of {}: {tail}", row.code, measurand.name());
            rows += 1;
        }
    }
    assert_eq!(rows, 27);
}

#[test]
fn heads_of_tables_are_repeated_on_every_page() {
    let report = report(120, 1);
    let pdf = render(&report, &Words::English, None).unwrap();
    let Some(text) = text_of(&pdf) else { return };
    let with_rows = text.split('\u{c}').filter(|page| page.lines().filter(|l| l.contains("acceptable")).count() > 8);
    let mut pages = 0;
    for page in with_rows {
        assert!(page.lines().any(|line| words_of(line).starts_with("Code Result")), "{page}");
        pages += 1;
    }
    assert!(pages >= 2, "the table fills {pages} pages");
}

#[test]
fn what_is_not_final_says_so_on_every_page_and_what_was_replaced_too() {
    let mut preliminary = report(6, 1);
    preliminary.status = Status::Preliminary;
    for (report, superseded, said) in [(preliminary, None, "Preliminary"), (report(6, 1), Some(2), "Superseded")] {
        let Some(text) = text_of(&render(&report, &Words::English, superseded).unwrap()) else { return };
        for page in text.split('\u{c}').filter(|page| !page.trim().is_empty()) {
            assert!(page.contains(said), "{said} is missing on:\n{page}");
        }
    }
    let Some(text) = text_of(&render(&report(6, 1), &Words::English, None).unwrap()) else { return };
    assert!(!text.contains("Preliminary") && !text.contains("Superseded"));
}

#[test]
fn of_few_laboratories_nothing_is_shown() {
    let mut few = report(6, 2);
    let hidden = &mut few.measurands[1];
    hidden.few = true;
    let kept = std::mem::take(&mut hidden.results);
    let made = content(&few, &Words::English, Medium::Document, None);

    let section = |word: &str| made.sections.iter().find(|section| section.word == word).unwrap();
    let besides = section("results").blocks.iter().filter(|block| matches!(block, Block::Beside { .. })).count();
    assert_eq!(besides, 1, "one measurand has its table and figures");
    let whole = format!("{made:?}");
    assert!(whole.contains("Fewer than 5 laboratories reported this measurand"));
    let value = few.measurands[1].assigned.as_ref().unwrap().value.to_string();
    let statistics = format!("{:?}{:?}", section("statistics").blocks, section("route").blocks);
    assert!(!statistics.contains(&format!("\"{value}")), "{value} in {statistics}");
    assert!(!kept.is_empty());
}

#[test]
fn no_figure_of_a_report_names_a_laboratory() {
    let report = report(30, 2);
    let made = content(&report, &Words::English, Medium::Document, None);
    let mut figures = 0;
    for block in made.sections.iter().flat_map(|section| &section.blocks) {
        let Block::Beside { figures: drawn, .. } = block else { continue };
        for figure in drawn {
            for row in &report.measurands[0].results {
                assert!(!figure.svg.contains(&row.code) && !figure.alt.contains(&row.code), "{}", row.code);
            }
            figures += 1;
        }
    }
    assert_eq!(figures, 4);
}

#[test]
fn german_numbers_have_commas_where_people_read_them() {
    let report = report(6, 3);
    let made = content(&report, &Words::German, Medium::Document, None);
    let whole = format!("{made:?}");
    assert!(whole.contains("0,62") && whole.contains("bis"), "a standard deviation between units");
    assert!(!whole.contains("‹"), "a text is missing: {}", whole.split('‹').nth(1).unwrap_or_default());
    let english = format!("{:?}", content(&report, &Words::English, Medium::Document, None));
    assert!(!english.contains("‹"), "a text is missing: {}", english.split('‹').nth(1).unwrap_or_default());
}

#[test]
fn all_contents_are_there_under_their_letters() {
    let made = content(&report(6, 3), &Words::English, Medium::Page, None);
    let letters: String = made.sections.iter().map(|section| section.letter.as_str()).collect();
    assert_eq!(letters, "abcdefghijklmnopqrst");
    let after: Vec<&str> =
        made.sections.iter().filter(|s| s.letter.is_empty()).map(|section| section.word.as_str()).collect();
    assert_eq!(after, ["decisions", "unscored", "rules", "cautions", "verify", "complaints"]);
    assert!(made.sections.iter().all(|section| !section.blocks.is_empty()));
}

#[test]
fn a_corrected_report_says_what_it_replaces_and_which_values_changed() {
    let before = report(6, 3);
    let mut after = report(6, 3);
    let changed = &mut after.measurands[0];
    changed.assigned.as_mut().unwrap().value = 15.6;
    changed.results[0].class = roundel_documents::report::Class::NotScored;

    let changes = after.changes_from(&before);

    assert_eq!(changes.len(), 1);
    assert_eq!((changes[0].before, changes[0].after, changes[0].classes), (Some(20.0), Some(15.6), 1));
    assert!(before.changes_from(&before).is_empty());
    after.version = 2;
    after.status = Status::Corrected;
    after.replaces =
        Some(roundel_documents::report::Replaces { version: 1, reason: "A factor.".to_owned(), changed: changes });
    let lead = content(&after, &Words::English, Medium::Page, None).lead.join(" ");
    assert!(lead.contains("replaces QW-1-R, version 1. Reason: A factor."), "{lead}");
    assert!(lead.contains("20.00 before, 15.60 now"), "{lead}");
}

#[test]
fn a_withdrawn_result_has_a_word_of_its_own_in_both_languages() {
    let mut withdrawn = report(6, 3);
    let row = &mut withdrawn.measurands[0].results[0];
    row.code = "WITHDREW".to_owned();
    row.class = roundel_documents::report::Class::NotScored;
    row.marks = vec!["withdrawn".to_owned()];

    for (words, said) in [(Words::English, "withdrawn"), (Words::German, "zurückgezogen")] {
        let made = content(&withdrawn, &words, Medium::Page, None);
        let tables = made.sections.iter().flat_map(|section| &section.blocks).filter_map(|block| match block {
            Block::Beside { table, .. } => Some(table),
            _ => None,
        });
        let rows: Vec<&str> = tables
            .flat_map(|table| &table.rows)
            .filter(|row| row[0].text == "WITHDREW")
            .filter_map(|row| row.last().map(|cell| cell.text.as_str()))
            .collect();
        assert_eq!(rows, [said], "once, and nothing beside it");
    }
}

#[test]
fn a_study_of_precision_has_a_section_of_its_own_with_single_values_and_tests() {
    let mut report = report(12, 1);
    assert!(content(&report, &Words::English, Medium::Page, None).sections.iter().all(|s| s.word != "precision"));
    report.precision = Some(precision::study(&reports::codes(12)));
    let stored = Report::from_json(&report.to_json().unwrap()).unwrap();
    assert_eq!(stored, report);
    for words in [Words::English, Words::German] {
        let pdf = render(&report, &words, None).unwrap();
        if !reading::has("pdfinfo") {
            return;
        }
        let text = words_of(&reading::in_order(&pdf).unwrap());
        // r and R are 2.8 times s_r = 2.748 and s_R = 3.477 of the published data.
        for number in ["2.75", "7.70", "3.48", "9.74", "132.66; 133.83; 133.1", "0.725", "0.615", "100.8 ± 2.1", "<20"]
        {
            let number = if words.tag() == "de" { number.replace('.', ",") } else { number.to_owned() };
            assert!(text.contains(&number), "{number} of {}", words.tag());
        }
        let of = |key: &str| words.t(key);
        for text_of in ["report-item-precision", "report-precision-set-aside", "report-test-cochran"].map(of) {
            assert!(text.contains(&text_of), "{text_of}");
        }
        assert!(text.contains("Reported in mmol/L."), "why a result is left out");
    }
}

/// Both languages have the same texts for reports.
#[test]
fn every_text_of_a_report_stands_in_both_languages() {
    let keys = |source: &str| -> Vec<String> {
        let named = source.lines().filter_map(|line| line.split_once(" = ")).map(|(key, _)| key.to_owned());
        let mut keys: Vec<String> = named.filter(|key| key.starts_with("report-")).collect();
        keys.sort();
        keys
    };
    let english = keys(include_str!("../messages/en/report.ftl"));
    let german = keys(include_str!("../messages/de/report.ftl"));
    assert!(english.len() > 150, "{}", english.len());
    assert_eq!(english, german);
}
