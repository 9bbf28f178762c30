//! Which tests for outlying laboratories are made, in which order, and who is
//! set aside.
//!
//! Cochran first, until it finds no outlier; then Grubbs' single test, the
//! more extreme end first, and after an outlier both ends once more; where it
//! found none and at most 20 laboratories are left, the pairs, high then low.
//! More than 2/9 of all laboratories are never set aside.
//!
//! The harmonised protocol (IUPAC 1995, from memory) has one level, 2.5 %, and a round
//! of tests that is made again after one of them set a laboratory aside: Cochran;
//! Grubbs' single test of the more extreme end; where it finds nothing the pair at one
//! end, and the pair of both extremes. It stops where more than 2/9 would go.

use roundel_stats::outlier::{self, Critical, End, Scrutiny};
use roundel_stats::{Error, Sample, score, summary};

use super::{Cell, Finding, Outliers, Test, TestOutcome, commonest};

/// Makes the tests and marks the laboratories that are set aside.
pub(super) fn of(cells: &mut [Cell], outliers: Outliers) -> Vec<TestOutcome> {
    let mut trial = Trial { cells, outliers, tests: Vec::new() };
    if outliers == Outliers::Harmonised {
        while trial.harmonised() {}
        return trial.tests;
    }
    trial.cochran();
    if !trial.grubbs() {
        trial.grubbs_pairs();
    }
    trial.tests
}

/// The critical values that a statistic is held against.
#[derive(Clone, Copy)]
enum Levels {
    /// At 5 % and at 1 %.
    Iso(Critical),
    /// At 2.5 %.
    Harmonised(f64),
}

impl Levels {
    fn iso(self) -> Option<Critical> {
        if let Levels::Iso(critical) = self { Some(critical) } else { None }
    }

    fn harmonised(self) -> Option<f64> {
        if let Levels::Harmonised(critical) = self { Some(critical) } else { None }
    }

    fn judge(self, test: Test, statistic: f64) -> Finding {
        let large = matches!(test, Test::Cochran | Test::Grubbs);
        let scrutiny = match self {
            Levels::Iso(critical) if large => critical.judge_large(statistic),
            Levels::Iso(critical) => critical.judge_small(statistic),
            Levels::Harmonised(critical) if large && outlier::is_beyond(statistic, critical) => Scrutiny::Outlier,
            Levels::Harmonised(critical) if !large && outlier::is_below(statistic, critical) => Scrutiny::Outlier,
            Levels::Harmonised(_) => Scrutiny::None,
        };
        match scrutiny {
            Scrutiny::None => Finding::None,
            Scrutiny::Straggler => Finding::Straggler,
            Scrutiny::Outlier => Finding::Outlier,
        }
    }
}

struct Trial<'c> {
    cells: &'c mut [Cell],
    outliers: Outliers,
    tests: Vec<TestOutcome>,
}

/// What a finding led to.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Consequence {
    /// No outlier.
    Nothing,
    /// An outlier that stays.
    Kept,
    /// An outlier that was set aside.
    SetAside,
}

impl Trial<'_> {
    /// Places of the laboratories that are still in.
    fn kept(&self) -> Vec<usize> {
        (0..self.cells.len()).filter(|place| !self.cells[*place].set_aside).collect()
    }

    /// Notes a test of the laboratories at `places` and acts on it.
    fn note(&mut self, test: Test, places: &[usize], statistic: f64, levels: Levels) -> Consequence {
        let finding = levels.judge(test, statistic);
        let aside = self.cells.iter().filter(|cell| cell.set_aside).count();
        let too_many = 9 * (aside + places.len()) > 2 * self.cells.len();
        let consequence = match (finding, self.outliers) {
            (Finding::None | Finding::Straggler, _) => Consequence::Nothing,
            (Finding::Outlier, Outliers::Keep) => Consequence::Kept,
            (Finding::Outlier, _) if too_many => Consequence::Kept,
            (Finding::Outlier, _) => Consequence::SetAside,
        };
        let mut participants: Vec<String> = places.iter().map(|place| self.cells[*place].participant.clone()).collect();
        participants.sort();
        self.tests.push(TestOutcome {
            test,
            participants,
            statistic,
            critical_5: levels.iso().map(|critical| critical.at_5),
            critical_1: levels.iso().map(|critical| critical.at_1),
            critical_2_5: levels.harmonised(),
            finding,
            stopped: consequence == Consequence::Kept && self.outliers != Outliers::Keep,
        });
        if consequence == Consequence::SetAside {
            for place in places {
                self.cells[*place].set_aside = true;
            }
        }
        consequence
    }

    fn cochran(&mut self) {
        while let Ok((place, statistic, critical)) = self.largest_deviation() {
            if self.note(Test::Cochran, &[place], statistic, critical) != Consequence::SetAside {
                return;
            }
        }
    }

    /// Cochran's statistic over the laboratories with the commonest number of
    /// results.
    fn largest_deviation(&self) -> Result<(usize, f64, Levels), Error> {
        let kept = self.kept();
        let number = commonest(kept.iter().map(|place| &self.cells[*place])).ok_or(Error::Empty)?;
        let compared: Vec<(usize, f64)> = kept
            .into_iter()
            .filter(|place| self.cells[*place].values.len() == number)
            .filter_map(|place| Some((place, self.cells[place].deviation?)))
            .collect();
        let deviations = Sample::new(compared.iter().map(|(_, deviation)| *deviation))?;
        let statistic = outlier::cochran(&deviations)?;
        let critical = |alpha| outlier::cochran_critical(compared.len(), number, alpha);
        let place = compared.iter().find(|(_, deviation)| *deviation == deviations.maximum());
        Ok((place.ok_or(Error::Empty)?.0, statistic, self.levels(critical)?))
    }

    /// Whether an outlier was found.
    fn grubbs(&mut self) -> bool {
        let mut found = false;
        'again: loop {
            let Ok(ends) = self.more_extreme_first() else {
                return found;
            };
            for end in ends {
                let Ok((place, statistic, critical)) = self.extreme_mean(end) else {
                    return found;
                };
                match self.note(Test::Grubbs, &[place], statistic, critical) {
                    Consequence::Nothing => {}
                    Consequence::Kept => found = true,
                    Consequence::SetAside => {
                        found = true;
                        continue 'again;
                    }
                }
            }
            return found;
        }
    }

    /// The means of the laboratories that are still in.
    fn means(&self) -> Result<Sample, Error> {
        Sample::new(self.kept().into_iter().map(|place| self.cells[place].mean))
    }

    fn more_extreme_first(&self) -> Result<[End; 2], Error> {
        let means = self.means()?;
        let centre = summary::mean(&means)?;
        let low_is_further = score::below(means.maximum() - centre, centre - means.minimum());
        Ok(if low_is_further { [End::Low, End::High] } else { [End::High, End::Low] })
    }

    fn extreme_mean(&self, end: End) -> Result<(usize, f64, Levels), Error> {
        let means = self.means()?;
        let statistic = outlier::grubbs(&means, end)?;
        let critical = |alpha| outlier::grubbs_critical(means.len(), alpha);
        let place = self.extreme_first(end).first().copied().ok_or(Error::Empty)?;
        Ok((place, statistic, self.levels(critical)?))
    }

    /// Places of the laboratories that are still in, the most extreme first.
    fn extreme_first(&self, end: End) -> Vec<usize> {
        let mut places = self.kept();
        places.sort_by(|a, b| {
            let (a, b) = (self.cells[*a].mean, self.cells[*b].mean);
            match end {
                End::High => b.total_cmp(&a),
                End::Low => a.total_cmp(&b),
            }
        });
        places
    }

    fn grubbs_pairs(&mut self) {
        for end in [End::High, End::Low] {
            let Ok(means) = self.means() else { return };
            let Some(critical) = outlier::grubbs_pair_critical(means.len()) else {
                return;
            };
            let Ok(statistic) = outlier::grubbs_pair(&means, end) else {
                return;
            };
            let pair: Vec<usize> = self.extreme_first(end).into_iter().take(2).collect();
            self.note(Test::GrubbsPair, &pair, statistic, Levels::Iso(critical));
        }
    }

    /// A round of the harmonised protocol: whether it set a laboratory aside.
    fn harmonised(&mut self) -> bool {
        let mut set_aside = false;
        if let Ok((place, statistic, levels)) = self.largest_deviation() {
            match self.note(Test::Cochran, &[place], statistic, levels) {
                Consequence::SetAside => set_aside = true,
                Consequence::Kept => return false,
                Consequence::Nothing => {}
            }
        }
        let Ok([end, _]) = self.more_extreme_first() else { return set_aside };
        let Ok((place, statistic, levels)) = self.extreme_mean(end) else { return set_aside };
        match self.note(Test::Grubbs, &[place], statistic, levels) {
            Consequence::SetAside => true,
            Consequence::Kept => false,
            Consequence::Nothing => self.harmonised_pairs().unwrap_or_default().unwrap_or(set_aside),
        }
    }

    /// The tests of pairs: whether one of them set its two laboratories aside; none
    /// where neither found anything.
    fn harmonised_pairs(&mut self) -> Result<Option<bool>, Error> {
        let means = self.means()?;
        let Some(critical) = outlier::harmonised_pair_critical(means.len()) else { return Ok(None) };
        let [high, low] = [outlier::grubbs_pair(&means, End::High)?, outlier::grubbs_pair(&means, End::Low)?];
        let (end, statistic) = if score::below(high, low) { (End::High, high) } else { (End::Low, low) };
        let pair: Vec<usize> = self.extreme_first(end).into_iter().take(2).collect();
        let same_end = self.note(Test::GrubbsPair, &pair, statistic, Levels::Harmonised(critical.same_end));
        if same_end != Consequence::Nothing {
            return Ok(Some(same_end == Consequence::SetAside));
        }
        let places = self.extreme_first(End::High);
        let extremes: Vec<usize> = places.first().into_iter().chain(places.last()).copied().collect();
        let statistic = outlier::grubbs_extremes(&means)?;
        let levels = Levels::Harmonised(critical.extremes);
        let found = self.note(Test::GrubbsExtremes, &extremes, statistic, levels);
        Ok((found != Consequence::Nothing).then_some(found == Consequence::SetAside))
    }

    /// The critical values of the procedure.
    fn levels(&self, critical: impl Fn(f64) -> Result<f64, Error>) -> Result<Levels, Error> {
        Ok(match self.outliers {
            Outliers::Harmonised => Levels::Harmonised(critical(0.025)?),
            Outliers::SetAside | Outliers::Keep => {
                Levels::Iso(Critical { at_5: critical(0.05)?, at_1: critical(0.01)? })
            }
        })
    }
}
