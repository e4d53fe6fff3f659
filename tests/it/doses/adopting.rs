//! Adopting herbs of the built-in reference: all of them one after the other, and what must not happen to a
//! ledger on the way.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;

use scruple::diagnostic::Severity;
use scruple::workspace::Snapshot;

use super::{Ran, herb_rows, listed, on_disk, reference_name, run};

const FILE: &str = "materia/adopted.scruple";

const PRACTICE: &str =
    "practice\n  teaspoon   5 ml\n  tablespoon   15 ml\n  cup   250 ml\n  heaped   1.5 to 2.5 level spoons\n";

fn adopt(folder: &std::path::Path, herb: &str) -> Ran {
    run(folder, &["adopt", herb])
}

/// Every file below a folder with its text.
fn everything(folder: &std::path::Path) -> Vec<(String, String)> {
    let mut files: Vec<(String, String)> = walkdir::WalkDir::new(folder)
        .into_iter()
        .map(Result::unwrap)
        .filter(|entry| entry.file_type().is_file())
        .map(|entry| {
            (
                entry.path().display().to_string(),
                fs::read_to_string(entry.path()).unwrap(),
            )
        })
        .collect();
    files.sort();
    files
}

/// A ledger with some herbs of the reference, put together as `adopt` would: sources once, then the herb.
fn with_herbs(herbs: &[&str]) -> String {
    let mut sources = BTreeSet::new();
    let mut text = String::new();
    for herb in herbs {
        let entry = scruple::reference::entry(herb).unwrap();
        for (name, source) in entry.sources {
            if sources.insert(name) {
                writeln!(text, "{source}\n").unwrap();
            }
        }
        writeln!(text, "{}\n", entry.text).unwrap();
    }
    text
}

/// Each of the 81, one after the other: in nine ledgers of nine, since each command reads all that is there.
#[test]
fn all_81_herbs_one_after_the_other() {
    let herbs: Vec<&str> = herb_rows()
        .iter()
        .map(|row| reference_name(row.get("key")))
        .collect();
    for some in herbs.chunks(9) {
        let folder = on_disk(&[("practice.scruple", PRACTICE)]);
        let mut before = String::new();
        for herb in some {
            let ran = adopt(folder.path(), herb);
            assert_eq!(ran.code, 0, "{herb}: {}", ran.err);
            let now = fs::read_to_string(folder.path().join(FILE)).unwrap();
            assert!(
                now.starts_with(&before) && now.len() > before.len(),
                "{herb} left what was there as it was"
            );
            assert!(now.contains(&format!("\nherb {herb}\n")), "{herb}");
            before = now;
        }
        is_sound(folder.path(), some);
    }
}

/// The last ones into a ledger that has all the others.
#[test]
fn the_last_of_81_herbs() {
    let herbs: Vec<&str> = herb_rows()
        .iter()
        .map(|row| reference_name(row.get("key")))
        .collect();
    let (most, last) = herbs.split_at(78);
    let folder = on_disk(&[("practice.scruple", PRACTICE), (FILE, &with_herbs(most))]);
    for herb in last {
        let ran = adopt(folder.path(), herb);
        assert_eq!(ran.code, 0, "{herb}: {}", ran.err);
    }
    is_sound(folder.path(), &herbs);
}

/// No errors or warnings, every source once and with a herb that cites it, every entry to the letter.
fn is_sound(folder: &std::path::Path, herbs: &[&str]) {
    let snapshot = Snapshot::read(folder);
    let grave: Vec<_> = snapshot
        .diagnostics
        .iter()
        .filter(|one| one.severity > Severity::Notice)
        .cloned()
        .collect();
    assert!(grave.is_empty(), "{}", listed(&grave));
    assert_eq!(
        snapshot
            .ledger
            .substances
            .iter()
            .filter(|one| one.span.is_some())
            .count(),
        herbs.len()
    );
    let text = fs::read_to_string(folder.join(FILE)).unwrap();
    let mut sources = BTreeSet::new();
    for line in text.lines().filter(|line| line.starts_with("source ")) {
        assert!(sources.insert(line.to_owned()), "{line} came twice");
        assert!(
            text.contains(&format!("  {line}\n")),
            "{line} is cited by nothing"
        );
    }
    assert!(sources.len() >= herbs.len() / 2, "{}", sources.len());
    for herb in herbs {
        let entry = scruple::reference::entry(herb).unwrap();
        assert!(text.contains(entry.text), "{herb}");
        for (name, source) in entry.sources {
            assert!(text.contains(source), "{name}");
        }
    }
}

/// A ledger that `begin` started takes every herb that it does not have already.
#[test]
fn a_ledger_that_begin_started_takes_the_others() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(run(folder.path(), &["begin", "my-ledger"]).code, 0);
    let root = folder.path().join("my-ledger");
    let own = Snapshot::read(&root);
    assert!(
        own.diagnostics.iter().all(|one| one.severity == Severity::Notice),
        "{}",
        listed(&own.diagnostics)
    );
    let mut had = 0;
    for name in [
        "chamomile flower",
        "ginger rhizome",
        "peppermint leaf",
        "senna leaf",
        "willow bark",
        "linseed",
        "oak bark",
    ] {
        let known = own.ledger.names.look(name) != scruple::model::Looked::Nothing;
        let ran = adopt(&root, name);
        assert_eq!(ran.code, if known { 2 } else { 0 }, "{name}: {}", ran.err);
        had += usize::from(known);
    }
    assert!(had > 0 && had < 7, "{had}");
    let after = Snapshot::read(&root);
    assert!(
        after
            .diagnostics
            .iter()
            .all(|one| one.severity == Severity::Notice),
        "{}",
        listed(&after.diagnostics)
    );
}

#[test]
fn a_herb_goes_by_any_of_its_names_and_a_slip_is_offered() {
    for name in [
        "chamomile flower",
        "Chamomile Flowers",
        "Matricariae flos",
        "St John’s wort",
        "St John's wort herb",
    ] {
        let folder = on_disk(&[("practice.scruple", PRACTICE)]);
        let ran = adopt(folder.path(), name);
        assert_eq!(ran.code, 0, "{name}: {}", ran.err);
    }
    let folder = on_disk(&[("practice.scruple", PRACTICE)]);
    let before = everything(folder.path());
    let ran = adopt(folder.path(), "chamomile flouer");
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("chamomile flower"), "{}", ran.err);
    assert_eq!(everything(folder.path()), before);
}

#[test]
fn a_second_time_is_refused_and_writes_nothing() {
    let folder = on_disk(&[("practice.scruple", PRACTICE)]);
    assert_eq!(adopt(folder.path(), "chamomile flower").code, 0);
    let before = everything(folder.path());
    for name in ["chamomile flower", "Chamomile  flowers", "Matricariae flos"] {
        let ran = adopt(folder.path(), name);
        assert_eq!(ran.code, 2, "{name}");
        assert!(ran.err.contains("chamomile flower"), "{}", ran.err);
        assert_eq!(everything(folder.path()), before, "{name}");
    }
}

/// Each name of the entry may be taken already: by a herb, by another name of one, by a material, by a formula.
#[test]
fn a_name_that_is_taken_is_refused_and_writes_nothing() {
    for taken in [
        "herb chamomile flower\n",
        "herb my chamomile\n  also   chamomile flower\n",
        "herb my chamomile\n  also   Matricariae flos\n",
        "material Matricariae flos\n",
        "herb plain leaf\n\nformula Matricariae flos\n  take   plain leaf 10 g\n",
        "herb plain leaf\n\nformula chamomile flower\n  take   plain leaf 10 g\n",
    ] {
        let folder = on_disk(&[("practice.scruple", PRACTICE), ("zz.scruple", taken)]);
        let before = everything(folder.path());
        let ran = adopt(folder.path(), "chamomile flower");
        assert_eq!(ran.code, 2, "{taken}: {}", ran.out);
        assert!(!ran.err.is_empty());
        assert_eq!(everything(folder.path()), before, "{taken}");
    }
}

/// A name that the ledger's formulas use in the plural may not come to mean something else.
#[test]
fn no_name_of_the_ledger_changes_its_meaning() {
    let ledger = "herb linseeds\n\nformula seed tea\n  take   linseed 10 g\n";
    let folder = on_disk(&[("practice.scruple", PRACTICE), ("zz.scruple", ledger)]);
    let meant = |folder: &std::path::Path| {
        let snapshot = Snapshot::read(folder);
        let line = &snapshot.figures.of(snapshot.formula("seed tea").unwrap())?.lines[0];
        match line.taken.what {
            scruple::model::Bound::Substance(at) => Some(snapshot.ledger.substances[at].name.clone()),
            _ => None,
        }
    };
    assert_eq!(meant(folder.path()).as_deref(), Some("linseeds"));
    let ran = adopt(folder.path(), "linseed");
    assert!(
        ran.code == 2 || meant(folder.path()).as_deref() == Some("linseeds"),
        "`linseed` in the formula now means {:?}",
        meant(folder.path())
    );
}

/// A source of the same name that says something else is not the reference's source.
#[test]
fn a_source_of_the_same_name_that_says_something_else_is_said() {
    let ledger = "source tea-practice\n  title   how my grandmother made tea\n";
    let folder = on_disk(&[("practice.scruple", PRACTICE), ("sources.scruple", ledger)]);
    let ran = adopt(folder.path(), "chamomile flower");
    let said = ran.flat() + &ran.err;
    assert!(
        ran.code == 2 || said.contains("tea-practice") && said.contains("already"),
        "figures of the reference now cite the ledger's own `tea-practice`, and nothing says so:\n{said}"
    );
}

/// What stands in the file stays to the byte: comments, blank lines, CR LF, and a last line without an end.
#[test]
fn what_is_in_the_file_stays_to_the_byte() {
    for old in [
        "# my own heading\n\n\nherb plain leaf      # a comment\n  note   kept\n\n",
        "\u{feff}# with a byte order mark\nherb plain leaf\n",
        "# written on another system\r\nherb plain leaf\r\n  note   kept\r\n",
        "herb plain leaf\n  note   no line end",
        "herb кипрей   # other scripts\n",
    ] {
        let folder = on_disk(&[("practice.scruple", PRACTICE), (FILE, old)]);
        assert_eq!(adopt(folder.path(), "chamomile flower").code, 0);
        let now = fs::read(folder.path().join(FILE)).unwrap();
        assert!(now.starts_with(old.as_bytes()), "{old:?}");
        let snapshot = Snapshot::read(folder.path());
        assert!(
            snapshot
                .diagnostics
                .iter()
                .all(|one| one.severity == Severity::Notice),
            "{old:?}: {}",
            listed(&snapshot.diagnostics)
        );
        assert_eq!(
            snapshot
                .ledger
                .substances
                .iter()
                .filter(|one| one.span.is_some())
                .count(),
            2,
            "{old:?}"
        );
    }
}

/// What somebody wrote-protected is not written.
#[cfg(unix)]
#[test]
fn a_file_that_is_read_only_is_left_as_it_was() {
    use std::os::unix::fs::PermissionsExt;
    let folder = on_disk(&[("practice.scruple", PRACTICE), (FILE, "herb plain leaf\n")]);
    let path = folder.path().join(FILE);
    fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).unwrap();
    let before = everything(folder.path());
    let ran = adopt(folder.path(), "chamomile flower");
    assert!(
        everything(folder.path()) == before,
        "a file with mode 0444 was written to (exit {})",
        ran.code
    );
    assert_eq!(ran.code, 2, "{}", ran.out);
    assert!(ran.err.contains("nothing was changed"), "{}", ran.err);
    assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o444);
}

/// The permissions of the file and a link to it outlast the writing.
#[cfg(unix)]
#[test]
fn permissions_and_links_outlast_it() {
    use std::os::unix::fs::PermissionsExt;
    let folder = on_disk(&[
        ("practice.scruple", PRACTICE),
        ("elsewhere/herbs.txt", "herb plain leaf\n"),
    ]);
    let real = folder.path().join("elsewhere/herbs.txt");
    fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).unwrap();
    fs::create_dir_all(folder.path().join("materia")).unwrap();
    std::os::unix::fs::symlink(&real, folder.path().join(FILE)).unwrap();
    assert_eq!(adopt(folder.path(), "chamomile flower").code, 0);
    assert!(
        fs::symlink_metadata(folder.path().join(FILE))
            .unwrap()
            .file_type()
            .is_symlink()
    );
    assert!(
        fs::read_to_string(&real)
            .unwrap()
            .contains("herb chamomile flower")
    );
    assert_eq!(fs::metadata(&real).unwrap().permissions().mode() & 0o777, 0o640);
}

/// Nothing is left lying about, whether it went well or not.
#[test]
fn nothing_is_left_lying_about() {
    let folder = on_disk(&[("practice.scruple", PRACTICE)]);
    adopt(folder.path(), "chamomile flower");
    adopt(folder.path(), "chamomile flower");
    adopt(folder.path(), "no such herb");
    let names: Vec<String> = everything(folder.path())
        .into_iter()
        .map(|(name, _)| name)
        .collect();
    assert_eq!(names.len(), 2, "{names:?}");
}

/// A ledger of one file grows in that file.
#[test]
fn a_ledger_of_one_file_grows_in_it() {
    let folder = on_disk(&[("ledger.scruple", "herb plain leaf\n")]);
    let file = folder.path().join("ledger.scruple");
    let ran = run(
        folder.path(),
        &["adopt", "chamomile flower", "--in", file.to_str().unwrap()],
    );
    assert_eq!(ran.code, 0, "{}", ran.err);
    let text = fs::read_to_string(&file).unwrap();
    assert!(text.starts_with("herb plain leaf\n") && text.contains("\nherb chamomile flower\n"));
    assert_eq!(everything(folder.path()).len(), 1);
}

/// An unknown herb that the reference knows is offered, and then nothing of it is used until it is adopted.
#[test]
fn an_unknown_herb_is_offered_and_not_used() {
    let folder = on_disk(&[(
        "practice.scruple",
        &format!("{PRACTICE}\nformula tea\n  take   chamomile flower 10 g\n"),
    )]);
    let ran = run(folder.path(), &["check"]);
    assert_eq!(ran.code, 1);
    assert!(
        ran.flat().contains("scruple adopt \"chamomile flower\""),
        "{}",
        ran.out
    );
    assert_eq!(adopt(folder.path(), "chamomile flower").code, 0);
    assert_eq!(run(folder.path(), &["check"]).code, 0);
}
