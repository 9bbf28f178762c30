//! The report of a round: what people write for it, and issuing it.

use super::{Refused, approval, field, messages, record};
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::mail::{Corrected, Post};
use crate::report::{gather, identified};
use crate::{clock, secret};
use jiff::Timestamp;
use roundel_documents::report::{Replaces, Report};
use roundel_domain::access::Actor;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::id::{ReportId, ReportTextId};
use roundel_domain::report::{Heading, SaidForm, Status, codes_in, may_issue};
use roundel_domain::round::Round;
use roundel_domain::text;
use roundel_store::reports::{self, Head, NewReport, NewText};
use roundel_store::{Tx, participants, rounds};

/// Writes what stands under a heading of the report.
///
/// # Errors
///
/// Neither or both of text and reason, codes that were not confirmed; a conflict before
/// the round is closed.
pub async fn say(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    heading: Heading,
    form: &SaidForm,
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_comment()?;
    if round.state.closed_at().is_none() {
        return Err(Error::conflict("conflict-not-closed").into());
    }
    let codes = participants::of_round(tx, round.id).await?;
    let (said, found) = form.parse(codes.iter().map(|participant| participant.code.as_str()))?;
    let codes = found.join(" ");
    let new = NewText {
        id: ReportTextId(clock::new_id()),
        round: round.id,
        heading,
        said: &said,
        codes: &codes,
        at: now,
        by: actor.user(),
    };
    reports::insert_text(tx, &new).await?;
    let detail = if found.is_empty() { heading.word().to_owned() } else { format!("{}, {codes}", heading.word()) };
    Ok(record(tx, actor, "report-text", round, &detail, now).await?)
}

/// The report that holds of those issued: the newest final or corrected one.
///
/// # Errors
///
/// When a row holds a word that is none of ours.
pub fn holding(heads: &[Head]) -> Result<Option<&Head>, Error> {
    for head in heads {
        if head.status()?.must_be_complete() && head.superseded_by.is_none() {
            return Ok(Some(head));
        }
    }
    Ok(None)
}

/// What the organiser asks for.
#[derive(Clone, Copy, Debug)]
pub struct Issue<'a> {
    /// The status of the report.
    pub status: Status,
    /// Why it is corrected, as typed; empty for others.
    pub reason: &'a str,
}

/// Issues a report of an evaluation; its version. The evaluation is the published one,
/// or the newest before publication and while a correction is open. `stale` where decisions were made
/// that the evaluation does not hold. A final report is never edited: after it comes a
/// corrected one, with a reason, in its place, and all laboratories of the round, who
/// had the old one, are told in the same transaction.
///
/// # Errors
///
/// A status that is not the next step, or something that is missing of what a final
/// report must have; a missing reason, or one that names a laboratory's code, since it
/// goes out by mail; a conflict when another report was issued at
/// the same time.
pub async fn issue(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    (evaluated, stale): (&Evaluated, bool),
    asked: Issue<'_>,
    post: &Post,
    now: Timestamp,
) -> Result<i64, Refused> {
    let status = asked.status;
    actor.may_issue_reports()?;
    if round.state.closed_at().is_none() || !rounds::hold(tx, round.id, &round.state).await? {
        return Err(Error::conflict("conflict-not-closed").into());
    }
    let heads = reports::of_round(tx, round.id).await?;
    let before = holding(&heads)?;
    let correcting = approval::open(tx, round).await?.is_some();
    let gathered = gather(tx, round, evaluated, stale).await?;
    may_issue(status, round.is_published(), correcting, before.is_some(), &gathered.lines)
        .map_err(|problem| field("status", problem))?;
    let mut errors = FieldErrors::new();
    let mut reason = String::new();
    if status == Status::Corrected {
        reason = text::reason(&mut errors, "reason", asked.reason);
        let all = participants::of_round(tx, round.id).await?;
        let found = codes_in(&reason, all.iter().map(|participant| participant.code.as_str()));
        if !found.is_empty() {
            errors.push("reason", Problem::new("report-reason-codes").with("codes", found.join(", ")));
        }
    }
    errors.into_result(())?;
    let version = heads.first().map_or(1, |newest| newest.version + 1);
    let mut report = identified(gathered.report, status, version, now);
    // While a correction is open the newest evaluation is nobody's but the staff's.
    if !round.is_published() || correcting {
        report.publication = None;
        report.authorised = None;
    }
    let replaces = before.filter(|_| status == Status::Corrected).map(|before| before.version);
    if let Some(replaced) = replaces {
        let document = reports::document(tx, round.id, replaced).await?.ok_or(Error::NotFound)?;
        let old = Report::from_json(&document).map_err(|error| unreadable(&error))?;
        let changed = report.changes_from(&old);
        report.replaces = Some(Replaces { version: replaced, reason: reason.clone(), changed });
    }
    let document = report.to_json().map_err(|error| unreadable(&error))?;
    let changed = report.replaces.as_ref().map(|replaces| serde_json::to_string(&replaces.changed)).transpose();
    let changed = changed.map_err(|error| Error::Fault(format!("write what a report changed: {error}")))?;
    let id = ReportId(clock::new_id());
    let new = NewReport {
        id,
        round: round.id,
        version,
        publication: report.publication,
        status,
        replaces,
        reason: &reason,
        changed: changed.as_deref(),
        document: &document,
        sha256: &secret::sha256(&document),
        at: now,
        by: actor.user(),
    };
    match reports::insert(tx, &new).await {
        Err(roundel_store::Error::Exists) => return Err(field("status", Problem::new("report-issued-meanwhile"))),
        stored => stored?,
    }
    if let Some(replaced) = &report.replaces {
        let told = Corrected { version, replaces: replaced.version, reason: &reason, changed: &replaced.changed };
        let told = messages::report_correction(tx, round, told, post, now).await?;
        reports::insert_notices(tx, id, &told).await?;
    }
    record(tx, actor, "report-issued", round, &format!("{version}, {}", status.word()), now).await?;
    Ok(version)
}

fn unreadable(error: &roundel_documents::Error) -> Error {
    Error::Fault(format!("read or write a report: {error}"))
}
