//! What the stories are told with.

pub(crate) mod answer;
pub(crate) mod app;
pub(crate) mod axe;
pub(crate) mod browser;
pub(crate) mod caller;
pub(crate) mod certificate;
pub(crate) mod page;
pub(crate) mod program;
pub(crate) mod scenario;
pub(crate) mod sink;
pub(crate) mod visitor;
pub(crate) mod walk;

use roundel_store::testing::ALL;
use std::collections::BTreeSet;
use std::io::Write;
use std::process::Command;
use std::sync::Mutex;

/// Whether this machine has a program; what is left out without it is said
/// once. Where nothing may be left out, a missing program is a failure.
pub(crate) fn has(program: &str, left_out: &str) -> bool {
    let there = Command::new(program).arg("--version").output().is_ok();
    if !there {
        leave_out(left_out, &format!("{program} is not installed"));
    }
    there
}

/// Says once that something is left out, and why.
pub(crate) fn leave_out(what: &str, why: &str) {
    static SAID: Mutex<BTreeSet<String>> = Mutex::new(BTreeSet::new());
    assert!(std::env::var_os(ALL).is_none(), "{ALL} is set, and {why}");
    let sentence = format!("left out: {what}, because {why}; `bash tests/run` sets it up\n");
    if SAID.lock().expect("nobody panics here").insert(sentence.clone()) {
        // The stream itself: the test runner keeps what goes through `eprintln!`.
        let _ = std::io::stderr().write_all(sentence.as_bytes());
    }
}
