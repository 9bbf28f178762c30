//! How long certificates take, and how much memory: `cargo bench --workspace --bench
//! certificate`. Each line is measured in the same run as the alternative that it is
//! read against. No certificate is made twice: each is of another laboratory of the
//! same round.
#![allow(missing_docs, clippy::print_stdout)]

#[path = "../tests/fixtures/mod.rs"]
mod fixtures;

use fixtures::Dice;
use roundel_documents::Score;
use roundel_documents::certificate::{Certificate, Counts, render};
use roundel_documents::words::Words;
use std::time::{Duration, Instant};

/// Analytes and items: the size of the first round of the demonstration.
const SIZE: (usize, usize) = (24, 3);

/// The certificate of another laboratory: what is the round's stays, what is the
/// laboratory's is drawn anew.
fn of_laboratory(round: &Certificate, number: usize) -> Certificate {
    let mut own = round.clone();
    let mut dice = Dice::new(number as u64);
    own.laboratory.code = dice.code();
    own.number = format!("{}-{}", own.round, own.laboratory.code);
    for (table, group) in own.tables.iter_mut().zip(&mut own.figures[0].groups) {
        for (row, drawn) in table.rows.iter_mut().zip(&mut group.scores) {
            let (Some(score), Some(assigned), Some(sigma)) = (&mut row.score, row.assigned_value, row.sigma_pt) else {
                continue;
            };
            score.value = dice.normal();
            let value = assigned + score.value * sigma;
            row.reported = roundel_documents::number::significant(value, 3);
            row.difference_percent = Some(100.0 * (value / assigned - 1.0));
            row.mark = fixtures::class(score.value);
            drawn.mark = row.mark;
            drawn.score = if score.bound { Score::Below(score.value) } else { Score::Value(score.value) };
        }
    }
    own.counts = Counts::of(&own.tables);
    own
}

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
    let round = fixtures::certificate(SIZE.0, SIZE.1);
    let (cold, bytes) = one(&round);
    println!("first one, fonts and library read: {cold:.1?} ({bytes} bytes)");
    let warm = |change: fn(&mut Certificate)| {
        median(
            (0..runs)
                .map(|number| {
                    let mut own = of_laboratory(&round, number);
                    change(&mut own);
                    one(&own).0
                })
                .collect(),
        )
    };
    println!("warm, median of {runs}: {:.1?}", warm(|_| {}));
    println!("warm, without the figure: {:.1?}", warm(|own| own.figures.clear()));
    // The alternative to the tables: the same without them.
    println!("warm, without the tables: {:.1?}", warm(|own| own.tables.clear()));
    let unsigned = warm(|own| {
        own.proof = None;
        own.attachment = None;
    });
    println!("warm, without code and attachment: {unsigned:.1?}");
    for threads in [1, 2] {
        let begin = Instant::now();
        std::thread::scope(|scope| {
            for thread in 0..threads {
                let round = &round;
                scope.spawn(move || {
                    for number in (thread..many).step_by(threads) {
                        one(&of_laboratory(round, number));
                    }
                });
            }
        });
        println!("{many} certificates on {threads} threads: {:.1?}", begin.elapsed());
    }
    println!("peak memory: {}", peak());
}
