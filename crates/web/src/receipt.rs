//! From a sending to the data of its receipt as a document.

use crate::pages::Frame;
use crate::pages::check::said;
use crate::pages::entry::no_number_words;
use crate::show;
use roundel_documents::number;
use roundel_documents::receipt::{
    Attachment, Day, Quantity, Receipt, Reported as Printed, Row, Seal, Table, Uncertainty,
};
use roundel_domain::measurand::Item;
use roundel_domain::result::{Entry, Reported, Submission, UncertaintyForm};
use roundel_domain::round::Round;
use roundel_store::installation::Installation;
use roundel_store::results::Sent;

/// What a receipt is made from.
#[derive(Clone, Debug)]
pub struct Basis<'a> {
    /// Who runs the scheme.
    pub installation: &'a Installation,
    /// The round.
    pub round: &'a Round,
    /// Its items.
    pub items: &'a [Item],
    /// The laboratory's code in the round.
    pub code: &'a str,
    /// The sending.
    pub sent: &'a Sent,
    /// What it says.
    pub submission: &'a Submission,
    /// Address of the receipt's page.
    pub address: String,
    /// Address of the keys.
    pub keys: String,
    /// The signed receipt with its key and signature, where it is signed.
    pub sealed: Option<String>,
}

/// The data of a receipt. No clock is asked: the same sending gives the same
/// receipt.
pub fn of(f: &Frame, on: &Basis<'_>) -> Receipt {
    let at = on.sent.submitted_at();
    let (year, month, day) = show::date(at, &on.round.time_zone);
    Receipt {
        demonstration: on.installation.demonstration,
        language: "en".to_owned(),
        provider: on.installation.provider.clone(),
        contact: on.installation.contact.lines().map(str::to_owned).filter(|line| !line.is_empty()).collect(),
        round: on.round.code.clone(),
        round_title: on.round.title.clone(),
        code: on.code.to_owned(),
        reference: on.sent.id.to_string(),
        version: on.sent.version,
        received: Day { year, month, day, text: show::exact_in(at, &on.round.time_zone) },
        late: on.sent.late,
        sha256: on.sent.sha256.clone(),
        address: on.address.clone(),
        seal: on.sent.seal().map(|seal| Seal {
            key_id: seal.key_id.to_owned(),
            signature: seal.signature.to_owned(),
            keys: on.keys.clone(),
        }),
        said: said(f, &on.submission.declared),
        tables: tables(f, on),
        attachment: on.sealed.as_ref().map(|sealed| Attachment {
            name: "receipt.json".to_owned(),
            media_type: "application/json".to_owned(),
            bytes: sealed.clone().into_bytes(),
        }),
    }
}

fn tables(f: &Frame, on: &Basis<'_>) -> Vec<Table> {
    let mut tables: Vec<(&str, Table)> = Vec::new();
    for entry in &on.submission.results {
        match tables.iter_mut().find(|(label, _)| *label == entry.item) {
            Some((_, table)) => table.rows.push(row(f, entry)),
            None => {
                let matrix = on.items.iter().find(|item| item.label == entry.item).map_or("", |item| &item.matrix);
                let item = if matrix.is_empty() {
                    f.t1("item-name", "item", &entry.item)
                } else {
                    f.t2("item-name-matrix", "item", &entry.item, "matrix", matrix)
                };
                tables.push((&entry.item, Table { item, rows: vec![row(f, entry)] }));
            }
        }
    }
    tables.into_iter().map(|(_, table)| table).collect()
}

fn row(f: &Frame, entry: &Entry) -> Row {
    let of = |number: String| Quantity { number, unit: entry.unit.clone() };
    let typed = |number: String| Quantity { number, unit: typed_unit(entry).to_owned() };
    let result = match &entry.reported {
        Reported::Value { values, .. } => Ok(Printed {
            typed: typed(values.iter().map(|value| value.typed.as_str()).collect::<Vec<_>>().join("; ")),
            evaluated: of(match values.as_slice() {
                [only] => only.decimal.to_string(),
                _ => f.t1("receipt-pdf-mean", "value", number::plain(entry.value().unwrap_or_default())),
            }),
            uncertainty: uncertainty(entry),
        }),
        Reported::Below { limit } => Ok(Printed {
            typed: typed(limit.typed.clone()),
            evaluated: of(format!("<{}", limit.decimal)),
            uncertainty: None,
        }),
        Reported::Identified | Reported::NotAnalysed { .. } | Reported::Failed { .. } => {
            Err(no_number_words(f, &entry.reported))
        }
    };
    Row {
        analyte: entry.analyte.clone(),
        basis: (!entry.expressed_as.is_empty()).then(|| f.t1("expressed-as", "basis", &entry.expressed_as)),
        result,
        loq: entry.loq.as_ref().map(|loq| of(loq.decimal.to_string())),
    }
}

/// The unit in which the numbers were typed.
fn typed_unit(entry: &Entry) -> &str {
    entry.typed_unit.as_deref().unwrap_or(&entry.unit)
}

/// U in both forms: the one that was typed as it was read, the other computed.
fn uncertainty(entry: &Entry) -> Option<Uncertainty> {
    let Reported::Value { uncertainty: Some(given), .. } = &entry.reported else { return None };
    let absolute = entry.expanded_uncertainty()?;
    let value = entry.value().filter(|value| *value != 0.0);
    let read = given.expanded.decimal.to_string();
    let (unit, absolute, percent) = match given.form {
        UncertaintyForm::Absolute => {
            (typed_unit(entry), read, value.map(|x| number::significant(100.0 * absolute / x.abs(), 3)))
        }
        UncertaintyForm::Percent => ("%", number::plain(absolute), Some(read)),
    };
    Some(Uncertainty {
        typed: Quantity { number: given.expanded.typed.clone(), unit: unit.to_owned() },
        absolute: Quantity { number: absolute, unit: entry.unit.clone() },
        percent,
        coverage_factor: given.coverage_factor.as_ref().map(|k| k.decimal.to_string()),
    })
}
