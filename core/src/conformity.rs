//! conformity.
