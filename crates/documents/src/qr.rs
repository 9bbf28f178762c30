//! A QR code (ISO/IEC 18004) as a vector picture.

use qrcode::{Color, EcLevel, QrCode};
use std::fmt::Write as _;

/// The light margin on each side, in modules (ISO/IEC 18004, 6.3.8: four).
const MARGIN: usize = 4;

/// The code of a text as SVG, one unit a module, margin included; none for a text
/// that is too long for any code. 15 % of it may be damaged (level M).
pub(crate) fn svg(text: &str) -> Option<String> {
    let code = QrCode::with_error_correction_level(text.as_bytes(), EcLevel::M).ok()?;
    let (width, modules) = (code.width(), code.to_colors());
    let size = width + 2 * MARGIN;
    let mut path = String::new();
    for (y, row) in modules.chunks(width).enumerate() {
        let mut x = 0;
        // One rectangle a run, so that no seams are seen between modules.
        while x < width {
            let run = row[x..].iter().take_while(|module| **module == Color::Dark).count();
            if run > 0 {
                let _ = write!(path, "M{} {}h{run}v1h-{run}z", x + MARGIN, y + MARGIN);
            }
            x += run.max(1);
        }
    }
    Some(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {size} {size}\" width=\"{size}\" height=\"{size}\">\
         <rect width=\"{size}\" height=\"{size}\" fill=\"#ffffff\"/><path d=\"{path}\" fill=\"#000000\"/></svg>"
    ))
}
