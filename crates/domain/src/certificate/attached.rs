//! The sealed file inside a PDF, found without reading the rest of the PDF.
//!
//! Files inside a PDF are streams of the type EmbeddedFile (ISO 32000-1, 7.11.4).
//! A stream stands in the file as it is, never inside another, so looking for its
//! dictionary finds it.

use flate2::read::ZlibDecoder;
use std::io::Read;

/// The most bytes of a sealed file. One result takes about half a kilobyte.
pub const MOST_BYTES: u64 = 4 * 1024 * 1024;

/// Why there is nothing to check in a PDF.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Error {
    /// It carries no sealed certificate.
    #[error("no sealed certificate is attached to this PDF")]
    None,
    /// It carries several: which one the pages belong to cannot be told.
    #[error("more than one sealed certificate is attached to this PDF")]
    Several,
}

/// Whether the bytes begin as a PDF does.
pub fn is_pdf(bytes: &[u8]) -> bool {
    bytes.starts_with(b"%PDF-")
}

/// The sealed file that a certificate carries.
///
/// # Errors
///
/// [`Error`] unless there is exactly one file that has the form of one.
pub fn sealed(pdf: &[u8]) -> Result<Vec<u8>, Error> {
    let mut found = Vec::new();
    let mut from = 0;
    while let Some(at) = find(&pdf[from..], b"/EmbeddedFile").map(|at| from + at) {
        from = at + b"/EmbeddedFile".len();
        // The names tree of a catalogue is called EmbeddedFiles.
        if pdf.get(from).is_some_and(u8::is_ascii_alphanumeric) {
            continue;
        }
        // Whatever resembles a sealed file: one with a changed letter is found too, so
        // that it can be refused for what it is.
        found.extend(content(pdf, at).filter(|file| find(file, b"\"signature\"").is_some()));
    }
    match found.len() {
        0 => Err(Error::None),
        1 => Ok(found.remove(0)),
        _ => Err(Error::Several),
    }
}

/// The content of the stream in whose dictionary the place lies.
fn content(pdf: &[u8], inside: usize) -> Option<Vec<u8>> {
    let begin = find_last(&pdf[..inside], b" obj")?;
    let stream = inside + find(&pdf[inside..], b"stream")?;
    let dictionary = &pdf[begin..stream];
    let after = stream + b"stream".len();
    // The keyword is followed by CR LF or by LF (ISO 32000-1, 7.3.8.1).
    let data = match pdf.get(after..)? {
        [b'\r', b'\n', ..] => after + 2,
        [b'\n', ..] => after + 1,
        _ => return None,
    };
    let raw = pdf.get(data..data.checked_add(length(dictionary)?)?)?;
    if find(dictionary, b"/FlateDecode").is_none() {
        return Some(raw.to_vec());
    }
    let mut plain = Vec::new();
    ZlibDecoder::new(raw).take(MOST_BYTES).read_to_end(&mut plain).ok()?;
    Some(plain)
}

/// The direct number of /Length.
fn length(dictionary: &[u8]) -> Option<usize> {
    let at = find(dictionary, b"/Length")? + b"/Length".len();
    let digits: Vec<u8> =
        dictionary[at..].iter().copied().skip_while(u8::is_ascii_whitespace).take_while(u8::is_ascii_digit).collect();
    std::str::from_utf8(&digits).ok()?.parse().ok()
}

/// Where `wanted` begins first.
pub(super) fn find(bytes: &[u8], wanted: &[u8]) -> Option<usize> {
    let (first, rest) = wanted.split_first()?;
    let mut from = 0;
    // By its first letter, which is quick in code that is not optimised too.
    while let Some(at) = bytes.get(from..)?.iter().position(|byte| byte == first).map(|at| from + at) {
        if bytes[at + 1..].starts_with(rest) {
            return Some(at);
        }
        from = at + 1;
    }
    None
}

fn find_last(bytes: &[u8], wanted: &[u8]) -> Option<usize> {
    bytes.windows(wanted.len()).rposition(|window| window == wanted)
}
