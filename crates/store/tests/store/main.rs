//! Every statement, on both databases.

mod accounts;
mod audit;
mod database;
mod evaluations;
mod installation;
mod laboratories;
mod measurands;
mod participants;
mod results;
mod rounds;
mod sample;
mod schema;
