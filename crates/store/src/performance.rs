//! A laboratory's published rounds with what was published, for its own eyes.

use crate::row::Micros;
use crate::{Error, Tx};
use jiff::Timestamp;
use roundel_domain::id::LaboratoryId;

/// A published round in which a laboratory took part.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Past {
    /// The round's code.
    pub round: String,
    /// Its title.
    pub title: String,
    /// The time zone of its dates.
    pub time_zone: String,
    /// The laboratory's code in this round.
    pub code: String,
    /// How many times it was published: more than once after a correction.
    pub publications: i64,
    /// The package, `round-package/1`.
    pub package: String,
    /// The evaluation that is published now, `round-evaluation/1`.
    pub document: String,
    #[sqlx(try_from = "i64")]
    closes_at: Micros,
}

impl Past {
    /// When the round closed.
    pub fn closes_at(&self) -> Timestamp {
        self.closes_at.0
    }
}

/// The published rounds of a laboratory, those that closed last first: at most
/// `limit`, after the first `skip`.
///
/// # Errors
///
/// What the driver says.
pub async fn of_laboratory(tx: &mut Tx, laboratory: LaboratoryId, skip: i64, limit: i64) -> Result<Vec<Past>, Error> {
    tx.query(
        "SELECT r.code AS round, r.title, r.time_zone, r.closes_at, p.code, e.package, e.document, \
         (SELECT COUNT(*) FROM publications q WHERE q.round_id = r.id) AS publications \
         FROM participants p JOIN rounds r ON r.id = p.round_id \
         JOIN evaluations e ON e.id = r.published_evaluation \
         WHERE p.laboratory_id = $1 AND r.state = 'published' ORDER BY r.closes_at DESC, r.code DESC \
         LIMIT $2 OFFSET $3",
    )
    .bind(laboratory.0)
    .bind(limit)
    .bind(skip)
    .all()
    .await
}
