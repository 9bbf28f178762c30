//! The demonstration: what a visitor sees in the first minutes.

use crate::pages::faults_of;
use crate::support::certificate::{READER, text_of};
use crate::support::program::{Program, command, run};
use crate::support::visitor::Visitor;
use crate::support::walk::{walk, walk_some};
use sha2::{Digest, Sha256};
use std::path::Path;
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
    // The second laboratory is one of the six whose result of metformin counts.
    while accounts.iter().all(|account: &Account| !account.role.starts_with("laboratory P02 ")) {
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
    what_stood_before(&laboratory, &organiser, folder.path()).await;
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

/// The lines of a table, each with its cells.
fn cells(csv: &str, analyte: &str) -> Vec<Vec<String>> {
    let lines = csv.lines().map(|line| line.split(',').map(str::to_owned).collect::<Vec<_>>());
    lines.filter(|cells| cells.get(2).is_some_and(|cell| cell == analyte)).collect()
}

/// What was published before the correction of metformin stays readable, says that it
/// does not hold any more, and has the numbers and the files of then.
async fn what_stood_before(laboratory: &Visitor, organiser: &Visitor, folder: &Path) {
    let now = laboratory.page("/rounds/QW-1/scores").await;
    assert!(!now.has("main .superseded"));
    let earlier = now.attribute("main a[href*='/scores?version=']", "href");
    let then = laboratory.page(&earlier).await;
    let mark = then.text("main .superseded");
    assert!(mark.contains("superseded by version 2 on 14 May 2024") && mark.contains("metformin"), "{mark}");
    assert_eq!(then.attribute("main .superseded a", "href"), "/rounds/QW-1/scores");
    assert!(!then.has("main a[href$='/scores?version=1']"), "an old version lists none that are older");
    let links = then.all("main a[href*='/scores/'], main a[href*='/scores.'], main a[href*='package.json']");
    let kept = |link: &scraper::ElementRef<'_>| link.attr("href").is_some_and(|href| href.contains("?version=1"));
    assert!(links.len() > 60 && links.iter().all(kept), "links within an old version stay with it");

    // Nominal contents of A, B and C as the scenario has them; those of version 1 were
    // taken 1.282 times as high, for the hydrochloride.
    let scores = async |who: &Visitor, query: &str| {
        let answer = who.get(&format!("/rounds/QW-1/scores.csv{query}")).await.expect(200);
        (answer.header("content-disposition").to_owned(), cells(&answer.text(), "metformin"))
    };
    let ((_, new), (name, old)) = (scores(laboratory, "").await, scores(laboratory, "?version=1").await);
    assert!(name.contains("-scores-version-1.csv"), "{name}");
    let number = |cells: &[String], place: usize| cells[place].parse::<f64>().expect("a number");
    for ((new, old), content) in new.iter().zip(&old).zip([50.0, 300.0, 360.0]) {
        let (value, x_then) = (number(old, 4), content * 1.282);
        assert_eq!(value, number(new, 4), "what was reported is the same");
        assert!((number(new, 7) - content).abs() < 0.06 && (number(old, 7) - x_then).abs() < 0.06);
        // sigma_pt is a quarter of the value; all is rounded before scores are made.
        assert!((number(new, 12) - 4.0 * (value - content) / content).abs() < 0.01, "{new:?}");
        assert!((number(old, 12) - 4.0 * (value - x_then) / x_then).abs() < 0.01, "{old:?}");
        assert!(number(old, 12) < number(new, 12), "all were low then");
    }
    assert_eq!((new.len(), old.len()), (3, 3));
    let (_, all) = scores(organiser, "?version=1").await;
    assert!(all.len() > old.len() && all.iter().any(|cells| *cells == old[1]), "the organiser's copy is of all");

    let row = then.all("main table.scores tbody th a").into_iter().filter(|a| a.text().any(|t| t == "metformin"));
    let href = row.last().and_then(|a| a.attr("href")).expect("metformin in item C").to_owned();
    let one = laboratory.page(&href).await;
    assert!(one.has("main .superseded") && one.text("dl.facts").contains("461.5"), "{}", one.text("dl.facts"));
    assert!(one.attribute("nav.steps a[rel='prev']", "href").ends_with("?version=1"));
    let holds = laboratory.page(&one.attribute("main .superseded a", "href")).await;
    assert!(!holds.has("main .superseded") && !holds.text("dl.facts").contains("461.5"));
    assert_eq!(holds.attribute("main a[href*='?version=']", "href"), href);

    // The package of then is the one whose digest was signed then.
    let package = laboratory.get("/rounds/QW-1/package.json?version=1").await.expect(200);
    assert!(package.header("content-disposition").contains("QW-1-package-version-1.json"));
    let signed = laboratory.get("/rounds/QW-1/certificate-signed.json?version=1").await.expect(200).text();
    assert!(signed.contains(&format!("\"package_sha256\":\"{}\"", sha256(&package.text()))));
    let file = folder.join("package-version-1.json");
    std::fs::write(&file, package.text()).expect("a file can be written");
    let (status, evaluation, error) = run(command(&["evaluate", file.to_str().expect("a path of ours")]));
    assert_eq!(status, Some(0), "{error}");
    assert!(signed.contains(&format!("\"evaluation_sha256\":\"{}\"", sha256(&evaluation))));
    assert!(laboratory.get("/rounds/QW-1/package.json").await.expect(200).text() != package.text());

    let files = laboratory.page("/rounds/QW-1/files").await;
    for link in files.all("main a[href*='?version=1']") {
        let answer = laboratory.get(link.attr("href").expect("where it leads")).await.expect(200);
        let name = answer.header("content-disposition").to_owned();
        assert!(name.contains("-version-1."), "{name}");
    }
    for what in ["scores", "scores/1", "scores.csv", "package.json", "tables/round.xlsx", "tables/summary.csv"] {
        for version in ["3", "0", "first"] {
            laboratory.get(&format!("/rounds/QW-1/{what}?version={version}")).await.expect(404);
        }
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
    // sigma_pt was 25 % of the value throughout but for citalopram, 30 % in QW-3.
    for (analyte, marks) in [("carbamazepine", 0), ("citalopram", 1)] {
        let page = laboratory.page(&format!("/performance?analyte={analyte}")).await;
        let marked = page.texts("tbody th").into_iter().filter(|row| row.contains("σₚₜ is another"));
        let marked: Vec<String> = marked.collect();
        assert!(marked.len() == marks && marked.iter().all(|row| row.starts_with("QW-3")), "{analyte}: {marked:?}");
    }
    let code = &codes[0];
    assert!(!organiser.get("/performance").await.text().contains(code.as_str()), "the organiser has no such page");
    for data in ["one", "ties", "long-names"] {
        assert!(organiser.page(&format!("/gallery?data={data}")).await.has("svg.figure"));
    }
}
