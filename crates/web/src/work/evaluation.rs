//! The evaluation of a round: its package first, then measurand by measurand. All
//! together are what `actions::evaluation::evaluate` stores, byte for byte.

use crate::ENGINE;
use crate::actions;
use crate::actions::evaluation::{assemble, keep, must_be_in_review};
use crate::error::Error;
use crate::state::App;
use jiff::Timestamp;
use roundel_domain::evaluation::pieces::{self, Piece};
use roundel_domain::package::{self, RoundPackage};
use roundel_domain::round::Round;
use roundel_store::jobs::{self, Job};
use roundel_store::{Tx, accounts, measurands, rounds};
use std::sync::Arc;

pub(super) struct Plan {
    round: Round,
    parts: i64,
    /// Once it is assembled.
    package: Option<Arc<RoundPackage>>,
}

fn fault(what: &str, error: impl std::fmt::Display) -> Error {
    Error::Fault(format!("{what}: {error}"))
}

impl Plan {
    pub(super) async fn of(app: &App, job: &Job) -> Result<Plan, Error> {
        let mut tx = app.db.read().await?;
        let round = rounds::by_id(&mut tx, job.round).await?.ok_or(Error::NotFound)?;
        let count = measurands::of_round(&mut tx, round.id).await?.len();
        let parts = 1 + i64::try_from(count).unwrap_or_default();
        let Some(kept) = jobs::part(&mut tx, job.id, 0).await? else {
            return Ok(Plan { round, parts, package: None });
        };
        let text = String::from_utf8(kept.content).map_err(|error| fault("read a kept package", error))?;
        let kept = package::parse(&text).map_err(|problems| fault("read a kept package", problems.len()))?;
        // Decided on since the job stood still: then it begins anew.
        if assemble(&mut tx, &round).await?.sha256() != kept.sha256() {
            drop(tx);
            let mut tx = app.db.write().await?;
            jobs::drop_parts(&mut tx, job.id).await?;
            tx.commit().await?;
            return Ok(Plan { round, parts, package: None });
        }
        Ok(Plan { round, parts, package: Some(Arc::new(kept)) })
    }

    pub(super) fn parts(&self) -> i64 {
        self.parts
    }

    pub(super) async fn part(&mut self, app: &App, part: i64) -> Result<(String, Vec<u8>), Error> {
        let (Some(package), Ok(place)) = (&self.package, usize::try_from(part - 1)) else {
            return self.assemble(app).await;
        };
        let package = Arc::clone(package);
        let name = package.measurands.get(place).map(|m| m.id.clone()).unwrap_or_default();
        let made = tokio::task::spawn_blocking(move || pieces::piece(&package, place)).await;
        let piece = made.map_err(|error| fault("evaluate a measurand", error))?;
        let piece = piece.ok_or_else(|| fault("evaluate a measurand", &name))?;
        let text = serde_json::to_vec(&piece).map_err(|error| fault("keep a measurand", error))?;
        Ok((name, text))
    }

    async fn assemble(&mut self, app: &App) -> Result<(String, Vec<u8>), Error> {
        let package = assemble(&mut app.db.read().await?, &self.round).await?;
        if let Some(problem) = package.problems().first() {
            return Err(fault("make a valid package", problem));
        }
        let text = package.to_json();
        // What is evaluated is what is kept, whoever goes on.
        let read = package::parse(&text).map_err(|problems| fault("read a package", problems.len()))?;
        self.package = Some(Arc::new(read));
        Ok(("package".to_owned(), text.into_bytes()))
    }

    /// Keeps the whole evaluation, in the name of whoever wanted it.
    pub(super) async fn keep(&self, tx: &mut Tx, job: &Job, now: Timestamp) -> Result<(), Error> {
        let actor = accounts::by_id(tx, job.made_by).await?.ok_or(Error::NotFound)?.actor();
        actions::jobs::may(&actor, job.kind)?;
        let round = rounds::by_id(tx, job.round).await?.ok_or(Error::NotFound)?;
        must_be_in_review(tx, &round).await?;
        let package = self.package.as_ref().ok_or_else(|| fault("keep an evaluation", "it has no package"))?;
        let mut all: Vec<Piece> = Vec::new();
        for part in jobs::parts(tx, job.id).await?.into_iter().filter(|part| part.part > 0) {
            all.push(serde_json::from_slice(&part.content).map_err(|error| fault("read a kept measurand", error))?);
        }
        let document = pieces::joined(package, ENGINE, &all);
        keep(tx, &actor, &round, package, &document, now).await?;
        // The evaluation holds all of it now.
        Ok(jobs::drop_parts(tx, job.id).await?)
    }
}
