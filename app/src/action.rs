//! action.
