//! Groups of methods: the answers that make them, and how small one may be.

use super::{Refused, evaluation, field, record};
use crate::clock;
use crate::error::Error;
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::field::{Problem, shortened};
use roundel_domain::methods::{Answers, SMALLEST, USUAL_SMALLEST};
use roundel_domain::round::Round;
use roundel_store::{Tx, group_limits, participants, results};
use std::collections::HashMap;

/// What the laboratories of a round answered to the closed questions on their
/// method, by code.
///
/// # Errors
///
/// What the database says.
pub async fn answers(tx: &mut Tx, round: &Round) -> Result<Answers, Error> {
    let participants = participants::of_round(tx, round.id).await?;
    let codes: HashMap<_, _> = participants.into_iter().map(|p| (p.id, p.code)).collect();
    let mut answers = Answers::new();
    for sent in results::newest_of_round(tx, round.id).await? {
        let code = codes.get(&sent.participant).ok_or(Error::NotFound)?;
        answers.insert(code.clone(), sent.submission()?.declared.method);
    }
    Ok(answers)
}

/// The fewest laboratories that a shown group of the round has.
///
/// # Errors
///
/// What the database says.
pub async fn smallest(tx: &mut Tx, round: &Round) -> Result<usize, Error> {
    let set = group_limits::of_round(tx, round.id).await?;
    Ok(set.and_then(|smallest| usize::try_from(smallest).ok()).unwrap_or(USUAL_SMALLEST))
}

/// Sets the fewest laboratories that a shown group has, before publication: tables
/// for two limits together would tell more than either.
///
/// # Errors
///
/// A number outside 4 to 10; a conflict unless the round is closed and unpublished.
pub async fn set_smallest(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    typed: &str,
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_evaluate()?;
    evaluation::must_be_in_review(tx, round).await?;
    let typed = typed.trim();
    let Some(smallest) = typed.parse::<usize>().ok().filter(|smallest| SMALLEST.contains(smallest)) else {
        let problem = Problem::new("methods-smallest-range")
            .with("from", SMALLEST.start())
            .with("to", SMALLEST.end())
            .with("seen", shortened(typed));
        return Err(field("smallest", problem));
    };
    let number = i64::try_from(smallest).unwrap_or_default();
    group_limits::set(tx, clock::new_id(), round.id, number, actor.user(), now).await?;
    record(tx, actor, "group-limit-set", round, &smallest.to_string(), now).await?;
    Ok(())
}
