//! An evaluation measurand by measurand, for long work that is done in parts: each
//! piece is text, and all together are the document that [`super::evaluate`] gives,
//! byte for byte.

use serde::{Deserialize, Serialize};

use super::{FORMAT, evaluate_measurand};
use crate::package::RoundPackage;

/// The evaluation of one measurand, as it stands in the whole document.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Piece {
    /// Its entry in the list of measurands.
    measurand: String,
    /// Its entries in the list of scores; empty for none.
    scores: String,
}

/// Evaluates the measurand at `place` of a valid package; none beyond the last.
#[must_use]
pub fn piece(package: &RoundPackage, place: usize) -> Option<Piece> {
    let plan = package.measurands.get(place)?;
    let mut results: Vec<_> = package.results.iter().filter(|result| result.measurand == plan.id).collect();
    results.sort_by(|a, b| a.participant.cmp(&b.participant));
    let part = evaluate_measurand(plan, results);
    let scores: Vec<String> = part.scores().map(|score| entry(&score)).collect();
    Some(Piece { measurand: entry(&part.evaluation), scores: scores.join(",\n") })
}

/// An entry of a list of the document: indented by two steps. No text holds a line
/// break, since JSON writes them as `\n`.
fn entry(value: &impl Serialize) -> String {
    let text = serde_json::to_string_pretty(value).expect("an evaluation has text keys and finite numbers");
    let lines: Vec<String> = text.lines().map(|line| format!("    {line}")).collect();
    lines.join("\n")
}

/// The whole document of a package from all its pieces, in their order.
///
/// ```
/// use roundel_domain::evaluation::{evaluate, pieces};
/// use roundel_domain::package::RoundPackage;
///
/// let package = RoundPackage::default();
/// assert_eq!(pieces::joined(&package, "roundel 0.1.0", &[]), evaluate(&package, "roundel 0.1.0").to_json());
/// ```
#[must_use]
pub fn joined(package: &RoundPackage, engine: &str, pieces: &[Piece]) -> String {
    let text = |value: &str| serde_json::to_string(value).expect("a text is JSON");
    let list = |entries: Vec<&str>| {
        let entries: Vec<&str> = entries.into_iter().filter(|entry| !entry.is_empty()).collect();
        if entries.is_empty() { "[]".to_owned() } else { format!("[\n{}\n  ]", entries.join(",\n")) }
    };
    format!(
        "{{\n  \"format\": {},\n  \"engine\": {},\n  \"package_sha256\": {},\n  \"measurands\": {},\n  \"scores\": {}\n}}\n",
        text(FORMAT),
        text(engine),
        text(&package.sha256()),
        list(pieces.iter().map(|piece| piece.measurand.as_str()).collect()),
        list(pieces.iter().map(|piece| piece.scores.as_str()).collect()),
    )
}
