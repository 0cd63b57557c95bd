//! working.
