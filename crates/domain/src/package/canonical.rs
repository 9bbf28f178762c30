//! The canonical JSON form of RFC 8785, and its hash.

use serde::Serialize;
use serde_json::Value;
use sha2::{Digest as _, Sha256};

use super::{FORMAT, Measurand, ReportedResult, RoundPackage};

/// SHA-256 of the canonical form with measurands and results sorted. One entry
/// at a time is written and hashed, so that memory does not grow with the
/// package.
pub(super) fn sha256(package: &RoundPackage) -> String {
    let mut measurands: Vec<&Measurand> = package.measurands.iter().collect();
    measurands.sort_by(|a, b| a.id.cmp(&b.id));
    let mut results: Vec<&ReportedResult> = package.results.iter().collect();
    results.sort_by(|a, b| {
        (a.measurand.as_str(), a.participant.as_str()).cmp(&(b.measurand.as_str(), b.participant.as_str()))
    });
    let mut hash = Hash { digest: Sha256::new(), text: String::new() };
    // The keys in their order; the tests compare with the whole document.
    hash.text("{\"format\":");
    hash.item(FORMAT);
    hash.text(",\"measurands\":");
    hash.list(&measurands);
    hash.text(",\"results\":");
    hash.list(&results);
    hash.text(",\"round\":");
    hash.item(&package.round);
    hash.text("}");
    hex::encode(hash.digest.finalize())
}

/// The canonical form of a document.
pub(crate) fn text(document: &impl Serialize) -> String {
    let value = serde_json::to_value(document).expect("a document has text keys and finite numbers");
    let mut text = String::new();
    write_canonical(&value, &mut text);
    text
}

struct Hash {
    digest: Sha256,
    text: String,
}

impl Hash {
    fn text(&mut self, text: &str) {
        self.digest.update(text);
    }

    fn item(&mut self, item: &(impl Serialize + ?Sized)) {
        self.text.clear();
        let value = serde_json::to_value(item).expect("a package has text keys and finite numbers");
        write_canonical(&value, &mut self.text);
        self.digest.update(&self.text);
    }

    fn list(&mut self, items: &[&impl Serialize]) {
        self.text("[");
        for (place, item) in items.iter().enumerate() {
            if place > 0 {
                self.text(",");
            }
            self.item(*item);
        }
        self.text("]");
    }
}

/// RFC 8785: no white space, keys in the order of their UTF-16 code units,
/// numbers as ECMAScript writes them.
fn write_canonical(value: &Value, text: &mut String) {
    match value {
        Value::Null | Value::Bool(_) | Value::String(_) => text.push_str(&value.to_string()),
        Value::Number(number) => text.push_str(&ecmascript_number(number.as_f64().unwrap_or_default())),
        Value::Array(items) => {
            text.push('[');
            for (place, item) in items.iter().enumerate() {
                separate(place, text);
                write_canonical(item, text);
            }
            text.push(']');
        }
        Value::Object(members) => {
            let mut members: Vec<(&String, &Value)> = members.iter().collect();
            members.sort_by(|a, b| a.0.encode_utf16().cmp(b.0.encode_utf16()));
            text.push('{');
            for (place, (key, item)) in members.into_iter().enumerate() {
                separate(place, text);
                text.push_str(&Value::from(key.as_str()).to_string());
                text.push(':');
                write_canonical(item, text);
            }
            text.push('}');
        }
    }
}

fn separate(place: usize, text: &mut String) {
    if place > 0 {
        text.push(',');
    }
}

/// `Number::toString` of ECMAScript (ECMA-262, 6.1.6.1.20) for a finite
/// number.
fn ecmascript_number(number: f64) -> String {
    if number == 0.0 {
        return "0".to_owned();
    }
    let scientific = format!("{:e}", number.abs());
    let (mantissa, exponent) = scientific.split_once('e').unwrap_or((&scientific, "0"));
    let digits = mantissa.replace('.', "");
    let point = exponent.parse::<i32>().unwrap_or_default() + 1;
    let sign = if number < 0.0 { "-" } else { "" };
    format!("{sign}{}", placed(&digits, point))
}

/// The digits with the decimal point after `point` of them.
fn placed(digits: &str, point: i32) -> String {
    let count = digits.len() as i32;
    if (count..=21).contains(&point) {
        format!("{digits}{}", "0".repeat((point - count) as usize))
    } else if (1..=21).contains(&point) {
        let (whole, fraction) = digits.split_at(point as usize);
        format!("{whole}.{fraction}")
    } else if (-5..=0).contains(&point) {
        format!("0.{}{digits}", "0".repeat(-point as usize))
    } else {
        let exponent = point - 1;
        let sign = if exponent < 0 { '-' } else { '+' };
        let (first, rest) = digits.split_at(1);
        let fraction = if rest.is_empty() { String::new() } else { format!(".{rest}") };
        format!("{first}{fraction}e{sign}{}", exponent.abs())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn canonical(value: &Value) -> String {
        let mut text = String::new();
        write_canonical(value, &mut text);
        text
    }

    #[test]
    fn numbers_are_written_as_ecmascript_writes_them() {
        // RFC 8785, appendix B, the finite samples.
        let samples: [(u64, &str); 19] = [
            (0x0000_0000_0000_0000, "0"),
            (0x8000_0000_0000_0000, "0"),
            (0x0000_0000_0000_0001, "5e-324"),
            (0x8000_0000_0000_0001, "-5e-324"),
            (0x7fef_ffff_ffff_ffff, "1.7976931348623157e+308"),
            (0xffef_ffff_ffff_ffff, "-1.7976931348623157e+308"),
            (0x4340_0000_0000_0000, "9007199254740992"),
            (0xc340_0000_0000_0000, "-9007199254740992"),
            (0x4430_0000_0000_0000, "295147905179352830000"),
            (0x44b5_2d02_c7e1_4af5, "9.999999999999997e+22"),
            (0x44b5_2d02_c7e1_4af6, "1e+23"),
            (0x44b5_2d02_c7e1_4af7, "1.0000000000000001e+23"),
            (0x444b_1ae4_d6e2_ef4e, "999999999999999700000"),
            (0x444b_1ae4_d6e2_ef4f, "999999999999999900000"),
            (0x444b_1ae4_d6e2_ef50, "1e+21"),
            (0x3eb0_c6f7_a0b5_ed8c, "9.999999999999997e-7"),
            (0x3eb0_c6f7_a0b5_ed8d, "0.000001"),
            (0x41b3_de43_5555_5553, "333333333.3333332"),
            (0xbecb_f647_612f_3696, "-0.0000033333333333333333"),
        ];

        for (bits, expected) in samples {
            assert_eq!(ecmascript_number(f64::from_bits(bits)), expected);
        }
    }

    #[test]
    fn keys_are_sorted_and_text_is_escaped_as_in_the_rfc() {
        // RFC 8785, section 3.2.2 and 3.2.3: the sample and its canonical form.
        let sample = r#"{"numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
            "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/", "literals": [null, true, false]}"#;
        let value: Value = serde_json::from_str(sample).unwrap();

        let expected = "{\"literals\":[null,true,false],\"numbers\":[333333333.3333333,1e+30,4.5,0.002,1e-27],\
                        \"string\":\"€$\\u000f\\nA'B\\\"\\\\\\\\\\\"/\"}";
        assert_eq!(canonical(&value), expected);
    }

    #[test]
    fn the_parts_hash_to_what_the_whole_document_does() {
        let text = include_str!("../../../../tests/reference/golden/round.package.json");
        let mut package = crate::package::parse(text).unwrap();
        let got = sha256(&package);

        package.measurands.sort_by(|a, b| a.id.cmp(&b.id));
        package.results.sort_by(|a, b| (&a.measurand, &a.participant).cmp(&(&b.measurand, &b.participant)));
        let whole = canonical(&serde_json::to_value(&package).unwrap());
        assert_eq!(got, hex::encode(Sha256::digest(whole)));
    }
}
