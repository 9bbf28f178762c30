//! Files that are kept of a unit: who sends them, who opens them, what is taken out.

use crate::support::scenario::{self, LABORATORIES, OpenRound, STATISTICIAN, at};

/// Where a camera says that it was.
const PLACE: &[u8] = b"Exif\0\0Fernhill Water, 51.5 N";

fn segment(marker: u8, data: &[u8]) -> Vec<u8> {
    [&[0xFF, marker][..], &((data.len() + 2) as u16).to_be_bytes(), data].concat()
}

/// A picture by the order of its parts (ISO/IEC 10918-1, B.2), with or without EXIF.
fn photo(exif: bool) -> Vec<u8> {
    let beside = if exif { segment(0xE1, PLACE) } else { Vec::new() };
    let tables = [segment(0xDB, &[0; 65]), segment(0xC0, &[8; 15]), segment(0xC4, &[0; 20])].concat();
    [&[0xFF, 0xD8][..], &beside, &tables, &segment(0xDA, &[0; 10]), &[0x12, 0x34, 0xFF, 0xD9]].concat()
}

async fn sent_out() -> OpenRound {
    let round = OpenRound::asking(2).await;
    for fields in [&[("command", "make"), ("made", "13")][..], &[("command", "assign")]] {
        round.organiser.submit(&at("/items/A"), &at("/items/A"), fields).await.leads_to();
    }
    round
}

#[tokio::test]
async fn a_laboratory_keeps_a_photo_that_only_it_and_the_organiser_open() {
    let round = sent_out().await;
    let (own, other, organiser) = (&round.laboratories[0], &round.laboratories[1], &round.organiser);
    let (page, target) = (at("/arrival/A"), at("/arrival/A/upload"));

    assert!(own.page(&at("/tasks/items")).await.has(&format!("p.links a[href='{page}']")));
    assert!(own.page(&page).await.text("main").contains("No file is kept yet."));
    assert_eq!(own.upload(&page, &target, "IMG_0007.JPG", &photo(true)).await.leads_to(), page);
    let shown = own.page(&page).await;
    assert_eq!(shown.texts("tbody th"), ["Photo"]);
    let href = shown.attribute("tbody a", "href");

    // What the camera said is gone; the file is saved and never shown.
    let file = own.get(&href).await.expect(200);
    assert!(file.bytes[..] == photo(false)[..], "the picture alone");
    assert!(
        file.header("content-disposition").starts_with("attachment; filename=\"QT-1-A-unit-"),
        "{:?}",
        file.headers
    );
    assert_eq!((file.header("content-type"), file.header("x-content-type-options")), ("image/jpeg", "nosniff"));

    // Another laboratory is told what it is told of nothing.
    other.get(&href).await.expect(404);
    assert!(other.page(&page).await.text("main").contains("No file is kept yet."));

    // The ledger has it by code; the staff opens nothing but the organiser, who leaves a line.
    let ledger = organiser.page(&at("/items/A")).await;
    let kept = ledger.texts("td[data-label='Files'] p.remark");
    assert_eq!(kept.len(), 1);
    assert!(kept[0].starts_with("Photo, the laboratory, "), "{kept:?}");
    let text = organiser.get(&at("/items/A")).await.text();
    for name in LABORATORIES {
        assert!(!text.contains(name), "{name} stands beside codes");
    }
    let table = organiser.get(&at("/items/A/units.csv")).await.expect(200).text();
    assert!(table.contains("Photo, the laboratory"), "{table}");
    let statistician = scenario::member(&round.app, organiser, STATISTICIAN, "statistician").await;
    let unit = ledger.attribute("td[data-label='Files'] a", "href");
    statistician.get(&href).await.expect(403);
    organiser.get(&href).await.expect(200);
    let record = organiser.page(&at("")).await.text("main");
    assert!(record.contains(": photo, A"), "{record}");
    assert!(unit.starts_with(&at("/items/A/units/")), "{unit}");
    round.app.end().await;
}

#[tokio::test]
async fn the_organiser_keeps_the_file_of_a_logger_and_the_laboratory_does_not_see_it() {
    let round = sent_out().await;
    let (own, organiser) = (&round.laboratories[0], &round.organiser);
    let unit = organiser.page(&at("/items/A")).await.attribute("td[data-label='Files'] a", "href");
    let target = format!("{unit}/upload");

    organiser.upload(&unit, &target, "4711.csv", b"time;temperature\r\n08:00;4.1\r\n").await.leads_to();
    let href = organiser.page(&unit).await.attribute("tbody a", "href");
    let file = organiser.get(&href).await.expect(200);
    assert_eq!(file.text(), "time;temperature\r\n08:00;4.1\r\n");
    assert_eq!(file.header("content-type"), "application/octet-stream");
    for laboratory in &round.laboratories {
        laboratory.get(&href).await.expect(404);
        laboratory.get(&unit).await.expect(404);
    }
    let statistician = scenario::member(&round.app, organiser, STATISTICIAN, "statistician").await;
    let seen = statistician.page(&unit).await;
    assert_eq!(seen.texts("tbody th"), ["Logger file"]);
    assert!(!seen.has("tbody a") && !seen.has("form.upload"));
    statistician.get(&href).await.expect(403);

    // What is no photo and no record is refused, with what to do, and nothing is kept.
    let page = at("/arrival/A");
    let refused = |bytes: Vec<u8>| {
        let page = page.clone();
        async move { own.upload(&page, &format!("{page}/upload"), "photo.jpg", &bytes).await.expect(422).page().problems() }
    };
    assert!(refused(b"MZ\x90\0\x03".to_vec()).await.contains("no PNG, JPEG or WebP picture"));
    assert!(refused(photo(true)[..60].to_vec()).await.contains("incomplete"));
    assert!(refused(Vec::new()).await.contains("Choose a file"));
    assert!(refused(vec![b'1'; 5_000_001]).await.contains("larger than 5 MB"));
    let larger = own.upload(&page, &format!("{page}/upload"), "log.txt", &vec![b'1'; 5_200_000]).await;
    assert!(larger.status.is_client_error(), "{}", larger.status);
    assert!(larger.text().contains("larger than 5 MB"));
    assert!(own.page(&page).await.text("main").contains("No file is kept yet."));

    // Enough is enough.
    for _ in 0..10 {
        own.upload(&page, &format!("{page}/upload"), "log.txt", b"08:00 4.1").await.leads_to();
    }
    assert!(refused(b"08:30 4.2".to_vec()).await.contains("10 files of this unit are kept already"));

    // After the deadline a laboratory keeps nothing more.
    round.close().await;
    assert!(!own.page(&page).await.has("form.upload"));
    round.app.end().await;
}
