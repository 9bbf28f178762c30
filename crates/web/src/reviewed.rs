//! Closed rounds as they are looked through: the package with everything that was
//! decided, its evaluation and its findings. They depend on nothing else, so those
//! used last are kept in memory.

use crate::ENGINE;
use crate::actions::evaluation::gather;
use crate::actions::review::raw_set;
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::state::App;
use jiff::Timestamp;
use roundel_domain::asks::OtherForm;
use roundel_domain::evaluation::evaluate;
use roundel_domain::id::RoundId;
use roundel_domain::judgement::Topic;
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::package::RoundPackage;
use roundel_domain::result::Submission;
use roundel_domain::review::{self, Cell, Decided, Finding, KnownForm, Look, Material, Set};
use roundel_domain::round::Round;
use roundel_store::results::Decision;
use roundel_store::{Tx, measurand_decisions, participants, results, reviews};
use std::collections::HashMap;
use std::sync::{Arc, Mutex};

/// How many rounds are kept in memory.
const KEPT: usize = 4;

/// A round, looked through.
#[derive(Debug)]
pub struct Reviewed {
    /// SHA-256 of the raw set.
    pub raw_sha256: String,
    /// When it was frozen.
    pub frozen_at: Timestamp,
    /// The items.
    pub items: Vec<Item>,
    /// The measurands.
    pub measurands: Vec<Measurand>,
    /// What was sent, by code.
    pub sets: Vec<Set>,
    /// The package as it stands, evaluated.
    pub evaluated: Evaluated,
    /// What is found, the most serious first.
    pub findings: Vec<Finding>,
    /// Other forms of analytes, as the plan states them.
    forms: Vec<KnownForm>,
}

impl Reviewed {
    fn of(
        raw: reviews::RawSet,
        items: Vec<Item>,
        measurands: Vec<Measurand>,
        sets: Vec<Set>,
        package: RoundPackage,
        forms: Vec<KnownForm>,
    ) -> Reviewed {
        let evaluation = evaluate(&package, ENGINE);
        let mut reviewed = Reviewed {
            frozen_at: raw.made_at(),
            raw_sha256: raw.sha256,
            items,
            measurands,
            sets,
            evaluated: Evaluated::of(package, evaluation),
            findings: Vec::new(),
            forms,
        };
        reviewed.findings = reviewed.look().findings();
        reviewed
    }

    /// The seed of everything that is drawn.
    pub fn seed(&self) -> u64 {
        review::seed(&self.raw_sha256)
    }

    /// The round made ready for its screening.
    pub fn look(&self) -> Look<'_> {
        Look::new(Material {
            items: &self.items,
            measurands: &self.measurands,
            package: &self.evaluated.package,
            evaluation: &self.evaluated.evaluation,
            sets: &self.sets,
            forms: &self.forms,
            seed: self.seed(),
        })
    }

    /// The measurand at a place.
    pub fn measurand(&self, position: i64) -> Option<&Measurand> {
        self.measurands.iter().find(|m| m.position == position)
    }

    /// Id of a measurand in package and evaluation.
    pub fn id(&self, m: &Measurand) -> String {
        review::id_of(&self.items, m)
    }

    /// The finding of a key.
    pub fn finding(&self, key: &str) -> Option<&Finding> {
        self.findings.iter().find(|finding| finding.key == key)
    }

    /// What a laboratory sent.
    pub fn set(&self, code: &str) -> Option<&Set> {
        self.sets.iter().find(|set| set.code == code)
    }
}

/// Looks through a closed round, or takes it from memory.
///
/// # Errors
///
/// A conflict before the round is closed, and where its results are not those that
/// were frozen.
pub async fn load(app: &App, tx: &mut Tx, round: &Round) -> Result<Arc<Reviewed>, Error> {
    if round.state.closed_at().is_none() {
        return Err(Error::conflict("conflict-not-closed"));
    }
    let raw = match reviews::raw_set(tx, round.id).await? {
        Some(raw) => raw,
        None => freeze(app, round).await?,
    };
    let gathered = gather(tx, round).await?;
    let package = gathered.package(round);
    let key = (round.id, raw.sha256.clone(), package.sha256());
    if let Some(known) = app.reviews.find(&key) {
        return Ok(known);
    }
    let sets = sets(tx, round).await?;
    let (items, measurands) = (gathered.items, gathered.measurands);
    let form = |one: &OtherForm| KnownForm { analyte: one.analyte.clone(), ratio: one.ratio.value() };
    let forms = round.asks.forms.iter().map(form).collect();
    let work = move || Reviewed::of(raw, items, measurands, sets, package, forms);
    let reviewed =
        tokio::task::spawn_blocking(work).await.map_err(|_| Error::Fault("look through a round".to_owned()))?;
    Ok(app.reviews.keep(key, reviewed))
}

/// Freezes the raw set of a round that was closed before there was one.
async fn freeze(app: &App, round: &Round) -> Result<reviews::RawSet, Error> {
    let mut tx = app.db.write().await?;
    let raw = raw_set(&mut tx, round, app.clock.now()).await?;
    tx.commit().await?;
    Ok(raw)
}

async fn sets(tx: &mut Tx, round: &Round) -> Result<Vec<Set>, Error> {
    let people = participants::of_round(tx, round.id).await?;
    let mut sets = Vec::new();
    for sent in results::newest_of_round(tx, round.id).await? {
        let Some(person) = people.iter().find(|p| p.id == sent.participant) else { continue };
        let Submission { declared, results, .. } = sent.submission()?;
        sets.push(Set { code: person.code.clone(), late: sent.late, declared, entries: results });
    }
    Ok(sets)
}

/// A decision on a result, by code and place.
#[derive(Clone, Debug)]
pub struct OnCell {
    /// The result.
    pub cell: Cell,
    /// What was decided.
    pub decision: Decision,
}

/// All decisions on results of a round, oldest first.
///
/// # Errors
///
/// What the database says.
pub async fn decisions(tx: &mut Tx, round: &Round, reviewed: &Reviewed) -> Result<Vec<OnCell>, Error> {
    let people = participants::of_round(tx, round.id).await?;
    let mut all = Vec::new();
    for decision in results::decisions(tx, round.id).await? {
        let person = people.iter().find(|p| p.id == decision.participant);
        let measurand = reviewed.measurands.iter().find(|m| m.id == decision.measurand);
        if let (Some(person), Some(measurand)) = (person, measurand) {
            all.push(OnCell { cell: (person.code.clone(), measurand.position), decision });
        }
    }
    Ok(all)
}

/// What people decided in a round and what counts now.
///
/// # Errors
///
/// What the database says.
pub async fn decided(tx: &mut Tx, round: &Round, reviewed: &Reviewed) -> Result<Decided, Error> {
    let mut decided = Decided::default();
    let mut newest: HashMap<Cell, Decision> = HashMap::new();
    for one in decisions(tx, round, reviewed).await? {
        newest.insert(one.cell, one.decision);
    }
    for (cell, decision) in newest {
        decided.findings.extend(decision.evidence().map(str::to_owned));
        if decision.kind()?.excludes() {
            decided.results.insert(cell);
        }
    }
    for note in reviews::notes(tx, round.id).await? {
        if note.kept {
            decided.findings.insert(note.finding);
        } else {
            decided.findings.remove(&note.finding);
        }
    }
    let mut topics: Vec<(i64, Topic)> = Vec::new();
    for decision in measurand_decisions::of_round(tx, round.id).await? {
        if let Some(measurand) = reviewed.measurands.iter().find(|m| m.id == decision.measurand) {
            topics.push((measurand.position, decision.judgement()?.topic));
        }
    }
    decided.measurands.extend(topics);
    Ok(decided)
}

type Key = (RoundId, String, String);

/// The rounds that were looked through last.
#[derive(Clone, Debug, Default)]
pub struct Cache(Arc<Mutex<Vec<Kept>>>);

/// A round in memory.
type Kept = (Key, Arc<Reviewed>);

impl Cache {
    fn find(&self, key: &Key) -> Option<Arc<Reviewed>> {
        let mut kept = self.0.lock().expect("nothing panics while the reviews are held");
        let place = kept.iter().position(|(known, _)| known == key)?;
        let found = kept.remove(place);
        let reviewed = Arc::clone(&found.1);
        kept.insert(0, found);
        Some(reviewed)
    }

    fn keep(&self, key: Key, reviewed: Reviewed) -> Arc<Reviewed> {
        let reviewed = Arc::new(reviewed);
        let mut kept = self.0.lock().expect("nothing panics while the reviews are held");
        kept.retain(|(known, _)| *known != key);
        kept.insert(0, (key, Arc::clone(&reviewed)));
        kept.truncate(KEPT);
        reviewed
    }
}
