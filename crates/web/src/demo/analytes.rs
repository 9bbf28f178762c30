//! The analytes of the scenario, one line each. Substance names are real common
//! names; levels, recoveries and counts are invented.

/// How an analyte behaves, which decides who can measure it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Class {
    /// A neutral compound that is used as it is.
    Neutral,
    /// A neutral product of degradation.
    NeutralMetabolite,
    /// A base.
    Basic,
    /// An acid.
    Acid,
    /// A very polar compound.
    Polar,
    /// Acid and base at once.
    Zwitterionic,
}

/// One analyte in the three items of the first round.
#[derive(Clone, Copy, Debug)]
pub(super) struct Analyte {
    pub(super) name: &'static str,
    pub(super) class: Class,
    /// Nominal content of A, B and C in ng/L after spiking, native content included.
    pub(super) levels: [u32; 3],
    /// How many laboratories have it in their scope.
    pub(super) laboratories: usize,
    /// True recovery ρ in hundredths.
    pub(super) recovery: u32,
}

impl Analyte {
    /// Whether the offline laboratories of group M4 measure it.
    pub(super) fn is_neutral_parent(&self) -> bool {
        self.class == Class::Neutral
    }

    /// Whether so few have it that only laboratories whose values count are drawn.
    pub(super) fn is_rare(&self) -> bool {
        self.laboratories < 12
    }
}

const fn analyte(name: &'static str, class: Class, levels: [u32; 3], laboratories: usize, recovery: u32) -> Analyte {
    Analyte { name, class, levels, laboratories, recovery }
}

use Class::{Acid, Basic, Neutral, NeutralMetabolite, Polar, Zwitterionic};

/// In the order of the forms. The recovery of amisulpride is without effect before
/// QW-3: it is absent.
#[rustfmt::skip]
pub(super) const ANALYTES: [Analyte; 24] = [
    analyte("carbamazepine", Neutral, [32, 145, 120], 38, 98),
    analyte("O-desmethylvenlafaxine", NeutralMetabolite, [45, 160, 190], 34, 97),
    analyte("lamotrigine", Neutral, [18, 95, 110], 38, 98),
    analyte("venlafaxine", Neutral, [25, 210, 175], 38, 98),
    analyte("fluconazole", Neutral, [38, 130, 155], 33, 97),
    analyte("citalopram", Neutral, [12, 88, 105], 34, 95),
    analyte("trimethoprim", Neutral, [28, 120, 98], 33, 95),
    analyte("metoprolol", Basic, [40, 260, 310], 34, 98),
    analyte("sulfamethoxazole", Basic, [22, 185, 150], 34, 98),
    analyte("tramadol", Basic, [30, 140, 170], 33, 98),
    analyte("erythromycin", Basic, [35, 165, 135], 31, 94),
    analyte("1H-benzotriazole", Neutral, [26, 240, 290], 37, 98),
    analyte("diethyltoluamide", Neutral, [20, 115, 92], 36, 98),
    analyte("amisulpride", Neutral, [0, 0, 0], 24, 97),
    analyte("fluoxetine", Neutral, [24, 125, 152], 31, 97),
    analyte("diclofenac", Acid, [55, 380, 460], 30, 97),
    analyte("ibuprofen", Acid, [34, 320, 260], 31, 96),
    analyte("naproxen", Acid, [42, 290, 350], 30, 96),
    analyte("gemfibrozil", Acid, [29, 150, 122], 22, 96),
    analyte("bezafibrate", Acid, [14, 175, 210], 29, 96),
    analyte("hydrochlorothiazide", Polar, [60, 410, 490], 27, 95),
    analyte("N4-acetylsulfamethoxazole", Polar, [48, 275, 225], 11, 95),
    analyte("gabapentin", Zwitterionic, [0, 64, 78], 26, 96),
    analyte("metformin", Polar, [50, 300, 360], 6, 88),
];
