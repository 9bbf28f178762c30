//! What a laboratory says beside its results: how the items arrived, by which
//! method it worked, what its numbers stand for, how its method performs, and
//! that the results are its own.

use crate::asks::{Arrival, Performance};
use crate::code::LabCode;
use crate::draft::OTHER;
use crate::field::{FieldErrors, Problem, shortened};
use crate::id::ItemId;
use crate::measurand::Measurand;
use crate::number::{Decimal, Range};
use crate::result::{Asked, Number, Typed, two_texts_problem};
use crate::text;
use jiff::civil::Date;
use roundel_selfcheck::Finding;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, HashSet};

#[cfg(test)]
mod tests;

/// The closed questions on the method, with their answers, in the order of the
/// form. They make the groups; free text never does (F37).
pub const QUESTIONS: [(&str, &[&str]); 8] = [
    ("volume", &["below_1", "1_to_10", "10_to_100", "above_100"]),
    ("enrichment", &["direct", "online", "offline_solid_phase", "liquid_liquid", "other"]),
    ("separation", &["liquid", "gas", "ion", "other"]),
    ("detection", &["tandem_ms", "high_resolution_ms", "single_ms", "optical", "other"]),
    ("calibration", &["in_solvent", "in_matrix", "standard_addition", "isotope_dilution"]),
    ("standard", &["labelled_each", "labelled_some", "other_substance", "no_standard"]),
    ("recovery", &["uncorrected", "labelled", "standard_addition", "factor"]),
    ("deviation", &["no", "yes"]),
];

/// Of these answers a group of methods is made.
const GROUPING: [&str; 4] = ["enrichment", "separation", "detection", "calibration"];

/// In which condition an item arrived.
pub const CONDITIONS: [&str; 5] = ["intact", "warm", "leaking", "broken", "other"];

/// What was done about the recovery of the method (F36).
pub const RECOVERIES: [&str; 4] = ["uncorrected", "labelled", "factor", "standard_addition"];

/// Recovery factors outside this range are asked about (F36).
const USUAL_RECOVERY_FACTOR: std::ops::RangeInclusive<f64> = 0.3..=2.0;

/// What is asked on the performance of a method, and whether it is a limit.
pub const PERFORMANCE: [&str; 7] = ["p_from", "p_to", "p_r2", "p_recovery", "p_rsd", "p_carry", "p_loq"];

/// How an item arrived and when it was analysed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ItemArrival {
    /// Label of the item.
    pub item: String,
    /// Day of arrival.
    pub received_on: Date,
    /// One of [`CONDITIONS`].
    pub condition: String,
    /// Anything else that was seen.
    #[serde(skip_serializing_if = "String::is_empty", default)]
    pub remark: String,
    /// The code on the label, where it was asked for.
    #[serde(skip_serializing_if = "String::is_empty", default)]
    pub code: String,
    /// Day of the analysis.
    pub analysed_on: Date,
}

/// What the numbers of an analyte stand for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AnalyteBasis {
    /// The analyte.
    pub analyte: String,
    /// What its results are expressed as, confirmed by the laboratory; empty
    /// where the round leaves no doubt.
    #[serde(skip_serializing_if = "String::is_empty", default)]
    pub expressed_as: String,
    /// One of [`RECOVERIES`]; empty for not stated.
    #[serde(skip_serializing_if = "String::is_empty", default)]
    pub recovery: String,
    /// The factor by which results were corrected.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub factor: Option<Number>,
    /// Where the factor comes from.
    #[serde(skip_serializing_if = "String::is_empty", default)]
    pub origin: String,
}

/// How the method performs for an analyte, by the names of [`PERFORMANCE`].
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AnalytePerformance {
    /// The analyte.
    pub analyte: String,
    /// Numbers by name.
    pub numbers: BTreeMap<String, Number>,
}

/// A question about the results, and its answer.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Answered {
    /// The question's name.
    pub question: String,
    /// The numbers that it was asked on.
    #[serde(skip_serializing_if = "String::is_empty", default)]
    pub evidence: String,
    /// `confirmed`, or `corrected` where the question no longer arises.
    pub answer: String,
}

/// What a laboratory says beside its results.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Declared {
    /// How the items arrived.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub items: Vec<ItemArrival>,
    /// Answers to [`QUESTIONS`] by name.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub method: BTreeMap<String, String>,
    /// Free text on the method.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub method_remark: String,
    /// What the numbers stand for, by analyte.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub analytes: Vec<AnalyteBasis>,
    /// How the method performs, by analyte.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub performance: Vec<AnalytePerformance>,
    /// That the results are the laboratory's own, declared by whoever sends them.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub own_results: bool,
    /// Questions about the results, and their answers.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub answers: Vec<Answered>,
}

impl Declared {
    /// Whether nothing was said.
    pub fn is_empty(&self) -> bool {
        *self == Declared::default()
    }

    /// The name of the group of methods, from the closed answers; none when
    /// none of the questions that make groups was answered.
    pub fn method_group(&self) -> Option<String> {
        let answers: Vec<&str> =
            GROUPING.iter().map(|question| self.method.get(*question).map_or("not_stated", String::as_str)).collect();
        answers.iter().any(|answer| *answer != "not_stated").then(|| answers.join("/"))
    }
}

/// Whether the round has a field of this owner and part.
pub(crate) fn has_field(asked: &Asked<'_>, name: &str, owner: &str, part: &str) -> bool {
    match part {
        "received_on" | "condition" | "condition_remark" | "code" | "analysed_on" => asked.has_item(owner),
        "basis" | "recovery" | "recovery_factor" | "recovery_origin" => asked.has_row(owner),
        _ if PERFORMANCE.contains(&part) => asked.has_row(owner),
        "method_remark" | "own" => owner == "all",
        // The longest name of a question has 40 characters.
        "answer" => owner == "all" && name.len() <= 80,
        _ => owner == "all" && QUESTIONS.iter().any(|(question, _)| part == format!("m_{question}")),
    }
}

/// Whether a field belongs to the results themselves, and not to what is said
/// beside them.
pub(crate) fn is_of_results(field: &str) -> bool {
    let part = field.split('.').nth(1).unwrap_or_default();
    matches!(part, "state" | "v1" | "v2" | "v3" | "v4" | "u" | "k" | "loq" | "reason" | "k_all" | "u_as")
        || part.starts_with("unit")
}

/// The first measurand of each analyte: its place names the analyte's fields.
pub fn analytes(measurands: &[Measurand]) -> Vec<&Measurand> {
    let mut seen = HashSet::new();
    measurands.iter().filter(|m| seen.insert(text::key(&m.analyte))).collect()
}

/// One task of the round page.
#[derive(Clone, Debug, Default)]
pub struct Part {
    /// What cannot be taken as it is, by field.
    pub errors: FieldErrors,
    /// What must be said and is not said yet, by field.
    pub open: FieldErrors,
    /// Whether anything was typed.
    pub begun: bool,
}

impl Part {
    /// Whether nothing is wrong and nothing is missing.
    pub fn is_done(&self) -> bool {
        self.errors.is_empty() && self.open.is_empty()
    }
}

/// A limit of the scheme that a method does not meet; it touches no score.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unmet {
    /// Place of the analyte's first measurand.
    pub position: i64,
    /// The field's part, one of [`PERFORMANCE`].
    pub part: &'static str,
    /// What.
    pub problem: Problem,
}

/// All that was said beside results, read.
#[derive(Clone, Debug, Default)]
pub struct Read {
    /// What is in order.
    pub declared: Declared,
    /// Arrival of the items.
    pub arrival: Part,
    /// Method, basis and recovery.
    pub method: Part,
    /// Performance of the method.
    pub performance: Part,
    /// Limits that are not met.
    pub unmet: Vec<Unmet>,
    /// The declaration.
    pub declaration: Part,
    /// What is to be asked about it.
    pub findings: Vec<Finding>,
}

impl Read {
    /// Everything that keeps it from being sent.
    pub fn problems(&self) -> FieldErrors {
        let mut all = FieldErrors::new();
        for part in [&self.arrival, &self.method, &self.performance, &self.declaration] {
            for (field, problem) in part.errors.iter().chain(part.open.iter()) {
                all.push(field, problem.clone());
            }
        }
        all
    }
}

/// Reads what was typed beside results. `codes` are the codes of the units that
/// this laboratory got, `today` the day in the zone of the round.
pub fn read(typed: &Typed, asked: &Asked<'_>, codes: &[(ItemId, String)], today: Date) -> Read {
    let mut read = Read::default();
    if asked.asks.arrival != Arrival::Nothing {
        read.declared.items = arrival(typed, asked, codes, today, &mut read.arrival);
    }
    if asked.asks.method {
        method(typed, asked, &mut read);
    }
    if let Some(limits) = &asked.asks.performance {
        performance(typed, asked, limits, &mut read);
    }
    if asked.asks.declaration {
        declaration(typed, &mut read);
    }
    for (name, other) in &typed.0 {
        let Some(field) = name.strip_suffix(OTHER).filter(|field| !is_of_results(field)) else { continue };
        if let Some(part) = part_of(&mut read, field) {
            part.errors.push(field, two_texts_problem(typed.get(field), other));
        }
    }
    read
}

fn part_of<'a>(read: &'a mut Read, field: &str) -> Option<&'a mut Part> {
    let part = field.split('.').nth(1)?;
    Some(match part {
        "received_on" | "condition" | "condition_remark" | "code" | "analysed_on" => &mut read.arrival,
        "own" => &mut read.declaration,
        "answer" => return None,
        _ if PERFORMANCE.contains(&part) => &mut read.performance,
        _ => &mut read.method,
    })
}

fn arrival(
    typed: &Typed,
    asked: &Asked<'_>,
    codes: &[(ItemId, String)],
    today: Date,
    part: &mut Part,
) -> Vec<ItemArrival> {
    let mut arrivals = Vec::new();
    for item in asked.items {
        let field = |name: &str| format!("{}.{name}", item.label);
        let get = |name: &str| typed.get(&field(name));
        part.begun |= ["received_on", "condition", "code", "analysed_on"].iter().any(|name| !get(name).is_empty());
        let received_on = day(typed, &field("received_on"), today, "arrival-date-missing", part);
        let analysed_on = day(typed, &field("analysed_on"), today, "analysis-date-missing", part);
        if let (Some(received), Some(analysed)) = (received_on, analysed_on)
            && analysed < received
        {
            let problem = Problem::new("analysis-before-arrival").with("seen", analysed).with("received", received);
            part.errors.push(field("analysed_on"), problem);
        }
        let condition = one_of(typed, &field("condition"), &CONDITIONS, part);
        if condition.is_none() && get("condition").is_empty() {
            part.open.push(field("condition"), Problem::new("condition-missing"));
        }
        let remark = line(typed, &field("condition_remark"), part);
        let needs_remark = matches!(condition.as_deref(), Some("other"));
        if needs_remark && remark.is_empty() {
            part.open.push(field("condition_remark"), Problem::new("condition-remark-missing"));
        }
        let code = if asked.asks.arrival == Arrival::Codes {
            label_code(get("code"), item.id, codes).unwrap_or_else(|(is_open, problem)| {
                if is_open {
                    part.open.push(field("code"), problem)
                } else {
                    part.errors.push(field("code"), problem)
                }
                String::new()
            })
        } else {
            String::new()
        };
        if let (Some(received_on), Some(analysed_on), Some(condition)) = (received_on, analysed_on, condition) {
            arrivals.push(ItemArrival { item: item.label.clone(), received_on, condition, remark, code, analysed_on });
        }
    }
    arrivals
}

/// The code on the label as typed, against those of the laboratory's units. The
/// sentence on a code that is not the laboratory's does not say whose it is, or
/// whether it is anybody's.
pub fn label_code(seen: &str, item: ItemId, codes: &[(ItemId, String)]) -> Result<String, (bool, Problem)> {
    if seen.is_empty() {
        return Err((true, Problem::new("label-code-missing")));
    }
    let code = LabCode::parse(seen).map_err(|problem| {
        let key = match problem.key {
            "problem-code-check" => "label-code-check",
            "problem-code-length" => "label-code-length",
            _ => "label-code-character",
        };
        (false, Problem::new(key).with("seen", shortened(seen)))
    })?;
    match codes.iter().find(|(_, own)| own == code.as_str()) {
        Some((of, _)) if *of == item => Ok(code.as_str().to_owned()),
        Some(_) => Err((false, Problem::new("label-code-other-item").with("seen", shortened(seen)))),
        None => Err((false, Problem::new("label-code-foreign").with("seen", shortened(seen)))),
    }
}

fn day(typed: &Typed, field: &str, today: Date, missing: &'static str, part: &mut Part) -> Option<Date> {
    let seen = typed.get(field);
    if seen.is_empty() {
        part.open.push(field, Problem::new(missing));
        return None;
    }
    match seen.parse::<Date>() {
        Ok(date) if date > today => {
            part.errors.push(field, Problem::new("date-in-future").with("seen", shortened(seen)));
            None
        }
        Ok(date) => Some(date),
        Err(_) => {
            part.errors.push(field, Problem::new("date-form").with("seen", shortened(seen)));
            None
        }
    }
}

fn one_of(typed: &Typed, field: &str, words: &[&str], part: &mut Part) -> Option<String> {
    let seen = typed.get(field);
    if seen.is_empty() {
        return None;
    }
    if words.contains(&seen) {
        return Some(seen.to_owned());
    }
    part.errors.push(field, Problem::new("choice-unknown").with("seen", shortened(seen)));
    None
}

fn line(typed: &Typed, field: &str, part: &mut Part) -> String {
    text::line(&mut part.errors, field, typed.get(field), false)
}

fn method(typed: &Typed, asked: &Asked<'_>, read: &mut Read) {
    let part = &mut read.method;
    for (question, answers) in QUESTIONS {
        if let Some(answer) = one_of(typed, &format!("all.m_{question}"), answers, part) {
            part.begun = true;
            read.declared.method.insert(question.to_owned(), answer);
        }
    }
    read.declared.method_remark = line(typed, "all.method_remark", part);
    if read.declared.method.get("deviation").is_some_and(|answer| answer == "yes")
        && read.declared.method_remark.is_empty()
    {
        part.open.push("all.method_remark", Problem::new("deviation-missing"));
    }
    for measurand in analytes(asked.measurands) {
        let field = |name: &str| format!("{}.{name}", measurand.position);
        let confirmed = typed.get(&field("basis")) == "yes";
        part.begun |= confirmed;
        if !measurand.expressed_as.is_empty() && !confirmed {
            let problem = Problem::new("basis-unconfirmed")
                .with("analyte", &measurand.analyte)
                .with("basis", &measurand.expressed_as);
            part.open.push(field("basis"), problem);
        }
        let recovery = one_of(typed, &field("recovery"), &RECOVERIES, part).unwrap_or_default();
        let factor = number(typed, &field("recovery_factor"), Range::Positive, part);
        let origin = line(typed, &field("recovery_origin"), part);
        if recovery == "factor" && factor.is_none() && typed.get(&field("recovery_factor")).is_empty() {
            part.open.push(field("recovery_factor"), Problem::new("recovery-factor-missing"));
        }
        if recovery == "factor" && origin.is_empty() {
            part.open.push(field("recovery_origin"), Problem::new("recovery-origin-missing"));
        }
        if recovery != "factor" && factor.is_some() {
            part.errors.push(field("recovery"), Problem::new("recovery-factor-alone"));
        }
        if let Some(factor) = &factor
            && !USUAL_RECOVERY_FACTOR.contains(&factor.decimal.value())
        {
            read.findings.push(roundel_selfcheck::recovery_factor(measurand.position, factor.decimal.value()));
        }
        let expressed_as = if confirmed { measurand.expressed_as.clone() } else { String::new() };
        if !expressed_as.is_empty() || !recovery.is_empty() {
            read.declared.analytes.push(AnalyteBasis {
                analyte: measurand.analyte.clone(),
                expressed_as,
                recovery,
                factor,
                origin,
            });
        }
    }
}

fn number(typed: &Typed, field: &str, range: Range, part: &mut Part) -> Option<Number> {
    let seen = typed.get(field);
    if seen.is_empty() {
        return None;
    }
    part.begun = true;
    let chosen = typed.get(&format!("{field}.reading"));
    match Decimal::parse_with_choice(seen, range, (!chosen.is_empty()).then_some(chosen)) {
        Ok(decimal) => Some(Number { typed: seen.to_owned(), decimal }),
        Err(problem) => {
            part.errors.push(field, problem.into());
            None
        }
    }
}

fn performance(typed: &Typed, asked: &Asked<'_>, limits: &Performance, read: &mut Read) {
    for measurand in analytes(asked.measurands) {
        let mut numbers = BTreeMap::new();
        for part in PERFORMANCE {
            let range = if part == "p_carry" { Range::NonNegative } else { Range::Positive };
            let field = format!("{}.{part}", measurand.position);
            if let Some(number) = number(typed, &field, range, &mut read.performance) {
                numbers.insert(part.trim_start_matches("p_").to_owned(), number);
            }
        }
        let value = |name: &str| numbers.get(name).map(|number: &Number| number.decimal.value());
        if let (Some(from), Some(to)) = (value("from"), value("to"))
            && from >= to
        {
            let problem = Problem::new("span-order").with("from", from).with("to", to);
            read.performance.errors.push(format!("{}.p_to", measurand.position), problem);
        }
        if value("r2").is_some_and(|r2| r2 > 1.0) {
            let field = format!("{}.p_r2", measurand.position);
            read.performance.errors.push(field, Problem::new("r2-above-one"));
        }
        let mut above = |part: &'static str, limit: &Option<Decimal>, below: bool| {
            let name = part.trim_start_matches("p_");
            let (Some(seen), Some(limit)) = (value(name), limit) else { return };
            let unmet = if below { seen < limit.value() } else { seen > limit.value() };
            if unmet {
                let key = if below { "limit-not-reached" } else { "limit-exceeded" };
                let problem = Problem::new(key).with("seen", seen).with("limit", limit);
                read.unmet.push(Unmet { position: measurand.position, part, problem });
            }
        };
        above("p_loq", &limits.loq, false);
        above("p_recovery", &limits.recovery_from, true);
        above("p_recovery", &limits.recovery_to, false);
        above("p_rsd", &limits.repeatability, false);
        above("p_carry", &limits.carry_over, false);
        if !numbers.is_empty() {
            read.declared.performance.push(AnalytePerformance { analyte: measurand.analyte.clone(), numbers });
        }
    }
}

fn declaration(typed: &Typed, read: &mut Read) {
    let part = &mut read.declaration;
    let own = typed.get("all.own") == "yes";
    part.begun = own;
    if !own {
        part.open.push("all.own", Problem::new("declaration-missing"));
    }
    read.declared.own_results = own;
}

/// How the names of the fields of answers to questions begin.
const ANSWER: &str = "all.answer.";

/// Whether a field holds the answer to a question.
pub fn is_answer(field: &str) -> bool {
    field.starts_with(ANSWER)
}

/// The field of the answer to a question.
pub fn answer_field(finding: &Finding) -> String {
    format!("{ANSWER}{}", finding.id())
}

/// What stands in that field for "it is right as it stands": good only for the
/// numbers that it was given on.
pub fn confirmation(finding: &Finding) -> String {
    let evidence = finding.evidence();
    let kept: String = evidence.chars().take(crate::result::LONGEST_FIELD - 12).collect();
    format!("confirmed {kept}").trim_end().to_owned()
}

/// Answers that are given: questions that were confirmed, and questions that
/// were to be corrected and no longer arise. Beside them the questions that
/// wait for an answer.
pub fn answers<'a>(typed: &Typed, findings: &'a [Finding]) -> (Vec<Answered>, Vec<&'a Finding>) {
    let mut given = Vec::new();
    let mut waiting = Vec::new();
    for finding in findings {
        if typed.get(&answer_field(finding)) == confirmation(finding) {
            given.push(Answered {
                question: finding.id(),
                evidence: finding.evidence(),
                answer: "confirmed".to_owned(),
            });
        } else {
            waiting.push(finding);
        }
    }
    for (field, answer) in &typed.0 {
        let Some(question) = field.strip_prefix(ANSWER) else { continue };
        let arises = findings.iter().any(|finding| finding.id() == question);
        if !arises && answer == "correct" {
            given.push(Answered {
                question: question.to_owned(),
                evidence: String::new(),
                answer: "corrected".to_owned(),
            });
        }
    }
    (given, waiting)
}
