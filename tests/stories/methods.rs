//! Groups of methods as staff and laboratories see them.

use crate::support::scenario::{OpenRound, at};

#[tokio::test]
async fn groups_are_for_the_staff_at_once_and_for_laboratories_after_publication() {
    let round = OpenRound::new(6).await;
    let path = at("/methods");
    round.organiser.get(&path).await.expect(409);
    round.laboratories[0].get(&path).await.expect(404);
    round.all_send().await;
    round.close().await;

    let before = round.organiser.page(&path).await;
    assert!(before.text("main").contains("There is no evaluation yet"), "{}", before.text("main"));
    round.laboratories[0].get(&path).await.expect(404);
    // What is typed wrongly comes back with its sentence.
    for wrong in ["3", "11", "five", ""] {
        let answer = round.organiser.submit(&path, &path, &[("smallest", wrong)]).await.expect(422).page();
        assert_eq!(answer.value("smallest"), wrong);
        assert!(answer.text("#smallest-error").contains("from 4 to 10"), "{}", answer.problems());
    }
    round.organiser.submit(&path, &path, &[("smallest", "6")]).await.leads_to();
    let set = round.organiser.page(&path).await;
    assert_eq!(set.value("smallest"), "6");
    let fields = vec![("form_token".to_owned(), set.value("form_token")), ("smallest".to_owned(), "5".to_owned())];
    round.publish().await;

    // The limit stands from publication on.
    let token = round.organiser.page("/rounds/new").await.value("form_token");
    let fields: Vec<_> = fields
        .into_iter()
        .map(|(name, text)| if name == "form_token" { (name, token.clone()) } else { (name, text) })
        .collect();
    round.organiser.post(&path, &fields).await.expect(409);
    for visitor in [&round.organiser, &round.laboratories[0]] {
        let page = visitor.page(&path).await;
        assert!(page.text("main").contains("No laboratory answered the questions on its method"));
        assert!(page.text("main").contains("It is no proof that one method is right"));
        assert!(!page.has("input[name='smallest']"));
        let file = visitor.get(&at("/methods.csv?factor=calibration")).await.expect(200).text();
        assert!(file.contains("item,analyte,unit,factor,group,laboratories"), "{file}");
    }
}
