//! The comments on each round of the demonstration, and its final report.

use super::{Staff, fault};
use crate::actions::reports::{self, Issue};
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::mail::Post;
use jiff::Timestamp;
use roundel_domain::report::{Heading, SaidForm, Status};
use roundel_store::{Db, rounds};

/// What is written under each heading; an empty text has its reason in its place.
type Comments = [(Heading, &'static str, &'static str); 10];

const FIRST: Comments = [
    (
        Heading::Expectation,
        "Most laboratories met the criterion of 25 % in most measurands, as the plan expected of laboratories that \
         measure trace organic contaminants in routine.\n\nWhere many scores lie beyond a limit the causes are few and \
         named below: a wrong unit, a wrong form of the analyte, calibration in solvent.",
        "",
    ),
    (
        Heading::Variation,
        "Single results were asked for, so nothing is said of repeatability within laboratories. Between laboratories \
         the robust standard deviation is near 20 % at the levels of items B and C and larger in item A, where several \
         contents are near the limits of quantification.",
        "",
    ),
    (Heading::Earlier, "", "It is the first round of the scheme; there is nothing of its own to compare with."),
    (
        Heading::Methods,
        "For hydrochlorothiazide laboratories that calibrate in solvent found less than all others. The groups are \
         in section o; they were not assigned by lot.",
        "",
    ),
    (
        Heading::Errors,
        "Results a thousand times too small or too large (unit), results of two items exchanged, results reported as a \
         salt or as equivalents of the parent, and single results ten times beside the others (dilution).",
        "",
    ),
    (
        Heading::Advice,
        "Check the unit of the form before sending. Say in which form an analyte is reported. Use an isotope-labelled \
         standard of its own for analytes whose response the matrix suppresses.",
        "",
    ),
    (
        Heading::Unusual,
        "Parcels to three countries were held up by a strike of the carrier; the deadline was moved for all. \
         Erythromycin did not keep over the time of the round and is for information only.",
        "",
    ),
    (
        Heading::Conclusions,
        "The round shows that the laboratories can measure most of the contaminants well enough for the purpose, and \
         which four analytes need attention.",
        "",
    ),
    (
        Heading::Items,
        "Where no study is kept, units are filled from one batch of stirred water in one day like those that were \
         studied, and stored with them at 4 °C in the dark.",
        "",
    ),
    (
        Heading::Recommendations,
        "The next round will have amisulpride in all items and higher contents in item A. Please tell us about \
         instructions that were not clear.",
        "",
    ),
];

const LATER: Comments = [
    (Heading::Expectation, "Most laboratories met the criterion of the plan in most measurands.", ""),
    (
        Heading::Variation,
        "Single results were asked for, so nothing is said of repeatability within laboratories. Between laboratories \
         the spread is near 20 % where contents are well above the limits of quantification.",
        "",
    ),
    (
        Heading::Earlier,
        "The slips of writing of the first round were not repeated. The share of unacceptable scores is smaller, and \
         hydrochlorothiazide is closer to the assigned value since more laboratories use a labelled standard.",
        "",
    ),
    (Heading::Methods, "Differences between groups of methods are in section o; they were not assigned by lot.", ""),
    (
        Heading::Errors,
        "Results reported as a salt or as equivalents of the parent, and contents near the own limit of quantification.",
        "",
    ),
    (Heading::Advice, "Say in which form an analyte is reported, and look at your scores over the rounds.", ""),
    (Heading::Unusual, "", "Nothing unusual happened in this round."),
    (Heading::Conclusions, "The performance of the group is stable and better than in the first round.", ""),
    (
        Heading::Items,
        "Where no study is kept, units are filled from one batch of stirred water in one day like those that were \
         studied, and stored with them at 4 °C in the dark.",
        "",
    ),
    (Heading::Recommendations, "The next round keeps analytes and matrices.", ""),
];

/// The reviewer and the statistician write the comments, and the organiser issues the
/// final report of a published round.
pub(super) async fn issue(db: &Db, staff: &Staff, code: &str, post: &Post, at: Timestamp) -> Result<(), Error> {
    let comments = if code == "QW-1" { &FIRST } else { &LATER };
    let mut tx = db.write().await?;
    let round = rounds::by_code(&mut tx, code).await?.ok_or(Error::NotFound)?;
    for (heading, text, not_applicable) in comments {
        let form =
            SaidForm { text: (*text).to_owned(), not_applicable: (*not_applicable).to_owned(), confirmed: false };
        reports::say(&mut tx, &staff.reviewer, &round, *heading, &form, at).await.map_err(fault)?;
    }
    let (_, evaluation) = round.state.published().ok_or(Error::NotFound)?;
    let evaluated = Evaluated::load(&mut tx, evaluation).await?;
    let (asked, basis) = (Issue { status: Status::Final, reason: "" }, (&evaluated, false));
    reports::issue(&mut tx, &staff.organiser, &round, basis, asked, post, at).await.map_err(fault)?;
    Ok(tx.commit().await?)
}

/// The organiser replaces the final report after a correction was published.
pub(super) async fn correct(
    db: &Db,
    staff: &Staff,
    code: &str,
    reason: &str,
    post: &Post,
    at: Timestamp,
) -> Result<(), Error> {
    let mut tx = db.write().await?;
    let round = rounds::by_code(&mut tx, code).await?.ok_or(Error::NotFound)?;
    let (_, evaluation) = round.state.published().ok_or(Error::NotFound)?;
    let evaluated = Evaluated::load(&mut tx, evaluation).await?;
    let (asked, basis) = (Issue { status: Status::Corrected, reason }, (&evaluated, false));
    reports::issue(&mut tx, &staff.organiser, &round, basis, asked, post, at).await.map_err(fault)?;
    Ok(tx.commit().await?)
}
