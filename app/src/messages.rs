//! messages.
