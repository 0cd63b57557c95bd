//! The signed sign-off of one plot: drawn, finished as PDF/A-3, signed, and verified again.
//!
//! Never here: a clock, random numbers, system fonts, the file system. The same input gives the same bytes,
//! which is what lets a verifier draw the pages again and compare them.
//!
//! Modules in reading order:
//! - [`fonts`]: the two faces that are embedded, their widths, and what happens to a character they lack
//! - [`page`]: one A4 sheet to draw on; the only place that knows the PDF engine, with [`paper`]
//! - [`marks`]: the verdict marks
//! - [`flow`]: running text, tables and photographs down the sheets; frame, title block, page n of N
//! - [`plan`]: the plan of a criterion, to scale
//! - [`paper`]: sheets and photographs become one PDF
//! - [`finish`] (with [`srgb`], [`attach`]): PDF 1.7, PDF/A-3b structure, own metadata, fixed identity
//! - [`cms`], [`sign`]: the PAdES baseline signature, always the last step
//! - [`inspect`]: what a stranger's file says of itself, as named findings
//! - [`evidence`], [`model`], [`layout`]: the plot's entries, what they come to in words, and where that stands
//! - [`make`], [`issue`]: a draft or a signed document, from evidence and from a register in use
//! - [`cut_sheets`]: unsigned working papers, what is cut for each plot
//! - [`verify`]: a document held against its own evidence, and against the authority of whoever checks it

pub mod attach;
mod beams;
mod chart;
pub mod cms;
pub mod cut_sheets;
pub mod evidence;
pub mod finish;
pub mod flow;
pub mod fonts;
pub mod inspect;
pub mod issue;
pub mod layers;
mod layout;
mod level_books;
pub mod make;
pub mod marks;
pub mod model;
pub mod page;
pub mod paper;
pub mod plan;
mod pour;
pub mod record_checks;
pub mod sign;
pub mod srgb;
pub mod verify;

#[cfg(test)]
mod engine_tests;
