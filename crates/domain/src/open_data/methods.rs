//! Answers to the questions on the method, made so that each combination is that of
//! many.

use super::FEWEST;
use crate::methods::Answers;
use std::collections::{BTreeMap, BTreeSet};

/// The questions, in the order of the columns.
pub(super) const QUESTIONS: [&str; 5] = ["enrichment", "separation", "detection", "calibration", "standard"];

/// What few answered.
const OTHER: &str = "other";
/// What was not answered.
const NOT_STATED: &str = "not_stated";
/// What is not told.
const WITHHELD: &str = "withheld";

type Combination = [String; QUESTIONS.len()];

/// The answers of the laboratories of a package.
pub(super) struct Anonymous {
    /// By code in the round.
    pub(super) of: BTreeMap<String, Combination>,
    /// Answers that stand as `other`, by question.
    pub(super) merged: Vec<(String, String)>,
    /// How many laboratories' answers are withheld.
    pub(super) withheld: usize,
}

/// An answer as it may be printed: the closed answers are such words.
fn word(answer: Option<&String>) -> String {
    let closed = |text: &str| text.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_');
    match answer {
        None => NOT_STATED.to_owned(),
        Some(text) if text.is_empty() => NOT_STATED.to_owned(),
        Some(text) if closed(text) => text.clone(),
        Some(_) => OTHER.to_owned(),
    }
}

/// The answers of the laboratories `kept` of all that `reported`.
///
/// First, of each question: answers that fewer than [`FEWEST`] of the kept gave become
/// `other`, and as long as that is fewer too, the smallest of the rest joins them.
/// Then, of whole combinations: one is withheld where it has fewer than [`FEWEST`]
/// laboratories, or where so few others of the round gave the same answers that the
/// tables of the round less this package would show them. What is withheld together
/// must itself be of [`FEWEST`] or more, and not one combination alone that could be
/// named by elimination; until then the smallest of the rest joins it.
pub(super) fn anonymous(reported: &BTreeSet<&str>, kept: &BTreeSet<&str>, answers: &Answers) -> Anonymous {
    let mut all: BTreeMap<&str, Combination> = reported
        .iter()
        .map(|code| {
            let own = answers.get(*code);
            (*code, QUESTIONS.map(|question| word(own.and_then(|own| own.get(question)))))
        })
        .collect();
    let mut merged = Vec::new();
    for (place, question) in QUESTIONS.iter().enumerate() {
        let rare = rare(kept.iter().map(|code| all[code][place].as_str()));
        for combination in all.values_mut() {
            let answer = &mut combination[place];
            if !rare.kept.contains(answer) {
                OTHER.clone_into(answer);
            }
        }
        merged.extend(rare.merged.into_iter().map(|answer| ((*question).to_owned(), answer)));
    }
    let withheld = withheld(&all, kept);
    let mut anonymous = Anonymous { of: BTreeMap::new(), merged, withheld: 0 };
    for code in kept {
        let own = if withheld.contains(&all[code]) {
            anonymous.withheld += 1;
            QUESTIONS.map(|_| WITHHELD.to_owned())
        } else {
            all[code].clone()
        };
        anonymous.of.insert((*code).to_owned(), own);
    }
    anonymous
}

/// The answers to one question that stay, and those that become `other`.
struct Rare {
    kept: BTreeSet<String>,
    merged: Vec<String>,
}

fn rare<'a>(answers: impl Iterator<Item = &'a str>) -> Rare {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for answer in answers {
        *counts.entry(answer).or_default() += 1;
    }
    let mut other = counts.remove(OTHER).unwrap_or(0);
    let mut by_size: Vec<(usize, &str)> = counts.into_iter().map(|(answer, count)| (count, answer)).collect();
    by_size.sort_unstable();
    let mut rare = Rare { kept: BTreeSet::new(), merged: Vec::new() };
    for (count, answer) in by_size {
        if count < FEWEST || (1..FEWEST).contains(&other) {
            other += count;
            rare.merged.push(answer.to_owned());
        } else {
            rare.kept.insert(answer.to_owned());
        }
    }
    rare
}

/// The combinations that are withheld.
fn withheld(all: &BTreeMap<&str, Combination>, kept: &BTreeSet<&str>) -> BTreeSet<Combination> {
    /// Laboratories of the package, and others of the round.
    #[derive(Clone, Copy, Default)]
    struct Size {
        own: usize,
        others: usize,
    }
    let mut sizes: BTreeMap<&Combination, Size> = BTreeMap::new();
    for (code, combination) in all {
        let size = sizes.entry(combination).or_default();
        if kept.contains(code) {
            size.own += 1;
        } else {
            size.others += 1;
        }
    }
    let few = |count: usize| (1..FEWEST).contains(&count);
    let mut shown: Vec<(Size, &Combination)> =
        sizes.into_iter().filter(|(_, size)| size.own > 0).map(|(combination, size)| (size, combination)).collect();
    // The smallest last, so that it is the next to join.
    shown.sort_by(|a, b| b.0.own.cmp(&a.0.own).then(b.1.cmp(a.1)));
    let (mut shown, hidden): (Vec<_>, Vec<_>) =
        shown.into_iter().partition(|(size, _)| size.own >= FEWEST && !few(size.others));
    let mut pool = Size::default();
    let mut withheld = BTreeSet::new();
    for (size, combination) in hidden {
        pool = Size { own: pool.own + size.own, others: pool.others + size.others };
        withheld.insert(combination.clone());
    }
    while few(pool.own) || (withheld.len() == 1 && few(pool.others)) {
        let Some((size, combination)) = shown.pop() else { break };
        pool = Size { own: pool.own + size.own, others: pool.others + size.others };
        withheld.insert(combination.clone());
    }
    withheld
}
