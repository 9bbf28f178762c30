//! Reading tables that people upload: every error of a file at once, each with
//! line, column, the value seen and what to do; and nothing is taken from a file
//! that has an error.
//!
//! [`File::read`] tells text and workbook apart and gives cells; [`measurands`],
//! [`assigned_values`], [`laboratories`] and [`results`] read what the cells
//! mean. Writing to a database is left to others.

mod assigned;
mod block;
mod block_layout;
mod encoding;
mod file;
mod item_code;
mod laboratory;
mod limits;
mod measurand;
mod results;
mod returned;
mod row;
mod spreadsheet;
mod studies;
mod table;
#[cfg(test)]
mod tests;

pub use assigned::{
    AssignedFile, AssignedRow, AssignedValue, KnownMeasurand, Route, Sigma, Source, Uncertainty, assigned_values,
    assigned_values_template,
};
pub use block::{Block, Form, MAX_OUTSIDE, Matched, Outside, block};
pub use encoding::Encoding;
pub use file::File;
pub use laboratory::{LaboratoryRow, laboratories, laboratories_template};
pub use limits::{UnlikeLimit, unlike_limits};
pub use measurand::{MeasurandRow, measurands, measurands_template};
pub use results::{ERRORS, ResultsFile, results, results_columns};
pub use returned::{Returned, ReturnedRow, returned};
pub(crate) use row::of_a_file;
pub use row::{decided, same_unit};
pub use studies::{Course, homogeneity, homogeneity_template, stability, stability_template};
pub use table::{Row, Table};

use crate::field::{Problem, shortened};

/// The largest file, in bytes.
pub const MAX_BYTES: usize = 1 << 20;

/// The most rows below the header.
pub const MAX_ROWS: usize = 20_000;

/// The most columns.
pub const MAX_COLUMNS: usize = 64;

/// The most characters of one cell.
pub const MAX_CELL: usize = 1_000;

/// The most problems of a file that are told at once.
pub const MAX_PROBLEMS: usize = 200;

/// One thing that is wrong with an uploaded file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowProblem {
    /// Line of the file, from 1; 0 where the whole file is meant.
    pub line: usize,
    /// Name of the column as the file has it.
    pub column: Option<String>,
    /// The cell as it stands in the file, cut to a length that can be shown.
    pub seen: Option<String>,
    /// What is wrong and what to do.
    pub problem: Problem,
}

impl RowProblem {
    fn file(key: &'static str) -> Self {
        RowProblem { line: 0, column: None, seen: None, problem: Problem::new(key) }
    }

    /// A problem of a whole line.
    pub fn line(line: usize, problem: Problem) -> Self {
        RowProblem { line, column: None, seen: None, problem }
    }

    pub(crate) fn cell(line: usize, column: &str, seen: &str, problem: Problem) -> Self {
        RowProblem { line, column: Some(column.to_owned()), seen: Some(shortened(seen)), problem }
    }
}
