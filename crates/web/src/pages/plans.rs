//! The plan of a round: checklist, versions, signatures, and each version as a
//! document.

use super::suggested::{self, Known};
use super::{Frame, evaluating_round, go, ok, planned, reviewed_round, signing, unprocessable};
use crate::actions::plans::{Open, State as PlanState};
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::extract::{Path, Person, Posted};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use roundel_domain::access::Duty;
use roundel_domain::amendment::{Amendment, Change};
use roundel_domain::checklist::Heading;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::frozen::{self, Content, Document, Meaning, NotSecond, Standing};
use roundel_domain::opening::Missing;
use roundel_domain::round::Round;
use roundel_store::plans::{self, Plan};
use roundel_store::{Tx, participants};

/// A heading of the checklist with its text.
struct Field {
    name: &'static str,
    label: String,
    hint: String,
    text: String,
    /// Whether the text was suggested just now.
    suggested: bool,
}

impl Field {
    /// Lines that show the whole text, or nearly.
    fn rows(&self) -> usize {
        let lines = self.text.lines().map(|line| 1 + line.chars().count() / 52).sum::<usize>();
        lines.clamp(2, 12)
    }
}

/// Something to be done, or to be looked at.
struct Point {
    text: String,
    href: String,
    link: String,
}

/// A signature as shown.
pub struct Signed {
    name: String,
    duty: String,
    meaning: String,
    at: String,
}

/// A version in the list.
struct VersionLine {
    version: i64,
    /// What it is now, in words.
    state: String,
    what: String,
    sha256: String,
    signed: Vec<Signed>,
}

#[derive(Template)]
#[template(path = "rounds/round_plan.html")]
struct PlanPage {
    f: Frame,
    round: Round,
    /// How far the newest version is, in words.
    state: String,
    /// Whether this person may write the checklist and freeze.
    edits: bool,
    /// The version that waits for a signature; 0 for none.
    waiting: i64,
    /// Whether the plan could be frozen as it stands.
    may_freeze: bool,
    next: i64,
    points: Vec<Point>,
    warnings: Vec<Point>,
    versions: Vec<VersionLine>,
    fields: Vec<Field>,
    /// How many headings have a text.
    filled: usize,
    /// How many texts were suggested just now.
    suggested: usize,
    sealed: String,
    errors: Errors,
}

/// The word of what somebody does for the organiser.
pub fn duty_word(f: &Frame, duty: Duty) -> String {
    f.t(match duty {
        Duty::Organiser => "plan-duty-organiser",
        Duty::Statistician => "plan-duty-statistician",
        Duty::Reviewer => "plan-duty-reviewer",
    })
}

fn signed(f: &Frame, state: &PlanState, plan: &Plan, zone: &str) -> Vec<Signed> {
    let of = |meaning| state.signature(plan, meaning);
    let amends = plan.read().is_ok_and(|document| document.amendment.is_some());
    let both = [Meaning::Author, Meaning::Second].into_iter().filter_map(of);
    both.map(|signature| Signed {
        name: signature.name.clone(),
        duty: duty_word(f, signature.duty()),
        meaning: f.t(match (signature.meaning(), amends) {
            (Meaning::Author, false) => "plan-meaning-author",
            (Meaning::Second, false) => "plan-meaning-second",
            (Meaning::Author, true) => "plan-meaning-author-amendment",
            (Meaning::Second, true) => "plan-meaning-second-amendment",
        }),
        at: show::instant(signature.at(), zone),
    })
    .collect()
}

/// What a version is now, in words.
fn version_state(f: &Frame, state: &PlanState, plan: &Plan, round: &Round) -> String {
    let second = state.signature(plan, Meaning::Second).is_some();
    let is_newest = state.newest().is_some_and(|newest| newest.id == plan.id);
    let in_force = state.in_force().is_some_and(|force| force.id == plan.id);
    f.t(match (plan.withdrawn_at().is_some(), second) {
        (true, _) => "plan-state-withdrawn",
        (false, true) if round.is_draft() && is_newest && state.is_current(plan) => "plan-state-signed",
        (false, true) if !round.is_draft() && in_force => "plan-state-in-force",
        (false, false) if is_newest && !round.is_draft() => "plan-state-proposed",
        (false, false) if is_newest && state.is_current(plan) => "plan-state-unsigned",
        _ if is_newest => "plan-state-outdated",
        _ => "plan-state-replaced",
    })
}

/// What an amendment changes, in one line.
fn amendment_line(f: &Frame, amendment: &Amendment, zone: &str) -> String {
    match &amendment.change {
        Change::Deadline { to, .. } => f.t1("amend-line-deadline", "deadline", show::instant(*to, zone)),
        Change::Statistics { name, .. } => f.t1("amend-line-statistics", "name", name),
    }
}

fn version_line(f: &Frame, state: &PlanState, plan: &Plan, round: &Round) -> Result<VersionLine, Error> {
    let amendment = plan.read()?.amendment;
    Ok(VersionLine {
        version: plan.version,
        state: version_state(f, state, plan, round),
        what: amendment.map(|a| amendment_line(f, &a, &round.time_zone)).unwrap_or_default(),
        sha256: plan.sha256.clone(),
        signed: signed(f, state, plan, &round.time_zone),
    })
}

fn points(f: &Frame, round: &Round, open: &Open) -> Vec<Point> {
    let base = format!("/rounds/{}", round.code);
    let mut points = Vec::new();
    let mut add = |text: String, href: &str, link: &str| {
        points.push(Point { text, href: format!("{base}{href}"), link: f.w.t(link) });
    };
    for missing in &open.design {
        match missing {
            Missing::Items => add(f.t("check-items-missing"), "/measurands", "check-items-link"),
            Missing::Measurands(labels) => {
                add(f.t1("check-items-empty", "items", labels.join(", ")), "/measurands", "check-items-link");
            }
            Missing::Plans(names) => {
                let text = f.t2("check-assigned-missing", "count", names.len(), "list", names.join(", "));
                add(text, "/assigned-values", "check-assigned-link");
            }
            _ => {}
        }
    }
    if !open.headings.is_empty() {
        add(f.t1("plan-open-headings", "count", open.headings.len()), "/plan#checklist", "plan-checklist");
    }
    points.extend(measurand_points(f, round, &open.contradictions));
    points
}

fn measurand_points(f: &Frame, round: &Round, problems: &[(i64, String, Problem)]) -> Vec<Point> {
    let of = |(position, name, problem): &(i64, String, Problem)| Point {
        text: f.t2("problem-of", "name", name, "problem", show::problem(f.w, problem)),
        href: if round.is_draft() {
            format!("/rounds/{}/assigned-values/{position}", round.code)
        } else {
            String::new()
        },
        link: f.t("plan-look-at-it"),
    };
    problems.iter().map(of).collect()
}

fn state_words(f: &Frame, state: &PlanState, round: &Round) -> String {
    let of = |key: &str, version: i64| f.w.with(key, &[("version", &version.to_string())]);
    if !round.is_draft() {
        return match (state.waiting(), state.in_force()) {
            (Some(waiting), _) => of("plan-is-proposed", waiting.version),
            (None, Some(plan)) => of("plan-is-in-force", plan.version),
            (None, None) => f.t("plan-is-none"),
        };
    }
    let version = state.newest().map_or(0, |plan| plan.version);
    match state.standing() {
        Standing::Unfrozen => f.t("plan-is-unfrozen"),
        Standing::Outdated => of("plan-is-outdated", version),
        Standing::Unsigned => of("plan-is-unsigned", version),
        Standing::Signed => of("plan-is-signed", version),
    }
}

async fn plan_page(app: &App, tx: &mut Tx, person: &Person, round: Round) -> Result<PlanPage, Error> {
    let f = Frame::of(app, person);
    let state = PlanState::load(tx, &round).await?;
    let open = match round.is_draft() {
        true => actions::plans::open_points(tx, &round, app.clock.now()).await?,
        false => Open::default(),
    };
    let checklist = plans::checklist(tx, round.id).await?;
    let edits = person.actor.may_evaluate().is_ok() && round.is_draft();
    let stale = matches!(state.standing(), Standing::Unfrozen | Standing::Outdated);
    let waiting = state.waiting().filter(|plan| !round.is_draft() || state.is_current(plan));
    let versions = state.versions.iter().map(|plan| version_line(&f, &state, plan, &round));
    Ok(PlanPage {
        state: state_words(&f, &state, &round),
        edits,
        waiting: waiting.map_or(0, |plan| plan.version),
        may_freeze: edits && stale && open.is_ready(),
        next: state.versions.first().map_or(0, |plan| plan.version) + 1,
        points: points(&f, &round, &open),
        warnings: measurand_points(&f, &round, &open.warnings),
        versions: versions.collect::<Result<_, _>>()?,
        fields: fields(&f, |heading| checklist.text(heading).to_owned()),
        filled: Heading::ALL.len() - checklist.open().len(),
        suggested: 0,
        sealed: plans::sealed(tx, round.id).await?.map(|sealed| sealed.sha256).unwrap_or_default(),
        errors: Errors::default(),
        f,
        round,
    })
}

fn fields(f: &Frame, text: impl Fn(Heading) -> String) -> Vec<Field> {
    let field = |heading: Heading| {
        let name = heading.word();
        Field {
            name,
            label: f.w.t(&format!("checklist-{name}")),
            hint: f.w.t(&format!("checklist-{name}-hint")),
            text: text(heading),
            suggested: false,
        }
    };
    Heading::ALL.into_iter().map(field).collect()
}

/// `GET /rounds/{code}/plan`.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory, and where there is no such round.
pub async fn overview(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    ok(&plan_page(&app, &mut tx, &person, round).await?)
}

/// `POST /rounds/{code}/plan`: writes the checklist, or shows it with the texts that
/// can be suggested, as the field `command` says.
///
/// # Errors
///
/// A refusal for a reviewer; a conflict once the round is open.
pub async fn save(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let actor = &posted.person.actor;
    if posted.fields.get("command") == "suggest" {
        let mut tx = app.db.read().await?;
        let round = evaluating_round(&mut tx, actor, &code).await?;
        return suggest(&app, &mut tx, &posted, round).await;
    }
    let mut tx = app.db.write().await?;
    let round = evaluating_round(&mut tx, actor, &code).await?;
    let typed = |field: &str| posted.fields.get(field);
    match actions::plans::save_checklist(&mut tx, actor, &round, typed, app.clock.now()).await {
        Ok(()) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/plan#checklist"), "checklist-saved"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let mut page = plan_page(&app, &mut tx, &posted.person, round).await?;
            page.fields = fields(&page.f, |heading| posted.fields.get(heading.word()).to_owned());
            page.errors = checklist_errors(&page.f, &errors);
            unprocessable(&page)
        }
    }
}

fn checklist_errors(f: &Frame, errors: &FieldErrors) -> Errors {
    Errors::named(f.w, errors, |field| Some(f.w.t(&format!("checklist-{field}"))))
}

/// The page with suggested texts in the fields that are empty; nothing is saved.
async fn suggest(app: &App, tx: &mut Tx, posted: &Posted, round: Round) -> Result<Response, Error> {
    if !round.is_draft() {
        return Err(Error::conflict("conflict-not-draft"));
    }
    let provider = app.provider().ok_or(Error::NotFound)?;
    let enrolled = participants::of_round(tx, round.id).await?.len();
    let organisations = actions::plans::expected(tx, &round).await?;
    let content = PlanState::load(tx, &round).await?.content;
    let mut page = plan_page(app, tx, &posted.person, round).await?;
    let known = Known { provider: &provider, content: &content, enrolled, organisations };
    let suggestions = suggested::texts(&page.f, &known);
    page.fields = fields(&page.f, |heading| posted.fields.get(heading.word()).to_owned());
    for (field, heading) in page.fields.iter_mut().zip(Heading::ALL) {
        let text = suggestions.text(heading);
        if field.text.trim().is_empty() && !text.is_empty() {
            field.text = text.to_owned();
            field.suggested = true;
        }
    }
    page.suggested = page.fields.iter().filter(|field| field.suggested).count();
    page.f.done = page.f.t1("checklist-suggested", "count", page.suggested);
    ok(&page)
}

/// `POST /rounds/{code}/plan/freeze`: freezes the plan and signs it as its author.
///
/// # Errors
///
/// A refusal for a reviewer; a conflict while something is open.
pub async fn freeze(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let actor = &posted.person.actor;
    evaluating_round(&mut app.db.read().await?, actor, &code).await?;
    // A password takes its time, so it is looked at before the transaction begins.
    let errors = signing::confirm(&app, &posted).await?;
    let mut tx = app.db.write().await?;
    let round = evaluating_round(&mut tx, actor, &code).await?;
    if !errors.is_empty() {
        let mut page = plan_page(&app, &mut tx, &posted.person, round).await?;
        page.errors = Errors::of(app.words, &errors);
        return unprocessable(&page);
    }
    let version = actions::plans::freeze(&mut tx, actor, &round, app.clock.now()).await?;
    tx.commit().await?;
    Ok(go(&format!("/rounds/{code}/plan/{version}"), "plan-frozen"))
}

struct Row {
    analyte: String,
    unit: String,
    asked: String,
    route: String,
    value: String,
    uncertainty: String,
    sigma: String,
    particulars: String,
}

struct Block {
    label: String,
    matrix: String,
    rows: Vec<Row>,
}

/// What an amendment changes, as shown.
struct Amended {
    what: String,
    before: String,
    after: String,
    reason: String,
    results: String,
}

#[derive(Template)]
#[template(path = "rounds/plan_document.html")]
struct DocumentPage {
    f: Frame,
    round: Round,
    version: i64,
    state: String,
    made_at: String,
    made_by: String,
    sha256: String,
    withdrawn: String,
    amended: Option<Amended>,
    plan: Content,
    deadline: String,
    sections: Vec<(String, String)>,
    blocks: Vec<Block>,
    asks: Vec<String>,
    rules: Vec<(String, String)>,
    signed: Vec<Signed>,
    /// Whether this person may sign it now.
    may_sign: bool,
    /// Why not, where it waits for a signature.
    why_not: String,
    may_withdraw: bool,
    errors: Errors,
}

fn rows(f: &Frame, content: &Content, label: &str) -> Vec<Row> {
    let own = content.measurands.iter().filter(|measurand| measurand.item == label);
    own.map(|m| {
        let mut asked = vec![f.t2("plan-row-digits", "decimals", m.decimals, "replicates", m.replicates)];
        if !m.expressed_as.is_empty() {
            asked.push(f.t1("plan-row-basis", "basis", &m.expressed_as));
        }
        if let Some(loq) = &m.required_loq {
            asked.push(f.t1("plan-row-loq", "loq", loq));
        }
        let plan = m.plan.as_ref();
        let (value, uncertainty) = plan.map(|plan| planned::value(&plan.assigned)).unwrap_or_default();
        Row {
            analyte: m.analyte.clone(),
            unit: m.unit.clone(),
            asked: asked.join("; "),
            route: plan.map_or_else(|| f.t("route-missing"), |plan| planned::route(f, &plan.assigned)),
            value,
            uncertainty,
            sigma: plan.map(|plan| planned::sigma(f, plan.sigma_pt.as_ref())).unwrap_or_default(),
            particulars: plan.map(|plan| planned::particulars(f, plan).join("; ")).unwrap_or_default(),
        }
    })
    .collect()
}

fn amended(f: &Frame, amendment: &Amendment, zone: &str) -> Amended {
    let (before, after) = match &amendment.change {
        Change::Deadline { from, to } => (show::instant(*from, zone), show::instant(*to, zone)),
        Change::Statistics { from, to, .. } => {
            let before = from.as_ref().map_or_else(|| f.t("route-missing"), |plan| planned::line(f, plan));
            (before, planned::line(f, to))
        }
    };
    Amended {
        what: amendment_line(f, amendment, zone),
        before,
        after,
        reason: amendment.reason.clone(),
        results: f.t1("amend-results", "count", amendment.results),
    }
}

async fn document_page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    round: Round,
    version: i64,
) -> Result<DocumentPage, Error> {
    let f = Frame::of(app, person);
    let state = PlanState::load(tx, &round).await?;
    let plan = state.versions.iter().find(|plan| plan.version == version).ok_or(Error::NotFound)?;
    let document: Document = plan.read()?;
    let zone = document.plan.round.time_zone.clone();
    let waits =
        state.waiting().is_some_and(|waiting| waiting.id == plan.id) && (!round.is_draft() || state.is_current(plan));
    let duty = person.actor.duty().ok_or(Error::NotFound)?;
    let refusal = match frozen::second(plan.made_by, person.actor.user(), duty, document.amendment.as_ref()) {
        Ok(()) => "",
        Err(NotSecond::Author) => "plan-sign-not-author",
        Err(NotSecond::Reviewer) => "plan-sign-reviewer",
    };
    let sections = Heading::ALL
        .into_iter()
        .map(|heading| {
            (f.w.t(&format!("checklist-{}", heading.word())), document.plan.checklist.text(heading).to_owned())
        })
        .collect();
    let blocks = document.plan.items.iter().map(|item| Block {
        label: item.label.clone(),
        matrix: item.matrix.clone(),
        rows: rows(&f, &document.plan, &item.label),
    });
    let withdrawn = plan
        .withdrawn_at()
        .map(|at| f.t2("plan-withdrawn-at", "name", &plan.withdrawn_by, "at", show::instant(at, &round.time_zone)));
    Ok(DocumentPage {
        version,
        state: version_state(&f, &state, plan, &round),
        made_at: show::instant(document.made_at, &zone),
        made_by: document.made_by.clone(),
        sha256: plan.sha256.clone(),
        withdrawn: withdrawn.unwrap_or_default(),
        amended: document.amendment.as_ref().map(|amendment| amended(&f, amendment, &zone)),
        deadline: show::instant(document.plan.round.closes_at, &zone),
        sections,
        blocks: blocks.collect(),
        asks: planned::asks(&f, &document.plan.asks),
        rules: planned::rules(&f, &document.plan.rules),
        signed: signed(&f, &state, plan, &round.time_zone),
        may_sign: waits && refusal.is_empty(),
        why_not: if waits && !refusal.is_empty() { f.w.t(refusal) } else { String::new() },
        may_withdraw: waits && !round.is_draft() && person.actor.may_evaluate().is_ok(),
        errors: Errors::default(),
        plan: document.plan,
        f,
        round,
    })
}

/// `GET /rounds/{code}/plan/{version}`: a version as a document to read, print and
/// sign.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory, and where there is no such version.
pub async fn document(
    State(app): State<App>,
    person: Person,
    Path((code, version)): Path<(String, i64)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    ok(&document_page(&app, &mut tx, &person, round, version).await?)
}

/// `GET /rounds/{code}/plan/{version}/document.json`: the frozen text, byte for byte.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory, and where there is no such version.
pub async fn text(
    State(app): State<App>,
    person: Person,
    Path((code, version)): Path<(String, i64)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    let all = plans::of_round(&mut tx, round.id).await?;
    let plan = all.into_iter().find(|plan| plan.version == version).ok_or(Error::NotFound)?;
    let name = format!("attachment; filename=\"{}-plan-{version}.json\"", round.code);
    let headers = [
        (header::CONTENT_TYPE, "application/json".to_owned()),
        (header::CONTENT_DISPOSITION, name),
        (header::CACHE_CONTROL, "no-store".to_owned()),
    ];
    Ok((headers, plan.document).into_response())
}

/// `POST /rounds/{code}/plan/{version}/sign`: the second signature.
///
/// # Errors
///
/// A conflict for the author, and where the version does not wait for a signature.
pub async fn sign(
    State(app): State<App>,
    Path((code, version)): Path<(String, i64)>,
    posted: Posted,
) -> Result<Response, Error> {
    let actor = &posted.person.actor;
    reviewed_round(&mut app.db.read().await?, actor, &code).await?;
    let errors = signing::confirm(&app, &posted).await?;
    let mut tx = app.db.write().await?;
    let round = reviewed_round(&mut tx, actor, &code).await?;
    if !errors.is_empty() {
        let mut page = document_page(&app, &mut tx, &posted.person, round, version).await?;
        page.errors = Errors::of(app.words, &errors);
        return unprocessable(&page);
    }
    actions::plans::sign(&mut tx, actor, &round, version, &app.post(), app.clock.now()).await?;
    tx.commit().await?;
    app.wake_mail();
    Ok(go(&format!("/rounds/{code}/plan"), if round.is_draft() { "plan-signed" } else { "amendment-signed" }))
}

/// `POST /rounds/{code}/plan/{version}/withdraw`: takes an amendment back.
///
/// # Errors
///
/// A refusal for a reviewer; a conflict when it does not wait for a signature.
pub async fn withdraw(
    State(app): State<App>,
    Path((code, version)): Path<(String, i64)>,
    posted: Posted,
) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let actor = &posted.person.actor;
    let round = evaluating_round(&mut tx, actor, &code).await?;
    actions::plans::withdraw(&mut tx, actor, &round, version, app.clock.now()).await?;
    tx.commit().await?;
    Ok(go(&format!("/rounds/{code}/plan"), "amendment-withdrawn"))
}
