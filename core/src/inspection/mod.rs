//! inspection.
