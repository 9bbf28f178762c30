//! What came after publication in the first round, as the texts and numbers that the
//! pages are given: the correction Y6, the appeal and the complaint Y7, the amendment Y8.

use super::scenario::{Formulation, Scenario};

/// A value of the organiser that is corrected after publication.
#[derive(Clone, Debug)]
pub struct Corrected {
    /// Label of the item.
    pub item: &'static str,
    /// Name of the analyte.
    pub analyte: &'static str,
    /// What was published.
    pub was: Formulation,
    /// What it should have been.
    pub is: Formulation,
}

/// An appeal or a complaint of a laboratory.
#[derive(Clone, Copy, Debug)]
pub struct Case {
    /// P01–P42.
    pub laboratory: &'static str,
    /// Whether scores are appealed against; else it is a complaint.
    pub is_appeal: bool,
    /// What the laboratory wrote.
    pub text: &'static str,
    /// Whether it was upheld.
    pub upheld: bool,
    /// The outcome with its reason, for the laboratory to read.
    pub outcome: &'static str,
}

/// The appeal of a laboratory that measured metformin (Y6); P01 or whoever of the six
/// comes first in the round.
pub const METFORMIN: (&str, &str) = (
    "All our recoveries of metformin from spiked river water were between 90 % and 105 %, but our results lie about thirty percent below your value in all three items, as do those of all others in your figure. Was the assigned value calculated for metformin or for its hydrochloride?",
    "Upheld. The certified standard is the hydrochloride; its factor of 1.282 was not applied when the content of the items was calculated. The values of metformin in all items are corrected and the scores computed anew.",
);

/// The reason of the correction, for the corrected report (Y6).
pub const CORRECTION: &str = "The assigned values of metformin by formulation were those of the hydrochloride. They are divided by 1.282; the six results that count are scored anew.";

/// Y7.
pub const CASES: [Case; 2] = [
    Case {
        laboratory: "P03",
        is_appeal: true,
        text: "We found after the report that all our results were calculated in µg/L and entered as ng/L. Please correct our unit by the factor 1000; the analyses themselves were right.",
        upheld: false,
        outcome: "Rejected. Reporting in the unit of the round is part of the performance that is assessed, and results stand as they were sent once the deadline is over (plan: requests after closing are recorded and change no score). The report says of the set that it is consistent with a factor of 1/1000; the results are in no consensus.",
    },
    Case {
        laboratory: "P31",
        is_appeal: false,
        text: "Our parcel arrived four days late and the bottle of item B was not cold any more. We told you the same day.",
        upheld: true,
        outcome: "Upheld. The carrier left the parcel at a wrong depot. The unit of item B was replaced from the spare units within the time of the round; the results are of the replaced unit. Dispatch now takes the carrier's day service.",
    },
];

/// Y8: the amendment of the plan while the round is open.
pub const AMENDMENT: &str = "The deadline is extended by two days for all laboratories: parcels to three countries were held up by a strike of the carrier. The extension was announced to all on the same day; nobody had sent results before.";

/// The days by which Y8 extends the deadline.
pub const AMENDMENT_DAYS: i64 = 2;

impl Scenario {
    /// The values that are corrected after publication (Y6).
    pub fn corrections(&self) -> Vec<Corrected> {
        let wrong = |m: &super::scenario::Measurand| {
            Some(Corrected { item: m.item, analyte: m.analyte, was: m.believed.clone()?, is: m.formulation.clone()? })
        };
        self.measurands.iter().filter_map(wrong).collect()
    }
}
