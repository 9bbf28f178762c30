//! A file of results with 10,000 rows, read and judged, and the same file only
//! parted into cells by the crate `csv`: `cargo bench -p roundel-domain --bench
//! imports`.

use divan::{Bencher, black_box};
use roundel_domain::id::{ItemId, MeasurandId};
use roundel_domain::import::{File, Form, block, results};
use roundel_domain::measurand::{Item, Measurand};
use roundel_domain::result::Typed;
use uuid::Uuid;

fn main() {
    divan::main();
}

const ROWS: usize = 10_000;
const ITEMS: usize = 10;

fn round() -> (Vec<Item>, Vec<Measurand>) {
    let item = |n: usize| Item {
        id: ItemId(Uuid::from_u128(n as u128 + 1)),
        position: n as i64 + 1,
        label: format!("I{n}"),
        matrix: String::new(),
    };
    let measurand = |n: usize| Measurand {
        id: MeasurandId(Uuid::from_u128(1_000 + n as u128)),
        item: ItemId(Uuid::from_u128((n / (ROWS / ITEMS)) as u128 + 1)),
        position: n as i64 + 1,
        analyte: format!("compound {:04}", n % (ROWS / ITEMS)),
        unit: "ng/L".to_owned(),
        expressed_as: String::new(),
        decimals: 1,
        replicates: 2,
        required_loq: None,
        plan: None,
    };
    ((0..ITEMS).map(item).collect(), (0..ROWS).map(measurand).collect())
}

/// The rows of all measurands; in each, `analyte` says how its name is written.
fn text(separator: char, analyte: impl Fn(&str) -> String) -> String {
    let (items, measurands) = round();
    let names = ["item", "analyte", "unit", "result", "result_2", "expanded_uncertainty", "uncertainty_form", "loq"];
    let mut text = names.join(&separator.to_string());
    for (n, m) in measurands.iter().enumerate() {
        let item = &items[n / (ROWS / ITEMS)].label;
        let name = analyte(&m.analyte);
        let cells = [item.as_str(), &name, "ng/L", "145.25", "<12.5", "20", "percent", "5"].map(str::to_owned);
        let mut cells = cells.to_vec();
        cells[4] = format!("{}.75", 100 + n % 50);
        text.push('\n');
        text.push_str(&cells.join(&separator.to_string()));
    }
    text
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn read_and_judged(bencher: Bencher<'_, '_>) {
    let (items, measurands) = round();
    let text = text(',', str::to_owned);
    assert!(text.len() < roundel_domain::import::MAX_BYTES);
    bencher.bench_local(|| {
        let read = results(&File::read(text.as_bytes()), &items, &measurands, &[]);
        assert_eq!(read.expect("a good file").positions.len(), ROWS);
    });
}

/// The worst for the nearest name: no name of the file is known.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn read_with_unknown_names(bencher: Bencher<'_, '_>) {
    let (items, measurands) = round();
    let text = text(',', |name| name.replace("ou", "uo"));
    bencher.bench_local(|| {
        let read = results(&File::read(text.as_bytes()), &items, &measurands, &[]);
        assert!(read.is_err_and(|problems| problems.len() > 200));
    });
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn pasted_block(bencher: Bencher<'_, '_>) {
    let (items, measurands) = round();
    let text = text('\t', str::to_owned);
    let typed = Typed::default();
    let form = Form { items: &items, item: &items[0], measurands: &measurands, codes: &[], typed: &typed, start: "" };
    bencher.bench_local(|| assert_eq!(block(&text, &form).expect("a block").positions.len(), ROWS));
}

/// The named alternative: cells alone, nothing looked at.
#[divan::bench(sample_count = 10, sample_size = 1)]
fn cells_by_the_crate_csv(bencher: Bencher<'_, '_>) {
    let text = text(',', str::to_owned);
    bencher.bench_local(|| {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let rows = reader.records().map(|record| black_box(record.expect("a row")).len() / 8).sum::<usize>();
        assert_eq!(rows, ROWS);
    });
}
