//! The demonstration: what a visitor sees in the first minutes.

use crate::pages::faults_of;
use crate::support::certificate::{READER, text_of};
use crate::support::program::{Program, command, run};
use crate::support::visitor::Visitor;
use crate::support::walk::{walk, walk_some};
use sha2::{Digest, Sha256};
use tempfile::TempDir;

fn sha256(text: &str) -> String {
    hex::encode(Sha256::digest(text.as_bytes()))
}

/// A person of the demonstration, as the program prints it.
#[derive(Debug)]
struct Account {
    role: String,
    email: String,
    password: String,
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_demonstration_has_a_published_round_with_certificates_and_an_open_one() {
    let folder = TempDir::with_prefix("roundel-demo-").expect("a temporary folder can be made");
    let mut program = Program::start("demo", &folder.path().join("data"));
    let address = program.line();
    assert!(address.starts_with("http://127.0.0.1:"), "{address:?}, {}", program.error_line());
    let mut accounts = Vec::new();
    while accounts.iter().all(|account: &Account| !account.role.starts_with("laboratory")) {
        let line = program.line();
        let [role, email, password] = line.split('\t').collect::<Vec<_>>()[..] else { panic!("{line:?}") };
        accounts.push(Account { role: role.to_owned(), email: email.to_owned(), password: password.to_owned() });
    }
    assert!(accounts[0].role.contains("organiser"), "{accounts:?}");

    let organiser = Visitor::new(&address);
    organiser.sign_in(&accounts[0].email, &accounts[0].password).await;
    let rounds = organiser.page("/rounds").await.texts("tbody th");
    assert!(rounds.contains(&"QW-1".to_owned()) && rounds.contains(&"QW-4".to_owned()), "{rounds:?}");
    let laboratory = Visitor::new(&address);
    laboratory.sign_in(&accounts[accounts.len() - 1].email, &accounts[accounts.len() - 1].password).await;
    laboratory.page("/rounds/QW-4/results/A").await;
    scores_over_rounds(&laboratory, &organiser).await;
    let certificate = laboratory.get("/rounds/QW-1/certificate.pdf").await.expect(200).bytes;
    let package = laboratory.get("/rounds/QW-1/package.json").await.expect(200).text();
    let file = folder.path().join("package.json");
    std::fs::write(&file, &package).expect("a file can be written");
    let (status, evaluation, error) = run(command(&["evaluate", file.to_str().expect("a path of ours")]));
    assert_eq!(status, Some(0), "{error}");

    // Whatever is shown says that it is a demonstration.
    let mut found = walk(&laboratory, &["/rounds".to_owned()]).await;
    // Of the thousands of pages that the organiser has, those nearest to the beginning.
    let starts = ["/rounds", "/rounds/QW-1/review/1", "/rounds/QW-1/approval", "/rounds/QW-1/corrections"];
    found.extend(walk_some(&organiser, &starts.map(str::to_owned), 200).await.0);
    for (path, answer) in found.iter().filter(|(_, answer)| answer.is_page() && answer.status.is_success()) {
        assert!(answer.page().has(".demonstration"), "{path} does not say that it is a demonstration");
    }
    assert!(found.len() > 60, "the walk went somewhere: {}", found.len());
    let faults = faults_of(&found);
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
    // The program is killed between a keystroke and the sending.
    let form = laboratory.page("/rounds/QW-4/results/A").await.form("/rounds/QW-4/results/A");
    let typed = form.into_iter().map(|(name, text)| match name.as_str() {
        "1.v1" => (name, "31,5".to_owned()),
        _ => (name, text),
    });
    let typed: Vec<(String, String)> = typed.chain([("command".to_owned(), "quiet".to_owned())]).collect();
    laboratory.post("/rounds/QW-4/results/A", &typed).await.expect(200);
    program.kill();
    let mut program = Program::start("serve", &folder.path().join("data"));
    let ready = program.error_line();
    let address = ready.strip_prefix("Roundel is ready at ").unwrap_or_else(|| panic!("{ready:?}")).to_owned();
    let laboratory = Visitor::new(&address);
    laboratory.sign_in(&accounts[accounts.len() - 1].email, &accounts[accounts.len() - 1].password).await;
    assert_eq!(laboratory.page("/rounds/QW-4/results/A").await.value("1.v1"), "31,5");
    assert!(program.terminate().success());

    if crate::support::has(READER, "reading the demonstration's certificate") {
        let text = text_of(&certificate);
        assert!(text.to_lowercase().contains("demonstration"), "{text}");
        let printed: String = text.split_whitespace().collect();
        // Anybody can compute what the certificate stands on.
        assert!(printed.contains(&sha256(&package)), "the package's hash is printed");
        assert!(printed.contains(&sha256(&evaluation)), "what `evaluate` prints has the hash that is printed");
    }
}

/// A laboratory follows its own scores over its rounds, whatever its codes were, and
/// finds nobody else there.
async fn scores_over_rounds(laboratory: &Visitor, organiser: &Visitor) {
    let page = laboratory.page("/performance").await;
    let (rounds, codes) = (page.texts("tbody th a"), page.texts("tbody td.code"));
    assert_eq!(rounds.len(), codes.len(), "each row names the code of its round");
    for round in ["QW-1", "QW-2", "QW-3"] {
        assert!(rounds.iter().any(|one| one == round), "{round} in {rounds:?}");
        let scores = laboratory.page(&format!("/rounds/{round}/scores")).await;
        let own = scores.text(".subtitle");
        for (_, code) in rounds.iter().zip(&codes).filter(|(one, _)| *one == round) {
            assert!(own.contains(code.as_str()), "{code} is the code in {round}: {own}");
        }
    }
    let analyte = page.texts("select#analyte option").into_iter().nth(1).expect("an analyte");
    let one = laboratory.page(&format!("/performance?analyte={analyte}")).await;
    assert_eq!(one.text("h2.initial"), analyte);
    assert!(one.has("svg.figure") && one.texts("thead th").iter().any(|head| head == "EWMA"));
    assert!(one.texts("tbody th a").len() < rounds.len(), "one analyte has fewer rows than all");
    let code = &codes[0];
    assert!(!organiser.get("/performance").await.text().contains(code.as_str()), "the organiser has no such page");
    for data in ["one", "ties", "long-names"] {
        assert!(organiser.page(&format!("/gallery?data={data}")).await.has("svg.figure"));
    }
}
