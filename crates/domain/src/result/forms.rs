//! Who says how the uncertainty of a row is given: the row, or its item.

use super::Typed;
use crate::measurand::{Item, Measurand};

/// The field that says how the uncertainty of the row at `position` is given,
/// where that differs from what `{item}.u_as` says for all rows of its item:
/// `12.u_as`; or `12.u_as.row` in a round with an item that is labelled 12,
/// because there `12.u_as` is that item's field.
pub fn form_field(items: &[Item], position: i64) -> String {
    let field = format!("{position}.u_as");
    let of_an_item = items.iter().any(|item| item.label == position.to_string());
    if of_an_item { field + ".row" } else { field }
}

impl Typed {
    /// Lets items say what their rows say: where all rows with an uncertainty
    /// have a form of their own and it is the same, it becomes the item's; and a
    /// row does not repeat its item. What is read stays the same, and the page,
    /// which asks once for an item, shows it.
    pub fn settle_forms(&mut self, items: &[Item], measurands: &[Measurand]) {
        for item in items {
            let of_item = format!("{}.u_as", item.label);
            let rows = measurands.iter().filter(|m| m.item == item.id);
            let fields: Vec<(bool, String)> = rows
                .map(|m| (!self.get(&format!("{}.u", m.position)).is_empty(), form_field(items, m.position)))
                .collect();
            let mut forms = fields.iter().filter(|(has, _)| *has).map(|(_, field)| self.get(field));
            if let Some(first) = forms.next().filter(|form| !form.is_empty()).map(str::to_owned)
                && forms.all(|form| form == first)
            {
                self.0.insert(of_item.clone(), first);
            }
            let said = self.get(&of_item).to_owned();
            for (_, field) in fields {
                let repeats = self.get(&field) == said;
                if repeats || self.get(&field).is_empty() {
                    self.0.remove(&field);
                }
            }
        }
    }
}
