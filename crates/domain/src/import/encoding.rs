//! From the bytes of a file to text.

use super::RowProblem;
use crate::field::Problem;

/// How the text of a file was coded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8, with or without byte order mark.
    Utf8,
    /// UTF-16 with byte order mark, either order.
    Utf16,
    /// Windows-1252: taken where the bytes are not UTF-8.
    Windows1252,
    /// A workbook of the kind `.xlsx`.
    Workbook,
}

impl Encoding {
    /// The name to show for confirmation.
    pub fn name(self) -> &'static str {
        match self {
            Encoding::Utf8 => "UTF-8",
            Encoding::Utf16 => "UTF-16",
            Encoding::Windows1252 => "Windows-1252",
            Encoding::Workbook => ".xlsx",
        }
    }
}

/// First bytes of files that are no text, with the name to show.
const BINARY: &[(&[u8], &str)] = &[
    (b"%PDF", "PDF"),
    (b"\x1F\x8B", "gz"),
    (b"\x89PNG", "PNG"),
    (b"\xFF\xD8\xFF", "JPEG"),
    (b"GIF8", "GIF"),
    (b"II*\x00", "TIFF"),
    (b"MM\x00*", "TIFF"),
    (b"7z\xBC\xAF\x27\x1C", "7z"),
    (b"Rar!", "RAR"),
    (b"{\\rtf", "RTF"),
];

pub(super) fn decode(bytes: &[u8]) -> Result<(String, Encoding), RowProblem> {
    if let Some((_, kind)) = BINARY.iter().find(|(magic, _)| bytes.starts_with(magic)) {
        return Err(RowProblem::line(0, Problem::new("problem-file-binary").with("kind", kind)));
    }
    let (text, encoding) = match encoding_rs::Encoding::for_bom(bytes) {
        Some((encoding, mark)) => {
            let (text, broken) = encoding.decode_without_bom_handling(&bytes[mark..]);
            if broken {
                let problem = Problem::new("problem-file-encoding").with("encoding", encoding.name());
                return Err(RowProblem::line(0, problem));
            }
            let unicode = if encoding == encoding_rs::UTF_8 { Encoding::Utf8 } else { Encoding::Utf16 };
            (text.into_owned(), unicode)
        }
        None => match str::from_utf8(bytes) {
            Ok(text) => (text.to_owned(), Encoding::Utf8),
            Err(_) => {
                (encoding_rs::WINDOWS_1252.decode_without_bom_handling(bytes).0.into_owned(), Encoding::Windows1252)
            }
        },
    };
    if let Some(at) = text.find('\0') {
        let line = 1 + text[..at].matches('\n').count();
        return Err(RowProblem::line(line, Problem::new("problem-file-null")));
    }
    if is_markup(&text) {
        return Err(RowProblem::file("problem-file-markup"));
    }
    Ok((text, encoding))
}

/// Whether the text is a web page or another document of tags: programs save
/// such under the name of a workbook.
fn is_markup(text: &str) -> bool {
    let start: String = text.trim_start().chars().take(20).collect::<String>().to_lowercase();
    ["<!doctype", "<html", "<head", "<body", "<table", "<meta", "<?xml", "<!--"]
        .iter()
        .any(|tag| start.starts_with(tag))
}
