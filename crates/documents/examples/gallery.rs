//! Writes figures and certificates of invented data into a folder, to be looked at.
//!
//!     cargo run -p roundel-documents --example gallery -- FOLDER

#[path = "../tests/fixtures/mod.rs"]
mod fixtures;

use roundel_documents::certificate::{Certificate, Status, render};
use roundel_documents::figure::{Audience, NARROW, own_scores, results, scores};
use roundel_documents::words::Words;
use std::path::PathBuf;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = PathBuf::from(std::env::args().nth(1).ok_or("name a folder")?);
    std::fs::create_dir_all(&folder)?;
    for (name, svg) in figures(&Words::English) {
        std::fs::write(folder.join(format!("{name}.svg")), svg)?;
    }
    for (name, certificate) in certificates() {
        let started = std::time::Instant::now();
        std::fs::write(folder.join(format!("{name}.pdf")), render(&certificate, &Words::English)?)?;
        eprintln!("{name}: {} ms", started.elapsed().as_millis());
    }
    Ok(())
}

fn certificates() -> Vec<(&'static str, Certificate)> {
    let mut preliminary = fixtures::certificate(8, 2);
    preliminary.status = Status::Preliminary;
    preliminary.late = true;
    preliminary.laboratory.name = None;
    preliminary.laboratory.site = None;
    let mut registration = fixtures::certificate(0, 0);
    registration.registration = true;
    vec![
        ("certificate-1", fixtures::certificate(1, 1)),
        ("certificate-24-3", fixtures::certificate(24, 3)),
        ("certificate-60-5", fixtures::certificate(60, 5)),
        ("certificate-90", fixtures::certificate(90, 1)),
        ("certificate-preliminary", preliminary),
        ("certificate-registration", registration),
    ]
}

fn figures(words: &Words) -> Vec<(String, String)> {
    let mut all = Vec::new();
    for count in [1, 2, 8, 38, 400] {
        let figure = fixtures::results(count, Audience::Laboratory);
        all.push((format!("results-{count}"), results::render(&figure, words)));
    }
    for audience in [Audience::Laboratory, Audience::Organiser] {
        let mut figure = fixtures::difficult_results(audience);
        all.push((format!("results-difficult-{audience:?}"), results::render(&figure, words)));
        figure.width = NARROW;
        all.push((format!("results-difficult-narrow-{audience:?}"), results::render(&figure, words)));
        let mut figure = fixtures::difficult_scores(audience);
        all.push((format!("scores-difficult-{audience:?}"), scores::render(&figure, words)));
        figure.width = NARROW;
        all.push((format!("scores-difficult-narrow-{audience:?}"), scores::render(&figure, words)));
    }
    all.push((
        "results-400-organiser".to_owned(),
        results::render(&fixtures::results(400, Audience::Organiser), words),
    ));
    all.push(("scores-400-organiser".to_owned(), scores::render(&fixtures::scores(400, Audience::Organiser), words)));
    for count in [3, 12, 38] {
        let figure = fixtures::scores(count, Audience::Laboratory);
        all.push((format!("scores-{count}"), scores::render(&figure, words)));
        all.push((format!("small-{count}"), scores::render_small(&figure, words)));
    }
    all.push((
        "small-difficult".to_owned(),
        scores::render_small(&fixtures::difficult_scores(Audience::Laboratory), words),
    ));
    for (analytes, items) in [(1, 1), (8, 1), (24, 1), (24, 3), (80, 1), (16, 5)] {
        let mut figure = fixtures::own_scores(analytes, items);
        all.push((format!("own-{analytes}-{items}"), own_scores::render(&figure, words)));
        figure.width = NARROW;
        all.push((format!("own-{analytes}-{items}-narrow"), own_scores::render(&figure, words)));
    }
    all
}
