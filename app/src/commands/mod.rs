//! commands.
