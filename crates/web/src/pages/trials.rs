//! Trying out other choices on a copy of the newest evaluation.

use super::evaluation::{Class, newest};
use super::figures::{self, Drawn, View};
use super::{Frame, evaluating_round, go, ok, reviewed_round, unprocessable};
use crate::actions::Refused;
use crate::actions::trials::{self as actions, Outcome};
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::extract::{Path, Person, Posted, Query};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_documents::number;
use roundel_domain::decision::{Effect, Numbers};
use roundel_domain::id::TrialId;
use roundel_domain::package::Censored;
use roundel_domain::round::Round;
use roundel_domain::trial::{Changes, ESTIMATORS, Sigma, TrialForm, Value, estimator_word};
use roundel_store::{Tx, trials};
use uuid::Uuid;

/// The newest trials that the page lists.
const MOST_TRIALS: i64 = 100;

struct Pick {
    value: String,
    text: String,
    chosen: bool,
}

struct TrialLine {
    href: String,
    at: String,
    by: String,
    version: i64,
    what: String,
    outcome: String,
}

#[derive(Template)]
#[template(path = "evaluation/trials.html")]
struct TrialsPage {
    f: Frame,
    round: Round,
    version: i64,
    may_try: bool,
    form: TrialForm,
    measurands: Vec<Pick>,
    values: Vec<Pick>,
    sigmas: Vec<Pick>,
    censored: Vec<Pick>,
    count: i64,
    lines: Vec<TrialLine>,
    errors: Errors,
}

/// A change in words, for lists.
fn words(f: &Frame, changes: &Changes) -> String {
    let mut parts = vec![changes.measurand.clone().unwrap_or_else(|| f.t("trial-all"))];
    match changes.value {
        None => {}
        Some(Value::Consensus(estimator)) => parts.push(f.t(&format!("trial-value-{}", estimator_word(estimator)))),
        Some(Value::Fallback) => parts.push(f.t("trial-value-fallback")),
        Some(Value::Given { value, standard_uncertainty }) => {
            let (x, u) = (number::plain(value), number::plain(standard_uncertainty));
            parts.push(f.t2("trial-given", "value", x, "uncertainty", u));
        }
    }
    match changes.sigma_pt {
        None => {}
        Some(Sigma::Percent(percent)) => parts.push(f.t1("trial-sigma-is-percent", "number", number::plain(percent))),
        Some(Sigma::Prescribed(sigma)) => parts.push(f.t1("trial-sigma-is", "number", number::plain(sigma))),
        Some(Sigma::Participants) => parts.push(f.t("trial-sigma-participants")),
    }
    match changes.censored {
        None => {}
        Some(Censored::Exclude) => parts.push(f.t("trial-censored-exclude")),
        Some(Censored::LimitAware) => parts.push(f.t("trial-censored-limit_aware")),
    }
    if !changes.leave_out.is_empty() {
        parts.push(f.t1("trial-left-out", "codes", changes.leave_out.join(", ")));
    }
    if !changes.take_back.is_empty() {
        parts.push(f.t1("trial-taken-back", "codes", changes.take_back.join(", ")));
    }
    parts.join("; ")
}

fn picks(f: &Frame, prefix: &str, words: &[&str], chosen: &str) -> Vec<Pick> {
    let none = Pick { value: String::new(), text: f.t("trial-as-planned"), chosen: chosen.is_empty() };
    let pick = |word: &&str| Pick {
        value: (*word).to_owned(),
        text: f.t(&format!("{prefix}-{word}")),
        chosen: *word == chosen,
    };
    std::iter::once(none).chain(words.iter().map(pick)).collect()
}

async fn page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    round: Round,
    form: TrialForm,
    errors: Errors,
) -> Result<TrialsPage, Error> {
    let f = Frame::of(app, person);
    let (head, evaluated) = newest(app, tx, &round).await?;
    let all = Pick { value: String::new(), text: f.t("trial-all"), chosen: form.measurand.is_empty() };
    let one = |id: &String| Pick { value: id.clone(), text: id.clone(), chosen: *id == form.measurand };
    let measurands = std::iter::once(all).chain(evaluated.package.measurands.iter().map(|m| one(&m.id))).collect();
    let mut values: Vec<&str> = ESTIMATORS.into_iter().map(estimator_word).collect();
    values.extend(["fallback", "given"]);
    let lines = trials::newest(tx, round.id, MOST_TRIALS).await?;
    let lines = lines.into_iter().map(|line| {
        let fault = |_| Error::Fault("read a trial".to_owned());
        let changes: Changes = serde_json::from_str(&line.changes).map_err(fault)?;
        let outcome: Outcome = serde_json::from_str(&line.outcome).map_err(fault)?;
        Ok(TrialLine {
            href: format!("/rounds/{}/trials/{}", round.code, line.id),
            at: show::instant(line.at(), &round.time_zone),
            what: words(&f, &changes),
            outcome: f.t2("trial-outcome", "measurands", outcome.measurands, "classes", outcome.classes),
            version: line.version,
            by: line.by,
        })
    });
    Ok(TrialsPage {
        lines: lines.collect::<Result<_, Error>>()?,
        count: trials::count(tx, round.id).await?,
        may_try: person.actor.may_evaluate().is_ok(),
        values: picks(&f, "trial-value", &values, &form.value),
        sigmas: picks(&f, "trial-sigma", &["percent", "prescribed", "participants"], &form.sigma),
        censored: picks(&f, "trial-censored", &["exclude", "limit_aware"], &form.censored),
        measurands,
        version: head.version,
        form,
        errors,
        round,
        f,
    })
}

/// What stands behind the question mark: a measurand to begin with.
#[derive(Clone, Debug, Default, serde::Deserialize)]
pub struct About {
    #[serde(default)]
    measurand: String,
}

/// `GET /rounds/{code}/trials`: the form, and all trials that were made.
///
/// # Errors
///
/// A conflict before an evaluation.
pub async fn list(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    Query(about): Query<About>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    let form = TrialForm { measurand: about.measurand, ..TrialForm::default() };
    ok(&page(&app, &mut tx, &person, round, form, Errors::default()).await?)
}

/// `POST /rounds/{code}/trials`: makes a trial, which is kept, and shows it.
///
/// # Errors
///
/// A conflict before an evaluation; a refusal for a reviewer.
pub async fn try_out(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let form: TrialForm = posted.fields.to()?;
    let mut tx = app.db.write().await?;
    let actor = &posted.person.actor;
    let round = evaluating_round(&mut tx, actor, &code).await?;
    let (head, evaluated) = newest(&app, &mut tx, &round).await?;
    match actions::try_out(&mut tx, actor, &round, (head.id, &evaluated), &form, app.clock.now()).await {
        Ok(trial) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/trials/{trial}"), ""))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let errors = Errors::of(app.words, &errors);
            unprocessable(&page(&app, &mut tx, &posted.person, round, form, errors).await?)
        }
    }
}

/// The numbers of a measurand, before or after.
pub(crate) struct NumberCells {
    pub(crate) value: String,
    pub(crate) uncertainty: String,
    pub(crate) robust: String,
    pub(crate) counting: usize,
}

impl NumberCells {
    fn of(numbers: &Numbers) -> NumberCells {
        let shown = |x: Option<f64>| x.map(|x| number::significant(x, 4)).unwrap_or_else(|| "–".to_owned());
        NumberCells {
            value: shown(numbers.assigned_value),
            uncertainty: shown(numbers.standard_uncertainty),
            robust: shown(numbers.robust_sd),
            counting: numbers.counting,
        }
    }
}

/// What changes of a measurand.
pub(crate) struct MeasurandChange {
    pub(crate) id: String,
    pub(crate) before: NumberCells,
    pub(crate) after: NumberCells,
}

/// A class that changes.
pub(crate) struct ClassChange {
    pub(crate) code: String,
    pub(crate) measurand: String,
    pub(crate) before: Class,
    pub(crate) after: Class,
}

/// An effect as tables show it.
pub(crate) struct EffectTables {
    pub(crate) measurands: Vec<MeasurandChange>,
    pub(crate) classes: Vec<ClassChange>,
    /// How many codes have a class that changes.
    pub(crate) codes: usize,
}

impl EffectTables {
    pub(crate) fn of(f: &Frame, effect: &Effect) -> EffectTables {
        let mut codes: Vec<&str> = effect.classes.iter().map(|change| change.participant.as_str()).collect();
        codes.sort_unstable();
        codes.dedup();
        EffectTables {
            codes: codes.len(),
            measurands: effect
                .measurands
                .iter()
                .map(|change| MeasurandChange {
                    id: change.id.clone(),
                    before: NumberCells::of(&change.before),
                    after: NumberCells::of(&change.after),
                })
                .collect(),
            classes: effect
                .classes
                .iter()
                .map(|change| ClassChange {
                    code: change.participant.clone(),
                    measurand: change.measurand.clone(),
                    before: Class::of(f, change.before),
                    after: Class::of(f, change.after),
                })
                .collect(),
        }
    }
}

#[derive(Template)]
#[template(path = "evaluation/trial.html")]
struct TrialPage {
    f: Frame,
    round: Round,
    what: String,
    at: String,
    by: String,
    version: i64,
    effect: EffectTables,
    /// The scores as they are, and as they were in the trial.
    planned: Option<Drawn>,
    tried: Option<Drawn>,
    notes: Vec<String>,
    again: String,
}

/// `GET /rounds/{code}/trials/{id}`: what a trial gives, made again from what was
/// changed; looking at it is no new trial.
///
/// # Errors
///
/// [`Error::NotFound`] for what is no trial of the round.
pub async fn trial(
    State(app): State<App>,
    person: Person,
    Path((code, id)): Path<(String, Uuid)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    let known = trials::by_id(&mut tx, round.id, TrialId(id)).await?.ok_or(Error::NotFound)?;
    let evaluated = app.evaluations.load(&mut tx, known.evaluation).await?;
    drop(tx);
    let changes: Changes = serde_json::from_str(&known.changes).map_err(|_| Error::Fault("read a trial".to_owned()))?;
    let f = Frame::of(&app, &person);
    let tried = actions::trial(&evaluated, &changes);
    let effect = EffectTables::of(&f, &tried.effect);
    let copy = Evaluated::of(tried.package, tried.evaluation);
    let view = || View { own: None, link: None };
    let drawn = |on: &Evaluated| changes.measurand.as_ref().and_then(|id| figures::draw_scores(&f, on, id, view()));
    let outcome = changes.measurand.as_ref().and_then(|id| copy.measurand(id));
    ok(&TrialPage {
        what: words(&f, &changes),
        at: show::instant(known.at(), &round.time_zone),
        by: known.by.clone(),
        version: known.version,
        planned: drawn(&evaluated),
        tried: drawn(&copy),
        notes: outcome.map(|(_, outcome)| figures::notes(&f, outcome)).unwrap_or_default(),
        again: changes.measurand.clone().unwrap_or_default(),
        effect,
        round,
        f,
    })
}
