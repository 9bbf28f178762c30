//! Who may do what. Every right of the service is decided here.
//!
//! A laboratory is told "not found" of what is not its own, in the same words
//! as of what does not exist: a refusal must not confirm a guess.

use crate::id::{LaboratoryId, UserId};
use crate::round::Round;

/// A person who is signed in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Actor {
    /// Of the organiser.
    Organiser {
        /// Who.
        user: UserId,
    },
    /// Of a laboratory.
    Laboratory {
        /// Who.
        user: UserId,
        /// Of which laboratory.
        laboratory: LaboratoryId,
    },
}

/// Why something is refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Denied {
    /// The person may know that it exists, but has not the role for it.
    #[error("this needs another role")]
    Role,
    /// To this person it does not exist.
    #[error("there is no such thing")]
    Hidden,
}

impl Actor {
    /// Who acts.
    pub fn user(&self) -> UserId {
        match self {
            Actor::Organiser { user } | Actor::Laboratory { user, .. } => *user,
        }
    }

    /// The laboratory that this person belongs to.
    pub fn laboratory(&self) -> Option<LaboratoryId> {
        match self {
            Actor::Organiser { .. } => None,
            Actor::Laboratory { laboratory, .. } => Some(*laboratory),
        }
    }

    /// May set up, open, close, evaluate and publish rounds, and see who is who.
    ///
    /// # Errors
    ///
    /// [`Denied::Hidden`] for everyone but the organiser: a laboratory is not
    /// told which organiser's pages exist.
    pub fn may_organise(&self) -> Result<(), Denied> {
        match self {
            Actor::Organiser { .. } => Ok(()),
            Actor::Laboratory { .. } => Err(Denied::Hidden),
        }
    }

    /// May act for the laboratory it belongs to.
    ///
    /// # Errors
    ///
    /// [`Denied::Role`] for the organiser, who never enters results.
    pub fn may_report(&self) -> Result<LaboratoryId, Denied> {
        match self {
            Actor::Laboratory { laboratory, .. } => Ok(*laboratory),
            Actor::Organiser { .. } => Err(Denied::Role),
        }
    }

    /// May see this round, being enrolled in it or not.
    ///
    /// # Errors
    ///
    /// [`Denied::Hidden`] for a laboratory that is not enrolled, or while the
    /// round is being set up.
    pub fn may_see_round(&self, round: &Round, enrolled: bool) -> Result<(), Denied> {
        match self {
            Actor::Organiser { .. } => Ok(()),
            Actor::Laboratory { .. } if enrolled && !round.is_draft() => Ok(()),
            Actor::Laboratory { .. } => Err(Denied::Hidden),
        }
    }

    /// May see what `owner` sent: its drafts aside, its receipts, scores and
    /// certificate.
    ///
    /// # Errors
    ///
    /// [`Denied::Hidden`] for every other laboratory.
    pub fn may_see_results_of(&self, owner: LaboratoryId) -> Result<(), Denied> {
        match self {
            Actor::Organiser { .. } => Ok(()),
            Actor::Laboratory { laboratory, .. } if *laboratory == owner => Ok(()),
            Actor::Laboratory { .. } => Err(Denied::Hidden),
        }
    }

    /// May see scores and assigned values of this round.
    ///
    /// # Errors
    ///
    /// [`Denied::Hidden`] for a laboratory before publication.
    pub fn may_see_scores(&self, round: &Round, enrolled: bool) -> Result<(), Denied> {
        self.may_see_round(round, enrolled)?;
        match self {
            Actor::Organiser { .. } => Ok(()),
            Actor::Laboratory { .. } if round.is_published() => Ok(()),
            Actor::Laboratory { .. } => Err(Denied::Hidden),
        }
    }
}
