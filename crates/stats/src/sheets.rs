//! Method sheets: what an estimator does, by which formula, from which source and
//! with which defaults, taken from the documentation in the source of this crate.
//! Nothing is written a second time, so a sheet cannot say something else than
//! the code that it stands for.

const ALGORITHM_A: &str = include_str!("robust/algorithm_a.rs");
const Q_METHOD: &str = include_str!("robust/q_method.rs");
const HAMPEL: &str = include_str!("robust/hampel.rs");
const MAD: &str = include_str!("robust/mad.rs");
const SUMMARY: &str = include_str!("summary.rs");
const CONSENSUS: &str = include_str!("consensus.rs");
const CENSORED: &str = include_str!("censored.rs");
const SCORE: &str = include_str!("score.rs");
const HORWITZ: &str = include_str!("horwitz.rs");
const HOMOGENEITY: &str = include_str!("homogeneity.rs");
const STABILITY: &str = include_str!("stability.rs");
const GROUPS: &str = include_str!("groups.rs");

/// A sheet, in plain text and English, as the source has it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sheet {
    /// Its name, as `algorithm_a`.
    pub name: &'static str,
    /// Its title, as `Algorithm A`.
    pub title: &'static str,
    /// What is done, sentence by sentence, without formulae.
    pub what: String,
    /// The sentences that hold a formula.
    pub formula: Vec<String>,
    /// Where it is from.
    pub source: Vec<String>,
    /// Numbers that are fixed here: the number, and what it is for.
    pub defaults: Vec<(String, String)>,
    /// When it gives no answer; may be empty.
    pub fails: String,
}

/// Where a sheet is taken from.
struct Place {
    name: &'static str,
    title: &'static str,
    /// A source and the beginning of a line in it, above which documentation
    /// stands; empty for that of the module.
    texts: &'static [(&'static str, &'static str)],
    /// A source and the name of a constant in it.
    constants: &'static [(&'static str, &'static str)],
}

const PLACES: &[Place] = &[
    Place {
        name: "algorithm_a",
        title: "Algorithm A",
        texts: &[(ALGORITHM_A, "pub fn algorithm_a(")],
        constants: &[(ALGORITHM_A, "REACH"), (ALGORITHM_A, "WINSORISED_TO_SD"), (ALGORITHM_A, "REST")],
    },
    Place { name: "q_method", title: "Q method", texts: &[(Q_METHOD, "pub fn q_method(")], constants: &[] },
    Place {
        name: "hampel",
        title: "Hampel’s robust mean",
        texts: &[(HAMPEL, "pub fn hampel(")],
        constants: &[(HAMPEL, "CORNERS")],
    },
    Place {
        name: "median_made",
        title: "Median and MADe",
        texts: &[
            (SUMMARY, "pub fn median("),
            (MAD, "pub fn mad("),
            (MAD, "pub fn made("),
            (MAD, "pub fn median_made("),
        ],
        constants: &[(MAD, "MAD_TO_SD")],
    },
    Place {
        name: "median_niqr",
        title: "Median and normalised interquartile range",
        texts: &[
            (SUMMARY, "pub fn median("),
            (SUMMARY, "pub fn niqr("),
            (SUMMARY, "pub fn quantile("),
            (MAD, "pub fn median_niqr("),
        ],
        constants: &[(SUMMARY, "IQR_TO_SD")],
    },
    Place {
        name: "mean",
        title: "Mean and standard deviation",
        texts: &[(SUMMARY, "pub fn mean("), (SUMMARY, "pub fn standard_deviation(")],
        constants: &[],
    },
    Place {
        name: "weighted_mean",
        title: "Weighted mean",
        texts: &[(CONSENSUS, "pub fn weighted_mean(")],
        constants: &[],
    },
    Place {
        name: "mandel_paule",
        title: "Mandel and Paule’s consensus",
        texts: &[(CONSENSUS, "pub fn mandel_paule(")],
        constants: &[],
    },
    Place {
        name: "dersimonian_laird",
        title: "DerSimonian and Laird’s consensus",
        texts: &[(CONSENSUS, "pub fn dersimonian_laird(")],
        constants: &[],
    },
    Place {
        name: "limit_aware",
        title: "Median and MADe with results below a limit",
        texts: &[(CENSORED, ""), (CENSORED, "pub fn median_made("), (CENSORED, "pub fn median(")],
        constants: &[(MAD, "MAD_TO_SD")],
    },
    Place { name: "z", title: "z score", texts: &[(SCORE, "pub fn z("), (SCORE, "")], constants: &[(SCORE, "GUARD")] },
    Place {
        name: "z_prime",
        title: "z′ score",
        texts: &[(SCORE, "pub fn z_prime("), (SCORE, ""), (SCORE, "pub fn uncertainty_is_negligible(")],
        constants: &[(SCORE, "GUARD")],
    },
    Place {
        name: "zeta",
        title: "ζ score",
        texts: &[(SCORE, "pub fn zeta("), (SCORE, "")],
        constants: &[(SCORE, "GUARD")],
    },
    Place {
        name: "e_n",
        title: "Eₙ score",
        texts: &[(SCORE, "pub fn e_n("), (SCORE, "")],
        constants: &[(SCORE, "GUARD")],
    },
    Place {
        name: "difference_percent",
        title: "Difference from the assigned value",
        texts: &[(SCORE, "pub fn difference("), (SCORE, "pub fn difference_percent("), (SCORE, "")],
        constants: &[],
    },
    Place {
        name: "horwitz",
        title: "Horwitz’s function",
        texts: &[(HORWITZ, "pub fn standard_deviation("), (HORWITZ, "pub fn in_unit(")],
        constants: &[(HORWITZ, "LOW"), (HORWITZ, "HIGH")],
    },
    Place {
        name: "homogeneity",
        title: "Homogeneity of items",
        texts: &[
            (HOMOGENEITY, ""),
            (HOMOGENEITY, "pub fn duplicates("),
            (HOMOGENEITY, "pub fn limit("),
            (HOMOGENEITY, "pub fn factors("),
            (HOMOGENEITY, "    pub fn expanded_limit("),
        ],
        constants: &[(HOMOGENEITY, "SHARE"), (HOMOGENEITY, "FEWEST_UNITS")],
    },
    Place {
        name: "stability",
        title: "Stability of items",
        texts: &[
            (STABILITY, ""),
            (STABILITY, "pub fn compare("),
            (STABILITY, "    pub difference:"),
            (STABILITY, "    pub standard_uncertainty:"),
        ],
        constants: &[(HOMOGENEITY, "SHARE")],
    },
    Place {
        name: "groups",
        title: "Groups of methods compared",
        texts: &[(GROUPS, "pub fn shift("), (GROUPS, "pub fn holm(")],
        constants: &[(GROUPS, "COUNTED_OUT")],
    },
];

/// The sheet of this name.
///
/// ```
/// use roundel_stats::sheets;
///
/// let sheet = sheets::sheet("algorithm_a").expect("it is one of ours");
/// assert_eq!(sheet.title, "Algorithm A");
/// assert!(sheet.source.iter().any(|source| source.contains("ISO 13528:2022 C.3.1")));
/// ```
pub fn sheet(name: &str) -> Option<Sheet> {
    PLACES.iter().find(|place| place.name == name).map(read)
}

/// All sheets: estimators first, then scores, then checks of items and groups.
pub fn all() -> Vec<Sheet> {
    PLACES.iter().map(read).collect()
}

fn read(place: &Place) -> Sheet {
    let (mut what, mut formula, mut source, mut fails) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for (text, marker) in place.texts {
        let documented = Documented::of(text, marker);
        for paragraph in &documented.paragraphs {
            source.extend(sources(paragraph));
            for sentence in sentences(paragraph) {
                let kept: &mut Vec<String> = if is_formula(&sentence) { &mut formula } else { &mut what };
                if !kept.contains(&sentence) {
                    kept.push(sentence);
                }
            }
        }
        if !documented.errors.is_empty() && !fails.contains(&documented.errors) {
            fails.push(documented.errors);
        }
    }
    let mut named: Vec<String> = Vec::new();
    for one in source {
        if !named.contains(&one) {
            named.push(one);
        }
    }
    Sheet {
        name: place.name,
        title: place.title,
        what: what.join(" "),
        formula,
        source: named,
        defaults: place.constants.iter().filter_map(|(text, name)| constant(text, name)).collect(),
        fails: fails.join(" "),
    }
}

/// What a piece of source says of itself.
#[derive(Default)]
struct Documented {
    paragraphs: Vec<String>,
    errors: String,
}

impl Documented {
    /// The documentation above the line that begins with `marker`, or that of the
    /// module where it is empty; code left out.
    fn of(text: &str, marker: &str) -> Documented {
        let lines: Vec<&str> = if marker.is_empty() {
            text.lines().map_while(|line| line.strip_prefix("//!")).collect()
        } else {
            let before: Vec<&str> = text.lines().take_while(|line| !line.starts_with(marker)).collect();
            let upwards = before.into_iter().rev().map(str::trim_start);
            let above = upwards.skip_while(|line| line.starts_with("#["));
            let mut above: Vec<&str> = above.map_while(|line| line.strip_prefix("///")).collect();
            above.reverse();
            above
        };
        let mut found = Documented::default();
        let (mut code, mut errors, mut open) = (false, false, false);
        for line in lines.into_iter().map(str::trim) {
            if line.starts_with("```") {
                code = !code;
                open = false;
            } else if line.starts_with("# ") {
                errors = line == "# Errors";
                open = false;
            } else if line.is_empty() || code {
                open = false;
            } else if errors {
                if !found.errors.is_empty() {
                    found.errors.push(' ');
                }
                found.errors.push_str(line);
            } else if open && let Some(last) = found.paragraphs.last_mut() {
                last.push(' ');
                last.push_str(line);
            } else {
                found.paragraphs.push(line.to_owned());
                open = true;
            }
        }
        found.errors = plain(&found.errors);
        found.paragraphs = found.paragraphs.iter().map(|paragraph| plain(paragraph)).collect();
        found
    }
}

/// A constant's value and what is said of it.
fn constant(text: &str, name: &str) -> Option<(String, String)> {
    let is_its = |line: &&str| {
        let rest = line.trim_start_matches("pub(super) ").trim_start_matches("pub ");
        rest.strip_prefix("const ").is_some_and(|rest| rest.starts_with(&format!("{name}:")))
    };
    let line = text.lines().find(is_its)?;
    let value = line.split_once(" = ")?.1.trim_end_matches(';').replace('_', "\u{202f}");
    let documented = Documented::of(text, line);
    Some((value, documented.paragraphs.join(" ")))
}

/// Without the signs of the language of documentation: `[`Error::TooFew`] below 2`
/// is said as "too few values: below 2".
fn plain(text: &str) -> String {
    const WORDS: &[(&str, &str)] = &[
        ("[`Error::TooFew`]", "too few values:"),
        ("[`Error::NoSpread`]", "no spread:"),
        ("[`Error::OutOfRange`]", "out of range:"),
        ("[`Error::NotFinite`]", "not a finite number:"),
        ("[`Error::NotConverged`]", "no convergence:"),
        ("[`Error::NotIdentifiable`]", "not identifiable:"),
    ];
    let mut text = text.to_owned();
    for (seen, said) in WORDS {
        text = text.replace(seen, said);
    }
    // A link in brackets keeps its words and loses its address.
    let mut shown = String::with_capacity(text.len());
    let mut rest = text.as_str();
    while let Some((before, after)) = rest.split_once("[`") {
        let (linked, after) = after.split_once("`]").unwrap_or((after, ""));
        shown.push_str(before);
        shown.push_str(linked.rsplit("::").next().unwrap_or(linked));
        rest = match after.strip_prefix('(') {
            Some(address) => address.split_once("))").map_or(after, |(_, after)| after),
            None => after,
        };
    }
    shown.push_str(rest);
    shown.replace('`', "").replace("sigma_pt", "σₚₜ").replace("σ_pt", "σₚₜ").replace("x_pt", "xₚₜ")
}

/// The sentences of a paragraph. A full stop after a single letter ends none: it
/// stands for a first name.
fn sentences(paragraph: &str) -> Vec<String> {
    let mut sentences = Vec::new();
    let mut from = 0;
    let mut depth = 0_i32;
    let letters: Vec<(usize, char)> = paragraph.char_indices().collect();
    for (place, (at, letter)) in letters.iter().enumerate() {
        match letter {
            '(' => depth += 1,
            ')' => depth -= 1,
            _ => {}
        }
        let ends = *letter == '.' && depth <= 0 && letters.get(place + 1).is_none_or(|(_, next)| *next == ' ');
        let word = paragraph[from..*at].rsplit(' ').next().unwrap_or_default();
        if ends && word.chars().count() > 1 {
            sentences.push(paragraph[from..=*at].trim().to_owned());
            from = at + 1;
        }
    }
    let rest = paragraph[from..].trim();
    if !rest.is_empty() {
        sentences.push(rest.to_owned());
    }
    sentences
}

/// Whether a sentence holds a formula.
fn is_formula(sentence: &str) -> bool {
    [" = ", "√", "Σ", " × ", "/√", "0.3 σ", "(Q3 − Q1)", "1/u²"].iter().any(|sign| sentence.contains(sign))
}

/// What a paragraph names as its sources: parts in brackets that name a standard or
/// a year of print.
fn sources(paragraph: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut rest = paragraph;
    while let Some((_, after)) = rest.split_once('(') {
        let mut depth = 1;
        let end = after.char_indices().find(|(_, letter)| {
            depth += i32::from(*letter == '(') - i32::from(*letter == ')');
            depth == 0
        });
        let Some((end, _)) = end else { break };
        let inside = &after[..end];
        if names_a_source(inside) {
            found.extend(cited(inside.trim_end_matches('.')));
            rest = &after[end..];
        } else {
            rest = after;
        }
    }
    found
}

/// A source as a sheet cites it: without what is said beside it of how the formula was
/// come by, which is for who reads the code. None where nothing else is said.
fn cited(text: &str) -> Option<String> {
    let works = text.split("; ").filter_map(|work| {
        let parts: Vec<&str> = work.split(", ").filter(|part| !part.contains("from memory")).collect();
        (!parts.is_empty()).then(|| parts.join(", "))
    });
    Some(works.collect::<Vec<_>>().join("; ")).filter(|cited| !cited.is_empty())
}

fn names_a_source(text: &str) -> bool {
    let year = |word: &str| {
        let digits: String = word.chars().filter(char::is_ascii_digit).collect();
        digits.len() == 4 && (digits.starts_with("19") || digits.starts_with("20"))
    };
    ["ISO", "IUPAC", "AOAC", "project"].iter().any(|name| text.contains(name))
        || text.split([' ', ',', ':']).any(|word| year(word) && word.chars().count() <= 5)
        || text.contains("from memory")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sheet_says_what_it_is_by_which_formula_and_from_where() {
        for sheet in all() {
            assert!(sheet.what.len() > 20, "{}: {:?}", sheet.name, sheet.what);
            assert!(!sheet.formula.is_empty(), "{} has no formula", sheet.name);
            assert!(!sheet.source.is_empty(), "{} has no source", sheet.name);
            assert!(sheet.source.iter().all(|source| !source.contains("memory")), "{:?}", sheet.source);
            let whole = format!("{sheet:?}");
            assert!(!whole.contains("Error::") && !whole.contains('`') && !whole.contains("assert"), "{whole}");
        }
    }

    #[test]
    fn every_place_is_found_in_its_source() {
        for place in PLACES {
            for (text, marker) in place.texts {
                assert!(!Documented::of(text, marker).paragraphs.is_empty(), "{}: {marker}", place.name);
            }
            for (text, name) in place.constants {
                let (value, meaning) = constant(text, name).unwrap_or_else(|| panic!("{}: {name}", place.name));
                assert!(!value.is_empty() && !meaning.is_empty(), "{name}");
            }
        }
    }

    #[test]
    fn a_sheet_has_the_numbers_of_its_standard() {
        // ISO 13528:2022 C.3.1: 1.5 and 1.134; C.2.2: 1.483; C.2.3: 0.7413; C.5.3: 1.5, 3.0
        // and 4.5 (all from memory).
        let values = |name: &str| {
            let sheet = sheet(name).expect("it is there");
            sheet.defaults.iter().map(|(value, _)| value.clone()).collect::<Vec<_>>()
        };
        assert_eq!(values("algorithm_a"), ["1.5", "1.134", "1e-12"]);
        assert_eq!(values("median_made"), ["1.483"]);
        assert_eq!(values("median_niqr"), ["0.7413"]);
        assert_eq!(values("hampel"), ["[1.5, 3.0, 4.5]"]);
        assert_eq!(values("homogeneity"), ["0.3", "7"]);
    }

    #[test]
    fn sentences_end_where_they_end() {
        let text = "By M. Hollander, D. A. Wolfe (see C.2. and C.3). It is z = 1.5 exactly. Done";
        assert_eq!(
            sentences(text),
            ["By M. Hollander, D. A. Wolfe (see C.2. and C.3).", "It is z = 1.5 exactly.", "Done"]
        );
        assert_eq!(sources("A (ISO 1:2022, from memory) and (x + 1) and (Holm 1979)."), ["ISO 1:2022", "Holm 1979"]);
        assert_eq!(plain("As for [`algorithm_a`](super::algorithm_a()). Or `p`."), "As for algorithm_a. Or p.");
    }

    #[test]
    fn there_is_no_sheet_of_another_name() {
        assert_eq!(sheet("no such method"), None);
    }
}
