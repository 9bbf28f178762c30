//! Reports of rounds as they were issued, and what people wrote for them. Rows are
//! only ever inserted: the newest text of a heading counts, and a report is replaced
//! by another, never edited.

use crate::row::{Micros, corrupt};
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{ParticipantId, ReportId, ReportTextId, RoundId, UserId};
use roundel_domain::report::{Heading, Said, Status};
use std::sync::LazyLock;

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
    /// What it changed of that, as JSON; of a corrected one only.
    pub changed: Option<&'a str>,
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
         issued_at, issued_by, changed) VALUES ($1, $2, $3, \
         (SELECT id FROM publications WHERE round_id = $2 AND number = $4), \
         $5, (SELECT id FROM reports WHERE round_id = $2 AND version = $6), $7, $8, $9, $10, $11, $12)",
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
    .bind(new.changed)
    .execute()
    .await?;
    Ok(())
}

/// How many notices one statement inserts: with three values each, far from what the
/// databases take at most.
const ROWS: usize = 32;

/// The head of an insertion of notices, and as many rows of placeholders as are asked
/// for.
fn insertion(rows: usize) -> String {
    let row = |row: usize| format!("(${}, ${}, ${})", row * 3 + 1, row * 3 + 2, row * 3 + 3);
    let rows: Vec<String> = (0..rows).map(row).collect();
    format!("INSERT INTO report_notices (report_id, participant_id, messages) VALUES {}", rows.join(", "))
}

static MANY: LazyLock<String> = LazyLock::new(|| insertion(ROWS));
static ONE: LazyLock<String> = LazyLock::new(|| insertion(1));

/// Keeps who is told that a report took the place of another: participants, each with
/// the number of messages that were written to it.
///
/// # Errors
///
/// [`Error::Exists`] for a participant that was told of it before.
pub async fn insert_notices(tx: &mut Tx, report: ReportId, told: &[(ParticipantId, i64)]) -> Result<(), Error> {
    let (many, rest) = told.as_chunks::<ROWS>();
    let many = many.iter().map(|chunk| (MANY.as_str(), chunk.as_slice()));
    for (sql, chunk) in many.chain(rest.chunks(1).map(|chunk| (ONE.as_str(), chunk))) {
        let mut statement = tx.query(sql);
        for (participant, messages) in chunk {
            statement = statement.bind(report.0).bind(participant.0).bind(*messages);
        }
        statement.execute().await?;
    }
    Ok(())
}

/// What a participant is told of a report that took the place of one that it had.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Notice {
    /// The report's version.
    pub version: i64,
    /// The version that it replaces.
    pub replaces: i64,
    /// Why.
    pub reason: String,
    /// What it changed, as JSON; none where that was not kept.
    pub changed: Option<String>,
    #[sqlx(try_from = "i64")]
    issued_at: Micros,
}

impl Notice {
    /// When it was issued.
    pub fn at(&self) -> Timestamp {
        self.issued_at.0
    }
}

/// What a participant is told of its round's reports, the newest first.
///
/// # Errors
///
/// What the driver says.
pub async fn notices(tx: &mut Tx, participant: ParticipantId) -> Result<Vec<Notice>, Error> {
    tx.query(
        "SELECT r.version, o.version AS replaces, r.reason, r.changed, r.issued_at FROM report_notices n \
         JOIN reports r ON r.id = n.report_id JOIN reports o ON o.id = r.replaces_id \
         WHERE n.participant_id = $1 ORDER BY r.version DESC",
    )
    .bind(participant.0)
    .all()
    .await
}

/// How many laboratories were told of a report, and by how many messages.
#[derive(Clone, Copy, Debug, PartialEq, Eq, sqlx::FromRow)]
pub struct Told {
    /// The report's version.
    pub version: i64,
    /// Laboratories.
    pub laboratories: i64,
    /// Messages.
    pub messages: i64,
}

/// Who was told of the reports of a round, by report.
///
/// # Errors
///
/// What the driver says.
pub async fn told(tx: &mut Tx, round: RoundId) -> Result<Vec<Told>, Error> {
    tx.query(
        "SELECT r.version, count(*) AS laboratories, CAST(sum(n.messages) AS BIGINT) AS messages \
         FROM report_notices n JOIN reports r ON r.id = n.report_id \
         WHERE r.round_id = $1 GROUP BY r.version ORDER BY r.version",
    )
    .bind(round.0)
    .all()
    .await
}

/// A report that does not stand any more.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Superseded {
    /// SHA-256 of its content.
    pub sha256: String,
    #[sqlx(try_from = "i64")]
    since: Micros,
}

impl Superseded {
    /// When another took its place.
    pub fn since(&self) -> Timestamp {
        self.since.0
    }
}

/// All reports whose place another took, by digest: in no order that says of which
/// round they are.
///
/// # Errors
///
/// What the driver says.
pub async fn superseded(tx: &mut Tx) -> Result<Vec<Superseded>, Error> {
    tx.query(
        "SELECT o.sha256, MIN(r.issued_at) AS since FROM reports r JOIN reports o ON o.id = r.replaces_id \
         GROUP BY o.sha256 ORDER BY o.sha256",
    )
    .all()
    .await
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
