//! Statistics for inter-laboratory comparisons: robust summaries, consensus
//! values, scores, checks of homogeneity and stability, precision experiments.
//!
//! Numbers go in, numbers or a reason come out: no function returns NaN or an
//! infinity. Data enter as a [`Sample`], which is checked once and sorted, so
//! that no result depends on the order in which values were collected.
//! Everything that decides on a limit uses a relative guard, see [`score`].
//!
//! ```
//! use roundel_stats::{Sample, robust, score};
//!
//! let results = Sample::new([4.5, 4.9, 5.6, 4.2, 6.2, 5.2, 9.9])?;
//! let robust = robust::algorithm_a(&results)?;
//! let z = score::z(9.9, robust.location, robust.scale)?;
//! assert_eq!(score::judge(z, 2.0, 3.0), score::Judgement::Unacceptable);
//! # Ok::<(), roundel_stats::Error>(())
//! ```
//!
//! The crate knows nothing of laboratories, rounds, files or clocks.

pub mod budget;
pub mod censored;
pub mod combined;
pub mod consensus;
pub mod density;
mod distribution;
pub mod earlier_rounds;
mod error;
pub mod homogeneity;
pub mod horwitz;
mod numeric;
pub mod outlier;
pub mod precision;
pub mod quantile;
pub mod random;
pub mod regression;
pub mod robust;
mod sample;
pub mod score;
pub mod skew;
pub mod stability;
pub mod summary;
pub mod youden;

pub use error::Error;
pub use sample::Sample;
