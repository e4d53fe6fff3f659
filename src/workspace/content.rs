//! Turns the bytes of a file into its text, or into the finding that says why it is left out.

use std::sync::Arc;

use crate::code;
use crate::diagnostic::Diagnostic;
use crate::source::{FileId, Sources, Span};

/// The bytes of a file, or why they can't be had.
pub type Content = Result<Vec<u8>, String>;

/// The largest file that is read, in bytes.
pub const LARGEST_FILE: u64 = 16 * 1024 * 1024;

/// Adds a file to the sources: with its text, or, for one that is left out, with as much as it takes to show why.
///
/// # Errors
/// The finding that says why it is left out.
pub fn add(sources: &mut Sources, path: &str, content: Content) -> (FileId, Result<Arc<str>, Diagnostic>) {
    let bytes = match content {
        Ok(bytes) => bytes,
        Err(why) => {
            let file = sources.add(path, "".into());
            return (file, Err(unreadable(file, path, &why)));
        }
    };
    if u64::try_from(bytes.len()).unwrap_or(u64::MAX) > LARGEST_FILE {
        let file = sources.add(path, "".into());
        return (
            file,
            Err(Diagnostic::error(
                code::FILE_TOO_LARGE,
                Span::new(file, 0, 0),
                format!("`{path}` has more than 16 MiB and is left out"),
            )
            .help("split it: a ledger may have as many files as you like")),
        );
    }
    match String::from_utf8(bytes) {
        Ok(text) => {
            let text: Arc<str> = text.into();
            (sources.add(path, Arc::clone(&text)), Ok(text))
        }
        Err(error) => {
            let at = error.utf8_error().valid_up_to();
            let bytes = error.into_bytes();
            let line_end = bytes
                .iter()
                .skip(at)
                .position(|byte| *byte == b'\n')
                .map_or(bytes.len(), |length| at.saturating_add(length));
            let readable = String::from_utf8_lossy(bytes.get(..line_end).unwrap_or_default()).into_owned();
            let file = sources.add(path, readable.into());
            (
                file,
                Err(Diagnostic::error(
                    code::NOT_UTF_8,
                    Span::new(file, at, at.saturating_add('\u{fffd}'.len_utf8())),
                    format!("`{path}` is not written in UTF-8 and is left out"),
                )
                .label("the first byte that is no UTF-8")
                .help("save it as UTF-8 in your editor; what stands in it is missing from every figure until then")),
            )
        }
    }
}

fn unreadable(file: FileId, path: &str, why: &str) -> Diagnostic {
    Diagnostic::error(
        code::UNREADABLE_FILE,
        Span::new(file, 0, 0),
        format!("`{path}` is left out: {why}"),
    )
    .help("what stands in it is missing from every figure; make it readable or take it out of the ledger")
}
