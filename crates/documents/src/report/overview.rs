//! Items k, l, m and n: one line for each measurand.

use super::block::{Block, Cell, Column, Table};
use super::content::{Maker, NONE};
use super::{Measurand, Note};
use crate::number::{self, Published};

/// The measurands of each item, in the order of the form.
fn by_item<'a>(maker: &Maker<'a>) -> Vec<(&'a str, Vec<&'a Measurand>)> {
    let mut items: Vec<(&str, Vec<&Measurand>)> = Vec::new();
    for measurand in &maker.report.measurands {
        match items.iter_mut().find(|(label, _)| *label == measurand.item) {
            Some((_, own)) => own.push(measurand),
            None => items.push((&measurand.item, vec![measurand])),
        }
    }
    items
}

/// The name in the line of a table: with the unit where the item has several.
fn line_name(measurand: &Measurand, mixed: bool) -> String {
    if mixed { format!("{}, {}", measurand.analyte, measurand.unit) } else { measurand.analyte.clone() }
}

fn common_unit<'a>(own: &[&'a Measurand]) -> Option<&'a str> {
    let first = own.first()?;
    own.iter().all(|measurand| measurand.unit == first.unit).then_some(first.unit.as_str())
}

/// One table for each item.
fn tables(
    maker: &Maker<'_>,
    caption: &str,
    columns: impl Fn(&Maker<'_>) -> Vec<Column>,
    row: impl Fn(&Maker<'_>, &Measurand, String) -> Option<Vec<Cell>>,
) -> Vec<Block> {
    let mut blocks = Vec::new();
    for (item, own) in by_item(maker) {
        let unit = common_unit(&own);
        let mut heading = maker.with("item", &[("item", item)]);
        if let Some(unit) = unit.filter(|unit| !unit.is_empty()) {
            heading = format!("{heading}, {unit}");
        }
        let mut table = Table::new(maker.with(caption, &[("item", item)]), columns(maker));
        table.rows = own.iter().filter_map(|m| row(maker, m, line_name(m, unit.is_none()))).collect();
        if !table.rows.is_empty() {
            blocks.push(Block::Heading(heading));
            blocks.push(Block::Table(table.aligned()));
        }
    }
    blocks
}

fn published(measurand: &Measurand) -> Option<Published> {
    let assigned = measurand.assigned.as_ref().filter(|_| !measurand.few)?;
    Some(number::published(assigned.value, Some(assigned.standard_uncertainty), measurand.sigma_pt))
}

/// U(x_pt) with k = 2 to two significant digits, up, from the published u.
fn expanded(measurand: &Measurand) -> String {
    let Some(assigned) = &measurand.assigned else { return NONE.to_owned() };
    let published = number::published(assigned.value, Some(2.0 * assigned.standard_uncertainty), None);
    published.standard_uncertainty.unwrap_or_default()
}

/// The range of acceptable results; none without both numbers.
fn range(maker: &Maker<'_>, measurand: &Measurand) -> String {
    let (Some(assigned), Some(sigma), Some(published)) =
        (&measurand.assigned, measurand.sigma_pt, published(measurand))
    else {
        return NONE.to_owned();
    };
    let half = measurand.limits[0] * sigma;
    let decimals = published.sigma_pt.as_deref().and_then(|s| s.split_once('.')).map_or(0, |(_, digits)| digits.len());
    let low = maker.n(number::decimal((assigned.value - half).max(0.0), decimals));
    let high = maker.n(number::decimal(assigned.value + half, decimals));
    maker.with("range", &[("low", &low), ("high", &high)])
}

/// Item k.
pub(super) fn statistics(maker: &Maker<'_>) -> Vec<Block> {
    let columns = |maker: &Maker<'_>| {
        vec![
            Column::wide(maker.t("column-analyte")),
            Column::number("p"),
            Column::number("<"),
            Column::number(maker.t("column-excluded")),
            Column::number("xₚₜ"),
            Column::number("U(xₚₜ)"),
            Column::number("σₚₜ"),
            Column::text(maker.t("column-route")),
            Column::number("s*"),
            Column::number(maker.t("column-range")),
        ]
    };
    let row = |maker: &Maker<'_>, m: &Measurand, name: String| {
        if m.few {
            return None;
        }
        let shown = published(m);
        let number = |of: fn(&Published) -> Option<String>| {
            shown.as_ref().and_then(of).map_or(NONE.to_owned(), |text| maker.n(text))
        };
        let route = match &m.assigned {
            Some(assigned) => maker.t(&format!("route-{}", assigned.route)),
            None if m.absent => maker.t("route-absent"),
            None => maker.t("route-none"),
        };
        let with_value = |text: String| if shown.is_some() { maker.n(text) } else { NONE.to_owned() };
        Some(vec![
            name.into(),
            m.quantified.to_string().into(),
            m.censored.to_string().into(),
            m.excluded.to_string().into(),
            number(|p| Some(p.assigned_value.clone())).into(),
            with_value(expanded(m)).into(),
            number(|p| p.sigma_pt.clone()).into(),
            route.into(),
            maker.significant(m.robust_sd, 3).into(),
            range(maker, m).into(),
        ])
    };
    let mut blocks = vec![Block::Note(maker.t("statistics-lead"))];
    blocks.extend(tables(maker, "statistics-of", columns, row));
    let few = few(maker);
    if !few.is_empty() {
        let fewest = super::FEWEST_SHOWN.to_string();
        blocks.push(Block::Text(maker.with("few-listed", &[("fewest", &fewest), ("measurands", &few.join(", "))])));
    }
    blocks
}

fn few(maker: &Maker<'_>) -> Vec<String> {
    maker.report.measurands.iter().filter(|m| m.few).map(Measurand::name).collect()
}

/// Item l: the route to each assigned value, beside what the participants found.
pub(super) fn routes(maker: &Maker<'_>) -> Vec<Block> {
    let columns = |maker: &Maker<'_>| {
        vec![
            Column::wide(maker.t("column-analyte")),
            Column::text(maker.t("column-route")),
            Column::text(maker.t("column-estimator")),
            Column::number("xₚₜ"),
            Column::number("u(xₚₜ)"),
            Column::number("u/σₚₜ"),
            Column::number(maker.t("column-robust-mean")),
            Column::number(maker.t("column-apart")),
        ]
    };
    let row = |maker: &Maker<'_>, m: &Measurand, name: String| {
        let (assigned, shown) = (m.assigned.as_ref().filter(|_| !m.few)?, published(m)?);
        let estimator = match (assigned.estimator.as_str(), assigned.p) {
            ("", _) => NONE.to_owned(),
            (word, p) => {
                let p = p.map(|p| p.to_string()).unwrap_or_default();
                maker.with(
                    "estimator-of",
                    &[("estimator", &maker.t(&format!("estimator-{}", word.replace('_', "-")))), ("p", &p)],
                )
            }
        };
        let decimals = shown.assigned_value.split_once('.').map_or(0, |(_, digits)| digits.len());
        let apart = m.robust_mean.zip(m.sigma_pt).map(|(mean, sigma)| (mean - assigned.value) / sigma);
        Some(vec![
            name.into(),
            maker.t(&format!("route-{}", assigned.route)).into(),
            estimator.into(),
            maker.n(shown.assigned_value.clone()).into(),
            maker.n(shown.standard_uncertainty.clone().unwrap_or_default()).into(),
            maker.significant(m.ratio, 2).into(),
            m.robust_mean.map_or(NONE.to_owned(), |mean| maker.n(number::decimal(mean, decimals))).into(),
            apart.map_or(NONE.to_owned(), |apart| maker.n(number::signed(apart, 2))).into(),
        ])
    };
    let mut blocks = vec![Block::Text(maker.t("route-lead"))];
    blocks.extend(tables(maker, "route-of", columns, row));
    blocks
}

/// Item m: the budgets of contents by preparation.
pub(super) fn budgets(maker: &Maker<'_>) -> Vec<Block> {
    let mut blocks = vec![Block::Text(maker.t("budget-lead"))];
    let with: Vec<&Measurand> = maker.report.measurands.iter().filter(|m| m.budget.is_some()).collect();
    if with.is_empty() {
        blocks.push(Block::Text(maker.t("budget-none")));
        return blocks;
    }
    let columns = vec![
        Column::text(maker.t("column-measurand")),
        Column::number(maker.t("column-content")),
        Column::number("u"),
        Column::wide(maker.t("column-shares")),
    ];
    let mut table = Table::new(maker.t("budget-of"), columns);
    for m in with {
        let Some(budget) = &m.budget else { continue };
        let part = |(word, place, share): &(String, usize, f64)| {
            let name = maker.with(&format!("budget-{word}"), &[("place", &place.to_string())]);
            let percent = maker.n(number::decimal(100.0 * share, 0));
            maker.with("budget-share", &[("part", &name), ("percent", &percent)])
        };
        // What gives less than half a percent is not worth its room.
        let parts: Vec<String> = budget.parts.iter().filter(|(_, _, share)| *share >= 0.005).map(part).collect();
        table.push([
            Cell::from(format!("{}, {}", m.name(), m.unit)),
            maker.significant(Some(budget.value), 4).into(),
            maker.significant(Some(budget.standard_uncertainty), 2).into(),
            parts.join("; ").into(),
        ]);
    }
    blocks.push(Block::Table(table.aligned()));
    blocks
}

/// Item n: how σ_pt was set.
pub(super) fn sigma(maker: &Maker<'_>) -> Vec<Block> {
    let columns = |maker: &Maker<'_>| {
        vec![
            Column::text(maker.t("column-analyte")),
            Column::number("σₚₜ"),
            Column::number(maker.t("column-sigma-percent")),
            Column::wide(maker.t("column-rule")),
        ]
    };
    let row = |maker: &Maker<'_>, m: &Measurand, name: String| {
        let (rule, sigma) = (m.sigma_rule.as_ref()?, m.sigma_pt.filter(|_| !m.few)?);
        let percent = rule.percent.map(|percent| maker.n(number::plain(percent))).unwrap_or_default();
        let mut words = maker.with(&format!("sigma-{}", rule.basis), &[("percent", &percent)]);
        if let Some(added) = rule.additional_sd {
            let added = maker.significant(Some(added), 3);
            words = format!("{words} {}", maker.with("sigma-added", &[("sd", &added)]));
        }
        if !m.limits_reason.is_empty() {
            let [warning, action, _] = m.limits.map(|limit| maker.n(number::plain(limit)));
            let values = [("warning", &*warning), ("action", &*action), ("reason", &*m.limits_reason)];
            words = format!("{words} {}", maker.with("sigma-limits", &values));
        }
        let share = m.assigned.as_ref().filter(|assigned| assigned.value > 0.0).map(|a| 100.0 * sigma / a.value);
        Some(vec![
            name.into(),
            published(m)
                .and_then(|p| p.sigma_pt)
                .map_or(maker.significant(Some(sigma), 3), |text| maker.n(text))
                .into(),
            share.map_or(NONE.to_owned(), |share| maker.n(number::decimal(share, 1))).into(),
            words.into(),
        ])
    };
    let mut blocks = vec![Block::Text(maker.t("sigma-lead"))];
    blocks.extend(tables(maker, "sigma-of", columns, row));
    blocks
}

/// Measurands in items without any class, and why.
pub(super) fn unscored(maker: &Maker<'_>) -> Vec<Block> {
    let columns = vec![Column::text(maker.t("column-measurand")), Column::wide(maker.t("column-reason"))];
    let mut table = Table::new(maker.t("unscored-of"), columns);
    for m in maker.report.measurands.iter().filter(|m| m.few || !m.is_scored()) {
        let reason = if m.few {
            maker.t("unscored-few")
        } else if m.absent {
            maker.t("unscored-absent")
        } else {
            let notes: Vec<String> = m.notes.iter().map(|note| note_words(maker, note)).collect();
            if notes.is_empty() { maker.t("unscored-plan") } else { notes.join(" ") }
        };
        table.push([Cell::from(m.name()), reason.into()]);
    }
    if table.rows.is_empty() { vec![Block::Text(maker.t("unscored-none"))] } else { vec![Block::Table(table)] }
}

/// A note of the evaluation in words.
pub(super) fn note_words(maker: &Maker<'_>, note: &Note) -> String {
    if note.key.is_empty() {
        return note.text.clone();
    }
    let values: Vec<(&str, &str)> = note.values.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    maker.words.with(&note.key, &values)
}
