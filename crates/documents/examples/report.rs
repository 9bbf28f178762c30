//! How long the report of a large round takes, and how much memory at its peak:
//!
//!     cargo run --release -p roundel-documents --example report -- 40 72 [FILE]
//!
//! Beside it, in the same run, what can be left out of it: the texts, tables and
//! figures alone without setting them, and the same report with empty figures.

#[path = "../tests/fixtures/mod.rs"]
mod fixtures;
#[path = "../tests/fixtures/report.rs"]
mod reports;

use roundel_documents::report::{Medium, content, render};
use roundel_documents::words::Words;
use std::time::Instant;

/// The most memory that the process had so far, in MiB; none where the system does not
/// say.
fn peak() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.split_whitespace().next()?.parse::<u64>().ok().map(|kib| kib / 1024)
}

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let laboratories = arguments.next().map_or(Ok(40), |text| text.parse())?;
    let measurands = arguments.next().map_or(Ok(72), |text| text.parse())?;
    let file = arguments.next();
    let report = reports::report(laboratories, measurands);
    let mut bare = report.clone();
    for row in bare.measurands.iter_mut().flat_map(|measurand| &mut measurand.results) {
        (row.value, row.below, row.score) = (None, None, None);
    }

    let started = Instant::now();
    let parts = content(&report, &Words::English, Medium::Document, None);
    let sections = parts.sections.len();
    eprintln!("parts alone ({sections} sections): {} ms", started.elapsed().as_millis());
    let started = Instant::now();
    let pdf = render(&bare, &Words::English, None)?;
    eprintln!("with empty figures: {} ms, {} KiB", started.elapsed().as_millis(), pdf.len() / 1024);
    for run in ["cold", "warm"] {
        let started = Instant::now();
        let pdf = render(&report, &Words::English, None)?;
        eprintln!(
            "{laboratories} laboratories, {measurands} measurands, {run}: {} ms, {} KiB, peak {} MiB",
            started.elapsed().as_millis(),
            pdf.len() / 1024,
            peak().unwrap_or_default()
        );
        if let Some(file) = &file {
            std::fs::write(file, &pdf)?;
        }
    }
    Ok(())
}
