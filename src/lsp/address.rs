//! Turns the addresses by which an editor names files into paths, and paths into addresses.

use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::str::FromStr;

use lsp_types::Uri;

/// The path in an address of a file; nothing for what lies on no disk.
pub fn path(uri: &str) -> Option<PathBuf> {
    let rest = uri.strip_prefix("file:")?;
    let rest = match rest.strip_prefix("//") {
        // What stands before the path names a machine: this one.
        Some(named) => named.get(named.find('/')?..)?,
        None => rest,
    };
    let rest = rest.split(['?', '#']).next().unwrap_or(rest);
    let decoded = String::from_utf8(decoded(rest)?).ok()?;
    if decoded.contains('\0') {
        return None;
    }
    // A drive's letter follows the slash: `/C:/tea`.
    let drive = decoded.strip_prefix('/').filter(|rest| {
        let mut letters = rest.chars();
        cfg!(windows)
            && letters.next().is_some_and(|letter| letter.is_ascii_alphabetic())
            && letters.next() == Some(':')
    });
    let path = PathBuf::from(drive.unwrap_or(&decoded));
    path.is_absolute().then_some(path)
}

fn decoded(text: &str) -> Option<Vec<u8>> {
    let mut bytes = text.bytes();
    let mut out = Vec::with_capacity(text.len());
    while let Some(byte) = bytes.next() {
        if byte != b'%' {
            out.push(byte);
            continue;
        }
        let mut digit = || {
            let byte = bytes.next()?;
            char::from(byte).to_digit(16)
        };
        let value = digit()?.checked_mul(16)?.checked_add(digit()?)?;
        out.push(u8::try_from(value).ok()?);
    }
    Some(out)
}

/// The address of a file.
pub fn of_path(path: &Path) -> String {
    let mut text = path
        .to_string_lossy()
        .replace('\\', if cfg!(windows) { "/" } else { "\\" });
    if !text.starts_with('/') {
        text.insert(0, '/');
    }
    format!("file://{}", encoded(&text))
}

/// A path with forward slashes as it stands in an address.
pub fn encoded(path: &str) -> String {
    path.bytes()
        .fold(String::with_capacity(path.len()), |mut out, byte| {
            if byte.is_ascii_alphanumeric() || matches!(byte, b'/' | b'-' | b'_' | b'.' | b'~') {
                out.push(char::from(byte));
            } else {
                let _ = write!(out, "%{byte:02X}");
            }
            out
        })
}

/// An address as the protocol has it.
pub fn uri(text: &str) -> Option<Uri> {
    Uri::from_str(text).ok()
}

#[cfg(test)]
mod tests {
    use super::{of_path, path, uri};
    use std::path::Path;

    #[test]
    #[cfg(unix)]
    fn paths_and_addresses() {
        for name in ["/tea/after-supper.scruple", "/a b/é%20#?.scruple", "/кипрей/x"] {
            let address = of_path(Path::new(name));
            assert!(uri(&address).is_some(), "{address}");
            assert_eq!(path(&address).unwrap(), Path::new(name));
        }
        assert_eq!(path("file://host/a").unwrap(), Path::new("/a"));
        for none in [
            "untitled:Untitled-1",
            "file:",
            "file://",
            "file:///%zz",
            "file:///%ff",
            "file:///a%00b",
            "http://a/b",
            "",
        ] {
            assert!(path(none).is_none(), "{none}");
        }
    }
}
