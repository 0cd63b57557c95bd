//! entry.
