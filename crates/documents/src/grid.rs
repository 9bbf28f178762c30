//! A file that came in, on its way back: its cells as texts, and behind each
//! line what is wrong with it.

use crate::sheet::would_be_computed;
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, FormatAlign, Workbook, XlsxError};

/// A line: its number in the file, from 1, its cells, and what is said of it.
pub type Line = (usize, Vec<String>, String);

/// The lines as separated values in UTF-8, with a mark so that spreadsheet
/// programs see that, each at its number. A text that a spreadsheet would
/// compute begins with an apostrophe.
pub fn csv(lines: &[Line], separator: char) -> String {
    let mut text = "\u{FEFF}".to_owned();
    let mut next = 1;
    for (number, cells, said) in lines {
        text.push_str(&"\r\n".repeat(number.saturating_sub(next)));
        let cells: Vec<String> = cells.iter().chain([said]).map(|cell| csv_cell(cell, separator)).collect();
        let line = cells.join(&separator.to_string());
        next = number.max(&next) + line.matches('\n').count() + 1;
        text.push_str(&line);
        text.push_str("\r\n");
    }
    text
}

fn csv_cell(text: &str, separator: char) -> String {
    let text = if would_be_computed(text) { format!("'{text}") } else { text.to_owned() };
    if text.contains([separator, '"', '\n', '\r', '\t']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text }
}

/// The lines as a workbook of the kind `.xlsx`, each at its number. All cells
/// are texts, so that nothing in them is computed.
///
/// # Errors
///
/// When a text is longer than a cell can be, or the sheet's name has signs that
/// none may have.
pub fn xlsx(name: &str, lines: &[Line]) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    // A fixed date: the same lines give the same bytes.
    let made = ExcelDateTime::from_ymd(2000, 1, 1)?;
    book.set_properties(&DocProperties::new().set_creation_datetime(&made));
    let page = book.add_worksheet();
    page.set_name(name)?;
    let text = Format::new().set_num_format("@").set_align(FormatAlign::Top);
    let marked = text.clone().set_background_color(0xFF_F0_E0);
    let sentence = text.clone().set_text_wrap().set_font_color(0x9C_2A_00);
    let width = lines.iter().map(|(_, cells, _)| cells.len()).max().unwrap_or_default() as u16;
    for column in 0..width {
        page.set_column_width(column, 16)?;
        page.set_column_format(column, &text)?;
    }
    page.set_column_width(width, 70)?;
    for (number, cells, said) in lines {
        let row = number.saturating_sub(1) as u32;
        for (column, cell) in cells.iter().enumerate() {
            let format = if said.is_empty() { &text } else { &marked };
            if cell.is_empty() {
                page.write_blank(row, column as u16, format)?;
            } else {
                page.write_string_with_format(row, column as u16, cell, format)?;
            }
        }
        if !said.is_empty() {
            page.write_string_with_format(row, width, said, &sentence)?;
        }
    }
    book.save_to_buffer()
}

#[cfg(test)]
mod tests {
    use super::*;
    use calamine::{Reader, Xlsx};
    use std::io::Cursor;

    fn lines() -> Vec<Line> {
        let line = |number, cells: [&str; 3], said: &str| (number, cells.map(str::to_owned).to_vec(), said.to_owned());
        vec![
            line(2, ["item", "result", "remark"], "errors"),
            line(3, ["A", "=1+1", "-1.2"], "“=1+1” is a formula."),
            line(6, ["B", "12,5", "a \"b\"; c"], ""),
        ]
    }

    #[test]
    fn separated_values_keep_their_lines_and_nothing_is_computed() {
        let expected = "\u{FEFF}\r\n\
            item;result;remark;errors\r\n\
            A;'=1+1;-1.2;“=1+1” is a formula.\r\n\
            \r\n\r\n\
            B;12,5;\"a \"\"b\"\"; c\";\r\n";

        assert_eq!(csv(&lines(), ';'), expected);
    }

    #[test]
    fn a_workbook_holds_the_same_texts() {
        let bytes = xlsx("Results", &lines()).unwrap();
        let mut book: Xlsx<_> = calamine::open_workbook_from_rs(Cursor::new(bytes)).unwrap();
        let range = book.worksheet_range("Results").unwrap();
        let cell = |row, column| range.get_value((row, column)).map(ToString::to_string).unwrap_or_default();

        assert_eq!([cell(2, 0), cell(2, 1), cell(2, 2)], ["A", "=1+1", "-1.2"]);
        assert_eq!(
            (cell(1, 3), cell(2, 3), cell(5, 3)),
            ("errors".into(), "“=1+1” is a formula.".into(), String::new())
        );
        assert!(book.worksheet_formula("Results").unwrap().is_empty());
    }
}
