//! Evaluations as read back from their stored texts. They never change, so
//! those used last are kept in memory.

use crate::error::Error;
use crate::secret;
use roundel_domain::assemble;
use roundel_domain::evaluation::{
    Basis, MeasurandEvaluation, RoundEvaluation, ScoreEntry, ScoreKind, deciding_score, evaluate,
};
use roundel_domain::id::EvaluationId;
use roundel_domain::package::{self, Measurand, ReportedResult, RoundPackage};
use roundel_store::{Tx, evaluations};
use std::collections::HashMap;
use std::sync::{Arc, Mutex, OnceLock};

/// How many evaluations are kept in memory.
const KEPT: usize = 8;

/// A package with its evaluation.
#[derive(Debug)]
pub struct Evaluated {
    /// What was evaluated.
    pub package: RoundPackage,
    /// What came out.
    pub evaluation: RoundEvaluation,
    /// The package as participants get it.
    shared: OnceLock<Shared>,
    /// Place of each result in the package, by code and measurand.
    results: HashMap<(String, String), usize>,
    /// Places of the scores of each measurand, in the order of the codes.
    scores: HashMap<String, Vec<usize>>,
}

/// What a participant can download and recompute.
#[derive(Debug)]
pub struct Shared {
    /// The package's text.
    pub package: String,
    /// SHA-256 of that text.
    pub package_sha256: String,
    /// SHA-256 of the evaluation that it gives.
    pub evaluation_sha256: String,
}

impl Shared {
    fn of(package: &RoundPackage, engine: &str) -> Shared {
        let shared = assemble::for_participants(package);
        let evaluation = evaluate(&shared, engine);
        let text = shared.to_json();
        Shared {
            package_sha256: secret::sha256(&text),
            package: text,
            evaluation_sha256: secret::sha256(&evaluation.to_json()),
        }
    }
}

impl Evaluated {
    fn read(texts: &evaluations::Texts) -> Option<Evaluated> {
        Evaluated::of_texts(&texts.package, &texts.document)
    }

    /// A stored evaluation by its two texts; none where they cannot be read.
    pub fn of_texts(package: &str, document: &str) -> Option<Evaluated> {
        let package = package::parse(package).ok()?;
        let evaluation = RoundEvaluation::from_json(document).ok()?;
        Some(Evaluated::of(package, evaluation))
    }

    /// A stored evaluation. Pages take it from [`Cache::load`].
    ///
    /// # Errors
    ///
    /// [`Error::NotFound`] when there is none; a fault when its texts cannot be read.
    pub async fn load(tx: &mut Tx, id: EvaluationId) -> Result<Evaluated, Error> {
        let texts = evaluations::texts(tx, id).await?.ok_or(Error::NotFound)?;
        Evaluated::read(&texts).ok_or_else(|| Error::Fault(format!("read the evaluation {id}")))
    }

    /// A package with what was made of it.
    pub fn of(package: RoundPackage, evaluation: RoundEvaluation) -> Evaluated {
        let results = package
            .results
            .iter()
            .enumerate()
            .map(|(place, result)| ((result.participant.clone(), result.measurand.clone()), place))
            .collect();
        let mut scores: HashMap<String, Vec<usize>> = HashMap::new();
        for (place, score) in evaluation.scores.iter().enumerate() {
            scores.entry(score.measurand.clone()).or_default().push(place);
        }
        Evaluated { shared: OnceLock::new(), package, evaluation, results, scores }
    }

    /// The package as participants get it, made when it is first asked for.
    pub fn shared(&self) -> &Shared {
        self.shared.get_or_init(|| Shared::of(&self.package, &self.evaluation.engine))
    }

    /// Plan and evaluation of a measurand.
    pub fn measurand(&self, id: &str) -> Option<(&Measurand, &MeasurandEvaluation)> {
        let place = self.package.measurands.iter().position(|m| m.id == id)?;
        Some((&self.package.measurands[place], &self.evaluation.measurands[place]))
    }

    /// The scores of a measurand, in the order of the codes.
    pub fn scores(&self, measurand: &str) -> impl Iterator<Item = &ScoreEntry> {
        self.scores.get(measurand).into_iter().flatten().map(|&place| &self.evaluation.scores[place])
    }

    /// A laboratory's score for a measurand.
    pub fn score(&self, code: &str, measurand: &str) -> Option<&ScoreEntry> {
        self.scores(measurand).find(|score| score.participant == code)
    }

    /// A laboratory's result for a measurand.
    pub fn result(&self, code: &str, measurand: &str) -> Option<&ReportedResult> {
        let place = self.results.get(&(code.to_owned(), measurand.to_owned()))?;
        Some(&self.package.results[*place])
    }

    /// Whether what was made of a measurand's results may be shown to those who
    /// reported it: with a consensus of fewer than five they could work out each
    /// other's results (D8).
    pub fn may_be_shared(&self, measurand: &str) -> bool {
        let consensus = self
            .measurand(measurand)
            .and_then(|(_, outcome)| outcome.assigned_value.as_ref())
            .is_some_and(|value| value.basis == Basis::Participants);
        !consensus || self.scores(measurand).count() >= assemble::FEWEST_SHOWN
    }

    /// The score that decided the class of an entry, with its value.
    pub fn deciding(&self, entry: &ScoreEntry) -> Option<(ScoreKind, f64)> {
        let (plan, evaluation) = self.measurand(&entry.measurand)?;
        deciding_score(plan, evaluation, entry)
    }
}

/// The evaluations that were used last.
#[derive(Clone, Debug, Default)]
pub struct Cache(Arc<Mutex<Vec<Kept>>>);

/// An evaluation in memory.
type Kept = (EvaluationId, Arc<Evaluated>);

impl Cache {
    /// The evaluation, from memory or from the database.
    ///
    /// # Errors
    ///
    /// [`Error::NotFound`] when there is none; a fault when its texts cannot be read.
    pub async fn load(&self, tx: &mut Tx, id: EvaluationId) -> Result<Arc<Evaluated>, Error> {
        if let Some(known) = self.find(id) {
            return Ok(known);
        }
        let read = Arc::new(Evaluated::load(tx, id).await?);
        let mut kept = self.0.lock().expect("nothing panics while the evaluations are held");
        kept.retain(|(other, _)| *other != id);
        kept.insert(0, (id, Arc::clone(&read)));
        kept.truncate(KEPT);
        Ok(read)
    }

    fn find(&self, id: EvaluationId) -> Option<Arc<Evaluated>> {
        let mut kept = self.0.lock().expect("nothing panics while the evaluations are held");
        let place = kept.iter().position(|(known, _)| *known == id)?;
        let found = kept.remove(place);
        let evaluated = Arc::clone(&found.1);
        kept.insert(0, found);
        Some(evaluated)
    }
}
