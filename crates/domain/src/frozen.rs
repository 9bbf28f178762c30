//! The plan of a round as a document that is frozen and signed (F3).

use crate::access::Duty;
use crate::amendment::Amendment;
use crate::asks::Asks;
use crate::checklist::Checklist;
use crate::id::UserId;
use crate::measurand::{Item, Measurand};
use crate::number::Decimal;
use crate::package::canonical;
use crate::plan::Plan;
use crate::round::Round;
use crate::rules::Rules;
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

/// The format of [`Document`].
pub const FORMAT: &str = "roundel-plan/1";

/// What a plan says of its round: all that is fixed when it is frozen. Two plans
/// with the same content are the same plan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Content {
    /// The provider's name.
    pub provider: String,
    /// The round.
    pub round: PlannedRound,
    /// The items, in their order.
    pub items: Vec<PlannedItem>,
    /// The measurands, in their order.
    pub measurands: Vec<PlannedMeasurand>,
    /// What is asked beside results.
    pub asks: Asks,
    /// The texts of the checklist.
    pub checklist: Checklist,
    /// The rules with the values used.
    pub rules: Rules,
}

/// The round, as a plan has it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlannedRound {
    /// Code.
    pub code: String,
    /// Title.
    pub title: String,
    /// Scheme.
    pub scheme: String,
    /// Instructions.
    pub instructions: String,
    /// Time zone, an IANA name.
    pub time_zone: String,
    /// The deadline.
    pub closes_at: Timestamp,
}

/// An item, as a plan has it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlannedItem {
    /// Label.
    pub label: String,
    /// What it is made of.
    pub matrix: String,
}

/// A measurand, as a plan has it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlannedMeasurand {
    /// Its place in the round.
    pub position: i64,
    /// Label of its item.
    pub item: String,
    /// The analyte.
    pub analyte: String,
    /// The unit.
    pub unit: String,
    /// What the result is expressed as; may be empty.
    pub expressed_as: String,
    /// Decimals that numbers are shown with.
    pub decimals: i64,
    /// The most values of a result.
    pub replicates: i64,
    /// The limit of quantification that is asked for.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub required_loq: Option<Decimal>,
    /// How it is evaluated.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub plan: Option<Plan>,
}

impl Content {
    /// What a plan of this round would say now.
    pub fn of(
        provider: &str,
        round: &Round,
        items: &[Item],
        measurands: &[Measurand],
        checklist: &Checklist,
        rules: Rules,
    ) -> Content {
        let label = |m: &Measurand| items.iter().find(|item| item.id == m.item).map_or("", |item| item.label.as_str());
        Content {
            provider: provider.to_owned(),
            round: PlannedRound {
                code: round.code.clone(),
                title: round.title.clone(),
                scheme: round.scheme.clone(),
                instructions: round.instructions.clone(),
                time_zone: round.time_zone.clone(),
                closes_at: round.closes_at,
            },
            items: items.iter().map(|i| PlannedItem { label: i.label.clone(), matrix: i.matrix.clone() }).collect(),
            measurands: measurands
                .iter()
                .map(|m| PlannedMeasurand {
                    position: m.position,
                    item: label(m).to_owned(),
                    analyte: m.analyte.clone(),
                    unit: m.unit.clone(),
                    expressed_as: m.expressed_as.clone(),
                    decimals: m.decimals,
                    replicates: m.replicates,
                    required_loq: m.required_loq.clone(),
                    plan: m.plan.clone(),
                })
                .collect(),
            asks: round.asks.clone(),
            checklist: checklist.clone(),
            rules,
        }
    }

    /// Its canonical form (RFC 8785).
    pub fn text(&self) -> String {
        canonical::text(self)
    }
}

/// One version of a plan. Frozen is its canonical text, and that text is stored.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Document {
    /// [`FORMAT`].
    pub format: String,
    /// 1 for the first.
    pub version: i64,
    /// When it was frozen.
    pub made_at: Timestamp,
    /// Who froze it.
    pub made_by: String,
    /// What it changes of a round that was open already.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub amendment: Option<Amendment>,
    /// What it says.
    pub plan: Content,
}

impl Document {
    /// Its canonical form (RFC 8785).
    pub fn text(&self) -> String {
        canonical::text(self)
    }

    /// A document from its text.
    ///
    /// # Errors
    ///
    /// When the text is no plan.
    pub fn parse(text: &str) -> Result<Document, serde_json::Error> {
        serde_json::from_str(text)
    }
}

/// How far the newest plan of a round is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// There is none.
    Unfrozen,
    /// The round says something else by now.
    Outdated,
    /// Only its author has signed.
    Unsigned,
    /// Two persons have signed what the round says.
    Signed,
}

/// What a signature means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meaning {
    /// I made this plan and answer for it.
    Author,
    /// I have read it and agree that the round is run by it.
    Second,
}

impl Meaning {
    /// The word that is stored.
    pub fn word(self) -> &'static str {
        match self {
            Meaning::Author => "author",
            Meaning::Second => "second",
        }
    }

    /// The meaning of this word.
    pub fn of(word: &str) -> Option<Meaning> {
        [Meaning::Author, Meaning::Second].into_iter().find(|meaning| meaning.word() == word)
    }
}

/// Why somebody may not give the second signature.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotSecond {
    /// It is the author.
    Author,
    /// Results are in, so that it takes a reviewer (D35).
    Reviewer,
}

/// Whether this person of the staff may give the second signature.
///
/// # Errors
///
/// Why not.
pub fn second(author: UserId, signer: UserId, duty: Duty, amendment: Option<&Amendment>) -> Result<(), NotSecond> {
    if signer == author {
        return Err(NotSecond::Author);
    }
    if amendment.is_some_and(Amendment::needs_reviewer) && duty != Duty::Reviewer {
        return Err(NotSecond::Reviewer);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::amendment::Change;
    use crate::id::RoundId;
    use crate::round::RoundState;
    use crate::rules;
    use uuid::Uuid;

    fn content(instructions: &str) -> Content {
        let round = Round {
            id: RoundId(Uuid::nil()),
            code: "QW-2".to_owned(),
            title: "Traces".to_owned(),
            scheme: String::new(),
            instructions: instructions.to_owned(),
            time_zone: "UTC".to_owned(),
            closes_at: "2027-03-26T16:00:00Z".parse().unwrap(),
            asks: Asks::default(),
            state: RoundState::Draft,
        };
        Content::of("Quillmere", &round, &[], &[], &Checklist::default(), rules::defaults())
    }

    #[test]
    fn a_document_comes_back_from_its_text_and_that_text_is_canonical() {
        let document = Document {
            format: FORMAT.to_owned(),
            version: 2,
            made_at: "2027-03-01T08:00:00.000001Z".parse().unwrap(),
            made_by: "Orla Quill".to_owned(),
            amendment: None,
            plan: content("Shake."),
        };
        let text = document.text();
        assert_eq!(Document::parse(&text).unwrap(), document);
        // RFC 8785: members in order, no white space.
        assert!(
            text.starts_with(
                "{\"format\":\"roundel-plan/1\",\"made_at\":\"2027-03-01T08:00:00.000001Z\",\
                 \"made_by\":\"Orla Quill\",\"plan\":{\"asks\":{"
            ),
            "{text}"
        );
        assert_ne!(content("Shake.").text(), content("Shake twice.").text());
    }

    #[test]
    fn the_second_signature_is_anothers_and_a_reviewers_once_results_are_in() {
        let [author, other] = [1, 2].map(|n| UserId(Uuid::from_u128(n)));
        let amendment = |results| Amendment {
            change: Change::Deadline { from: Timestamp::UNIX_EPOCH, to: Timestamp::UNIX_EPOCH },
            reason: "Snow.".to_owned(),
            results,
        };
        for duty in Duty::ALL {
            assert_eq!(second(author, author, duty, None), Err(NotSecond::Author));
            assert_eq!(second(author, other, duty, None), Ok(()));
            assert_eq!(second(author, other, duty, Some(&amendment(0))), Ok(()));
            let needed = if duty == Duty::Reviewer { Ok(()) } else { Err(NotSecond::Reviewer) };
            assert_eq!(second(author, other, duty, Some(&amendment(1))), needed, "{duty:?}");
        }
    }
}
