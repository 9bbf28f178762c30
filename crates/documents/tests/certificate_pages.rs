//! Certificates as they are seen: text in reading order compared with kept files,
//! the QR code read back from a picture, and the address of what is printed.
//!
//! `ROUNDEL_GOLDEN=write` writes the files anew; what changed is then looked at.

mod fixtures;
#[path = "fixtures/reading.rs"]
mod reading;

use fixtures::certificate;
use reading::has;
use roundel_documents::certificate::*;
use roundel_documents::words::Words;
use std::error::Error;
use std::process::Command;

type Test = Result<(), Box<dyn Error>>;

/// Every kind of certificate.
fn kinds() -> Vec<(&'static str, Certificate)> {
    let performance = certificate(12, 2);
    let mut registration = performance.clone();
    registration.registration = true;
    let mut corrected = certificate(3, 1);
    corrected.version = 2;
    corrected.status = Status::Corrected;
    corrected.replaces = Some(Replaces {
        number: "QW-1-RXLF7, version 1".to_owned(),
        reason: "The assigned value of naproxen was of another batch.".to_owned(),
    });
    let mut superseded = certificate(3, 1);
    superseded.status = Status::Superseded;
    let mut withdrawn = certificate(3, 1);
    withdrawn.status = Status::Withdrawn;
    let mut by_code = certificate(3, 1);
    by_code.laboratory.name = None;
    by_code.laboratory.site = None;
    vec![
        ("performance", performance),
        ("registration", registration),
        ("corrected", corrected),
        ("superseded", superseded),
        ("withdrawn", withdrawn),
        ("by-code", by_code),
    ]
}

#[test]
fn the_text_of_every_kind_in_both_languages_is_the_one_that_was_looked_at() -> Test {
    if !has("pdfinfo") {
        return Ok(());
    }
    for (kind, mut certificate) in kinds() {
        for words in [Words::English, Words::German] {
            certificate.language = words.tag().to_owned();
            let text = reading::in_order(&render(&certificate, &words)?)?;
            reading::compare(&format!("certificate-{kind}-{}.txt", words.tag()), &text)?;
        }
    }
    Ok(())
}

/// A portable grey map: `P5`, width, height, 255, then the bytes.
fn grey_map(bytes: &[u8]) -> Result<(usize, usize, &[u8]), Box<dyn Error>> {
    let mut numbers = Vec::new();
    let mut at = bytes.strip_prefix(b"P5").map(|_| 2).ok_or("no grey map")?;
    while numbers.len() < 3 {
        let start = at + bytes[at..].iter().position(u8::is_ascii_digit).ok_or("a number is missing")?;
        let end = start + bytes[start..].iter().position(|byte| !byte.is_ascii_digit()).ok_or("it ends early")?;
        numbers.push(std::str::from_utf8(&bytes[start..end])?.parse::<usize>()?);
        at = end;
    }
    let pixels = &bytes[at + 1..];
    assert!(numbers[2] == 255 && pixels.len() >= numbers[0] * numbers[1]);
    Ok((numbers[0], numbers[1], pixels))
}

#[test]
fn the_code_on_a_printed_page_leads_to_the_address_that_is_printed_beside_it() -> Test {
    if !has("pdftoppm") {
        return Ok(());
    }
    let certificate = certificate(3, 1);
    let address = certificate.proof.as_ref().map(|proof| proof.address.clone()).ok_or("the fixture has one")?;
    let pdf = render(&certificate, &Words::English)?;
    let file = std::env::temp_dir().join(format!("roundel-certificate-{}.pdf", std::process::id()));
    std::fs::write(&file, &pdf)?;
    let name = file.to_str().ok_or("a name of ours")?;

    let mut read = Vec::new();
    for page in 1..=4 {
        let page = page.to_string();
        let arguments = ["-r", "150", "-gray", "-f", &page, "-l", &page, "-singlefile", name];
        let output = Command::new("pdftoppm").args(arguments).output()?;
        let Ok((width, height, pixels)) = grey_map(&output.stdout) else { continue };
        let mut image = rqrr::PreparedImage::prepare_from_greyscale(width, height, |x, y| pixels[y * width + x]);
        for grid in image.detect_grids() {
            read.push(grid.decode()?.1);
        }
    }
    std::fs::remove_file(&file)?;

    assert_eq!(read, [address]);
    Ok(())
}

#[test]
fn a_certificate_that_is_not_signed_has_no_code_and_says_nothing_of_a_proof() -> Test {
    let mut certificate = certificate(1, 1);
    certificate.proof = None;

    let pdf = render(&certificate, &Words::English)?;

    let document = lopdf::Document::load_mem(&pdf)?;
    let numbers: Vec<u32> = document.get_pages().keys().copied().collect();
    let text = document.extract_text(&numbers)?;
    assert!(!text.contains("Checking this certificate") && text.contains("End of certificate"), "{text}");
    Ok(())
}
