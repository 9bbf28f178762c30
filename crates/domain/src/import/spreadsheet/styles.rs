//! What the number format of a cell makes of its number.

use super::xml::{self, Flow, Limits, Node, Stop};
use std::collections::HashMap;
use std::io::Read;

/// The most formats, and the most styles, of a workbook (a limit of the format).
const MAX_STYLES: usize = 1 << 16;

/// What is shown of a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// The number.
    Number,
    /// A date or a time.
    Date,
    /// A hundred times the number, with a percent sign.
    Percent,
}

/// The kinds of the workbook's cell styles, in their order.
pub(super) fn read(part: &mut dyn Read, limits: &Limits) -> Result<Vec<Kind>, Stop> {
    let mut formats = HashMap::new();
    let mut styles = Vec::new();
    let mut inside = false;
    xml::walk(part, limits, |node| {
        match node {
            Node::Open(tag) => match xml::local(tag) {
                "numFmt" => {
                    let id = xml::attribute(tag, "numFmtId")?;
                    if let (Some(id), Some(code)) = (id, xml::attribute(tag, "formatCode")?) {
                        formats.insert(id, of_code(&code));
                    }
                }
                "cellXfs" => inside = true,
                "xf" if inside => {
                    let id = xml::attribute(tag, "numFmtId")?.unwrap_or_default();
                    styles.push(formats.get(&id).copied().unwrap_or_else(|| of_number(&id)));
                }
                _ => {}
            },
            Node::Close("cellXfs") => inside = false,
            Node::Close(_) | Node::Text(_) => {}
        }
        if styles.len().max(formats.len()) > MAX_STYLES { Err(Stop::TooLarge) } else { Ok(Flow::On) }
    })?;
    Ok(styles)
}

/// The formats that every program knows by number (ECMA-376-1, 18.8.30, those
/// of East Asian languages among them).
fn of_number(id: &str) -> Kind {
    match id.parse() {
        Ok(14..=22 | 27..=36 | 45..=47 | 50..=58) => Kind::Date,
        Ok(9 | 10) => Kind::Percent,
        _ => Kind::Number,
    }
}

/// A format that is written out. Texts in quotation marks and single characters
/// behind `\`, `_` or `*` say nothing; in brackets only `[h]`, `[mm]`, `[ss]` do.
fn of_code(code: &str) -> Kind {
    let mut kind = Kind::Number;
    let mut characters = code.chars();
    while let Some(character) = characters.next() {
        match character {
            '"' => {
                characters.by_ref().find(|c| *c == '"');
            }
            '\\' | '_' | '*' => {
                characters.next();
            }
            '[' => {
                let inside: String = characters.by_ref().take_while(|c| *c != ']').collect();
                let elapsed =
                    !inside.is_empty() && inside.chars().all(|c| matches!(c, 'h' | 'H' | 'm' | 'M' | 's' | 'S'));
                if elapsed {
                    return Kind::Date;
                }
            }
            'd' | 'D' | 'm' | 'M' | 'y' | 'Y' | 'h' | 'H' | 's' | 'S' => return Kind::Date,
            '%' => kind = Kind::Percent,
            _ => {}
        }
    }
    kind
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Formats as spreadsheet programs write them.
    #[test]
    fn formats_are_of_dates_of_percentages_or_of_numbers() {
        let dates = ["yyyy-mm-dd", "DD/MM/YYYY", "[$-407]d. mmmm yyyy;@", "[h]:mm", "mm:ss.0", "h:mm AM/PM", "d-mmm"];
        let percentages = ["0%", "0.00%", "0.0\\ %", "[Red]0%"];
        let numbers = [
            "General",
            "0.00",
            "#,##0.00",
            "0.00E+00",
            "@",
            "# ?/?",
            "\"mg\" 0.0",
            "0.0\\m",
            "[Red]0.0",
            "0.0_d",
            "[$CHF-807] 0.00",
            "0.00\"%\"",
        ];
        for (codes, kind) in [(&dates[..], Kind::Date), (&percentages, Kind::Percent), (&numbers, Kind::Number)] {
            for code in codes {
                assert_eq!(of_code(code), kind, "{code}");
            }
        }
        assert_eq!((of_number("14"), of_number("10"), of_number("49")), (Kind::Date, Kind::Percent, Kind::Number));
    }
}
