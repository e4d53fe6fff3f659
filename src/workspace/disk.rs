//! The one door to the file system.
#![expect(
    clippy::disallowed_methods,
    reason = "this module is where files are read and written"
)]

use std::fs;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use walkdir::WalkDir;

use super::{Files, Found};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::source::Span;

/// The largest file that is read, in bytes.
pub const LARGEST_FILE: u64 = 16 * 1024 * 1024;

/// How deep folders may lie in folders.
const DEEPEST_FOLDER: usize = 64;

const ENDING: &str = "scruple";

/// Finds the ledger that a folder lies in: the nearest folder upwards that holds
/// `practice.scruple`, else the folder itself if there are any `.scruple` files below it.
pub fn find(start: &Path) -> Option<Found> {
    let start = fs::canonicalize(start).ok()?;
    let home = start
        .ancestors()
        .find(|folder| folder.join("practice.scruple").is_file());
    if let Some(root) = home {
        return Some(Found {
            root: root.to_owned(),
        });
    }
    // A ledger without a practice is looked for close by only, not through a whole disk.
    let any = start.is_file()
        || walk(&start, 4).any(|entry| {
            entry.is_ok_and(|entry| entry.file_type().is_file() && is_ledger_file(entry.path()))
        });
    any.then_some(Found { root: start })
}

/// Whether a file has the ending of a ledger's files.
pub fn is_ledger_file(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending == ENDING)
}

/// Everything below a folder but what is hidden, in the order of names.
fn walk(root: &Path, depth: usize) -> impl Iterator<Item = walkdir::Result<walkdir::DirEntry>> {
    WalkDir::new(root)
        .follow_links(true)
        .max_depth(depth)
        .sort_by_file_name()
        .into_iter()
        .filter_entry(|entry| entry.depth() == 0 || !entry.file_name().to_string_lossy().starts_with('.'))
}

/// Reads every file of a ledger, or of a folder in it; what can't be read becomes a finding.
///
/// `root` is where paths are shown from, and `place` where files are looked for.
pub fn read_files(root: &Path, place: &Path, files: &mut Files) {
    for entry in walk(place, DEEPEST_FOLDER) {
        match entry {
            Ok(entry)
                if entry.file_type().is_file() && (is_ledger_file(entry.path()) || entry.depth() == 0) =>
            {
                read_file(&shown(root, entry.path()), entry.path(), files);
            }
            Ok(entry) if entry.file_type().is_dir() && entry.depth() >= DEEPEST_FOLDER => {
                let why = format!("folders are read {DEEPEST_FOLDER} deep");
                unreadable(&shown(root, entry.path()), entry.path(), &why, files);
            }
            Ok(_) => {}
            Err(error) => {
                let path = error.path().unwrap_or(root);
                let why = if error.loop_ancestor().is_some() {
                    "it is a link that leads back to a folder above it".to_owned()
                } else {
                    plain(error.io_error())
                };
                unreadable(&shown(root, path), path, &why, files);
            }
        }
    }
}

/// The path as people see it: below the ledger's root, with forward slashes.
fn shown(root: &Path, path: &Path) -> String {
    let below = path.strip_prefix(root).unwrap_or(path);
    if below.is_absolute() {
        return below.display().to_string();
    }
    let below = if below.as_os_str().is_empty() {
        PathBuf::from(path.file_name().unwrap_or(path.as_os_str()))
    } else {
        below.to_owned()
    };
    below
        .components()
        .map(|part| part.as_os_str().to_string_lossy())
        .collect::<Vec<_>>()
        .join("/")
}

fn plain(error: Option<&io::Error>) -> String {
    match error.map(io::Error::kind) {
        Some(io::ErrorKind::PermissionDenied) => "you have no permission to read it".to_owned(),
        Some(io::ErrorKind::NotFound) => "it is a link to something that is not there".to_owned(),
        _ => error.map_or_else(|| "it can't be read".to_owned(), ToString::to_string),
    }
}

fn unreadable(shown: &str, path: &Path, why: &str, files: &mut Files) {
    let file = files.sources.add(shown, "".into());
    files.add(shown, path, file, None);
    files.findings.push(
        Diagnostic::error(
            code::UNREADABLE_FILE,
            Span::new(file, 0, 0),
            format!("`{shown}` is left out: {why}"),
        )
        .help(
            "what stands in it is missing from every figure; make it readable or take it out of the ledger",
        ),
    );
}

fn read_file(shown: &str, path: &Path, files: &mut Files) {
    let opened = fs::File::open(path).and_then(|file| {
        // One byte more than is allowed tells a file that is too large, also one that grows.
        let mut bytes = Vec::new();
        file.take(LARGEST_FILE.saturating_add(1))
            .read_to_end(&mut bytes)?;
        Ok(bytes)
    });
    let bytes = match opened {
        Ok(bytes) => bytes,
        Err(error) => {
            unreadable(shown, path, &plain(Some(&error)), files);
            return;
        }
    };
    if u64::try_from(bytes.len()).unwrap_or(u64::MAX) > LARGEST_FILE {
        let file = files.sources.add(shown, "".into());
        files.add(shown, path, file, None);
        files.findings.push(
            Diagnostic::error(
                code::FILE_TOO_LARGE,
                Span::new(file, 0, 0),
                format!("`{shown}` has more than 16 MiB and is left out"),
            )
            .help("split it: a ledger may have as many files as you like"),
        );
        return;
    }
    match String::from_utf8(bytes) {
        Ok(text) => {
            let text: Arc<str> = text.into();
            let file = files.sources.add(shown, Arc::clone(&text));
            files.add(shown, path, file, Some(text));
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
            let file = files.sources.add(shown, readable.into());
            files.add(shown, path, file, None);
            files.findings.push(
                Diagnostic::error(
                    code::NOT_UTF_8,
                    Span::new(file, at, at.saturating_add('\u{fffd}'.len_utf8())),
                    format!("`{shown}` is not written in UTF-8 and is left out"),
                )
                .label("the first byte that is no UTF-8")
                .help("save it as UTF-8 in your editor; what stands in it is missing from every figure until then"),
            );
        }
    }
}

/// Writes a file that must not be there yet: whole or not at all.
///
/// # Errors
/// What the file system says; `AlreadyExists` where there is such a file.
pub fn write_new(path: &Path, text: &str) -> io::Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    let mut file = tempfile::Builder::new()
        .prefix(".")
        .suffix(".scruple-writing")
        .tempfile_in(folder)?;
    file.write_all(text.as_bytes())?;
    file.as_file().sync_all()?;
    // Private by default; a ledger is an ordinary file.
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        file.as_file()
            .set_permissions(fs::Permissions::from_mode(0o644))?;
    }
    file.persist_noclobber(path).map_err(|error| error.error)?;
    Ok(())
}

/// Adds text to the end of a file, after a blank line; a file that is not there begins with the
/// heading. The whole file is written anew beside the old one and takes its place at once, with
/// its permissions; a link stays a link.
///
/// # Errors
/// What the file system says; the file is then as it was.
pub fn append(path: &Path, heading: &str, text: &str) -> io::Result<()> {
    let path = match fs::canonicalize(path) {
        Ok(path) => path,
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            return write_new(path, &format!("{heading}\n{text}"));
        }
        Err(error) => return Err(error),
    };
    let before = fs::read(&path)?;
    let mut whole = before.clone();
    if !whole.is_empty() && !whole.ends_with(b"\n") {
        whole.push(b'\n');
    }
    whole.push(b'\n');
    whole.extend_from_slice(text.as_bytes());
    swap(&path, &before, &whole)
}

/// Puts another text in the place of a file's, if it still holds the text that was read. The
/// whole file is written anew beside the old one and takes its place at once, with its
/// permissions; a link stays a link.
///
/// # Errors
/// What the file system says, or that the file was changed since; the file is then as it was.
pub fn replace(path: &Path, before: &str, text: &str) -> io::Result<()> {
    swap(&fs::canonicalize(path)?, before.as_bytes(), text.as_bytes())
}

/// Swaps the bytes of a file that is no link, if it holds those that are expected.
fn swap(path: &Path, before: &[u8], after: &[u8]) -> io::Result<()> {
    let metadata = fs::metadata(path)?;
    if metadata.permissions().readonly() {
        return Err(io::Error::new(io::ErrorKind::PermissionDenied, "it is read-only"));
    }
    if has_other_names(&metadata) {
        return Err(io::Error::other(
            "it stands under several names (hard links), and the others would keep the old text",
        ));
    }
    let folder = path.parent().unwrap_or(Path::new("."));
    let mut file = tempfile::Builder::new()
        .prefix(".")
        .suffix(".scruple-writing")
        .tempfile_in(folder)?;
    file.write_all(after)?;
    keep_owner(file.as_file(), &metadata);
    file.as_file().set_permissions(metadata.permissions())?;
    file.as_file().sync_all()?;
    // Somebody may have saved it in an editor meanwhile.
    if fs::read(path)? != before {
        return Err(io::Error::other("it was changed by somebody else just now"));
    }
    file.persist(path).map_err(|error| error.error)?;
    Ok(())
}

#[cfg(unix)]
fn has_other_names(metadata: &fs::Metadata) -> bool {
    std::os::unix::fs::MetadataExt::nlink(metadata) > 1
}

#[cfg(not(unix))]
fn has_other_names(_: &fs::Metadata) -> bool {
    false
}

/// Whoever may do so leaves the file to its owner; whoever may not becomes its owner.
#[cfg(unix)]
fn keep_owner(file: &fs::File, metadata: &fs::Metadata) {
    use std::os::unix::fs::{MetadataExt, fchown};
    let _ = fchown(file, Some(metadata.uid()), Some(metadata.gid()));
}

#[cfg(not(unix))]
fn keep_owner(_: &fs::File, _: &fs::Metadata) {}

/// What lies in a folder, by name, but for hidden things.
///
/// # Errors
/// What the file system says; `NotFound` where there is no such folder.
pub fn visible_entries(folder: &Path) -> io::Result<Vec<String>> {
    let mut names = Vec::new();
    for entry in fs::read_dir(folder)? {
        let name = entry?.file_name().to_string_lossy().into_owned();
        if !name.starts_with('.') {
            names.push(name);
        }
    }
    names.sort();
    Ok(names)
}
