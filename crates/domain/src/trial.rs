//! What an evaluation would have been under another choice: a copy of its package
//! with another estimator, value, criterion, or with results left out or taken
//! back. Nothing of it can be published; that it was tried is counted (D35).

use crate::evaluation::{self, RoundEvaluation};
use crate::field::{FieldErrors, Problem};
use crate::number::{Decimal, Range};
use crate::package::{
    AssignedValue, Censored, Consensus, Estimator, GivenBasis, GivenValue, Measurand, RoundPackage, SigmaBasis, SigmaPt,
};
use serde::{Deserialize, Serialize};
use std::collections::HashSet;

/// Why a result is left out of a trial.
const LEFT_OUT: &str = "Left out in a trial.";

/// What is changed on the copy. What is absent stays as it was.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Changes {
    /// Id of the measurand; all, where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measurand: Option<String>,
    /// Where the assigned value comes from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub value: Option<Value>,
    /// Where sigma_pt comes from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sigma_pt: Option<Sigma>,
    /// How results below a limit count.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub censored: Option<Censored>,
    /// Codes whose results are left out.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub leave_out: Vec<String>,
    /// Codes whose results are taken back in.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub take_back: Vec<String>,
}

/// Another assigned value.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Value {
    /// A consensus by this estimator.
    Consensus(Estimator),
    /// The value that the plan has beside a consensus.
    Fallback,
    /// A number with its standard uncertainty, in the unit of the measurand.
    Given {
        /// x_pt.
        value: f64,
        /// u(x_pt).
        standard_uncertainty: f64,
    },
}

/// Another sigma_pt.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Sigma {
    /// In percent of x_pt.
    Percent(f64),
    /// In the unit of the measurand.
    Prescribed(f64),
    /// The spread of the participants.
    Participants,
}

/// The estimators that are offered.
pub const ESTIMATORS: [Estimator; 6] = [
    Estimator::ByCount,
    Estimator::AlgorithmA,
    Estimator::QHampel,
    Estimator::MedianMade,
    Estimator::MedianNiqr,
    Estimator::Mean,
];

/// The word of an estimator that is offered.
pub fn estimator_word(estimator: Estimator) -> &'static str {
    match estimator {
        Estimator::ByCount => "by_count",
        Estimator::AlgorithmA => "algorithm_a",
        Estimator::QHampel => "q_hampel",
        Estimator::MedianMade => "median_made",
        Estimator::MedianNiqr => "median_niqr",
        Estimator::Mean => "mean",
        Estimator::WeightedMean => "weighted_mean",
        Estimator::MandelPaule => "mandel_paule",
        Estimator::DerSimonianLaird => "dersimonian_laird",
    }
}

/// What is typed for a trial.
#[derive(Clone, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct TrialForm {
    /// Id of the measurand; empty for all.
    pub measurand: String,
    /// Empty, the word of an estimator, `fallback`, or `given`.
    pub value: String,
    /// x_pt of `given`.
    pub given: String,
    /// u(x_pt) of `given`.
    pub given_uncertainty: String,
    /// Empty, `percent`, `prescribed` or `participants`.
    pub sigma: String,
    /// Its number.
    pub sigma_number: String,
    /// Empty, `exclude` or `limit_aware`.
    pub censored: String,
    /// Codes, apart by space or comma.
    pub leave_out: String,
    /// Codes, apart by space or comma.
    pub take_back: String,
}

impl TrialForm {
    /// Reads the form for a package.
    ///
    /// # Errors
    ///
    /// Every field that is not as it should be, and a form that changes nothing.
    pub fn parse(&self, package: &RoundPackage) -> Result<Changes, FieldErrors> {
        let mut errors = FieldErrors::new();
        let measurand = (!self.measurand.is_empty()).then(|| self.measurand.clone());
        if let Some(id) = &measurand
            && package.measurands.iter().all(|m| m.id != *id)
        {
            errors.push("measurand", Problem::new("trial-measurand-unknown").with("seen", id));
        }
        let changes = Changes {
            measurand,
            value: self.value(&mut errors),
            sigma_pt: self.sigma(&mut errors),
            censored: match self.censored.as_str() {
                "exclude" => Some(Censored::Exclude),
                "limit_aware" => Some(Censored::LimitAware),
                _ => None,
            },
            leave_out: codes(&mut errors, "leave_out", &self.leave_out, package),
            take_back: codes(&mut errors, "take_back", &self.take_back, package),
        };
        if changes == (Changes { measurand: changes.measurand.clone(), ..Changes::default() }) && errors.is_empty() {
            errors.push("value", Problem::new("trial-nothing"));
        }
        errors.into_result(changes)
    }

    fn value(&self, errors: &mut FieldErrors) -> Option<Value> {
        match self.value.as_str() {
            "" => None,
            "fallback" => Some(Value::Fallback),
            "given" => {
                let value = number(errors, "given", &self.given);
                let uncertainty = number(errors, "given_uncertainty", &self.given_uncertainty);
                Some(Value::Given { value: value?, standard_uncertainty: uncertainty? })
            }
            word => {
                let found = ESTIMATORS.into_iter().find(|estimator| estimator_word(*estimator) == word);
                if found.is_none() {
                    errors.push("value", Problem::new("trial-value-missing"));
                }
                found.map(Value::Consensus)
            }
        }
    }

    fn sigma(&self, errors: &mut FieldErrors) -> Option<Sigma> {
        match self.sigma.as_str() {
            "percent" => number(errors, "sigma_number", &self.sigma_number).map(Sigma::Percent),
            "prescribed" => number(errors, "sigma_number", &self.sigma_number).map(Sigma::Prescribed),
            "participants" => Some(Sigma::Participants),
            _ => None,
        }
    }
}

fn number(errors: &mut FieldErrors, field: &str, text: &str) -> Option<f64> {
    if text.trim().is_empty() {
        errors.push(field, Problem::new("text-missing"));
        return None;
    }
    errors.keep(field, Decimal::parse(text, Range::Positive).map_err(Problem::from)).map(|number| number.value())
}

/// Codes as typed; every one that the package does not have is told.
fn codes(errors: &mut FieldErrors, field: &str, text: &str, package: &RoundPackage) -> Vec<String> {
    let known: HashSet<&str> = package.results.iter().map(|result| result.participant.as_str()).collect();
    let mut found: Vec<String> = Vec::new();
    for word in text.split([' ', ',', ';', '\n', '\r', '\t']).filter(|word| !word.is_empty()) {
        let code = word.to_uppercase();
        if !known.contains(code.as_str()) {
            errors.push(field, Problem::new("trial-code-unknown").with("seen", word));
        } else if !found.contains(&code) {
            found.push(code);
        }
    }
    found
}

/// The copy with the changes. Measurands that are not meant are left out of it,
/// so that a trial on one measurand costs what one measurand costs.
pub fn changed(package: &RoundPackage, changes: &Changes) -> RoundPackage {
    let mut copy = part(package, changes.measurand.as_deref());
    for measurand in &mut copy.measurands {
        change(measurand, changes);
    }
    let (out, back): (HashSet<&str>, HashSet<&str>) = (
        changes.leave_out.iter().map(String::as_str).collect(),
        changes.take_back.iter().map(String::as_str).collect(),
    );
    if !out.is_empty() || !back.is_empty() {
        for result in &mut copy.results {
            if out.contains(result.participant.as_str()) && result.exclude.is_none() {
                result.exclude = Some(LEFT_OUT.to_owned());
            } else if back.contains(result.participant.as_str()) {
                result.exclude = None;
                result.scored = None;
            }
        }
    }
    copy
}

/// The package of one measurand, or all of it.
pub fn part(package: &RoundPackage, measurand: Option<&str>) -> RoundPackage {
    let Some(id) = measurand else { return package.clone() };
    RoundPackage {
        round: package.round.clone(),
        measurands: package.measurands.iter().filter(|m| m.id == id).cloned().collect(),
        results: package.results.iter().filter(|result| result.measurand == id).cloned().collect(),
    }
}

/// The evaluation of a copy. It is never stored, so it carries no hash of its
/// package.
pub fn evaluate(package: &RoundPackage) -> RoundEvaluation {
    evaluation::evaluate_unhashed(package)
}

fn change(measurand: &mut Measurand, changes: &Changes) {
    if !measurand.is_present() {
        return;
    }
    match changes.value {
        None => {}
        Some(Value::Consensus(estimator)) => {
            let kept = measurand.assigned_value.as_ref().and_then(AssignedValue::consensus).cloned();
            let fallback = measurand.assigned_value.as_ref().and_then(AssignedValue::given).cloned();
            let kept = kept.unwrap_or(Consensus { fallback, ..Consensus::default() });
            let consensus = Consensus { estimator: Some(estimator), ..kept };
            measurand.assigned_value = Some(AssignedValue::Participants(consensus));
        }
        Some(Value::Fallback) => {
            let consensus = measurand.assigned_value.as_ref().and_then(AssignedValue::consensus);
            if let Some(given) = consensus.and_then(|consensus| consensus.fallback.clone()) {
                give(measurand, given);
            }
        }
        Some(Value::Given { value, standard_uncertainty }) => {
            let basis = GivenBasis::Reference;
            give(measurand, GivenValue { basis, value, standard_uncertainty, additional_uncertainty: None });
        }
    }
    if let Some(sigma) = changes.sigma_pt {
        let basis = match sigma {
            Sigma::Percent(percent) => SigmaBasis::Relative { percent },
            Sigma::Prescribed(value) => SigmaBasis::Prescribed { value },
            Sigma::Participants => SigmaBasis::Participants,
        };
        let additional_sd = measurand.sigma_pt.as_ref().and_then(|old| old.additional_sd);
        measurand.sigma_pt = Some(SigmaPt { basis, additional_sd });
        if let Some(rounding) = &mut measurand.rounding {
            rounding.sigma_pt = None;
        }
    }
    if let Some(censored) = changes.censored {
        measurand.censored = Some(censored);
    }
}

/// A given value is used as it is given.
fn give(measurand: &mut Measurand, given: GivenValue) {
    measurand.assigned_value = Some(AssignedValue::Given(given));
    if let Some(rounding) = &mut measurand.rounding {
        rounding.assigned_value = None;
        rounding.standard_uncertainty = None;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::package::parse;

    fn package() -> RoundPackage {
        let result = |code: usize, id: &str, value: f64, more: &str| {
            format!(r#"{{"participant":"P{code:02}","measurand":"{id}","values":[{value}]{more}}}"#)
        };
        let mut results: Vec<String> = (1..=20).map(|n| result(n, "A/x", 90.0 + n as f64, "")).collect();
        results.push(result(21, "A/x", 500.0, r#","exclude":"A factor.""#));
        results.push(result(1, "A/y", 7.0, ""));
        parse(&format!(
            r#"{{"format":"round-package/1","round":{{"code":"R","title":"T"}},"measurands":[
            {{"id":"A/x","item":"A","analyte":"x","unit":"ng/L","scores":["z"],
              "assigned_value":{{"basis":"participants","estimator":"algorithm_a",
                "fallback":{{"basis":"formulation","value":105,"standard_uncertainty":1}}}},
              "sigma_pt":{{"basis":"relative","percent":10}},"rounding":{{"assigned_value":1,"sigma_pt":1}}}},
            {{"id":"A/y","item":"A","analyte":"y","unit":"ng/L","present":false,"absent_below":1}}],
            "results":[{}]}}"#,
            results.join(",")
        ))
        .unwrap_or_else(|problems| panic!("{problems:?}"))
    }

    fn tried(form: &TrialForm) -> RoundEvaluation {
        let package = package();
        let changes = form.parse(&package).unwrap_or_else(|errors| panic!("{errors:?}"));
        let copy = changed(&package, &changes);
        assert_eq!(copy.problems(), [], "the copy is a package");
        let stored = serde_json::to_string(&changes).expect("texts and numbers");
        assert_eq!(serde_json::from_str::<Changes>(&stored).expect("what was written"), changes);
        evaluate(&copy)
    }

    #[test]
    fn each_choice_changes_what_it_says_and_nothing_else() {
        let on_x = TrialForm { measurand: "A/x".to_owned(), ..TrialForm::default() };

        // The mean of 91 to 110 is 100.5, as is their median.
        let mean = tried(&TrialForm { value: "mean".to_owned(), ..on_x.clone() });
        let value = mean.measurands[0].assigned_value.as_ref().expect("a value");
        assert_eq!((value.value, value.p), (100.5, Some(20)));
        assert_eq!(mean.measurands.len(), 1, "only what is meant is evaluated");
        assert_eq!(mean.measurands[0].sigma_pt, Some(10.0), "10 % of 100.5, half to even");

        let fallback = tried(&TrialForm { value: "fallback".to_owned(), ..on_x.clone() });
        assert_eq!(fallback.measurands[0].assigned_value.as_ref().map(|v| v.value), Some(105.0));

        let given = TrialForm { value: "given".to_owned(), given: "98.25".to_owned(), ..on_x.clone() };
        let given = tried(&TrialForm { given_uncertainty: "0.5".to_owned(), ..given });
        assert_eq!(given.measurands[0].assigned_value.as_ref().map(|v| v.value), Some(98.25), "not rounded");

        let sigma = TrialForm { sigma: "prescribed".to_owned(), sigma_number: "12.34".to_owned(), ..on_x.clone() };
        assert_eq!(tried(&sigma).measurands[0].sigma_pt, Some(12.34));

        // With 500 taken back in the mean of 21 is 2510/21; without P20 (110), of 19, 1900/19.
        let back = TrialForm { value: "mean".to_owned(), take_back: "p21".to_owned(), ..on_x.clone() };
        assert_eq!(tried(&back).measurands[0].summary.mean, Some(2510.0 / 21.0));
        let out = TrialForm { leave_out: "P20".to_owned(), ..back };
        let out = TrialForm { take_back: String::new(), ..out };
        assert_eq!(tried(&out).measurands[0].summary.mean, Some(1900.0 / 19.0));

        // On all: the absent analyte stays as it is.
        let all =
            tried(&TrialForm { sigma: "percent".to_owned(), sigma_number: "20".to_owned(), ..TrialForm::default() });
        assert_eq!((all.measurands.len(), all.measurands[1].sigma_pt), (2, None));
    }

    #[test]
    fn what_cannot_be_tried_is_told_field_by_field() {
        let form = TrialForm {
            measurand: "A/z".to_owned(),
            value: "given".to_owned(),
            given: "-3".to_owned(),
            sigma: "percent".to_owned(),
            leave_out: "P02, P77".to_owned(),
            ..TrialForm::default()
        };
        let errors = form.parse(&package()).expect_err("five things are wrong");
        let fields: Vec<&str> = errors.iter().map(|(field, _)| field).collect();
        for field in ["measurand", "given", "given_uncertainty", "sigma_number", "leave_out"] {
            assert!(fields.contains(&field), "{field} in {fields:?}");
        }
        let nothing = TrialForm { measurand: "A/x".to_owned(), ..TrialForm::default() };
        assert!(nothing.parse(&package()).is_err(), "it would change nothing");
    }
}
