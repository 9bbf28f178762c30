//! What a laboratory sends, and its receipts.

use super::caller::Caller;
use super::change::{Begun, Change, File, KeyHeader};
use super::openapi::{Changing, Looking};
use super::problem::Refusal;
use super::{Answer, Path, document, json};
use crate::actions;
use crate::actions::results::Own;
use crate::actions::results::{Form, SendForm};
use crate::error::Error;
use crate::pages::{own_round, receipt};
use crate::state::App;
use axum::extract::State;
use axum::http::StatusCode;
use roundel_domain::declared;
use roundel_domain::field::{Problem, shortened};
use roundel_domain::import::{self, decided, same_unit};
use roundel_domain::measurand::{Item, MOST_REPLICATES, Measurand};
use roundel_domain::result::{Typed, form_field};
use roundel_domain::{text, unit};
use roundel_store::results::Sent;
use roundel_store::{measurands, results, rounds};
use serde::{Deserialize, Serialize};
use std::collections::HashMap;
use utoipa::ToSchema;

/// An uncertainty.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct UncertaintyBody {
    /// The expanded uncertainty U.
    #[schema(max_length = 200, example = "4.1")]
    pub expanded: String,
    /// `absolute`, in the unit, or `percent` of the result.
    #[schema(max_length = 200, example = "absolute")]
    pub form: String,
    /// The coverage factor k; without it the uncertainty enters no score.
    #[serde(default)]
    #[schema(max_length = 200, example = "2")]
    pub coverage_factor: String,
}

/// A result.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ResultBody {
    /// Label of the item.
    #[schema(max_length = 200, example = "A")]
    pub item: String,
    /// The analyte.
    #[schema(max_length = 1000, example = "carbamazepine")]
    pub analyte: String,
    /// The unit of the numbers: that of the round.
    #[schema(max_length = 200, example = "ng/L")]
    pub unit: String,
    /// `value`, `below`, `identified`, `not_analysed` or `failed`; may be left out where there
    /// are values.
    #[serde(default)]
    #[schema(max_length = 200)]
    pub state: String,
    /// The values as measured, one a replicate; `<5` says below 5.
    #[serde(default)]
    #[schema(max_items = 4)]
    pub values: Vec<Measured>,
    /// The uncertainty.
    #[serde(default)]
    pub uncertainty: Option<UncertaintyBody>,
    /// The laboratory's own limit of quantification.
    #[serde(default)]
    #[schema(max_length = 200)]
    pub loq: String,
    /// Why there is no result: `out_of_scope`, `no_method`, `instrument`, `item`,
    /// `quality_control`.
    #[serde(default)]
    #[schema(max_length = 200)]
    pub reason: String,
}

/// A number as it was measured, as text, kept letter by letter.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[schema(max_length = 200, example = "31.9")]
#[serde(transparent)]
pub struct Measured(String);

/// The results of a laboratory for all measurands of a round.
#[derive(Clone, Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ResultsBody {
    /// One entry a measurand.
    #[schema(min_items = 1, max_items = 5000)]
    pub results: Vec<ResultBody>,
    /// After the deadline: this late version may take the place of one that was
    /// in time.
    #[serde(default)]
    pub replace_in_time: bool,
    /// Questions about these results that are answered with "it is right as it
    /// stands", by the names that an answer 422 gives: as `value-below-loq.12`.
    #[serde(default)]
    #[schema(max_items = 5000)]
    pub confirmed: Vec<String>,
}

/// The receipt of a sending.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Receipt {
    /// Its name for good.
    #[schema(format = "uuid")]
    pub id: String,
    /// Code of the round.
    pub round: String,
    /// Code of the laboratory in it.
    pub participant: String,
    /// 1 for the first sending, 2 for the first revision.
    pub version: i64,
    /// When the service took it, by the service's clock.
    #[schema(format = DateTime)]
    pub submitted_at: String,
    /// Whether that was after the deadline.
    pub late: bool,
    /// SHA-256 of the document that was stored, in hexadecimal.
    pub sha256: String,
    /// Address of that document.
    pub document: String,
    /// Name of the key that signed the receipt; its public half is at `/keys`.
    /// Left out where it was sent before receipts were signed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub key_id: Option<String>,
    /// The signature of the receipt (Ed25519, in Base64), over what the receipt's
    /// page offers as `signed.json`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub signature: Option<String>,
    /// Address of the receipt's page.
    #[schema(format = "uri")]
    pub page: String,
}

impl Receipt {
    fn of(app: &App, round: &str, participant: &str, sent: &Sent) -> Receipt {
        Receipt {
            id: sent.id.to_string(),
            round: round.to_owned(),
            participant: participant.to_owned(),
            version: sent.version,
            submitted_at: sent.submitted_at().to_string(),
            late: sent.late,
            sha256: sent.sha256.clone(),
            document: format!("{}/receipts/{}/document", super::BASE, sent.id),
            key_id: sent.seal().map(|seal| seal.key_id.to_owned()),
            signature: sent.seal().map(|seal| seal.signature.to_owned()),
            page: format!("{}/receipts/{}", app.public_url, sent.id),
        }
    }
}

/// Receipts.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ReceiptList {
    /// The receipts, oldest first.
    pub receipts: Vec<Receipt>,
}

/// What a body says, by the names of the page's fields, and where each stands.
struct Placed {
    typed: Typed,
    /// Pointer of each field.
    pointers: HashMap<String, String>,
}

impl Placed {
    fn put(&mut self, field: String, text: &str, pointer: String) {
        if !text.trim().is_empty() {
            self.typed.0.insert(field.clone(), text.to_owned());
        }
        self.pointers.insert(field, pointer);
    }
}

/// Finds the measurand of each entry. What is wrong here is wrong with the
/// entry's place in the round; the numbers are read by the rules of the page.
fn place(body: &ResultsBody, items: &[Item], measurands: &[Measurand]) -> (Placed, Vec<(String, Problem)>) {
    let label = |m: &Measurand| items.iter().find(|item| item.id == m.item).map_or("", |item| item.label.as_str());
    let by_key: HashMap<(String, String), &Measurand> =
        measurands.iter().map(|m| ((text::key(label(m)), text::key(&m.analyte)), m)).collect();
    let mut placed = Placed { typed: Typed::default(), pointers: HashMap::new() };
    let mut mistakes = Vec::new();
    let mut seen: HashMap<i64, usize> = HashMap::new();
    // Each entry says its unit, and it is that of the round.
    unit::choices(measurands).iter().for_each(|choice| placed.typed.set(&choice.field, &choice.unit));
    for (index, entry) in body.results.iter().enumerate() {
        let at = |part: &str| format!("/results/{index}/{part}");
        let Some(measurand) = by_key.get(&(text::key(&entry.item), text::key(&entry.analyte))) else {
            let known = items.iter().any(|item| text::key(&item.label) == text::key(&entry.item));
            let problem = if known {
                Problem::new("problem-result-analyte")
                    .with("item", shortened(&entry.item))
                    .with("analyte", shortened(&entry.analyte))
            } else {
                let labels: Vec<&str> = items.iter().map(|item| item.label.as_str()).collect();
                Problem::new("problem-result-item")
                    .with("item", shortened(&entry.item))
                    .with("known", labels.join(", "))
            };
            mistakes.push((at(if known { "analyte" } else { "item" }), problem));
            continue;
        };
        if let Some(first) = seen.insert(measurand.position, index) {
            let problem = Problem::new("problem-result-twice").with("first", format!("/results/{first}"));
            mistakes.push((format!("/results/{index}"), problem));
            continue;
        }
        if !same_unit(&entry.unit, &measurand.unit) {
            let problem = Problem::new("problem-result-unit")
                .with("expected", &measurand.unit)
                .with("seen", shortened(&entry.unit));
            mistakes.push((at("unit"), problem));
        }
        if entry.values.len() as i64 > measurand.replicates {
            let problem = Problem::new("problem-result-replicates").with("most", measurand.replicates);
            mistakes.push((at("values"), problem));
        }
        let field = |part: &str| format!("{}.{part}", measurand.position);
        placed.put(field("state"), &entry.state, at("state"));
        placed.put(field("reason"), &entry.reason, at("reason"));
        placed.put(field("loq"), &entry.loq, at("loq"));
        for n in 0..MOST_REPLICATES as usize {
            let text = entry.values.get(n).map_or("", |value| value.0.as_str());
            let pointer = if n < entry.values.len() { format!("values/{n}") } else { "values".to_owned() };
            placed.put(field(&format!("v{}", n + 1)), text, at(&pointer));
        }
        let uncertainty = entry.uncertainty.as_ref();
        if let Some(uncertainty) = uncertainty
            && !matches!(uncertainty.form.trim(), "absolute" | "percent")
        {
            let problem = Problem::new("problem-result-form").with("seen", shortened(&uncertainty.form));
            mistakes.push((at("uncertainty/form"), problem));
        }
        let of = |part: fn(&UncertaintyBody) -> &String| uncertainty.map_or("", |u| part(u).as_str());
        placed.put(field("u"), of(|u| &u.expanded), at("uncertainty/expanded"));
        placed.put(form_field(items, measurand.position), of(|u| &u.form), at("uncertainty/form"));
        placed.put(field("k"), of(|u| &u.coverage_factor), at("uncertainty/coverage_factor"));
    }
    (placed, mistakes)
}

/// The pointer of a field. A measurand without an entry is missing in the list.
fn pointer(pointers: &HashMap<String, String>, field: &str) -> String {
    match pointers.get(field) {
        Some(pointer) => pointer.clone(),
        None if field == "replace" => "/replace_in_time".to_owned(),
        None if declared::is_answer(field) => "/confirmed".to_owned(),
        None => "/results".to_owned(),
    }
}

/// Results, in either form.
enum Body {
    List(ResultsBody),
    File(import::File),
}

/// Sends the results of the token's laboratory, all measurands at once.
///
/// The rules are those of the page, and every mistake is answered at once. A
/// file has the columns of the template on the page of the round, and is never
/// late in the place of one in time. Sending what was sent before gives the
/// receipt that exists.
#[utoipa::path(post, path = "/rounds/{code}/results", tag = "results",
    request_body(content((ResultsBody = "application/json"), (File = "text/csv"), (File = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"))),
    params(("code" = String, Path, description = "Code of the round"), KeyHeader),
    responses((status = 201, body = Receipt, description = "They are taken", headers(("location" = String, description = "Address of the receipt"))), Changing))]
pub async fn submit(State(app): State<App>, Path(code): Path<String>, change: Change) -> Answer {
    let caller = &change.caller;
    caller.actor.may_submit()?;
    // A file is read before the transaction begins, which others wait for.
    let body = if change.is_json() { Body::List(change.json()?) } else { Body::File(change.file().await?) };
    let mut once = match change.once(&app).await? {
        Begun::New(once) => once,
        Begun::Known(answer) => return Ok(answer),
    };
    let tx = &mut once.tx;
    let (round, participant) = own_round(tx, &caller.actor, &code).await?;
    let items = rounds::items(tx, round.id).await?;
    let measurands = measurands::of_round(tx, round.id).await?;
    let (placed, mut mistakes) = match &body {
        Body::List(body) => place(body, &items, &measurands),
        Body::File(file) => {
            let codes = Own::load(tx, round.clone(), participant.clone()).await?.labels();
            let read =
                import::results(file, &items, &measurands, &codes).map_err(|problems| Refusal::rows(&problems))?;
            (Placed { typed: read.typed, pointers: HashMap::new() }, Vec::new())
        }
    };
    let replace_in_time = matches!(&body, Body::List(body) if body.replace_in_time);
    // A key of its own space: no form of the page carries such a word.
    let word = format!("program {}", change.key());
    let confirmed: &[String] = match &body {
        Body::List(body) => &body.confirmed,
        Body::File(_) => &[],
    };
    let form = SendForm { once: &word, replace_in_time, typed: Some(&placed.typed), confirmed, from: Form::default() };
    let sent =
        actions::results::submit(tx, &caller.actor, &round, &participant, form, &app.post(), app.clock.now()).await;
    let id = match sent {
        Err(actions::Refused::Fields(errors)) => {
            let unplaced: Vec<String> = mistakes.iter().map(|(pointer, _)| pointer.clone()).collect();
            mistakes.extend(errors.iter().filter_map(|(field, problem)| {
                let at = pointer(&placed.pointers, field);
                let told = unplaced.contains(&at) || problem.key == "result-uncertainty-form";
                (!told).then(|| (at, reworded(problem, field, &measurands, &items, &placed)))
            }));
            return Err(Refusal::wrong(mistakes));
        }
        Err(actions::Refused::Error(error)) => return Err(error.into()),
        Ok(_) if !mistakes.is_empty() => return Err(Refusal::wrong(mistakes)),
        Ok(id) => id,
    };
    let sent = results::by_id(tx, id).await?.ok_or(Error::NotFound)?;
    let receipt = Receipt::of(&app, &round.code, &participant.code, &sent);
    let answer = once.end(StatusCode::CREATED, &format!("{}/receipts/{id}", super::BASE), &receipt).await?;
    app.wake_mail();
    Ok(answer)
}

/// What the page would ask, a program is told how to write; and a measurand
/// without an entry is named, since the list has no place for it.
fn reworded(problem: &Problem, field: &str, measurands: &[Measurand], items: &[Item], placed: &Placed) -> Problem {
    let position = field.split('.').next().and_then(|position| position.parse::<i64>().ok());
    let measurand = measurands.iter().find(|m| Some(m.position) == position);
    match measurand {
        Some(measurand) if problem.key == "result-empty" && !placed.pointers.contains_key(field) => {
            Problem::new("problem-result-missing")
                .with("item", super::rounds::label_of(measurand, items))
                .with("analyte", &measurand.analyte)
        }
        _ => match (problem.value("seen"), problem.value("first"), problem.value("second")) {
            (Some(seen), Some(first), Some(second)) => Problem::new("problem-result-number-ambiguous")
                .with("seen", seen)
                .with("first", first)
                .with("second", second)
                .with("write", decided(first)),
            _ => problem.clone(),
        },
    }
}

/// What the token's laboratory sent last: the exact document that was stored.
#[utoipa::path(get, path = "/rounds/{code}/results", tag = "results",
    params(("code" = String, Path, description = "Code of the round")),
    responses((status = 200, body = Object, content_type = "application/json", description = "The document, `roundel-submission/1`"), Looking))]
pub async fn newest(State(app): State<App>, caller: Caller, Path(code): Path<String>) -> Answer {
    let mut tx = app.db.read().await?;
    let (_, participant) = own_round(&mut tx, &caller.actor, &code).await?;
    let sent = results::of_participant(&mut tx, participant.id).await?.pop().ok_or(Error::NotFound)?;
    Ok(document(sent.document))
}

/// The receipts of the token's laboratory in a round.
#[utoipa::path(get, path = "/rounds/{code}/receipts", tag = "results",
    params(("code" = String, Path, description = "Code of the round")),
    responses((status = 200, body = ReceiptList, description = "Receipts"), Looking))]
pub async fn receipts(State(app): State<App>, caller: Caller, Path(code): Path<String>) -> Answer {
    let mut tx = app.db.read().await?;
    let (round, participant) = own_round(&mut tx, &caller.actor, &code).await?;
    let sent = results::of_participant(&mut tx, participant.id).await?;
    let receipts = sent.iter().map(|sent| Receipt::of(&app, &round.code, &participant.code, sent)).collect();
    Ok(json(StatusCode::OK, &ReceiptList { receipts }))
}

/// A receipt.
#[utoipa::path(get, path = "/receipts/{id}", tag = "results",
    params(("id" = String, Path, description = "Name of the receipt")),
    responses((status = 200, body = Receipt, description = "The receipt"), Looking))]
pub async fn receipt(State(app): State<App>, caller: Caller, Path(id): Path<String>) -> Answer {
    let mut tx = app.db.read().await?;
    let (sent, owner) = receipt::sent(&mut tx, &caller.actor, &id).await?;
    let round = rounds::by_id(&mut tx, owner.round).await?.ok_or(Error::NotFound)?;
    Ok(json(StatusCode::OK, &Receipt::of(&app, &round.code, &owner.code, &sent)))
}

/// The exact document of a receipt, whose SHA-256 the receipt names.
#[utoipa::path(get, path = "/receipts/{id}/document", tag = "results",
    params(("id" = String, Path, description = "Name of the receipt")),
    responses((status = 200, body = Object, content_type = "application/json", description = "The document, `roundel-submission/1`"), Looking))]
pub async fn sent_document(State(app): State<App>, caller: Caller, Path(id): Path<String>) -> Answer {
    let mut tx = app.db.read().await?;
    let (sent, _) = receipt::sent(&mut tx, &caller.actor, &id).await?;
    Ok(document(sent.document))
}
