//! Turns the name of a herb that the built-in reference knows into the text that a ledger adopts.

use std::sync::Arc;

use crate::diagnostic::Severity;
use crate::model::Looked;
use crate::naming::folded;
use crate::reference;
use crate::workspace::Snapshot;

/// What is adopted: the herb's entry, and the entries of those of its sources that the ledger lacks.
#[derive(Debug, Clone)]
pub struct Adopted {
    /// The herb's name.
    pub name: &'static str,
    /// The names of the sources that come with it.
    pub sources: Vec<&'static str>,
    /// The text to add.
    pub text: String,
}

impl Adopted {
    /// The file that adopted herbs are written to, in a ledger that is a folder.
    pub const FILE: &str = "materia/adopted.scruple";
    /// How that file begins.
    pub const HEADING: &str =
        "# Adopted from the built-in reference of scruple: check every figure before you rely on it.\n";
}

/// Why a herb is not adopted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotAdopted {
    /// The reference doesn't know it.
    Unknown,
    /// The ledger has it already, by this name.
    IsThere(&'static str),
    /// The ledger has another source by this name.
    OtherSource(&'static str),
    /// The ledger would be worse for it: this error would be new.
    DoesNotFit(String),
}

/// What a ledger adopts of the reference for a herb.
///
/// # Errors
/// Why it does not.
pub fn adopted(before: &Snapshot, wanted: &str) -> Result<Adopted, NotAdopted> {
    let found = reference::entry(wanted).ok_or(NotAdopted::Unknown)?;
    if let Looked::Found(_) = before.ledger.names.look(found.name) {
        return Err(NotAdopted::IsThere(found.name));
    }
    let mut added = String::new();
    let mut sources = Vec::new();
    for (name, text) in &found.sources {
        let own = before
            .ledger
            .books
            .iter()
            .find(|book| folded(&book.name.text) == folded(name));
        match own {
            Some(own) if !reference::cites_alike(name, &own.citation, own.from_memory) => {
                return Err(NotAdopted::OtherSource(name));
            }
            Some(_) => {}
            None => {
                added.push_str(text);
                added.push_str("\n\n");
                sources.push(*name);
            }
        }
    }
    added.push_str(found.text);
    added.push('\n');
    fits(before, &added)?;
    Ok(Adopted {
        name: found.name,
        sources,
        text: added,
    })
}

/// The ledger must be no worse for the new text: a name that clashes is refused, not written.
fn fits(before: &Snapshot, added: &str) -> Result<(), NotAdopted> {
    let texts = before
        .sources
        .iter()
        .map(|(_, source)| (source.path.to_string(), Arc::clone(&source.text)))
        .chain([("adopted".to_owned(), Arc::from(added))]);
    let after = Snapshot::of(texts);
    let new_error = after
        .diagnostics
        .iter()
        .find(|one| one.severity == Severity::Error && after.sources.path(one.span) == "adopted");
    match new_error {
        Some(error) => Err(NotAdopted::DoesNotFit(error.message.clone())),
        None => Ok(()),
    }
}
