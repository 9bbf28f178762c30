//! Who may do what. Every right of the service is decided here.
//!
//! A laboratory is told "not found" of what is not its own, in the same words
//! as of what does not exist: a refusal must not confirm a guess.

use crate::id::{LaboratoryId, UserId};
use crate::round::Round;

/// What a person of a laboratory may do; each includes those before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Rights {
    /// Sees everything of the own laboratory and changes nothing.
    Read,
    /// Types results and saves them.
    Enter,
    /// Sends results, and manages the people of the laboratory.
    Submit,
}

impl Rights {
    /// All, the least first.
    pub const ALL: [Rights; 3] = [Rights::Read, Rights::Enter, Rights::Submit];

    /// The word that is stored and posted.
    pub fn word(self) -> &'static str {
        match self {
            Rights::Read => "read",
            Rights::Enter => "enter",
            Rights::Submit => "submit",
        }
    }

    /// The rights of this word.
    pub fn of(word: &str) -> Option<Rights> {
        Rights::ALL.into_iter().find(|rights| rights.word() == word)
    }
}

/// What a person of the organiser's staff is there for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Duty {
    /// Runs the rounds: everything but approving.
    Organiser,
    /// Decides and evaluates, and sees codes only.
    Statistician,
    /// Approves or returns, edits nothing, and sees codes only.
    Reviewer,
}

impl Duty {
    /// All, in the order in which they are shown.
    pub const ALL: [Duty; 3] = [Duty::Organiser, Duty::Statistician, Duty::Reviewer];

    /// The word that is stored and posted.
    pub fn word(self) -> &'static str {
        match self {
            Duty::Organiser => "organiser",
            Duty::Statistician => "statistician",
            Duty::Reviewer => "reviewer",
        }
    }

    /// The duty of this word.
    pub fn of(word: &str) -> Option<Duty> {
        Duty::ALL.into_iter().find(|duty| duty.word() == word)
    }
}

/// Whose a person's account is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// The organiser's.
    Staff(Duty),
    /// A laboratory's.
    Laboratory(LaboratoryId, Rights),
}

/// A person who is signed in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Actor {
    /// Of the organiser.
    Organiser {
        /// Who.
        user: UserId,
    },
    /// Who decides and evaluates for the organiser.
    Statistician {
        /// Who.
        user: UserId,
    },
    /// Who approves what the others made.
    Reviewer {
        /// Who.
        user: UserId,
    },
    /// Of a laboratory.
    Laboratory {
        /// Who.
        user: UserId,
        /// Of which laboratory.
        laboratory: LaboratoryId,
        /// What the laboratory lets this person do.
        rights: Rights,
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
    /// A person of a laboratory who may only read.
    #[error("this needs the right to enter results")]
    Enter,
    /// A person of a laboratory who may not send results.
    #[error("this needs the right to send results")]
    Submit,
    /// A person of a laboratory who may not manage its people.
    #[error("this needs the right to manage people")]
    People,
}

impl Actor {
    /// The person of an account.
    pub fn new(user: UserId, standing: Standing) -> Actor {
        match standing {
            Standing::Staff(Duty::Organiser) => Actor::Organiser { user },
            Standing::Staff(Duty::Statistician) => Actor::Statistician { user },
            Standing::Staff(Duty::Reviewer) => Actor::Reviewer { user },
            Standing::Laboratory(laboratory, rights) => Actor::Laboratory { user, laboratory, rights },
        }
    }

    /// Who acts.
    pub fn user(&self) -> UserId {
        match self {
            Actor::Organiser { user }
            | Actor::Statistician { user }
            | Actor::Reviewer { user }
            | Actor::Laboratory { user, .. } => *user,
        }
    }

    /// What the person does for the organiser; none for a laboratory's.
    pub fn duty(&self) -> Option<Duty> {
        match self {
            Actor::Organiser { .. } => Some(Duty::Organiser),
            Actor::Statistician { .. } => Some(Duty::Statistician),
            Actor::Reviewer { .. } => Some(Duty::Reviewer),
            Actor::Laboratory { .. } => None,
        }
    }

    /// The laboratory that this person belongs to.
    pub fn laboratory(&self) -> Option<LaboratoryId> {
        match self {
            Actor::Laboratory { laboratory, .. } => Some(*laboratory),
            _ => None,
        }
    }

    /// May set up, open, close and publish rounds, and look up who is who.
    ///
    /// # Errors
    ///
    /// [`Denied::Role`] for others of the staff; [`Denied::Hidden`] for a
    /// laboratory, which is not told which organiser's pages exist.
    pub fn may_organise(&self) -> Result<(), Denied> {
        self.with_duty(&[Duty::Organiser])
    }

    /// May enter data of items, decide, try out and evaluate.
    ///
    /// # Errors
    ///
    /// [`Denied::Role`] for a reviewer, who edits nothing; [`Denied::Hidden`] for
    /// a laboratory.
    pub fn may_evaluate(&self) -> Result<(), Denied> {
        self.with_duty(&[Duty::Organiser, Duty::Statistician])
    }

    /// May read everything about a round, by code.
    ///
    /// # Errors
    ///
    /// [`Denied::Hidden`] for a laboratory.
    pub fn may_review(&self) -> Result<(), Denied> {
        self.with_duty(&Duty::ALL)
    }

    /// May approve what others made, or return it (two-person rule). Whether the
    /// person edited anything of it is asked besides: [`is_uninvolved`].
    ///
    /// # Errors
    ///
    /// [`Denied::Role`] for others of the staff; [`Denied::Hidden`] for a
    /// laboratory.
    pub fn may_approve(&self) -> Result<(), Denied> {
        self.with_duty(&[Duty::Reviewer])
    }

    /// May write the comments of a report; everybody of the staff, also a reviewer:
    /// a comment edits nothing of an evaluation.
    ///
    /// # Errors
    ///
    /// [`Denied::Hidden`] for a laboratory.
    pub fn may_comment(&self) -> Result<(), Denied> {
        self.with_duty(&Duty::ALL)
    }

    /// May issue a report.
    ///
    /// # Errors
    ///
    /// [`Denied::Role`] for others of the staff; [`Denied::Hidden`] for a
    /// laboratory.
    pub fn may_issue_reports(&self) -> Result<(), Denied> {
        self.with_duty(&[Duty::Organiser])
    }

    fn with_duty(&self, duties: &[Duty]) -> Result<(), Denied> {
        match self.duty() {
            Some(duty) if duties.contains(&duty) => Ok(()),
            Some(_) => Err(Denied::Role),
            None => Err(Denied::Hidden),
        }
    }

    /// May see what is the own laboratory's.
    ///
    /// # Errors
    ///
    /// [`Denied::Role`] for the organiser's staff, who have none.
    pub fn may_read_own(&self) -> Result<LaboratoryId, Denied> {
        self.with_rights(Rights::Read, Denied::Role)
    }

    /// May type results of the own laboratory and save them.
    ///
    /// # Errors
    ///
    /// [`Denied::Role`] for the organiser, who never enters results;
    /// [`Denied::Enter`] for who may only read.
    pub fn may_enter(&self) -> Result<LaboratoryId, Denied> {
        self.with_rights(Rights::Enter, Denied::Enter)
    }

    /// May send the results of the own laboratory.
    ///
    /// # Errors
    ///
    /// [`Denied::Role`] for the organiser; [`Denied::Submit`] for who may read or
    /// enter.
    pub fn may_submit(&self) -> Result<LaboratoryId, Denied> {
        self.with_rights(Rights::Submit, Denied::Submit)
    }

    /// May invite people of the own laboratory, change their rights, and end
    /// their access.
    ///
    /// # Errors
    ///
    /// [`Denied::Role`] for the organiser, who invites the first person only;
    /// [`Denied::People`] for who may read or enter.
    pub fn may_manage_people(&self) -> Result<LaboratoryId, Denied> {
        self.with_rights(Rights::Submit, Denied::People)
    }

    fn with_rights(&self, least: Rights, otherwise: Denied) -> Result<LaboratoryId, Denied> {
        match self {
            Actor::Laboratory { laboratory, rights, .. } if *rights >= least => Ok(*laboratory),
            Actor::Laboratory { .. } => Err(otherwise),
            _ => Err(Denied::Role),
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
            Actor::Laboratory { .. } if enrolled && !round.is_draft() => Ok(()),
            Actor::Laboratory { .. } => Err(Denied::Hidden),
            _ => Ok(()),
        }
    }

    /// May see what `owner` sent: its drafts aside, its receipts, scores and
    /// certificate. They may carry its name, so only the organiser of the staff.
    ///
    /// # Errors
    ///
    /// [`Denied::Hidden`] for everybody else.
    pub fn may_see_results_of(&self, owner: LaboratoryId) -> Result<(), Denied> {
        match self {
            Actor::Organiser { .. } => Ok(()),
            Actor::Laboratory { laboratory, .. } if *laboratory == owner => Ok(()),
            _ => Err(Denied::Hidden),
        }
    }

    /// May open a file that is kept of a unit of `owner`, and was sent by the
    /// laboratory or by the organiser. Picture and text may show a name, so of the staff
    /// only the organiser; a laboratory opens what it sent itself.
    ///
    /// # Errors
    ///
    /// [`Denied::Role`] for others of the staff, who see that there is a file;
    /// [`Denied::Hidden`] for other laboratories, and of what the organiser keeps.
    pub fn may_open_unit_file(&self, owner: LaboratoryId, from_laboratory: bool) -> Result<(), Denied> {
        match self {
            Actor::Organiser { .. } => Ok(()),
            Actor::Statistician { .. } | Actor::Reviewer { .. } => Err(Denied::Role),
            Actor::Laboratory { laboratory, .. } if *laboratory == owner && from_laboratory => Ok(()),
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
            Actor::Laboratory { .. } if !round.is_published() => Err(Denied::Hidden),
            _ => Ok(()),
        }
    }
}

impl Actor {
    /// May read a report of this round that was issued, `of_publication` where it
    /// reports one.
    ///
    /// # Errors
    ///
    /// [`Denied::Hidden`] for a laboratory that is not enrolled, before publication,
    /// and for a report from before one.
    pub fn may_read_report(&self, round: &Round, enrolled: bool, of_publication: bool) -> Result<(), Denied> {
        self.may_see_scores(round, enrolled)?;
        match self {
            Actor::Laboratory { .. } if !of_publication => Err(Denied::Hidden),
            _ => Ok(()),
        }
    }
}

/// Whether `sender` is another person than all `typists`: those who saved a
/// change of what is sent since the last sending. Where a laboratory wants a
/// second person, nobody else sends.
pub fn is_second_person(sender: UserId, typists: &[UserId]) -> bool {
    !typists.contains(&sender)
}

/// Whether `person` is none of the `editors`: those who designed, decided or
/// evaluated. Nobody else approves (two-person rule).
pub fn is_uninvolved(person: UserId, editors: &[UserId]) -> bool {
    !editors.contains(&person)
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    fn of_laboratory(rights: Rights) -> Actor {
        Actor::Laboratory { user: UserId(Uuid::from_u128(1)), laboratory: LaboratoryId(Uuid::from_u128(2)), rights }
    }

    #[test]
    fn each_right_includes_those_before_it_and_nothing_more() {
        let own = LaboratoryId(Uuid::from_u128(2));
        let asked = |rights| {
            let actor = of_laboratory(rights);
            [actor.may_read_own(), actor.may_enter(), actor.may_submit(), actor.may_manage_people()]
        };

        assert_eq!(
            asked(Rights::Read),
            [Ok(own), Err(Denied::Enter), Err(Denied::Submit), Err(Denied::People)],
            "reads, changes nothing"
        );
        assert_eq!(asked(Rights::Enter), [Ok(own), Ok(own), Err(Denied::Submit), Err(Denied::People)]);
        assert_eq!(asked(Rights::Submit), [Ok(own), Ok(own), Ok(own), Ok(own)]);
    }

    #[test]
    fn a_file_of_a_unit_is_for_the_organiser_and_for_the_laboratory_that_sent_it() {
        let (own, other) = (LaboratoryId(Uuid::from_u128(2)), LaboratoryId(Uuid::from_u128(3)));
        let user = UserId(Uuid::from_u128(1));
        let asked = |actor: Actor| {
            [(own, true), (own, false), (other, true)].map(|(owner, from)| actor.may_open_unit_file(owner, from))
        };

        assert_eq!(asked(Actor::Organiser { user }), [Ok(()); 3]);
        assert_eq!(asked(Actor::Statistician { user }), [Err(Denied::Role); 3]);
        assert_eq!(asked(Actor::Reviewer { user }), [Err(Denied::Role); 3]);
        let hidden = Err(Denied::Hidden);
        assert_eq!(asked(of_laboratory(Rights::Read)), [Ok(()), hidden, hidden]);
    }

    #[test]
    fn the_organiser_does_nothing_for_a_laboratory_and_nobody_of_one_organises() {
        let organiser = Actor::Organiser { user: UserId(Uuid::from_u128(1)) };
        for answer in
            [organiser.may_read_own(), organiser.may_enter(), organiser.may_submit(), organiser.may_manage_people()]
        {
            assert_eq!(answer, Err(Denied::Role));
        }
        for rights in Rights::ALL {
            assert_eq!(of_laboratory(rights).may_organise(), Err(Denied::Hidden));
            let other = LaboratoryId(Uuid::from_u128(3));
            assert_eq!(of_laboratory(rights).may_see_results_of(other), Err(Denied::Hidden));
            assert_eq!(of_laboratory(rights).may_see_results_of(LaboratoryId(Uuid::from_u128(2))), Ok(()));
        }
    }

    #[test]
    fn each_duty_of_the_staff_may_its_own_part_and_laboratories_learn_of_none() {
        let user = UserId(Uuid::from_u128(1));
        let may = |actor: Actor| [actor.may_organise(), actor.may_evaluate(), actor.may_review(), actor.may_approve()];
        let no = Err(Denied::Role);

        assert_eq!(may(Actor::Organiser { user }), [Ok(()), Ok(()), Ok(()), no]);
        assert_eq!(may(Actor::Statistician { user }), [no, Ok(()), Ok(()), no]);
        assert_eq!(may(Actor::Reviewer { user }), [no, no, Ok(()), Ok(())]);
        for rights in Rights::ALL {
            assert_eq!(may(of_laboratory(rights)), [Err(Denied::Hidden); 4]);
        }
        for duty in Duty::ALL {
            assert_eq!(Actor::new(user, Standing::Staff(duty)).duty(), Some(duty));
            assert_eq!(Duty::of(duty.word()), Some(duty));
        }
        let other = LaboratoryId(Uuid::from_u128(3));
        assert_eq!(Actor::Reviewer { user }.may_see_results_of(other), Err(Denied::Hidden), "a receipt may name it");
    }

    fn round(state: crate::round::RoundState) -> Round {
        Round {
            id: crate::id::RoundId(Uuid::nil()),
            code: "QW-1".to_owned(),
            title: "Traces".to_owned(),
            scheme: String::new(),
            instructions: String::new(),
            time_zone: "UTC".to_owned(),
            closes_at: jiff::Timestamp::UNIX_EPOCH,
            asks: crate::asks::Asks::default(),
            state,
        }
    }

    #[test]
    fn reports_are_written_by_the_staff_issued_by_the_organiser_and_read_after_publication() {
        use crate::round::RoundState::{Closed, Published};
        let (user, at) = (UserId(Uuid::from_u128(1)), jiff::Timestamp::UNIX_EPOCH);
        let evaluation = crate::id::EvaluationId(Uuid::nil());
        let closed = round(Closed { opened_at: at, closed_at: at });
        let published = round(Published { opened_at: at, closed_at: at, published_at: at, evaluation });
        let may = |actor: Actor| [actor.may_comment(), actor.may_issue_reports()];

        assert_eq!(may(Actor::Organiser { user }), [Ok(()), Ok(())]);
        assert_eq!(may(Actor::Statistician { user }), [Ok(()), Err(Denied::Role)]);
        assert_eq!(may(Actor::Reviewer { user }), [Ok(()), Err(Denied::Role)]);
        assert_eq!(may(of_laboratory(Rights::Submit)), [Err(Denied::Hidden); 2]);
        for staff in [Actor::Organiser { user }, Actor::Statistician { user }, Actor::Reviewer { user }] {
            assert_eq!(staff.may_read_report(&closed, false, false), Ok(()));
        }
        let laboratory = of_laboratory(Rights::Read);
        assert_eq!(laboratory.may_read_report(&published, true, true), Ok(()));
        assert_eq!(laboratory.may_read_report(&published, true, false), Err(Denied::Hidden), "it is preliminary");
        assert_eq!(laboratory.may_read_report(&published, false, true), Err(Denied::Hidden), "not enrolled");
        assert_eq!(laboratory.may_read_report(&closed, true, true), Err(Denied::Hidden), "not published");
    }

    #[test]
    fn rights_are_stored_as_words_that_come_back() {
        assert_eq!(Rights::ALL.map(Rights::word), ["read", "enter", "submit"]);
        for rights in Rights::ALL {
            assert_eq!(Rights::of(rights.word()), Some(rights));
        }
        for word in ["", "Read", "check", "submit "] {
            assert_eq!(Rights::of(word), None, "{word:?}");
        }
    }

    #[test]
    fn the_second_person_typed_nothing_of_it() {
        let [one, two, three] = [1, 2, 3].map(|n| UserId(Uuid::from_u128(n)));

        assert!(is_second_person(three, &[one, two]));
        assert!(is_second_person(one, &[]));
        assert!(!is_second_person(two, &[one, two]));
    }
}
