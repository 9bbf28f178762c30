//! What a laboratory may not see: assigned values and scores before
//! publication, and at no time who the others are.

use crate::support::answer::Answer;
use crate::support::scenario::{self, LABORATORIES, MEASURANDS, OpenRound, at, enter, send};
use crate::support::visitor::Visitor;
use crate::support::walk::walk;

/// Every page and file that a laboratory reaches, by links and by guessing.
async fn everything(laboratory: &Visitor) -> Vec<(String, Answer)> {
    let mut starts = vec!["/rounds".to_owned()];
    for path in ["", "/results/A", "/results/B", "/results/C", "/check", "/scores", "/certificate.pdf", "/package.json"]
    {
        starts.push(at(path));
    }
    for path in ["/assigned-values", "/assigned-values/template.csv", "/evaluation", "/measurands"] {
        starts.push(at(path));
    }
    starts.extend((1..=12).flat_map(|n| [at(&format!("/scores/{n}")), at(&format!("/evaluation/{n}"))]));
    walk(laboratory, &starts).await
}

fn contains(answer: &Answer, text: &str) -> bool {
    answer.bytes.windows(text.len()).any(|window| window == text.as_bytes())
}

#[track_caller]
fn assert_no_assigned_value(when: &str, found: &[(String, Answer)]) {
    assert!(found.len() >= 30, "{when}: the walk went somewhere: {}", found.len());
    for (path, answer) in found {
        for asked in MEASURANDS {
            assert!(!contains(answer, asked.x_pt), "{when}, {path} shows x_pt = {}", asked.x_pt);
            for (what, number) in [("u", asked.u), ("sigma_pt", asked.sigma)] {
                let cell = format!(">{number}<");
                assert!(!contains(answer, &cell), "{when}, {path} shows {what} = {number}");
            }
        }
    }
}

#[track_caller]
fn assert_no_scores(when: &str, found: &[(String, Answer)]) {
    for (path, answer) in found {
        let scores = path.contains("/scores") || path.contains("/certificate") || path.contains("/package");
        if scores || path.contains("/evaluation") {
            assert_eq!(answer.status.as_u16(), 404, "{when}, {path}");
        }
    }
}

#[tokio::test]
async fn before_publication_no_page_of_a_laboratory_has_an_assigned_value_or_a_score() {
    let round = OpenRound::new(4).await;
    let laboratory = &round.laboratories[0];
    // A laboratory that happens to report the assigned value would end this test wrongly.
    let all: Vec<String> = (0..4).flat_map(scenario::all_typed).collect();
    assert!(MEASURANDS.iter().all(|asked| !all.iter().any(|typed| typed.contains(asked.x_pt))));
    let organisers = round.organiser.get(&at("/assigned-values")).await.expect(200);
    assert!(
        MEASURANDS.iter().all(|asked| contains(&organisers, asked.x_pt)),
        "the organiser sees them: the look works"
    );

    let look = async |when: &str| {
        let found = everything(laboratory).await;
        assert_no_assigned_value(when, &found);
        assert_no_scores(when, &found);
    };
    look("before anything was typed").await;
    // Numbers far off the mark: no note may tell.
    let mut wild = scenario::all_typed(0);
    (wild[0], wild[5]) = ("32470".to_owned(), "0.26".to_owned());
    enter(laboratory, &wild).await;
    look("with a draft").await;
    enter(laboratory, &scenario::all_typed(0)).await;
    send(laboratory).await;
    for (n, other) in round.laboratories.iter().enumerate().skip(1) {
        enter(other, &scenario::all_typed(n)).await;
        send(other).await;
    }
    look("when sent").await;
    round.close().await;
    look("when closed").await;
    round.organiser.submit(&at("/evaluation"), &at("/evaluation"), &[]).await.leads_to();
    look("when evaluated").await;

    scenario::approve(&round.reviewer).await;
    look("when approved").await;
    scenario::publish(&round.organiser).await;
    let found = everything(laboratory).await;
    let scores = found.iter().find(|(path, _)| path == &at("/scores")).expect("a page of scores");
    assert!(contains(&scores.1, MEASURANDS[0].x_pt), "after publication it is there: the look works");
    round.app.end().await;
}

#[tokio::test]
async fn a_laboratory_is_never_shown_who_else_takes_part() {
    let round = OpenRound::new(12).await;
    let receipts = round.all_send().await;
    let codes: Vec<String> = {
        let mut codes = Vec::new();
        for (laboratory, receipt) in round.laboratories.iter().zip(&receipts) {
            codes.push(laboratory.page(receipt).await.text("dd.code"));
        }
        codes
    };
    let laboratory = &round.laboratories[0];
    let check = async |when: &str, codes_too: bool| {
        for (path, answer) in everything(laboratory).await {
            for (n, name) in LABORATORIES.iter().enumerate().skip(1) {
                assert!(!contains(&answer, name), "{when}, {path} names {name}");
                assert!(!contains(&answer, &scenario::email(n)), "{when}, {path} has the address of {name}");
                assert!(!codes_too || !contains(&answer, &codes[n]), "{when}, {path} has the code of {name}");
            }
        }
    };

    check("while open", true).await;
    round.close().await;
    check("when closed", true).await;
    round.publish().await;
    // The published package has the codes of all, and no names.
    check("when published", false).await;
    round.app.end().await;
}
