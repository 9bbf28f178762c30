//! The round read as a study of precision (ISO 5725-2): what is printed, and how.

use super::block::{Block, Cell, Column, Drawn, Medium, Table};
use super::content::{Maker, NONE};
use crate::figure::mandel::{self, Level, Mandel, MandelPoint, Statistic};
use crate::figure::{Audience, Face, NARROW};
use crate::number;
use serde::{Deserialize, Serialize};

/// The precision of a method as a report prints it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Precision {
    /// `iso` or `harmonised`.
    pub procedure: String,
    /// What names the protocol of the method.
    pub protocol: String,
    /// In the order of the form.
    pub measurands: Vec<PrecisionOf>,
}

/// The precision of a measurand; numbers in its unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PrecisionOf {
    /// The item.
    pub item: String,
    /// The analyte.
    pub analyte: String,
    /// The unit.
    pub unit: String,
    /// Fewer laboratories than may be shown: everything below is empty.
    pub few: bool,
    /// All laboratories with a result, in the order of the codes.
    pub cells: Vec<PrecisionCell>,
    /// Indicator lines of h at 5 % and at 1 %.
    pub h_lines: Option<[f64; 2]>,
    /// Indicator lines of k at 5 % and at 1 %.
    pub k_lines: Option<[f64; 2]>,
    /// With all laboratories.
    pub all: PrecisionNumbers,
    /// Without those that were set aside; none where none was.
    pub kept: Option<PrecisionNumbers>,
    /// The tests in the order made.
    pub tests: Vec<PrecisionTest>,
}

/// What a laboratory contributes to precision.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PrecisionCell {
    /// Its code.
    pub code: String,
    /// Its single values; empty for a result below a limit.
    pub values: Vec<f64>,
    /// The limit that the result is below.
    pub below: Option<f64>,
    /// Mean of the values.
    pub mean: Option<f64>,
    /// Their standard deviation.
    pub sd: Option<f64>,
    /// Mandel's h.
    pub h: Option<f64>,
    /// Mandel's k.
    pub k: Option<f64>,
    /// Why it takes no part, as it was written; empty where it does.
    pub left_out: String,
    /// Whether a test set it aside.
    pub set_aside: bool,
}

/// The numbers of precision.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PrecisionNumbers {
    /// Laboratories.
    pub laboratories: usize,
    /// Their values.
    pub results: usize,
    /// Mean of all values.
    pub mean: Option<f64>,
    /// s_r.
    pub repeatability_sd: Option<f64>,
    /// s_L.
    pub between_sd: Option<f64>,
    /// s_R.
    pub reproducibility_sd: Option<f64>,
    /// The spread of single values, where no laboratory gave two.
    pub total_sd: Option<f64>,
    /// 95 % interval of s_r.
    pub repeatability_interval: Option<[f64; 2]>,
    /// 95 % interval of s_R.
    pub reproducibility_interval: Option<[f64; 2]>,
    /// r.
    pub repeatability_limit: Option<f64>,
    /// R.
    pub reproducibility_limit: Option<f64>,
    /// Mean over the value by formulation, reference or expert, in percent.
    pub recovery: Option<f64>,
    /// Its expanded uncertainty, k = 2, in percent.
    pub recovery_uncertainty: Option<f64>,
    /// HorRat, the prediction capped at 22 %.
    pub horrat: Option<f64>,
    /// HorRat without the cap.
    pub horrat_unmodified: Option<f64>,
}

/// A test for outlying laboratories.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PrecisionTest {
    /// `cochran`, `grubbs`, `grubbs-pair` or `grubbs-extremes`.
    pub test: String,
    /// The codes that were tested.
    pub codes: Vec<String>,
    /// The statistic.
    pub statistic: f64,
    /// Levels in percent with the critical values, the weakest first.
    pub critical: Vec<(f64, f64)>,
    /// `none`, `straggler`, `outlier`, or `stopped` for an outlier that stays because
    /// too many would go.
    pub finding: String,
}

/// The section; none where the plan makes no study of precision of the round.
pub(super) fn section(maker: &Maker<'_>) -> Option<Vec<Block>> {
    let precision = maker.report.precision.as_ref()?;
    let mut blocks = vec![
        Block::Text(maker.with("precision-lead", &[("protocol", &precision.protocol)])),
        Block::Text(maker.t(&format!("precision-by-{}", precision.procedure))),
        Block::Note(maker.t("precision-symbols")),
    ];
    for (item, own) in by_item(maker, &precision.measurands) {
        let shown: Vec<&PrecisionOf> = own.iter().copied().filter(|one| !one.few).collect();
        blocks.push(Block::Heading(maker.with("item", &[("item", item)])));
        let few: Vec<&str> = own.iter().filter(|one| one.few).map(|one| one.analyte.as_str()).collect();
        if !shown.is_empty() {
            blocks.push(Block::Table(deviations(maker, item, &shown)));
            blocks.push(Block::Table(further(maker, item, &shown)));
            blocks.push(Block::Table(tests(maker, item, &shown)));
        }
        if !few.is_empty() {
            let fewest = super::FEWEST_SHOWN.to_string();
            blocks.push(Block::Text(maker.with("few-listed", &[("fewest", &fewest), ("measurands", &few.join(", "))])));
        }
    }
    if precision.measurands.iter().any(|one| one.all.total_sd.is_some() && !one.few) {
        blocks.push(Block::Note(maker.t("precision-single")));
    }
    if precision.measurands.iter().any(|one| one.all.horrat.is_some() && !one.few) {
        blocks.push(Block::Note(maker.t("precision-horrat")));
    }
    for (place, one) in precision.measurands.iter().enumerate() {
        let wanted = maker.item.is_none_or(|item| item == one.item);
        if wanted && !one.few && !one.cells.is_empty() {
            blocks.push(values(maker, place, one));
        }
    }
    Some(blocks)
}

fn by_item<'a>(maker: &Maker<'_>, all: &'a [PrecisionOf]) -> Vec<(&'a str, Vec<&'a PrecisionOf>)> {
    let mut items: Vec<(&str, Vec<&PrecisionOf>)> = Vec::new();
    for one in all.iter().filter(|one| maker.item.is_none_or(|item| item == one.item)) {
        match items.iter_mut().find(|(label, _)| *label == one.item) {
            Some((_, own)) => own.push(one),
            None => items.push((&one.item, vec![one])),
        }
    }
    items
}

/// Each measurand with all laboratories, and below that without those set aside.
fn versions<'a>(shown: &[&'a PrecisionOf]) -> Vec<(&'a PrecisionOf, &'a PrecisionNumbers, bool)> {
    let versions = |one: &&'a PrecisionOf| {
        let one: &'a PrecisionOf = one;
        std::iter::once((one, &one.all, false)).chain(one.kept.iter().map(move |kept| (one, kept, true)))
    };
    shown.iter().flat_map(versions).collect()
}

fn line_name(maker: &Maker<'_>, one: &PrecisionOf, kept: bool) -> String {
    let name = if one.unit.is_empty() { one.analyte.clone() } else { format!("{}, {}", one.analyte, one.unit) };
    if kept { maker.with("precision-kept", &[("name", &name)]) } else { name }
}

fn deviations(maker: &Maker<'_>, item: &str, shown: &[&PrecisionOf]) -> Table {
    let mut columns = vec![Column::wide(maker.t("column-analyte"))];
    columns.extend(["p", "n"].map(Column::number));
    columns.push(Column::number(maker.t("column-mean")));
    columns.extend(["sr", "RSDr %", "r", "sR", "RSDR %", "R"].map(Column::number));
    let mut table = Table::new(maker.with("precision-of", &[("item", item)]), columns);
    for (one, numbers, kept) in versions(shown) {
        let percent = |sd: Option<f64>| {
            let share = sd.zip(numbers.mean).map(|(sd, mean)| 100.0 * sd / mean).filter(|share| share.is_finite());
            share.map_or(NONE.to_owned(), |share| maker.n(number::decimal(share, 1)))
        };
        let reproducibility = numbers.reproducibility_sd.or(numbers.total_sd);
        table.rows.push(vec![
            line_name(maker, one, kept).into(),
            numbers.laboratories.to_string().into(),
            numbers.results.to_string().into(),
            maker.significant(numbers.mean, 4).into(),
            maker.significant(numbers.repeatability_sd, 3).into(),
            percent(numbers.repeatability_sd).into(),
            maker.significant(numbers.repeatability_limit, 3).into(),
            maker.significant(reproducibility, 3).into(),
            percent(reproducibility).into(),
            maker.significant(numbers.reproducibility_limit, 3).into(),
        ]);
    }
    table.aligned()
}

fn further(maker: &Maker<'_>, item: &str, shown: &[&PrecisionOf]) -> Table {
    let columns = vec![
        Column::wide(maker.t("column-analyte")),
        Column::number("sL"),
        Column::number(maker.with("column-interval-of", &[("symbol", "sr")])),
        Column::number(maker.with("column-interval-of", &[("symbol", "sR")])),
        Column::number(maker.t("column-recovery")),
        Column::number("HorRat 22 %"),
        Column::number("HorRat"),
    ];
    let mut table = Table::new(maker.with("precision-further-of", &[("item", item)]), columns);
    let range = |ends: Option<[f64; 2]>| match ends {
        Some(ends) => {
            let [low, high] = ends.map(|end| maker.significant(Some(end), 3));
            maker.with("range", &[("low", &low), ("high", &high)])
        }
        None => NONE.to_owned(),
    };
    for (one, numbers, kept) in versions(shown) {
        let percent = |value: f64| maker.n(number::decimal(value, 1));
        let recovery = match (numbers.recovery, numbers.recovery_uncertainty) {
            (Some(recovery), Some(expanded)) => format!("{} ± {}", percent(recovery), percent(expanded)),
            (Some(recovery), None) => percent(recovery),
            (None, _) => NONE.to_owned(),
        };
        table.push([
            line_name(maker, one, kept).into(),
            maker.significant(numbers.between_sd, 3).into(),
            range(numbers.repeatability_interval).into(),
            range(numbers.reproducibility_interval).into(),
            recovery.into(),
            numbers.horrat.map_or(NONE.to_owned(), |ratio| maker.n(number::decimal(ratio, 2))).into(),
            numbers.horrat_unmodified.map_or(NONE.to_owned(), |ratio| maker.n(number::decimal(ratio, 2))).into(),
        ]);
    }
    table.aligned()
}

fn tests(maker: &Maker<'_>, item: &str, shown: &[&PrecisionOf]) -> Table {
    let mut levels: Vec<f64> = Vec::new();
    for (level, _) in shown.iter().flat_map(|one| &one.tests).flat_map(|test| &test.critical) {
        if !levels.contains(level) {
            levels.push(*level);
        }
    }
    let mut columns = vec![
        Column::text(maker.t("column-analyte")),
        Column::text(maker.t("column-test")),
        Column::wide(maker.t("column-code")),
        Column::number(maker.t("column-statistic")),
    ];
    let level =
        |level: &f64| Column::number(maker.with("column-critical", &[("percent", &maker.n(number::plain(*level)))]));
    columns.extend(levels.iter().map(level));
    columns.push(Column::text(maker.t("column-finding")));
    let mut table = Table::new(maker.with("precision-tests-of", &[("item", item)]), columns);
    for one in shown {
        for test in &one.tests {
            let critical = |level: &f64| {
                let found = test.critical.iter().find(|(of, _)| of == level);
                found.map_or(NONE.to_owned(), |(_, value)| maker.n(number::decimal(*value, 3)))
            };
            let mut cells: Vec<Cell> = vec![
                one.analyte.clone().into(),
                maker.t(&format!("test-{}", test.test)).into(),
                test.codes.join(", ").into(),
                maker.n(number::decimal(test.statistic, 3)).into(),
            ];
            cells.extend(levels.iter().map(|level| Cell::from(critical(level))));
            cells.push(maker.t(&format!("finding-{}", test.finding)).into());
            table.rows.push(cells);
        }
    }
    table.aligned()
}

/// The single values of a measurand, with Mandel's h and k beside them.
fn values(maker: &Maker<'_>, place: usize, one: &PrecisionOf) -> Block {
    let name = maker.with("measurand", &[("analyte", &one.analyte), ("item", &one.item)]);
    let heading = if one.unit.is_empty() { name.clone() } else { format!("{name}, {}", one.unit) };
    let columns = vec![
        Column::text(maker.t("column-code")),
        Column::wide(maker.t("column-values")),
        Column::number(maker.t("column-mean")),
        Column::number("s"),
        Column::number("h"),
        Column::number("k"),
    ];
    let mut table = Table::new(maker.with("precision-values-of", &[("measurand", &name)]), columns);
    for cell in &one.cells {
        let mut values = match cell.below {
            Some(limit) => maker.n(format!("<{}", number::plain(limit))),
            None => cell.values.iter().map(|value| maker.n(number::plain(*value))).collect::<Vec<_>>().join("; "),
        };
        let remark = match (cell.left_out.as_str(), cell.set_aside) {
            ("", true) => maker.t("precision-set-aside"),
            ("", false) => String::new(),
            (reason, _) => maker.with("precision-left-out", &[("reason", reason)]),
        };
        if !remark.is_empty() {
            values = format!("{values} ({remark})");
        }
        let two = |value: Option<f64>| value.map_or(NONE.to_owned(), |value| maker.n(number::decimal(value, 2)));
        table.push([
            cell.code.clone().into(),
            values.into(),
            maker.significant(cell.mean, 4).into(),
            maker.significant(cell.sd, 3).into(),
            cell.h.map_or(NONE.to_owned(), |h| maker.n(number::signed(h, 2))).into(),
            two(cell.k).into(),
        ]);
    }
    let figures = [Statistic::H, Statistic::K].into_iter().filter_map(|statistic| {
        let value = |cell: &PrecisionCell| match statistic {
            Statistic::H => cell.h,
            Statistic::K => cell.k,
        };
        let point = |cell: &PrecisionCell| {
            let value = value(cell)?;
            Some(MandelPoint { code: cell.code.clone(), value: Some(value), own: false, href: None, tooltip: None })
        };
        let points: Vec<MandelPoint> = one.cells.iter().filter_map(point).collect();
        let (symbol, critical) = match statistic {
            Statistic::H => ("h", one.h_lines),
            Statistic::K => ("k", one.k_lines),
        };
        let figure = Mandel {
            id: format!("report-mandel-{symbol}-{place}"),
            analyte: one.analyte.clone(),
            statistic,
            levels: vec![Level { name: maker.with("item", &[("item", &one.item)]), points, critical }],
            audience: Audience::Laboratory,
            width: NARROW,
        };
        let face = if maker.medium == Medium::Document { Face::Document } else { Face::Page };
        (!figure.levels[0].points.is_empty()).then(|| Drawn {
            svg: mandel::draw(&figure, maker.words, face),
            alt: mandel::caption(&figure, maker.words),
        })
    });
    Block::Beside { heading, note: String::new(), figures: figures.collect(), table: table.aligned() }
}
