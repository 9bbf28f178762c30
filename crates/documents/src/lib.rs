//! Functions from values to bytes: figures as SVG, certificates and receipts as PDF, tables as
//! separated values and workbooks, and the one catalogue of every text that a
//! person reads.

pub mod certificate;
mod error;
pub mod figure;
pub mod grid;
pub mod mark;
mod measure;
pub mod number;
mod qr;
pub mod receipt;
pub mod report;
pub mod sheet;
mod typeset;
pub mod words;

pub use error::Error;
pub use mark::{Limits, Mark, Score, ScoreKind};
