//! The words that stand on every sheet, label and page; written here and nowhere else.

/// For whom this is, what comes first, and when to call for help.
pub const CAUTIONS: [&str; 3] = [
    "For use by or with a qualified practitioner.",
    "Local law and licensed practice come first.",
    "In an emergency call for help.",
];

/// All of it as one paragraph.
pub fn paragraph() -> String {
    CAUTIONS.join(" ")
}
