//! Turns the list of what was made into text and back: a line for each file, with marks of what it was made from and of what it holds.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::io;
use std::path::Path;

use crate::render::site::mark;
use crate::workspace;

/// The name of the list.
const NAME: &str = "made-by-scruple.txt";
/// Its first line.
const MARK: &str =
    "Made by scruple publish. It lists the files that were made, so that no others are ever changed.";

/// A file as it was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Made {
    /// A mark of what it depends on.
    pub(super) from: u64,
    /// A mark of its bytes.
    holds: u64,
    /// How many bytes.
    pub(super) length: u64,
}

impl Made {
    /// A file that holds these bytes.
    pub(super) fn of(from: u64, bytes: &[u8]) -> Self {
        Self {
            from,
            holds: mark(bytes),
            length: u64::try_from(bytes.len()).unwrap_or(u64::MAX),
        }
    }

    /// Whether these are its bytes.
    pub(super) fn is(&self, bytes: &[u8]) -> bool {
        *self == Self::of(self.from, bytes)
    }
}

/// What was made, by path.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct List(BTreeMap<String, Vec<Made>>);

impl List {
    /// The list in a folder; an empty one where none is.
    ///
    /// # Errors
    /// A file of its name is there that is no such list.
    pub(super) fn read(folder: &Path) -> io::Result<Self> {
        let path = folder.join(NAME);
        if workspace::length(&path).is_none() {
            return Ok(Self::default());
        }
        let refused = || io::Error::other(format!("`{NAME}` in it was not made by scruple, or was changed"));
        let bytes = workspace::read_one(&path).map_err(io::Error::other)?;
        let text = String::from_utf8(bytes).map_err(|_| refused())?;
        Self::parse(&text).ok_or_else(refused)
    }

    fn parse(text: &str) -> Option<Self> {
        let mut lines = text.lines();
        if lines.next()? != MARK {
            return None;
        }
        let mut list = Self::default();
        for line in lines.filter(|line| !line.is_empty()) {
            let mut words = line.splitn(4, ' ');
            let mut number = || u64::from_str_radix(words.next()?, 16).ok();
            let made = Made {
                from: number()?,
                holds: number()?,
                length: number()?,
            };
            let path = words.next()?;
            // A path that leads out of the folder was never made.
            let stays = path
                .split('/')
                .all(|part| !part.is_empty() && part != ".." && part != ".");
            if !stays || path.contains('\\') || path.contains(':') {
                return None;
            }
            list.add(path, made);
        }
        Some(list)
    }

    fn print(&self) -> String {
        let mut text = format!("{MARK}\n");
        for (path, made) in self
            .all()
            .flat_map(|(path, all)| all.iter().map(move |made| (path, made)))
        {
            let _ = writeln!(
                text,
                "{:016x} {:016x} {:x} {path}",
                made.from, made.holds, made.length
            );
        }
        text
    }

    pub(super) fn add(&mut self, path: &str, made: Made) {
        let all = self.0.entry(path.to_owned()).or_default();
        if !all.contains(&made) {
            all.push(made);
        }
    }

    /// As what a file was made; several where that was broken off.
    pub(super) fn of(&self, path: &str) -> &[Made] {
        self.0.get(path).map_or(&[], Vec::as_slice)
    }

    pub(super) fn all(&self) -> impl Iterator<Item = (&str, &[Made])> {
        self.0.iter().map(|(path, made)| (path.as_str(), made.as_slice()))
    }

    /// Everything of both.
    pub(super) fn and(&self, other: &Self) -> Self {
        let mut both = self.clone();
        for (path, all) in other.all() {
            for made in all {
                both.add(path, *made);
            }
        }
        both
    }

    pub(super) fn write(&self, folder: &Path) -> io::Result<()> {
        workspace::write_made(&folder.join(NAME), &self.print())
    }

    pub(super) fn write_if_changed(&self, folder: &Path, before: &Self) -> io::Result<()> {
        if self == before {
            Ok(())
        } else {
            self.write(folder)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_is_read_as_it_was_written() {
        let mut list = List::default();
        list.add("class/index.html", Made::of(7, b"abc"));
        list.add("class/index.html", Made::of(8, b"abcd"));
        list.add("class/a b.html", Made::of(u64::MAX, b""));
        assert_eq!(List::parse(&list.print()), Some(list));
    }

    #[test]
    fn nothing_outside_is_ever_believed_to_be_made() {
        for path in ["../x", "class/../../x", "/etc/x", "c:\\x", "class//x", ""] {
            assert_eq!(List::parse(&format!("{MARK}\n1 2 3 {path}\n")), None, "{path}");
        }
        assert_eq!(List::parse("1 2 3 class/x\n"), None);
        assert_eq!(List::parse(""), None);
    }
}
