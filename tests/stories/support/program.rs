//! The program itself, as a process.

use std::io::{BufRead, BufReader, Read};
use std::path::Path;
use std::process::{Child, ChildStderr, ChildStdout, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

/// The program, built from the source of `roundel` for these tests.
const PROGRAM: &str = env!("CARGO_BIN_EXE_roundel-under-test");

/// A command of the program, without any setting from the environment.
pub(crate) fn command(arguments: &[&str]) -> Command {
    let mut command = Command::new(PROGRAM);
    command.args(arguments).stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
    for (name, _) in std::env::vars_os() {
        if name.to_string_lossy().starts_with("ROUNDEL_") || name == "RUST_LOG" {
            command.env_remove(name);
        }
    }
    command
}

/// The program while it serves; killed when the test is over.
#[derive(Debug)]
pub(crate) struct Program {
    child: Child,
    out: BufReader<ChildStdout>,
    err: BufReader<ChildStderr>,
}

impl Program {
    /// Starts `serve` or `demo` on a folder, on a free port.
    pub(crate) fn start(what: &str, folder: &Path) -> Program {
        let folder = folder.to_str().expect("a path of ours");
        let mut child =
            command(&[what, "--listen", "127.0.0.1:0", "--data", folder]).spawn().expect("the program was built");
        let out = BufReader::new(child.stdout.take().expect("it is piped"));
        let err = BufReader::new(child.stderr.take().expect("it is piped"));
        Program { child, out, err }
    }

    /// The next line of standard output; empty at its end.
    pub(crate) fn line(&mut self) -> String {
        next(&mut self.out)
    }

    /// The next line of standard error; empty at its end.
    pub(crate) fn error_line(&mut self) -> String {
        next(&mut self.err)
    }

    /// Tells the program to end, as a service manager does; how it ended.
    pub(crate) fn terminate(self) -> ExitStatus {
        self.end_and_read().1
    }

    /// As [`Program::terminate`], with what was left on standard error.
    pub(crate) fn end_and_read(mut self) -> (String, ExitStatus) {
        self.signal("TERM");
        let status = self.wait();
        let mut rest = String::new();
        self.err.read_to_string(&mut rest).expect("the program writes text");
        (rest, status)
    }

    fn wait(&mut self) -> ExitStatus {
        let until = Instant::now() + Duration::from_secs(12);
        loop {
            if let Some(status) = self.child.try_wait().expect("a child of ours") {
                return status;
            }
            assert!(Instant::now() < until, "the program did not end");
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// Ends the program as a lack of memory does: without a word.
    pub(crate) fn kill(mut self) {
        self.child.kill().expect("a child of ours");
        self.child.wait().expect("a child of ours");
    }

    fn signal(&self, name: &str) {
        let sent = Command::new("kill").args(["-s", name, &self.child.id().to_string()]).status();
        assert!(sent.expect("every system has kill").success());
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn next(lines: &mut impl BufRead) -> String {
    let mut line = String::new();
    lines.read_line(&mut line).expect("the program writes text");
    line.trim_end().to_owned()
}

/// Runs a command to its end: status, standard output, standard error.
pub(crate) fn run(mut command: Command) -> (Option<i32>, String, String) {
    let output = command.output().expect("the program was built");
    let text = |bytes: Vec<u8>| {
        let mut text = String::new();
        bytes.as_slice().read_to_string(&mut text).expect("the program writes text");
        text
    };
    (output.status.code(), text(output.stdout), text(output.stderr))
}
