//! A round: what it is called, when it ends, and the states it goes through.

use crate::asks::Asks;
use crate::code::RoundCode;
use crate::field::{FieldErrors, Problem, shortened};
use crate::id::{EvaluationId, RoundId};
use crate::text;
use jiff::civil::{Date, Time};
use jiff::tz::{AmbiguousOffset, TimeZone};
use jiff::{SignedDuration, Timestamp};

/// How long after the deadline a result may still come, marked as late, if
/// the organiser has not closed the round (D33).
pub const LATE_AT_MOST: SignedDuration = SignedDuration::from_hours(48);

/// How far ahead a deadline may lie.
const FARTHEST: SignedDuration = SignedDuration::from_hours(5 * 366 * 24);

/// A round.
#[derive(Clone, Debug, PartialEq)]
pub struct Round {
    /// Its name for good.
    pub id: RoundId,
    /// Its name in addresses and on paper.
    pub code: String,
    /// What it is about.
    pub title: String,
    /// The scheme that it belongs to.
    pub scheme: String,
    /// What the laboratories are told.
    pub instructions: String,
    /// The zone in which the organiser thinks.
    pub time_zone: String,
    /// The deadline.
    pub closes_at: Timestamp,
    /// What it asks beside results.
    pub asks: Asks,
    /// How far it is.
    pub state: RoundState,
}

/// How far a round is. Each state carries what is true in it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RoundState {
    /// Being set up; only the organiser sees it.
    Draft,
    /// Laboratories send results.
    Open {
        /// Since when.
        opened_at: Timestamp,
    },
    /// No more results; review and evaluation.
    Closed {
        /// When it was opened.
        opened_at: Timestamp,
        /// When the organiser closed it.
        closed_at: Timestamp,
    },
    /// Scores and certificates can be seen.
    Published {
        /// When it was opened.
        opened_at: Timestamp,
        /// When the organiser closed it.
        closed_at: Timestamp,
        /// When it was published.
        published_at: Timestamp,
        /// The evaluation that was published.
        evaluation: EvaluationId,
    },
}

/// A step that the state does not allow.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("a round that is {from} cannot be {to}")]
pub struct InvalidTransition {
    /// The state it is in.
    pub from: &'static str,
    /// The state it was to get.
    pub to: &'static str,
}

impl RoundState {
    /// The state in one word, as stored.
    pub fn name(&self) -> &'static str {
        match self {
            RoundState::Draft => "draft",
            RoundState::Open { .. } => "open",
            RoundState::Closed { .. } => "closed",
            RoundState::Published { .. } => "published",
        }
    }

    /// Starts taking results. Only a draft can open.
    ///
    /// # Errors
    ///
    /// When it is open already, or further.
    pub fn open(self, now: Timestamp) -> Result<Self, InvalidTransition> {
        match self {
            RoundState::Draft => Ok(RoundState::Open { opened_at: now }),
            other => Err(InvalidTransition { from: other.name(), to: "open" }),
        }
    }

    /// Stops taking results. Only an open round can close.
    ///
    /// # Errors
    ///
    /// When it is not open.
    pub fn close(self, now: Timestamp) -> Result<Self, InvalidTransition> {
        match self {
            RoundState::Open { opened_at } => Ok(RoundState::Closed { opened_at, closed_at: now }),
            other => Err(InvalidTransition { from: other.name(), to: "closed" }),
        }
    }

    /// Makes an evaluation visible. Only a closed round can be published.
    ///
    /// # Errors
    ///
    /// When it is not closed, or published already.
    pub fn publish(self, evaluation: EvaluationId, now: Timestamp) -> Result<Self, InvalidTransition> {
        match self {
            RoundState::Closed { opened_at, closed_at } => {
                Ok(RoundState::Published { opened_at, closed_at, published_at: now, evaluation })
            }
            other => Err(InvalidTransition { from: other.name(), to: "published" }),
        }
    }

    /// Makes a corrected evaluation visible in place of the one before. Only a
    /// published round can be corrected.
    ///
    /// # Errors
    ///
    /// When it is not published.
    pub fn correct(self, evaluation: EvaluationId, now: Timestamp) -> Result<Self, InvalidTransition> {
        match self {
            RoundState::Published { opened_at, closed_at, .. } => {
                Ok(RoundState::Published { opened_at, closed_at, published_at: now, evaluation })
            }
            other => Err(InvalidTransition { from: other.name(), to: "corrected" }),
        }
    }

    /// When it was opened.
    pub fn opened_at(&self) -> Option<Timestamp> {
        match self {
            RoundState::Draft => None,
            RoundState::Open { opened_at }
            | RoundState::Closed { opened_at, .. }
            | RoundState::Published { opened_at, .. } => Some(*opened_at),
        }
    }

    /// When it was closed.
    pub fn closed_at(&self) -> Option<Timestamp> {
        match self {
            RoundState::Draft | RoundState::Open { .. } => None,
            RoundState::Closed { closed_at, .. } | RoundState::Published { closed_at, .. } => Some(*closed_at),
        }
    }

    /// When, and with which evaluation, it was published.
    pub fn published(&self) -> Option<(Timestamp, EvaluationId)> {
        match self {
            RoundState::Published { published_at, evaluation, .. } => Some((*published_at, *evaluation)),
            _ => None,
        }
    }
}

/// Whether a result may be sent at an instant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Intake {
    /// In time.
    InTime,
    /// After the deadline, before the organiser closed: taken, marked as late.
    Late,
    /// Not opened yet.
    NotYet,
    /// The organiser has closed, at this instant.
    Closed(Timestamp),
    /// Longer than [`LATE_AT_MOST`] after the deadline.
    TooLate,
}

impl Round {
    /// Whether results may be sent at `now`, by the server's clock (D33).
    pub fn intake(&self, now: Timestamp) -> Intake {
        match &self.state {
            RoundState::Draft => Intake::NotYet,
            RoundState::Closed { closed_at, .. } | RoundState::Published { closed_at, .. } => {
                Intake::Closed(*closed_at)
            }
            RoundState::Open { .. } if now <= self.closes_at => Intake::InTime,
            RoundState::Open { .. } if now.duration_since(self.closes_at) <= LATE_AT_MOST => Intake::Late,
            RoundState::Open { .. } => Intake::TooLate,
        }
    }

    /// Whether its design (items, measurands, assigned values) may change.
    pub fn is_draft(&self) -> bool {
        self.state == RoundState::Draft
    }

    /// Whether scores can be seen by those they belong to.
    pub fn is_published(&self) -> bool {
        self.state.published().is_some()
    }
}

/// What the organiser types for a round.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct RoundForm {
    /// Code.
    pub code: String,
    /// Title.
    pub title: String,
    /// Scheme.
    pub scheme: String,
    /// Date of the deadline, `2027-03-31`.
    pub closes_on: String,
    /// Time of the deadline, `17:00`.
    pub closes_time: String,
    /// Time zone, an IANA name.
    pub time_zone: String,
    /// Instructions.
    pub instructions: String,
}

/// A round to be set up, or the new text of one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewRound {
    /// Code.
    pub code: String,
    /// Title.
    pub title: String,
    /// Scheme.
    pub scheme: String,
    /// Instructions.
    pub instructions: String,
    /// Time zone, an IANA name.
    pub time_zone: String,
    /// The deadline.
    pub closes_at: Timestamp,
}

impl RoundForm {
    /// The form that shows `round`.
    pub fn of(round: &Round) -> Self {
        let zone = TimeZone::get(&round.time_zone).unwrap_or(TimeZone::UTC);
        let local = round.closes_at.to_zoned(zone);
        RoundForm {
            code: round.code.clone(),
            title: round.title.clone(),
            scheme: round.scheme.clone(),
            closes_on: local.strftime("%Y-%m-%d").to_string(),
            closes_time: local.strftime("%H:%M").to_string(),
            time_zone: round.time_zone.clone(),
            instructions: round.instructions.clone(),
        }
    }

    /// Reads the form. The deadline must lie after `now`.
    ///
    /// # Errors
    ///
    /// Every field that is not as it should be.
    pub fn parse(&self, now: Timestamp) -> Result<NewRound, FieldErrors> {
        let mut errors = FieldErrors::default();
        let code = match RoundCode::parse(&self.code) {
            Ok(code) => code.to_string(),
            Err(problem) => {
                errors.push("code", problem);
                String::new()
            }
        };
        let title = text::line(&mut errors, "title", &self.title, true);
        let scheme = text::line(&mut errors, "scheme", &self.scheme, false);
        let closes_at = self.deadline(&mut errors, now).unwrap_or(now);
        let instructions = text::page(&mut errors, "instructions", &self.instructions);
        let time_zone = self.time_zone.trim().to_owned();
        errors.into_result(NewRound { code, title, scheme, instructions, time_zone, closes_at })
    }

    pub(crate) fn deadline(&self, errors: &mut FieldErrors, now: Timestamp) -> Option<Timestamp> {
        let date = self.closes_on.trim().parse::<Date>().ok();
        if date.is_none() {
            errors.push("closes_on", unread("date-form", &self.closes_on));
        }
        let time = self.closes_time.trim().parse::<Time>().ok();
        if time.is_none() {
            errors.push("closes_time", unread("time-form", &self.closes_time));
        }
        let zone = TimeZone::get(self.time_zone.trim()).ok();
        if zone.is_none() {
            errors.push("time_zone", unread("zone-unknown", &self.time_zone));
        }
        let local = date?.to_datetime(time?);
        let ambiguous = zone?.to_ambiguous_zoned(local);
        let key = match ambiguous.offset() {
            AmbiguousOffset::Unambiguous { .. } => None,
            AmbiguousOffset::Gap { .. } => Some("deadline-gap"),
            AmbiguousOffset::Fold { .. } => Some("deadline-fold"),
        };
        if let Some(key) = key {
            let problem = Problem::new(key)
                .with("date", local.date())
                .with("time", local.strftime("%H:%M"))
                .with("zone", self.time_zone.trim());
            errors.push("closes_time", problem);
        }
        let instant = ambiguous.compatible().ok()?.timestamp();
        if instant.duration_since(now) > FARTHEST {
            errors.push("closes_on", Problem::new("deadline-far").with("seen", self.closes_on.trim()));
        }
        if instant <= now {
            errors.push("closes_on", Problem::new("deadline-past").with("seen", self.closes_on.trim()));
        }
        Some(instant)
    }
}

/// An empty field, or one that cannot be read.
fn unread(key: &'static str, text: &str) -> Problem {
    match text.trim() {
        "" => Problem::new("text-missing"),
        seen => Problem::new(key).with("seen", shortened(seen)),
    }
}
