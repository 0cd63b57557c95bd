//! What the screens are made of: verdict marks, drawings, keypad, buttons and pads.
//!
//! A widget takes plain view data and returns what was tapped. It never reads the register, never
//! decides anything and changes nothing but the draft it is handed. Every control has an accessible
//! name, an id of its own and at least [`theme::TOUCH`](crate::theme::TOUCH) points either way.
//!
//! Read [`verdict_mark`] first, then the drawings ([`section`], [`plan`], [`section_strip`]), then
//! the rest.

pub mod answer_row;
pub mod bay_strip;
pub mod buttons;
pub mod camera;
pub mod chart;
pub mod cut_bar;
pub mod drawing_pad;
pub mod field;
pub mod gallery;
pub mod hatch;
pub mod keypad;
pub mod notice;
pub mod photo_strip;
pub mod pin_pad;
pub mod plan;
mod plan_paint;
mod plan_words;
pub mod progress;
pub mod samples;
pub mod section;
mod section_layers;
mod section_layout;
mod section_paint;
pub mod section_strip;
pub mod signature_pad;
pub mod table_header;
pub mod title_block;
pub mod type_setting;
pub mod verdict_mark;

pub use answer_row::{Answer, answer_row_ui};
pub use bay_strip::{StripTap, bay_strip_ui, strip_words_ui};
pub use buttons::{Weight, button_ui, choice_ui};
pub use camera::Camera;
pub use chart::chart_ui;
pub use cut_bar::cut_bar_ui;
pub use field::{field_ui, secret_field_ui};
pub use keypad::{KeypadEvent, KeypadView, Live, keypad_ui};
pub use notice::{caution_bar_ui, notice_ui};
pub use photo_strip::{PhotoTile, StripEvent, photo_strip_ui};
pub use pin_pad::{PinEvent, pin_pad_ui};
pub use plan::{PlanEvent, PlanView, plan_ui};
pub use progress::progress_ui;
pub use section::{SectionView, Tapped, section_ui};
pub use section_strip::{StripView, strip_grid_ui};
pub use signature_pad::{Polylines, signature_pad_ui};
pub use table_header::{Column, SortBy, table_header_ui};
pub use title_block::{sheet_border, title_block_ui};
pub use verdict_mark::{Mark, mark_ui};
