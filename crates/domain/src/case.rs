//! Complaints and appeals: an appeal is against an evaluation, a complaint about
//! everything else. Each is acknowledged at once, investigated by somebody who had
//! no part in the work, decided by a reviewer who had none either, answered and
//! closed. None of it changes what a laboratory sent.

use jiff::{SignedDuration, Timestamp};

/// After so long without a decision the case is called overdue. Common practice,
/// no source.
pub const DECIDED_WITHIN: SignedDuration = SignedDuration::from_hours(30 * 24);

/// Which of the two.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// About anything but an evaluation.
    Complaint,
    /// Against an evaluation.
    Appeal,
}

impl Kind {
    /// Both, in the order in which they are offered.
    pub const ALL: [Kind; 2] = [Kind::Appeal, Kind::Complaint];

    /// The word that is stored and posted.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Complaint => "complaint",
            Kind::Appeal => "appeal",
        }
    }

    /// The kind of this word.
    pub fn of(word: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|kind| kind.word() == word)
    }
}

/// What became of a case.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// It is right.
    Upheld,
    /// It is right in part.
    Partly,
    /// It is not.
    Rejected,
}

impl Outcome {
    /// All, in the order in which they are offered.
    pub const ALL: [Outcome; 3] = [Outcome::Upheld, Outcome::Partly, Outcome::Rejected];

    /// The word that is stored and posted.
    pub fn word(self) -> &'static str {
        match self {
            Outcome::Upheld => "upheld",
            Outcome::Partly => "partly",
            Outcome::Rejected => "rejected",
        }
    }

    /// The outcome of this word.
    pub fn of(word: &str) -> Option<Outcome> {
        Outcome::ALL.into_iter().find(|outcome| outcome.word() == word)
    }
}

/// A step of a case.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Who investigates is named; may be named anew.
    Assigned,
    /// What the investigation found.
    Investigated,
    /// Upheld, in part, or rejected, with the reason.
    Decided,
    /// What is done because of it.
    Acted,
    /// The laboratory has the answer.
    Answered,
    /// Nothing is left to do.
    Closed,
}

impl Step {
    /// All, in their order.
    pub const ALL: [Step; 6] =
        [Step::Assigned, Step::Investigated, Step::Decided, Step::Acted, Step::Answered, Step::Closed];

    /// The word that is stored and posted.
    pub fn word(self) -> &'static str {
        match self {
            Step::Assigned => "assigned",
            Step::Investigated => "investigated",
            Step::Decided => "decided",
            Step::Acted => "acted",
            Step::Answered => "answered",
            Step::Closed => "closed",
        }
    }

    /// The step of this word.
    pub fn of(word: &str) -> Option<Step> {
        Step::ALL.into_iter().find(|step| step.word() == word)
    }
}

/// What may come next after the steps `made`, in their order. Action is optional;
/// everything else comes in turn.
pub fn next(made: &[Step]) -> Vec<Step> {
    let has = |step: Step| made.contains(&step);
    if has(Step::Closed) {
        return Vec::new();
    }
    if has(Step::Answered) {
        return vec![Step::Acted, Step::Closed];
    }
    if has(Step::Decided) {
        return vec![Step::Acted, Step::Answered];
    }
    if has(Step::Investigated) {
        return vec![Step::Decided];
    }
    if has(Step::Assigned) {
        return vec![Step::Investigated, Step::Assigned];
    }
    vec![Step::Assigned]
}

/// Whether a case that came at `received` and has no decision is overdue at `now`.
pub fn is_overdue(received: Timestamp, made: &[Step], now: Timestamp) -> bool {
    !made.contains(&Step::Decided) && now.duration_since(received) > DECIDED_WITHIN
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_steps_of_a_case_come_in_turn() {
        use Step::{Acted, Answered, Assigned, Closed, Decided, Investigated};
        let mut made = Vec::new();
        for step in [Assigned, Investigated, Decided, Answered, Closed] {
            assert!(next(&made).contains(&step), "{step:?} after {made:?}");
            assert!(!next(&made).contains(&Closed) || step == Closed, "nothing is closed unanswered");
            made.push(step);
        }
        assert!(next(&made).is_empty());
        assert_eq!(next(&[Assigned]), [Investigated, Assigned], "somebody else may be named");
        assert!(next(&[Assigned, Investigated, Decided, Answered]).contains(&Acted));
    }

    #[test]
    fn a_case_without_a_decision_is_overdue_after_thirty_days() {
        let received: Timestamp = "2027-03-01T12:00:00Z".parse().expect("an instant");
        let days = |n: i64| received + SignedDuration::from_hours(24 * n);

        assert!(!is_overdue(received, &[], days(30)));
        assert!(is_overdue(received, &[Step::Assigned], days(31)));
        assert!(!is_overdue(received, &[Step::Assigned, Step::Investigated, Step::Decided], days(99)));
    }

    #[test]
    fn words_come_back() {
        assert!(Kind::ALL.into_iter().all(|kind| Kind::of(kind.word()) == Some(kind)));
        assert!(Outcome::ALL.into_iter().all(|outcome| Outcome::of(outcome.word()) == Some(outcome)));
        assert!(Step::ALL.into_iter().all(|step| Step::of(step.word()) == Some(step)));
        assert_eq!((Kind::of(""), Outcome::of("won"), Step::of("lost")), (None, None, None));
    }
}
