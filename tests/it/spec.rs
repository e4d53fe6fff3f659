//! Turns the pages of `grammar/` into checks: every block is run, and what it gives is compared
//! with what the page says that it gives.
//!
//! A block fenced as `scruple` is a ledger. A line's comment `# error: code` (`warning`,
//! `notice`; several with commas) says what that line gives; where a comment can't stand at the
//! end of the line, the next line says it after `#^`. Nothing else may be found. A block fenced
//! as `scruple goes on` is read together with the blocks before it. `<U+200B>` stands for that
//! character.
//!
//! What is made from the pages and from the code (`grammar/findings.md`, the table of units in
//! `grammar/README.md`, the topics in `grammar/cautions.md`) is compared here; with
//! `UPDATE_GENERATED=1` it is rewritten.

mod cautions;
mod findings;
mod made;
mod people;
mod reference;
mod runner;

use std::fs;
use std::path::{Path, PathBuf};

use scruple::code::Code;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn read(path: &Path) -> String {
    match fs::read_to_string(path) {
        Ok(text) => text,
        Err(error) => panic!("{}: {error}", path.display()),
    }
}

fn page_path(code: Code) -> PathBuf {
    root()
        .join("grammar/findings")
        .join(format!("{}.md", code.name()))
}

fn assert_nothing(title: &str, faults: &[String]) {
    assert!(faults.is_empty(), "{title}\n  {}\n", faults.join("\n  "));
}

/// Compares what is generated with what is kept, or rewrites it.
fn keep(path: &Path, generated: &str) {
    if std::env::var_os("UPDATE_GENERATED").is_some() {
        // Other tests read the page meanwhile, so it changes at one stroke.
        let beside = path.with_extension("md.new");
        if let Err(error) = fs::write(&beside, generated).and_then(|()| fs::rename(&beside, path)) {
            panic!("{}: {error}", path.display());
        }
        return;
    }
    let kept = read(path);
    let differs = (1_usize..)
        .zip(kept.lines().zip(generated.lines()))
        .find(|(_, (kept, generated))| kept != generated);
    assert!(
        kept == generated,
        "{} is not what the pages and the code say (first at {differs:?}); run again with UPDATE_GENERATED=1",
        path.display()
    );
}

/// Puts what is generated between two marks of a page, or compares it with what stands there.
fn keep_between(path: &Path, marks: [&str; 2], generated: &str) {
    let [begin, end] = marks;
    let text = read(path);
    let parts = text.split_once(begin).and_then(|(before, rest)| {
        let (_, after) = rest.split_once(end)?;
        Some(format!("{before}{begin}\n{generated}\n{end}{after}"))
    });
    let Some(whole) = parts else {
        panic!("{} has no place for what is generated: {begin}", path.display())
    };
    keep(path, &whole);
}
