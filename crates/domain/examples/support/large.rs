//! A package of any size: log-normal results to three significant digits, a
//! few laboratories far off, consensus by number, every score. The same on
//! every machine.

use roundel_domain::package::{
    AssignedValue, Consensus, Measurand, PackageRound, Reported, ReportedResult, RoundPackage, Score, SigmaBasis,
    SigmaPt,
};
use roundel_stats::quantile;

/// So many laboratories, all with every measurand, two replicates each.
pub(crate) fn package(laboratories: usize, measurands: usize) -> RoundPackage {
    let plans = (0..measurands)
        .map(|number| Measurand {
            id: format!("M{number:03}"),
            item: format!("item {}", number % 5),
            analyte: format!("analyte {number:03}"),
            unit: "ng/L".to_owned(),
            replicates: Some(2),
            assigned_value: Some(AssignedValue::Participants(Consensus::default())),
            sigma_pt: Some(SigmaPt::new(SigmaBasis::Relative { percent: 25.0 })),
            scores: Some(vec![Score::Z, Score::Zeta, Score::Difference, Score::DifferencePercent]),
            ..Measurand::default()
        })
        .collect();
    let results = (0..measurands).flat_map(|plan| (0..laboratories).map(move |own| result(plan, own))).collect();
    RoundPackage {
        round: PackageRound { code: "LARGE".to_owned(), title: "A large round".to_owned(), omitted: None },
        measurands: plans,
        results,
    }
}

fn result(plan: usize, laboratory: usize) -> ReportedResult {
    let level = 20.0 + 7.0 * (plan % 40) as f64;
    let own = 0.15 * normal(plan * 7919 + laboratory * 104_729);
    let far_off = if laboratory % 50 == 7 { 1.2 } else { 0.0 };
    let value = |replicate: usize| {
        let noise = 0.05 * normal(plan * 15_485_863 + laboratory * 2_750_159 + replicate * 32_452_843);
        three_digits(level * (own + far_off + noise).exp())
    };
    let reported = Reported::Values(vec![value(1), value(2)]);
    let mut result = ReportedResult::new(&format!("L{laboratory:04}"), &format!("M{plan:03}"), reported);
    result.expanded_uncertainty = Some(three_digits(0.3 * level));
    result.coverage_factor = Some(2.0);
    result
}

/// Spread evenly over the normal distribution by the golden section.
fn normal(number: usize) -> f64 {
    let share = ((number as f64 + 0.5) * 0.618_033_988_749_894_9).fract();
    quantile::normal(share.clamp(1e-9, 1.0 - 1e-9)).expect("between 0 and 1")
}

fn three_digits(value: f64) -> f64 {
    format!("{value:.2e}").parse().expect("a number")
}
