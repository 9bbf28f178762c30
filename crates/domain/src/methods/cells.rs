//! Which groups may be shown. Laboratories are dealt into cells by their answers.
//! A cell of fewer than the limit joins the others that are too small; where that
//! is still too few, the smallest of the rest joins too, so that nothing below the
//! limit is left over when the shown cells are taken from the published total.
//!
//! Tables of several questions cut the same laboratories differently. Where cells
//! of one table lie within cells of another, what is left between them can be
//! worked out: it must be nothing, or as many as the limit.

use super::Name;

/// Some of the laboratories, by their places.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Set(Vec<u64>);

impl Set {
    pub(super) fn new(all: usize) -> Set {
        Set(vec![0; all.div_ceil(64)])
    }

    pub(super) fn insert(&mut self, place: usize) {
        self.0[place / 64] |= 1 << (place % 64);
    }

    pub(super) fn contains(&self, place: usize) -> bool {
        self.0[place / 64] & (1 << (place % 64)) != 0
    }

    pub(super) fn len(&self) -> usize {
        self.0.iter().map(|word| word.count_ones() as usize).sum()
    }

    pub(super) fn common(&self, other: &Set) -> usize {
        self.0.iter().zip(&other.0).map(|(a, b)| (a & b).count_ones() as usize).sum()
    }

    fn join(&mut self, other: &Set) {
        for (word, more) in self.0.iter_mut().zip(&other.0) {
            *word |= more;
        }
    }
}

/// A group with its laboratories.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Cell {
    pub(super) name: Name,
    pub(super) set: Set,
}

/// Up to this many cells every union of them is looked at; beyond, each cell and
/// each pair.
const ALL_UNIONS: usize = 8;

/// The cells with those too small taken together as [`Name::Other`], which stands
/// last. `cells` come with the largest first; `shown` are the tables that are
/// shown beside this one.
pub(super) fn merged(mut cells: Vec<Cell>, smallest: usize, shown: &[Vec<Cell>]) -> Vec<Cell> {
    let mut other: Option<Set> = None;
    let join = |other: &mut Option<Set>, set: Set| match other {
        Some(known) => known.join(&set),
        None => *other = Some(set),
    };
    while cells.last().is_some_and(|cell| cell.set.len() < smallest) {
        if let Some(cell) = cells.pop() {
            join(&mut other, cell.set);
        }
    }
    loop {
        let mut all = cells.clone();
        all.extend(other.clone().map(|set| Cell { name: Name::Other, set }));
        let too_small = other.as_ref().is_some_and(|set| set.len() < smallest);
        if !too_small && shown.iter().all(|table| tell_enough(&all, table, smallest)) {
            return all;
        }
        match cells.pop() {
            Some(cell) => join(&mut other, cell.set),
            None => return all,
        }
    }
}

/// Whether nothing below the limit can be worked out from the two tables.
fn tell_enough(one: &[Cell], other: &[Cell], smallest: usize) -> bool {
    leaves_enough(one, other, smallest) && leaves_enough(other, one, smallest)
}

/// Whether each union of cells of `inner`, taken from the smallest union of cells
/// of `outer` that holds it, leaves nothing or enough.
fn leaves_enough(inner: &[Cell], outer: &[Cell], smallest: usize) -> bool {
    unions(inner).all(|union| {
        let around: usize = outer.iter().filter(|cell| cell.set.common(&union) > 0).map(|cell| cell.set.len()).sum();
        let left = around - union.len();
        left == 0 || left >= smallest
    })
}

fn unions(cells: &[Cell]) -> Box<dyn Iterator<Item = Set> + '_> {
    let joined = |places: Vec<usize>| {
        let mut union = cells[places[0]].set.clone();
        places[1..].iter().for_each(|place| union.join(&cells[*place].set));
        union
    };
    let count = cells.len();
    if count <= ALL_UNIONS {
        let chosen = move |mask: u32| (0..count).filter(move |place| mask & (1 << place) != 0).collect::<Vec<_>>();
        return Box::new((1..1_u32 << count).map(move |mask| joined(chosen(mask))));
    }
    Box::new((0..count).flat_map(move |a| (a..count).map(move |b| joined(if a == b { vec![a] } else { vec![a, b] }))))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Cells from the answers of laboratories, a letter each.
    fn cells(answers: &str) -> Vec<Cell> {
        let mut letters: Vec<char> = answers.chars().collect();
        letters.sort_unstable();
        letters.dedup();
        let mut cells: Vec<Cell> = letters
            .into_iter()
            .map(|letter| {
                let mut set = Set::new(answers.len());
                answers.chars().enumerate().filter(|(_, own)| *own == letter).for_each(|(place, _)| set.insert(place));
                Cell { name: Name::Answers(vec![letter.to_string()]), set }
            })
            .collect();
        cells.sort_by_key(|cell| std::cmp::Reverse(cell.set.len()));
        cells
    }

    fn sizes(cells: &[Cell]) -> Vec<(String, usize)> {
        let name = |cell: &Cell| match &cell.name {
            Name::Answers(answers) => answers.concat(),
            _ => "other".to_owned(),
        };
        cells.iter().map(|cell| (name(cell), cell.set.len())).collect()
    }

    fn expected(sizes: &[(&str, usize)]) -> Vec<(String, usize)> {
        sizes.iter().map(|(name, size)| ((*name).to_owned(), *size)).collect()
    }

    #[test]
    fn small_cells_are_taken_together() {
        let found = merged(cells("aaaaaaabbbccd"), 5, &[]);

        assert_eq!(sizes(&found), expected(&[("a", 7), ("other", 6)]));
    }

    /// 20 laboratories, of which 17 are shown: the three others would be what is
    /// left of the total.
    #[test]
    fn what_is_left_of_the_total_is_not_small() {
        let found = merged(cells("aaaaaaaaaabbbbbbbccc"), 5, &[]);

        assert_eq!(sizes(&found), expected(&[("a", 10), ("other", 10)]));
    }

    #[test]
    fn one_large_group_and_a_few_others_are_not_shown_apart() {
        assert_eq!(sizes(&merged(cells("aaaaaaaaab"), 5, &[])), expected(&[("other", 10)]));
        assert_eq!(sizes(&merged(cells("aaaaaaaaaa"), 5, &[])), expected(&[("a", 10)]));
    }

    /// One laboratory answers differently to the second question only: 8 − 7 = 1
    /// would tell its result.
    #[test]
    fn two_tables_do_not_tell_of_one_laboratory() {
        let first = merged(cells("aaaaaaaabbbbbbbbbbbb"), 5, &[]);
        let beside = merged(cells("xxxxxxxyyyyyyyyyyyyy"), 5, std::slice::from_ref(&first));
        let alike = merged(cells("xxxxxxxxyyyyyyyyyyyy"), 5, std::slice::from_ref(&first));

        assert_eq!(sizes(&beside), expected(&[("other", 20)]));
        assert_eq!(sizes(&alike), expected(&[("y", 12), ("x", 8)]));
    }

    /// Two cells of the second table together hold one of the first and one more.
    #[test]
    fn unions_of_cells_are_looked_at_too() {
        let first = merged(cells("aaaaaaaaaaabbbbbbbbbbbb"), 5, &[]);
        let found = merged(cells("xxxxxxyyyyyyzzzzzzzzzzz"), 5, std::slice::from_ref(&first));

        assert_eq!(sizes(&first), expected(&[("b", 12), ("a", 11)]));
        assert_eq!(sizes(&found), expected(&[("other", 23)]));
    }

    #[test]
    fn tables_that_cross_widely_are_both_shown() {
        let first = merged(cells("aaaaaaaaaaaabbbbbbbbbbbb"), 5, &[]);
        let found = merged(cells("xxxxxxyyyyyyxxxxxxyyyyyy"), 5, std::slice::from_ref(&first));

        assert_eq!(found.len(), 2);
    }
}
