//! Runs the real program in a folder of its own, and holds what it said and how it ended.

use std::ffi::{OsStr, OsString};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use tempfile::TempDir;

/// How long a run may take before it is killed; generous, since it only has to catch a hang.
const PATIENCE: Duration = Duration::from_secs(60);

/// How much address space a run may have, in KiB: what would eat the machine fails the test.
const MEMORY_KIB: &str = "4194304";

/// The user that owns nothing, by the custom of most systems.
#[cfg(unix)]
const NOBODY: u32 = 65534;

/// Whether the tests are run by the one who may do everything.
#[cfg(unix)]
pub fn is_superuser() -> bool {
    use std::os::unix::fs::MetadataExt;
    let probe = tempfile::NamedTempFile::new().unwrap();
    probe.as_file().metadata().unwrap().uid() == 0
}

/// A folder with files that goes away with the test.
pub struct Sandbox {
    folder: TempDir,
}

impl Sandbox {
    /// An empty folder.
    pub fn new() -> Self {
        Self {
            folder: tempfile::Builder::new().prefix("sandbox").tempdir().unwrap(),
        }
    }

    /// Writes a file, with the folders that it lies in.
    #[must_use]
    pub fn file(self, path: &str, text: impl AsRef<[u8]>) -> Self {
        let path = self.path().join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
        self
    }

    /// Makes an empty folder.
    #[must_use]
    pub fn folder(self, path: &str) -> Self {
        std::fs::create_dir_all(self.path().join(path)).unwrap();
        self
    }

    /// Says who may do what with a file or folder, as the octal digits of `chmod`; for the folder
    /// of the sandbox itself, name it `.`.
    #[cfg(unix)]
    #[must_use]
    pub fn allow(self, path: &str, mode: u32) -> Self {
        use std::os::unix::fs::PermissionsExt;
        std::fs::set_permissions(self.path().join(path), std::fs::Permissions::from_mode(mode)).unwrap();
        self
    }

    /// Makes a symbolic link.
    #[cfg(unix)]
    #[must_use]
    pub fn link(self, path: &str, to: impl AsRef<Path>) -> Self {
        std::os::unix::fs::symlink(to, self.path().join(path)).unwrap();
        self
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// A command to be run in the folder.
    pub fn command<S: AsRef<OsStr>>(&self, arguments: impl IntoIterator<Item = S>) -> Run {
        Run::at(self.path(), arguments)
    }

    /// Runs the program in the folder, on a page of 80 columns.
    pub fn run<S: AsRef<OsStr>>(&self, arguments: impl IntoIterator<Item = S>) -> Ran {
        self.command(arguments).run()
    }

    /// Every file below the folder with its bytes, in the order of names; also hidden ones.
    pub fn files(&self) -> Vec<(String, Vec<u8>)> {
        let mut found = Vec::new();
        collect(self.path(), self.path(), &mut found);
        found.sort();
        found
    }
}

fn collect(root: &Path, folder: &Path, found: &mut Vec<(String, Vec<u8>)>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            collect(root, &path, found);
        } else {
            let name = path.strip_prefix(root).unwrap().to_string_lossy().into_owned();
            found.push((name, std::fs::read(&path).unwrap()));
        }
    }
}

/// The project's own folder, where the examples are.
pub fn project() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Runs the program among the project's own files.
pub fn in_project<S: AsRef<OsStr>>(arguments: impl IntoIterator<Item = S>) -> Run {
    Run::at(&project(), arguments)
}

/// A run that is being prepared.
pub struct Run {
    folder: PathBuf,
    arguments: Vec<OsString>,
    environment: Vec<(String, String)>,
    unprivileged: Option<TempDir>,
}

impl Run {
    fn at<S: AsRef<OsStr>>(folder: &Path, arguments: impl IntoIterator<Item = S>) -> Self {
        Self {
            folder: folder.to_owned(),
            arguments: arguments.into_iter().map(|one| one.as_ref().to_owned()).collect(),
            environment: Vec::new(),
            unprivileged: None,
        }
    }

    /// By somebody who is not allowed everything: the tests may be run by the superuser, for whom
    /// no file is unreadable. The program is copied to where that somebody can reach it.
    #[cfg(unix)]
    #[must_use]
    pub fn unprivileged(mut self) -> Self {
        use std::os::unix::fs::PermissionsExt;
        if is_superuser() {
            let place = TempDir::new().unwrap();
            let open = std::fs::Permissions::from_mode(0o755);
            std::fs::set_permissions(place.path(), open.clone()).unwrap();
            let program = place.path().join("scruple");
            std::fs::copy(env!("CARGO_BIN_EXE_scruple"), &program).unwrap();
            std::fs::set_permissions(program, open).unwrap();
            self.unprivileged = Some(place);
        }
        self
    }

    /// In a folder below the sandbox.
    #[must_use]
    pub fn below(mut self, folder: &str) -> Self {
        self.folder = self.folder.join(folder);
        self
    }

    /// In any other folder.
    #[must_use]
    pub fn in_folder(mut self, folder: &str) -> Self {
        self.folder = PathBuf::from(folder);
        self
    }

    /// With a variable of the environment.
    #[must_use]
    pub fn environment(mut self, name: &str, value: &str) -> Self {
        self.environment.push((name.to_owned(), value.to_owned()));
        self
    }

    /// On a page of this width.
    #[must_use]
    pub fn columns(self, width: usize) -> Self {
        self.environment("COLUMNS", &width.to_string())
    }

    /// The command as the standard library knows it.
    pub fn prepare(&self) -> Command {
        let program = match &self.unprivileged {
            Some(place) => place.path().join("scruple"),
            None => PathBuf::from(env!("CARGO_BIN_EXE_scruple")),
        };
        let mut command = if cfg!(target_os = "linux") {
            let mut bounded = Command::new("/bin/sh");
            bounded
                .args(["-c", "ulimit -v \"$1\"; shift; exec \"$@\"", "sh", MEMORY_KIB])
                .arg(program);
            bounded
        } else {
            Command::new(program)
        };
        command
            .args(&self.arguments)
            .current_dir(&self.folder)
            .env_clear()
            .env("PATH", std::env::var_os("PATH").unwrap_or_default())
            .env("COLUMNS", "80")
            .env("NO_COLOR", "1")
            .env("LC_ALL", "C.UTF-8")
            .envs(self.environment.iter().cloned())
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        #[cfg(unix)]
        if self.unprivileged.is_some() {
            use std::os::unix::process::CommandExt;
            command.uid(NOBODY).gid(NOBODY);
        }
        command
    }

    /// Runs it to its end; whatever it is given, it must end by itself, by one of its three
    /// documented exit codes, and without anything that a terminal would obey.
    pub fn run(self) -> Ran {
        let child = self.prepare().spawn().unwrap();
        let (status, stdout, stderr) = wait(child);
        let shown = format!("{:?}", self.arguments);
        let text = |bytes: Vec<u8>| {
            String::from_utf8(bytes).unwrap_or_else(|_| panic!("{shown} printed what is no UTF-8"))
        };
        let ran = Ran {
            stdout: text(stdout),
            stderr: text(stderr),
            status: status.unwrap_or_else(|| panic!("{shown} was ended by a signal")),
            shown: shown.clone(),
        };
        assert!(
            matches!(ran.status, 0..=2),
            "{shown} ended with {}\n{}",
            ran.status,
            shortened(&ran.stderr)
        );
        for (name, said) in [("stdout", &ran.stdout), ("stderr", &ran.stderr)] {
            assert!(
                !said.contains("panicked at"),
                "{shown} panicked: {}",
                shortened(said)
            );
            // Rows (RFC 4180) and calendars (RFC 5545) end their lines in CRLF; nothing else does.
            let lines_end_in_crlf = self.arguments.iter().any(|word| {
                ["csv", "ics"]
                    .iter()
                    .any(|form| word.as_os_str() == OsStr::new(form))
            });
            let said = if lines_end_in_crlf {
                said.replace("\r\n", "\n")
            } else {
                said.clone()
            };
            if let Some(bad) = said.chars().find(|letter| obeyed(*letter)) {
                panic!("{shown}: {name} holds {bad:?} raw");
            }
        }
        ran
    }
}

/// Whether a terminal would obey a character, or let it turn the order of others round.
fn obeyed(letter: char) -> bool {
    (letter.is_control() && letter != '\n')
        || matches!(letter, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{200e}' | '\u{200f}' | '\u{61c}')
}

/// Waits for a child while reading all that it prints; kills it when the patience is at an end.
pub fn wait(mut child: Child) -> (Option<i32>, Vec<u8>, Vec<u8>) {
    let mut out = child.stdout.take().unwrap();
    let mut err = child.stderr.take().unwrap();
    let out = thread::spawn(move || {
        let mut bytes = Vec::new();
        out.read_to_end(&mut bytes).unwrap();
        bytes
    });
    let err = thread::spawn(move || {
        let mut bytes = Vec::new();
        err.read_to_end(&mut bytes).unwrap();
        bytes
    });
    let begun = Instant::now();
    let status = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        if begun.elapsed() > PATIENCE {
            child.kill().unwrap();
            child.wait().unwrap();
            panic!("killed after {} s: it hangs", PATIENCE.as_secs());
        }
        thread::sleep(Duration::from_millis(3));
    };
    (status.code(), out.join().unwrap(), err.join().unwrap())
}

/// What a run said, and how it ended.
#[derive(Debug)]
pub struct Ran {
    /// What it printed.
    pub stdout: String,
    /// What it complained of.
    pub stderr: String,
    /// Its exit code.
    pub status: i32,
    shown: String,
}

impl Ran {
    /// It ended with this code.
    #[track_caller]
    pub fn status(&self, expected: i32) -> &Self {
        assert_eq!(
            self.status,
            expected,
            "{} ended otherwise\n--- stdout\n{}\n--- stderr\n{}",
            self.shown,
            shortened(&self.stdout),
            shortened(&self.stderr)
        );
        self
    }

    /// It printed exactly this.
    #[track_caller]
    pub fn stdout(&self, expected: &str) -> &Self {
        same(&self.shown, "stdout", expected, &self.stdout);
        self
    }

    /// It complained of exactly this.
    #[track_caller]
    pub fn stderr(&self, expected: &str) -> &Self {
        same(&self.shown, "stderr", expected, &self.stderr);
        self
    }

    /// It printed this somewhere.
    #[track_caller]
    pub fn says(&self, expected: &str) -> &Self {
        assert!(
            self.stdout.contains(expected),
            "{} does not say {expected:?}\n--- stdout\n{}\n--- stderr\n{}",
            self.shown,
            shortened(&self.stdout),
            shortened(&self.stderr)
        );
        self
    }

    /// It did not print this anywhere.
    #[track_caller]
    pub fn never_says(&self, unwanted: &str) -> &Self {
        assert!(
            !self.stdout.contains(unwanted) && !self.stderr.contains(unwanted),
            "{} says {unwanted:?}\n--- stdout\n{}\n--- stderr\n{}",
            self.shown,
            shortened(&self.stdout),
            shortened(&self.stderr)
        );
        self
    }

    /// It complained of this somewhere.
    #[track_caller]
    pub fn complains(&self, expected: &str) -> &Self {
        assert!(
            self.stderr.contains(expected),
            "{} does not complain {expected:?}\n--- stdout\n{}\n--- stderr\n{}",
            self.shown,
            shortened(&self.stdout),
            shortened(&self.stderr)
        );
        self
    }

    /// It could not run: code 2, nothing printed, what went wrong and a way out on the error stream.
    #[track_caller]
    pub fn fails(&self, expected: &str) -> &Self {
        self.status(2).stdout("").complains(expected);
        assert!(
            self.stderr.starts_with("scruple: ") && self.stderr.contains("\n  help: "),
            "{} gives no way out:\n{}",
            self.shown,
            self.stderr
        );
        self
    }

    /// What it printed, as JSON.
    #[track_caller]
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.stdout).unwrap_or_else(|error| {
            panic!(
                "{} printed no JSON: {error}\n{}{}",
                self.shown,
                shortened(&self.stdout),
                shortened(&self.stderr)
            )
        })
    }

    /// The codes of the findings that it printed as JSON, in order.
    #[track_caller]
    pub fn codes(&self) -> Vec<String> {
        self.json()["findings"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| one["code"].as_str().unwrap().to_owned())
            .collect()
    }
}

#[track_caller]
fn same(shown: &str, name: &str, expected: &str, found: &str) {
    if expected != found {
        let difference = similar::TextDiff::from_lines(expected, found)
            .unified_diff()
            .header("expected", name)
            .to_string();
        panic!("{shown}: {name} differs\n{difference}");
    }
}

/// The beginning of a long text: enough to see what it is.
pub fn shortened(text: &str) -> String {
    const ENOUGH: usize = 4000;
    if text.chars().count() <= ENOUGH {
        return text.to_owned();
    }
    let kept: String = text.chars().take(ENOUGH).collect();
    format!("{kept}\n[... {} bytes in all]", text.len())
}

/// A child that reads only the first line of what the program prints, and goes away.
pub fn first_line_only(run: &Run) -> (Option<i32>, Vec<u8>) {
    let mut child = run.prepare().spawn().unwrap();
    let mut out = child.stdout.take().unwrap();
    let mut one = [0_u8; 1];
    out.read_exact(&mut one).unwrap();
    drop(out);
    let mut said = Vec::new();
    child.stderr.take().unwrap().read_to_end(&mut said).unwrap();
    (child.wait().unwrap().code(), said)
}

/// Writes many bytes without holding them: `count` times the same piece.
pub fn write_many(path: &Path, piece: &[u8], count: usize) {
    let mut file = std::io::BufWriter::new(std::fs::File::create(path).unwrap());
    for _ in 0..count {
        file.write_all(piece).unwrap();
    }
    file.flush().unwrap();
}
