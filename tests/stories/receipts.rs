//! Receipts that prove themselves: checked with openssl, from downloaded files
//! alone.

use crate::support::answer::Answer;
use crate::support::caller::{Caller, json};
use crate::support::certificate::{READER, text_of};
use crate::support::has;
use crate::support::scenario::{CODE, MEASURANDS, OpenRound, all_typed, at, enter, send};
use crate::support::visitor::Visitor;
use roundel_domain::id::SubmissionId;
use roundel_store::{keys, results};
use sha2::{Digest, Sha256};
use std::path::Path;
use std::process::{Command, Stdio};

/// What a laboratory downloads to check a receipt.
struct Files {
    folder: tempfile::TempDir,
    key: String,
}

impl Files {
    async fn download(laboratory: &Visitor, receipt: &str) -> Files {
        let folder = tempfile::tempdir().unwrap();
        let page = laboratory.page(receipt).await;
        let key = page.attribute("a[href^='/keys/'][href$='.pem']", "href");
        for file in ["signed.json", "signature.bin"] {
            let address = page.attribute(&format!("a[href$='/{file}']"), "href");
            std::fs::write(folder.path().join(file), laboratory.get(&address).await.expect(200).bytes).unwrap();
        }
        // The key is for everybody, signed in or not.
        let pem = laboratory.stranger().get(&key).await.expect(200);
        std::fs::write(folder.path().join("key.pem"), pem.bytes).unwrap();
        Files { folder, key }
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn read(&self, file: &str) -> Vec<u8> {
        std::fs::read(self.path().join(file)).unwrap()
    }

    fn write(&self, file: &str, bytes: &[u8]) {
        std::fs::write(self.path().join(file), bytes).unwrap();
    }

    /// What openssl says, and whether it ends well.
    fn openssl(&self, arguments: &[&str]) -> (bool, String) {
        let output = Command::new("openssl")
            .args(arguments)
            .current_dir(self.path())
            .stdin(Stdio::null())
            .output()
            .expect("the caller has looked for the program");
        (output.status.success(), String::from_utf8_lossy(&output.stdout).into_owned())
    }

    fn verified(&self) -> bool {
        let command = "pkeyutl -verify -pubin -inkey key.pem -rawin -in signed.json -sigfile signature.bin";
        let (good, said) = self.openssl(&command.split(' ').collect::<Vec<_>>());
        assert_eq!(good, said.contains("Signature Verified Successfully"), "{said}");
        good
    }
}

#[tokio::test]
async fn openssl_alone_proves_a_receipt_and_sees_every_changed_byte() {
    if !has("openssl", "checking a receipt") {
        return;
    }
    let round = OpenRound::new(1).await;
    let laboratory = &round.laboratories[0];
    enter(laboratory, &all_typed(0)).await;
    let receipt = send(laboratory).await;
    let files = Files::download(laboratory, &receipt).await;

    assert!(files.verified());

    let (signed, signature, key) = (files.read("signed.json"), files.read("signature.bin"), files.read("key.pem"));
    assert_eq!(signature.len(), 64);
    for (file, bytes) in [("signed.json", &signed), ("signature.bin", &signature)] {
        for place in 0..bytes.len() {
            let mut changed = bytes.clone();
            changed[place] ^= 1;
            files.write(file, &changed);
            assert!(!files.verified(), "byte {place} of {file}");
        }
        let shorter = &bytes[..bytes.len() - 1];
        files.write(file, shorter);
        assert!(!files.verified(), "a shorter {file}");
        files.write(file, bytes);
    }
    // Another key, made by openssl, is not that of the receipt.
    assert!(files.openssl(&["genpkey", "-algorithm", "ED25519", "-out", "other.pem"]).0);
    assert!(files.openssl(&["pkey", "-in", "other.pem", "-pubout", "-out", "key.pem"]).0);
    assert!(!files.verified(), "another key");
    files.write("key.pem", &key);
    assert!(files.verified(), "everything is as it was");

    // The name of the key and the hash, as /keys says they are found.
    assert!(files.openssl(&["pkey", "-pubin", "-in", "key.pem", "-outform", "DER", "-out", "key.der"]).0);
    let der = files.read("key.der");
    let id = &hex::encode(Sha256::digest(&der[der.len() - 32..]))[..16];
    assert_eq!(files.key, format!("/keys/{id}.pem"));
    let document = laboratory.get(&format!("{receipt}/document.json")).await.expect(200);
    files.write("document.json", &document.bytes);
    let (_, hash) = files.openssl(&["dgst", "-sha256", "-r", "document.json"]);
    let signed: serde_json::Value = serde_json::from_slice(&signed).unwrap();
    assert_eq!(hash.split(' ').next(), signed["sha256"].as_str());
    assert_eq!(signed["key_id"], id);

    // What a printed receipt has makes the file of the signature again.
    let printed = laboratory.page(&receipt).await.text("code.signature");
    files.write("printed", printed.as_bytes());
    let decode = ["base64", "-d", "-A", "-in", "printed", "-out", "again.bin"];
    assert!(files.openssl(&decode).0);
    assert_eq!(files.read("again.bin"), signature);
    round.app.end().await;
}

#[tokio::test]
async fn the_receipt_says_the_same_on_its_page_as_json_as_pdf_and_to_a_program() {
    let round = OpenRound::new(2).await;
    let laboratory = &round.laboratories[0];
    enter(laboratory, &all_typed(0)).await;
    let receipt = send(laboratory).await;
    let reference = receipt.trim_start_matches("/receipts/");

    let page = laboratory.page(&receipt).await;
    let sealed = json(&laboratory.get(&format!("{receipt}/receipt.json")).await.expect(200));
    let of = |name: &str| sealed["receipt"][name].as_str().unwrap_or_default().to_owned();

    let fields = sealed["receipt"].as_object().unwrap();
    let names: Vec<&str> = fields.keys().map(String::as_str).collect();
    let expected = [
        "address",
        "format",
        "key_id",
        "late",
        "participant",
        "provider",
        "received_at",
        "reference",
        "round",
        "sha256",
        "version",
    ];
    assert_eq!(names, expected);
    assert_eq!(of("format"), "roundel-receipt/1");
    assert_eq!(of("reference"), reference);
    assert_eq!(of("address"), format!("{}{receipt}", round.app.address));
    assert_eq!(of("provider"), "Quillmere Interlaboratory Office");
    assert_eq!((of("round"), of("participant")), (CODE.to_owned(), page.text("dd.code")));
    assert_eq!((&sealed["receipt"]["version"], &sealed["receipt"]["late"]), (&1.into(), &false.into()));
    assert!(of("received_at").ends_with("+00:00"), "{}", of("received_at"));
    assert_eq!(of("sha256"), page.text("code.hash"));
    assert_eq!(sealed["signature"], page.text("code.signature"));
    let facts = page.texts("dl.facts dd");
    assert!(facts.contains(&reference.to_owned()) && facts.contains(&of("key_id")), "{facts:?}");
    assert!(facts.iter().any(|fact| fact.ends_with(" +00:00")), "{facts:?}");
    let signed = laboratory.get(&format!("{receipt}/signed.json")).await.expect(200).text();
    let whole = laboratory.get(&format!("{receipt}/receipt.json")).await.expect(200).text();
    assert!(whole.contains(&format!("\"receipt\":{signed},")), "the signed text stands in it letter by letter");

    let pem = sealed["public_key"].as_str().unwrap();
    let keys = laboratory.stranger().page("/keys").await;
    assert_eq!(keys.all("section.key").len(), 1, "made once, at set-up");
    let shown = keys.all("section.key pre")[0].text().collect::<String>();
    assert_eq!(shown, pem);
    assert!(keys.text("section.key h2").ends_with(&of("key_id")));

    let token = Caller::of(laboratory, "change").await;
    let told = token.read(&format!("/receipts/{reference}")).await;
    assert_eq!((&told["key_id"], &told["signature"]), (&of("key_id").into(), &sealed["signature"]));

    for file in ["receipt.json", "receipt.pdf", "signed.json", "signature.bin"] {
        round.laboratories[1].get(&format!("{receipt}/{file}")).await.expect(404);
        round.organiser.get(&format!("{receipt}/{file}")).await.expect(200);
    }
    if has(READER, "reading a receipt") {
        let pdf = laboratory.get(&format!("{receipt}/receipt.pdf")).await.expect(200);
        let text = text_of(&pdf.bytes);
        let folded = text.split_whitespace().collect::<Vec<_>>().join(" ");
        for wanted in
            [reference, &of("sha256"), &of("key_id"), &of("participant"), &of("address"), &page.text("code.signature")]
        {
            assert!(folded.contains(wanted), "{wanted} in {text}");
        }
        let unit_is_narrow = folded.replace('\u{202f}', " ");
        for (asked, typed) in MEASURANDS.iter().zip(all_typed(0)) {
            let row = format!("{} {typed} ng/L {typed} ng/L", asked.analyte);
            assert!(unit_is_narrow.contains(&row), "{row} in {text}");
        }
        let again = laboratory.get(&format!("{receipt}/receipt.pdf")).await.expect(200);
        assert!(again.bytes == pdf.bytes, "the same receipt, other bytes");
    }
    round.app.end().await;
}

/// Changes the row as it was before receipts were signed.
async fn unsign(round: &OpenRound, receipt: &str) {
    let id: SubmissionId = SubmissionId(receipt.trim_start_matches("/receipts/").parse().unwrap());
    let mut tx = round.app.app.db.write().await.unwrap();
    tx.query("UPDATE submissions SET receipt = NULL, key_id = NULL, signature = NULL WHERE id = $1")
        .bind(id.0)
        .execute()
        .await
        .unwrap();
    assert!(results::by_id(&mut tx, id).await.unwrap().unwrap().seal().is_none());
    tx.query("DELETE FROM signing_keys").execute().await.unwrap();
    tx.commit().await.unwrap();
}

#[tokio::test]
async fn an_installation_that_is_older_than_its_keys_shows_old_receipts_as_not_signed_and_signs_new_ones() {
    let round = OpenRound::new(1).await;
    let laboratory = &round.laboratories[0];
    enter(laboratory, &all_typed(0)).await;
    let old = send(laboratory).await;
    unsign(&round, &old).await;

    let page = laboratory.page(&old).await;
    assert!(page.texts("p.hint").iter().any(|hint| hint.starts_with("This receipt is not signed")));
    assert!(!page.has("code.signature") && !page.has("a[href$='receipt.json']"));
    for file in ["receipt.json", "signed.json", "signature.bin"] {
        laboratory.get(&format!("{old}/{file}")).await.expect(404);
    }
    laboratory.get(&format!("{old}/receipt.pdf")).await.expect(200);
    assert!(laboratory.page("/keys").await.texts("p").iter().any(|text| text.starts_with("There is no key yet")));

    enter(laboratory, &all_typed(1)).await;
    let new = send(laboratory).await;

    assert!(laboratory.page(&new).await.has("code.signature"));
    let all = keys::all(&mut round.app.app.db.read().await.unwrap()).await.unwrap();
    assert_eq!(all.len(), 1);
    round.app.end().await;
}

fn holds(answer: &Answer, bytes: &[u8]) -> bool {
    answer.bytes.windows(bytes.len()).any(|window| window == bytes)
}

#[tokio::test]
async fn the_secret_key_stands_on_no_page_and_in_no_file() {
    let round = OpenRound::new(1).await;
    let laboratory = &round.laboratories[0];
    enter(laboratory, &all_typed(0)).await;
    let receipt = send(laboratory).await;
    let secret = keys::signing(&mut round.app.app.db.read().await.unwrap()).await.unwrap().unwrap().to_bytes();
    let files = Files::download(laboratory, &receipt).await;

    let mut paths = vec!["/keys".to_owned(), files.key.clone(), receipt.clone(), at("")];
    paths.extend(
        ["receipt.json", "signed.json", "signature.bin", "receipt.pdf"].map(|file| format!("{receipt}/{file}")),
    );
    for path in paths {
        let answer = round.organiser.get(&path).await.expect(200);
        let hexadecimal = hex::encode(secret);
        assert!(!holds(&answer, &secret) && !holds(&answer, hexadecimal.as_bytes()), "{path}");
    }
    for path in ["/keys/none.pem", "/keys/0123456789abcdef", "/keys/0123456789abcdef.pem"] {
        laboratory.get(path).await.expect(404);
    }
    round.app.end().await;
}
