//! A small writer of SVG text: elements with attributes, escaped, in the order
//! they are given. Also the ground of every figure: root element, colours, fonts.

use crate::words::Words;
use std::fmt::Write;

/// The light colours, for an SVG outside a page; a page's style sheet sets its own
/// by class name.
pub(crate) const INK: &str = "#1B2024";
pub(crate) const SECOND: &str = "#4A545C";
pub(crate) const OWN: &str = "#1C4F7C";
pub(crate) const WITHIN: &str = "#5B6B76";
pub(crate) const WARNING: &str = "#8A5200";
pub(crate) const ACTION: &str = "#94184F";
pub(crate) const RULE: &str = "#C9C5BA";

/// Size of every text in a figure, in units of the view box.
pub(crate) const TEXT: f64 = 12.0;
/// From one line of text to the next.
pub(crate) const LINE: f64 = 16.0;

/// Where a figure will stand: it decides the font and the ground behind hollow
/// marks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Face {
    /// On a page: the font of the system.
    Page,
    /// In a document: the font that the document carries, on white.
    Document,
}

impl Face {
    fn font(self) -> &'static str {
        match self {
            Face::Page => "system-ui, sans-serif",
            Face::Document => "Libertinus Serif",
        }
    }

    /// How wide a text is, in parts of the estimate for a page: the font is known.
    pub(crate) fn breadth(self) -> f64 {
        match self {
            Face::Page => 1.0,
            Face::Document => 0.8,
        }
    }

    pub(crate) fn ground(self) -> &'static str {
        match self {
            Face::Page => "#FBFAF7",
            Face::Document => "#FFFFFF",
        }
    }
}

/// The root of a figure.
pub(crate) struct Root<'a> {
    pub(crate) id: &'a str,
    pub(crate) face: Face,
    pub(crate) width: f64,
    pub(crate) height: f64,
    pub(crate) title: &'a str,
    pub(crate) description: &'a str,
    /// Whether there are links inside: a picture may hold none.
    pub(crate) links: bool,
}

/// SVG text in the making. Numbers in its texts are written as the language does.
pub(crate) struct Svg {
    text: String,
    language: Words,
}

impl Svg {
    pub(crate) fn new(words: &Words) -> Svg {
        Svg { text: String::new(), language: *words }
    }

    /// Begins an element; finish it with `start`, `end` or `content`.
    pub(crate) fn open(&mut self, name: &'static str) -> Element<'_> {
        self.text.push('<');
        self.text.push_str(name);
        Element { svg: self, name }
    }

    /// Ends the innermost element that was begun with `start`.
    pub(crate) fn close(&mut self, name: &'static str) {
        self.text.push_str("</");
        self.text.push_str(name);
        self.text.push_str(">\n");
    }

    pub(crate) fn line(&mut self, class: &str, stroke: &str, width: f64, from: (f64, f64), to: (f64, f64)) {
        self.line_of(class, stroke, width, from, to).end();
    }

    /// A line to which more attributes can be set.
    pub(crate) fn line_of(
        &mut self,
        class: &str,
        stroke: &str,
        width: f64,
        from: (f64, f64),
        to: (f64, f64),
    ) -> Element<'_> {
        self.open("line")
            .set("class", class)
            .num("x1", from.0)
            .num("y1", from.1)
            .num("x2", to.0)
            .num("y2", to.1)
            .set("stroke", stroke)
            .num("stroke-width", width)
    }

    /// A line of text with its base line at `y`.
    pub(crate) fn words(&mut self, class: &str, at: (f64, f64), anchor: Anchor, text: &str) {
        let text = self.numeral(text);
        self.words_of(class, at, anchor).content(&text);
    }

    /// A text with its numbers as the language writes them.
    pub(crate) fn numeral(&self, text: &str) -> String {
        self.language.numeral(text)
    }

    /// A text to which more attributes can be set.
    pub(crate) fn words_of(&mut self, class: &str, (x, y): (f64, f64), anchor: Anchor) -> Element<'_> {
        let fill = match class {
            "figure-second" => SECOND,
            "figure-own-text" => OWN,
            _ => INK,
        };
        let element = self.open("text").set("class", class).num("x", x).num("y", y).set("fill", fill);
        match anchor {
            Anchor::Start => element,
            Anchor::Middle => element.set("text-anchor", "middle"),
            Anchor::End => element.set("text-anchor", "end"),
        }
    }

    /// The figure: what was drawn, in its root.
    pub(crate) fn finish(self, root: &Root<'_>) -> String {
        let id = identifier(root.id);
        let mut svg = Svg::new(&self.language);
        svg.open("svg")
            .set("xmlns", "http://www.w3.org/2000/svg")
            .set("class", "figure")
            .set("viewBox", &format!("0 0 {} {}", number(root.width), number(root.height)))
            .num("width", root.width)
            .num("height", root.height)
            .set("role", if root.links { "group" } else { "img" })
            .set("aria-labelledby", &format!("{id}-title"))
            .set("aria-describedby", &format!("{id}-description"))
            .set("font-family", root.face.font())
            .num("font-size", TEXT)
            .set("fill", INK)
            .start();
        svg.text.push('\n');
        svg.open("title").set("id", &format!("{id}-title")).content(root.title);
        svg.open("desc").set("id", &format!("{id}-description")).content(root.description);
        svg.text.push_str(&self.text);
        svg.close("svg");
        svg.text
    }
}

/// Which point of a text stands at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// The start tag of an element, in the making.
pub(crate) struct Element<'a> {
    svg: &'a mut Svg,
    name: &'static str,
}

impl Element<'_> {
    pub(crate) fn set(self, name: &str, value: &str) -> Self {
        self.svg.text.push(' ');
        self.svg.text.push_str(name);
        self.svg.text.push_str("=\"");
        escape(&mut self.svg.text, value);
        self.svg.text.push('"');
        self
    }

    pub(crate) fn num(self, name: &str, value: f64) -> Self {
        let text = number(value);
        self.set(name, &text)
    }

    /// Ends it here: it has no content.
    pub(crate) fn end(self) {
        self.svg.text.push_str("/>\n");
    }

    /// Ends it after `text`.
    pub(crate) fn content(self, text: &str) {
        self.svg.text.push('>');
        escape(&mut self.svg.text, text);
        self.svg.close(self.name);
    }

    /// What follows is inside it, until `close`.
    pub(crate) fn start(self) {
        self.svg.text.push('>');
    }
}

/// Two decimals at most, without trailing zeros: a hundredth of a pixel is enough,
/// and the text is the same everywhere.
pub(crate) fn number(value: f64) -> String {
    let hundredths = (value * 100.0).round();
    let mut text = String::new();
    let _ = write!(text, "{}", hundredths / 100.0);
    if text == "-0" { "0".to_owned() } else { text }
}

/// A closed path.
pub(crate) fn path(points: &[(f64, f64)]) -> String {
    format!("{}Z", polyline(points))
}

/// An open path.
pub(crate) fn polyline(points: &[(f64, f64)]) -> String {
    let mut text = String::new();
    for (index, (x, y)) in points.iter().enumerate() {
        let _ = write!(text, "{}{} {}", if index == 0 { 'M' } else { 'L' }, number(*x), number(*y));
    }
    text
}

/// A prefix of ids out of what a caller gave: letters, digits, hyphen.
pub(crate) fn identifier(text: &str) -> String {
    let mut id: String =
        text.chars().map(|letter| if letter.is_ascii_alphanumeric() || letter == '-' { letter } else { '-' }).collect();
    if !id.starts_with(|letter: char| letter.is_ascii_alphabetic()) {
        id.insert(0, 'f');
    }
    id
}

/// Writes `text` so that it is text in XML 1.0, in an element and in an attribute.
fn escape(out: &mut String, text: &str) {
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            '\u{0}'..='\u{1F}' | '\u{FFFE}' | '\u{FFFF}' => out.push('\u{FFFD}'),
            other => out.push(other),
        }
    }
}
