//! Certificates as they were signed, their withdrawals, and how laboratories want
//! to appear on them. Rows are only ever inserted.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::{CertificateId, ParticipantId, PublicationId, RoundId, UserId};
use std::collections::HashSet;
use std::sync::LazyLock;
use uuid::Uuid;

/// Certificates with what became of them; what follows chooses among them.
macro_rules! certificates {
    ($which:literal) => {
        concat!(
            "SELECT c.id, c.code, c.statement, c.sha256, c.key_id, c.signature, c.issued_at, \
             (SELECT MIN(n.published_at) FROM publications n WHERE n.round_id = p.round_id AND n.number > p.number) \
             AS superseded_at, w.withdrawn_at \
             FROM certificates c JOIN publications p ON p.id = c.publication_id \
             LEFT JOIN certificate_withdrawals w ON w.certificate_id = c.id ",
            $which
        )
    };
}

/// A certificate to be stored.
#[derive(Clone, Debug)]
pub struct NewCertificate {
    /// Its name for good.
    pub id: CertificateId,
    /// Whose.
    pub participant: ParticipantId,
    /// The random name in its address.
    pub code: String,
    /// Exactly the text that is signed.
    pub statement: String,
    /// SHA-256 of that text, in hexadecimal.
    pub sha256: String,
    /// The signature, in Base64.
    pub signature: String,
}

/// How many rows one statement inserts: with nine values each, far from what the
/// databases take at most.
const ROWS: usize = 16;

/// The head of an insertion, and as many rows of placeholders as are asked for.
fn insertion(rows: usize) -> String {
    let row = |row: usize| {
        let places: Vec<String> = (1..=9).map(|place| format!("${}", row * 9 + place)).collect();
        format!("({})", places.join(", "))
    };
    let rows: Vec<String> = (0..rows).map(row).collect();
    format!(
        "INSERT INTO certificates (id, publication_id, participant_id, code, statement, sha256, key_id, signature, \
         issued_at) VALUES {}",
        rows.join(", ")
    )
}

static MANY: LazyLock<String> = LazyLock::new(|| insertion(ROWS));
static ONE: LazyLock<String> = LazyLock::new(|| insertion(1));

/// Stores the certificates of a publication, which all were signed by one key.
///
/// # Errors
///
/// [`Error::Exists`] when a participant has its certificate of this publication.
pub async fn insert(
    tx: &mut Tx,
    publication: PublicationId,
    key_id: &str,
    at: Timestamp,
    all: &[NewCertificate],
) -> Result<(), Error> {
    let (many, rest) = all.as_chunks::<ROWS>();
    let many = many.iter().map(|chunk| (MANY.as_str(), chunk.as_slice()));
    for (sql, chunk) in many.chain(rest.chunks(1).map(|chunk| (ONE.as_str(), chunk))) {
        let mut statement = tx.query(sql);
        for new in chunk {
            statement = statement
                .bind(new.id.0)
                .bind(publication.0)
                .bind(new.participant.0)
                .bind(new.code.as_str())
                .bind(new.statement.as_str())
                .bind(new.sha256.as_str())
                .bind(key_id)
                .bind(new.signature.as_str())
                .bind(at.as_microsecond());
        }
        statement.execute().await?;
    }
    Ok(())
}

/// The name of a round's publication.
///
/// # Errors
///
/// What the driver says.
pub async fn publication(tx: &mut Tx, round: RoundId, number: i64) -> Result<Option<PublicationId>, Error> {
    let row: Option<(Uuid,)> = tx
        .query("SELECT id FROM publications WHERE round_id = $1 AND number = $2")
        .bind(round.0)
        .bind(number)
        .optional()
        .await?;
    Ok(row.map(|(id,)| PublicationId(id)))
}

/// A certificate as stored, and whether it still stands.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Certificate {
    /// Its name for good.
    #[sqlx(try_from = "Uuid")]
    pub id: CertificateId,
    /// The random name in its address.
    pub code: String,
    /// Exactly the text that is signed.
    pub statement: String,
    /// SHA-256 of that text, in hexadecimal.
    pub sha256: String,
    /// Name of the key.
    pub key_id: String,
    /// The signature, in Base64.
    pub signature: String,
    #[sqlx(try_from = "i64")]
    issued_at: Micros,
    superseded_at: Option<i64>,
    withdrawn_at: Option<i64>,
}

impl Certificate {
    /// When it was signed.
    pub fn issued_at(&self) -> Timestamp {
        self.issued_at.0
    }

    /// When a later version took its place.
    pub fn superseded_at(&self) -> Option<Timestamp> {
        self.superseded_at.and_then(|at| Timestamp::from_microsecond(at).ok())
    }

    /// When it was withdrawn.
    pub fn withdrawn_at(&self) -> Option<Timestamp> {
        self.withdrawn_at.and_then(|at| Timestamp::from_microsecond(at).ok())
    }
}

/// A participant's certificate of a publication, by the publication's number.
///
/// # Errors
///
/// What the driver says.
pub async fn of_participant(
    tx: &mut Tx,
    participant: ParticipantId,
    number: i64,
) -> Result<Option<Certificate>, Error> {
    tx.query(certificates!("WHERE c.participant_id = $1 AND p.number = $2"))
        .bind(participant.0)
        .bind(number)
        .optional()
        .await
}

/// A certificate by the random name in its address.
///
/// # Errors
///
/// What the driver says.
pub async fn by_code(tx: &mut Tx, code: &str) -> Result<Option<Certificate>, Error> {
    tx.query(certificates!("WHERE c.code = $1")).bind(code).optional().await
}

/// A certificate by the digest of its statement.
///
/// # Errors
///
/// What the driver says.
pub async fn by_digest(tx: &mut Tx, sha256: &str) -> Result<Option<Certificate>, Error> {
    tx.query(certificates!("WHERE c.sha256 = $1")).bind(sha256).optional().await
}

/// A certificate that does not stand any more.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Notice {
    /// Digest of its statement.
    pub sha256: String,
    superseded_at: Option<i64>,
    withdrawn_at: Option<i64>,
}

impl Notice {
    /// When a later version took its place.
    pub fn superseded_at(&self) -> Option<Timestamp> {
        self.superseded_at.and_then(|at| Timestamp::from_microsecond(at).ok())
    }

    /// When it was withdrawn.
    pub fn withdrawn_at(&self) -> Option<Timestamp> {
        self.withdrawn_at.and_then(|at| Timestamp::from_microsecond(at).ok())
    }
}

/// All certificates that do not stand any more, by digest: in no order that says
/// whose they are.
///
/// # Errors
///
/// What the driver says.
pub async fn notices(tx: &mut Tx) -> Result<Vec<Notice>, Error> {
    tx.query(
        "SELECT c.sha256, MIN(n.published_at) AS superseded_at, MIN(w.withdrawn_at) AS withdrawn_at \
         FROM certificates c JOIN publications p ON p.id = c.publication_id \
         LEFT JOIN publications n ON n.round_id = p.round_id AND n.number > p.number \
         LEFT JOIN certificate_withdrawals w ON w.certificate_id = c.id \
         WHERE n.id IS NOT NULL OR w.certificate_id IS NOT NULL GROUP BY c.sha256 ORDER BY c.sha256",
    )
    .all()
    .await
}

/// Withdraws a certificate.
///
/// # Errors
///
/// [`Error::Exists`] when it is withdrawn already.
pub async fn withdraw(
    tx: &mut Tx,
    certificate: CertificateId,
    reason: &str,
    by: UserId,
    now: Timestamp,
) -> Result<(), Error> {
    tx.query(
        "INSERT INTO certificate_withdrawals (certificate_id, reason, withdrawn_at, withdrawn_by) \
         VALUES ($1, $2, $3, $4)",
    )
    .bind(certificate.0)
    .bind(reason)
    .bind(now.as_microsecond())
    .bind(by.0)
    .execute()
    .await?;
    Ok(())
}

/// Keeps how a participant wants to appear on its certificates from now on.
///
/// # Errors
///
/// What the driver says.
pub async fn set_by_code(
    tx: &mut Tx,
    id: Uuid,
    participant: ParticipantId,
    by_code: bool,
    by: UserId,
    now: Timestamp,
) -> Result<(), Error> {
    tx.query("INSERT INTO certificate_names (id, participant_id, by_code, set_at, set_by) VALUES ($1, $2, $3, $4, $5)")
        .bind(id)
        .bind(participant.0)
        .bind(by_code)
        .bind(now.as_microsecond())
        .bind(by.0)
        .execute()
        .await?;
    Ok(())
}

/// The participants of a round that appear by their code only.
///
/// # Errors
///
/// What the driver says.
pub async fn by_code_only(tx: &mut Tx, round: RoundId) -> Result<HashSet<ParticipantId>, Error> {
    let rows: Vec<(Uuid, bool)> = tx
        .query(
            "SELECT n.participant_id, n.by_code FROM certificate_names n \
             JOIN participants p ON p.id = n.participant_id WHERE p.round_id = $1 ORDER BY n.id",
        )
        .bind(round.0)
        .all()
        .await?;
    let mut only = HashSet::new();
    // Oldest first: the newest of a participant counts.
    for (participant, by_code) in rows {
        let participant = ParticipantId(participant);
        if by_code {
            only.insert(participant);
        } else {
            only.remove(&participant);
        }
    }
    Ok(only)
}
