//! How long certificates take, and how much memory: `cargo bench --workspace --bench
//! certificate`. Each line is measured in the same run as the alternative that it is
//! read against.
#![allow(missing_docs, clippy::print_stdout)]

#[path = "../tests/fixtures/mod.rs"]
mod fixtures;

use roundel_documents::certificate::{Certificate, render};
use roundel_documents::words::Words;
use std::time::{Duration, Instant};

/// Analytes and items: the size of the first round of the demonstration.
const SIZE: (usize, usize) = (24, 3);

fn one(certificate: &Certificate) -> (Duration, usize) {
    let begin = Instant::now();
    let pdf = render(certificate, &Words::English).expect("a certificate");
    (begin.elapsed(), pdf.len())
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort_unstable();
    times[times.len() / 2]
}

/// The most memory that the process has had, in kB, as the system counts it.
fn peak() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmHWM:"));
    line.map_or("unknown".to_owned(), |line| line.trim_start_matches("VmHWM:").trim().to_owned())
}

fn main() {
    // `cargo test --benches` only asks whether it runs.
    let measured = std::env::args().any(|argument| argument == "--bench");
    let (runs, many) = if measured { (20, 300) } else { (1, 2) };
    let certificate = fixtures::certificate(SIZE.0, SIZE.1);
    let (cold, bytes) = one(&certificate);
    println!("first one, fonts and library read: {cold:.1?} ({bytes} bytes)");
    let warm = median((0..runs).map(|_| one(&certificate).0).collect());
    println!("warm, median of {runs}: {warm:.1?}");
    // The alternative to one large table: the same without figures.
    let mut plain = certificate.clone();
    plain.figures.clear();
    let without = median((0..runs).map(|_| one(&plain).0).collect());
    println!("warm, without the figure: {without:.1?}");
    let mut bare = plain.clone();
    bare.proof = None;
    bare.attachment = None;
    let unsigned = median((0..runs).map(|_| one(&bare).0).collect());
    println!("warm, without figure, code and attachment: {unsigned:.1?}");
    for threads in [1, 2] {
        let begin = Instant::now();
        std::thread::scope(|scope| {
            for thread in 0..threads {
                let certificate = &certificate;
                scope.spawn(move || {
                    for number in (thread..many).step_by(threads) {
                        let mut own = certificate.clone();
                        own.number = format!("QW-1-{number:05}");
                        one(&own);
                    }
                });
            }
        });
        println!("{many} certificates on {threads} threads: {:.1?}", begin.elapsed());
    }
    println!("peak memory: {}", peak());
}
