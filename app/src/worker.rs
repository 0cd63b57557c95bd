//! worker.
