//! Laboratories and their enrolment.

use super::design::FileRefused;
use super::{Refused, accounts, field, must_be_draft, record};
use crate::clock;
use crate::error::Error;
use jiff::Timestamp;
use roundel_domain::access::Actor;
use roundel_domain::code::LabCode;
use roundel_domain::field::{FieldErrors, Problem};
use roundel_domain::id::{LaboratoryId, ParticipantId};
use roundel_domain::import;
use roundel_domain::laboratory::{Laboratory, NewLaboratory};
use roundel_domain::round::Round;
use roundel_domain::text;
use roundel_store::{Tx, laboratories, participants};
use std::collections::{HashMap, HashSet};

/// Draws a code: random, but for the demonstration, which must be the same
/// every time.
pub type Draw<'a> = &'a mut (dyn FnMut() -> LabCode + Send);

/// A code from the operating system's random source.
pub fn random_code() -> LabCode {
    LabCode::from_random(clock::random())
}

/// Enrols a laboratory, which is added if it is not known yet; its code.
///
/// # Errors
///
/// Every field that is not as it should be.
pub async fn enrol(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    new: &NewLaboratory,
    draw: Draw<'_>,
    now: Timestamp,
) -> Result<String, Refused> {
    actor.may_organise()?;
    must_be_draft(tx, round).await?;
    let mut enrolment = Enrolment::of(tx, round).await?;
    let laboratory = match enrolment.find(new) {
        Ok(known) => known,
        Err((name, problem)) => return Err(field(name, problem)),
    };
    let code = enrolment.enrol(tx, round, laboratory, new, draw, now).await?;
    record(tx, actor, "laboratory-enrolled", round, &code, now).await?;
    Ok(code)
}

/// Enrols the laboratories of a file; how many.
///
/// # Errors
///
/// Every row that is not as it should be; then nothing happened.
pub async fn import(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    file: &import::File,
    now: Timestamp,
) -> Result<usize, FileRefused> {
    actor.may_organise()?;
    must_be_draft(tx, round).await?;
    let rows = import::laboratories(file).map_err(FileRefused::Rows)?;
    let mut enrolment = Enrolment::of(tx, round).await?;
    let mut problems = Vec::new();
    let mut found = Vec::new();
    for row in &rows {
        let new = NewLaboratory {
            name: row.name.clone(),
            email: row.email.to_lowercase(),
            organisation: row.organisation.clone(),
        };
        match enrolment.find(&new) {
            Ok(known) => found.push((new, known)),
            Err((column, problem)) => problems.push(import::RowProblem {
                line: row.line,
                column: Some(column.to_owned()),
                seen: problem.value("seen").map(str::to_owned),
                problem,
            }),
        }
    }
    if !problems.is_empty() {
        return Err(FileRefused::Rows(problems));
    }
    for (new, known) in &found {
        enrolment.enrol(tx, round, *known, new, &mut random_code, now).await?;
    }
    record(tx, actor, "laboratories-imported", round, &found.len().to_string(), now).await?;
    Ok(found.len())
}

/// Enrols laboratories, given as name, address and organisation, all or none;
/// how many.
///
/// # Errors
///
/// Every field that is not as it should be, with the place of its row before its
/// name: `2.email`.
pub async fn enrol_all(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    forms: &[[String; 3]],
    now: Timestamp,
) -> Result<usize, Refused> {
    actor.may_organise()?;
    must_be_draft(tx, round).await?;
    let mut enrolment = Enrolment::of(tx, round).await?;
    let mut errors = FieldErrors::new();
    let mut found: Vec<(NewLaboratory, Option<LaboratoryId>)> = Vec::new();
    let (mut names, mut emails) = (HashSet::new(), HashSet::new());
    for (row, [name, email, organisation]) in forms.iter().enumerate() {
        let new = match NewLaboratory::parse(name, email, organisation) {
            Ok(new) => new,
            Err(wrong) => {
                errors.extend_in(row, wrong);
                continue;
            }
        };
        if !names.insert(text::key(&new.name)) {
            errors.push(format!("{row}.name"), Problem::new("problem-laboratory-twice").with("seen", &new.name));
        } else if !emails.insert(new.email.clone()) {
            errors.push(format!("{row}.email"), Problem::new("problem-laboratory-twice").with("seen", &new.email));
        } else {
            match enrolment.find(&new) {
                Ok(known) => found.push((new, known)),
                Err((name, problem)) => errors.push(format!("{row}.{name}"), problem),
            }
        }
    }
    errors.into_result(())?;
    for (new, known) in &found {
        let code = enrolment.enrol(tx, round, *known, new, &mut random_code, now).await?;
        record(tx, actor, "laboratory-enrolled", round, &code, now).await?;
    }
    Ok(found.len())
}

/// An invitation that was made. Its token is told this once.
#[derive(Clone, Debug)]
pub struct Invited {
    /// Code of the laboratory in the round.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Where the link is to go.
    pub email: String,
    /// The end of the link.
    pub token: String,
}

/// Invites the laboratory with this code, or, without one, all that have neither
/// an account nor an open invitation; by name.
///
/// # Errors
///
/// [`Error::NotFound`] for a code that the round does not have.
pub async fn invite(
    tx: &mut Tx,
    actor: &Actor,
    round: &Round,
    code: &str,
    now: Timestamp,
) -> Result<Vec<Invited>, Error> {
    actor.may_organise()?;
    let lines = participants::enrolled(tx, round.id).await?;
    if !code.is_empty() && lines.iter().all(|line| line.code != code) {
        return Err(Error::NotFound);
    }
    let mut invited = Vec::new();
    for line in lines {
        let wanted = if code.is_empty() { line.invited_until(now).is_none() } else { line.code == code };
        if line.people == 0 && wanted {
            let token = accounts::invite(tx, actor, line.laboratory, now).await?;
            invited.push(Invited { code: line.code, name: line.name, email: line.email, token });
        }
    }
    Ok(invited)
}

/// Ends an enrolment in a round that has not opened.
///
/// # Errors
///
/// A conflict once it is open.
pub async fn remove(tx: &mut Tx, actor: &Actor, round: &Round, code: &str, now: Timestamp) -> Result<(), Error> {
    actor.may_organise()?;
    must_be_draft(tx, round).await?;
    if !participants::delete(tx, round.id, code).await? {
        return Err(Error::NotFound);
    }
    record(tx, actor, "laboratory-removed", round, code, now).await
}

/// Who is known and enrolled, read once for any number of rows.
struct Enrolment {
    by_name: HashMap<String, Laboratory>,
    by_email: HashMap<String, Laboratory>,
    enrolled: HashSet<LaboratoryId>,
    codes: HashSet<String>,
}

impl Enrolment {
    async fn of(tx: &mut Tx, round: &Round) -> Result<Enrolment, Error> {
        let laboratories = laboratories::all(tx).await?;
        let participants = participants::of_round(tx, round.id).await?;
        Ok(Enrolment {
            by_name: laboratories.iter().map(|l| (text::key(&l.name), l.clone())).collect(),
            by_email: laboratories.into_iter().map(|l| (l.email.clone(), l)).collect(),
            enrolled: participants.iter().map(|p| p.laboratory).collect(),
            codes: participants.into_iter().map(|p| p.code).collect(),
        })
    }

    /// The known laboratory that `new` is, or none if it is new.
    fn find(&self, new: &NewLaboratory) -> Result<Option<LaboratoryId>, (&'static str, Problem)> {
        let named = self.by_name.get(&text::key(&new.name));
        let addressed = self.by_email.get(&new.email);
        match (named, addressed) {
            (None, None) => Ok(None),
            (Some(a), Some(b)) if a.id == b.id => {
                if self.enrolled.contains(&a.id) {
                    return Err(("name", Problem::new("laboratory-enrolled").with("seen", &new.name)));
                }
                Ok(Some(a.id))
            }
            (Some(known), _) => {
                let problem = Problem::new("laboratory-name-taken").with("seen", &new.name).with("email", &known.email);
                Err(("name", problem))
            }
            (None, Some(known)) => {
                let problem = Problem::new("laboratory-email-taken").with("seen", &new.email).with("name", &known.name);
                Err(("email", problem))
            }
        }
    }

    async fn enrol(
        &mut self,
        tx: &mut Tx,
        round: &Round,
        known: Option<LaboratoryId>,
        new: &NewLaboratory,
        draw: Draw<'_>,
        now: Timestamp,
    ) -> Result<String, Error> {
        let id = match known {
            Some(id) => id,
            None => {
                let id = LaboratoryId(clock::new_id());
                laboratories::insert(tx, id, new, now).await?;
                id
            }
        };
        let code = loop {
            let code = draw().to_string();
            if self.codes.insert(code.clone()) {
                break code;
            }
        };
        participants::insert(tx, ParticipantId(clock::new_id()), round.id, id, &code, now).await?;
        Ok(code)
    }
}
