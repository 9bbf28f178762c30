//! Tables out of workbooks of the kind `.xlsx` (ECMA-376), which are zip
//! archives of XML parts: content that strangers send.
//!
//! Only the parts that lead to cells are inflated: where the workbook stands,
//! its list of sheets, its texts, its number formats and its visible sheets.
//! Pictures, macros, links and everything else are never looked at. What is
//! inflated, how many events of XML it makes, how large one of them is and how
//! deep they nest is counted while it is read; no size that the file declares
//! is believed, and nothing is reserved by one.
//!
//! A cell is taken as it is or refused: a number that the spreadsheet holds as
//! a number is written with the fewest digits that give the same number (see
//! [`cells`]); dates, times, percentages, truth values and formulas are never
//! turned into something else.

mod cells;
mod styles;
mod xml;

use super::RowProblem;
use super::encoding::Encoding;
use super::file::Sheet;
use super::table::{Examined, Refused, Row, Table};
use crate::field::Problem;
use std::collections::HashMap;
use std::io::Cursor;
use xml::{Flow, Limits, Node};
use zip::ZipArchive;

/// The most entries of the archive.
const MAX_ENTRIES: usize = 200;

/// The most bytes that are inflated in all.
const MAX_INFLATED: u64 = 32 << 20;

/// The most sheets that are looked at.
const MAX_SHEETS: usize = 20;

/// The most texts of a workbook.
const MAX_TEXTS: usize = 1 << 20;

/// The most bytes of the texts of a workbook.
const MAX_TEXT: usize = 16 << 20;

/// Whether these are the first bytes of a zip archive.
pub(super) fn is_archive(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06")
}

/// The visible sheets of a workbook, in their order.
///
/// # Errors
///
/// What is wrong with the file as a workbook. What is wrong with a sheet stands
/// in it.
pub(super) fn read(bytes: &[u8]) -> Result<Vec<Sheet>, RowProblem> {
    let sheets = rows(bytes)?.into_iter().map(|(name, read)| {
        let examined = read.map_err(|problem| vec![problem]).and_then(table);
        Sheet { name, examined }
    });
    Ok(sheets.collect())
}

/// A sheet's name, and its rows with the problems of single cells or what is
/// wrong with all of it.
type Rows = (String, Result<(Vec<Row>, Refused), RowProblem>);

/// The rows of the visible sheets, before anything is looked for in them.
///
/// # Errors
///
/// As [`read`].
pub(super) fn rows(bytes: &[u8]) -> Result<Vec<Rows>, RowProblem> {
    let mut archive = Archive::open(bytes)?;
    let workbook = archive.find_workbook()?;
    let targets = archive.relationships(&workbook)?;
    let book = archive.book(&workbook)?;
    let part = |kind: &str| targets.values().find(|target| target.kind == kind).map(|target| target.path.clone());
    let texts = match part("sharedStrings") {
        Some(path) => archive.texts(&path)?,
        None => Texts::default(),
    };
    let styles = match part("styles") {
        Some(path) => archive.styles(&path)?,
        None => Vec::new(),
    };
    let mut budget = cells::Budget::default();
    let mut sheets = Vec::new();
    for listed in book.sheets.into_iter().filter(|sheet| sheet.visible) {
        let target = targets.get(&listed.relationship).ok_or_else(broken)?;
        if target.kind != "worksheet" {
            continue;
        }
        let context = cells::Context { texts: &texts, styles: &styles, from_1904: book.from_1904 };
        let read = archive.walk(&target.path, |part, limits| cells::read(part, limits, &context, &mut budget))?;
        sheets.push((listed.name, read));
    }
    if sheets.is_empty() { Err(RowProblem::file("problem-file-sheet-none")) } else { Ok(sheets) }
}

fn table((rows, refused): (Vec<Row>, Refused)) -> Result<Examined, Vec<RowProblem>> {
    Table::of_rows(rows, Encoding::Workbook, None, refused)
}

fn broken() -> RowProblem {
    RowProblem::file("problem-file-workbook-broken")
}

fn too_large() -> RowProblem {
    let problem = Problem::new("problem-file-workbook-large").with("limit", MAX_INFLATED >> 20);
    RowProblem { line: 0, column: None, seen: None, problem }
}

/// The texts that cells refer to by number, one behind the other.
#[derive(Debug, Default)]
struct Texts {
    text: String,
    ends: Vec<u32>,
}

impl Texts {
    fn get(&self, place: usize) -> Option<&str> {
        let end = *self.ends.get(place)? as usize;
        let start = place.checked_sub(1).map_or(0, |before| self.ends[before] as usize);
        Some(&self.text[start..end])
    }
}

/// Where a relationship leads.
struct Target {
    /// The last word of its type: `worksheet`, `styles`.
    kind: String,
    path: String,
}

#[derive(Default)]
struct Book {
    sheets: Vec<Listed>,
    /// Whether days are counted from 1904.
    from_1904: bool,
}

/// A sheet as the workbook lists it.
struct Listed {
    name: String,
    relationship: String,
    visible: bool,
}

struct Archive<'a> {
    zip: ZipArchive<Cursor<&'a [u8]>>,
    /// Places of the entries by name, in small letters and with plain strokes.
    places: HashMap<String, usize>,
    limits: Limits,
}

impl<'a> Archive<'a> {
    fn open(bytes: &'a [u8]) -> Result<Self, RowProblem> {
        let zip = ZipArchive::new(Cursor::new(bytes)).map_err(|_| broken())?;
        if zip.len() > MAX_ENTRIES {
            let problem =
                Problem::new("problem-file-workbook-entries").with("count", zip.len()).with("limit", MAX_ENTRIES);
            return Err(RowProblem { line: 0, column: None, seen: None, problem });
        }
        let places =
            (0..zip.len()).filter_map(|place| Some((plain(&zip.name_for_index(place)?.ok()?), place))).collect();
        Ok(Archive { zip, places, limits: Limits::new(MAX_INFLATED) })
    }

    /// Hands the part at `path` to `visit`, with what may still be inflated.
    fn walk<T>(
        &mut self,
        path: &str,
        visit: impl FnOnce(&mut dyn std::io::Read, &Limits) -> Result<T, xml::Stop>,
    ) -> Result<T, RowProblem> {
        let place = *self.places.get(&plain(path)).ok_or_else(broken)?;
        let mut part = self.zip.by_index(place).map_err(|_| broken())?;
        visit(&mut part, &self.limits).map_err(|stop| match stop {
            xml::Stop::TooLarge => too_large(),
            xml::Stop::Broken => broken(),
        })
    }

    /// The path of the workbook's own part.
    fn find_workbook(&mut self) -> Result<String, RowProblem> {
        let other = || RowProblem::file("problem-file-not-workbook");
        if !self.places.contains_key("_rels/.rels") {
            return Err(other());
        }
        let targets = self.relationships("")?;
        let mut documents = targets.into_values().filter(|target| target.kind == "officeDocument");
        let path = documents.next().ok_or_else(other)?.path;
        let is_xml = path.to_lowercase().ends_with(".xml");
        if is_xml && self.is_workbook(&path)? { Ok(path) } else { Err(other()) }
    }

    /// Whether the root of the part is that of a workbook, and not of a letter.
    fn is_workbook(&mut self, path: &str) -> Result<bool, RowProblem> {
        let mut found = false;
        self.walk(path, |part, limits| {
            xml::walk(part, limits, |node| {
                if let Node::Open(tag) = node {
                    found = xml::local(tag) == "workbook";
                    return Ok(Flow::Stop);
                }
                Ok(Flow::On)
            })
        })?;
        Ok(found)
    }

    /// Where the relationships of the part at `path` lead, by their names; those
    /// of the whole archive for an empty path.
    fn relationships(&mut self, path: &str) -> Result<HashMap<String, Target>, RowProblem> {
        let (folder, name) = path.rsplit_once('/').unwrap_or(("", path));
        let below = if folder.is_empty() { String::new() } else { format!("{folder}/") };
        let mut targets = HashMap::new();
        self.walk(&format!("{below}_rels/{name}.rels"), |part, limits| {
            xml::walk(part, limits, |node| {
                if let Node::Open(tag) = node
                    && xml::local(tag) == "Relationship"
                    && xml::attribute(tag, "TargetMode")?.as_deref() != Some("External")
                    && let (Some(id), Some(kind), Some(target)) =
                        (xml::attribute(tag, "Id")?, xml::attribute(tag, "Type")?, xml::attribute(tag, "Target")?)
                {
                    let kind = kind.rsplit('/').next().unwrap_or_default().to_owned();
                    targets.insert(id, Target { kind, path: resolved(folder, &target) });
                }
                if targets.len() > MAX_ENTRIES { Err(xml::Stop::TooLarge) } else { Ok(Flow::On) }
            })
        })?;
        Ok(targets)
    }

    fn book(&mut self, path: &str) -> Result<Book, RowProblem> {
        let mut book = Book::default();
        self.walk(path, |part, limits| {
            xml::walk(part, limits, |node| {
                let Node::Open(tag) = node else { return Ok(Flow::On) };
                match xml::local(tag) {
                    "workbookPr" => {
                        book.from_1904 = matches!(xml::attribute(tag, "date1904")?.as_deref(), Some("1" | "true"));
                    }
                    "sheet" => {
                        let visible = xml::attribute(tag, "state")?.is_none_or(|state| state == "visible");
                        let name = xml::attribute(tag, "name")?.unwrap_or_default();
                        let relationship = xml::qualified(tag, "id")?.ok_or(xml::Stop::Broken)?;
                        book.sheets.push(Listed { name, relationship, visible });
                    }
                    _ => {}
                }
                if book.sheets.len() > MAX_SHEETS { Err(xml::Stop::TooLarge) } else { Ok(Flow::On) }
            })
        })?;
        Ok(book)
    }

    fn texts(&mut self, path: &str) -> Result<Texts, RowProblem> {
        let mut texts = Texts::default();
        let (mut inside, mut phonetic) = (false, false);
        self.walk(path, |part, limits| {
            xml::walk(part, limits, |node| {
                match node {
                    Node::Open(tag) => match xml::local(tag) {
                        "t" => inside = true,
                        "rPh" => phonetic = true,
                        _ => {}
                    },
                    Node::Text(text) if inside && !phonetic => texts.text.push_str(text),
                    Node::Text(_) => {}
                    Node::Close(name) => match name {
                        "t" => inside = false,
                        "rPh" => phonetic = false,
                        "si" => texts.ends.push(texts.text.len() as u32),
                        _ => {}
                    },
                }
                let large = texts.text.len() > MAX_TEXT || texts.ends.len() > MAX_TEXTS;
                if large { Err(xml::Stop::TooLarge) } else { Ok(Flow::On) }
            })
        })?;
        Ok(texts)
    }

    fn styles(&mut self, path: &str) -> Result<Vec<styles::Kind>, RowProblem> {
        self.walk(path, styles::read)
    }
}

/// A name of an entry as it is compared.
fn plain(name: &str) -> String {
    name.replace('\\', "/").trim_start_matches('/').to_lowercase()
}

/// The path that `target` means, seen from `folder`. Steps out of the archive
/// lead nowhere.
fn resolved(folder: &str, target: &str) -> String {
    let target = target.replace('\\', "/");
    let start = if target.starts_with('/') { "" } else { folder };
    let mut steps: Vec<&str> = Vec::new();
    for step in start.split('/').chain(target.split('/')) {
        match step {
            "" | "." => {}
            ".." => {
                steps.pop();
            }
            step => steps.push(step),
        }
    }
    steps.join("/")
}
