//! Exact amounts: numbers as written, units with their standards, spreads, and the one place that drops digits.
//!
//! No floating point anywhere; every operation is checked and says so when a result does not fit.

pub mod money;
pub mod number;
pub mod print;
pub mod rounding;
pub mod spread;
pub mod unit;

pub use money::Currency;
pub use number::{Number, Slip};
pub use rust_decimal::Decimal;
pub use spread::Spread;
pub use unit::{Heap, Household, Unit};

/// A result does not fit: the size of 28 digits was passed, or a division by zero was asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Overflow;

/// What a checked operation gives.
pub type Checked<T> = Result<T, Overflow>;
