//! The files that are kept of units: seen, sent and opened.

use super::units::item_of;
use super::{Frame, download, go, ok, organised_round, own_round, reviewed_round, seen_round, unprocessable};
use crate::actions::{Refused, look_ups, unit_files as actions};
use crate::error::Error;
use crate::extract::{LargeUpload, Path, Person};
use crate::show::{self, Errors};
use crate::state::App;
use askama::Template;
use axum::extract::State;
use axum::response::Response;
use roundel_domain::field::FieldErrors;
use roundel_domain::id::UnitFileId;
use roundel_domain::measurand::Item;
use roundel_domain::round::{Intake, Round};
use roundel_domain::unit_file;
use roundel_store::participants::Participant;
use roundel_store::unit_files::{self, Kept};
use roundel_store::{Tx, participants};
use uuid::Uuid;

struct FileLine {
    what: String,
    number: String,
    from: String,
    at: String,
    size: String,
    sha256: String,
    /// Where it is; empty for who may not open it.
    href: String,
    label: String,
}

#[derive(Template)]
#[template(path = "items/unit_files.html")]
struct FilesPage {
    f: Frame,
    round: Round,
    title: String,
    who: String,
    lines: Vec<FileLine>,
    /// Where a file is sent; empty where none is taken.
    target: String,
    /// Why none is taken; may be empty.
    ended: String,
    back: String,
    back_text: String,
    errors: Errors,
}

fn what(f: &Frame, kept: &Kept) -> String {
    f.t(&format!("unit-file-{}", kept.form().kind().word()))
}

/// Who sent a file, as the staff is told: of a laboratory nobody's name.
fn from(f: &Frame, kept: &Kept) -> String {
    if kept.from_laboratory { f.t("unit-file-laboratory") } else { kept.by.clone() }
}

/// A file in a few words, for the ledger.
pub(super) fn in_short(f: &Frame, round: &Round, kept: &Kept) -> String {
    let at = show::instant(kept.at(), &round.time_zone);
    f.t3("unit-file-in-short", "what", what(f, kept), "from", from(f, kept), "at", at)
}

/// Where the files of each item's unit are, for the laboratory.
pub(super) fn links(f: &Frame, round: &Round, items: &[Item]) -> Vec<(String, String)> {
    let link = |item: &Item| {
        (f.t1("item-name", "item", &item.label), format!("/rounds/{}/arrival/{}", round.code, item.label))
    };
    items.iter().map(link).collect()
}

async fn page(
    app: &App,
    tx: &mut Tx,
    person: &Person,
    round: Round,
    (item, participant): (&Item, &Participant),
) -> Result<FilesPage, Error> {
    let f = Frame::of(app, person);
    let actor = &person.actor;
    let own = actor.laboratory().is_some();
    let mut lines = Vec::new();
    for kept in unit_files::of_item(tx, item.id).await?.iter().filter(|kept| kept.participant == participant.id) {
        let opens = actor.may_open_unit_file(participant.laboratory, kept.from_laboratory).is_ok();
        if own && !opens {
            continue;
        }
        let at = show::instant(kept.at(), &round.time_zone);
        let what = what(&f, kept);
        lines.push(FileLine {
            label: f.t2("unit-file-open-label", "what", &what, "at", &at),
            what,
            number: kept.number.map(|number| number.to_string()).unwrap_or_default(),
            from: if own { kept.by.clone() } else { from(&f, kept) },
            at,
            size: f.t1("unit-file-size-of", "kilobytes", (kept.size + 999) / 1000),
            sha256: kept.sha256.clone(),
            href: if opens { format!("/rounds/{}/unit-files/{}", round.code, kept.id) } else { String::new() },
        });
    }
    let (base, may_send) = if own {
        (format!("/rounds/{}/arrival/{}", round.code, item.label), actor.may_enter().is_ok())
    } else {
        let base = format!("/rounds/{}/items/{}/units/{}", round.code, item.label, participant.code);
        (base, actor.may_organise().is_ok())
    };
    let ended = if round.is_draft() {
        f.t("conflict-unit-file-draft")
    } else if own && !matches!(round.intake(app.clock.now()), Intake::InTime | Intake::Late) {
        f.t("conflict-unit-file-ended")
    } else {
        String::new()
    };
    Ok(FilesPage {
        title: if own {
            f.t1("unit-files-own-title", "item", &item.label)
        } else {
            f.t2("unit-files-title", "code", &participant.code, "item", &item.label)
        },
        who: f.t(if own { "unit-file-who-own" } else { "unit-file-who" }),
        lines,
        target: if may_send && ended.is_empty() { format!("{base}/upload") } else { String::new() },
        ended: if may_send { ended } else { String::new() },
        back: if own {
            format!("/rounds/{}", round.code)
        } else {
            format!("/rounds/{}/items/{}", round.code, item.label)
        },
        back_text: if own {
            f.t1("back-to-round", "code", &round.code)
        } else {
            f.t1("ledger-link", "item", &item.label)
        },
        errors: Errors::default(),
        round,
        f,
    })
}

async fn participant_of(tx: &mut Tx, round: &Round, code: &str) -> Result<Participant, Error> {
    let all = participants::of_round(tx, round.id).await?;
    all.into_iter().find(|participant| participant.code == code).ok_or(Error::NotFound)
}

/// `GET /rounds/{code}/items/{label}/units/{lab}`: the files of a participant's unit.
///
/// # Errors
///
/// [`Error::NotFound`] for a laboratory, and for what the round does not have.
pub async fn of_unit(
    State(app): State<App>,
    person: Person,
    Path((code, label, lab)): Path<(String, String, String)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let round = reviewed_round(&mut tx, &person.actor, &code).await?;
    let item = item_of(&mut tx, &round, &label).await?;
    let participant = participant_of(&mut tx, &round, &lab).await?;
    ok(&page(&app, &mut tx, &person, round, (&item, &participant)).await?)
}

/// `POST /rounds/{code}/items/{label}/units/{lab}/upload`: keeps a file of a unit.
///
/// # Errors
///
/// [`Error::NotFound`] for everyone but the organiser; a conflict before the round is open.
pub async fn upload_of_unit(
    State(app): State<App>,
    Path((code, label, lab)): Path<(String, String, String)>,
    LargeUpload(upload): LargeUpload,
) -> Result<Response, Error> {
    let file = unit_file::read(&upload.name, &upload.bytes);
    let person = upload.person;
    let mut tx = app.db.write().await?;
    let round = organised_round(&mut tx, &person.actor, &code).await?;
    let item = item_of(&mut tx, &round, &label).await?;
    let participant = participant_of(&mut tx, &round, &lab).await?;
    keep(&app, tx, &person, round, (&item, &participant), file, &format!("/rounds/{code}/items/{label}/units/{lab}"))
        .await
}

/// `GET /rounds/{code}/arrival/{label}`: the files of the laboratory's own unit.
///
/// # Errors
///
/// [`Error::NotFound`] for a round or an item that does not exist for this person.
pub async fn own(
    State(app): State<App>,
    person: Person,
    Path((code, label)): Path<(String, String)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (round, participant) = own_round(&mut tx, &person.actor, &code).await?;
    let item = item_of(&mut tx, &round, &label).await?;
    ok(&page(&app, &mut tx, &person, round, (&item, &participant)).await?)
}

/// `POST /rounds/{code}/arrival/{label}/upload`: keeps a file of the own unit.
///
/// # Errors
///
/// A refusal for who may not enter; [`Error::NotFound`] as for the page; a conflict
/// once the round takes no results.
pub async fn upload_own(
    State(app): State<App>,
    Path((code, label)): Path<(String, String)>,
    LargeUpload(upload): LargeUpload,
) -> Result<Response, Error> {
    upload.person.actor.may_enter()?;
    let file = unit_file::read(&upload.name, &upload.bytes);
    let person = upload.person;
    let mut tx = app.db.write().await?;
    let (round, participant) = own_round(&mut tx, &person.actor, &code).await?;
    let item = item_of(&mut tx, &round, &label).await?;
    keep(&app, tx, &person, round, (&item, &participant), file, &format!("/rounds/{code}/arrival/{label}")).await
}

async fn keep(
    app: &App,
    mut tx: Tx,
    person: &Person,
    round: Round,
    unit: (&Item, &Participant),
    file: Result<unit_file::UnitFile, roundel_domain::field::Problem>,
    path: &str,
) -> Result<Response, Error> {
    let mut errors = FieldErrors::new();
    let done = match errors.keep("file", file) {
        Some(file) => actions::keep(&mut tx, &person.actor, &round, unit, &file, app.clock.now()).await,
        None => Err(Refused::Fields(errors)),
    };
    match done {
        Ok(()) => {
            tx.commit().await?;
            Ok(go(path, "unit-file-kept"))
        }
        Err(Refused::Error(error)) => Err(error),
        Err(Refused::Fields(errors)) => {
            let mut page = page(app, &mut tx, person, round, unit).await?;
            page.errors = Errors::of(app.words, &errors);
            unprocessable(&page)
        }
    }
}

/// `GET /rounds/{code}/unit-files/{id}`: a file, to be saved and never shown. That
/// the organiser opened what a laboratory sent is noted in the record of the round.
///
/// # Errors
///
/// A refusal for others of the staff; [`Error::NotFound`] for a laboratory whose it
/// is not, and for what the round does not have.
pub async fn file(
    State(app): State<App>,
    person: Person,
    Path((code, id)): Path<(String, Uuid)>,
) -> Result<Response, Error> {
    let mut tx = app.db.read().await?;
    let (round, _) = seen_round(&mut tx, &person.actor, &code).await?;
    let file = unit_files::whole(&mut tx, round.id, UnitFileId(id)).await?.ok_or(Error::NotFound)?;
    person.actor.may_open_unit_file(file.laboratory, file.from_laboratory)?;
    drop(tx);
    let form = file.form();
    if file.from_laboratory {
        let what = format!("{}, {}", form.kind().word(), file.item);
        look_ups::note_document(&app, &person.actor, &round, &file.code, &what).await?;
    }
    let number = file.number.map(|number| format!("-unit-{number}")).unwrap_or_default();
    let name = format!("{}-{}{number}-{}.{}", round.code, file.item, form.kind().word(), form.word());
    Ok(download(form.media_type(), &name, file.content))
}
