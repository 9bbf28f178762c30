//! From JSON to a package, field by field, in one pass from front to end:
//! besides the package only the places of its entries are kept.

use std::collections::HashSet;

use super::cursor::{Cursor, Kind, text_of};
use super::fields::{Members, Reader, quoted};
use super::{
    AssignedValue, Consensus, Decision, FORMAT, GivenValue, Limits, Measurand, NoValue, PackageRound, Problem,
    Reported, ReportedResult, RoundPackage, Rounding, SigmaBasis, SigmaPt, Stability, rules,
};

/// More decimals than a double has digits are not rounding.
pub(super) const MOST_DECIMALS: u32 = 15;
pub(super) const MOST_REPLICATES: u32 = 1000;
/// Bytes of the shortest entry of a list that can be kept:
/// `{"participant":"P","measurand":"m","below":1}`, and a measurand is longer.
/// Memory is set aside for no more entries than these can be.
const SHORTEST_ENTRY: usize = 44;

/// Entries of a list with their places. Entries that cannot be told from
/// others, because what names them is missing, are left out.
pub(super) struct Listed<T> {
    pub(super) values: Vec<T>,
    pub(super) spots: Vec<Spot>,
    /// Whether the list is there and none was left out.
    pub(super) is_whole: bool,
}

/// Where an entry stands.
#[derive(Clone, Copy)]
pub(super) struct Spot {
    /// Its number in the list.
    pub(super) index: usize,
    pub(super) place: usize,
}

impl<T> Default for Listed<T> {
    fn default() -> Self {
        Self { values: Vec::new(), spots: Vec::new(), is_whole: false }
    }
}

impl<T> Listed<T> {
    fn read(reader: &mut Reader<'_>, expected: &str, read: fn(&mut Reader<'_>) -> Option<T>) -> Self {
        // Counted first: a list that grows is there twice while it is moved.
        let count = reader.cursor.items(SHORTEST_ENTRY);
        let (values, spots) = (Vec::with_capacity(count), Vec::with_capacity(count));
        let mut listed = Self { values, spots, is_whole: true };
        let count = reader.list(expected, |reader, index| {
            let place = reader.cursor.place();
            match read(reader) {
                Some(value) => {
                    listed.values.push(value);
                    listed.spots.push(Spot { index, place });
                }
                None => listed.is_whole = false,
            }
        });
        listed.is_whole &= count.is_some();
        listed
    }
}

/// Reads a whole document.
pub(super) fn package(text: &str) -> Result<RoundPackage, Vec<Problem>> {
    let mut reader = Reader::new(text)
        .map_err(|error| vec![Problem { pointer: String::new(), message: format!("not JSON: {error}") }])?;
    let package = whole(&mut reader);
    match reader.problems.sorted() {
        problems if problems.is_empty() => Ok(package.unwrap_or_default()),
        problems => Err(problems),
    }
}

fn whole(reader: &mut Reader<'_>) -> Option<RoundPackage> {
    let mut package = RoundPackage::default();
    let (mut measurands, mut results) = (Listed::default(), Listed::default());
    let known = &["format", "round", "measurands", "results"];
    let members = reader.object(known, |reader, name| match name {
        "format" => format(reader),
        "round" => package.round = round(reader).unwrap_or_default(),
        "measurands" => measurands = Listed::read(reader, "a list of measurands", measurand),
        _ => results = Listed::read(reader, "a list of results", result),
    })?;
    reader.need(&members, known);
    rules::between(reader, &measurands, &results);
    Some(RoundPackage { measurands: measurands.values, results: results.values, ..package })
}

fn format(reader: &mut Reader<'_>) {
    let place = reader.cursor.place();
    if let Some(found) = reader.text()
        && found != FORMAT
    {
        reader.note(place, format!("unsupported format {}; expected {FORMAT:?}", quoted(&found)));
    }
}

fn round(reader: &mut Reader<'_>) -> Option<PackageRound> {
    let mut round = PackageRound::default();
    let members = reader.object(&["code", "title", "omitted"], |reader, name| match name {
        "code" => round.code = reader.filled_text().unwrap_or_default(),
        "title" => round.title = reader.text().unwrap_or_default(),
        _ => {
            let mut texts = Vec::new();
            reader.list("a list of texts", |reader, _| texts.extend(reader.filled_text()));
            round.omitted = Some(texts);
        }
    })?;
    reader.need(&members, &["code", "title"]);
    Some(round)
}

/// A measurand that has an id.
fn measurand(reader: &mut Reader<'_>) -> Option<Measurand> {
    const KNOWN: &[&str] = &[
        "id",
        "item",
        "analyte",
        "unit",
        "replicates",
        "assigned_value",
        "sigma_pt",
        "scores",
        "limits",
        "censored",
        "rounding",
        "present",
        "absent_below",
        "required_loq",
        "mass_fraction_per_unit",
        "homogeneity",
        "stability",
        "decision",
    ];
    let mut plan = Measurand::default();
    let members = reader.object(KNOWN, |reader, name| match name {
        "id" => plan.id = reader.filled_text().unwrap_or_default(),
        "item" => plan.item = reader.filled_text().unwrap_or_default(),
        "analyte" => plan.analyte = reader.filled_text().unwrap_or_default(),
        "unit" => plan.unit = reader.text().unwrap_or_default(),
        // Zero is a number that could not be read: nothing can be said of results.
        "replicates" => plan.replicates = reader.whole(1, MOST_REPLICATES).or(Some(0)),
        "assigned_value" => plan.assigned_value = assigned_value(reader),
        "sigma_pt" => plan.sigma_pt = sigma_pt(reader),
        "scores" => plan.scores = Some(scores(reader)),
        "limits" => plan.limits = limits(reader),
        "censored" => plan.censored = reader.word(),
        "rounding" => plan.rounding = rounding(reader),
        "present" => plan.present = reader.flag(),
        "absent_below" => plan.absent_below = reader.positive(),
        "required_loq" => plan.required_loq = reader.positive(),
        "mass_fraction_per_unit" => plan.mass_fraction_per_unit = reader.positive(),
        "homogeneity" => plan.homogeneity = Some(pairs(reader)),
        "stability" => plan.stability = stability(reader),
        _ => plan.decision = decision(reader),
    })?;
    reader.need(&members, &["id", "item", "analyte", "unit"]);
    rules::within(reader, &members, &plan);
    (!plan.id.is_empty()).then_some(plan)
}

fn scores<T: serde::de::DeserializeOwned>(reader: &mut Reader<'_>) -> Vec<T> {
    let (mut scores, mut seen) = (Vec::new(), HashSet::new());
    reader.list("a list of scores", |reader, _| reader.once(&mut seen, |reader| scores.extend(reader.word::<T>())));
    scores
}

/// The word in the field `basis` of the object that comes next, without
/// judging it yet.
fn basis(cursor: Cursor<'_>) -> Option<String> {
    let mut member = cursor.member("basis")?;
    (member.kind() == Kind::Text).then(|| text_of(member.pass()).ok()).flatten()
}

fn assigned_value(reader: &mut Reader<'_>) -> Option<AssignedValue> {
    match basis(reader.cursor).as_deref() {
        Some("participants") => consensus(reader).map(AssignedValue::Participants),
        Some("none") => {
            let mut value = NoValue::default();
            reader.object(&["basis", "additional_uncertainty"], |reader, name| match name {
                "basis" => drop(reader.cursor.pass()),
                _ => value.additional_uncertainty = reader.not_negative(),
            })?;
            Some(AssignedValue::None(value))
        }
        Some("formulation" | "reference" | "expert") => given(reader).map(AssignedValue::Given),
        _ => wrong_basis(reader, "formulation, reference, expert, participants or none"),
    }
}

/// Reports a basis that is missing, no text or not known; the other fields
/// cannot be judged without it.
fn wrong_basis<T>(reader: &mut Reader<'_>, expected: &str) -> Option<T> {
    if reader.cursor.kind() != Kind::Object {
        reader.object(&[], |_, _| {});
        return None;
    }
    let (place, member) = (reader.cursor.place(), reader.cursor.member("basis"));
    reader.cursor.pass();
    let behind = reader.cursor;
    let Some(mut member) = member else {
        reader.note(place, format!("the field \"basis\" is missing; expected {expected}"));
        return None;
    };
    reader.cursor = member;
    reader.pointer.push_str("/basis");
    if let Some(found) = reader.text() {
        let message = format!("unknown or unsupported basis {}; expected {expected}", quoted(&found));
        reader.note(member.place(), message);
    }
    reader.pointer.truncate(reader.pointer.len() - "/basis".len());
    reader.cursor = behind;
    None
}

fn given(reader: &mut Reader<'_>) -> Option<GivenValue> {
    let (mut basis, mut value, mut standard_uncertainty, mut additional_uncertainty) = (None, None, None, None);
    let known = &["basis", "value", "standard_uncertainty", "additional_uncertainty"];
    let members = reader.object(known, |reader, name| match name {
        "basis" => basis = reader.word(),
        "value" => value = reader.number(),
        "standard_uncertainty" => standard_uncertainty = reader.positive(),
        _ => additional_uncertainty = reader.not_negative(),
    })?;
    reader.need(&members, &["value", "standard_uncertainty"]);
    // The rules can tell that there is a value, though not which.
    let read = |number: Option<f64>| number.unwrap_or(f64::NAN);
    Some(GivenValue {
        basis: basis?,
        value: read(value),
        standard_uncertainty: read(standard_uncertainty),
        additional_uncertainty,
    })
}

fn consensus(reader: &mut Reader<'_>) -> Option<Consensus> {
    let mut consensus = Consensus::default();
    let known = &["basis", "estimator", "participants", "fallback", "consent", "additional_uncertainty"];
    reader.object(known, |reader, name| match name {
        "basis" => drop(reader.cursor.pass()),
        "estimator" => consensus.estimator = reader.word(),
        "participants" => {
            let (mut codes, mut seen) = (Vec::new(), HashSet::new());
            reader.filled_list("a list of participants' codes", |reader, _| {
                reader.once(&mut seen, |reader| codes.extend(reader.filled_text()));
            });
            consensus.participants = Some(codes);
        }
        "fallback" => {
            consensus.fallback = match basis(reader.cursor).as_deref() {
                Some("formulation" | "reference" | "expert") => given(reader),
                _ => wrong_basis(reader, "formulation, reference or expert"),
            };
        }
        "consent" => consensus.consent = reader.filled_text(),
        _ => consensus.additional_uncertainty = reader.not_negative(),
    })?;
    Some(consensus)
}

fn sigma_pt(reader: &mut Reader<'_>) -> Option<SigmaPt> {
    let basis = basis(reader.cursor);
    let known: &'static [&'static str] = match basis.as_deref() {
        Some("prescribed") => &["basis", "additional_sd", "value"],
        Some("relative") => &["basis", "additional_sd", "percent"],
        Some("precision") => &["basis", "additional_sd", "repeatability_sd", "reproducibility_sd"],
        Some("horwitz" | "participants") => &["basis", "additional_sd"],
        _ => return wrong_basis(reader, "prescribed, relative, horwitz, precision or participants"),
    };
    let (mut first, mut second, mut additional_sd) = (None, None, None);
    let members = reader.object(known, |reader, name| match name {
        "basis" => drop(reader.cursor.pass()),
        "value" | "percent" => first = reader.positive(),
        // A method may have no spread within laboratories; what σ_pt comes
        // out as is checked with the whole measurand.
        "repeatability_sd" => first = reader.not_negative(),
        "reproducibility_sd" => second = reader.not_negative(),
        _ => additional_sd = reader.not_negative(),
    })?;
    reader.need(&members, &known[2..]);
    let basis = match basis.as_deref() {
        Some("prescribed") => SigmaBasis::Prescribed { value: first? },
        Some("relative") => SigmaBasis::Relative { percent: first? },
        Some("precision") => SigmaBasis::Precision { repeatability_sd: first?, reproducibility_sd: second? },
        Some("horwitz") => SigmaBasis::Horwitz,
        _ => SigmaBasis::Participants,
    };
    Some(SigmaPt { basis, additional_sd })
}

fn limits(reader: &mut Reader<'_>) -> Option<Limits> {
    let (mut warning, mut action, mut e_n) = (None, None, None);
    let known = &["warning", "action", "e_n"];
    let members = reader.object(known, |reader, name| match name {
        "warning" => warning = reader.positive(),
        "action" => action = reader.positive(),
        _ => e_n = reader.positive(),
    })?;
    reader.need(&members, known);
    if let (Some(warning), Some(action)) = (warning, action)
        && warning > action
    {
        reader.note(members.place, format!("the warning limit {warning} is above the action limit {action}"));
    }
    Some(Limits { warning: warning?, action: action?, e_n: e_n? })
}

fn rounding(reader: &mut Reader<'_>) -> Option<Rounding> {
    let mut rounding = Rounding::default();
    reader.object(&["assigned_value", "standard_uncertainty", "sigma_pt"], |reader, name| {
        let decimals = reader.whole(0, MOST_DECIMALS);
        match name {
            "assigned_value" => rounding.assigned_value = decimals,
            "standard_uncertainty" => rounding.standard_uncertainty = decimals,
            _ => rounding.sigma_pt = decimals,
        }
    })?;
    Some(rounding)
}

fn pairs(reader: &mut Reader<'_>) -> Vec<[f64; 2]> {
    let mut pairs = Vec::new();
    reader.filled_list("a list of pairs of numbers, one pair per unit", |reader, _| {
        let place = reader.cursor.place();
        let mut pair = [None; 2];
        let count = reader.list("a pair of numbers", |reader, number| match pair.get_mut(number) {
            Some(value) => *value = reader.number(),
            None => drop(reader.cursor.pass()),
        });
        match (count, pair) {
            (Some(2), [Some(first), Some(second)]) => pairs.push([first, second]),
            (Some(count), _) if count != 2 => {
                reader.note(place, format!("expected a pair of numbers, found {count} values"));
            }
            _ => {}
        }
    });
    pairs
}

fn numbers(reader: &mut Reader<'_>) -> Vec<f64> {
    let mut numbers = Vec::new();
    reader.filled_list("a list of numbers", |reader, _| numbers.push(reader.number().unwrap_or(f64::NAN)));
    numbers.shrink_to_fit();
    numbers
}

fn stability(reader: &mut Reader<'_>) -> Option<Stability> {
    let mut stability = Stability::default();
    let known = &["before", "after"];
    let members = reader.object(known, |reader, name| match name {
        "before" => stability.before = numbers(reader),
        _ => stability.after = numbers(reader),
    })?;
    reader.need(&members, known);
    Some(stability)
}

fn decision(reader: &mut Reader<'_>) -> Option<Decision> {
    let (mut signal, mut reason) = (None, None);
    let known = &["signal", "reason"];
    let members = reader.object(known, |reader, name| match name {
        "signal" => signal = reader.word(),
        _ => reason = reader.filled_text(),
    })?;
    reader.need(&members, known);
    Some(Decision { signal: signal?, reason: reason? })
}

/// A result whose participant and measurand are known.
fn result(reader: &mut Reader<'_>) -> Option<ReportedResult> {
    const KNOWN: &[&str] = &[
        "participant",
        "measurand",
        "values",
        "below",
        "expanded_uncertainty",
        "coverage_factor",
        "exclude",
        "scored",
        "organisation",
        "method",
    ];
    let mut result = ReportedResult::new("", "", Reported::Values(Vec::new()));
    let (mut values, mut below) = (Vec::new(), None);
    let members = reader.object(KNOWN, |reader, name| match name {
        "participant" => result.participant = reader.filled_text().unwrap_or_default(),
        "measurand" => result.measurand = reader.filled_text().unwrap_or_default(),
        "values" => values = numbers(reader),
        "below" => below = reader.positive(),
        "expanded_uncertainty" => result.expanded_uncertainty = reader.positive(),
        "coverage_factor" => result.coverage_factor = reader.positive(),
        // Empty is a reason that could not be read: it does not count either.
        "exclude" => result.exclude = Some(reader.filled_text().unwrap_or_default()),
        "scored" => result.scored = reader.flag(),
        "organisation" => result.organisation = reader.filled_text(),
        _ => result.method = reader.filled_text(),
    })?;
    reader.need(&members, &["participant", "measurand"]);
    one_of_both(reader, &members);
    result.reported =
        if members.has("values") { Reported::Values(values) } else { Reported::Below(below.unwrap_or(0.0)) };
    (!result.participant.is_empty() && !result.measurand.is_empty()).then_some(result)
}

fn one_of_both(reader: &mut Reader<'_>, members: &Members) {
    let message = match (members.has("values"), members.has("below")) {
        (true, true) => "both \"values\" and \"below\" are given; expected one of them",
        (false, false) => "neither \"values\" nor \"below\" is given; expected one of them",
        _ => return,
    };
    reader.note(members.place, message);
}
