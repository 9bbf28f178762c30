//! Every SQL statement.
