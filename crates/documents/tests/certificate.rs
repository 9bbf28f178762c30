//! The certificate, read back from its PDF.

mod fixtures;

use fixtures::certificate;
use roundel_documents::certificate::*;
use roundel_documents::words::Words;
use roundel_documents::{Limits, Mark, Score, ScoreKind};

fn pdf(certificate: &Certificate) -> Vec<u8> {
    render(certificate, &Words::English).expect("a certificate")
}

/// The text of each page, with single spaces.
fn pages(pdf: &[u8]) -> Vec<String> {
    let document = lopdf::Document::load_mem(pdf).expect("a PDF");
    let numbers: Vec<u32> = document.get_pages().keys().copied().collect();
    numbers
        .iter()
        .map(|number| document.extract_text(&[*number]).expect("text"))
        .map(|text| text.split_whitespace().collect::<Vec<_>>().join(" "))
        .collect()
}

#[test]
fn the_same_certificate_gives_the_same_bytes_on_any_thread() {
    let certificate = certificate(8, 2);
    let first = pdf(&certificate);

    let others: Vec<Vec<u8>> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..2).map(|_| scope.spawn(|| pdf(&certificate))).collect();
        threads.into_iter().map(|thread| thread.join().expect("a thread")).collect()
    });

    assert!(first.starts_with(b"%PDF-1.7"));
    for other in others {
        assert!(other == first, "another thread made other bytes");
    }
    assert!(pdf(&certificate) == first, "a second run made other bytes");
}

#[test]
fn it_declares_itself_archival_and_accessible() {
    let bytes = pdf(&certificate(2, 1));
    let document = lopdf::Document::load_mem(&bytes).expect("a PDF");
    let catalog = document.catalog().expect("a catalogue");
    let reference = catalog.get(b"Metadata").and_then(lopdf::Object::as_reference).expect("metadata");
    let stream = document.get_object(reference).and_then(lopdf::Object::as_stream).expect("a stream");
    let metadata = String::from_utf8(stream.content.clone()).expect("text");

    for part in
        ["<pdfaid:part>3</pdfaid:part>", "<pdfaid:conformance>A</pdfaid:conformance>", "<pdfuaid:part>1</pdfuaid:part>"]
    {
        assert!(metadata.contains(part), "{part} in {metadata}");
    }
    assert!(metadata.contains("2024-04-18"), "{metadata}");
    let language = catalog.get(b"Lang").and_then(lopdf::Object::as_str).expect("a language");
    assert_eq!(language, b"en");
    assert!(catalog.get(b"StructTreeRoot").is_ok(), "tagged");
}

/// A row of carbamazepine: 136 against 145, with σ 36.25.
fn row() -> Row {
    Row {
        analyte: "carbamazepine".to_owned(),
        basis: None,
        reported: "136".to_owned(),
        unit: "ng/L".to_owned(),
        converted: None,
        expanded_uncertainty: Some("41".to_owned()),
        coverage_factor: Some("2".to_owned()),
        assigned_value: Some(145.0),
        standard_uncertainty: Some(4.3),
        route: Some(Route::Formulation),
        sigma_pt: Some(36.25),
        difference_percent: Some(-100.0 * 9.0 / 145.0),
        score: Some(RowScore { kind: ScoreKind::Z, value: -9.0 / 36.25, bound: false }),
        mark: Mark::Within,
        verdict: None,
        loq: None,
        scheme_unit: "ng/L".to_owned(),
        notes: Vec::new(),
    }
}

fn with_rows(rows: Vec<Row>) -> Certificate {
    let mut certificate = certificate(1, 1);
    certificate.tables[0].rows = rows;
    certificate.counts = Counts::of(&certificate.tables);
    certificate
}

fn text(certificate: &Certificate) -> String {
    pages(&pdf(certificate)).join(" ")
}

#[track_caller]
fn assert_says(text: &str, sentence: &str) {
    assert!(text.contains(sentence), "{sentence:?} is missing in {text}");
}

#[track_caller]
fn assert_silent(text: &str, sentence: &str) {
    assert!(!text.contains(sentence), "{sentence:?} stands in {text}");
}

/// Expected numbers by hand: D = −9, −9/145 = −6.2 %, −9/36.25 = −0.248.
#[test]
fn a_row_says_what_was_reported_and_how_it_was_read() {
    let mut bound = row();
    bound.analyte = "tramadol".to_owned();
    bound.reported = "<25".to_owned();
    bound.expanded_uncertainty = None;
    bound.coverage_factor = None;
    bound.difference_percent = None;
    bound.score = Some(RowScore { kind: ScoreKind::Z, value: (25.0 - 145.0) / 36.25, bound: true });
    bound.mark = Mark::Action;
    bound.verdict = Some(Verdict::FalseNegative);
    bound.loq = Some(Loq { required: 10.0, met: false });
    let mut close = row();
    close.analyte = "naproxen".to_owned();
    close.basis = Some("as free acid".to_owned());
    close.score = Some(RowScore { kind: ScoreKind::ZPrime, value: 1.998, bound: false });
    let mut informed = row();
    informed.analyte = "metformin".to_owned();
    informed.mark = Mark::InformationOnly;
    informed.notes = vec![RowNote::NoClass("Only six laboratories reported.".to_owned())];
    let mut absent = row();
    absent.analyte = "gabapentin".to_owned();
    absent.assigned_value = None;
    absent.standard_uncertainty = None;
    absent.sigma_pt = None;
    absent.difference_percent = None;
    absent.score = None;
    absent.mark = Mark::NotScored;
    absent.route = None;
    absent.notes = vec![RowNote::Excluded("It came late.".to_owned())];

    let mut withdrawn = absent.clone();
    withdrawn.analyte = "sotalol".to_owned();
    withdrawn.notes = vec![RowNote::Withdrawn("Withdrawn by the laboratory. Wrong bottle.".to_owned())];

    let text = text(&with_rows(vec![row(), bound, close, informed, absent, withdrawn]));

    assert_says(&text, "carbamazepine 136 41 145.0 8.6 F 36.25 \u{2212}6.2 z \u{2212}0.25 acceptable");
    assert_says(&text, "tramadol <25 – 145.0 8.6 F 36.25 – z < \u{2212}3.31 ■ unacceptable false negative");
    assert_says(&text, "naproxen as free acid 136 41 145.0 8.6 F 36.25 \u{2212}6.2 z′ +1.998 acceptable");
    assert_says(&text, "\u{2212}0.25 information only");
    assert_says(&text, "gabapentin 136 41 – – – – – not scored");
    assert_says(&text, "sotalol 136 41 – – – – – withdrawn");
    assert_says(&text, "sotalol: left out of consensus and summary. Withdrawn by the laboratory. Wrong bottle.");
    assert_says(&text, "U ( k = 2) ng/L");
    assert_says(&text, "tramadol: the limit reported does not meet the required limit of quantification of 10 ng/L.");
    assert_says(&text, "metformin: Only six laboratories reported.");
    assert_says(&text, "gabapentin: left out of consensus and summary. It came late.");
    assert_says(&text, "F: assigned value by formulation.");
    assert_says(&text, "Results marked “information only” must not be quoted as passed or failed.");
    assert_says(
        &text,
        "scored acceptable questionable unacceptable information only not scored withdrawn false positives \
         false negatives 3 2 0 1 1 1 1 0 1",
    );
    assert_silent(&text, "‹");
}

#[test]
fn units_and_factors_that_differ_stand_in_columns_of_their_own() {
    let mut other = row();
    other.analyte = "tramadol".to_owned();
    other.reported = "0.136".to_owned();
    other.unit = "µg/L".to_owned();
    other.converted = Some("136 ng/L".to_owned());
    other.coverage_factor = Some("1.96".to_owned());

    let mut certificate = with_rows(vec![row(), other]);
    certificate.demonstration = false;

    let text = text(&certificate);

    assert_says(&text, "carbamazepine 136 ng/L 41 2 145.0");
    assert_says(&text, "tramadol 0.136 µg/L 41 1.96 145.0");
    assert_says(&text, "A consensus value speaks for the participants.");
    assert_says(&text, "tramadol: evaluated as 136 ng/L, converted from the unit reported.");
}

#[test]
fn every_page_is_numbered_and_marked_and_only_the_last_ends() {
    let mut certificate = certificate(24, 3);
    certificate.status = Status::Preliminary;
    let pages = pages(&pdf(&certificate));

    assert!(pages.len() > 2);
    for (index, page) in pages.iter().enumerate() {
        assert_says(page, "Demonstration data");
        assert_says(page, "Preliminary");
        assert_says(page, &format!("Page {} of {}", index + 1, pages.len()));
        let ends = page.contains("End of certificate QW-1-RXLF7, version 1");
        assert_eq!(ends, index + 1 == pages.len(), "page {}", index + 1);
    }
}

#[test]
fn what_is_no_demonstration_and_no_draft_is_not_called_so() {
    let mut certificate = certificate(8, 1);
    certificate.demonstration = false;
    certificate.consensus = false;
    certificate.laboratory = Laboratory { name: None, site: None, code: "RXLF7".to_owned() };
    certificate.provider.accreditation = Some("Accredited for this scheme under number 17.".to_owned());

    let text = text(&certificate);

    for sentence in ["Demonstration", "Preliminary", "Łąka", "not accredited", "A consensus value speaks"] {
        assert_silent(&text, sentence);
    }
    assert_says(&text, "Accredited for this scheme under number 17.");
    assert_says(&text, "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08");
    assert_says(&text, "roundel evaluate PACKAGE.json");
    assert_says(
        &text,
        "They do not certify the laboratory, and are neither an accreditation nor a licence to practise.",
    );
    assert_says(&text, "that criterion and the decision of the competent authority prevail");
}

/// 0.0455 of 20 scores: 0.91, printed with one decimal.
#[test]
fn the_number_of_scores_beyond_two_by_chance_is_printed() {
    let mut certificate = with_rows(vec![row(); 20]);
    assert_says(&text(&certificate), "Among 20 scores, a laboratory that only just meets the criterion");
    assert_says(&text(&certificate), "has about 0.9 beyond ±2 by chance alone");

    certificate.limits = vec![(ScoreKind::En, Limits::E_N)];
    let text = text(&certificate);
    assert_silent(&text, "Among 20 scores");
    assert_says(&text, "|Eₙ| < 1 is acceptable, from 1 on unacceptable.");
}

#[test]
fn a_laboratory_without_results_gets_a_statement_of_registration() {
    let mut certificate = certificate(8, 2);
    certificate.registration = true;

    let text = text(&certificate);

    assert_says(&text, "Statement of registration");
    assert_says(&text, "It has no valid result");
    assert_says(&text, "End of statement");
    for word in ["acceptable", "carbamazepine", "Score", "Certificate of", "Summary"] {
        assert_silent(&text, word);
    }
}

#[test]
fn one_row_and_ninety_rows_are_all_there_under_a_repeated_head() {
    assert_says(&text(&certificate(1, 1)), "Results: Item A, river water");

    let many = certificate(90, 1);
    let pages = pages(&pdf(&many));
    let text = pages.join(" ");
    for row in &many.tables[0].rows {
        assert_says(&text, &format!(" {} ", row.analyte));
    }
    let heads = pages.iter().filter(|page| page.contains("Analyte Result ng/L")).count();
    assert!(heads >= 2, "the head stands on {heads} pages");
}

/// A figure that is too tall for a page is drawn in parts; each part has its caption.
#[test]
fn a_tall_figure_is_drawn_in_even_parts() {
    let mut many = certificate(110, 1);
    for score in &mut many.figures[0].groups[0].scores {
        score.score = Score::Value(-9.66);
    }
    let pages = pages(&pdf(&many));

    let captions = pages.iter().filter(|page| page.contains("55 scores of laboratory RXLF7")).count();
    assert_eq!(captions, 2, "{pages:?}");
}

#[test]
fn markup_in_names_is_printed_as_it_is() {
    let hostile = "#import \"x\" *A* _B_ $x^2$ `c` <d> @e // f \\ #{1+1} [g]";
    let mut certificate = certificate(3, 1);
    certificate.laboratory.name = Some(hostile.to_owned());
    certificate.laboratory.code = "</svg>&".to_owned();
    certificate.tables[0].rows[0].analyte = "#panic() <tag> & 'q'".to_owned();
    certificate.figures[0].groups[0].scores[0].analyte = "</text><x>&".to_owned();
    certificate.figures[0].code = "\"'<".to_owned();
    if let Some(file) = &mut certificate.attachment {
        file.name = "../../etc/a b.json".to_owned();
    }

    let text = text(&certificate);

    assert_says(&text, hostile);
    assert_says(&text, "#panic() <tag> & 'q'");
    assert_says(&text, "</svg>&");
}

#[test]
fn latin_greek_and_cyrillic_names_are_whole_and_others_do_not_fail_the_document() {
    for name in ["Łódź Şişli Ærø Þór Őrség", "Εργαστήριο Νερού", "Лаборатория воды", "Ά ΐ ΰ · Ї Ґ Џ"]
    {
        let mut certificate = certificate(1, 1);
        certificate.laboratory.name = Some(name.to_owned());
        assert_says(&text(&certificate), name);
    }
    for name in [
        "水質研究所",
        "مختبر المياه",
        "प्रयोगशाला",
        "ห้องปฏิบัติการ",
        "a\u{0}b\u{200B}c\u{202E}d",
        "private \u{E000}\u{E010}\u{F8FF}\u{100000}",
        "\u{301}\u{5B0}\u{E31}",
        "\u{FFFE}\u{FEFF}\u{AD}\u{7F}",
        "Lab 🙂\u{FE0F}",
    ] {
        let mut certificate = certificate(1, 1);
        certificate.laboratory.name = Some(name.to_owned());
        certificate.tables[0].rows[0].analyte = name.to_owned();
        certificate.figures[0].groups[0].scores[0].analyte = name.to_owned();
        assert_says(&text(&certificate), "Code in this round RXLF7");
    }
    let mut certificate = certificate(1, 1);
    certificate.laboratory.name = Some("水 Lab".to_owned());
    assert_says(&text(&certificate), "\u{FFFD} Lab");
}

#[test]
fn the_machine_readable_copy_travels_inside() {
    let certificate = certificate(1, 1);
    let document = lopdf::Document::load_mem(&pdf(&certificate)).expect("a PDF");

    let files: Vec<Vec<u8>> = document
        .objects
        .values()
        .filter_map(|object| object.as_stream().ok())
        .filter(|stream| {
            stream.dict.get(b"Type").is_ok_and(|kind| kind.as_name().is_ok_and(|name| name == b"EmbeddedFile"))
        })
        .map(|stream| stream.decompressed_content().unwrap_or_else(|_| stream.content.clone()))
        .collect();

    let expected = certificate.attachment.map(|file| file.bytes).expect("the fixture has one");
    assert_eq!(files, vec![expected]);
}

/// The template and the program ask for texts by key: every key must exist.
#[test]
fn every_text_that_is_asked_for_exists() {
    let template = include_str!("../../../templates/documents/certificate.typ");
    let mut keys: Vec<String> = quoted_after(template, "label(\"").map(|key| format!("certificate-{key}")).collect();
    let sources = [
        include_str!("../src/mark.rs"),
        include_str!("../src/certificate/data.rs"),
        include_str!("../src/certificate/table.rs"),
        include_str!("../src/certificate/proof.rs"),
        include_str!("../src/figure/mod.rs"),
        include_str!("../src/figure/results.rs"),
        include_str!("../src/figure/results/rules.rs"),
        include_str!("../src/figure/scores.rs"),
        include_str!("../src/figure/own_scores.rs"),
    ];
    for source in sources {
        for start in ["words.t(\"", "words.with(\"", "words.with(\n                \""] {
            keys.extend(quoted_after(source, start));
        }
        keys.extend(quoted_after(source, "\"figure-results-").map(|key| format!("figure-results-{key}")));
        keys.extend(quoted_after(source, "\"figure-scores-").map(|key| format!("figure-scores-{key}")));
        keys.extend(quoted_after(source, "\"certificate-").map(|key| format!("certificate-{key}")));
        keys.extend(quoted_after(source, "\"signal-").map(|key| format!("signal-{key}")));
        keys.extend(quoted_after(source, "\"score-").map(|key| format!("score-{key}")));
    }
    for stem in ["figure-results-caption", "figure-scores-caption"] {
        keys.extend(["low", "high", "low-between", "high-between"].map(|side| format!("{stem}-{side}")));
    }

    assert!(keys.len() > 100, "only {} keys found", keys.len());
    // Stems, completed above, are no keys.
    keys.retain(|key| !key.ends_with("-caption") && !key.contains('{'));
    for key in keys {
        assert!(Words::English.has(&key), "{key} is not in the catalogue");
    }
}

/// What stands between each `start` and the next quotation mark.
fn quoted_after<'a>(source: &'a str, start: &'a str) -> impl Iterator<Item = String> + 'a {
    source.split(start).skip(1).filter_map(|rest| rest.split('"').next()).map(str::to_owned)
}
