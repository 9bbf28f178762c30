//! Messages by mail: their texts, and queueing them in the transaction of what
//! they tell of. [`crate::jobs`] sends them afterwards, through [`crate::smtp`].
//!
//! Mail is not private: no subject and no text has a result, a score or the code
//! of a laboratory.

use crate::actions::accounts::INVITATION_OPEN;
use crate::clock;
use crate::show;
use jiff::Timestamp;
use roundel_documents::report::Changed;
use roundel_documents::words::Words;
use roundel_domain::id::{LaboratoryId, MessageId};
use roundel_domain::round::{Intake, Round};
use roundel_store::installation::Installation;
use roundel_store::outbox::{self, Kind, NewMessage};
use roundel_store::{Error, Tx};
use std::sync::Arc;

/// Stands in a stored text where the link of an invitation goes; no token is
/// kept. (U+FFFC, the object replacement character.)
pub const LINK: &str = "\u{fffc}";

/// Where people reach the service, whether messages are queued, and in whose name:
/// made by [`crate::state::App::post`] and handed to the actions that have
/// something to tell.
#[derive(Clone, Debug)]
pub struct Post {
    public_url: Arc<str>,
    letterhead: Option<Letterhead>,
}

#[derive(Clone, Debug)]
struct Letterhead {
    provider: Installation,
    public_url: Arc<str>,
}

/// Whom a message goes to.
#[derive(Clone, Copy, Debug)]
pub struct To<'a> {
    /// The laboratory.
    pub laboratory: LaboratoryId,
    /// Its name.
    pub laboratory_name: &'a str,
    /// The person's address.
    pub email: &'a str,
    /// The person's name; empty for an invitation.
    pub name: &'a str,
}

/// What is told of a corrected report.
#[derive(Clone, Copy, Debug)]
pub struct Corrected<'a> {
    /// The report's version.
    pub version: i64,
    /// The version that it replaces.
    pub replaces: i64,
    /// Why, without a code of a laboratory.
    pub reason: &'a str,
    /// Measurands whose assigned value or classes are not as they were.
    pub changed: &'a [Changed],
}

/// What the receipt of a sending says.
#[derive(Clone, Copy, Debug)]
pub struct Receipt<'a> {
    /// Path of the receipt's page.
    pub path: &'a str,
    /// The sending's name for good.
    pub reference: &'a str,
    /// Which version it is.
    pub version: i64,
    /// SHA-256 of what was sent.
    pub sha256: &'a str,
    /// Name of the key that signed it.
    pub key_id: &'a str,
    /// The signature, in Base64.
    pub signature: &'a str,
    /// Whether it came late.
    pub late: bool,
}

impl Post {
    /// Queues nothing: no mail is set up. People reach the service at `public_url`.
    pub fn none(public_url: Arc<str>) -> Post {
        Post { public_url, letterhead: None }
    }

    /// Queues messages in the name of `provider`, with links to `public_url`.
    pub fn of(provider: Installation, public_url: Arc<str>) -> Post {
        Post { public_url: public_url.clone(), letterhead: Some(Letterhead { provider, public_url }) }
    }

    /// The address of a path of the service.
    pub fn address(&self, path: &str) -> String {
        format!("{}{path}", self.public_url)
    }

    /// Whether messages are queued.
    pub fn is_set_up(&self) -> bool {
        self.letterhead.is_some()
    }

    /// Queues an invitation of a laboratory.
    ///
    /// # Errors
    ///
    /// What the database says.
    pub async fn invitation(&self, tx: &mut Tx, round: &Round, to: To<'_>, now: Timestamp) -> Result<(), Error> {
        let Some(letterhead) = &self.letterhead else { return Ok(()) };
        let days = (INVITATION_OPEN.as_hours() / 24).to_string();
        let deadline = show::instant(round.closes_at, &round.time_zone);
        let text = letterhead.text(
            "mail-body-invitation",
            Some(round),
            to,
            &[("days", &days), ("deadline", &deadline), ("link", LINK)],
        );
        letterhead.queue(tx, Kind::Invitation, Some(round), to, &text, now).await
    }

    /// Queues a reminder that no results have been sent.
    ///
    /// # Errors
    ///
    /// What the database says.
    pub async fn reminder(&self, tx: &mut Tx, round: &Round, to: To<'_>, now: Timestamp) -> Result<(), Error> {
        let Some(letterhead) = &self.letterhead else { return Ok(()) };
        let deadline = show::instant(round.closes_at, &round.time_zone);
        let late = yes(round.intake(now) != Intake::InTime);
        let link = letterhead.link(&format!("/rounds/{}", round.code));
        let text = letterhead.text(
            "mail-body-reminder",
            Some(round),
            to,
            &[("deadline", &deadline), ("late", late), ("link", &link)],
        );
        letterhead.queue(tx, Kind::Reminder, Some(round), to, &text, now).await
    }

    /// Queues the receipt of a sending.
    ///
    /// # Errors
    ///
    /// What the database says.
    pub async fn receipt(
        &self,
        tx: &mut Tx,
        round: &Round,
        to: To<'_>,
        receipt: Receipt<'_>,
        now: Timestamp,
    ) -> Result<(), Error> {
        let Some(letterhead) = &self.letterhead else { return Ok(()) };
        let text = letterhead.text(
            "mail-body-receipt",
            Some(round),
            to,
            &[
                ("version", &receipt.version.to_string()),
                ("at", &show::exact(now)),
                ("reference", receipt.reference),
                ("sha256", receipt.sha256),
                ("key", receipt.key_id),
                ("signature", receipt.signature),
                ("keys", &letterhead.link("/keys")),
                ("late", yes(receipt.late)),
                ("link", &letterhead.link(receipt.path)),
            ],
        );
        letterhead.queue(tx, Kind::Receipt, Some(round), to, &text, now).await
    }

    /// Queues the news that a round is published, to a laboratory that took part or
    /// sent nothing.
    ///
    /// # Errors
    ///
    /// What the database says.
    pub async fn publication(
        &self,
        tx: &mut Tx,
        round: &Round,
        to: To<'_>,
        took_part: bool,
        now: Timestamp,
    ) -> Result<(), Error> {
        let Some(letterhead) = &self.letterhead else { return Ok(()) };
        let link = letterhead.link(&format!("/rounds/{}", round.code));
        let text = letterhead.text(
            "mail-body-publication",
            Some(round),
            to,
            &[("took-part", yes(took_part)), ("link", &link)],
        );
        letterhead.queue(tx, Kind::Publication, Some(round), to, &text, now).await
    }

    /// Queues the news that published scores were corrected. Why stands on the page.
    ///
    /// # Errors
    ///
    /// What the database says.
    pub async fn correction(&self, tx: &mut Tx, round: &Round, to: To<'_>, now: Timestamp) -> Result<(), Error> {
        let Some(letterhead) = &self.letterhead else { return Ok(()) };
        let link = letterhead.link(&format!("/rounds/{}", round.code));
        let text = letterhead.text("mail-body-correction", Some(round), to, &[("link", &link)]);
        letterhead.queue(tx, Kind::Correction, Some(round), to, &text, now).await
    }

    /// Queues the news that a corrected report took the place of the one before, with
    /// the reason and the measurands that changed. Their numbers stand in the report.
    ///
    /// # Errors
    ///
    /// What the database says.
    pub async fn report_correction(
        &self,
        tx: &mut Tx,
        round: &Round,
        to: To<'_>,
        corrected: Corrected<'_>,
        now: Timestamp,
    ) -> Result<(), Error> {
        let Some(letterhead) = &self.letterhead else { return Ok(()) };
        let link = letterhead.link(&format!("/rounds/{}/report", round.code));
        let (version, replaces) = (corrected.version.to_string(), corrected.replaces.to_string());
        let text = letterhead.text(
            "mail-body-report-correction",
            Some(round),
            to,
            &[
                ("version", &version),
                ("replaces", &replaces),
                ("reason", &plain(corrected.reason)),
                ("changed", &changes(corrected.changed)),
                ("link", &link),
            ],
        );
        letterhead.queue(tx, Kind::ReportCorrection, Some(round), to, &text, now).await
    }

    /// Queues an invitation of a person by a colleague of the same laboratory.
    ///
    /// # Errors
    ///
    /// What the database says.
    pub async fn colleague(&self, tx: &mut Tx, to: To<'_>, colleague: &str, now: Timestamp) -> Result<(), Error> {
        let Some(letterhead) = &self.letterhead else { return Ok(()) };
        let days = (INVITATION_OPEN.as_hours() / 24).to_string();
        let colleague = plain(colleague);
        let text = letterhead.text(
            "mail-body-colleague",
            None,
            to,
            &[("colleague", &colleague), ("days", &days), ("link", LINK)],
        );
        letterhead.queue(tx, Kind::Colleague, None, to, &text, now).await
    }

    /// Queues the news that a question was answered. What was asked and answered
    /// stands on the page only: mail is not private.
    ///
    /// # Errors
    ///
    /// What the database says.
    pub async fn answer(&self, tx: &mut Tx, round: &Round, to: To<'_>, now: Timestamp) -> Result<(), Error> {
        let Some(letterhead) = &self.letterhead else { return Ok(()) };
        let link = letterhead.link(&format!("/rounds/{}/questions", round.code));
        let text = letterhead.text("mail-body-answer", Some(round), to, &[("link", &link)]);
        letterhead.queue(tx, Kind::Answer, Some(round), to, &text, now).await
    }

    /// Queues the news that the deadline of a round is later than it was `before`.
    ///
    /// # Errors
    ///
    /// What the database says.
    pub async fn deadline(
        &self,
        tx: &mut Tx,
        round: &Round,
        to: To<'_>,
        before: Timestamp,
        reason: &str,
        now: Timestamp,
    ) -> Result<(), Error> {
        let Some(letterhead) = &self.letterhead else { return Ok(()) };
        let at = |at| show::instant(at, &round.time_zone);
        let text = letterhead.text(
            "mail-body-deadline",
            Some(round),
            to,
            &[
                ("before", &at(before)),
                ("deadline", &at(round.closes_at)),
                ("reason", &plain(reason)),
                ("link", &letterhead.link(&format!("/rounds/{}", round.code))),
            ],
        );
        letterhead.queue(tx, Kind::Deadline, Some(round), to, &text, now).await
    }
}

impl Post {
    /// Queues the request to confirm results. Which ones stands on the page only.
    ///
    /// # Errors
    ///
    /// What the database says.
    pub async fn clarification(&self, tx: &mut Tx, round: &Round, to: To<'_>, now: Timestamp) -> Result<(), Error> {
        let Some(letterhead) = &self.letterhead else { return Ok(()) };
        let link = letterhead.link(&format!("/rounds/{}/clarifications", round.code));
        let text = letterhead.text("mail-body-clarification", Some(round), to, &[("link", &link)]);
        letterhead.queue(tx, Kind::Clarification, Some(round), to, &text, now).await
    }

    /// Queues the news that an item or a measurand is withdrawn, with the reason that
    /// the organiser gives to all.
    ///
    /// # Errors
    ///
    /// What the database says.
    pub async fn withdrawal(
        &self,
        tx: &mut Tx,
        round: &Round,
        to: To<'_>,
        (what, reason): (&str, &str),
        now: Timestamp,
    ) -> Result<(), Error> {
        let Some(letterhead) = &self.letterhead else { return Ok(()) };
        let link = letterhead.link(&format!("/rounds/{}", round.code));
        let (what, reason) = (plain(what), plain(reason));
        let values = [("what", what.as_str()), ("reason", &reason), ("link", &link)];
        let text = letterhead.text("mail-body-withdrawal", Some(round), to, &values);
        letterhead.queue(tx, Kind::Withdrawal, Some(round), to, &text, now).await
    }
}

/// So many measurands are named in a message.
const NAMED: usize = 20;

/// A line for each measurand that changed, without a number of it.
fn changes(changed: &[Changed]) -> String {
    let words = Words::English;
    let line = |one: &Changed| {
        let key = match (one.before == one.after, one.classes) {
            (true, _) => "mail-report-classes",
            (false, 0) => "mail-report-value",
            (false, _) => "mail-report-both",
        };
        let measurand = plain(&one.measurand);
        words.with(key, &[("measurand", &measurand), ("count", &one.classes.to_string())])
    };
    let mut lines: Vec<String> = changed.iter().take(NAMED).map(line).collect();
    if changed.len() > NAMED {
        lines.push(words.with("mail-report-more", &[("count", &(changed.len() - NAMED).to_string())]));
    }
    if lines.is_empty() { words.t("mail-report-nothing") } else { lines.join("\n") }
}

fn yes(is: bool) -> &'static str {
    if is { "yes" } else { "no" }
}

/// A text without the mark of a link, which only we may set.
fn plain(text: &str) -> String {
    text.replace(LINK, "")
}

impl Letterhead {
    fn link(&self, path: &str) -> String {
        format!("{}{path}", self.public_url)
    }

    /// The text of a message, with who sends it below.
    fn text(&self, key: &str, round: Option<&Round>, to: To<'_>, values: &[(&str, &str)]) -> String {
        let words = Words::English;
        let provider = plain(&self.provider.provider);
        let title = round.map(|round| plain(&round.title)).unwrap_or_default();
        let (laboratory, name) = (plain(to.laboratory_name), plain(to.name));
        let mut all = vec![
            ("provider", provider.as_str()),
            ("title", &title),
            ("code", round.map_or("", |round| round.code.as_str())),
            ("laboratory", &laboratory),
            ("name", &name),
        ];
        all.extend_from_slice(values);
        let mut parts = Vec::new();
        if self.provider.demonstration {
            parts.push(words.t("mail-demonstration"));
        }
        parts.push(words.with(key, &all));
        parts.push(format!("-- \n{provider}\n{}", plain(&self.provider.contact)));
        parts.join("\n\n").trim_end().to_owned()
    }

    fn subject(&self, kind: Kind, round: Option<&Round>, to: To<'_>) -> String {
        let key = match kind {
            Kind::Invitation => "mail-subject-invitation",
            Kind::Reminder => "mail-subject-reminder",
            Kind::Receipt => "mail-subject-receipt",
            Kind::Publication => "mail-subject-publication",
            Kind::Correction => "mail-subject-correction",
            Kind::ReportCorrection => "mail-subject-report-correction",
            Kind::Colleague => "mail-subject-colleague",
            Kind::Answer => "mail-subject-answer",
            Kind::Withdrawal => "mail-subject-withdrawal",
            Kind::Clarification => "mail-subject-clarification",
            Kind::Deadline => "mail-subject-deadline",
        };
        let title = round.map_or("", |round| round.title.as_str());
        let values =
            [("provider", self.provider.provider.as_str()), ("title", title), ("laboratory", to.laboratory_name)];
        let subject = Words::English.with(key, &values);
        // No form takes a line end here; a header must not depend on that.
        subject.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
    }

    async fn queue(
        &self,
        tx: &mut Tx,
        kind: Kind,
        round: Option<&Round>,
        to: To<'_>,
        text: &str,
        now: Timestamp,
    ) -> Result<(), Error> {
        let subject = self.subject(kind, round, to);
        let message = NewMessage {
            id: MessageId(clock::new_id()),
            kind,
            round: round.map(|round| round.id),
            laboratory: Some(to.laboratory),
            recipient: to.email,
            subject: &subject,
            body: text,
        };
        outbox::enqueue(tx, &message, now).await
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use roundel_domain::asks::Asks;
    use roundel_domain::id::RoundId;
    use roundel_domain::round::RoundState;

    #[test]
    fn a_title_makes_no_header_and_no_link_and_demonstration_data_is_called_so() {
        let now: Timestamp = "2027-03-01T12:00:00Z".parse().unwrap();
        let round = Round {
            id: RoundId(clock::new_id()),
            code: "QW-1".to_owned(),
            title: format!("Traces\r\nBcc: all@quillmere.example {LINK}"),
            scheme: String::new(),
            instructions: String::new(),
            time_zone: "Europe/Vienna".to_owned(),
            closes_at: now,
            asks: Asks::default(),
            state: RoundState::Open { opened_at: now },
        };
        let provider = Installation {
            provider: "Quillmere Office".to_owned(),
            contact: String::new(),
            accreditation: String::new(),
            demonstration: true,
        };
        let letterhead = Letterhead { provider, public_url: "https://pt.example".into() };
        let to = To { laboratory: LaboratoryId(clock::new_id()), laboratory_name: "Mill", email: "", name: "Ada" };

        let subject = letterhead.subject(Kind::Invitation, Some(&round), to);
        let text = letterhead.text("mail-body-invitation", Some(&round), to, &[("link", LINK)]);

        assert!(!subject.contains(['\r', '\n']), "{subject:?}");
        assert_eq!(text.matches(LINK).count(), 1, "{text}");
        assert!(text.starts_with("Demonstration data: "), "{text}");
    }
}
