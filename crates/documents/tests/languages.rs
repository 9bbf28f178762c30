//! The catalogues of the languages say the same things.

use std::collections::{BTreeMap, BTreeSet};
use std::error::Error;
use std::path::Path;

type Test = Result<(), Box<dyn Error>>;

/// What a message names: its variables, and whether it has plural forms.
type Message = BTreeSet<String>;

/// The messages of a file by key. A message goes on until the next line that
/// begins with a key.
fn messages(source: &str) -> BTreeMap<String, Message> {
    let mut found: BTreeMap<String, Message> = BTreeMap::new();
    let mut key = String::new();
    for line in source.lines().filter(|line| !line.starts_with('#')) {
        if let Some((name, _)) = line.split_once(" = ")
            && !line.starts_with(' ')
        {
            key = name.to_owned();
            found.entry(key.clone()).or_default();
        }
        let variables = line.split('$').skip(1).map(|rest| {
            rest.chars().take_while(|letter| letter.is_ascii_alphanumeric() || *letter == '_').collect::<String>()
        });
        if let Some(message) = found.get_mut(&key) {
            message.extend(variables);
        }
    }
    found
}

#[test]
fn every_german_file_has_the_keys_and_variables_of_the_english_one() -> Test {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("messages");
    let mut seen = 0;
    for entry in std::fs::read_dir(folder.join("de"))? {
        let path = entry?.path();
        let name = path.file_name().ok_or("a file has a name")?;
        let german = messages(&std::fs::read_to_string(&path)?);
        let english = messages(&std::fs::read_to_string(folder.join("en").join(name))?);
        let keys = |of: &BTreeMap<String, Message>| of.keys().cloned().collect::<BTreeSet<_>>();
        assert_eq!(keys(&german), keys(&english), "keys of {}", path.display());
        for (key, variables) in &english {
            assert!(german[key].is_subset(variables), "{key} names a variable that nobody fills in");
            let missing: Vec<&String> = variables.difference(&german[key]).collect();
            assert!(missing.is_empty(), "{key} leaves out {missing:?}");
        }
        seen += english.len();
    }
    assert!(seen > 150, "only {seen} texts compared");
    Ok(())
}
