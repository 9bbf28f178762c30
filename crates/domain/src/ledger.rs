//! The ledger of an item's units: what was made, who got which, what was
//! replaced. Events are only ever added; the state follows from them in order.

use crate::field::{FieldErrors, Problem};
use crate::id::ParticipantId;
use crate::text;
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet};

/// The most units of an item.
pub const MOST_UNITS: i64 = 2_000;

/// Something that happened to units of an item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Event {
    /// Units 1 to this number exist.
    Made {
        /// How many in all.
        count: i64,
    },
    /// A unit is a participant's.
    Assigned {
        /// The unit.
        number: i64,
        /// Whose.
        to: ParticipantId,
    },
    /// A unit was sent.
    Dispatched {
        /// The unit.
        number: i64,
        /// When.
        on: Date,
        /// By whom; may be empty.
        carrier: String,
    },
    /// A unit is of no use any more: damaged, lost, taken for tests.
    Void {
        /// The unit.
        number: i64,
        /// Why.
        reason: String,
    },
    /// Something to remember of a unit.
    Note {
        /// The unit.
        number: i64,
        /// What.
        text: String,
    },
}

impl Event {
    /// The word that is stored.
    pub fn kind(&self) -> &'static str {
        match self {
            Event::Made { .. } => "made",
            Event::Assigned { .. } => "assigned",
            Event::Dispatched { .. } => "dispatched",
            Event::Void { .. } => "void",
            Event::Note { .. } => "note",
        }
    }
}

/// A unit as it is now.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct UnitState {
    /// Whose it is.
    pub owner: Option<ParticipantId>,
    /// When it was sent.
    pub dispatched_on: Option<Date>,
    /// By whom; may be empty.
    pub carrier: String,
    /// Why it is of no use any more; empty where it is.
    pub void: String,
    /// What was noted, oldest first.
    pub notes: Vec<String>,
}

/// The units of an item.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Ledger {
    /// How many were made.
    pub made: i64,
    /// Those that something happened to, by number.
    pub units: BTreeMap<i64, UnitState>,
    /// Units of the study of homogeneity: opened, so nobody's.
    pub tested: BTreeSet<i64>,
}

impl Ledger {
    /// The state after `events`, oldest first; `tested` are the units that a
    /// study of homogeneity used up.
    pub fn of(events: &[Event], tested: BTreeSet<i64>) -> Ledger {
        let mut ledger = Ledger { tested, ..Ledger::default() };
        for event in events {
            ledger.apply(event);
        }
        ledger
    }

    fn apply(&mut self, event: &Event) {
        match event {
            Event::Made { count } => self.made = *count,
            Event::Assigned { number, to } => self.unit(*number).owner = Some(*to),
            Event::Dispatched { number, on, carrier } => {
                let unit = self.unit(*number);
                unit.dispatched_on = Some(*on);
                unit.carrier.clone_from(carrier);
            }
            Event::Void { number, reason } => self.unit(*number).void.clone_from(reason),
            Event::Note { number, text } => self.unit(*number).notes.push(text.clone()),
        }
    }

    fn unit(&mut self, number: i64) -> &mut UnitState {
        self.units.entry(number).or_default()
    }

    /// The unit that a participant has now.
    pub fn current(&self, owner: ParticipantId) -> Option<(i64, &UnitState)> {
        let own = |(_, unit): &(&i64, &UnitState)| unit.owner == Some(owner) && unit.void.is_empty();
        self.units.iter().find(own).map(|(number, unit)| (*number, unit))
    }

    /// Units that nobody has, that are of use and that no study used up.
    pub fn spares(&self) -> Vec<i64> {
        let free = |number: &i64| {
            let state = self.units.get(number);
            !self.tested.contains(number) && state.is_none_or(|unit| unit.owner.is_none() && unit.void.is_empty())
        };
        (1..=self.made).filter(free).collect()
    }

    /// Reads how many units were made: no fewer than have a history.
    ///
    /// # Errors
    ///
    /// What is wrong with the number.
    pub fn made(&self, typed: &str) -> Result<Event, FieldErrors> {
        let least = self.units.keys().chain(&self.tested).max().copied().unwrap_or(1);
        let count = typed.trim().parse::<i64>().ok().filter(|count| (least..=MOST_UNITS).contains(count));
        match count {
            Some(count) => Ok(Event::Made { count }),
            None => {
                let problem = Problem::new("ledger-count")
                    .with("seen", crate::field::shortened(typed.trim()))
                    .with("least", least)
                    .with("most", MOST_UNITS);
                Err(one("made", problem))
            }
        }
    }

    /// Gives each of `participants` that has none a unit, drawn by `pick`: an index
    /// below its argument.
    ///
    /// # Errors
    ///
    /// Fewer spares than are needed.
    pub fn assign(
        &self,
        participants: &[ParticipantId],
        mut pick: impl FnMut(usize) -> usize,
    ) -> Result<Vec<Event>, FieldErrors> {
        let without: Vec<ParticipantId> =
            participants.iter().copied().filter(|participant| self.current(*participant).is_none()).collect();
        let mut spares = self.spares();
        if without.len() > spares.len() {
            let problem = Problem::new("ledger-few-spares").with("needed", without.len()).with("spares", spares.len());
            return Err(one("assign", problem));
        }
        let draw = |to: ParticipantId| {
            let index = pick(spares.len()).min(spares.len() - 1);
            Event::Assigned { number: spares.swap_remove(index), to }
        };
        Ok(without.into_iter().map(draw).collect())
    }

    /// Marks all units that are somebody's and were not sent as sent.
    ///
    /// # Errors
    ///
    /// A date that is none, and that there is nothing to send.
    pub fn dispatch(&self, on: &str, carrier: &str, today: Date) -> Result<Vec<Event>, FieldErrors> {
        let mut errors = FieldErrors::new();
        let date = errors.keep("dispatched_on", crate::study::read_date(on));
        if date.is_some_and(|date| date > today) {
            errors.push("dispatched_on", Problem::new("ledger-future"));
        }
        let carrier = text::line(&mut errors, "carrier", carrier, false);
        let waits = |unit: &UnitState| unit.owner.is_some() && unit.void.is_empty() && unit.dispatched_on.is_none();
        let waiting: Vec<i64> = self.units.iter().filter(|(_, unit)| waits(unit)).map(|(number, _)| *number).collect();
        if waiting.is_empty() {
            errors.push("dispatched_on", Problem::new("ledger-nothing-to-send"));
        }
        let date = date.unwrap_or(today);
        let sent = |number| Event::Dispatched { number, on: date, carrier: carrier.clone() };
        errors.into_result(waiting.into_iter().map(sent).collect())
    }

    /// Replaces the unit of a participant: the old number is void, the first spare
    /// is the participant's.
    ///
    /// # Errors
    ///
    /// No reason, no unit to replace, no spare.
    pub fn replace(&self, owner: ParticipantId, reason: &str) -> Result<Vec<Event>, FieldErrors> {
        let mut errors = FieldErrors::new();
        let reason = text::reason(&mut errors, "reason", reason);
        let current = self.current(owner).map(|(number, _)| number);
        if current.is_none() {
            errors.push("code", Problem::new("ledger-no-unit"));
        }
        let spare = self.spares().first().copied();
        if spare.is_none() {
            errors.push("code", Problem::new("ledger-few-spares").with("needed", 1).with("spares", 0));
        }
        let (number, next) = (current.unwrap_or_default(), spare.unwrap_or_default());
        errors.into_result(vec![Event::Void { number, reason }, Event::Assigned { number: next, to: owner }])
    }

    /// Takes a spare away, or notes something of a unit.
    ///
    /// # Errors
    ///
    /// No text, and a number that is no unit; a unit that is somebody's is replaced,
    /// not taken away.
    pub fn remark(&self, number: &str, text: &str, void: bool) -> Result<Event, FieldErrors> {
        let mut errors = FieldErrors::new();
        let seen = crate::field::shortened(number.trim());
        let found = number.trim().parse::<i64>().ok().filter(|number| (1..=self.made).contains(number));
        if found.is_none() {
            errors.push("number", Problem::new("ledger-number-none").with("seen", seen).with("most", self.made));
        }
        let text = text::reason(&mut errors, "remark", text);
        let number = found.unwrap_or_default();
        let owned = self.units.get(&number).is_some_and(|unit| unit.owner.is_some() && unit.void.is_empty());
        if void && owned {
            errors.push("number", Problem::new("ledger-owned").with("seen", number));
        }
        errors.into_result(if void { Event::Void { number, reason: text } } else { Event::Note { number, text } })
    }
}

fn one(field: &str, problem: Problem) -> FieldErrors {
    let mut errors = FieldErrors::new();
    errors.push(field, problem);
    errors
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    fn who(n: u128) -> ParticipantId {
        ParticipantId(Uuid::from_u128(n))
    }

    fn day(text: &str) -> Date {
        text.parse().unwrap()
    }

    #[test]
    fn a_damaged_unit_is_replaced_by_a_spare_and_its_number_never_comes_back() {
        let made = Event::Made { count: 5 };
        let ledger = Ledger::of(std::slice::from_ref(&made), BTreeSet::from([2]));
        assert_eq!(ledger.spares(), [1, 3, 4, 5], "2 was opened for the study");

        let assigned = ledger.assign(&[who(1), who(2)], |_| 0).unwrap();
        let mut events = vec![made];
        events.extend(assigned);
        let ledger = Ledger::of(&events, BTreeSet::from([2]));
        let (number, _) = ledger.current(who(1)).unwrap();
        assert_ne!(ledger.current(who(2)).unwrap().0, number);
        events.extend(ledger.dispatch("2027-03-01", "Van", day("2027-03-01")).unwrap());
        events.extend(Ledger::of(&events, BTreeSet::from([2])).replace(who(1), "Bottle broken.").unwrap());

        let ledger = Ledger::of(&events, BTreeSet::from([2]));
        let (next, unit) = ledger.current(who(1)).unwrap();
        assert_ne!(next, number);
        assert_eq!((unit.dispatched_on, ledger.units[&number].void.as_str()), (None, "Bottle broken."));
        assert_eq!(ledger.spares().len(), 1);
        assert!(!ledger.spares().contains(&number));
        // Only the replacement has still to be sent.
        let sent = ledger.dispatch("2027-03-05", "", day("2027-03-06")).unwrap();
        assert_eq!(sent, [Event::Dispatched { number: next, on: day("2027-03-05"), carrier: String::new() }]);
    }

    #[test]
    fn what_cannot_be_done_says_why() {
        let key = |errors: FieldErrors| errors.iter().map(|(_, problem)| problem.key).collect::<Vec<_>>();
        let made = Event::Made { count: 1 };
        let ledger = Ledger::of(&[made.clone(), Event::Assigned { number: 1, to: who(1) }], BTreeSet::new());

        assert_eq!(key(ledger.assign(&[who(1), who(2)], |_| 0).unwrap_err()), ["ledger-few-spares"]);
        assert_eq!(key(ledger.replace(who(1), "broken").unwrap_err()), ["ledger-few-spares"]);
        assert_eq!(
            key(ledger.replace(who(2), "").unwrap_err()),
            ["text-missing", "ledger-no-unit", "ledger-few-spares"]
        );
        assert_eq!(key(ledger.made("0").unwrap_err()), ["ledger-count"]);
        assert_eq!(key(ledger.made("5 units").unwrap_err()), ["ledger-count"]);
        assert_eq!(key(ledger.remark("1", "spilt", true).unwrap_err()), ["ledger-owned"]);
        assert_eq!(key(ledger.remark("7", "spilt", false).unwrap_err()), ["ledger-number-none"]);
        assert_eq!(key(ledger.dispatch("2027-03-02", "", day("2027-03-01")).unwrap_err()), ["ledger-future"]);
        assert_eq!(
            key(Ledger::of(&[made], BTreeSet::new()).dispatch("x", "", day("2027-03-01")).unwrap_err()),
            ["date-form", "ledger-nothing-to-send"]
        );
        // Fewer than have a history cannot have been made.
        let ledger = Ledger::of(&[Event::Note { number: 7, text: "label loose".to_owned() }], BTreeSet::from([9]));
        assert_eq!(key(ledger.made("8").unwrap_err()), ["ledger-count"]);
        assert_eq!(ledger.made("9"), Ok(Event::Made { count: 9 }));
    }
}
