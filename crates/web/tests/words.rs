//! Every key of a text that pages and actions name stands in the catalogue.

use roundel_documents::words::Words;
use std::collections::BTreeSet;
use std::path::Path;

/// The text literals that follow one of `marks`.
fn keys_after(source: &str, marks: &[&str], keys: &mut BTreeSet<String>) {
    for mark in marks {
        for (at, _) in source.match_indices(mark) {
            let rest = source[at + mark.len()..].trim_start();
            if let Some(key) = rest.strip_prefix('"').and_then(|rest| rest.split('"').next())
                && !key.is_empty()
                && key.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-')
            {
                keys.insert(key.to_owned());
            }
        }
    }
}

fn sources(folder: &Path, ending: &str, found: &mut Vec<String>) {
    for entry in std::fs::read_dir(folder).expect("a folder of the tree") {
        let path = entry.expect("a file of the tree").path();
        if path.is_dir() {
            sources(&path, ending, found);
        } else if path.extension().is_some_and(|e| e == ending) {
            found.push(std::fs::read_to_string(path).expect("a text"));
        }
    }
}

#[test]
fn every_text_that_is_named_exists() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut pages = Vec::new();
    sources(&root.join("../../templates"), "html", &mut pages);
    let mut code = Vec::new();
    sources(&root.join("src"), "rs", &mut code);
    let mut keys = BTreeSet::new();
    for page in &pages {
        keys_after(page, &["f.t(", "f.t1(", "f.t2(", "f.t3("], &mut keys);
    }
    for file in &code {
        keys_after(
            file,
            &["f.t(", "f.t1(", "f.t2(", "f.t3(", "words.t(", "words.with(", "Error::conflict(", "Problem::new("],
            &mut keys,
        );
        for line in file.lines().filter(|line| line.contains("go(")) {
            if let Some(word) = line.rsplit(", \"").next().and_then(|rest| rest.split('"').next())
                && line.trim_end().ends_with("\"))")
                && !word.is_empty()
            {
                keys.insert(format!("done-{word}"));
            }
        }
    }
    let missing: Vec<&String> = keys.iter().filter(|key| !Words::English.has(key)).collect();

    assert!(keys.len() > 300, "the search found only {} keys", keys.len());
    assert!(missing.is_empty(), "no text for {missing:?}");
}
