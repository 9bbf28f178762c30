//! A large round and a tenth of it: `cargo bench -p roundel-domain`. The
//! command `cargo run --release -p roundel-domain --example large-package`
//! writes the same package as a file.

#[path = "../examples/support/large.rs"]
mod large;

use divan::Bencher;
use roundel_domain::decision::effect;
use roundel_domain::evaluation::evaluate;
use roundel_domain::package::parse;
use roundel_domain::trial::{self, Changes, Sigma};

fn main() {
    divan::main();
}

/// Laboratories and measurands, two replicates each.
const SIZES: [(usize, usize); 3] = [(100, 50), (1000, 50), (1000, 500)];

#[divan::bench(args = SIZES, sample_count = 3, sample_size = 1)]
fn evaluation(bencher: Bencher<'_, '_>, (laboratories, measurands): (usize, usize)) {
    let package = large::package(laboratories, measurands);
    bencher.bench_local(|| evaluate(&package, "roundel bench"));
}

#[divan::bench(args = SIZES, sample_count = 3, sample_size = 1)]
fn hash(bencher: Bencher<'_, '_>, (laboratories, measurands): (usize, usize)) {
    let package = large::package(laboratories, measurands);
    bencher.bench_local(|| package.sha256());
}

#[divan::bench(args = SIZES, sample_count = 3, sample_size = 1)]
fn reading(bencher: Bencher<'_, '_>, (laboratories, measurands): (usize, usize)) {
    let text = large::package(laboratories, measurands).to_json();
    bencher.bench_local(|| parse(&text));
}

#[divan::bench(args = SIZES, sample_count = 3, sample_size = 1)]
fn writing(bencher: Bencher<'_, '_>, (laboratories, measurands): (usize, usize)) {
    let evaluation = evaluate(&large::package(laboratories, measurands), "roundel bench");
    bencher.bench_local(|| evaluation.to_json());
}

/// A trial on all measurands: the copy, its evaluation, and what is different. The
/// goal is 200 ms for 1,000 laboratories and 50 measurands.
#[divan::bench(args = [(100, 50), (1000, 50)], sample_count = 5, sample_size = 1)]
fn trial(bencher: Bencher<'_, '_>, (laboratories, measurands): (usize, usize)) {
    let package = large::package(laboratories, measurands);
    let before = evaluate(&package, "roundel bench");
    let changes = Changes { sigma_pt: Some(Sigma::Percent(30.0)), ..Changes::default() };
    bencher.bench_local(|| effect(&before, &trial::evaluate(&trial::changed(&package, &changes)), &[]));
}
