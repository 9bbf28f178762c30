//! Stories of the whole service: what people do, and what they see then.

#![allow(clippy::unwrap_used, reason = "in a test, what cannot go on has failed")]

mod accessibility;
mod approval;
mod bad_input;
mod certificates;
mod demonstration;
mod drafts;
mod exports;
mod files;
mod headers;
mod interface;
mod items;
mod jobs;
mod journey;
mod mail;
mod methods;
mod pages;
mod paste;
mod people;
mod plan;
mod program;
mod questions;
mod receipts;
mod refusals;
mod report;
mod review;
mod review_of_qw1;
mod schema;
mod secrets;
mod slips;
mod staff;
mod support;
mod tokens;
mod unit_files;
