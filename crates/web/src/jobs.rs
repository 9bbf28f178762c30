//! What the service does by itself: sending the messages that wait.
//!
//! A message is taken in one short transaction, sent outside any, and noted in
//! another. Several copies of the program may do this on one database: one of
//! them takes each message ([`outbox::claim`]). Whoever dies between sending and
//! noting leaves a message that is due again when its lease ends: every message
//! goes at least once, and a second one has the same Message-ID.

use crate::actions::accounts::INVITATION_OPEN;
use crate::error::Error;
use crate::mail::LINK;
use crate::secret;
use crate::smtp::{Failed, Letter, Mailer};
use crate::state::App;
use jiff::{SignedDuration, Timestamp};
use roundel_documents::words::Words;
use roundel_domain::access::Rights;
use roundel_domain::round::Intake;
use roundel_store::accounts::NewInvitation;
use roundel_store::outbox::{self, Failure, Kind, Waiting};
use roundel_store::{Tx, accounts, participants, people, results, rounds};
use std::time::Duration;
use tokio::sync::watch;

/// How often it is looked for messages that nobody told of: retries, and what
/// other copies of the program queued.
const LOOK_EVERY: Duration = Duration::from_secs(10);
/// How long a message is held: longer than sending may take.
const LEASE: SignedDuration = SignedDuration::from_mins(2);
/// Messages read at once.
const AT_ONCE: i64 = 50;
/// How long after each try that failed the next one is made.
const WAITS: [SignedDuration; 7] = [
    SignedDuration::from_mins(1),
    SignedDuration::from_mins(5),
    SignedDuration::from_mins(30),
    SignedDuration::from_hours(2),
    SignedDuration::from_hours(6),
    SignedDuration::from_hours(12),
    SignedDuration::from_hours(24),
];

/// Sends messages until `stop` says true; the one that is being sent is finished.
pub async fn deliver(app: App, mut stop: watch::Receiver<bool>) {
    let Some(mailer) = app.mail.clone() else { return };
    while !*stop.borrow() {
        if let Err(error) = deliver_due(&app, &mailer, &stop).await {
            let cause = std::error::Error::source(&error).map(|cause| format!("{cause:?}"));
            tracing::error!(cause, "failed to send messages: {error}");
        }
        tokio::select! {
            () = app.outbox.notified() => {}
            () = tokio::time::sleep(LOOK_EVERY) => {}
            _ = stop.changed() => {}
        }
    }
}

async fn deliver_due(app: &App, mailer: &Mailer, stop: &watch::Receiver<bool>) -> Result<(), Error> {
    loop {
        let due = outbox::due(&mut app.db.read().await?, app.clock.now(), AT_ONCE).await?;
        for message in &due {
            if *stop.borrow() {
                return Ok(());
            }
            deliver_one(app, mailer, message).await?;
        }
        if due.is_empty() {
            return Ok(());
        }
    }
}

async fn deliver_one(app: &App, mailer: &Mailer, message: &Waiting) -> Result<(), Error> {
    let now = app.clock.now();
    let lease = now + LEASE;
    let mut tx = app.db.write().await?;
    if !outbox::claim(&mut tx, message.id, message.next_try_at(), lease).await? {
        return Ok(());
    }
    let (body, token_hash) = match ready(app, &mut tx, message, now).await? {
        Ok(ready) => ready,
        Err(moot) => {
            let failure = Failure { lease, error: &Words::English.t(moot), next_try: lease, given_up: Some(now) };
            outbox::failed(&mut tx, message.id, &failure).await?;
            return Ok(tx.commit().await?);
        }
    };
    tx.commit().await?;

    let provider = app.provider().map(|installation| installation.provider).unwrap_or_default();
    let letter = Letter {
        id: message.id,
        provider: &provider,
        recipient: &message.recipient,
        subject: &message.subject,
        body: &body,
    };
    let outcome = mailer.send(&letter, now.into()).await;

    let now = app.clock.now();
    let mut tx = app.db.write().await?;
    match outcome {
        Ok(()) => outbox::sent(&mut tx, message.id, now).await?,
        Err(failed) => {
            let (error, next) = match failed {
                Failed::Later(error) => (error, next_try(message.attempts, now)),
                Failed::ForGood(error) => (error, None),
            };
            if let (Some(hash), None) = (&token_hash, next) {
                // Nobody has this link: the laboratory is not to look invited.
                accounts::end_invitation(&mut tx, hash, now).await?;
            }
            tracing::warn!(message = %message.id, kind = message.kind.name(), again = next.is_some(), "a message was not sent");
            let given_up = next.is_none().then_some(now);
            let failure = Failure { lease, error: &error, next_try: next.unwrap_or(lease), given_up };
            outbox::failed(&mut tx, message.id, &failure).await?;
        }
    }
    Ok(tx.commit().await?)
}

/// When the next try is made after one that failed at `now`, before which there
/// were `earlier`; none when it is given up.
fn next_try(earlier: i64, now: Timestamp) -> Option<Timestamp> {
    let wait = usize::try_from(earlier).ok().and_then(|earlier| WAITS.get(earlier));
    wait.map(|wait| now + *wait)
}

/// A text to be sent, with what is kept of the token that its link was made of.
type Ready = (String, Option<Vec<u8>>);

/// The text to be sent, an invitation's link made for this try; or the key of
/// why there is nothing to be sent any more.
async fn ready(
    app: &App,
    tx: &mut Tx,
    message: &Waiting,
    now: Timestamp,
) -> Result<Result<Ready, &'static str>, Error> {
    let unchanged = Ok((message.body.clone(), None));
    match (message.kind, message.laboratory()) {
        (Kind::Invitation, Some(laboratory)) => {
            if accounts::has_people(tx, laboratory).await? {
                return Ok(Err("mail-error-joined"));
            }
            // Earlier tries may have arrived, so their links stay open.
            let token = secret::token();
            let hash = secret::token_hash(&token);
            let new = NewInvitation {
                token_hash: &hash,
                laboratory,
                email: None,
                rights: Rights::Submit,
                by: None,
                expires_at: now + INVITATION_OPEN,
            };
            accounts::invite(tx, &new, now).await?;
            let link = format!("{}/invitations/{token}", app.public_url);
            Ok(Ok((message.body.replacen(LINK, &link, 1), Some(hash))))
        }
        (Kind::Colleague, Some(laboratory)) => {
            let invited = people::invited(tx, laboratory, now).await?;
            // Withdrawn or used meanwhile: then nothing is sent.
            let Some(open) = invited.into_iter().find(|open| open.email == message.recipient) else {
                return Ok(Err("mail-error-colleague"));
            };
            let token = secret::token();
            let hash = secret::token_hash(&token);
            let new = NewInvitation {
                token_hash: &hash,
                laboratory,
                email: Some(&open.email),
                rights: open.rights(),
                by: open.inviter(),
                expires_at: open.until(),
            };
            accounts::invite(tx, &new, now).await?;
            let link = format!("{}/invitations/{token}", app.public_url);
            Ok(Ok((message.body.replacen(LINK, &link, 1), Some(hash))))
        }
        (Kind::Reminder, Some(laboratory)) => {
            let Some(round) = message.round() else { return Ok(unchanged) };
            let round = rounds::by_id(tx, round).await?.ok_or(Error::NotFound)?;
            let takes = matches!(round.intake(now), Intake::InTime | Intake::Late);
            let missing = match participants::of_laboratory(tx, round.id, laboratory).await? {
                Some(participant) => results::of_participant(tx, participant.id).await?.is_empty(),
                None => false,
            };
            Ok(if takes && missing { unchanged } else { Err("mail-error-reminder-late") })
        }
        _ => Ok(unchanged),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tries_come_further_and_further_apart_and_end_after_the_eighth() {
        let now: Timestamp = "2027-03-01T12:00:00Z".parse().unwrap();

        let waits: Vec<_> =
            (0..9).map(|earlier| next_try(earlier, now).map(|at| at.duration_since(now).as_mins())).collect();

        let expected = [1, 5, 30, 120, 360, 720, 1440].map(Some);
        assert_eq!(waits[..7], expected);
        assert_eq!(waits[7..], [None, None]);
    }
}
