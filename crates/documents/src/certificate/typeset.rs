//! Typesetting: a template and its data to the bytes of a PDF. Nothing is read from
//! the file system, the network or the clock.

use super::Error;
use std::num::NonZero;
use std::sync::{Condvar, Mutex, OnceLock, PoisonError};
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

const TEMPLATE: &str = include_str!("../../../../templates/documents/certificate.typ");

/// What does not change from one document to the next.
struct Base {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    template: Source,
    data: FileId,
    attachment: FileId,
}

/// Names of files that exist in memory only. They are interned for ever, so there
/// are no others.
fn file(name: &str) -> FileId {
    let path = VirtualPath::new(name).expect("a path of ours");
    FileId::new(RootedPath::new(VirtualRoot::Project, path))
}

fn base() -> &'static Base {
    static BASE: OnceLock<Base> = OnceLock::new();
    BASE.get_or_init(|| {
        let fonts: Vec<Font> = typst_assets::fonts().flat_map(|data| Font::iter(Bytes::new(data))).collect();
        Base {
            library: LazyHash::new(Library::default()),
            book: LazyHash::new(FontBook::from_fonts(&fonts)),
            fonts,
            template: Source::new(file("/certificate.typ"), TEMPLATE.to_owned()),
            data: file("/data.json"),
            attachment: file("/attachment"),
        }
    })
}

/// One document: the template with its data.
struct Document {
    base: &'static Base,
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
        self.base.template.id()
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        if id == self.base.template.id() { Ok(self.base.template.clone()) } else { Err(FileError::AccessDenied) }
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

/// Sets the certificate with `data` and exports it as PDF/A-3a and PDF/UA-1.
///
/// `identifier` is the same for the same document and makes the PDF's own.
pub(super) fn pdf(data: Vec<u8>, attachment: Vec<u8>, identifier: &str) -> Result<Vec<u8>, Error> {
    let _turn = Turn::take();
    let document = Document { base: base(), data: Bytes::new(data), attachment: Bytes::new(attachment) };
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

/// Whether a carried font has the character.
pub(super) fn covers(letter: char) -> bool {
    base().fonts.iter().any(|font| font.info().coverage.contains(u32::from(letter)))
}

/// Whether the font of the text has the character.
pub(super) fn text_font_covers(letter: char) -> bool {
    let mut fonts = base().fonts.iter();
    fonts.next().is_some_and(|font| font.info().coverage.contains(u32::from(letter)))
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
