//! Rounds: the list, setting one up, opening, progress, closing.

use super::versions::Correcting;
use super::{Frame, go, ok, organised_round, seen_round, unprocessable};
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::extract::{Path, Person, Posted};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use jiff::Timestamp;
use roundel_documents::words::Words;
use roundel_domain::asks::{Arrival, Asks};
use roundel_domain::frozen::Standing;
use roundel_domain::opening::Missing;
use roundel_domain::round::{Intake, Round, RoundForm, RoundState};
use roundel_store::participants::Progress;
use roundel_store::rounds::Counts;
use roundel_store::{audit, evaluations, measurands, outbox, participants, questions, rounds as store, rulings};

/// A round in a list.
struct Line {
    code: String,
    title: String,
    state: String,
    next: String,
    deadline: String,
    instant: String,
}

#[derive(Template)]
#[template(path = "rounds/list.html")]
struct ListPage {
    f: Frame,
    organiser: bool,
    lines: Vec<Line>,
}

/// `GET /rounds`.
///
/// # Errors
///
/// What the database says.
pub async fn list(State(app): State<App>, person: Person) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let now = app.clock.now();
    let organiser = person.actor.may_organise().is_ok();
    let lines = if person.actor.may_review().is_ok() {
        let counts = store::counts(&mut tx).await?;
        let rounds = store::all(&mut tx).await?;
        rounds
            .iter()
            .map(|round| line(app.words, round, next_of_organiser(app.words, round, counts.get(&round.id), now), now))
            .collect()
    } else {
        let laboratory = person.actor.may_read_own()?;
        let rounds = store::of_laboratory(&mut tx, laboratory).await?;
        let sent = participants::versions_of_laboratory(&mut tx, laboratory).await?;
        let version = |round: &Round| sent.iter().find(|(id, _)| *id == round.id).map_or(0, |(_, version)| *version);
        rounds
            .iter()
            .map(|round| line(app.words, round, next_of_laboratory(app.words, round, version(round), now), now))
            .collect()
    };
    ok(&ListPage { f: Frame::of(&app, &person), organiser, lines })
}

fn line(words: Words, round: &Round, next: String, now: Timestamp) -> Line {
    Line {
        code: round.code.clone(),
        title: round.title.clone(),
        state: state_word(words, round, now),
        next,
        deadline: show::instant(round.closes_at, &round.time_zone),
        instant: round.closes_at.to_string(),
    }
}

/// The state of a round in a word, for people.
pub fn state_word(words: Words, round: &Round, now: Timestamp) -> String {
    let key = match (&round.state, round.intake(now)) {
        (RoundState::Open { .. }, Intake::Late | Intake::TooLate) => "state-deadline-over",
        (RoundState::Draft, _) => "state-draft",
        (RoundState::Open { .. }, _) => "state-open",
        (RoundState::Closed { .. }, _) => "state-closed",
        (RoundState::Published { .. }, _) => "state-published",
    };
    words.t(key)
}

fn next_of_organiser(words: Words, round: &Round, counts: Option<&Counts>, now: Timestamp) -> String {
    let Some(counts) = counts else { return String::new() };
    let of = |key: &str| {
        words.with(key, &[("sent", &counts.submitted.to_string()), ("of", &counts.participants.to_string())])
    };
    match &round.state {
        RoundState::Draft if counts.measurands == 0 => words.t("next-measurands"),
        RoundState::Draft if counts.without_plan > 0 => {
            words.with("next-assigned", &[("count", &counts.without_plan.to_string())])
        }
        RoundState::Draft if counts.participants == 0 => words.t("next-laboratories"),
        RoundState::Draft if round.closes_at <= now => words.t("next-deadline"),
        RoundState::Draft if counts.signatures == 0 => words.t("next-plan"),
        RoundState::Draft if counts.signatures == 1 => words.t("next-sign"),
        RoundState::Draft => words.t("next-open"),
        RoundState::Open { .. } if now > round.closes_at => of("next-close"),
        RoundState::Open { .. } => of("next-wait"),
        RoundState::Closed { .. } if counts.evaluations == 0 => words.t("next-evaluate"),
        RoundState::Closed { .. } => words.t("next-publish"),
        RoundState::Published { .. } if counts.correcting > 0 => words.t("next-correction"),
        RoundState::Published { .. } => words.t("next-nothing"),
    }
}

fn next_of_laboratory(words: Words, round: &Round, version: i64, now: Timestamp) -> String {
    let key = match (round.intake(now), version) {
        _ if round.is_published() && version > 0 => "next-lab-scores",
        _ if round.is_published() => "next-lab-registered",
        (Intake::InTime, 0) => "next-lab-enter",
        (Intake::InTime, _) => "next-lab-revise",
        (Intake::Late, 0) => "next-lab-late",
        (_, 0) => "next-lab-nothing",
        _ => "next-lab-wait",
    };
    words.t(key)
}

#[derive(Template)]
#[template(path = "rounds/edit.html")]
struct EditPage {
    f: Frame,
    /// Code of the round that is changed; empty for a new one.
    code: String,
    form: RoundForm,
    errors: Errors,
    zones: Vec<String>,
}

fn zones() -> Vec<String> {
    let mut zones: Vec<String> =
        jiff::tz::db().available().map(|name| name.to_string()).filter(|n| n.contains('/') || n == "UTC").collect();
    zones.sort();
    zones
}

/// `GET /rounds/new`.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser.
pub async fn new(State(app): State<App>, person: Person) -> Result<Response, Error> {
    person.actor.may_organise()?;
    let form = RoundForm { closes_time: "17:00".to_owned(), time_zone: "UTC".to_owned(), ..RoundForm::default() };
    ok(&EditPage { f: Frame::of(&app, &person), code: String::new(), form, errors: Errors::default(), zones: zones() })
}

/// `POST /rounds`.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser.
pub async fn create(State(app): State<App>, posted: Posted) -> Result<Response, Error> {
    let form: RoundForm = posted.fields.to()?;
    let mut tx = app.db.write().await?;
    match actions::rounds::create(&mut tx, &posted.person.actor, &form, app.clock.now()).await {
        Ok(code) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}"), "round-made"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let f = Frame::of(&app, &posted.person);
            let errors = Errors::of(app.words, &errors);
            unprocessable(&EditPage { f, code: String::new(), form, errors, zones: zones() })
        }
    }
}

/// `GET /rounds/{code}/edit`.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; a conflict once it is open.
pub async fn edit(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let round = organised_round(&mut app.db.read().await?, &person.actor, &code).await?;
    if !round.is_draft() {
        return Err(Error::conflict("conflict-not-draft"));
    }
    let f = Frame::of(&app, &person);
    ok(&EditPage { f, code, form: RoundForm::of(&round), errors: Errors::default(), zones: zones() })
}

/// `POST /rounds/{code}/edit`.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; a conflict once it is open.
pub async fn update(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let form: RoundForm = posted.fields.to()?;
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &posted.person.actor, &code).await?;
    match actions::rounds::update(&mut tx, &posted.person.actor, &round, &form, app.clock.now()).await {
        Ok(code) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}"), "round-saved"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let f = Frame::of(&app, &posted.person);
            unprocessable(&EditPage { f, code, form, errors: Errors::of(app.words, &errors), zones: zones() })
        }
    }
}

/// A line of the checklist.
struct Check {
    done: bool,
    text: String,
    href: String,
    link: String,
}

/// Events of which it is not said who did it: a code never stands beside the name
/// of who acts under it, and nobody learns who asks.
const NAMELESS: [&str; 4] = ["results-sent", "question-asked", "request-made", "unit-file-received"];

/// An entry of the record.
struct Event {
    at: String,
    actor: String,
    what: String,
}

#[derive(Template)]
#[template(path = "rounds/overview.html")]
struct OverviewPage {
    f: Frame,
    round: Round,
    state: String,
    deadline: String,
    instant: String,
    /// Whether the person runs the round; others of the staff look.
    organiser: bool,
    checks: Vec<Check>,
    may_open: bool,
    deadline_over: bool,
    participants: usize,
    sent: usize,
    evaluations: usize,
    progress: Vec<ProgressLine>,
    events: Vec<Event>,
    /// How many messages could not be sent.
    failed: i64,
    /// Whether the items have codes.
    labelled: bool,
    /// Whether laboratories that have not sent can be reminded by mail.
    remindable: bool,
    /// How many questions and requests wait for the organiser.
    questions: i64,
    requests: i64,
    /// The correction that is open.
    correcting: Option<Correcting>,
}

struct ProgressLine {
    code: String,
    state: String,
    /// Address of the newest receipt; may be empty.
    receipt: String,
    at: String,
    late: bool,
}

fn progress_line(words: Words, progress: &Progress, zone: &str) -> ProgressLine {
    let shown = |at: Option<Timestamp>| at.map(|at| show::instant(at, zone)).unwrap_or_default();
    let (state, at) = match (progress.version, progress.drafted_at()) {
        (0, None) => (words.t("progress-nothing"), String::new()),
        (0, at) => (words.t("progress-draft"), shown(at)),
        (version, _) => {
            (words.with("progress-sent", &[("version", &version.to_string())]), shown(progress.submitted_at()))
        }
    };
    let receipt = progress.submission().map(|id| format!("/receipts/{id}")).unwrap_or_default();
    ProgressLine { code: progress.code.clone(), state, receipt, at, late: progress.late }
}

fn checks(words: Words, round: &Round, missing: &[Missing], measurands: usize, participants: usize) -> Vec<Check> {
    let base = format!("/rounds/{}", round.code);
    let find = |wanted: fn(&Missing) -> bool| missing.iter().find(|m| wanted(m));
    let list = |names: &[String]| {
        let shown = names.iter().take(6).cloned().collect::<Vec<_>>().join(", ");
        if names.len() > 6 { format!("{shown}, …") } else { shown }
    };
    let items = match find(|m| matches!(m, Missing::Items | Missing::Measurands(_))) {
        Some(Missing::Measurands(labels)) => Some(words.with("check-items-empty", &[("items", &list(labels))])),
        Some(_) => Some(words.t("check-items-missing")),
        None => None,
    };
    let plans = match find(|m| matches!(m, Missing::Plans(_))) {
        Some(Missing::Plans(open)) => {
            Some(words.with("check-assigned-missing", &[("count", &open.len().to_string()), ("list", &list(open))]))
        }
        _ if measurands == 0 => Some(words.t("check-assigned-none")),
        _ => None,
    };
    let laboratories = find(|m| matches!(m, Missing::Laboratories)).map(|_| words.t("check-laboratories-missing"));
    let deadline = find(|m| matches!(m, Missing::Deadline)).map(|_| words.t("check-deadline-past"));
    let signatures = missing.iter().find_map(|missing| match missing {
        Missing::Signatures(standing) => Some(words.t(match standing {
            Standing::Unfrozen => "check-plan-unfrozen",
            Standing::Outdated => "check-plan-outdated",
            Standing::Unsigned | Standing::Signed => "check-plan-unsigned",
        })),
        _ => None,
    });
    let check = |problem: Option<String>, done: String, href: String, link: &str| Check {
        done: problem.is_none(),
        text: problem.unwrap_or(done),
        href,
        link: words.t(link),
    };
    let asks = words.t(if round.asks == Asks::default() { "check-asks-none" } else { "check-asks-done" });
    let measurand_count = words.with("check-items-done", &[("count", &measurands.to_string())]);
    let laboratory_count = words.with("check-laboratories-done", &[("count", &participants.to_string())]);
    vec![
        check(items, measurand_count, format!("{base}/measurands"), "check-items-link"),
        check(plans, words.t("check-assigned-done"), format!("{base}/assigned-values"), "check-assigned-link"),
        check(None, asks, format!("{base}/asks"), "check-asks-link"),
        check(laboratories, laboratory_count, format!("{base}/laboratories"), "check-laboratories-link"),
        check(deadline, words.t("check-deadline-done"), format!("{base}/edit"), "check-deadline-link"),
        check(signatures, words.t("check-plan-done"), format!("{base}/plan"), "check-plan-link"),
    ]
}

/// `GET /rounds/{code}`: the organiser's overview, or the laboratory's page.
///
/// # Errors
///
/// [`Error::NotFound`] for a round that does not exist for this person.
pub async fn overview(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (round, participant) = seen_round(&mut tx, &person.actor, &code).await?;
    if let Some(participant) = participant {
        return super::task_list::laboratory_page(&app, &mut tx, &person, round, participant).await;
    }
    let now = app.clock.now();
    let missing = actions::rounds::missing(&mut tx, &round, now).await?;
    let measurands = measurands::of_round(&mut tx, round.id).await?.len();
    let progress = participants::progress(&mut tx, round.id).await?;
    let evaluations = evaluations::of_round(&mut tx, round.id).await?.len();
    let record = audit::of(&mut tx, &round.id.to_string()).await?;
    let events = record
        .iter()
        .rev()
        .take(30)
        .map(|line| Event {
            at: show::instant(line.at(), &round.time_zone),
            actor: line.actor.clone().filter(|_| !NAMELESS.contains(&line.event.as_str())).unwrap_or_default(),
            what: app.words.with(&format!("event-{}", line.event), &[("detail", &line.detail)]),
        })
        .collect();
    let sent = progress.iter().filter(|line| line.version > 0).count();
    let takes = matches!(round.intake(now), Intake::InTime | Intake::Late);
    ok(&OverviewPage {
        labelled: round.asks.arrival == Arrival::Codes && !round.is_draft(),
        failed: outbox::given_up(&mut tx, round.id).await?,
        correcting: Correcting::read(&Frame::of(&app, &person), &mut tx, &round).await?,
        questions: questions::open(&mut tx, round.id).await?,
        requests: rulings::open(&mut tx, round.id).await?,
        remindable: app.post().is_set_up() && takes && sent < progress.len(),
        state: state_word(app.words, &round, now),
        deadline: show::instant(round.closes_at, &round.time_zone),
        instant: round.closes_at.to_string(),
        checks: checks(app.words, &round, &missing, measurands, progress.len()),
        may_open: missing.is_empty(),
        deadline_over: now > round.closes_at,
        participants: progress.len(),
        sent,
        evaluations,
        progress: progress.iter().map(|line| progress_line(app.words, line, &round.time_zone)).collect(),
        events,
        organiser: person.actor.may_organise().is_ok(),
        f: Frame::of(&app, &person),
        round,
    })
}

#[derive(Template)]
#[template(path = "rounds/confirm.html")]
struct ConfirmPage {
    f: Frame,
    round: Round,
    heading: String,
    sentences: Vec<String>,
    action: String,
    button: String,
}

/// `GET /rounds/{code}/open`: says what opening does.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser.
pub async fn ask_open(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &person.actor, &code).await?;
    if !actions::rounds::missing(&mut tx, &round, app.clock.now()).await?.is_empty() {
        // The round's page lists what is missing.
        return Ok(go(&format!("/rounds/{code}"), ""));
    }
    let count = participants::of_round(&mut tx, round.id).await?.len().to_string();
    let f = Frame::of(&app, &person);
    let deadline = show::instant(round.closes_at, &round.time_zone);
    let sentences = vec![f.t2("open-consequence", "count", &count, "deadline", deadline), f.t("open-frozen")];
    ok(&ConfirmPage {
        heading: f.t1("open-heading", "code", &round.code),
        action: format!("/rounds/{code}/open"),
        button: f.t("open-button"),
        sentences,
        f,
        round,
    })
}

/// `POST /rounds/{code}/open`.
///
/// # Errors
///
/// A conflict while something is missing.
pub async fn open(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &posted.person.actor, &code).await?;
    actions::rounds::open(&mut tx, &posted.person.actor, &round, app.clock.now()).await?;
    tx.commit().await?;
    Ok(go(&format!("/rounds/{code}"), "round-opened"))
}

/// `GET /rounds/{code}/close`: says what closing does.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser.
pub async fn ask_close(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = organised_round(&mut tx, &person.actor, &code).await?;
    if app.clock.now() <= round.closes_at {
        return Err(Error::conflict("conflict-before-deadline"));
    }
    let progress = participants::progress(&mut tx, round.id).await?;
    let sent = progress.iter().filter(|line| line.version > 0).count();
    let f = Frame::of(&app, &person);
    let sentences = vec![f.t2("close-consequence", "sent", sent, "of", progress.len()), f.t("close-late")];
    ok(&ConfirmPage {
        heading: f.t1("close-heading", "code", &round.code),
        action: format!("/rounds/{code}/close"),
        button: f.t("close-button"),
        sentences,
        f,
        round,
    })
}

/// `POST /rounds/{code}/close`.
///
/// # Errors
///
/// A conflict before the deadline, or when the round is not open.
pub async fn close(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &posted.person.actor, &code).await?;
    actions::rounds::close(&mut tx, &posted.person.actor, &round, app.clock.now()).await?;
    tx.commit().await?;
    Ok(go(&format!("/rounds/{code}"), "round-closed"))
}
