//! Reads a round package from standard input and prints its evaluation:
//! `cargo run --release -p roundel-domain --example evaluate-package < package.json`.

use std::io::{self, BufWriter, Read as _, Write as _};

use roundel_domain::evaluation;
use roundel_domain::package::parse;

fn main() -> io::Result<()> {
    let mut text = String::new();
    io::stdin().read_to_string(&mut text)?;
    let package = parse(&text).map_err(|problems| {
        let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
        io::Error::other(lines.join("\n"))
    })?;
    drop(text);
    let mut out = BufWriter::new(io::stdout().lock());
    evaluation::write(&package, "example", &mut out)?;
    out.flush()
}
