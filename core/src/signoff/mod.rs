//! signoff.
