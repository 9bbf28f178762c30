//! One laboratory's scores over all measurands: a row for each analyte, a panel
//! for each item, all on one axis (ISO 13528:2022, 10.4, turned on its side).

use super::margin;
use super::marks::{self, Style};
use super::svg::{Anchor, INK, RULE, Root, SECOND, Svg, TEXT, WITHIN};
use super::text::{shorten, width};
use super::{Face, count_word, sentence, signed_limit};
use crate::mark::{Limits, Mark, Score};
use crate::number;
use crate::words::Words;
use std::collections::BTreeSet;

/// One laboratory's scores.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnScores {
    /// Prefix of the ids inside the SVG; unique on its page.
    pub id: String,
    /// The laboratory's code, as it is shown.
    pub code: String,
    /// The limits drawn, and the cut. Scores with other limits (E_n among z) belong
    /// in a figure of their own.
    pub limits: Limits,
    /// One per item, in the order of the form.
    pub groups: Vec<Group>,
    /// Width in CSS pixels, as [`super::WIDE`] or [`super::NARROW`].
    pub width: u32,
}

/// The scores in one item.
#[derive(Clone, Debug, PartialEq)]
pub struct Group {
    /// The item as it is shown, as "Item B".
    pub name: String,
    /// In the order of the form; an analyte stands in one row in all panels.
    pub scores: Vec<OwnScore>,
}

/// One score.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnScore {
    /// The analyte as it is shown.
    pub analyte: String,
    /// The score, drawn on a stem from zero; a bound as an arrow to lower scores.
    pub score: Score,
    /// Its class.
    pub mark: Mark,
    /// Address of a link on the point.
    pub href: Option<String>,
    /// Text of the tooltip, and name of the link.
    pub tooltip: Option<String>,
}

/// The figure as the text of an SVG; its height goes by the number of analytes.
pub fn render(figure: &OwnScores, words: &Words) -> String {
    draw(figure, words, Face::Page)
}

/// Before the first letter of a line.
const EDGE: f64 = 2.0;
/// From one row to the next.
const ROW: f64 = 17.0;
/// Above the rows of a block: name of the item, numbers of the axis.
const HEAD: f64 = 36.0;
/// Between two panels, and between two blocks.
const GAP: f64 = 16.0;
/// The least width of a panel, without the room for cut numbers.
const PANEL: f64 = 96.0;
/// More rows than this of one item stand in two columns, where there is room.
const TALL: usize = 14;

pub(crate) fn draw(figure: &OwnScores, words: &Words, face: Face) -> String {
    let full = f64::from(figure.width.max(240));
    let layout = Layout::of(figure, full);
    let mut svg = Svg::new(words);
    for block in &layout.blocks {
        draw_block(&mut svg, figure, &layout, block, face, words);
    }
    let room = (full - EDGE) / face.breadth();
    let height = margin::draw_notes(&mut svg, &note_sentences(figure, words), room, EDGE, layout.height + 18.0);
    svg.finish(&Root {
        id: &figure.id,
        face,
        width: full,
        height,
        title: &words.with("figure-own-title", &[("code", &figure.code)]),
        description: &caption(figure, words),
        links: figure.groups.iter().flat_map(|group| &group.scores).any(|score| score.href.is_some()),
    })
}

/// The figure in parts of at most `items` items, each no taller than `height` units
/// without its notes, and as even as can be.
pub(crate) fn parts(figure: &OwnScores, items: usize, height: f64) -> Vec<OwnScores> {
    let analytes = analytes(figure);
    let full = f64::from(figure.width.max(240));
    (1..=analytes.len())
        .map(|count| split(figure, &analytes, analytes.len().div_ceil(count), items))
        // A part of one row is as small as it gets.
        .find(|parts| parts.iter().all(|part| Layout::of(part, full).height <= height))
        .unwrap_or_else(|| split(figure, &analytes, 1, items))
}

/// Parts of at most `rows` analytes and `items` items each.
fn split(figure: &OwnScores, analytes: &[&str], rows: usize, items: usize) -> Vec<OwnScores> {
    let mut parts = Vec::new();
    for (index, names) in analytes.chunks(rows.max(1)).enumerate() {
        for (group, groups) in figure.groups.chunks(items.max(1)).enumerate() {
            let groups: Vec<Group> = groups.iter().filter_map(|group| pick(group, names)).collect();
            if !groups.is_empty() {
                let id = format!("{}-{index}-{group}", figure.id);
                parts.push(OwnScores { id, groups, ..figure.clone() });
            }
        }
    }
    parts
}

/// What a group has of these analytes.
fn pick(group: &Group, names: &[&str]) -> Option<Group> {
    let named = |score: &&OwnScore| names.contains(&score.analyte.as_str());
    let scores: Vec<OwnScore> = group.scores.iter().filter(named).cloned().collect();
    (!scores.is_empty()).then(|| Group { name: group.name.clone(), scores })
}

/// Rows of names with panels beside them.
struct Block<'a> {
    left: f64,
    top: f64,
    rows: Vec<&'a str>,
    panels: Vec<&'a Group>,
}

struct Layout<'a> {
    blocks: Vec<Block<'a>>,
    /// Width of the column of names, of a panel, and of the room at both its ends.
    names: f64,
    panel: f64,
    ends: (f64, f64),
    height: f64,
}

impl<'a> Layout<'a> {
    fn of(figure: &'a OwnScores, full: f64) -> Layout<'a> {
        let rows = analytes(figure);
        let ends = (end_room(figure, -1.0), end_room(figure, 1.0));
        let least = PANEL + ends.0 + ends.1;
        let longest = rows.iter().map(|name| width(name)).fold(30.0, f64::max) + 10.0;
        let mut columns = 1;
        let mut across = figure.groups.len().max(1);
        if across == 1 && rows.len() > TALL && full >= 600.0 {
            columns = 2;
        }
        let column = (full - GAP * (columns - 1) as f64) / columns as f64;
        // Names have their part of a column at most, and more where the panels stand
        // one below the other.
        let names_beside =
            |across: usize| longest.min(column * if across > 1 { 0.36 } else { 0.56 }).min(column - least);
        let room = |across: usize| column - names_beside(across) - GAP * (across - 1) as f64;
        while across > 1 && room(across) / (across as f64) < least {
            across -= 1;
        }
        // As even as can be: five panels as three and two, not four and one.
        let lines = figure.groups.len().max(1).div_ceil(across);
        across = figure.groups.len().max(1).div_ceil(lines);
        let names = names_beside(across);
        let panel = (room(across) / across as f64).min(360.0);

        let mut blocks = Vec::new();
        let mut height = 0.0;
        for panels in figure.groups.chunks(across) {
            // A line of panels shows the analytes that its items have.
            let rows: Vec<&str> = rows
                .iter()
                .copied()
                .filter(|name| panels.iter().any(|group| group.scores.iter().any(|score| score.analyte == *name)))
                .collect();
            let per_column = rows.len().div_ceil(columns).max(1);
            for (index, rows) in rows.chunks(per_column).enumerate() {
                let left = (column + GAP) * index as f64;
                blocks.push(Block { left, top: height, rows: rows.to_vec(), panels: panels.iter().collect() });
            }
            height += HEAD + ROW * per_column as f64 + GAP;
        }
        Layout { blocks, names, panel, ends, height: (height - GAP).max(0.0) }
    }
}

/// All analytes, each once, in the order of the form.
fn analytes(figure: &OwnScores) -> Vec<&str> {
    let mut seen: Vec<&str> = Vec::new();
    let mut known = BTreeSet::new();
    for group in &figure.groups {
        // What a later item adds goes after the analyte that precedes it there.
        let mut after = 0;
        for score in &group.scores {
            if known.insert(score.analyte.as_str()) {
                seen.insert(after, &score.analyte);
                after += 1;
            } else if let Some(place) = seen.iter().position(|name| *name == score.analyte) {
                after = place + 1;
            }
        }
    }
    seen
}

/// The room for cut numbers at one end of a panel.
fn end_room(figure: &OwnScores, side: f64) -> f64 {
    let texts = figure.groups.iter().flat_map(|group| &group.scores).filter_map(|score| cut(figure, score));
    texts.filter(|(_, sign)| *sign == side).map(|(text, _)| width(&text) + 16.0).fold(9.0, f64::max)
}

/// The number of a score that is cut, and on which side.
fn cut(figure: &OwnScores, score: &OwnScore) -> Option<(String, f64)> {
    let number = score.score.number().filter(|number| number.abs() > figure.limits.cap)?;
    let sign = if matches!(score.score, Score::Below(_)) { "<" } else { "" };
    Some((format!("{sign}{}", number::signed(number, 1)), number.signum()))
}

fn draw_block(svg: &mut Svg, figure: &OwnScores, layout: &Layout<'_>, block: &Block<'_>, face: Face, words: &Words) {
    let rows_top = block.top + HEAD;
    let count = block.panels.len() as f64;
    let right = block.left + layout.names + layout.panel * count + GAP * (count - 1.0);
    for (index, row) in block.rows.iter().enumerate() {
        let y = rows_top + ROW * (index as f64 + 0.5);
        let name = shorten(row, layout.names - 8.0);
        let shortened = name != **row;
        let x = (block.left + EDGE, y + TEXT * 0.35);
        // Leads the eye from the name to the last panel.
        let from = block.left + EDGE + width(&name).min(layout.names - 8.0) * face.breadth() + 6.0;
        svg.line("figure-rule", RULE, 0.6, (from, y), (right, y));
        if shortened {
            svg.open("g").start();
            svg.open("title").content(row);
        }
        svg.words("figure-ink", x, Anchor::Start, &name);
        if shortened {
            svg.close("g");
        }
    }
    for (index, group) in block.panels.iter().enumerate() {
        let left = block.left + layout.names + (layout.panel + GAP) * index as f64;
        let panel = Panel {
            from: left + layout.ends.0,
            to: left + layout.panel - layout.ends.1,
            top: rows_top,
            bottom: rows_top + ROW * block.rows.len() as f64,
            end: left + layout.panel,
            limits: figure.limits,
        };
        panel.draw_axis(svg, &group.name, left, layout.panel);
        let style = Style { face, radius: 3.6 };
        for (row, name) in block.rows.iter().enumerate() {
            let y = rows_top + ROW * (row as f64 + 0.5);
            for score in group.scores.iter().filter(|score| score.analyte == **name) {
                panel.draw_score(svg, figure, style, score, y, words);
            }
        }
    }
}

struct Panel {
    from: f64,
    to: f64,
    top: f64,
    bottom: f64,
    /// Where its room ends, that for cut numbers included.
    end: f64,
    limits: Limits,
}

impl Panel {
    fn x(&self, score: f64) -> f64 {
        let cap = self.limits.cap;
        self.from + (score.clamp(-cap, cap) + cap) / (2.0 * cap) * (self.to - self.from)
    }

    fn draw_axis(&self, svg: &mut Svg, name: &str, left: f64, room: f64) {
        let zero = self.x(0.0);
        // The item's name stands over its zero line, the numbers of the axis below it.
        let name = shorten(name, room);
        let half = width(&name) / 2.0;
        let middle = zero.clamp(left + half, (left + room - half).max(left + half));
        svg.words("figure-ink", (middle, self.top - 22.0), Anchor::Middle, &name);
        let mut free = f64::NEG_INFINITY;
        let mut ticks: Vec<f64> =
            self.limits.values().into_iter().flat_map(|limit| [limit, -limit]).chain([0.0]).collect();
        ticks.sort_by(f64::total_cmp);
        let texts: Vec<String> = ticks.iter().map(|&tick| signed_limit(tick)).collect();
        let widest = texts.iter().map(|text| width(text)).fold(0.0, f64::max);
        // Where the inner limits have no room beside the outer, only those are named.
        let warning = self.limits.warning.unwrap_or(self.limits.action);
        let crowded = self.x(self.limits.action) - self.x(warning) < widest + 2.0 && self.limits.warning.is_some();
        for (tick, text) in ticks.iter().zip(&texts) {
            let x = self.x(*tick);
            let (class, stroke, thick) =
                if *tick == 0.0 { ("figure-assigned", INK, 1.0) } else { ("figure-limit", SECOND, 0.8) };
            let line = svg.line_of(class, stroke, thick, (x, self.top), (x, self.bottom));
            let line = if tick.abs() == warning && self.limits.warning.is_some() {
                line.set("stroke-dasharray", "5 3")
            } else {
                line
            };
            line.end();
            if (crowded && tick.abs() == warning) || x - width(text) / 2.0 < free {
                continue;
            }
            free = x + width(text) / 2.0 + 2.0;
            svg.words("figure-second", (x, self.top - 6.0), Anchor::Middle, text);
        }
    }

    fn draw_score(&self, svg: &mut Svg, figure: &OwnScores, style: Style, score: &OwnScore, y: f64, words: &Words) {
        let Some(number) = score.score.number() else {
            let text = words.t("figure-own-no-score");
            let x = (self.x(0.0) + 5.0).min(self.end - width(&text));
            let long = width(&text) + 4.0;
            svg.open("rect")
                .set("class", "figure-ground")
                .num("x", x - 2.0)
                .num("y", y - ROW / 2.0)
                .num("width", long)
                .num("height", ROW)
                .set("fill", style.face.ground())
                .end();
            svg.words("figure-second", (x, y + TEXT * 0.35), Anchor::Start, &text);
            return;
        };
        let name = marks::begin(svg, score.href.as_deref(), score.tooltip.as_deref());
        let at = (self.x(number), y);
        if let Score::Below(_) = score.score {
            let room = at.0 - self.from + 6.0;
            marks::arrow(svg, style, score.mark, at, (-1.0, 0.0), room.clamp(8.0, 22.0));
        } else {
            svg.line("figure-stem", WITHIN, 1.0, (self.x(0.0), y), at);
            marks::shape(svg, style, score.mark, score.mark == Mark::InformationOnly, at);
        }
        if let Some((text, side)) = cut(figure, score) {
            marks::beyond(svg, score.mark, at, (side, 0.0), style.reach() + 1.5);
            let anchor = if side < 0.0 { Anchor::End } else { Anchor::Start };
            svg.words("figure-ink", (at.0 + side * 12.0, y + TEXT * 0.35), anchor, &text);
        }
        marks::target(svg, at, 24.0, ROW);
        svg.close(name);
    }
}

fn note_sentences(figure: &OwnScores, words: &Words) -> Vec<String> {
    let scores = || figure.groups.iter().flat_map(|group| &group.scores);
    let action = number::decimal(figure.limits.action, number::decimals_of(figure.limits.action));
    let mut sentences = vec![match figure.limits.warning {
        Some(warning) => {
            let warning = number::decimal(warning, number::decimals_of(warning));
            words.with("figure-own-limits", &[("warning", &warning), ("action", &action)])
        }
        None => words.with("figure-own-limit", &[("action", &action)]),
    }];
    if scores().any(|score| score.mark == Mark::Warning) {
        sentences.push(words.t("figure-own-diamond"));
    }
    if scores().any(|score| score.mark == Mark::Action) {
        sentences.push(words.t("figure-own-square"));
    }
    if scores().any(|score| score.mark == Mark::InformationOnly && score.score.number().is_some()) {
        sentences.push(words.t("figure-scores-hollow"));
    }
    if scores().any(|score| matches!(score.score, Score::Below(_))) {
        sentences.push(words.t("figure-own-arrows"));
    }
    sentences
}

/// One sentence that says what the figure shows, from its data: how many scores,
/// how many of each class.
pub fn caption(figure: &OwnScores, words: &Words) -> String {
    let scores = || figure.groups.iter().flat_map(|group| &group.scores);
    let with = |mark: Mark| scores().filter(|score| score.mark == mark).count();
    let drawn = scores().filter(|score| score.score.number().is_some()).count().to_string();
    let mut parts = vec![words.with("figure-own-caption-count", &[("count", &drawn), ("code", &figure.code)])];
    for mark in [Mark::Within, Mark::Warning, Mark::Action, Mark::InformationOnly, Mark::NotScored] {
        let count = with(mark);
        if count > 0 {
            let word = mark.word(words);
            parts.push(
                words.with("figure-own-caption-class", &[("count", &count_word(count, words)), ("class", &word)]),
            );
        }
    }
    sentence(&parts, words)
}
