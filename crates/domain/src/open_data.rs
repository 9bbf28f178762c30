//! The open data of a published round: what laboratories agreed to, made so that
//! nothing leads back to one of them (F116, D36).
//!
//! Laboratories get fresh codes that are made from a secret seed and stand in their
//! own order. Only those that consented are in it. Answers to the questions on the
//! method are merged or withheld until no combination has fewer than
//! [`FEWEST`] laboratories and none can be worked out by subtraction (`methods`);
//! measurands that fewer reported are left out. Instants are whole days since the
//! round opened. No text that a person typed about a result is in it, and the summary
//! is of the laboratories that are in it, so that nobody else's results can be worked
//! out from it. At the end all of this is looked at once more: what does not hold is
//! refused, and no package is made.

mod methods;
mod tables;

pub use tables::{Column, Kind, TABLES, Table, Value};

use crate::assemble::FEWEST_SHOWN;
use crate::evaluation::RoundEvaluation;
use crate::frozen::Content;
use crate::methods::Answers;
use crate::package::RoundPackage;
use jiff::Timestamp;
use serde_json::{Value as Json, json};
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// The fewest laboratories of a package, of a measurand in it, and of a combination
/// of answers (D36).
pub const FEWEST: usize = FEWEST_SHOWN;

/// The format of the plan in a package.
pub const PLAN_FORMAT: &str = "roundel-open-plan/1";

/// A decision on a result or a measurand, by the words that are stored.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Decided {
    /// Code of the laboratory; none for a decision on a measurand.
    pub code: Option<String>,
    /// Id of the measurand.
    pub measurand: String,
    /// What it is about: `result`, or the topic of a measurand.
    pub topic: &'static str,
    /// What was decided.
    pub kind: &'static str,
    /// What spoke for it; empty for a measurand.
    pub cause: &'static str,
    /// When.
    pub at: Timestamp,
}

/// What a package is made from.
#[derive(Clone, Copy, Debug)]
pub struct Source<'a> {
    /// The published package.
    pub package: &'a RoundPackage,
    /// The published evaluation.
    pub evaluation: &'a RoundEvaluation,
    /// Codes of the laboratories that consented.
    pub consents: &'a BTreeSet<String>,
    /// The closed answers on the method, of all laboratories.
    pub answers: &'a Answers,
    /// What was decided, oldest first.
    pub decisions: &'a [Decided],
    /// What the plan in force says.
    pub plan: &'a Content,
    /// When the round opened, closed for results, and was published.
    pub instants: Instants,
    /// What the fresh codes are made from: secret, and drawn for this package.
    pub seed: [u8; 32],
}

/// The instants of a round of which a package tells the days.
#[derive(Clone, Copy, Debug)]
pub struct Instants {
    /// When it opened: day 0.
    pub opened: Timestamp,
    /// The deadline.
    pub closes: Timestamp,
    /// When its evaluation was published.
    pub published: Timestamp,
}

impl Instants {
    /// Whole days from the opening to `at`, negative before it.
    pub fn day(&self, at: Timestamp) -> i64 {
        (at.as_second() - self.opened.as_second()).div_euclid(24 * 3600)
    }
}

/// What was left out, as its page says it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LeftOut {
    /// Laboratories with results and without consent, where they are [`FEWEST`] or
    /// more: a smaller number is not told.
    pub laboratories: Option<usize>,
    /// Ids of measurands that fewer than [`FEWEST`] of the laboratories reported.
    pub measurands: Vec<String>,
    /// Answers that few gave and that stand as `other`: question and answer.
    pub merged: Vec<(String, String)>,
    /// Laboratories whose answers are withheld.
    pub withheld: usize,
}

/// A package.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenData {
    /// How many laboratories are in it.
    pub laboratories: usize,
    /// Its tables, in the order of [`TABLES`].
    pub tables: Vec<Table>,
    /// The plan without names and without what a person wrote in sentences, as
    /// indented JSON with a line break at the end.
    pub plan: String,
    /// What is not in it.
    pub left_out: LeftOut,
}

/// Why there is no package.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refused {
    /// Fewer than [`FEWEST`] laboratories that reported consented, or no measurand
    /// is left.
    #[error("fewer than five laboratories consented")]
    Few,
    /// A combination of answers, or a measurand, has fewer laboratories than
    /// [`FEWEST`] at the end.
    #[error("a group of fewer than five laboratories is left")]
    SmallGroup,
    /// A code of the round stands somewhere.
    #[error("a code of the round is left")]
    Code,
}

/// Makes the package. The same source gives the same package, whatever the order of
/// its results.
///
/// # Errors
///
/// [`Refused`], and nothing else leaves this function then.
pub fn build(source: &Source<'_>) -> Result<OpenData, Refused> {
    let reported: BTreeSet<&str> = source.package.results.iter().map(|result| result.participant.as_str()).collect();
    let agreed: BTreeSet<&str> = reported.iter().copied().filter(|code| source.consents.contains(*code)).collect();
    if agreed.len() < FEWEST {
        return Err(Refused::Few);
    }
    let mut counts: HashMap<&str, usize> = HashMap::new();
    for result in source.package.results.iter().filter(|result| agreed.contains(result.participant.as_str())) {
        *counts.entry(&result.measurand).or_default() += 1;
    }
    let enough = |id: &str| counts.get(id).copied().unwrap_or(0) >= FEWEST;
    let in_it = |code: &str, id: &str| agreed.contains(code) && enough(id);
    let kept: BTreeSet<&str> = source
        .package
        .results
        .iter()
        .filter(|result| in_it(&result.participant, &result.measurand))
        .map(|result| result.participant.as_str())
        .collect();
    if kept.len() < FEWEST {
        return Err(Refused::Few);
    }
    let names = fresh_codes(&source.seed, &reported, &kept);
    let answers = methods::anonymous(&reported, &kept, source.answers);
    let mut package = RoundPackage {
        round: source.package.round.clone(),
        measurands: source.package.measurands.iter().filter(|m| enough(&m.id)).cloned().collect(),
        results: Vec::new(),
    };
    for result in source.package.results.iter().filter(|result| in_it(&result.participant, &result.measurand)) {
        let mut own = result.clone();
        own.participant.clone_from(&names[result.participant.as_str()]);
        package.results.push(own);
    }
    let without = reported.len() - kept.len();
    let data = OpenData {
        laboratories: kept.len(),
        tables: tables::of(source, &package, &names, &answers),
        plan: plan(source),
        left_out: LeftOut {
            laboratories: (without >= FEWEST).then_some(without),
            measurands: source.package.measurands.iter().map(|m| m.id.clone()).filter(|id| !enough(id)).collect(),
            merged: answers.merged,
            withheld: answers.withheld,
        },
    };
    checked(data, &reported, source.consents)
}

/// A fresh code for each laboratory of the package. It tells nothing of the code in
/// the round to whoever has not the seed, and neither does the order.
fn fresh_codes(seed: &[u8; 32], reported: &BTreeSet<&str>, kept: &BTreeSet<&str>) -> BTreeMap<String, String> {
    let mut taken = BTreeSet::new();
    let mut names = BTreeMap::new();
    for code in kept {
        let drawn = (0_u32..).map(|attempt| {
            let mut hash = Sha256::new();
            hash.update(b"roundel open data code");
            hash.update(seed);
            hash.update(attempt.to_be_bytes());
            hash.update(code.as_bytes());
            format!("lab-{}", hex::encode(&hash.finalize()[..5]))
        });
        // Twice the same, or by chance a code of the round inside: drawn again.
        let usable = |new: &String| !taken.contains(new) && !reported.iter().any(|old| new.contains(*old));
        let new = drawn.into_iter().find(usable).unwrap_or_default();
        taken.insert(new.clone());
        names.insert((*code).to_owned(), new);
    }
    names
}

/// The plan in force, without the provider, title, instructions, checklist and
/// reasons: what a person wrote in sentences is not open data.
fn plan(source: &Source<'_>) -> String {
    let content = source.plan;
    let mut measurands = serde_json::to_value(&content.measurands).unwrap_or_default();
    for measurand in measurands.as_array_mut().into_iter().flatten() {
        if let Some(limits) = measurand.pointer_mut("/plan/limits").and_then(Json::as_object_mut) {
            limits.remove("reason");
        }
    }
    let plan = json!({
        "format": PLAN_FORMAT,
        "deadline_day": source.instants.day(source.instants.closes),
        "published_day": source.instants.day(source.instants.published),
        "items": content.items,
        "measurands": measurands,
        "asks": content.asks,
        "rules": content.rules,
    });
    let mut text = serde_json::to_string_pretty(&plan).unwrap_or_default();
    text.push('\n');
    text
}

/// The package, if it keeps to what it promises, looked at from its own tables.
fn checked(data: OpenData, reported: &BTreeSet<&str>, consents: &BTreeSet<String>) -> Result<OpenData, Refused> {
    let mut combinations: BTreeMap<String, usize> = BTreeMap::new();
    let mut measurands: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for table in &data.tables {
        for row in &table.rows {
            let texts: Vec<&str> = row.iter().map(Value::text).collect();
            let known = |code: &str| texts.iter().any(|text| text.contains(code));
            if reported.iter().any(|code| known(code)) || consents.iter().any(|code| known(code)) {
                return Err(Refused::Code);
            }
            match table.name {
                "laboratories" => *combinations.entry(texts[1..].join("\n")).or_default() += 1,
                "results" => {
                    let laboratories = measurands.entry(texts[1..3].join("\n")).or_default();
                    laboratories.insert(texts[0].to_owned());
                }
                _ => {}
            }
        }
    }
    if reported.iter().any(|code| data.plan.contains(code)) {
        return Err(Refused::Code);
    }
    let small = combinations.values().any(|count| *count < FEWEST)
        || measurands.values().any(|laboratories| laboratories.len() < FEWEST);
    if small || combinations.is_empty() { Err(Refused::SmallGroup) } else { Ok(data) }
}

/// The seed of a release, from its stored text: 64 hexadecimal digits.
///
/// ```
/// use roundel_domain::open_data::seed;
///
/// assert_eq!(seed(&"0a".repeat(32)), Some([10; 32]));
/// assert_eq!(seed("0a"), None);
/// ```
pub fn seed(text: &str) -> Option<[u8; 32]> {
    hex::decode(text).ok()?.try_into().ok()
}

/// Under which terms a package is released.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Licence {
    /// Creative Commons Attribution 4.0 International.
    CcBy,
    /// Creative Commons Zero 1.0 Universal.
    Cc0,
}

impl Licence {
    /// All, in the order of the form.
    pub const ALL: [Licence; 2] = [Licence::CcBy, Licence::Cc0];

    /// The word that is stored and posted.
    pub fn word(self) -> &'static str {
        match self {
            Licence::CcBy => "cc-by",
            Licence::Cc0 => "cc0",
        }
    }

    /// The licence of this word.
    pub fn of(word: &str) -> Option<Licence> {
        Licence::ALL.into_iter().find(|licence| licence.word() == word)
    }

    /// Its name in lists of licences (SPDX).
    pub fn identifier(self) -> &'static str {
        match self {
            Licence::CcBy => "CC-BY-4.0",
            Licence::Cc0 => "CC0-1.0",
        }
    }

    /// Where its text is.
    pub fn address(self) -> &'static str {
        match self {
            Licence::CcBy => "https://creativecommons.org/licenses/by/4.0/legalcode",
            Licence::Cc0 => "https://creativecommons.org/publicdomain/zero/1.0/legalcode",
        }
    }
}
