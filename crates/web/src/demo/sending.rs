//! What the laboratories of a round do: they type and send, with the mistakes of the
//! scenario.

use super::scenario::{Cell, CellState, Group, LaboratoryResults, Scenario, UncertaintyMode};
use super::{At, fault};
use crate::actions::results::{Form, Own, SendForm};
use crate::actions::{self, Refused};
use crate::error::Error;
use crate::mail::Post;
use jiff::{SignedDuration, Timestamp};
use roundel_domain::access::Actor;
use roundel_domain::declared;
use roundel_domain::result::Typed;
use roundel_store::participants::Participant;
use roundel_store::{Db, Tx, drafts, participants, rounds};
use std::collections::HashMap;

/// Everybody types and sends, with the mistakes of the scenario.
pub(super) async fn send(
    db: &Db,
    scenario: &Scenario,
    actors: &HashMap<&'static str, Actor>,
    at: &At,
    deadline: Timestamp,
    post: &Post,
) -> Result<(), Error> {
    let mut tx = db.write().await?;
    let round = rounds::by_code(&mut tx, scenario.code).await?.ok_or(Error::NotFound)?;
    let enrolled = participants::of_round(&mut tx, round.id).await?;
    for (number, laboratory) in scenario.laboratories.iter().enumerate() {
        let code = laboratory.code.to_string();
        let participant = enrolled.iter().find(|p| p.code == code).ok_or(Error::NotFound)?;
        let sender = Sender {
            own: Own::load(&mut tx, round.clone(), participant.clone()).await?,
            actor: actors.get(laboratory.id).ok_or(Error::NotFound)?,
            post,
        };
        let when = match laboratory.late_by_hours {
            Some(hours) => deadline + SignedDuration::from_hours(i64::from(hours)),
            // A few hours apart, all in the last days before the deadline.
            None => at.opened + SignedDuration::from_hours(24 * 20 + 3 * i64::try_from(number).unwrap_or(0)),
        };
        if let Some(attempt) = &laboratory.refused_attempt
            && !attempt.typed.is_empty()
        {
            let mut cells = laboratory.cells.clone();
            for cell in &mut cells {
                if let Some((_, _, text)) =
                    attempt.typed.iter().find(|(item, analyte, _)| *item == cell.item && *analyte == cell.analyte)
                {
                    cell.state = CellState::Value;
                    cell.text = (*text).to_owned();
                    cell.choice = None;
                }
            }
            sender.refuse(&mut tx, laboratory, &cells, when).await?;
        }
        if let Some(other) = laboratory.refused_attempt.as_ref().and_then(|attempt| attempt.code_of) {
            sender.use_label_of(&mut tx, other, &scenario.laboratories, &enrolled, when).await?;
        }
        let later = when + SignedDuration::from_mins(20);
        sender.save(&mut tx, laboratory.group, &laboratory.cells, later).await?;
        if !laboratory.draft_only {
            sender.submit(&mut tx, laboratory, later).await?;
        }
    }
    tx.commit().await?;
    Ok(())
}

struct Sender<'a> {
    own: Own,
    actor: &'a Actor,
    post: &'a Post,
}

impl Sender<'_> {
    async fn save(&self, tx: &mut Tx, group: Group, cells: &[Cell], now: Timestamp) -> Result<(), Error> {
        let own = &self.own;
        let mut typed = form(cells, |item, analyte| {
            let item = own.items.iter().find(|known| known.label == item)?;
            own.measurands.iter().find(|m| m.item == item.id && m.analyte == analyte).map(|m| m.position)
        });
        beside(&mut typed, own, group, now);
        let posted = typed.0.iter().map(|(name, text)| (name.as_str(), text.as_str()));
        actions::results::save(tx, self.actor, own, posted, Form::default(), now).await?;
        Ok(())
    }

    /// Says of all questions that everything is right, as each laboratory of the
    /// scenario does.
    async fn confirm(&self, tx: &mut Tx, now: Timestamp) -> Result<(), Error> {
        let draft = drafts::get(tx, self.own.participant.id).await?;
        let findings = self.own.read(&draft.typed, now).sheet.findings;
        let answers: Vec<(String, String)> =
            findings.iter().map(|finding| (declared::answer_field(finding), declared::confirmation(finding))).collect();
        let posted = answers.iter().map(|(name, text)| (name.as_str(), text.as_str()));
        actions::results::save(tx, self.actor, &self.own, posted, Form::default(), now).await?;
        Ok(())
    }

    async fn submit(&self, tx: &mut Tx, laboratory: &LaboratoryResults, now: Timestamp) -> Result<(), Error> {
        self.confirm(tx, now).await?;
        let once = format!("demonstration of {}", laboratory.id);
        self.send(tx, &once, now).await.map_err(fault)
    }

    async fn send(&self, tx: &mut Tx, once: &str, now: Timestamp) -> Result<(), Refused> {
        let form = SendForm { once, replace_in_time: false, typed: None, confirmed: &[], from: Form::default() };
        let Own { round, participant, .. } = &self.own;
        actions::results::submit(tx, self.actor, round, participant, form, self.post, now).await?;
        Ok(())
    }

    /// The first attempt of the scenario, which the form must refuse.
    async fn refuse(
        &self,
        tx: &mut Tx,
        laboratory: &LaboratoryResults,
        cells: &[Cell],
        now: Timestamp,
    ) -> Result<(), Error> {
        self.save(tx, laboratory.group, cells, now).await?;
        self.must_refuse(tx, laboratory.id, now).await
    }

    async fn must_refuse(&self, tx: &mut Tx, laboratory: &str, now: Timestamp) -> Result<(), Error> {
        self.confirm(tx, now).await?;
        match self.send(tx, &format!("first attempt of {laboratory}"), now).await {
            Err(Refused::Fields(_)) => Ok(()),
            Err(Refused::Error(error)) => Err(error),
            Ok(()) => Err(Error::Fault(format!("make the demonstration: the first attempt of {laboratory} was taken"))),
        }
    }

    /// X22: types the code on a label of another laboratory's item first.
    async fn use_label_of(
        &self,
        tx: &mut Tx,
        other: &str,
        laboratories: &[LaboratoryResults],
        enrolled: &[Participant],
        now: Timestamp,
    ) -> Result<(), Error> {
        let code = laboratories.iter().find(|laboratory| laboratory.id == other).map(|l| l.code.to_string());
        let other = enrolled.iter().find(|p| Some(&p.code) == code.as_ref()).ok_or(Error::NotFound)?;
        let codes = participants::item_codes(tx, other.id).await?;
        let item = self.own.items.first().ok_or(Error::NotFound)?;
        let foreign = codes.iter().find(|(of, _)| *of == item.id).map(|(_, code)| code.clone()).unwrap_or_default();
        let field = format!("{}.code", item.label);
        let posted = [(field.as_str(), foreign.as_str())].into_iter();
        actions::results::save(tx, self.actor, &self.own, posted, Form::default(), now).await?;
        self.must_refuse(tx, &format!("{} with a foreign label", self.own.participant.code), now).await
    }
}

/// What a laboratory of the scenario says beside its results.
fn beside(typed: &mut Typed, own: &Own, group: Group, now: Timestamp) {
    let day = |before: i64| (now - SignedDuration::from_hours(24 * before)).strftime("%Y-%m-%d").to_string();
    for item in &own.items {
        let mut set = |part: &str, text: &str| typed.set(&format!("{}.{part}", item.label), text);
        let code = own.codes.iter().find(|(of, _)| *of == item.id).map_or("", |(_, code)| code.as_str());
        set("code", code);
        set("received_on", &day(14));
        set("condition", "intact");
        set("analysed_on", &day(9));
    }
    let (enrichment, detection, calibration, standard) = match group {
        Group::M1 => ("online", "tandem_ms", "isotope_dilution", "labelled_each"),
        Group::M2 => ("direct", "tandem_ms", "isotope_dilution", "labelled_each"),
        Group::M3 => ("direct", "tandem_ms", "in_solvent", "no_standard"),
        Group::M4 => ("offline_solid_phase", "high_resolution_ms", "in_matrix", "labelled_some"),
    };
    for (field, text) in [
        ("all.unit", "ng/L"),
        ("all.m_enrichment", enrichment),
        ("all.m_separation", "liquid"),
        ("all.m_detection", detection),
        ("all.m_calibration", calibration),
        ("all.m_standard", standard),
        ("all.m_deviation", "no"),
        ("all.own", "yes"),
    ] {
        typed.set(field, text);
    }
    for measurand in declared::analytes(&own.measurands) {
        typed.set(&format!("{}.basis", measurand.position), "yes");
    }
}

/// The cells as the fields of the form.
fn form(cells: &[Cell], position: impl Fn(&str, &str) -> Option<i64>) -> Typed {
    let mut typed = Typed::default();
    for cell in cells {
        let Some(n) = position(cell.item, cell.analyte) else { continue };
        let mut set = |part: &str, text: &str| typed.0.insert(format!("{n}.{part}"), text.to_owned());
        let state = match cell.state {
            CellState::Value => "value",
            CellState::Below => "below",
            CellState::NotAnalysed => "not_analysed",
        };
        set("state", state);
        set("reason", if cell.state == CellState::NotAnalysed { "out_of_scope" } else { "" });
        set("v1", &cell.text);
        set("v1.reading", cell.choice.as_deref().unwrap_or_default());
        set("u", if cell.state == CellState::Value { &cell.uncertainty } else { "" });
        set("k", if cell.state == CellState::Value && !cell.uncertainty.is_empty() { &cell.k } else { "" });
        set("loq", &cell.loq);
        if let Some(mode) = cell.uncertainty_mode {
            let word = match mode {
                UncertaintyMode::Absolute => "absolute",
                UncertaintyMode::Percent => "percent",
            };
            typed.0.insert(format!("{}.u_as", cell.item), word.to_owned());
        }
    }
    typed
}
