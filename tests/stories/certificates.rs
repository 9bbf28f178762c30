//! Certificates that prove themselves: from downloaded files alone, with openssl or
//! the program, and on the public page, which says nothing of laboratories.

use crate::support::answer::Answer;
use crate::support::caller::json;
use crate::support::certificate::{READER, text_of};
use crate::support::has;
use crate::support::program::command;
use crate::support::scenario::{CODE, LABORATORIES, OpenRound, PASSWORD, at, publish};
use crate::support::visitor::Visitor;
use reqwest::Method;
use reqwest::multipart::{Form, Part};
use sha2::Digest;
use std::path::Path;
use std::process::{Command, Stdio};

/// A published round with two laboratories that sent, and what the first downloads.
struct Published {
    round: OpenRound,
    folder: tempfile::TempDir,
}

impl Published {
    async fn new() -> Published {
        let round = OpenRound::new(2).await;
        round.all_send().await;
        round.close().await;
        round.publish().await;
        let published = Published { round, folder: tempfile::tempdir().unwrap() };
        published.download("").await;
        published
    }

    fn first(&self) -> &Visitor {
        &self.round.laboratories[0]
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn file(&self, name: &str) -> String {
        self.path().join(name).to_str().unwrap().to_owned()
    }

    fn read(&self, name: &str) -> Vec<u8> {
        std::fs::read(self.path().join(name)).unwrap()
    }

    fn write(&self, name: &str, bytes: &[u8]) {
        std::fs::write(self.path().join(name), bytes).unwrap();
    }

    /// The files of the first laboratory, and what everybody may have.
    async fn download(&self, query: &str) {
        for file in ["certificate.pdf", "certificate.json", "certificate-signed.json", "certificate-signature.bin"] {
            let answer = self.first().get(&format!("{}{query}", at(&format!("/{file}")))).await.expect(200);
            self.write(file, &answer.bytes);
        }
        self.public().await;
    }

    async fn public(&self) {
        let stranger = self.round.app.visitor();
        for file in ["keys.json", "notices.json"] {
            self.write(file, &stranger.get(&format!("/{file}")).await.expect(200).bytes);
        }
        let pem = stranger.page("/keys").await.attribute("section.key a[href$='.pem']", "href");
        self.write("key.pem", &stranger.get(&pem).await.expect(200).bytes);
    }

    /// What the program says, and how it ends.
    fn verify(&self, file: &str, more: &[&str]) -> (String, i32) {
        let mut arguments = vec!["verify".to_owned(), self.file(file)];
        arguments.extend(more.iter().map(|part| if part.contains('.') { self.file(part) } else { (*part).to_owned() }));
        let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
        let output = command(&arguments).output().unwrap();
        let said = format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
        (said, output.status.code().unwrap_or(-1))
    }

    /// The address on the certificate of a laboratory, without the service's own.
    async fn address(&self, laboratory: usize) -> String {
        let signed = self.round.laboratories[laboratory].get(&at("/certificate-signed.json")).await.expect(200);
        let address = json(&signed)["address"].as_str().unwrap().to_owned();
        address.strip_prefix(&self.round.app.address).unwrap().to_owned()
    }

    /// A correction that changes a class of nobody, published.
    async fn correct(&self) {
        let reason = "A value was transcribed wrongly.";
        self.round.organiser.submit(&at("/corrections"), &at("/corrections"), &[("reason", reason)]).await.leads_to();
        publish(&self.round.organiser).await;
    }
}

async fn check_on_the_page(visitor: &Visitor, bytes: Vec<u8>) -> Answer {
    let form = Form::new().part("file", Part::bytes(bytes).file_name("certificate"));
    visitor.send("POST /verify".to_owned(), visitor.request(Method::POST, "/verify").multipart(form)).await
}

/// A shell, without our program: what stands on `/keys`, as a person types it.
fn shell(folder: &Path, script: &str) -> (bool, String) {
    let output = Command::new("sh")
        .args(["-c", script])
        .current_dir(folder)
        .env_clear()
        .env("PATH", "/usr/bin:/bin")
        .stdin(Stdio::null())
        .output()
        .expect("a shell");
    let said = format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    (output.status.success(), said)
}

const VERIFY: &str = "openssl pkeyutl -verify -pubin -inkey key.pem -rawin -in signed.json -sigfile signature.bin";

#[tokio::test]
async fn openssl_and_coreutils_alone_prove_a_certificate_from_the_file_and_see_a_changed_digit() {
    if !has("openssl", "checking a certificate") {
        return;
    }
    let published = Published::new().await;
    let folder = published.path();
    // The commands as the page of keys shows them.
    let page = published.round.app.visitor().page("/keys").await;
    let commands = page.all("main pre code").into_iter().map(|code| code.text().collect::<String>());
    let commands: Vec<String> = commands.collect();
    let take_apart = commands.iter().find(|text| text.contains("sed -e")).expect("the page says how");

    let (done, said) = shell(folder, take_apart);
    assert!(done, "{take_apart}: {said}");

    assert!(published.read("signed.json") == published.read("certificate-signed.json"), "letter by letter");
    assert!(published.read("signature.bin") == published.read("certificate-signature.bin"));
    assert!(shell(folder, VERIFY).0);
    let signed = String::from_utf8(published.read("signed.json")).unwrap();
    let at = signed.find("\"version\":1").unwrap() + "\"version\":".len();
    let mut changed = signed.clone().into_bytes();
    changed[at] = b'2';
    published.write("signed.json", &changed);
    assert!(!shell(folder, VERIFY).0, "a changed digit");
    published.write("signed.json", signed.as_bytes());
    assert!(shell(folder, VERIFY).0, "as it was");

    // The PDF as a whole: one flipped bit anywhere is found.
    let key = page.attribute("section.key a[href$='.pem']", "href");
    std::fs::copy(folder.join("key.pem"), folder.join(key.rsplit('/').next().unwrap())).unwrap();
    let whole = commands.iter().find(|text| text.contains("basenc")).expect("the page says how");
    let (done, said) = shell(folder, whole);
    assert!(done && said.contains("Signature Verified Successfully"), "{whole}: {said}");
    let pdf = published.read("certificate.pdf");
    for part in [3, 5, 9] {
        let mut changed = pdf.clone();
        changed[pdf.len() * part / 10] ^= 1;
        published.write("certificate.pdf", &changed);
        assert!(!shell(folder, whole).0, "a bit at {part}/10");
    }
    published.round.app.end().await;
}

#[tokio::test]
async fn the_program_checks_json_and_pdf_and_ends_differently_for_each_refusal() {
    let published = Published::new().await;
    let with = ["--keys", "keys.json", "--notices", "notices.json"];

    for file in ["certificate.json", "certificate.pdf"] {
        let (said, status) = published.verify(file, &with);
        assert_eq!(status, 0, "{said}");
        assert!(said.starts_with("AUTHENTIC") && said.contains(LABORATORIES[0]), "{said}");
        assert_eq!(said.contains("byte for byte as it was issued"), file.ends_with("pdf"), "{said}");
        let (said, status) = published.verify(file, &["--key", "key.pem"]);
        assert!(status == 0 && said.contains("was not asked"), "{said}");
    }
    let mut pages = published.read("certificate.pdf");
    let middle = pages.len() / 2;
    pages[middle] ^= 1;
    published.write("pages.pdf", &pages);
    let (said, status) = published.verify("pages.pdf", &with);
    assert!(status == 3 && said.contains("the rest of the PDF is not as it was issued"), "{said}");
    assert!(!said.contains(LABORATORIES[0]), "nothing of a refused file is told: {said}");
    let (said, status) = published.verify("certificate.json", &[]);
    assert!(status == 4 && said.starts_with("NOT CHECKED"), "{said}");

    let text = String::from_utf8(published.read("certificate.json")).unwrap();
    published.write("changed.json", text.replacen("\"version\":1", "\"version\":2", 1).as_bytes());
    let (digit, status) = published.verify("changed.json", &with);
    assert_eq!(status, 3, "{digit}");

    let list = json(&published.round.app.visitor().get("/keys.json").await.expect(200));
    let mut other = list.clone();
    other["keys"] = serde_json::json!([]);
    published.write("other.json", other.to_string().as_bytes());
    let (key, status) = published.verify("certificate.json", &["--keys", "other.json"]);
    assert_eq!(status, 4, "{key}");

    let mut ended = list;
    ended["keys"][0]["signs_until"] = serde_json::json!("2020-01-01T00:00:00Z");
    published.write("ended.json", ended.to_string().as_bytes());
    let (expired, status) = published.verify("certificate.json", &["--keys", "ended.json"]);
    assert_eq!(status, 7, "{expired}");

    published.correct().await;
    published.public().await;
    let (superseded, status) = published.verify("certificate.json", &with);
    assert_eq!(status, 5, "{superseded}");
    published.download("").await;
    let (said, status) = published.verify("certificate.pdf", &with);
    assert!(status == 0 && said.contains("version 2"), "{said}");
    published.download("?version=1").await;
    let (said, status) = published.verify("certificate.pdf", &with);
    assert_eq!(status, 5, "the old one stays readable: {said}");

    let first = |text: &str| text.lines().next().unwrap_or_default().to_owned();
    let mut said = [digit, key, expired, superseded].map(|text| first(&text)).to_vec();
    said.sort();
    said.dedup();
    assert_eq!(said.len(), 4, "four messages: {said:?}");
    published.round.app.end().await;
}

#[tokio::test]
async fn the_public_page_says_the_same_of_two_laboratories_but_for_their_digests() {
    let published = Published::new().await;
    let stranger = published.round.app.visitor();
    let (one, two) = (published.address(0).await, published.address(1).await);
    assert_ne!(one, two);
    assert_eq!(one.trim_start_matches("/verify/").len(), 32, "128 bits in hexadecimal");

    let answers = [stranger.get(&one).await.expect(200), stranger.get(&two).await.expect(200)];

    let masked = answers.iter().map(|answer| {
        assert_eq!(answer.header("x-robots-tag"), "noindex, nofollow");
        let facts = answer.page().texts("dl.facts dd");
        assert_eq!(facts.len(), 1, "{facts:?}");
        assert_eq!(facts[0].len(), 64, "a SHA-256: {facts:?}");
        answer.text().replace(&facts[0], "DIGEST")
    });
    let masked: Vec<String> = masked.collect();
    assert_eq!(masked[0], masked[1], "nothing else differs");
    for word in LABORATORIES.iter().chain(&[CODE, "carbamazepine", "acceptable", "ng/L"]) {
        assert!(!masked[0].contains(word), "{word}");
    }
    assert_eq!(answers[0].page().text("section.verdict h2"), "Authentic");

    let unknown = stranger.get("/verify/00000000000000000000000000000000").await.expect(404);
    assert_eq!(unknown.page().text("section.verdict h2"), "Unknown");
    published.correct().await;
    assert_eq!(stranger.page(&one).await.text("section.verdict h2"), "Superseded");
    published.round.app.end().await;
}

#[tokio::test]
async fn a_file_is_checked_on_the_public_page_and_a_withdrawn_one_is_refused() {
    let published = Published::new().await;
    let stranger = published.round.app.visitor();
    let file = published.read("certificate.json");
    let headline = async |bytes: Vec<u8>| check_on_the_page(&stranger, bytes).await.page().text("section.verdict h2");

    assert_eq!(headline(file.clone()).await, "Authentic");
    assert_eq!(headline(published.read("certificate.pdf")).await, "Authentic");
    let mut pages = published.read("certificate.pdf");
    let middle = pages.len() / 2;
    pages[middle] ^= 1;
    assert_eq!(headline(pages).await, "Pages changed");
    let changed = String::from_utf8(file.clone()).unwrap().replacen("\"version\":1", "\"version\":2", 1);
    assert_eq!(headline(changed.into_bytes()).await, "Changed");
    assert_eq!(headline(b"{}".to_vec()).await, "No certificate");

    // The organiser alone withdraws, with a reason and the password.
    let lab = published.first().page(&at("")).await.text("p.subtitle");
    let lab = lab.rsplit(' ').next().unwrap().to_owned();
    let path = at(&format!("/certificates/{lab}/withdraw"));
    published.first().get(&path).await.expect(404);
    published.round.reviewer.get(&path).await.expect(403);
    let organiser = &published.round.organiser;
    organiser.submit(&path, &path, &[("reason", "A wrong name."), ("password", "wrong")]).await.expect(422);
    organiser.submit(&path, &path, &[("reason", ""), ("password", PASSWORD)]).await.expect(422);
    assert_eq!(headline(file.clone()).await, "Authentic");
    organiser.submit(&path, &path, &[("reason", "A wrong name."), ("password", PASSWORD)]).await.leads_to();

    assert_eq!(headline(file).await, "Withdrawn");
    let page = stranger.get(&published.address(0).await).await.expect(200);
    assert!(!page.text().contains("A wrong name."), "the reason is nobody's business");
    published.public().await;
    let (said, status) = published.verify("certificate.json", &["--keys", "keys.json", "--notices", "notices.json"]);
    assert_eq!(status, 6, "{said}");
    if has(READER, "reading a withdrawn certificate") {
        let pdf = published.first().get(&at("/certificate.pdf")).await.expect(200);
        assert!(text_of(&pdf.bytes).contains("Withdrawn"));
    }
    published.round.app.end().await;
}

#[tokio::test]
async fn notices_have_numbers_and_openssl_alone_proves_each() {
    let published = Published::new().await;
    let (folder, stranger) = (published.path(), published.round.app.visitor());
    assert!(stranger.page("/notices").await.text("main").contains("There is no notice"));
    stranger.get("/notices/1").await.expect(404);
    let old = String::from_utf8(published.read("certificate-signed.json")).unwrap();
    let digest = |text: &str| hex::encode(sha2::Sha256::digest(text.as_bytes()));

    published.correct().await;
    let lab = published.first().page(&at("")).await.text("p.subtitle");
    let path = at(&format!("/certificates/{}/withdraw", lab.rsplit(' ').next().unwrap()));
    stranger.get("/notices").await.expect(200);
    published.round.organiser.submit(&path, &path, &[("reason", "A name."), ("password", PASSWORD)]).await.leads_to();
    published.download("").await;

    let board = stranger.page("/notices").await;
    assert_eq!(board.texts("tbody th"), ["2", "1"], "the newest first");
    let said = board.texts("tbody td:nth-of-type(2)");
    assert_eq!(said, ["One certificate was withdrawn", "12 certificates were superseded by later versions"]);
    for word in LABORATORIES.iter().chain(&[CODE, "carbamazepine", "A name."]) {
        assert!(!board.text("main").contains(word), "{word}");
    }
    let signed = async |number: usize| stranger.get(&format!("/notices/{number}")).await.expect(200).bytes;
    let (first, second) = (signed(1).await, signed(2).await);
    let statement = |file: &[u8]| serde_json::from_slice::<serde_json::Value>(file).unwrap()["statement"].clone();
    let digests = statement(&first)["sha256"].as_array().unwrap().clone();
    assert_eq!((statement(&first)["number"].as_i64(), digests.len()), (Some(1), 12));
    assert!(digests.contains(&serde_json::Value::from(digest(&old))), "the one that was downloaded before");
    let withdrawn = digest(&String::from_utf8(published.read("certificate-signed.json")).unwrap());
    assert_eq!(statement(&second)["sha256"], serde_json::json!([withdrawn]));
    // The list has the same notices, and still says of a certificate whether it stands.
    let list: serde_json::Value = serde_json::from_slice(&published.read("notices.json")).unwrap();
    let numbered = list["notices"]["numbered"].as_array().unwrap();
    assert_eq!(
        numbered.iter().map(|one| &one["statement"]).collect::<Vec<_>>(),
        [&statement(&first), &statement(&second)]
    );
    let (said, status) = published.verify("certificate.json", &["--keys", "keys.json", "--notices", "notices.json"]);
    assert_eq!(status, 6, "{said}");

    // A notice stays as it was signed, also when another key signs.
    let change = [("reason", "A year is over."), ("password", PASSWORD)];
    let key = stranger.page("/keys").await.attribute("section.key a[href$='.pem']", "href");
    published.round.organiser.submit("/keys/change", "/keys/change", &change).await.leads_to();
    assert!(signed(1).await == first && signed(2).await == second);

    if has("openssl", "checking a notice") {
        let page = published.round.app.visitor().page("/keys").await;
        let commands = page.all("main pre code").into_iter().map(|code| code.text().collect::<String>());
        let commands = commands.into_iter().find(|text| text.contains("notice-1.json")).expect("the page says how");
        // The page names the key that signs now; these were signed with the one before.
        let name = commands.split_whitespace().find(|word| word.ends_with(".pem")).expect("a key").to_owned();
        let pem = stranger.get(&key).await.expect(200).bytes;
        published.write(&name, &pem);
        published.write("notice-1.json", &first);
        let (good, said) = shell(folder, &commands);
        assert!(good && said.contains("Verified Successfully"), "{said}");
        let changed = String::from_utf8(first).unwrap().replacen("\"number\":1", "\"number\":3", 1);
        published.write("notice-1.json", changed.as_bytes());
        let (good, said) = shell(folder, &commands);
        assert!(!good && !said.contains("Verified Successfully"), "{said}");
    }
    published.round.app.end().await;
}

#[tokio::test]
async fn a_new_key_signs_from_then_on_and_what_the_old_one_signed_stays_good() {
    let published = Published::new().await;
    let organiser = &published.round.organiser;
    let before = published.round.app.visitor().page("/keys").await.texts("section.key h2");
    published.first().get("/keys/change").await.expect(404);
    published.round.reviewer.get("/keys/change").await.expect(403);

    let change = [("reason", "Once a year."), ("password", PASSWORD)];
    organiser
        .submit("/keys/change", "/keys/change", &[("reason", "Once a year."), ("password", "no")])
        .await
        .expect(422);
    assert_eq!(organiser.submit("/keys/change", "/keys/change", &change).await.leads_to(), "/keys");

    let keys = published.round.app.visitor().page("/keys").await;
    let after = keys.texts("section.key h2");
    assert_eq!((after.len(), &after[1]), (2, &before[0]));
    assert!(keys.text("main").contains("Signed until"));
    published.public().await;
    let with = ["--keys", "keys.json", "--notices", "notices.json"];
    // What was downloaded before, and what is downloaded now, which the new key signs as
    // a whole.
    for file in ["certificate.json", "certificate.pdf"] {
        assert_eq!(published.verify(file, &with).1, 0, "{file}");
    }
    published.download("").await;
    let (said, status) = published.verify("certificate.pdf", &with);
    assert_eq!(status, 0, "{said}");
    published.round.app.end().await;
}

#[tokio::test]
async fn a_laboratory_appears_by_its_code_only_from_the_next_certificate_on() {
    let round = OpenRound::new(2).await;
    round.all_send().await;
    round.close().await;
    let path = at("/name-on-certificates");
    round.laboratories[0].submit(&path, &path, &[("appear", "code")]).await.leads_to();
    round.publish().await;

    let signed = async |n: usize| {
        let answer: Answer = round.laboratories[n].get(&at("/certificate-signed.json")).await;
        json(&answer.expect(200))
    };
    let (by_code, by_name) = (signed(0).await, signed(1).await);
    assert!(by_code["laboratory"].get("name").is_none(), "{}", by_code["laboratory"]);
    assert_eq!(by_name["laboratory"]["name"], LABORATORIES[1]);
    // Another laboratory reaches nothing of it, and nobody is told more on the page.
    round.app.visitor().get(&at("/certificate.json")).await.expect(303);
    // A change of mind leaves what was issued as it is.
    round.laboratories[0].submit(&path, &path, &[("appear", "name")]).await.leads_to();
    assert_eq!(signed(0).await, by_code);
    if has(READER, "reading a certificate by code") {
        let pdf = round.laboratories[0].get(&at("/certificate.pdf?language=de")).await.expect(200);
        let text = text_of(&pdf.bytes);
        assert!(!text.contains(LABORATORIES[0]), "{text}");
        assert!(text.contains("Prüfung dieses Zertifikats"), "{text}");
    }
    round.app.end().await;
}

#[tokio::test]
async fn a_round_from_before_certificates_were_signed_gets_them_with_the_first_download() {
    let published = Published::new().await;
    let mut tx = published.round.app.app.db.write().await.unwrap();
    tx.query("DELETE FROM certificates").execute().await.unwrap();
    tx.commit().await.unwrap();

    published.download("").await;
    let first = published.read("certificate.json");
    published.download("").await;

    assert_eq!(published.read("certificate.json"), first, "signed once");
    let other = published.round.laboratories[1].get(&at("/certificate.json")).await.expect(200);
    assert_ne!(other.bytes, first);
    let (said, status) = published.verify("certificate.pdf", &["--keys", "keys.json"]);
    assert_eq!(status, 0, "{said}");
    published.round.app.end().await;
}
