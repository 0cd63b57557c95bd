//! Support for the journeys: where the built program lies, how it is run apart from this machine's settings,
//! and what the project's own sources are. Never reaches into the program's insides: a journey sees what a person sees.

pub mod floor_work;
pub mod program;
pub mod random;
pub mod site;
pub mod sources;
pub mod window;
