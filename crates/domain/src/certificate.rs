//! The certificate of a laboratory as a document that is signed: what it states,
//! as codes and numbers, in no language.
//!
//! Signed is the canonical text (RFC 8785) of a [`Statement`], and exactly that text
//! is stored, printed from, carried inside the PDF and checked by
//! [`verification`].

pub mod attached;
pub mod envelope;
pub mod notice;
pub mod verification;
pub mod whole;

#[cfg(test)]
mod tests;

use crate::assemble::FEWEST_SHOWN;
use crate::evaluation::{Basis, Detection, ScoreKind, Signal};
use crate::package::canonical;
use crate::result::Reason;
use jiff::civil::Date;
use roundel_stats::{Sample, summary};
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

/// The format of [`Statement`].
pub const FORMAT: &str = "roundel-certificate/1";

/// The coverage factor with which uncertainties of assigned values are stated.
pub const COVERAGE_FACTOR: f64 = 2.0;

/// All that a certificate states. Instants are RFC 3339 in UTC; numbers are in the
/// unit of their result.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Statement {
    /// [`FORMAT`].
    pub format: String,
    /// Of performance, or of registration only.
    pub kind: Kind,
    /// Whether everything in it is invented.
    pub demonstration: bool,
    /// The certificate's number.
    pub number: String,
    /// Its version, from 1.
    pub version: i64,
    /// The certificate that it takes the place of.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub replaces: Option<Replaces>,
    /// The scheme.
    pub scheme: String,
    /// Code of the round.
    pub round: String,
    /// Title of the round.
    pub round_title: String,
    /// Who runs the scheme.
    pub provider: Provider,
    /// Whose certificate it is.
    pub laboratory: Laboratory,
    /// When the round was opened.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub opened_at: Option<String>,
    /// The deadline.
    pub closes_at: String,
    /// When the results came.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub received_at: Option<String>,
    /// Whether that was after the deadline.
    pub late: bool,
    /// When the evaluation was published.
    pub published_at: String,
    /// When this was signed.
    pub issued_at: String,
    /// The items of the round.
    pub items: Vec<Item>,
    /// The results, in the order of the form.
    pub results: Vec<ResultLine>,
    /// What was not reported, and why.
    pub not_reported: Vec<NotReported>,
    /// Counts over all results.
    pub counts: Counts,
    /// The limits that scores are read against.
    pub limits: Vec<Limits>,
    /// Round and publication that this belongs to: reports of the round name the
    /// publication that they are of.
    pub report: Report,
    /// Who authorised it.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub authorised_by: Option<String>,
    /// Names of the cautions that are printed.
    pub cautions: Vec<Caution>,
    /// What the scores can be recomputed from.
    pub evidence: Evidence,
    /// Where it is said whether this still stands; empty where it was never kept.
    pub address: String,
    /// Name of the key that signs; empty where it is not signed.
    pub key_id: String,
}

/// What kind of certificate.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Participation and performance.
    Performance,
    /// Registration, of a laboratory without a valid result.
    Registration,
}

/// A certificate that another took the place of.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Replaces {
    /// Its number.
    pub number: String,
    /// Its version.
    pub version: i64,
    /// Why, as it was said.
    pub reason: String,
}

/// Who runs the scheme.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Provider {
    /// Name.
    pub name: String,
    /// Lines of address and contact.
    pub contact: Vec<String>,
    /// Its accreditation for this scheme; none where there is none.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub accreditation: Option<String>,
}

/// Whose certificate it is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Laboratory {
    /// Its code in the round.
    pub code: String,
    /// Its name, unless it chose to appear by its code only.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub name: Option<String>,
    /// The organisation it belongs to, where the name stands and one is known.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub organisation: Option<String>,
}

/// An item of the round.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Item {
    /// Its label.
    pub label: String,
    /// Its matrix.
    pub matrix: String,
    /// Code of the laboratory's unit.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub unit_code: Option<String>,
    /// When it arrived, as the laboratory said.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub received_on: Option<Date>,
    /// When it was analysed, as the laboratory said.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub analysed_on: Option<Date>,
}

/// One result and what became of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ResultLine {
    /// Label of the item.
    pub item: String,
    /// The analyte.
    pub analyte: String,
    /// What it is expressed as; may be empty.
    pub expressed_as: String,
    /// The unit of all numbers.
    pub unit: String,
    /// As the laboratory reported it.
    pub reported: Reported,
    /// x_pt, where there is one that may be told.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub assigned_value: Option<AssignedValue>,
    /// σ_pt.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub sigma_pt: Option<f64>,
    /// D.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub difference: Option<f64>,
    /// D %.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub difference_percent: Option<f64>,
    /// The score that decides the class.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub score: Option<Score>,
    /// ζ, where it is given beside.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub zeta: Option<f64>,
    /// The class.
    pub class: Class,
    /// Whether the analyte was found, and whether that is right; none where
    /// nothing may be told.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub detection: Option<Detection>,
    /// The limit of quantification that the plan asks for.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub required_loq: Option<f64>,
    /// Whether the limit of a "<" meets it.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub loq_met: Option<bool>,
    /// What is remarked on the uncertainty that was reported.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub uncertainty: Option<UncertaintyCheck>,
    /// Marks on the result.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub marks: Vec<Mark>,
    /// Why it was left out of consensus and summary, as it was said.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub excluded: Option<String>,
}

/// A result as it was reported.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reported {
    /// As typed: the values of all replicates, or the limit of a "<" with that sign.
    pub typed: Vec<String>,
    /// The unit in which it was typed.
    pub typed_unit: String,
    /// It is the limit of a "<".
    pub below: bool,
    /// The number, in the unit of the line.
    pub value: f64,
    /// U, in the unit of the line.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub expanded_uncertainty: Option<f64>,
    /// U as typed, with a percent sign where it was given so.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub expanded_uncertainty_typed: Option<String>,
    /// k.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub coverage_factor: Option<f64>,
}

/// An assigned value as it is stated: x_pt ± U(x_pt).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AssignedValue {
    /// x_pt.
    pub value: f64,
    /// U(x_pt).
    pub expanded_uncertainty: f64,
    /// k, [`COVERAGE_FACTOR`].
    pub coverage_factor: f64,
    /// How it was found.
    pub route: Basis,
}

/// The score that decides a class.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Score {
    /// Its kind; of a bound, that on whose scale it is.
    pub kind: ScoreKind,
    /// The number, not rounded.
    pub value: f64,
    /// It is the bound of a "<": the score lies below it.
    pub bound: bool,
}

/// The class of a result, in its printed words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Class {
    /// Acceptable.
    Acceptable,
    /// Questionable: a warning signal.
    Questionable,
    /// Unacceptable: an action signal.
    Unacceptable,
    /// A score without a class.
    InformationOnly,
    /// No score.
    NotScored,
}

impl From<Signal> for Class {
    fn from(signal: Signal) -> Class {
        match signal {
            Signal::None => Class::Acceptable,
            Signal::Warning => Class::Questionable,
            Signal::Action => Class::Unacceptable,
            Signal::InformationOnly => Class::InformationOnly,
            Signal::NotScored => Class::NotScored,
        }
    }
}

/// A mark on a result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Mark {
    /// The uncertainty of the assigned value is not negligible.
    Qualified,
    /// Fewer laboratories than may be shown reported it: nothing is told that rests
    /// on the results of others.
    FewLaboratories,
    /// The level is close to the limits of quantification.
    NearLoq,
}

/// An analyte that was not reported.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NotReported {
    /// Label of the item.
    pub item: String,
    /// The analyte.
    pub analyte: String,
    /// Whether it was looked for, and how far that led.
    pub state: Missing,
    /// Why, where the laboratory said so.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub reason: Option<Reason>,
}

/// How far the search for an analyte led that has no result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Missing {
    /// Seen, and not quantified.
    Identified,
    /// Not looked for.
    NotAnalysed,
    /// Looked for, without a result.
    Failed,
}

/// Counts over the results of a certificate.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Counts {
    /// Results with a class.
    pub scored: u32,
    /// Of these acceptable.
    pub acceptable: u32,
    /// Of these questionable.
    pub questionable: u32,
    /// Of these unacceptable.
    pub unacceptable: u32,
    /// With a score for information only.
    pub information_only: u32,
    /// Without a score.
    pub not_scored: u32,
    /// False positives.
    pub false_positives: u32,
    /// False negatives.
    pub false_negatives: u32,
}

impl Counts {
    /// Counts the results.
    pub fn of(results: &[ResultLine]) -> Counts {
        let mut counts = Counts::default();
        for line in results {
            match line.class {
                Class::Acceptable => counts.acceptable += 1,
                Class::Questionable => counts.questionable += 1,
                Class::Unacceptable => counts.unacceptable += 1,
                Class::InformationOnly => counts.information_only += 1,
                Class::NotScored => counts.not_scored += 1,
            }
            match line.detection {
                Some(Detection::FalsePositive) => counts.false_positives += 1,
                Some(Detection::FalseNegative) => counts.false_negatives += 1,
                _ => {}
            }
        }
        counts.scored = counts.acceptable + counts.questionable + counts.unacceptable;
        counts
    }
}

/// The limits that a kind of score is read against.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Limits {
    /// The kind of score.
    pub kind: ScoreKind,
    /// Where a warning begins; none of a kind without one.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub warning: Option<f64>,
    /// Where action begins.
    pub action: f64,
}

/// The publication of a round that a certificate belongs to. It is signed before there
/// is a report, and reports count their versions for themselves: a report of this
/// publication names its number.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Report {
    /// Code of the round.
    pub round: String,
    /// Number of the publication, from 1. It is the version of the certificate.
    pub version: i64,
}

/// What the scores can be recomputed from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Evidence {
    /// SHA-256 of the round package, as laboratories download it.
    pub package_sha256: String,
    /// SHA-256 of the evaluation that it gives.
    pub evaluation_sha256: String,
    /// The program that made the evaluation.
    pub engine: String,
}

/// The cautions that are printed, by the names that the requirements of the
/// service give them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Caution {
    /// C1: what scores describe.
    Scope,
    /// C2: no ranking.
    Ranking,
    /// C3: criteria of law and authorities prevail.
    Authority,
    /// C4: scores beyond 2 by chance.
    Chance,
    /// C5: kinds of scores are not interchangeable.
    Kinds,
    /// C6: what a consensus is.
    Consensus,
    /// C7: information only.
    Information,
    /// C9: own results only, and complete.
    Complete,
    /// C11: versions may be superseded.
    Version,
    /// C15: invented data.
    Demonstration,
    /// What registration does not say.
    Registration,
}

/// What is remarked on an uncertainty that a laboratory reported (D18; ISO
/// 13528:2022, 9.8). It never changes a class.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum UncertaintyCheck {
    /// a: between both bounds.
    Plausible,
    /// b: below u(x_pt), probably too small.
    ProbablyTooSmall,
    /// c: above 1.5 s*, probably too large.
    ProbablyTooLarge,
}

impl UncertaintyCheck {
    /// Reads a standard uncertainty against u(x_pt) and the robust standard
    /// deviation s* of the round, all in one unit. Without s* nothing is too large.
    ///
    /// ```
    /// use roundel_domain::certificate::UncertaintyCheck;
    ///
    /// let check = |u| UncertaintyCheck::of(u, 2.0, Some(10.0));
    /// assert_eq!(check(1.9), UncertaintyCheck::ProbablyTooSmall);
    /// assert_eq!(check(2.0), UncertaintyCheck::Plausible);
    /// assert_eq!(check(15.0), UncertaintyCheck::Plausible);
    /// assert_eq!(check(15.1), UncertaintyCheck::ProbablyTooLarge);
    /// ```
    pub fn of(u: f64, of_assigned_value: f64, robust_sd: Option<f64>) -> UncertaintyCheck {
        /// D18: u_max = 1.5 s*.
        const LARGEST: f64 = 1.5;
        if u < of_assigned_value {
            UncertaintyCheck::ProbablyTooSmall
        } else if robust_sd.is_some_and(|sd| u > LARGEST * sd) {
            UncertaintyCheck::ProbablyTooLarge
        } else {
            UncertaintyCheck::Plausible
        }
    }
}

impl Statement {
    /// Its canonical form (RFC 8785), over which the signature goes.
    pub fn text(&self) -> String {
        canonical::text(self)
    }

    /// A statement from its text.
    ///
    /// # Errors
    ///
    /// When the text is no statement.
    pub fn parse(text: &str) -> Result<Statement, serde_json::Error> {
        serde_json::from_str(text)
    }
}

/// The canonical form (RFC 8785) of what is signed beside certificates.
pub fn canonical_text(document: &impl Serialize) -> String {
    canonical::text(document)
}

/// SHA-256 of a text in hexadecimal: the digest that is printed and listed.
pub fn digest(text: &str) -> String {
    hex::encode(Sha256::digest(text))
}

/// Whether a level is close to the limits of quantification of the laboratories, so
/// that its scores are to be read with care (D11): below three times their median,
/// where at least five stated one.
///
/// ```
/// use roundel_domain::certificate::is_near_loq;
///
/// let limits = [4.0, 5.0, 5.0, 6.0, 50.0];
/// assert!(is_near_loq(14.9, limits));
/// assert!(!is_near_loq(15.0, limits));
/// assert!(!is_near_loq(1.0, [5.0; 4]));
/// ```
pub fn is_near_loq(assigned_value: f64, limits: impl IntoIterator<Item = f64>) -> bool {
    const NEAR: f64 = 3.0;
    let Ok(limits) = Sample::new(limits) else { return false };
    limits.len() >= FEWEST_SHOWN && assigned_value < NEAR * summary::median(&limits)
}
