//! How wide a text becomes in the fonts of the documents, so that the columns of a
//! long table need not be found by setting each of its cells twice.

use crate::typeset;
use std::sync::OnceLock;
use typst::layout::Abs;
use typst::text::{FontInstance, FontStretch, FontStyle, FontVariant, FontVariations, FontWeight};

/// Kerning and figures of one width make a text a little wider or narrower than the
/// sum of its glyphs.
const MARGIN: f64 = 1.02;

/// A style of the font of the text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Style {
    Regular,
    Italic,
    Semibold,
    Bold,
}

/// The font of a style; none where it is not carried.
fn font(style: Style) -> Option<&'static FontInstance> {
    static FONTS: OnceLock<[Option<FontInstance>; 4]> = OnceLock::new();
    let fonts = FONTS.get_or_init(|| {
        [
            (FontStyle::Normal, FontWeight::REGULAR),
            (FontStyle::Italic, FontWeight::REGULAR),
            (FontStyle::Normal, FontWeight::SEMIBOLD),
            (FontStyle::Normal, FontWeight::BOLD),
        ]
        .map(|(style, weight)| {
            let variant = FontVariant::new(style, weight, FontStretch::NORMAL);
            let font = typeset::text_font(variant)?;
            Some(font.instantiate(variant, Abs::pt(1.0), &FontVariations::default()))
        })
    });
    fonts[style as usize].as_ref()
}

/// At least the width of one line of text, in the unit of `size`. Characters of other
/// fonts count as wide as they are high.
pub(crate) fn width(text: &str, style: Style, size: f64) -> f64 {
    let Some(font) = font(style) else { return text.chars().count() as f64 * size };
    let em = |letter: char| {
        let glyph = font.ttf().glyph_index(letter)?;
        font.ttf().glyph_hor_advance(glyph).map(|units| f64::from(units) / font.units_per_em())
    };
    // Tabular figures are all as wide as the widest.
    let figure = ('0'..='9').filter_map(em).fold(0.0, f64::max);
    let of = |letter: char| if letter.is_ascii_digit() { figure } else { em(letter).unwrap_or(1.0) };
    size * MARGIN * text.chars().map(of).sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_half_as_wide_as_high_in_every_style_and_longer_texts_are_wider() {
        for style in [Style::Regular, Style::Italic, Style::Semibold, Style::Bold] {
            let one = width("1", style, 10.0);

            assert!((4.0..6.5).contains(&one), "{style:?}: {one}");
            assert!((width("1234", style, 10.0) - 4.0 * one).abs() < 1e-9, "{style:?}");
            assert!(width("carbamazepine", style, 9.0) > width("caffeine", style, 9.0));
        }
        assert!(width("unacceptable", Style::Bold, 9.0) > width("unacceptable", Style::Regular, 9.0));
    }

    #[test]
    fn a_sign_of_another_font_counts_as_wide_as_it_is_high() {
        assert!((width("\u{10FFFD}", Style::Regular, 9.0) - 9.0 * MARGIN).abs() < 1e-9);
    }
}
