//! The items that are told in words and lists: who, which plan, comments, design,
//! procedures, advice, and what follows item t.

use super::block::{Block, Cell, Column, Fact, Table};
use super::content::{Maker, NONE, pairs};
use super::{Decision, Group, Kind, Sheet};
use crate::mark::ScoreKind;
use crate::number;

/// The headings of the comments on performance, in their order.
const COMMENTS: [&str; 8] =
    ["expectation", "variation", "earlier", "methods", "errors", "advice", "unusual", "conclusions"];

/// Item c.
pub(super) fn authorised(maker: &Maker<'_>) -> Vec<Block> {
    let Some(authorised) = &maker.report.authorised else {
        return vec![Block::Text(maker.t("not-authorised"))];
    };
    let mut facts: Vec<Fact> =
        vec![[maker.t("authorised-by"), authorised.name.clone()], [maker.t("authorised-at"), authorised.at.clone()]];
    if !authorised.meaning.is_empty() {
        facts.push([maker.t("authorised-meaning"), authorised.meaning.clone()]);
    }
    if !authorised.approved_by.is_empty() {
        facts.push([maker.t("approved-by"), authorised.approved_by.join(", ")]);
    }
    vec![Block::Facts(facts)]
}

/// Item h.
pub(super) fn identification(maker: &Maker<'_>) -> Vec<Block> {
    let report = maker.report;
    let mut facts: Vec<Fact> = vec![
        [maker.t("number"), report.number.clone()],
        [maker.t("version"), report.version.to_string()],
        [maker.t("scheme"), report.scheme.clone()],
        [maker.t("round"), format!("{} · {}", report.round, report.round_title)],
    ];
    if let Some(publication) = report.publication {
        facts.push([maker.t("publication"), publication.to_string()]);
    }
    let mut blocks = Vec::new();
    if let Some(plan) = &report.plan {
        facts.push([maker.t("plan-version"), plan.version.to_string()]);
        blocks.push(Block::Exact(vec![[maker.t("plan-sha256"), plan.sha256.clone()]]));
    }
    blocks.insert(0, Block::Facts(facts));
    blocks
}

/// Item o.
pub(super) fn groups(maker: &Maker<'_>) -> Vec<Block> {
    let Some(groups) = &maker.report.groups else {
        return vec![Block::Text(maker.t("groups-not-asked"))];
    };
    let smallest = groups.smallest.to_string();
    if groups.measurands.is_empty() {
        return vec![Block::Text(maker.with("groups-none", &[("smallest", &smallest)]))];
    }
    let mut blocks = vec![Block::Text(maker.with("groups-lead", &[("smallest", &smallest)]))];
    let mut items: Vec<&str> = Vec::new();
    for of in &groups.measurands {
        if !items.contains(&of.item.as_str()) {
            items.push(&of.item);
        }
    }
    for item in items {
        let own = groups.measurands.iter().filter(|of| of.item == item);
        let columns = vec![
            Column::text(maker.t("column-analyte")),
            Column::wide(maker.t("column-group")),
            Column::number("n"),
            Column::number("<"),
            Column::number(maker.t("column-median")),
            Column::number("s*"),
            Column::number(maker.t("column-difference")),
            Column::number(maker.t("column-interval")),
            Column::number("p"),
        ];
        let mut table = Table::new(maker.with("groups-of", &[("item", item)]), columns);
        for of in own {
            for (place, group) in of.groups.iter().enumerate() {
                let name = if place == 0 { format!("{}, {}", of.analyte, of.unit) } else { String::new() };
                table.push(group_cells(maker, name, group));
            }
        }
        blocks.push(Block::Heading(maker.with("item", &[("item", item)])));
        blocks.push(Block::Table(table.aligned()));
    }
    blocks
}

fn group_cells(maker: &Maker<'_>, name: String, group: &Group) -> [Cell; 9] {
    let words = if group.not_stated {
        maker.t("group-not-stated")
    } else if group.answers.is_empty() {
        maker.t("group-other")
    } else {
        let word = |(question, answer): &(String, String)| match answer.as_str() {
            "" => maker.t("group-not-stated"),
            answer => maker.words.t(&format!("method-{question}-{}", answer.replace('_', "-"))),
        };
        group.answers.iter().map(word).collect::<Vec<_>>().join("; ")
    };
    let signed = |value: f64| maker.n(number::signed(value, 2));
    let (difference, interval, p) = match group.difference {
        None => (NONE.to_owned(), NONE.to_owned(), NONE.to_owned()),
        Some([difference, low, high, p]) => {
            let p = if p < 0.001 { "<0.001".to_owned() } else { number::decimal(p, 3) };
            let values = [("low", &*signed(low)), ("high", &*signed(high))];
            (signed(difference), maker.with("interval", &values), maker.n(p))
        }
    };
    [
        name.into(),
        words.into(),
        group.laboratories.to_string().into(),
        group.censored.to_string().into(),
        maker.significant(group.median, 3).into(),
        maker.significant(group.robust_sd, 2).into(),
        difference.into(),
        interval.into(),
        p.into(),
    ]
}

/// Item p.
pub(super) fn comments(maker: &Maker<'_>) -> Vec<Block> {
    let mut blocks = Vec::new();
    for word in COMMENTS {
        blocks.push(Block::Heading(maker.t(&format!("comment-{word}"))));
        blocks.extend(maker.said(&format!("said-{word}")));
    }
    blocks
}

/// Item q.
pub(super) fn design(maker: &Maker<'_>) -> Vec<Block> {
    let report = maker.report;
    let mut blocks = vec![Block::Heading(maker.t("design-measurands"))];
    blocks.extend(maker.said("plan-measurands"));
    blocks.push(Block::Heading(maker.t("design-timetable")));
    blocks.extend(maker.said("plan-timetable"));
    let dates: Vec<Fact> =
        report.dates.iter().map(|(key, text)| [maker.t(&format!("date-{key}")), text.clone()]).collect();
    blocks.push(Block::Facts(dates));
    blocks.push(Block::Heading(maker.t("design-amendments")));
    if report.amendments.is_empty() {
        blocks.push(Block::Text(maker.t("amendments-none")));
    } else {
        let columns = vec![
            Column::number(maker.t("column-plan")),
            Column::text(maker.t("column-date")),
            Column::text(maker.t("column-change-of")),
            Column::wide(maker.t("column-reason")),
            Column::number(maker.t("column-results-in")),
        ];
        let mut table = Table::new(maker.t("amendments-of"), columns);
        for amendment in &report.amendments {
            let change = match &amendment.deadline {
                Some((from, to)) => maker.with("amendment-deadline", &[("from", from), ("to", to)]),
                None => maker.with("amendment-statistics", &[("measurand", &amendment.measurand)]),
            };
            table.push([
                Cell::from(amendment.version.to_string()),
                amendment.on.as_str().into(),
                change.into(),
                amendment.reason.as_str().into(),
                amendment.results.to_string().into(),
            ]);
        }
        blocks.push(Block::Table(table));
    }
    blocks.push(Block::Heading(maker.t("design-units")));
    let replaced = report
        .replaced_units
        .iter()
        .map(|(item, count)| maker.with("units-replaced", &[("item", item), ("count", &count.to_string())]));
    let replaced: Vec<String> = replaced.collect();
    blocks.push(if replaced.is_empty() { Block::Text(maker.t("units-none")) } else { Block::List(replaced) });
    blocks
}

/// Item r.
pub(super) fn procedures(maker: &Maker<'_>) -> Vec<Block> {
    let report = maker.report;
    let mut blocks = maker.said("plan-statistics");
    let trials = report.trials.to_string();
    blocks.push(Block::Text(maker.with("trials", &[("count", &trials)])));
    blocks.push(Block::Text(maker.with("engine", &[("engine", &report.evidence.engine)])));
    blocks.push(Block::Note(maker.t("sheets-lead")));
    for sheet in &report.sheets {
        blocks.push(Block::Heading(sheet.title.clone()));
        blocks.push(Block::English(sheet_facts(maker, sheet)));
    }
    blocks
}

fn sheet_facts(maker: &Maker<'_>, sheet: &Sheet) -> Vec<Fact> {
    let mut facts = vec![
        [maker.t("sheet-what"), sheet.what.clone()],
        [maker.t("sheet-formula"), sheet.formula.join(" ")],
        [maker.t("sheet-source"), sheet.source.join("; ")],
    ];
    let defaults: Vec<String> = sheet.defaults.iter().map(|(value, meaning)| format!("{value}: {meaning}")).collect();
    if !defaults.is_empty() {
        facts.push([maker.t("sheet-defaults"), defaults.join(" ")]);
    }
    if !sheet.fails.is_empty() {
        facts.push([maker.t("sheet-fails"), sheet.fails.clone()]);
    }
    facts
}

/// Item s.
pub(super) fn advice(maker: &Maker<'_>) -> Vec<Block> {
    let report = maker.report;
    let mut kinds: Vec<ScoreKind> =
        report.measurands.iter().flat_map(|m| &m.results).filter_map(|row| row.kind).map(ScoreKind::from).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let usual = report.measurands.iter().all(|m| m.limits_reason.is_empty());
    let mut lines: Vec<String> = kinds.iter().map(|kind| maker.words.t(kind.meaning_key())).collect();
    if kinds.iter().any(|kind| *kind != ScoreKind::En) {
        lines.push(maker.t(if usual { "advice-limits" } else { "advice-limits-own" }));
    }
    if kinds.contains(&ScoreKind::En) {
        lines.push(maker.t("advice-limits-en"));
    }
    if report.measurands.iter().flat_map(|m| &m.results).any(|row| row.bound) {
        lines.push(maker.words.t("certificate-bound-meaning"));
    }
    lines.push(maker.t("advice-qualified"));
    lines.push(maker.t("advice-information"));
    lines.push(maker.t("advice-single"));
    vec![Block::List(lines)]
}

/// Every decision, and every case that always goes to a reviewer.
pub(super) fn decisions(maker: &Maker<'_>) -> Vec<Block> {
    let report = maker.report;
    if report.decisions.is_empty() {
        return vec![Block::Text(maker.t("decisions-none"))];
    }
    let columns = vec![
        Column::text(maker.t("column-date")),
        Column::text(maker.t("column-code")),
        Column::wide(maker.t("column-measurand")),
        Column::text(maker.t("column-decision")),
        Column::wide(maker.t("column-reason")),
    ];
    let mut table = Table::new(maker.t("decisions-of"), columns);
    // What was decided alike stands in one line.
    let alike = |a: &Decision, b: &Decision| {
        (&a.on, &a.code, &a.kind, &a.cause, &a.reason) == (&b.on, &b.code, &b.kind, &b.cause, &b.reason)
    };
    for together in report.decisions.chunk_by(alike) {
        let Some(decision) = together.first() else { continue };
        let measurands: Vec<&str> = together.iter().map(|one| one.measurand.as_str()).collect();
        table.push([
            Cell::from(decision.on.as_str()),
            if decision.code.is_empty() { NONE.into() } else { decision.code.as_str().into() },
            measurands.join(", ").into(),
            decided(maker, decision).into(),
            decision.reason.as_str().into(),
        ]);
    }
    let count = report.decisions.len().to_string();
    vec![Block::Text(maker.with("decisions-lead", &[("count", &count)])), Block::Table(table)]
}

fn decided(maker: &Maker<'_>, decision: &Decision) -> String {
    let kind = maker.t(&format!("decided-{}", decision.kind.replace('_', "-")));
    if decision.cause.is_empty() {
        return kind;
    }
    let group = if decision.code.is_empty() { "topic" } else { "cause" };
    let cause = maker.t(&format!("{group}-{}", decision.cause.replace('_', "-")));
    maker.with("decided-for", &[("kind", &kind), ("cause", &cause)])
}

/// Rules that are not the usual ones.
pub(super) fn rules(maker: &Maker<'_>) -> Vec<Block> {
    if maker.report.rules.is_empty() {
        let version = maker.report.plan.as_ref().map_or_else(|| NONE.to_owned(), |plan| plan.version.to_string());
        return vec![Block::Text(maker.with("rules-none", &[("version", &version)]))];
    }
    let rows = maker.report.rules.iter().map(|rule| {
        let values = [("value", &*rule.value), ("usual", &*rule.usual), ("used", &*rule.used)];
        [rule.name.clone(), maker.with("rule-changed", &values)]
    });
    vec![Block::Table(pairs(maker, "rules-of", ["column-rule-number", "column-rule-values"], rows.collect()))]
}

/// The cautions that hold here. None of them can be left out by a template.
pub(super) fn cautions(maker: &Maker<'_>) -> Vec<String> {
    let report = maker.report;
    let rows = || report.measurands.iter().flat_map(|m| &m.results);
    let consensus = report.measurands.iter().filter_map(|m| m.assigned.as_ref()).any(|a| a.route == "participants");
    let information = rows().any(|row| row.class == super::Class::InformationOnly);
    let kinds = rows().any(|row| row.kind.is_some_and(|kind| kind != Kind::Z));
    let mut cautions = vec![
        maker.words.t("certificate-caution-scope"),
        maker.words.t("certificate-caution-ranking"),
        maker.words.t("certificate-caution-authority"),
        chance(maker),
    ];
    if kinds || rows().any(|row| row.kind.is_some()) {
        cautions.push(maker.words.t("certificate-caution-kinds"));
    }
    cautions.extend(consensus.then(|| maker.words.t("certificate-caution-consensus")));
    cautions.extend(information.then(|| maker.words.t("certificate-caution-information")));
    cautions.push(maker.t("caution-confidential"));
    cautions.extend(report.groups.is_some().then(|| maker.t("caution-groups")));
    cautions.push(maker.t("caution-version"));
    cautions.push(maker.t("caution-spare"));
    cautions.push(maker.t("caution-precision"));
    let tested = !report.homogeneity.is_empty() || !report.stability.is_empty();
    cautions.extend(tested.then(|| maker.t("caution-power")));
    cautions.extend(report.demonstration.then(|| maker.words.t("certificate-caution-demonstration")));
    cautions
}

/// How many scores beyond 2 chance alone gives a laboratory: 0.0455 for each, the tail
/// of the normal distribution beyond two standard deviations.
fn chance(maker: &Maker<'_>) -> String {
    const BEYOND_TWO: f64 = 0.0455;
    let scored = maker.report.measurands.iter().filter(|m| m.is_scored()).count();
    let expected = maker.n(number::decimal(scored as f64 * BEYOND_TWO, 1));
    maker.with("caution-chance", &[("count", &scored.to_string()), ("expected", &expected)])
}

/// How to verify the numbers and to make them again.
pub(super) fn verify(maker: &Maker<'_>) -> Vec<Block> {
    let evidence = &maker.report.evidence;
    vec![
        Block::Text(maker.t("verify")),
        Block::Exact(vec![
            [maker.words.t("certificate-package-sha256"), evidence.package_sha256.clone()],
            [maker.words.t("certificate-evaluation-sha256"), evidence.evaluation_sha256.clone()],
            [maker.words.t("certificate-engine"), evidence.engine.clone()],
        ]),
        Block::Text(maker.t("retention")),
    ]
}

/// Where complaints and appeals go.
pub(super) fn complaints(maker: &Maker<'_>) -> Vec<Block> {
    let mut blocks = vec![Block::Text(maker.t("complaints"))];
    if !maker.report.complaints.is_empty() {
        blocks.push(Block::Facts(vec![[maker.t("complaints-address"), maker.report.complaints.clone()]]));
    }
    blocks
}
