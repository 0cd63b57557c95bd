//! identity.
