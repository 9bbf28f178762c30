//! Figures with the table of their data: pairs of items, ζ against z, matrices.

use super::Frame;
use super::evaluation::score_text;
use super::figures::{self, Drawn, FEWEST_IN_FIGURE, View, mark};
use super::scores::Published;
use crate::evaluated::Evaluated;
use roundel_documents::figure::overview::{self, Cell, Overview, Row, State};
use roundel_documents::figure::youden::{self, Youden};
use roundel_documents::figure::zeta_z::{self, ZetaPoint, ZetaZ};
use roundel_documents::figure::{Audience, NARROW, Point, Table, WIDE};
use roundel_documents::words::Words;
use roundel_documents::{Mark, ScoreKind, number};
use roundel_domain::assemble::measurand_id;
use roundel_domain::evaluation::ScoreEntry;
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::package::Reported;
use roundel_domain::performance;

/// What is said of a figure, in a language.
type Said<T, R> = fn(&T, &Words) -> R;

/// A figure at two widths, with the rows that it was drawn from.
#[derive(Clone, Debug)]
pub struct Charted {
    /// The figure.
    pub drawn: Drawn,
    /// Its data.
    pub table: Table,
}

impl Charted {
    /// Whether the table stands beside the figure: not with so many cells that a file
    /// is the better place for them.
    pub fn has_table(&self) -> bool {
        const MOST_CELLS: usize = 6000;
        !self.table.rows.is_empty() && self.table.rows.len() * self.table.head.len() <= MOST_CELLS
    }

    /// The rows of the table; the reader's own is marked.
    pub fn rows(&self) -> Vec<(bool, &Vec<String>)> {
        let own = |row: usize| self.table.own == Some(row);
        self.table.rows.iter().enumerate().map(|(place, row)| (own(place), row)).collect()
    }

    /// Draws what `figure` makes of a width.
    pub fn of<T>(
        figure: impl Fn(u32) -> T,
        words: &Words,
        (render, caption, table): (Said<T, String>, Said<T, String>, Said<T, Table>),
    ) -> Charted {
        let (wide, narrow) = (figure(WIDE), figure(NARROW));
        Charted {
            drawn: Drawn { wide: render(&wide, words), narrow: render(&narrow, words), caption: caption(&wide, words) },
            table: table(&wide, words),
        }
    }
}

fn audience(view: View<'_>) -> Audience {
    if view.own.is_some() { Audience::Laboratory } else { Audience::Organiser }
}

/// The ellipse around pairs as it is drawn.
pub fn ellipse(pairs: &[[f64; 2]]) -> youden::Ellipse {
    match performance::ellipse(pairs) {
        performance::Ellipse::Of(found, squared) => youden::Ellipse::Of {
            location: found.location,
            scale: found.scale,
            correlation: found.correlation,
            squared,
        },
        performance::Ellipse::TooFew => youden::Ellipse::TooFew,
        performance::Ellipse::Singular => youden::Ellipse::Singular,
    }
}

/// The number that was reported, of an entry that has one.
fn value(evaluated: &Evaluated, entry: &ScoreEntry) -> Option<f64> {
    let result = evaluated.result(&entry.participant, &entry.measurand)?;
    matches!(result.reported, Reported::Values(_)).then_some(entry.value).flatten()
}

/// How many other items a measurand is drawn against.
const MOST_PAIRS: usize = 2;

/// The pairs of a measurand with the same analyte in the items nearest to it; for a
/// laboratory only where five or more stand in both (D8).
pub fn pairs(f: &Frame, evaluated: &Evaluated, id: &str, view: View<'_>) -> Vec<Charted> {
    let all = &evaluated.package.measurands;
    let Some(at) = all.iter().position(|plan| plan.id == id) else { return Vec::new() };
    let same =
        |place: &usize| *place != at && all[*place].analyte == all[at].analyte && all[*place].unit == all[at].unit;
    let mut others: Vec<usize> = (0..all.len()).filter(same).collect();
    others.sort_by_key(|place| (place.abs_diff(at), *place));
    others.truncate(MOST_PAIRS);
    let pair = |other: usize| {
        // The item that stands first on the form is drawn across.
        let (first, second) = (at.min(other), at.max(other));
        pair(f, evaluated, [first, second], view)
    };
    others.into_iter().filter_map(pair).collect()
}

/// Two measurands by their places on the form.
fn pair(f: &Frame, evaluated: &Evaluated, places: [usize; 2], view: View<'_>) -> Option<Charted> {
    let ids = places.map(|place| evaluated.package.measurands[place].id.as_str());
    let (first, second) = (evaluated.measurand(ids[0])?, evaluated.measurand(ids[1])?);
    if view.own.is_some() && !ids.iter().all(|id| evaluated.may_be_shared(id)) {
        return None;
    }
    let mut points = Vec::new();
    let mut single = 0;
    for entry in evaluated.scores(ids[0]) {
        let x = value(evaluated, entry);
        let other = evaluated.score(&entry.participant, ids[1]);
        let y = other.and_then(|other| value(evaluated, other));
        let (Some(x), Some(y), Some(other)) = (x, y, other) else {
            single += usize::from(x.is_some() || y.is_some());
            continue;
        };
        points.push(pair_point(f, (entry, x), (other, y), &first.0.unit, view));
    }
    let first_alone = |entry: &&ScoreEntry| evaluated.score(&entry.participant, ids[0]).is_none();
    single += evaluated.scores(ids[1]).filter(first_alone).filter(|entry| value(evaluated, entry).is_some()).count();
    if points.is_empty() || (view.own.is_some() && points.len() < FEWEST_IN_FIGURE) {
        return None;
    }
    let values: Vec<[f64; 2]> = points.iter().map(|point| point.at).collect();
    let ellipse = ellipse(&values);
    let figure = |width: u32| Youden {
        id: format!("youden-{}-{}-{width}", places[0], places[1]),
        analyte: first.0.analyte.clone(),
        items: [&first.0.item, &second.0.item].map(|item| f.t1("item-name", "item", item)),
        unit: first.0.unit.clone(),
        assigned: [first.1, second.1].map(|outcome| outcome.assigned_value.as_ref().map(|assigned| assigned.value)),
        points: points.clone(),
        ellipse,
        single,
        audience: audience(view),
        width,
    };
    Some(Charted::of(figure, &f.w, (youden::render, youden::caption, youden::table)))
}

fn pair_point(
    f: &Frame,
    (entry, x): (&ScoreEntry, f64),
    (other, y): (&ScoreEntry, f64),
    unit: &str,
    view: View<'_>,
) -> Point {
    // The one that asks for more; of two without a signal the one that has a class.
    let worst = |mark: &Mark| match mark {
        Mark::Action => 4,
        Mark::Warning => 3,
        Mark::Within => 2,
        Mark::InformationOnly => 1,
        Mark::NotScored => 0,
    };
    let marks = [mark(entry.signal), mark(other.signal)];
    let mark = marks.into_iter().max_by_key(worst).unwrap_or(Mark::NotScored);
    let (one, two) = (number::plain(x), number::plain(y));
    Point {
        code: entry.participant.clone(),
        at: [x, y],
        written: format!("{}; {}", number::brief(x), number::brief(y)),
        mark,
        own: view.own == Some(entry.participant.as_str()),
        href: view.link.map(|link| format!("{link}{}", entry.participant)),
        tooltip: Some(format!("{}: {one}; {two} {unit}, {}", entry.participant, mark.word(&f.w))),
    }
}

/// ζ against z of a measurand; for a laboratory only with five or more.
pub fn zeta_z(f: &Frame, evaluated: &Evaluated, id: &str, view: View<'_>) -> Option<Charted> {
    let (plan, outcome) = evaluated.measurand(id)?;
    let sigma = outcome.sigma_pt.filter(|sigma| *sigma > 0.0)?;
    let wide = plan.scores().contains(&roundel_domain::package::Score::ZPrime)
        || outcome.uncertainty_negligible == Some(false);
    let symbol = if wide { ScoreKind::ZPrime } else { ScoreKind::Z }.symbol();
    let mut points = Vec::new();
    let mut without = 0;
    for entry in evaluated.scores(id) {
        let Some(z) = (if wide { entry.z_prime } else { entry.z }) else { continue };
        let result = evaluated.result(&entry.participant, id);
        let (Some(u), Some(zeta)) = (result.and_then(|result| result.standard_uncertainty()), entry.zeta) else {
            without += 1;
            continue;
        };
        let written = format!("{}; {}", number::signed(z, 1), number::signed(zeta, 1));
        let tooltip = format!(
            "{}: {symbol} {}, ζ {}, u {} {}",
            entry.participant,
            number::signed(z, 2),
            number::signed(zeta, 2),
            number::brief(u),
            plan.unit
        );
        let point = Point {
            code: entry.participant.clone(),
            at: [z, zeta],
            written,
            mark: mark(entry.signal),
            own: view.own == Some(entry.participant.as_str()),
            href: view.link.map(|link| format!("{link}{}", entry.participant)),
            tooltip: Some(tooltip),
        };
        points.push(ZetaPoint { point, u_over_sigma: u / sigma });
    }
    let hidden = view.own.is_some() && (points.len() < FEWEST_IN_FIGURE || !evaluated.may_be_shared(id));
    if points.is_empty() || hidden {
        return None;
    }
    let figure = |width: u32| ZetaZ {
        id: format!("zeta-{width}"),
        measurand: figures::measurand_name(f, plan),
        symbol: symbol.to_owned(),
        limits: figures::limits(plan, ScoreKind::Z),
        points: points.clone(),
        without,
        audience: audience(view),
        width,
    };
    Some(Charted::of(figure, &f.w, (zeta_z::render, zeta_z::caption, zeta_z::table)))
}

/// What a matrix shows of an entry.
fn state(entry: &ScoreEntry) -> State {
    match mark(entry.signal) {
        signal if signal.is_signal() => State::Scored(signal),
        _ if entry.below.is_some() => State::Below,
        other => State::Scored(other),
    }
}

/// All results of a round, measurands against codes, for those who see codes.
pub fn matrix(f: &Frame, evaluated: &Evaluated, round: &str, blocks: &[(&Item, Vec<&Measurand>)]) -> Option<Charted> {
    let mut codes: Vec<&str> = evaluated.evaluation.scores.iter().map(|entry| entry.participant.as_str()).collect();
    codes.sort_unstable();
    codes.dedup();
    let mut rows = Vec::new();
    for (item, measurands) in blocks {
        for m in measurands {
            let id = measurand_id(&item.label, &m.analyte);
            if evaluated.measurand(&id).is_none() {
                continue;
            }
            let name = f.t2("measurand-name", "analyte", &m.analyte, "item", &item.label);
            let mut entries = evaluated.scores(&id).peekable();
            let cells = codes.iter().map(|code| {
                while entries.peek().is_some_and(|entry| entry.participant.as_str() < *code) {
                    entries.next();
                }
                match entries.peek().filter(|entry| entry.participant == **code) {
                    None => Cell { state: State::NotReported, text: String::new(), href: None, tooltip: None },
                    Some(entry) => Cell {
                        state: state(entry),
                        text: String::new(),
                        href: Some(format!("/rounds/{round}/review/{}#lab-{code}", m.position)),
                        tooltip: Some(cell_tooltip(f, evaluated, entry, &format!("{code}, {name}"))),
                    },
                }
            });
            let cells: Vec<Cell> = cells.collect();
            rows.push(Row { name, href: Some(format!("/rounds/{round}/review/{}", m.position)), cells });
        }
    }
    if codes.is_empty() || rows.is_empty() {
        return None;
    }
    let figure = |width: u32| Overview {
        id: format!("overview-{width}"),
        title: f.t1("matrix-title", "code", round),
        row_name: f.t("matrix-measurand"),
        columns: codes.iter().map(|&code| code.to_owned()).collect(),
        rows: rows.clone(),
        width,
    };
    Some(Charted::of(figure, &f.w, (overview::render, overview::caption, overview::table)))
}

fn cell_tooltip(f: &Frame, evaluated: &Evaluated, entry: &ScoreEntry, name: &str) -> String {
    let (score, class) = (score_text(evaluated, entry), mark(entry.signal).word(&f.w));
    if score.is_empty() { format!("{name}: {class}") } else { format!("{name}: {score}, {class}") }
}

/// One laboratory's results, analytes against items, with their scores. `missing`
/// says what a place without a result is, by its position on the form.
pub(crate) fn own_matrix(
    f: &Frame,
    on: &Published,
    blocks: &[(&Item, Vec<&Measurand>)],
    missing: impl Fn(i64) -> State,
) -> Option<Charted> {
    let (evaluated, code) = (on.evaluated.as_ref(), on.participant.code.as_str());
    let mut analytes: Vec<&str> = Vec::new();
    for (_, measurands) in blocks {
        for m in measurands {
            if !analytes.contains(&m.analyte.as_str()) {
                analytes.push(&m.analyte);
            }
        }
    }
    let empty = |state: State| Cell { state, text: String::new(), href: None, tooltip: None };
    let row = |analyte: &&str| {
        let cell = |(item, measurands): &(&Item, Vec<&Measurand>)| {
            let Some(m) = measurands.iter().find(|m| m.analyte == **analyte) else { return empty(State::NotAsked) };
            let id = measurand_id(&item.label, &m.analyte);
            let Some(entry) = evaluated.score(code, &id) else { return empty(missing(m.position)) };
            let shared = evaluated.may_be_shared(&id);
            let name = f.t2("measurand-name", "analyte", &m.analyte, "item", &item.label);
            Cell {
                state: if shared { state(entry) } else { State::Scored(Mark::NotScored) },
                text: if shared { score_text(evaluated, entry) } else { String::new() },
                href: Some(on.measurand_href(m.position)),
                tooltip: Some(if shared { cell_tooltip(f, evaluated, entry, &name) } else { name }),
            }
        };
        Row { name: (*analyte).to_owned(), href: None, cells: blocks.iter().map(cell).collect() }
    };
    let rows: Vec<Row> = analytes.iter().map(row).collect();
    if rows.is_empty() {
        return None;
    }
    let figure = |width: u32| Overview {
        id: format!("own-overview-{width}"),
        title: f.t1("own-matrix-title", "code", code),
        row_name: f.t("analyte"),
        columns: blocks.iter().map(|(item, _)| f.t1("item-name", "item", &item.label)).collect(),
        rows: rows.clone(),
        width,
    };
    Some(Charted::of(figure, &f.w, (overview::render, overview::caption, overview::table)))
}
