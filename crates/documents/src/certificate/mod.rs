//! The certificate of one laboratory for one round, as a PDF (PDF/A-3a, PDF/UA-1).
//!
//! A certificate is a function of its data: the same [`Certificate`] gives the same
//! bytes on every machine and on any number of threads. Contents follow
//! ISO/IEC 17043:2023, 7.4.3 (statements of participation from memory).
//!
//! [`render`] takes a tenth of a second of one core and some tens of megabytes:
//! call it where blocking is allowed. At most as many run at once as there are
//! cores; further calls wait.

mod data;
mod proof;
mod table;

pub use crate::Error;

use crate::figure::own_scores::OwnScores;
use crate::mark::{Limits, Mark, ScoreKind};
use crate::typeset::{self, Template};
use crate::words::Words;

/// Everything that is printed on a certificate.
///
/// Texts are shown as they are; numbers of type `f64` are formatted here; numbers
/// of type `String` are what the laboratory typed and are printed so.
#[derive(Clone, Debug, PartialEq)]
pub struct Certificate {
    /// A statement of registration, for a laboratory with no valid result:
    /// no tables, no counts, no figure, no performance.
    pub registration: bool,
    /// Demonstration data: said on every page.
    pub demonstration: bool,
    /// Language tag of the texts, as `en`.
    pub language: String,
    /// The scheme's name.
    pub scheme: String,
    /// The round's code, as `QW-1`.
    pub round: String,
    /// The round's title.
    pub round_title: String,
    /// The certificate's number.
    pub number: String,
    /// Its version, from 1.
    pub version: u32,
    /// Number of the certificate that it replaces, and why.
    pub replaces: Option<Replaces>,
    /// The day of issue.
    pub issued: Day,
    /// Its status.
    pub status: Status,
    /// Who runs the scheme.
    pub provider: Provider,
    /// Whose certificate it is.
    pub laboratory: Laboratory,
    /// The items of the round that the laboratory had.
    pub items: Vec<Item>,
    /// Dates as they are shown, in the order of time, as ("Results received",
    /// "12 April 2024, 14:03 UTC").
    pub dates: Vec<(String, String)>,
    /// The results came after the deadline.
    pub late: bool,
    /// One table per item.
    pub tables: Vec<Table>,
    /// Analytes of the round that the laboratory did not report.
    pub not_reported: Vec<NotReported>,
    /// The counts over all tables.
    pub counts: Counts,
    /// Remarks on the laboratory's uncertainties, whole sentences.
    pub uncertainty_remarks: Vec<String>,
    /// Limits of each kind of score that is used here.
    pub limits: Vec<(ScoreKind, Limits)>,
    /// Some assigned value is a consensus of participants: prints its caution.
    pub consensus: bool,
    /// The figures of all scores; one, or more where limits differ.
    pub figures: Vec<OwnScores>,
    /// Round and number of the publication, as "round QW-1, publication 1".
    pub report: Option<String>,
    /// Name and function of who authorised the certificate.
    pub authorised_by: Option<String>,
    /// Where it is said whether a version was replaced, as an address.
    pub notice_board: Option<String>,
    /// What the scores can be recomputed from.
    pub evidence: Option<Evidence>,
    /// The machine-readable copy, carried inside the PDF.
    pub attachment: Option<Attachment>,
    /// What the certificate is proved with; none of one that is not signed.
    pub proof: Option<Proof>,
    /// A keyword of the file, in whose place the signature of the whole file is written
    /// afterwards; empty of one that is not signed.
    pub keyword: String,
}

/// What a certificate is proved with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Proof {
    /// Address that says whether it still stands; the QR code holds it.
    pub address: String,
    /// SHA-256 of the signed statement, in hexadecimal.
    pub sha256: String,
    /// Name of the key that signed it.
    pub key_id: String,
    /// Address where the keys are, and how a certificate is checked.
    pub keys: String,
    /// Address of the list of what does not stand any more.
    pub notices: String,
    /// The day up to which that list was empty of this certificate.
    pub issued: String,
}

/// A calendar day, and how it is shown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Day {
    /// Year of the Gregorian calendar.
    pub year: i32,
    /// 1 to 12.
    pub month: u8,
    /// 1 to 31.
    pub day: u8,
    /// As it is printed, as "18 April 2024".
    pub text: String,
}

/// The certificate that this one replaces.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Replaces {
    /// Its number and version, as shown.
    pub number: String,
    /// Why, one sentence.
    pub reason: String,
}

/// The status of a certificate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Before the evaluation is final; said on every page.
    Preliminary,
    /// Between two final evaluations; said on every page.
    Interim,
    /// Final.
    Final,
    /// Final, in the place of an earlier one.
    Corrected,
    /// A later one took its place; said on every page.
    Superseded,
    /// It was taken back; said on every page.
    Withdrawn,
}

/// Who runs the scheme.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Provider {
    /// Name.
    pub name: String,
    /// Lines of address and contact.
    pub contact: Vec<String>,
    /// The accreditation statement, a whole sentence; `None` prints that the
    /// provider is not accredited for this scheme.
    pub accreditation: Option<String>,
}

/// Whose certificate it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Laboratory {
    /// Name; `None` where the laboratory chose to appear by its code only.
    pub name: Option<String>,
    /// Site or address, one line.
    pub site: Option<String>,
    /// The code of the round.
    pub code: String,
}

/// An item of the round.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// Its name, as "Item B".
    pub name: String,
    /// Its matrix, as "river water".
    pub matrix: String,
    /// The code of the laboratory's unit, where units have one.
    pub unit_code: Option<String>,
}

/// The results in one item.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// The item, as "Item B, river water".
    pub item: String,
    /// In the order of the form.
    pub rows: Vec<Row>,
}

/// One result and its evaluation.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The analyte.
    pub analyte: String,
    /// What it is expressed as, where the plan says so, as "as free base".
    pub basis: Option<String>,
    /// The result as it was typed, as "136" or "<25".
    pub reported: String,
    /// The unit as it was reported.
    pub unit: String,
    /// The value in the unit of the scheme, with that unit, where it was another.
    pub converted: Option<String>,
    /// U as it was typed.
    pub expanded_uncertainty: Option<String>,
    /// k as it was typed.
    pub coverage_factor: Option<String>,
    /// x_pt, in the unit of the scheme.
    pub assigned_value: Option<f64>,
    /// u(x_pt), in the same unit; printed is U(x_pt) with k = 2.
    pub standard_uncertainty: Option<f64>,
    /// How x_pt was found.
    pub route: Option<Route>,
    /// σ_pt, in the same unit.
    pub sigma_pt: Option<f64>,
    /// D %, in percent.
    pub difference_percent: Option<f64>,
    /// The deciding score, of a value or as the bound of a "<".
    pub score: Option<RowScore>,
    /// The class.
    pub mark: Mark,
    /// What is said of detection, where there is something to say.
    pub verdict: Option<Verdict>,
    /// Whether the required limit of quantification was met by a "<".
    pub loq: Option<Loq>,
    /// The unit of the scheme: that of x_pt, σ_pt and the required limit.
    pub scheme_unit: String,
    /// Marks on the row.
    pub notes: Vec<RowNote>,
}

/// The score of a row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RowScore {
    /// Its kind.
    pub kind: ScoreKind,
    /// The unrounded number.
    pub value: f64,
    /// It is the bound of a "<": the score lies below it.
    pub bound: bool,
}

/// How an assigned value was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Route {
    /// By formulation.
    Formulation,
    /// From a certified reference material.
    Reference,
    /// From expert laboratories.
    Expert,
    /// From the results of the participants.
    Participants,
}

/// What is said of detection.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// "<" although the analyte is there well above the limit.
    FalseNegative,
    /// A value although the analyte is absent.
    FalsePositive,
    /// A small value although the analyte is absent; not judged.
    Trace,
    /// "<" of an absent analyte.
    CorrectlyNotDetected,
}

/// A "<" against the limit of quantification that the plan asks for.
#[derive(Clone, Debug, PartialEq)]
pub struct Loq {
    /// The required limit, in the unit of the scheme.
    pub required: f64,
    /// The reported limit is not above it.
    pub met: bool,
}

impl Row {
    /// Whether its laboratory withdrew the result.
    pub(crate) fn is_withdrawn(&self) -> bool {
        self.notes.iter().any(|note| matches!(note, RowNote::Withdrawn(_)))
    }
}

/// A mark on a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RowNote {
    /// The uncertainty of the assigned value is not negligible.
    Qualified,
    /// The level is close to the limits of quantification.
    NearLoq,
    /// Left out of consensus and summary, for this reason.
    Excluded(String),
    /// Withdrawn by the laboratory, as the reason says.
    Withdrawn(String),
    /// Why there is no class or no score.
    NoClass(String),
    /// Another remark, a whole sentence.
    Remark(String),
}

/// An analyte that was not reported.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotReported {
    /// The item.
    pub item: String,
    /// The analyte.
    pub analyte: String,
    /// Why, as the laboratory gave it; may be empty.
    pub reason: String,
}

/// Counts over a certificate.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
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
    /// Without a score, for another reason than that it was withdrawn.
    pub not_scored: u32,
    /// Withdrawn by the laboratory, and so without a score.
    pub withdrawn: u32,
    /// False positives.
    pub false_positives: u32,
    /// False negatives.
    pub false_negatives: u32,
}

impl Counts {
    /// Counts the rows of `tables`.
    pub fn of(tables: &[Table]) -> Counts {
        let mut counts = Counts::default();
        for row in tables.iter().flat_map(|table| &table.rows) {
            match row.mark {
                Mark::Within => counts.acceptable += 1,
                Mark::Warning => counts.questionable += 1,
                Mark::Action => counts.unacceptable += 1,
                Mark::InformationOnly => counts.information_only += 1,
                Mark::NotScored if row.is_withdrawn() => counts.withdrawn += 1,
                Mark::NotScored => counts.not_scored += 1,
            }
            match row.verdict {
                Some(Verdict::FalsePositive) => counts.false_positives += 1,
                Some(Verdict::FalseNegative) => counts.false_negatives += 1,
                _ => {}
            }
        }
        counts.scored = counts.acceptable + counts.questionable + counts.unacceptable;
        counts
    }
}

/// What the scores can be recomputed from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Evidence {
    /// SHA-256 of the round package, in hexadecimal.
    pub package_sha256: String,
    /// SHA-256 of the round evaluation, in hexadecimal.
    pub evaluation_sha256: String,
    /// The program that made the evaluation, as `roundel 0.1.0`.
    pub engine: String,
}

/// A file carried inside the PDF.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Attachment {
    /// File name, as `QW-1-RXLF.json`.
    pub name: String,
    /// Media type, as `application/json`.
    pub media_type: String,
    /// Its content.
    pub bytes: Vec<u8>,
}

/// The certificate as a PDF.
///
/// Characters that no carried font has are printed as a question mark in a
/// diamond (U+FFFD); the document does not fail for them.
///
/// # Errors
///
/// [`Error`] when the document cannot be set or exported: a fault of the template,
/// not of the data.
pub fn render(certificate: &Certificate, words: &Words) -> Result<Vec<u8>, Error> {
    let identifier = format!("{} version {}", certificate.number, certificate.version);
    let attachment = certificate.attachment.as_ref().map_or(&[][..], |file| &file.bytes);
    typeset::pdf(Template::Certificate, &data::data(certificate, words), attachment, &identifier)
}
