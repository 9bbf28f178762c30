//! A block of cells that was copied from a spreadsheet, for the form of an item.
//!
//! Cells find their fields by the names of columns, by the names of analytes, or
//! by the place where the block begins. Numbers are not judged here: their texts
//! become what is typed, and [`crate::result::read`] judges that. A cell that
//! belongs to no field is told with its place, and never dropped in silence.

use super::block_layout::{Layout, Role};
use super::item_code;
use super::results::{FORMS, STATES, plain_word};
use super::row::same_unit;
use super::table::{Row, find_separator, split};
use super::{MAX_ROWS, assigned};
use crate::field::{Problem, shortened};
use crate::measurand::{Item, Measurand};
use crate::result::{LONGEST_FIELD, Reason, Typed, form_field};
use crate::text;
use crate::unit;
use std::collections::BTreeMap;

/// The most cells outside the form that are told one by one.
pub const MAX_OUTSIDE: usize = 200;

/// The form that a block is pasted into.
#[derive(Clone, Copy, Debug)]
pub struct Form<'a> {
    /// The items of the round.
    pub items: &'a [Item],
    /// The item of the form.
    pub item: &'a Item,
    /// The measurands of the round, all items.
    pub measurands: &'a [Measurand],
    /// Labels of items with the codes on the laboratory's own vials; empty in a
    /// round without them.
    pub codes: &'a [(String, String)],
    /// What is typed already: the unit of the laboratory's numbers stands there.
    pub typed: &'a Typed,
    /// The field where the block begins, such as `12.v1`; the first value of the
    /// form for any other text.
    pub start: &'a str,
}

impl<'a> Form<'a> {
    /// The unit in which numbers of a measurand are typed, and the field that says
    /// so where the laboratory has not chosen one.
    fn unit(&self, m: &'a Measurand) -> (&'a str, Option<String>) {
        let choice = unit::choices(self.measurands).into_iter().find(|choice| same_unit(&choice.unit, &m.unit));
        match choice {
            None => (&m.unit, None),
            Some(choice) => match self.typed.get(&choice.field) {
                "" => (&m.unit, Some(choice.field)),
                chosen => (chosen, None),
            },
        }
    }

    /// The rows of the form, in their order.
    pub(super) fn rows(&self) -> Vec<&'a Measurand> {
        let mut rows: Vec<&Measurand> = self.measurands.iter().filter(|m| m.item == self.item.id).collect();
        rows.sort_by_key(|m| m.position);
        rows
    }
}

/// How the cells of a block found their fields.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Matched {
    /// By the names of columns and, where there is a column of them, of analytes.
    Columns,
    /// By the names of analytes.
    Analytes,
    /// By the place where the block begins.
    Place,
}

impl Matched {
    /// The word for the catalogue and for what is stored.
    pub fn word(self) -> &'static str {
        match self {
            Matched::Columns => "columns",
            Matched::Analytes => "analytes",
            Matched::Place => "place",
        }
    }
}

/// A cell of a block that no field takes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outside {
    /// Line of the block, from 1.
    pub line: usize,
    /// Column of the block, from 1.
    pub column: usize,
    /// What stands there, cut to a length that can be shown.
    pub seen: String,
    /// Why no field takes it, and what to do.
    pub problem: Problem,
}

/// A block, read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Block {
    /// The texts by field. An empty cell empties its field; a row without any
    /// text changes nothing.
    pub typed: Typed,
    /// Places of the measurands that the block has texts for, in its order.
    pub positions: Vec<i64>,
    /// Those of them that stand in another order than in the form: the fewest
    /// that would have to be moved.
    pub moved: Vec<i64>,
    /// The first [`MAX_OUTSIDE`] cells that no field takes.
    pub outside: Vec<Outside>,
    /// How many cells no field takes.
    pub outside_count: usize,
    /// How cells found their fields.
    pub matched: Matched,
}

/// Reads a text of the clipboard for a form: cells between tabs, or between
/// semicolons or commas where it has no tab. Cells may stand in quotation marks
/// and then hold line ends.
///
/// A comma parts cells only in lines that name a column or an analyte beside it:
/// anywhere else it is a decimal sign.
///
/// # Errors
///
/// `problem-block-empty` when nothing stands there, `problem-file-rows` when
/// there are too many lines.
pub fn block(text: &str, form: &Form<'_>) -> Result<Block, Problem> {
    let rows = cells(text, form);
    if rows.iter().all(Row::is_blank) {
        return Err(Problem::new("problem-block-empty"));
    }
    if rows.len() > MAX_ROWS {
        return Err(Problem::new("problem-file-rows").with("limit", MAX_ROWS));
    }
    let layout = Layout::of(&rows, form);
    let mut reader = Reader::new(form, &layout);
    if let Some(header) = layout.first_row.checked_sub(1) {
        reader.header(&rows[header]);
    }
    for (place, row) in rows.iter().skip(layout.first_row).enumerate() {
        if !row.is_blank() {
            reader.row(place, row);
        }
    }
    Ok(reader.finish())
}

/// The text as rows of cells; of lines above the first text nothing is kept.
fn cells(text: &str, form: &Form<'_>) -> Vec<Row> {
    let text = text.strip_prefix('\u{FEFF}').unwrap_or(text);
    let named = |line: &str| {
        let known = |name: &str| super::block_layout::is_known_name(name.trim().trim_matches('"'), form);
        !known(line) && line.split(',').any(known)
    };
    let (skipped, separator, body) = match find_separator(text) {
        (1, separator, body) => (1, separator, body),
        _ if text.contains('\t') => (0, '\t', text),
        _ if text.contains(';') => (0, ';', text),
        _ if text.lines().any(named) => (0, ',', text),
        // No sign parts the cells: a column of them.
        _ => (0, '\t', text),
    };
    let mut rows = split(body, separator, skipped).unwrap_or_else(|_| plain_cells(body, separator, skipped));
    while rows.last().is_some_and(Row::is_blank) {
        rows.pop();
    }
    rows
}

/// The cells where quotation marks mean nothing: a single one in a name would
/// swallow the rest.
fn plain_cells(text: &str, separator: char, skipped: usize) -> Vec<Row> {
    let cells = |line: &str| line.split(separator).map(|cell| cell.trim().to_owned()).collect();
    text.lines().enumerate().map(|(at, line)| Row::new(skipped + at + 1, cells(line))).collect()
}

struct Reader<'a> {
    form: &'a Form<'a>,
    layout: &'a Layout,
    rows: Vec<&'a Measurand>,
    /// Measurands by item and analyte as they are compared.
    by_name: BTreeMap<(String, String), &'a Measurand>,
    /// Line where a measurand stood first.
    lines: BTreeMap<i64, usize>,
    block: Block,
}

impl<'a> Reader<'a> {
    fn new(form: &'a Form<'a>, layout: &'a Layout) -> Self {
        let label = |m: &Measurand| form.items.iter().find(|item| item.id == m.item).map(|item| text::key(&item.label));
        let by_name = form.measurands.iter().filter_map(|m| Some(((label(m)?, text::key(&m.analyte)), m))).collect();
        let block = Block {
            typed: Typed::default(),
            positions: Vec::new(),
            moved: Vec::new(),
            outside: Vec::new(),
            outside_count: 0,
            matched: layout.matched,
        };
        Reader { form, layout, rows: form.rows(), by_name, lines: BTreeMap::new(), block }
    }

    /// Tells the columns that the form does not have.
    fn header(&mut self, row: &Row) {
        for (column, name) in row.cells.iter().enumerate() {
            if !name.is_empty() && self.layout.role(column) == Role::Nothing {
                self.outside(row, column, Problem::new("problem-block-column-unknown").with("column", shortened(name)));
            }
        }
    }

    fn row(&mut self, place: usize, row: &Row) {
        match self.measurand(place, row) {
            Ok(measurand) => self.take(row, measurand),
            Err((column, problem)) => self.leave(row, column, problem),
        }
    }

    /// The measurand of a row, or the column that names it and what is wrong.
    fn measurand(&self, place: usize, row: &Row) -> Result<&'a Measurand, (Option<usize>, Problem)> {
        let Some(names) = self.layout.column(Role::Analyte) else {
            let found = self.rows.get(self.layout.start_row + place).copied();
            let problem = || Problem::new("problem-block-row").with("count", self.rows.len());
            return self.checked(row, found.ok_or_else(|| (None, problem()))?);
        };
        let item = self.layout.cell(row, Role::Item).unwrap_or(&self.form.item.label);
        let Some(name) = self.layout.cell(row, Role::Analyte) else {
            return Err((None, Problem::new("problem-block-unnamed")));
        };
        let Some(&found) = self.by_name.get(&(text::key(item), text::key(name))) else {
            let known = self.form.items.iter().find(|known| text::key(&known.label) == text::key(item));
            return Err(match known {
                None => {
                    let labels: Vec<&str> = self.form.items.iter().map(|item| item.label.as_str()).collect();
                    let problem = Problem::new("problem-file-item-unknown").with("item", shortened(item));
                    (self.layout.column(Role::Item), problem.with("known", labels.join(", ")))
                }
                Some(_) if self.block.outside.len() >= MAX_OUTSIDE => (Some(names), Problem::new("problem-block-left")),
                Some(item) => {
                    let of_item = self.form.measurands.iter().filter(|m| m.item == item.id);
                    let nearest = super::block_layout::nearest(name, of_item.map(|m| m.analyte.as_str()));
                    let problem = Problem::new("problem-file-analyte-unknown").with("item", &item.label);
                    (Some(names), problem.with("analyte", shortened(name)).with("nearest", nearest))
                }
            });
        };
        if let Some(first) = self.lines.get(&found.position) {
            return Err((Some(names), assigned::twice(item, &found.analyte, *first, row.line)));
        }
        self.checked(row, found)
    }

    /// The measurand, if unit and code of the row are its own.
    fn checked(&self, row: &Row, found: &'a Measurand) -> Result<&'a Measurand, (Option<usize>, Problem)> {
        if let Some(unit) = self.layout.cell(row, Role::Unit) {
            let (expected, _) = self.form.unit(found);
            if !same_unit(unit, expected) {
                let key = if same_unit(expected, &found.unit) { "problem-file-unit" } else { "problem-block-unit" };
                let problem = Problem::new(key).with("expected", expected).with("seen", shortened(unit));
                return Err((self.layout.column(Role::Unit), problem));
            }
        }
        if let Some(basis) = self.layout.cell(row, Role::Basis)
            && text::key(basis) != text::key(super::results::expected_basis(found))
        {
            let problem = Problem::new("problem-file-expressed-as").with("seen", shortened(basis));
            let problem = problem.with("expected", super::results::expected_basis(found));
            return Err((self.layout.column(Role::Basis), problem));
        }
        if let Some(code) = self.layout.cell(row, Role::Code)
            && let Some(item) = self.form.items.iter().find(|item| item.id == found.item)
            && let Err(problem) = item_code::check(code, &item.label, self.form.codes)
        {
            return Err((self.layout.column(Role::Code), problem));
        }
        Ok(found)
    }

    fn take(&mut self, row: &Row, measurand: &'a Measurand) {
        self.lines.insert(measurand.position, row.line);
        let mut texts = Vec::new();
        for (column, cell) in row.cells.iter().enumerate() {
            match self.layout.role(column) {
                Role::Field(part) => match self.text(part, cell, measurand) {
                    Ok(Some(text)) => texts.push((part, text)),
                    Ok(None) => {}
                    Err(problem) => self.outside(row, column, problem),
                },
                Role::Nothing if !cell.is_empty() => {
                    let problem = match self.layout.name(column) {
                        Some(name) => Problem::new("problem-block-column-unknown").with("column", shortened(name)),
                        None => Problem::new("problem-block-column"),
                    };
                    self.outside(row, column, problem);
                }
                _ => {}
            }
        }
        if texts.iter().all(|(_, text)| text.is_empty()) {
            return;
        }
        self.block.positions.push(measurand.position);
        // A row that says its unit says that of the laboratory's numbers.
        if self.layout.cell(row, Role::Unit).is_some()
            && let (unit, Some(field)) = self.form.unit(measurand)
        {
            self.block.typed.0.insert(field, unit.to_owned());
        }
        // A value in a row that was marked as having none takes the mark away.
        let has_value = texts.iter().any(|(part, text)| part.starts_with('v') && !text.is_empty());
        let own = |part: &str| format!("{}.{part}", measurand.position);
        let marked = matches!(self.form.typed.get(&own("state")), "identified" | "not_analysed" | "failed");
        if has_value && marked && texts.iter().all(|(part, _)| *part != "state") {
            for part in ["state", "reason"] {
                self.block.typed.0.insert(own(part), String::new());
            }
        }
        for (part, text) in texts {
            let field = match part {
                "u_as" => form_field(self.form.items, measurand.position),
                part => format!("{}.{part}", measurand.position),
            };
            self.block.typed.0.insert(field, text);
        }
    }

    /// The text that a cell gives to a field; nothing where the row has no such
    /// field and the cell is empty.
    fn text(&self, part: &str, cell: &str, measurand: &Measurand) -> Result<Option<String>, Problem> {
        let beyond = ["v2", "v3", "v4"].iter().position(|one| *one == part);
        if beyond.is_some_and(|at| at as i64 + 2 > measurand.replicates) {
            let problem = Problem::new("problem-file-replicate").with("count", measurand.replicates);
            return if cell.is_empty() { Ok(None) } else { Err(problem) };
        }
        if cell.chars().nth(LONGEST_FIELD).is_some() {
            return Err(Problem::new("problem-cell-long").with("seen", shortened(cell)).with("limit", LONGEST_FIELD));
        }
        if cell.chars().any(char::is_control) {
            return Err(Problem::new("problem-file-control").with("seen", shortened(cell)));
        }
        let word = |words: &[&'static str]| plain_word(cell, words);
        match part {
            // An unknown word of a list cannot stand in the form.
            "state" | "reason" | "u_as" if !cell.is_empty() => {
                let reasons = Reason::ALL.map(Reason::word);
                let words = match part {
                    "state" => &STATES[..],
                    "reason" => &reasons[..],
                    _ => &FORMS[..],
                };
                let unknown =
                    || Problem::new("problem-file-word").with("seen", shortened(cell)).with("words", words.join(", "));
                word(words).map(|word| Some(word.to_owned())).ok_or_else(unknown)
            }
            _ => Ok(Some(cell.to_owned())),
        }
    }

    /// Tells all cells of a row that is not taken: what is wrong stands at the
    /// cell that says it, or at all of them.
    fn leave(&mut self, row: &Row, at: Option<usize>, problem: Problem) {
        for (column, cell) in row.cells.iter().enumerate() {
            if cell.is_empty() || self.layout.role(column) == Role::Errors {
                continue;
            }
            let own = at.is_none_or(|at| at == column);
            let problem = if own { problem.clone() } else { Problem::new("problem-block-left") };
            self.outside(row, column, problem);
        }
    }

    fn outside(&mut self, row: &Row, column: usize, problem: Problem) {
        self.block.outside_count += 1;
        if self.block.outside.len() < MAX_OUTSIDE {
            let seen = shortened(&row.cells[column]);
            self.block.outside.push(Outside { line: row.line, column: column + 1, seen, problem });
        }
    }

    fn finish(mut self) -> Block {
        self.block.moved = moved(&self.block.positions);
        self.block
    }
}

/// The fewest places that would have to be moved for the rest to stand in order.
fn moved(positions: &[i64]) -> Vec<i64> {
    // The longest rising run through the places: for each of its lengths the
    // place with the smallest end, and for each place the one before it.
    let mut ends: Vec<usize> = Vec::new();
    let mut before: Vec<Option<usize>> = Vec::new();
    for (at, position) in positions.iter().enumerate() {
        let length = ends.partition_point(|&end| positions[end] < *position);
        before.push(length.checked_sub(1).map(|shorter| ends[shorter]));
        if length == ends.len() {
            ends.push(at);
        } else {
            ends[length] = at;
        }
    }
    let mut stays = vec![false; positions.len()];
    let mut at = ends.last().copied();
    while let Some(place) = at {
        stays[place] = true;
        at = before[place];
    }
    positions.iter().zip(stays).filter(|(_, stays)| !stays).map(|(position, _)| *position).collect()
}
