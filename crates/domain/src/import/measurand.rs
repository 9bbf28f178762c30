//! The file of measurands with which a round is set up.

use super::RowProblem;
use super::assigned::{AssignedValue, Sigma, assigned_value, sigma, twice};
use super::file::File;
use super::row::{Column, Reader, Seen, optional, required};
use super::table::Row;
use crate::number::{Decimal, Range};
use crate::text;

/// One row of a file of measurands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MeasurandRow {
    /// Line of the file.
    pub line: usize,
    /// Code of the item, at most 40 characters.
    pub item: String,
    /// Name of the analyte, at most 100 characters.
    pub analyte: String,
    /// Unit, at most 30 characters.
    pub unit: String,
    /// What the result is expressed as, at most 100 characters.
    pub expressed_as: Option<String>,
    /// Decimals for display, 0–6.
    pub decimals: Option<u8>,
    /// The limit of quantification that the plan asks for, above zero.
    pub required_loq: Option<Decimal>,
    /// Values that a result has, 1–4; 1 where the file does not say.
    pub replicates: u8,
    /// The assigned value, where it is known beforehand.
    pub assigned: Option<AssignedValue>,
    /// The standard deviation for proficiency assessment, where it is given.
    pub sigma: Option<Sigma>,
}

const COLUMNS: &[Column] = &[
    required("item"),
    required("analyte"),
    required("unit"),
    optional("expressed_as"),
    optional("decimals"),
    optional("required_loq"),
    optional("replicates"),
    optional("x_pt"),
    optional("u_x_pt"),
    optional("U_x_pt"),
    optional("k"),
    optional("sigma_pt"),
    optional("sigma_pt_percent"),
    optional("route"),
];

/// A file to fill in: the header and one row as example.
pub fn measurands_template() -> &'static str {
    "item,analyte,unit,expressed_as,decimals,required_loq,replicates,\
     x_pt,u_x_pt,U_x_pt,k,sigma_pt,sigma_pt_percent,route\n\
     A,carbamazepine,ng/L,carbamazepine,1,25,1,32.4,0.39,,,,25,formulation\n"
}

/// Reads a file of measurands.
///
/// # Errors
///
/// Everything that is wrong with the file, by line; among it an item and analyte
/// that two lines name, without regard to capitals.
pub fn measurands(file: &File) -> Result<Vec<MeasurandRow>, Vec<RowProblem>> {
    let mut reader = Reader::new(file, COLUMNS)?;
    let mut seen = Seen::new();
    let mut rows = Vec::new();
    for row in reader.rows() {
        let Some(read) = measurand(&mut reader, row) else {
            continue;
        };
        if let Some(first) = seen.earlier((text::key(&read.item), text::key(&read.analyte)), row.line) {
            reader.refuse(row, "analyte", twice(&read.item, &read.analyte, first, row.line));
        }
        rows.push(read);
    }
    reader.finish(rows)
}

fn measurand<'a>(reader: &mut Reader<'a>, row: &'a Row) -> Option<MeasurandRow> {
    let item = reader.text(row, "item", 40);
    let analyte = reader.text(row, "analyte", 100);
    let unit = reader.text(row, "unit", 30);
    let expressed_as = reader.optional_text(row, "expressed_as", 100);
    let decimals = reader.whole(row, "decimals", 0, 6);
    let required_loq = reader.number(row, "required_loq", Range::Positive);
    let replicates = reader.whole(row, "replicates", 1, 4).unwrap_or(1);
    let assigned = assigned_value(reader, row);
    let sigma = sigma(reader, row, false);
    Some(MeasurandRow {
        line: row.line,
        item: item?,
        analyte: analyte?,
        unit: unit?,
        expressed_as,
        decimals,
        required_loq,
        replicates,
        assigned,
        sigma,
    })
}
