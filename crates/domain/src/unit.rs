//! Units that differ by a power of ten, so that a laboratory may type in its own.

use crate::import::same_unit;
use crate::measurand::{Item, Measurand};
use crate::number;
use crate::result::{Typed, form_field};

/// A unit of mass per volume or per mass, and its power of ten in g/L or g/g.
type Unit = (&'static str, i32);

/// Mass per volume, in the order of a list.
const PER_VOLUME: [Unit; 9] = [
    ("pg/L", -12),
    ("ng/L", -9),
    ("µg/L", -6),
    ("mg/L", -3),
    ("g/L", 0),
    ("pg/mL", -9),
    ("ng/mL", -6),
    ("µg/mL", -3),
    ("mg/mL", 0),
];

/// Mass per mass, in the order of a list.
const PER_MASS: [Unit; 8] = [
    ("ng/kg", -12),
    ("µg/kg", -9),
    ("mg/kg", -6),
    ("g/kg", -3),
    ("pg/g", -12),
    ("ng/g", -9),
    ("µg/g", -6),
    ("mg/g", -3),
];

/// How far a unit may be from that of the round to be offered: 10⁶, from ng/L
/// to mg/L.
const FARTHEST: i32 = 6;

fn family(unit: &str) -> Option<(&'static [Unit], i32)> {
    let families: [&'static [Unit]; 2] = [&PER_VOLUME, &PER_MASS];
    families.into_iter().find_map(|family| {
        let known = family.iter().find(|(name, _)| same_unit(name, unit))?;
        Some((family, known.1))
    })
}

/// What a content is given per.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Per {
    /// Mass per volume.
    Volume,
    /// Mass per mass.
    Mass,
}

/// What a content in `unit` is given per, and its power of ten in g/L or g/g;
/// none for a unit of another kind.
pub fn per(unit: &str) -> Option<(Per, i32)> {
    let (members, power) = family(unit)?;
    Some((if std::ptr::eq(members, PER_VOLUME.as_slice()) { Per::Volume } else { Per::Mass }, power))
}

/// The power of ten by which a number in `from` is multiplied to be in `to`;
/// none where they do not measure the same.
pub fn power_between(from: &str, to: &str) -> Option<i32> {
    if same_unit(from, to) {
        return Some(0);
    }
    let ((one, from), (other, to)) = (family(from)?, family(to)?);
    std::ptr::eq(one, other).then_some(from - to)
}

/// The units in which results for a measurand in `unit` may be typed; only
/// `unit` itself where it has no relatives here.
pub fn offered(unit: &str) -> Vec<&str> {
    let Some((family, power)) = family(unit) else { return vec![unit] };
    let near = family.iter().filter(|(_, other)| (other - power).abs() <= FARTHEST).map(|(name, _)| *name);
    near.map(|name| if same_unit(name, unit) { unit } else { name }).collect()
}

/// A unit of the round in which a laboratory has a choice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Choice {
    /// Name of the form's field: `all.unit`, and `all.unit2` for a second unit.
    pub field: String,
    /// The unit of the round.
    pub unit: String,
    /// What may be chosen.
    pub offered: Vec<String>,
}

/// The choices of a round: one for each of its units that has relatives.
pub fn choices(measurands: &[Measurand]) -> Vec<Choice> {
    let mut choices: Vec<Choice> = Vec::new();
    for measurand in measurands {
        let offered = offered(&measurand.unit);
        if offered.len() < 2 || choices.iter().any(|choice| same_unit(&choice.unit, &measurand.unit)) {
            continue;
        }
        let field = if choices.is_empty() { "all.unit".to_owned() } else { format!("all.unit{}", choices.len() + 1) };
        let offered = offered.into_iter().map(str::to_owned).collect();
        choices.push(Choice { field, unit: measurand.unit.clone(), offered });
    }
    choices
}

/// What was typed, with the unit of `choice` changed to `unit` and all its numbers
/// converted with all their digits, as decimal texts with a point.
///
/// # Errors
///
/// The fields whose numbers cannot be read, and so not be converted.
pub fn convert(
    typed: &Typed,
    choice: &Choice,
    measurands: &[Measurand],
    items: &[Item],
    unit: &str,
) -> Result<Typed, Vec<String>> {
    let power = power_between(typed.get(&choice.field), unit).unwrap_or(0);
    let mut converted = typed.clone();
    let mut unread = Vec::new();
    for measurand in measurands.iter().filter(|m| same_unit(&m.unit, &choice.unit)) {
        let own_form = typed.get(&form_field(items, measurand.position)).to_owned();
        let label = items.iter().find(|item| item.id == measurand.item).map_or("", |item| item.label.as_str());
        let of_item = typed.get(&format!("{label}.u_as")).to_owned();
        let form = if own_form.is_empty() { of_item } else { own_form };
        let is_percent = form == "percent";
        for part in ["v1", "v2", "v3", "v4", "loq", "u"] {
            let field = format!("{}.{part}", measurand.position);
            let text = typed.get(&field);
            let two_texts = !typed.get(&format!("{field}{}", crate::draft::OTHER)).is_empty();
            // U without its form may be a percentage, which has no unit.
            if two_texts || (part == "u" && !text.is_empty() && form.is_empty()) {
                unread.push(field);
                continue;
            }
            if text.is_empty() || (part == "u" && is_percent) {
                continue;
            }
            let chosen = typed.get(&format!("{field}.reading"));
            match number::parse_with_choice(text, true, (!chosen.is_empty()).then_some(chosen)) {
                Ok(reading) => {
                    let sign = if reading.is_below() { "<" } else { "" };
                    let moved = reading.reported().decimal.shifted(power);
                    let text = format!("{sign}{moved}");
                    // Three decimals of ours are decimals, and need not be asked about.
                    let ambiguous = number::parse_reported(&text, true).is_err();
                    converted.set(&format!("{field}.reading"), if ambiguous { &text } else { "" });
                    converted.set(&field, &text);
                }
                Err(_) => unread.push(field),
            }
        }
    }
    converted.set(&choice.field, unit);
    if unread.is_empty() { Ok(converted) } else { Err(unread) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::id::{ItemId, MeasurandId};
    use uuid::Uuid;

    /// Powers from the prefixes of the SI (SI Brochure, 9th edition, table 7).
    #[test]
    fn units_convert_by_the_powers_of_their_prefixes() {
        for (from, to, power) in [
            ("µg/L", "ng/L", Some(3)),
            ("ng/L", "µg/L", Some(-3)),
            ("mg/l", "ng/L", Some(6)),
            ("pg/mL", "ng/L", Some(0)),
            ("\u{3BC}g/mL", "\u{B5}g/L", Some(3)),
            ("mg/kg", "µg/g", Some(0)),
            ("µg/kg", "mg/kg", Some(-3)),
            ("mg/kg", "mg/L", None),
            ("CFU/100 mL", "CFU/100 mL", Some(0)),
            ("CFU/100 mL", "mg/L", None),
        ] {
            assert_eq!(power_between(from, to), power, "{from} to {to}");
        }
    }

    #[test]
    fn what_is_offered_lies_near_and_names_the_unit_of_the_round_as_the_round_does() {
        assert_eq!(offered("ng/l"), ["pg/L", "ng/l", "µg/L", "mg/L", "pg/mL", "ng/mL", "µg/mL"]);
        assert_eq!(offered("1"), ["1"]);
    }

    fn measurand(position: u128, item: &Item) -> Measurand {
        Measurand {
            id: MeasurandId(Uuid::from_u128(100 + position)),
            item: item.id,
            position: position as i64,
            analyte: format!("analyte {position}"),
            unit: "ng/L".to_owned(),
            expressed_as: String::new(),
            decimals: 1,
            replicates: 1,
            required_loq: None,
            plan: None,
        }
    }

    /// 145 ng/L are 0.145 µg/L; a percentage and k have no unit.
    #[test]
    fn typed_numbers_are_converted_with_all_their_digits_or_not_at_all() {
        let items =
            [Item { id: ItemId(Uuid::from_u128(1)), position: 1, label: "A".to_owned(), matrix: String::new() }];
        let measurands = [measurand(1, &items[0]), measurand(2, &items[0])];
        let choice = &choices(&measurands)[0];
        let mut typed = Typed::default();
        for (field, text) in [
            ("all.unit", "ng/L"),
            ("A.u_as", "absolute"),
            ("A.k_all", "2"),
            ("1.v1", "145,0"),
            ("1.u", "30"),
            ("1.loq", "5"),
            ("2.v1", "<25"),
            ("2.u", "20"),
            ("2.u_as", "percent"),
        ] {
            typed.set(field, text);
        }

        let micro = convert(&typed, choice, &measurands, &items, "µg/L").unwrap();
        let fields = ["all.unit", "1.v1", "1.u", "1.loq", "2.v1", "2.u", "A.k_all"].map(|field| micro.get(field));
        assert_eq!(fields, ["µg/L", "0.1450", "0.030", "0.005", "<0.025", "20", "2"]);
        let back = convert(&micro, choice, &measurands, &items, "ng/L").unwrap();
        assert_eq!(["1.v1", "1.loq", "2.v1"].map(|field| back.get(field)), ["145.0", "5", "<25"]);

        let mut formless = typed.clone();
        formless.set("A.u_as", "");
        assert_eq!(convert(&formless, choice, &measurands, &items, "µg/L"), Err(vec!["1.u".to_owned()]));
        let mut twofold = typed.clone();
        twofold.set("1.v1.other", "150");
        assert_eq!(convert(&twofold, choice, &measurands, &items, "µg/L"), Err(vec!["1.v1".to_owned()]));
        typed.set("2.v1", "1,250");
        assert_eq!(convert(&typed, choice, &measurands, &items, "µg/L"), Err(vec!["2.v1".to_owned()]));
        typed.set("2.v1", "1250.5");
        let five = convert(&typed, choice, &measurands, &items, "µg/L").unwrap();
        assert_eq!((five.get("2.v1"), five.get("2.v1.reading")), ("1.2505", ""));
        typed.set("2.v1", "1250");
        let three = convert(&typed, choice, &measurands, &items, "µg/L").unwrap();
        assert_eq!((three.get("2.v1"), three.get("2.v1.reading")), ("1.250", "1.250"));
    }
}
