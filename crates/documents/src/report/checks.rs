//! Item i: the items, how they were made, and whether units are alike and stay so.

use super::block::{Block, Cell, Column, Table};
use super::content::{Maker, NONE};

pub(super) fn items(maker: &Maker<'_>) -> Vec<Block> {
    let report = maker.report;
    let columns = vec![
        Column::text(maker.t("column-item")),
        Column::wide(maker.t("column-matrix")),
        Column::number(maker.t("column-units")),
    ];
    let mut table = Table::new(maker.t("items-of"), columns);
    for item in &report.items {
        let units = item.units.map_or(NONE.to_owned(), |units| units.to_string());
        table.push([Cell::from(item.label.as_str()), item.matrix.as_str().into(), units.into()]);
    }
    let mut blocks = vec![Block::Table(table), Block::Heading(maker.t("items-production"))];
    blocks.extend(maker.said("plan-production"));
    blocks.push(Block::Heading(maker.t("items-homogeneity")));
    blocks.extend(maker.said("plan-homogeneity"));
    blocks.extend(homogeneity(maker));
    blocks.push(Block::Heading(maker.t("items-stability")));
    blocks.extend(stability(maker));
    if report.text("said-items").is_some() {
        blocks.push(Block::Heading(maker.t("items-unstudied")));
        blocks.extend(maker.said("said-items"));
    }
    blocks
}

fn criterion(maker: &Maker<'_>, word: &str) -> String {
    maker.t(&format!("criterion-{}", if word.is_empty() { "open" } else { word }))
}

/// The criterion, and what was decided on top of it.
fn outcome(maker: &Maker<'_>, word: &str, decided: &str) -> Cell {
    let met = criterion(maker, word);
    if decided.is_empty() { met.into() } else { format!("{met}. {decided}").into() }
}

fn homogeneity(maker: &Maker<'_>) -> Vec<Block> {
    let rows = &maker.report.homogeneity;
    if rows.is_empty() {
        return vec![Block::Text(maker.t("homogeneity-none"))];
    }
    let columns = vec![
        Column::text(maker.t("column-measurand")),
        Column::number("g"),
        Column::number(maker.t("column-mean")),
        Column::number(maker.t("column-between")),
        Column::number(maker.t("column-within")),
        Column::number("0.3 σₚₜ"),
        Column::number(maker.t("column-expanded")),
        Column::wide(maker.t("column-outcome")),
    ];
    let columns = columns.into_iter().map(|mut column| {
        column.head = maker.n(column.head);
        column
    });
    let mut table = Table::new(maker.t("homogeneity-of"), columns.collect());
    for row in rows {
        table.push([
            Cell::from(format!("{}, {}", row.measurand, row.unit)),
            row.units.to_string().into(),
            maker.significant(Some(row.mean), 4).into(),
            maker.significant(row.between_sd, 3).into(),
            maker.significant(Some(row.within_sd), 3).into(),
            maker.significant(row.limit, 3).into(),
            maker.significant(row.expanded_limit, 3).into(),
            outcome(maker, &row.criterion, &row.decided),
        ]);
    }
    vec![Block::Note(maker.t("homogeneity-lead")), Block::Table(table.aligned())]
}

fn stability(maker: &Maker<'_>) -> Vec<Block> {
    let rows = &maker.report.stability;
    if rows.is_empty() {
        return vec![Block::Text(maker.t("stability-none"))];
    }
    let columns = vec![
        Column::text(maker.t("column-measurand")),
        Column::number(maker.t("column-change")),
        Column::number(maker.n("0.3 σₚₜ".to_owned())),
        Column::number(maker.t("column-expanded")),
        Column::wide(maker.t("column-outcome")),
    ];
    let mut table = Table::new(maker.t("stability-of"), columns);
    for row in rows {
        table.push([
            Cell::from(format!("{}, {}", row.measurand, row.unit)),
            maker.significant(Some(row.difference), 3).into(),
            maker.significant(row.limit, 3).into(),
            maker.significant(row.expanded_limit, 3).into(),
            outcome(maker, &row.criterion, &row.decided),
        ]);
    }
    vec![Block::Note(maker.t("stability-lead")), Block::Table(table.aligned())]
}
