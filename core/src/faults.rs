//! faults.
