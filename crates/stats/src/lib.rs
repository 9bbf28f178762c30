//! Statistics for inter-laboratory comparisons.
