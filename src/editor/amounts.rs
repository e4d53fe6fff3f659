//! Small questions about lines of text and amounts that several answers ask.

use crate::compute::Amounts;
use crate::quantity::{Decimal, print};

/// The first byte of the line that a byte lies in.
pub fn line_start(text: &str, at: usize) -> usize {
    text.get(..at)
        .and_then(|before| before.rfind(['\n', '\r']))
        .map_or(0, |end| end.saturating_add(1))
}

/// The byte at which the line ends that a byte lies in, before the line's end itself.
pub fn line_end(text: &str, at: usize) -> usize {
    text.get(at..)
        .and_then(|after| after.find(['\n', '\r']))
        .map_or(text.len(), |length| at.saturating_add(length))
}

/// What a line comes to: `2.98 g (2.9 to 3.1 g)`; nothing where it has no size.
pub fn said(amounts: &Amounts) -> Option<String> {
    let parts: Vec<String> = [
        amounts.grams.map(|grams| print::dose(&grams.settled())),
        amounts
            .millilitres
            .map(|volume| print::spread(&volume.settled(), 2, "ml")),
    ]
    .into_iter()
    .flatten()
    .collect();
    (!parts.is_empty()).then(|| parts.join(", "))
}

/// What a line comes to at its middle alone: `2.98 g`.
pub fn short(amounts: &Amounts) -> Option<String> {
    match (amounts.grams, amounts.millilitres) {
        (Some(grams), _) => {
            let grams = grams.settled().nominal;
            Some(format!("{} g", print::short(grams, print::dose_places(grams))))
        }
        (None, Some(volume)) => Some(format!("{} ml", print::short(volume.settled().nominal, 2))),
        (None, None) => None,
    }
}

/// A share of the total: `3.2 %`.
pub fn share(share: Decimal) -> String {
    let places = if share < Decimal::ONE { 2 } else { 1 };
    format!("{} %", print::short(share, places))
}
