//! inputs
