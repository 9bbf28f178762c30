//! Reports of rounds as they were issued, and what people wrote for them. Rows are
//! only ever inserted: the newest text of a heading counts, and a report is replaced
//! by another, never edited.

use crate::row::{Micros, corrupt};
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{ReportId, ReportTextId, RoundId, UserId};
use roundel_domain::report::{Heading, Said, Status};

/// A text to be stored.
#[derive(Clone, Copy, Debug)]
pub struct NewText<'a> {
    /// Its name for good.
    pub id: ReportTextId,
    /// For the report of which round.
    pub round: RoundId,
    /// Under which heading.
    pub heading: Heading,
    /// The text, or why there is none.
    pub said: &'a Said,
    /// Codes of laboratories in it, confirmed by who wrote it, with spaces between.
    pub codes: &'a str,
    /// When.
    pub at: Timestamp,
    /// By whom.
    pub by: UserId,
}

/// Stores a text.
///
/// # Errors
///
/// What the driver says, also for a text that has neither or both of its parts.
pub async fn insert_text(tx: &mut Tx, new: &NewText<'_>) -> Result<(), Error> {
    tx.query(
        "INSERT INTO report_texts (id, round_id, heading, text, not_applicable, codes, made_at, made_by) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
    )
    .bind(new.id.0)
    .bind(new.round.0)
    .bind(new.heading.word())
    .bind(new.said.text.as_str())
    .bind(new.said.not_applicable.as_str())
    .bind(new.codes)
    .bind(new.at.as_microsecond())
    .bind(new.by.0)
    .execute()
    .await?;
    Ok(())
}

/// A text as read.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Text {
    heading: String,
    text: String,
    not_applicable: String,
    /// Codes of laboratories in it, with spaces between.
    pub codes: String,
    /// Who wrote it.
    pub by: String,
    #[sqlx(try_from = "i64")]
    made_at: Micros,
}

impl Text {
    /// Under which heading.
    ///
    /// # Errors
    ///
    /// When the row holds a word that is none of ours.
    pub fn heading(&self) -> Result<Heading, Error> {
        Heading::of(&self.heading).ok_or_else(|| corrupt("a text of a report"))
    }

    /// The text, or why there is none.
    pub fn said(&self) -> Said {
        Said { text: self.text.clone(), not_applicable: self.not_applicable.clone() }
    }

    /// When.
    pub fn at(&self) -> Timestamp {
        self.made_at.0
    }
}

/// The texts of a round that count, one a heading.
///
/// # Errors
///
/// What the driver says.
pub async fn texts(tx: &mut Tx, round: RoundId) -> Result<Vec<Text>, Error> {
    tx.query(
        "SELECT t.heading, t.text, t.not_applicable, t.codes, u.name AS by, t.made_at FROM report_texts t \
         JOIN users u ON u.id = t.made_by WHERE t.round_id = $1 AND NOT EXISTS (SELECT 1 FROM report_texts n \
         WHERE n.round_id = t.round_id AND n.heading = t.heading \
         AND (n.made_at > t.made_at OR (n.made_at = t.made_at AND n.id > t.id))) ORDER BY t.heading",
    )
    .bind(round.0)
    .all()
    .await
}

/// A report to be stored.
#[derive(Clone, Copy, Debug)]
pub struct NewReport<'a> {
    /// Its name for good.
    pub id: ReportId,
    /// Of which round.
    pub round: RoundId,
    /// Its number in the round, from 1.
    pub version: i64,
    /// Number of the publication that it reports; none before one.
    pub publication: Option<i64>,
    /// Its status.
    pub status: Status,
    /// Number of the report that it replaces; of a corrected one only.
    pub replaces: Option<i64>,
    /// Why it replaces it; empty for others.
    pub reason: &'a str,
    /// Its content, `roundel-report/1`.
    pub document: &'a str,
    /// SHA-256 of the content.
    pub sha256: &'a str,
    /// When it was issued.
    pub at: Timestamp,
    /// By whom.
    pub by: UserId,
}

/// Stores a report.
///
/// # Errors
///
/// [`Error::Exists`] when the round has this version or a final report, or when what
/// it replaces was replaced before; what the driver says for a status that does not go
/// with the rest.
pub async fn insert(tx: &mut Tx, new: &NewReport<'_>) -> Result<(), Error> {
    tx.query(
        "INSERT INTO reports (id, round_id, version, publication_id, status, replaces_id, reason, document, sha256, \
         issued_at, issued_by) VALUES ($1, $2, $3, (SELECT id FROM publications WHERE round_id = $2 AND number = $4), \
         $5, (SELECT id FROM reports WHERE round_id = $2 AND version = $6), $7, $8, $9, $10, $11)",
    )
    .bind(new.id.0)
    .bind(new.round.0)
    .bind(new.version)
    .bind(new.publication)
    .bind(new.status.word())
    .bind(new.replaces)
    .bind(new.reason)
    .bind(new.document)
    .bind(new.sha256)
    .bind(new.at.as_microsecond())
    .bind(new.by.0)
    .execute()
    .await?;
    Ok(())
}

/// A report without its content.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Head {
    /// Its number in the round, from 1.
    pub version: i64,
    status: String,
    /// Number of the publication that it reports; none before one.
    pub publication: Option<i64>,
    /// Number of the report that took its place; none while it holds.
    pub superseded_by: Option<i64>,
    /// Why it replaced another; empty for others.
    pub reason: String,
    /// SHA-256 of its content.
    pub sha256: String,
    /// Who issued it.
    pub by: String,
    #[sqlx(try_from = "i64")]
    issued_at: Micros,
}

impl Head {
    /// Its status.
    ///
    /// # Errors
    ///
    /// When the row holds a word that is none of ours.
    pub fn status(&self) -> Result<Status, Error> {
        Status::of(&self.status).ok_or_else(|| corrupt("a report"))
    }

    /// When it was issued.
    pub fn at(&self) -> Timestamp {
        self.issued_at.0
    }
}

/// The reports of a round, newest first.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<Head>, Error> {
    tx.query(
        "SELECT r.version, r.status, p.number AS publication, n.version AS superseded_by, r.reason, r.sha256, \
         u.name AS by, r.issued_at FROM reports r JOIN users u ON u.id = r.issued_by \
         LEFT JOIN publications p ON p.id = r.publication_id LEFT JOIN reports n ON n.replaces_id = r.id \
         WHERE r.round_id = $1 ORDER BY r.version DESC",
    )
    .bind(round.0)
    .all()
    .await
}

/// The content of a report.
///
/// # Errors
///
/// What the driver says.
pub async fn document(tx: &mut Tx, round: RoundId, version: i64) -> Result<Option<String>, Error> {
    let found: Option<(String,)> = tx
        .query("SELECT document FROM reports WHERE round_id = $1 AND version = $2")
        .bind(round.0)
        .bind(version)
        .optional()
        .await?;
    Ok(found.map(|(document,)| document))
}
