//! Turns formulas into rows and published data for other programs, and rows of theirs into entries.

mod herbs;
mod rows;

pub use herbs::{Column, Imported, RowFault, herbs};
pub use rows::{FORMULA_COLUMNS, formulas, spreadsheet_safe, written};
