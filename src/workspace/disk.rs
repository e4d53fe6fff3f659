//! The one door to the file system.
#![expect(
    clippy::disallowed_methods,
    reason = "this module is where files are read and written"
)]

use std::fs;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use walkdir::WalkDir;

use super::content::{Content, LARGEST_FILE};
use super::{Found, OnDisk};

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

/// Where a file really lies, links followed; also for one that is not there yet.
pub fn real(path: &Path) -> PathBuf {
    let there = path
        .ancestors()
        .find_map(|above| Some((above, fs::canonicalize(above).ok()?)));
    match there {
        Some((above, real)) => match path.strip_prefix(above) {
            Ok(rest) if !rest.as_os_str().is_empty() => real.join(rest),
            _ => real,
        },
        None => path.to_owned(),
    }
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

/// Every file of a ledger, or of a folder in it, in the order of names.
///
/// `root` is where paths are shown from, and `place` where files are looked for.
pub fn read_files(root: &Path, place: &Path) -> Vec<OnDisk> {
    let file = |path: &Path, content: Content| OnDisk {
        shown: shown(root, path),
        path: path.to_owned(),
        content,
    };
    walk(place, DEEPEST_FOLDER)
        .filter_map(|entry| match entry {
            Ok(entry)
                if entry.file_type().is_file() && (is_ledger_file(entry.path()) || entry.depth() == 0) =>
            {
                Some(file(entry.path(), content(entry.path())))
            }
            Ok(entry) if entry.file_type().is_dir() && entry.depth() >= DEEPEST_FOLDER => {
                let why = format!("folders are read {DEEPEST_FOLDER} deep");
                Some(file(entry.path(), Err(why)))
            }
            Ok(_) => None,
            Err(error) => {
                let path = error.path().unwrap_or(root);
                let why = if error.loop_ancestor().is_some() {
                    "it is a link that leads back to a folder above it".to_owned()
                } else {
                    plain(error.io_error())
                };
                Some(file(path, Err(why)))
            }
        })
        .collect()
}

/// How the names of totals end, before which stands the name of the file they are made from.
pub const TOTALS_ENDING: &str = ".totals.txt";

/// The texts with totals below a ledger's folder, in the order of names; beside a ledger of one
/// file only that one's.
pub fn read_totals(root: &Path) -> Vec<OnDisk> {
    let name = |path: &Path| {
        path.file_name()
            .map(|name| name.to_string_lossy().into_owned())
            .unwrap_or_default()
    };
    let (home, depth, only) = if root.is_file() {
        let own = name(root);
        let own = own.strip_suffix(".scruple").unwrap_or(&own);
        (super::home(root), 1, Some(format!("{own}{TOTALS_ENDING}")))
    } else {
        (root, DEEPEST_FOLDER, None)
    };
    walk(home, depth)
        .filter_map(Result::ok)
        .filter(|entry| entry.file_type().is_file())
        .filter(|entry| {
            let name = name(entry.path());
            only.as_ref()
                .map_or(name.ends_with(TOTALS_ENDING), |only| *only == name)
        })
        .map(|entry| OnDisk {
            shown: shown(home, entry.path()),
            content: content(entry.path()),
            path: entry.path().to_owned(),
        })
        .collect()
}

/// Takes a file away that still holds the text that was read.
///
/// # Errors
/// What the file system says, or that the file was changed since; it is then still there.
pub fn remove(path: &Path, before: &str) -> io::Result<()> {
    if fs::read(path)? != before.as_bytes() {
        return Err(io::Error::other("it was changed by somebody else just now"));
    }
    fs::remove_file(path)
}

/// The path as people see it: below the ledger's root, with forward slashes.
fn shown(root: &Path, path: &Path) -> String {
    let below = path.strip_prefix(root).unwrap_or(path);
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

fn content(path: &Path) -> Content {
    let file = fs::File::open(path).map_err(|error| plain(Some(&error)))?;
    // One byte more than is allowed tells a file that is too large, also one that grows.
    let mut bytes = Vec::new();
    file.take(LARGEST_FILE.saturating_add(1))
        .read_to_end(&mut bytes)
        .map_err(|error| plain(Some(&error)))?;
    Ok(bytes)
}

/// The bytes of one file, one more than is allowed at the most; or why they can't be had.
///
/// # Errors
/// The reason in plain words.
pub fn read_one(path: &Path) -> Content {
    content(path)
}

/// Lets everybody who may read a file run it, too.
///
/// # Errors
/// What the file system says.
pub fn make_executable(path: &Path) -> io::Result<()> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = fs::metadata(path)?.permissions().mode();
        fs::set_permissions(path, fs::Permissions::from_mode(mode | ((mode & 0o444) >> 2)))?;
    }
    #[cfg(not(unix))]
    fs::metadata(path)?;
    Ok(())
}

/// Whether a path below a ledger's folder is one of its files: no part of it is hidden.
pub fn is_of_a_ledger(path: &str) -> bool {
    is_ledger_file(Path::new(path)) && !path.split('/').any(|part| part.starts_with('.'))
}

/// Writes a file that must not be there yet: whole or not at all.
///
/// # Errors
/// What the file system says; `AlreadyExists` where there is such a file.
pub fn write_new(path: &Path, text: &str) -> io::Result<()> {
    put(path, text).map_err(in_words)
}

/// Why something can't be written, in words that name no file of passage.
fn in_words(error: io::Error) -> io::Error {
    let words = match error.kind() {
        io::ErrorKind::StorageFull => "the disk is full",
        io::ErrorKind::QuotaExceeded => "there is no more room for you on this disk",
        io::ErrorKind::ReadOnlyFilesystem => "the disk can only be read",
        io::ErrorKind::PermissionDenied => "you have no permission to write there",
        io::ErrorKind::AlreadyExists => "there is something of that name already",
        _ => return error,
    };
    io::Error::new(error.kind(), words)
}

fn put(path: &Path, text: &str) -> io::Result<()> {
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
    swap(&path, &before, &whole).map_err(in_words)
}

/// Puts another text in the place of a file's, if it still holds the text that was read. The
/// whole file is written anew beside the old one and takes its place at once, with its
/// permissions; a link stays a link.
///
/// # Errors
/// What the file system says, or that the file was changed since; the file is then as it was.
pub fn replace(path: &Path, before: &str, text: &str) -> io::Result<()> {
    swap(&fs::canonicalize(path)?, before.as_bytes(), text.as_bytes()).map_err(in_words)
}

/// Swaps the bytes of a file that is no link, if it holds those that are expected.
fn swap(path: &Path, before: &[u8], after: &[u8]) -> io::Result<()> {
    let metadata = fs::metadata(path)?;
    if metadata.permissions().readonly() {
        return Err(io::Error::other("it is read-only"));
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

/// Writes a file that can be made again at any time, over one that was made before: whole or not at
/// all. It is not waited for until the disk has it, which would take longer than making it.
///
/// # Errors
/// What the file system says; the file is then as it was.
pub fn write_made(path: &Path, text: &str) -> io::Result<()> {
    let folder = path.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    let mut file = tempfile::Builder::new()
        .prefix(".")
        .suffix(".scruple-writing")
        .tempfile_in(folder)?;
    file.write_all(text.as_bytes())?;
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        file.as_file()
            .set_permissions(fs::Permissions::from_mode(0o644))?;
    }
    file.persist(path).map_err(|error| error.error)?;
    Ok(())
}

/// Takes a file away that was made and can be made again.
///
/// # Errors
/// What the file system says.
pub fn remove_made(path: &Path) -> io::Result<()> {
    fs::remove_file(path)
}

/// How many bytes a file has; nothing where there is none.
pub fn length(path: &Path) -> Option<u64> {
    fs::symlink_metadata(path).ok().map(|metadata| metadata.len())
}

/// What tells this very program from others of the same version: when it was built, and how large
/// it is. A page that an earlier build made is not taken for one of this build.
pub fn this_program() -> String {
    let built = std::env::current_exe()
        .and_then(fs::metadata)
        .and_then(|metadata| Ok((metadata.len(), metadata.modified()?)));
    format!("{} {built:?}", env!("CARGO_PKG_VERSION"))
}
