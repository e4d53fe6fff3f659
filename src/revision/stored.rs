//! Turns a tree that git stores into the files of the ledger in it; what was read once is not read again.

use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::Arc;

use super::git::{Objects, Repository, Staged};
use crate::compute::batch::Refusal;
use crate::workspace::{self, Content, LARGEST_FILE};

/// How deep folders may lie in folders.
const DEEPEST: usize = 64;
/// How many files a tree may have: trees that hold one another many times over could have any number.
const MOST_FILES: usize = 200_000;
/// The longest list of one folder that is read, in bytes.
const LARGEST_FOLDER: u64 = 64 * 1024 * 1024;

/// A file of the ledger in a tree.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct File {
    /// Its path below the ledger's folder.
    pub path: String,
    /// The name of its content; nothing for a link that leads to no file of the tree.
    pub blob: Option<Arc<str>>,
}

/// What stands in a folder of a tree.
#[derive(Debug)]
struct Item {
    name: String,
    id: Arc<str>,
    kind: ItemKind,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum ItemKind {
    Folder,
    File,
    Link,
    Other,
}

/// What lies in a tree, from its top.
struct Placed {
    path: String,
    id: Arc<str>,
    is_link: bool,
}

/// A repository's stored trees and files.
#[derive(Debug)]
pub struct Stored {
    objects: Objects,
    prefix: String,
    only: Option<String>,
    /// The top of the working copy, where there is one.
    top: Option<PathBuf>,
    folders: HashMap<Arc<str>, Arc<Vec<Item>>>,
    listed: HashMap<String, Arc<Vec<File>>>,
}

impl Stored {
    /// Opens what a repository stores.
    ///
    /// # Errors
    /// [`Refusal`] where git can't be run.
    pub fn open(repository: &Repository) -> Result<Self, Refusal> {
        Ok(Self {
            objects: repository.objects()?,
            prefix: repository.prefix.clone(),
            only: repository.only.clone(),
            top: repository.top()?,
            folders: HashMap::new(),
            listed: HashMap::new(),
        })
    }

    /// The files of the ledger in a tree, in the order of their paths.
    ///
    /// # Errors
    /// [`Refusal`] where the tree can't be read, or holds several ledgers and none where it lies now.
    pub fn files(&mut self, tree: &str) -> Result<Arc<Vec<File>>, Refusal> {
        if let Some(files) = self.listed.get(tree) {
            return Ok(Arc::clone(files));
        }
        let all = self.walk(tree)?;
        let files = Arc::new(self.chosen(&all)?);
        self.listed.insert(tree.to_owned(), Arc::clone(&files));
        Ok(files)
    }

    /// The files of the ledger among what is staged, in the order of their paths.
    ///
    /// # Errors
    /// [`Refusal`] where git breaks off, or several ledgers are staged and none where it lies.
    pub fn staged(&mut self, staged: &[Staged]) -> Result<Vec<File>, Refusal> {
        let all = placed(staged);
        self.chosen(&all)
    }

    /// The files of the ledger, where it lies now, among some of those that are staged.
    ///
    /// # Errors
    /// [`Refusal`] where git breaks off.
    pub fn staged_here(&mut self, staged: &[Staged]) -> Result<Vec<File>, Refusal> {
        let home = self.prefix.clone();
        self.below(&home, &placed(staged))
    }

    /// Those files that are of the ledger.
    fn chosen(&mut self, all: &[Placed]) -> Result<Vec<File>, Refusal> {
        let top = self.top.as_deref();
        let is_another =
            |folder: &str| top.is_some_and(|top| top.join(folder).join("practice.scruple").is_file());
        let home = home(all, &self.prefix, is_another)?;
        self.below(&home, all)
    }

    /// The files of the ledger whose folder is given.
    fn below(&mut self, home: &str, all: &[Placed]) -> Result<Vec<File>, Refusal> {
        let mut files = Vec::new();
        for placed in all {
            let Some(path) = placed.path.strip_prefix(home) else {
                continue;
            };
            let is_left_out = self.only.as_ref().is_some_and(|only| only != path);
            if is_left_out || !workspace::is_of_a_ledger(path) {
                continue;
            }
            let blob = if placed.is_link {
                self.followed(placed, all)?
            } else {
                Some(Arc::clone(&placed.id))
            };
            files.push(File {
                path: path.to_owned(),
                blob,
            });
        }
        files.sort_by(|a, b| a.path.cmp(&b.path));
        Ok(files)
    }

    /// The content of a file.
    ///
    /// # Errors
    /// [`Refusal`] where git breaks off.
    pub fn content(&mut self, file: &File) -> Result<Content, Refusal> {
        let Some(blob) = &file.blob else {
            return Ok(Err(
                "it is a link to something outside of what git keeps".to_owned()
            ));
        };
        // One byte more than is allowed tells a file that is too large.
        Ok(self
            .objects
            .read(blob, LARGEST_FILE.saturating_add(1))?
            .ok_or_else(|| "git does not have its content here".to_owned()))
    }

    /// Everything in a tree that may be a file of a ledger.
    fn walk(&mut self, tree: &str) -> Result<Vec<Placed>, Refusal> {
        let mut found = Vec::new();
        let mut open: Vec<(String, Arc<str>, usize)> = vec![(String::new(), tree.into(), 0)];
        while let Some((path, id, depth)) = open.pop() {
            for item in self.folder(&id)?.iter() {
                let below = format!("{path}{}", item.name);
                match item.kind {
                    ItemKind::Folder if depth < DEEPEST && !item.name.starts_with('.') => {
                        open.push((format!("{below}/"), Arc::clone(&item.id), depth.saturating_add(1)));
                    }
                    ItemKind::File | ItemKind::Link if workspace::is_of_a_ledger(&item.name) => {
                        found.push(Placed {
                            path: below,
                            id: Arc::clone(&item.id),
                            is_link: item.kind == ItemKind::Link,
                        });
                    }
                    _ => {}
                }
            }
            if found.len().saturating_add(open.len()) > MOST_FILES {
                return Err(Refusal::new(
                    format!("a revision holds more than {MOST_FILES} files and folders"),
                    "this is no ledger; name the one that you mean with `--in FOLDER`",
                ));
            }
        }
        Ok(found)
    }

    fn folder(&mut self, id: &Arc<str>) -> Result<Arc<Vec<Item>>, Refusal> {
        if let Some(items) = self.folders.get(id) {
            return Ok(Arc::clone(items));
        }
        let bytes = self.objects.read(id, LARGEST_FOLDER)?.ok_or_else(|| {
            Refusal::new(
                "a revision can't be read: git does not have all of it here",
                "`git fsck` tells what is missing; a partial clone can be completed with `git fetch`",
            )
        })?;
        let items = Arc::new(items(&bytes, id.len().div_euclid(2)));
        self.folders.insert(Arc::clone(id), Arc::clone(&items));
        Ok(items)
    }

    /// The file of the same tree that a link leads to.
    fn followed(&mut self, link: &Placed, all: &[Placed]) -> Result<Option<Arc<str>>, Refusal> {
        const LONGEST_PATH: u64 = 4096;
        let Some(content) = self.objects.read(&link.id, LONGEST_PATH)? else {
            return Ok(None);
        };
        let target = joined(&link.path, &String::from_utf8_lossy(&content));
        Ok(all
            .iter()
            .find(|placed| !placed.is_link && Some(&placed.path) == target.as_ref())
            .map(|placed| Arc::clone(&placed.id)))
    }
}

/// The items of a folder as git stores them: `mode name`, a zero, and the id in bytes.
fn items(bytes: &[u8], id_length: usize) -> Vec<Item> {
    let mut items = Vec::new();
    let mut rest = bytes;
    while let Some(end) = rest.iter().position(|byte| *byte == 0) {
        let (head, after) = rest.split_at(end);
        let Some((id, next)) = after.get(1..).and_then(|after| after.split_at_checked(id_length)) else {
            break;
        };
        rest = next;
        let head = String::from_utf8_lossy(head);
        let Some((mode, name)) = head.split_once(' ') else {
            continue;
        };
        items.push(Item {
            name: name.to_owned(),
            id: hexadecimal(id).into(),
            kind: kind_of(mode),
        });
    }
    items
}

/// What git writes for a kind of thing.
fn kind_of(mode: &str) -> ItemKind {
    match mode {
        "40000" => ItemKind::Folder,
        "120000" => ItemKind::Link,
        mode if mode.starts_with("100") => ItemKind::File,
        _ => ItemKind::Other,
    }
}

fn hexadecimal(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// What of the staged things may be a file of a ledger.
fn placed(staged: &[Staged]) -> Vec<Placed> {
    staged
        .iter()
        .filter(|one| workspace::is_of_a_ledger(&one.path))
        .filter_map(|one| {
            let kind = kind_of(&one.mode);
            matches!(kind, ItemKind::File | ItemKind::Link).then(|| Placed {
                path: one.path.clone(),
                id: one.id.as_str().into(),
                is_link: kind == ItemKind::Link,
            })
        })
        .collect()
}

/// The folder of the ledger in a tree: where it lies now; else the one folder that holds a practice,
/// from which it was moved. A ledger that still lies in its own folder is another one, and the
/// doses of one must never be read as the former doses of another.
fn home(all: &[Placed], here: &str, is_another: impl Fn(&str) -> bool) -> Result<String, Refusal> {
    let mut homes: Vec<&str> = all
        .iter()
        .filter_map(|placed| placed.path.strip_suffix("practice.scruple"))
        .filter(|folder| folder.is_empty() || folder.ends_with('/'))
        .collect();
    homes.sort_unstable();
    let lies_here = all.iter().any(|placed| placed.path.starts_with(here));
    // The top of a repository holds everything, so it says nothing about where the ledger lay.
    if !here.is_empty() && lies_here {
        // As on the disk, the practice that is nearest upwards counts.
        let above = homes.iter().filter(|folder| here.starts_with(**folder));
        let nearest = above.max_by_key(|folder| folder.len()).copied();
        return Ok(nearest.unwrap_or(here).to_owned());
    }
    if homes.contains(&here) {
        return Ok(here.to_owned());
    }
    if !here.is_empty() {
        homes.retain(|folder| !is_another(folder));
    }
    match homes.as_slice() {
        [] => Ok(here.to_owned()),
        [only] => Ok((*only).to_owned()),
        several => Err(Refusal::new(
            format!(
                "there are several ledgers in this repository: {}",
                several.join(", ")
            ),
            "name one with `--in FOLDER`",
        )),
    }
}

/// The path that a link in a tree leads to; nothing if that is outside.
fn joined(link: &str, leads_to: &str) -> Option<String> {
    if leads_to.starts_with('/') {
        return None;
    }
    let mut steps: Vec<&str> = link.split('/').collect();
    steps.pop();
    for step in leads_to.split('/') {
        match step {
            "" | "." => {}
            ".." => {
                steps.pop()?;
            }
            name => steps.push(name),
        }
    }
    Some(steps.join("/"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_leads_to_a_place_in_the_tree_or_nowhere() {
        assert_eq!(joined("a/b.scruple", "c.scruple").as_deref(), Some("a/c.scruple"));
        assert_eq!(
            joined("a/b.scruple", "../x/./c.scruple").as_deref(),
            Some("x/c.scruple")
        );
        assert_eq!(joined("b.scruple", "../c.scruple"), None);
        assert_eq!(joined("b.scruple", "/etc/passwd"), None);
    }

    #[test]
    fn a_folder_is_read_as_git_stores_it_and_a_broken_one_as_far_as_it_goes() {
        let mut bytes = b"100644 a b.scruple\0".to_vec();
        bytes.extend([0xab; 20]);
        bytes.extend(b"40000 teas\0");
        bytes.extend([0x01; 20]);
        bytes.extend(b"120000 cut");
        let items = items(&bytes, 20);
        assert_eq!(items.len(), 2);
        assert_eq!(
            (items[0].name.as_str(), items[0].kind),
            ("a b.scruple", ItemKind::File)
        );
        assert_eq!(&*items[0].id, "ab".repeat(20));
        assert_eq!(
            (items[1].name.as_str(), items[1].kind),
            ("teas", ItemKind::Folder)
        );
    }
}
