//! The parts that a report is made of, for the page and for the document alike.

use serde::Serialize;

/// Where the parts will be shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Medium {
    /// On a page: figures have the class names of pages.
    Page,
    /// In a document.
    Document,
}

/// The contents of a report, every text and number ready.
#[derive(Clone, Debug, Serialize)]
pub struct Content {
    /// What it is.
    pub title: String,
    /// The round.
    pub subtitle: String,
    /// What stands at the head of every page; empty for a final report.
    pub banner: Vec<String>,
    /// What stands across every page; empty for a final report.
    pub watermark: String,
    /// Name and value.
    pub facts: Vec<Fact>,
    /// Sentences below the facts: what it replaces.
    pub lead: Vec<String>,
    /// a to t, and what follows them.
    pub sections: Vec<Section>,
    /// The last line.
    pub end: String,
}

/// A section.
#[derive(Clone, Debug, Serialize)]
pub struct Section {
    /// Its letter; empty after t.
    pub letter: String,
    /// The word of its anchor.
    pub word: String,
    /// Its title.
    pub title: String,
    /// What stands in it.
    pub blocks: Vec<Block>,
}

/// Name and value.
pub type Fact = [String; 2];

/// A part of a section.
#[derive(Clone, Debug, Serialize)]
#[serde(tag = "kind", content = "of", rename_all = "snake_case")]
pub enum Block {
    /// A heading below that of the section.
    Heading(String),
    /// A paragraph.
    Text(String),
    /// A paragraph in small letters.
    Note(String),
    /// A list.
    List(Vec<String>),
    /// Names with their values.
    Facts(Vec<Fact>),
    /// Names with values that are compared letter by letter.
    Exact(Vec<Fact>),
    /// A table over the whole width.
    Table(Table),
    /// A table with figures beside it.
    Beside {
        /// The heading above both.
        heading: String,
        /// What is to be known of the numbers; may be empty.
        note: String,
        /// The table.
        table: Table,
        /// The figures.
        figures: Vec<Drawn>,
    },
    /// Text in English, whatever the language of the report.
    English(Vec<Fact>),
}

/// A table.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Table {
    /// What it shows, for those who do not see it.
    pub caption: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows, each as long as the columns.
    pub rows: Vec<Vec<Cell>>,
}

/// A column.
#[derive(Clone, Debug, Serialize)]
pub struct Column {
    /// Its head.
    pub head: String,
    /// Numbers, flush right.
    pub number: bool,
    /// Takes the width that others leave.
    pub wide: bool,
}

/// A cell.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Cell {
    /// Its text.
    pub text: String,
    /// `warning`, `action` or empty.
    pub look: &'static str,
}

/// A figure.
#[derive(Clone, Debug, Serialize)]
pub struct Drawn {
    /// The text of an SVG.
    pub svg: String,
    /// One sentence that says what it shows.
    pub alt: String,
}

impl Column {
    pub(super) fn text(head: impl Into<String>) -> Column {
        Column { head: head.into(), number: false, wide: false }
    }

    pub(super) fn wide(head: impl Into<String>) -> Column {
        Column { head: head.into(), number: false, wide: true }
    }

    pub(super) fn number(head: impl Into<String>) -> Column {
        Column { head: head.into(), number: true, wide: false }
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Cell {
        Cell { text, look: "" }
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Cell {
        Cell { text: text.to_owned(), look: "" }
    }
}

impl Table {
    pub(super) fn new(caption: String, columns: Vec<Column>) -> Table {
        Table { caption, columns, rows: Vec::new() }
    }

    pub(super) fn push<const N: usize>(&mut self, cells: [Cell; N]) {
        self.rows.push(cells.into());
    }

    /// The table with the decimal signs of its columns of numbers one below the other.
    pub(super) fn aligned(mut self) -> Table {
        for (place, column) in self.columns.iter().enumerate().filter(|(_, column)| column.number) {
            debug_assert!(self.rows.iter().all(|row| row.len() == self.columns.len()), "{}", column.head);
            let texts: Vec<String> = self.rows.iter().map(|row| row[place].text.clone()).collect();
            // Ranges, and numbers with a unit or a kind, have no one decimal sign.
            if texts.iter().any(|text| text.contains(' ')) {
                continue;
            }
            for (row, text) in self.rows.iter_mut().zip(crate::number::align(&texts)) {
                row[place].text = text;
            }
        }
        self
    }
}
