//! Names of things, one type each, so that one cannot stand for another.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub Uuid);

        impl From<Uuid> for $name {
            fn from(id: Uuid) -> Self {
                $name(id)
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.fmt(f)
            }
        }
    )*};
}

ids! {
    /// A person with a password.
    UserId,
    /// A laboratory, over all rounds.
    LaboratoryId,
    /// A round.
    RoundId,
    /// A proficiency-test item of a round.
    ItemId,
    /// An analyte in an item.
    MeasurandId,
    /// A laboratory in a round.
    ParticipantId,
    /// One sending of results.
    SubmissionId,
    /// One evaluation of a round.
    EvaluationId,
    /// One decision on one result.
    DecisionId,
    /// What a program shows to act in a person's name.
    TokenId,
    /// What a paste or a file would change.
    ProposalId,
    /// One message by mail.
    MessageId,
    /// One certificate of one participant.
    CertificateId,
    /// One question to the organiser.
    QuestionId,
    /// One request after closing.
    RequestId,
    /// What was recorded of a measurand's item, once.
    ItemRecordId,
    /// Something that happened to a unit of an item.
    UnitEventId,
    /// A file that is kept of a unit.
    UnitFileId,
    /// The withdrawal of an item or a measurand.
    WithdrawalId,
    /// One trial on a copy of an evaluation.
    TrialId,
    /// What a reviewer said of one measurand.
    ReviewId,
    /// A correction of a published round.
    CorrectionId,
    /// One publication of a round.
    PublicationId,
    /// One complaint or appeal.
    CaseId,
    /// One request to confirm results.
    ClarificationId,
    /// One version of a round's plan.
    PlanId,
    /// Long work that the program does by itself.
    JobId,
    /// One report of a round as it was issued.
    ReportId,
    /// One text that was written for a report.
    ReportTextId,
    /// What a laboratory said about open data, once.
    ConsentId,
    /// One release of a round's open data.
    ReleaseId,
}
