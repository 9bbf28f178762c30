//! Workbooks that were made to harm: each is read within two seconds and
//! 128 MiB, and refused or read for what it truly holds. All in one test,
//! because the memory of the whole program is measured.

use peak_alloc::PeakAlloc;
use roundel_domain::import::{File, laboratories};
use std::io::{Cursor, Write};
use std::time::{Duration, Instant};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

#[global_allocator]
static MEMORY: PeakAlloc = PeakAlloc;

/// Texts, and how often each stands there.
type Parts<'a> = Vec<(&'a str, usize)>;

const RELATIONSHIPS: &str =
    r#"<Relationships><Relationship Id="r1" Type="x/officeDocument" Target="xl/workbook.xml"/></Relationships>"#;
const BOOK: &str = r#"<workbook xmlns:r="x"><sheets><sheet name="One" r:id="s1"/></sheets></workbook>"#;
const BOOK_RELATIONSHIPS: &str = r#"<Relationships><Relationship Id="s1" Type="x/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="t" Type="x/sharedStrings" Target="sharedStrings.xml"/><Relationship Id="y" Type="x/styles" Target="styles.xml"/></Relationships>"#;
const STYLES: &str = r#"<styleSheet><cellXfs><xf numFmtId="0"/><xf numFmtId="14"/></cellXfs></styleSheet>"#;
const NO_TEXTS: &str = "<sst></sst>";
const HEADER: &str = r#"<row r="1"><c r="A1" t="inlineStr"><is><t>name</t></is></c><c r="B1" t="inlineStr"><is><t>email</t></is></c></row>"#;
const ROW: &str =
    "<row><c t=\"inlineStr\"><is><t>Lab</t></is></c><c t=\"inlineStr\"><is><t>a@lab.example</t></is></c></row>";

/// An archive of entries, each of which is its pieces so often one behind the other.
fn archive(entries: &[(&str, Parts<'_>)]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
    for (name, parts) in entries {
        zip.start_file(*name, options).expect("memory takes everything");
        for (piece, count) in parts {
            let mut left = *count;
            let many = piece.repeat(left.clamp(1, 10_000));
            while left > 0 {
                let now = left.min(10_000);
                zip.write_all(&many.as_bytes()[..now * piece.len()]).expect("memory takes everything");
                left -= now;
            }
        }
    }
    zip.finish().expect("memory takes everything").into_inner()
}

fn part(text: &str) -> Parts<'_> {
    vec![(text, 1)]
}

/// A workbook with these parts in the place of a plain one's.
fn workbook(sheet: Parts<'_>, texts: Parts<'_>) -> Vec<u8> {
    archive(&[
        ("_rels/.rels", part(RELATIONSHIPS)),
        ("xl/workbook.xml", part(BOOK)),
        ("xl/_rels/workbook.xml.rels", part(BOOK_RELATIONSHIPS)),
        ("xl/styles.xml", part(STYLES)),
        ("xl/sharedStrings.xml", texts),
        ("xl/worksheets/sheet1.xml", sheet),
    ])
}

/// A sheet with a header and these rows below it.
fn sheet<'a>(pieces: &[(&'a str, usize)]) -> Parts<'a> {
    [&[("<worksheet><sheetData>", 1), (HEADER, 1)], pieces, &[("</sheetData></worksheet>", 1)]].concat()
}

fn with_sheet(pieces: &[(&str, usize)]) -> Vec<u8> {
    workbook(sheet(pieces), part(NO_TEXTS))
}

/// Writes `size` over the sizes that the archive declares for its entries.
fn lying(mut bytes: Vec<u8>, size: u32) -> Vec<u8> {
    for (mark, at) in [(b"PK\x03\x04", 22), (b"PK\x01\x02", 24)] {
        let starts: Vec<usize> = (0..bytes.len() - 4).filter(|&i| &bytes[i..i + 4] == mark).collect();
        for start in starts {
            bytes[start + at..start + at + 4].copy_from_slice(&size.to_le_bytes());
        }
    }
    bytes
}

/// The problems of reading the file as one of laboratories; a number of rows
/// where there are none.
fn outcome(bytes: &[u8]) -> String {
    match laboratories(&File::read(bytes)) {
        Ok(rows) => format!("{} rows", rows.len()),
        Err(problems) => {
            problems[0].problem.key.strip_prefix("problem-file-").unwrap_or(problems[0].problem.key).to_owned()
        }
    }
}

/// Many rows, each with its last cell far to the right.
fn wide_sheets() -> Vec<u8> {
    let sheets = 20;
    let listed: String = (1..=sheets).map(|n| format!("<sheet name=\"S{n}\" r:id=\"s{n}\"/>")).collect();
    let book = format!("<workbook xmlns:r=\"x\"><sheets>{listed}</sheets></workbook>");
    let targets: String =
        (1..=sheets).map(|n| format!("<Relationship Id=\"s{n}\" Type=\"x/worksheet\" Target=\"s.xml\"/>")).collect();
    let targets = format!("<Relationships>{targets}</Relationships>");
    archive(&[
        ("_rels/.rels", part(RELATIONSHIPS)),
        ("xl/workbook.xml", part(&book)),
        ("xl/_rels/workbook.xml.rels", part(&targets)),
        ("xl/s.xml", sheet(&[("<row><c r=\"BL1\"><v>1</v></c></row>", 15_000)])),
    ])
}

fn files() -> Vec<(&'static str, Vec<u8>, &'static str)> {
    let bomb = || with_sheet(&[("                ", 40_000_000 / 16 * 5)]);
    let honest = with_sheet(&[(ROW, 1)]);
    let mut many = vec![("_rels/.rels", part(RELATIONSHIPS))];
    let names: Vec<String> = (0..5_000).map(|n| format!("x{n}")).collect();
    many.extend(names.iter().map(|name| (name.as_str(), part("x"))));
    let laughs =
        "<!DOCTYPE w [<!ENTITY a \"ha\"><!ENTITY b \"&a;&a;&a;&a;&a;&a;&a;&a;\"><!ENTITY c \"&b;&b;&b;&b;&b;&b;\">]>";
    let long = "n".repeat(1_000);
    let laughing =
        format!("{laughs}<worksheet><sheetData><row><c t=\"str\"><v>&c;</v></c></row></sheetData></worksheet>");
    let other = |target: &str| {
        let targets = format!(
            "<Relationships><Relationship Id=\"s1\" Type=\"x/worksheet\" Target=\"{target}\"/></Relationships>"
        );
        archive(&[
            ("_rels/.rels", part(RELATIONSHIPS)),
            ("xl/workbook.xml", part(BOOK)),
            ("xl/_rels/workbook.xml.rels", part(&targets)),
        ])
    };
    vec![
        ("an honest one", honest.clone(), "1 rows"),
        ("200 MB of spaces", bomb(), "workbook-large"),
        ("200 MB that say they are 10 bytes", lying(bomb(), 10), "workbook-broken"),
        ("little that says it is 4 GB", lying(honest.clone(), u32::MAX - 1), "1 rows"),
        (
            "200 MB of a picture that nobody looks at",
            archive(&[
                ("_rels/.rels", part(RELATIONSHIPS)),
                ("xl/workbook.xml", part(BOOK)),
                (
                    "xl/_rels/workbook.xml.rels",
                    part(
                        "<Relationships><Relationship Id=\"s1\" Type=\"x/worksheet\" Target=\"s.xml\"/></Relationships>",
                    ),
                ),
                ("xl/s.xml", sheet(&[(ROW, 1)])),
                ("xl/media/image1.png", vec![("                ", 12_500_000)]),
            ]),
            "1 rows",
        ),
        (
            "a dimension of all cells",
            workbook(
                [
                    vec![("<worksheet><dimension ref=\"A1:XFD1048576\"/><sheetData>", 1), (HEADER, 1)],
                    part(ROW),
                    part("</sheetData></worksheet>"),
                ]
                .concat(),
                part(NO_TEXTS),
            ),
            "1 rows",
        ),
        ("a cell far out", with_sheet(&[("<row r=\"1048576\"><c r=\"XFD1048576\"><v>1</v></c></row>", 1)]), "columns"),
        ("a row beyond the last", with_sheet(&[("<row r=\"99999999999999999999\"/>", 1)]), "workbook-broken"),
        ("a column beyond the last", with_sheet(&[("<row><c r=\"ZZZ2\"><v>1</v></c></row>", 1)]), "workbook-broken"),
        ("rows that go up again", with_sheet(&[("<row r=\"9\"/><row r=\"3\"/>", 1)]), "workbook-broken"),
        (
            "a count of texts that is not true",
            workbook(sheet(&[(ROW, 1)]), part("<sst count=\"4294967295\" uniqueCount=\"4294967295\"></sst>")),
            "1 rows",
        ),
        (
            "a text that is not there",
            with_sheet(&[("<row><c t=\"s\"><v>4294967295</v></c></row>", 1)]),
            "workbook-broken",
        ),
        (
            "millions of texts",
            workbook(sheet(&[(ROW, 1)]), vec![("<sst>", 1), ("<si/>", 3_000_000), ("</sst>", 1)]),
            "workbook-large",
        ),
        (
            "texts of 30 MB",
            workbook(
                sheet(&[(ROW, 1)]),
                vec![
                    ("<sst>", 1),
                    ("<si><t>nnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnnn</t></si>", 500_000),
                    ("</sst>", 1),
                ],
            ),
            "workbook-large",
        ),
        (
            "one long text in each of many cells",
            workbook(
                sheet(&[("<row><c t=\"s\"><v>0</v></c><c t=\"s\"><v>0</v></c></row>", 19_000)]),
                vec![("<sst><si><t>", 1), (&*long.leak(), 1), ("</t></si></sst>", 1)],
            ),
            "workbook-large",
        ),
        ("wide rows in many sheets", wide_sheets(), "column-unnamed"),
        (
            "one text of 30 MB",
            with_sheet(&[("<row><c t=\"str\"><v>", 1), ("nnnnnnnnnn", 3_000_000), ("</v></c></row>", 1)]),
            "workbook-large",
        ),
        (
            "one text of 30 MB in pieces",
            with_sheet(&[
                ("<row><c t=\"inlineStr\"><is>", 1),
                ("<r><t>nnnnnnnnnnnnnnnnnnnnnnnnn</t></r>", 700_000),
                ("</is></c></row>", 1),
            ]),
            "workbook-large",
        ),
        (
            "one attribute of 30 MB",
            with_sheet(&[("<row><c t=\"", 1), ("nnnnnnnnnn", 3_000_000), ("\"/></row>", 1)]),
            "workbook-large",
        ),
        ("a comment of 30 MB", with_sheet(&[("<!-- ", 1), ("<a></a>  <", 3_000_000), ("-->", 1)]), "workbook-large"),
        (
            "a hundred thousand attributes",
            with_sheet(&[("<row><c ", 1), ("a=\"\" b=\"\" ", 50_000), ("/></row>", 1)]),
            "no-rows",
        ),
        ("nesting without end", with_sheet(&[("<row><c>", 1), ("<a>", 2_000_000)]), "workbook-large"),
        ("entities within entities", workbook(part(laughing.leak()), part(NO_TEXTS)), "workbook-broken"),
        ("an entity of nobody", with_sheet(&[("<row><c t=\"str\"><v>&lol;</v></c></row>", 1)]), "workbook-broken"),
        ("a million formulas", with_sheet(&[("<row><c><f>A1</f></c><c><f>A1</f></c></row>", 19_000)]), "formula-cell"),
        (
            "thousands of dates",
            with_sheet(&[("<row><c s=\"1\"><v>46000</v></c><c s=\"1\"><v>46000</v></c></row>", 19_000)]),
            "date",
        ),
        ("millions of empty cells", with_sheet(&[("<row>", 1), ("<c/>", 3_000_000), ("</row>", 1)]), "workbook-broken"),
        ("millions of empty rows", with_sheet(&[("<row/>", 3_000_000)]), "workbook-broken"),
        ("twenty thousand rows more", with_sheet(&[(ROW, 20_001)]), "rows"),
        ("as many rows as may be", with_sheet(&[(ROW, 20_000)]), "laboratory-twice"),
        ("thousands of entries", archive(&many), "workbook-entries"),
        ("half an archive", honest[..honest.len() / 2].to_vec(), "workbook-broken"),
        ("no workbook", archive(&[("word/document.xml", part("<w:document/>"))]), "not-workbook"),
        (
            "a letter",
            archive(&[("_rels/.rels", part(RELATIONSHIPS)), ("xl/workbook.xml", part("<w:document xmlns:w=\"x\"/>"))]),
            "not-workbook",
        ),
        (
            "an open document",
            archive(&[
                ("mimetype", part("application/vnd.oasis.opendocument.spreadsheet")),
                ("content.xml", part("<x/>")),
            ]),
            "not-workbook",
        ),
        ("a way out of the archive", other("../../../../etc/passwd"), "workbook-broken"),
        ("an absolute way", other("file:///etc/passwd"), "workbook-broken"),
        ("a sheet that is the workbook itself", other("workbook.xml"), "empty"),
        ("a sheet that is its own list of relationships", other("_rels/workbook.xml.rels"), "empty"),
        ("a sheet that is not there", other("nowhere.xml"), "workbook-broken"),
    ]
}

#[test]
fn hostile_workbooks_are_told_apart_within_two_seconds_and_128_mebibytes() {
    const MOST: usize = 128 << 20;
    // Without optimisation everything takes ten times as long.
    let longest = Duration::from_secs(if cfg!(debug_assertions) { 10 } else { 2 });
    let mut wrong = Vec::new();
    for (what, bytes, expected) in files() {
        let before = MEMORY.current_usage();
        MEMORY.reset_peak_usage();
        let start = Instant::now();

        let found = outcome(&bytes);

        let (taken, peak) = (start.elapsed(), MEMORY.peak_usage().saturating_sub(before));
        eprintln!("{what}: {} kB, {found}, {} ms, {} MiB", bytes.len() / 1000, taken.as_millis(), peak >> 20);
        if found != expected || taken > longest || peak > MOST || bytes.len() > (1 << 20) {
            wrong.push(format!("{what}: {found} and not {expected}, {taken:?}, {peak} bytes"));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
