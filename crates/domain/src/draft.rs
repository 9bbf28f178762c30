//! Drafts that several people type at once: what changed, and how a form that
//! was shown a while ago comes together with what was saved since.

use crate::declared;
use crate::result::Typed;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// What one saving changed: by field, the text before and the text after.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Changes(pub BTreeMap<String, (String, String)>);

impl Changes {
    /// The fields that differ, an empty one and a missing one being the same.
    pub fn between(before: &Typed, after: &Typed) -> Changes {
        let fields: BTreeSet<&String> = before.0.keys().chain(after.0.keys()).collect();
        let changed = fields.into_iter().filter_map(|field| {
            let (old, new) = (before.raw(field), after.raw(field));
            (old != new).then(|| (field.clone(), (old.to_owned(), new.to_owned())))
        });
        Changes(changed.collect())
    }

    /// Whether nothing changed.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Brings `typed` back to what it was before.
    pub fn undo(&self, typed: &mut Typed) {
        for (field, (before, _)) in &self.0 {
            typed.set(field, before);
        }
    }
}

/// What a form showed that was read at an earlier version: what is stored, without
/// what others changed since. `since` are the savings behind that version, oldest
/// first, each with whether it came from this very form: what a form saved it
/// has seen.
pub fn shown<'a>(stored: &Typed, since: impl DoubleEndedIterator<Item = (&'a Changes, bool)>) -> Typed {
    let mut shown = stored.clone();
    let mut seen: BTreeSet<&String> = BTreeSet::new();
    for (changes, own) in since.rev() {
        for (field, (before, _)) in &changes.0 {
            if own {
                seen.insert(field);
            } else if !seen.contains(field) {
                shown.set(field, before);
            }
        }
    }
    shown
}

/// What is behind the name of a field that has a second text, typed by somebody
/// who had not seen the first: a person is to choose.
pub const OTHER: &str = ".other";
/// What is behind the name of the field that says which text was chosen.
pub const KEEP: &str = ".keep";

/// Fields that say something about another field and are not argued about: the
/// last one counts.
fn is_companion(field: &str) -> bool {
    is_last_word(field) || field.ends_with(OTHER) || field.ends_with(KEEP)
}

/// Readings of a number and answers to questions: whoever says it last has said it.
fn is_last_word(field: &str) -> bool {
    field.ends_with(".reading") || declared::is_answer(field)
}

/// Puts together what is `stored` with what was `posted` on a form that showed
/// `base`. A field that the form did not change stays as stored; one that only
/// the form changed is taken over; one that both changed keeps the stored text
/// and gets the posted one beside it, as `12.v1.other`. A text that was deleted
/// on one side only, and changed on the other, stays.
pub fn merge(stored: &Typed, base: &Typed, posted: &Typed) -> Typed {
    let mut merged = stored.clone();
    for (field, text) in posted.0.iter().filter(|(field, _)| !is_companion(field)) {
        let (was, is, new) = (base.get(field), stored.get(field), text.trim());
        let other = format!("{field}{OTHER}");
        let (seen, pending) = (base.get(&other), stored.get(&other));
        let chosen = posted.get(&format!("{field}{KEEP}"));
        // A choice counts between the two texts that the form showed.
        let decided = matches!(chosen, "stored" | "other") && seen == pending && was == is;
        if !pending.is_empty() && decided {
            if chosen == "other" {
                merged.set(field, pending);
            }
            merged.set(&other, "");
        } else if new == was || new == is {
            if new == is && new != was && !pending.is_empty() && seen.is_empty() {
                // Both typed the same in the end.
                merged.set(&other, "");
            }
        } else if !pending.is_empty() && new == pending {
            // The window that typed it says it again; nothing is decided by that.
        } else if was == is {
            merged.set(field, text);
            if !seen.is_empty() {
                // Both texts were seen, and a third one typed in their place.
                merged.set(&other, "");
            }
        } else if !new.is_empty() {
            if is.is_empty() {
                merged.set(field, text);
            } else {
                merged.set(&other, text);
            }
        }
    }
    for (field, text) in posted.0.iter().filter(|(field, _)| is_last_word(field)) {
        if text.trim() != base.get(field) || field.ends_with(".reading") {
            merged.set(field, text);
        }
    }
    merged
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(pairs: &[(&str, &str)]) -> Typed {
        Typed(pairs.iter().map(|(field, text)| ((*field).to_owned(), (*text).to_owned())).collect())
    }

    #[test]
    fn what_a_form_did_not_touch_stays_as_somebody_else_saved_it() {
        let base = typed(&[("1.v1", "10"), ("2.v1", "")]);
        let stored = typed(&[("1.v1", "11"), ("2.v1", "")]);
        let posted = typed(&[("1.v1", "10"), ("2.v1", "20")]);

        let merged = merge(&stored, &base, &posted);

        assert_eq!((merged.get("1.v1"), merged.get("2.v1")), ("11", "20"));
        assert_eq!(merged.get("1.v1.other"), "");
    }

    #[test]
    fn two_texts_of_one_field_stand_side_by_side_until_one_is_chosen() {
        let base = typed(&[("1.v1", "10")]);
        let stored = typed(&[("1.v1", "11")]);

        let both = merge(&stored, &base, &typed(&[("1.v1", "12")]));
        assert_eq!((both.get("1.v1"), both.get("1.v1.other")), ("11", "12"));
        // The same window types on: its text is the other one still.
        let on = merge(&both, &base, &typed(&[("1.v1", "12.5")]));
        assert_eq!((on.get("1.v1"), on.get("1.v1.other")), ("11", "12.5"));

        let kept = merge(&on, &on, &typed(&[("1.v1", "11"), ("1.v1.keep", "stored")]));
        assert_eq!((kept.get("1.v1"), kept.get("1.v1.other")), ("11", ""));
        let taken = merge(&on, &on, &typed(&[("1.v1", "11"), ("1.v1.keep", "other")]));
        assert_eq!((taken.get("1.v1"), taken.get("1.v1.other")), ("12.5", ""));
        let third = merge(&on, &on, &typed(&[("1.v1", "13")]));
        assert_eq!((third.get("1.v1"), third.get("1.v1.other")), ("13", ""));
        let undecided = merge(&on, &on, &typed(&[("1.v1", "11"), ("2.v1", "4")]));
        assert_eq!(undecided.get("1.v1.other"), "12.5", "saving another field decides nothing");
    }

    /// A window whose text is the second one goes on saving it: that chooses
    /// nothing, and neither does a choice made between two earlier texts.
    #[test]
    fn a_window_that_repeats_its_text_decides_nothing() {
        let both = typed(&[("1.v1", "11"), ("1.v1.other", "12")]);

        assert_eq!(merge(&both, &both, &typed(&[("1.v1", "12"), ("2.v1", "4")])).get("1.v1.other"), "12");
        let later = typed(&[("1.v1", "11"), ("1.v1.other", "12.5")]);
        let chosen = merge(&later, &both, &typed(&[("1.v1", "11"), ("1.v1.keep", "other")]));
        assert_eq!((chosen.get("1.v1"), chosen.get("1.v1.other")), ("11", "12.5"), "12.5 was never seen");
        let settled = typed(&[("1.v1", "11")]);
        let again = typed(&[("1.v1", "14")]);
        let new_pair = merge(&again, &settled, &typed(&[("1.v1", "13"), ("1.v1.keep", "stored")]));
        assert_eq!((new_pair.get("1.v1"), new_pair.get("1.v1.other")), ("14", "13"));
    }

    #[test]
    fn the_last_answer_to_a_question_counts() {
        let base = typed(&[]);
        let stored = typed(&[("all.answer.same-number", "confirmed count=4")]);

        let merged = merge(&stored, &base, &typed(&[("all.answer.same-number", "correct")]));

        assert_eq!(merged, typed(&[("all.answer.same-number", "correct")]));
        assert_eq!(merge(&merged, &stored, &typed(&[("all.answer.same-number", "confirmed count=4")])), merged);
    }

    #[test]
    fn the_same_text_typed_twice_is_no_conflict_and_a_deletion_gives_way() {
        let base = typed(&[("1.v1", "10"), ("2.v1", "20")]);
        let stored = typed(&[("1.v1", "12"), ("2.v1", "21")]);

        let merged = merge(&stored, &base, &typed(&[("1.v1", "12"), ("2.v1", "")]));

        assert_eq!(merged, stored);
    }

    /// A page saves "1" by itself and "12" with its button before the first answer
    /// came; a colleague saved something in between.
    #[test]
    fn a_form_does_not_contradict_itself() {
        let change = |before: &[(&str, &str)], after: &[(&str, &str)]| Changes::between(&typed(before), &typed(after));
        let own = change(&[], &[("1.v1", "1")]);
        let of_another = change(&[("1.v1", "1")], &[("1.v1", "1"), ("2.v1", "7")]);
        let stored = typed(&[("1.v1", "1"), ("2.v1", "7")]);

        let seen = shown(&stored, [(&own, true), (&of_another, false)].into_iter());
        assert_eq!(seen, typed(&[("1.v1", "1")]));
        let merged = merge(&stored, &seen, &typed(&[("1.v1", "12"), ("2.v1", "")]));
        assert_eq!(merged, typed(&[("1.v1", "12"), ("2.v1", "7")]));

        let after = change(&[("1.v1", "1")], &[("1.v1", "5")]);
        let stored = typed(&[("1.v1", "5")]);
        let seen = shown(&stored, [(&own, true), (&after, false)].into_iter());
        let both = merge(&stored, &seen, &typed(&[("1.v1", "12")]));
        assert_eq!((both.get("1.v1"), both.get("1.v1.other")), ("5", "12"));
    }

    #[test]
    fn changes_lead_back() {
        let before = typed(&[("1.v1", "10"), ("2.v1", "")]);
        let after = typed(&[("1.v1", "11"), ("3.v1", "30")]);

        let changes = Changes::between(&before, &after);
        let mut back = after.clone();
        changes.undo(&mut back);

        assert_eq!(changes.0.keys().collect::<Vec<_>>(), ["1.v1", "3.v1"]);
        assert_eq!(back, typed(&[("1.v1", "10")]));
        assert!(Changes::between(&before, &back).is_empty());
    }
}
