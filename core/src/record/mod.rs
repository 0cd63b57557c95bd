//! The record's bytes: canonical JSON, headers, ids, signatures, chains. FORMAT.md beside this file says in
//! prose what another program needs to check a record without this one.
//!
//! Never here: what an entry means (see [`crate::inspection`]), a disk (see [`crate::store`]), a hash over a
//! re-encoding.
//!
//! Reading order: [`canonical`], [`header`], [`seal`](mod@seal), [`chain`], [`causal`].

pub mod canonical;
pub mod causal;
pub mod chain;
pub mod header;
pub mod seal;
#[cfg(test)]
pub(crate) mod simulated;

pub use canonical::CanonFault;
pub use causal::{causal_order, knew_of};
pub use chain::{Finding, FindingKind, Head, Link, Scope, check, clock_findings, heads, missing_heads, root};
pub use header::{Header, Heading, Mark, Subject, id_of};
pub use seal::{
    RecordFault, SealedEntry, SignatureVerdict, demands_person_signature, open, open_header, seal,
};
