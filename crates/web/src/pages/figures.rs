//! From an evaluation to the inputs of figures and certificates.

use crate::evaluated::Evaluated;
use crate::pages::Frame;
use crate::pages::evaluation::{reported_text, score_text};
use roundel_documents::figure::own_scores::{Group, OwnScore, OwnScores};
use roundel_documents::figure::results::{Assigned, Reading, ResultPoint, Results};
use roundel_documents::figure::scores::{ScorePoint, Scores};
use roundel_documents::figure::{Audience, NARROW, WIDE};
use roundel_documents::{Limits, Mark, Score, ScoreKind};
use roundel_domain::decision::is_withdrawal;
use roundel_domain::evaluation::{self, Basis, Detection, MeasurandEvaluation, NoteCode, ScoreEntry, Signal};
use roundel_domain::package::{self, Measurand, ReportedResult};

/// The fewest laboratories whose results one laboratory may see in a figure:
/// with fewer, they could be told whose they are (D8).
pub const FEWEST_IN_FIGURE: usize = 5;

/// The class of a result as it is drawn.
pub fn mark(signal: Signal) -> Mark {
    match signal {
        Signal::None => Mark::Within,
        Signal::Warning => Mark::Warning,
        Signal::Action => Mark::Action,
        Signal::InformationOnly => Mark::InformationOnly,
        Signal::NotScored => Mark::NotScored,
    }
}

/// The word of a result's class. One that its laboratory withdrew, so that it is not
/// scored, has a word of its own.
pub fn class_word(f: &Frame, signal: Signal, result: Option<&ReportedResult>) -> String {
    let reason = result.filter(|result| !result.is_scored()).and_then(|result| result.exclude.as_deref());
    mark(signal).word_of(reason.is_some_and(is_withdrawal), &f.w)
}

/// Kind of the deciding score, as it is drawn; bounds are read on the scale of z.
pub fn kind(kind: evaluation::ScoreKind) -> ScoreKind {
    match kind {
        evaluation::ScoreKind::Z | evaluation::ScoreKind::Bound => ScoreKind::Z,
        evaluation::ScoreKind::ZPrime => ScoreKind::ZPrime,
        evaluation::ScoreKind::Zeta => ScoreKind::Zeta,
        evaluation::ScoreKind::En => ScoreKind::En,
    }
}

/// The kind of score that a measurand's classes are decided by.
pub fn kind_of(plan: &Measurand, evaluated: &MeasurandEvaluation) -> Option<ScoreKind> {
    let first = plan.scores().iter().find(|score| score.gives_class())?;
    Some(match first {
        package::Score::Z if evaluated.uncertainty_negligible == Some(false) => ScoreKind::ZPrime,
        package::Score::Z => ScoreKind::Z,
        package::Score::ZPrime => ScoreKind::ZPrime,
        package::Score::Zeta => ScoreKind::Zeta,
        _ => ScoreKind::En,
    })
}

/// The limits that a kind of score is read against.
pub fn limits(plan: &Measurand, kind: ScoreKind) -> Limits {
    let planned = plan.limits();
    match kind {
        ScoreKind::En => Limits { warning: None, action: planned.e_n, cap: planned.e_n * 2.0 },
        _ => Limits::new(planned.warning, planned.action),
    }
}

/// The score that is drawn for an entry.
pub fn drawn(evaluated: &Evaluated, entry: &ScoreEntry) -> Score {
    match evaluated.deciding(entry) {
        Some((evaluation::ScoreKind::Bound, bound)) => Score::Below(bound),
        Some((_, value)) => Score::Value(value),
        None => Score::Absent,
    }
}

/// What a result is found to say of detection, where that is worth a word.
pub fn detection_key(detection: Detection) -> Option<&'static str> {
    match detection {
        Detection::Detected | Detection::NotDetected => None,
        Detection::FalseNegative => Some("detection-false-negative"),
        Detection::Correct => Some("detection-correct"),
        Detection::LoqNotMet => Some("detection-loq-not-met"),
        Detection::FalsePositive => Some("detection-false-positive"),
        Detection::Trace => Some("detection-trace"),
    }
}

/// How the assigned value was found, to follow a number.
pub fn basis_words(f: &Frame, basis: Basis) -> String {
    f.t(match basis {
        Basis::Formulation => "basis-formulation",
        Basis::Reference => "basis-reference",
        Basis::Expert => "basis-expert",
        Basis::Participants => "basis-participants",
    })
}

/// How the assigned value of a measurand was found, or why there is none.
pub fn basis_of(f: &Frame, plan: &Measurand, outcome: &MeasurandEvaluation) -> String {
    match &outcome.assigned_value {
        Some(value) => basis_words(f, value.basis),
        None if !plan.is_present() => f.t("route-absent"),
        None => f.t("basis-none"),
    }
}

/// A reason without its full stop, to stand inside a sentence.
pub fn without_stop(reason: &str) -> String {
    reason.trim_end().trim_end_matches('.').to_owned()
}

/// The notes of an evaluation in the words of the catalogue. What a person decided
/// is said as it was decided.
pub fn notes(f: &Frame, outcome: &MeasurandEvaluation) -> Vec<String> {
    let values = note_values(outcome);
    let values: Vec<(&str, &str)> = values.iter().map(|(name, value)| (*name, value.as_str())).collect();
    let words = |note: &evaluation::Note| match note.code {
        NoteCode::Decision => note.message.clone(),
        code => f.w.with(note_key(code), &values),
    };
    outcome.notes.iter().map(words).collect()
}

/// What the sentences of the notes show.
pub fn note_values(outcome: &MeasurandEvaluation) -> [(&'static str, String); 4] {
    let summary = &outcome.summary;
    let p = outcome.assigned_value.as_ref().and_then(|value| value.p).unwrap_or(summary.quantified);
    let units = outcome.homogeneity.as_ref().map_or(0, |check| check.units);
    let all = summary.quantified + summary.censored;
    [("p", p), ("censored", summary.censored), ("all", all), ("units", units)].map(|(n, x)| (n, x.to_string()))
}

/// The key of a note's sentence.
pub fn note_key(code: NoteCode) -> &'static str {
    match code {
        NoteCode::FewParticipants => "evaluation-note-few-participants",
        NoteCode::NoSpread => "evaluation-note-no-spread",
        NoteCode::CensoredNotIdentifiable => "evaluation-note-censored-not-identifiable",
        NoteCode::FallbackUsed => "evaluation-note-fallback-used",
        NoteCode::NoConsensus => "evaluation-note-no-consensus",
        NoteCode::CensoredShare => "evaluation-note-censored-share",
        NoteCode::SameRoundSigma => "evaluation-note-same-round-sigma",
        NoteCode::UncertaintyNotNegligible => "evaluation-note-uncertainty-not-negligible",
        NoteCode::UncertaintyTooLarge => "evaluation-note-uncertainty-too-large",
        NoteCode::EnNeedsIndependentValue => "evaluation-note-en-needs-independent-value",
        NoteCode::FewUnits => "evaluation-note-few-units",
        NoteCode::InsufficientHomogeneity => "evaluation-note-insufficient-homogeneity",
        NoteCode::InsufficientStability => "evaluation-note-insufficient-stability",
        NoteCode::Decision => "evaluation-note-decision",
    }
}

/// The robust mean of the results that count, where there are enough for one (D8).
pub fn robust_mean(outcome: &MeasurandEvaluation) -> Option<f64> {
    const FEWEST: usize = 8;
    outcome.summary.algorithm_a_mean.filter(|_| outcome.summary.quantified >= FEWEST)
}

/// Who looks, and at which of two widths.
#[derive(Clone, Copy, Debug)]
pub struct View<'a> {
    /// The reader's own code; none for the organiser.
    pub own: Option<&'a str>,
    /// Where a point of the organiser's copy leads, before its code.
    pub link: Option<&'a str>,
}

impl View<'_> {
    fn audience(self) -> Audience {
        if self.own.is_some() { Audience::Laboratory } else { Audience::Organiser }
    }
}

/// The name of a measurand as it is shown: "carbamazepine, item B".
pub fn measurand_name(f: &Frame, plan: &Measurand) -> String {
    f.t2("measurand-name", "analyte", &plan.analyte, "item", &plan.item)
}

fn tooltip(f: &Frame, evaluated: &Evaluated, entry: &ScoreEntry, unit: &str) -> String {
    let reported = reported_text(entry);
    let class = mark(entry.signal).word(&f.w);
    match evaluated.deciding(entry) {
        None => format!("{}: {reported} {unit}, {class}", entry.participant),
        Some((decided, _)) => {
            let (symbol, score) = (kind(decided).symbol(), score_text(evaluated, entry));
            format!("{}: {reported} {unit}, {symbol} {score}, {class}", entry.participant)
        }
    }
}

/// The figure of all results of a measurand.
pub fn results(f: &Frame, evaluated: &Evaluated, id: &str, view: View<'_>, width: u32) -> Option<Results> {
    let (plan, outcome) = evaluated.measurand(id)?;
    let points = evaluated
        .scores(id)
        .filter_map(|entry| {
            let result = evaluated.result(&entry.participant, id)?;
            let reading = match (entry.value, entry.below) {
                (Some(value), _) => Reading::Value { value, expanded_uncertainty: result.expanded_uncertainty },
                (None, Some(limit)) => Reading::Below(limit),
                (None, None) => return None,
            };
            Some(ResultPoint {
                code: entry.participant.clone(),
                reading,
                mark: mark(entry.signal),
                excluded: result.exclude.is_some(),
                own: view.own == Some(entry.participant.as_str()),
                href: view.link.map(|link| format!("{link}{}", entry.participant)),
                tooltip: Some(tooltip(f, evaluated, entry, &plan.unit)),
            })
        })
        .collect();
    Some(Results {
        id: format!("results-{width}"),
        measurand: measurand_name(f, plan),
        unit: plan.unit.clone(),
        assigned: outcome.assigned_value.as_ref().map(|value| Assigned {
            value: value.value,
            expanded_uncertainty: Some(2.0 * value.standard_uncertainty),
            route: basis_words(f, value.basis),
        }),
        sigma_pt: outcome.sigma_pt,
        limits: limits(plan, ScoreKind::Z),
        robust_mean: robust_mean(outcome),
        points,
        audience: view.audience(),
        width,
    })
}

/// The figure of all scores of a measurand.
pub fn scores(f: &Frame, evaluated: &Evaluated, id: &str, view: View<'_>, width: u32, prefix: &str) -> Option<Scores> {
    let (plan, outcome) = evaluated.measurand(id)?;
    let kind = kind_of(plan, outcome)?;
    let points = evaluated
        .scores(id)
        .map(|entry| ScorePoint {
            code: entry.participant.clone(),
            score: drawn(evaluated, entry),
            mark: mark(entry.signal),
            own: view.own == Some(entry.participant.as_str()),
            href: view.link.map(|link| format!("{link}{}", entry.participant)),
            tooltip: Some(tooltip(f, evaluated, entry, &plan.unit)),
        })
        .collect();
    Some(Scores {
        id: format!("{prefix}-{width}"),
        measurand: measurand_name(f, plan),
        kind,
        limits: limits(plan, kind),
        points,
        audience: view.audience(),
        width,
    })
}

/// The figure of one laboratory's scores over all measurands that are read
/// against the limits of z.
pub fn own_scores(
    f: &Frame,
    evaluated: &Evaluated,
    code: &str,
    link: impl Fn(&str) -> Option<String>,
    width: u32,
) -> OwnScores {
    let mut groups: Vec<Group> = Vec::new();
    for plan in &evaluated.package.measurands {
        let Some(entry) = evaluated.score(code, &plan.id).filter(|_| evaluated.may_be_shared(&plan.id)) else {
            continue;
        };
        let name = f.t1("item-name", "item", &plan.item);
        let score = OwnScore {
            analyte: plan.analyte.clone(),
            score: drawn(evaluated, entry),
            mark: mark(entry.signal),
            href: link(&plan.id),
            tooltip: Some(tooltip(f, evaluated, entry, &plan.unit)),
        };
        match groups.iter_mut().find(|group| group.name == name) {
            Some(group) => group.scores.push(score),
            None => groups.push(Group { name, scores: vec![score] }),
        }
    }
    OwnScores { id: format!("own-{width}"), code: code.to_owned(), limits: Limits::STANDARD, groups, width }
}

/// A figure at the two widths of a page, with its caption.
#[derive(Clone, Debug)]
pub struct Drawn {
    /// For a page with room.
    pub wide: String,
    /// For a narrow screen.
    pub narrow: String,
    /// One sentence.
    pub caption: String,
}

/// The results of a measurand, drawn.
pub fn draw_results(f: &Frame, evaluated: &Evaluated, id: &str, view: View<'_>) -> Option<Drawn> {
    use roundel_documents::figure::results::{caption, render};
    let wide = results(f, evaluated, id, view, WIDE)?;
    let narrow = results(f, evaluated, id, view, NARROW)?;
    Some(Drawn { wide: render(&wide, &f.w), narrow: render(&narrow, &f.w), caption: caption(&wide, &f.w) })
}

/// The scores of a measurand, drawn.
pub fn draw_scores(f: &Frame, evaluated: &Evaluated, id: &str, view: View<'_>) -> Option<Drawn> {
    use roundel_documents::figure::scores::{caption, render};
    let wide = scores(f, evaluated, id, view, WIDE, "scores")?;
    let narrow = scores(f, evaluated, id, view, NARROW, "scores")?;
    Some(Drawn { wide: render(&wide, &f.w), narrow: render(&narrow, &f.w), caption: caption(&wide, &f.w) })
}
