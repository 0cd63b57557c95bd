//! update.
