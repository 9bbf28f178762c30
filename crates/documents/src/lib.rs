//! Functions from values to bytes: figures as SVG, certificates as PDF, and the
//! one catalogue of every text that a person reads.

pub mod certificate;
pub mod figure;
pub mod mark;
pub mod number;
pub mod words;

pub use mark::{Limits, Mark, Score, ScoreKind};
