//! Questions to the organiser: answered to all, or to nobody.

use super::{Refused, field, messages, record};
use crate::clock;
use crate::error::Error;
use crate::mail::Post;
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::id::QuestionId;
use roundel_domain::question;
use roundel_domain::round::Round;
use roundel_store::participants::Participant;
use roundel_store::questions::{self, Question, State};
use roundel_store::{Tx, measurands, results};

/// Asks a question. The same text again, while it is open, is the same question.
///
/// # Errors
///
/// What is wrong with the text; [`Error::NotFound`] before the round is open.
pub async fn ask(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    participant: &Participant,
    text: &str,
    now: Timestamp,
) -> Result<QuestionId, Refused> {
    actor.may_enter()?;
    if round.is_draft() {
        return Err(Error::NotFound.into());
    }
    let mut errors = FieldErrors::new();
    let text = question::parse(&mut errors, "question", text);
    errors.into_result(())?;
    // Pressing twice asks once.
    results::hold(tx, participant.id).await?;
    let known = questions::of_round(tx, round.id)
        .await?
        .into_iter()
        .find(|known| known.participant == participant.id && known.state == State::Open && known.text == text);
    if let Some(known) = known {
        return Ok(known.id);
    }
    let id = QuestionId(clock::new_id());
    questions::insert(tx, id, participant.id, &text, actor.user(), now).await?;
    record(tx, actor, "question-asked", round, &id.to_string(), now).await?;
    Ok(id)
}

fn must_be_open(question: &Question) -> Result<(), Error> {
    if question.state == State::Open { Ok(()) } else { Err(Error::conflict("conflict-question")) }
}

/// Does what an organiser's answer needs that may come twice: only the first counts.
async fn keep(
    tx: &mut Tx,
    actor: &Actor,
    question: &Question,
    answer: Option<&str>,
    now: Timestamp,
) -> Result<(), Error> {
    match questions::answer(tx, question.id, answer, actor.user(), now).await {
        Err(roundel_store::Error::Exists) => Err(Error::conflict("conflict-question")),
        kept => Ok(kept?),
    }
}

/// What an organiser answers.
#[derive(Clone, Copy, Debug)]
pub struct AnswerForm<'a> {
    /// The answer.
    pub text: &'a str,
    /// The numbers in it may be published.
    pub numbers_may: bool,
}

/// Answers a question to all participants, and tells them by mail where that is
/// set up. A number in the unit of a concentration, in question or answer, needs a
/// confirmation.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; what is wrong with the
/// text; a conflict when it was answered or closed.
pub async fn answer(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    question: &Question,
    form: AnswerForm<'_>,
    post: &Post,
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_organise()?;
    must_be_open(question)?;
    let mut errors = FieldErrors::new();
    let text = question::parse(&mut errors, "answer", form.text);
    errors.into_result(())?;
    let measurands = measurands::of_round(tx, round.id).await?;
    let units: Vec<&str> = measurands.iter().map(|measurand| measurand.unit.as_str()).collect();
    // Both are read by all.
    let seen = [&question.text, &text].into_iter().find_map(|text| question::concentration(text, &units));
    if let Some(seen) = seen.filter(|_| !form.numbers_may) {
        return Err(field("numbers", Problem::new("question-numbers").with("seen", seen)));
    }
    keep(tx, actor, question, Some(&text), now).await?;
    record(tx, actor, "question-answered", round, &question.id.to_string(), now).await?;
    messages::answer(tx, round, post, now).await?;
    Ok(())
}

/// Closes a question without an answer: nobody else learns of it.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; a conflict when it was
/// answered or closed.
pub async fn close(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    question: &Question,
    now: Timestamp,
) -> Result<(), Error> {
    actor.may_organise()?;
    must_be_open(question)?;
    keep(tx, actor, question, None, now).await?;
    record(tx, actor, "question-closed", round, &question.id.to_string(), now).await
}
