//! photo.
