//! How wide a text is likely to be. The font of a page is the reader's own, so
//! these widths are those of a wide sans-serif: what fits by them fits.

use super::svg::TEXT;

/// Width in units of the view box, at the size of every text in a figure.
pub(crate) fn width(text: &str) -> f64 {
    text.chars().map(advance).sum::<f64>() * TEXT
}

/// In parts of the size.
fn advance(letter: char) -> f64 {
    match letter {
        'i' | 'j' | 'l' | 'I' | '.' | ',' | ':' | ';' | '\'' | '|' | '!' | ' ' | '\u{202F}' | '\u{2008}' => 0.33,
        't' | 'f' | 'r' | '(' | ')' | '-' | '/' => 0.42,
        '+' | '<' | '>' | '=' | '\u{2212}' => 0.84,
        'm' | 'w' | 'M' | 'W' | '%' | '@' => 0.98,
        '0'..='9' => 0.64,
        'a'..='z' => 0.62,
        'A'..='Z' => 0.74,
        '\u{0300}'..='\u{036F}' | '\u{200B}'..='\u{200F}' => 0.0,
        '\u{1100}'..='\u{11FF}' | '\u{2E80}'..='\u{FFEF}' | '\u{1F000}'..='\u{1FFFF}' => 1.05,
        _ => 0.74,
    }
}

/// `text`, or as much of its beginning as fits, with an ellipsis.
pub(crate) fn shorten(text: &str, room: f64) -> String {
    if width(text) <= room {
        return text.to_owned();
    }
    let room = room - width("…");
    let mut used = 0.0;
    let mut kept: String = text
        .chars()
        .take_while(|&letter| {
            used += advance(letter) * TEXT;
            used <= room
        })
        .collect();
    kept.truncate(kept.trim_end().len());
    kept.push('…');
    kept
}

/// `text` in lines that fit, broken at spaces; a longer word stays whole.
pub(crate) fn wrap(text: &str, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if width(line) + width(" ") + width(word) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
