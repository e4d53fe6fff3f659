//! Turns a few words into a two-dimensional code (ISO/IEC 18004) as rows of dark and light modules.

/// A code: square, each row as long as there are rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Code {
    /// What a reader of the code gets.
    pub words: String,
    /// The rows from top to bottom; dark modules are true.
    pub rows: Vec<Vec<bool>>,
}

impl Code {
    /// The code of some words; nothing where they are too many to be read from a label.
    pub fn of(words: &str) -> Option<Self> {
        let code = qrcode::QrCode::with_error_correction_level(words, qrcode::EcLevel::M).ok()?;
        let width = code.width();
        let dark: Vec<bool> = code
            .to_colors()
            .into_iter()
            .map(|colour| colour == qrcode::Color::Dark)
            .collect();
        Some(Self {
            words: words.to_owned(),
            rows: dark.chunks(width).map(<[bool]>::to_vec).collect(),
        })
    }
}
