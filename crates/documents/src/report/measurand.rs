//! Item j: the results of each measurand as they were reported, with the figures of
//! results and of scores beside them.

use super::block::{Block, Cell, Column, Drawn, Medium, Table};
use super::content::{Maker, NONE};
use super::{Class, Measurand, Row};
use crate::figure::results::{self, Assigned, Reading, ResultPoint, Results};
use crate::figure::scores::{self, ScorePoint, Scores};
use crate::figure::{Audience, Face, NARROW};
use crate::mark::{Mark, Score, ScoreKind};
use crate::number;

/// Fewer scores than this are in the table only (ISO 13528:2022, 10.4).
const FEWEST_SCORES: usize = 3;

pub(super) fn results(maker: &Maker<'_>) -> Vec<Block> {
    let report = maker.report;
    let (reported, participants) = (report.reported.to_string(), report.participants.to_string());
    let mut blocks = vec![
        Block::Text(maker.with("results-lead", &[("reported", &reported), ("participants", &participants)])),
        Block::Note(maker.t("results-marks")),
    ];
    for (place, measurand) in report.measurands.iter().enumerate() {
        if maker.item.is_none_or(|item| item == measurand.item) {
            blocks.extend(of(maker, place, measurand));
        }
    }
    blocks
}

fn of(maker: &Maker<'_>, place: usize, measurand: &Measurand) -> Vec<Block> {
    let mut heading = name(maker, measurand);
    if !measurand.unit.is_empty() {
        heading = format!("{heading}, {}", measurand.unit);
    }
    if measurand.few {
        let fewest = super::FEWEST_SHOWN.to_string();
        return vec![Block::Heading(heading), Block::Text(maker.with("few", &[("fewest", &fewest)]))];
    }
    if measurand.results.is_empty() {
        return vec![Block::Heading(heading), Block::Text(maker.t("no-results"))];
    }
    let note = match measurand.expressed_as.as_str() {
        "" => String::new(),
        basis => maker.with("expressed-as", &[("basis", basis)]),
    };
    let face = if maker.medium == Medium::Document { Face::Document } else { Face::Page };
    let (table, figures) = (table(maker, measurand), figures(maker, place, measurand, face));
    vec![Block::Beside { heading, note, table, figures }]
}

/// The name as it is shown: "carbamazepine, item B".
pub(super) fn name(maker: &Maker<'_>, measurand: &Measurand) -> String {
    maker.with("measurand", &[("analyte", &measurand.analyte), ("item", &measurand.item)])
}

fn table(maker: &Maker<'_>, measurand: &Measurand) -> Table {
    let kinds: Vec<ScoreKind> = measurand.results.iter().filter_map(|row| row.kind).map(ScoreKind::from).collect();
    let one = kinds.first().filter(|first| kinds.iter().all(|kind| kind == *first));
    let score = one.map_or_else(|| maker.t("column-score"), |kind| kind.symbol().to_owned());
    // The factor that all give stands in the head.
    let factors: Vec<&str> = measurand.results.iter().map(|row| row.coverage_factor.as_str()).collect();
    let with_u = measurand.results.iter().filter(|row| !row.uncertainty.is_empty());
    let factor = with_u.clone().next().map(|row| row.coverage_factor.as_str()).filter(|first| !first.is_empty());
    let factor = factor.filter(|first| with_u.clone().all(|row| row.coverage_factor == **first));
    let own_factor = factor.is_none() && factors.iter().any(|factor| !factor.is_empty());
    let head = factor.map_or_else(|| "U".to_owned(), |k| format!("U (k = {})", maker.n(k.to_owned())));
    let mut columns =
        vec![Column::text(maker.t("column-code")), Column::number(maker.t("column-result")), Column::number(head)];
    columns.extend(own_factor.then(|| Column::number("k")));
    columns.extend([Column::number(score), Column::wide(maker.t("column-class"))]);
    let caption = maker.with("results-of", &[("measurand", &name(maker, measurand)), ("unit", &measurand.unit)]);
    let mut table = Table::new(caption, columns);
    for row in &measurand.results {
        table.rows.push(cells(maker, measurand, row, (one.is_none(), own_factor)));
    }
    table.aligned()
}

fn cells(maker: &Maker<'_>, measurand: &Measurand, row: &Row, (mixed, own_factor): (bool, bool)) -> Vec<Cell> {
    let typed = |text: &str| if text.is_empty() { NONE.to_owned() } else { maker.n(number::typed(text)) };
    let unit = if row.reported_unit.is_empty() { String::new() } else { format!(" {}", row.reported_unit) };
    let score = row.score.map_or(NONE.to_owned(), |score| {
        let limits = row.kind.map(|kind| measurand.limits_of(kind).values()).unwrap_or_default();
        let text = maker.n(number::score(score, &limits));
        let text = if row.bound { format!("<{text}") } else { text };
        let kind = row.kind.map(|kind| ScoreKind::from(kind).symbol()).filter(|_| mixed);
        kind.map_or(text.clone(), |kind| format!("{kind} {text}"))
    });
    let (sign, look) = match row.class {
        Class::Questionable => ("◇ ", "warning"),
        Class::Unacceptable => ("■ ", "action"),
        _ => ("", ""),
    };
    let withdrawn = row.marks.iter().any(|mark| mark == WITHDRAWN);
    let class = format!("{sign}{}", Mark::from(row.class).word_of(withdrawn, maker.words));
    // Said as the class, it need not be said again.
    let marks = row.marks.iter().filter(|mark| *mark != WITHDRAWN || row.class != Class::NotScored);
    let marks = marks.map(|mark| maker.t(&format!("mark-{}", mark.replace('_', "-"))));
    let class = std::iter::once(class).chain(marks).collect::<Vec<_>>().join(", ");
    let mut cells: Vec<Cell> = vec![
        row.code.as_str().into(),
        format!("{}{unit}", typed(&row.reported)).into(),
        typed(&row.uncertainty).into(),
    ];
    cells.extend(own_factor.then(|| typed(&row.coverage_factor).into()));
    cells.extend([score.into(), Cell { text: class, look }]);
    cells
}

fn figures(maker: &Maker<'_>, place: usize, measurand: &Measurand, face: Face) -> Vec<Drawn> {
    let words = maker.words;
    let all = drawn_results(maker, place, measurand);
    let mut figures = vec![Drawn { svg: results::draw(&all, words, face), alt: results::caption(&all, words) }];
    let scored = measurand.results.iter().filter(|row| row.score.is_some()).count();
    if let Some(kind) = measurand.kind.filter(|_| scored >= FEWEST_SCORES) {
        let of_scores = Scores {
            id: format!("report-scores-{place}"),
            measurand: name(maker, measurand),
            kind: kind.into(),
            limits: measurand.limits_of(kind),
            points: measurand.results.iter().map(score_point).collect(),
            audience: Audience::Laboratory,
            width: NARROW,
        };
        let (svg, alt) = (scores::draw(&of_scores, words, face), scores::caption(&of_scores, words));
        figures.push(Drawn { svg, alt });
    }
    figures
}

fn score_point(row: &Row) -> ScorePoint {
    ScorePoint {
        code: row.code.clone(),
        score: match row.score {
            Some(bound) if row.bound => Score::Below(bound),
            Some(value) => Score::Value(value),
            None => Score::Absent,
        },
        mark: row.class.into(),
        own: false,
        href: None,
        tooltip: None,
    }
}

fn drawn_results(maker: &Maker<'_>, place: usize, measurand: &Measurand) -> Results {
    let left_out = |row: &Row| row.marks.iter().any(|mark| LEFT_OUT.contains(&mark.as_str()));
    let point = |row: &Row| {
        let reading = match (row.value, row.below) {
            (Some(value), _) => Reading::Value { value, expanded_uncertainty: row.expanded_uncertainty },
            (None, Some(limit)) => Reading::Below(limit),
            (None, None) => return None,
        };
        let (code, mark) = (row.code.clone(), row.class.into());
        Some(ResultPoint { code, reading, mark, excluded: left_out(row), own: false, href: None, tooltip: None })
    };
    Results {
        id: format!("report-results-{place}"),
        measurand: name(maker, measurand),
        unit: measurand.unit.clone(),
        assigned: measurand.assigned.as_ref().map(|assigned| Assigned {
            value: assigned.value,
            expanded_uncertainty: Some(2.0 * assigned.standard_uncertainty),
            route: maker.t(&format!("by-{}", assigned.route)),
        }),
        sigma_pt: measurand.sigma_pt,
        limits: measurand.limits_of(super::Kind::Z),
        robust_mean: measurand.robust_mean,
        points: measurand.results.iter().filter_map(point).collect(),
        audience: Audience::Laboratory,
        width: NARROW,
    }
}

/// Marks of results that no consensus holds.
const LEFT_OUT: [&str; 5] = ["late", "blunder", "invalid", WITHDRAWN, "excluded"];

/// The mark of a result that its laboratory withdrew.
const WITHDRAWN: &str = "withdrawn";
