//! The one test binary: every module is one way of holding the program to its word.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::disallowed_methods,
    clippy::as_conversions,
    missing_docs,
    reason = "a test fails by panicking, and reads what it likes"
)]

mod book;
mod cli;
mod compare;
mod desk;
mod doses;
mod editors;
mod exchange;
mod git;
mod golden;
mod history;
mod hostile;
mod house;
mod label;
mod lsp;
mod merging;
mod oracle;
mod outside;
mod pages;
mod properties;
mod publish;
mod readme;
mod repository;
mod revisions;
mod sandbox;
mod schema;
mod slips;
mod spec;
mod tidy;
mod totals;
mod watch;
