//! What people decided about measurands as a whole, with the reasons that stand in
//! the report: careful ones, of what was seen and what it is consistent with.

use super::scenario::Scenario;
use roundel_domain::judgement::{Kind, Topic};

/// A decision on a measurand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Judged {
    /// Label of the item.
    pub item: &'static str,
    /// Name of the analyte.
    pub analyte: &'static str,
    /// What it is about.
    pub topic: Topic,
    /// What is decided.
    pub kind: Kind,
    /// Why, as a sentence for the report.
    pub reason: &'static str,
}

const TWO_MODES: &str = "The results form two groups. Laboratories that inject directly and calibrate in solvent without a standard found far less than the others, consistent with a matrix effect that is not corrected for. No single value stands for both; the content by preparation is given for comparison. A labelled standard is advised.";
const UNITS_DIFFER: &str = "The units of item C differ in citalopram by more than half of sigma_pt, above both limits of the test of homogeneity.";
const DECAY: &str =
    "The content fell by about 17 % until the end of the study at 4 °C, above both limits of the test of stability.";
const FEW: &str = "Eleven laboratories count. Their spread is that of the other analytes, no group stands apart, and the content by preparation agrees; the uncertainty of the value enters the score as z'.";

const fn judged(item: &'static str, analyte: &'static str, topic: Topic, kind: Kind, reason: &'static str) -> Judged {
    Judged { item, analyte, topic, kind, reason }
}

/// Eleven laboratories have it in every round: a reviewer agrees to their consensus.
const CONSENTS: [Judged; 3] = [
    judged("A", "N4-acetylsulfamethoxazole", Topic::Consent, Kind::Consent, FEW),
    judged("B", "N4-acetylsulfamethoxazole", Topic::Consent, Kind::Consent, FEW),
    judged("C", "N4-acetylsulfamethoxazole", Topic::Consent, Kind::Consent, FEW),
];

/// Citalopram of item C differs between units in every round.
const HETEROGENEOUS: Judged = judged("C", "citalopram", Topic::Homogeneity, Kind::InformationOnly, UNITS_DIFFER);

/// Until it was acidified for the third round.
const UNSTABLE: [Judged; 2] = [
    judged("B", "erythromycin", Topic::Stability, Kind::InformationOnly, DECAY),
    judged("C", "erythromycin", Topic::Stability, Kind::InformationOnly, DECAY),
];

/// Until enough laboratories used a labelled standard.
const BIMODAL: [Judged; 2] = [
    judged("B", "hydrochlorothiazide", Topic::Shape, Kind::InformationOnly, TWO_MODES),
    judged("C", "hydrochlorothiazide", Topic::Shape, Kind::InformationOnly, TWO_MODES),
];

impl Scenario {
    /// The decisions of the round on measurands as a whole.
    pub fn judgements(&self) -> Vec<Judged> {
        let mut judgements = CONSENTS.to_vec();
        judgements.push(HETEROGENEOUS);
        if self.code != "QW-3" {
            judgements.extend(UNSTABLE);
            judgements.extend(BIMODAL);
        }
        judgements
    }
}
