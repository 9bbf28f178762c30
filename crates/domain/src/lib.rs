//! What the words of an inter-laboratory comparison mean: rounds and their
//! states, results as typed and as numbers, the plan, the evaluation, and who
//! may do what. It knows neither SQL nor HTTP and never waits.

pub mod access;
pub mod amendment;
pub mod approval;
pub mod asks;
pub mod assemble;
pub mod case;
pub mod checklist;
pub mod code;
pub mod decision;
pub mod declared;
pub mod draft;
pub mod evaluation;
pub mod field;
pub mod forecast;
pub mod frozen;
pub mod id;
pub mod import;
pub mod judgement;
pub mod laboratory;
pub mod ledger;
pub mod measurand;
pub mod methods;
pub mod number;
pub mod open_data;
pub mod opening;
pub mod package;
pub mod plan;
pub mod preparation;
pub mod question;
pub mod raw_set;
pub mod receipt;
pub mod request;
pub mod result;
pub mod review;
pub mod round;
pub mod rules;
pub mod schema;
pub mod screening;
pub mod seal;
pub mod sealed_values;
mod stored;
pub mod study;
pub mod text;
pub mod trial;
pub mod unit;
