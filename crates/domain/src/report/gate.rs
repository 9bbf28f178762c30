//! What is there of the contents a to t, and what is missing.

use super::{Heading, Item, Said, Status};
use crate::checklist::{self, Checklist};
use crate::field::Problem;
use std::collections::HashMap;

/// What is known of a round when its report is put together.
#[derive(Clone, Debug)]
pub struct Facts<'a> {
    /// Name of the provider.
    pub provider: &'a str,
    /// Contact of the provider.
    pub contact: &'a str,
    /// The texts of the plan that holds, signed by two persons; none without one.
    pub plan: Option<&'a Checklist>,
    /// Labels of items of which no matrix is said.
    pub undescribed: Vec<String>,
    /// Measurands, as `A/nitrate`, without a study of homogeneity or of stability.
    pub unstudied: Vec<String>,
    /// How many laboratories sent results.
    pub results: usize,
    /// Whether there is an evaluation that holds all decisions.
    pub evaluated: bool,
    /// Whether all of it is approved, and published by somebody who is named.
    pub authorised: bool,
    /// Measurands, as `A/nitrate`, that are to be scored by plan and have neither a
    /// standard deviation for proficiency assessment nor a reason why not.
    pub without_sigma: Vec<String>,
    /// Whether the round asked how laboratories work.
    pub asks_method: bool,
    /// What was written, by heading.
    pub said: HashMap<Heading, Said>,
}

impl Facts<'_> {
    fn planned(&self, heading: checklist::Heading) -> bool {
        self.plan.is_some_and(|plan| !plan.text(heading).trim().is_empty())
    }
}

/// How a content stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum State {
    /// It is there.
    Present,
    /// What is missing; each says what to do.
    Missing(Vec<Problem>),
    /// It does not apply to this round; the sentence says why.
    NotApplicable(Problem),
}

/// A content and how it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// Which.
    pub item: Item,
    /// How it stands.
    pub state: State,
}

/// How all contents stand, in the order of their letters.
pub fn gate(facts: &Facts<'_>) -> Vec<Line> {
    Item::ALL.into_iter().map(|item| Line { item, state: state(facts, item) }).collect()
}

fn state(facts: &Facts<'_>, item: Item) -> State {
    let mut missing = Vec::new();
    let mut need = |is_there: bool, key: &'static str| {
        if !is_there {
            missing.push(Problem::new(key));
        }
    };
    match item {
        Item::Provider => {
            need(!facts.provider.trim().is_empty(), "report-missing-provider");
            need(!facts.contact.trim().is_empty(), "report-missing-contact");
        }
        Item::Coordinator => need(facts.planned(checklist::Heading::Provider), "report-missing-coordinator"),
        Item::Authorised => need(facts.authorised, "report-missing-authorised"),
        Item::External => need(facts.planned(checklist::Heading::External), "report-missing-external"),
        // What the service prints by itself.
        Item::Issued | Item::Pages | Item::Advice => {}
        Item::Confidentiality => need(facts.planned(checklist::Heading::Publicity), "report-missing-publicity"),
        Item::Identification => need(facts.plan.is_some(), "report-missing-plan"),
        Item::Items => {
            need(facts.planned(checklist::Heading::Production), "report-missing-production");
            missing.extend(items(facts));
        }
        Item::Results => need(facts.results > 0, "report-missing-results"),
        Item::Statistics | Item::Route | Item::Procedures => need(facts.evaluated, "report-missing-evaluation"),
        Item::Traceability => need(facts.planned(checklist::Heading::Traceability), "report-missing-traceability"),
        Item::Sigma => {
            need(facts.evaluated, "report-missing-evaluation");
            let names = &facts.without_sigma;
            missing.extend((!names.is_empty()).then(|| listed("report-missing-sigma", names)));
        }
        Item::Methods if !facts.asks_method => {
            return State::NotApplicable(Problem::new("report-no-method-questions"));
        }
        Item::Methods => need(facts.evaluated, "report-missing-evaluation"),
        Item::Comments => missing.extend(
            Heading::COMMENTS
                .into_iter()
                .filter(|heading| !facts.said.contains_key(heading))
                .map(|heading| Problem::new(comment_key(heading))),
        ),
        Item::Design => {
            need(facts.plan.is_some(), "report-missing-plan");
            need(facts.planned(checklist::Heading::Timetable), "report-missing-timetable");
        }
        Item::Recommendations => {
            need(facts.said.contains_key(&Heading::Recommendations), "report-missing-recommendations")
        }
    }
    if missing.is_empty() { State::Present } else { State::Missing(missing) }
}

/// What is missing of the items themselves.
fn items(facts: &Facts<'_>) -> Vec<Problem> {
    let mut missing = Vec::new();
    if !facts.undescribed.is_empty() {
        missing.push(listed("report-missing-matrix", &facts.undescribed));
    }
    if !facts.unstudied.is_empty() && !facts.said.contains_key(&Heading::Items) {
        missing.push(listed("report-missing-studies", &facts.unstudied));
    }
    missing
}

/// A problem of several, the first of them named.
fn listed(key: &'static str, names: &[String]) -> Problem {
    const NAMED: usize = 3;
    let named = names.iter().take(NAMED).cloned().collect::<Vec<_>>().join(", ");
    Problem::new(key).with("count", names.len()).with("names", named).with("more", names.len().saturating_sub(NAMED))
}

fn comment_key(heading: Heading) -> &'static str {
    match heading {
        Heading::Expectation => "report-missing-comment-expectation",
        Heading::Variation => "report-missing-comment-variation",
        Heading::Earlier => "report-missing-comment-earlier",
        Heading::Methods => "report-missing-comment-methods",
        Heading::Errors => "report-missing-comment-errors",
        Heading::Advice => "report-missing-comment-advice",
        Heading::Unusual => "report-missing-comment-unusual",
        Heading::Conclusions => "report-missing-comment-conclusions",
        Heading::Items => "report-missing-studies",
        Heading::Recommendations => "report-missing-recommendations",
    }
}

/// Everything that is missing, with the content that it belongs to.
pub fn missing(lines: &[Line]) -> Vec<(Item, &Problem)> {
    let of = |line: &Line| match &line.state {
        State::Missing(problems) => problems.len(),
        _ => 0,
    };
    let mut all = Vec::with_capacity(lines.iter().map(of).sum());
    for line in lines {
        if let State::Missing(problems) = &line.state {
            all.extend(problems.iter().map(|problem| (line.item, problem)));
        }
    }
    all
}

/// Whether nothing is missing.
pub fn is_complete(lines: &[Line]) -> bool {
    lines.iter().all(|line| !matches!(line.state, State::Missing(_)))
}

/// Whether a report may be issued with a status now: `published` for a round that is
/// published, `correcting` while a correction of it is open, `had_final` where there
/// is a final report already.
///
/// # Errors
///
/// Why not: the step is not the next one, or something is missing of what a final
/// report must have.
pub fn may_issue(
    status: Status,
    published: bool,
    correcting: bool,
    had_final: bool,
    lines: &[Line],
) -> Result<(), Problem> {
    let evaluated = lines.iter().any(|line| line.item == Item::Statistics && line.state == State::Present);
    let refused = match status {
        Status::Preliminary if published => Some("report-not-preliminary"),
        Status::Interim if !published || (had_final && !correcting) => Some("report-not-interim"),
        Status::Final if had_final => Some("report-final-is-there"),
        Status::Corrected if !had_final => Some("report-nothing-to-correct"),
        Status::Final | Status::Corrected if !published || correcting => Some("report-not-published"),
        Status::Final | Status::Corrected if !is_complete(lines) => {
            return Err(Problem::new("report-incomplete").with("count", missing(lines).len()));
        }
        _ if !evaluated => Some("report-missing-evaluation"),
        _ => None,
    };
    refused.map_or(Ok(()), |key| Err(Problem::new(key)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn checklist() -> Checklist {
        let mut texts = Checklist::default();
        for heading in checklist::Heading::ALL {
            texts.set(heading, "Said in the plan.");
        }
        texts
    }

    fn said() -> HashMap<Heading, Said> {
        let text = Said { text: "Said.".to_owned(), not_applicable: String::new() };
        Heading::ALL.into_iter().map(|heading| (heading, text.clone())).collect()
    }

    fn whole(plan: &Checklist) -> Facts<'_> {
        Facts {
            provider: "Quillmere",
            contact: "1 Weir Lane",
            plan: Some(plan),
            undescribed: Vec::new(),
            unstudied: Vec::new(),
            results: 12,
            evaluated: true,
            authorised: true,
            without_sigma: Vec::new(),
            asks_method: true,
            said: said(),
        }
    }

    /// What is missing, as letter and key.
    fn missed(facts: &Facts<'_>) -> Vec<(char, &'static str)> {
        missing(&gate(facts)).into_iter().map(|(item, problem)| (item.letter(), problem.key)).collect()
    }

    #[test]
    fn a_report_with_everything_may_be_final() {
        let plan = checklist();
        let lines = gate(&whole(&plan));

        assert_eq!(lines.len(), 20);
        assert!(is_complete(&lines) && missing(&lines).is_empty());
        assert_eq!(may_issue(Status::Final, true, false, false, &lines), Ok(()));
    }

    type Change = fn(&mut Facts<'_>);

    #[test]
    fn each_content_that_is_missing_blocks_the_final_status_and_is_named() {
        let plan = checklist();
        let cases: [(Change, &[(char, &str)]); 12] = [
            (|f| f.provider = " ", &[('a', "report-missing-provider")]),
            (|f| f.contact = "", &[('a', "report-missing-contact")]),
            (|f| f.authorised = false, &[('c', "report-missing-authorised")]),
            (|f| f.undescribed = vec!["A".to_owned()], &[('i', "report-missing-matrix")]),
            (|f| f.results = 0, &[('j', "report-missing-results")]),
            (
                |f| f.evaluated = false,
                &[
                    ('k', "report-missing-evaluation"),
                    ('l', "report-missing-evaluation"),
                    ('n', "report-missing-evaluation"),
                    ('o', "report-missing-evaluation"),
                    ('r', "report-missing-evaluation"),
                ],
            ),
            (|f| f.without_sigma = vec!["A/x".to_owned()], &[('n', "report-missing-sigma")]),
            (
                |f| {
                    f.unstudied = vec!["A/x".to_owned()];
                    f.said.remove(&Heading::Items);
                },
                &[('i', "report-missing-studies")],
            ),
            (|f| drop(f.said.remove(&Heading::Recommendations)), &[('t', "report-missing-recommendations")]),
            (|f| drop(f.said.remove(&Heading::Earlier)), &[('p', "report-missing-comment-earlier")]),
            (
                |f| f.said.clear(),
                &[
                    ('p', "report-missing-comment-expectation"),
                    ('p', "report-missing-comment-variation"),
                    ('p', "report-missing-comment-earlier"),
                    ('p', "report-missing-comment-methods"),
                    ('p', "report-missing-comment-errors"),
                    ('p', "report-missing-comment-advice"),
                    ('p', "report-missing-comment-unusual"),
                    ('p', "report-missing-comment-conclusions"),
                    ('t', "report-missing-recommendations"),
                ],
            ),
            (
                |f| f.plan = None,
                &[
                    ('b', "report-missing-coordinator"),
                    ('d', "report-missing-external"),
                    ('g', "report-missing-publicity"),
                    ('h', "report-missing-plan"),
                    ('i', "report-missing-production"),
                    ('m', "report-missing-traceability"),
                    ('q', "report-missing-plan"),
                    ('q', "report-missing-timetable"),
                ],
            ),
        ];
        for (change, expected) in cases {
            let mut facts = whole(&plan);
            change(&mut facts);

            assert_eq!(missed(&facts), expected);
            let refused = may_issue(Status::Final, true, false, false, &gate(&facts)).expect_err("it is not complete");
            assert_eq!(
                (refused.key, refused.value("count")),
                ("report-incomplete", Some(expected.len().to_string().as_str()))
            );
        }
    }

    #[test]
    fn a_text_of_the_plan_that_is_empty_is_missed_under_its_letter() {
        let cases = [
            (checklist::Heading::Provider, 'b'),
            (checklist::Heading::External, 'd'),
            (checklist::Heading::Publicity, 'g'),
            (checklist::Heading::Production, 'i'),
            (checklist::Heading::Traceability, 'm'),
            (checklist::Heading::Timetable, 'q'),
        ];
        for (heading, letter) in cases {
            let mut plan = checklist();
            plan.set(heading, "");
            let letters: Vec<char> = missed(&whole(&plan)).into_iter().map(|(letter, _)| letter).collect();
            assert_eq!(letters, [letter], "{heading:?}");
        }
    }

    #[test]
    fn studies_that_are_not_kept_can_be_spoken_for_and_methods_that_nobody_asked_for_do_not_apply() {
        let plan = checklist();
        let facts = Facts { unstudied: vec!["A/x".to_owned()], asks_method: false, ..whole(&plan) };

        let lines = gate(&facts);

        assert!(is_complete(&lines));
        let methods = lines.iter().find(|line| line.item == Item::Methods).map(|line| &line.state);
        assert_eq!(methods, Some(&State::NotApplicable(Problem::new("report-no-method-questions"))));
    }

    #[test]
    fn long_lists_name_the_first_and_count_the_rest() {
        let plan = checklist();
        let names = ["A/v", "A/w", "A/x", "A/y"].map(str::to_owned);
        let lines = gate(&Facts { without_sigma: names.to_vec(), ..whole(&plan) });
        let (_, problem) = missing(&lines)[0];
        assert_eq!((problem.value("names"), problem.value("more")), (Some("A/v, A/w, A/x"), Some("1")));
    }

    #[test]
    fn each_status_has_its_time() {
        let plan = checklist();
        let lines = gate(&whole(&plan));
        let may = |status, published, correcting, had_final| {
            may_issue(status, published, correcting, had_final, &lines).map_err(|problem| problem.key)
        };
        use Status::{Corrected, Final, Interim, Preliminary};

        assert_eq!(may(Preliminary, false, false, false), Ok(()));
        assert_eq!(may(Preliminary, true, false, false), Err("report-not-preliminary"));
        assert_eq!(may(Interim, false, false, false), Err("report-not-interim"));
        assert_eq!(may(Interim, true, false, false), Ok(()));
        assert_eq!(may(Interim, true, false, true), Err("report-not-interim"));
        assert_eq!(may(Interim, true, true, true), Ok(()));
        assert_eq!(may(Final, false, false, false), Err("report-not-published"));
        assert_eq!(may(Final, true, true, false), Err("report-not-published"));
        assert_eq!(may(Final, true, false, true), Err("report-final-is-there"));
        assert_eq!(may(Corrected, true, false, false), Err("report-nothing-to-correct"));
        assert_eq!(may(Corrected, true, true, true), Err("report-not-published"));
        assert_eq!(may(Corrected, true, false, true), Ok(()));
        // Preliminary and interim reports may have gaps, but say nothing without an evaluation.
        let gaps = gate(&Facts { said: HashMap::new(), ..whole(&plan) });
        assert_eq!(may_issue(Preliminary, false, false, false, &gaps), Ok(()));
        let none = gate(&Facts { evaluated: false, ..whole(&plan) });
        let refused = may_issue(Preliminary, false, false, false, &none).map_err(|problem| problem.key);
        assert_eq!(refused, Err("report-missing-evaluation"));
    }
}
