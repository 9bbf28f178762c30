//! Why a number cannot be given.

/// The reason why a function of this crate gives no number.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum Error {
    /// There is no value at all.
    #[error("there are no values")]
    Empty,
    /// A value is NaN or infinite.
    #[error("a value is not a finite number")]
    NotFinite,
    /// Fewer values than the method needs.
    #[error("{needed} values are needed, there are {given}")]
    TooFew {
        /// The smallest number that the method can use.
        needed: usize,
        /// The number that was given.
        given: usize,
    },
    /// The robust standard deviation is zero: too many values are equal.
    #[error("the values show no spread")]
    NoSpread,
    /// An iteration did not come to rest.
    #[error("the iteration does not come to rest")]
    NotConverged,
    /// The censored values leave the estimate open.
    #[error("the values below a limit leave the estimate open")]
    NotIdentifiable,
    /// An argument is outside the range in which the method is defined.
    #[error("{0} is out of range")]
    OutOfRange(&'static str),
    /// Two lists that belong together differ in length.
    #[error("the lists differ in length: {0} and {1}")]
    Unequal(usize, usize),
}

/// Lets a result through if it is finite.
pub(crate) fn finite(value: f64) -> Result<f64, Error> {
    if value.is_finite() { Ok(value) } else { Err(Error::OutOfRange("the result")) }
}
