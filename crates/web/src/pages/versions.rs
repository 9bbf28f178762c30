//! The versions of what was published of a round: the one that holds, and those whose
//! place another took, which stay readable and say so (F112).

use super::Frame;
use super::evaluation::shown;
use crate::actions::approval;
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::show;
use crate::state::App;
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::id::EvaluationId;
use roundel_domain::round::Round;
use roundel_store::Tx;
use roundel_store::publications::{self, Publication};
use serde::Deserialize;
use std::sync::Arc;

/// What stands behind the question mark: the number of a version.
#[derive(Clone, Debug, Default, Deserialize)]
pub struct Wanted {
    #[serde(default)]
    version: String,
}

impl Wanted {
    /// The version that is asked for; none for the one that holds.
    ///
    /// # Errors
    ///
    /// [`Error::NotFound`] for what is no number: no version is called that.
    pub fn number(&self) -> Result<Option<i64>, Error> {
        number_of(&self.version)
    }
}

/// The number of a version as an address has it; none where it names none.
///
/// # Errors
///
/// [`Error::NotFound`] for what is no number.
pub fn number_of(typed: &str) -> Result<Option<i64>, Error> {
    match typed {
        "" => Ok(None),
        typed => typed.parse().map(Some).map_err(|_| Error::NotFound),
    }
}

/// One version of what was published of a round, among the others.
#[derive(Clone, Debug)]
pub struct Edition {
    /// All publications of the round, oldest first; none for rounds from before they
    /// were kept.
    pub all: Vec<Publication>,
    /// Number of this one, from 1.
    pub number: i64,
    /// What was published with it.
    pub evaluation: EvaluationId,
}

impl Edition {
    /// The publication of this number; without one, the one that holds.
    ///
    /// # Errors
    ///
    /// [`Error::NotFound`] before publication, and for a number that none has.
    pub async fn read(tx: &mut Tx, round: &Round, number: Option<i64>) -> Result<Edition, Error> {
        let (_, newest) = round.state.published().ok_or(Error::NotFound)?;
        let all = publications::of_round(tx, round.id).await?;
        let last = all.last().map_or(1, |last| last.number);
        let (number, evaluation) = match number {
            Some(number) if number != last => {
                let found = all.iter().find(|one| one.number == number).ok_or(Error::NotFound)?;
                (number, found.evaluation)
            }
            _ => (last, newest),
        };
        Ok(Edition { all, number, evaluation })
    }

    /// The publication; none for rounds from before they were kept.
    pub fn publication(&self) -> Option<&Publication> {
        self.all.iter().find(|one| one.number == self.number)
    }

    /// Number of the version that holds.
    fn last(&self) -> i64 {
        self.all.last().map_or(self.number, |last| last.number)
    }

    /// Whether another publication took the place of this one.
    pub fn is_superseded(&self) -> bool {
        self.last() != self.number
    }

    /// When it was published.
    pub fn at(&self, round: &Round) -> Option<Timestamp> {
        self.publication().map(Publication::at).or_else(|| round.state.published().map(|(at, _)| at))
    }

    /// What an address of the round carries on to stay with this version: nothing for
    /// the one that holds.
    pub fn query(&self) -> String {
        if self.is_superseded() { format!("?version={}", self.number) } else { String::new() }
    }

    /// What the names of its files carry: nothing for the version that holds.
    pub fn file_suffix(&self) -> String {
        if self.is_superseded() { format!("-version-{}", self.number) } else { String::new() }
    }

    /// What is said on the page at `path` of a version whose place another took.
    pub fn mark(&self, f: &Frame, round: &Round, path: &str) -> Option<Mark> {
        let next = self.all.iter().find(|one| one.number > self.number)?;
        let (number, day) = (self.number.to_string(), show::day(next.at(), &round.time_zone));
        let by = next.number.to_string();
        let text = f.w.with("version-superseded", &[("number", &number), ("by", &by), ("day", &day)]);
        Some(Mark {
            text,
            reason: f.t1("publication-reason", "reason", &next.reason),
            link: f.t1("version-current-link", "number", self.last()),
            href: path.to_owned(),
        })
    }

    /// What a laboratory is told on the page of the round: that this version took the
    /// place of the one before.
    pub fn taken(&self, f: &Frame, round: &Round) -> Option<Taken> {
        let this = self.publication().filter(|one| one.number > 1)?;
        let before = this.number - 1;
        let (number, day) = (this.number.to_string(), show::day(this.at(), &round.time_zone));
        let values = [("number", &*number), ("before", &*before.to_string()), ("day", &*day)];
        Some(Taken {
            text: f.w.with("version-taken", &values),
            reason: f.t1("publication-reason", "reason", &this.reason),
            before,
        })
    }

    /// The versions before this one, the newest first, where the page at `path` shows
    /// them: what the link says, and where it leads. None on a page of an old one.
    pub fn earlier(&self, f: &Frame, path: &str) -> Vec<(String, String)> {
        let before = self.all.iter().rev().filter(|one| one.number < self.number && !self.is_superseded());
        let link = |one: &Publication| {
            (f.t1("version-earlier-link", "number", one.number), format!("{path}?version={}", one.number))
        };
        before.map(link).collect()
    }
}

/// The evaluation that files are made from, and what their names carry: of the version
/// of this number; without one, what the pages show.
///
/// # Errors
///
/// [`Error::NotFound`] where there is nothing to show, and for a version that there is
/// not.
pub async fn shown_version(
    app: &App,
    tx: &mut Tx,
    round: &Round,
    actor: &Actor,
    number: Option<i64>,
) -> Result<(Arc<Evaluated>, String), Error> {
    if number.is_none() {
        let (evaluated, _) = shown(app, tx, round, actor).await?.ok_or(Error::NotFound)?;
        return Ok((evaluated, String::new()));
    }
    let edition = Edition::read(tx, round, number).await?;
    Ok((app.evaluations.load(tx, edition.evaluation).await?, edition.file_suffix()))
}

/// That a page shows what does not hold any more.
#[derive(Clone, Debug)]
pub struct Mark {
    /// By which version, and when.
    pub text: String,
    /// Why.
    pub reason: String,
    /// What the link to the version that holds says.
    pub link: String,
    /// Where that is.
    pub href: String,
}

/// That a version took the place of the one before.
#[derive(Clone, Debug)]
pub struct Taken {
    /// Which, and when.
    pub text: String,
    /// Why.
    pub reason: String,
    /// Number of the version before.
    pub before: i64,
}

/// That a correction is open, as the pages of the staff say it.
#[derive(Clone, Debug)]
pub struct Correcting {
    /// Since when and by whom.
    pub text: String,
    /// Why.
    pub reason: String,
}

impl Correcting {
    /// The correction of a round that is open.
    ///
    /// # Errors
    ///
    /// What the database says.
    pub async fn read(f: &Frame, tx: &mut Tx, round: &Round) -> Result<Option<Correcting>, Error> {
        let open = approval::open(tx, round).await?;
        Ok(open.map(|correction| Correcting {
            text: f.t2("correction-since", "at", show::instant(correction.at(), &round.time_zone), "by", correction.by),
            reason: f.t1("publication-reason", "reason", correction.reason),
        }))
    }
}
