//! Groups of methods: how laboratories that worked alike reported, and how far
//! one group lies from the others (F24, F88, F89). An observation, never proof
//! of a better method: nobody was told by lot how to work.
//!
//! No table shows fewer laboratories than the round's limit, and none lets fewer
//! be worked out by subtraction, from the totals of the evaluation or from the
//! table of another question (`cells`).

mod cells;

use crate::assemble::FEWEST_SHOWN;
use crate::evaluation::{Detection, RoundEvaluation, ScoreEntry};
use crate::package::RoundPackage;
use cells::{Cell, Set};
use roundel_stats::{Sample, groups, robust, summary};
use std::collections::{BTreeMap, HashMap};

/// The limits that a round may choose for its smallest group.
pub const SMALLEST: std::ops::RangeInclusive<usize> = 4..=10;
/// The limit where nobody chose another.
pub const USUAL_SMALLEST: usize = FEWEST_SHOWN;
/// Values that a group needs on both sides of a comparison.
pub const FEWEST_COMPARED: usize = 5;
/// Share of results below a limit above which a group is not compared.
const MOST_CENSORED: f64 = 0.25;
/// Confidence of the interval of a difference.
const CONFIDENCE: f64 = 0.95;
/// From this share of common laboratories on, two answers go together.
const TOGETHER: f64 = 0.8;

/// The closed answers of the laboratories, by code: question to answer.
pub type Answers = HashMap<String, BTreeMap<String, String>>;

/// By what laboratories are grouped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Factor {
    /// Enrichment, separation, detection and calibration taken together.
    Method,
    /// Enrichment.
    Enrichment,
    /// Separation.
    Separation,
    /// Detection.
    Detection,
    /// Calibration.
    Calibration,
    /// Internal standard.
    Standard,
}

impl Factor {
    /// All, in the order in which their tables are made: where two tables
    /// together would tell too much, the later one tells less.
    pub const ALL: [Factor; 6] = [
        Factor::Method,
        Factor::Calibration,
        Factor::Standard,
        Factor::Enrichment,
        Factor::Detection,
        Factor::Separation,
    ];

    /// All, in the order of the form.
    pub const SHOWN: [Factor; 6] = [
        Factor::Method,
        Factor::Enrichment,
        Factor::Separation,
        Factor::Detection,
        Factor::Calibration,
        Factor::Standard,
    ];

    /// The word in addresses and files.
    pub fn word(self) -> &'static str {
        match self {
            Factor::Method => "method",
            Factor::Enrichment => "enrichment",
            Factor::Separation => "separation",
            Factor::Detection => "detection",
            Factor::Calibration => "calibration",
            Factor::Standard => "standard",
        }
    }

    /// The factor of this word.
    pub fn of(word: &str) -> Option<Factor> {
        Factor::ALL.into_iter().find(|factor| factor.word() == word)
    }

    /// The questions whose answers make its groups.
    pub fn questions(self) -> &'static [&'static str] {
        match self {
            Factor::Method => &["enrichment", "separation", "detection", "calibration"],
            Factor::Enrichment => &["enrichment"],
            Factor::Separation => &["separation"],
            Factor::Detection => &["detection"],
            Factor::Calibration => &["calibration"],
            Factor::Standard => &["standard"],
        }
    }

    /// The group of a laboratory with these answers.
    fn group(self, answers: Option<&BTreeMap<String, String>>) -> Name {
        let answer = |question: &&str| answers.and_then(|all| all.get(*question)).cloned();
        let given: Vec<Option<String>> = self.questions().iter().map(answer).collect();
        if given.iter().all(Option::is_none) {
            return Name::NotStated;
        }
        Name::Answers(given.into_iter().map(Option::unwrap_or_default).collect())
    }
}

/// What a group is called.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Name {
    /// Those who gave these answers to the questions of the factor; a text is
    /// empty where a question was left open.
    Answers(Vec<String>),
    /// Those who did not say.
    NotStated,
    /// Groups too small to be shown, taken together.
    Other,
}

/// A group in one measurand.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// Its name.
    pub name: Name,
    /// Laboratories whose result counts.
    pub laboratories: usize,
    /// Of these, with a value.
    pub values: usize,
    /// Of these, below a limit.
    pub censored: usize,
    /// Of these, "<" that contradict the assigned value.
    pub false_negatives: usize,
    /// Median of the values; none where fewer than the limit stand behind it.
    pub median: Option<f64>,
    /// s* of Algorithm A of the values, likewise.
    pub robust_sd: Option<f64>,
    /// The group against all others.
    pub compared: Compared,
}

/// A group compared with all other laboratories of the measurand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Compared {
    /// Not compared, and why.
    Not(Why),
    /// Compared.
    Found(Difference),
}

/// Why a group is not compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Why {
    /// There is no other group, or it is no group of one method.
    NoGroup,
    /// The line of the only other group says it.
    OtherLine,
    /// Fewer than five values on one side.
    FewValues,
    /// More than a quarter below a limit on one side.
    Censored,
    /// No σ_pt to measure with.
    NoSigma,
}

/// How far a group lies from all others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference {
    /// Median of all differences between a value of the group and one of the
    /// others, in σ_pt.
    pub in_sigma: f64,
    /// Lower limit, 95 %.
    pub low: f64,
    /// Upper limit, 95 %.
    pub high: f64,
    /// Two-sided probability of the rank sum test.
    pub p_value: f64,
    /// The same by Holm's correction over all comparisons of the table.
    pub adjusted: f64,
}

impl Difference {
    /// Whether it explains two modes: more than 1 σ_pt apart, and p after
    /// correction below 0.01 (D25).
    pub fn explains(&self) -> bool {
        self.in_sigma.abs() > 1.0 && self.adjusted < 0.01
    }
}

/// The groups of one measurand.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Id of the measurand.
    pub measurand: String,
    /// Its analyte.
    pub analyte: String,
    /// Its unit.
    pub unit: String,
    /// What is shown.
    pub shown: Shown,
}

/// What is shown of a measurand.
#[derive(Clone, Debug, PartialEq)]
pub enum Shown {
    /// Its groups, the largest first, those together last.
    Groups(Vec<Group>),
    /// Nothing: fewer results count than the smallest group has.
    FewResults,
    /// Nothing: every group but one is too small, or this table beside another
    /// would tell of fewer laboratories than the limit.
    SmallGroups,
}

/// Two answers that mostly come from the same laboratories: a difference cannot
/// be put down to one of them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Together {
    /// A question and its answer.
    pub one: (Factor, String),
    /// Another.
    pub other: (Factor, String),
    /// The same laboratories throughout, and not only mostly.
    pub wholly: bool,
}

/// The groups of a round, to be asked for tables.
#[derive(Debug)]
pub struct Methods<'a> {
    package: &'a RoundPackage,
    evaluation: &'a RoundEvaluation,
    answers: &'a Answers,
    smallest: usize,
    /// Counting results of each measurand with what became of them.
    counting: HashMap<&'a str, Vec<&'a ScoreEntry>>,
}

impl<'a> Methods<'a> {
    /// The groups of an evaluated package by the answers of its laboratories, none
    /// smaller than `smallest`.
    pub fn new(
        package: &'a RoundPackage,
        evaluation: &'a RoundEvaluation,
        answers: &'a Answers,
        smallest: usize,
    ) -> Methods<'a> {
        let entries: HashMap<(&str, &str), &ScoreEntry> = evaluation
            .scores
            .iter()
            .map(|entry| ((entry.participant.as_str(), entry.measurand.as_str()), entry))
            .collect();
        let mut counting: HashMap<&str, Vec<&ScoreEntry>> = HashMap::new();
        for result in package.results.iter().filter(|result| result.counts()) {
            if let Some(entry) = entries.get(&(result.participant.as_str(), result.measurand.as_str())) {
                counting.entry(&result.measurand).or_default().push(entry);
            }
        }
        for entries in counting.values_mut() {
            entries.sort_by(|a, b| a.participant.cmp(&b.participant));
        }
        Methods { package, evaluation, answers, smallest, counting }
    }

    /// How many laboratories each group has in the round, by `factor`, small
    /// groups taken together; empty where none can be shown.
    pub fn laboratories(&self, factor: Factor) -> Vec<(Name, usize)> {
        let mut codes: Vec<&str> = self.package.results.iter().map(|result| result.participant.as_str()).collect();
        codes.sort_unstable();
        codes.dedup();
        let cells = self.cells(&codes, factor).unwrap_or_default();
        cells.into_iter().map(|cell| (cell.name, cell.set.len())).collect()
    }

    /// The items that the round has, in the order of the package.
    pub fn items(&self) -> Vec<&'a str> {
        let mut items: Vec<&str> = Vec::new();
        for measurand in &self.package.measurands {
            if !items.contains(&measurand.item.as_str()) {
                items.push(&measurand.item);
            }
        }
        items
    }

    /// The table of one factor in one item; Holm's correction is taken over all of
    /// its comparisons.
    pub fn table(&self, factor: Factor, item: &str) -> Vec<Line> {
        let measurands = self.package.measurands.iter().filter(|measurand| measurand.item == item);
        let mut lines: Vec<Line> = measurands
            .map(|measurand| Line {
                measurand: measurand.id.clone(),
                analyte: measurand.analyte.clone(),
                unit: measurand.unit.clone(),
                shown: self.shown(factor, &measurand.id),
            })
            .collect();
        correct(&mut lines);
        lines
    }

    /// Pairs of answers that mostly come from the same laboratories. Answers that
    /// all gave, or fewer than the limit, are left out.
    pub fn together(&self) -> Vec<Together> {
        let mut codes: Vec<&str> = self.package.results.iter().map(|result| result.participant.as_str()).collect();
        codes.sort_unstable();
        codes.dedup();
        let mut named: Vec<(Factor, String, Set)> = Vec::new();
        for factor in Factor::ALL.into_iter().filter(|factor| *factor != Factor::Method) {
            for cell in self.raw(&codes, factor) {
                let is_some = cell.set.len() >= self.smallest && cell.set.len() + self.smallest <= codes.len();
                if let (Name::Answers(answers), true) = (cell.name, is_some) {
                    named.push((factor, answers.concat(), cell.set));
                }
            }
        }
        let mut pairs = Vec::new();
        for (place, (factor, answer, set)) in named.iter().enumerate() {
            for (other_factor, other_answer, other) in &named[place + 1..] {
                let common = set.common(other) as f64;
                let either = (set.len() + other.len()) as f64 - common;
                if factor != other_factor && common >= TOGETHER * either {
                    pairs.push(Together {
                        one: (*factor, answer.clone()),
                        other: (*other_factor, other_answer.clone()),
                        wholly: common == either,
                    });
                }
            }
        }
        pairs
    }

    /// The groups of these laboratories, the largest first.
    fn raw(&self, codes: &[&str], factor: Factor) -> Vec<Cell> {
        let mut groups: BTreeMap<Name, Set> = BTreeMap::new();
        for (place, code) in codes.iter().enumerate() {
            let name = factor.group(self.answers.get(*code));
            groups.entry(name).or_insert_with(|| Set::new(codes.len())).insert(place);
        }
        let mut cells: Vec<Cell> = groups.into_iter().map(|(name, set)| Cell { name, set }).collect();
        cells.sort_by(|a, b| b.set.len().cmp(&a.set.len()).then(a.name.cmp(&b.name)));
        cells
    }

    /// The groups of these laboratories that may be shown; none where there are
    /// fewer laboratories than the limit.
    fn cells(&self, codes: &[&str], factor: Factor) -> Option<Vec<Cell>> {
        if codes.len() < self.smallest {
            return None;
        }
        let mut shown: Vec<Vec<Cell>> = Vec::new();
        for known in Factor::ALL {
            let cells = cells::merged(self.raw(codes, known), self.smallest, &shown);
            if known == factor {
                return Some(cells);
            }
            shown.push(cells);
        }
        None
    }

    fn shown(&self, factor: Factor, measurand: &str) -> Shown {
        let results = self.package.results.iter().filter(|result| result.measurand == measurand).count();
        let entries = self.counting.get(measurand).map(Vec::as_slice).unwrap_or_default();
        if results < FEWEST_SHOWN {
            return Shown::FewResults;
        }
        let codes: Vec<&str> = entries.iter().map(|entry| entry.participant.as_str()).collect();
        let Some(cells) = self.cells(&codes, factor) else { return Shown::FewResults };
        if let [Cell { name: Name::Other, .. }] = cells.as_slice() {
            return Shown::SmallGroups;
        }
        let sigma = self.evaluation.measurand(measurand).and_then(|outcome| outcome.sigma_pt);
        let groups = cells.iter().enumerate().map(|(place, cell)| {
            let (own, others): (Vec<_>, Vec<_>) =
                entries.iter().enumerate().partition(|(place, _)| cell.set.contains(*place));
            let [own, others] = [own, others].map(|side| side.into_iter().map(|(_, entry)| *entry).collect::<Vec<_>>());
            let compared = match (&cell.name, cells.len()) {
                (Name::Other | Name::NotStated, _) | (_, 1) => Compared::Not(Why::NoGroup),
                // The smaller of two is compared with the larger, not both with each other.
                (_, 2) if place == 0 && matches!(cells[1].name, Name::Answers(_)) => Compared::Not(Why::OtherLine),
                _ => compare(&own, &others, sigma),
            };
            self.summarised(cell.name.clone(), &own, compared)
        });
        Shown::Groups(groups.collect())
    }

    fn summarised(&self, name: Name, entries: &[&ScoreEntry], compared: Compared) -> Group {
        let values = values(entries);
        let sample = Sample::new(values.iter().copied()).ok().filter(|_| values.len() >= self.smallest);
        Group {
            name,
            laboratories: entries.len(),
            values: values.len(),
            censored: entries.len() - values.len(),
            false_negatives: entries.iter().filter(|e| e.detection == Detection::FalseNegative).count(),
            median: sample.as_ref().map(summary::median),
            robust_sd: sample.as_ref().and_then(|sample| robust::algorithm_a(sample).ok()).map(|found| found.scale),
            compared,
        }
    }
}

fn values(entries: &[&ScoreEntry]) -> Vec<f64> {
    entries.iter().filter_map(|entry| entry.value).collect()
}

fn compare(own: &[&ScoreEntry], others: &[&ScoreEntry], sigma: Option<f64>) -> Compared {
    let (own_values, other_values) = (values(own), values(others));
    if own_values.len() < FEWEST_COMPARED || other_values.len() < FEWEST_COMPARED {
        return Compared::Not(Why::FewValues);
    }
    let censored = |all: usize, values: usize| (all - values) as f64 > MOST_CENSORED * all as f64;
    if censored(own.len(), own_values.len()) || censored(others.len(), other_values.len()) {
        return Compared::Not(Why::Censored);
    }
    let Some(sigma) = sigma else { return Compared::Not(Why::NoSigma) };
    let shift = Sample::new(own_values)
        .and_then(|own| Sample::new(other_values).and_then(|others| groups::shift(&own, &others, CONFIDENCE)));
    match shift {
        Err(_) => Compared::Not(Why::FewValues),
        Ok(shift) => Compared::Found(Difference {
            in_sigma: shift.difference / sigma,
            low: shift.low / sigma,
            high: shift.high / sigma,
            p_value: shift.p_value,
            adjusted: shift.p_value,
        }),
    }
}

/// Holm's correction over all comparisons of a table.
fn correct(lines: &mut [Line]) {
    let mut found: Vec<&mut Difference> = lines
        .iter_mut()
        .filter_map(|line| match &mut line.shown {
            Shown::Groups(groups) => Some(groups),
            Shown::FewResults | Shown::SmallGroups => None,
        })
        .flatten()
        .filter_map(|group| match &mut group.compared {
            Compared::Found(difference) => Some(difference),
            Compared::Not(_) => None,
        })
        .collect();
    let raw: Vec<f64> = found.iter().map(|difference| difference.p_value).collect();
    let adjusted = groups::holm(&raw).expect("a test gives probabilities");
    for (difference, adjusted) in found.iter_mut().zip(adjusted) {
        difference.adjusted = adjusted;
    }
}
