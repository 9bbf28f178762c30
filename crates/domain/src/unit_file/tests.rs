//! Pictures are put together here from the parts that their standards name.

use super::*;

const SECRET: &[u8] = b"Fernhill Water, 51.5 N 0.1 W";

fn chunk(kind: &[u8; 4], data: &[u8]) -> Vec<u8> {
    // The check value is not looked at: what draws the picture is kept as it is.
    [&(data.len() as u32).to_be_bytes()[..], kind, data, &[1, 2, 3, 4]].concat()
}

fn segment(marker: u8, data: &[u8]) -> Vec<u8> {
    [&[0xFF, marker][..], &((data.len() + 2) as u16).to_be_bytes(), data].concat()
}

fn part(kind: &[u8; 4], data: &[u8]) -> Vec<u8> {
    let fill = vec![0; data.len() % 2];
    [&kind[..], &(data.len() as u32).to_le_bytes(), data, &fill].concat()
}

fn riff(parts: &[Vec<u8>]) -> Vec<u8> {
    let body = parts.concat();
    [&b"RIFF"[..], &((body.len() + 4) as u32).to_le_bytes(), b"WEBP", &body].concat()
}

fn key(name: &str, bytes: &[u8]) -> &'static str {
    read(name, bytes).expect_err("it is refused").key
}

fn holds(bytes: &[u8], part: &[u8]) -> bool {
    bytes.windows(part.len()).any(|window| window == part)
}

#[test]
fn a_png_keeps_its_picture_and_loses_what_is_written_beside_it() {
    let (head, data, end) = (chunk(b"IHDR", &[0; 13]), chunk(b"IDAT", b"picture"), chunk(b"IEND", b""));
    let plain = [PNG, &head, &data, &end].concat();
    let written = [chunk(b"eXIf", SECRET), chunk(b"tEXt", SECRET), chunk(b"iTXt", SECRET), chunk(b"tIME", SECRET)];
    let told = [PNG, &head, &written.concat(), &data, &end, SECRET].concat();

    let file = read("IMG_0001.txt", &told).unwrap();

    assert_eq!((file.form, file.form.kind()), (Form::Png, Kind::Photo), "its content decides, not its name");
    assert_eq!(file.bytes, plain);
    assert_eq!(key("a.png", &[PNG, &head, &data].concat()), "unit-file-broken");
    assert_eq!(key("a.png", &[PNG, &head, &end].concat()), "unit-file-broken");
    assert_eq!(key("a.png", &[PNG, &data, &end].concat()), "unit-file-broken");
    assert_eq!(key("a.png", &[PNG, &0xFFFF_FFFF_u32.to_be_bytes(), b"IHDR"].concat()), "unit-file-broken");
}

#[test]
fn a_jpeg_keeps_its_picture_and_loses_place_and_device() {
    let jfif = segment(0xE0, b"JFIF\0\x01\x01\0\0\x01\0\x01\0\0");
    let tables = [segment(0xDB, &[0; 65]), segment(0xC0, &[8; 15]), segment(0xC4, &[0; 20])].concat();
    // A stuffed byte and a restart are part of the scan.
    let scan = [segment(0xDA, &[0; 10]), vec![0x12, 0xFF, 0x00, 0x34, 0xFF, 0xD0, 0x56]].concat();
    let end: &[u8] = &[0xFF, 0xD9];
    let plain = [&[0xFF, 0xD8][..], &jfif, &tables, &scan, &scan, end].concat();
    let exif = [b"Exif\0\0", SECRET].concat();
    let xmp = [b"http://ns.adobe.com/xap/1.0/\0", SECRET].concat();
    let written = [segment(0xE1, &exif), segment(0xE1, &xmp), segment(0xED, SECRET), segment(0xFE, SECRET)].concat();
    let told = [&[0xFF, 0xD8][..], &jfif, &written, &tables, &scan, &written, &[0xFF], &scan, end, SECRET].concat();

    let file = read("", &told).unwrap();

    assert_eq!(file.form, Form::Jpeg);
    assert_eq!(file.bytes, plain);
    assert!(!holds(&file.bytes, b"Fernhill"));
    assert_eq!(key("a.jpg", &plain[..plain.len() - 2]), "unit-file-broken", "cut off");
    assert_eq!(key("a.jpg", &[&[0xFF, 0xD8][..], end].concat()), "unit-file-broken");
    assert_eq!(key("a.jpg", &[&[0xFF, 0xD8][..], &segment(0xE1, &exif)].concat()), "unit-file-broken");
}

#[test]
fn a_webp_keeps_its_picture_and_says_no_more_that_it_has_more() {
    let (head, picture) = (part(b"VP8X", &[0x3C, 0, 0, 0, 9, 0, 0, 9, 0, 0]), part(b"VP8 ", b"picture"));
    let told = riff(&[head, picture.clone(), part(b"EXIF", SECRET), part(b"XMP ", SECRET), part(b"ICCP", SECRET)]);

    let file = read("a.webp", &told).unwrap();

    let plain_head = part(b"VP8X", &[0x10, 0, 0, 0, 9, 0, 0, 9, 0, 0]);
    assert_eq!((file.form, file.bytes), (Form::Webp, riff(&[plain_head, picture.clone()])));
    assert_eq!(key("a.webp", &riff(&[part(b"ANIM", &[0; 6]), picture])), "unit-file-broken");
    assert_eq!(key("a.webp", &riff(&[])), "unit-file-broken");
    assert_eq!(key("a.webp", b"RIFF\xFF\xFF\xFF\xFFWEBPVP8 "), "unit-file-broken");
}

#[test]
fn the_record_of_a_logger_is_a_text_a_pdf_or_a_workbook() {
    let form = |name: &str, bytes: &[u8]| read(name, bytes).unwrap().form;
    let utf16: Vec<u8> = std::iter::once(0xFEFF).chain("2024;4 °C".encode_utf16()).flat_map(u16::to_le_bytes).collect();

    assert_eq!(form("Log.CSV", b"time;temperature\r\n08:00;4.1\r\n"), Form::Csv);
    assert_eq!(form("log", b"4,1 \xB0C\n"), Form::Text, "letters of an old device");
    assert_eq!(form("log.csv", &utf16), Form::Csv);
    assert_eq!(form("log.pdf", b"%PDF-1.7\n\0\x01"), Form::Pdf);
    assert_eq!(form("x", b"PK\x03\x04..[Content_Types].xml..xl/workbook.xml"), Form::Xlsx);
    for kept in [Form::Csv, Form::Text, Form::Pdf, Form::Xlsx] {
        assert_eq!((kept.kind(), Form::of(kept.word())), (Kind::Logger, Some(kept)));
    }
}

#[test]
fn what_is_none_of_these_is_refused_with_what_to_do() {
    assert_eq!(key("a.csv", b""), "unit-file-none");
    assert_eq!(key("a.csv", &vec![b'1'; MOST_BYTES + 1]), "unit-file-large");
    assert!(read("a.csv", &vec![b'1'; MOST_BYTES]).is_ok());
    assert_eq!(key("a.csv", b"MZ\x90\0\x03"), "unit-file-kind", "a program under another name");
    assert_eq!(key("a.gif", b"GIF89a\x01\0\x01\0"), "unit-file-kind");
    assert_eq!(key("a.xlsx", b"PK\x03\x04 a folder of anything"), "unit-file-kind");
    let macros = b"PK\x03\x04..[Content_Types].xml..xl/workbook.xml..xl/vbaProject.bin";
    assert_eq!(key("a.xlsm", macros), "unit-file-kind");
}
