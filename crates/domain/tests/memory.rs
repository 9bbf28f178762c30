//! How much memory reading and evaluating take, by an allocator that keeps
//! the peak: a binary of its own with one test, as it counts whatever runs.

#![expect(clippy::unwrap_used, reason = "helpers of tests may fail loudly")]

#[path = "../examples/support/large.rs"]
mod large;

use peak_alloc::PeakAlloc;
use roundel_domain::{evaluation, package};
use roundel_stats::random::Random;

#[global_allocator]
static MEMORY: PeakAlloc = PeakAlloc;

/// What does not grow with the document: ten thousand problems at most.
const FIXED: usize = 4_000_000;

/// The most that `work` has allocated at once beyond what was there before.
fn peak<T>(work: impl FnOnce() -> T) -> usize {
    let before = MEMORY.current_usage();
    MEMORY.reset_peak_usage();
    let kept = work();
    let peak = MEMORY.peak_usage() - before;
    drop(kept);
    peak
}

#[test]
fn memory_stays_within_bounds() {
    a_large_package_is_evaluated_in_three_times_its_size();
    hostile_documents_are_refused_in_a_few_times_their_size();
    damaged_documents_take_a_few_times_their_size();
}

fn a_large_package_is_evaluated_in_three_times_its_size() {
    // Sizes at which a doubled list would be nearly empty, and nearly full.
    for measurands in [9, 16] {
        let written = large::package(1000, measurands).to_json();
        let length = written.len();

        let used = peak(|| {
            let text = written.clone();
            let parsed = package::parse(&text).unwrap();
            drop(text);
            evaluation::write(&parsed, "roundel test", std::io::sink()).unwrap();
        });

        assert!(used <= 3 * length, "{measurands}: {used} for {length}: {:.2}", used as f64 / length as f64);
    }
}

fn hostile_documents_are_refused_in_a_few_times_their_size() {
    let many = 200_000;
    let in_results = |item: &str| format!("{{\"results\":[{}]}}", vec![item; many].join(","));
    let result = r#"{"participant":"P","measurand":"m","below":1}"#;
    // The factor of the text that each may take: what can be kept, such as a
    // list of one-letter codes, is larger in memory than as text.
    let hostile = [
        ("brackets", "[".repeat(many), 1),
        ("closed brackets", format!("{}{}", "[".repeat(many), "]".repeat(many)), 1),
        ("deep objects", format!("{}1{}", "{\"a\":".repeat(many), "}".repeat(many)), 1),
        ("depth in a field", format!("{{\"format\":{}{}}}", "[".repeat(many), "]".repeat(many)), 1),
        ("numbers in place of results", in_results("1"), 1),
        ("empty results", in_results("{}"), 1),
        ("numbers beyond a double", in_results("1e999"), 1),
        ("equal results", in_results(result), 6),
        ("duplicate keys", format!("{{{}}}", vec!["\"round\":1"; many].join(",")), 1),
        ("unknown keys", format!("{{{}}}", vec!["\"a\":1"; many].join(",")), 1),
        ("a long key", format!("{{\"{}\":0}}", "/~".repeat(many)), 6),
        ("a long text", format!("{{\"format\":\"{}\"}}", "x".repeat(many)), 2),
        ("a long escaped text", format!("{{\"format\":\"{}\"}}", "\\u0001".repeat(many)), 2),
        ("a long number", format!("{{\"format\":{}}}", "9".repeat(many)), 1),
        ("one-letter codes", format!("{{\"round\":{{\"omitted\":[{}]}}}}", vec!["\"a\""; many].join(",")), 12),
        ("many values", in_results(&format!("{{\"values\":[{}]}}", "1,".repeat(9) + "1")), 1),
        ("one list of values", format!("{{\"results\":[{{\"values\":[{}]}}]}}", vec!["1"; many].join(",")), 10),
    ];

    for (name, text, factor) in hostile {
        let used = peak(|| package::parse(&text).unwrap_err());

        let bound = factor * text.len() + FIXED;
        assert!(used <= bound, "{name}: {used} for {} bytes, expected {bound}", text.len());
    }
}

/// Bytes put into a package at random, from one seed.
fn damaged_documents_take_a_few_times_their_size() {
    let written = large::package(20, 5).to_json();
    let mut random = Random::new(13_528);
    for round in 0..150 {
        let mut bytes = written.clone().into_bytes();
        for _ in 0..=random.place(6) {
            let place = random.place(bytes.len());
            let piece = [b'[', b']', b'{', b'}', b'"', b',', b'9', b'\\', b'e', random.bits() as u8];
            let count = if random.place(9) == 0 { 5000 } else { 1 + random.place(3) };
            let put: Vec<u8> = std::iter::repeat_n(piece[random.place(piece.len())], count).collect();
            bytes.splice(place..place, put);
        }
        let text = String::from_utf8_lossy(&bytes);

        let used = peak(|| package::parse(&text));

        assert!(used <= 6 * text.len(), "{round}: {used} for {} bytes", text.len());
    }
}
