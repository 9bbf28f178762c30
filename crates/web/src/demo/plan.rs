//! The plans of the demonstration's rounds: how each measurand is evaluated, and what
//! stands under each heading.

use super::scenario::{Measurand, Scenario};
use roundel_domain::checklist::Heading;
use roundel_domain::plan::PlanForm;

/// The plans of all measurands, by item and analyte: a consensus with the estimator by
/// count, the content by preparation where fewer than eight count, z with sigma_pt in
/// percent; absent analytes are judged as such.
pub(super) fn of_measurands(scenario: &Scenario) -> Vec<(String, String, PlanForm)> {
    let plan = |m: &Measurand| (m.item.to_owned(), m.analyte.to_owned(), of_measurand(m));
    scenario.measurands.iter().map(plan).collect()
}

fn of_measurand(m: &Measurand) -> PlanForm {
    if let Some(limit) = m.absent_below {
        return PlanForm { route: "absent".to_owned(), absent_below: limit.to_owned(), ..PlanForm::default() };
    }
    let mut form = PlanForm {
        route: "by_count".to_owned(),
        sigma_route: "percent".to_owned(),
        sigma: m.sigma_percent.to_owned(),
        ..PlanForm::default()
    };
    // What was believed when the plan was signed.
    if let Some(believed) = m.believed.as_ref().or(m.formulation.as_ref()) {
        form.fallback_route = "formulation".to_owned();
        form.value.clone_from(&believed.value);
        form.standard_uncertainty.clone_from(&believed.standard_uncertainty);
    }
    form
}

/// The text of a heading, as the coordinator of the invented scheme wrote it.
pub(super) fn text(heading: Heading) -> &'static str {
    match heading {
        Heading::Provider => {
            "Quillmere Interlaboratory Office, 1 Weir Lane, Quillmere. Coordinator: Odile Marsh. \
             Items: preparation laboratory of the office. Statistics and review: staff of the office."
        }
        Heading::External => {
            "Not applicable: all steps, from the preparation of the items to the report, are done by the office itself."
        }
        Heading::Criteria => {
            "Laboratories that determine trace organic contaminants in water by their routine method. \
             Several laboratories of one organisation may take part; one of them counts in a consensus."
        }
        Heading::Expected => "About 40 laboratories, most of them official or contract laboratories for water.",
        Heading::Measurands => {
            "24 analytes in three items, dissolved content in ng/L, between 10 and 500 ng/L. \
             Some analytes are absent from some items."
        }
        Heading::Errors => {
            "Units and powers of ten; items exchanged; rows moved when copying; matrix effects without a labelled \
             standard; loss to surfaces; content of the blank."
        }
        Heading::Production => {
            "Natural water is filtered, preserved and spiked by weight from certified solutions. Units are filled in \
             numbered order, stored at 4 °C in the dark and sent cooled. Native content is measured by standard addition."
        }
        Heading::Collusion => {
            "Items B and C are a pair at two near levels that cannot be told apart by their labels. Codes are drawn at \
             random for each round, labels for each unit. Laboratories declare that the results are their own. \
             Assigned values are sealed when the round opens."
        }
        Heading::Timetable => {
            "Invitation a month before dispatch; dispatch on the day the round opens; results within four weeks; \
             report within a month of the deadline. Questions are answered to all."
        }
        Heading::Methods => "Free choice of the routine method; closed questions on it are answered with the results.",
        Heading::Homogeneity => {
            "Ten units of each item in duplicate, in random order, before dispatch; three units again after the \
             deadline. Criterion: 0.3 σ_pt, or the expanded one. Where an item fails, it is decided for each analyte \
             whether its uncertainty is added, it is information only, or it is not scored."
        }
        Heading::Reporting => {
            "One result for each analyte and item with three significant digits, corrected for recovery as in routine \
             work; a content below the limit of quantification as < and the limit; expanded uncertainty with its \
             coverage factor."
        }
        Heading::Statistics => {
            "Assigned values by consensus of participants, with the estimator by count: Algorithm A from 18, Q method \
             with Hampel from 12, median with MADe from 8 with the reviewer's consent; below 8 the content by \
             preparation. Standard deviation for proficiency assessment: 25 % of the assigned value. z scores, z' \
             where the uncertainty of the value is not negligible. Results below a limit are left out of \
             summaries and judged by their limit."
        }
        Heading::Traceability => {
            "Masses and volumes of the preparation, purities of certified solutions, native content by standard \
             addition. The uncertainty of each value is its budget and stands with it."
        }
        Heading::Evaluation => "|z| up to 2 acceptable, above 2 questionable, from 3 unacceptable. No ranking.",
        Heading::Returned => "Scores and figures on the pages of the round, a certificate, and the data package.",
        Heading::Publicity => "Results appear under codes only. Names of participants are not published.",
        Heading::Damage => {
            "A unit that is lost or damaged is replaced from the spare units if it is reported within five days."
        }
    }
}
