//! One laboratory's scores over rounds (ISO 13528:2022, 10.8): control limits, and
//! the exponentially weighted moving average where there are rounds enough.

use super::label::{self, Label, Weight};
use super::margin::{self, Name};
use super::marks::{self, Style};
use super::place::{Area, Room};
use super::svg::{Anchor, Face, INK, OWN, Root, SECOND, Svg, TEXT, polyline};
use super::text::{shorten, width};
use super::{Table, count_word, sentence, signed_limit};
use crate::mark::{Limits, Mark, Score, ScoreKind};
use crate::number;
use crate::words::Words;

/// With fewer rounds there are points only, no limits.
pub const FEWEST_ROUNDS: usize = 3;

/// One figure of scores over rounds.
#[derive(Clone, Debug, PartialEq)]
pub struct Trend {
    /// Prefix of the ids inside the SVG; unique on its page.
    pub id: String,
    /// What is followed, as "carbamazepine".
    pub name: String,
    /// The limits drawn, and the cut.
    pub limits: Limits,
    /// The rounds in the order of time, those without a score too.
    pub rounds: Vec<TrendRound>,
    /// How far the limits of the moving average stand from zero.
    pub ewma_limit: Option<f64>,
    /// Width in CSS pixels, as [`super::WIDE`] or [`super::NARROW`].
    pub width: u32,
}

/// One round.
#[derive(Clone, Debug, PartialEq)]
pub struct TrendRound {
    /// Its code.
    pub name: String,
    /// Its date, as "2026-03".
    pub date: String,
    /// The laboratory's scores; empty where it has none: a gap.
    pub scores: Vec<TrendScore>,
    /// The moving average after this round.
    pub ewma: Option<f64>,
    /// Whether the standard deviation for proficiency assessment is another than in
    /// the round before.
    pub sigma_changed: bool,
    /// Whether the kind of score is another than in the round before.
    pub kind_changed: bool,
    /// Whether a corrected publication took the place of an earlier one.
    pub superseded: bool,
}

/// One score.
#[derive(Clone, Debug, PartialEq)]
pub struct TrendScore {
    /// What it is of, as "item B".
    pub name: String,
    /// The score.
    pub score: Score,
    /// Its kind.
    pub kind: ScoreKind,
    /// Its class.
    pub mark: Mark,
    /// Whether a rule of control charts asks to look here.
    pub look: bool,
    /// Address of a link on the point.
    pub href: Option<String>,
    /// Text of the tooltip, and name of the link.
    pub tooltip: Option<String>,
}

/// The figure as the text of an SVG.
pub fn render(figure: &Trend, words: &Words) -> String {
    draw(figure, words, Face::Page)
}

const TOP: f64 = 28.0;
const HEIGHT: f64 = 240.0;
const PAD: f64 = 14.0;

struct Plot {
    left: f64,
    right: f64,
    cap: f64,
    first: f64,
    step: f64,
}

impl Plot {
    const BOTTOM: f64 = TOP + HEIGHT;

    fn x(&self, place: usize) -> f64 {
        self.first + self.step * place as f64
    }

    fn y(&self, score: f64) -> f64 {
        let middle = TOP + HEIGHT / 2.0;
        middle - score.clamp(-self.cap, self.cap) / self.cap * (HEIGHT / 2.0 - PAD)
    }
}

/// Rounds with a score.
fn scored(figure: &Trend) -> usize {
    let has = |round: &&TrendRound| round.scores.iter().any(|score| score.score.number().is_some());
    figure.rounds.iter().filter(has).count()
}

fn has_limits(figure: &Trend) -> bool {
    scored(figure) >= FEWEST_ROUNDS
}

pub(crate) fn draw(figure: &Trend, words: &Words, face: Face) -> String {
    let full = f64::from(figure.width.max(240));
    let mut plot = Plot { left: 4.0, right: full, cap: figure.limits.cap, first: 0.0, step: 0.0 };
    let names = rule_names(figure, &plot, words);
    plot.right -= margin::room(&names);
    let count = figure.rounds.len();
    let room = plot.right - plot.left - 36.0;
    plot.step = (room / count.saturating_sub(1).max(1) as f64).min(84.0);
    plot.first = plot.left + 18.0 + (room - plot.step * count.saturating_sub(1) as f64) / 2.0;
    let mut svg = Svg::new(words);
    let bounds = Area { left: 0.0, top: TOP - 8.0, right: plot.right + 4.0, bottom: Plot::BOTTOM + 2.0 };
    let mut labels_room = Room::new(bounds);
    draw_rules(&mut svg, &plot, figure, &mut labels_room);
    margin::draw(&mut svg, &names, plot.right, TOP, Plot::BOTTOM);
    draw_changes(&mut svg, &plot, figure);
    draw_average(&mut svg, &plot, figure);
    let labels = draw_scores(&mut svg, &plot, figure, &mut labels_room, face, words);
    let unnamed = label::draw(&mut svg, &mut labels_room, labels);
    let bottom = draw_rounds(&mut svg, &plot, figure);
    let mut notes = note_sentences(figure, words);
    notes.extend(super::unnamed_note(unnamed, words));
    let height = margin::draw_notes(&mut svg, &notes, (full - 4.0) / face.breadth(), 4.0, bottom + 22.0);
    svg.finish(&Root {
        id: &figure.id,
        face,
        width: full,
        height: height.max(bottom + 8.0),
        title: &words.with("figure-trend-title", &[("name", &figure.name)]),
        description: &caption(figure, words),
        links: figure
            .rounds
            .iter()
            .flat_map(|round| &round.scores)
            .any(|score| score.href.is_some() && score.score.number().is_some()),
    })
}

fn rule_names(figure: &Trend, plot: &Plot, words: &Words) -> Vec<Name> {
    let mut names = vec![Name { y: plot.y(0.0), value: "0".to_owned(), text: String::new(), strong: true }];
    if !has_limits(figure) {
        return names;
    }
    let keys = [(figure.limits.warning, "figure-scores-warning"), (Some(figure.limits.action), "figure-scores-action")];
    for (limit, key) in keys {
        for value in limit.into_iter().flat_map(|limit| [limit, -limit]) {
            names.push(Name { y: plot.y(value), value: signed_limit(value), text: words.t(key), strong: false });
        }
    }
    if let Some(limit) = average_limit(figure) {
        for value in [limit, -limit] {
            let text = words.t("figure-trend-ewma");
            names.push(Name { y: plot.y(value), value: number::signed(value, 2), text, strong: false });
        }
    }
    names
}

/// The limit of the average, where the average is drawn.
fn average_limit(figure: &Trend) -> Option<f64> {
    let drawn = has_limits(figure) && figure.rounds.iter().any(|round| round.ewma.is_some());
    figure.ewma_limit.filter(|limit| drawn && limit.is_finite())
}

fn draw_rules(svg: &mut Svg, plot: &Plot, figure: &Trend, room: &mut Room) {
    let mut rules = vec![(0.0, "figure-assigned", INK, 1.0, "")];
    if has_limits(figure) {
        for limit in figure.limits.values() {
            let dashes = if Some(limit) == figure.limits.warning { "5 3" } else { "" };
            rules.extend([limit, -limit].map(|value| (value, "figure-limit", SECOND, 0.8, dashes)));
        }
    }
    if let Some(limit) = average_limit(figure) {
        rules.extend([limit, -limit].map(|value| (value, "mark-own", OWN, 0.8, "1.5 3")));
    }
    for (value, class, stroke, thick, dashes) in rules {
        let y = plot.y(value);
        let line = svg.line_of(class, stroke, thick, (plot.left, y), (plot.right, y));
        if dashes.is_empty() {
            line.end()
        } else {
            line.set("stroke-dasharray", dashes).end()
        }
        room.avoid(Area { left: plot.left, top: y - 1.0, right: plot.right, bottom: y + 1.0 });
    }
}

/// Upright rules before rounds that are judged by another measure.
fn draw_changes(svg: &mut Svg, plot: &Plot, figure: &Trend) {
    let mut free = f64::NEG_INFINITY;
    for (place, round) in figure.rounds.iter().enumerate() {
        if place == 0 || !(round.sigma_changed || round.kind_changed) {
            continue;
        }
        let x = plot.x(place) - plot.step / 2.0;
        svg.line_of("figure-limit", SECOND, 0.8, (x, TOP - 4.0), (x, Plot::BOTTOM))
            .set("stroke-dasharray", "2 3")
            .end();
        let text = match (round.sigma_changed, round.kind_changed) {
            (true, true) => "σₚₜ, z",
            (true, false) => "σₚₜ",
            _ => "z",
        };
        // What has no room is told by its line, and in the table.
        let half = width(text) / 2.0;
        if x - half >= free {
            svg.words("figure-second", (x, TOP - 10.0), Anchor::Middle, text);
            free = x + half + 4.0;
        }
    }
}

/// The moving average as a line through its rounds.
fn draw_average(svg: &mut Svg, plot: &Plot, figure: &Trend) {
    if !has_limits(figure) {
        return;
    }
    let places: Vec<(f64, f64)> = figure
        .rounds
        .iter()
        .enumerate()
        .filter_map(|(place, round)| {
            let average = round.ewma.filter(|average| average.is_finite())?;
            Some((plot.x(place), plot.y(average)))
        })
        .collect();
    if places.len() > 1 {
        svg.open("path")
            .set("class", "mark-own")
            .set("d", &polyline(&places))
            .set("fill", "none")
            .set("stroke", OWN)
            .num("stroke-width", 1.6)
            .end();
    }
}

fn draw_scores(svg: &mut Svg, plot: &Plot, figure: &Trend, room: &mut Room, face: Face, words: &Words) -> Vec<Label> {
    let most = figure.rounds.iter().map(|round| round.scores.len()).max().unwrap_or_default();
    let style = Style { face, radius: if most > 3 { 2.6 } else { 3.8 } };
    let mut labels = Vec::new();
    for (place, round) in figure.rounds.iter().enumerate() {
        let count = round.scores.len();
        // Beside each other, so that equal scores do not hide each other.
        let spread = (plot.step * 0.6).min(7.0 * count.saturating_sub(1) as f64);
        for (index, score) in round.scores.iter().enumerate() {
            let Some(value) = score.score.number() else { continue };
            let aside = if count > 1 { spread * (index as f64 / (count - 1) as f64 - 0.5) } else { 0.0 };
            let at = (plot.x(place) + aside, plot.y(value));
            let name = marks::begin(svg, score.href.as_deref(), score.tooltip.as_deref());
            if let Score::Below(_) = score.score {
                marks::arrow(svg, style, score.mark, at, (0.0, 1.0), 16.0_f64.min(Plot::BOTTOM - at.1).max(6.0));
            } else {
                marks::shape(svg, style, score.mark, score.mark == Mark::InformationOnly, at);
            }
            let mut reach = style.reach() + 1.0;
            if value.abs() > plot.cap {
                marks::beyond(svg, score.mark, at, (0.0, -value.signum()), style.reach() + 1.5);
                reach += 5.0;
            }
            if score.look {
                marks::ring(svg, style, at);
                reach = reach.max(style.ring() + 1.0);
            }
            marks::target(svg, at, 24.0_f64.min(plot.step.max(6.0)), 24.0);
            svg.close(name);
            room.take(Area::around(at, reach, reach));
            if value.abs() > plot.cap {
                labels.push(Label { at, clearance: reach, text: number::signed(value, 1), weight: Weight::Beyond });
            } else if score.look && count == 1 {
                let text = words.t("figure-trend-look-label");
                labels.push(Label { at, clearance: reach, text, weight: Weight::Signal });
            }
        }
        if round.scores.iter().all(|score| score.score.number().is_none()) {
            // A gap: a short dash on the zero line's place, with room around it.
            let (x, y) = (plot.x(place), plot.y(0.0) + TEXT);
            svg.words("figure-second", (x, y + 2.0), Anchor::Middle, "–");
            room.take(Area::around((x, y - 2.0), 5.0, 6.0));
        }
    }
    labels
}

/// Codes and dates below, as many as have room; returns where they end.
fn draw_rounds(svg: &mut Svg, plot: &Plot, figure: &Trend) -> f64 {
    let widest = figure
        .rounds
        .iter()
        .map(|round| width(&name_below(round)).min(110.0).max(width(&round.date)))
        .fold(0.0, f64::max);
    let every = ((widest + 10.0) / plot.step.max(1.0)).ceil().max(1.0) as usize;
    let last = figure.rounds.len().saturating_sub(1);
    let y = Plot::BOTTOM;
    let mut free = f64::NEG_INFINITY;
    for (place, round) in figure.rounds.iter().enumerate() {
        let x = plot.x(place);
        svg.line("figure-axis", SECOND, 0.8, (x, y), (x, y + 4.0));
        // The newest is always named.
        if !(last - place).is_multiple_of(every) {
            continue;
        }
        let name = shorten(&name_below(round), 110.0);
        let half = width(&name).max(width(&round.date)) / 2.0;
        let middle = x.max(half + 2.0);
        if middle - half < free {
            continue;
        }
        free = middle + half + 4.0;
        svg.words("figure-second", (middle, y + 18.0), Anchor::Middle, &name);
        svg.words_of("figure-second", (middle, y + 34.0), Anchor::Middle).content(&round.date);
    }
    svg.line("figure-axis", SECOND, 0.8, (plot.left, y), (plot.right, y));
    y + 36.0
}

/// A corrected round has an asterisk.
fn name_below(round: &TrendRound) -> String {
    if round.superseded { format!("{}*", round.name) } else { round.name.clone() }
}

fn note_sentences(figure: &Trend, words: &Words) -> Vec<String> {
    let any = |of: fn(&TrendRound) -> bool| figure.rounds.iter().any(of);
    let mut notes = Vec::new();
    if has_limits(figure) {
        if average_limit(figure).is_some() {
            notes.push(words.t("figure-trend-line"));
        }
    } else {
        notes.push(words.with("figure-trend-few", &[("least", &FEWEST_ROUNDS.to_string())]));
    }
    let scores = || figure.rounds.iter().flat_map(|round| &round.scores);
    if scores().any(|score| score.look) {
        notes.push(words.t("figure-trend-ring"));
    }
    if any(|round| round.scores.iter().all(|score| score.score.number().is_none())) {
        notes.push(words.t("figure-trend-gap"));
    }
    if figure.rounds.iter().skip(1).any(|round| round.sigma_changed || round.kind_changed) {
        notes.push(words.t("figure-trend-changed"));
    }
    if any(|round| round.superseded) {
        notes.push(words.t("figure-trend-superseded"));
    }
    if scores().any(|score| score.score.number().is_some_and(|value| value.abs() > figure.limits.cap)) {
        let cap = number::plain((figure.limits.cap * 100.0).round() / 100.0);
        notes.push(words.with("figure-scores-cut", &[("cap", &cap)]));
    }
    notes
}

/// One sentence that says what the figure shows, from its data: how many rounds, how
/// many scores beyond a limit, how many ask to be looked at.
pub fn caption(figure: &Trend, words: &Words) -> String {
    let rounds = figure.rounds.len().to_string();
    let values = [("count", &*rounds), ("name", &*figure.name)];
    let mut parts = vec![words.with("figure-trend-caption-count", &values)];
    let scores = || figure.rounds.iter().flat_map(|round| &round.scores);
    let numbers: Vec<f64> = scores()
        .filter(|score| matches!(score.score, Score::Value(_)))
        .filter_map(|score| score.score.number())
        .collect();
    let beyond = super::beyond_limits(&numbers, &figure.limits, "figure-scores-caption", words);
    if beyond.is_empty() && !numbers.is_empty() {
        parts.push(words.t("figure-scores-caption-none"));
    }
    parts.extend(beyond);
    let look = scores().filter(|score| score.look).count();
    if look > 0 {
        parts.push(words.with("figure-trend-caption-look", &[("count", &count_word(look, words))]));
    }
    sentence(&parts, words)
}

/// The scores as rows, in the order of time.
pub fn table(figure: &Trend, words: &Words) -> Table {
    let head =
        ["figure-table-round", "figure-table-date", "figure-table-of", "figure-table-score", "figure-table-class"];
    let mut head: Vec<String> = head.map(|key| words.t(key)).to_vec();
    head.push(words.t("figure-trend-ewma"));
    let mut rows = Vec::new();
    for round in &figure.rounds {
        let average = round.ewma.map(|value| words.numeral(number::signed(value, 2))).unwrap_or_default();
        if round.scores.is_empty() {
            let none = words.t("figure-trend-none");
            rows.push(vec![name_below(round), round.date.clone(), String::new(), none, String::new(), average.clone()]);
        }
        for score in &round.scores {
            let text = score.score.number().map(|value| {
                let sign = if matches!(score.score, Score::Below(_)) { "<" } else { "" };
                words.numeral(format!(
                    "{} {sign}{}",
                    score.kind.symbol(),
                    number::score(value, &figure.limits.values())
                ))
            });
            rows.push(vec![
                name_below(round),
                round.date.clone(),
                score.name.clone(),
                text.unwrap_or_else(|| words.t("figure-trend-none")),
                score.mark.word(words),
                average.clone(),
            ]);
        }
    }
    Table { head, rows, own: None }
}
