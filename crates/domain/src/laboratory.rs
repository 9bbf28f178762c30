//! Laboratories: who they are, over all rounds.

use crate::field::{FieldErrors, parse_email};
use crate::id::LaboratoryId;
use crate::text;

/// A laboratory.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Laboratory {
    /// Its name for good.
    pub id: LaboratoryId,
    /// The name as printed.
    pub name: String,
    /// Where its invitation goes.
    pub email: String,
    /// The organisation it belongs to. Laboratories of one organisation are
    /// not independent: one result of them counts in a consensus.
    pub organisation: Option<String>,
}

/// A laboratory to be added.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewLaboratory {
    /// The name as printed.
    pub name: String,
    /// Where its invitation goes.
    pub email: String,
    /// The organisation it belongs to.
    pub organisation: Option<String>,
}

impl NewLaboratory {
    /// Reads a form.
    ///
    /// # Errors
    ///
    /// Every field that is not as it should be.
    pub fn parse(name: &str, email: &str, organisation: &str) -> Result<Self, FieldErrors> {
        let mut errors = FieldErrors::default();
        let name = text::line(&mut errors, "name", name, true);
        // Addresses are told apart without regard to case, so they are kept in lower case.
        let email = errors.keep("email", parse_email(email)).unwrap_or_default().to_lowercase();
        let organisation = text::line(&mut errors, "organisation", organisation, false);
        errors.into_result(NewLaboratory {
            name,
            email,
            organisation: (!organisation.is_empty()).then_some(organisation),
        })
    }
}
