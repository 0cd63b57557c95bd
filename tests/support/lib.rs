//! Support for the journeys.
