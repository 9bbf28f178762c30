//! What may be said beside results, and what is refused.
