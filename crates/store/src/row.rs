//! Types that columns are read into before they get their meaning.

use jiff::Timestamp;

/// An instant: whole microseconds since 1970, UTC.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Micros(pub(crate) Timestamp);

impl TryFrom<i64> for Micros {
    type Error = jiff::Error;

    fn try_from(micros: i64) -> Result<Self, Self::Error> {
        Timestamp::from_microsecond(micros).map(Micros)
    }
}

/// A column that does not hold what the schema says.
pub(crate) fn corrupt(what: &str) -> crate::Error {
    crate::Error::Database(sqlx::Error::Decode(format!("{what} is not as the schema has it").into()))
}

/// The instant of an optional column.
pub(crate) fn instant(micros: i64) -> Result<Timestamp, crate::Error> {
    Timestamp::from_microsecond(micros).map_err(|_| corrupt("an instant"))
}
