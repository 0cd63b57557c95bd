//! The program: command line and window. `main.rs` is a thin shell around this library.

pub mod action;
pub mod app;
pub mod commands;
pub mod demo;
pub mod drawings;
#[cfg(test)]
pub mod headless;
pub mod messages;
pub mod screens;
pub mod shipped;
pub mod state;
pub mod surroundings;
pub mod textures;
pub mod theme;
pub mod trace;
pub mod underlays;
pub mod update;
pub mod widgets;
pub mod worker;
