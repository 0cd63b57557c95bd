//! The core of Gaugerod: floor reckonings, conformity, the record of a site and the signed sign-off.
//!
//! Never here: a window, ambient time, randomness, locale or environment. Clock, seed and identity are passed in.
//!
//! Modules in reading order:
//! - [`ids`], [`time`], [`quantity`], [`faults`]: names, moments, whole micrometres, places where input is wrong
//! - [`conformity`], [`working`]: the one place a value meets a limit; steps that a reader can repeat
//! - [`floor`]: the floor design read from its file
//! - [`reckon`]: one file per computation of the trade
//! - [`level_book_csv`], [`temperature_csv`]: a level book, a logger's temperatures taken in from a file
//! - [`plan_of_work`]: hold points as data
//! - [`entry`]: everything that can be recorded
//! - [`inspection`]: where every plot stands, and what may be done next
//! - [`plan_drawing`]: the plan of a floor with its readings, as shapes in millimetres; [`chart`]: curves and profiles
//! - [`record`], [`identity`]: canonical bytes, chains, signatures; people, devices, keys
//! - [`photo`], [`store`]: photographs taken in; the SQLite register
//! - [`signoff`]: the signed PDF, and how it is verified

pub mod chart;
pub mod conformity;
pub mod entry;
pub mod faults;
pub mod floor;
pub mod identity;
pub mod ids;
pub mod inspection;
pub mod level_book_csv;
pub mod photo;
pub mod plan_drawing;
pub mod plan_of_work;
pub mod quantity;
pub mod reckon;
pub mod record;
pub mod register;
pub mod signoff;
pub mod store;
pub mod temperature_csv;
pub mod time;
pub mod working;
