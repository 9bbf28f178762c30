//! A change of a frozen plan after the round was opened: for all alike, with a
//! reason, and in effect once a second person has signed it (F3, F10).

use crate::field::{FieldErrors, Problem};
use crate::id::MeasurandId;
use crate::measurand::Measurand;
use crate::plan::Plan;
use crate::round::{Round, RoundForm, RoundState};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

/// What is changed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum Change {
    /// The deadline, later, for all.
    Deadline {
        /// The deadline before.
        from: Timestamp,
        /// The deadline after.
        to: Timestamp,
    },
    /// How a measurand is evaluated.
    Statistics {
        /// Which.
        measurand: MeasurandId,
        /// Its name, as `A/nitrate`.
        name: String,
        /// The plan before; none for a measurand without one.
        from: Option<Box<Plan>>,
        /// The plan after.
        to: Box<Plan>,
    },
}

/// An amendment of a plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Amendment {
    /// What is changed.
    pub change: Change,
    /// Why.
    pub reason: String,
    /// How many laboratories had sent results when it was proposed.
    pub results: i64,
}

impl Amendment {
    /// Whether results were already in, so that a reviewer must agree (D35).
    pub fn needs_reviewer(&self) -> bool {
        self.results > 0
    }

    /// Writes the change into what the round says.
    pub fn apply(&self, round: &mut Round, measurands: &mut [Measurand]) {
        match &self.change {
            Change::Deadline { to, .. } => round.closes_at = *to,
            Change::Statistics { measurand, to, .. } => {
                if let Some(changed) = measurands.iter_mut().find(|m| m.id == *measurand) {
                    changed.plan = Some((**to).clone());
                }
            }
        }
    }
}

impl Change {
    /// Whether the state of the round still allows it: a deadline while it lies ahead,
    /// the statistical plan until publication, and in a correction.
    pub fn is_possible(&self, round: &Round, correcting: bool, now: Timestamp) -> bool {
        match self {
            Change::Deadline { from, to } => may_move_deadline(round, now) && round.closes_at == *from && now < *to,
            Change::Statistics { .. } => may_change_statistics(round, correcting),
        }
    }
}

/// Whether the deadline may become later: the round is open and the deadline lies
/// ahead. A deadline that is over is not moved: who came late has been told so.
pub fn may_move_deadline(round: &Round, now: Timestamp) -> bool {
    matches!(round.state, RoundState::Open { .. }) && now <= round.closes_at
}

/// Whether the statistical plan may be amended: open, closed and unpublished, or
/// published while a correction is open.
pub fn may_change_statistics(round: &Round, correcting: bool) -> bool {
    match round.state {
        RoundState::Open { .. } | RoundState::Closed { .. } => true,
        RoundState::Published { .. } => correcting,
        RoundState::Draft => false,
    }
}

/// Reads a later deadline, in the zone of the round.
///
/// # Errors
///
/// What cannot be read, and a deadline that is not later than the present one.
pub fn later_deadline(round: &Round, day: &str, time: &str, now: Timestamp) -> Result<Timestamp, FieldErrors> {
    let form = RoundForm { closes_on: day.to_owned(), closes_time: time.to_owned(), ..RoundForm::of(round) };
    let mut errors = FieldErrors::new();
    let to = form.deadline(&mut errors, now);
    if let Some(to) = to.filter(|to| *to <= round.closes_at && *to > now) {
        let shown = RoundForm::of(&Round { closes_at: to, ..round.clone() });
        let problem = Problem::new("amend-deadline-earlier");
        errors.push("closes_on", problem.with("seen", format!("{}, {}", shown.closes_on, shown.closes_time)));
    }
    errors.into_result(to.unwrap_or(round.closes_at))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::asks::Asks;
    use crate::id::RoundId;
    use uuid::Uuid;

    fn at(text: &str) -> Timestamp {
        text.parse().unwrap()
    }

    fn round() -> Round {
        Round {
            id: RoundId(Uuid::nil()),
            code: "QW-2".to_owned(),
            title: "Traces".to_owned(),
            scheme: String::new(),
            instructions: String::new(),
            time_zone: "Europe/Vienna".to_owned(),
            closes_at: at("2027-03-26T16:00:00Z"),
            asks: Asks::default(),
            state: RoundState::Open { opened_at: at("2027-03-01T08:00:00Z") },
        }
    }

    #[test]
    fn a_deadline_moves_later_for_all_and_never_earlier() {
        let (round, now) = (round(), at("2027-03-20T08:00:00Z"));
        let key = |day: &str, time: &str| {
            later_deadline(&round, day, time, now)
                .map_err(|errors| errors.iter().map(|(_, p)| p.key).collect::<Vec<_>>())
        };
        // Vienna is one hour ahead of UTC until 28 March 2027, two from then on.
        assert_eq!(key("2027-03-29", "17:00"), Ok(at("2027-03-29T15:00:00Z")));
        assert_eq!(key("2027-03-26", "17:01"), Ok(at("2027-03-26T16:01:00Z")));
        assert_eq!(key("2027-03-26", "17:00"), Err(vec!["amend-deadline-earlier"]));
        assert_eq!(key("2027-03-25", "17:00"), Err(vec!["amend-deadline-earlier"]));
        assert_eq!(key("2027-03-19", "17:00"), Err(vec!["deadline-past"]));
        assert_eq!(key("soon", ""), Err(vec!["date-form", "text-missing"]));
    }

    #[test]
    fn what_may_be_amended_depends_on_how_far_the_round_is() {
        let mut round = round();
        let (before, after) = (at("2027-03-26T16:00:00Z"), at("2027-03-26T16:00:01Z"));
        assert!(may_move_deadline(&round, before) && !may_move_deadline(&round, after));
        assert!(may_change_statistics(&round, false));
        let change = Change::Deadline { from: round.closes_at, to: at("2027-03-28T15:00:00Z") };
        assert!(change.is_possible(&round, false, before) && !change.is_possible(&round, false, after));
        let amendment = Amendment { change: change.clone(), reason: "Snow.".to_owned(), results: 0 };
        amendment.apply(&mut round, &mut []);
        assert_eq!(round.closes_at, at("2027-03-28T15:00:00Z"));
        assert!(!change.is_possible(&round, false, before), "it was written");
        round.state = round.state.close(after).unwrap();
        assert!(!may_move_deadline(&round, before) && may_change_statistics(&round, false));
        round.state = RoundState::Draft;
        assert!(!may_change_statistics(&round, true), "a draft is changed, not amended");
    }
}
