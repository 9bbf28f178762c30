//! Tables as files: separated values for programs, workbooks for people.
//!
//! The same table gives the same bytes. In a workbook texts are texts and
//! numbers are numbers; cells to be filled in are formatted as text, so that no
//! program turns 1.5 into a date. In separated values the decimal sign is a
//! point, and a text that a spreadsheet would compute begins with an apostrophe.

use rust_xlsxwriter::{
    DataValidation, DocProperties, ExcelDateTime, Format, FormatAlign, FormatBorder, Workbook, Worksheet, XlsxError,
};

/// The media type of a workbook, which has no shorter name.
pub const MEDIA_TYPE: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";

/// A table, and what a reader must know of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sheet {
    /// Name of the table's sheet, at most 31 characters.
    pub name: String,
    /// The columns.
    pub columns: Vec<Column>,
    /// The rows, each with a cell for every column.
    pub rows: Vec<Vec<Cell>>,
    /// What the second sheet says; none without it.
    pub about: Option<About>,
}

/// The second sheet of a workbook.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct About {
    /// Its name, at most 31 characters.
    pub name: String,
    /// Its lines; the first is the heading.
    pub lines: Vec<String>,
}

/// A column.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Column {
    /// Its name in the first row.
    pub name: String,
    /// Whether its cells are to be filled in.
    pub input: bool,
    /// The words that may stand in its cells; any text where there are none.
    pub words: Vec<String>,
}

/// A cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Nothing.
    Empty,
    /// A text, as it is.
    Text(String),
    /// A number.
    Number(f64),
    /// A number of which the digits count, `1.50`: a workbook has the number
    /// 1.5, separated values have its text.
    Decimal(String),
}

impl Cell {
    /// A text, or nothing for an empty one.
    pub fn text(text: impl Into<String>) -> Cell {
        let text = text.into();
        if text.is_empty() { Cell::Empty } else { Cell::Text(text) }
    }

    /// A number, or nothing.
    pub fn number(number: Option<f64>) -> Cell {
        number.filter(|number| number.is_finite()).map_or(Cell::Empty, Cell::Number)
    }

    fn shown(&self) -> String {
        match self {
            Cell::Empty => String::new(),
            Cell::Text(text) | Cell::Decimal(text) => text.clone(),
            Cell::Number(number) => number.to_string(),
        }
    }
}

impl Column {
    /// A column that is filled already.
    pub fn filled(name: impl Into<String>) -> Column {
        Column { name: name.into(), ..Column::default() }
    }

    /// A column to be filled in.
    pub fn input(name: impl Into<String>) -> Column {
        Column { name: name.into(), input: true, words: Vec::new() }
    }

    /// A column to be filled in with one of these words.
    pub fn choice(name: impl Into<String>, words: &[&str]) -> Column {
        let words = words.iter().map(|word| (*word).to_owned()).collect();
        Column { name: name.into(), input: true, words }
    }
}

/// The table as separated values: UTF-8, commas, a line end of two characters
/// (RFC 4180).
pub fn csv(sheet: &Sheet) -> String {
    let names: Vec<Cell> = sheet.columns.iter().map(|column| Cell::Text(column.name.clone())).collect();
    let mut text = String::new();
    for row in std::iter::once(&names).chain(&sheet.rows) {
        let cells: Vec<String> = row.iter().map(csv_cell).collect();
        text.push_str(&cells.join(","));
        text.push_str("\r\n");
    }
    text
}

fn csv_cell(cell: &Cell) -> String {
    let text = match cell {
        Cell::Text(text) if would_be_computed(text) => format!("'{text}"),
        cell => cell.shown(),
    };
    if text.contains([',', ';', '"', '\n', '\r', '\t']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text }
}

/// Whether a spreadsheet takes the text for a formula: it begins as one does,
/// and is more than a number with its sign.
pub(crate) fn would_be_computed(text: &str) -> bool {
    let is_number =
        |rest: &str| !rest.is_empty() && rest.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | ' '));
    match text.chars().next() {
        Some('=' | '@' | '\t' | '\r' | '\n') => true,
        Some('+' | '-') => !is_number(&text[1..]),
        _ => false,
    }
}

/// The table as a workbook of the kind `.xlsx`.
///
/// # Errors
///
/// When the table has more rows or longer texts than a workbook can hold, or a
/// sheet's name has signs that none may have.
pub fn xlsx(sheet: &Sheet) -> Result<Vec<u8>, XlsxError> {
    book(std::slice::from_ref(sheet), sheet.about.as_ref())
}

/// Tables as one workbook of the kind `.xlsx`, a sheet each, and a last sheet that
/// says what they are.
///
/// # Errors
///
/// As [`xlsx`]; also when two tables have one name.
pub fn book(sheets: &[Sheet], about: Option<&About>) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    // A fixed date: the same tables give the same bytes.
    let made = ExcelDateTime::from_ymd(2000, 1, 1)?;
    book.set_properties(&DocProperties::new().set_creation_datetime(&made));
    for sheet in sheets {
        write_table(book.add_worksheet(), sheet)?;
    }
    if let Some(about) = about {
        write_about(book.add_worksheet(), about)?;
    }
    book.save_to_buffer()
}

fn write_table(page: &mut Worksheet, sheet: &Sheet) -> Result<(), XlsxError> {
    let head = Format::new().set_bold().set_background_color(0xE7_ED_F3).set_border_bottom(FormatBorder::Thin);
    let text = Format::new().set_num_format("@");
    let input = Format::new()
        .set_num_format("@")
        .set_background_color(0xFF_FB_E6)
        .set_border(FormatBorder::Hair)
        .set_align(FormatAlign::Left);
    page.set_name(&sheet.name)?;
    page.set_freeze_panes(1, 0)?.set_repeat_rows(0, 0)?.set_landscape();
    for (place, column) in sheet.columns.iter().enumerate() {
        let place = place as u16;
        page.set_column_width(place, width(sheet, usize::from(place)))?;
        if column.input {
            page.set_column_format(place, &text)?;
        }
        page.write_string_with_format(0, place, &column.name, &head)?;
        if !column.words.is_empty() && !sheet.rows.is_empty() {
            let words = DataValidation::new().allow_list_strings(&column.words)?;
            page.add_data_validation(1, place, sheet.rows.len() as u32, place, &words)?;
        }
    }
    for (line, row) in sheet.rows.iter().enumerate() {
        let line = line as u32 + 1;
        for (place, (cell, column)) in row.iter().zip(&sheet.columns).enumerate() {
            let place = place as u16;
            let format = if column.input { &input } else { &text };
            match cell {
                Cell::Empty if column.input => page.write_blank(line, place, format)?,
                Cell::Empty => page,
                Cell::Number(number) => page.write_number(line, place, *number)?,
                Cell::Decimal(decimal) if !column.input => match decimal.parse::<f64>() {
                    Ok(number) if number.is_finite() => page.write_number(line, place, number)?,
                    _ => page.write_string_with_format(line, place, decimal, format)?,
                },
                Cell::Text(written) | Cell::Decimal(written) => {
                    page.write_string_with_format(line, place, written, format)?
                }
            };
        }
    }
    Ok(())
}

fn write_about(page: &mut Worksheet, about: &About) -> Result<(), XlsxError> {
    let heading = Format::new().set_bold().set_font_size(14);
    let line = Format::new().set_text_wrap().set_align(FormatAlign::Top);
    page.set_name(&about.name)?;
    page.set_column_width(0, 100)?;
    for (place, text) in about.lines.iter().enumerate() {
        page.write_string_with_format(place as u32, 0, text, if place == 0 { &heading } else { &line })?;
    }
    Ok(())
}

/// Wide enough for what stands in the column, and for what is typed into it.
fn width(sheet: &Sheet, place: usize) -> f64 {
    const LOOKED_AT: usize = 500;
    let column = &sheet.columns[place];
    let cells = sheet.rows.iter().take(LOOKED_AT).map(|row| row[place].shown().chars().count());
    let words = column.words.iter().map(|word| word.chars().count());
    let longest = cells.chain(words).max().unwrap_or_default().max(column.name.chars().count());
    (longest + 3).clamp(10, 40) as f64
}
