//! A plain-text formula ledger for herbal practitioners.
//!
//! Text becomes figures in four stages, each named by what it takes and gives:
//! [`syntax`] turns the text of a file into a tree of entries; [`model`] turns all trees into one
//! ledger with names bound and units known; [`compute`] turns the ledger into figures, each with
//! its spread and its working; [`view`] turns figures into published data and documents, which
//! [`render`] prints. Every stage reports what it finds as a [`diagnostic`] and goes on.
//! [`workspace`] reads the files and runs the stages; [`cli`] is what people type.

pub mod book;
pub mod check;
pub mod cli;
pub mod code;
pub mod compare;
pub mod compute;
pub mod diagnostic;
pub mod difference;
pub mod editor;
pub mod exchange;
pub mod exercise;
pub mod history;
pub mod lsp;
pub mod merge;
pub mod model;
pub mod naming;
mod parallel;
pub mod publish;
pub mod quantity;
pub mod reference;
pub mod render;
pub mod revision;
pub mod source;
pub mod syntax;
pub mod tidy;
pub mod totals;
pub mod view;
pub mod watch;
pub mod workspace;
