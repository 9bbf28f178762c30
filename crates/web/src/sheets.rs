//! The tables that go out as files: templates to fill in, results, scores.
//! Names of columns are a contract with programs, so they stand here and not in
//! the catalogue; what a person reads beside the table comes from there.

use crate::evaluated::Evaluated;
use crate::pages::Frame;
use crate::pages::figures;
use crate::pages::methods::{group_words, why_words};
use crate::pages::units::UnitLine;
use roundel_documents::sheet::{About, Cell, Column, Sheet};
use roundel_domain::assemble::measurand_id;
use roundel_domain::evaluation::ScoreEntry;
use roundel_domain::import;
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::methods::{Compared, Factor, Group, Line, Methods, Shown};
use roundel_domain::number::Decimal;
use roundel_domain::plan::{Basis, Estimator};
use roundel_domain::result::{Entry, Reason, Reported, Submission, UncertaintyForm};
use roundel_domain::round::Round;

/// The second sheet: its lines, and that data are invented where they are.
fn about(f: &Frame, name: &str, lines: Vec<String>) -> Option<About> {
    let invented = f.demonstration.then(|| format!("{}: {}", f.t("demonstration-data"), f.t("demonstration-footer")));
    Some(About { name: name.to_owned(), lines: lines.into_iter().chain(invented).collect() })
}

/// A template of fixed columns with a row as example, as `text` has them.
pub fn template(f: &Frame, text: &str) -> Sheet {
    let mut lines = text.lines().map(|line| line.split(',').collect::<Vec<_>>());
    let names = lines.next().unwrap_or_default();
    let column = |name: &&str| match *name {
        "route" => Column::choice(*name, &["formulation", "reference", "expert"]),
        name => Column::input(name),
    };
    let lines_about =
        vec![f.t("file-how-heading"), f.t("file-how-example"), f.t("file-how-numbers"), f.t("file-how-cells")];
    Sheet {
        name: f.t("file-sheet-table"),
        columns: names.iter().map(column).collect(),
        rows: lines.map(|cells| cells.into_iter().map(Cell::text).collect()).collect(),
        about: about(f, &f.t("file-sheet-how"), lines_about),
    }
}

/// The template of assigned values, with a row for each measurand.
pub fn assigned_template(f: &Frame, items: &[Item], measurands: &[Measurand]) -> Sheet {
    let mut sheet = template(f, import::assigned_values_template());
    if measurands.is_empty() {
        return sheet;
    }
    for column in sheet.columns.iter_mut().take(3) {
        column.input = false;
    }
    let bases = Basis::ALL.map(Basis::word);
    let routes = [&bases[..], &Estimator::ALL.map(Estimator::word)].concat();
    for column in &mut sheet.columns {
        match column.name.as_str() {
            "route" => *column = Column::choice("route", &routes),
            "fallback" => *column = Column::choice("fallback", &bases),
            _ => {}
        }
    }
    let columns = sheet.columns.len();
    sheet.rows = named_rows(items, measurands)
        .map(|(item, m)| {
            let mut row = vec![Cell::text(&item.label), Cell::text(&m.analyte), Cell::text(&m.unit)];
            row.resize(columns, Cell::Empty);
            row
        })
        .collect();
    if let Some(about) = &mut sheet.about {
        about.lines[1] = f.t("file-how-assigned");
    }
    sheet
}

/// The template of studies of items, with a measurand of the round in its example.
pub fn study_template(f: &Frame, text: &str, items: &[Item], measurands: &[Measurand]) -> Sheet {
    let mut sheet = template(f, text);
    if let (Some(row), Some((item, m))) = (sheet.rows.first_mut(), named_rows(items, measurands).next()) {
        for (cell, text) in row.iter_mut().zip([&item.label, &m.analyte, &m.unit]) {
            *cell = Cell::text(text);
        }
    }
    if let Some(about) = &mut sheet.about {
        about.lines[1] = f.t("file-how-study");
    }
    sheet
}

/// The units of an item, one row for each participant.
pub fn units(f: &Frame, round: &Round, item: &Item, lines: &[UnitLine]) -> Sheet {
    let names =
        ["code", "item", "unit", "label", "dispatched_on", "carrier", "received_on", "condition", "notes", "files"];
    let row = |line: &UnitLine| {
        let UnitLine { code, number, label, dispatched, carrier, received, condition, notes, files, .. } = line;
        let files = files.join("; ");
        [code, &item.label, number, label, dispatched, carrier, received, condition, notes, &files]
            .map(Cell::text)
            .to_vec()
    };
    let rows = lines.iter().map(row).collect();
    exported(f, round, &f.t("file-units"), &f.t("file-units-explained"), names.map(Column::filled).into(), rows)
}

/// The template of a laboratory's results, with a row for each measurand.
pub fn results_template(f: &Frame, round: &Round, items: &[Item], measurands: &[Measurand]) -> Sheet {
    let replicates = measurands.iter().map(|m| m.replicates).max().unwrap_or(1);
    let names = import::results_columns(replicates);
    let column = |name: &&'static str| match *name {
        "item" | "analyte" | "expressed_as" | "unit" => Column::filled(*name),
        "state" => Column::choice(*name, &["value", "below", "identified", "not_analysed", "failed"]),
        "reason" => Column::choice(*name, &Reason::ALL.map(Reason::word)),
        "uncertainty_form" => Column::choice(*name, &["absolute", "percent"]),
        name => Column::input(name),
    };
    let cell = |name: &str, item: &Item, m: &Measurand| match name {
        "item" => Cell::text(&item.label),
        "analyte" => Cell::text(&m.analyte),
        "expressed_as" => Cell::text(&m.expressed_as),
        "unit" => Cell::text(&m.unit),
        _ => Cell::Empty,
    };
    let reasons: Vec<String> = Reason::ALL
        .iter()
        .map(|reason| format!("{}: {}", reason.word(), crate::pages::entry::reason_words(f, *reason)))
        .collect();
    let lines = [
        "file-how-results",
        "file-how-numbers",
        "file-how-cells",
        "file-how-below",
        "file-how-uncertainty",
        "file-how-state",
    ];
    let heading = f.t1("file-how-results-heading", "code", &round.code);
    Sheet {
        name: f.t("file-sheet-table"),
        columns: names.iter().map(column).collect(),
        rows: named_rows(items, measurands)
            .map(|(item, m)| names.iter().map(|name| cell(name, item, m)).collect())
            .collect(),
        about: about(
            f,
            &f.t("file-sheet-how"),
            std::iter::once(heading).chain(lines.map(|key| f.t(key))).chain(reasons).collect(),
        ),
    }
}

/// Measurands with their items, by item.
fn named_rows<'a>(items: &'a [Item], measurands: &'a [Measurand]) -> impl Iterator<Item = (&'a Item, &'a Measurand)> {
    items.iter().flat_map(|item| measurands.iter().filter(|m| m.item == item.id).map(move |m| (item, m)))
}

fn exported(
    f: &Frame,
    round: &Round,
    heading: &str,
    explained: &str,
    columns: Vec<Column>,
    rows: Vec<Vec<Cell>>,
) -> Sheet {
    let title = if round.title.is_empty() { round.code.clone() } else { format!("{}: {}", round.code, round.title) };
    Sheet {
        name: heading.to_owned(),
        columns,
        rows,
        about: about(f, &f.t("file-sheet-about"), vec![title, explained.to_owned()]),
    }
}

fn decimal(number: &Decimal) -> Cell {
    Cell::Decimal(number.as_str().to_owned())
}

/// What laboratories sent, one row for each of their measurands.
pub fn results(f: &Frame, round: &Round, submissions: &[Submission]) -> Sheet {
    let values = |submission: &Submission| submission.results.iter().map(typed_values).max().unwrap_or_default();
    let most = submissions.iter().map(values).max().unwrap_or_default().max(1);
    let typed = (1..=most).map(|n| if n == 1 { "typed".to_owned() } else { format!("typed_{n}") });
    let before = ["code", "item", "analyte", "expressed_as", "unit", "state", "reason"].map(str::to_owned);
    let behind = [
        "value",
        "limit",
        "uncertainty_typed",
        "uncertainty_form",
        "expanded_uncertainty",
        "coverage_factor",
        "loq",
        "late",
        "version",
        "sent_at",
    ];
    let names = before.into_iter().chain(typed).chain(behind.map(str::to_owned));
    let rows = submissions
        .iter()
        .flat_map(|submission| submission.results.iter().map(move |entry| result_row(submission, entry, most)))
        .collect();
    exported(f, round, &f.t("file-results"), &f.t("file-results-explained"), names.map(Column::filled).collect(), rows)
}

fn typed_values(entry: &Entry) -> usize {
    match &entry.reported {
        Reported::Value { values, .. } => values.len(),
        Reported::Below { .. } => 1,
        Reported::Identified | Reported::NotAnalysed { .. } | Reported::Failed { .. } => 0,
    }
}

fn result_row(submission: &Submission, entry: &Entry, most: usize) -> Vec<Cell> {
    let (state, reason) = match &entry.reported {
        Reported::Value { .. } => ("value", ""),
        Reported::Below { .. } => ("below", ""),
        Reported::Identified => ("identified", ""),
        Reported::NotAnalysed { reason } => ("not_analysed", reason.word()),
        Reported::Failed { reason } => ("failed", reason.word()),
    };
    let (mut typed, value, limit, uncertainty): (Vec<Cell>, Cell, Cell, _) = match &entry.reported {
        Reported::Value { values, uncertainty } => {
            let value = match values.as_slice() {
                [one] => decimal(&one.decimal),
                _ => Cell::number(entry.value()),
            };
            (values.iter().map(|value| Cell::text(&value.typed)).collect(), value, Cell::Empty, uncertainty.as_ref())
        }
        Reported::Below { limit } => (vec![Cell::text(&limit.typed)], Cell::Empty, decimal(&limit.decimal), None),
        Reported::Identified | Reported::NotAnalysed { .. } | Reported::Failed { .. } => {
            (Vec::new(), Cell::Empty, Cell::Empty, None)
        }
    };
    typed.resize(most, Cell::Empty);
    let form = uncertainty.map(|uncertainty| match uncertainty.form {
        UncertaintyForm::Absolute => "absolute",
        UncertaintyForm::Percent => "percent",
    });
    let in_unit = match uncertainty {
        Some(uncertainty) if uncertainty.form == UncertaintyForm::Absolute => decimal(&uncertainty.expanded.decimal),
        _ => Cell::number(entry.expanded_uncertainty()),
    };
    let mut row = [&submission.participant, &entry.item, &entry.analyte, &entry.expressed_as, &entry.unit]
        .map(Cell::text)
        .to_vec();
    row.extend([Cell::text(state), Cell::text(reason)]);
    row.extend(typed);
    row.extend([
        value,
        limit,
        Cell::text(uncertainty.map_or("", |uncertainty| uncertainty.expanded.typed.as_str())),
        Cell::text(form.unwrap_or_default()),
        in_unit,
        uncertainty.and_then(|u| u.coverage_factor.as_ref()).map_or(Cell::Empty, |k| decimal(&k.decimal)),
        entry.loq.as_ref().map_or(Cell::Empty, |loq| decimal(&loq.decimal)),
        Cell::text(if submission.late { "yes" } else { "no" }),
        Cell::Number(submission.version as f64),
        Cell::text(submission.submitted_at.to_string()),
    ]);
    row
}

/// The scores of an evaluation: of all laboratories, or of one, which then sees
/// no more than its page shows.
pub fn scores(
    f: &Frame,
    round: &Round,
    evaluated: &Evaluated,
    items: &[Item],
    measurands: &[Measurand],
    own: Option<&str>,
) -> Sheet {
    let names = [
        "code",
        "item",
        "analyte",
        "unit",
        "value",
        "limit",
        "expanded_uncertainty",
        "x_pt",
        "u_x_pt",
        "sigma_pt",
        "difference",
        "difference_percent",
        "z",
        "z_prime",
        "zeta",
        "e_n",
        "bound",
        "class",
        "detection",
        "left_out",
        "remark",
    ];
    let rows = named_rows(items, measurands)
        .flat_map(|(item, m)| {
            let id = measurand_id(&item.label, &m.analyte);
            let entries = evaluated.scores(&id).filter(|entry| own.is_none_or(|own| entry.participant == own));
            entries.map(|entry| score_row(f, evaluated, item, m, entry, own.is_some())).collect::<Vec<_>>()
        })
        .collect();
    exported(f, round, &f.t("file-scores"), &f.t("file-scores-explained"), names.map(Column::filled).into(), rows)
}

fn score_row(
    f: &Frame,
    evaluated: &Evaluated,
    item: &Item,
    m: &Measurand,
    entry: &ScoreEntry,
    of_one: bool,
) -> Vec<Cell> {
    let result = evaluated.result(&entry.participant, &entry.measurand);
    let mut row = [&entry.participant, &item.label, &m.analyte, &m.unit].map(Cell::text).to_vec();
    row.extend([
        Cell::number(entry.value),
        Cell::number(entry.below),
        Cell::number(result.and_then(|result| result.expanded_uncertainty)),
    ]);
    if of_one && !evaluated.may_be_shared(&entry.measurand) {
        // Nothing that rests on the results of others.
        row.resize(20, Cell::Empty);
        row.push(Cell::text(f.t("few-hidden")));
        return row;
    }
    let outcome = evaluated.measurand(&entry.measurand).map(|(_, outcome)| outcome);
    let assigned = outcome.and_then(|outcome| outcome.assigned_value.as_ref());
    row.extend([
        Cell::number(assigned.map(|value| value.value)),
        Cell::number(assigned.map(|value| value.standard_uncertainty)),
        Cell::number(outcome.and_then(|outcome| outcome.sigma_pt)),
    ]);
    let scores =
        [entry.difference, entry.difference_percent, entry.z, entry.z_prime, entry.zeta, entry.e_n, entry.bound];
    row.extend(scores.map(Cell::number));
    row.extend([
        Cell::text(figures::class_word(f, entry.signal, result)),
        Cell::text(figures::detection_key(entry.detection).map(|key| f.t(key)).unwrap_or_default()),
        Cell::text(result.and_then(|result| result.exclude.clone()).unwrap_or_default()),
        Cell::text(if entry.loq_met == Some(false) { f.t("loq-not-met") } else { String::new() }),
    ]);
    row
}

/// The groups of one question in all items, a row for each group of a measurand.
pub fn methods(f: &Frame, round: &Round, factor: Factor, methods: &Methods<'_>) -> Sheet {
    let names = [
        "item",
        "analyte",
        "unit",
        "factor",
        "group",
        "laboratories",
        "values",
        "below_limit",
        "false_negatives",
        "median",
        "robust_sd",
        "difference",
        "low",
        "high",
        "p",
        "p_holm",
        "remark",
    ];
    let mut rows = Vec::new();
    for item in methods.items() {
        for line in methods.table(factor, item) {
            if let Shown::Groups(groups) = &line.shown {
                rows.extend(groups.iter().map(|group| group_line(f, item, &line, factor, group)));
            }
        }
    }
    let columns = names.map(Column::filled).into();
    exported(f, round, &f.t("file-methods"), &f.t("file-methods-explained"), columns, rows)
}

fn group_line(f: &Frame, item: &str, line: &Line, factor: Factor, group: &Group) -> Vec<Cell> {
    let name = group_words(f, factor, &group.name);
    let mut row = [item, &line.analyte, &line.unit, factor.word(), &name].map(Cell::text).to_vec();
    let counts = [group.laboratories, group.values, group.censored, group.false_negatives];
    row.extend(counts.map(|count| Cell::Number(count as f64)));
    row.extend([group.median, group.robust_sd].map(Cell::number));
    match &group.compared {
        Compared::Found(found) => {
            let figures = [found.in_sigma, found.low, found.high, found.p_value, found.adjusted];
            row.extend(figures.map(|figure| Cell::number(Some(figure))));
            row.push(Cell::Empty);
        }
        Compared::Not(why) => {
            row.resize(16, Cell::Empty);
            row.push(Cell::text(why_words(f, *why)));
        }
    }
    row
}
