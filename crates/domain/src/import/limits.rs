//! Limits of quantification of one analyte that differ from item to item: the
//! trace of rows that were shifted while they were copied.

use crate::measurand::{Item, Measurand};
use crate::number::{Decimal, Range};
use crate::result::Typed;
use crate::text;

/// A row with a limit of quantification that no other item has for its analyte.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnlikeLimit {
    /// Place of the measurand.
    pub position: i64,
    /// Its limit, as typed.
    pub typed: String,
    /// Labels of other items, each with the limit typed there for the analyte.
    pub others: Vec<(String, String)>,
}

/// The rows among `positions` with a limit of quantification that differs from
/// those of the same analyte, in the same unit, in all other items. What cannot
/// be read as one number is left out. All numbers are the laboratory's own.
pub fn unlike_limits(typed: &Typed, items: &[Item], measurands: &[Measurand], positions: &[i64]) -> Vec<UnlikeLimit> {
    let limit = |m: &Measurand| {
        let field = format!("{}.loq", m.position);
        let reading = typed.get(&format!("{field}.reading"));
        let chosen = (!reading.is_empty()).then_some(reading);
        let text = typed.get(&field);
        let number = Decimal::parse_with_choice(text, Range::Positive, chosen).ok()?;
        Some((text.to_owned(), number.value()))
    };
    let label = |m: &Measurand| items.iter().find(|item| item.id == m.item).map(|item| item.label.clone());
    let limits: Vec<(&Measurand, String, f64)> =
        measurands.iter().filter_map(|m| limit(m).map(|(text, number)| (m, text, number))).collect();
    let named = limits.iter().filter(|(m, ..)| positions.contains(&m.position));
    named
        .filter_map(|(own, text, number)| {
            let same = |m: &Measurand| {
                m.item != own.item && text::key(&m.analyte) == text::key(&own.analyte) && m.unit == own.unit
            };
            let others: Vec<_> = limits.iter().filter(|(m, ..)| same(m)).collect();
            if others.is_empty() || others.iter().any(|(_, _, other)| other == number) {
                return None;
            }
            let others = others.into_iter().filter_map(|(m, text, _)| Some((label(m)?, text.clone()))).collect();
            Some(UnlikeLimit { position: own.position, typed: text.clone(), others })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::id::{ItemId, MeasurandId};
    use uuid::Uuid;

    /// Items A, B and C with five analytes each, at places 1 to 15.
    fn round() -> (Vec<Item>, Vec<Measurand>) {
        let id = Uuid::from_u128;
        let item = |n: u128, label: &str| Item {
            id: ItemId(id(n)),
            position: n as i64,
            label: label.to_owned(),
            matrix: String::new(),
        };
        let measurand = |n: u128| Measurand {
            id: MeasurandId(id(100 + n)),
            item: ItemId(id(1 + n / 5)),
            position: n as i64 + 1,
            analyte: ["diclofenac", "ibuprofen", "naproxen", "gemfibrozil", "bezafibrate"][n as usize % 5].to_owned(),
            unit: "ng/L".to_owned(),
            expressed_as: String::new(),
            decimals: 1,
            replicates: 1,
            required_loq: None,
            plan: None,
        };
        (vec![item(1, "A"), item(2, "B"), item(3, "C")], (0..15).map(measurand).collect())
    }

    fn typed(limits: &[(i64, &str)]) -> Typed {
        Typed(limits.iter().map(|(position, text)| (format!("{position}.loq"), (*text).to_owned())).collect())
    }

    fn unlike(limits: &[(i64, &str)], positions: &[i64]) -> Vec<i64> {
        let (items, measurands) = round();
        let found = unlike_limits(&typed(limits), &items, &measurands, positions);
        found.into_iter().map(|one| one.position).collect()
    }

    const A_AND_B: [(i64, &str); 10] =
        [(1, "5"), (2, "8"), (3, "10"), (4, "5"), (5, "20"), (6, "5.0"), (7, "8"), (8, "10"), (9, "5"), (10, "20")];

    #[test]
    fn a_column_that_slipped_by_one_row_differs_wherever_neighbours_differ() {
        // The limits 5, 8, 10, 5, 20 of item C, one row further down; the last
        // has fallen out, and the first row keeps what it had.
        let shifted = [(11, "5"), (12, "5"), (13, "8"), (14, "10"), (15, "5")];
        let all = [&A_AND_B[..], &shifted].concat();

        assert_eq!(unlike(&all, &[11, 12, 13, 14, 15]), [12, 13, 14, 15]);
        // Of the rows that stay as they are nothing is said, and those of A and
        // B have their like in each other.
        assert_eq!(unlike(&all, &[12]), [12]);
        assert_eq!(unlike(&all, &(1..=10).collect::<Vec<_>>()), [0i64; 0]);
    }

    #[test]
    fn equal_numbers_are_alike_however_they_are_written() {
        let same = [(11, "5,0"), (12, "8.00"), (13, "1e1"), (14, "5"), (15, "n.d.")];

        assert_eq!(unlike(&[&A_AND_B[..], &same].concat(), &[11, 12, 13, 14, 15]), [0i64; 0]);
        assert_eq!(unlike(&same, &[11, 12, 13, 14, 15]), [0i64; 0], "there is nothing to compare with");
    }
}
