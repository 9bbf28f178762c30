//! What people decide about a measurand as a whole: on its homogeneity, its
//! stability, the shape of its results, a consensus of few. A decision has a
//! topic; the newest of each topic counts, and together they make the layer that
//! an evaluation lays over the plan.

use crate::number::Decimal;
use crate::package;
use serde::{Deserialize, Serialize};

/// What a decision on a measurand is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Topic {
    /// What the units differ.
    Homogeneity,
    /// What the content changed.
    Stability,
    /// Several modes, skewness, a spread too wide.
    Shape,
    /// A consensus of few.
    Consent,
    /// Anything else, with its reason.
    Other,
}

impl Topic {
    /// All, in the order in which they are shown.
    pub const ALL: [Topic; 5] = [Topic::Homogeneity, Topic::Stability, Topic::Shape, Topic::Consent, Topic::Other];

    /// The word that is stored and posted.
    pub fn word(self) -> &'static str {
        match self {
            Topic::Homogeneity => "homogeneity",
            Topic::Stability => "stability",
            Topic::Shape => "shape",
            Topic::Consent => "consent",
            Topic::Other => "other",
        }
    }

    /// The topic of this word.
    pub fn of(word: &str) -> Option<Topic> {
        Topic::ALL.into_iter().find(|topic| topic.word() == word)
    }

    /// What can be decided on it, in the order in which it is offered.
    pub fn kinds(self) -> &'static [Kind] {
        match self {
            Topic::Homogeneity | Topic::Stability => {
                &[Kind::AsPlanned, Kind::AddUncertainty, Kind::AddSd, Kind::InformationOnly, Kind::NotScored]
            }
            Topic::Shape | Topic::Other => &[Kind::AsPlanned, Kind::InformationOnly, Kind::NotScored],
            Topic::Consent => &[Kind::Consent, Kind::AsPlanned],
        }
    }
}

/// What is decided.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// As the plan has it.
    AsPlanned,
    /// A standard uncertainty is added to u(x_pt), in quadrature.
    AddUncertainty,
    /// A standard deviation is added to sigma_pt, in quadrature.
    AddSd,
    /// Scores without a class.
    InformationOnly,
    /// No scores.
    NotScored,
    /// A reviewer agrees to a consensus of few.
    Consent,
}

impl Kind {
    /// The word that is stored and posted.
    pub fn word(self) -> &'static str {
        match self {
            Kind::AsPlanned => "as_planned",
            Kind::AddUncertainty => "add_uncertainty",
            Kind::AddSd => "add_sd",
            Kind::InformationOnly => "information_only",
            Kind::NotScored => "not_scored",
            Kind::Consent => "consent",
        }
    }

    /// The kind of this word.
    pub fn of(word: &str) -> Option<Kind> {
        let all = Topic::ALL.into_iter().flat_map(Topic::kinds);
        all.copied().find(|kind| kind.word() == word)
    }

    /// Whether it needs a number, in the unit of the measurand.
    pub fn needs_number(self) -> bool {
        matches!(self, Kind::AddUncertainty | Kind::AddSd)
    }
}

/// A decision on a measurand that counts.
#[derive(Clone, Debug, PartialEq)]
pub struct Judgement {
    /// What it is about.
    pub topic: Topic,
    /// What was decided.
    pub kind: Kind,
    /// The standard uncertainty or deviation, where it needs one.
    pub number: Option<Decimal>,
    /// Why.
    pub reason: String,
}

/// What an evaluation lays over the plan of a measurand.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MeasurandLayer {
    /// A reviewer's reason for a consensus of few.
    pub consent: Option<String>,
    /// Information only, or not scored.
    pub decision: Option<package::Decision>,
    /// Added to u(x_pt) in quadrature, in the unit of the measurand.
    pub additional_uncertainty: Option<f64>,
    /// Added to sigma_pt in quadrature, in the unit of the measurand.
    pub additional_sd: Option<f64>,
    /// Duplicates of the homogeneity test, in filling order.
    pub homogeneity: Option<Vec<[f64; 2]>>,
    /// Values of the stability test.
    pub stability: Option<package::Stability>,
}

/// The layer of the judgements that count, one of each topic. Not scored goes
/// before information only; numbers are added in quadrature; reasons of the
/// same weight are joined in the order of the topics.
pub fn layer(judgements: &[Judgement]) -> MeasurandLayer {
    let mut judgements: Vec<&Judgement> = judgements.iter().collect();
    judgements.sort_by_key(|judgement| judgement.topic);
    let of = |kind: Kind| judgements.iter().filter(move |judgement| judgement.kind == kind);
    let reasons = |kind: Kind| {
        let texts: Vec<&str> = of(kind).map(|judgement| judgement.reason.as_str()).collect();
        (!texts.is_empty()).then(|| texts.join(" "))
    };
    let in_quadrature = |kind: Kind| {
        let squares: f64 = of(kind).filter_map(|j| j.number.as_ref()).map(|x| x.value() * x.value()).sum();
        (squares > 0.0).then(|| squares.sqrt())
    };
    let decision = [
        (Kind::NotScored, package::DecidedSignal::NotScored),
        (Kind::InformationOnly, package::DecidedSignal::InformationOnly),
    ]
    .into_iter()
    .find_map(|(kind, signal)| Some(package::Decision { signal, reason: reasons(kind)? }));
    MeasurandLayer {
        consent: reasons(Kind::Consent),
        decision,
        additional_uncertainty: in_quadrature(Kind::AddUncertainty),
        additional_sd: in_quadrature(Kind::AddSd),
        homogeneity: None,
        stability: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::number::Range;

    fn judged(topic: Topic, kind: Kind, number: Option<&str>, reason: &str) -> Judgement {
        let number = number.map(|text| Decimal::parse(text, Range::Positive).expect("a number"));
        Judgement { topic, kind, number, reason: reason.to_owned() }
    }

    #[test]
    fn judgements_of_several_topics_make_one_layer() {
        let layer = layer(&[
            judged(Topic::Shape, Kind::InformationOnly, None, "Two modes."),
            judged(Topic::Stability, Kind::AddUncertainty, Some("4"), "Loss."),
            judged(Topic::Homogeneity, Kind::AddUncertainty, Some("3"), "Units."),
            judged(Topic::Other, Kind::InformationOnly, None, "Unclear measurand."),
            judged(Topic::Consent, Kind::Consent, None, "Agrees with the formulation."),
        ]);

        // By arithmetic: 3² + 4² = 5².
        assert_eq!(layer.additional_uncertainty, Some(5.0));
        assert_eq!(layer.additional_sd, None);
        assert_eq!(layer.consent.as_deref(), Some("Agrees with the formulation."));
        let decision = layer.decision.expect("a decision");
        assert_eq!(decision.signal, package::DecidedSignal::InformationOnly);
        assert_eq!(decision.reason, "Two modes. Unclear measurand.");
    }

    #[test]
    fn no_score_goes_before_information_only() {
        let both = [
            judged(Topic::Homogeneity, Kind::InformationOnly, None, "Units differ."),
            judged(Topic::Other, Kind::NotScored, None, "Withdrawn."),
        ];

        let decision = layer(&both).decision.expect("a decision");

        assert_eq!((decision.signal, decision.reason.as_str()), (package::DecidedSignal::NotScored, "Withdrawn."));
        assert_eq!(layer(&[judged(Topic::Shape, Kind::AsPlanned, None, "Fine.")]), MeasurandLayer::default());
    }

    #[test]
    fn words_come_back() {
        for topic in Topic::ALL {
            assert_eq!(Topic::of(topic.word()), Some(topic));
            for kind in topic.kinds() {
                assert_eq!(Kind::of(kind.word()), Some(*kind));
            }
        }
        assert_eq!((Topic::of("form"), Kind::of("")), (None, None));
    }
}
