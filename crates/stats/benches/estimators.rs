//! Estimators against one sort of the same data, which is their floor:
//! `cargo bench -p roundel-stats`. The comparison with R and Python is
//! `benches/compare.sh`.

use divan::Bencher;
use divan::counter::ItemsCount;
use roundel_stats::{Sample, density, quantile, robust};

fn main() {
    divan::main();
}

/// Normal values of mean 100 and standard deviation 10 in an order of their
/// own, three in a hundred of them five standard deviations too high: no
/// random numbers, so the same on every machine.
fn results(count: usize) -> Vec<f64> {
    let golden = 0.618_033_988_749_894_9_f64;
    (0..count)
        .map(|place| {
            let share = ((place as f64 + 0.5) * golden).fract();
            let shifted = if place % 33 == 0 { 50.0 } else { 0.0 };
            100.0 + shifted + 10.0 * quantile::normal(share).expect("between 0 and 1")
        })
        .collect()
}

#[divan::bench(args = [30, 1000, 10_000, 100_000])]
fn sort(bencher: Bencher<'_, '_>, count: usize) {
    let values = results(count);
    bencher.counter(ItemsCount::new(count)).bench_local(|| {
        let mut values = values.clone();
        values.sort_unstable_by(f64::total_cmp);
        values
    });
}

/// From unsorted values: the check and the sort are part of it.
#[divan::bench(args = [30, 1000, 100_000])]
fn algorithm_a(bencher: Bencher<'_, '_>, count: usize) {
    let values = results(count);
    bencher
        .counter(ItemsCount::new(count))
        .bench_local(|| robust::algorithm_a(&Sample::new(values.iter().copied()).expect("finite")));
}

#[divan::bench(args = [30, 1000, 10_000, 100_000])]
fn qn(bencher: Bencher<'_, '_>, count: usize) {
    let values = results(count);
    bencher
        .counter(ItemsCount::new(count))
        .bench_local(|| robust::qn(&Sample::new(values.iter().copied()).expect("finite")));
}

#[divan::bench(args = [30, 1000, 10_000])]
fn sn(bencher: Bencher<'_, '_>, count: usize) {
    let values = results(count);
    bencher
        .counter(ItemsCount::new(count))
        .bench_local(|| robust::sn(&Sample::new(values.iter().copied()).expect("finite")));
}

#[divan::bench(args = [30, 1000, 10_000, 100_000])]
fn q_method(bencher: Bencher<'_, '_>, count: usize) {
    let values = results(count);
    bencher
        .counter(ItemsCount::new(count))
        .bench_local(|| robust::q_method(&Sample::new(values.iter().copied()).expect("finite")));
}

#[divan::bench(args = [30, 1000, 10_000])]
fn q_hampel(bencher: Bencher<'_, '_>, count: usize) {
    let values = results(count);
    bencher
        .counter(ItemsCount::new(count))
        .bench_local(|| robust::q_hampel(&Sample::new(values.iter().copied()).expect("finite")));
}

#[divan::bench(args = [30, 200])]
fn modes(bencher: Bencher<'_, '_>, count: usize) {
    let sample = Sample::new(results(count)).expect("finite");
    bencher.bench_local(|| density::modes(&sample, 7.5));
}

/// Fifty laboratories and more, three replicates each.
#[divan::bench(args = [50, 500, 5000])]
fn q_method_replicates(bencher: Bencher<'_, '_>, laboratories: usize) {
    let values = results(3 * laboratories);
    let cells: Vec<Sample> = values.chunks(3).map(|cell| Sample::new(cell.iter().copied()).expect("finite")).collect();
    bencher.bench_local(|| robust::q_method_replicates(&cells));
}
