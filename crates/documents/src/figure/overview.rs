//! A matrix of all results: rows against columns, a mark in each cell. For the
//! organiser measurands against codes, for one laboratory analytes against items,
//! with the score beside the mark.

use super::margin;
use super::marks::{self, Style};
use super::svg::{Anchor, Face, RULE, Root, SECOND, Svg, TEXT, WITHIN, number};
use super::text::{shorten, width};
use super::{Table, count_word, sentence};
use crate::mark::Mark;
use crate::words::Words;

/// One matrix.
#[derive(Clone, Debug, PartialEq)]
pub struct Overview {
    /// Prefix of the ids inside the SVG; unique on its page.
    pub id: String,
    /// What it is, as "All results of WATER-01".
    pub title: String,
    /// What the rows are, as "Measurand".
    pub row_name: String,
    /// The heads of the columns: codes, or items.
    pub columns: Vec<String>,
    /// The rows, in the order of the form.
    pub rows: Vec<Row>,
    /// Width in CSS pixels, as [`super::WIDE`] or [`super::NARROW`].
    pub width: u32,
}

/// One row.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Its name as it is shown.
    pub name: String,
    /// Address of a link on the name.
    pub href: Option<String>,
    /// One for each column.
    pub cells: Vec<Cell>,
}

/// One cell.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    /// What stands in it.
    pub state: State,
    /// The score beside the mark; empty in a matrix of many.
    pub text: String,
    /// Address of a link on the mark of a signal, or of a cell with a text.
    pub href: Option<String>,
    /// Text of the tooltip, and name of the link.
    pub tooltip: Option<String>,
}

/// What is known of a cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum State {
    /// A result with its class.
    Scored(Mark),
    /// Reported as less than a limit, without a signal.
    Below,
    /// Asked for, and nothing was reported.
    NotReported,
    /// The laboratory said that it did not analyse it, or that the analysis failed.
    NotAnalysed,
    /// Not among what the item is analysed for.
    NotAsked,
}

impl State {
    const ALL: [State; 9] = [
        State::Scored(Mark::Within),
        State::Scored(Mark::Warning),
        State::Scored(Mark::Action),
        State::Scored(Mark::InformationOnly),
        State::Scored(Mark::NotScored),
        State::Below,
        State::NotReported,
        State::NotAnalysed,
        State::NotAsked,
    ];

    fn key(self) -> &'static str {
        match self {
            State::Scored(Mark::Within) => "figure-overview-within",
            State::Scored(Mark::Warning) => "figure-overview-warning",
            State::Scored(Mark::Action) => "figure-overview-action",
            State::Scored(Mark::InformationOnly) => "figure-overview-information",
            State::Scored(Mark::NotScored) => "figure-overview-not-scored",
            State::Below => "figure-overview-below",
            State::NotReported => "figure-overview-not-reported",
            State::NotAnalysed => "figure-overview-not-analysed",
            State::NotAsked => "figure-overview-not-asked",
        }
    }
}

/// After so many rows the heads are written again.
const MOST_ROWS: usize = 40;
/// From one row to the next: high enough for a finger where there are links.
const ROW: f64 = 17.0;
/// The width of a column of marks alone.
const COLUMN: f64 = 14.0;
/// Between two blocks.
const GAP: f64 = 18.0;

/// The figure as the text of an SVG; its height goes by the numbers of rows and
/// columns.
pub fn render(figure: &Overview, words: &Words) -> String {
    draw(figure, words, Face::Page)
}

pub(crate) fn draw(figure: &Overview, words: &Words, face: Face) -> String {
    let full = f64::from(figure.width.max(240));
    let layout = Layout::of(figure, full);
    let mut svg = Svg::new(words);
    let mut top = 4.0;
    for columns in layout.columns.iter().copied() {
        let mut from = 0;
        while from < figure.rows.len() {
            let to = (from + MOST_ROWS).min(figure.rows.len());
            draw_block(&mut svg, figure, &layout, (from, to), columns, top, face);
            top += layout.head + ROW * (to - from) as f64 + GAP;
            from = to;
        }
    }
    let notes = note_sentences(figure, words);
    let height = margin::draw_notes(&mut svg, &notes, (full - 2.0) / face.breadth(), 2.0, top + 6.0);
    let cells = || figure.rows.iter().flat_map(|row| &row.cells);
    let links = figure.rows.iter().any(|row| row.href.is_some()) || cells().any(is_linked);
    svg.finish(&Root {
        id: &figure.id,
        face,
        width: full,
        height,
        title: &figure.title,
        description: &caption(figure, words),
        links,
    })
}

struct Layout {
    /// Width of the column of names.
    names: f64,
    /// Of a column of marks.
    column: f64,
    /// Height of the heads.
    head: f64,
    upright: bool,
    /// From and to of the columns of each block.
    columns: Vec<(usize, usize)>,
}

impl Layout {
    fn of(figure: &Overview, full: f64) -> Layout {
        let longest = figure.rows.iter().map(|row| width(&row.name)).fold(width(&figure.row_name), f64::max);
        let texts = figure.rows.iter().flat_map(|row| &row.cells).map(|cell| width(&cell.text)).fold(0.0, f64::max);
        let heads = figure.columns.iter().map(|name| width(name)).fold(0.0, f64::max);
        let wide = texts > 0.0;
        let column = if wide { (texts + 24.0).max(heads.min(120.0) + 10.0) } else { COLUMN };
        let names = (longest + 12.0).min((full * 0.42).max(full - column * figure.columns.len().max(1) as f64));
        let fit = (((full - names) / column).floor() as usize).max(1);
        let count = figure.columns.len();
        // As even as can be.
        let blocks = count.div_ceil(fit).max(1);
        let each = count.div_ceil(blocks).max(1);
        let columns = (0..blocks)
            .map(|block| (block * each, ((block + 1) * each).min(count)))
            .filter(|(a, b)| a < b || count == 0);
        let upright = !wide;
        let head = if upright { heads.min(110.0) + 10.0 } else { 20.0 };
        Layout { names, column, head, upright, columns: columns.collect() }
    }

    fn x(&self, place: usize) -> f64 {
        self.names + self.column * (place as f64 + 0.5)
    }
}

fn draw_block(
    svg: &mut Svg,
    figure: &Overview,
    layout: &Layout,
    (from, to): (usize, usize),
    (first, last): (usize, usize),
    top: f64,
    face: Face,
) {
    let rows_top = top + layout.head;
    svg.words("figure-second", (2.0, rows_top - 6.0), Anchor::Start, &shorten(&figure.row_name, layout.names - 8.0));
    for (place, name) in figure.columns[first..last].iter().enumerate() {
        let x = layout.x(place);
        if layout.upright {
            let text = svg.numeral(&shorten(name, 110.0));
            let turn = format!("rotate(-90 {} {})", number(x + TEXT * 0.35), number(rows_top - 6.0));
            let at = (x + TEXT * 0.35, rows_top - 6.0);
            svg.words_of("figure-second", at, Anchor::Start).set("transform", &turn).content(&text);
        } else {
            svg.words(
                "figure-second",
                (layout.names + layout.column * place as f64 + 4.0, rows_top - 6.0),
                Anchor::Start,
                &shorten(name, layout.column - 6.0),
            );
        }
    }
    let right = layout.names + layout.column * (last - first) as f64;
    svg.line("figure-axis", SECOND, 0.8, (2.0, rows_top), (right, rows_top));
    for (line, row) in figure.rows[from..to].iter().enumerate() {
        let y = rows_top + ROW * (line as f64 + 0.5);
        if (from + line + 1) % 5 == 0 || from + line + 1 == to {
            svg.line("figure-rule", RULE, 0.6, (2.0, y + ROW / 2.0), (right, y + ROW / 2.0));
        }
        draw_name(svg, row, layout, y);
        draw_quiet(svg, &row.cells[first.min(row.cells.len())..last.min(row.cells.len())], layout, y);
        let style = Style { face, radius: 3.6 };
        for (place, cell) in row.cells.iter().take(last).skip(first).enumerate() {
            draw_cell(svg, layout, style, cell, place, y);
        }
    }
}

fn draw_name(svg: &mut Svg, row: &Row, layout: &Layout, y: f64) {
    let name = shorten(&row.name, layout.names - 10.0);
    let shortened = name != row.name;
    let tooltip = (shortened || row.href.is_some()).then_some(row.name.as_str());
    let element = tooltip.map(|tooltip| marks::begin(svg, row.href.as_deref(), Some(tooltip)));
    svg.words("figure-ink", (2.0, y + TEXT * 0.35), Anchor::Start, &name);
    if let Some(element) = element {
        if row.href.is_some() {
            let wide = width(&name).max(24.0);
            marks::target(svg, (2.0 + wide / 2.0, y), wide, ROW);
        }
        svg.close(element);
    }
}

/// The marks that ask for nothing, a path for each kind: dots, dashes, crosses.
fn draw_quiet(svg: &mut Svg, cells: &[Cell], layout: &Layout, y: f64) {
    let kinds: [(State, f64, &str, &str); 6] = [
        (State::Scored(Mark::Within), 4.4, "mark-within", WITHIN),
        (State::Scored(Mark::InformationOnly), 1.1, "mark-within", WITHIN),
        (State::Scored(Mark::NotScored), 1.1, "figure-axis", SECOND),
        (State::Below, 1.2, "mark-within", WITHIN),
        (State::NotReported, 1.0, "figure-axis", SECOND),
        (State::NotAnalysed, 1.0, "figure-axis", SECOND),
    ];
    for (state, thick, class, stroke) in kinds {
        let mut path = String::new();
        for (place, _) in cells.iter().enumerate().filter(|(_, cell)| is_drawn(cell, state)) {
            let x = layout.mark(place);
            let (left, middle, y0) = (number(x - 3.0), number(x), number(y));
            path.push_str(&match state {
                // A line of no length with round ends is a dot.
                State::Scored(Mark::Within) => format!("M{middle} {y0}h0"),
                State::Scored(Mark::InformationOnly) => {
                    format!("M{} {y0}a2.6 2.6 0 1 0 5.2 0a2.6 2.6 0 1 0 -5.2 0", number(x - 2.6))
                }
                State::Scored(_) => {
                    format!("M{left} {}l6 6M{left} {}l6 -6", number(y - 3.0), number(y + 3.0))
                }
                State::Below => format!("M{} {}l-6 3l6 3", number(x + 3.0), number(y - 3.0)),
                State::NotAnalysed => format!("M{left} {}h6M{left} {}h6", number(y - 1.6), number(y + 1.6)),
                State::NotReported | State::NotAsked => format!("M{left} {y0}h6"),
            });
        }
        if !path.is_empty() {
            svg.open("path")
                .set("class", class)
                .set("d", &path)
                .set("fill", "none")
                .set("stroke", stroke)
                .num("stroke-width", thick)
                .set("stroke-linecap", "round")
                .end();
        }
    }
}

impl Layout {
    /// The middle of the mark in a column.
    fn mark(&self, place: usize) -> f64 {
        if self.upright { self.x(place) } else { self.names + self.column * place as f64 + 9.0 }
    }
}

fn is_linked(cell: &Cell) -> bool {
    cell.href.is_some() && (is_signal(cell) || !cell.text.is_empty())
}

/// A bound that is written has its sign in the text.
fn is_drawn(cell: &Cell, state: State) -> bool {
    cell.state == state && (state != State::Below || cell.text.is_empty())
}

fn is_signal(cell: &Cell) -> bool {
    matches!(cell.state, State::Scored(mark) if mark.is_signal())
}

/// What each cell has of its own: the shape of a signal, the score, the link.
fn draw_cell(svg: &mut Svg, layout: &Layout, style: Style, cell: &Cell, place: usize, y: f64) {
    if !is_signal(cell) && cell.text.is_empty() {
        return;
    }
    let x = layout.mark(place);
    let name = marks::begin(svg, cell.href.as_deref(), cell.tooltip.as_deref());
    if let (State::Scored(mark), true) = (cell.state, is_signal(cell)) {
        marks::shape(svg, style, mark, false, (x, y));
    }
    if cell.text.is_empty() {
        marks::target(svg, (x, y), COLUMN, ROW);
    } else {
        let class = if is_signal(cell) { "figure-ink" } else { "figure-second" };
        svg.words(class, (x + 9.0, y + TEXT * 0.35), Anchor::Start, &cell.text);
        marks::target(svg, (x + layout.column / 2.0 - 9.0, y), layout.column, ROW);
    }
    svg.close(name);
}

fn note_sentences(figure: &Overview, words: &Words) -> Vec<String> {
    let holds = |state: &State| figure.rows.iter().flat_map(|row| &row.cells).any(|cell| cell.state == *state);
    State::ALL.into_iter().filter(holds).map(|state| words.t(state.key())).collect()
}

/// One sentence that says what the figure shows, from its data: how many rows and
/// columns, and how many of each class.
pub fn caption(figure: &Overview, words: &Words) -> String {
    let cells: Vec<&Cell> = figure.rows.iter().flat_map(|row| &row.cells).collect();
    let reported = cells.iter().filter(|cell| matches!(cell.state, State::Scored(_) | State::Below)).count();
    let mut parts = vec![words.with("figure-overview-caption-count", &[("count", &reported.to_string())])];
    for mark in [Mark::Within, Mark::Warning, Mark::Action, Mark::InformationOnly, Mark::NotScored] {
        let count = cells.iter().filter(|cell| cell.state == State::Scored(mark)).count();
        if count > 0 {
            let values = [("count", &*count_word(count, words)), ("class", &*mark.word(words))];
            parts.push(words.with("figure-own-caption-class", &values));
        }
    }
    let missing = cells.iter().filter(|cell| matches!(cell.state, State::NotReported | State::NotAnalysed)).count();
    if missing > 0 {
        let values = [("count", &*count_word(missing, words))];
        parts.push(words.with("figure-overview-caption-missing", &values));
    }
    sentence(&parts, words)
}

/// The matrix as rows: in each cell its class as a word, with the score.
pub fn table(figure: &Overview, words: &Words) -> Table {
    let mut head = vec![figure.row_name.clone()];
    head.extend(figure.columns.iter().cloned());
    let text = |cell: &Cell| {
        let word = match cell.state {
            State::Scored(mark) => mark.word(words),
            other => words.t(&format!("{}-word", other.key())),
        };
        if cell.text.is_empty() { word } else { format!("{}, {word}", words.numeral(cell.text.as_str())) }
    };
    let rows = figure.rows.iter().map(|row| {
        let mut line = vec![row.name.clone()];
        line.extend(row.cells.iter().map(text));
        line
    });
    Table { head, rows: rows.collect(), own: None }
}
