//! From what is known of a round to its report, and to what is missing of it.

mod measurands;
mod precision;

use crate::actions::{items, methods, plans};
use crate::error::Error;
use crate::evaluated::Evaluated;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use roundel_documents::report::{
    self, Amendment, Authorised, Evidence, Group, Groups, GroupsOf, Homogeneity, Item as PrintedItem, PlanOf, Provider,
    Report, Rule, Sheet, Stability, Status as PrintedStatus, Text,
};
use roundel_domain::amendment::Change;
use roundel_domain::approval::Verdict;
use roundel_domain::assemble::measurand_id;
use roundel_domain::checklist::Heading as Planned;
use roundel_domain::evaluation::Criterion;
use roundel_domain::frozen::{Document, Meaning};
use roundel_domain::judgement::{Kind as Judged, Topic};
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::methods::{Answers, Compared, Factor, Methods, Name, Shown};
use roundel_domain::report::{self as contents, Facts, Heading, Line, Said, Status, method_sheets};
use roundel_domain::round::Round;
use roundel_domain::rules;
use roundel_store::participants::Participant;
use roundel_store::publications::{self, Publication};
use roundel_store::results::Sent;
use roundel_store::{
    Tx, installation, measurand_decisions, measurands as store_measurands, participants, reports, results, rounds,
    trials, unit_events, verdicts,
};
use std::collections::HashMap;

/// The texts of the plan that a report prints.
const PLANNED: [Planned; 9] = [
    Planned::Provider,
    Planned::External,
    Planned::Publicity,
    Planned::Production,
    Planned::Homogeneity,
    Planned::Traceability,
    Planned::Measurands,
    Planned::Timetable,
    Planned::Statistics,
];

/// A report that could be issued now, and how its contents stand.
#[derive(Clone, Debug)]
pub struct Gathered {
    /// As a preliminary report without version and date.
    pub report: Report,
    /// The contents a to t.
    pub lines: Vec<Line>,
}

/// What a report is made from, as read.
struct Source {
    items: Vec<Item>,
    measurands: Vec<Measurand>,
    participants: Vec<Participant>,
    sent: Vec<Sent>,
    decisions: Vec<results::Decision>,
    judged: Vec<measurand_decisions::MeasurandDecision>,
    publications: Vec<Publication>,
    known: HashMap<roundel_domain::id::MeasurandId, items::Known>,
    answers: Answers,
    smallest: usize,
    trials: i64,
}

impl Source {
    async fn read(tx: &mut Tx, round: &Round) -> Result<Source, Error> {
        Ok(Source {
            items: rounds::items(tx, round.id).await?,
            measurands: store_measurands::of_round(tx, round.id).await?,
            participants: participants::of_round(tx, round.id).await?,
            sent: results::newest_of_round(tx, round.id).await?,
            decisions: results::decisions(tx, round.id).await?,
            judged: measurand_decisions::of_round(tx, round.id).await?,
            publications: publications::of_round(tx, round.id).await?,
            known: items::known(tx, round.id).await?,
            answers: methods::answers(tx, round).await?,
            smallest: methods::smallest(tx, round).await?,
            trials: trials::count(tx, round.id).await?,
        })
    }

    fn label(&self, measurand: &Measurand) -> &str {
        self.items.iter().find(|item| item.id == measurand.item).map_or("", |item| item.label.as_str())
    }

    fn id(&self, measurand: &Measurand) -> String {
        measurand_id(self.label(measurand), &measurand.analyte)
    }
}

/// Gathers the report of a round that was evaluated. `stale` where decisions were made
/// that the evaluation does not hold.
///
/// # Errors
///
/// What the database says.
pub async fn gather(tx: &mut Tx, round: &Round, evaluated: &Evaluated, stale: bool) -> Result<Gathered, Error> {
    let source = Source::read(tx, round).await?;
    let installation = installation::get(tx).await?.ok_or(Error::NotFound)?;
    let state = plans::State::load(tx, round).await?;
    let plan = state.in_force();
    let document = plan.map(|plan| plan.read()).transpose()?;
    let said = said(tx, round).await?;
    let approved_by = approvers(tx, round).await?;
    let units = unit_events::totals(tx, round.id).await?;
    let amendments = amendments(&state)?;
    let lines = contents::gate(&facts(&source, round, evaluated, stale, document.as_ref(), &installation, &said));
    let contact: Vec<String> =
        installation.contact.lines().map(|line| line.trim().to_owned()).filter(|line| !line.is_empty()).collect();
    let publication = source.publications.last();
    let groups = groups(&source, round, evaluated);
    let report = Report {
        format: report::FORMAT.to_owned(),
        demonstration: installation.demonstration,
        scheme: round.scheme.clone(),
        round: round.code.clone(),
        round_title: round.title.clone(),
        number: format!("{}-R", round.code),
        version: 0,
        status: PrintedStatus::Preliminary,
        publication: publication.map(|one| one.number),
        replaces: None,
        issued: String::new(),
        issued_on: [1970, 1, 1],
        provider: Provider {
            name: installation.provider.clone(),
            contact: contact.clone(),
            accreditation: installation.accreditation.trim().to_owned(),
        },
        authorised: publication.map(|one| Authorised {
            name: one.by.clone(),
            at: instant(one.at()),
            meaning: one.meaning.clone(),
            approved_by,
        }),
        plan: plan.map(|plan| PlanOf { version: plan.version, sha256: plan.sha256.clone() }),
        texts: texts(document.as_ref(), &said),
        items: source
            .items
            .iter()
            .map(|item| PrintedItem {
                label: item.label.clone(),
                matrix: item.matrix.clone(),
                units: units.iter().find(|total| total.item == item.label).and_then(|total| total.made.try_into().ok()),
            })
            .collect(),
        homogeneity: homogeneity(&source, evaluated),
        stability: stability(&source, evaluated),
        measurands: measurands::all(&source, evaluated)?,
        groups,
        participants: source.participants.len(),
        reported: source.sent.len(),
        dates: dates(round, &source.publications),
        decisions: measurands::decisions(&source)?,
        amendments,
        replaced_units: units
            .iter()
            .filter(|total| total.replaced > 0)
            .filter_map(|total| Some((total.item.clone(), total.replaced.try_into().ok()?)))
            .collect(),
        trials: source.trials,
        rules: changed_rules(document.as_ref()),
        sheets: contents::sheets_of(&evaluated.package, &evaluated.evaluation, round.asks.method)
            .into_iter()
            .filter_map(method_sheets::sheet)
            .map(printed_sheet)
            .collect(),
        evidence: Evidence {
            package_sha256: evaluated.shared().package_sha256.clone(),
            evaluation_sha256: evaluated.shared().evaluation_sha256.clone(),
            engine: evaluated.evaluation.engine.clone(),
        },
        precision: precision::precision(round, evaluated),
        complaints: std::iter::once(installation.provider).chain(contact).collect::<Vec<_>>().join(", "),
    };
    Ok(Gathered { report, lines })
}

/// The report with what identifies it.
pub fn identified(mut report: Report, status: Status, version: i64, at: Timestamp) -> Report {
    let date = at.to_zoned(TimeZone::UTC).date();
    report.version = version;
    report.status = match status {
        Status::Preliminary => PrintedStatus::Preliminary,
        Status::Interim => PrintedStatus::Interim,
        Status::Final => PrintedStatus::Final,
        Status::Corrected => PrintedStatus::Corrected,
    };
    report.issued = instant(at);
    report.issued_on = [i32::from(date.year()), i32::from(date.month()), i32::from(date.day())];
    report
}

/// An instant as a report prints it, in either language: `2024-04-19 12:00 UTC`.
pub fn instant(at: Timestamp) -> String {
    at.to_zoned(TimeZone::UTC).strftime("%Y-%m-%d %H:%M UTC").to_string()
}

/// A day as a report prints it.
fn day(at: Timestamp) -> String {
    at.to_zoned(TimeZone::UTC).strftime("%Y-%m-%d").to_string()
}

/// A method sheet as it is printed.
pub fn printed_sheet(sheet: method_sheets::Sheet) -> Sheet {
    Sheet {
        title: sheet.title.to_owned(),
        what: sheet.what,
        formula: sheet.formula,
        source: sheet.source,
        defaults: sheet.defaults,
        fails: sheet.fails,
    }
}

async fn said(tx: &mut Tx, round: &Round) -> Result<HashMap<Heading, Said>, Error> {
    let mut said = HashMap::new();
    for text in reports::texts(tx, round.id).await? {
        said.insert(text.heading()?, text.said());
    }
    Ok(said)
}

/// The names of those who approved, in the order of their first approval.
async fn approvers(tx: &mut Tx, round: &Round) -> Result<Vec<String>, Error> {
    let mut names = Vec::new();
    for review in verdicts::of_round(tx, round.id).await? {
        if review.verdict()? == Verdict::Approved && !names.contains(&review.by) {
            names.push(review.by.clone());
        }
    }
    Ok(names)
}

fn facts<'a>(
    source: &Source,
    round: &Round,
    evaluated: &Evaluated,
    stale: bool,
    plan: Option<&'a Document>,
    installation: &'a installation::Installation,
    said: &HashMap<Heading, Said>,
) -> Facts<'a> {
    let unstudied = |m: &&Measurand| {
        let id = source.id(m);
        let outcome = evaluated.measurand(&id).filter(|(plan, _)| plan.is_present()).map(|(_, outcome)| outcome);
        outcome.is_some_and(|outcome| outcome.homogeneity.is_none() || outcome.stability.is_none())
    };
    let without_sigma = |m: &&Measurand| {
        let Some((plan, outcome)) = evaluated.measurand(&source.id(m)) else { return false };
        let explained = outcome.assigned_value.is_none() || plan.decision.is_some();
        plan.asks_for_class() && outcome.sigma_pt.is_none() && !explained
    };
    Facts {
        provider: &installation.provider,
        contact: &installation.contact,
        plan: plan.map(|document| &document.plan.checklist),
        undescribed: source.items.iter().filter(|i| i.matrix.trim().is_empty()).map(|i| i.label.clone()).collect(),
        unstudied: source.measurands.iter().filter(unstudied).map(|m| source.id(m)).collect(),
        results: source.sent.len(),
        evaluated: !stale,
        authorised: round.is_published() && !source.publications.is_empty(),
        without_sigma: source.measurands.iter().filter(without_sigma).map(|m| source.id(m)).collect(),
        asks_method: round.asks.method,
        said: said.clone(),
    }
}

fn texts(plan: Option<&Document>, said: &HashMap<Heading, Said>) -> Vec<Text> {
    let planned = PLANNED.into_iter().filter_map(|heading| {
        let text = plan?.plan.checklist.text(heading).to_owned();
        let key = format!("plan-{}", heading.word());
        (!text.trim().is_empty()).then_some(Text { key, text, not_applicable: String::new() })
    });
    let written = Heading::ALL.into_iter().filter_map(|heading| {
        let said = said.get(&heading)?;
        let key = format!("said-{}", heading.word());
        Some(Text { key, text: said.text.clone(), not_applicable: said.not_applicable.clone() })
    });
    planned.chain(written).collect()
}

fn criterion(criterion: Option<Criterion>) -> String {
    match criterion {
        Some(Criterion::Simple) => "simple",
        Some(Criterion::Expanded) => "expanded",
        Some(Criterion::None) => "none",
        None => "",
    }
    .to_owned()
}

/// What was decided on a study, with its reason; empty where nothing but to go on as
/// planned.
fn decided(source: &Source, measurand: &Measurand, topic: Topic) -> String {
    let kept = source.known.get(&measurand.id).and_then(|known| known.decided(topic));
    let kept = kept.filter(|kept| kept.content.kind != Judged::AsPlanned || !kept.content.reason.is_empty());
    kept.map(|kept| kept.content.reason.clone()).unwrap_or_default()
}

fn homogeneity(source: &Source, evaluated: &Evaluated) -> Vec<Homogeneity> {
    let row = |m: &Measurand| {
        let id = source.id(m);
        let check = evaluated.measurand(&id)?.1.homogeneity.as_ref()?;
        Some(Homogeneity {
            measurand: id,
            unit: m.unit.clone(),
            units: check.units,
            mean: check.mean,
            between_sd: check.between_sd,
            within_sd: check.within_sd,
            limit: check.limit,
            expanded_limit: check.expanded_limit,
            criterion: criterion(check.criterion),
            decided: decided(source, m, Topic::Homogeneity),
        })
    };
    source.measurands.iter().filter_map(row).collect()
}

fn stability(source: &Source, evaluated: &Evaluated) -> Vec<Stability> {
    let row = |m: &Measurand| {
        let id = source.id(m);
        let check = evaluated.measurand(&id)?.1.stability.as_ref()?;
        Some(Stability {
            measurand: id,
            unit: m.unit.clone(),
            difference: check.difference,
            limit: check.limit,
            expanded_limit: check.expanded_limit,
            criterion: criterion(check.criterion),
            decided: decided(source, m, Topic::Stability),
        })
    };
    source.measurands.iter().filter_map(row).collect()
}

fn groups(source: &Source, round: &Round, evaluated: &Evaluated) -> Option<Groups> {
    if !round.asks.method {
        return None;
    }
    let methods = Methods::new(&evaluated.package, &evaluated.evaluation, &source.answers, source.smallest);
    let mut all = Vec::new();
    for item in methods.items() {
        for line in methods.table(Factor::Method, item) {
            let Shown::Groups(groups) = line.shown else { continue };
            let groups = groups.into_iter().map(|group| Group {
                not_stated: group.name == Name::NotStated,
                answers: match group.name {
                    Name::Answers(answers) => Factor::Method
                        .questions()
                        .iter()
                        .zip(answers)
                        .map(|(question, answer)| ((*question).to_owned(), answer))
                        .collect(),
                    Name::NotStated | Name::Other => Vec::new(),
                },
                laboratories: group.laboratories,
                censored: group.censored,
                median: group.median,
                robust_sd: group.robust_sd,
                difference: match group.compared {
                    Compared::Found(found) => Some([found.in_sigma, found.low, found.high, found.adjusted]),
                    Compared::Not(_) => None,
                },
            });
            let (item, unit) = (item.to_owned(), line.unit);
            all.push(GroupsOf { item, analyte: line.analyte, unit, groups: groups.collect() });
        }
    }
    Some(Groups { smallest: source.smallest, measurands: all })
}

fn dates(round: &Round, publications: &[Publication]) -> Vec<(String, String)> {
    let mut dates = Vec::new();
    let mut push = |key: &str, at: Option<Timestamp>| dates.extend(at.map(|at| (key.to_owned(), instant(at))));
    push("opened", round.state.opened_at());
    push("deadline", Some(round.closes_at));
    push("closed", round.state.closed_at());
    for (place, publication) in publications.iter().enumerate() {
        push(if place == 0 { "published" } else { "corrected" }, Some(publication.at()));
    }
    dates
}

/// The amendments in effect, oldest first.
fn amendments(state: &plans::State) -> Result<Vec<Amendment>, Error> {
    let mut amendments = Vec::new();
    for plan in state.versions.iter().rev() {
        let Some(signed) = state.signature(plan, Meaning::Second) else { continue };
        let Some(amendment) = plan.read()?.amendment else { continue };
        let (measurand, deadline) = match amendment.change {
            Change::Deadline { from, to } => (String::new(), Some((instant(from), instant(to)))),
            Change::Statistics { name, .. } => (name, None),
        };
        amendments.push(Amendment {
            version: plan.version,
            on: day(signed.at()),
            measurand,
            deadline,
            reason: amendment.reason,
            results: amendment.results,
        });
    }
    Ok(amendments)
}

/// Rules of the plan that have not their usual values.
fn changed_rules(plan: Option<&Document>) -> Vec<Rule> {
    let Some(plan) = plan else { return Vec::new() };
    let usual = rules::defaults();
    let mut changed = Vec::new();
    for (name, values) in &plan.plan.rules {
        for (value, used) in values {
            let known = usual.get(name).and_then(|own| own.get(value));
            if known != Some(used) {
                changed.push(Rule {
                    name: name.clone(),
                    value: value.clone(),
                    usual: known.cloned().unwrap_or_else(|| "–".to_owned()),
                    used: used.clone(),
                });
            }
        }
    }
    changed
}
