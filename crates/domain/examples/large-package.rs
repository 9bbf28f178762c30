//! Writes a large round package to standard output, to measure with:
//! `cargo run --release -p roundel-domain --example large-package -- 1000 500`.

#[path = "support/large.rs"]
mod large;

use std::io::Write as _;

fn main() -> std::io::Result<()> {
    let sizes: Vec<usize> = std::env::args().skip(1).filter_map(|word| word.parse().ok()).collect();
    let [laboratories, measurands] = sizes[..] else {
        return Err(std::io::Error::other("two numbers are expected: laboratories and measurands"));
    };
    std::io::stdout().write_all(large::package(laboratories, measurands).to_json().as_bytes())
}
