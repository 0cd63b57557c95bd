//! textures.
