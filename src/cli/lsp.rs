//! `lsp`: answers an editor while one types.

use clap::Args;

use super::failure::Failure;
use super::{Arguments, Form, Outcome};
use crate::lsp::{self, Ended};

/// Answers an editor while one types, by the language server protocol
///
/// An editor starts this itself and speaks with it over standard input and output; nobody types
/// there. It finds the ledger of each file by itself, says what `check` says, and writes no file:
/// every change is the editor's.
#[derive(Debug, Args)]
#[command(after_help = "Example, the command that an editor is set up with:\n\n  scruple lsp")]
pub struct Lsp {
    /// Speak over standard input and output, which is what it does anyway
    #[arg(long)]
    stdio: bool,
}

impl Lsp {
    #[expect(
        clippy::unused_self,
        reason = "every command is run alike; `--stdio` is what many editors add by themselves"
    )]
    pub fn run(&self, arguments: &Arguments) -> Result<Outcome, Failure> {
        if matches!(arguments.form, Form::Json | Form::Sarif) {
            return Err(Failure::new(
                "`lsp` speaks with an editor in its own form",
                "for programs there is `scruple check --as json`",
            ));
        }
        Ok(match lsp::over_standard_streams() {
            Ended::AsAgreed => Outcome::Clean,
            Ended::Abruptly => Outcome::Findings,
        })
    }
}
