//! Blocks of cells out of a spreadsheet's clipboard.

use super::*;
use crate::id::{ItemId, MeasurandId};
use crate::measurand::{Item, Measurand};
use crate::result::Typed;
use uuid::Uuid;

const ANALYTES: [&str; 6] = ["carbamazepine", "metoprolol", "diclofenac", "2,4-D", "bezafibrate", "µ-cresol"];

/// Items A and B with six analytes each, at places 1 to 6 and 7 to 12; two
/// values each of metoprolol.
fn round() -> (Vec<Item>, Vec<Measurand>) {
    let items: Vec<Item> = ["A", "B"]
        .iter()
        .enumerate()
        .map(|(n, label)| Item {
            id: ItemId(Uuid::from_u128(n as u128 + 1)),
            position: n as i64 + 1,
            label: (*label).to_owned(),
            matrix: String::new(),
        })
        .collect();
    let measurands = (0..12)
        .map(|n| Measurand {
            id: MeasurandId(Uuid::from_u128(100 + n as u128)),
            item: items[n / 6].id,
            position: n as i64 + 1,
            analyte: ANALYTES[n % 6].to_owned(),
            unit: "ng/L".to_owned(),
            expressed_as: String::new(),
            decimals: 1,
            replicates: if n % 6 == 1 { 2 } else { 1 },
            required_loq: None,
            plan: None,
        })
        .collect();
    (items, measurands)
}

fn of(text: &str, start: &str) -> Block {
    of_item(text, start, 0, &[])
}

fn of_item(text: &str, start: &str, item: usize, codes: &[(String, String)]) -> Block {
    let (items, measurands) = round();
    let form =
        Form { items: &items, item: &items[item], measurands: &measurands, codes, typed: &Typed::default(), start };
    block(text, &form).unwrap_or_else(|problem| panic!("{text:?}: {problem}"))
}

/// Fields and texts, as `1.v1=12,5`.
fn texts(block: &Block) -> Vec<String> {
    block.typed.0.iter().map(|(field, text)| format!("{field}={text}")).collect()
}

/// What lies outside, as `line:column seen key`.
fn outside(block: &Block) -> Vec<String> {
    assert_eq!(block.outside.len(), block.outside_count.min(MAX_OUTSIDE));
    let line = |one: &Outside| {
        format!("{}:{} {} {}", one.line, one.column, one.seen, one.problem.key.trim_start_matches("problem-"))
    };
    block.outside.iter().map(line).collect()
}

#[test]
fn cells_without_names_spill_from_the_field_where_they_begin() {
    let block = of("12,5\t\t1.5\t2\t5\r\n13\t14\t2\t2\t6\r\n", "1.v1");

    assert_eq!(block.matched, Matched::Place);
    assert_eq!(
        texts(&block),
        ["1.k=2", "1.loq=5", "1.u=1.5", "1.v1=12,5", "2.k=2", "2.loq=6", "2.u=2", "2.v1=13", "2.v2=14"]
    );
    assert_eq!((block.positions.as_slice(), block.outside_count), (&[1, 2][..], 0));

    // From the limit of quantification of the third row down.
    let block = of("5\n10\n", "3.loq");
    assert_eq!(texts(&block), ["3.loq=5", "4.loq=10"]);
    // In item B the rows are those of item B.
    assert_eq!(texts(&of_item("7\n", "12.v1", 1, &[])), ["12.v1=7"]);
    // A field of another item, or none at all: the first row.
    assert_eq!(texts(&of("7\n", "12.v1")), ["1.v1=7"]);
    assert_eq!(texts(&of("7\n", "")), ["1.v1=7"]);
}

#[test]
fn what_lies_outside_the_form_is_told_cell_by_cell() {
    let block = of("5\t1\t2\t3\t10\tnote\n6\n\t\t\tx\n7\n", "5.v1");

    assert_eq!(texts(&block), ["5.k=3", "5.loq=10", "5.u=2", "5.v1=5", "6.v1=6"]);
    let expected =
        ["1:2 1 file-replicate", "1:6 note block-column", "3:4 x block-row", "4:1 7 block-row"].map(str::to_owned);
    assert_eq!(outside(&block), expected);
    assert_eq!(block.outside[2].problem.value("count"), Some("6"));
}

#[test]
fn a_decimal_comma_does_not_part_cells() {
    assert_eq!(texts(&of("12,5\n13,25\n", "1.v1")), ["1.v1=12,5", "2.v1=13,25"]);
    assert_eq!(texts(&of("12,5;3\n13,25;4\n", "3.u")), ["3.k=3", "3.u=12,5", "4.k=4", "4.u=13,25"]);
    // Names with a comma are one name, and names part the cells beside them.
    assert_eq!(texts(&of("2,4-D\t7,5\n", "1.v1")), ["4.v1=7,5"]);
    assert_eq!(texts(&of("carbamazepine,7.5\nmetoprolol,8\n", "1.v1")), ["1.v1=7.5", "2.v1=8"]);
    assert_eq!(of("2,4-D\n", "1.v1").positions, [0i64; 0]);
}

#[test]
fn names_of_analytes_find_their_rows_in_any_order_and_capitals() {
    let block = of("Bezafibrate\t5\nCARBAMAZEPINE\t1\nmetoprolol\t2\nDiclofenac\t3\n\u{3bc}-Cresol\t6\n", "2.v1");

    assert_eq!(block.matched, Matched::Analytes);
    assert_eq!(texts(&block), ["1.v1=1", "2.v1=2", "3.v1=3", "5.v1=5", "6.v1=6"]);
    assert_eq!(block.positions, [5, 1, 2, 3, 6]);
    assert_eq!(block.moved, [5], "one row stands elsewhere, and the others in order");
    // Behind the names the cells begin at the field's column.
    let block = of("metoprolol\t2\t8\n", "1.u");
    assert_eq!(texts(&block), ["2.k=8", "2.u=2"]);
}

#[test]
fn items_and_units_beside_names_need_no_header() {
    let block = of("B\tcarbamazepine\tng/l\t5\nB\tmetoprolol\tng/L\t6\t7\n", "1.v1");
    assert_eq!(texts(&block), ["7.v1=5", "8.v1=6", "8.v2=7", "all.unit=ng/L"]);

    let block = of("carbamazepine\tµg/L\t5\nmetoprolol\tng/L\t6\n", "1.v1");
    assert_eq!(texts(&block), ["2.v1=6", "all.unit=ng/L"]);
    assert_eq!(outside(&block), ["1:1 carbamazepine block-left", "1:2 µg/L file-unit", "1:3 5 block-left"]);
}

/// The unit that the laboratory has chosen is that of its numbers.
#[test]
fn units_are_those_that_the_laboratory_types_in() {
    let (items, measurands) = round();
    let typed = Typed([("all.unit".to_owned(), "µg/L".to_owned())].into());
    let form = Form { items: &items, item: &items[0], measurands: &measurands, codes: &[], typed: &typed, start: "" };

    let read = block("carbamazepine\tug/L\t5\nmetoprolol\tng/L\t6\ndiclofenac\tµg/L\t7\n", &form).expect("a block");

    assert_eq!(texts(&read), ["3.v1=7"]);
    assert_eq!(read.outside.iter().filter(|one| one.problem.key == "problem-block-unit").count(), 2);
    assert_eq!(read.outside[1].problem.value("expected"), Some("µg/L"));
}

#[test]
fn a_misspelt_name_is_told_with_the_nearest_and_its_row_is_not_taken() {
    let block = of("carbamazepin\t1\nmetoprolol\t2\nmetoprolol\t3\n", "1.v1");

    assert_eq!(texts(&block), ["2.v1=2"]);
    assert_eq!(
        outside(&block),
        [
            "1:1 carbamazepin file-analyte-unknown",
            "1:2 1 block-left",
            "3:1 metoprolol file-measurand-twice",
            "3:2 3 block-left"
        ]
    );
    assert_eq!(block.outside[0].problem.value("nearest"), Some("carbamazepine"));
    // Also where no name is right.
    let block = of("carbamazepin\t1\nmetoprolole\t2\n", "1.v1");
    assert_eq!((block.matched, texts(&block).len(), block.outside_count), (Matched::Analytes, 0, 4));
}

#[test]
fn names_of_columns_decide() {
    let block = of(
        "analyte\tloq\tResult\tlab no\texpanded_uncertainty\tuncertainty form\tstate\treason\n\
         metoprolol\t5\t12,5\t77\t3\t%\t\t\n\
         carbamazepine\t\t\t\t\t\tNot analysed\tout of scope\n",
        "6.k",
    );

    assert_eq!(block.matched, Matched::Columns);
    assert_eq!(
        texts(&block),
        [
            "1.loq=",
            "1.reason=out_of_scope",
            "1.state=not_analysed",
            "1.u=",
            "1.u_as=",
            "1.v1=",
            "2.loq=5",
            "2.reason=",
            "2.state=",
            "2.u=3",
            "2.u_as=percent",
            "2.v1=12,5"
        ]
    );
    assert_eq!(outside(&block), ["1:4 lab no block-column-unknown", "2:4 77 block-column-unknown"]);
    assert_eq!(block.moved.len(), 1);
    // Columns by name and rows by place.
    assert_eq!(texts(&of("LOQ\tU\n5\t1\n6\t2\n", "3.v1")), ["3.loq=5", "3.u=1", "4.loq=6", "4.u=2"]);
    // The column of names is found whatever it is called.
    assert_eq!(texts(&of("compound\tvalue\ndiclofenac\t9\n", "")), ["3.v1=9"]);
}

#[test]
fn cells_in_quotation_marks_hold_line_ends_and_a_stray_mark_swallows_nothing() {
    let block = of("\"carba-\nmazepine\"\t1\n\"metoprolol\"\t2\r\ndiclofenac\t\"3\n4\"\n", "1.v1");
    assert_eq!(texts(&block), ["2.v1=2"]);
    assert_eq!(outside(&block)[0].split(' ').next(), Some("1:1"));
    assert!(outside(&block).contains(&"4:2 3\u{fffd}4 file-control".to_owned()), "{:?}", outside(&block));

    let block = of("metoprolol\t\"2\ndiclofenac\t3\n", "1.v1");
    assert_eq!(texts(&block), ["2.v1=\"2", "3.v1=3"]);
}

#[test]
fn numbers_are_not_judged_and_words_that_no_list_has_are_told() {
    let block = of("analyte\tresult\tstate\ncarbamazepine\tn.d.\tmaybe\nmetoprolol\t1,250\t\n", "");

    assert_eq!(texts(&block), ["1.v1=n.d.", "2.state=", "2.v1=1,250"]);
    assert_eq!(outside(&block), ["2:3 maybe file-word"]);
}

#[test]
fn codes_of_other_vials_keep_a_row_out() {
    let code = |n: u8| crate::code::LabCode::from_random([n; 16]).to_string();
    let codes = [("A".to_owned(), code(1)), ("B".to_owned(), code(2))];
    let text = |code: &str| format!("item_code\tanalyte\tresult\n{code}\tmetoprolol\t5\n");

    assert_eq!(texts(&of_item(&text(&code(1).to_lowercase()), "", 0, &codes)), ["2.v1=5"]);
    for (code, key) in [(code(2), "other-item"), (code(3), "foreign"), ("22222X".to_owned(), "form")] {
        let block = of_item(&text(&code), "", 0, &codes);
        assert_eq!(texts(&block).len(), 0);
        assert_eq!(outside(&block)[0], format!("2:1 {code} item-code-{key}"));
    }
    assert_eq!(texts(&of_item(&text("22222X"), "", 0, &[])), ["2.v1=5"]);
}

#[test]
fn nothing_and_too_much_are_refused() {
    let (items, measurands) = round();
    let form = Form {
        items: &items,
        item: &items[0],
        measurands: &measurands,
        codes: &[],
        typed: &Typed::default(),
        start: "",
    };
    for nothing in ["", "\n\n", "\t\t\r\n", "\u{feff}"] {
        assert_eq!(block(nothing, &form).map_err(|problem| problem.key), Err("problem-block-empty"), "{nothing:?}");
    }
    assert_eq!(block(&"1\n".repeat(MAX_ROWS + 1), &form).map_err(|problem| problem.key), Err("problem-file-rows"));
    // Much that lies outside is counted, and listed in part.
    let many = block(&"1\n".repeat(1000), &form).expect("a block");
    assert_eq!((many.outside_count, many.outside.len()), (994, MAX_OUTSIDE));
}

/// Every text of the block is in a field or told, whatever it looks like.
#[test]
fn no_cell_is_lost() {
    const PIECES: [&str; 16] = [
        "carbamazepine",
        "metoprolol",
        "2,4-D",
        "B",
        "ng/L",
        "12,5",
        "<5",
        "\t",
        "\t",
        "\n",
        "\n",
        "\"",
        ";",
        ",",
        "result",
        "analyte",
    ];
    let (items, measurands) = round();
    let form = Form {
        items: &items,
        item: &items[0],
        measurands: &measurands,
        codes: &[],
        typed: &Typed::default(),
        start: "3.v1",
    };
    let mut state = 7u64;
    let mut taken = 0;
    for _ in 0..20_000 {
        let mut text = String::new();
        for _ in 0..14 {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            text.push_str(PIECES[(state >> 60) as usize]);
        }
        // A number of its own, which must be found again.
        let marked = format!("{text}77.25\n");
        let Ok(read) = block(&marked, &form) else { panic!("{marked:?}") };
        let in_field = read.typed.0.values().any(|text| text.contains("77.25"));
        let told = read.outside.iter().any(|one| one.seen.contains("77.25") || one.seen.ends_with('…'));
        taken += usize::from(in_field);
        assert!(in_field || told, "{marked:?} gives {read:?}");
    }
    assert!(taken > 1000, "{taken}");
}

#[test]
fn a_value_takes_away_the_mark_that_there_is_none() {
    let (items, measurands) = round();
    let mut typed = Typed::default();
    for (field, text) in
        [("1.state", "not_analysed"), ("1.reason", "out_of_scope"), ("2.state", "failed"), ("3.state", "below")]
    {
        typed.set(field, text);
    }
    let form =
        Form { items: &items, item: &items[0], measurands: &measurands, codes: &[], typed: &typed, start: "1.v1" };

    let values = block("12\n13\n14\n", &form).expect("a block of ours");
    let limits = block("5\n6\n", &Form { start: "1.loq", ..form }).expect("a block of ours");

    assert_eq!(texts(&values), ["1.reason=", "1.state=", "1.v1=12", "2.reason=", "2.state=", "2.v1=13", "3.v1=14"]);
    assert_eq!(texts(&limits), ["1.loq=5", "2.loq=6"]);
}
