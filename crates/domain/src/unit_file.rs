//! Files that are kept of a unit: what its temperature logger recorded, and a photo
//! of its condition (F18). A file is known by its content, not by its name.
//!
//! A camera writes place, time and device into a photo. They could tell whose code
//! it is, so that only what draws the picture is kept. What a logger file says of
//! itself stays, since it is evidence.

use crate::field::Problem;

/// The most bytes of a file: 5 MB.
pub const MOST_BYTES: usize = 5_000_000;

/// The most files that one side keeps of one unit.
pub const MOST_FILES: usize = 10;

/// What a file is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// The record of a temperature logger.
    Logger,
    /// A photo of the condition.
    Photo,
}

impl Kind {
    /// Its word, as it stands in the names of files.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Logger => "logger",
            Kind::Photo => "photo",
        }
    }
}

/// How a file is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Form {
    /// A picture, PNG (ISO/IEC 15948).
    Png,
    /// A picture, JPEG (ISO/IEC 10918-1).
    Jpeg,
    /// A picture, WebP (RFC 9649).
    Webp,
    /// Separated values.
    Csv,
    /// Any other text.
    Text,
    /// PDF (ISO 32000).
    Pdf,
    /// A workbook (ISO/IEC 29500).
    Xlsx,
}

impl Form {
    /// All.
    pub const ALL: [Form; 7] = [Form::Png, Form::Jpeg, Form::Webp, Form::Csv, Form::Text, Form::Pdf, Form::Xlsx];

    /// The word that is stored, and the ending of a name.
    pub fn word(self) -> &'static str {
        match self {
            Form::Png => "png",
            Form::Jpeg => "jpg",
            Form::Webp => "webp",
            Form::Csv => "csv",
            Form::Text => "txt",
            Form::Pdf => "pdf",
            Form::Xlsx => "xlsx",
        }
    }

    /// The form of this word.
    pub fn of(word: &str) -> Option<Form> {
        Form::ALL.into_iter().find(|form| form.word() == word)
    }

    /// What a file of this form is for.
    pub fn kind(self) -> Kind {
        match self {
            Form::Png | Form::Jpeg | Form::Webp => Kind::Photo,
            Form::Csv | Form::Text | Form::Pdf | Form::Xlsx => Kind::Logger,
        }
    }

    /// The media type of a download. Texts have none of their own: how their letters
    /// are written is not known.
    pub fn media_type(self) -> &'static str {
        match self {
            Form::Png => "image/png",
            Form::Jpeg => "image/jpeg",
            Form::Webp => "image/webp",
            Form::Csv | Form::Text => "application/octet-stream",
            Form::Pdf => "application/pdf",
            Form::Xlsx => "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        }
    }
}

/// A file as it is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnitFile {
    /// How it is written.
    pub form: Form,
    /// Its bytes; of a photo without what the camera wrote beside the picture.
    pub bytes: Vec<u8>,
}

/// Reads a file of any kind that is kept. Of its name only the ending counts, and
/// only between two forms of text.
///
/// # Errors
///
/// No file; one that is too large; one of another kind; a picture that is cut off,
/// moves, or is no picture.
pub fn read(name: &str, bytes: &[u8]) -> Result<UnitFile, Problem> {
    if bytes.is_empty() {
        return Err(Problem::new("unit-file-none"));
    }
    if bytes.len() > MOST_BYTES {
        return Err(Problem::new("unit-file-large").with("most", MOST_BYTES / 1_000_000));
    }
    let photo = |form, cleaned: Option<Vec<u8>>| {
        let bytes = cleaned.ok_or_else(|| Problem::new("unit-file-broken"))?;
        Ok(UnitFile { form, bytes })
    };
    if bytes.starts_with(PNG) {
        return photo(Form::Png, png(bytes));
    }
    if bytes.starts_with(&[0xFF, 0xD8]) {
        return photo(Form::Jpeg, jpeg(bytes));
    }
    if bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") {
        return photo(Form::Webp, webp(bytes));
    }
    let form = if bytes.starts_with(b"%PDF-") {
        Form::Pdf
    } else if bytes.starts_with(b"PK\x03\x04") {
        let has = |part: &[u8]| bytes.windows(part.len()).any(|window| window == part);
        let is_workbook = has(b"[Content_Types].xml") && has(b"xl/workbook") && !has(b"vbaProject.bin");
        is_workbook.then_some(Form::Xlsx).ok_or_else(|| Problem::new("unit-file-kind"))?
    } else if is_text(bytes) {
        if name.to_ascii_lowercase().ends_with(".csv") { Form::Csv } else { Form::Text }
    } else {
        return Err(Problem::new("unit-file-kind"));
    };
    Ok(UnitFile { form, bytes: bytes.to_vec() })
}

/// Whether bytes are a text, in whatever way its letters are written.
fn is_text(bytes: &[u8]) -> bool {
    let is_letter = |unit: u16| unit >= 0x20 && unit != 0x7F || matches!(unit, 0x09 | 0x0A | 0x0C | 0x0D);
    match bytes {
        [0xFF, 0xFE, rest @ ..] if rest.len().is_multiple_of(2) => {
            rest.chunks_exact(2).all(|pair| is_letter(u16::from_le_bytes([pair[0], pair[1]])))
        }
        [0xFE, 0xFF, rest @ ..] if rest.len().is_multiple_of(2) => {
            rest.chunks_exact(2).all(|pair| is_letter(u16::from_be_bytes([pair[0], pair[1]])))
        }
        bytes => bytes.iter().all(|byte| is_letter(u16::from(*byte))),
    }
}

const PNG: &[u8] = b"\x89PNG\r\n\x1a\n";

/// The chunks that draw a picture; texts, times, profiles and EXIF are others.
const PNG_KEPT: [&[u8]; 10] =
    [b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"sBIT", b"pHYs"];

fn png(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut kept = PNG.to_vec();
    let mut at = PNG.len();
    let mut has_picture = false;
    loop {
        let length = u32::from_be_bytes(bytes.get(at..at + 4)?.try_into().ok()?) as usize;
        let kind = bytes.get(at + 4..at + 8)?;
        let end = at.checked_add(12)?.checked_add(length)?;
        let chunk = bytes.get(at..end)?;
        if (at == PNG.len()) != (kind == b"IHDR") {
            return None;
        }
        has_picture |= kind == b"IDAT" && length > 0;
        if PNG_KEPT.contains(&kind) {
            kept.extend_from_slice(chunk);
        }
        if kind == b"IEND" {
            return has_picture.then_some(kept);
        }
        at = end;
    }
}

fn jpeg(bytes: &[u8]) -> Option<Vec<u8>> {
    let mut kept = vec![0xFF, 0xD8];
    let mut at = 2;
    let (mut has_frame, mut has_scan) = (false, false);
    loop {
        if *bytes.get(at)? != 0xFF {
            return None;
        }
        let marker = *bytes.get(at + 1)?;
        match marker {
            // Bytes that fill up.
            0xFF => at += 1,
            0xD9 => {
                kept.extend([0xFF, 0xD9]);
                return (has_frame && has_scan).then_some(kept);
            }
            0x00 | 0x01 | 0xD0..=0xD8 => return None,
            _ => {
                let length = usize::from(u16::from_be_bytes(bytes.get(at + 2..at + 4)?.try_into().ok()?));
                let end = at + 2 + length;
                let segment = bytes.get(at..end).filter(|_| length >= 2)?;
                let is_kept = match marker {
                    // A JFIF head without a small picture, and how the colours are mixed.
                    0xE0 => length == 16 && segment.get(4..9) == Some(b"JFIF\0"),
                    0xEE => length == 14 && segment.get(4..9) == Some(b"Adobe"),
                    // EXIF, XMP, profiles and whatever a maker adds; comments.
                    0xE1..=0xEF | 0xFE => false,
                    _ => true,
                };
                if is_kept {
                    kept.extend_from_slice(segment);
                }
                has_frame |= matches!(marker, 0xC0..=0xCF) && !matches!(marker, 0xC4 | 0xC8 | 0xCC);
                at = end;
                if marker == 0xDA {
                    has_scan = true;
                    let rest = bytes.get(at..)?;
                    let goes_on = |pair: &[u8]| pair[0] != 0xFF || matches!(pair[1], 0x00 | 0xD0..=0xD7);
                    let length = rest.windows(2).position(|pair| !goes_on(pair))?;
                    kept.extend_from_slice(&rest[..length]);
                    at += length;
                }
            }
        }
    }
}

/// Of the flags of an extended head only that of transparency is kept.
const WEBP_ALPHA: u8 = 0x10;

fn webp(bytes: &[u8]) -> Option<Vec<u8>> {
    let length = u32::from_le_bytes(bytes.get(4..8)?.try_into().ok()?) as usize;
    let end = length.checked_add(8)?;
    let body = bytes.get(12..end)?;
    let mut kept = Vec::with_capacity(body.len());
    let mut at = 0;
    let mut has_picture = false;
    while at < body.len() {
        let kind = body.get(at..at + 4)?;
        let size = u32::from_le_bytes(body.get(at + 4..at + 8)?.try_into().ok()?) as usize;
        let next = at.checked_add(8)?.checked_add(size)?.checked_add(size % 2)?;
        let chunk = body.get(at..next)?;
        match kind {
            b"VP8 " | b"VP8L" => {
                has_picture = true;
                kept.extend_from_slice(chunk);
            }
            b"ALPH" => kept.extend_from_slice(chunk),
            b"VP8X" => {
                let start = kept.len();
                kept.extend_from_slice(chunk);
                *kept.get_mut(start + 8)? &= WEBP_ALPHA;
            }
            b"ANIM" | b"ANMF" => return None,
            _ => {}
        }
        at = next;
    }
    let length = u32::try_from(kept.len() + 4).ok()?;
    let mut whole = b"RIFF".to_vec();
    whole.extend(length.to_le_bytes());
    whole.extend(b"WEBP");
    whole.extend(kept);
    has_picture.then_some(whole)
}

#[cfg(test)]
mod tests;
