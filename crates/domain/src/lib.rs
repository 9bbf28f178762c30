//! What the words of an inter-laboratory comparison mean: rounds and their
//! states, results as typed and as numbers, the plan, the evaluation, and who
//! may do what. It knows neither SQL nor HTTP and never waits.

pub mod code;
pub mod evaluation;
pub mod field;
pub mod import;
pub mod number;
pub mod package;
