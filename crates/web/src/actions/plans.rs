//! The plan of a round: its checklist, freezing and signing it, and amendments
//! once the round is open. Whoever signs has shown the password again; that is
//! asked where the form is taken ([`crate::pages::plans`]).

use super::{Refused, approval, field, messages, must_be_draft, record};
use crate::error::Error;
use crate::mail::Post;
use crate::{clock, secret};
use jiff::Timestamp;
use roundel_domain::access::{Actor, Duty};
use roundel_domain::amendment::{self, Amendment, Change};
use roundel_domain::checklist::{Checklist, Heading};
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::frozen::{self, Content, Document, Meaning, NotSecond, Standing};
use roundel_domain::id::PlanId;
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::opening::{self, Missing};
use roundel_domain::plan::{Asked, PlanForm};
use roundel_domain::round::Round;
use roundel_domain::{rules, text};
use roundel_store::plans::{self, NewPlan, NewSignature, Plan, Signature};
use roundel_store::{Tx, installation, measurands, participants, rounds};
use std::collections::HashSet;

/// The plan of a round, with everything that belongs to it.
#[derive(Debug)]
pub struct State {
    /// The versions, the newest first.
    pub versions: Vec<Plan>,
    /// The signatures on all of them.
    pub signatures: Vec<Signature>,
    /// What a plan would say now.
    pub content: Content,
    content_sha256: String,
}

impl State {
    /// The plan of a round as it stands.
    ///
    /// # Errors
    ///
    /// What the database says.
    pub async fn load(tx: &mut Tx, round: &Round) -> Result<State, Error> {
        let items = rounds::items(tx, round.id).await?;
        let measurands = measurands::of_round(tx, round.id).await?;
        let content = content(tx, round, &items, &measurands).await?;
        Ok(State {
            versions: plans::of_round(tx, round.id).await?,
            signatures: plans::signatures(tx, round.id).await?,
            content_sha256: secret::sha256(&content.text()),
            content,
        })
    }

    /// The newest version that was not taken back.
    pub fn newest(&self) -> Option<&Plan> {
        self.versions.iter().find(|plan| plan.withdrawn_at().is_none())
    }

    /// The newest version that two persons have signed.
    pub fn in_force(&self) -> Option<&Plan> {
        self.versions.iter().find(|plan| self.signature(plan, Meaning::Second).is_some())
    }

    /// The newest version, where it waits for its second signature.
    pub fn waiting(&self) -> Option<&Plan> {
        self.newest().filter(|plan| self.signature(plan, Meaning::Second).is_none())
    }

    /// The signature on a version.
    pub fn signature(&self, plan: &Plan, meaning: Meaning) -> Option<&Signature> {
        self.signatures.iter().find(|signature| signature.plan == plan.id && signature.meaning() == meaning)
    }

    /// Whether a version says what the round says now.
    pub fn is_current(&self, plan: &Plan) -> bool {
        plan.content_sha256 == self.content_sha256
    }

    /// How far the newest plan is, while the round is being set up.
    pub fn standing(&self) -> Standing {
        match self.newest() {
            None => Standing::Unfrozen,
            Some(plan) if !self.is_current(plan) => Standing::Outdated,
            Some(plan) if self.signature(plan, Meaning::Second).is_none() => Standing::Unsigned,
            Some(_) => Standing::Signed,
        }
    }
}

async fn content(tx: &mut Tx, round: &Round, items: &[Item], measurands: &[Measurand]) -> Result<Content, Error> {
    let provider = installation::get(tx).await?.map(|installation| installation.provider).unwrap_or_default();
    let checklist = plans::checklist(tx, round.id).await?;
    Ok(Content::of(&provider, round, items, measurands, &checklist, rules::defaults()))
}

/// What keeps a plan from being frozen, and what should be looked at once more.
#[derive(Debug, Default)]
pub struct Open {
    /// What is missing of the design.
    pub design: Vec<Missing>,
    /// Headings without a text.
    pub headings: Vec<Heading>,
    /// Measurands whose plan contradicts what the round asks, with their place.
    pub contradictions: Vec<(i64, String, Problem)>,
    /// What is worth a second look, by measurand.
    pub warnings: Vec<(i64, String, Problem)>,
}

impl Open {
    /// Whether nothing keeps the plan from being frozen.
    pub fn is_ready(&self) -> bool {
        self.design.is_empty() && self.headings.is_empty() && self.contradictions.is_empty()
    }
}

/// How many results a consensus can hope for: independent organisations that are
/// enrolled (D9).
///
/// # Errors
///
/// What the database says.
pub async fn expected(tx: &mut Tx, round: &Round) -> Result<usize, Error> {
    let enrolled = participants::of_round(tx, round.id).await?;
    let organisations: HashSet<&str> = enrolled.iter().filter_map(|p| p.organisation.as_deref()).collect();
    Ok(organisations.len() + enrolled.iter().filter(|p| p.organisation.is_none()).count())
}

/// The name of a measurand: `A/nitrate`.
pub fn name_of(measurand: &Measurand, items: &[Item]) -> String {
    let item = items.iter().find(|item| item.id == measurand.item).map_or("?", |item| item.label.as_str());
    format!("{item}/{}", measurand.analyte)
}

/// What the form of a measurand's plan is read for.
pub fn asked<'a>(round: &Round, measurand: &'a Measurand) -> Asked<'a> {
    Asked {
        unit: &measurand.unit,
        has_required_loq: measurand.required_loq.is_some(),
        uncertainty: round.asks.uncertainty,
    }
}

/// What is still to be done before the plan can be frozen.
///
/// # Errors
///
/// What the database says.
pub async fn open_points(tx: &mut Tx, round: &Round, now: Timestamp) -> Result<Open, Error> {
    let items = rounds::items(tx, round.id).await?;
    let measurands = measurands::of_round(tx, round.id).await?;
    let enrolled = participants::of_round(tx, round.id).await?.len();
    let expected = Some(expected(tx, round).await?).filter(|_| enrolled > 0);
    let mut design = opening::missing(round, &items, &measurands, enrolled, Standing::Signed, now);
    design.retain(|missing| matches!(missing, Missing::Items | Missing::Measurands(_) | Missing::Plans(_)));
    let mut open = Open { design, headings: plans::checklist(tx, round.id).await?.open(), ..Open::default() };
    for measurand in &measurands {
        let Some(plan) = &measurand.plan else { continue };
        let name = name_of(measurand, &items);
        let told = |problem: &Problem| (measurand.position, name.clone(), problem.clone());
        if let Err(errors) = PlanForm::of(plan).parse(asked(round, measurand)) {
            open.contradictions.extend(errors.iter().map(|(_, problem)| told(problem)));
        }
        open.warnings.extend(plan.warnings(expected).iter().map(told));
    }
    Ok(open)
}

/// Writes the texts of the checklist.
///
/// # Errors
///
/// Every text that is not as it should be; a conflict once the round is open.
pub async fn save_checklist<'a>(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    typed: impl Fn(&str) -> &'a str,
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_evaluate()?;
    must_be_draft(tx, round).await?;
    let checklist = Checklist::parse(typed)?;
    if plans::checklist(tx, round.id).await? == checklist {
        return Ok(());
    }
    if !plans::set_checklist(tx, round.id, &checklist).await? {
        return Err(Error::conflict("conflict-not-draft").into());
    }
    record(tx, actor, "checklist-saved", round, &checklist.open().len().to_string(), now).await?;
    Ok(())
}

/// Freezes the plan of a round that is being set up, and signs it as its author;
/// the version.
///
/// # Errors
///
/// A refusal for a reviewer; a conflict while something is open, when the newest
/// version says the same, or when the round is open.
pub async fn freeze(tx: &mut Tx, actor: &Actor, round: &Round, now: Timestamp) -> Result<i64, Error> {
    actor.may_evaluate()?;
    must_be_draft(tx, round).await?;
    if !open_points(tx, round, now).await?.is_ready() {
        return Err(Error::conflict("conflict-plan-open"));
    }
    let state = State::load(tx, round).await?;
    if matches!(state.standing(), Standing::Unsigned | Standing::Signed) {
        return Err(Error::conflict("conflict-plan-frozen"));
    }
    let version = write_version(tx, actor, &state, round, state.content.clone(), None, now).await?;
    record(tx, actor, "plan-frozen", round, &version.to_string(), now).await?;
    Ok(version)
}

/// Writes a version with its author's signature.
async fn write_version(
    tx: &mut Tx,
    actor: &Actor,
    state: &State,
    round: &Round,
    plan: Content,
    amendment: Option<Amendment>,
    now: Timestamp,
) -> Result<i64, Error> {
    let author = roundel_store::accounts::by_id(tx, actor.user()).await?.ok_or(Error::NotFound)?;
    let content_sha256 = secret::sha256(&plan.text());
    let version = state.versions.first().map_or(0, |plan| plan.version) + 1;
    let format = frozen::FORMAT.to_owned();
    let document = Document { format, version, made_at: now, made_by: author.name, amendment, plan }.text();
    let new = NewPlan {
        id: PlanId(clock::new_id()),
        round: round.id,
        version,
        document: &document,
        sha256: &secret::sha256(&document),
        content_sha256: &content_sha256,
        at: now,
        by: actor.user(),
    };
    plans::insert(tx, &new).await?;
    plans::sign(tx, &signature(new.id, Meaning::Author, actor, now)?).await?;
    Ok(version)
}

fn signature(plan: PlanId, meaning: Meaning, actor: &Actor, now: Timestamp) -> Result<NewSignature, Error> {
    let duty: Duty = actor.duty().ok_or(Error::NotFound)?;
    Ok(NewSignature { plan, meaning, duty, at: now, by: actor.user() })
}

/// Signs a version as the second person. An amendment takes effect with it, in the
/// same transaction.
///
/// # Errors
///
/// A conflict for the author, for anybody but a reviewer where results are in, and
/// for a version that is not the newest, is signed already, or does not say what
/// the round says any more.
pub async fn sign(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    version: i64,
    post: &Post,
    now: Timestamp,
) -> Result<(), Error> {
    actor.may_review()?;
    hold(tx, round).await?;
    let state = State::load(tx, round).await?;
    let plan = state.newest().filter(|plan| plan.version == version);
    let plan = plan.ok_or_else(|| Error::conflict("conflict-plan-newer"))?;
    if state.signature(plan, Meaning::Second).is_some() {
        return Err(Error::conflict("conflict-plan-signed"));
    }
    let document = plan.read()?;
    let duty = actor.duty().ok_or(Error::NotFound)?;
    frozen::second(plan.made_by, actor.user(), duty, document.amendment.as_ref()).map_err(|why| match why {
        NotSecond::Author => Error::conflict("conflict-plan-author"),
        NotSecond::Reviewer => Error::conflict("conflict-plan-reviewer"),
    })?;
    match &document.amendment {
        None if round.is_draft() && state.is_current(plan) => {}
        None => return Err(Error::conflict("conflict-plan-outdated")),
        Some(amendment) => take_effect(tx, round, plan, amendment, now).await?,
    }
    plans::sign(tx, &signature(plan.id, Meaning::Second, actor, now)?).await?;
    let event = if document.amendment.is_some() { "amendment-signed" } else { "plan-signed" };
    record(tx, actor, event, round, &version.to_string(), now).await?;
    if let Some(Amendment { change: Change::Deadline { from, to }, reason, .. }) = &document.amendment {
        let moved = Round { closes_at: *to, ..round.clone() };
        messages::deadline(tx, &moved, *from, reason, post, now).await?;
    }
    Ok(())
}

/// Keeps the round in its state until the transaction ends.
async fn hold(tx: &mut Tx, round: &Round) -> Result<(), Error> {
    let held = rounds::hold(tx, round.id, &round.state).await?;
    if held { Ok(()) } else { Err(Error::conflict("conflict-amend-late")) }
}

/// Writes what an amendment changes, if the round still is where it was proposed.
async fn take_effect(
    tx: &mut Tx,
    round: &Round,
    plan: &Plan,
    amendment: &Amendment,
    now: Timestamp,
) -> Result<(), Error> {
    let late = || Error::conflict("conflict-amend-late");
    let correcting = approval::open(tx, round).await?.is_some();
    if !amendment.change.is_possible(round, correcting, now) {
        return Err(late());
    }
    let (changed, measurands) = amended(tx, round, amendment).await?;
    let items = rounds::items(tx, round.id).await?;
    let content = content(tx, &changed, &items, &measurands).await?;
    if secret::sha256(&content.text()) != plan.content_sha256 {
        return Err(Error::conflict("conflict-plan-outdated"));
    }
    match &amendment.change {
        Change::Deadline { from, to } => {
            if !rounds::move_deadline(tx, round.id, *from, *to).await? {
                return Err(late());
            }
        }
        Change::Statistics { measurand, to, .. } => measurands::set_plan(tx, *measurand, to).await?,
    }
    Ok(())
}

/// Round and measurands as they are once an amendment is in effect.
async fn amended(tx: &mut Tx, round: &Round, amendment: &Amendment) -> Result<(Round, Vec<Measurand>), Error> {
    let mut measurands = measurands::of_round(tx, round.id).await?;
    let mut round = round.clone();
    amendment.apply(&mut round, &mut measurands);
    Ok((round, measurands))
}

/// Proposes a later deadline for all; the version.
///
/// # Errors
///
/// What is wrong with the deadline or the reason; a conflict when the deadline is
/// over, or another amendment waits for its signature.
pub async fn propose_deadline(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    (day, time): (&str, &str),
    reason: &str,
    now: Timestamp,
) -> Result<i64, Refused> {
    actor.may_organise()?;
    if !amendment::may_move_deadline(round, now) {
        return Err(Error::conflict("conflict-amend-late").into());
    }
    let (to, mut errors) = match amendment::later_deadline(round, day, time, now) {
        Ok(to) => (to, FieldErrors::new()),
        Err(errors) => (round.closes_at, errors),
    };
    let reason = text::reason(&mut errors, "reason", reason);
    errors.into_result(())?;
    propose(tx, actor, round, Change::Deadline { from: round.closes_at, to }, reason, now).await
}

/// Proposes another statistical plan of a measurand; the version.
///
/// # Errors
///
/// What is wrong with the plan or the reason; a conflict before opening and after
/// publication, or when another amendment waits for its signature.
pub async fn propose_statistics(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    measurand: &Measurand,
    form: &PlanForm,
    reason: &str,
    now: Timestamp,
) -> Result<i64, Refused> {
    actor.may_evaluate()?;
    let correcting = approval::open(tx, round).await?.is_some();
    if !amendment::may_change_statistics(round, correcting) {
        return Err(Error::conflict("conflict-amend-late").into());
    }
    let (plan, mut errors) = match form.parse(asked(round, measurand)) {
        Ok(plan) => (Some(plan), FieldErrors::new()),
        Err(errors) => (None, errors),
    };
    let reason = text::reason(&mut errors, "reason", reason);
    errors.into_result(())?;
    if plan == measurand.plan {
        return Err(field("route", Problem::new("amend-nothing")));
    }
    let items = rounds::items(tx, round.id).await?;
    let change = Change::Statistics {
        measurand: measurand.id,
        name: name_of(measurand, &items),
        from: measurand.plan.clone().map(Box::new),
        to: Box::new(plan.ok_or(Error::NotFound)?),
    };
    propose(tx, actor, round, change, reason, now).await
}

async fn propose(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    change: Change,
    reason: String,
    now: Timestamp,
) -> Result<i64, Refused> {
    hold(tx, round).await?;
    let state = State::load(tx, round).await?;
    if state.waiting().is_some() {
        return Err(Error::conflict("conflict-amend-waiting").into());
    }
    let progress = participants::progress(tx, round.id).await?;
    let results = progress.iter().filter(|line| line.version > 0).count();
    let amendment = Amendment { change, reason, results: i64::try_from(results).unwrap_or(i64::MAX) };
    let (changed, measurands) = amended(tx, round, &amendment).await?;
    let items = rounds::items(tx, round.id).await?;
    let content = content(tx, &changed, &items, &measurands).await?;
    let version = write_version(tx, actor, &state, round, content, Some(amendment), now).await?;
    record(tx, actor, "amendment-proposed", round, &version.to_string(), now).await?;
    Ok(version)
}

/// Takes an amendment back that nobody has signed beside its author.
///
/// # Errors
///
/// A refusal for a reviewer; a conflict when it is in effect, or was taken back.
pub async fn withdraw(tx: &mut Tx, actor: &Actor, round: &Round, version: i64, now: Timestamp) -> Result<(), Error> {
    actor.may_evaluate()?;
    hold(tx, round).await?;
    let state = State::load(tx, round).await?;
    let plan = state.waiting().filter(|plan| plan.version == version && !round.is_draft());
    let plan = plan.ok_or_else(|| Error::conflict("conflict-amend-not-waiting"))?;
    plans::withdraw(tx, plan.id, actor.user(), now).await?;
    record(tx, actor, "amendment-withdrawn", round, &version.to_string(), now).await
}

/// A deadline that was moved.
#[derive(Clone, Debug)]
pub struct Moved {
    /// The deadline before.
    pub from: Timestamp,
    /// The deadline after.
    pub to: Timestamp,
    /// Why.
    pub reason: String,
    /// When the change took effect.
    pub at: Timestamp,
}

/// The deadlines of a round that were moved, the newest first: what participants
/// are told of its amendments.
///
/// # Errors
///
/// What the database says.
pub async fn moved_deadlines(tx: &mut Tx, round: &Round) -> Result<Vec<Moved>, Error> {
    let versions = plans::of_round(tx, round.id).await?;
    let signatures = plans::signatures(tx, round.id).await?;
    let mut moved = Vec::new();
    for plan in &versions {
        let second = signatures.iter().find(|s| s.plan == plan.id && s.meaning() == Meaning::Second);
        let Some(second) = second else { continue };
        if let Some(Amendment { change: Change::Deadline { from, to }, reason, .. }) = plan.read()?.amendment {
            moved.push(Moved { from, to, reason, at: second.at() });
        }
    }
    Ok(moved)
}
