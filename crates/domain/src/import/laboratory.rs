//! The file of laboratories to invite to a round.

use super::RowProblem;
use super::file::File;
use super::row::{Column, Reader, Seen, optional, required};
use crate::field::{Problem, parse_email, shortened};
use crate::text;

/// The most characters of a name.
const MAX_NAME: usize = 200;

/// One row of a file of laboratories.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LaboratoryRow {
    /// Line of the file.
    pub line: usize,
    /// Name of the laboratory, at most 200 characters.
    pub name: String,
    /// E-mail address, as typed.
    pub email: String,
    /// The organisation that it belongs to, at most 200 characters: of one
    /// organisation, one result enters the consensus.
    pub organisation: Option<String>,
}

const COLUMNS: &[Column] = &[required("name"), required("email"), optional("organisation")];

/// A file to fill in: the header and one row as example.
pub fn laboratories_template() -> &'static str {
    "name,email,organisation\nExample Water Laboratory,results@laboratory.example,Example Group\n"
}

/// Reads a file of laboratories.
///
/// # Errors
///
/// Everything that is wrong with the file, by line; among it a name or an e-mail
/// address that two lines have, without regard to capitals.
pub fn laboratories(file: &File) -> Result<Vec<LaboratoryRow>, Vec<RowProblem>> {
    let mut reader = Reader::new(file, COLUMNS)?;
    let (mut names, mut emails) = (Seen::new(), Seen::new());
    let mut rows = Vec::new();
    for row in reader.rows() {
        let name = reader.text(row, "name", MAX_NAME);
        let email = match parse_email(reader.cell(row, "email").unwrap_or_default()) {
            Ok(email) => Some(email),
            Err(problem) => {
                reader.refuse(row, "email", problem);
                None
            }
        };
        let organisation = reader.optional_text(row, "organisation", MAX_NAME);
        let twice = |key, seen: &str, first| {
            Problem::new(key).with("seen", shortened(seen)).with("first", first).with("second", row.line)
        };
        if let Some(name) = &name
            && let Some(first) = names.earlier(text::key(name), row.line)
        {
            reader.refuse(row, "name", twice("problem-file-laboratory-twice", name, first));
        }
        if let Some(email) = &email
            && let Some(first) = emails.earlier(text::key(email), row.line)
        {
            reader.refuse(row, "email", twice("problem-file-email-twice", email, first));
        }
        if let (Some(name), Some(email)) = (name, email) {
            rows.push(LaboratoryRow { line: row.line, name, email, organisation });
        }
    }
    reader.finish(rows)
}
