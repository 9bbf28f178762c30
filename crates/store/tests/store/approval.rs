//! Trials, reviews, publications, corrections, complaints and appeals.

use crate::sample::{at, id, item, laboratory, measurand, participant, round, user, write};
use roundel_domain::approval::Verdict;
use roundel_domain::case::{Kind, Outcome, Step};
use roundel_domain::id::{
    CaseId, CorrectionId, EvaluationId, MeasurandId, PublicationId, ReviewId, RoundId, TrialId, UserId,
};
use roundel_store::cases::{self, NewCase, NewStep};
use roundel_store::evaluations::{self, NewEvaluation};
use roundel_store::publications::{self, NewPublication};
use roundel_store::testing::on_both;
use roundel_store::trials::{self, NewRecomputation, NewTrial};
use roundel_store::verdicts::{self, NewReview};
use roundel_store::{Db, Error};

struct Sample {
    round: RoundId,
    measurand: MeasurandId,
    evaluation: EvaluationId,
    statistician: UserId,
    reviewer: UserId,
}

async fn sample(db: &Db) -> Sample {
    let statistician = user(db, "reed@quillmere.example", None).await;
    let reviewer = user(db, "alder@quillmere.example", None).await;
    let round = round(db, "R-1").await;
    let item = item(db, round, 1, "A").await;
    let measurand = measurand(db, round, &item, 1, "nitrate").await;
    let evaluation = EvaluationId(id());
    let new = NewEvaluation {
        id: evaluation,
        round,
        version: 1,
        package: "{}",
        package_sha256: "aa",
        document: "{}",
        sha256: "bb",
        at: at("10:00"),
        by: statistician,
    };
    write(db, async |tx| evaluations::insert(tx, &new).await.unwrap()).await;
    Sample { round, measurand, evaluation, statistician, reviewer }
}

#[tokio::test]
async fn trials_are_counted_and_read_newest_first() {
    on_both(async |db| {
        let on = sample(&db).await;
        let mut ids = Vec::new();
        for time in ["11:00", "12:00"] {
            let new = NewTrial {
                id: TrialId(id()),
                evaluation: on.evaluation,
                changes: r#"{"measurand":"A/nitrate"}"#,
                outcome: r#"{"measurands":1,"classes":2}"#,
                at: at(time),
                by: on.statistician,
            };
            ids.push(new.id);
            write(&db, async |tx| trials::insert(tx, &new).await.unwrap()).await;
        }
        let other = round(&db, "R-2").await;

        let mut tx = db.read().await.unwrap();
        let read = trials::newest(&mut tx, on.round, 10).await.unwrap();
        assert_eq!(read.iter().map(|one| one.id).collect::<Vec<_>>(), [ids[1], ids[0]]);
        let newest = &read[0];
        assert_eq!((newest.evaluation, newest.version, newest.at()), (on.evaluation, 1, at("12:00")));
        assert_eq!(newest.changes, r#"{"measurand":"A/nitrate"}"#);
        assert_eq!((newest.outcome.as_str(), newest.by.as_str()), (r#"{"measurands":1,"classes":2}"#, "Ada Sample"));
        assert_eq!(trials::newest(&mut tx, on.round, 1).await.unwrap().len(), 1);
        assert_eq!(trials::count(&mut tx, on.round).await.unwrap(), 2);
        assert_eq!(trials::count(&mut tx, other).await.unwrap(), 0);
        assert!(trials::by_id(&mut tx, on.round, ids[0]).await.unwrap().is_some());
        assert!(trials::by_id(&mut tx, other, ids[0]).await.unwrap().is_none(), "of another round");
    })
    .await;
}

#[tokio::test]
async fn the_newest_recomputation_is_told() {
    on_both(async |db| {
        let on = sample(&db).await;
        assert!(trials::recomputation(&mut db.read().await.unwrap(), on.evaluation).await.unwrap().is_none());
        for (time, same, differences) in [("11:00", true, ""), ("12:00", false, "A/nitrate")] {
            let new = NewRecomputation {
                id: id(),
                evaluation: on.evaluation,
                engine: "roundel 9",
                sha256: "cc",
                same,
                differences,
                at: at(time),
                by: on.reviewer,
            };
            write(&db, async |tx| trials::recomputed(tx, &new).await.unwrap()).await;
        }

        let told = trials::recomputation(&mut db.read().await.unwrap(), on.evaluation).await.unwrap().unwrap();
        assert_eq!((told.same, told.differences.as_str(), told.at()), (false, "A/nitrate", at("12:00")));
        assert_eq!((told.engine.as_str(), told.sha256.as_str(), told.by.as_str()), ("roundel 9", "cc", "Ada Sample"));
    })
    .await;
}

#[tokio::test]
async fn reviews_are_read_with_their_answers_and_answered_once() {
    on_both(async |db| {
        let on = sample(&db).await;
        let review = |verdict, finding, time| NewReview {
            id: ReviewId(id()),
            evaluation: on.evaluation,
            measurand: on.measurand,
            verdict,
            digest: "dd",
            finding,
            at: at(time),
            by: on.reviewer,
        };
        let returned = review(Verdict::Returned, "Why so small?", "11:00");
        let approved = review(Verdict::Approved, "", "13:00");
        write(&db, async |tx| {
            verdicts::insert(tx, &approved).await.unwrap();
            verdicts::insert(tx, &returned).await.unwrap();
            verdicts::answer(tx, returned.id, "By the formulation.", on.statistician, at("12:00")).await.unwrap();
        })
        .await;

        let mut tx = db.write().await.unwrap();
        let read = verdicts::of_round(&mut tx, on.round).await.unwrap();
        assert_eq!((read[0].id, read[1].id), (returned.id, approved.id));
        let first = &read[0];
        assert_eq!((first.verdict().unwrap(), first.finding.as_str()), (Verdict::Returned, "Why so small?"));
        assert_eq!((first.digest.as_str(), first.measurand, first.at()), ("dd", on.measurand, at("11:00")));
        assert_eq!((first.answer.as_deref(), first.answered_at()), (Some("By the formulation."), Some(at("12:00"))));
        assert_eq!((first.by.as_str(), first.answered_by.as_deref()), ("Ada Sample", Some("Ada Sample")));
        assert_eq!((read[1].answer.as_ref(), read[1].answered_at()), (None, None));
        let editors = verdicts::editors(&mut tx, on.round).await.unwrap();
        assert_eq!(editors, [on.statistician], "who evaluated, not who reviewed");
        assert_eq!(verdicts::approvers(&mut tx, on.round).await.unwrap(), [on.reviewer]);
        let again = verdicts::answer(&mut tx, returned.id, "Otherwise.", on.statistician, at("14:00")).await;
        assert!(matches!(again, Err(Error::Exists)), "{again:?}");
    })
    .await;
}

#[tokio::test]
async fn publications_have_numbers_and_a_correction_is_open_until_its_end() {
    on_both(async |db| {
        let on = sample(&db).await;
        let publication = |number, reason, time| NewPublication {
            id: PublicationId(id()),
            round: on.round,
            number,
            evaluation: on.evaluation,
            meaning: "Final.",
            reason,
            notified: 7,
            at: at(time),
            by: on.reviewer,
        };
        let correction = CorrectionId(id());
        write(&db, async |tx| {
            publications::insert(tx, &publication(1, "", "11:00")).await.unwrap();
            publications::open_correction(tx, correction, on.round, "A batch.", on.reviewer, at("12:00"))
                .await
                .unwrap();
        })
        .await;
        let open = publications::correction(&mut db.read().await.unwrap(), on.round).await.unwrap().unwrap();
        assert_eq!((open.id, open.reason.as_str(), open.at()), (correction, "A batch.", at("12:00")));
        assert_eq!(open.by, "Ada Sample");
        write(&db, async |tx| {
            publications::insert(tx, &publication(2, "A batch.", "13:00")).await.unwrap();
            publications::end_correction(tx, correction, true, on.reviewer, at("13:00")).await.unwrap();
        })
        .await;

        let mut tx = db.read().await.unwrap();
        assert!(publications::correction(&mut tx, on.round).await.unwrap().is_none());
        let read = publications::of_round(&mut tx, on.round).await.unwrap();
        let told: Vec<_> = read.iter().map(|one| (one.number, one.reason.as_str(), one.at())).collect();
        assert_eq!(told, [(1, "", at("11:00")), (2, "A batch.", at("13:00"))]);
        assert_eq!((read[1].evaluation, read[1].notified, read[1].meaning.as_str()), (on.evaluation, 7, "Final."));
        assert_eq!(read[1].by, "Ada Sample");
        drop(tx);
        let mut tx = db.write().await.unwrap();
        let twice = publications::insert(&mut tx, &publication(2, "", "14:00")).await;
        assert!(matches!(twice, Err(Error::Exists)), "{twice:?}");
    })
    .await;
}

#[tokio::test]
async fn a_case_is_read_with_its_steps_in_turn() {
    on_both(async |db| {
        let on = sample(&db).await;
        let lab = laboratory(&db, "Fernhill Water").await;
        let part = participant(&db, on.round, lab, "K7M2Q-R").await;
        let case = |number, kind, participant| NewCase {
            id: CaseId(id()),
            round: on.round,
            number,
            kind,
            participant,
            subject: "Our unit",
            statement: "Please correct it.",
            at: at("11:00"),
            by: on.reviewer,
        };
        let appeal = case(1, Kind::Appeal, Some(part));
        let step = |step, outcome, person, time| NewStep {
            id: id(),
            case: appeal.id,
            step,
            outcome,
            statement: "As it is.",
            person,
            at: at(time),
            by: on.statistician,
        };
        write(&db, async |tx| {
            cases::insert(tx, &appeal).await.unwrap();
            cases::insert(tx, &case(2, Kind::Complaint, None)).await.unwrap();
            cases::add_step(tx, &step(Step::Decided, Some(Outcome::Rejected), None, "13:00")).await.unwrap();
            cases::add_step(tx, &step(Step::Assigned, None, Some(on.reviewer), "12:00")).await.unwrap();
        })
        .await;

        let mut tx = db.read().await.unwrap();
        let read = cases::of_round(&mut tx, on.round).await.unwrap();
        assert_eq!((read[0].id, read[0].number, read[0].kind().unwrap()), (appeal.id, 1, Kind::Appeal));
        assert_eq!((read[0].participant(), read[0].code.as_deref()), (Some(part), Some("K7M2Q-R")));
        assert_eq!((read[0].subject.as_str(), read[0].statement.as_str()), ("Our unit", "Please correct it."));
        assert_eq!(
            (read[1].kind().unwrap(), read[1].participant(), read[1].at()),
            (Kind::Complaint, None, at("11:00"))
        );
        let steps = cases::steps(&mut tx, on.round).await.unwrap();
        assert_eq!((steps[0].case, steps[0].step().unwrap()), (appeal.id, Step::Assigned));
        assert_eq!((steps[0].investigator(), steps[0].person.as_deref()), (Some(on.reviewer), Some("Ada Sample")));
        assert_eq!((steps[1].step().unwrap(), steps[1].outcome()), (Step::Decided, Some(Outcome::Rejected)));
        assert_eq!((steps[1].statement.as_str(), steps[1].at()), ("As it is.", at("13:00")));
        drop(tx);
        let mut tx = db.write().await.unwrap();
        let twice = cases::insert(&mut tx, &case(2, Kind::Complaint, None)).await;
        assert!(matches!(twice, Err(Error::Exists)), "{twice:?}");
    })
    .await;
}
