//! Turns a ledger and the totals that lie on the disk into what is to be written, and writes it.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::io;
use std::path::Path;
use std::sync::Arc;

use crate::code;
use crate::diagnostic::Diagnostic;
use crate::model::{Lot, TotalsPlace};
use crate::parallel;
use crate::source::{FileId, Span};
use crate::view::totals::{MARK, first_line, places, places_by_file, text, text_of};
use crate::workspace::{self, Mark, OnDisk, Snapshot, TOTALS_ENDING};

/// What is to become of one file of totals.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Planned {
    /// Its path below the ledger's folder.
    pub path: String,
    /// The file that it is made from.
    pub from: String,
    /// What is to be done.
    pub state: State,
}

/// What is to be done with a file of totals.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum State {
    /// Nothing: it says what it should.
    Same,
    /// Written; it is not there yet.
    New(String),
    /// Written in the place of the first text, which is stale.
    Stale(String, String),
    /// Taken away: what it was made from is gone, or totals are kept elsewhere. The text that it holds.
    Orphan(String),
    /// Left as it is, with the reason.
    Left(String),
    /// A copy in a folder of its own, which somebody may keep on purpose: left as it is.
    Kept,
}

/// Which files of totals are wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    /// All that the practice asks for; all of them, beside their files, where it says nothing.
    All,
    /// All that the practice asks for; where it says nothing, those that are there.
    AsThePracticeSays,
}

/// The path of the totals of a file; nothing where none are kept.
pub fn path_for(place: &TotalsPlace, file: &str) -> Option<String> {
    let stem = file.strip_suffix(".scruple").unwrap_or(file);
    match place {
        TotalsPlace::Beside => Some(format!("{stem}{TOTALS_ENDING}")),
        TotalsPlace::Folder(folder) => Some(format!("{folder}/{stem}{TOTALS_ENDING}")),
        TotalsPlace::Nowhere => None,
    }
}

/// The file that a text says it was made from, if it bears the mark and lies where such totals may lie.
fn made_from<'a>(path: &str, text: &'a str) -> Option<&'a str> {
    let file = text.lines().next()?.strip_prefix(MARK)?.strip_suffix('.')?;
    let beside = path_for(&TotalsPlace::Beside, file)?;
    // A copy under another name is somebody's own.
    let is_in_its_place = path == beside || path.strip_suffix(&beside)?.ends_with('/');
    is_in_its_place.then_some(file)
}

/// What is to be done with each file of totals, in the order of their paths.
///
/// `kept` are files whose totals are left as they are because they can't be trusted just now.
pub fn plan(
    snapshot: &Snapshot,
    on_disk: &[OnDisk],
    wanted: Wanted,
    kept: &BTreeSet<String>,
) -> Vec<Planned> {
    plan_again(snapshot, on_disk, wanted, kept, &mut Texts::default())
}

/// The texts with totals as they were made last, for a ledger that is read again and again.
#[derive(Debug, Default)]
pub struct Texts {
    of: HashMap<String, (Vec<Mark>, Option<Arc<str>>)>,
    /// The deliveries that costs were reckoned from.
    lots: Vec<Arc<Lot>>,
}

impl Texts {
    /// The text of each file; made anew only where something that its formulas lean on is another.
    fn renewed(&mut self, snapshot: &Snapshot) -> HashMap<FileId, Arc<str>> {
        let mut places = places_by_file(snapshot);
        let mut known = std::mem::take(&mut self.of);
        let lots = &snapshot.ledger.lots;
        let same_lots = lots.len() == self.lots.len()
            && lots
                .iter()
                .zip(&self.lots)
                .all(|(own, other)| Arc::ptr_eq(own, other));
        if !same_lots {
            known.clear();
            self.lots.clone_from(lots);
        }
        let files: Vec<(FileId, &str, Vec<usize>, Vec<Mark>)> = snapshot
            .sources
            .iter()
            .filter_map(|(file, source)| {
                let places = places.remove(&file)?;
                let marks = places
                    .iter()
                    .filter_map(|at| snapshot.mark(*at).cloned())
                    .collect();
                Some((file, &*source.path, places, marks))
            })
            .collect();
        let made = parallel::map(&files, |(file, path, places, marks)| match known.get(*path) {
            Some((before, text)) if before == marks && marks.len() == places.len() => text.clone(),
            _ => text_of(snapshot, *file, places).map(Arc::from),
        });
        known.clear();
        let mut texts = HashMap::new();
        for ((file, path, _, marks), text) in files.into_iter().zip(made) {
            texts.extend(text.clone().map(|text| (file, text)));
            known.insert(path.to_owned(), (marks, text));
        }
        self.of = known;
        texts
    }
}

/// The same as [`plan`], with texts that were made before taken over where they are still right.
pub fn plan_again(
    snapshot: &Snapshot,
    on_disk: &[OnDisk],
    wanted: Wanted,
    kept: &BTreeSet<String>,
    texts: &mut Texts,
) -> Vec<Planned> {
    // Where the practice is not understood nobody knows where totals belong.
    if snapshot.faults.practice {
        return Vec::new();
    }
    let stated = snapshot.ledger.practice.totals.as_ref();
    let place = stated.unwrap_or(&TotalsPlace::Beside);
    let only_there = stated.is_none() && wanted == Wanted::AsThePracticeSays;
    let texts = texts.renewed(snapshot);
    let hidden = hiding_formulas(snapshot);
    let on_disk_by_path: HashMap<&str, &OnDisk> =
        on_disk.iter().map(|one| (one.shown.as_str(), one)).collect();
    let mut planned = Vec::new();
    let mut known = BTreeSet::new();
    // What is written for the first time where the practice wants it, so that it may have lain elsewhere.
    let mut new = BTreeMap::new();
    for (file, source) in snapshot.sources.iter() {
        let Some(path) = path_for(place, &source.path) else {
            continue;
        };
        let there = on_disk_by_path.get(path.as_str()).copied();
        let is_nameless = source.path.contains(char::REPLACEMENT_CHARACTER);
        let state = if is_nameless {
            if !texts.contains_key(&file) {
                continue;
            }
            State::Left(format!(
                "the name of `{}` is not written in UTF-8, so no text can be put beside it; rename it",
                source.path
            ))
        } else if kept.contains(&*source.path) || hidden.contains(&file) {
            State::Left("its file is broken".to_owned())
        } else {
            match (texts.get(&file), there) {
                (None, _) => continue,
                (Some(_), None) if only_there => continue,
                (Some(text), None) => {
                    new.insert(source.path.to_string(), Arc::clone(text));
                    State::New(text.to_string())
                }
                (Some(text), Some(there)) => held_against(&source.path, text, there),
            }
        };
        known.insert(path.clone());
        // What is broken and has no totals needs no word.
        if matches!(state, State::Left(_)) && there.is_none() && !is_nameless {
            continue;
        }
        planned.push(Planned {
            path,
            from: source.path.to_string(),
            state,
        });
    }
    let orphans = on_disk
        .iter()
        .filter(|one| !known.contains(&one.shown))
        .filter_map(|one| {
            let text = String::from_utf8(one.content.clone().ok()?).ok()?;
            let from = made_from(&one.shown, &text)?.to_owned();
            let lay_there = [place, &TotalsPlace::Beside]
                .iter()
                .any(|place| path_for(place, &from).as_ref() == Some(&one.shown));
            // Where the practice has just named another place, the text goes with it. Any other copy in a
            // folder may be an archive of last month's figures, which nothing brings back.
            let moved = match place {
                TotalsPlace::Nowhere => says_what_it_should(snapshot, &from, &text),
                _ => new.get(&from).is_some_and(|new| **new == *text),
            };
            // Its file may be broken, and its totals elsewhere.
            (!kept.contains(&from)).then(|| Planned {
                path: one.shown.clone(),
                from,
                state: if lay_there || moved {
                    State::Orphan(text)
                } else {
                    State::Kept
                },
            })
        });
    planned.extend(orphans);
    planned.sort_by(|a, b| a.path.cmp(&b.path));
    planned
}

/// Whether a text says what a file comes to now.
fn says_what_it_should(snapshot: &Snapshot, file: &str, was: &str) -> bool {
    let found = snapshot.sources.iter().find(|(_, source)| *source.path == *file);
    found.and_then(|(file, _)| text(snapshot, file)).as_deref() == Some(was)
}

/// The files that could not be read at all, so that their formulas are not known.
fn hiding_formulas(snapshot: &Snapshot) -> HashSet<FileId> {
    let left_out = [code::UNREADABLE_FILE, code::NOT_UTF_8, code::FILE_TOO_LARGE];
    let found = snapshot.diagnostics.iter();
    found
        .filter(|one| left_out.contains(&one.code))
        .map(|one| one.span.file)
        .collect()
}

fn held_against(file: &str, text: &str, there: &OnDisk) -> State {
    let was = match there.content.as_deref().map(str::from_utf8) {
        Ok(Ok(was)) => was,
        Ok(Err(_)) => return State::Left("it is no text, so it was not made by scruple".to_owned()),
        Err(why) => return State::Left(why.clone()),
    };
    // A checkout may have changed the ends of its lines.
    if was == text || was.replace("\r\n", "\n") == text {
        State::Same
    } else if was.lines().next() == Some(&first_line(file)) {
        State::Stale(was.to_owned(), text.to_owned())
    } else {
        State::Left("it does not say that it was made from this file, so it is somebody's own".to_owned())
    }
}

/// Does what is planned for one file; whether anything was written or taken away.
///
/// # Errors
/// What the file system says; the file is then as it was.
pub fn carry_out(root: &Path, planned: &Planned) -> io::Result<bool> {
    let path = workspace::home(root).join(&planned.path);
    match &planned.state {
        State::Same | State::Left(_) | State::Kept => return Ok(false),
        State::New(text) => workspace::write_new(&path, text)?,
        State::Stale(was, text) => workspace::replace(&path, was, text)?,
        State::Orphan(was) => workspace::remove(&path, was)?,
    }
    Ok(true)
}

/// A finding for each file of totals that is there and does not say what it should.
pub fn stale(snapshot: &Snapshot, on_disk: &[OnDisk]) -> Vec<Diagnostic> {
    let planned = plan(snapshot, on_disk, Wanted::AsThePracticeSays, &BTreeSet::new());
    let file = |from: &str| {
        let found = snapshot.sources.iter().find(|(_, source)| *source.path == *from);
        found.map(|(file, _)| file)
    };
    planned
        .iter()
        .filter_map(|one| {
            let message = match one.state {
                State::Stale(..) => format!("`{}` does not say what this file comes to now", one.path),
                _ => return None,
            };
            Some(
                Diagnostic::warning(code::STALE_TOTALS, Span::new(file(&one.from)?, 0, 0), message)
                    .help("whoever reads it takes old figures for new ones; `scruple totals` writes it anew"),
            )
        })
        .collect()
}

/// Whether a formula of a file has no figures.
pub fn has_withheld(snapshot: &Snapshot, file: FileId) -> bool {
    places(snapshot, file)
        .into_iter()
        .any(|at| snapshot.figures.of(at).is_none())
}
