//! The forms with which preparation and studies of an item are recorded.

use super::items::measurand_of;
use super::{BadRow, Frame, bad_rows, evaluating_round, files::Kind, go, ok, organised_round, unprocessable};
use crate::actions::Refused;
use crate::actions::design::FileRefused;
use crate::actions::items::{self, StudyForm, StudyRefused};
use crate::error::Error;
use crate::extract::{Path, Person, Posted, Upload};
use crate::sheets;
use crate::show::Errors;
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::import;
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::preparation::{MOST_STEPS, PreparationForm, unit_choices};
use roundel_domain::round::Round;
use roundel_domain::study;
use roundel_store::{measurands, rounds};

/// A number with its unit and its uncertainty, as fields.
struct Quantity {
    name: String,
    label: String,
    hint: String,
    value: String,
    unit: String,
    units: &'static [&'static str],
    u: String,
}

#[derive(Template)]
#[template(path = "items/preparation.html")]
struct PreparationPage {
    f: Frame,
    round: Round,
    item: Item,
    measurand: Measurand,
    form: PreparationForm,
    steps: Vec<(usize, Quantity, Quantity)>,
    errors: Errors,
    /// Questions that have to be confirmed.
    ask_small: bool,
    ask_planned: bool,
}

impl PreparationPage {
    fn quantity(&self, name: &str, label: &str, hint: &str) -> Quantity {
        let hint = if hint.is_empty() { String::new() } else { self.f.t(hint) };
        quantity(&self.form, name, self.f.t(label), hint)
    }
}

fn quantity(form: &PreparationForm, name: &str, label: String, hint: String) -> Quantity {
    Quantity {
        value: form.get(name).to_owned(),
        unit: form.get(&format!("{name}_unit")).to_owned(),
        u: form.get(&format!("{name}_u")).to_owned(),
        units: unit_choices(name),
        name: name.to_owned(),
        label,
        hint,
    }
}

fn preparation_page(
    f: Frame,
    round: Round,
    (item, measurand): (Item, Measurand),
    form: PreparationForm,
) -> PreparationPage {
    let steps = (1..=MOST_STEPS)
        .map(|n| {
            let taken = quantity(&form, &format!("d{n}_taken"), f.t1("preparation-taken", "step", n), String::new());
            let total = quantity(&form, &format!("d{n}_total"), f.t1("preparation-total", "step", n), String::new());
            (n, taken, total)
        })
        .collect();
    PreparationPage {
        ask_small: form.get("confirm_small") == "yes",
        ask_planned: form.get("confirm_planned") == "yes",
        f,
        round,
        item,
        measurand,
        form,
        steps,
        errors: Errors::default(),
    }
}

/// A form for the first time: the commonest units are chosen, numbers are not.
fn blank(measurand: &Measurand) -> PreparationForm {
    let mut form = PreparationForm::default();
    let units =
        [("mass", "mg"), ("solution", "mL"), ("stock", "µg/mL"), ("spike", "mL"), ("item", "L"), ("purity", "%")];
    for (name, unit) in units {
        form.0.insert(format!("{name}_unit"), unit.to_owned());
    }
    for n in 1..=MOST_STEPS {
        form.0.insert(format!("d{n}_taken_unit"), "mL".to_owned());
        form.0.insert(format!("d{n}_total_unit"), "mL".to_owned());
    }
    let native = unit_choices("native").iter().find(|known| import::same_unit(known, &measurand.unit));
    form.0.insert("native_unit".to_owned(), native.copied().unwrap_or_default().to_owned());
    form
}

/// `GET /rounds/{code}/items/{label}/{position}/preparation`.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory; a refusal for a reviewer.
pub async fn ask_preparation(
    State(app): State<App>,
    person: Person,
    Path((code, label, position)): Path<(String, String, i64)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = evaluating_round(&mut tx, &person.actor, &code).await?;
    let found = measurand_of(&mut tx, &round, &label, position).await?;
    let known = items::known(&mut tx, round.id).await?;
    let newest = known.get(&found.1.id).and_then(|own| own.preparations.last());
    let form = newest.map_or_else(|| blank(&found.1), |kept| PreparationForm::of(&kept.content));
    ok(&preparation_page(Frame::of(&app, &person), round, found, form))
}

/// `POST /rounds/{code}/items/{label}/{position}/preparation`.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory; a refusal for a reviewer; a conflict once
/// the round is published.
pub async fn preparation(
    State(app): State<App>,
    Path((code, label, position)): Path<(String, String, i64)>,
    posted: Posted,
) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let actor = &posted.person.actor;
    let round = evaluating_round(&mut tx, actor, &code).await?;
    let (item, measurand) = measurand_of(&mut tx, &round, &label, position).await?;
    let fields = posted.fields.iter().filter(|(name, _)| *name != "form_token");
    let form = PreparationForm(fields.map(|(name, text)| (name.to_owned(), text.to_owned())).collect());
    match items::record_preparation(&mut tx, actor, &round, (&item, &measurand), &form, app.clock.now()).await {
        Ok(()) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/items/{label}/{position}"), "preparation-recorded"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let f = Frame::of(&app, &posted.person);
            let mut page = preparation_page(f, round, (item, measurand), form);
            page.ask_small |= errors.get("confirm_small").is_some();
            page.ask_planned |= errors.get("confirm_planned").is_some();
            page.errors = Errors::named(app.words, &errors, |field| preparation_field(&page.f, field));
            unprocessable(&page)
        }
    }
}

/// The name of a field of the preparation, in a list of what is wrong.
fn preparation_field(f: &Frame, field: &str) -> Option<String> {
    let (stem, part) = match (field.strip_suffix("_unit"), field.strip_suffix("_u")) {
        (Some(stem), _) => (stem, Some("preparation-part-unit")),
        (None, Some(stem)) => (stem, Some("preparation-part-u")),
        (None, None) => (field, None),
    };
    let name = match stem {
        "substance" => f.t("preparation-substance"),
        "source" => f.t("preparation-source"),
        "form" => f.t("preparation-form"),
        "mass" => f.t("preparation-mass"),
        "solution" => f.t("preparation-solution"),
        "stock" => f.t("preparation-stock"),
        "purity" => f.t("preparation-purity"),
        "factor" => f.t("preparation-factor"),
        "spike" => f.t("preparation-spike"),
        "item" => f.t("preparation-item"),
        "native" | "native_kind" => f.t("preparation-native"),
        step => {
            let (number, kind) = step.strip_prefix('d')?.split_once('_')?;
            let key = if kind == "taken" { "preparation-taken" } else { "preparation-total" };
            f.w.with(key, &[("step", number)])
        }
    };
    Some(match part {
        Some(key) => f.w.with(key, &[("name", &name)]),
        None => name,
    })
}

/// `POST /rounds/{code}/items/{label}/{position}/take`: the content by preparation
/// becomes the assigned value of the plan.
///
/// # Errors
///
/// A conflict once the round is open, without a preparation, and without σ_pt.
pub async fn take(
    State(app): State<App>,
    Path((code, label, position)): Path<(String, String, i64)>,
    posted: Posted,
) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let actor = &posted.person.actor;
    let round = organised_round(&mut tx, actor, &code).await?;
    let (_, measurand) = measurand_of(&mut tx, &round, &label, position).await?;
    items::take_as_assigned(&mut tx, actor, &round, &measurand, app.clock.now()).await?;
    tx.commit().await?;
    Ok(go(&format!("/rounds/{code}/items/{label}/{position}"), "preparation-taken"))
}

/// Which study a form is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Sort {
    Homogeneity,
    Stability,
}

impl Sort {
    fn word(self) -> &'static str {
        match self {
            Sort::Homogeneity => "homogeneity",
            Sort::Stability => "stability",
        }
    }
}

#[derive(Template)]
#[template(path = "items/study.html")]
struct StudyPage {
    f: Frame,
    round: Round,
    item: Item,
    measurand: Measurand,
    sort: &'static str,
    heading: String,
    method: String,
    began_on: String,
    data: String,
    errors: Errors,
    bad: Vec<BadRow>,
}

fn study_page(f: Frame, round: Round, (item, measurand): (Item, Measurand), sort: Sort) -> StudyPage {
    let name = f.t2("measurand-name", "analyte", &measurand.analyte, "item", &item.label);
    let key = if sort == Sort::Homogeneity { "homogeneity-form-title" } else { "stability-form-title" };
    StudyPage {
        heading: f.t1(key, "name", name),
        sort: sort.word(),
        method: String::new(),
        began_on: String::new(),
        data: String::new(),
        errors: Errors::default(),
        bad: Vec::new(),
        f,
        round,
        item,
        measurand,
    }
}

async fn ask_study(app: App, person: Person, address: (String, String, i64), sort: Sort) -> Result<Response, Error> {
    let (code, label, position) = address;
    let mut tx = app.db.read().await?;
    let round = evaluating_round(&mut tx, &person.actor, &code).await?;
    let found = measurand_of(&mut tx, &round, &label, position).await?;
    let known = items::known(&mut tx, round.id).await?.remove(&found.1.id).unwrap_or_default();
    let mut page = study_page(Frame::of(&app, &person), round, found, sort);
    match sort {
        Sort::Homogeneity => {
            if let Some(kept) = known.homogeneity.last() {
                page.method.clone_from(&kept.content.method);
                page.data = study::write_homogeneity(&kept.content);
            }
        }
        Sort::Stability => {
            if let Some(kept) = known.stability.last() {
                page.method.clone_from(&kept.content.method);
                page.began_on = kept.content.began_on.to_string();
                page.data = study::write_stability(&kept.content);
            }
        }
    }
    ok(&page)
}

async fn record_study(
    app: App,
    (code, label, position): (String, String, i64),
    posted: Posted,
    sort: Sort,
) -> Result<Response, Error> {
    let mut tx = app.db.write().await?;
    let actor = &posted.person.actor;
    let round = evaluating_round(&mut tx, actor, &code).await?;
    let (item, measurand) = measurand_of(&mut tx, &round, &label, position).await?;
    let get = |name: &str| posted.fields.get(name);
    let form = StudyForm { method: get("method"), began_on: get("began_on"), data: get("data") };
    let (of, now) = ((&item, &measurand), app.clock.now());
    let recorded = match sort {
        Sort::Homogeneity => items::record_homogeneity(&mut tx, actor, &round, of, form, now).await,
        Sort::Stability => items::record_stability(&mut tx, actor, &round, of, form, now).await,
    };
    match recorded {
        Ok(()) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/items/{label}/{position}#{}", sort.word()), "study-recorded"))
        }
        Err(StudyRefused::Error(error)) => Err(error),
        Err(StudyRefused::Typed(errors, rows)) => {
            let f = Frame::of(&app, &posted.person);
            let mut page = study_page(f, round, (item, measurand), sort);
            page.method = form.method.to_owned();
            page.began_on = form.began_on.to_owned();
            page.data = form.data.to_owned();
            page.errors = Errors::of(app.words, &errors);
            page.bad = bad_rows(app.words, &rows);
            unprocessable(&page)
        }
    }
}

/// `GET /rounds/{code}/items/{label}/{position}/homogeneity`.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory; a refusal for a reviewer.
pub async fn ask_homogeneity(
    State(app): State<App>,
    person: Person,
    Path(address): Path<(String, String, i64)>,
) -> Result<Response, Error> {
    ask_study(app, person, address, Sort::Homogeneity).await
}

/// `POST /rounds/{code}/items/{label}/{position}/homogeneity`.
///
/// # Errors
///
/// A conflict once the round is published.
pub async fn homogeneity(
    State(app): State<App>,
    Path(address): Path<(String, String, i64)>,
    posted: Posted,
) -> Result<Response, Error> {
    record_study(app, address, posted, Sort::Homogeneity).await
}

/// `GET /rounds/{code}/items/{label}/{position}/stability`.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory; a refusal for a reviewer.
pub async fn ask_stability(
    State(app): State<App>,
    person: Person,
    Path(address): Path<(String, String, i64)>,
) -> Result<Response, Error> {
    ask_study(app, person, address, Sort::Stability).await
}

/// `POST /rounds/{code}/items/{label}/{position}/stability`.
///
/// # Errors
///
/// A conflict once the round is published.
pub async fn stability(
    State(app): State<App>,
    Path(address): Path<(String, String, i64)>,
    posted: Posted,
) -> Result<Response, Error> {
    record_study(app, address, posted, Sort::Stability).await
}

#[derive(Template)]
#[template(path = "items/studies.html")]
struct StudiesPage {
    f: Frame,
    round: Round,
    file: String,
    bad: Vec<BadRow>,
}

/// `GET /rounds/{code}/studies`: files for many measurands at once.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory; a refusal for a reviewer.
pub async fn ask_files(State(app): State<App>, person: Person, Path(code): Path<String>) -> Result<Response, Error> {
    let round = evaluating_round(&mut app.db.read().await?, &person.actor, &code).await?;
    ok(&StudiesPage { f: Frame::of(&app, &person), round, file: String::new(), bad: Vec::new() })
}

async fn upload(app: App, code: String, mut upload: Upload, sort: Sort) -> Result<Response, Error> {
    upload.person.actor.may_evaluate()?;
    let file = upload.read().await?;
    let mut tx = app.db.write().await?;
    let actor = &upload.person.actor;
    let round = evaluating_round(&mut tx, actor, &code).await?;
    let now = app.clock.now();
    let read = match sort {
        Sort::Homogeneity => items::import_homogeneity(&mut tx, actor, &round, &file, now).await,
        Sort::Stability => items::import_stability(&mut tx, actor, &round, &file, now).await,
    };
    match read {
        Ok(_) => {
            tx.commit().await?;
            Ok(go(&format!("/rounds/{code}/items"), "studies-imported"))
        }
        Err(FileRefused::Error(error)) => Err(error),
        Err(FileRefused::Rows(problems)) => {
            let f = Frame::of(&app, &upload.person);
            unprocessable(&StudiesPage { f, round, bad: bad_rows(app.words, &problems), file: upload.name })
        }
    }
}

/// `POST /rounds/{code}/studies/homogeneity`.
///
/// # Errors
///
/// A conflict once the round is published.
pub async fn upload_homogeneity(
    State(app): State<App>,
    Path(code): Path<String>,
    file: Upload,
) -> Result<Response, Error> {
    upload(app, code, file, Sort::Homogeneity).await
}

/// `POST /rounds/{code}/studies/stability`.
///
/// # Errors
///
/// A conflict once the round is published.
pub async fn upload_stability(
    State(app): State<App>,
    Path(code): Path<String>,
    file: Upload,
) -> Result<Response, Error> {
    upload(app, code, file, Sort::Stability).await
}

async fn template(app: App, person: Person, code: String, kind: Kind, sort: Sort) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = evaluating_round(&mut tx, &person.actor, &code).await?;
    let items = rounds::items(&mut tx, round.id).await?;
    let measurands = measurands::of_round(&mut tx, round.id).await?;
    drop(tx);
    let text = match sort {
        Sort::Homogeneity => import::homogeneity_template(),
        Sort::Stability => import::stability_template(),
    };
    let table = sheets::study_template(&Frame::of(&app, &person), text, &items, &measurands);
    kind.send(&format!("{}-{}", sort.word(), round.code), table).await
}

/// `GET /rounds/{code}/studies/homogeneity.csv` and `.xlsx`: a file to fill in.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory; a refusal for a reviewer.
pub async fn homogeneity_template(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    kind: Kind,
) -> Result<Response, Error> {
    template(app, person, code, kind, Sort::Homogeneity).await
}

/// `GET /rounds/{code}/studies/stability.csv` and `.xlsx`: a file to fill in.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory; a refusal for a reviewer.
pub async fn stability_template(
    State(app): State<App>,
    person: Person,
    Path(code): Path<String>,
    kind: Kind,
) -> Result<Response, Error> {
    template(app, person, code, kind, Sort::Stability).await
}
