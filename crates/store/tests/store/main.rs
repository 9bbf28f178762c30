//! Every statement, on both databases.

#![allow(clippy::unwrap_used, reason = "in a test, what cannot go on has failed")]

mod accounts;
mod approval;
mod audit;
mod certificates;
mod database;
mod drafts;
mod evaluations;
mod installation;
mod items;
mod jobs;
mod keys;
mod laboratories;
mod measurand_decisions;
mod measurands;
mod notices;
mod open_data;
mod outbox;
mod participants;
mod people;
mod performance;
mod plans;
mod proposals;
mod questions;
mod reports;
mod requests;
mod results;
mod reviews;
mod rounds;
mod sample;
mod schema;
mod staff;
mod tokens;
