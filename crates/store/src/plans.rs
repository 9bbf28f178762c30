//! Frozen plans with their signatures, the checklist, and sealed assigned values.
//! Rows of plans, signatures and seals are only ever inserted.

use crate::row::{Micros, corrupt};
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::access::Duty;
use roundel_domain::checklist::Checklist;
use roundel_domain::frozen::{Document, Meaning};
use roundel_domain::id::{PlanId, RoundId, UserId};
use uuid::Uuid;

/// The texts of the checklist of a round.
///
/// # Errors
///
/// What the driver says.
pub async fn checklist(tx: &mut Tx, round: RoundId) -> Result<Checklist, Error> {
    let text: String = tx.query("SELECT checklist FROM rounds WHERE id = $1").bind(round.0).value().await?;
    serde_json::from_str(&text).map_err(|_| corrupt("a checklist"))
}

/// Writes the texts of the checklist of a round that is being set up. False when
/// it is open already.
///
/// # Errors
///
/// What the driver says.
pub async fn set_checklist(tx: &mut Tx, round: RoundId, checklist: &Checklist) -> Result<bool, Error> {
    let text = serde_json::to_string(checklist).expect("a checklist has only texts");
    let sql = "UPDATE rounds SET checklist = $1 WHERE id = $2 AND state = 'draft'";
    Ok(tx.query(sql).bind(text).bind(round.0).execute().await? == 1)
}

/// A version to be written.
#[derive(Clone, Copy, Debug)]
pub struct NewPlan<'a> {
    /// Its name for good.
    pub id: PlanId,
    /// The round.
    pub round: RoundId,
    /// 1 for the first.
    pub version: i64,
    /// The frozen text.
    pub document: &'a str,
    /// SHA-256 of the text.
    pub sha256: &'a str,
    /// SHA-256 of what the plan says, without version, time and author.
    pub content_sha256: &'a str,
    /// When it was frozen.
    pub at: Timestamp,
    /// Who froze it.
    pub by: UserId,
}

/// Writes a version.
///
/// # Errors
///
/// [`Error::Exists`] when the round has this version.
pub async fn insert(tx: &mut Tx, new: &NewPlan<'_>) -> Result<(), Error> {
    tx.query(
        "INSERT INTO plans (id, round_id, version, document, sha256, content_sha256, made_at, made_by) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
    )
    .bind(new.id.0)
    .bind(new.round.0)
    .bind(new.version)
    .bind(new.document)
    .bind(new.sha256)
    .bind(new.content_sha256)
    .bind(new.at.as_microsecond())
    .bind(new.by.0)
    .execute()
    .await?;
    Ok(())
}

/// A version of a plan.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Plan {
    /// Its name for good.
    #[sqlx(try_from = "Uuid")]
    pub id: PlanId,
    /// 1 for the first.
    pub version: i64,
    /// The frozen text.
    pub document: String,
    /// SHA-256 of the text.
    pub sha256: String,
    /// SHA-256 of what the plan says.
    pub content_sha256: String,
    #[sqlx(try_from = "i64")]
    made_at: Micros,
    /// Who froze it.
    #[sqlx(try_from = "Uuid")]
    pub made_by: UserId,
    withdrawn_at: Option<i64>,
    /// Name of who took it back; empty where nobody did.
    pub withdrawn_by: String,
}

impl Plan {
    /// When it was frozen.
    pub fn made_at(&self) -> Timestamp {
        self.made_at.0
    }

    /// When it was taken back.
    pub fn withdrawn_at(&self) -> Option<Timestamp> {
        self.withdrawn_at.and_then(|at| Timestamp::from_microsecond(at).ok())
    }

    /// What it says.
    ///
    /// # Errors
    ///
    /// When the stored text is no plan.
    pub fn read(&self) -> Result<Document, Error> {
        Document::parse(&self.document).map_err(|_| corrupt("a plan of a round"))
    }
}

/// The versions of a round's plan, the newest first.
///
/// # Errors
///
/// What the driver says.
pub async fn of_round(tx: &mut Tx, round: RoundId) -> Result<Vec<Plan>, Error> {
    tx.query(
        "SELECT p.id, p.version, p.document, p.sha256, p.content_sha256, p.made_at, p.made_by, w.withdrawn_at, \
         COALESCE(u.name, '') AS withdrawn_by FROM plans p LEFT JOIN plan_withdrawals w ON w.plan_id = p.id \
         LEFT JOIN users u ON u.id = w.withdrawn_by WHERE p.round_id = $1 ORDER BY p.version DESC",
    )
    .bind(round.0)
    .all()
    .await
}

/// A signature to be written.
#[derive(Clone, Copy, Debug)]
pub struct NewSignature {
    /// The version.
    pub plan: PlanId,
    /// What it means.
    pub meaning: Meaning,
    /// As what the person signs.
    pub duty: Duty,
    /// When.
    pub at: Timestamp,
    /// Who.
    pub by: UserId,
}

/// Writes a signature.
///
/// # Errors
///
/// [`Error::Exists`] when the version has a signature of this meaning, or of this
/// person.
pub async fn sign(tx: &mut Tx, new: &NewSignature) -> Result<(), Error> {
    tx.query("INSERT INTO plan_signatures (plan_id, meaning, duty, signed_at, signed_by) VALUES ($1, $2, $3, $4, $5)")
        .bind(new.plan.0)
        .bind(new.meaning.word())
        .bind(new.duty.word())
        .bind(new.at.as_microsecond())
        .bind(new.by.0)
        .execute()
        .await?;
    Ok(())
}

/// A signature.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Signature {
    /// The version.
    #[sqlx(try_from = "Uuid")]
    pub plan: PlanId,
    meaning: String,
    duty: String,
    /// Who signed.
    #[sqlx(try_from = "Uuid")]
    pub by: UserId,
    /// The person's name.
    pub name: String,
    #[sqlx(try_from = "i64")]
    signed_at: Micros,
}

impl Signature {
    /// What it means. The schema has no other words.
    pub fn meaning(&self) -> Meaning {
        Meaning::of(&self.meaning).unwrap_or(Meaning::Author)
    }

    /// As what the person signed.
    pub fn duty(&self) -> Duty {
        Duty::of(&self.duty).unwrap_or(Duty::Reviewer)
    }

    /// When.
    pub fn at(&self) -> Timestamp {
        self.signed_at.0
    }
}

/// The signatures on all versions of a round's plan, the oldest first.
///
/// # Errors
///
/// What the driver says.
pub async fn signatures(tx: &mut Tx, round: RoundId) -> Result<Vec<Signature>, Error> {
    tx.query(
        "SELECT s.plan_id AS plan, s.meaning, s.duty, s.signed_by AS by, u.name, s.signed_at \
         FROM plan_signatures s JOIN plans p ON p.id = s.plan_id JOIN users u ON u.id = s.signed_by \
         WHERE p.round_id = $1 ORDER BY s.signed_at, s.meaning",
    )
    .bind(round.0)
    .all()
    .await
}

/// Takes an amendment back.
///
/// # Errors
///
/// [`Error::Exists`] when that was done before.
pub async fn withdraw(tx: &mut Tx, plan: PlanId, by: UserId, now: Timestamp) -> Result<(), Error> {
    tx.query("INSERT INTO plan_withdrawals (plan_id, withdrawn_at, withdrawn_by) VALUES ($1, $2, $3)")
        .bind(plan.0)
        .bind(now.as_microsecond())
        .bind(by.0)
        .execute()
        .await?;
    Ok(())
}

/// The assigned values as they were sealed.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Sealed {
    /// The text, salt and values.
    pub document: String,
    /// SHA-256 of the text.
    pub sha256: String,
    #[sqlx(try_from = "i64")]
    sealed_at: Micros,
}

impl Sealed {
    /// When.
    pub fn at(&self) -> Timestamp {
        self.sealed_at.0
    }
}

/// Seals the assigned values of a round.
///
/// # Errors
///
/// [`Error::Exists`] when that was done before.
pub async fn seal(tx: &mut Tx, round: RoundId, document: &str, sha256: &str, now: Timestamp) -> Result<(), Error> {
    tx.query("INSERT INTO sealed_values (round_id, document, sha256, sealed_at) VALUES ($1, $2, $3, $4)")
        .bind(round.0)
        .bind(document)
        .bind(sha256)
        .bind(now.as_microsecond())
        .execute()
        .await?;
    Ok(())
}

/// The sealed values of a round; none where it is not open yet or has none.
///
/// # Errors
///
/// What the driver says.
pub async fn sealed(tx: &mut Tx, round: RoundId) -> Result<Option<Sealed>, Error> {
    tx.query("SELECT document, sha256, sealed_at FROM sealed_values WHERE round_id = $1").bind(round.0).optional().await
}
