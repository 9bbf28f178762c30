//! What the estimators return: their figures, and what they used.

/// A location with a scale, both in the unit of the data.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// Mean or robust mean, x*.
    pub location: f64,
    /// Standard deviation or robust standard deviation, s*; zero or more.
    pub scale: f64,
    /// What went into both.
    pub used: Used,
}

/// A scale alone, in the unit of the data.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// Robust standard deviation; zero or more.
    pub scale: f64,
    /// What went into it.
    pub used: Used,
}

/// What an estimate rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Used {
    /// The number of values, p, those below a limit included where they take
    /// part.
    pub count: usize,
    /// The number of steps to rest; zero where nothing is iterated.
    pub iterations: usize,
    /// Where an iteration started; `None` where nothing is iterated.
    pub start: Option<Start>,
}

/// What an iteration started from: for Algorithm A the first scale that is not
/// zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Start {
    /// Median and MADe.
    Made,
    /// Median and normalised interquartile range, MADe being zero.
    Niqr,
    /// Median and standard deviation, both being zero.
    StandardDeviation,
    /// The median of standard deviations (Algorithm S).
    Median,
    /// Their root mean square, the median being zero.
    RootMeanSquare,
}

impl Used {
    /// By a formula, without steps.
    pub(crate) fn directly(count: usize) -> Self {
        Self { count, iterations: 0, start: None }
    }
}
