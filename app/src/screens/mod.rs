//! screens.
