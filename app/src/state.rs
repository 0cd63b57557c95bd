//! state.
