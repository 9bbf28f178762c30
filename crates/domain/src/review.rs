//! Everything about a closed round that a person has to look at: the findings,
//! most serious first.
//!
//! A finding names no cause. It says what the data are consistent with or what
//! is possible, with the numbers that speak for it; a person decides. Its key
//! is made of what it is about and not of its numbers, so that what was decided
//! on it stays found when other decisions move the numbers.

mod candidates;
mod laboratories;
mod measurands;
mod patterns;
mod shape;

pub use candidates::{Candidate, Estimate, candidates};
pub use shape::{Curve, MethodGroup, curve, method_groups, replicate_sd};

use crate::assemble::measurand_id;
use crate::declared::{self, Declared};
use crate::evaluation::{MeasurandEvaluation, RoundEvaluation, ScoreEntry};
use crate::judgement::Topic;
use crate::measurand::{Item, Measurand};
use crate::package::{self, Reported, ReportedResult, RoundPackage};
use crate::result::Entry;
use crate::screening::{Centres, Grid, Place, Target};
use crate::text;
use std::collections::{BTreeMap, HashMap, HashSet};

/// What one laboratory sent, by its code.
#[derive(Clone, Debug)]
pub struct Set {
    /// Its code.
    pub code: String,
    /// Whether it came after the deadline.
    pub late: bool,
    /// What it said beside its results.
    pub declared: Declared,
    /// Its rows.
    pub entries: Vec<Entry>,
}

/// By how much results of an analyte are off in another form, as the scheme
/// knows it.
#[derive(Clone, Debug, PartialEq)]
pub struct KnownForm {
    /// The analyte.
    pub analyte: String,
    /// Result in the other form over result in the form that the plan defines.
    pub ratio: f64,
}

/// A round as it is looked through.
#[derive(Clone, Copy, Debug)]
pub struct Material<'a> {
    /// Its items.
    pub items: &'a [Item],
    /// Its measurands, in the order of the package.
    pub measurands: &'a [Measurand],
    /// The package with everything that was decided so far.
    pub package: &'a RoundPackage,
    /// Its evaluation.
    pub evaluation: &'a RoundEvaluation,
    /// What was sent.
    pub sets: &'a [Set],
    /// Other forms of analytes.
    pub forms: &'a [KnownForm],
    /// Where the resampling starts: made of the hash of the raw set, so that it
    /// can be repeated.
    pub seed: u64,
}

/// The seed that belongs to a raw set: the first 64 bits of its SHA-256, given
/// in hexadecimal.
///
/// ```
/// assert_eq!(roundel_domain::review::seed("00000000000000ffaa"), 255);
/// ```
pub fn seed(sha256: &str) -> u64 {
    sha256.get(..16).and_then(|head| u64::from_str_radix(head, 16).ok()).unwrap_or_default()
}

/// What is found, the most serious first; in this order they are listed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// A whole set is off by a power of ten.
    WholeSetFactor,
    /// Two items may be exchanged.
    ItemSwap,
    /// Rows may be shifted.
    RowShift,
    /// Two analytes may be exchanged.
    AnalyteSwap,
    /// Two laboratories report more equal numbers than chance lets expect.
    Similarity,
    /// A result is off by a power of ten.
    SingleFactor,
    /// The results have several modes.
    Modality,
    /// The consensus differs from an independent value.
    IndependentValue,
    /// Homogeneity is not plainly passed.
    Homogeneity,
    /// Stability is not plainly passed.
    Stability,
    /// A consensus of 8 to 11.
    FewParticipants,
    /// u(x_pt) is not negligible.
    UncertaintyRatio,
    /// A share of results below their limits that touches the consensus.
    CensoredShare,
    /// More than a fifth of the results are left out.
    ManyExcluded,
    /// More than 5 % of the scores of a measurand are unacceptable.
    ManyUnacceptable,
    /// More than 30 % of the scores of a laboratory are unacceptable.
    LaboratoryUnacceptable,
    /// Values where the analyte is absent.
    FalsePositive,
    /// "<" that contradict the assigned value.
    FalseNegative,
    /// All results of an analyte may be in another form.
    BasisRatio,
    /// All results of a laboratory lean to one side.
    BiasPattern,
    /// Some analytes of a laboratory lean to one side in every item.
    AnalyteBias,
    /// Results depend on the day of analysis.
    DateEffect,
    /// A wider spread than in another item.
    WideSpread,
    /// The results lean to one side.
    Skewness,
    /// A level near the limits of quantification.
    NearLoq,
    /// A single result may be off by a small factor; chance makes this too.
    PossibleFactor,
    /// Two analytes of a laboratory whose results differ widely elsewhere too;
    /// chance makes this.
    PossibleExchange,
    /// All replicates of a laboratory are identical.
    IdenticalReplicates,
    /// Replicates that differ more than those of the others.
    ReplicateSpread,
    /// Results more than half of the robust centre away, listed only.
    HalfAway,
    /// Uncertainties that are probably too small or too large.
    Uncertainty,
    /// Good z with ζ beyond its limit, again and again.
    ZetaBeyond,
    /// One uncertainty for results that differ several-fold.
    OneUncertainty,
    /// Own limits of quantification above what the plan asks for.
    LoqAboveRequired,
    /// Values below the own limit of quantification.
    BelowOwnLoq,
    /// Received after the deadline.
    Late,
}

/// What a finding is about, which says where it is decided.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    /// Results of one laboratory or of two.
    Laboratory,
    /// A measurand as a whole; its decisions have this topic.
    Measurand(Topic),
}

impl Kind {
    /// All, the most serious first.
    pub const ALL: [Kind; 36] = [
        Kind::WholeSetFactor,
        Kind::ItemSwap,
        Kind::RowShift,
        Kind::AnalyteSwap,
        Kind::Similarity,
        Kind::SingleFactor,
        Kind::Modality,
        Kind::IndependentValue,
        Kind::Homogeneity,
        Kind::Stability,
        Kind::FewParticipants,
        Kind::UncertaintyRatio,
        Kind::CensoredShare,
        Kind::ManyExcluded,
        Kind::ManyUnacceptable,
        Kind::LaboratoryUnacceptable,
        Kind::FalsePositive,
        Kind::FalseNegative,
        Kind::BasisRatio,
        Kind::BiasPattern,
        Kind::AnalyteBias,
        Kind::DateEffect,
        Kind::WideSpread,
        Kind::Skewness,
        Kind::NearLoq,
        Kind::PossibleFactor,
        Kind::PossibleExchange,
        Kind::IdenticalReplicates,
        Kind::ReplicateSpread,
        Kind::HalfAway,
        Kind::Uncertainty,
        Kind::ZetaBeyond,
        Kind::OneUncertainty,
        Kind::LoqAboveRequired,
        Kind::BelowOwnLoq,
        Kind::Late,
    ];

    /// The word of keys, addresses and the catalogue.
    pub fn word(self) -> &'static str {
        match self {
            Kind::WholeSetFactor => "whole-set-factor",
            Kind::ItemSwap => "item-swap",
            Kind::RowShift => "row-shift",
            Kind::AnalyteSwap => "analyte-swap",
            Kind::Similarity => "similarity",
            Kind::SingleFactor => "single-factor",
            Kind::Modality => "modality",
            Kind::IndependentValue => "independent-value",
            Kind::Homogeneity => "homogeneity",
            Kind::Stability => "stability",
            Kind::FewParticipants => "few-participants",
            Kind::UncertaintyRatio => "uncertainty-ratio",
            Kind::CensoredShare => "censored-share",
            Kind::ManyExcluded => "many-excluded",
            Kind::ManyUnacceptable => "many-unacceptable",
            Kind::LaboratoryUnacceptable => "laboratory-unacceptable",
            Kind::FalsePositive => "false-positive",
            Kind::FalseNegative => "false-negative",
            Kind::BasisRatio => "basis-ratio",
            Kind::BiasPattern => "bias-pattern",
            Kind::AnalyteBias => "analyte-bias",
            Kind::DateEffect => "date-effect",
            Kind::WideSpread => "wide-spread",
            Kind::Skewness => "skewness",
            Kind::NearLoq => "near-loq",
            Kind::PossibleFactor => "possible-factor",
            Kind::PossibleExchange => "possible-exchange",
            Kind::IdenticalReplicates => "identical-replicates",
            Kind::ReplicateSpread => "replicate-spread",
            Kind::HalfAway => "half-away",
            Kind::Uncertainty => "uncertainty",
            Kind::ZetaBeyond => "zeta-beyond",
            Kind::OneUncertainty => "one-uncertainty",
            Kind::LoqAboveRequired => "loq-above-required",
            Kind::BelowOwnLoq => "below-own-loq",
            Kind::Late => "late",
        }
    }

    /// The kind of this word.
    pub fn of(word: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|kind| kind.word() == word)
    }

    /// Where it is decided.
    pub fn about(self) -> About {
        match self {
            Kind::Modality | Kind::WideSpread | Kind::Skewness => About::Measurand(Topic::Shape),
            Kind::Homogeneity => About::Measurand(Topic::Homogeneity),
            Kind::Stability | Kind::DateEffect => About::Measurand(Topic::Stability),
            Kind::FewParticipants => About::Measurand(Topic::Consent),
            Kind::IndependentValue
            | Kind::UncertaintyRatio
            | Kind::CensoredShare
            | Kind::ManyExcluded
            | Kind::ManyUnacceptable
            | Kind::FalsePositive
            | Kind::FalseNegative
            | Kind::NearLoq
            | Kind::HalfAway => About::Measurand(Topic::Other),
            _ => About::Laboratory,
        }
    }

    /// Whether a person has to decide on it before a round is approved (D40).
    /// The others are for information.
    pub fn is_to_be_decided(self) -> bool {
        !matches!(
            self,
            Kind::PossibleFactor
                | Kind::PossibleExchange
                | Kind::HalfAway
                | Kind::Uncertainty
                | Kind::ZetaBeyond
                | Kind::OneUncertainty
                | Kind::AnalyteBias
                | Kind::LoqAboveRequired
                | Kind::BelowOwnLoq
                | Kind::NearLoq
                | Kind::Skewness
                | Kind::BasisRatio
        )
    }
}

/// A number or word that the sentence of a finding shows.
#[derive(Clone, Debug, PartialEq)]
pub enum Shown {
    /// A word, a code, a list of names.
    Text(String),
    /// How many.
    Count(usize),
    /// A number with this many significant digits.
    Number(f64, usize),
    /// A number with its sign and this many decimals.
    Signed(f64, usize),
    /// A share, shown in percent.
    Percent(f64),
    /// A probability, shown as a bound where it is too small to be read.
    Probability(f64),
}

/// A result, by the code of its laboratory and the place of its measurand.
pub type Cell = (String, i64);

/// Something to look at.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// What it is.
    pub kind: Kind,
    /// Its name for good within the round: made of what it is about.
    pub key: String,
    /// The laboratories concerned, by code.
    pub codes: Vec<String>,
    /// The measurands concerned, by place.
    pub positions: Vec<i64>,
    /// The results concerned; none where it is about a measurand as a whole.
    pub cells: Vec<Cell>,
    /// What the sentence shows, by name.
    pub values: Vec<(&'static str, Shown)>,
    /// Where each of the results fits better: the place whose centre it is near
    /// to. Evidence of exchanges and shifts.
    pub fits: Vec<(i64, i64)>,
}

impl Finding {
    fn new(kind: Kind, about: &str) -> Finding {
        Finding {
            kind,
            key: format!("{}:{about}", kind.word()),
            codes: Vec::new(),
            positions: Vec::new(),
            cells: Vec::new(),
            values: Vec::new(),
            fits: Vec::new(),
        }
    }

    fn with(mut self, name: &'static str, value: Shown) -> Finding {
        self.values.push((name, value));
        self
    }

    fn text(self, name: &'static str, text: impl Into<String>) -> Finding {
        self.with(name, Shown::Text(text.into()))
    }

    fn of(mut self, codes: &[&str]) -> Finding {
        self.codes = codes.iter().map(|code| (*code).to_owned()).collect();
        self
    }

    fn at(mut self, cells: Vec<Cell>) -> Finding {
        for (code, position) in &cells {
            if !self.codes.contains(code) {
                self.codes.push(code.clone());
            }
            if !self.positions.contains(position) {
                self.positions.push(*position);
            }
        }
        self.cells = cells;
        self
    }

    fn on(mut self, position: i64) -> Finding {
        self.positions = vec![position];
        self
    }

    /// Whether somebody decided on it: a decision that counts names it, all its
    /// results are decided on, or its measurand is in its topic.
    pub fn is_settled(&self, decided: &Decided) -> bool {
        if decided.findings.contains(&self.key) {
            return true;
        }
        match self.kind.about() {
            About::Measurand(topic) => {
                self.positions.iter().all(|position| decided.measurands.contains(&(*position, topic)))
            }
            About::Laboratory => !self.cells.is_empty() && self.cells.iter().all(|cell| decided.results.contains(cell)),
        }
    }
}

/// What people decided and what counts now.
#[derive(Clone, Debug, Default)]
pub struct Decided {
    /// Findings that a decision names or that were kept, by key.
    pub findings: HashSet<String>,
    /// Results that are left out.
    pub results: HashSet<Cell>,
    /// Measurands that were decided on, by topic.
    pub measurands: HashSet<(i64, Topic)>,
}

/// A round made ready to be looked through: the grid that the screening works
/// on, and where its rows and columns come from.
#[derive(Debug)]
pub struct Look<'a> {
    /// What is looked through.
    pub material: Material<'a>,
    /// Codes of the laboratories, in the order of the grid.
    pub codes: Vec<String>,
    /// The results.
    pub grid: Grid,
    /// Their centres.
    pub centres: Centres,
    places: BTreeMap<i64, Place>,
    positions: BTreeMap<Place, i64>,
    results: HashMap<(&'a str, &'a str), &'a ReportedResult>,
}

impl<'a> Look<'a> {
    /// Makes a round ready.
    pub fn new(material: Material<'a>) -> Look<'a> {
        let analytes: Vec<String> =
            declared::analytes(material.measurands).iter().map(|m| text::key(&m.analyte)).collect();
        let mut codes: Vec<String> = material.sets.iter().map(|set| set.code.clone()).collect();
        codes.sort();
        let mut grid = Grid::new(codes.len(), material.items.len(), analytes.len());
        let (mut places, mut positions) = (BTreeMap::new(), BTreeMap::new());
        for m in material.measurands {
            let item = material.items.iter().position(|item| item.id == m.item);
            let analyte = analytes.iter().position(|analyte| *analyte == text::key(&m.analyte));
            if let (Some(item), Some(analyte)) = (item, analyte) {
                let place = Place { item, analyte };
                places.insert(m.position, place);
                positions.insert(place, m.position);
            }
        }
        let mut results = HashMap::new();
        let by_id: HashMap<&str, Place> = (material.package.measurands.iter().zip(material.measurands))
            .filter_map(|(planned, m)| Some((planned.id.as_str(), *places.get(&m.position)?)))
            .collect();
        for result in &material.package.results {
            results.insert((result.participant.as_str(), result.measurand.as_str()), result);
            let laboratory = codes.binary_search(&result.participant);
            if let (Ok(one), Some(place), Some(value)) =
                (laboratory, by_id.get(result.measurand.as_str()), value_of(result))
            {
                grid.set(one, *place, value);
            }
        }
        for outcome in &material.evaluation.measurands {
            let value = outcome.assigned_value.as_ref().map(|value| value.value).filter(|value| *value > 0.0);
            if let (Some(place), Some(value), Some(sigma_pt)) =
                (by_id.get(outcome.id.as_str()), value, outcome.sigma_pt)
            {
                grid.set_target(*place, Target { value, sigma_pt });
            }
        }
        set_methods(&mut grid, &codes, material.sets);
        let centres = grid.centres();
        Look { material, codes, grid, centres, places, positions, results }
    }

    /// Everything that is found, the most serious first.
    pub fn findings(&self) -> Vec<Finding> {
        let mut all = laboratories::findings(self);
        all.extend(measurands::findings(self));
        all.sort_by(|a, b| a.kind.cmp(&b.kind).then_with(|| a.positions.cmp(&b.positions)).then(a.key.cmp(&b.key)));
        all
    }

    /// log10 of a result over the centre of all results for its measurand.
    pub fn log_ratio(&self, code: &str, position: i64, against: i64) -> Option<f64> {
        let one = self.codes.binary_search_by(|known| known.as_str().cmp(code)).ok()?;
        let (place, other) = (self.places.get(&position)?, self.places.get(&against)?);
        Some((self.grid.value(one, *place)? / self.centres.at(*other)?).log10())
    }

    fn position(&self, place: Place) -> Option<i64> {
        self.positions.get(&place).copied()
    }

    fn measurand(&self, position: i64) -> Option<&'a Measurand> {
        self.material.measurands.iter().find(|m| m.position == position)
    }

    fn item(&self, index: usize) -> &'a str {
        self.material.items.get(index).map_or("", |item| item.label.as_str())
    }

    fn analyte(&self, index: usize) -> &'a str {
        declared::analytes(self.material.measurands).get(index).map_or("", |m| m.analyte.as_str())
    }

    /// Plan and evaluation of the measurands, with their places.
    fn evaluated(&self) -> impl Iterator<Item = One<'a>> {
        let Material { measurands, package, evaluation, .. } = self.material;
        measurands.iter().zip(&package.measurands).zip(&evaluation.measurands).map(|((m, plan), outcome)| One {
            measurand: m,
            plan,
            outcome,
        })
    }

    /// The results of a measurand with their scores, by code.
    fn scored(&self, id: &'a str) -> impl Iterator<Item = (&'a ReportedResult, &'a ScoreEntry)> {
        let scores = self.material.evaluation.scores.iter().filter(move |score| score.measurand == id);
        scores.filter_map(|score| {
            Some((*self.results.get(&(score.participant.as_str(), score.measurand.as_str()))?, score))
        })
    }
}

/// A measurand as planned and as evaluated.
#[derive(Clone, Copy)]
struct One<'a> {
    measurand: &'a Measurand,
    plan: &'a package::Measurand,
    outcome: &'a MeasurandEvaluation,
}

fn set_methods(grid: &mut Grid, codes: &[String], sets: &[Set]) {
    let mut groups: Vec<String> = sets.iter().filter_map(|set| set.declared.method_group()).collect();
    groups.sort();
    groups.dedup();
    for set in sets {
        let group = set.declared.method_group().and_then(|group| groups.binary_search(&group).ok());
        if let (Ok(one), Some(group)) = (codes.binary_search(&set.code), group) {
            grid.set_method(one, group);
        }
    }
}

/// The mean of the values of a result.
pub(crate) fn value_of(result: &ReportedResult) -> Option<f64> {
    match &result.reported {
        Reported::Values(values) if !values.is_empty() => Some(values.iter().sum::<f64>() / values.len() as f64),
        _ => None,
    }
}

/// The group of results that a laboratory is asked to confirm: all analytes it
/// reported in the item where at least as many are unflagged as flagged and
/// there are three or more; otherwise none, and nothing can be asked without
/// pointing at a result.
///
/// ```
/// use roundel_domain::review::clarified;
///
/// let reported = ["a", "b", "c", "d"].map(String::from);
/// assert_eq!(clarified(&reported, &["b".to_owned()]).unwrap().len(), 4);
/// assert_eq!(clarified(&reported, &reported[..3]), None);
/// assert_eq!(clarified(&reported[..2], &[]), None);
/// ```
pub fn clarified(reported: &[String], flagged: &[String]) -> Option<Vec<String>> {
    const FEWEST: usize = 3;
    let flagged = reported.iter().filter(|analyte| flagged.contains(analyte)).count();
    (reported.len() >= FEWEST && reported.len() - flagged >= flagged).then(|| reported.to_vec())
}

/// The id of a measurand as its evaluation names it.
pub fn id_of(items: &[Item], m: &Measurand) -> String {
    let label = items.iter().find(|item| item.id == m.item).map_or("", |item| item.label.as_str());
    measurand_id(label, &m.analyte)
}
