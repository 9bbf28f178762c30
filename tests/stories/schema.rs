//! The interface, held against its own description by a program that makes up
//! requests of every kind.

use crate::support::caller::Caller;
use crate::support::leave_out;
use crate::support::program::Program;
use crate::support::visitor::Visitor;
use std::path::{Path, PathBuf};
use std::process::Command;
use tempfile::TempDir;

/// The program, where `tests/run` puts it.
fn schemathesis() -> Option<PathBuf> {
    let program = std::env::var_os("ROUNDEL_TEST_SCHEMATHESIS").map(PathBuf::from).filter(|file| file.exists());
    if program.is_none() {
        leave_out("made-up requests to the interface", "schemathesis is not installed");
    }
    program
}

/// What it says of the interface as this caller sees it; empty when nothing is
/// wrong.
fn complaints(program: &Path, address: &str, caller: &Caller, folder: &Path) -> String {
    let settings = Path::new(env!("CARGO_MANIFEST_DIR")).join("schemathesis.toml");
    let output = Command::new(program)
        .arg("--config-file")
        .arg(settings)
        .args(["run", &format!("{address}/api/v1/openapi.json"), "--no-color", "--workers", "2"])
        .args(["--header", &format!("Authorization: Bearer {}", caller.token)])
        .current_dir(folder)
        .output()
        .expect("it was looked for");
    if output.status.success() {
        return String::new();
    }
    // Bodies of a megabyte help nobody.
    let text = [output.stdout, output.stderr].map(|text| String::from_utf8_lossy(&text).into_owned()).concat();
    text.lines().map(|line| line.chars().take(300).collect::<String>() + "\n").collect()
}

#[tokio::test]
async fn made_up_requests_get_no_fault_and_no_answer_that_is_not_described() {
    let Some(program) = schemathesis() else { return };
    let folder = TempDir::new().unwrap();
    let mut service = Program::start("demo", &folder.path().join("data"));
    let address = service.line();
    let mut people = Vec::new();
    while people.len() < 2 {
        let line = service.line();
        let parts: Vec<String> = line.split('\t').map(str::to_owned).collect();
        people.push((parts[1].clone(), parts[2].clone()));
    }
    // The laboratory first: the organiser's requests change what it sees.
    people.reverse();
    // All tokens are made before the first run, which blocks this thread: a
    // connection that the service closes meanwhile would not be noticed.
    let mut callers = Vec::new();
    for (email, password) in people {
        let visitor = Visitor::new(&address);
        visitor.sign_in(&email, &password).await;
        for right in ["look", "change"] {
            callers.push((format!("{email}, {right}"), Caller::of(&visitor, right).await));
        }
    }
    for (who, caller) in callers {
        let said = complaints(&program, &address, &caller, folder.path());
        assert!(said.is_empty(), "{who}:\n{said}");
    }
    service.kill();
}
