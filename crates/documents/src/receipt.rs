//! The receipt of a sending, as a PDF (PDF/A-3a, PDF/UA-1).
//!
//! A receipt is a function of its data: the same [`Receipt`] gives the same bytes
//! on every machine and on any number of threads. [`render`] takes a tenth of a
//! second of one core: call it where blocking is allowed.

pub use crate::certificate::{Attachment, Day};

use crate::Error;
use crate::number;
use crate::typeset::{self, Template};
use crate::words::Words;
use serde::Serialize;

/// Everything that is printed on a receipt. Texts are shown as they are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Receipt {
    /// Demonstration data: said on every page.
    pub demonstration: bool,
    /// Language tag of the texts, as `en`.
    pub language: String,
    /// Who took the results.
    pub provider: String,
    /// Lines of address and contact.
    pub contact: Vec<String>,
    /// The round's code, as `QW-1`.
    pub round: String,
    /// The round's title.
    pub round_title: String,
    /// The laboratory's code in the round.
    pub code: String,
    /// The sending's name for good.
    pub reference: String,
    /// 1 for the first sending, 2 for the first revision.
    pub version: i64,
    /// The day on which it was taken, and the exact time with its offset.
    pub received: Day,
    /// The results came after the deadline.
    pub late: bool,
    /// SHA-256 of the stored document, in hexadecimal.
    pub sha256: String,
    /// Address of the receipt's page.
    pub address: String,
    /// The signature; none where it was sent before receipts were signed.
    pub seal: Option<Seal>,
    /// What was said beside the results, as names and values.
    pub said: Vec<(String, String)>,
    /// One table an item.
    pub tables: Vec<Table>,
    /// The signed receipt, carried inside the PDF.
    pub attachment: Option<Attachment>,
}

/// What the receipt is proved with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seal {
    /// Name of the key.
    pub key_id: String,
    /// The signature, in Base64.
    pub signature: String,
    /// Address where the keys are, and how a receipt is checked.
    pub keys: String,
}

/// What was sent for an item.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    /// The item, as "Item B, river water".
    pub item: String,
    /// In the order of the form.
    pub rows: Vec<Row>,
}

/// What was sent for a measurand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// The analyte.
    pub analyte: String,
    /// What it is expressed as, where the plan says so, as "as free base".
    pub basis: Option<String>,
    /// The result, or in words why there is none.
    pub result: Result<Reported, String>,
    /// The laboratory's limit of quantification.
    pub loq: Option<Quantity>,
}

/// A result as it was sent.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reported {
    /// As typed, with the unit it was typed in.
    pub typed: Quantity,
    /// As it is evaluated.
    pub evaluated: Quantity,
    /// Its uncertainty.
    pub uncertainty: Option<Uncertainty>,
}

/// An expanded uncertainty, in both forms.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Uncertainty {
    /// As typed, in its unit or in percent.
    pub typed: Quantity,
    /// In the unit of the result.
    pub absolute: Quantity,
    /// In percent of the result; none of a result that is zero.
    pub percent: Option<String>,
    /// k.
    pub coverage_factor: Option<String>,
}

/// A number as text, and its unit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Quantity {
    /// The number.
    pub number: String,
    /// The unit.
    pub unit: String,
}

/// The keys of all labels that the template asks for.
const LABELS: &[&str] = &[
    "receipt-pdf-analyte",
    "receipt-pdf-code",
    "receipt-pdf-evaluated",
    "receipt-pdf-item",
    "receipt-pdf-percent",
    "receipt-pdf-provider",
    "receipt-pdf-result",
    "receipt-pdf-said",
    "receipt-pdf-typed",
    "receipt-pdf-unit",
];

#[derive(Serialize)]
struct Data {
    labels: Vec<(String, String)>,
    language: String,
    title: String,
    document_title: String,
    subtitle: String,
    banner: Vec<String>,
    page: [String; 3],
    running: String,
    end: String,
    issued: [i32; 3],
    code: String,
    provider: String,
    contact: Vec<String>,
    facts: Vec<[String; 2]>,
    late: Option<String>,
    proof: Vec<[String; 2]>,
    how: String,
    said: Vec<[String; 2]>,
    tables: Vec<TableData>,
    attachment: Option<[String; 3]>,
}

#[derive(Serialize)]
struct TableData {
    item: String,
    rows: Vec<RowData>,
}

#[derive(Default, Serialize)]
struct RowData {
    analyte: String,
    basis: Option<String>,
    /// Why there is no result.
    none: Option<String>,
    typed: String,
    evaluated: String,
    u_typed: String,
    u: String,
    percent: String,
    k: String,
    loq: String,
}

/// The receipt as a PDF.
///
/// Characters that no carried font has are printed as a question mark in a
/// diamond (U+FFFD); the document does not fail for them.
///
/// # Errors
///
/// [`Error`] when the document cannot be set or exported: a fault of the template,
/// not of the data.
pub fn render(receipt: &Receipt, words: &Words) -> Result<Vec<u8>, Error> {
    let identifier = format!("receipt {}", receipt.reference);
    let attachment = receipt.attachment.as_ref().map_or(&[][..], |file| &file.bytes);
    typeset::pdf(Template::Receipt, &data(receipt, words), attachment, &identifier)
}

fn data(receipt: &Receipt, words: &Words) -> Data {
    let version = receipt.version.to_string();
    let of = |key: &str| words.with(key, &[("round", &receipt.round), ("version", &version)]);
    let title = words.t("receipt-pdf-title");
    let round = if receipt.round_title.is_empty() {
        receipt.round.clone()
    } else {
        format!("{} · {}", receipt.round, receipt.round_title)
    };
    Data {
        labels: LABELS.iter().map(|key| ((*key).to_owned(), words.t(key))).collect(),
        language: receipt.language.clone(),
        document_title: format!("{title}: {}, {}", of("receipt-pdf-page-end"), receipt.code),
        subtitle: round,
        banner: if receipt.demonstration { vec![words.t("certificate-banner-demonstration")] } else { Vec::new() },
        page: [words.t("certificate-page"), words.t("certificate-page-of"), of("receipt-pdf-page-end")],
        running: receipt.code.clone(),
        end: of("receipt-pdf-end"),
        title,
        issued: [receipt.received.year, receipt.received.month.into(), receipt.received.day.into()],
        code: receipt.code.clone(),
        provider: receipt.provider.clone(),
        contact: receipt.contact.clone(),
        facts: vec![
            [words.t("receipt-pdf-received"), receipt.received.text.clone()],
            [words.t("receipt-pdf-version"), version.clone()],
        ],
        late: receipt.late.then(|| words.t("receipt-pdf-late")),
        proof: proof(receipt, words),
        how: match &receipt.seal {
            Some(seal) => words.with("receipt-pdf-how", &[("address", &seal.keys)]),
            None => words.t("receipt-unsigned"),
        },
        said: receipt.said.iter().map(|(name, value)| [name.clone(), value.clone()]).collect(),
        tables: receipt.tables.iter().map(table).collect(),
        attachment: receipt
            .attachment
            .as_ref()
            .map(|file| [typeset::file_name(&file.name), file.media_type.clone(), words.t("receipt-pdf-attachment")]),
    }
}

/// What is compared or checked, letter by letter.
fn proof(receipt: &Receipt, words: &Words) -> Vec<[String; 2]> {
    let mut proof = vec![
        [words.t("receipt-pdf-reference"), receipt.reference.clone()],
        ["SHA-256".to_owned(), receipt.sha256.clone()],
        [words.t("receipt-pdf-address"), receipt.address.clone()],
    ];
    if let Some(seal) = &receipt.seal {
        proof.push([words.t("receipt-pdf-key"), seal.key_id.clone()]);
        proof.push([words.t("receipt-pdf-signature"), seal.signature.clone()]);
    }
    proof
}

/// Column by column.
fn table(table: &Table) -> TableData {
    let reported = |of: fn(&Reported) -> Option<&Quantity>| column(table, |row| row.result.as_ref().ok().and_then(of));
    let uncertain = |of: fn(&Uncertainty) -> Option<&Quantity>| {
        column(table, |row| row.result.as_ref().ok().and_then(|r| r.uncertainty.as_ref()).and_then(of))
    };
    let text = |of: fn(&Uncertainty) -> Option<&String>| {
        let texts = table.rows.iter().map(|row| {
            let uncertainty = row.result.as_ref().ok().and_then(|r| r.uncertainty.as_ref());
            uncertainty.and_then(of).map_or("–".to_owned(), |text| number::typed(text))
        });
        number::align(&texts.collect::<Vec<_>>())
    };
    let mut columns = [
        reported(|r| Some(&r.typed)),
        reported(|r| Some(&r.evaluated)),
        uncertain(|u| Some(&u.typed)),
        uncertain(|u| Some(&u.absolute)),
        text(|u| u.percent.as_ref()),
        text(|u| u.coverage_factor.as_ref()),
        column(table, |row| row.loq.as_ref()),
    ]
    .map(Vec::into_iter);
    let mut next = || columns.each_mut().map(|column| column.next().unwrap_or_default());
    let rows = table.rows.iter().map(|row| {
        let [typed, evaluated, u_typed, u, percent, k, loq] = next();
        RowData {
            analyte: row.analyte.clone(),
            basis: row.basis.clone(),
            none: row.result.as_ref().err().cloned(),
            typed,
            evaluated,
            u_typed,
            u,
            percent,
            k,
            loq,
        }
    });
    TableData { item: table.item.clone(), rows: rows.collect() }
}

/// A column of quantities; a dash where there is none.
fn column<'a>(table: &'a Table, of: impl Fn(&'a Row) -> Option<&'a Quantity>) -> Vec<String> {
    let shown = |quantity: &Quantity| number::with_unit(&number::typed(&quantity.number), &quantity.unit);
    table.rows.iter().map(|row| of(row).map_or("–".to_owned(), shown)).collect()
}
