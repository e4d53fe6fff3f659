//! The one place that prints: to a screen or a pipe, as wide and as coloured as that takes.

use std::io::{self, IsTerminal, Write};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::failure::Failure;
use crate::render::{Document, Form, Page, escape, text};

/// What the output goes to.
#[derive(Debug, Clone, Copy)]
pub struct Terminal {
    /// For documents.
    pub page: Page,
    /// The form in which documents are printed.
    form: &'static Form,
}

impl Terminal {
    /// Looks at the process's own output and at what the environment asks for.
    pub fn of_this_process(form: &'static Form) -> Self {
        let said = |name: &str| std::env::var_os(name).filter(|value| !value.is_empty());
        let screen = io::stdout().is_terminal();
        let width = said("COLUMNS")
            .and_then(|value| value.to_str()?.parse().ok())
            .or_else(|| {
                terminal_size::terminal_size()
                    .map(|(width, _)| usize::from(width.0))
                    .filter(|_| screen)
            })
            .unwrap_or(80)
            .clamp(20, 400);
        let dumb = said("TERM").is_some_and(|term| term == "dumb");
        let locale = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().find_map(said);
        let plain_locale = locale.is_some_and(|locale| locale == "C" || locale == "POSIX");
        Self {
            page: Page {
                width,
                colour: screen && !dumb && said("NO_COLOR").is_none(),
                unicode: !plain_locale,
            },
            form,
        }
    }

    /// Prints a document in the form that was asked for.
    pub fn document(&self, document: &Document) -> Result<(), Failure> {
        write(&(self.form.print)(document, &self.page))
    }

    /// Prints a document and a blank line under it, for what goes on and on; whether anybody reads it still.
    pub fn goes_on(&self, document: &Document) -> Result<bool, Failure> {
        deliver(&format!("{}\n", (self.form.print)(document, &self.page)))
    }

    /// Whether documents are printed as text, beside which reports can be drawn.
    pub fn is_text(&self) -> bool {
        self.form.name == text::FORM.name
    }
}

/// How far a long work has come; shown to a person only, and only after a while.
pub struct Progress(Option<ProgressBar>);

impl Progress {
    /// Begins to show how far something has come, beside what is printed.
    pub fn begin(what: &str) -> Self {
        if !io::stderr().is_terminal() {
            return Self(None);
        }
        let bar = ProgressBar::new(0).with_elapsed(Duration::ZERO);
        let words = ProgressStyle::with_template(&format!("{{pos}} of {{len}} {what}"));
        if let Ok(style) = words {
            bar.set_style(style);
        }
        // What takes less than a second is not worth a flicker.
        bar.set_draw_target(ProgressDrawTarget::stderr_with_hz(2));
        Self(Some(bar))
    }

    /// So much of so much is done.
    pub fn at(&self, done: usize, all: usize) {
        if let Some(bar) = &self.0 {
            bar.set_length(u64::try_from(all).unwrap_or(u64::MAX));
            bar.set_position(u64::try_from(done).unwrap_or(u64::MAX));
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if let Some(bar) = &self.0 {
            bar.finish_and_clear();
        }
    }
}

/// Writes to the output; a reader that has gone away is no failure.
fn write(text: &str) -> Result<(), Failure> {
    deliver(text).map(|_| ())
}

/// Writes to the output; whether anybody reads it still.
fn deliver(text: &str) -> Result<bool, Failure> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Ok(()) => Ok(true),
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(false),
        Err(error) => Err(Failure::new(
            format!("the output can't be written: {error}"),
            "look whether the disk is full",
        )),
    }
}

/// Prints data for programs.
pub fn data(data: &impl serde::Serialize) -> Result<(), Failure> {
    let mut text = serde_json::to_string_pretty(data).map_err(|error| {
        Failure::new(
            format!("the output can't be written as JSON: {error}"),
            "report this",
        )
    })?;
    text.push('\n');
    write(&visible(&text))
}

/// JSON in which nothing stands that a terminal would obey or not show: such letters occur in
/// strings only, and there an escape means the same.
fn visible(json: &str) -> String {
    let mut out = String::with_capacity(json.len());
    for letter in json.chars() {
        let one = letter.encode_utf8(&mut [0; 4]).to_owned();
        if letter == '\n' || escape::terminal(&one) == one {
            out.push(letter);
        } else {
            for unit in letter.encode_utf16(&mut [0; 2]) {
                let _ = std::fmt::Write::write_fmt(&mut out, format_args!("\\u{unit:04x}"));
            }
        }
    }
    out
}

/// Prints rows for a spreadsheet, or a calendar: made safe cell by cell, with line ends of their own.
pub fn rows(text: &str) -> Result<(), Failure> {
    write(text)
}

/// Prints text as it is; it must have been made safe for a terminal.
pub fn safe_text(text: &str) -> Result<(), Failure> {
    write(text)
}

/// Prints a page that a form has made; it is safe for its medium.
pub fn page(markup: &str) -> Result<(), Failure> {
    write(markup)
}

/// Says why a command could not run.
pub fn fail(failure: &Failure) {
    let message = escape::terminal(&failure.message);
    let help = escape::terminal(&failure.help);
    let text = if help.is_empty() {
        format!("scruple: {message}\n")
    } else {
        format!("scruple: {message}\n  help: {help}\n")
    };
    let _ = io::stderr().write_all(text.as_bytes());
}

/// Says something beside the output, on a line of its own.
pub fn remark(text: &str) {
    let line = format!("scruple: {}\n", escape::terminal(text));
    let _ = io::stderr().write_all(line.as_bytes());
}

/// Prints what the reader of arguments says, each line made safe: it repeats what was typed.
pub fn refuse(text: &str, failed: bool) {
    let safe = lines_made_safe(text);
    if failed {
        let _ = io::stderr().write_all(safe.as_bytes());
    } else {
        let _ = write(&safe);
    }
}

/// Text of several lines in which nothing is left that a terminal would obey.
pub fn lines_made_safe(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for line in text.lines() {
        out.push_str(&escape::terminal(line));
        out.push('\n');
    }
    out
}
