//! Turns figures into what is published: plain data for programs, documents for people.
//!
//! Views never calculate: a number that is missing here is a missing field in `compute`.

pub mod alone;
pub mod at_the_bench;
pub mod bars;
pub mod bench;
pub mod compare;
pub mod costing;
pub mod doses;
pub mod expiring;
pub mod export;
pub mod findings;
pub mod found;
pub mod glance;
pub mod history;
pub mod label;
pub mod ordering;
pub mod pictures;
pub mod revised;
pub mod sheet;
pub mod shelves;
pub mod site;
pub mod standing;
pub mod tidying;
pub mod totals;
pub mod tracing;
pub mod watching;
pub mod why;
pub mod why_caution;
