//! The screening finds deliberate mistakes in rounds of several seeds, and
//! what it flags in honest laboratories is counted.

mod model;

use model::{
    ANALYTES, COPIED, DOUBLE, EXCHANGED, ITEMS_AB, ITEMS_BC, LABORATORIES, ROWS, Round, TENTH, WHOLE_SET, row,
};
use roundel_domain::screening::{
    Findings, Grid, KnownRatio, Place, Wording, basis_ratios, date_effect, laboratory, modality, similarities, skewness,
};

const SEEDS: [&str; 6] = ["one", "two", "three", "four", "five", "six"];

fn findings(grid: &Grid) -> Vec<Findings> {
    let centres = grid.centres();
    (0..=LABORATORIES).map(|one| laboratory(grid, &centres, one)).collect()
}

fn values(grid: &Grid, place: Place) -> Vec<f64> {
    (1..=LABORATORIES).filter_map(|one| grid.value(one, place)).collect()
}

#[test]
fn every_planted_mistake_is_found_with_every_seed() {
    let mut shifted = 0;
    for seed in SEEDS {
        let found = findings(&Round::new(seed).grid(true));

        let whole = found[WHOLE_SET].whole_set.expect("a factor on the whole set");
        assert_eq!(whole.power, -3, "{seed}");
        let swapped = |one: usize| found[one].item_swaps.iter().map(|swap| swap.items).collect::<Vec<_>>();
        assert_eq!(swapped(ITEMS_AB), [[0, 1]], "{seed}");
        assert!(found[ITEMS_AB].item_swaps[0].exchanged < 0.05 * found[ITEMS_AB].item_swaps[0].as_reported);
        assert_eq!(swapped(ITEMS_BC), [[1, 2]], "{seed}");
        let exchanged: Vec<[usize; 2]> = found[EXCHANGED].analyte_swaps.iter().map(|swap| swap.analytes).collect();
        assert_eq!(exchanged, [[row("naproxen"), row("gemfibrozil")]], "{seed}");
        if let Some(shift) = found[ROWS].row_shifts.first() {
            assert_eq!((shift.item, shift.downwards), (2, true), "{seed}");
            assert_eq!((shift.first, shift.last), (row("diclofenac"), row("bezafibrate")), "{seed}");
            shifted += 1;
        }
        let tenth = found[TENTH].single_factors.iter().find(|one| one.place == naproxen_b()).expect("a tenth");
        assert_eq!(
            (tenth.factor, tenth.wording, tenth.others_in_order),
            (0.1, Wording::ConsistentWith, true),
            "{seed}"
        );
    }
    // Only the shifted rows are missed once: with the seed "three" that
    // laboratory's own errors leave 0.11 of the sum of squares, not 0.10.
    assert!(shifted >= 5, "{shifted} of 6");
}

fn naproxen_b() -> Place {
    Place { item: 1, analyte: row("naproxen") }
}

#[test]
fn a_doubled_aliquot_is_possible_and_never_more() {
    let mut items = 0;
    for seed in SEEDS {
        let found = findings(&Round::new(seed).grid(true));

        let doubled = found[DOUBLE].single_factors.iter().filter(|one| one.place.analyte == row("sulfamethoxazole"));
        for one in doubled {
            assert_eq!((one.factor, one.wording), (2.0, Wording::Possible), "{seed}");
            items += 1;
        }
    }
    // Three items in six rounds, 13 of 18 found; below |z| = 3 none is looked
    // at.
    assert!(items >= 9, "{items} of 18");
}

#[test]
fn honest_laboratories_raise_no_flag_but_possible_single_factors() {
    let (mut wrong, mut consistent, mut possible, mut results) = (Vec::new(), 0, 0, 0);
    for seed in SEEDS {
        let grid = Round::new(seed).grid(false);
        for (one, found) in findings(&grid).into_iter().enumerate() {
            if found.whole_set.is_some()
                || !found.item_swaps.is_empty()
                || !found.analyte_swaps.is_empty()
                || !found.row_shifts.is_empty()
            {
                wrong.push((seed, one, found.clone()));
            }
            let strong = found.single_factors.iter().filter(|one| one.wording == Wording::ConsistentWith).count();
            consistent += strong;
            possible += found.single_factors.len() - strong;
        }
        results += (0..3)
            .flat_map(|item| (0..ANALYTES.len()).map(move |analyte| Place { item, analyte }))
            .map(|place| values(&grid, place).len())
            .sum::<usize>();
    }

    // In 234 sets of results none is flagged as a whole, as exchanged or as
    // shifted; of 11,663 results none is "consistent with" a power of ten and
    // 76, 0.65 %, have a "possible" factor.
    assert!(wrong.is_empty(), "{wrong:?}");
    assert_eq!(consistent, 0);
    assert!(possible * 100 <= results, "{possible} of {results}");
}

/// The demonstration's ibuprofen, reported as a salt of 1.71 times its molar
/// mass.
fn salt() -> KnownRatio {
    KnownRatio { analyte: row("ibuprofen"), ratio: 1.71 }
}

#[test]
fn a_salt_in_place_of_its_acid_is_seen_in_most_laboratories() {
    let (mut found, mut planted, mut inverse) = (0, 0, 0);
    for seed in SEEDS {
        let honest = Round::new(seed).grid(false);
        for one in 1..=LABORATORIES {
            let places = || (0..3).map(|item| Place { item, analyte: salt().analyte });
            if places().any(|place| honest.value(one, place).is_none()) {
                continue;
            }
            let times = |factor: f64| {
                let mut grid = honest.clone();
                places().for_each(|place| grid.set(one, place, factor * honest.value(one, place).unwrap()));
                let centres = grid.centres();
                basis_ratios(&grid, &centres, one, &[salt()]).analytes.first().map(|found| (found.ratio, found.items))
            };
            planted += 1;
            found += usize::from(times(1.71) == Some((1.71, 3)));
            inverse += usize::from(times(1.0 / 1.71) == Some((1.0 / 1.71, 3)));
        }
    }

    // 114 and 116 of 169: the others' own errors exceed a quarter in an item.
    assert!(2 * found > planted && 2 * inverse > planted, "{found}, {inverse} of {planted}");
}

#[test]
fn honest_laboratories_are_seldom_taken_for_reporting_another_form() {
    let (mut flagged, mut compared) = (0, 0);
    for seed in SEEDS {
        let grid = Round::new(seed).grid(false);
        let centres = grid.centres();
        let known: Vec<KnownRatio> = (0..ANALYTES.len()).map(|analyte| KnownRatio { analyte, ratio: 1.71 }).collect();
        for one in 1..=LABORATORIES {
            let found = basis_ratios(&grid, &centres, one, &known);
            assert!(!found.is_whole_set);
            flagged += found.analytes.len();
            compared += (0..ANALYTES.len())
                .filter(|analyte| (0..3).any(|item| grid.value(one, Place { item, analyte: *analyte }).is_some()))
                .count();
        }
    }
    // 103 of 4061 analytes, 2.5 %, if each of them had such a salt.
    assert!(flagged * 100 <= 3 * compared, "{flagged} of {compared}");
}

#[test]
fn a_copied_set_stands_out_by_its_equal_numbers_alone() {
    let (mut honest_pairs, mut flagged_without) = (Vec::new(), 0);
    for seed in SEEDS {
        let grid = Round::new(seed).grid(true);
        let found = similarities(&grid, &grid.centres());

        let copied = found.iter().find(|one| one.laboratories == COPIED).expect("the copied set");
        assert!(copied.equal >= 10 && copied.correlation.unwrap() > 0.5, "{seed}: {copied:?}");
        assert_eq!(found[0].laboratories, COPIED, "{seed}");
        honest_pairs.extend(found.iter().skip(1).map(|one| (seed, *one)));

        let honest = Round::new(seed).grid(false);
        let none = similarities(&honest, &honest.centres());
        flagged_without += none.len();
    }

    // No pair but the copied one in twelve rounds.
    assert!(honest_pairs.is_empty(), "{honest_pairs:?}");
    assert_eq!(flagged_without, 0);
}

#[test]
fn a_method_effect_shows_as_two_modes_and_decay_as_a_slope() {
    let (mut bimodal, mut slopes, mut wrong_modes, mut wrong_slopes, mut tested) = (0, 0, 0, 0, 0);
    for seed in SEEDS {
        let round = Round::new(seed);
        let grid = round.grid(false);
        for (analyte, row_of) in ANALYTES.iter().enumerate().filter(|(_, analyte)| analyte.2 >= 22) {
            let place = Place { item: 1, analyte };
            let Some(centre) = grid.centres().at(place).filter(|_| row_of.1[1] > 0.0) else {
                continue;
            };
            // 25 % of the consensus, as the plan of the demonstration has it.
            let sigma_pt = 0.25 * centre;
            let modes = modality(&values(&grid, place), sigma_pt, 1).expect("twelve results");
            let modes = modes.is_multimodal;
            let days: Vec<(f64, f64)> =
                (1..=LABORATORIES).filter_map(|one| Some((round.day(one), grid.value(one, place)?))).collect();
            let effect = date_effect(&days, row_of.1[1], sigma_pt).expect("several days");
            let slope = effect.is_possible_instability;
            match row_of.0 {
                "hydrochlorothiazide" => bimodal += u32::from(modes),
                "erythromycin" => {
                    slopes += u32::from(slope);
                    wrong_modes += u32::from(modes);
                }
                _ => {
                    wrong_modes += u32::from(modes);
                    wrong_slopes += u32::from(slope);
                    tested += 1;
                }
            }
        }
    }

    // Two modes are found in all six rounds and in none of 114 other groups of
    // results. The decay, 14 % between the first and the last day against a
    // spread of 15 %, is flagged in two of six and 7 of 114 others are: the 5 %
    // that an interval of 95 % lets expect.
    assert_eq!(bimodal, 6);
    assert!(slopes >= 1, "{slopes}");
    assert_eq!(wrong_modes, 0);
    assert!(wrong_slopes * 10 <= tested, "{wrong_slopes} of {tested}");
}

#[test]
fn skewed_results_ask_for_a_logarithmic_comparison() {
    let even: Vec<f64> = (1..=21).map(f64::from).collect();
    let skewed: Vec<f64> = (1..=21).map(|x| (f64::from(x) / 4.0).exp()).collect();

    assert!(!skewness(&even, 5.0).unwrap().show_logarithmic);
    assert!(skewness(&skewed, 30.0).unwrap().show_logarithmic);
    assert_eq!(skewness(&[1.0, 1.0, 1.0, 1.0], 1.0), None);
    assert_eq!(modality(&even[..11], 5.0, 1), None);
}
