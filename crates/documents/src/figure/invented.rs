//! Invented data for the gallery and the tests of figures: the same on every
//! machine, and of nobody.

mod review;

pub use review::{days, density, sigma_pt, strip, units};

use super::mandel::{Level, Mandel, MandelPoint, Statistic};
use super::overview::{Cell, Overview, Row, State};
use super::own_scores::{Group, OwnScore, OwnScores};
use super::precision_level::{PrecisionLevel, PrecisionPoint};
use super::results::{Assigned, Reading, ResultPoint, Results};
use super::scores::{ScorePoint, Scores};
use super::trend::{Trend, TrendRound, TrendScore};
use super::youden::{Ellipse, FEWEST_FOR_ELLIPSE, Youden};
use super::zeta_z::{ZetaPoint, ZetaZ};
use super::{Audience, Point};
use crate::mark::{Limits, Mark, Score, ScoreKind};
use crate::number;

/// What the data are like.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Case {
    /// One point.
    One,
    /// Eight laboratories.
    Eight,
    /// Forty.
    Forty,
    /// Four hundred.
    FourHundred,
    /// Twenty, most of whom reported the same number.
    Ties,
    /// Twenty, with results a thousandfold too large and too small.
    Extremes,
    /// Eight, and names longer than there is room for.
    LongNames,
}

impl Case {
    /// All of them, from the smallest.
    pub const ALL: [Case; 7] =
        [Case::One, Case::Eight, Case::Forty, Case::FourHundred, Case::Ties, Case::Extremes, Case::LongNames];

    /// A word for addresses and ids.
    pub fn word(self) -> &'static str {
        match self {
            Case::One => "one",
            Case::Eight => "eight",
            Case::Forty => "forty",
            Case::FourHundred => "four-hundred",
            Case::Ties => "ties",
            Case::Extremes => "extremes",
            Case::LongNames => "long-names",
        }
    }

    fn count(self) -> usize {
        match self {
            Case::One => 1,
            Case::Eight | Case::LongNames => 8,
            Case::Forty => 40,
            Case::FourHundred => 400,
            Case::Ties | Case::Extremes => 20,
        }
    }

    /// The analyte that the data are said to be of.
    pub fn analyte(self) -> &'static str {
        match self {
            Case::LongNames => "1,2-dichloro-4-(2,2,2-trichloro-1-(4-chlorophenyl)ethyl)benzene (sum of isomers)",
            _ => "carbamazepine",
        }
    }

    fn seed(self) -> u64 {
        self.count() as u64 + self.word().len() as u64
    }
}

/// A linear congruential generator with Knuth's constants of MMIX, as remembered;
/// nothing depends on how good it is.
struct Dice(u64);

impl Dice {
    fn new(seed: u64) -> Dice {
        let mut dice = Dice(seed);
        dice.uniform();
        dice
    }

    /// In 0..1.
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Roughly normal, mean 0, standard deviation 1.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }

    fn code(&mut self) -> String {
        const LETTERS: &[u8] = b"ACDEFGHJKLMNPRTUVWXY3479";
        (0..5).map(|_| char::from(LETTERS[(self.uniform() * LETTERS.len() as f64) as usize])).collect()
    }
}

const ASSIGNED: [f64; 2] = [145.0, 62.0];
const SHARE: f64 = 0.2;

fn class(score: f64) -> Mark {
    if score.abs() >= 3.0 {
        Mark::Action
    } else if score.abs() > 2.0 {
        Mark::Warning
    } else {
        Mark::Within
    }
}

/// A laboratory of the invention.
struct Laboratory {
    code: String,
    values: [f64; 2],
    u: f64,
    own: bool,
}

fn laboratories(case: Case) -> Vec<Laboratory> {
    let mut dice = Dice::new(case.seed());
    let count = case.count();
    (0..count)
        .map(|index| {
            let code = dice.code();
            // What both items share, and what each has of its own.
            let common = dice.normal() * 0.8;
            let mut values = [0, 1].map(|side| {
                let relative = 1.0 + SHARE * (common + dice.normal() * 0.6);
                (ASSIGNED[side] * relative.max(0.05) * 10.0).round() / 10.0
            });
            match (case, index) {
                (Case::Ties, 3..) => values = ASSIGNED,
                (Case::Extremes, 0) => values = ASSIGNED.map(|value| value * 1000.0),
                (Case::Extremes, 1) => values = ASSIGNED.map(|value| value / 1000.0),
                (Case::Extremes, 2) => values = [ASSIGNED[1], ASSIGNED[0] * 2.0],
                _ => {}
            }
            let u = values[0] * (0.04 + 0.2 * dice.uniform() * dice.uniform());
            Laboratory { code, values, u, own: index == count / 2 }
        })
        .collect()
}

fn point(one: &Laboratory, at: [f64; 2], written: String, mark: Mark) -> Point {
    let tooltip = format!("{}: {written}, {at:?}", one.code);
    Point { code: one.code.clone(), at, written, mark, own: one.own, href: None, tooltip: Some(tooltip) }
}

/// Pairs; the ellipse by the covariance that the data were made with.
pub fn youden(case: Case, audience: Audience, width: u32) -> Youden {
    let laboratories = laboratories(case);
    let points: Vec<Point> = laboratories
        .iter()
        .map(|one| {
            let scores = [0, 1].map(|side| (one.values[side] / ASSIGNED[side] - 1.0) / SHARE);
            let worst = scores.into_iter().map(class).max().unwrap_or(Mark::Within);
            let written = format!("{}; {}", number::brief(one.values[0]), number::brief(one.values[1]));
            point(one, one.values, written, worst)
        })
        .collect();
    let ellipse = match case {
        Case::Ties => Ellipse::Singular,
        _ if points.len() < FEWEST_FOR_ELLIPSE => Ellipse::TooFew,
        _ => Ellipse::Of {
            location: ASSIGNED,
            scale: ASSIGNED.map(|value| value * SHARE),
            correlation: 0.64,
            squared: 6.4,
        },
    };
    Youden {
        id: format!("youden-{}-{audience:?}-{width}", case.word()),
        analyte: case.analyte().to_owned(),
        items: ["Item A".to_owned(), "Item B".to_owned()],
        unit: "ng/L".to_owned(),
        assigned: ASSIGNED.map(Some),
        points,
        ellipse,
        single: case.count() / 10,
        audience,
        width,
    }
}

/// ζ against z.
pub fn zeta_z(case: Case, audience: Audience, width: u32) -> ZetaZ {
    let sigma = ASSIGNED[0] * SHARE;
    let points = laboratories(case)
        .iter()
        .map(|one| {
            let difference = one.values[0] - ASSIGNED[0];
            let (z, zeta) = (difference / sigma, difference / one.u.hypot(2.0));
            let written = format!("{}; {}", number::signed(z, 1), number::signed(zeta, 1));
            ZetaPoint { point: point(one, [z, zeta], written, class(z)), u_over_sigma: one.u / sigma }
        })
        .collect();
    ZetaZ {
        id: format!("zeta-{}-{audience:?}-{width}", case.word()),
        measurand: format!("{}, item A", case.analyte()),
        symbol: "z".to_owned(),
        limits: Limits::STANDARD,
        points,
        without: case.count() / 8,
        audience,
        width,
    }
}

/// All results of as many laboratories, for the organiser.
pub fn overview(case: Case, width: u32) -> Overview {
    let mut dice = Dice::new(case.seed() + 7);
    let laboratories = laboratories(case);
    let many = if case == Case::Forty { 48 } else { 12 };
    let mut rows: Vec<Row> = Vec::new();
    for place in 0..many {
        let cell = |dice: &mut Dice| {
            let state = match (dice.uniform() * 40.0) as usize {
                0 => State::NotReported,
                1 => State::Below,
                2 => State::NotAnalysed,
                3 => State::Scored(Mark::NotScored),
                4 if place % 6 == 5 => State::NotAsked,
                _ if place == 4 => State::Scored(Mark::InformationOnly),
                _ if case == Case::Ties => State::Scored(Mark::Within),
                _ => State::Scored(class(dice.normal() * 1.3)),
            };
            Cell { state, text: String::new(), href: None, tooltip: Some(format!("{place}: {state:?}")) }
        };
        let cells = laboratories.iter().map(|_| cell(&mut dice)).collect();
        rows.push(Row { name: format!("{}, item {place}", case.analyte()), href: None, cells });
    }
    Overview {
        id: format!("overview-{}-{width}", case.word()),
        title: "All results of an invented round".to_owned(),
        row_name: "Measurand".to_owned(),
        columns: laboratories.into_iter().map(|one| one.code).collect(),
        rows,
        width,
    }
}

/// One laboratory's results, analytes against items, with their scores.
pub fn own_overview(case: Case, width: u32) -> Overview {
    let mut dice = Dice::new(case.seed() + 11);
    let (analytes, items) = match case {
        Case::One => (1, 1),
        Case::Forty => (48, 3),
        Case::FourHundred => (80, 6),
        _ => (8, 3),
    };
    let rows = (0..analytes).map(|place| {
        let cells = (0..items).map(|_| {
            let z = dice.normal() * if case == Case::Extremes { 40.0 } else { 1.4 };
            match (dice.uniform() * 12.0) as usize {
                0 => Cell { state: State::NotReported, text: String::new(), href: None, tooltip: None },
                1 => Cell { state: State::Below, text: "<0.5".to_owned(), href: None, tooltip: None },
                _ => {
                    let text = number::score(z, &[2.0, 3.0]);
                    Cell { state: State::Scored(class(z)), text, href: None, tooltip: None }
                }
            }
        });
        Row { name: format!("{} {}", case.analyte(), place + 1), href: None, cells: cells.collect() }
    });
    Overview {
        rows: rows.collect(),
        id: format!("own-overview-{}-{width}", case.word()),
        title: "Results of one laboratory in an invented round".to_owned(),
        row_name: "Analyte".to_owned(),
        columns: (0..items).map(|item| format!("Item {}", char::from(b'A' + item as u8))).collect(),
        width,
    }
}

/// Mandel's h or k at two levels.
pub fn mandel(case: Case, statistic: Statistic, audience: Audience, width: u32) -> Mandel {
    let mut dice = Dice::new(case.seed() + 3);
    let laboratories = laboratories(case);
    let levels = ["Item A", "Item B"].map(|name| Level {
        name: format!("{} {name}, mean {} ng/L", case.analyte(), ASSIGNED[0]),
        points: laboratories
            .iter()
            .map(|one| {
                let value = match (case, statistic) {
                    (Case::Ties, Statistic::H) => 0.0,
                    (Case::Ties, Statistic::K) => 1.0,
                    (_, Statistic::H) => dice.normal(),
                    (_, Statistic::K) => dice.normal().abs(),
                };
                let tooltip = Some(format!("{}: {value}", one.code));
                MandelPoint { code: one.code.clone(), value: Some(value), own: one.own, href: None, tooltip }
            })
            .collect(),
        critical: (laboratories.len() > 2).then_some(match statistic {
            Statistic::H => [1.8, 2.2],
            Statistic::K => [1.9, 2.3],
        }),
    });
    let symbol = match statistic {
        Statistic::H => "h",
        Statistic::K => "k",
    };
    Mandel {
        id: format!("mandel-{symbol}-{}-{width}", case.word()),
        analyte: case.analyte().to_owned(),
        statistic,
        levels: levels.to_vec(),
        audience,
        width,
    }
}

/// Precision at some levels: as many as there may be, not as laboratories.
pub fn precision_level(case: Case, width: u32) -> PrecisionLevel {
    let mut dice = Dice::new(case.seed() + 5);
    let count = case.count().min(12);
    let levels = (0..count).map(|place| {
        let power = if case == Case::Extremes { 1.2 } else { 0.5 };
        let level = if case == Case::Ties { 40.0 } else { 3.0 * 10_f64.powf(power * place as f64) };
        let scatter = level * 0.3 * (level / 3.0).powf(-0.1);
        PrecisionPoint {
            name: format!("Level {}", place + 1),
            level,
            repeatability: (place != 2).then_some(scatter * (0.25 + 0.15 * dice.uniform())),
            reproducibility: Some(scatter * (0.8 + 0.4 * dice.uniform())),
            planned: Some(scatter),
            href: None,
        }
    });
    PrecisionLevel {
        levels: levels.collect(),
        id: format!("precision-{}-{width}", case.word()),
        analyte: case.analyte().to_owned(),
        unit: "ng/L".to_owned(),
        width,
    }
}

/// Scores over rounds; the moving average as its formula says.
pub fn trend(case: Case, width: u32) -> Trend {
    let mut dice = Dice::new(case.seed() + 9);
    let count = case.count().min(60);
    let mut average = 0.0;
    let mut rounds = Vec::new();
    for place in 0..count {
        let gap = place % 9 == 4;
        let z = match case {
            Case::Ties => 0.5,
            Case::Extremes if place == 6 => 112.0,
            Case::Extremes if place == 7 => -40.0,
            _ => dice.normal() + 0.02 * place as f64,
        };
        if !gap {
            average = 0.3 * z + 0.7 * average;
        }
        let name = if case == Case::LongNames {
            format!("Organic contaminants {}", place + 1)
        } else {
            format!("W-{}", place + 1)
        };
        let score = TrendScore {
            name: "item A".to_owned(),
            score: Score::Value(z),
            kind: ScoreKind::Z,
            mark: class(z),
            look: z.abs() >= 3.0 || average.abs() > 1.26,
            href: None,
            tooltip: Some(format!("{name}: {}", number::signed(z, 2))),
        };
        rounds.push(TrendRound {
            date: format!("20{:02}-{:02}", 20 + place / 4, 3 * (place % 4) + 1),
            scores: if gap { Vec::new() } else { vec![score] },
            ewma: (!gap).then_some(average),
            sigma_changed: place == 3,
            kind_changed: place == 7,
            superseded: place == 2,
            name,
        });
    }
    Trend {
        id: format!("trend-{}-{width}", case.word()),
        name: case.analyte().to_owned(),
        limits: Limits::STANDARD,
        rounds,
        ewma_limit: Some(1.260_252),
        width,
    }
}

/// Sorted results of item A, with the uncertainties.
pub fn results(case: Case, audience: Audience, width: u32) -> Results {
    let (value, sigma) = (ASSIGNED[0], ASSIGNED[0] * SHARE);
    let points = laboratories(case).into_iter().enumerate().map(|(place, one)| {
        let below = place % 13 == 12;
        let x = one.values[0];
        ResultPoint {
            tooltip: Some(format!("{}: {}", one.code, number::plain(x))),
            code: one.code,
            reading: if below {
                Reading::Below(60.0)
            } else {
                Reading::Value { value: x, expanded_uncertainty: (place % 8 != 7).then_some(2.0 * one.u) }
            },
            mark: if below { Mark::Warning } else { class((x - value) / sigma) },
            excluded: place % 17 == 16,
            own: one.own,
            href: None,
        }
    });
    Results {
        points: points.collect(),
        id: format!("results-{}-{audience:?}-{width}", case.word()),
        measurand: format!("{}, item A", case.analyte()),
        unit: "ng/L".to_owned(),
        assigned: Some(Assigned { value, expanded_uncertainty: Some(4.0), route: "by formulation".to_owned() }),
        sigma_pt: Some(sigma),
        limits: Limits::STANDARD,
        robust_mean: None,
        audience,
        width,
    }
}

/// Scores of item A.
pub fn scores(case: Case, audience: Audience, width: u32) -> Scores {
    let sigma = ASSIGNED[0] * SHARE;
    let points = laboratories(case).into_iter().map(|one| {
        let z = (one.values[0] - ASSIGNED[0]) / sigma;
        ScorePoint {
            tooltip: Some(format!("{}: {}", one.code, number::signed(z, 2))),
            code: one.code,
            score: Score::Value(z),
            mark: class(z),
            own: one.own,
            href: None,
        }
    });
    Scores {
        points: points.collect(),
        id: format!("scores-{}-{audience:?}-{width}", case.word()),
        measurand: format!("{}, item A", case.analyte()),
        kind: ScoreKind::Z,
        limits: Limits::STANDARD,
        audience,
        width,
    }
}

/// One laboratory's scores over all measurands.
pub fn own_scores(case: Case, width: u32) -> OwnScores {
    let mut dice = Dice::new(case.seed() + 13);
    let (analytes, items) = match case {
        Case::One => (1, 1),
        Case::Forty => (40, 3),
        Case::FourHundred => (80, 5),
        _ => (8, 3),
    };
    let groups = (0..items).map(|item| Group {
        name: format!("Item {}", char::from(b'A' + item as u8)),
        scores: (0..analytes)
            .map(|place| {
                let z = dice.normal() * if case == Case::Extremes { 40.0 } else { 1.4 };
                OwnScore {
                    analyte: format!("{} {}", case.analyte(), place + 1),
                    score: Score::Value(if case == Case::Ties { 0.5 } else { z }),
                    mark: class(if case == Case::Ties { 0.5 } else { z }),
                    href: None,
                    tooltip: None,
                }
            })
            .collect(),
    });
    OwnScores {
        groups: groups.collect(),
        id: format!("own-scores-{}-{width}", case.word()),
        code: "RXLF7".to_owned(),
        limits: Limits::STANDARD,
        width,
    }
}
