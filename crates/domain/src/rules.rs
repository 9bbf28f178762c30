//! The decision rules that every round is run by, with the values that are used:
//! the plan prints them, so that no rule is chosen after the results were seen.

use crate::assemble::FEWEST_SHOWN;
use crate::plan::FEWEST_FOR_CONSENSUS;
use crate::round::LATE_AT_MOST;
use std::collections::BTreeMap;

/// A rule by its number, with the values that it uses, by name. The sentence is
/// the catalogue's.
pub type Rules = BTreeMap<String, BTreeMap<String, String>>;

/// The numbers of the rules, in their order.
pub const NUMBERS: std::ops::RangeInclusive<usize> = 1..=40;

/// The rules with the values of this program.
pub fn defaults() -> Rules {
    let few = FEWEST_FOR_CONSENSUS.to_string();
    let shown = FEWEST_SHOWN.to_string();
    let late = LATE_AT_MOST.as_hours().to_string();
    let values: &[(usize, &[(&str, &str)])] = &[
        (1, &[("warning", "2"), ("action", "3")]),
        (3, &[("limit", "1"), ("k", "2")]),
        (4, &[("z", "0.3"), ("none", "0.5")]),
        (5, &[("factor", "1.25")]),
        (7, &[("algorithm_a", "18"), ("q_hampel", "12"), ("median", few.as_str())]),
        (8, &[("least", few.as_str()), ("consent", "12")]),
        (10, &[("omit", "5"), ("information", "25"), ("none", "50")]),
        (11, &[("factor", "3")]),
        (12, &[("action", "-3"), ("warning", "-2")]),
        (13, &[("factor", "2")]),
        (14, &[("uncertainty", "2"), ("value", "3"), ("sigma", "3")]),
        (15, &[("refused", "2"), ("warned", "3")]),
        (16, &[("percent", "33")]),
        (18, &[("factor", "1.5")]),
        (20, &[("percent", "50")]),
        (21, &[("near", "0.15"), ("spread", "0.2"), ("least", "5")]),
        (22, &[("score", "3"), ("near", "1.25")]),
        (23, &[("explained", "0.25"), ("least", "6")]),
        (24, &[("explained", "0.25"), ("shift", "0.10")]),
        (25, &[("least", "12"), ("bandwidth", "0.75"), ("sets", "1000")]),
        (26, &[("factor", "2"), ("sigma", "0.5")]),
        (27, &[("cells", "30"), ("rate", "1")]),
        (28, &[("skew", "0.3"), ("least", "15")]),
        (29, &[("units", "10"), ("sigma", "0.3")]),
        (30, &[("factor", "1.5")]),
        (31, &[("sigma", "0.3")]),
        (32, &[("sigma", "0.3")]),
        (33, &[("hours", late.as_str())]),
        (36, &[("least", shown.as_str())]),
        (39, &[("from", "0.5"), ("to", "2.0")]),
        (40, &[("scores", "5"), ("laboratory", "30")]),
    ];
    let mut rules: Rules = NUMBERS.map(|number| (name(number), BTreeMap::new())).collect();
    for (number, pairs) in values {
        let own = pairs.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect();
        rules.insert(name(*number), own);
    }
    rules
}

/// The name of a rule: `D7`.
pub fn name(number: usize) -> String {
    format!("D{number}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_rule_is_there_with_the_values_that_the_program_uses() {
        let rules = defaults();
        assert_eq!(rules.len(), 40);
        // The numbers of the text of the rules: D8, D33, D36.
        assert_eq!(rules["D8"]["least"], "8");
        assert_eq!(rules["D33"]["hours"], "48");
        assert_eq!(rules["D36"]["least"], "5");
        assert!(rules["D6"].is_empty());
    }
}
