//! Mandel's h or k of each laboratory at each level, with its lines at 5 % and 1 %
//! (ISO 5725-2:2019, 8.3.1): how far its mean, or its scatter, is from the others'.

use super::label::{self, Label, Weight};
use super::margin::{self, Name};
use super::marks::{self, Style};
use super::place::{Area, Room};
use super::svg::{Anchor, Face, INK, Root, SECOND, Svg, WITHIN};
use super::text::shorten;
use super::{Audience, Table, count_word, sentence};
use crate::mark::Mark;
use crate::number;
use crate::words::Words;

/// Which of the two.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Statistic {
    /// h: the mean against those of all.
    H,
    /// k: the scatter against those of all.
    K,
}

impl Statistic {
    fn symbol(self) -> &'static str {
        match self {
            Statistic::H => "h",
            Statistic::K => "k",
        }
    }
}

/// One figure, a panel for each level.
#[derive(Clone, Debug, PartialEq)]
pub struct Mandel {
    /// Prefix of the ids inside the SVG; unique on its page.
    pub id: String,
    /// The analyte as it is shown.
    pub analyte: String,
    /// h or k.
    pub statistic: Statistic,
    /// The levels, in the order of the form.
    pub levels: Vec<Level>,
    /// Who will see it.
    pub audience: Audience,
    /// Width in CSS pixels, as [`super::WIDE`] or [`super::NARROW`].
    pub width: u32,
}

/// One level.
#[derive(Clone, Debug, PartialEq)]
pub struct Level {
    /// Its name, as "Item A, mean 145 ng/L".
    pub name: String,
    /// One per laboratory, in any order; drawn in the order of the codes.
    pub points: Vec<MandelPoint>,
    /// The lines at 5 % and at 1 %, for the laboratories at hand; without sign.
    pub critical: Option<[f64; 2]>,
}

/// One laboratory at one level.
#[derive(Clone, Debug, PartialEq)]
pub struct MandelPoint {
    /// The laboratory's code, as it is shown.
    pub code: String,
    /// h or k; none keeps its place and draws nothing.
    pub value: Option<f64>,
    /// The reader's own.
    pub own: bool,
    /// Address of a link on the point.
    pub href: Option<String>,
    /// Text of the tooltip, and name of the link.
    pub tooltip: Option<String>,
}

/// The figure as the text of an SVG.
pub fn render(figure: &Mandel, words: &Words) -> String {
    draw(figure, words, Face::Page)
}

/// Height of a panel, without its name.
const PANEL: f64 = 124.0;
const HEAD: f64 = 24.0;
const GAP: f64 = 14.0;

pub(crate) fn draw(figure: &Mandel, words: &Words, face: Face) -> String {
    let full = f64::from(figure.width.max(240));
    let mut svg = Svg::new(words);
    let codes = codes(figure);
    let reach = reach(figure);
    let mut top = 0.0;
    let mut unnamed = 0;
    for level in &figure.levels {
        let mut panel = Panel { left: 4.0, right: full, top: top + HEAD, statistic: figure.statistic, reach };
        let names = panel.names(level);
        panel.right -= margin::room(&names);
        let title = format!("{}: {}", figure.statistic.symbol(), level.name);
        svg.words("figure-ink", (panel.left, top + 14.0), Anchor::Start, &shorten(&title, full - 24.0));
        unnamed += panel.draw(&mut svg, figure, level, &codes, face);
        margin::draw(&mut svg, &names, panel.right, panel.top, panel.bottom());
        top += HEAD + PANEL + GAP;
    }
    let mut notes = note_sentences(figure, words);
    notes.extend(super::unnamed_note(unnamed, words));
    let height = margin::draw_notes(&mut svg, &notes, (full - 4.0) / face.breadth(), 4.0, top + 6.0);
    let shown = |point: &MandelPoint| point.own || figure.audience == Audience::Organiser;
    let links = figure.levels.iter().flat_map(|level| &level.points).any(|point| point.href.is_some() && shown(point));
    let symbol = figure.statistic.symbol();
    svg.finish(&Root {
        id: &figure.id,
        face,
        width: full,
        height,
        title: &words.with("figure-mandel-title", &[("symbol", symbol), ("analyte", &figure.analyte)]),
        description: &caption(figure, words),
        links,
    })
}

/// All codes in their order: a laboratory has one place in all panels.
fn codes(figure: &Mandel) -> Vec<&str> {
    let mut codes: Vec<&str> =
        figure.levels.iter().flat_map(|level| &level.points).map(|point| point.code.as_str()).collect();
    codes.sort_unstable();
    codes.dedup();
    codes
}

/// The end of the axis: beyond every line, and every value (h and k are bounded).
fn reach(figure: &Mandel) -> f64 {
    let lines = figure.levels.iter().filter_map(|level| level.critical).flatten();
    let values = figure.levels.iter().flat_map(|level| &level.points).filter_map(|point| point.value);
    lines.chain(values).filter(|value| value.is_finite()).map(f64::abs).fold(1.0, f64::max) * 1.08
}

fn mark(level: &Level, value: f64) -> Mark {
    match level.critical {
        Some([_, action]) if value.abs() > action => Mark::Action,
        Some([warning, _]) if value.abs() > warning => Mark::Warning,
        _ => Mark::Within,
    }
}

struct Panel {
    left: f64,
    right: f64,
    top: f64,
    statistic: Statistic,
    reach: f64,
}

impl Panel {
    fn bottom(&self) -> f64 {
        self.top + PANEL
    }

    fn y(&self, value: f64) -> f64 {
        const PAD: f64 = 6.0;
        let room = PANEL - 2.0 * PAD;
        match self.statistic {
            Statistic::H => self.top + PAD + (1.0 - value / self.reach) / 2.0 * room,
            Statistic::K => self.top + PAD + (1.0 - value / self.reach) * room,
        }
    }

    fn lines(&self, level: &Level) -> Vec<(f64, bool)> {
        let mut lines = Vec::new();
        for (place, line) in level.critical.into_iter().flatten().enumerate() {
            lines.push((line, place == 0));
            if self.statistic == Statistic::H {
                lines.push((-line, place == 0));
            }
        }
        lines
    }

    fn names(&self, level: &Level) -> Vec<Name> {
        let zero = Name { y: self.y(0.0), value: "0".to_owned(), text: String::new(), strong: true };
        let lines = self.lines(level).into_iter().map(|(line, is_warning)| Name {
            y: self.y(line),
            value: match self.statistic {
                Statistic::H => number::signed(line, 2),
                Statistic::K => number::decimal(line, 2),
            },
            text: if is_warning { "5\u{202F}%" } else { "1\u{202F}%" }.to_owned(),
            strong: false,
        });
        std::iter::once(zero).chain(lines).collect()
    }

    fn draw(&self, svg: &mut Svg, figure: &Mandel, level: &Level, codes: &[&str], face: Face) -> usize {
        let bounds = Area { left: 0.0, top: self.top - 4.0, right: self.right, bottom: self.bottom() + 8.0 };
        let mut room = Room::new(bounds);
        for (line, is_warning) in self.lines(level) {
            let y = self.y(line);
            let element = svg.line_of("figure-limit", SECOND, 0.8, (self.left, y), (self.right, y));
            if is_warning {
                element.set("stroke-dasharray", "5 3").end()
            } else {
                element.end()
            }
            room.avoid(Area { left: self.left, top: y - 1.0, right: self.right, bottom: y + 1.0 });
        }
        let zero = self.y(0.0);
        svg.line("figure-assigned", INK, 1.0, (self.left, zero), (self.right, zero));
        let step = ((self.right - self.left - 20.0) / codes.len().saturating_sub(1).max(1) as f64).min(48.0);
        let first =
            self.left + 10.0 + (self.right - self.left - 20.0 - step * codes.len().saturating_sub(1) as f64) / 2.0;
        let style = Style { face, radius: (step * 0.4).clamp(1.3, 3.6) };
        let mut points: Vec<&MandelPoint> = level.points.iter().collect();
        points.sort_by(|one, other| one.code.cmp(&other.code));
        let mut labels = Vec::new();
        for point in points {
            let Some(value) = point.value.filter(|value| value.is_finite()) else { continue };
            let place = codes.binary_search(&point.code.as_str()).unwrap_or_default();
            let at = (first + step * place as f64, self.y(value));
            let mark = mark(level, value);
            let shown = point.own || figure.audience == Audience::Organiser;
            let name =
                marks::begin(svg, point.href.as_deref().filter(|_| shown), point.tooltip.as_deref().filter(|_| shown));
            svg.line("figure-stem", WITHIN, (step * 0.15).clamp(0.5, 1.0), (at.0, zero), at);
            marks::shape(svg, style, mark, false, at);
            if point.own {
                marks::ring(svg, style, at);
            }
            marks::target(svg, at, step.clamp(4.0, 24.0), 24.0);
            svg.close(name);
            let reach = if point.own { style.ring() } else { style.reach() } + 1.0;
            room.take(Area::around(at, reach, reach));
            room.avoid(Area { left: at.0 - 1.0, top: at.1.min(zero), right: at.0 + 1.0, bottom: at.1.max(zero) });
            if point.own || (figure.audience == Audience::Organiser && mark.is_signal()) {
                let weight = if point.own { Weight::Own } else { Weight::Signal };
                labels.push(Label { at, clearance: reach, text: point.code.clone(), weight });
            }
        }
        label::draw(svg, &mut room, labels)
    }
}

fn note_sentences(figure: &Mandel, words: &Words) -> Vec<String> {
    let mut notes = vec![words.t(match figure.statistic {
        Statistic::H => "figure-mandel-h",
        Statistic::K => "figure-mandel-k",
    })];
    if figure.levels.iter().any(|level| level.critical.is_some()) {
        notes.push(words.t("figure-mandel-lines"));
    }
    notes
}

/// One sentence that says what the figure shows, from its data: how many values,
/// and how many beyond each line.
pub fn caption(figure: &Mandel, words: &Words) -> String {
    let mut counts = [0_usize; 3];
    for level in &figure.levels {
        for value in level.points.iter().filter_map(|point| point.value).filter(|value| value.is_finite()) {
            counts[0] += 1;
            match mark(level, value) {
                Mark::Action => counts[2] += 1,
                Mark::Warning => counts[1] += 1,
                _ => {}
            }
        }
    }
    let [all, warning, action] = counts;
    let symbol = figure.statistic.symbol();
    let values = [("count", &*all.to_string()), ("symbol", symbol)];
    let mut parts = vec![words.with("figure-mandel-caption-count", &values)];
    if warning + action == 0 {
        parts.push(words.t("figure-mandel-caption-none"));
    }
    for (count, key) in [(action, "figure-mandel-caption-action"), (warning, "figure-mandel-caption-warning")] {
        if count > 0 {
            parts.push(words.with(key, &[("count", &count_word(count, words))]));
        }
    }
    sentence(&parts, words)
}

/// The values as rows: codes for the organiser, otherwise by size alone.
pub fn table(figure: &Mandel, words: &Words) -> Table {
    let coded = figure.audience == Audience::Organiser;
    let mut rows: Vec<(bool, Vec<String>)> = Vec::new();
    for level in &figure.levels {
        let mut points: Vec<(&MandelPoint, f64)> = level
            .points
            .iter()
            .filter_map(|point| Some((point, point.value.filter(|value| value.is_finite())?)))
            .collect();
        points.sort_by(
            |(one, a), (other, b)| {
                if coded { one.code.cmp(&other.code) } else { a.total_cmp(b).then(one.code.cmp(&other.code)) }
            },
        );
        for (point, value) in points {
            let mut row = vec![level.name.clone()];
            if coded {
                row.push(point.code.clone());
            }
            row.push(words.numeral(number::decimal(value, 2)));
            row.push(words.t(match mark(level, value) {
                Mark::Action => "figure-mandel-beyond-1",
                Mark::Warning => "figure-mandel-beyond-5",
                _ => "figure-mandel-inside",
            }));
            rows.push((point.own, row));
        }
    }
    let mut head = vec![words.t("figure-table-level")];
    if coded {
        head.push(words.t("figure-table-code"));
    }
    head.extend([figure.statistic.symbol().to_owned(), words.t("figure-mandel-place")]);
    let own = rows.iter().position(|(own, _)| *own);
    Table { head, rows: rows.into_iter().map(|(_, row)| row).collect(), own }
}
