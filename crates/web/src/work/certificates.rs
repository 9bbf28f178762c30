//! The certificates of all laboratories of a published round: which evaluation they
//! are of first, then one a part.

use super::Made;
use crate::error::Error;
use crate::pages::certificates::certificate_bytes;
use crate::pages::scores::published_by;
use crate::state::App;
use roundel_domain::round::Round;
use roundel_store::jobs::{self, Job};
use roundel_store::participants::{self, Participant};
use roundel_store::rounds;
use std::io::{Cursor, Write};
use tokio::task::JoinHandle;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

pub(super) struct Plan {
    round: Round,
    participants: Vec<Participant>,
    evaluation: String,
}

impl Plan {
    pub(super) async fn of(app: &App, job: &Job) -> Result<Plan, Error> {
        let mut tx = app.db.read().await?;
        let round = rounds::by_id(&mut tx, job.round).await?.ok_or(Error::NotFound)?;
        let (_, evaluation) =
            round.state.published().ok_or_else(|| Error::conflict("conflict-certificates-not-published"))?;
        let evaluation = evaluation.to_string();
        let participants = participants::of_round(&mut tx, round.id).await?;
        let kept = jobs::part(&mut tx, job.id, 0).await?;
        drop(tx);
        // Corrected since the job stood still: then it begins anew.
        if kept.is_some_and(|kept| kept.content != evaluation.as_bytes()) {
            let mut tx = app.db.write().await?;
            jobs::drop_parts(&mut tx, job.id).await?;
            tx.commit().await?;
        }
        Ok(Plan { round, participants, evaluation })
    }

    pub(super) fn parts(&self) -> i64 {
        1 + i64::try_from(self.participants.len()).unwrap_or_default()
    }

    /// Makes parts side by side.
    pub(super) async fn make(&self, app: &App, parts: &[i64]) -> Result<Vec<Made>, Error> {
        let making = parts.iter().map(|part| {
            let participant = usize::try_from(part - 1).ok().and_then(|place| self.participants.get(place));
            match participant {
                None => {
                    let evaluation = self.evaluation.clone().into_bytes();
                    tokio::spawn(async move { Ok(("evaluation".to_owned(), evaluation)) })
                }
                Some(participant) => {
                    let (app, round, participant) = (app.clone(), self.round.clone(), participant.clone());
                    tokio::spawn(async move { certificate(&app, round, participant).await })
                }
            }
        });
        let making: Vec<JoinHandle<Result<Made, Error>>> = making.collect();
        let mut made = Vec::with_capacity(making.len());
        for one in making {
            made.push(one.await.map_err(|_| Error::Fault("make a certificate".to_owned()))??);
        }
        Ok(made)
    }
}

async fn certificate(app: &App, round: Round, participant: Participant) -> Result<Made, Error> {
    let on = {
        let mut tx = app.db.read().await?;
        published_by(app, &mut tx, round, participant).await?
    };
    certificate_bytes(app, on, app.words).await
}

/// All certificates of a job as one archive. They are compressed already, so they are
/// stored as they are.
///
/// # Errors
///
/// What the archive says.
pub(crate) fn archive(parts: Vec<jobs::Part>) -> zip::result::ZipResult<Vec<u8>> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    for part in parts.into_iter().filter(|part| part.part > 0) {
        archive.start_file(part.name, options)?;
        archive.write_all(&part.content)?;
    }
    Ok(archive.finish()?.into_inner())
}
