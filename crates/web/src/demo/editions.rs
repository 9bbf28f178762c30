//! What differs between the rounds of the scheme. Scopes, limits of quantification
//! and the errors of a laboratory with an analyte (β) stay; everything else is drawn
//! anew, since the key of each number holds the code of its round.
//!
//! Of the mistakes of QW-1 the slips are not repeated. Habits stay: who gives no or a
//! wrong uncertainty (P02, P06, P10), reports the lysine salt or equivalents of the
//! parent (P22, P24), reports below its own limit (P28), copies its replicates (P34).
//! What was corrected after a report stands in [`Edition::step`].

use super::analytes::{Analyte, Class};
use super::laboratories::{LABORATORIES, Laboratory};

/// A round of the scheme.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Edition {
    pub(super) code: &'static str,
    pub(super) title: &'static str,
    /// Contents of A, B and C in hundredths of those of the first round.
    factors: [u32; 3],
    /// Analytes whose contents are others than by these factors.
    contents: &'static [(&'static str, [u32; 3])],
    /// σ_pt in percent of the analytes that have not 25 %.
    sigma: &'static [(&'static str, &'static str)],
    /// Who does not take part, of all laboratories of the table.
    absent: &'static [&'static str],
    /// Whether erythromycin keeps: acidified.
    pub(super) is_stabilised: bool,
    /// How many rounds went before: what changes by steps takes this one.
    step: usize,
}

/// March 2024: the first round, with all deliberate mistakes.
pub(super) const QW_1: Edition = Edition {
    code: "QW-1",
    title: "Trace organic contaminants in natural waters, March 2024",
    factors: [100, 100, 100],
    contents: &[],
    sigma: &[],
    absent: &["P41", "P42"],
    is_stabilised: false,
    step: 0,
};

/// September 2024. P38 and P40 left, P41 and P42 came; P10 stayed away.
pub(super) const QW_2: Edition = Edition {
    code: "QW-2",
    title: "Trace organic contaminants in natural waters, September 2024",
    factors: [140, 70, 75],
    contents: &[("gabapentin", [36, 45, 59])],
    sigma: &[],
    absent: &["P10", "P38", "P40"],
    is_stabilised: false,
    step: 1,
};

/// March 2025. Amisulpride is in all items, erythromycin is acidified, and σ_pt of
/// citalopram was raised to 30 %.
pub(super) const QW_3: Edition = Edition {
    code: "QW-3",
    title: "Trace organic contaminants in natural waters, March 2025",
    factors: [80, 120, 115],
    contents: &[("amisulpride", [15, 90, 110])],
    sigma: &[("citalopram", "30")],
    absent: &["P38", "P40"],
    is_stabilised: true,
    step: 2,
};

/// All, in their order.
#[cfg(test)]
pub(super) const ALL: [&Edition; 3] = [&QW_1, &QW_2, &QW_3];

impl Edition {
    /// Whether the slips of the first round are made.
    pub(super) fn has_slips(&self) -> bool {
        self.step == 0
    }

    /// The laboratories that take part, in the order of the table.
    pub(super) fn laboratories(&self) -> Vec<&'static Laboratory> {
        LABORATORIES.iter().filter(|laboratory| !self.absent.contains(&laboratory.id)).collect()
    }

    /// The nominal content of an item in whole ng/L; 0 where the analyte is absent.
    pub(super) fn level(&self, analyte: &Analyte, item: usize) -> u32 {
        let own = self.contents.iter().find(|(name, _)| *name == analyte.name);
        own.map_or((analyte.levels[item] * self.factors[item] + 50) / 100, |(_, contents)| contents[item])
    }

    /// The content in tenths of a ng/L that the organiser believes in, where it is not
    /// the true one (Y6): the standard of metformin was the hydrochloride, and in the
    /// first round its factor of 1.282 was forgotten.
    pub(super) fn believed_tenths(&self, analyte: &Analyte, item: usize) -> Option<u32> {
        let wrong = self.has_slips() && analyte.name == "metformin";
        wrong.then(|| (self.level(analyte, item) * 1282 + 50) / 100)
    }

    /// σ_pt in percent of the assigned value.
    pub(super) fn sigma_percent(&self, analyte: &Analyte) -> &'static str {
        self.sigma.iter().find(|(name, _)| *name == analyte.name).map_or("25", |(_, percent)| percent)
    }

    /// The factor on a laboratory's own errors: P30 works better from round to round.
    pub(super) fn weakness(&self, laboratory: &Laboratory) -> f64 {
        let tenths = if laboratory.id == "P30" { [20, 15, 11][self.step] } else { laboratory.weakness };
        f64::from(tenths) / 10.0
    }

    /// The effect of calibration in solvent on hydrochlorothiazide in the low item A
    /// and in B and C: after the report on QW-1 more and more use a labelled standard.
    pub(super) fn solvent_effect(&self, low: bool) -> f64 {
        let [a, others] = [[-0.35, -1.05], [-0.17, -0.50], [-0.03, -0.10]][self.step];
        if low { a } else { others }
    }

    /// A factor on what a laboratory finds, from round to round: P33 corrects acids
    /// for recovery after an investigation, the bases of P23 drift away.
    pub(super) fn found(&self, laboratory: &Laboratory, analyte: &Analyte) -> f64 {
        match (laboratory.id, analyte.class) {
            ("P33", Class::Acid) => [0.62, 0.80, 0.95][self.step],
            ("P23", Class::Basic) => [1.06, 1.15, 1.26][self.step],
            _ => 1.0,
        }
    }
}
