//! What is known of items beside the results: preparation, homogeneity,
//! stability, and what is decided on them.

use super::design::{self, FileRefused};
use super::evaluation::{self, MeasurandDecision};
use super::{Refused, field, record};
use crate::clock;
use crate::error::Error;
use jiff::Timestamp;
use roundel_documents::number;
use roundel_domain::access::Actor;
use roundel_domain::assemble::Layers;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::id::{ItemRecordId, MeasurandId, RoundId};
use roundel_domain::import::{self, KnownMeasurand, RowProblem};
use roundel_domain::judgement::{Judgement, Kind as Decided, Topic};
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::package;
use roundel_domain::plan::{Assigned, PlanForm, Scope};
use roundel_domain::preparation::{Preparation, PreparationForm, Prepared};
use roundel_domain::round::{Round, RoundState};
use roundel_domain::study::{self, Homogeneity, Stability};
use roundel_domain::text;
use roundel_store::item_records::{self, Kind, Record};
use roundel_store::{Tx, measurand_decisions, measurands, rounds};
use serde::de::DeserializeOwned;
use std::collections::HashMap;

/// A record that counts, with who made it and when.
#[derive(Clone, Debug)]
pub struct Kept<T> {
    /// What was recorded.
    pub content: T,
    /// Name of who recorded it.
    pub by: String,
    /// When.
    pub at: Timestamp,
}

/// What is known of a measurand's item.
#[derive(Clone, Debug, Default)]
pub struct Known {
    /// How it was made, newest last.
    pub preparations: Vec<Kept<Preparation>>,
    /// Whether its units are alike, newest last.
    pub homogeneity: Vec<Kept<Homogeneity>>,
    /// Whether they stay as they are, newest last.
    pub stability: Vec<Kept<Stability>>,
    /// What was decided on either, newest last.
    pub decisions: Vec<Kept<Judgement>>,
}

impl Known {
    /// The content by preparation, where there is one.
    pub fn prepared(&self, unit: &str) -> Option<Prepared> {
        self.preparations.last()?.content.compute(unit).ok()
    }

    /// The decision on a topic that counts.
    pub fn decided(&self, topic: Topic) -> Option<&Kept<Judgement>> {
        self.decisions.iter().rev().find(|kept| kept.content.topic == topic)
    }
}

fn kept<T: DeserializeOwned>(record: &Record) -> Result<Kept<T>, Error> {
    let content = serde_json::from_str(&record.document)
        .map_err(|error| Error::Fault(format!("read a record of an item: {error}")))?;
    Ok(Kept { content, by: record.by.clone(), at: record.at() })
}

/// What is known of the items of a round, by measurand.
///
/// # Errors
///
/// What the database says.
pub async fn known(tx: &mut Tx, round: RoundId) -> Result<HashMap<MeasurandId, Known>, Error> {
    let mut all: HashMap<MeasurandId, Known> = HashMap::new();
    for record in item_records::of_round(tx, round).await? {
        let own = all.entry(record.measurand).or_default();
        match record.kind {
            Kind::Preparation => own.preparations.push(kept(&record)?),
            Kind::Homogeneity => own.homogeneity.push(kept(&record)?),
            Kind::Stability => own.stability.push(kept(&record)?),
        }
    }
    for decision in measurand_decisions::of_round(tx, round).await? {
        let content = decision.judgement()?;
        if matches!(content.topic, Topic::Homogeneity | Topic::Stability) {
            let kept = Kept { content, by: decision.by.clone(), at: decision.at() };
            all.entry(decision.measurand).or_default().decisions.push(kept);
        }
    }
    Ok(all)
}

/// Adds the data of the studies to the layers of a package.
///
/// # Errors
///
/// What the database says.
pub(super) async fn lay(
    tx: &mut Tx,
    round: &Round,
    measurands: &[Measurand],
    layers: &mut Layers,
) -> Result<(), Error> {
    let known = known(tx, round.id).await?;
    for measurand in measurands {
        let Some(own) = known.get(&measurand.id) else { continue };
        if own.homogeneity.is_empty() && own.stability.is_empty() {
            continue;
        }
        let layer = layers.measurands.entry(measurand.position).or_default();
        layer.homogeneity = own.homogeneity.last().map(|kept| kept.content.pairs());
        layer.stability = own.stability.last().and_then(|kept| {
            let study = &kept.content;
            Some(package::Stability { before: study.start(), after: study.end(study.storage()?) })
        });
    }
    Ok(())
}

/// Studies and decisions on items may come before the round opens, while it is
/// open, and in review. What was published stays.
async fn must_be_open_to_change(tx: &mut Tx, round: &Round) -> Result<(), Error> {
    match round.state {
        RoundState::Draft | RoundState::Open { .. } if rounds::hold(tx, round.id, &round.state).await? => Ok(()),
        RoundState::Draft | RoundState::Open { .. } => Err(Error::conflict("conflict-items-moved-on")),
        _ => evaluation::must_be_in_review(tx, round).await,
    }
}

async fn keep(
    tx: &mut Tx,
    actor: &Actor,
    measurand: &Measurand,
    kind: Kind,
    content: &impl serde::Serialize,
    now: Timestamp,
) -> Result<(), Error> {
    let document =
        serde_json::to_string(content).map_err(|error| Error::Fault(format!("write a record of an item: {error}")))?;
    let id = ItemRecordId(clock::new_id());
    Ok(item_records::insert(tx, id, measurand.id, kind, &document, actor.user(), now).await?)
}

fn place(item: &Item, measurand: &Measurand) -> String {
    format!("{}/{}", item.label, measurand.analyte)
}

/// The value that the plan gives, be it beside a consensus.
pub fn planned_value(measurand: &Measurand) -> Option<f64> {
    let (_, given) = measurand.plan.as_ref()?.assigned.given_at_all()?;
    Some(given.value.value())
}

/// Records how an item was made.
///
/// # Errors
///
/// Every field that is not as it should be; a conflict once the round is published.
pub async fn record_preparation(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    (item, measurand): (&Item, &Measurand),
    form: &PreparationForm,
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_evaluate()?;
    must_be_open_to_change(tx, round).await?;
    let (preparation, _) = form.parse(&measurand.unit, planned_value(measurand))?;
    keep(tx, actor, measurand, Kind::Preparation, &preparation, now).await?;
    record(tx, actor, "preparation-recorded", round, &place(item, measurand), now).await?;
    Ok(())
}

/// Writes the content by preparation into the plan, rounded as it is published, as
/// its value or, beside a consensus, as the value that is used where there is none:
/// only while the round is a draft.
///
/// # Errors
///
/// A conflict once the round is open, without a preparation, and without σ_pt.
pub async fn take_as_assigned(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    measurand: &Measurand,
    now: Timestamp,
) -> Result<(), Error> {
    actor.may_organise()?;
    if !round.is_draft() {
        return Err(Error::conflict("conflict-by-amendment"));
    }
    let known = known(tx, round.id).await?;
    let prepared = known.get(&measurand.id).and_then(|own| own.prepared(&measurand.unit));
    let prepared = prepared.ok_or_else(|| Error::conflict("conflict-no-preparation"))?;
    let Some(plan) = &measurand.plan else { return Err(Error::conflict("conflict-no-sigma")) };
    let printed = number::published(prepared.value, Some(prepared.standard_uncertainty), None);
    let mut form = PlanForm {
        value: import::decided(&printed.assigned_value),
        standard_uncertainty: import::decided(&printed.standard_uncertainty.unwrap_or_default()),
        expanded_uncertainty: String::new(),
        coverage_factor: String::new(),
        absent_below: String::new(),
        ..PlanForm::of(plan)
    };
    if matches!(plan.assigned, Assigned::Participants { .. }) {
        form.fallback_route = "formulation".to_owned();
    } else {
        form.route = "formulation".to_owned();
    }
    match design::set_plan(tx, actor, round, measurand, &form, Scope::One, now).await {
        Ok(_) => Ok(()),
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(_)) => Err(Error::conflict("conflict-no-sigma")),
    }
}

/// A study as typed.
#[derive(Clone, Copy, Debug)]
pub struct StudyForm<'a> {
    /// Method, place and day; may be empty.
    pub method: &'a str,
    /// The date of day 0, for stability.
    pub began_on: &'a str,
    /// One unit a line.
    pub data: &'a str,
}

/// What is wrong with a study: fields, and lines of its data.
#[derive(Debug)]
pub enum StudyRefused {
    /// Fields and lines; nothing happened.
    Typed(FieldErrors, Vec<RowProblem>),
    /// Anything else.
    Error(Error),
}

impl<E: Into<Error>> From<E> for StudyRefused {
    fn from(error: E) -> Self {
        StudyRefused::Error(error.into())
    }
}

/// Records whether units are alike.
///
/// # Errors
///
/// Every line and field that is not as it should be; a conflict once the round is published.
pub async fn record_homogeneity(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    (item, measurand): (&Item, &Measurand),
    form: StudyForm<'_>,
    now: Timestamp,
) -> Result<(), StudyRefused> {
    actor.may_evaluate()?;
    must_be_open_to_change(tx, round).await?;
    let mut errors = FieldErrors::new();
    let method = text::line(&mut errors, "method", form.method, false);
    let units = match study::read_homogeneity(form.data) {
        Ok(units) if errors.is_empty() => units,
        read => return Err(StudyRefused::Typed(errors, read.err().unwrap_or_default())),
    };
    keep(tx, actor, measurand, Kind::Homogeneity, &Homogeneity { method, units }, now).await?;
    record(tx, actor, "homogeneity-recorded", round, &place(item, measurand), now).await?;
    Ok(())
}

/// Records whether units stay as they are.
///
/// # Errors
///
/// Every line and field that is not as it should be; a conflict once the round is published.
pub async fn record_stability(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    (item, measurand): (&Item, &Measurand),
    form: StudyForm<'_>,
    now: Timestamp,
) -> Result<(), StudyRefused> {
    actor.may_evaluate()?;
    must_be_open_to_change(tx, round).await?;
    let mut errors = FieldErrors::new();
    let method = text::line(&mut errors, "method", form.method, false);
    let began_on = errors.keep("began_on", study::read_date(form.began_on));
    let (began_on, points) = match (study::read_stability(form.data), began_on) {
        (Ok(points), Some(began_on)) if errors.is_empty() => (began_on, points),
        (read, _) => return Err(StudyRefused::Typed(errors, read.err().unwrap_or_default())),
    };
    keep(tx, actor, measurand, Kind::Stability, &Stability { method, began_on, points }, now).await?;
    record(tx, actor, "stability-recorded", round, &place(item, measurand), now).await?;
    Ok(())
}

async fn known_measurands(tx: &mut Tx, round: &Round) -> Result<(Vec<Measurand>, Vec<KnownMeasurand>), Error> {
    let items = rounds::items(tx, round.id).await?;
    let measurands = measurands::of_round(tx, round.id).await?;
    let label = |m: &Measurand| items.iter().find(|item| item.id == m.item).map_or("", |item| item.label.as_str());
    let named = measurands
        .iter()
        .map(|m| KnownMeasurand { item: label(m).to_owned(), analyte: m.analyte.clone(), unit: m.unit.clone() })
        .collect();
    Ok((measurands, named))
}

/// Records the studies of homogeneity of a file; how many.
///
/// # Errors
///
/// Every row that is not as it should be; then nothing happened.
pub async fn import_homogeneity(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    file: &import::File,
    now: Timestamp,
) -> Result<usize, FileRefused> {
    actor.may_evaluate()?;
    must_be_open_to_change(tx, round).await?;
    let (measurands, named) = known_measurands(tx, round).await?;
    let read = import::homogeneity(file, &named).map_err(FileRefused::Rows)?;
    let count = read.len();
    for (place, units) in read {
        let study = Homogeneity { method: String::new(), units };
        keep(tx, actor, &measurands[place], Kind::Homogeneity, &study, now).await?;
    }
    record(tx, actor, "homogeneity-imported", round, &count.to_string(), now).await?;
    Ok(count)
}

/// Records the studies of stability of a file; how many.
///
/// # Errors
///
/// Every row that is not as it should be; then nothing happened.
pub async fn import_stability(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    file: &import::File,
    now: Timestamp,
) -> Result<usize, FileRefused> {
    actor.may_evaluate()?;
    must_be_open_to_change(tx, round).await?;
    let (measurands, named) = known_measurands(tx, round).await?;
    let read = import::stability(file, &named).map_err(FileRefused::Rows)?;
    let count = read.len();
    for (place, (began_on, points)) in read {
        let study = Stability { method: String::new(), began_on, points };
        keep(tx, actor, &measurands[place], Kind::Stability, &study, now).await?;
    }
    record(tx, actor, "stability-imported", round, &count.to_string(), now).await?;
    Ok(count)
}

/// Decides what follows from homogeneity or stability (F17), with a reason. One
/// decision of a topic counts, so that its uncertainty is never in u(x_pt) and in
/// σ_pt at once (D29).
///
/// # Errors
///
/// A missing reason or number; u_hom for a consensus of the participants, which has
/// it already; a conflict once the round is published.
pub async fn decide(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    measurand: &Measurand,
    decision: MeasurandDecision<'_>,
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_evaluate()?;
    must_be_open_to_change(tx, round).await?;
    let consensus = measurand.plan.as_ref().is_some_and(|plan| matches!(plan.assigned, Assigned::Participants { .. }));
    if consensus && decision.topic == Topic::Homogeneity && decision.kind == Decided::AddUncertainty {
        return Err(field("kind", Problem::new("judgement-consensus-has-it")));
    }
    evaluation::decide_measurand(tx, actor, round, measurand, decision, now).await
}
