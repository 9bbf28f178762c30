//! What a laboratory measures: the true content with the errors of its method and
//! its own.
//!
//! Each key begins with the name of its term. The names are free, and so is which
//! draw is shown: of a few sets of names the one was taken whose round shows at
//! once what the scenario is about (the uncertainty of N4-acetylsulfamethoxazole
//! not negligible in all three items, bezafibrate in A below the limit in some
//! laboratories only, about twenty numbers of P21 equal to those of P20).

use super::analytes::{ANALYTES, Analyte, Class};
use super::editions::Edition;
use super::laboratories::{Group, Laboratory};
use super::random::{normal, uniform};

/// The items, in the order of the levels of an analyte.
pub(super) const ITEMS: [&str; 3] = ["A", "B", "C"];

/// The limits of quantification that occur, in ng/L.
const LOQ_STEPS: [u32; 11] = [1, 2, 3, 5, 8, 10, 15, 20, 25, 30, 50];

/// One laboratory, analyte and item of a round.
#[derive(Clone, Copy)]
pub(super) struct Place<'a> {
    pub(super) edition: &'a Edition,
    pub(super) laboratory: &'a Laboratory,
    pub(super) analyte: &'a Analyte,
    /// 0, 1, 2 for A, B, C.
    pub(super) item: usize,
}

impl Place<'_> {
    /// The mean of the two replicates in ng/L, before any mistake but those that act
    /// while measuring ([`Edition::found`]).
    ///
    /// `x = μ·ρ·exp(γ + λ + β + κ + ε + h + δ) + ω + b` for each replicate.
    pub(super) fn mean(&self, equal_replicates: bool) -> f64 {
        let found = self.edition.found(self.laboratory, self.analyte);
        let first = self.replicate("1", found);
        let second = if equal_replicates { first } else { self.replicate("2", found) };
        (first + second) / 2.0
    }

    fn replicate(&self, k: &str, found: f64) -> f64 {
        let round = self.edition.code;
        let (laboratory, analyte, item) = (self.laboratory.id, self.analyte.name, ITEMS[self.item]);
        let weakness = self.edition.weakness(self.laboratory);
        let level = f64::from(self.edition.level(self.analyte, self.item));
        let true_recovery = f64::from(self.analyte.recovery) / 100.0;
        let own = 0.07 * normal(&["laboratory", round, laboratory])
            + 0.11 * normal(&["analyte", laboratory, analyte])
            + 0.06 * normal(&["item", round, laboratory, analyte, item]);
        let repeatability = 0.05 * normal(&["replicate", round, laboratory, analyte, item, k]);
        let exponent = self.method_effect() + weakness * own + repeatability + self.inhomogeneity() + self.decay();
        let noise = 0.8 * normal(&["noise", round, laboratory, analyte, item, k]);
        level * true_recovery * found * exponent.exp() + noise + self.contamination()
    }

    fn method_effect(&self) -> f64 {
        let low = self.item == 0;
        match (self.laboratory.group, self.analyte.name) {
            (Group::M3, "hydrochlorothiazide") => self.edition.solvent_effect(low),
            (Group::M3, _) => {
                if low {
                    -0.04
                } else {
                    -0.10
                }
            }
            (Group::M4, _) => 0.06,
            _ => 0.0,
        }
    }

    /// The units of citalopram in item C differ.
    fn inhomogeneity(&self) -> f64 {
        if self.analyte.name == "citalopram" && self.item == 2 {
            0.20 * normal(&["inhomogeneity", self.edition.code, self.laboratory.id])
        } else {
            0.0
        }
    }

    /// Erythromycin is lost in river water that is not acidified, 0.66 % a day.
    fn decay(&self) -> f64 {
        if self.analyte.name == "erythromycin" && self.item > 0 && !self.edition.is_stabilised {
            -0.0066 * f64::from(analysis_day(self.edition, self.laboratory))
        } else {
            0.0
        }
    }

    /// Bezafibrate comes in from outside where little of it is.
    fn contamination(&self) -> f64 {
        if self.analyte.name == "bezafibrate" && self.item == 0 {
            4.0 * normal(&["contamination", self.edition.code, self.laboratory.id, ITEMS[self.item]]).abs()
        } else {
            0.0
        }
    }
}

/// The day of analysis after dispatch, 5–26.
pub(super) fn analysis_day(edition: &Edition, laboratory: &Laboratory) -> u32 {
    5 + (22.0 * uniform(&["day", edition.code, laboratory.id])) as u32
}

/// The limit of quantification that a laboratory declares, in ng/L: the nearest
/// step to median·exp(0.45·N), 1.3 times as much for acids.
pub(super) fn loq(laboratory: &Laboratory, analyte: &Analyte) -> u32 {
    let acid = if analyte.class == Class::Acid { 1.3 } else { 1.0 };
    let wanted = laboratory.group.median_loq()
        * (0.45 * normal(&["limit of quantification", laboratory.id, analyte.name])).exp()
        * acid;
    nearest(&LOQ_STEPS, wanted)
}

fn nearest(steps: &[u32], wanted: f64) -> u32 {
    let distance = |step: u32| (f64::from(step) - wanted).abs();
    steps.iter().copied().fold(steps[0], |best, step| if distance(step) < distance(best) { step } else { best })
}

/// The relative expanded uncertainty (k = 2) that a laboratory states, in percent:
/// 32 %·exp(0.35·N) to the nearest 5 %, at least 10 %. `None` in one cell of ten.
pub(super) fn relative_uncertainty(place: &Place<'_>) -> Option<u32> {
    let (laboratory, analyte) = (place.laboratory.id, place.analyte.name);
    if uniform(&["without-u", place.edition.code, laboratory, analyte, ITEMS[place.item]]) < 0.10 {
        return None;
    }
    let percent = 32.0 * (0.35 * normal(&["u", laboratory, analyte])).exp();
    Some((((percent / 5.0).round() as u32) * 5).max(10))
}

/// Who has an analyte in its scope, exactly as many as the table says: those in
/// `forced`, and of the others who may the ones with the smallest numbers.
/// `counting` says whose values count, for rare analytes.
pub(super) fn scope(
    edition: &Edition,
    analyte: &Analyte,
    forced: &[&str],
    counting: impl Fn(&str) -> bool,
) -> Vec<&'static str> {
    let may = |laboratory: &&'static Laboratory| {
        (laboratory.group != Group::M4 || analyte.is_neutral_parent())
            && (!analyte.is_rare() || forced.contains(&laboratory.id) || counting(laboratory.id))
    };
    let mut drawn: Vec<(bool, f64, &'static str)> = edition
        .laboratories()
        .into_iter()
        .filter(may)
        .map(|one| (!forced.contains(&one.id), uniform(&["scope", one.id, analyte.name]), one.id))
        .collect();
    drawn.sort_by(|one, other| one.0.cmp(&other.0).then(one.1.total_cmp(&other.1)));
    drawn.truncate(analyte.laboratories);
    drawn.into_iter().map(|(_, _, id)| id).collect()
}

/// The analyte called `name`.
pub(super) fn analyte(name: &str) -> &'static Analyte {
    ANALYTES.iter().find(|analyte| analyte.name == name).expect("a name of the table")
}
