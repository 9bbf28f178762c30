//! What is known of items, in words: preparation, homogeneity, stability.

use super::Frame;
use super::items::Remark;
use crate::actions::items::planned_value;
use crate::show;
use roundel_documents::number::{self, significant, with_unit};
use roundel_domain::measurand::Measurand;
use roundel_domain::preparation::{self, Beside, Component, Native, Preparation, Prepared};
use roundel_domain::round::Round;
use roundel_domain::study::Stability;
use roundel_domain::study::sigma::SigmaFrom;
use roundel_domain::study::verdict::{
    ConditionReport, HomogeneityReport, POWER_AT, StabilityReport, Verdict, WITHIN_WANTED,
};

/// Of which measurand a study is, and against which σ_pt it is held.
#[derive(Clone, Copy)]
pub struct Study<'a> {
    /// The texts.
    pub f: &'a Frame,
    /// The measurand as it is shown.
    pub name: &'a str,
    /// Its unit.
    pub unit: &'a str,
    /// σ_pt and where it comes from.
    pub sigma: Option<(f64, SigmaFrom)>,
}

impl Study<'_> {
    fn unit(&self, value: f64) -> String {
        with_unit(&significant(value, 3), self.unit)
    }
}

/// A study in words.
#[derive(Default)]
pub struct Words {
    /// The verdict as a sentence.
    pub sentence: String,
    /// Numbers with their names.
    pub facts: Vec<(String, String)>,
    /// What else was found.
    pub remarks: Vec<Remark>,
}

fn remark(look: bool, text: String) -> Remark {
    Remark { text, look }
}

/// A change with its sign, to three significant digits.
pub fn signed(value: f64) -> String {
    let text = significant(value.abs(), 3);
    let is_zero = !text.bytes().any(|byte| matches!(byte, b'1'..=b'9'));
    match (is_zero, value < 0.0) {
        (true, _) => text,
        (false, true) => format!("\u{2212}{text}"),
        (false, false) => format!("+{text}"),
    }
}

/// σ_pt with where it comes from; empty where it is not known.
pub fn sigma(f: &Frame, sigma: Option<(f64, SigmaFrom)>, unit: &str) -> String {
    let Some((value, from)) = sigma else { return f.t("study-sigma-none") };
    let key = match from {
        SigmaFrom::Plan => "study-sigma-plan",
        SigmaFrom::Evaluation => "study-sigma-evaluation",
        SigmaFrom::Preparation => "study-sigma-preparation",
        SigmaFrom::Study => "study-sigma-study",
    };
    f.t1(key, "sigma", with_unit(&significant(value, 3), unit))
}

/// The name of a quantity of a preparation.
fn component(f: &Frame, component: Component) -> String {
    match component {
        Component::Mass => f.t("preparation-mass"),
        Component::Solution => f.t("preparation-solution"),
        Component::Stock => f.t("preparation-stock"),
        Component::Purity => f.t("preparation-purity"),
        Component::Factor => f.t("preparation-factor"),
        Component::Taken(step) => f.t1("preparation-taken", "step", step),
        Component::Total(step) => f.t1("preparation-total", "step", step),
        Component::Spike => f.t("preparation-spike"),
        Component::Item => f.t("preparation-item"),
        Component::Native => f.t("preparation-native"),
    }
}

/// The budget of a content: component, value, u, sensitivity, share.
pub fn budget(f: &Frame, prepared: &Prepared, unit: &str) -> Vec<[String; 5]> {
    let line = |part: &preparation::Part| {
        let own = part.unit.as_str();
        let per = match (own, own.contains('/')) {
            ("", _) => unit.to_owned(),
            // A content moves with a content, unit by unit.
            _ if own == unit => String::new(),
            (_, true) => format!("({unit})/({own})"),
            (_, false) => format!("({unit})/{own}"),
        };
        [
            component(f, part.component),
            with_unit(&number::typed(&part.typed), own),
            with_unit(&brief(part.standard_uncertainty), own),
            with_unit(&brief(part.sensitivity), &per),
            format!("{} %", number::decimal(100.0 * part.share, 1)),
        ]
    };
    prepared.parts.iter().map(line).collect()
}

/// Three significant digits, as a power of ten where that is shorter.
fn brief(value: f64) -> String {
    let size = value.abs();
    if size != 0.0 && !(1e-4..1e6).contains(&size) {
        let power = size.log10().floor();
        return format!("{} × 10{}", significant(value / 10_f64.powf(power), 3), raised(power as i32));
    }
    significant(value, 3)
}

/// A whole number in raised digits.
fn raised(number: i32) -> String {
    let digit = |c: char| match c {
        '-' => '⁻',
        c => ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'][c.to_digit(10).unwrap_or(0) as usize],
    };
    number.to_string().chars().map(digit).collect()
}

/// A preparation in words.
pub fn preparation(f: &Frame, record: &Preparation, prepared: &Prepared, m: &Measurand) -> Words {
    let unit = |value: f64| with_unit(&significant(value, 3), &m.unit);
    let printed = number::published(prepared.value, Some(prepared.standard_uncertainty), None);
    let percent = number::decimal(prepared.percent(), 1);
    let mut words = Words::default();
    words.facts.push((f.t("preparation-content"), with_unit(&printed.assigned_value, &m.unit)));
    let u = with_unit(&printed.standard_uncertainty.unwrap_or_default(), &m.unit);
    words.facts.push((f.t("preparation-u"), f.t2("preparation-u-percent", "u", u, "percent", percent)));
    words.facts.push((f.t("preparation-added"), unit(prepared.spike)));
    let native = match &record.native {
        Native::Nothing => f.t("preparation-native-nothing"),
        Native::Content { .. } => unit(prepared.native),
        Native::Below { limit, unit: own } => {
            f.t2("preparation-native-below", "limit", with_unit(limit.as_str(), own), "half", unit(prepared.native))
        }
    };
    words.facts.push((f.t("preparation-native"), native));
    if prepared.native_is_large() {
        let share = number::decimal(prepared.native_percent(), 0);
        words.remarks.push(remark(true, f.t1("preparation-native-large", "percent", share)));
    }
    if prepared.is_suspiciously_certain() {
        let percent = number::decimal(prepared.percent(), 2);
        words.remarks.push(remark(true, f.t1("preparation-small-confirmed", "percent", percent)));
    }
    if let Some(planned) = planned_value(m) {
        words.remarks.push(beside(f, prepared.value, planned, &m.unit));
    }
    words
}

fn beside(f: &Frame, prepared: f64, planned: f64, unit: &str) -> Remark {
    let value = with_unit(&number::plain(planned), unit);
    match preparation::beside(prepared, planned) {
        Beside::Near => remark(false, f.t1("preparation-near", "planned", value)),
        Beside::PowerOfTen(power) => {
            let times = 10_u64.pow(power.unsigned_abs().min(18));
            let key = if power > 0 { "preparation-planned-times" } else { "preparation-planned-parts" };
            remark(true, f.t2(key, "planned", value, "times", times))
        }
        Beside::Apart(ratio) => {
            let percent = signed(100.0 * (ratio - 1.0));
            remark(true, f.t2("preparation-apart", "planned", value, "percent", percent))
        }
    }
}

/// A study of homogeneity in words.
pub fn homogeneity(study: &Study<'_>, report: &HomogeneityReport, units: usize) -> Words {
    let f = study.f;
    let mut words = Words { sentence: homogeneity_sentence(study, report), ..Words::default() };
    words.facts.push((f.t("study-units"), units.to_string()));
    if let Some(found) = &report.duplicates {
        words.facts.push((f.t("study-mean"), study.unit(found.mean)));
        words.facts.push((f.t("study-between"), study.unit(found.between_sd)));
        words.facts.push((f.t("study-within"), study.unit(found.within_sd)));
    }
    if let Some(limit) = report.limit {
        words.facts.push((f.t("study-limit"), study.unit(limit)));
    }
    if let Some(limit) = report.expanded_limit {
        words.facts.push((f.t("study-expanded-limit"), study.unit(limit)));
    }
    words.remarks.extend(adequacy(study, report));
    words.remarks.extend(order(study, report));
    words
}

fn homogeneity_sentence(study: &Study<'_>, report: &HomogeneityReport) -> String {
    let f = study.f;
    let between = report.duplicates.map(|found| study.unit(found.between_sd)).unwrap_or_default();
    match report.verdict {
        Verdict::NotATest => match report.interval {
            Some((low, high)) => {
                f.t3("homogeneity-not-a-test", "between", between, "low", significant(low, 2), "high", study.unit(high))
            }
            None => f.t("homogeneity-one-unit"),
        },
        Verdict::NoSigma => f.t1("homogeneity-no-sigma", "between", between),
        Verdict::Simple => f.t("homogeneity-simple"),
        Verdict::Expanded => f.t("homogeneity-expanded"),
        Verdict::Insufficient => {
            let share = report.duplicates.zip(study.sigma).map(|(found, (sigma, _))| found.between_sd / sigma);
            f.t1("homogeneity-insufficient", "share", significant(share.unwrap_or_default(), 2))
        }
    }
}

/// How good the method was, and what the test could find.
fn adequacy(study: &Study<'_>, report: &HomogeneityReport) -> Vec<Remark> {
    let f = study.f;
    let mut remarks = Vec::new();
    if let Some(share) = report.within_share {
        let text = significant(share, 2);
        let poor = share > WITHIN_WANTED;
        let key = if poor { "homogeneity-method-poor" } else { "homogeneity-method-good" };
        remarks.push(remark(poor, f.t1(key, "share", text)));
    }
    if let Some(power) = report.power {
        let weak = power < 0.5;
        let key = if weak { "homogeneity-power-weak" } else { "homogeneity-power" };
        let at = number::plain(POWER_AT);
        remarks.push(remark(weak, f.t2(key, "at", at, "percent", number::decimal(100.0 * power, 0))));
    }
    if let (Some(cochran), Some(widest)) = (&report.cochran, report.widest) {
        let beyond = cochran.statistic > cochran.critical.at_5;
        let (statistic, at_5) = (significant(cochran.statistic, 3), significant(cochran.critical.at_5, 3));
        let text = if beyond {
            f.t3("homogeneity-cochran-found", "unit", widest, "c", statistic, "critical", at_5)
        } else {
            f.t2("homogeneity-cochran", "c", statistic, "critical", at_5)
        };
        remarks.push(remark(beyond, text));
    }
    remarks
}

/// Trends over the order of filling and of measurement.
fn order(study: &Study<'_>, report: &HomogeneityReport) -> Vec<Remark> {
    let f = study.f;
    let mut remarks = Vec::new();
    if let Some(trend) = &report.filling {
        let (look, text) = if trend.is_significant {
            let u = significant(trend.range.abs() / (2.0 * 3.0_f64.sqrt()), 2);
            let range = with_unit(&signed(trend.range), study.unit);
            (true, f.t2("homogeneity-filling-found", "range", range, "u", with_unit(&u, study.unit)))
        } else {
            (false, f.t("homogeneity-filling"))
        };
        remarks.push(remark(look, text));
    }
    match &report.run {
        None if !report.has_run => remarks.push(remark(true, f.t("homogeneity-run-missing"))),
        Some(_) if report.run_is_filling => remarks.push(remark(true, f.t("homogeneity-run-same"))),
        Some(trend) if trend.is_significant => {
            let range = with_unit(&signed(trend.range), study.unit);
            remarks.push(remark(true, f.t1("homogeneity-run-found", "range", range)));
        }
        Some(_) => remarks.push(remark(false, f.t("homogeneity-run"))),
        None => {}
    }
    remarks
}

/// A study of stability in words.
pub fn stability(study: &Study<'_>, report: &StabilityReport, data: &Stability, round: &Round) -> Words {
    let f = study.f;
    let key = match report.verdict {
        Verdict::Simple => "stability-simple",
        Verdict::Expanded => "stability-expanded",
        Verdict::Insufficient => "stability-insufficient",
        Verdict::NoSigma | Verdict::NotATest => "stability-no-sigma",
    };
    let mut words = Words { sentence: f.t(key), ..Words::default() };
    if let Some(limit) = report.conditions.first().and_then(|condition| condition.limit) {
        words.facts.push((f.t("study-limit"), study.unit(limit)));
    }
    for condition in &report.conditions {
        let change = change(study, condition);
        words.facts.push((f.t1("stability-after", "condition", &condition.condition), change));
        words.remarks.push(condition_remark(study, condition));
        words.remarks.extend(slope(study, condition));
    }
    words.remarks.push(end(f, report, data, round));
    words
}

fn change(study: &Study<'_>, condition: &ConditionReport) -> String {
    let percent = 100.0 * condition.comparison.difference / condition.means.0;
    let days = number::plain(condition.last_day);
    let difference = with_unit(&signed(condition.comparison.difference), study.unit);
    study.f.t3("stability-change", "difference", difference, "percent", signed(percent), "days", days)
}

fn condition_remark(study: &Study<'_>, condition: &ConditionReport) -> Remark {
    let f = study.f;
    let key = match condition.verdict {
        Verdict::Simple => "stability-condition-simple",
        Verdict::Expanded => "stability-condition-expanded",
        Verdict::Insufficient => "stability-condition-insufficient",
        Verdict::NoSigma | Verdict::NotATest => "stability-condition-none",
    };
    let expanded = condition.expanded_limit.map(|limit| study.unit(limit)).unwrap_or_else(|| "–".to_owned());
    let text = f.t3(
        key,
        "condition",
        &condition.condition,
        "expanded",
        expanded,
        "units",
        condition.units.0.min(condition.units.1),
    );
    remark(condition.verdict != Verdict::Simple, text)
}

fn slope(study: &Study<'_>, condition: &ConditionReport) -> Option<Remark> {
    let trend = condition.trend?;
    let change = with_unit(&signed(trend.change), study.unit);
    let key = if trend.is_significant { "stability-slope-found" } else { "stability-slope" };
    Some(remark(trend.is_significant, study.f.t2(key, "condition", &condition.condition, "change", change)))
}

/// Whether it was shown to the end.
fn end(f: &Frame, report: &StabilityReport, data: &Stability, round: &Round) -> Remark {
    let day = |date: jiff::civil::Date| date.strftime("%-d %B %Y").to_string();
    let deadline = show::day(round.closes_at, &round.time_zone);
    let until = report.shown_until.map(day).unwrap_or_else(|| day(data.began_on));
    if report.ends_early {
        remark(true, f.t2("stability-not-to-the-end", "until", until, "deadline", deadline))
    } else {
        remark(false, f.t2("stability-to-the-end", "until", until, "deadline", deadline))
    }
}
