//! Writes the committed JSON Schemas from the types:
//! `cargo run -p roundel-domain --example schemas`.

use std::path::Path;

use roundel_domain::schema;

fn main() -> std::io::Result<()> {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    for (file, schema) in [
        ("package/round-package.schema.json", schema::package()),
        ("evaluation/round-evaluation.schema.json", schema::evaluation()),
        ("evaluation/precision/precision.schema.json", schema::precision()),
    ] {
        let text = serde_json::to_string_pretty(&schema).map_err(std::io::Error::other)?;
        std::fs::write(source.join(file), text + "\n")?;
    }
    Ok(())
}
