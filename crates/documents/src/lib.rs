//! Functions from values to bytes: figures as SVG, certificates as PDF, tables as
//! separated values and workbooks, and the one catalogue of every text that a
//! person reads.

pub mod certificate;
pub mod figure;
pub mod grid;
pub mod mark;
pub mod number;
pub mod sheet;
pub mod words;

pub use mark::{Limits, Mark, Score, ScoreKind};
