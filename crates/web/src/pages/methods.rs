//! Groups of methods: tables for the staff, and for laboratories after publication.
//! Both see the same; nothing here tells of fewer laboratories than the limit.

use super::evaluation::{align_column, shown};
use super::files::Kind;
use super::{Frame, evaluating_round, go, ok, seen_round, unprocessable};
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::extract::{Path, Person, Posted, Query};
use crate::sheets;
use crate::show::Errors;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_documents::number;
use roundel_domain::access::Actor;
use roundel_domain::methods::{Answers, Compared, Difference, Factor, Group, Line, Methods, Name, Shown, Why};
use roundel_domain::round::Round;
use roundel_store::Tx;
use serde::Deserialize;
use std::sync::Arc;

/// Below this probability a difference is called one.
const SURE: f64 = 0.05;

/// Which table a page shows.
#[derive(Clone, Debug, Default, Deserialize)]
pub struct Chosen {
    #[serde(default)]
    factor: String,
    #[serde(default)]
    item: String,
}

impl Chosen {
    fn factor(&self) -> Factor {
        Factor::of(&self.factor).unwrap_or(Factor::Method)
    }
}

/// What the tables of a round are made of.
struct Basis {
    round: Round,
    /// None before an evaluation.
    evaluated: Option<Arc<Evaluated>>,
    answers: Answers,
    smallest: usize,
}

impl Basis {
    async fn read(app: &App, tx: &mut Tx, actor: &Actor, code: &str) -> Result<Basis, Error> {
        let (round, participant) = seen_round(tx, actor, code).await?;
        actor.may_see_scores(&round, participant.is_some())?;
        if round.state.closed_at().is_none() {
            return Err(Error::conflict("conflict-not-closed"));
        }
        Ok(Basis {
            evaluated: shown(app, tx, &round, actor).await?.map(|(evaluated, _)| evaluated),
            answers: actions::methods::answers(tx, &round).await?,
            smallest: actions::methods::smallest(tx, &round).await?,
            round,
        })
    }
}

/// The word of an answer to a question.
fn answer_word(f: &Frame, question: &str, answer: &str) -> String {
    match answer {
        "" => f.t("methods-not-stated"),
        answer => f.t(&format!("method-{question}-{}", answer.replace('_', "-"))),
    }
}

/// The name of a group in full.
pub(crate) fn group_words(f: &Frame, factor: Factor, name: &Name) -> String {
    match name {
        Name::NotStated => f.t("methods-not-stated"),
        Name::Other => f.t("methods-other"),
        Name::Answers(answers) => {
            let words =
                factor.questions().iter().zip(answers).map(|(question, answer)| answer_word(f, question, answer));
            words.collect::<Vec<_>>().join("; ")
        }
    }
}

/// What a factor is called.
pub(crate) fn factor_words(f: &Frame, factor: Factor) -> String {
    match factor {
        Factor::Method => f.t("methods-factor-method"),
        factor => f.t(&format!("method-{}", factor.word())),
    }
}

/// Why a group is not compared; empty where its absence explains itself.
pub(crate) fn why_words(f: &Frame, why: Why) -> String {
    match why {
        Why::NoGroup => String::new(),
        Why::OtherLine => f.t("methods-why-other-line"),
        Why::FewValues => f.t("methods-why-few"),
        Why::Censored => f.t("methods-why-censored"),
        Why::NoSigma => f.t("methods-why-sigma"),
    }
}

/// A probability as printed.
fn probability(p: f64) -> String {
    if p < 0.001 { "<0.001".to_owned() } else { number::decimal(p, 3) }
}

struct Legend {
    /// Number of the group, where names are long; else empty.
    short: String,
    name: String,
    laboratories: usize,
}

struct GroupRow {
    name: String,
    laboratories: usize,
    censored: usize,
    false_negatives: usize,
    median: String,
    spread: String,
    difference: String,
    interval: String,
    p: String,
    /// A difference beyond chance.
    differs: bool,
    /// Why there is no difference to show.
    why: String,
}

struct Block {
    analyte: String,
    unit: String,
    rows: Vec<GroupRow>,
    /// Why there are no rows.
    none: String,
}

struct Tab {
    label: String,
    href: String,
    here: bool,
}

#[derive(Template)]
#[template(path = "evaluation/methods.html")]
struct MethodsPage {
    f: Frame,
    round: Round,
    /// Whether there is an evaluation to look at.
    evaluated: bool,
    /// Whether anybody answered a question that makes groups.
    answered: bool,
    factors: Vec<Tab>,
    items: Vec<Tab>,
    factor: String,
    file: String,
    legend: Vec<Legend>,
    together: Vec<String>,
    unit: String,
    blocks: Vec<Block>,
    comparisons: usize,
    differing: usize,
    smallest: usize,
    may_set: bool,
    typed: String,
    errors: Errors,
}

/// Short names of groups: numbers where the full ones are long.
struct Names<'a> {
    f: &'a Frame,
    factor: Factor,
    numbered: Vec<Name>,
}

impl<'a> Names<'a> {
    fn of(f: &'a Frame, factor: Factor, legend: &[(Name, usize)]) -> Names<'a> {
        let named = |(name, _): &(Name, usize)| matches!(name, Name::Answers(_)).then(|| name.clone());
        let numbered = if factor == Factor::Method { legend.iter().filter_map(named).collect() } else { Vec::new() };
        Names { f, factor, numbered }
    }

    fn short(&self, name: &Name) -> String {
        match self.numbered.iter().position(|known| known == name) {
            Some(place) => self.f.t1("methods-group-number", "number", place + 1),
            None => group_words(self.f, self.factor, name),
        }
    }
}

fn group_row(names: &Names<'_>, group: &Group) -> GroupRow {
    let f = names.f;
    let figure = |value: Option<f64>, digits| value.map(|x| number::significant(x, digits)).unwrap_or_default();
    let mut row = GroupRow {
        name: names.short(&group.name),
        laboratories: group.laboratories,
        censored: group.censored,
        false_negatives: group.false_negatives,
        median: figure(group.median, 3),
        spread: figure(group.robust_sd, 2),
        difference: String::new(),
        interval: String::new(),
        p: String::new(),
        differs: false,
        why: String::new(),
    };
    match &group.compared {
        Compared::Not(why) => row.why = why_words(f, *why),
        Compared::Found(found) => {
            let Difference { in_sigma, low, high, adjusted, .. } = found;
            row.difference = number::signed(*in_sigma, 2);
            row.interval = f.t2("methods-interval", "low", number::signed(*low, 2), "high", number::signed(*high, 2));
            row.p = probability(*adjusted);
            row.differs = *adjusted < SURE;
        }
    }
    row
}

fn block(names: &Names<'_>, line: &Line, smallest: usize) -> Block {
    let f = names.f;
    let (rows, none) = match &line.shown {
        Shown::Groups(groups) => (groups.iter().map(|group| group_row(names, group)).collect(), String::new()),
        Shown::FewResults => (Vec::new(), f.t1("methods-few-results", "smallest", smallest)),
        Shown::SmallGroups => (Vec::new(), f.t1("methods-small-groups", "smallest", smallest)),
    };
    let mut rows: Vec<GroupRow> = rows;
    align_column(&mut rows, |row| &mut row.median);
    align_column(&mut rows, |row| &mut row.spread);
    Block { analyte: line.analyte.clone(), unit: line.unit.clone(), rows, none }
}

fn together_words(f: &Frame, methods: &Methods<'_>, factor: Factor) -> Vec<String> {
    let concerns = |named: Factor| factor == Factor::Method || named == factor;
    let said = |(factor, answer): &(Factor, String)| {
        let word = answer_word(f, factor.word(), answer);
        f.t2("methods-answer", "question", factor_words(f, *factor), "answer", word)
    };
    let pairs = methods.together().into_iter().filter(|pair| concerns(pair.one.0) || concerns(pair.other.0));
    pairs
        .map(|pair| {
            let key = if pair.wholly { "methods-together-wholly" } else { "methods-together-mostly" };
            f.t2(key, "one", said(&pair.one), "other", said(&pair.other))
        })
        .collect()
}

fn methods_page(app: &App, person: &Person, basis: Basis, chosen: &Chosen) -> MethodsPage {
    let f = Frame::of(app, person);
    let factor = chosen.factor();
    let base = format!("/rounds/{}/methods", basis.round.code);
    let mut page = MethodsPage {
        evaluated: basis.evaluated.is_some(),
        answered: basis.answers.values().any(|answers| !answers.is_empty()),
        factors: Vec::new(),
        items: Vec::new(),
        factor: factor_words(&f, factor),
        file: format!("{base}.csv?factor={}", factor.word()),
        legend: Vec::new(),
        together: Vec::new(),
        unit: String::new(),
        blocks: Vec::new(),
        comparisons: 0,
        differing: 0,
        smallest: basis.smallest,
        may_set: person.actor.may_evaluate().is_ok() && !basis.round.is_published(),
        typed: basis.smallest.to_string(),
        errors: Errors::default(),
        round: basis.round,
        f,
    };
    let Some(evaluated) = basis.evaluated else { return page };
    let methods = Methods::new(&evaluated.package, &evaluated.evaluation, &basis.answers, basis.smallest);
    let f = &page.f;
    let items = methods.items();
    let item = items.iter().find(|item| **item == chosen.item).or(items.first()).copied().unwrap_or_default();
    let tab = |label: String, factor: Factor, item: &str, here| {
        let query =
            [("factor", factor.word()), ("item", item)].map(|(name, value)| format!("{name}={}", escaped(value)));
        Tab { label, href: format!("{base}?{}", query.join("&")), here }
    };
    page.factors = Factor::SHOWN.into_iter().map(|one| tab(factor_words(f, one), one, item, one == factor)).collect();
    page.items = items.iter().map(|one| tab((*one).to_owned(), factor, one, *one == item)).collect();
    let laboratories = methods.laboratories(factor);
    let names = Names::of(f, factor, &laboratories);
    page.legend = laboratories
        .iter()
        .map(|(name, count)| Legend {
            short: if names.numbered.contains(name) { names.short(name) } else { String::new() },
            name: group_words(f, factor, name),
            laboratories: *count,
        })
        .collect();
    page.together = together_words(f, &methods, factor);
    let lines = methods.table(factor, item);
    page.blocks = lines.iter().map(|line| block(&names, line, basis.smallest)).collect();
    let unit = page.blocks.first().map(|block| block.unit.clone()).unwrap_or_default();
    page.unit = if page.blocks.iter().all(|block| block.unit == unit) { unit } else { String::new() };
    let rows = || page.blocks.iter().flat_map(|block| &block.rows);
    page.comparisons = rows().filter(|row| !row.p.is_empty()).count();
    page.differing = rows().filter(|row| row.differs).count();
    page
}

/// A value of an address; labels of items are short and plain, mostly.
fn escaped(value: &str) -> String {
    let byte = |b: u8| {
        if b.is_ascii_alphanumeric() || b"-_.".contains(&b) { (b as char).to_string() } else { format!("%{b:02X}") }
    };
    value.bytes().map(byte).collect()
}

/// `GET /rounds/{code}/methods`: one question at a time, one item at a time.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory before publication; a conflict before the
/// round is closed.
pub async fn overview(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    Query(chosen): Query<Chosen>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let basis = Basis::read(&app, &mut tx, &person.actor, &code).await?;
    drop(tx);
    ok(&methods_page(&app, &person, basis, &chosen))
}

/// `POST /rounds/{code}/methods`: sets how small a shown group may be.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory; a conflict unless the round is closed and
/// unpublished.
pub async fn set_smallest(State(app): State<App>, Path(code): Path<String>, posted: Posted) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let actor = &posted.person.actor;
    let round = evaluating_round(&mut tx, actor, &code).await?;
    let typed = posted.fields.get("smallest");
    match actions::methods::set_smallest(&mut tx, actor, &round, typed, app.clock.now()).await {
        Ok(()) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/methods"), "smallest-set"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let basis = Basis::read(&app, &mut tx, actor, &code).await?;
            let mut page = methods_page(&app, &posted.person, basis, &Chosen::default());
            page.typed = typed.to_owned();
            page.errors = Errors::of(app.words, &errors);
            unprocessable(&page)
        }
    }
}

/// `GET /rounds/{code}/methods.csv` and `.xlsx`: the tables of one question in all
/// items.
///
/// # Errors
///
/// As [`overview`]; a conflict before an evaluation.
pub async fn file(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    Query(chosen): Query<Chosen>,
    kind: Kind,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let basis = Basis::read(&app, &mut tx, &person.actor, &code).await?;
    drop(tx);
    let evaluated = basis.evaluated.ok_or_else(|| Error::conflict("conflict-no-evaluation"))?;
    let factor = chosen.factor();
    let methods = Methods::new(&evaluated.package, &evaluated.evaluation, &basis.answers, basis.smallest);
    let f = Frame::of(&app, &person);
    let table = sheets::methods(&f, &basis.round, factor, &methods);
    kind.send(&format!("{}-methods-{}", basis.round.code, factor.word()), table).await
}
