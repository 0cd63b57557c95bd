//! floor.
