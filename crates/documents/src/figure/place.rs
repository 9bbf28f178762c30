//! Where labels go, so that none lies on another or on a mark.

/// A rectangle; y grows downwards.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Area {
    pub(crate) left: f64,
    pub(crate) top: f64,
    pub(crate) right: f64,
    pub(crate) bottom: f64,
}

impl Area {
    pub(crate) fn around((x, y): (f64, f64), half_width: f64, half_height: f64) -> Area {
        Area { left: x - half_width, top: y - half_height, right: x + half_width, bottom: y + half_height }
    }

    fn overlaps(&self, other: &Area) -> bool {
        self.left < other.right && other.left < self.right && self.top < other.bottom && other.top < self.bottom
    }

    fn holds(&self, other: &Area) -> bool {
        self.left <= other.left && self.top <= other.top && other.right <= self.right && other.bottom <= self.bottom
    }

    /// The point of it that is nearest to `point`.
    fn nearest(&self, (x, y): (f64, f64)) -> (f64, f64) {
        (x.clamp(self.left, self.right), y.clamp(self.top, self.bottom))
    }
}

/// A label with its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Placed {
    pub(crate) area: Area,
    /// A thin line from the mark to the label, where it is not beside it.
    pub(crate) leader: Option<((f64, f64), (f64, f64))>,
}

/// The room of a figure: what is taken, and what had better stay free.
pub(crate) struct Room {
    bounds: Area,
    taken: Vec<Area>,
    avoided: Vec<Area>,
    leaders: Vec<((f64, f64), (f64, f64))>,
}

/// Directions of the first ring, the pleasant ones first.
const BESIDE: [(f64, f64); 8] =
    [(0.0, -1.0), (1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (1.0, -1.0), (-1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
/// Directions of the wider rings.
const TURNS: usize = 24;
const REACH: [f64; 8] = [14.0, 22.0, 32.0, 44.0, 58.0, 76.0, 98.0, 124.0];

impl Room {
    pub(crate) fn new(bounds: Area) -> Room {
        Room { bounds, taken: Vec::new(), avoided: Vec::new(), leaders: Vec::new() }
    }

    /// No label may lie on it: a mark, another text.
    pub(crate) fn take(&mut self, area: Area) {
        self.taken.push(area);
    }

    /// A label lies on it only where there is no other place: a rule, a whisker.
    pub(crate) fn avoid(&mut self, area: Area) {
        self.avoided.push(area);
    }

    /// Finds a place of `width` by `height` for the label of the mark at `at`, that
    /// keeps `clearance` from its middle. `None`: there is no room.
    pub(crate) fn place(&mut self, at: (f64, f64), clearance: f64, width: f64, height: f64) -> Option<Placed> {
        let beside = || BESIDE.iter().map(|&direction| (direction, clearance + 2.0, false));
        let around = || {
            REACH.iter().flat_map(|&reach| {
                (0..TURNS).map(move |turn| {
                    let angle = (turn as f64) * std::f64::consts::TAU / (TURNS as f64) - std::f64::consts::FRAC_PI_2;
                    ((angle.cos(), angle.sin()), reach, true)
                })
            })
        };
        let candidates: Vec<Placed> = beside()
            .chain(around())
            .map(|((x, y), reach, far)| {
                let middle = (at.0 + x * (reach + width / 2.0), at.1 + y * (reach + height / 2.0));
                let area = Area::around(middle, width / 2.0, height / 2.0);
                Placed { area, leader: far.then(|| leader(at, clearance, &area)) }
            })
            .filter(|placed| self.allows(placed))
            .collect();
        let placed = candidates.iter().find(|placed| self.is_clear(placed)).or(candidates.first()).copied()?;
        self.taken.push(placed.area);
        self.leaders.extend(placed.leader);
        Some(placed)
    }

    fn allows(&self, placed: &Placed) -> bool {
        self.bounds.holds(&placed.area)
            && !self.taken.iter().any(|taken| taken.overlaps(&placed.area))
            && !self.leaders.iter().any(|leader| crosses(*leader, &placed.area))
            && placed.leader.is_none_or(|leader| {
                let (from, _) = leader;
                // A leader begins at its own mark; all others are in its way, and so
                // is every other leader.
                !self.taken.iter().any(|taken| taken.nearest(from) != from && crosses(leader, taken))
                    && !self.leaders.iter().any(|other| cut(*other, leader))
            })
    }

    fn is_clear(&self, placed: &Placed) -> bool {
        !self.avoided.iter().any(|avoided| avoided.overlaps(&placed.area))
    }
}

fn leader(at: (f64, f64), clearance: f64, area: &Area) -> ((f64, f64), (f64, f64)) {
    let to = area.nearest(at);
    let (x, y) = (to.0 - at.0, to.1 - at.1);
    let length = x.hypot(y).max(1.0);
    let from = (at.0 + x / length * clearance, at.1 + y / length * clearance);
    (from, (to.0 - x / length, to.1 - y / length))
}

/// Whether a line comes into `area`, by points a unit apart.
fn crosses((from, to): ((f64, f64), (f64, f64)), area: &Area) -> bool {
    let steps = (to.0 - from.0).hypot(to.1 - from.1).ceil().max(1.0) as usize;
    (0..=steps).any(|step| {
        let share = step as f64 / steps as f64;
        let (x, y) = (from.0 + (to.0 - from.0) * share, from.1 + (to.1 - from.1) * share);
        area.left < x && x < area.right && area.top < y && y < area.bottom
    })
}

/// Whether two lines cut each other.
fn cut((a, b): ((f64, f64), (f64, f64)), (c, d): ((f64, f64), (f64, f64))) -> bool {
    let side = |from: (f64, f64), to: (f64, f64), point: (f64, f64)| {
        (to.0 - from.0) * (point.1 - from.1) - (to.1 - from.1) * (point.0 - from.0)
    };
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

/// Moves heights apart until neighbours are `gap` apart, within `from` and `to`,
/// keeping the order in which they are given. Texts at a margin.
pub(crate) fn spread(wanted: &[f64], gap: f64, from: f64, to: f64) -> Vec<f64> {
    // Runs of touching labels: where the first one goes, and how many there are.
    let mut runs: Vec<(f64, usize)> = Vec::new();
    for &height in wanted {
        runs.push((height, 1));
        while let [.., (above, above_count), (below, below_count)] = runs[..] {
            if above + gap * above_count as f64 <= below {
                break;
            }
            // Together each goes as far from its own height as all do on average.
            let count = above_count + below_count;
            let shifted = below - gap * above_count as f64;
            let start = (above * above_count as f64 + shifted * below_count as f64) / count as f64;
            runs.truncate(runs.len() - 2);
            runs.push((start, count));
        }
    }
    let mut placed: Vec<f64> = Vec::with_capacity(wanted.len());
    for (start, count) in runs {
        let least = placed.last().map_or(from, |last| last + gap);
        let start = start.max(least);
        placed.extend((0..count).map(|step| start + gap * step as f64));
    }
    // From the end back, should the last have been pushed out.
    let mut most = to;
    for height in placed.iter_mut().rev() {
        *height = height.min(most);
        most = *height - gap;
    }
    placed
}
