//! Typesetting: a template and its data to the bytes of a PDF. Nothing is read from
//! the file system, the network or the clock.

use crate::Error;
use serde::Serialize;
use serde_json::Value;
use std::num::NonZero;
use std::sync::{Condvar, Mutex, OnceLock, PoisonError};
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook, FontVariant};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

/// What is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Template {
    Certificate,
    Receipt,
    Report,
}

/// What does not change from one document to the next.
struct Base {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    page: Source,
    certificate: Source,
    receipt: Source,
    report: Source,
    data: FileId,
    attachment: FileId,
}

/// Names of files that exist in memory only. They are interned for ever, so there
/// are no others.
fn file(name: &str) -> FileId {
    let path = VirtualPath::new(name).expect("a path of ours");
    FileId::new(RootedPath::new(VirtualRoot::Project, path))
}

fn source(name: &str, text: &str) -> Source {
    Source::new(file(name), text.to_owned())
}

fn base() -> &'static Base {
    static BASE: OnceLock<Base> = OnceLock::new();
    BASE.get_or_init(|| {
        let fonts: Vec<Font> = typst_assets::fonts().flat_map(|data| Font::iter(Bytes::new(data))).collect();
        Base {
            library: LazyHash::new(Library::default()),
            book: LazyHash::new(FontBook::from_fonts(&fonts)),
            fonts,
            page: source("/page.typ", include_str!("../../../templates/documents/page.typ")),
            certificate: source("/certificate.typ", include_str!("../../../templates/documents/certificate.typ")),
            receipt: source("/receipt.typ", include_str!("../../../templates/documents/receipt.typ")),
            report: source("/report.typ", include_str!("../../../templates/documents/report.typ")),
            data: file("/data.json"),
            attachment: file("/attachment"),
        }
    })
}

/// One document: the template with its data.
struct Document {
    base: &'static Base,
    template: &'static Source,
    data: Bytes,
    attachment: Bytes,
}

impl World for Document {
    fn library(&self) -> &LazyHash<Library> {
        &self.base.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.base.book
    }

    fn main(&self) -> FileId {
        self.template.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        let known = [self.template, &self.base.page];
        known.into_iter().find(|source| source.id() == id).cloned().ok_or(FileError::AccessDenied)
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        if id == self.base.data {
            Ok(self.data.clone())
        } else if id == self.base.attachment {
            Ok(self.attachment.clone())
        } else {
            Err(FileError::AccessDenied)
        }
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.base.fonts.get(index).cloned()
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        None
    }
}

/// Sets a document with `data` and exports it as PDF/A-3a and PDF/UA-1.
/// Characters without a glyph are replaced.
///
/// `identifier` is the same for the same document and makes the PDF's own.
pub(crate) fn pdf(
    template: Template,
    data: &impl Serialize,
    attachment: &[u8],
    identifier: &str,
) -> Result<Vec<u8>, Error> {
    match set(template, json(data, false)?, attachment.to_vec(), identifier) {
        // Some scripts need more than a glyph for each character: then without them.
        Err(Error::Export(_)) => set(template, json(data, true)?, attachment.to_vec(), identifier),
        result => result,
    }
}

fn set(template: Template, data: Vec<u8>, attachment: Vec<u8>, identifier: &str) -> Result<Vec<u8>, Error> {
    let _turn = Turn::take();
    let base = base();
    let template = match template {
        Template::Certificate => &base.certificate,
        Template::Receipt => &base.receipt,
        Template::Report => &base.report,
    };
    let document = Document { base, template, data: Bytes::new(data), attachment: Bytes::new(attachment) };
    let result = export(&document, identifier);
    // The compiler remembers everything it has set, for ever, unless told.
    typst::comemo::evict(0);
    result
}

fn export(document: &Document, identifier: &str) -> Result<Vec<u8>, Error> {
    let pages: PagedDocument = typst::compile(document).output.map_err(|faults| Error::Typeset(messages(&faults)))?;
    let standards = PdfStandards::new(&[PdfStandard::A_3a, PdfStandard::Ua_1])
        .map_err(|fault| Error::Export(vec![fault.message().to_string()]))?;
    let options = PdfOptions {
        ident: Smart::Custom(identifier.to_owned()),
        creator: Smart::Custom(Some("Roundel".to_owned())),
        timestamp: None,
        standards,
        ..PdfOptions::default()
    };
    typst_pdf::pdf(&pages, &options).map_err(|faults| Error::Export(messages(&faults)))
}

fn messages(faults: &[SourceDiagnostic]) -> Vec<String> {
    faults.iter().map(|fault| fault.message.to_string()).collect()
}

/// The data as JSON. `strict` keeps only what the font of the text has.
fn json(data: &impl Serialize, strict: bool) -> Result<Vec<u8>, serde_json::Error> {
    let mut value = serde_json::to_value(data)?;
    replace_missing(&mut value, strict);
    serde_json::to_vec(&value)
}

fn replace_missing(value: &mut Value, strict: bool) {
    match value {
        Value::String(text) => {
            let shown = |letter: char| letter == '\n' || if strict { text_font_covers(letter) } else { covers(letter) };
            if !text.chars().all(shown) {
                let kept = text.chars().filter(|letter| !is_invisible(*letter));
                *text = kept.map(|letter| if shown(letter) { letter } else { char::REPLACEMENT_CHARACTER }).collect();
            }
        }
        Value::Array(values) => values.iter_mut().for_each(|value| replace_missing(value, strict)),
        Value::Object(fields) => fields.values_mut().for_each(|value| replace_missing(value, strict)),
        _ => {}
    }
}

/// Control and joining characters, which nobody would miss.
fn is_invisible(letter: char) -> bool {
    letter.is_control()
        || matches!(letter, '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{206F}' | '\u{FE00}'..='\u{FE0F}' | '\u{FEFF}')
}

/// Whether a carried font has the character.
fn covers(letter: char) -> bool {
    base().fonts.iter().any(|font| font.info().coverage.contains(u32::from(letter)))
}

/// The font of the text in a variant.
pub(crate) fn text_font(variant: FontVariant) -> Option<Font> {
    let place = base().book.select("libertinus serif", variant)?;
    base().fonts.get(place).cloned()
}

/// Whether the font of the text has the character.
fn text_font_covers(letter: char) -> bool {
    let mut fonts = base().fonts.iter();
    fonts.next().is_some_and(|font| font.info().coverage.contains(u32::from(letter)))
}

/// A name for a file inside the PDF: it must not be a path.
pub(crate) fn file_name(name: &str) -> String {
    let allowed = |letter: char| letter.is_ascii_alphanumeric() || matches!(letter, '-' | '_' | '.');
    let name: String = name.chars().map(|letter| if allowed(letter) { letter } else { '-' }).collect();
    let name = name.trim_start_matches('.');
    if name.is_empty() { "data".to_owned() } else { name.to_owned() }
}

/// A turn at the work: as many at once as there are cores, since each needs some
/// tens of megabytes.
struct Turn;

static BUSY: Mutex<usize> = Mutex::new(0);
static FREED: Condvar = Condvar::new();

impl Turn {
    fn take() -> Turn {
        let most = std::thread::available_parallelism().map_or(1, NonZero::get);
        let mut busy = BUSY.lock().unwrap_or_else(PoisonError::into_inner);
        while *busy >= most {
            busy = FREED.wait(busy).unwrap_or_else(PoisonError::into_inner);
        }
        *busy += 1;
        Turn
    }
}

impl Drop for Turn {
    fn drop(&mut self) {
        *BUSY.lock().unwrap_or_else(PoisonError::into_inner) -= 1;
        FREED.notify_one();
    }
}
