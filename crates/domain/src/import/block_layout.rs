//! What the columns of a pasted block are.

use super::block::{Form, Matched};
use super::results::{COLUMNS, ERRORS, NUMBERS};
use super::row::{matching, same_unit};
use super::table::Row;
use crate::measurand::MOST_REPLICATES;
use crate::text;

/// From where on two names are taken for the same one, misspelt: the measure of
/// Jaro and Winkler, 1 for equal names.
const ALIKE: f64 = 0.9;

/// Rows that are looked at for misspelt names; more would take long.
const LOOKED_AT: usize = 100;

/// What the cells of a column are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Role {
    Item,
    Code,
    Analyte,
    Basis,
    Unit,
    /// Texts of the field with this part of a name: `v1`, `u`, `u_as`.
    Field(&'static str),
    /// What a refused file said of its rows.
    Errors,
    /// Nothing that the form has.
    Nothing,
}

/// The columns of a block, and where its rows begin.
#[derive(Debug)]
pub(super) struct Layout {
    pub(super) matched: Matched,
    /// The first row behind the names of columns.
    pub(super) first_row: usize,
    /// The row of the form where a block without names of analytes begins.
    pub(super) start_row: usize,
    roles: Vec<Role>,
    /// Names of the columns, where the block has them.
    names: Vec<String>,
}

impl Layout {
    pub(super) fn of(rows: &[Row], form: &Form<'_>) -> Layout {
        let (start_row, start_part) = start(form);
        let width = rows.iter().map(|row| row.cells.len()).max().unwrap_or_default();
        let first = rows.iter().position(|row| !row.is_blank()).unwrap_or_default();
        let header = &rows[first];
        let mut layout =
            Layout { matched: Matched::Place, first_row: 0, start_row, roles: Vec::new(), names: Vec::new() };
        if header.cells.iter().any(|cell| role_of(cell).is_some()) && !header.cells.iter().any(|cell| is_number(cell)) {
            layout.matched = Matched::Columns;
            layout.first_row = first + 1;
            layout.names = header.cells.clone();
            layout.roles = once_each(header.cells.iter().map(|cell| role_of(cell).unwrap_or(Role::Nothing)));
            layout.roles.resize(width, Role::Nothing);
            if layout.column(Role::Analyte).is_none()
                && let Some(names) = names_column(&rows[first + 1..], width, form)
                && layout.roles[names] == Role::Nothing
            {
                layout.roles[names] = Role::Analyte;
            }
            return layout;
        }
        let mut parts = parts(form).into_iter().skip_while(|part| *part != start_part);
        let names = names_column(rows, width, form);
        layout.roles = (0..width)
            .map(|column| match names {
                Some(names) if column == names => Role::Analyte,
                Some(names) => beside_names(rows, column, column > names, form)
                    .or_else(|| (column > names).then(|| parts.next().map(Role::Field)).flatten())
                    .unwrap_or(Role::Nothing),
                None => parts.next().map_or(Role::Nothing, Role::Field),
            })
            .collect();
        layout.roles = once_each(std::mem::take(&mut layout.roles).into_iter());
        if names.is_some() {
            layout.matched = Matched::Analytes;
        }
        layout
    }

    pub(super) fn role(&self, column: usize) -> Role {
        self.roles.get(column).copied().unwrap_or(Role::Nothing)
    }

    pub(super) fn column(&self, role: Role) -> Option<usize> {
        self.roles.iter().position(|one| *one == role)
    }

    /// The cell of the column with a role, if something stands there.
    pub(super) fn cell<'a>(&self, row: &'a Row, role: Role) -> Option<&'a str> {
        row.cells.get(self.column(role)?).map(String::as_str).filter(|cell| !cell.is_empty())
    }

    /// The name of a column.
    pub(super) fn name(&self, column: usize) -> Option<&str> {
        self.names.get(column).map(String::as_str).filter(|name| !name.is_empty())
    }
}

/// A second column of one role is nothing: its cells are told.
fn once_each(roles: impl Iterator<Item = Role>) -> Vec<Role> {
    let mut kept: Vec<Role> = Vec::new();
    for role in roles {
        kept.push(if kept.contains(&role) { Role::Nothing } else { role });
    }
    kept
}

/// The row and the part of the field where the block begins.
fn start(form: &Form<'_>) -> (usize, &'static str) {
    let found = form.start.split_once('.').and_then(|(owner, part)| {
        let row = form.rows().iter().position(|m| m.position.to_string() == owner)?;
        let part = parts(form).into_iter().find(|known| *known == part)?;
        Some((row, part))
    });
    found.unwrap_or((0, "v1"))
}

/// The fields of a row from left to right, as many values as the longest row has.
fn parts(form: &Form<'_>) -> Vec<&'static str> {
    let most = form.rows().iter().map(|m| m.replicates).max().unwrap_or(1).clamp(1, MOST_REPLICATES) as usize;
    ["v1", "v2", "v3", "v4"].into_iter().take(most).chain(["u", "k", "loq"]).collect()
}

/// What a column of this name is: the names of the template, and those that the
/// form itself shows.
fn role_of(name: &str) -> Option<Role> {
    let known = matching(name, COLUMNS).or(match text::key(name).as_str() {
        "value" => Some("result"),
        "u" => Some("expanded_uncertainty"),
        "k" => Some("coverage_factor"),
        _ => None,
    })?;
    let number = NUMBERS.iter().find(|(column, _)| *column == known).map(|(_, part)| *part);
    Some(match known {
        "item" => Role::Item,
        "item_code" => Role::Code,
        "analyte" => Role::Analyte,
        "expressed_as" => Role::Basis,
        "unit" => Role::Unit,
        "state" => Role::Field("state"),
        "reason" => Role::Field("reason"),
        "uncertainty_form" => Role::Field("u_as"),
        ERRORS => Role::Errors,
        _ => number.map_or(Role::Nothing, Role::Field),
    })
}

/// Whether `name` is that of a column or of an analyte of the round.
pub(super) fn is_known_name(name: &str, form: &Form<'_>) -> bool {
    role_of(name).is_some() || form.measurands.iter().any(|m| text::key(&m.analyte) == text::key(name))
}

fn is_number(cell: &str) -> bool {
    let number = cell.trim_start_matches('<');
    number.starts_with(|c: char| c.is_ascii_digit())
        && number.chars().all(|c| c.is_ascii_digit() || ".,eE+-' ".contains(c))
}

/// The column with the most names of analytes; misspelt ones count where no
/// column has one that is right.
fn names_column(rows: &[Row], width: usize, form: &Form<'_>) -> Option<usize> {
    let names: Vec<String> = form.measurands.iter().map(|m| text::key(&m.analyte)).collect();
    let exact: std::collections::BTreeSet<&str> = names.iter().map(String::as_str).collect();
    let is_name = |cell: &str| exact.contains(text::key(cell).as_str());
    let is_like = |cell: &str| {
        let key = text::key(cell);
        cell.chars().filter(|c| c.is_alphabetic()).count() >= 3
            && exact.iter().any(|name| strsim::jaro_winkler(name, &key) >= ALIKE)
    };
    let most = |rows: &[Row], fits: &dyn Fn(&str) -> bool| {
        let count =
            |column: usize| rows.iter().filter_map(|row| row.cells.get(column)).filter(|cell| fits(cell)).count();
        let counts: Vec<usize> = (0..width).map(count).collect();
        let most = counts.iter().copied().max().filter(|most| *most > 0)?;
        counts.iter().position(|count| *count == most)
    };
    most(rows, &is_name).or_else(|| most(&rows[..rows.len().min(LOOKED_AT)], &is_like))
}

/// Columns of items and of units, which need no name.
fn beside_names(rows: &[Row], column: usize, behind: bool, form: &Form<'_>) -> Option<Role> {
    let mut cells = rows.iter().filter_map(|row| row.cells.get(column)).filter(|cell| !cell.is_empty()).peekable();
    cells.peek()?;
    let mut cells: Vec<&String> = cells.collect();
    if !behind && cells.iter().all(|cell| form.items.iter().any(|item| text::key(&item.label) == text::key(cell))) {
        return Some(Role::Item);
    }
    let is_unit = |cell: &str| {
        form.measurands.iter().any(|m| same_unit(cell, &m.unit))
            || (cell.contains('/') && !cell.contains(|c: char| c.is_ascii_digit()) && cell.chars().count() <= 12)
    };
    cells.retain(|cell| !is_unit(cell));
    cells.is_empty().then_some(Role::Unit)
}

/// The name that is most like `name`.
pub(super) fn nearest<'a>(name: &str, names: impl Iterator<Item = &'a str>) -> &'a str {
    let likeness = |known: &str| strsim::jaro_winkler(&text::key(known), &text::key(name));
    names.max_by(|one, other| likeness(one).total_cmp(&likeness(other))).unwrap_or_default()
}
