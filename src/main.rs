//! Runs the program: what it does is in [`scruple::cli`].

use std::process::ExitCode;

fn main() -> ExitCode {
    scruple::cli::run()
}
