//! What people decide about single results (D20), and what that changes. The
//! laboratory's number is never altered by it.

use crate::evaluation::{RoundEvaluation, Signal};
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// What is decided about a result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// It counts.
    Keep,
    /// It is left out of consensus and summary, and scored as reported.
    Blunder,
    /// It is invalid for the study, by a fault that is not the laboratory's: no score.
    Invalid,
    /// The laboratory withdrew it before anything was disclosed: no score.
    Withdrawn,
}

/// What is said first of a result that was withdrawn.
const WITHDRAWN: &str = "Withdrawn by the laboratory.";

/// Whether a printed reason, of [`Kind::printed`], is that of a result which its
/// laboratory withdrew. Packages and certificates carry the reason and no class of its
/// own; people read the word.
///
/// ```
/// use roundel_domain::decision::{Kind, is_withdrawal};
///
/// assert!(is_withdrawal(&Kind::Withdrawn.printed("Wrong bottle.")));
/// assert!(!is_withdrawal(&Kind::Invalid.printed("Wrong bottle.")));
/// ```
pub fn is_withdrawal(reason: &str) -> bool {
    reason.strip_prefix(WITHDRAWN).is_some_and(|rest| rest.is_empty() || rest.starts_with(' '))
}

impl Kind {
    /// All, in the order in which they are offered.
    pub const ALL: [Kind; 4] = [Kind::Keep, Kind::Blunder, Kind::Invalid, Kind::Withdrawn];

    /// The word that is stored and posted.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Keep => "keep",
            Kind::Blunder => "blunder",
            Kind::Invalid => "invalid",
            Kind::Withdrawn => "withdrawn",
        }
    }

    /// The kind of this word.
    pub fn of(word: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|kind| kind.word() == word)
    }

    /// Whether the result is left out of consensus and summary.
    pub fn excludes(self) -> bool {
        self != Kind::Keep
    }

    /// Why a result is left out, as it is printed beside it: of one that was withdrawn
    /// this is said first (D20).
    ///
    /// ```
    /// use roundel_domain::decision::Kind;
    ///
    /// assert_eq!(Kind::Withdrawn.printed("Wrong bottle."), "Withdrawn by the laboratory. Wrong bottle.");
    /// assert_eq!(Kind::Invalid.printed("The bottle leaked."), "The bottle leaked.");
    /// ```
    pub fn printed(self, reason: &str) -> String {
        match self {
            Kind::Withdrawn => format!("{WITHDRAWN} {reason}"),
            Kind::Keep | Kind::Blunder | Kind::Invalid => reason.to_owned(),
        }
    }

    /// Whether the result is scored.
    pub fn is_scored(self) -> bool {
        matches!(self, Kind::Keep | Kind::Blunder)
    }
}

/// What speaks for a decision: a closed list, with a sentence beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// A power of ten of the unit.
    Unit,
    /// A dilution or another factor.
    Dilution,
    /// Two items exchanged.
    ItemsExchanged,
    /// Two analytes exchanged.
    AnalytesExchanged,
    /// Rows shifted.
    RowsShifted,
    /// Another form of the analyte.
    Basis,
    /// A slip of writing.
    Transcription,
    /// The item, its transport or its handling by the organiser.
    Organiser,
    /// By the laboratory, before anything was disclosed.
    Withdrawn,
    /// Looked at; nothing speaks against the result.
    InOrder,
    /// Anything else, in the sentence.
    Other,
}

impl Cause {
    /// All, in the order in which they are offered.
    pub const ALL: [Cause; 11] = [
        Cause::Unit,
        Cause::Dilution,
        Cause::ItemsExchanged,
        Cause::AnalytesExchanged,
        Cause::RowsShifted,
        Cause::Basis,
        Cause::Transcription,
        Cause::Organiser,
        Cause::Withdrawn,
        Cause::InOrder,
        Cause::Other,
    ];

    /// The word that is stored and posted.
    pub fn word(self) -> &'static str {
        match self {
            Cause::Unit => "unit",
            Cause::Dilution => "dilution",
            Cause::ItemsExchanged => "items_exchanged",
            Cause::AnalytesExchanged => "analytes_exchanged",
            Cause::RowsShifted => "rows_shifted",
            Cause::Basis => "basis",
            Cause::Transcription => "transcription",
            Cause::Organiser => "organiser",
            Cause::Withdrawn => "withdrawn",
            Cause::InOrder => "in_order",
            Cause::Other => "other",
        }
    }

    /// The cause of this word.
    pub fn of(word: &str) -> Option<Cause> {
        Cause::ALL.into_iter().find(|cause| cause.word() == word)
    }
}

/// What a decision changes, as it is shown before and kept with it.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Effect {
    /// The measurands whose numbers change, and those decided on, in their order.
    pub measurands: Vec<MeasurandEffect>,
    /// The classes that change.
    pub classes: Vec<ClassEffect>,
}

/// Numbers of a measurand before and after.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeasurandEffect {
    /// Id of the measurand.
    pub id: String,
    /// Before.
    pub before: Numbers,
    /// After.
    pub after: Numbers,
}

/// What an evaluation says of a measurand, in its unit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Numbers {
    /// x_pt.
    pub assigned_value: Option<f64>,
    /// u(x_pt).
    pub standard_uncertainty: Option<f64>,
    /// s* of the results that count.
    pub robust_sd: Option<f64>,
    /// How many results with a value count.
    pub counting: usize,
}

/// A class before and after.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ClassEffect {
    /// The laboratory's code.
    pub participant: String,
    /// Id of the measurand.
    pub measurand: String,
    /// Before.
    pub before: Signal,
    /// After.
    pub after: Signal,
}

/// What is different between two evaluations of one round; of the measurands
/// called `touched` also what stayed the same.
pub fn effect(before: &RoundEvaluation, after: &RoundEvaluation, touched: &[String]) -> Effect {
    let mut effect = Effect::default();
    for (old, new) in before.measurands.iter().zip(&after.measurands) {
        let (old, new, id) = (numbers(old), numbers(new), &old.id);
        if old != new || touched.contains(id) {
            effect.measurands.push(MeasurandEffect { id: id.clone(), before: old, after: new });
        }
    }
    let known: HashMap<(&str, &str), Signal> =
        before.scores.iter().map(|s| ((s.participant.as_str(), s.measurand.as_str()), s.signal)).collect();
    for new in &after.scores {
        let Some(old) = known.get(&(new.participant.as_str(), new.measurand.as_str())) else { continue };
        if *old != new.signal {
            effect.classes.push(ClassEffect {
                participant: new.participant.clone(),
                measurand: new.measurand.clone(),
                before: *old,
                after: new.signal,
            });
        }
    }
    effect
}

fn numbers(of: &crate::evaluation::MeasurandEvaluation) -> Numbers {
    let value = of.assigned_value.as_ref();
    Numbers {
        assigned_value: value.map(|value| value.value),
        standard_uncertainty: value.map(|value| value.standard_uncertainty),
        robust_sd: value.and_then(|value| value.robust_sd).or(of.summary.algorithm_a_sd),
        counting: of.summary.quantified,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evaluation::evaluate;
    use crate::package::parse;

    #[test]
    fn words_come_back() {
        assert!(Kind::ALL.into_iter().all(|kind| Kind::of(kind.word()) == Some(kind)));
        assert!(Cause::ALL.into_iter().all(|cause| Cause::of(cause.word()) == Some(cause)));
        assert_eq!((Kind::of("correct"), Cause::of("")), (None, None));
    }

    #[test]
    fn an_effect_has_what_changed_and_what_was_decided_on() {
        let package = |exclude: &str| {
            let result = |code: usize, measurand: &str, value: f64, more: &str| {
                format!(r#"{{"participant":"P{code:02}","measurand":"{measurand}","values":[{value}]{more}}}"#)
            };
            let mut results: Vec<String> = (1..=11).map(|n| result(n, "A/x", 100.0 + n as f64, "")).collect();
            results.push(result(12, "A/x", 150.0, exclude));
            results.push(result(12, "A/y", 10.0, ""));
            let measurand = |id: &str, value: &str| {
                let analyte = &id[2..];
                format!(
                    r#"{{"id":"{id}","item":"A","analyte":"{analyte}","unit":"ng/L","assigned_value":{value},
                    "sigma_pt":{{"basis":"prescribed","value":5}},"scores":["z"]}}"#
                )
            };
            parse(&format!(
                r#"{{"format":"round-package/1","round":{{"code":"R","title":"T"}},"measurands":[{},{}],"results":[{}]}}"#,
                measurand("A/x", r#"{"basis":"participants","estimator":"mean","consent":"Few."}"#),
                measurand("A/y", r#"{"basis":"formulation","value":10,"standard_uncertainty":0.1}"#),
                results.join(",")
            ))
            .unwrap_or_else(|problems| panic!("{problems:?}"))
        };
        let before = evaluate(&package(""), "");
        let after = evaluate(&package(r#","exclude":"Unit.","scored":false"#), "");

        let found = effect(&before, &after, &["A/y".to_owned()]);

        let ids: Vec<&str> = found.measurands.iter().map(|one| one.id.as_str()).collect();
        assert_eq!(ids, ["A/x", "A/y"]);
        // Mean of 101 to 111 is 106; with 150 it is 1316/12.
        assert_eq!(found.measurands[0].after.assigned_value, Some(106.0));
        assert_eq!(found.measurands[0].before.assigned_value, Some(1316.0 / 12.0));
        assert_eq!((found.measurands[0].before.counting, found.measurands[0].after.counting), (12, 11));
        assert_eq!(found.measurands[1].before, found.measurands[1].after);
        let unscored = found.classes.iter().find(|one| one.participant == "P12").expect("it has no score now");
        // With 150 in it u = 13.09/√12 = 3.78 is more than half of sigma_pt: no class then.
        assert_eq!((unscored.before, unscored.after), (Signal::InformationOnly, Signal::NotScored));
    }
}
