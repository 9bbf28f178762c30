//! The JSON form of those types that serde cannot derive.

use serde::{Serialize, Serializer};

use super::{AssignedValue, FORMAT, Measurand, PackageRound, ReportedResult, RoundPackage};

impl Serialize for RoundPackage {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Written<'a> {
            format: &'static str,
            round: &'a PackageRound,
            measurands: &'a [Measurand],
            results: &'a [ReportedResult],
        }
        Written { format: FORMAT, round: &self.round, measurands: &self.measurands, results: &self.results }
            .serialize(serializer)
    }
}

impl Serialize for AssignedValue {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Written<'a, T: Serialize> {
            basis: &'static str,
            #[serde(flatten)]
            fields: &'a T,
        }
        match self {
            Self::Given(given) => given.serialize(serializer),
            Self::Participants(fields) => Written { basis: "participants", fields }.serialize(serializer),
            Self::None(fields) => Written { basis: "none", fields }.serialize(serializer),
        }
    }
}
