//! Patterns over all that one laboratory sent, for information: analytes that lean
//! in every item, scores that only the reported uncertainty makes doubtful, and one
//! uncertainty for everything.

use super::{Cell, Finding, Kind, Look, Set, Shown};
use crate::result::{Entry, Reported, UncertaintyForm};
use crate::screening::Place;
use roundel_stats::{Sample, summary};
use std::collections::HashMap;

/// An analyte leans where every item has it to the same side by this much, in
/// units of σ_pt, ...
const EVERY: f64 = 0.75;
/// ... and their mean by this much (a choice of ours: a third of the value
/// at the usual σ_pt of 25 %).
const MEAN: f64 = 1.2;
const FEWEST_ITEMS: usize = 2;
/// Fewer analytes of a laboratory than this lean by chance.
const FEWEST_ANALYTES: usize = 4;
/// The limit below which a score is no signal (ISO 13528:2022, 9.4).
const WARNING: f64 = 2.0;
/// Under uncertainties that are right, one ζ in twenty is beyond 2; a laboratory is
/// told of from one in four.
const DOUBTED: f64 = 0.25;
const FEWEST_DOUBTED: usize = 5;
/// One uncertainty for values that span this factor is worth a look.
const SPAN: f64 = 4.0;
const MOSTLY_EQUAL: f64 = 0.6;
const FEWEST_EQUAL: usize = 10;

/// Analytes of one laboratory that are low, or high, in every item, while its other
/// results are in order (F85): what they have in common may explain it.
pub(super) fn analytes_aside(look: &Look<'_>, one: usize, code: &str) -> Vec<Finding> {
    let mut scores: HashMap<usize, Vec<(Place, f64)>> = HashMap::new();
    for place in look.places.values() {
        if let Some(z) = look.grid.z(one, *place) {
            scores.entry(place.analyte).or_default().push((*place, z));
        }
    }
    let side = |sign: f64| {
        let leans = |own: &[(Place, f64)]| {
            let mean = own.iter().map(|(_, z)| z * sign).sum::<f64>() / own.len() as f64;
            own.len() >= FEWEST_ITEMS && mean >= MEAN && own.iter().all(|(_, z)| z * sign >= EVERY)
        };
        let mut leaning: Vec<usize> =
            scores.iter().filter(|(_, own)| leans(own)).map(|(analyte, _)| *analyte).collect();
        leaning.sort_unstable();
        let rest = scores.iter().filter(|(analyte, _)| !leaning.contains(analyte));
        let rest = Sample::new(rest.flat_map(|(_, own)| own.iter().map(|(_, z)| *z)).collect::<Vec<f64>>()).ok()?;
        // Where the rest leans as far, the laboratory as a whole does.
        let other = summary::median(&rest);
        if leaning.len() < FEWEST_ANALYTES || other * sign >= EVERY {
            return None;
        }
        let places: Vec<Place> = leaning.iter().flat_map(|analyte| &scores[analyte]).map(|(place, _)| *place).collect();
        let logs = places.iter().filter_map(|place| Some(look.grid.value(one, *place)? / look.centres.at(*place)?));
        let ratio = summary::median(&Sample::new(logs.collect::<Vec<f64>>()).ok()?);
        let names: Vec<&str> = leaning.iter().map(|analyte| look.analyte(*analyte)).collect();
        let cells = places.iter().filter_map(|place| Some((code.to_owned(), look.position(*place)?))).collect();
        let word = if sign < 0.0 { "low" } else { "high" };
        let finding = Finding::new(Kind::AnalyteBias, &format!("{code}:{word}")).at(cells);
        let finding = finding.text("code", code).text("side", word).text("analytes", names.join(", "));
        Some(finding.with("ratio", Shown::Number(ratio, 2)).with("others", Shown::Signed(other, 2)))
    };
    [-1.0, 1.0].into_iter().filter_map(side).collect()
}

/// Results whose z is good and whose ζ is not: the uncertainties that the laboratory
/// reports are probably too small for what it finds (D18, F76).
pub(super) fn doubted(look: &Look<'_>, code: &str) -> Option<Finding> {
    let mut all = 0;
    let mut cells: Vec<Cell> = Vec::new();
    for one in look.evaluated() {
        let own = look.scored(&one.plan.id).find(|(result, _)| result.participant == code);
        let Some((z, zeta)) = own.and_then(|(_, score)| score.z.zip(score.zeta)) else { continue };
        if z.abs() <= WARNING {
            all += 1;
            if zeta.abs() > WARNING {
                cells.push((code.to_owned(), one.measurand.position));
            }
        }
    }
    let count = cells.len();
    (count >= FEWEST_DOUBTED && count as f64 >= DOUBTED * all as f64).then(|| {
        let finding = Finding::new(Kind::ZetaBeyond, code).at(cells).text("code", code);
        finding.with("count", Shown::Count(count)).with("of", Shown::Count(all))
    })
}

/// The same absolute uncertainty beside results that differ several-fold: it may be
/// a percentage that was typed as a number.
pub(super) fn one_for_all(set: &Set) -> Option<Finding> {
    let mut by_text: HashMap<&str, Vec<(&Entry, f64)>> = HashMap::new();
    let mut all = 0;
    for entry in &set.entries {
        if let (Some(x), Reported::Value { uncertainty: Some(u), .. }) = (entry.value(), &entry.reported) {
            all += 1;
            if u.form == UncertaintyForm::Absolute {
                by_text.entry(u.expanded.typed.as_str()).or_default().push((entry, x));
            }
        }
    }
    let (text, same) = by_text.into_iter().max_by(|a, b| a.1.len().cmp(&b.1.len()).then_with(|| b.0.cmp(a.0)))?;
    let lowest = same.iter().map(|(_, x)| *x).fold(f64::INFINITY, f64::min);
    let highest = same.iter().map(|(_, x)| *x).fold(0.0, f64::max);
    let enough = same.len() >= FEWEST_EQUAL && same.len() as f64 >= MOSTLY_EQUAL * f64::from(all);
    (enough && highest >= SPAN * lowest).then(|| {
        let cells = same.iter().map(|(entry, _)| (set.code.clone(), entry.position)).collect();
        let finding = Finding::new(Kind::OneUncertainty, &set.code).at(cells).text("code", &set.code);
        finding
            .text("typed", text)
            .with("count", Shown::Count(same.len()))
            .with("lowest", Shown::Number(lowest, 2))
            .with("highest", Shown::Number(highest, 2))
    })
}
