//! Every problem has its text, and the text shows what the problem carries.

use super::*;
use crate::code::{LabCode, RoundCode};
use crate::number::{Range, parse_reported};
use std::collections::BTreeSet;

/// The file that holds nothing but problems.
const PROBLEMS: &str = include_str!("../../../../documents/messages/en/problems.ftl");

/// Where texts of the domain's problems stand.
const CATALOGUE: &str = concat!(
    include_str!("../../../../documents/messages/en/problems.ftl"),
    "\n",
    include_str!("../../../../documents/messages/en/drafts.ftl"),
    "\n",
    include_str!("../../../../documents/messages/en/questions.ftl"),
    "\n",
    include_str!("../../../../documents/messages/en/plans.ftl"),
    "\n",
    include_str!("../../../../documents/messages/en/items.ftl"),
    "\n",
    include_str!("../../../../documents/messages/en/review.ftl"),
    "\n",
    include_str!("../../../../documents/messages/en/approval.ftl"),
    "\n",
    include_str!("../../../../documents/messages/en/methods.ftl"),
    "\n",
    include_str!("../../../../documents/messages/en/staff.ftl"),
    "\n",
    include_str!("../../../../documents/messages/en/exports.ftl"),
    "\n",
    include_str!("../../../../documents/messages/en/people.ftl"),
    "\n",
    include_str!("../../../../documents/messages/en/reports.ftl"),
    "\n",
    include_str!("../../../../documents/messages/en/pages.ftl"),
);

/// The text of `key`: the rest of its line and the indented lines below.
fn text(key: &str) -> Option<String> {
    let mut lines = CATALOGUE.lines().skip_while(|line| line.split(" =").next() != Some(key));
    let first = lines.next()?.split_once('=')?.1.to_owned();
    let more = lines.take_while(|line| line.starts_with(' '));
    Some(more.fold(first, |text, line| text + "\n" + line))
}

fn variables(text: &str) -> BTreeSet<&str> {
    text.split('$').skip(1).map(|rest| rest.split([' ', '}']).next().unwrap_or_default()).collect()
}

fn assert_has_text(problem: &Problem) {
    let text = text(problem.key).unwrap_or_else(|| panic!("{} has no text", problem.key));
    let carried: BTreeSet<&str> = problem.values.iter().map(|(name, _)| *name).collect();
    let shown = variables(&text);
    assert!(shown.is_subset(&carried), "{}: shows {shown:?}, carries {carried:?}", problem.key);
}

#[test]
fn numbers_codes_and_addresses_have_texts_for_what_they_carry() {
    let texts = [
        "", "1.250", "0", "-1", "<", "<0", ">5", "≤5", "n.d.", "-", "NaN", "=1", "12 ng", "5%", "1±2", "１", "1.2.3",
        "1 25", ".5", "5-", "1e", "1e99", "1_0",
    ];
    let mut keys = BTreeSet::new();
    for typed in texts {
        let problem = parse_reported(typed, false).expect_err(typed).problem();
        assert_has_text(&problem);
        keys.insert(problem.key);
    }
    let long = "1".repeat(100);
    for (typed, range) in [
        ("<5", Range::Any),
        ("0", Range::Positive),
        ("-1", Range::NonNegative),
        ("200", Range::Percent),
        (&long, Range::Any),
    ] {
        let problem = Decimal::parse(typed, range).expect_err(typed).problem();
        assert_has_text(&problem);
        keys.insert(problem.key);
    }
    assert_eq!(keys.len(), texts.len() + 5, "each kind of text has a problem of its own");
    for typed in ["", "22O22X", "2222", "222223"] {
        assert_has_text(&LabCode::parse(typed).expect_err(typed));
    }
    for typed in ["", "QW 1", "-QW", "new", "123456789012345678901"] {
        assert_has_text(&RoundCode::parse(typed).expect_err(typed));
    }
}

#[test]
fn files_have_texts_for_what_their_problems_carry() {
    let files: [&[u8]; 16] = [
        b"",
        b"PK\x03\x04",
        b"\xFF\xFEa",
        b"a\x00",
        b"name,email\n",
        b"name,email\nname,email\n=1,#REF!\na,b,c\n,\n",
        b"name,email\n\"a\nb\",x\n",
        b"name,email\n\"a",
        b"name,email\n\"a\"b",
        b"title\nname;email\nx;y\n",
        b"a,b\nname,email\nx,y\n",
        b"name,,name,mail\n1,2,3,4\n",
        b"name,email\na,a@b.example\nA,A@b.example\n",
        b"item,analyte,unit,x_pt\nA,a,ng/L,1\n",
        b"item,analyte,unit,x_pt,u_x_pt,U_x_pt,k,sigma_pt,sigma_pt_percent,route\nA,x,y,1.250,,,,,,\nX,x,y,0,1,1,,1,1,z\n\
          A,carbamazepine,x,,1,,2,,,\nA,carbamazepine,ng/L,1,,1,,1,,\nA,carbamazepine,ng/L,0,1,,2,,5,q\n",
        b"item,analyte,unit,decimals,replicates\nA,a,b,9,9\na,A,b,1,1\n",
    ];
    let mut keys = BTreeSet::new();
    for file in files {
        let mut problems = laboratories(file).err().unwrap_or_default();
        problems.extend(measurands(file).err().unwrap_or_default());
        problems.extend(assigned_values(file, &known()).err().unwrap_or_default());
        assert!(!problems.is_empty(), "{:?}", String::from_utf8_lossy(file));
        for problem in &problems {
            assert_has_text(&problem.problem);
            keys.insert(problem.problem.key);
        }
    }
    assert!(keys.len() >= 30, "{keys:?}");
}

/// Sentences that say nothing, and words that scold or beg.
#[test]
fn texts_say_what_is_wrong_and_what_to_do_without_empty_words() {
    let keys = PROBLEMS.lines().filter(|line| !line.starts_with([' ', '#']) && line.contains(" = "));
    for line in keys {
        let key = line.split(" =").next().unwrap_or_default();
        let text = text(key).unwrap_or_default();
        // The name of a variable is not read by anybody.
        let lower = text.to_lowercase().replace("{ $required }", "");
        for banned in ["invalid", "please", "required", "sorry", "oops", "error occurred"] {
            assert!(!lower.contains(banned), "{key} says {banned:?}");
        }
        assert!(text.trim_end().ends_with('.'), "{key}");
    }
}

/// Quoted words that are keys: those that begin as keys of this folder do, and
/// what a problem is made with.
fn keys(source: &str) -> impl Iterator<Item = &str> {
    let made = source.split("Problem::new(").skip(1);
    let first = made.filter_map(|rest| rest.trim_start().strip_prefix('"')?.split('"').next());
    let plain = |key: &&str| key.chars().all(|c| c.is_ascii_lowercase() || c == '-');
    let first = first.filter(plain);
    let named = source.split('"').filter(move |piece| plain(piece) && !piece.ends_with('-'));
    first.chain(named.filter(|piece| piece.starts_with("problem-")))
}

/// Every key that the sources of this crate name stands in the catalogue.
#[test]
fn every_key_of_the_sources_has_a_text() {
    let mut folders = vec![std::path::PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/src"))];
    let mut count = 0;
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let source = std::fs::read_to_string(&path).unwrap();
            for key in keys(&source) {
                assert!(text(key).is_some(), "{} names {key}, which has no text", path.display());
                count += 1;
            }
        }
    }
    assert!(count > 80, "{count}");
}
