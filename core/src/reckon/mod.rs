//! reckon.
