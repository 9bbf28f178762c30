//! Reading a certificate as a person does, not as it was made.

use std::io::Write;
use std::process::{Command, Stdio};

/// The program that reads a PDF.
pub(crate) const READER: &str = "pdftotext";

/// The text of a PDF, lines laid out as on the page.
pub(crate) fn text_of(pdf: &[u8]) -> String {
    assert!(pdf.starts_with(b"%PDF-"), "not a PDF: {}", String::from_utf8_lossy(&pdf[..pdf.len().min(200)]));
    let mut reader = Command::new(READER)
        .args(["-layout", "-enc", "UTF-8", "-", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the caller has looked for the program");
    let mut input = reader.stdin.take().expect("it is piped");
    let bytes = pdf.to_vec();
    let feeding = std::thread::spawn(move || input.write_all(&bytes));
    let output = reader.wait_with_output().expect("the program ends");
    feeding.join().expect("no panic").expect("the program reads to the end");
    assert!(output.status.success(), "{READER} could not read the certificate");
    String::from_utf8(output.stdout).expect("it was told to write UTF-8")
}
