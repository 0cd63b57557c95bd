//! store.
