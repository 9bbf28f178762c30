//! Results that are off by the ratio of two molar masses: a salt reported in
//! place of its acid, a metabolite as its parent.

use roundel_stats::{Sample, summary};

use super::{Centres, Grid, Place};

/// A ratio nearer to one than this cannot be told from ordinary errors.
const NEAREST_TO_ONE: f64 = 1.25;
/// Every item may miss the ratio by this ratio.
const NEAR: f64 = 1.25;
const FAR: f64 = 3.0;

/// By how much results of an analyte are off when another form of it is
/// meant. The scheme gives these: no substance is known here.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KnownRatio {
    /// The analyte.
    pub analyte: usize,
    /// Result in the other form over result in the form that the plan defines.
    pub ratio: f64,
}

impl KnownRatio {
    /// Of the molar mass of the other form, such as a salt, to that of the
    /// form that the plan defines, in the same unit.
    ///
    /// ```
    /// use roundel_domain::screening::KnownRatio;
    ///
    /// // A base of 300 g/mol and its hydrochloride, 36.46 g/mol more: too near
    /// // to one to be looked for.
    /// assert_eq!(KnownRatio::of_molar_masses(0, 336.46, 300.0), None);
    /// let dimer = KnownRatio::of_molar_masses(0, 600.0, 300.0);
    /// assert_eq!(dimer.map(|known| known.ratio), Some(2.0));
    /// ```
    ///
    /// `None` for a mass that is not above zero, and where the ratio is within
    /// 25 % of one.
    #[must_use]
    pub fn of_molar_masses(analyte: usize, other: f64, defined: f64) -> Option<Self> {
        let ratio = other / defined;
        let known = Self { analyte, ratio };
        (other > 0.0 && defined > 0.0 && ratio.is_finite() && known.can_be_told()).then_some(known)
    }

    fn can_be_told(&self) -> bool {
        self.ratio > 0.0 && self.ratio.ln().abs() > NEAREST_TO_ONE.ln()
    }
}

/// All results of a laboratory for an analyte are near a known ratio, or its
/// inverse: "another form of the analyte is possible". Chance makes it too.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BasisRatio {
    /// The analyte.
    pub analyte: usize,
    /// The known ratio, or one over it where the results are too low.
    pub ratio: f64,
    /// Median of the results over what they are compared with.
    pub observed: f64,
    /// The number of items compared.
    pub items: usize,
}

/// What ratios tell about the results of one laboratory.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BasisRatios {
    /// The analytes that are near one of theirs.
    pub analytes: Vec<BasisRatio>,
    /// Whether these are all of the laboratory's analytes with a known ratio,
    /// two or more: then the whole set is possibly in the other form.
    pub is_whole_set: bool,
}

/// Compares results with the assigned values, or the centres where there are
/// none. Of an analyte all results of a laboratory must miss the ratio by no
/// more than 1.25, in two items or more; a single result counts where
/// |z| ≥ 3. (In rounds like the demonstration's, three items and a spread of
/// 15 to 25 %, two of three salts of ratio 1.71 are found, and of honest sets
/// of results one in forty is flagged.) Where [`whole_set_factor`] finds a power of
/// ten there is nothing to look for.
///
/// [`whole_set_factor`]: super::whole_set_factor
///
/// ```
/// use roundel_domain::screening::{Grid, KnownRatio, Place, basis_ratios};
///
/// // Eight laboratories, two items, one analyte; the last one reports a salt
/// // of 1.7 times the molar mass.
/// let mut grid = Grid::new(8, 2, 1);
/// for one in 0..8 {
///     for item in 0..2 {
///         let form = if one == 7 { 1.7 } else { 1.0 };
///         grid.set(one, Place { item, analyte: 0 }, form * (100.0 + one as f64));
///     }
/// }
/// let known = [KnownRatio { analyte: 0, ratio: 1.7 }];
/// let found = basis_ratios(&grid, &grid.centres(), 7, &known);
/// assert_eq!(found.analytes[0].ratio, 1.7);
/// assert!(basis_ratios(&grid, &grid.centres(), 0, &known).analytes.is_empty());
/// ```
#[must_use]
pub fn basis_ratios(grid: &Grid, centres: &Centres, laboratory: usize, known: &[KnownRatio]) -> BasisRatios {
    let mut found = BasisRatios::default();
    let mut reported = Vec::new();
    for known in known.iter().filter(|known| known.can_be_told()) {
        let Some(observed) = observed(grid, centres, laboratory, known.analyte) else {
            continue;
        };
        reported.push(known.analyte);
        let near = [known.ratio, 1.0 / known.ratio].into_iter().find(|ratio| observed.is_near(*ratio));
        if let Some(ratio) = near {
            let (items, median) = (observed.ratios.len(), summary::median(&observed.ratios));
            found.analytes.push(BasisRatio { analyte: known.analyte, ratio, observed: median, items });
        }
    }
    reported.sort_unstable();
    reported.dedup();
    let mut near: Vec<usize> = found.analytes.iter().map(|one| one.analyte).collect();
    near.sort_unstable();
    near.dedup();
    found.is_whole_set = near.len() > 1 && near == reported;
    found
}

/// The results of one analyte over what they are compared with.
struct Observed {
    ratios: Sample,
    /// Whether a single result is far enough off to be looked at.
    far: bool,
}

fn observed(grid: &Grid, centres: &Centres, laboratory: usize, analyte: usize) -> Option<Observed> {
    let places = (0..grid.items).map(|item| Place { item, analyte });
    let compared = |place: Place| grid.target(place).map(|target| target.value).or_else(|| centres.at(place));
    let ratios = places.clone().filter_map(|place| Some(grid.value(laboratory, place)? / compared(place)?));
    let far = places.filter_map(|place| grid.z(laboratory, place)).any(|z| z.abs() >= FAR);
    Some(Observed { ratios: Sample::new(ratios).ok()?, far })
}

impl Observed {
    fn is_near(&self, ratio: f64) -> bool {
        let enough = self.ratios.len() > 1 || self.far;
        enough && self.ratios.values().iter().all(|observed| (observed / ratio).ln().abs() <= NEAR.ln())
    }
}
