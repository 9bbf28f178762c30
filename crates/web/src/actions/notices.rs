//! Notices of what does not stand any more: written when somebody asks for them after
//! it happened, so that they have numbers also where it happened before there were any.

use super::keys as signing_keys;
use crate::error::Error;
use crate::state::App;
use roundel_domain::certificate::notice::{FORMAT, Fallen, Kind, Notice, untold};
use roundel_store::notices::Signed;
use roundel_store::{Tx, certificates, notices, reports};

/// All that does not stand any more, and the notices that tell it.
#[derive(Debug)]
pub struct Told {
    /// The certificates.
    pub certificates: Vec<certificates::Notice>,
    /// The reports.
    pub reports: Vec<reports::Superseded>,
    /// The notices, oldest first.
    pub notices: Vec<(Signed, Notice)>,
}

impl Told {
    async fn read(tx: &mut Tx) -> Result<Told, Error> {
        let notices = notices::all(tx).await?.into_iter();
        Ok(Told {
            notices: notices.map(|one| one.notice().map(|read| (one, read))).collect::<Result<_, _>>()?,
            certificates: certificates::notices(tx).await?,
            reports: reports::superseded(tx).await?,
        })
    }

    fn untold(&self) -> Vec<(Kind, jiff::Timestamp, Vec<String>)> {
        let of = |kind, since: Option<jiff::Timestamp>, sha256: &str| Some((kind, since?, sha256.to_owned()));
        let certificates = self.certificates.iter().flat_map(|one| {
            [
                of(Kind::CertificatesSuperseded, one.superseded_at(), &one.sha256),
                of(Kind::CertificatesWithdrawn, one.withdrawn_at(), &one.sha256),
            ]
        });
        let reports = self.reports.iter().map(|one| of(Kind::ReportsSuperseded, Some(one.since()), &one.sha256));
        let fallen: Vec<Fallen> = certificates.chain(reports).flatten().collect();
        let told: Vec<Notice> = self.notices.iter().map(|(_, notice)| notice.clone()).collect();
        untold(&told, &fallen)
    }
}

/// Writes the notices that are missing, each signed with the key that signs now.
async fn write(app: &App) -> Result<(), Error> {
    let now = app.clock.now();
    let mut tx = app.db.write().await?;
    let known = Told::read(&mut tx).await?;
    let key = signing_keys::signing(&mut tx, now).await?;
    let last = known.notices.last().map_or(0, |(signed, _)| signed.number);
    for (number, (kind, since, sha256)) in (last + 1..).zip(known.untold()) {
        let key_id = key.public().id();
        let notice = Notice { format: FORMAT.to_owned(), number, kind, since, made_at: now, key_id, sha256 };
        let statement = notice.text();
        let signature = key.sign(statement.as_bytes()).to_base64();
        notices::insert(&mut tx, &Signed { number, statement, key_id: notice.key_id, signature }).await?;
    }
    tx.commit().await?;
    Ok(())
}

/// All notices, after those that are missing were written.
///
/// # Errors
///
/// What the database says.
pub async fn told(app: &App) -> Result<Told, Error> {
    let known = Told::read(&mut app.db.read().await?).await?;
    if known.untold().is_empty() {
        return Ok(known);
    }
    // Another copy of the program may write the same ones: then they are there.
    match write(app).await {
        Ok(()) | Err(Error::Store(roundel_store::Error::Exists)) => {}
        Err(error) => return Err(error),
    }
    Told::read(&mut app.db.read().await?).await
}
