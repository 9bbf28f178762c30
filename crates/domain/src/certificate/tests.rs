use super::verification::{Checked, KeyEntry, KeyList, NOTICES_FORMAT, Notices, Verdict, check};
use super::*;
use crate::certificate::envelope::{NOTICES, STATEMENT};
use crate::seal::SecretKey;
use flate2::write::ZlibEncoder;
use jiff::Timestamp;
use std::collections::BTreeMap;
use std::io::Write;

fn key(byte: u8) -> SecretKey {
    SecretKey::from_bytes(&[byte; 32])
}

fn at(text: &str) -> Timestamp {
    text.parse().expect("an instant")
}

/// A result of carbamazepine: 136 against 145, σ 36.25.
fn line() -> ResultLine {
    ResultLine {
        item: "B".to_owned(),
        analyte: "carbamazepine".to_owned(),
        expressed_as: String::new(),
        unit: "ng/L".to_owned(),
        reported: Reported {
            typed: vec!["0.136".to_owned()],
            typed_unit: "µg/L".to_owned(),
            below: false,
            value: 136.0,
            expanded_uncertainty: Some(41.0),
            expanded_uncertainty_typed: Some("0.041".to_owned()),
            coverage_factor: Some(2.0),
        },
        assigned_value: Some(AssignedValue {
            value: 145.0,
            expanded_uncertainty: 8.6,
            coverage_factor: COVERAGE_FACTOR,
            route: Basis::Formulation,
        }),
        sigma_pt: Some(36.25),
        difference: Some(-9.0),
        difference_percent: Some(-6.206_896_551_724_138),
        score: Some(Score { kind: ScoreKind::Z, value: -0.248_275_862_068_965_5, bound: false }),
        zeta: None,
        class: Class::Acceptable,
        detection: Some(Detection::Detected),
        required_loq: Some(10.0),
        loq_met: None,
        uncertainty: Some(UncertaintyCheck::Plausible),
        marks: Vec::new(),
        excluded: None,
    }
}

fn statement(key: &SecretKey, version: i64) -> Statement {
    let results = vec![line(); 2];
    Statement {
        format: FORMAT.to_owned(),
        kind: Kind::Performance,
        demonstration: true,
        number: "QW-1-RXLF7".to_owned(),
        version,
        replaces: None,
        scheme: "Trace organic contaminants in natural waters".to_owned(),
        round: "QW-1".to_owned(),
        round_title: "Pharmaceutical residues".to_owned(),
        provider: Provider {
            name: "Quillmere Interlaboratory Office".to_owned(),
            contact: vec!["1 Mill Lane, Quillmere".to_owned()],
            accreditation: None,
        },
        laboratory: Laboratory {
            code: "RXLF7".to_owned(),
            name: Some("Labor für Wasseranalytik \"Łąka\"".to_owned()),
            organisation: None,
        },
        opened_at: Some("2027-02-15T08:00:00Z".to_owned()),
        closes_at: "2027-03-31T15:00:00Z".to_owned(),
        received_at: Some("2027-03-30T09:12:00.5Z".to_owned()),
        late: false,
        published_at: "2027-04-18T12:00:00Z".to_owned(),
        issued_at: "2027-04-18T12:00:00Z".to_owned(),
        items: vec![Item {
            label: "B".to_owned(),
            matrix: "river water".to_owned(),
            unit_code: Some("0117".to_owned()),
            received_on: None,
            analysed_on: None,
        }],
        counts: Counts::of(&results),
        results,
        not_reported: vec![NotReported {
            item: "B".to_owned(),
            analyte: "metformin".to_owned(),
            state: Missing::NotAnalysed,
            reason: Some(Reason::OutOfScope),
        }],
        limits: vec![Limits { kind: ScoreKind::Z, warning: Some(2.0), action: 3.0 }],
        report: Report { round: "QW-1".to_owned(), version },
        authorised_by: Some("M. Thornquist".to_owned()),
        cautions: vec![Caution::Scope, Caution::Demonstration],
        evidence: Evidence {
            package_sha256: "ab".repeat(32),
            evaluation_sha256: "cd".repeat(32),
            engine: "roundel 0.1.0".to_owned(),
        },
        address: format!("https://rounds.quillmere.example/verify/{}", "0f".repeat(16)),
        key_id: key.public().id(),
    }
}

fn sealed(key: &SecretKey, statement: &Statement) -> String {
    let text = statement.text();
    envelope::seal(STATEMENT, &text, key.public(), &key.sign(text.as_bytes()))
}

fn list(entries: &[(&SecretKey, Option<&str>, Option<&str>)]) -> KeyList {
    KeyList {
        format: verification::KEYS_FORMAT.to_owned(),
        provider: "Quillmere Interlaboratory Office".to_owned(),
        keys: entries
            .iter()
            .map(|(key, from, until)| KeyEntry {
                id: key.public().id(),
                public_key: key.public().to_pem(),
                signs_from: from.map(at),
                signs_until: until.map(at),
            })
            .collect(),
    }
}

fn notices(key: &SecretKey, superseded: &[&str], withdrawn: &[&str]) -> String {
    let since = |digests: &[&str]| -> BTreeMap<String, Timestamp> {
        digests.iter().map(|digest| ((*digest).to_owned(), at("2027-05-02T08:00:00Z"))).collect()
    };
    let notices = Notices {
        format: NOTICES_FORMAT.to_owned(),
        made_at: at("2027-06-01T00:00:00Z"),
        key_id: key.public().id(),
        superseded: since(superseded),
        withdrawn: since(withdrawn),
        superseded_reports: BTreeMap::new(),
        numbered: Vec::new(),
    };
    let text = canonical::text(&notices);
    envelope::seal(NOTICES, &text, key.public(), &key.sign(text.as_bytes()))
}

/// The same numbers on every machine (a linear congruential generator, constants of
/// Knuth's MMIX, from memory; nothing depends on their quality).
struct Dice(u64);

impl Dice {
    fn below(&mut self, count: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % count
    }
}

#[test]
fn what_was_signed_is_authentic_and_stands_in_the_file_letter_by_letter() {
    let signer = key(7);
    let statement = statement(&signer, 1);
    let file = sealed(&signer, &statement);

    let checked = check(file.as_bytes(), &list(&[(&signer, None, None)]), None);

    assert!(file.contains(&format!(",\"statement\":{}}}", statement.text())), "{file}");
    assert_eq!(checked.sha256, digest(&statement.text()));
    assert_eq!(checked.verdict, Verdict::Authentic);
    assert_eq!(checked.statement, Some(statement));
}

#[test]
fn ten_thousand_flipped_bits_are_all_refused() {
    let signer = key(7);
    let file = sealed(&signer, &statement(&signer, 1)).into_bytes();
    let keys = list(&[(&signer, None, None)]);
    let mut dice = Dice(20_270_418);

    for flip in 0..10_000 {
        let mut changed = file.clone();
        let bit = dice.below(file.len() * 8);
        changed[bit / 8] ^= 1 << (bit % 8);

        let Checked { verdict, statement, .. } = check(&changed, &keys, None);

        assert!(
            matches!(verdict, Verdict::Changed | Verdict::Unreadable | Verdict::UnknownKey { .. }),
            "flip {flip}, bit {bit}: {verdict:?}"
        );
        assert_eq!(statement, None, "nothing of a refused file is told");
    }
}

#[test]
fn a_digit_a_key_a_version_and_an_end_give_four_verdicts() {
    let (signer, other) = (key(7), key(8));
    let statement = statement(&signer, 1);
    let file = sealed(&signer, &statement);
    let good = list(&[(&signer, Some("2026-01-01T00:00:00Z"), Some("2029-01-01T00:00:00Z"))]);
    let verdict = |file: &str, keys: &KeyList, notices| check(file.as_bytes(), keys, notices).verdict;

    let digit = file.replacen("\"value\":145", "\"value\":146", 1);
    assert_ne!(digit, file);
    assert_eq!(verdict(&digit, &good, None), Verdict::Changed);

    let strange = list(&[(&other, None, None)]);
    assert_eq!(verdict(&file, &strange, None), Verdict::UnknownKey { key_id: signer.public().id() });
    // Somebody else who puts the name of the true key on a key of their own.
    let forged = sealed(&other, &statement).replace(&other.public().id(), &signer.public().id());
    assert_eq!(verdict(&forged, &good, None), Verdict::UnknownKey { key_id: signer.public().id() });

    let newer = notices(&signer, &[&digest(&statement.text())], &[]);
    let newer = Notices::open(newer.as_bytes(), &good).unwrap();
    let since = at("2027-05-02T08:00:00Z");
    assert_eq!(verdict(&file, &good, Some(&newer)), Verdict::Superseded { since });
    let taken_back = notices(&signer, &[&digest(&statement.text())], &[&digest(&statement.text())]);
    let taken_back = Notices::open(taken_back.as_bytes(), &good).unwrap();
    assert_eq!(verdict(&file, &good, Some(&taken_back)), Verdict::Withdrawn { since });
    let of_others = notices(&signer, &[&"00".repeat(32)], &[]);
    let of_others = Notices::open(of_others.as_bytes(), &good).unwrap();
    assert_eq!(verdict(&file, &good, Some(&of_others)), Verdict::Authentic);

    let ended = list(&[(&signer, Some("2024-01-01T00:00:00Z"), Some("2027-04-18T11:59:59Z"))]);
    let expired = Verdict::ExpiredKey {
        key_id: signer.public().id(),
        until: Some(at("2027-04-18T11:59:59Z")),
        signed_at: at("2027-04-18T12:00:00Z"),
    };
    assert_eq!(verdict(&file, &ended, None), expired);
    let not_yet = list(&[(&signer, Some("2027-04-18T12:00:01Z"), None)]);
    assert!(matches!(verdict(&file, &not_yet, None), Verdict::ExpiredKey { until: None, .. }));
    // Signed while the key was valid: good for ever.
    let retired = list(&[(&signer, None, Some("2027-04-18T12:00:00Z")), (&other, Some("2027-04-18T12:00:00Z"), None)]);
    assert_eq!(verdict(&file, &retired, None), Verdict::Authentic);
}

#[test]
fn notices_of_somebody_else_or_with_a_changed_letter_are_refused() {
    let (signer, other) = (key(7), key(8));
    let keys = list(&[(&signer, None, None)]);
    let file = notices(&signer, &[&"ab".repeat(32)], &[]);

    assert!(Notices::open(file.as_bytes(), &keys).is_ok());
    let fewer = file.replace(&"ab".repeat(32), &"ac".repeat(32));
    assert_eq!(Notices::open(fewer.as_bytes(), &keys), Err(Verdict::Changed));
    let foreign = notices(&other, &[], &[]);
    assert_eq!(Notices::open(foreign.as_bytes(), &keys), Err(Verdict::UnknownKey { key_id: other.public().id() }));
    assert_eq!(Notices::open(b"{}", &keys), Err(Verdict::Unreadable));
    // A certificate is no list of notices, nor the other way round.
    let certificate = sealed(&signer, &statement(&signer, 1));
    assert_eq!(Notices::open(certificate.as_bytes(), &keys), Err(Verdict::Unreadable));
    assert_eq!(check(file.as_bytes(), &keys, None).verdict, Verdict::Unreadable);
}

#[test]
fn a_file_that_another_program_wrote_anew_is_not_taken_for_the_issued_one() {
    let signer = key(7);
    let file = sealed(&signer, &statement(&signer, 1));
    let keys = list(&[(&signer, None, None)]);
    let value: serde_json::Value = serde_json::from_str(&file).unwrap();

    let pretty = serde_json::to_string_pretty(&value).unwrap();

    assert_eq!(check(pretty.as_bytes(), &keys, None).verdict, Verdict::Changed);
    assert_eq!(check(b"", &keys, None).verdict, Verdict::Unreadable);
    assert_eq!(check(b"%PDF-1.7 nothing in here", &keys, None).verdict, Verdict::Unreadable);
}

#[test]
fn a_list_of_keys_in_which_a_name_is_not_of_its_key_is_refused() {
    let signer = key(7);
    let list = list(&[(&signer, None, None)]);
    let text = serde_json::to_string(&list).unwrap();

    assert_eq!(KeyList::parse(&text), Ok(list.clone()));
    assert!(KeyList::parse(&text.replace(&signer.public().id(), "0011223344556677")).is_err());
    assert!(KeyList::parse("[]").is_err());
    assert_eq!(KeyList::of_pem(&signer.public().to_pem()).unwrap().keys[0].id, signer.public().id());
    assert!(KeyList::of_pem("no key").is_err());
}

/// The least that resembles a PDF with files inside (ISO 32000-1, 7.11.4), signed as a
/// whole with the key 7.
fn pdf(files: &[(&[u8], bool)]) -> Vec<u8> {
    let mut pdf = b"%PDF-1.7\n1 0 obj\n<< /Type /Catalog /Names << /EmbeddedFiles 2 0 R >> >>\nendobj\n".to_vec();
    // Twice, as metadata have it that are kept in two ways.
    pdf.extend(format!("<< /Keywords ({0}) >>\n<pdf:Keywords>{0}</pdf:Keywords>\n", whole::blank()).bytes());
    for (file, compressed) in files {
        let (filter, bytes) = if *compressed {
            let mut encoder = ZlibEncoder::new(Vec::new(), flate2::Compression::default());
            encoder.write_all(file).unwrap();
            (" /Filter /FlateDecode", encoder.finish().unwrap())
        } else {
            ("", file.to_vec())
        };
        let head = format!("9 0 obj\n<< /Length {}{filter} /Type /EmbeddedFile >>\nstream\n", bytes.len());
        pdf.extend(head.as_bytes());
        pdf.extend(bytes);
        pdf.extend(b"\nendstream\nendobj\n");
    }
    whole::sign(&mut pdf, &key(7));
    pdf
}

#[test]
fn every_flipped_bit_of_a_pdf_is_refused_wherever_it_is() {
    let signer = key(7);
    let file = sealed(&signer, &statement(&signer, 1)).into_bytes();
    let whole = pdf(&[(&file, true)]);
    let keys = list(&[(&signer, None, None)]);
    assert_eq!(check(&whole, &keys, None).verdict, Verdict::Authentic);
    for bit in 0..whole.len() * 8 {
        let mut changed = whole.clone();
        changed[bit / 8] ^= 1 << (bit % 8);
        let Checked { verdict, statement, .. } = check(&changed, &keys, None);
        assert!(
            matches!(
                verdict,
                Verdict::PagesChanged | Verdict::Changed | Verdict::Unreadable | Verdict::UnknownKey { .. }
            ),
            "bit {bit}: {verdict:?}"
        );
        assert_eq!(statement, None);
    }
}

#[test]
fn pages_are_vouched_for_by_no_key_that_is_older_than_that_of_the_statement() {
    let (signer, older) = (key(7), key(8));
    let file = sealed(&signer, &statement(&signer, 1)).into_bytes();
    let mut whole = pdf(&[(&file, true)]);
    let since = |at: &'static str| Some(at);
    let keys = list(&[
        (&signer, since("2027-01-01T00:00:00Z"), None),
        (&older, since("2022-01-01T00:00:00Z"), since("2027-01-01T00:00:00Z")),
    ]);
    assert_eq!(check(&whole, &keys, None).verdict, Verdict::Authentic);
    // Signed again with a key that the thief of an old one may have.
    whole::sign(&mut whole, &older);
    assert_eq!(check(&whole, &keys, None).verdict, Verdict::PagesChanged);
    // A key that came later signs what is downloaded later.
    let rotated =
        list(&[(&older, since("2027-05-01T00:00:00Z"), None), (&signer, since("2027-01-01T00:00:00Z"), None)]);
    assert_eq!(check(&whole, &rotated, None).verdict, Verdict::Authentic);
}

#[test]
fn a_pdf_without_a_signature_of_its_own_is_refused() {
    let signer = key(7);
    let file = sealed(&signer, &statement(&signer, 1)).into_bytes();
    let whole = pdf(&[(&file, true)]);
    let text = [&b"%PDF-1.7\n"[..], &whole[whole.windows(5).position(|w| w == b"9 0 o").unwrap()..]].concat();
    assert_eq!(check(&text, &list(&[(&signer, None, None)]), None).verdict, Verdict::PagesChanged);
}

#[test]
fn the_file_inside_a_pdf_is_found_compressed_or_not_and_only_if_it_is_one() {
    let signer = key(7);
    let file = sealed(&signer, &statement(&signer, 1)).into_bytes();
    let keys = list(&[(&signer, None, None)]);

    for compressed in [false, true] {
        let with_others = pdf(&[(b"{\"format\":\"else\"}", true), (&file, compressed)]);
        assert_eq!(attached::sealed(&with_others).as_ref(), Ok(&file));
        assert_eq!(check(&with_others, &keys, None).verdict, Verdict::Authentic);
    }
    assert_eq!(attached::sealed(&pdf(&[])), Err(attached::Error::None));
    assert_eq!(attached::sealed(&pdf(&[(&file, true), (&file, true)])), Err(attached::Error::Several));
    let changed = String::from_utf8(file).unwrap().replacen("145", "154", 1);
    assert_eq!(check(&pdf(&[(changed.as_bytes(), true)]), &keys, None).verdict, Verdict::Changed);
    // A length beyond the end of the file.
    let cut = &pdf(&[(changed.as_bytes(), true)])[..300];
    assert_eq!(check(cut, &keys, None).verdict, Verdict::Unreadable);
}
