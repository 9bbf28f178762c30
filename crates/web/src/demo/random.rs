//! Random numbers by key. There is no stream: a number depends on nothing but its
//! key, so that an analyte or a laboratory more changes no other number, and
//! every machine gets the same ones.

use sha2::{Digest, Sha256};

/// The seed of the whole scenario.
pub(super) const SEED: &str = "quillmere-demo-v1";

/// Between the parts of a key: the unit separator of ASCII.
const SEPARATOR: u8 = 0x1F;

/// A number of the uniform distribution on (0, 1), never 0 or 1: the upper 53 of
/// the first 64 bits (big-endian) of SHA-256 over seed and parts, plus a half,
/// divided by 2^53.
pub(super) fn uniform(key: &[&str]) -> f64 {
    let bits = u64::from_be_bytes(first(&hash(key)));
    ((bits >> 11) as f64 + 0.5) / 9_007_199_254_740_992.0
}

/// A number of the standard normal distribution: the quantile of [`uniform`].
pub(super) fn normal(key: &[&str]) -> f64 {
    normal_quantile(uniform(key))
}

/// Sixteen random bytes.
pub(super) fn bytes(key: &[&str]) -> [u8; 16] {
    first(&hash(key))
}

fn hash(key: &[&str]) -> [u8; 32] {
    let mut hash = Sha256::new();
    hash.update(seed());
    for part in key {
        hash.update([SEPARATOR]);
        hash.update(part);
    }
    hash.finalize().into()
}

#[cfg(not(test))]
fn seed() -> &'static str {
    SEED
}

#[cfg(test)]
thread_local! {
    /// The seed of this thread, for looking at other rounds of the same scenario.
    static CHOSEN: std::cell::Cell<&'static str> = const { std::cell::Cell::new(SEED) };
}

#[cfg(test)]
fn seed() -> &'static str {
    CHOSEN.get()
}

/// What `make` gives with another seed.
#[cfg(test)]
pub(super) fn with_seed<T>(seed: &'static str, make: impl FnOnce() -> T) -> T {
    let before = CHOSEN.replace(seed);
    let made = make();
    CHOSEN.set(before);
    made
}

fn first<const N: usize>(hash: &[u8; 32]) -> [u8; N] {
    std::array::from_fn(|index| hash[index])
}

/// The quantile of the standard normal distribution at `p`, 0 < p < 1, good to
/// about 1e-16 relative: PPND16 of algorithm AS 241 (M. J. Wichura, Applied
/// Statistics 37, 1988, 477–484; coefficients from memory, checked in the tests
/// against values that were computed otherwise).
fn normal_quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180625 - q * q;
        return q * ratio(r, &CENTRE);
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    let r = (-tail.ln()).sqrt();
    let size = if r <= 5.0 { ratio(r - 1.6, &MIDDLE) } else { ratio(r - 5.0, &TAIL) };
    if q < 0.0 { -size } else { size }
}

/// Coefficients of numerator and denominator, from the constant term up.
type Rational = [[f64; 8]; 2];

fn ratio(r: f64, [above, below]: &Rational) -> f64 {
    let polynomial = |coefficients: &[f64; 8]| coefficients.iter().rev().fold(0.0, |sum, c| sum * r + c);
    polynomial(above) / polynomial(below)
}

/// |p − 0.5| ≤ 0.425.
#[expect(clippy::excessive_precision, reason = "as published")]
const CENTRE: Rational = [
    [
        3.387_132_872_796_366_608,
        1.331_416_678_917_843_774_5e2,
        1.971_590_950_306_551_442_7e3,
        1.373_169_376_550_946_112_5e4,
        4.592_195_393_154_987_145_7e4,
        6.726_577_092_700_870_085_3e4,
        3.343_057_558_358_812_810_5e4,
        2.509_080_928_730_122_672_7e3,
    ],
    [
        1.0,
        4.231_333_070_160_091_125_2e1,
        6.871_870_074_920_579_083e2,
        5.394_196_021_424_751_107_7e3,
        2.121_379_430_158_659_586_7e4,
        3.930_789_580_009_271_061e4,
        2.872_908_573_572_194_267_4e4,
        5.226_495_278_852_854_561e3,
    ],
];

/// √(−ln tail) ≤ 5.
#[expect(clippy::excessive_precision, reason = "as published")]
const MIDDLE: Rational = [
    [
        1.423_437_110_749_683_577_34,
        4.630_337_846_156_545_295_9,
        5.769_497_221_460_691_405_5,
        3.647_848_324_763_204_605_04,
        1.270_458_252_452_368_382_58,
        2.417_807_251_774_506_117_7e-1,
        2.272_384_498_926_918_458_33e-2,
        7.745_450_142_783_414_076_4e-4,
    ],
    [
        1.0,
        2.053_191_626_637_758_821_87,
        1.676_384_830_183_803_849_4,
        6.897_673_349_851_000_045_5e-1,
        1.481_039_764_274_800_745_9e-1,
        1.519_866_656_361_645_719_66e-2,
        5.475_938_084_995_344_946e-4,
        1.050_750_071_644_416_843_24e-9,
    ],
];

/// Beyond.
#[expect(clippy::excessive_precision, reason = "as published")]
const TAIL: Rational = [
    [
        6.657_904_643_501_103_777_2,
        5.463_784_911_164_114_369_9,
        1.784_826_539_917_291_335_8,
        2.965_605_718_285_048_912_3e-1,
        2.653_218_952_657_612_309_3e-2,
        1.242_660_947_388_078_438_6e-3,
        2.711_555_568_743_487_578_15e-5,
        2.010_334_399_292_288_132_65e-7,
    ],
    [
        1.0,
        5.998_322_065_558_879_376_9e-1,
        1.369_298_809_227_358_053_1e-1,
        1.487_536_129_085_061_485_25e-2,
        7.868_691_311_456_132_591e-4,
        1.846_318_317_510_054_681_8e-5,
        1.421_511_758_316_445_888_7e-7,
        2.044_263_103_389_939_785_64e-15,
    ],
];

#[cfg(test)]
mod tests {
    use super::*;

    /// Computed with Python's hashlib by the rule in the documentation above.
    #[test]
    fn uniform_numbers_follow_the_written_rule() {
        assert_eq!(uniform(&["scope", "P01", "carbamazepine"]), 0.7715207384955356);
        assert_eq!(uniform(&["lambda", "QW-1", "P40"]), 0.8761387411547776);
        assert_eq!(uniform(&["x"]), 0.8174246089416206);
        assert_ne!(uniform(&["ab", "c"]), uniform(&["a", "bc"]));
    }

    /// √2·erfinv(2p − 1) by mpmath 1.3 with 40 digits; all three ranges.
    #[test]
    #[expect(clippy::excessive_precision, reason = "as computed")]
    fn quantiles_are_those_of_the_normal_distribution() {
        let reference = [
            (1e-20, -9.2623400897984075737),
            (1e-10, -6.3613409024040562047),
            (0.001, -3.0902323061678135415),
            (0.024, -1.9773684281819467121),
            (0.075, -1.4395314709384559153),
            (0.1, -1.281551565544600467),
            (0.25, -0.6744897501960817432),
            (0.4, -0.2533471031357997988),
            (0.575, 0.18911842627279249011),
            (0.75, 0.6744897501960817432),
            (0.9, 1.281551565544600467),
            (0.975, 1.9599639845400542355),
            (0.999, 3.0902323061678135415),
        ];
        for (p, expected) in reference {
            let found = normal_quantile(p);
            assert!((found - expected).abs() <= 4e-15 * f64::abs(expected), "{p}: {found}");
        }
        assert_eq!(normal_quantile(0.5), 0.0);
    }

    /// Mean, variance and a count in the tails of 20,000 numbers lie within four
    /// standard errors of the standard normal distribution.
    #[test]
    fn normal_numbers_spread_as_they_should() {
        let numbers: Vec<f64> = (0..20_000).map(|n| normal(&["check", &n.to_string()])).collect();
        let count = numbers.len() as f64;

        let mean = numbers.iter().sum::<f64>() / count;
        let variance = numbers.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (count - 1.0);
        let beyond_two = numbers.iter().filter(|x| x.abs() > 1.959_964).count() as f64 / count;

        assert!(mean.abs() < 4.0 / count.sqrt(), "{mean}");
        assert!((variance - 1.0).abs() < 4.0 * (2.0 / count).sqrt(), "{variance}");
        assert!((beyond_two - 0.05).abs() < 4.0 * (0.05 * 0.95 / count).sqrt(), "{beyond_two}");
    }
}
