//! The fields of what a laboratory types, as its pages show them: with what was
//! understood, what is wrong, and what is to be chosen between.

use super::Frame;
use crate::actions::results::Own;
use crate::error::Error;
use crate::extract::Person;
use crate::show;
use crate::state::App;
use jiff::Timestamp;
use roundel_documents::number;
use roundel_domain::draft::{KEEP, OTHER};
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::result::{self, Typed};
use roundel_domain::round::Round;
use roundel_domain::unit;
use roundel_store::participants::Participant;
use roundel_store::{Tx, drafts};
use std::collections::HashMap;

/// A choice of a list.
#[derive(Clone, Debug)]
pub struct Pick {
    /// What is posted.
    pub value: String,
    /// What is read.
    pub text: String,
    /// Whether it is the one that stands.
    pub chosen: bool,
}

/// A question between two texts or two readings of a field.
#[derive(Clone, Debug)]
pub struct Ask {
    /// Name of its field.
    pub name: String,
    /// The question.
    pub legend: String,
    /// The answers.
    pub picks: Vec<Pick>,
}

/// What a field is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A line of text.
    Text,
    /// A day.
    Date,
    /// A list.
    List,
    /// A box to tick.
    Tick,
}

/// A field of a form.
#[derive(Clone, Debug)]
pub struct Field {
    /// Its name and id.
    pub name: String,
    /// What it is called.
    pub label: String,
    /// What helps to fill it; may be empty.
    pub hint: String,
    /// What it is.
    pub kind: Kind,
    /// The text that stands in it.
    pub value: String,
    /// The choices of a list.
    pub picks: Vec<Pick>,
    /// What is wrong; may be empty.
    pub error: String,
    /// What is to be chosen.
    pub ask: Option<Ask>,
    /// What was understood; may be empty.
    pub echo: String,
}

impl Field {
    /// Whether it is a line of text.
    pub fn is_text(&self) -> bool {
        self.kind == Kind::Text
    }

    /// Whether it is a day.
    pub fn is_date(&self) -> bool {
        self.kind == Kind::Date
    }

    /// Whether it is a box to tick.
    pub fn is_tick(&self) -> bool {
        self.kind == Kind::Tick
    }

    /// Whether the box is ticked.
    pub fn is_ticked(&self) -> bool {
        self.value == "yes"
    }

    /// With something that helps to fill it.
    pub fn hinted(mut self, hint: String) -> Field {
        self.hint = hint;
        self
    }
}

/// Who typed what last, for fields with two texts.
pub type Typists = HashMap<String, (String, Timestamp)>;

/// What a page shows of a draft.
#[derive(Clone, Copy, Debug)]
pub struct Content<'a> {
    /// What was typed.
    pub typed: &'a Typed,
    /// Who typed what.
    pub typists: &'a Typists,
}

/// Everything that fields are made from.
#[derive(Clone, Copy, Debug)]
pub struct View<'a> {
    /// Texts.
    pub f: &'a Frame,
    /// What was typed.
    pub typed: &'a Typed,
    /// What is wrong with it.
    pub errors: &'a FieldErrors,
    /// What was understood, by field.
    pub echoes: &'a HashMap<String, String>,
    /// Who typed what.
    pub typists: &'a Typists,
    /// The zone of the round.
    pub zone: &'a str,
}

impl View<'_> {
    /// A line of text.
    pub fn text(&self, name: &str, label: String) -> Field {
        self.field(Kind::Text, name, label, Vec::new())
    }

    /// A day.
    pub fn date(&self, name: &str, label: String) -> Field {
        self.field(Kind::Date, name, label, Vec::new())
    }

    /// A box to tick.
    pub fn tick(&self, name: &str, label: String) -> Field {
        self.field(Kind::Tick, name, label, Vec::new())
    }

    /// A list of words, whose texts stand in the catalogue as `prefix-word`; the
    /// empty word is `prefix-none`.
    pub fn list(&self, name: &str, label: String, prefix: &str, words: &[&str]) -> Field {
        let text = |word: &str| {
            self.f.t(&format!("{prefix}-{}", if word.is_empty() { "none" } else { word }).replace('_', "-"))
        };
        let chosen = self.typed.get(name);
        let pick = |word: &&str| Pick { value: (*word).to_owned(), text: text(word), chosen: *word == chosen };
        self.field(Kind::List, name, label, words.iter().map(pick).collect())
    }

    /// The list of units of a choice.
    pub fn unit(&self, choice: &unit::Choice) -> Field {
        let chosen = self.typed.get(&choice.field);
        let pick = |value: &str, text: String| Pick { value: value.to_owned(), text, chosen: value == chosen };
        let picks = std::iter::once(pick("", self.f.t("unit-none")))
            .chain(choice.offered.iter().map(|unit| pick(unit, unit.clone())));
        self.field(Kind::List, &choice.field, self.f.t1("unit-label", "unit", &choice.unit), picks.collect())
    }

    fn field(&self, kind: Kind, name: &str, label: String, picks: Vec<Pick>) -> Field {
        let problem = self.errors.get(name);
        Field {
            ask: problem.and_then(|problem| self.ask(name, problem, &picks)),
            error: problem.map(|problem| show::problem(self.f.w, problem)).unwrap_or_default(),
            echo: if problem.is_none() { self.echoes.get(name).cloned().unwrap_or_default() } else { String::new() },
            hint: String::new(),
            value: self.typed.get(name).to_owned(),
            name: name.to_owned(),
            label,
            kind,
            picks,
        }
    }

    fn ask(&self, name: &str, problem: &Problem, picks: &[Pick]) -> Option<Ask> {
        if let (Some(stored), Some(other)) = (problem.value("stored"), problem.value("other")) {
            let shown = |text: &str| picks.iter().find(|p| p.value == text).map_or(text.to_owned(), |p| p.text.clone());
            let pick = |value: &str, text: &str, field: String| Pick {
                value: value.to_owned(),
                text: match self.typists.get(&field) {
                    Some((by, at)) => {
                        let at = show::instant(*at, self.zone);
                        self.f.t3("draft-text-of", "text", shown(text), "name", by, "at", at)
                    }
                    None => shown(text),
                },
                chosen: false,
            };
            return Some(Ask {
                name: format!("{name}{KEEP}"),
                legend: self.f.t("draft-which"),
                picks: vec![pick("stored", stored, name.to_owned()), pick("other", other, format!("{name}{OTHER}"))],
            });
        }
        let (first, second) = result::readings(problem)?;
        let chosen = self.typed.get(&format!("{name}.reading"));
        let pick = |reading: &str, key: &str| Pick {
            value: reading.to_owned(),
            text: self.f.t1(key, "reading", number::typed(reading)),
            chosen: reading == chosen,
        };
        Some(Ask {
            name: format!("{name}.reading"),
            legend: self.f.t("reading-which"),
            picks: vec![pick(first, "reading-decimal"), pick(second, "reading-thousands")],
        })
    }
}

/// Who typed the texts between which is to be chosen; nothing is asked of the
/// database where there are none.
pub async fn typists(tx: &mut Tx, participant: &Participant, typed: &Typed) -> Result<Typists, Error> {
    let mut typists = Typists::new();
    if typed.0.keys().any(|name| name.ends_with(OTHER)) {
        for saving in drafts::since(tx, participant.id, 0).await? {
            for field in saving.changes.0.keys() {
                typists.insert(field.clone(), (saving.name.clone(), saving.at));
            }
        }
    }
    Ok(typists)
}

/// The round, for a laboratory that may enter results in it now.
///
/// # Errors
///
/// [`Error::NotFound`] for a round that does not exist for this person.
pub async fn own(tx: &mut Tx, person: &Person, code: &str) -> Result<Own, Error> {
    let (round, participant) = super::own_round(tx, &person.actor, code).await?;
    Own::load(tx, round, participant).await
}

/// What every page of a laboratory's work on a round says at its head.
#[derive(Clone, Debug)]
pub struct Head {
    /// The round.
    pub round: Round,
    /// The laboratory's code.
    pub code: String,
    /// The deadline for people.
    pub deadline: String,
    /// The deadline for programs.
    pub instant: String,
    /// Whether it is over.
    pub late: bool,
    /// Version of the draft that the form shows.
    pub base: i64,
    /// A word of this page, so that what it saves is not taken for another's.
    pub window: String,
    /// When the draft was saved; empty when there is none.
    pub saved: String,
}

impl Head {
    /// Of this round, with this draft.
    pub fn new(app: &App, own: &Own, base: i64, saved_at: Option<Timestamp>) -> Head {
        Head {
            code: own.participant.code.clone(),
            deadline: show::instant(own.round.closes_at, &own.round.time_zone),
            instant: own.round.closes_at.to_string(),
            late: own.round.intake(app.clock.now()) == roundel_domain::round::Intake::Late,
            base,
            window: crate::secret::token(),
            saved: saved_at.map(|at| show::time(at, &own.round.time_zone)).unwrap_or_default(),
            round: own.round.clone(),
        }
    }
}
