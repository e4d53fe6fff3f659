//! The built-in materia medica, written in the language itself; nothing of it is used until it is adopted.

use std::sync::LazyLock;

use crate::model::{self, Bound, Ledger, Looked};
use crate::source::Sources;
use crate::syntax;
use crate::syntax::tree::{Entry, Kind, Tree};

macro_rules! files {
    ($($name:literal)*) => {
        /// The files, with the names under which findings would speak of them.
        const FILES: &[(&str, &str)] = &[$(($name, include_str!(concat!("materia/", $name)))),*];
    };
}

files! {
    "flowers.scruple"
    "fruits-and-seeds.scruple"
    "leaves-and-herbs.scruple"
    "roots-and-barks.scruple"
    "sources.scruple"
}

/// The reference as a ledger of its own.
struct Materia {
    sources: Sources,
    trees: Vec<Tree>,
    ledger: Ledger,
}

/// Read when it is first asked for; its own tests hold it free of findings.
fn materia() -> &'static Materia {
    static MATERIA: LazyLock<Materia> = LazyLock::new(|| {
        let mut sources = Sources::default();
        let mut trees = Vec::new();
        for (name, text) in FILES {
            let file = sources.add(name, (*text).into());
            trees.push(syntax::parse(file, text).0);
        }
        let (ledger, _) = model::build(&trees);
        Materia {
            sources,
            trees,
            ledger,
        }
    });
    &MATERIA
}

/// The texts of the reference, for tests and for whoever wants to read it whole.
pub fn texts() -> impl Iterator<Item = (&'static str, &'static str)> {
    FILES.iter().copied()
}

/// The name under which the reference has a herb, by any of its names.
pub fn knows(name: &str) -> Option<&'static str> {
    let materia = materia();
    match materia.ledger.names.look(name) {
        Looked::Found(Bound::Substance(at)) => materia
            .ledger
            .substances
            .get(at)
            // Water is known to every ledger.
            .filter(|substance| substance.span.is_some())
            .map(|substance| substance.name.as_str()),
        _ => None,
    }
}

/// The names of all herbs in the reference, in the order of the alphabet.
pub fn names() -> Vec<&'static str> {
    let mut names: Vec<&str> = materia()
        .ledger
        .substances
        .iter()
        .filter(|substance| substance.span.is_some())
        .map(|substance| substance.name.as_str())
        .collect();
    names.sort_unstable_by_key(|name| name.to_lowercase());
    names
}

/// An entry of the reference as it is written there, and the names of the sources that it cites.
#[derive(Debug, Clone)]
pub struct Reference {
    /// The herb's name.
    pub name: &'static str,
    /// Its entry.
    pub text: &'static str,
    /// The sources, each with its entry.
    pub sources: Vec<(&'static str, &'static str)>,
}

/// The entry of a herb with everything that it cites.
pub fn entry(name: &str) -> Option<Reference> {
    let materia = materia();
    let name = knows(name)?;
    let entries = || materia.trees.iter().flat_map(|tree| &tree.entries);
    let named = |kind: Kind, wanted: &str| -> Option<&'static Entry> {
        entries()
            .find(|entry| entry.kind == kind && entry.name.as_ref().is_some_and(|own| own.text == wanted))
    };
    let herb = named(Kind::Herb, name).or_else(|| named(Kind::Material, name))?;
    let mut cited: Vec<&str> = herb
        .lines
        .iter()
        .filter_map(|line| line.source.as_ref())
        .map(|source| source.text.as_str())
        .collect();
    cited.sort_unstable();
    cited.dedup();
    Some(Reference {
        name,
        text: materia.sources.text(herb.span).trim_end(),
        sources: cited
            .into_iter()
            .filter_map(|source| {
                Some((
                    source,
                    materia.sources.text(named(Kind::Source, source)?.span).trim_end(),
                ))
            })
            .collect(),
    })
}

/// Whether a source of the reference says the same as one that a ledger has by that name.
pub fn cites_alike(name: &str, citation: &str, from_memory: bool) -> bool {
    materia()
        .ledger
        .books
        .iter()
        .find(|book| book.name.text == name)
        .is_none_or(|book| book.citation == citation && book.from_memory == from_memory)
}
