//! Every kind of document against PDF/A-3a (ISO 19005-3) and PDF/UA-1 (ISO
//! 14289-1), by the validator of the PDF Association's industry group, which knows
//! nothing of how the documents are made.

#[allow(clippy::unwrap_used, reason = "in a test, what cannot go on has failed")]
mod fixtures;
#[allow(clippy::unwrap_used, reason = "in a test, what cannot go on has failed")]
#[path = "fixtures/report.rs"]
mod reports;

use roundel_documents::certificate;
use roundel_documents::report;
use roundel_documents::words::Words;
use std::collections::BTreeMap;
use std::error::Error;
use std::path::Path;
use std::process::Command;

type Test = Result<(), Box<dyn Error>>;

/// Where the validator's classes are, as a Java class path; `bash tests/run` sets it.
const CLASSES: &str = "ROUNDEL_TEST_PDF_CLASSES";

/// The verdicts of the validator, by file and standard; none where it is not here.
fn verdicts(files: &BTreeMap<String, Vec<u8>>) -> Result<Option<Vec<String>>, Box<dyn Error>> {
    let Some(classes) = std::env::var_os(CLASSES) else {
        assert!(std::env::var_os("ROUNDEL_TEST_ALL").is_none(), "{CLASSES} is not set");
        let _ = std::io::Write::write_all(&mut std::io::stderr(), b"left out: no validator of PDF/A and PDF/UA\n");
        return Ok(None);
    };
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("conformance");
    std::fs::create_dir_all(&folder)?;
    for (name, bytes) in files {
        std::fs::write(folder.join(name), bytes)?;
    }
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/conformance/Conformance.java");
    let output = Command::new("java")
        .arg("-cp")
        .arg(classes)
        .arg(source)
        .args(files.keys().map(|name| folder.join(name)))
        .output()?;
    let text = String::from_utf8(output.stdout)?;
    let lines: Vec<String> = text.lines().filter(|line| line.contains('\t')).map(str::to_owned).collect();
    assert_eq!(lines.len(), files.len() * 2, "{text}{}", String::from_utf8_lossy(&output.stderr));
    Ok(Some(lines))
}

#[test]
fn every_document_meets_pdf_a_and_pdf_ua() -> Test {
    let mut files = BTreeMap::new();
    for words in [Words::English, Words::German] {
        for (name, rows, items) in [("certificate", 24, 3), ("registration", 0, 1)] {
            let language = words.tag().to_owned();
            let certificate = certificate::Certificate {
                language,
                registration: rows == 0,
                ..fixtures::certificate(rows.max(1), items)
            };
            files.insert(format!("{name}-{}.pdf", words.tag()), certificate::render(&certificate, &words)?);
        }
    }
    let Some(lines) = verdicts(&files)? else { return Ok(()) };

    let broken: Vec<&String> = lines.iter().filter(|line| !line.contains("\tgood\t")).collect();

    assert!(broken.is_empty(), "{broken:#?}");
    Ok(())
}

#[test]
fn a_document_without_its_language_is_found_broken() -> Test {
    let mut bytes = certificate::render(&fixtures::certificate(1, 1), &Words::English)?;
    let place = bytes.windows(6).position(|window| window == b"/Lang(").ok_or("a document names its language")?;
    bytes[place + 1..place + 5].copy_from_slice(b"Gnal");
    let Some(lines) = verdicts(&BTreeMap::from([("no-language.pdf".to_owned(), bytes)]))? else { return Ok(()) };

    assert!(lines.iter().any(|line| line.contains("\tbroken\t")), "{lines:#?}");
    Ok(())
}

#[test]
fn reports_meet_pdf_a_and_pdf_ua_also_with_a_watermark() -> Test {
    let mut files = BTreeMap::new();
    for words in [Words::English, Words::German] {
        for (name, superseded_by) in [("report", None), ("report-superseded", Some(2))] {
            let pdf = report::render(&reports::report(8, 3), &words, superseded_by)?;
            files.insert(format!("{name}-{}.pdf", words.tag()), pdf);
        }
    }
    let Some(lines) = verdicts(&files)? else { return Ok(()) };

    let broken: Vec<&String> = lines.iter().filter(|line| !line.contains("\tgood\t")).collect();

    assert!(broken.is_empty(), "{broken:#?}");
    Ok(())
}
