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

/// The messages of all files of a language.
fn all_of(language: &Path) -> Result<BTreeMap<String, Message>, Box<dyn Error>> {
    let mut all = BTreeMap::new();
    for entry in std::fs::read_dir(language)? {
        all.extend(messages(&std::fs::read_to_string(entry?.path())?));
    }
    Ok(all)
}

#[test]
fn the_languages_have_the_same_keys_and_variables() -> Test {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("messages");
    let (english, german) = (all_of(&folder.join("en"))?, all_of(&folder.join("de"))?);
    // What documents say stands in both languages; a file there has its pair.
    for entry in std::fs::read_dir(folder.join("de"))? {
        let pair = folder.join("en").join(entry?.file_name());
        for key in messages(&std::fs::read_to_string(&pair)?).keys() {
            assert!(german.contains_key(key), "{key} of {} is not said in German", pair.display());
        }
    }
    for (key, variables) in &german {
        let original = english.get(key).ok_or_else(|| format!("{key} stands only in German"))?;
        assert_eq!(variables, original, "variables of {key}");
    }
    assert!(german.len() > 150, "only {} texts compared", german.len());
    Ok(())
}
