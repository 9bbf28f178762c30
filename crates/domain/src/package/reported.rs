//! The results in a package.

use schemars::JsonSchema;
use serde::Serialize;

use crate::schema;

/// One result of a participant.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct ReportedResult {
    /// The participant's code.
    #[schemars(schema_with = "schema::filled_text")]
    pub participant: String,
    /// Id of the measurand.
    #[schemars(schema_with = "schema::filled_text")]
    pub measurand: String,
    /// What was reported.
    #[serde(flatten)]
    pub reported: Reported,
    /// Expanded uncertainty U, above zero.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(schema_with = "schema::positive")]
    pub expanded_uncertainty: Option<f64>,
    /// Coverage factor k, above zero.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(schema_with = "schema::positive")]
    pub coverage_factor: Option<f64>,
    /// Why the result takes no part in consensus and summary.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(schema_with = "schema::filled_text")]
    pub exclude: Option<String>,
    /// `false`: it is not scored either.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(extend("default" = true))]
    pub scored: Option<bool>,
    /// An opaque word for the organisation behind it.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(schema_with = "schema::filled_text")]
    pub organisation: Option<String>,
    /// Name of a group of methods.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(schema_with = "schema::filled_text")]
    pub method: Option<String>,
}

impl ReportedResult {
    /// A result with nothing but what was reported.
    #[must_use]
    pub fn new(participant: &str, measurand: &str, reported: Reported) -> Self {
        Self {
            participant: participant.to_owned(),
            measurand: measurand.to_owned(),
            reported,
            expanded_uncertainty: None,
            coverage_factor: None,
            exclude: None,
            scored: None,
            organisation: None,
            method: None,
        }
    }

    /// Whether it takes part in consensus and summary.
    #[must_use]
    pub fn counts(&self) -> bool {
        self.exclude.is_none()
    }

    /// Whether it may be scored, which is the default.
    #[must_use]
    pub fn is_scored(&self) -> bool {
        self.scored.unwrap_or(true)
    }

    /// U/k, where both are known.
    ///
    /// ```
    /// use roundel_domain::package::{Reported, ReportedResult};
    ///
    /// let mut result = ReportedResult::new("P1", "A/x", Reported::Values(vec![48.2]));
    /// result.expanded_uncertainty = Some(9.8);
    /// assert_eq!(result.standard_uncertainty(), None);
    /// result.coverage_factor = Some(2.0);
    /// assert_eq!(result.standard_uncertainty(), Some(4.9));
    /// ```
    #[must_use]
    pub fn standard_uncertainty(&self) -> Option<f64> {
        Some(self.expanded_uncertainty? / self.coverage_factor?)
    }
}

/// What was reported.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Reported {
    /// One value or replicates.
    #[schemars(schema_with = "schema::numbers")]
    Values(Vec<f64>),
    /// "<": the limit, above zero.
    #[schemars(schema_with = "schema::positive")]
    Below(f64),
}
