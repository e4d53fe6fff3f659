//! Why a command could not run: no finding about the text, but about files or what was typed.

/// A failure of the process.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure {
    /// What went wrong.
    pub message: String,
    /// What to do.
    pub help: String,
}

impl Failure {
    /// A failure with its way out.
    pub fn new(message: impl Into<String>, help: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            help: help.into(),
        }
    }
}

impl From<crate::compute::batch::Refusal> for Failure {
    fn from(refusal: crate::compute::batch::Refusal) -> Self {
        Self::new(refusal.message, refusal.help)
    }
}
