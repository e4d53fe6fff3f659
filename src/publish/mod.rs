//! Turns the pages of a set into files, and writes those that changed.
//!
//! A list of what was made lies beside the pages. What is not on it, or is no longer what was made,
//! belongs to somebody else: it is never written over and never taken away.

mod list;

use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};

use crate::render::html::site as markup;
use crate::render::site::mark;
use crate::view::site::{CLASS, Page, Site, TEACHER};
use crate::workspace;
use list::{List, Made};

/// What became of the files of a site.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Told {
    /// Written new or anew.
    pub written: Vec<String>,
    /// As they should be already.
    pub same: usize,
    /// Taken away, because the set has no such page any more.
    pub taken_away: Vec<String>,
    /// Left alone, with the reason.
    pub left: Vec<(String, String)>,
}

/// A file that is wanted.
struct Wanted {
    path: String,
    /// What it depends on.
    from: u64,
    /// The page; nothing for the style.
    page: Option<Page>,
}

/// What is to be done with one file.
enum Step {
    Same(Made),
    Write(Made, String),
    Left(String),
}

/// Publishes a site into a folder. `seen` is told how many of how many files were looked at.
///
/// # Errors
/// What the file system says; pages that were written until then are whole.
pub fn publish(site: &Site<'_>, folder: &Path, seen: &(dyn Fn(usize, usize) + Sync)) -> io::Result<Told> {
    let known = List::read(folder)?;
    let style = mark(markup::STYLE.as_bytes());
    let mut wanted: Vec<Wanted> = [CLASS, TEACHER]
        .map(|folder| Wanted {
            path: format!("{folder}/style.css"),
            from: style,
            page: None,
        })
        .into();
    wanted.extend(site.pages().into_iter().map(|(page, path)| Wanted {
        path,
        from: site.depends_on(page),
        page: Some(page),
    }));
    let steps = look(site, folder, &known, &wanted, seen);
    let mut told = Told::default();
    let mut next = List::default();
    let mut to_write: Vec<(&Wanted, Made, String)> = Vec::new();
    for (wanted, step) in wanted.iter().zip(steps) {
        match step {
            Step::Same(made) => {
                told.same = told.same.saturating_add(1);
                next.add(&wanted.path, made);
            }
            Step::Left(why) => {
                // It stays known as what was made once, should somebody put that back.
                for made in known.of(&wanted.path) {
                    next.add(&wanted.path, *made);
                }
                told.left.push((wanted.path.clone(), why));
            }
            Step::Write(made, text) => {
                next.add(&wanted.path, made);
                to_write.push((wanted, made, text));
            }
        }
    }
    let paths: BTreeSet<&str> = wanted.iter().map(|wanted| wanted.path.as_str()).collect();
    let gone: Vec<(&str, &[Made])> = known.all().filter(|(path, _)| !paths.contains(path)).collect();
    if to_write.is_empty() && gone.is_empty() {
        next.write_if_changed(folder, &known)?;
        return Ok(told);
    }
    // Should this be broken off, both what was there and what was meant to be are known.
    known.and(&next).write(folder)?;
    for (wanted, _, text) in to_write {
        workspace::write_made(&folder.join(&wanted.path), &text)?;
        told.written.push(wanted.path.clone());
    }
    for (path, made) in gone {
        match workspace::read_one(&folder.join(path)) {
            Ok(bytes) if made.iter().any(|made| made.is(&bytes)) => {
                workspace::remove_made(&folder.join(path))?;
                told.taken_away.push(path.to_owned());
            }
            Ok(_) => told.left.push((
                path.to_owned(),
                "the set has no such page any more, but somebody changed it".to_owned(),
            )),
            // Somebody took it away already.
            Err(_) => {}
        }
    }
    next.write(folder)?;
    Ok(told)
}

/// Looks at every wanted file, on as many threads as the machine has.
fn look(
    site: &Site<'_>,
    folder: &Path,
    known: &List,
    wanted: &[Wanted],
    seen: &(dyn Fn(usize, usize) + Sync),
) -> Vec<Step> {
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let next = AtomicUsize::new(0);
    let done = AtomicUsize::new(0);
    let found: BTreeMap<usize, Step> = std::thread::scope(|scope| {
        let workers: Vec<_> = (0..threads)
            .map(|_| {
                scope.spawn(|| {
                    let mut own = Vec::new();
                    while let at = next.fetch_add(1, Ordering::Relaxed)
                        && let Some(one) = wanted.get(at)
                    {
                        own.push((at, step(site, folder, known, one)));
                        seen(
                            done.fetch_add(1, Ordering::Relaxed).saturating_add(1),
                            wanted.len(),
                        );
                    }
                    own
                })
            })
            .collect();
        let joined = workers
            .into_iter()
            .flat_map(|worker| worker.join().unwrap_or_default());
        joined.collect()
    });
    found.into_values().collect()
}

fn step(site: &Site<'_>, folder: &Path, known: &List, wanted: &Wanted) -> Step {
    let path = folder.join(&wanted.path);
    let there = workspace::length(&path);
    let up_to_date = known
        .of(&wanted.path)
        .iter()
        .find(|made| made.from == wanted.from && Some(made.length) == there);
    if let ([_], Some(made)) = (known.of(&wanted.path), up_to_date) {
        return Step::Same(*made);
    }
    let text = match wanted.page {
        Some(page) => markup::print(&site.page(page)),
        None => markup::STYLE.to_owned(),
    };
    let made = Made::of(wanted.from, text.as_bytes());
    if there.is_none() {
        return Step::Write(made, text);
    }
    match workspace::read_one(&path) {
        Ok(bytes) if bytes == text.as_bytes() => Step::Same(made),
        Ok(bytes) if known.of(&wanted.path).iter().any(|made| made.is(&bytes)) => Step::Write(made, text),
        Ok(_) if known.of(&wanted.path).is_empty() => {
            Step::Left("it was there before, and `publish` did not make it".to_owned())
        }
        Ok(_) => {
            Step::Left("somebody changed it since it was made: move it away to have it made anew".to_owned())
        }
        Err(why) => Step::Left(why),
    }
}
