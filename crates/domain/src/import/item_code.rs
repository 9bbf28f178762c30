//! The code on an item's label, in files and blocks.

use crate::code::LabCode;
use crate::field::{Problem, shortened};

/// Checks that a code stands on the laboratory's own label of an item. `codes`
/// are those labels; in a round without them every code is let be.
///
/// # Errors
///
/// `problem-item-code-form` for what no label shows (its check character
/// included), `problem-item-code-other-item` for the laboratory's own label of
/// another item, `problem-item-code-foreign` for any other code: whose it is,
/// or whether anybody has it, is not told.
pub(super) fn check(code: &str, item: &str, codes: &[(String, String)]) -> Result<(), Problem> {
    if codes.is_empty() {
        return Ok(());
    }
    let refused = |key| Problem::new(key).with("seen", shortened(code)).with("item", item);
    let read = LabCode::parse(code).map_err(|_| refused("problem-item-code-form"))?;
    let mut owners = codes.iter().filter(|(_, own)| own.eq_ignore_ascii_case(read.as_str())).map(|(label, _)| label);
    match owners.next() {
        Some(label) if label == item => Ok(()),
        Some(label) => Err(refused("problem-item-code-other-item").with("other", label)),
        None => Err(refused("problem-item-code-foreign")),
    }
}
