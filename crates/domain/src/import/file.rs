//! A file that somebody uploaded, of whichever kind, as tables.

use super::row::{Column, fitting, needed};
use super::table::{Examined, Table};
use super::{MAX_BYTES, RowProblem, spreadsheet};
use crate::field::{Problem, shortened};

/// An uploaded file, read as one table, or as several where it is a workbook:
/// which of them is meant shows when the columns are known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct File {
    sheets: Result<Vec<Sheet>, RowProblem>,
}

/// A sheet of a workbook; a text file is one without a name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Sheet {
    pub(super) name: String,
    pub(super) examined: Result<Examined, Vec<RowProblem>>,
}

/// First bytes of old workbooks and of those that a password protects.
const COMPOUND: &[u8] = b"\xD0\xCF\x11\xE0";

impl File {
    /// Reads the bytes of a file as tables: a workbook of the kind `.xlsx` or
    /// `.xlsm`, whose macros are not looked at, or a text of separated values.
    /// The first bytes tell which; a name is not asked.
    ///
    /// What is wrong comes from the functions that read what the tables mean.
    /// At worst this takes about a second and 100 MiB; a thread that must not
    /// wait lets another one do it.
    pub fn read(bytes: &[u8]) -> File {
        File { sheets: sheets(bytes) }
    }

    /// The table with these columns: the first that has all that must be there,
    /// otherwise the one with most of them.
    ///
    /// # Errors
    ///
    /// What is wrong with the file, or with its only table.
    pub(super) fn find(&self, known: &'static [Column]) -> Result<&Examined, Vec<RowProblem>> {
        self.find_sheet(known)?.examined.as_ref().map_err(Clone::clone)
    }

    /// The sheet that [`File::find`] takes the table from.
    pub(super) fn find_sheet(&self, known: &'static [Column]) -> Result<&Sheet, Vec<RowProblem>> {
        let sheets = self.sheets.as_ref().map_err(|problem| vec![problem.clone()])?;
        let used: Vec<&Sheet> = sheets.iter().filter(|sheet| !sheet.is_empty()).collect();
        let [first, others @ ..] = used.as_slice() else {
            return Err(vec![RowProblem::file("problem-file-empty")]);
        };
        let fit =
            |sheet: &Sheet| sheet.examined.as_ref().map_or((false, 0), |examined| fitting(&examined.table, known));
        let mut best = (*first, fit(first));
        for sheet in others {
            let found = fit(sheet);
            if found > best.1 {
                best = (sheet, found);
            }
        }
        if best.1 == (false, 0) && !others.is_empty() {
            return Err(vec![nowhere(&used, known)]);
        }
        Ok(best.0)
    }

    /// The only table of the file, or its first.
    ///
    /// # Errors
    ///
    /// Everything that is wrong with it as a table: too large, neither a text
    /// nor a workbook, no header, names missing or repeated, rows with more or
    /// fewer cells, cells that are formulas, dates, error values or too long,
    /// quotation marks without end, a header that stands there twice.
    pub fn table(&self) -> Result<&Table, Vec<RowProblem>> {
        let examined = self.find(&[])?;
        if examined.problems.is_empty() { Ok(&examined.table) } else { Err(examined.problems.clone()) }
    }
}

impl Sheet {
    fn is_empty(&self) -> bool {
        matches!(&self.examined, Err(problems) if problems.iter().any(|one| one.problem.key == "problem-file-empty"))
    }
}

fn sheets(bytes: &[u8]) -> Result<Vec<Sheet>, RowProblem> {
    if bytes.len() > MAX_BYTES {
        let problem = Problem::new("problem-file-large").with("size", bytes.len()).with("limit", MAX_BYTES);
        return Err(RowProblem::line(0, problem));
    }
    if bytes.starts_with(COMPOUND) {
        return Err(RowProblem::file("problem-file-old-workbook"));
    }
    if is_open_document(bytes) {
        return Err(RowProblem::file("problem-file-ods"));
    }
    if spreadsheet::is_archive(bytes) {
        return spreadsheet::read(bytes);
    }
    Ok(vec![Sheet { name: String::new(), examined: Table::of_text(bytes) }])
}

/// Whether the archive says of itself that it is an OpenDocument: its first
/// entry, not compressed, is called `mimetype` (OpenDocument 1.2, part 3, 3.3).
fn is_open_document(bytes: &[u8]) -> bool {
    const NAME_AT: usize = 30;
    spreadsheet::is_archive(bytes)
        && bytes.get(NAME_AT..).is_some_and(|rest| rest.starts_with(b"mimetypeapplication/vnd.oasis.opendocument"))
}

fn nowhere(sheets: &[&Sheet], known: &'static [Column]) -> RowProblem {
    let names: Vec<String> = sheets.iter().map(|sheet| shortened(&sheet.name)).collect();
    let problem =
        Problem::new("problem-file-sheet-header").with("sheets", names.join(", ")).with("columns", needed(known));
    RowProblem::line(0, problem)
}
