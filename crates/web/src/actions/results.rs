//! What a laboratory types and sends.

use super::{Refused, field, keys, messages, record, second};
use crate::clock;
use crate::error::Error;
use crate::mail::{self, Post};
use crate::secret;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use roundel_domain::access::Actor;
use roundel_domain::declared::{self, Declared};
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::id::{ItemId, ParticipantId, SubmissionId};
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::receipt::{self, Receipt};
use roundel_domain::result::{self, Asked, Sheet, Submission, Typed};
use roundel_domain::round::{Intake, Round};
use roundel_domain::{draft, import, unit};
use roundel_selfcheck::Finding;
use roundel_store::drafts::{Draft, Saving};
use roundel_store::participants::{self, Participant};
use roundel_store::results::{self, NewSent, Seal};
use roundel_store::withdrawals::{self, Withdrawal};
use roundel_store::{Tx, drafts, installation, measurands, rounds};

/// Refuses what comes when the round takes nothing.
pub(super) fn must_take(round: &Round, now: Timestamp) -> Result<bool, Error> {
    match round.intake(now) {
        Intake::InTime => Ok(false),
        Intake::Late => Ok(true),
        Intake::NotYet => Err(Error::NotFound),
        Intake::Closed(at) => {
            let at = crate::show::instant(at, &round.time_zone);
            Err(Error::Conflict(Problem::new("conflict-closed").with("at", at)))
        }
        Intake::TooLate => {
            let at = crate::show::instant(round.closes_at, &round.time_zone);
            Err(Error::Conflict(Problem::new("conflict-too-late").with("at", at)))
        }
    }
}

/// A round as a laboratory of it answers it.
#[derive(Clone, Debug)]
pub struct Own {
    /// The round.
    pub round: Round,
    /// The laboratory's part in it.
    pub participant: Participant,
    /// Its items.
    pub items: Vec<Item>,
    /// Its measurands.
    pub measurands: Vec<Measurand>,
    /// The codes of the units that the laboratory got.
    pub codes: Vec<(ItemId, String)>,
    /// What was withdrawn of them.
    pub withdrawn: Vec<Withdrawal>,
}

impl Own {
    /// The round of this participant.
    ///
    /// # Errors
    ///
    /// What the database says.
    pub async fn load(tx: &mut Tx, round: Round, participant: Participant) -> Result<Own, Error> {
        let items = rounds::items(tx, round.id).await?;
        let measurands = measurands::of_round(tx, round.id).await?;
        let codes = participants::item_codes(tx, participant.id).await?;
        let withdrawn = withdrawals::of_round(tx, round.id).await?;
        Ok(Own { round, participant, items, measurands, codes, withdrawn })
    }

    /// Why a measurand was withdrawn; none where it was not.
    pub fn withdrawn(&self, measurand: &Measurand) -> Option<&str> {
        let of = |withdrawal: &&Withdrawal| withdrawal.covers(measurand.item, measurand.id);
        self.withdrawn.iter().find(of).map(|withdrawal| withdrawal.reason.as_str())
    }

    /// What is asked.
    pub fn asked(&self) -> Asked<'_> {
        Asked { items: &self.items, measurands: &self.measurands, asks: &self.round.asks }
    }

    /// The day of an instant, where the organiser is.
    pub fn today(&self, now: Timestamp) -> Date {
        now.to_zoned(TimeZone::get(&self.round.time_zone).unwrap_or(TimeZone::UTC)).date()
    }

    /// The labels of items, each with the code on the laboratory's own unit.
    pub fn labels(&self) -> Vec<(String, String)> {
        let label = |id: &ItemId| self.items.iter().find(|item| item.id == *id).map(|item| item.label.clone());
        self.codes.iter().filter_map(|(item, code)| Some((label(item)?, code.clone()))).collect()
    }

    /// All that was typed, read.
    pub fn read(&self, typed: &Typed, now: Timestamp) -> Reading {
        let mut sheet = result::read(typed, &self.asked(), None);
        let said = declared::read(typed, &self.asked(), &self.codes, self.today(now));
        if !self.round.asks.no_self_check {
            sheet.findings.extend(said.findings.iter().cloned());
        }
        Reading { sheet, said }
    }
}

/// What a laboratory typed for a round, read.
#[derive(Clone, Debug)]
pub struct Reading {
    /// The results; all questions about them and what is said beside them.
    pub sheet: Sheet,
    /// What is said beside results.
    pub said: declared::Read,
}

impl Reading {
    /// Everything that keeps it from being sent but questions without an answer.
    pub fn problems(&self) -> FieldErrors {
        let mut errors = self.sheet.errors.clone();
        for position in &self.sheet.empty {
            errors.push(format!("{position}.state"), Problem::new("result-empty"));
        }
        for (field, problem) in self.said.problems().iter() {
            errors.push(field, problem.clone());
        }
        errors
    }
}

/// What a form that was posted made of a draft.
#[derive(Clone, Debug)]
pub struct Saved {
    /// All that is typed now.
    pub typed: Typed,
    /// The version of the draft.
    pub version: i64,
}

/// The page that something was typed on.
#[derive(Clone, Copy, Debug, Default)]
pub struct Form<'a> {
    /// A word of its own.
    pub word: &'a str,
    /// The version of the draft that it showed; the newest where it does not say.
    pub base: Option<i64>,
}

impl Form<'_> {
    /// Whether this page made a saving: what it saved it has seen.
    fn made(&self, saving: &Saving) -> bool {
        !self.word.is_empty() && saving.form == self.word
    }
}

/// How the names of hidden fields begin that say in which unit a form showed its
/// numbers.
pub const SHOWN_UNIT: &str = "shown.";

/// The unit is chosen once, from what is offered, and changed only where it is
/// asked what the digits mean. Numbers typed on a page that showed another unit
/// are not taken.
fn keep_unit(own: &Own, stored: &Typed, shown: &[(&str, &str)], posted: &mut Typed) -> Result<(), Error> {
    for choice in unit::choices(&own.measurands) {
        let now = stored.get(&choice.field).to_owned();
        let wanted = posted.get(&choice.field).to_owned();
        let page = shown.iter().find(|(name, _)| name.strip_prefix(SHOWN_UNIT) == Some(&choice.field));
        let page = page.map(|(_, unit)| if wanted.is_empty() { (*unit).to_owned() } else { wanted.clone() });
        if !now.is_empty() && page.is_some_and(|page| !import::same_unit(&page, &now)) {
            let problem = Problem::new("conflict-unit-changed").with("unit", &now);
            return Err(Error::Conflict(problem));
        }
        if !now.is_empty() {
            posted.set(&choice.field, &now);
        } else if !choice.offered.contains(&wanted) {
            posted.set(&choice.field, "");
        }
    }
    Ok(())
}

/// Keeps what was typed, right or wrong, beside what others saved since the
/// form was shown.
///
/// # Errors
///
/// A conflict when the round takes no results any more.
pub async fn save<'a>(
    tx: &mut Tx,
    actor: &Actor,
    own: &Own,
    posted: impl Iterator<Item = (&'a str, &'a str)>,
    form: Form<'_>,
    now: Timestamp,
) -> Result<Saved, Error> {
    actor.may_enter()?;
    must_take(&own.round, now)?;
    results::hold(tx, own.participant.id).await?;
    let stored = drafts::get(tx, own.participant.id).await?;
    let (shown_units, posted): (Vec<_>, Vec<_>) = posted.partition(|(name, _)| name.starts_with(SHOWN_UNIT));
    let mut posted = Typed::posted(posted.into_iter(), &own.asked());
    keep_unit(own, &stored.typed, &shown_units, &mut posted)?;
    let shown = shown_at(tx, own.participant.id, &stored, form).await?;
    let typed = draft::merge(&stored.typed, &shown, &posted);
    let version = drafts::save(tx, own.participant.id, &stored, &typed, (actor.user(), form.word), now).await?;
    Ok(Saved { typed, version })
}

/// What a form showed, which was made at version `base` of the draft.
///
/// # Errors
///
/// What the database says.
pub(super) async fn shown_at(
    tx: &mut Tx,
    participant: ParticipantId,
    stored: &Draft,
    form: Form<'_>,
) -> Result<Typed, Error> {
    match form.base {
        Some(base) if base < stored.version => {
            let since = drafts::since(tx, participant, base).await?;
            Ok(draft::shown(&stored.typed, since.iter().map(|saving| (&saving.changes, form.made(saving)))))
        }
        _ => Ok(stored.typed.clone()),
    }
}

/// Changes the unit of the laboratory's numbers. Numbers that are typed are
/// converted with all their digits, or keep them, as was said.
///
/// # Errors
///
/// What is wrong with the form; the fields whose numbers cannot be converted.
pub async fn change_unit(
    tx: &mut Tx,
    actor: &Actor,
    own: &Own,
    choice: &unit::Choice,
    wanted: &str,
    digits: &str,
    now: Timestamp,
) -> Result<(), Refused> {
    actor.may_enter()?;
    must_take(&own.round, now)?;
    results::hold(tx, own.participant.id).await?;
    let stored = drafts::get(tx, own.participant.id).await?;
    if !choice.offered.iter().any(|offered| offered == wanted) {
        let key = if wanted.is_empty() { "unit-missing" } else { "choice-unknown" };
        return Err(field(&choice.field, Problem::new(key).with("unit", &choice.unit).with("seen", wanted)));
    }
    let before = stored.typed.get(&choice.field);
    let asks = !before.is_empty() && before != wanted && stored.typed.has_numbers();
    let typed = match digits {
        "convert" if asks => unit::convert(&stored.typed, choice, &own.measurands, &own.items, wanted)
            .map_err(|unread| field("digits", Problem::new("unit-unread").with("count", unread.len())))?,
        digits if !asks || digits == "keep" => {
            let mut typed = stored.typed.clone();
            typed.set(&choice.field, wanted);
            typed
        }
        _ => return Err(field("digits", Problem::new("unit-digits").with("before", before).with("after", wanted))),
    };
    drafts::save(tx, own.participant.id, &stored, &typed, (actor.user(), ""), now).await?;
    Ok(())
}

/// The fewest characters of what a form carries to be told apart from others.
const SHORTEST_ONCE: usize = 16;

/// What the form of a sending carries.
#[derive(Clone, Copy, Debug)]
pub struct SendForm<'a> {
    /// A word of its own, so that the form sent twice is one sending.
    pub once: &'a str,
    /// A late version may take the place of one that was in time.
    pub replace_in_time: bool,
    /// What is sent, where the results are not those of the draft.
    pub typed: Option<&'a Typed>,
    /// Questions about these results that their sender answers with "it is right
    /// as it stands", by name.
    pub confirmed: &'a [String],
    /// The page on which the draft was looked at before it is sent.
    pub from: Form<'a>,
}

/// The sending that a form with this word made before.
///
/// # Errors
///
/// What the database says.
pub async fn sent_before(
    tx: &mut Tx,
    actor: &Actor,
    participant: &Participant,
    once: &str,
) -> Result<Option<SubmissionId>, Error> {
    actor.may_see_results_of(participant.laboratory)?;
    Ok(results::by_once(tx, participant.id, once).await?)
}

/// Who changed the draft since a page showed it, answers to questions aside.
async fn changed_since(tx: &mut Tx, participant: ParticipantId, page: Form<'_>) -> Result<Option<String>, Error> {
    let Some(base) = page.base else { return Ok(None) };
    let since = drafts::since(tx, participant, base).await?;
    let changed =
        |saving: &&Saving| !page.made(saving) && saving.changes.0.keys().any(|field| !declared::is_answer(field));
    Ok(since.iter().find(changed).map(|saving| saving.name.clone()))
}

/// Sends the draft. The same form sent twice is one sending, and so is the same
/// content: the receipt is then the one that exists.
///
/// # Errors
///
/// What is wrong or empty, by field; who has to send where the laboratory wants a
/// second person; a conflict when the round takes no results any more.
pub async fn submit(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    participant: &Participant,
    form: SendForm<'_>,
    post: &Post,
    now: Timestamp,
) -> Result<SubmissionId, Refused> {
    actor.may_submit()?;
    if form.once.len() < SHORTEST_ONCE {
        return Err(Error::Unreadable(Problem::new("error-form-fields")).into());
    }
    results::hold(tx, participant.id).await?;
    if let Some(earlier) = results::by_once(tx, participant.id, form.once).await? {
        return Ok(earlier);
    }
    let late = must_take(round, now)?;
    if !rounds::hold(tx, round.id, &round.state).await? {
        // It was closed a moment ago; say when.
        let round = rounds::by_id(tx, round.id).await?.ok_or(Error::NotFound)?;
        must_take(&round, now)?;
        return Err(Error::conflict("conflict-not-open").into());
    }
    let own = Own::load(tx, round.clone(), participant.clone()).await?;
    let stored = drafts::get(tx, participant.id).await?;
    let mut typed = match form.typed {
        None => stored.typed.clone(),
        Some(results) => stored.typed.with_results_of(results),
    };
    let reading = own.read(&typed, now);
    if form.typed.is_some() {
        let named = |finding: &&Finding| form.confirmed.contains(&finding.id());
        for finding in reading.sheet.findings.iter().filter(named) {
            typed.set(&declared::answer_field(finding), &declared::confirmation(finding));
        }
    }
    let mut errors = reading.problems();
    if let Some(name) = changed_since(tx, participant.id, form.from).await? {
        errors.push("draft", Problem::new("draft-changed").with("name", name));
    }
    let (answers, waiting) = declared::answers(&typed, &reading.sheet.findings);
    for finding in waiting {
        let problem = Problem::new("answer-missing").with("question", finding.id());
        errors.push(declared::answer_field(finding), problem);
    }
    errors.into_result(())?;
    let declared = Declared { answers, ..reading.said.declared };
    let entries = reading.sheet.entries;
    let of_draft = match form.typed {
        None => entries.clone(),
        Some(_) => own.read(&stored.typed, now).sheet.entries,
    };
    let earlier = results::of_participant(tx, participant.id).await?;
    // What was typed on the page and not sent yet stays as it is.
    let mut draft_is_free = !stored.typed.has_results();
    if let Some(newest) = earlier.last() {
        let sent: Submission = newest.submission()?;
        draft_is_free |= of_draft == sent.results;
        if sent.results == entries && sent.declared == declared {
            // Nothing changed since: the receipt is the one that exists.
            return Ok(newest.id);
        }
    }
    second::must_be(tx, actor, &own, &stored, form.typed.is_some(), entries == of_draft, now).await?;
    if late && !form.replace_in_time && earlier.last().is_some_and(|newest| !newest.late) {
        return Err(field("replace", Problem::new("late-replaces")));
    }
    let version = earlier.last().map_or(0, |sent| sent.version) + 1;
    let document = result::document(round, &participant.code, version, now, late, entries, declared);
    let id = SubmissionId(clock::new_id());
    let sha256 = secret::sha256(&document);
    let key = keys::signing(tx, now).await?;
    let provider = installation::get(tx).await?.ok_or(Error::NotFound)?.provider;
    let path = format!("/receipts/{id}");
    let receipt = Receipt {
        format: receipt::FORMAT.to_owned(),
        reference: id.to_string(),
        address: post.address(&path),
        provider,
        round: round.code.clone(),
        participant: participant.code.clone(),
        version,
        received_at: receipt::received_at(now, &round.time_zone),
        late,
        sha256: sha256.clone(),
        key_id: key.public().id(),
    };
    let signed = receipt.text();
    let signature = key.sign(signed.as_bytes()).to_base64();
    let new = NewSent {
        id,
        participant: participant.id,
        version,
        once: form.once,
        document: &document,
        sha256: &sha256,
        late,
        at: now,
        by: actor.user(),
        seal: Some(Seal { receipt: &signed, key_id: &receipt.key_id, signature: &signature }),
    };
    results::insert(tx, &new).await?;
    if form.typed.is_some() && draft_is_free {
        drafts::save(tx, participant.id, &stored, &typed, (actor.user(), ""), now).await?;
    }
    record(tx, actor, "results-sent", round, &format!("{} version {version} {sha256}", participant.code), now).await?;
    let told = mail::Receipt {
        path: &path,
        reference: &receipt.reference,
        version,
        sha256: &sha256,
        key_id: &receipt.key_id,
        signature: &signature,
        late,
    };
    messages::receipt(tx, actor, round, participant, told, post, now).await?;
    Ok(id)
}
