//! A round with deliberate mistakes, made anew for each seed: 39 laboratories
//! of four groups of methods, 24 analytes in three items, and the errors that
//! real ones make. The model is that of the demonstration; the generator is a
//! small one of its own, so that these tests hang on nothing but this crate
//! and its seeds can be many. Every random number depends on its key alone
//! (SHA-256 of seed and key), so a mistake in one laboratory moves no other.

use roundel_domain::screening::{Grid, Place, Target};
use roundel_stats::quantile;
use sha2::{Digest as _, Sha256};

/// Name, levels of the three items, number of laboratories, true recovery in
/// per cent, and whether it is an acid.
type Analyte = (&'static str, [f64; 3], usize, f64, bool);

#[rustfmt::skip]
pub(crate) const ANALYTES: [Analyte; 24] = [
    ("carbamazepine", [32.0, 145.0, 120.0], 38, 98.0, false),
    ("O-desmethylvenlafaxine", [45.0, 160.0, 190.0], 34, 97.0, false),
    ("lamotrigine", [18.0, 95.0, 110.0], 38, 98.0, false),
    ("venlafaxine", [25.0, 210.0, 175.0], 38, 98.0, false),
    ("fluconazole", [38.0, 130.0, 155.0], 33, 97.0, false),
    ("citalopram", [12.0, 88.0, 105.0], 34, 95.0, false),
    ("trimethoprim", [28.0, 120.0, 98.0], 33, 95.0, false),
    ("metoprolol", [40.0, 260.0, 310.0], 34, 98.0, false),
    ("sulfamethoxazole", [22.0, 185.0, 150.0], 34, 98.0, false),
    ("tramadol", [30.0, 140.0, 170.0], 33, 98.0, false),
    ("erythromycin", [35.0, 165.0, 135.0], 31, 94.0, false),
    ("1H-benzotriazole", [26.0, 240.0, 290.0], 37, 98.0, false),
    ("diethyltoluamide", [20.0, 115.0, 92.0], 36, 98.0, false),
    ("amisulpride", [0.0, 0.0, 0.0], 24, 100.0, false),
    ("fluoxetine", [24.0, 125.0, 152.0], 31, 97.0, false),
    ("diclofenac", [55.0, 380.0, 460.0], 30, 97.0, true),
    ("ibuprofen", [34.0, 320.0, 260.0], 31, 96.0, true),
    ("naproxen", [42.0, 290.0, 350.0], 30, 96.0, true),
    ("gemfibrozil", [29.0, 150.0, 122.0], 22, 96.0, true),
    ("bezafibrate", [14.0, 175.0, 210.0], 29, 96.0, true),
    ("hydrochlorothiazide", [60.0, 410.0, 490.0], 27, 95.0, false),
    ("N4-acetylsulfamethoxazole", [48.0, 275.0, 225.0], 11, 95.0, false),
    ("gabapentin", [0.0, 64.0, 78.0], 26, 96.0, false),
    ("metformin", [50.0, 300.0, 360.0], 6, 88.0, false),
];
/// Analytes of the laboratories that do offline enrichment.
const NEUTRAL: [usize; 11] = [0, 2, 3, 4, 5, 6, 11, 12, 13, 14, 1];
pub(crate) const LABORATORIES: usize = 40;
const LOQ: [f64; 11] = [1.0, 2.0, 3.0, 5.0, 8.0, 10.0, 15.0, 20.0, 25.0, 30.0, 50.0];

/// P01 is 1.
pub(crate) const WHOLE_SET: usize = 3;
pub(crate) const TENTH: usize = 7;
pub(crate) const ROWS: usize = 8;
pub(crate) const DOUBLE: usize = 9;
pub(crate) const ITEMS_AB: usize = 12;
pub(crate) const ITEMS_BC: usize = 15;
pub(crate) const EXCHANGED: usize = 16;
pub(crate) const COPIED: [usize; 2] = [20, 21];

pub(crate) fn row(name: &str) -> usize {
    ANALYTES.iter().position(|analyte| analyte.0 == name).expect("an analyte of the table")
}

pub(crate) struct Round {
    seed: String,
}

impl Round {
    pub(crate) fn new(seed: &str) -> Self {
        Self { seed: seed.to_owned() }
    }

    /// The results as reported, with the mistakes, or all of them honest.
    pub(crate) fn grid(&self, with_mistakes: bool) -> Grid {
        let mut all: Vec<Vec<Option<f64>>> = (0..=LABORATORIES).map(|_| vec![None; 3 * ANALYTES.len()]).collect();
        for analyte in 0..ANALYTES.len() {
            for laboratory in self.scope(analyte) {
                for item in 0..3 {
                    all[laboratory][item * ANALYTES.len() + analyte] =
                        self.reported(laboratory, Place { item, analyte }, with_mistakes);
                }
            }
        }
        if with_mistakes {
            self.spoil(&mut all);
        }
        self.as_grid(&all)
    }

    /// The day of analysis after dispatch.
    pub(crate) fn day(&self, laboratory: usize) -> f64 {
        5.0 + (22.0 * self.uniform(&format!("day {laboratory}"))).floor()
    }

    fn as_grid(&self, all: &[Vec<Option<f64>>]) -> Grid {
        let mut grid = Grid::new(LABORATORIES + 1, 3, ANALYTES.len());
        for item in 0..3 {
            for (analyte, row) in ANALYTES.iter().enumerate() {
                let place = Place { item, analyte };
                if row.1[item] > 0.0 {
                    grid.set_target(place, Target { value: row.1[item], sigma_pt: 0.25 * row.1[item] });
                }
                for (laboratory, cells) in all.iter().enumerate() {
                    if let Some(value) = cells[item * ANALYTES.len() + analyte] {
                        grid.set(laboratory, place, value);
                    }
                }
            }
        }
        (1..=LABORATORIES).for_each(|laboratory| grid.set_method(laboratory, group(laboratory)));
        grid
    }

    /// Who has an analyte in its scope: those whose mistake needs it, and as
    /// many others as the table says. P17 sends nothing.
    fn scope(&self, analyte: usize) -> Vec<usize> {
        let name = ANALYTES[analyte].0;
        let forced = |laboratory: usize| match laboratory {
            TENTH => name == "naproxen",
            DOUBLE => name == "sulfamethoxazole",
            EXCHANGED => ["naproxen", "gemfibrozil"].contains(&name),
            ROWS => (row("fluoxetine")..=row("bezafibrate")).contains(&analyte),
            22 => name == "ibuprofen",
            33 => ANALYTES[analyte].4,
            _ => false,
        };
        let mut drawn: Vec<(bool, f64, usize)> = (1..=LABORATORIES)
            .filter(|laboratory| group(*laboratory) != 4 || NEUTRAL.contains(&analyte))
            .map(|one| (!forced(one), self.uniform(&format!("scope {one} {name}")), one))
            .collect();
        drawn.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        drawn.truncate(ANALYTES[analyte].2);
        drawn.into_iter().map(|drawn| drawn.2).filter(|laboratory| *laboratory != 17).collect()
    }

    /// The mean of two replicates to a laboratory's digits, `None` below its
    /// limit of quantification.
    fn reported(&self, laboratory: usize, place: Place, with_mistakes: bool) -> Option<f64> {
        let (name, _, _, _, acid) = ANALYTES[place.analyte];
        let mean = (self.replicate(laboratory, place, 1) + self.replicate(laboratory, place, 2)) / 2.0;
        let factor = match (laboratory, name, place.item) {
            _ if !with_mistakes => 1.0,
            (TENTH, "naproxen", 1) => 0.1,
            (DOUBLE, "sulfamethoxazole", _) => 2.0,
            (22, "ibuprofen", _) => 1.71,
            (24, "N4-acetylsulfamethoxazole", _) => 0.858,
            (33, _, _) if acid => 0.62,
            _ => 1.0,
        };
        let median = [0.0, 5.0, 10.0, 18.0, 15.0][group(laboratory)];
        let wanted =
            median * (0.45 * self.normal(&format!("loq {laboratory} {name}"))).exp() * if acid { 1.3 } else { 1.0 };
        let nearest = |best: f64, step: f64| if (step - wanted).abs() < (best - wanted).abs() { step } else { best };
        let limit = LOQ.into_iter().fold(LOQ[0], nearest);
        let digits = match laboratory {
            1 => 4,
            11 | 27 => 2,
            _ => 3,
        };
        (mean >= limit).then(|| rounded(mean * factor, digits))
    }

    /// x = μ ρ exp(γ + λ + β + κ + ε + h + δ) + ω + b.
    fn replicate(&self, laboratory: usize, place: Place, replicate: usize) -> f64 {
        let (name, levels, _, recovery, _) = ANALYTES[place.analyte];
        let item = place.item;
        let weakness = match laboratory {
            5 | 30 => 2.0,
            18 => 2.2,
            38 => 1.8,
            _ => 1.0,
        };
        let key = format!("{laboratory} {name} {item}");
        let method = match (group(laboratory), name, item) {
            (3, "hydrochlorothiazide", 0) => -0.35,
            (3, "hydrochlorothiazide", _) => -1.05,
            (3, _, 0) => -0.04,
            (3, _, _) => -0.10,
            (4, _, _) => 0.06,
            _ => 0.0,
        };
        let own = 0.07 * self.normal(&format!("laboratory {laboratory}"))
            + 0.11 * self.normal(&format!("analyte {laboratory} {name}"))
            + 0.06 * self.normal(&format!("cell {key}"));
        let unit =
            if name == "citalopram" && item == 2 { 0.20 * self.normal(&format!("unit {laboratory}")) } else { 0.0 };
        let decay = if name == "erythromycin" && item > 0 { -0.0066 * self.day(laboratory) } else { 0.0 };
        let exponent =
            method + weakness * own + 0.05 * self.normal(&format!("replicate {key} {replicate}")) + unit + decay;
        let contamination = if name == "bezafibrate" && item == 0 {
            4.0 * self.normal(&format!("from outside {laboratory}")).abs()
        } else {
            0.0
        };
        levels[item] * recovery / 100.0 * exponent.exp()
            + 0.8 * self.normal(&format!("noise {key} {replicate}"))
            + contamination
    }

    fn spoil(&self, all: &mut [Vec<Option<f64>>]) {
        let rows = ANALYTES.len();
        all[WHOLE_SET].iter_mut().flatten().for_each(|value| *value /= 1000.0);
        (0..rows).for_each(|analyte| all[ITEMS_AB].swap(analyte, rows + analyte));
        (0..rows).for_each(|analyte| all[ITEMS_BC].swap(rows + analyte, 2 * rows + analyte));
        (0..3).for_each(|item| all[EXCHANGED].swap(item * rows + row("naproxen"), item * rows + row("gemfibrozil")));
        for analyte in (row("diclofenac")..=row("bezafibrate")).rev() {
            all[ROWS][2 * rows + analyte] = all[ROWS][2 * rows + analyte - 1];
        }
        let from = all[COPIED[0]].clone();
        for (index, (own, other)) in all[COPIED[1]].iter_mut().zip(from).enumerate() {
            if let (Some(value), Some(other)) = (own.as_mut(), other)
                && self.uniform(&format!("copied {index}")) < 0.85
            {
                let exactly = self.uniform(&format!("as it is {index}")) < 0.40;
                let change = if exactly { 1.0 } else { 1.0 + 0.02 * self.normal(&format!("changed {index}")) };
                *value = rounded(other * change, 3);
            }
        }
    }

    fn uniform(&self, key: &str) -> f64 {
        let hash = Sha256::digest(format!("{}\u{1f}{key}", self.seed));
        let bits = u64::from_be_bytes(std::array::from_fn(|index| hash[index]));
        ((bits >> 11) as f64 + 0.5) / 9_007_199_254_740_992.0
    }

    fn normal(&self, key: &str) -> f64 {
        quantile::normal(self.uniform(key)).expect("between 0 and 1")
    }
}

fn group(laboratory: usize) -> usize {
    match laboratory {
        0..=13 => 1,
        14..=26 => 2,
        27..=34 => 3,
        _ => 4,
    }
}

fn rounded(value: f64, digits: usize) -> f64 {
    format!("{value:.*e}", digits - 1).parse().expect("a number")
}
