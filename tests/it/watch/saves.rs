//! The real program while files are saved, renamed, deleted and brought back.

use std::fs;
use std::io::{BufRead, BufReader, Read};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use super::looks::HERBS;
use crate::repository::Repository;
use crate::sandbox::{Run, Sandbox};

/// How long something may take that usually takes a moment.
const PATIENCE: Duration = Duration::from_secs(30);

const PRACTICE: &str = "practice\n  scales   0.1 g\n  totals   beside\n";

fn tea(grams: &str) -> String {
    format!("formula mint tea\n  take\n    peppermint leaf   {grams}\n    fennel fruit   10 g\n")
}

fn ledger() -> Sandbox {
    Sandbox::new()
        .file("ledger/practice.scruple", PRACTICE)
        .file("ledger/herbs.scruple", HERBS)
        .file("ledger/teas/mint.scruple", tea("30 g"))
}

/// The program while it watches.
struct Watching {
    child: Child,
    said: Arc<Mutex<String>>,
    heard: usize,
}

impl Watching {
    fn begin(run: &Run) -> Self {
        let mut child = run.prepare().spawn().unwrap();
        let said = Arc::new(Mutex::new(String::new()));
        let (out, into) = (child.stdout.take().unwrap(), Arc::clone(&said));
        thread::spawn(move || {
            for line in BufReader::new(out).lines() {
                let line = line.unwrap();
                assert!(!line.contains('\u{1b}'), "no colours in a pipe");
                let mut said = into.lock().unwrap();
                // Words are broken over lines where the page ends.
                said.push_str(line.trim());
                said.push(' ');
            }
        });
        let mut watching = Self {
            child,
            said,
            heard: 0,
        };
        watching.hears("In an emergency call for help.");
        watching
    }

    /// Waits until it says something, after what it was heard to say before; gives what it said until then.
    #[track_caller]
    fn hears(&mut self, words: &str) -> String {
        let begun = Instant::now();
        loop {
            {
                let said = self.said.lock().unwrap();
                let new = &said[self.heard..];
                if let Some(at) = new.find(words) {
                    let heard = new[..at + words.len()].to_owned();
                    self.heard += heard.len();
                    return heard;
                }
            }
            assert!(
                begun.elapsed() < PATIENCE,
                "never said {words:?}:\n{}",
                self.said.lock().unwrap()
            );
            thread::sleep(Duration::from_millis(10));
        }
    }

    /// Ends it with Ctrl-C, and gives all that it said.
    fn end(mut self) -> String {
        self.signal("INT");
        assert_eq!(self.wait(), Some(0), "Ctrl-C is the ordinary end");
        let mut complaints = String::new();
        self.child
            .stderr
            .take()
            .unwrap()
            .read_to_string(&mut complaints)
            .unwrap();
        assert_eq!(complaints, "");
        self.said.lock().unwrap().clone()
    }

    fn signal(&self, name: &str) {
        let sent = Command::new("kill")
            .args([&format!("-{name}"), &self.child.id().to_string()])
            .stderr(Stdio::null())
            .status()
            .unwrap();
        assert!(sent.success());
    }

    fn wait(&mut self) -> Option<i32> {
        let begun = Instant::now();
        loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                return status.code();
            }
            assert!(begun.elapsed() < PATIENCE, "it does not end");
            thread::sleep(Duration::from_millis(10));
        }
    }
}

impl Drop for Watching {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn watch(sandbox: &Sandbox) -> Watching {
    Watching::begin(&sandbox.command(["watch", "--in", "ledger"]).columns(200))
}

fn at(sandbox: &Sandbox, path: &str) -> PathBuf {
    sandbox.path().join("ledger").join(path)
}

fn totals(sandbox: &Sandbox) -> String {
    fs::read_to_string(at(sandbox, "teas/mint.totals.txt")).unwrap()
}

/// A save as most editors do it: a new file beside the old one takes its place.
fn save_by_rename(sandbox: &Sandbox, path: &str, text: &str) {
    let new = at(sandbox, &format!("{path}~new"));
    fs::write(&new, text).unwrap();
    fs::rename(new, at(sandbox, path)).unwrap();
}

#[test]
fn plain_saves_and_saves_by_rename_are_heard_again_and_again() {
    let sandbox = ledger();
    let mut watching = watch(&sandbox);
    assert!(totals(&sandbox).contains("30.00 g"), "written at the start");
    let mut was = 30;
    for (round, is) in [31, 32, 33, 34].into_iter().enumerate() {
        let text = tea(&format!("{is} g"));
        if round % 2 == 0 {
            save_by_rename(&sandbox, "teas/mint.scruple", &text);
        } else {
            fs::write(at(&sandbox, "teas/mint.scruple"), &text).unwrap();
        }
        watching.hears(&format!("peppermint leaf {is} g, was {was} g"));
        watching.hears("totals written: teas/mint.totals.txt");
        watching.hears("now no errors");
        assert!(totals(&sandbox).contains(&format!("{is}.00 g")));
        was = is;
    }
    let said = watching.end();
    assert!(!said.contains("left out") && !said.contains("broken"), "{said}");
    // Writing totals is no change of the ledger.
    assert_eq!(said.matches("now no errors").count(), 5, "{said}");
    let left: Vec<String> = sandbox.files().into_iter().map(|(path, _)| path).collect();
    assert_eq!(
        left,
        [
            "ledger/herbs.scruple",
            "ledger/practice.scruple",
            "ledger/teas/mint.scruple",
            "ledger/teas/mint.totals.txt"
        ]
    );
}

#[test]
fn a_half_written_file_keeps_its_figures_until_it_is_whole() {
    let sandbox = ledger();
    let mut watching = watch(&sandbox);
    let before = totals(&sandbox);
    let path = at(&sandbox, "teas/mint.scruple");
    fs::write(&path, "").unwrap();
    watching.hears("teas/mint.scruple is empty: its figures of");
    assert_eq!(totals(&sandbox), before);
    fs::write(&path, "formula mint tea\n  take\n    peppermint le").unwrap();
    watching.hears("holds an error that withholds figures: its figures of");
    assert_eq!(totals(&sandbox), before);
    fs::write(&path, tea("41 g")).unwrap();
    watching.hears("peppermint leaf 41 g, was 30 g");
    watching.hears("totals written");
    let said = watching.end();
    assert!(!said.contains("left out"), "{said}");
}

#[test]
fn a_burst_of_files_is_told_in_a_few_lines() {
    let sandbox = ledger();
    let mut watching = watch(&sandbox);
    // A folder, and files in it at once.
    fs::create_dir_all(at(&sandbox, "new/deep")).unwrap();
    for number in 0..50 {
        let text = tea("30 g").replace("mint tea", &format!("tea {number}"));
        fs::write(at(&sandbox, &format!("new/deep/{number}.scruple")), text).unwrap();
    }
    let begun = Instant::now();
    while fs::read_dir(at(&sandbox, "new/deep")).unwrap().count() < 100 {
        assert!(begun.elapsed() < PATIENCE, "not all totals are written");
        thread::sleep(Duration::from_millis(20));
    }
    // Also in that folder saves are heard.
    let one = tea("77 g").replace("mint tea", "tea 7");
    save_by_rename(&sandbox, "new/deep/7.scruple", &one);
    watching.hears("peppermint leaf 77 g, was 30 g");
    watching.end();
}

#[test]
fn a_ledger_that_is_moved_away_is_waited_for() {
    let sandbox = ledger();
    let mut watching = watch(&sandbox);
    let (here, away) = (sandbox.path().join("ledger"), sandbox.path().join("elsewhere"));
    fs::rename(&here, &away).unwrap();
    watching.hears("is gone; its last figures stay");
    assert!(!here.exists(), "nothing is written where the ledger was");
    fs::write(away.join("teas/mint.scruple"), tea("50 g")).unwrap();
    fs::rename(&away, &here).unwrap();
    watching.hears("is there again");
    watching.hears("peppermint leaf 50 g, was 30 g");
    // It is listened to again.
    save_by_rename(&sandbox, "teas/mint.scruple", &tea("51 g"));
    watching.hears("peppermint leaf 51 g, was 50 g");
    let said = watching.end();
    assert!(!said.contains("left out"), "{said}");
}

#[test]
fn a_folder_that_is_deleted_and_made_again_is_heard() {
    let sandbox = ledger();
    let mut watching = watch(&sandbox);
    fs::remove_dir_all(at(&sandbox, "teas")).unwrap();
    watching.hears("teas/mint.scruple (gone)");
    watching.hears("left out");
    watching.hears("now no errors");
    fs::create_dir(at(&sandbox, "teas")).unwrap();
    fs::write(at(&sandbox, "teas/mint.scruple"), tea("60 g")).unwrap();
    watching.hears("teas/mint.scruple (new)");
    watching.hears("now no errors");
    save_by_rename(&sandbox, "teas/mint.scruple", &tea("61 g"));
    watching.hears("peppermint leaf 61 g, was 60 g");
    watching.end();
}

#[test]
fn a_branch_switch_and_the_last_commit_are_told() {
    let repository = Repository::new();
    repository
        .write("ledger/practice.scruple", PRACTICE)
        .write("ledger/herbs.scruple", HERBS)
        .write("ledger/teas/mint.scruple", &tea("30 g"))
        .commit("2026-09-01", "first");
    repository.git(&["switch", "--quiet", "--create", "autumn"]);
    repository.write("ledger/teas/mint.scruple", &tea("35 g"));
    repository.commit("2026-10-01", "more mint");
    let sandbox = &repository.sandbox;
    let mut watching = watch(sandbox);
    let begun = watching.said.lock().unwrap().clone();
    assert!(
        begun.contains("since the last commit: no formula differs"),
        "{begun}"
    );
    fs::write(at(sandbox, "teas/mint.scruple"), tea("36 g")).unwrap();
    watching.hears("since the last commit: 1 formula differs: mint tea");
    watching.hears("now no errors");
    fs::write(at(sandbox, "teas/mint.scruple"), tea("35 g")).unwrap();
    watching.hears("since the last commit: no formula differs");
    watching.hears("now no errors");
    repository.git(&["switch", "--quiet", "main"]);
    watching.hears("peppermint leaf 30 g, was 35 g");
    // The other branch has another last commit.
    watching.hears("since the last commit: no formula differs");
    watching.end();
}

#[cfg(unix)]
#[test]
fn totals_that_cant_be_written_are_tried_again() {
    use std::os::unix::fs::PermissionsExt;
    let sandbox = ledger()
        .allow(".", 0o755)
        .allow("ledger/teas", 0o555)
        .allow("ledger/teas/mint.scruple", 0o666);
    let run = sandbox
        .command(["watch", "--in", "ledger"])
        .columns(200)
        .unprivileged();
    let mut watching = Watching::begin(&run);
    let begun = watching.said.lock().unwrap().clone();
    assert!(
        begun.contains("teas/mint.totals.txt can't be written, and is tried again at the next save"),
        "{begun}"
    );
    fs::set_permissions(at(&sandbox, "teas"), fs::Permissions::from_mode(0o777)).unwrap();
    fs::write(at(&sandbox, "teas/mint.scruple"), tea("31 g")).unwrap();
    watching.hears("totals written: teas/mint.totals.txt");
    // A file that may no longer be read keeps its figures.
    fs::set_permissions(
        at(&sandbox, "teas/mint.scruple"),
        fs::Permissions::from_mode(0o000),
    )
    .unwrap();
    watching.hears("its figures of");
    watching.hears("unreadable-file");
    fs::set_permissions(
        at(&sandbox, "teas/mint.scruple"),
        fs::Permissions::from_mode(0o666),
    )
    .unwrap();
    watching.hears("now no errors");
    watching.end();
}

#[test]
fn without_a_line_in_the_practice_only_what_is_there_is_renewed() {
    let sandbox = ledger();
    fs::write(at(&sandbox, "practice.scruple"), "practice\n").unwrap();
    let mut watching = watch(&sandbox);
    fs::write(at(&sandbox, "teas/mint.scruple"), tea("31 g")).unwrap();
    watching.hears("was 30 g");
    watching.hears("now no errors");
    assert!(!at(&sandbox, "teas/mint.totals.txt").exists());
    sandbox.run(["totals", "--in", "ledger"]).status(0);
    fs::write(at(&sandbox, "teas/mint.scruple"), tea("32 g")).unwrap();
    watching.hears("totals written");
    watching.end();
}

#[test]
fn it_ends_when_the_system_wants_it_to_or_nobody_reads() {
    let sandbox = ledger();
    let mut watching = watch(&sandbox);
    watching.signal("TERM");
    assert_eq!(watching.wait(), Some(0));
    let run = sandbox.command(["watch", "--in", "ledger"]);
    let mut child = run.prepare().spawn().unwrap();
    let mut out = BufReader::new(child.stdout.take().unwrap());
    let mut line = String::new();
    out.read_line(&mut line).unwrap();
    assert!(line.contains("watching"), "{line}");
    drop(out);
    let begun = Instant::now();
    let mut grams = 31;
    while child.try_wait().unwrap().is_none() {
        assert!(begun.elapsed() < PATIENCE, "it goes on for nobody");
        fs::write(at(&sandbox, "teas/mint.scruple"), tea(&format!("{grams} g"))).unwrap();
        grams += 1;
        thread::sleep(Duration::from_millis(200));
    }
}

#[test]
fn it_refuses_forms_that_it_does_not_have() {
    let sandbox = ledger();
    for form in ["json", "sarif"] {
        sandbox
            .run(["watch", "--in", "ledger", "--as", form])
            .fails("goes on until you end it");
    }
    Sandbox::new().run(["watch"]).fails("there is no ledger");
}
