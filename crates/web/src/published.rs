//! The tables of a published round as files: results as reported, scores, the
//! summary of each measurand, the plan, and what was decided, all by code. The staff
//! gets them whole; a laboratory's copy is without measurands that fewer than five
//! reported, without reasons in sentences, and without what was decided since.

use crate::error::Error;
use crate::evaluated::Evaluated;
use crate::extract::Person;
use crate::pages::versions::Edition;
use crate::pages::{Frame, seen_round};
use crate::sheets;
use crate::state::App;
use jiff::Timestamp;
use roundel_documents::sheet::{About, Cell, Column, Sheet};
use roundel_domain::assemble::{FEWEST_SHOWN, measurand_id};
use roundel_domain::evaluation::{Detection, MeasurandEvaluation, ScoreEntry, Signal};
use roundel_domain::judgement::Judgement;
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::number::Decimal;
use roundel_domain::open_data::Decided;
use roundel_domain::package::{self, AssignedValue, GivenValue, SigmaBasis};
use roundel_domain::result::{Entry, Reported};
use roundel_domain::round::Round;
use roundel_store::{Tx, measurand_decisions, measurands, participants, publications, results, rounds};
use serde::Serialize;
use std::collections::HashMap;
use std::sync::Arc;

/// The tables, in the order of the workbook: their words in addresses.
pub const TABLES: [&str; 5] = ["results", "scores", "summary", "plan", "decisions"];

/// A decision as a table shows it.
#[derive(Clone, Debug)]
pub struct Line {
    /// On what, and what it was, in closed words.
    pub decided: Decided,
    /// A number that was decided on.
    number: Option<Decimal>,
    /// Why, in a sentence.
    reason: String,
}

/// What the tables of a round are made from.
#[derive(Debug)]
pub struct Tables {
    /// The round.
    pub round: Round,
    /// Which version of what was published they are of.
    pub edition: Edition,
    /// What was published.
    pub evaluated: Arc<Evaluated>,
    /// Its items.
    pub items: Vec<Item>,
    /// The measurands that the tables have.
    pub measurands: Vec<Measurand>,
    /// What was decided until it was published, oldest first.
    pub decided: Vec<Line>,
    /// What was sent, by code and id of the measurand.
    entries: HashMap<(String, String), Entry>,
    /// Whether nothing is kept back.
    whole: bool,
}

/// When what is published now was published.
///
/// # Errors
///
/// A conflict before publication.
pub async fn published_at(tx: &mut Tx, round: &Round) -> Result<Timestamp, Error> {
    let (first, _) = round.state.published().ok_or_else(|| Error::conflict("conflict-tables-unpublished"))?;
    let newest = publications::of_round(tx, round.id).await?.last().map(publications::Publication::at);
    Ok(newest.unwrap_or(first))
}

/// What was decided in a round until `until`, oldest first.
///
/// # Errors
///
/// What the database says.
pub async fn decided(
    tx: &mut Tx,
    round: &Round,
    items: &[Item],
    measurands: &[Measurand],
    until: Timestamp,
) -> Result<Vec<Line>, Error> {
    let codes: HashMap<_, _> =
        participants::of_round(tx, round.id).await?.into_iter().map(|one| (one.id, one.code)).collect();
    let ids: HashMap<_, _> = measurands.iter().map(|m| (m.id, id_of(items, m))).collect();
    let mut lines = Vec::new();
    for decision in results::decisions(tx, round.id).await? {
        let (Some(code), Some(id)) = (codes.get(&decision.participant), ids.get(&decision.measurand)) else { continue };
        let decided = Decided {
            code: Some(code.clone()),
            measurand: id.clone(),
            topic: "result",
            kind: decision.kind()?.word(),
            cause: decision.cause()?.word(),
            at: decision.at(),
        };
        lines.push(Line { decided, number: None, reason: decision.reason });
    }
    for decision in measurand_decisions::of_round(tx, round.id).await? {
        let Some(id) = ids.get(&decision.measurand) else { continue };
        let Judgement { topic, kind, number, reason } = decision.judgement()?;
        let decided = Decided {
            code: None,
            measurand: id.clone(),
            topic: topic.word(),
            kind: kind.word(),
            cause: "",
            at: decision.at(),
        };
        lines.push(Line { decided, number, reason });
    }
    lines.retain(|line| line.decided.at <= until);
    lines.sort_by_key(|line| line.decided.at);
    Ok(lines)
}

fn id_of(items: &[Item], m: &Measurand) -> String {
    let label = items.iter().find(|item| item.id == m.item).map_or("", |item| item.label.as_str());
    measurand_id(label, &m.analyte)
}

impl Tables {
    /// The tables of a published round, for a person who may see them: of the version
    /// of this number, without one of the one that holds.
    ///
    /// # Errors
    ///
    /// [`Error::NotFound`] for a round that does not exist for this person, for a
    /// version that there is not, and for a laboratory before publication; a conflict
    /// for the staff then.
    pub async fn load(
        app: &App,
        tx: &mut Tx,
        person: &Person,
        code: &str,
        version: Option<i64>,
    ) -> Result<Tables, Error> {
        let (round, participant) = seen_round(tx, &person.actor, code).await?;
        person.actor.may_see_scores(&round, participant.is_some())?;
        if participant.is_none() {
            person.actor.may_review()?;
        }
        Tables::made(app, tx, round, version, participant.is_none()).await
    }

    /// The tables of what is published now, `whole` or as laboratories get them.
    ///
    /// # Errors
    ///
    /// A conflict before publication.
    pub async fn of(app: &App, tx: &mut Tx, round: Round, whole: bool) -> Result<Tables, Error> {
        Tables::made(app, tx, round, None, whole).await
    }

    async fn made(app: &App, tx: &mut Tx, round: Round, version: Option<i64>, whole: bool) -> Result<Tables, Error> {
        round.state.published().ok_or_else(|| Error::conflict("conflict-tables-unpublished"))?;
        let edition = Edition::read(tx, &round, version).await?;
        let until = edition.at(&round).ok_or(Error::NotFound)?;
        let evaluated = app.evaluations.load(tx, edition.evaluation).await?;
        let items = rounds::items(tx, round.id).await?;
        let mut measurands = measurands::of_round(tx, round.id).await?;
        if !whole {
            measurands.retain(|m| evaluated.scores(&id_of(&items, m)).count() >= FEWEST_SHOWN);
        }
        let decided = decided(tx, &round, &items, &measurands, until).await?;
        let mut entries = HashMap::new();
        for sent in results::newest_of_round(tx, round.id).await? {
            let submission = sent.submission()?;
            for entry in submission.results {
                let id = measurand_id(&entry.item, &entry.analyte);
                entries.insert((submission.participant.clone(), id), entry);
            }
        }
        Ok(Tables { round, edition, evaluated, items, measurands, decided, entries, whole })
    }

    /// The table of this word; none for another.
    pub fn table(&self, f: &Frame, word: &str) -> Option<Sheet> {
        Some(match word {
            "results" => self.results(f),
            "scores" => Sheet { name: "scores".to_owned(), ..self.scores(f) },
            "summary" => self.summary(f),
            "plan" => self.plan(f),
            "decisions" => self.decisions(f),
            _ => return None,
        })
    }

    /// The last sheet of the workbook: what each of the others holds.
    pub fn about(&self, f: &Frame) -> About {
        let title = format!("{}: {}", self.round.code, self.round.title);
        let each = TABLES.map(|word| format!("{word}: {}", f.t(&format!("table-{word}"))));
        let copy = f.t(if self.whole { "tables-whole" } else { "tables-shared" });
        let invented =
            f.demonstration.then(|| format!("{}: {}", f.t("demonstration-data"), f.t("demonstration-footer")));
        let superseded = self.edition.mark(f, &self.round, "");
        let superseded = superseded.map(|mark| format!("{} {}", mark.text, mark.reason));
        let first = std::iter::once(title).chain(superseded).chain([copy, f.t("tables-numbers")]);
        let lines = first.chain(each).chain(invented);
        About { name: f.t("file-sheet-about"), lines: lines.collect() }
    }

    /// The measurands with their items, in the order of the round.
    fn rows(&self) -> impl Iterator<Item = (&Item, &Measurand, String)> {
        self.items.iter().flat_map(|item| {
            let own = self.measurands.iter().filter(|m| m.item == item.id);
            own.map(move |m| (item, m, measurand_id(&item.label, &m.analyte)))
        })
    }

    fn sheet(&self, f: &Frame, word: &str, columns: Vec<Column>, rows: Vec<Vec<Cell>>) -> Sheet {
        let title = format!("{}: {}", self.round.code, self.round.title);
        let about = About { name: f.t("file-sheet-about"), lines: vec![title, f.t(&format!("table-{word}"))] };
        Sheet { name: word.to_owned(), columns, rows, about: Some(about) }
    }

    fn results(&self, f: &Frame) -> Sheet {
        let replicates = |entry: &Entry| match &entry.reported {
            Reported::Value { values, .. } => values.len(),
            _ => 1,
        };
        let most = self.entries.values().map(replicates).max().unwrap_or(1);
        let single = if most > 1 { (1..=most).map(|n| format!("value_{n}")).collect() } else { Vec::new() };
        let before = ["code", "item", "analyte", "expressed_as", "unit", "value"].map(str::to_owned).into_iter();
        let behind = ["limit", "expanded_uncertainty", "coverage_factor", "loq", "counts", "scored", "left_out"]
            .map(str::to_owned);
        let names = before.chain(single).chain(behind);
        let mut rows = Vec::new();
        for (item, m, id) in self.rows() {
            for score in self.evaluated.scores(&id) {
                let entry = self.entries.get(&(score.participant.clone(), id.clone()));
                let result = self.evaluated.result(&score.participant, &id);
                let mut row =
                    [&score.participant, &item.label, &m.analyte, &m.expressed_as, &m.unit].map(Cell::text).to_vec();
                row.extend(reported_cells(score, entry, most));
                row.push(Cell::number(result.and_then(|result| result.expanded_uncertainty)));
                row.push(Cell::number(result.and_then(|result| result.coverage_factor)));
                row.push(entry.and_then(|entry| entry.loq.as_ref()).map_or(Cell::Empty, |loq| decimal(&loq.decimal)));
                row.push(yes(result.is_none_or(package::ReportedResult::counts)));
                row.push(yes(result.is_none_or(package::ReportedResult::is_scored)));
                row.push(Cell::text(result.and_then(|result| result.exclude.clone()).unwrap_or_default()));
                rows.push(row);
            }
        }
        self.sheet(f, "results", names.map(Column::filled).collect(), rows)
    }

    fn scores(&self, f: &Frame) -> Sheet {
        sheets::scores(f, &self.round, &self.evaluated, &self.items, &self.measurands, None)
    }

    fn summary(&self, f: &Frame) -> Sheet {
        let names = [
            "item",
            "analyte",
            "unit",
            "participants",
            "quantified",
            "censored",
            "excluded",
            "mean",
            "median",
            "sd",
            "made",
            "niqr",
            "algorithm_a_mean",
            "algorithm_a_sd",
            "x_pt",
            "u_x_pt",
            "U_x_pt",
            "basis",
            "estimator",
            "p",
            "robust_sd",
            "sigma_pt",
            "u_over_sigma_pt",
            "warning_limit",
            "action_limit",
            "e_n_limit",
            "acceptable",
            "questionable",
            "unacceptable",
            "information_only",
            "not_scored",
            "false_negatives",
            "false_positives",
            "notes",
        ];
        let row = |(item, m, id): (&Item, &Measurand, String)| {
            let (planned, outcome) = self.evaluated.measurand(&id)?;
            let scores: Vec<&ScoreEntry> = self.evaluated.scores(&id).collect();
            let mut row = [&item.label, &m.analyte, &m.unit].map(Cell::text).to_vec();
            row.extend(summary_cells(planned, outcome));
            let of = |signal| Cell::Number(scores.iter().filter(|score| score.signal == signal).count() as f64);
            let signals =
                [Signal::None, Signal::Warning, Signal::Action, Signal::InformationOnly, Signal::NotScored].map(of);
            row.extend(signals);
            let found = |seen| Cell::Number(scores.iter().filter(|score| score.detection == seen).count() as f64);
            row.extend([Detection::FalseNegative, Detection::FalsePositive].map(found));
            let notes: Vec<String> = outcome.notes.iter().map(|note| written(note.code)).collect();
            row.push(Cell::text(notes.join(" ")));
            Some(row)
        };
        let rows = self.rows().filter_map(row).collect();
        self.sheet(f, "summary", names.map(Column::filled).into(), rows)
    }

    fn plan(&self, f: &Frame) -> Sheet {
        let names = [
            "item",
            "analyte",
            "unit",
            "expressed_as",
            "replicates",
            "required_loq",
            "basis",
            "value",
            "standard_uncertainty",
            "estimator",
            "fallback_basis",
            "fallback_value",
            "fallback_standard_uncertainty",
            "additional_uncertainty",
            "sigma_pt_basis",
            "sigma_pt_value",
            "sigma_pt_percent",
            "additional_sd",
            "scores",
            "censored",
            "present",
            "absent_below",
            "decimals_x_pt",
            "decimals_u_x_pt",
            "decimals_sigma_pt",
        ];
        let row = |(item, m, id): (&Item, &Measurand, String)| {
            let (planned, _) = self.evaluated.measurand(&id)?;
            let mut row = [&item.label, &m.analyte, &m.unit, &m.expressed_as].map(Cell::text).to_vec();
            row.extend(plan_cells(planned));
            Some(row)
        };
        let rows = self.rows().filter_map(row).collect();
        self.sheet(f, "plan", names.map(Column::filled).into(), rows)
    }

    fn decisions(&self, f: &Frame) -> Sheet {
        let mut names = vec!["code", "item", "analyte", "topic", "decision", "cause", "number", "decided_at"];
        if self.whole {
            names.push("reason");
        }
        let mut rows = Vec::new();
        for line in &self.decided {
            let on = self.rows().find(|(_, _, id)| *id == line.decided.measurand);
            let Some((item, m, _)) = on else { continue };
            let code = line.decided.code.as_deref().unwrap_or_default();
            let texts = [code, &item.label, &m.analyte, line.decided.topic, line.decided.kind, line.decided.cause];
            let mut row = texts.map(Cell::text).to_vec();
            row.push(line.number.as_ref().map_or(Cell::Empty, decimal));
            row.push(Cell::text(line.decided.at.to_string()));
            if self.whole {
                row.push(Cell::text(&line.reason));
            }
            rows.push(row);
        }
        self.sheet(f, "decisions", names.into_iter().map(Column::filled).collect(), rows)
    }
}

fn decimal(number: &Decimal) -> Cell {
    Cell::Decimal(number.as_str().to_owned())
}

fn yes(flag: bool) -> Cell {
    Cell::text(if flag { "yes" } else { "no" })
}

/// The word of a closed list, as packages and evaluations write it.
fn written(value: impl Serialize) -> String {
    serde_json::to_value(value).ok().and_then(|value| value.as_str().map(str::to_owned)).unwrap_or_default()
}

/// The mean, the single values where there are several, and the limit of a "<", with
/// the digits that were sent.
fn reported_cells(score: &ScoreEntry, entry: Option<&Entry>, most: usize) -> Vec<Cell> {
    let typed: Vec<Cell> = match entry.map(|entry| &entry.reported) {
        Some(Reported::Value { values, .. }) => values.iter().map(|value| decimal(&value.decimal)).collect(),
        _ => Vec::new(),
    };
    let value = match typed.as_slice() {
        [one] => one.clone(),
        _ => Cell::number(score.value),
    };
    let limit = match entry.map(|entry| &entry.reported) {
        Some(Reported::Below { limit }) => decimal(&limit.decimal),
        _ => Cell::number(score.below),
    };
    let mut cells = vec![value];
    if most > 1 {
        cells.extend((0..most).map(|place| typed.get(place).cloned().unwrap_or(Cell::Empty)));
    }
    cells.push(limit);
    cells
}

fn summary_cells(planned: &package::Measurand, outcome: &MeasurandEvaluation) -> Vec<Cell> {
    let s = &outcome.summary;
    let assigned = outcome.assigned_value.as_ref();
    let limits = planned.asks_for_class().then(|| planned.limits());
    let u = assigned.map(|value| value.standard_uncertainty);
    let mut cells: Vec<Cell> =
        [s.participants, s.quantified, s.censored, s.excluded].map(|count| Cell::Number(count as f64)).to_vec();
    cells.extend([s.mean, s.median, s.sd, s.made, s.niqr, s.algorithm_a_mean, s.algorithm_a_sd].map(Cell::number));
    cells.extend([assigned.map(|value| value.value), u, u.map(|u| 2.0 * u)].map(Cell::number));
    cells.push(Cell::text(assigned.map(|value| written(value.basis)).unwrap_or_default()));
    cells.push(Cell::text(assigned.and_then(|value| value.estimator).map(written).unwrap_or_default()));
    cells.push(Cell::number(assigned.and_then(|value| value.p).map(|p| p as f64)));
    cells.push(Cell::number(assigned.and_then(|value| value.robust_sd)));
    cells.extend([outcome.sigma_pt, outcome.uncertainty_ratio].map(Cell::number));
    cells.extend([limits.map(|l| l.warning), limits.map(|l| l.action), limits.map(|l| l.e_n)].map(Cell::number));
    cells
}

fn plan_cells(planned: &package::Measurand) -> Vec<Cell> {
    let given = |given: Option<&GivenValue>| {
        let basis = Cell::text(given.map(|given| written(given.basis)).unwrap_or_default());
        [basis, Cell::number(given.map(|g| g.value)), Cell::number(given.map(|g| g.standard_uncertainty))]
    };
    let count = |number: Option<u32>| Cell::number(number.map(f64::from));
    let mut cells = vec![Cell::Number(f64::from(planned.replicates())), Cell::number(planned.required_loq)];
    let value = planned.assigned_value.as_ref();
    let consensus = value.and_then(AssignedValue::consensus);
    match value {
        Some(AssignedValue::Participants(consensus)) => {
            cells.extend([Cell::text("participants"), Cell::Empty, Cell::Empty]);
            cells.push(Cell::text(written(consensus.estimator())));
        }
        Some(AssignedValue::Given(value)) => {
            cells.extend(given(Some(value)));
            cells.push(Cell::Empty);
        }
        Some(AssignedValue::None(_)) | None => {
            cells.extend([Cell::text("none"), Cell::Empty, Cell::Empty, Cell::Empty])
        }
    }
    cells.extend(given(consensus.and_then(|consensus| consensus.fallback.as_ref())));
    let own = value.and_then(AssignedValue::given).and_then(|given| given.additional_uncertainty);
    cells.push(Cell::number(own.or(consensus.and_then(|consensus| consensus.additional_uncertainty))));
    let (basis, number, percent) = match planned.sigma_pt.as_ref().map(|sigma| &sigma.basis) {
        Some(SigmaBasis::Prescribed { value }) => ("prescribed", Some(*value), None),
        Some(SigmaBasis::Relative { percent }) => ("relative", None, Some(*percent)),
        Some(SigmaBasis::Horwitz) => ("horwitz", None, None),
        Some(SigmaBasis::Precision { .. }) => ("precision", None, None),
        Some(SigmaBasis::Participants) => ("participants", None, None),
        None => ("", None, None),
    };
    cells.push(Cell::text(basis));
    cells.extend([number, percent, planned.sigma_pt.as_ref().and_then(|sigma| sigma.additional_sd)].map(Cell::number));
    let scores: Vec<String> = planned.scores().iter().map(written).collect();
    cells.push(Cell::text(scores.join(" ")));
    cells.push(Cell::text(written(planned.censored())));
    cells.push(yes(planned.is_present()));
    cells.push(Cell::number(planned.absent_below));
    let rounding = planned.rounding.unwrap_or_default();
    cells.extend([rounding.assigned_value, rounding.standard_uncertainty, rounding.sigma_pt].map(count));
    cells
}
