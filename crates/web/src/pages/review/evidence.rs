//! The figures that stand beside findings.

use super::name;
use crate::pages::Frame;
use crate::pages::figures::Drawn;
use crate::reviewed::Reviewed;
use roundel_documents::figure::density::{self, Density};
use roundel_documents::figure::strip::{self, Group, Point, Strip};
use roundel_documents::figure::{NARROW, WIDE};
use roundel_documents::number;
use roundel_domain::measurand::Measurand;
use roundel_domain::package::Reported;
use roundel_domain::review::{Curve, Finding, curve};

/// All results of a laboratory over the centres of all, with those marked that a
/// finding is about.
pub(super) fn strip(
    f: &Frame,
    round: &str,
    reviewed: &Reviewed,
    code: &str,
    findings: &[&Finding],
    small: bool,
) -> Option<Drawn> {
    let look = reviewed.look();
    let mut groups = Vec::new();
    for item in &reviewed.items {
        let rows = reviewed.measurands.iter().filter(|m| m.item == item.id);
        let points: Vec<Point> = rows
            .filter_map(|m| {
                let ratio = look.log_ratio(code, m.position, m.position)?;
                let about = |one: &&&Finding| one.cells.iter().any(|(of, at)| of == code && *at == m.position);
                let elsewhere = findings
                    .iter()
                    .find_map(|one| one.fits.iter().find(|(at, _)| *at == m.position))
                    .and_then(|(at, fits)| look.log_ratio(code, *at, *fits));
                let times = number::significant(10_f64.powf(ratio), 2);
                let tooltip = f.t2("review-strip-point", "name", name(f, reviewed, m), "times", times);
                let href = (!small).then(|| format!("/rounds/{round}/review/{}#lab-{code}", m.position));
                Some(Point { ratio, elsewhere, marked: findings.iter().any(|one| about(&one)), href, tooltip })
            })
            .collect();
        if !points.is_empty() {
            groups.push(Group { name: f.t1("item-name", "item", &item.label), points });
        }
    }
    let figure = |width: u32, id: &str| Strip {
        id: format!("{id}-{code}-{width}"),
        code: code.to_owned(),
        groups: groups.clone(),
        width,
    };
    let id = findings.first().filter(|_| small).map_or("strip", |one| one.kind.word());
    let (wide, narrow) = (figure(WIDE, id), figure(NARROW, id));
    let render = if small { strip::render_small } else { strip::render };
    (!groups.is_empty()).then(|| Drawn {
        wide: render(&wide, &f.w),
        narrow: render(&narrow, &f.w),
        caption: strip::caption(&wide, &f.w),
    })
}

/// Where the results of a measurand crowd.
pub(super) fn density(f: &Frame, reviewed: &Reviewed, m: &Measurand) -> Option<Drawn> {
    let id = reviewed.id(m);
    let (_, outcome) = reviewed.evaluated.measurand(&id)?;
    let (mut counting, mut excluded) = (Vec::new(), Vec::new());
    for entry in reviewed.evaluated.scores(&id) {
        let Some(result) = reviewed.evaluated.result(&entry.participant, &id) else { continue };
        let (Some(value), Reported::Values(_)) = (entry.value, &result.reported) else { continue };
        if result.counts() { counting.push(value) } else { excluded.push(value) }
    }
    let assigned = outcome.assigned_value.as_ref().map(|value| value.value);
    let Curve { bandwidth, points, modes } = curve(&counting, outcome.sigma_pt, assigned)?;
    let figure = |width: u32| Density {
        id: format!("density-{width}"),
        measurand: name(f, reviewed, m),
        unit: m.unit.clone(),
        bandwidth,
        curve: points.clone(),
        modes: modes.clone(),
        ticks: counting.clone(),
        excluded: excluded.clone(),
        assigned,
        width,
    };
    let (wide, narrow) = (figure(WIDE), figure(NARROW));
    Some(Drawn {
        wide: density::render(&wide, &f.w),
        narrow: density::render(&narrow, &f.w),
        caption: density::caption(&wide, &f.w),
    })
}
