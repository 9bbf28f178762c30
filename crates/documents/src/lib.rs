//! Functions from values to bytes: figures as SVG, certificates as PDF, and the
//! one catalogue of every text that a person reads.

pub mod words;
