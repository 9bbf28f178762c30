//! The receipt, read back from its PDF.

#![allow(clippy::unwrap_used, reason = "in a test, what cannot go on has failed")]

use roundel_documents::receipt::*;
use roundel_documents::words::Words;

fn quantity(number: &str, unit: &str) -> Quantity {
    Quantity { number: number.to_owned(), unit: unit.to_owned() }
}

/// What was typed for `place` of an item; every tenth was not analysed, every
/// ninth is below a limit.
fn row(place: usize) -> Row {
    let typed = format!("{place}2,50");
    let evaluated = format!("{place}2.50");
    let reported = |typed: Quantity, evaluated: Quantity, uncertainty| Reported { typed, evaluated, uncertainty };
    let uncertainty = Uncertainty {
        typed: quantity("20", "%"),
        absolute: quantity("2.5", "ng/L"),
        percent: Some("20".to_owned()),
        coverage_factor: Some("2".to_owned()),
    };
    Row {
        analyte: format!("analyte {place}"),
        basis: (place == 2).then(|| "as free acid".to_owned()),
        result: match place {
            _ if place.is_multiple_of(10) => Err("not analysed: no method in routine use".to_owned()),
            _ if place.is_multiple_of(9) => Ok(reported(quantity("<25", "ng/L"), quantity("<25", "ng/L"), None)),
            _ => Ok(reported(quantity(&typed, "ng/L"), quantity(&evaluated, "ng/L"), Some(uncertainty))),
        },
        loq: Some(quantity("25", "ng/L")),
    }
}

fn receipt(rows: usize) -> Receipt {
    let per_item = rows.div_ceil(3);
    let items = ["A, groundwater", "B, river water", "C, river water"];
    Receipt {
        demonstration: true,
        language: "en".to_owned(),
        provider: "Quillmere Interlaboratory Office".to_owned(),
        contact: vec!["1 Weir Lane, Quillmere".to_owned()],
        round: "QW-1".to_owned(),
        round_title: "Trace organic contaminants in natural waters".to_owned(),
        code: "RXLF7".to_owned(),
        reference: "0190f1a2-0000-7000-8000-000000000001".to_owned(),
        version: 2,
        received: Day { year: 2024, month: 3, day: 29, text: "29 March 2024, 16:59:59 +01:00".to_owned() },
        late: false,
        sha256: "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08".to_owned(),
        address: "https://pt.example/receipts/0190f1a2-0000-7000-8000-000000000001".to_owned(),
        seal: Some(Seal {
            key_id: "21fe31dfa154a261".to_owned(),
            signature: "/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+/+=="
                .to_owned(),
            keys: "https://pt.example/keys".to_owned(),
        }),
        said: vec![("Item A".to_owned(), "received 1 March 2024: intact".to_owned())],
        tables: items
            .iter()
            .map(|item| Table { item: format!("Item {item}"), rows: (1..=per_item).map(row).collect() })
            .collect(),
        attachment: Some(Attachment {
            name: "receipt.json".to_owned(),
            media_type: "application/json".to_owned(),
            bytes: b"{\"receipt\":{}}".to_vec(),
        }),
    }
}

fn pdf(receipt: &Receipt) -> Vec<u8> {
    render(receipt, &Words::English).expect("a receipt")
}

/// The text of each page, with single spaces.
fn pages(pdf: &[u8]) -> Vec<String> {
    let document = lopdf::Document::load_mem(pdf).expect("a PDF");
    let numbers: Vec<u32> = document.get_pages().keys().copied().collect();
    let texts = numbers.iter().map(|number| document.extract_text(&[*number]).expect("text"));
    texts.map(|text| text.split_whitespace().collect::<Vec<_>>().join(" ")).collect()
}

#[track_caller]
fn assert_says(text: &str, wanted: &str) {
    assert!(text.contains(wanted), "{wanted:?} is not in {text}");
}

#[test]
fn seventy_two_rows_stand_on_several_pages_under_a_repeated_head() {
    let bytes = pdf(&receipt(72));
    if let Some(file) = std::env::var_os("WRITE_RECEIPT") {
        std::fs::write(file, &bytes).unwrap();
    }

    let pages = pages(&bytes);
    let text = pages.join(" ");

    assert!(pages.len() >= 2, "{} pages", pages.len());
    for place in (1..=24).filter(|place| place % 10 != 0 && place % 9 != 0) {
        assert_eq!(text.matches(&format!("analyte {place} ")).count(), 3, "analyte {place}");
        assert_says(&text, &format!("{place}2,50 ng/L {place}2.50 ng/L 20 % 2.5 ng/L 20 2 25 ng/L"));
    }
    assert_says(&text, "analyte 10 not analysed: no method in routine use 25 ng/L");
    assert_says(&text, "analyte 9 <25 ng/L <25 ng/L – – – – 25 ng/L");
    assert_says(&text, "analyte 2 as free acid");
    assert_says(&text, "Said beside the results Item A received 1 March 2024: intact");
    let split = pages.iter().filter(|page| !page.contains("Sent: Item") && page.contains("analyte ")).count();
    let heads = pages.iter().filter(|page| page.contains("Analyte Result as typed Result as evaluated")).count();
    assert_eq!(heads, pages.iter().filter(|page| page.contains("analyte ")).count(), "of {split} pages in the middle");
    for (index, page) in pages.iter().enumerate() {
        assert_says(page, "Demonstration data");
        assert_says(page, &format!("Page {} of {}", index + 1, pages.len()));
        let ends = page.contains("End of the receipt, round QW-1, version 2");
        assert_eq!(ends, index + 1 == pages.len(), "page {}", index + 1);
    }
}

#[test]
fn all_that_the_receipt_is_proved_with_is_printed_whole() {
    let receipt = receipt(3);
    let text = pages(&pdf(&receipt)).join(" ");
    let seal = receipt.seal.unwrap();

    assert_says(&text, &format!("Reference {}", receipt.reference));
    assert_says(&text, &format!("SHA-256 {}", receipt.sha256));
    assert_says(&text, &format!("Key {}", seal.key_id));
    assert_says(&text, &seal.signature);
    assert_says(&text, "Received 29 March 2024, 16:59:59 +01:00");
    assert_says(&text, "Code in this round RXLF7");
    assert_says(&text, &receipt.address);
    assert_says(&text, "https://pt.example/keys");
    assert!(!text.contains("after the deadline") && !text.contains('‹'), "{text}");
}

#[test]
fn the_same_receipt_gives_the_same_bytes_on_any_thread() {
    let receipt = receipt(72);
    let first = pdf(&receipt);

    let others: Vec<Vec<u8>> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..2).map(|_| scope.spawn(|| pdf(&receipt))).collect();
        threads.into_iter().map(|thread| thread.join().expect("a thread")).collect()
    });

    assert!(others.iter().all(|other| *other == first) && pdf(&receipt) == first, "other bytes");
}

#[test]
fn what_is_unsigned_late_or_no_demonstration_says_so_or_says_nothing() {
    let mut receipt = receipt(3);
    (receipt.seal, receipt.attachment, receipt.late, receipt.demonstration) = (None, None, true, false);
    receipt.contact.clear();

    let text = pages(&pdf(&receipt)).join(" ");

    assert_says(&text, "This receipt is not signed");
    assert_says(&text, "The results were received after the deadline.");
    assert!(!text.contains("Demonstration") && !text.contains("Signature"), "{text}");
}

#[test]
fn markup_and_letters_without_a_glyph_do_not_fail_the_document() {
    let hostile = "#import \"x\" *A* _B_ $x^2$ `c` <d> @e // f \\ #{1+1} [g]";
    let mut receipt = receipt(3);
    receipt.round_title = hostile.to_owned();
    receipt.provider = "水質研究所 e\u{301}\u{202E}".to_owned();
    receipt.tables[0].rows[0].analyte = "#panic() <tag>".to_owned();

    let text = pages(&pdf(&receipt)).join(" ");

    assert_says(&text, hostile);
    assert_says(&text, "#panic() <tag>");
}

/// The template and the program ask for texts by key: every key must exist.
#[test]
fn every_text_that_is_asked_for_exists() {
    let template = include_str!("../../../templates/documents/receipt.typ");
    let source = include_str!("../src/receipt.rs");
    let after = |text: &'static str, start: &'static str| {
        text.split(start).skip(1).filter_map(|rest| rest.split('"').next()).map(str::to_owned)
    };
    let mut keys: Vec<String> = after(template, "label(\"").map(|key| format!("receipt-pdf-{key}")).collect();
    keys.extend(after(source, "\"receipt-").map(|key| format!("receipt-{key}")));

    assert!(keys.len() > 20, "{keys:?}");
    for key in keys {
        assert!(Words::English.has(&key), "{key} is not in the catalogue");
    }
}
