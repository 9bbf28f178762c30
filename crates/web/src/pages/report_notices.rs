//! What laboratories are told of reports that took the place of others.

use super::Frame;
use crate::error::Error;
use crate::show;
use roundel_documents::report::{self, Changed};
use roundel_domain::id::ParticipantId;
use roundel_domain::round::Round;
use roundel_store::{Tx, reports};

/// What a laboratory is told of a corrected report.
pub struct ReportNotice {
    /// Which version took the place of which, and when.
    pub what: String,
    /// Why.
    pub reason: String,
    /// What changed, a sentence for each measurand.
    pub changed: Vec<String>,
    /// The version that holds.
    pub version: i64,
    /// The one that it replaces.
    pub replaces: i64,
}

/// What a participant is told of its round's reports, the newest first.
///
/// # Errors
///
/// What the database says.
pub async fn of(f: &Frame, tx: &mut Tx, round: &Round, participant: ParticipantId) -> Result<Vec<ReportNotice>, Error> {
    let notice = |notice: reports::Notice| {
        let changed: Option<Vec<Changed>> = notice.changed.as_deref().map(serde_json::from_str).transpose()?;
        let changed = match changed {
            Some(changed) if changed.is_empty() => vec![f.t("reports-notice-nothing")],
            Some(changed) => report::changes(&changed, &f.w),
            None => Vec::new(),
        };
        let at = show::instant(notice.at(), &round.time_zone);
        Ok(ReportNotice {
            what: f.t3("reports-notice", "version", notice.version, "replaces", notice.replaces, "at", at),
            reason: f.t1("reports-reason-was", "reason", notice.reason),
            changed,
            version: notice.version,
            replaces: notice.replaces,
        })
    };
    let all = reports::notices(tx, participant).await?;
    all.into_iter()
        .map(notice)
        .collect::<Result<_, serde_json::Error>>()
        .map_err(|error| Error::Fault(format!("read what a report changed: {error}")))
}
