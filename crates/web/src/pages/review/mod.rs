//! Looking through a closed round: the worklist, and the pages on which a person
//! looks and decides. Codes only, for the staff.

pub mod clarify;
pub mod decide;
pub mod evidence;
pub mod finding;
pub mod laboratory;
pub mod measurand;

use super::{Frame, ok, reviewed_round};
use crate::actions::evaluation::is_in_review;
use crate::error::Error;
use crate::extract::{Fields, Path, Person};
use crate::reviewed::{self, Reviewed};
use crate::show;
use crate::state::App;
use askama::Template;
use axum::extract::{RawQuery, State};
use axum::response::Response;
use roundel_documents::number;
use roundel_domain::measurand::Measurand;
use roundel_domain::review::{About, Decided, Finding, Kind, Shown};
use roundel_domain::round::Round;
use roundel_store::{Tx, clarifications, reviews};

/// Smaller probabilities are shown as this bound.
const SMALLEST: f64 = 1e-6;

/// A finding as shown.
#[derive(Clone, Debug)]
pub struct FindingLine {
    /// What it is, in a word or two.
    pub title: String,
    /// What was seen.
    pub sentence: String,
    /// Whether somebody decided on it.
    pub done: bool,
    /// Whether somebody has to.
    pub needed: bool,
    /// Its own page.
    pub href: String,
    /// Where its numbers are looked at.
    pub place: String,
    /// Name of that page.
    pub place_name: String,
}

/// A key for an address.
pub(super) fn encoded(text: &str) -> String {
    form_urlencoded::byte_serialize(text.as_bytes()).collect()
}

fn shown(value: &Shown) -> String {
    match value {
        Shown::Text(text) => text.clone(),
        Shown::Count(count) => count.to_string(),
        Shown::Number(value, digits) => number::significant(*value, *digits),
        Shown::Signed(value, decimals) => number::signed(*value, *decimals),
        Shown::Probability(p) if *p < SMALLEST => format!("<{}", number::plain(SMALLEST)),
        Shown::Probability(p) => number::significant(*p, 1),
        Shown::Percent(share) => number::decimal(100.0 * share, 0),
    }
}

/// The sentence of a finding, in careful words.
pub fn sentence(f: &Frame, finding: &Finding) -> String {
    let values: Vec<(&str, String)> = finding.values.iter().map(|(name, value)| (*name, shown(value))).collect();
    let values: Vec<(&str, &str)> = values.iter().map(|(name, value)| (*name, value.as_str())).collect();
    f.w.with(&format!("finding-{}", finding.kind.word()), &values)
}

/// What a kind of finding is called.
pub fn title(f: &Frame, kind: Kind) -> String {
    f.t(&format!("finding-kind-{}", kind.word()))
}

/// The name of a measurand: "carbamazepine, item B".
pub(super) fn name(f: &Frame, reviewed: &Reviewed, m: &Measurand) -> String {
    let item = reviewed.items.iter().find(|item| item.id == m.item).map_or("", |item| item.label.as_str());
    f.t2("measurand-name", "analyte", &m.analyte, "item", item)
}

/// A finding as shown, with where it leads.
pub(super) fn line(f: &Frame, round: &Round, reviewed: &Reviewed, decided: &Decided, finding: &Finding) -> FindingLine {
    let base = format!("/rounds/{}/review", round.code);
    let measurand = finding.positions.first().and_then(|position| reviewed.measurand(*position));
    let (place, place_name) = match (finding.kind.about(), finding.codes.first(), measurand) {
        (About::Laboratory, Some(code), _) if finding.positions.len() != 1 => {
            (format!("{base}/laboratory/{code}"), f.t1("review-laboratory-name", "code", code))
        }
        (_, _, Some(m)) => (format!("{base}/{}", m.position), name(f, reviewed, m)),
        (_, Some(code), _) => (format!("{base}/laboratory/{code}"), f.t1("review-laboratory-name", "code", code)),
        _ => (base.clone(), f.t("review")),
    };
    FindingLine {
        title: title(f, finding.kind),
        sentence: sentence(f, finding),
        done: finding.is_settled(decided),
        needed: finding.kind.is_to_be_decided(),
        href: format!("{base}/finding?key={}", encoded(&finding.key)),
        place,
        place_name,
    }
}

/// Whether the round may be decided on by this person now.
pub(super) async fn may_decide(tx: &mut Tx, person: &Person, round: &Round) -> Result<bool, Error> {
    Ok(person.actor.may_evaluate().is_ok() && is_in_review(tx, round).await?)
}

struct Group {
    word: &'static str,
    title: String,
    open: usize,
    all: usize,
    lines: Vec<FindingLine>,
}

struct Choice {
    word: &'static str,
    title: String,
    count: String,
    chosen: bool,
}

struct PageLink {
    position: i64,
    name: String,
    /// Whether a finding that is open is about it.
    open: usize,
}

#[derive(Template)]
#[template(path = "review/worklist.html")]
struct WorklistPage {
    f: Frame,
    round: Round,
    raw_sha256: String,
    frozen_at: String,
    sets: usize,
    /// To be decided, the most serious first.
    groups: Vec<Group>,
    open: usize,
    done: usize,
    /// For information.
    information: Vec<Group>,
    choices: Vec<Choice>,
    filter: String,
    /// Only what is open.
    only_open: bool,
    unseen: Vec<PageLink>,
    unseen_by_me: Vec<PageLink>,
    first_unseen: Option<i64>,
    waiting: usize,
    /// Whether anything is to be decided now.
    in_review: bool,
}

fn groups(
    f: &Frame,
    round: &Round,
    reviewed: &Reviewed,
    decided: &Decided,
    wanted: impl Fn(Kind) -> bool,
    only_open: bool,
) -> Vec<Group> {
    let mut groups = Vec::new();
    for kind in Kind::ALL.into_iter().filter(|kind| wanted(*kind)) {
        let findings = reviewed.findings.iter().filter(|finding| finding.kind == kind);
        let lines: Vec<FindingLine> = findings.map(|finding| line(f, round, reviewed, decided, finding)).collect();
        let (all, open) = (lines.len(), lines.iter().filter(|line| !line.done).count());
        let lines: Vec<FindingLine> = lines.into_iter().filter(|line| !only_open || !line.done).collect();
        if !lines.is_empty() {
            groups.push(Group { word: kind.word(), title: title(f, kind), open, all, lines });
        }
    }
    groups
}

fn choices(f: &Frame, reviewed: &Reviewed, chosen: Option<Kind>) -> Vec<Choice> {
    let count = |kind: Kind| reviewed.findings.iter().filter(|finding| finding.kind == kind).count();
    Kind::ALL
        .into_iter()
        .filter(|kind| count(*kind) > 0)
        .map(|kind| Choice {
            word: kind.word(),
            title: title(f, kind),
            count: count(kind).to_string(),
            chosen: chosen == Some(kind),
        })
        .collect()
}

/// The measurands whose pages are not among those that were opened.
async fn unseen(
    tx: &mut Tx,
    f: &Frame,
    round: &Round,
    reviewed: &Reviewed,
    decided: &Decided,
    person: &Person,
) -> Result<(Vec<PageLink>, Vec<PageLink>), Error> {
    let seen = reviews::seen(tx, round.id).await?;
    let me = person.actor.user();
    let link = |m: &Measurand| PageLink {
        position: m.position,
        name: name(f, reviewed, m),
        open: reviewed
            .findings
            .iter()
            .filter(|one| one.kind.is_to_be_decided() && one.positions == [m.position] && !one.is_settled(decided))
            .count(),
    };
    let left = |mine: bool| {
        let opened = |m: &Measurand| seen.iter().any(|(of, by)| *of == m.id && (!mine || *by == me));
        reviewed.measurands.iter().filter(|m| !opened(m)).map(link).collect::<Vec<_>>()
    };
    Ok((left(false), left(true)))
}

/// `GET /rounds/{code}/review`: what needs a person.
///
/// # Errors
///
/// [`Error::NotFound`] for laboratories; a conflict before the round is closed.
pub async fn worklist(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    RawQuery(query): RawQuery,
) -> Result<Response, Error> {
    let query = Fields::read(query.unwrap_or_default().as_bytes());
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    let reviewed = reviewed::load(&app, &mut tx, &round).await?;
    let decided = reviewed::decided(&mut tx, &round, &reviewed).await?;
    let f = Frame::of(&app, &person);
    let chosen = Kind::of(query.get("kind"));
    let only_open = query.get("show") != "all";
    let is_wanted = |kind: Kind| chosen.is_none_or(|chosen| chosen == kind);
    let to_decide = |finding: &&Finding| finding.kind.is_to_be_decided();
    let settled = |finding: &&Finding| finding.is_settled(&decided);
    let all = reviewed.findings.iter().filter(to_decide).count();
    let done = reviewed.findings.iter().filter(to_decide).filter(settled).count();
    let (unseen, unseen_by_me) = unseen(&mut tx, &f, &round, &reviewed, &decided, &person).await?;
    let asked = clarifications::of_round(&mut tx, round.id).await?;
    ok(&WorklistPage {
        in_review: is_in_review(&mut tx, &round).await?,
        groups: groups(&f, &round, &reviewed, &decided, |kind| kind.is_to_be_decided() && is_wanted(kind), only_open),
        information: groups(
            &f,
            &round,
            &reviewed,
            &decided,
            |kind| !kind.is_to_be_decided() && is_wanted(kind),
            only_open,
        ),
        choices: choices(&f, &reviewed, chosen),
        filter: chosen.map_or("", Kind::word).to_owned(),
        first_unseen: unseen_by_me.first().map(|page| page.position),
        open: all - done,
        raw_sha256: reviewed.raw_sha256.clone(),
        frozen_at: show::instant(reviewed.frozen_at, &round.time_zone),
        sets: reviewed.sets.len(),
        waiting: asked.iter().filter(|one| one.answer.is_none()).count(),
        done,
        only_open,
        unseen,
        unseen_by_me,
        round,
        f,
    })
}
