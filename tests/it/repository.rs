//! A git repository with a ledger in it, made with the real git, on days of the test's choosing.

use std::path::Path;
use std::process::Command;

use super::sandbox::{Ran, Run, Sandbox};

/// A herb and a tea of three herbs, told apart by their amounts.
pub const PRACTICE: &str = "practice\n  teaspoon   5 ml\n  cup   250 ml\n  scales   0.1 g\n";

/// A sandbox that is a git repository.
pub struct Repository {
    /// The folder.
    pub sandbox: Sandbox,
}

impl Repository {
    /// An empty one.
    pub fn new() -> Self {
        let made = Self {
            sandbox: Sandbox::new(),
        };
        made.git(&["init", "--quiet", "--initial-branch", "main"]);
        made
    }

    /// Writes a file.
    pub fn write(&self, path: &str, text: &str) -> &Self {
        let path = self.sandbox.path().join(path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
        self
    }

    /// Replaces words in a file; they must be there.
    pub fn edit(&self, path: &str, from: &str, to: &str) -> &Self {
        let text = std::fs::read_to_string(self.sandbox.path().join(path)).unwrap();
        assert!(text.contains(from), "`{from}` is not in {path}:\n{text}");
        self.write(path, &text.replace(from, to))
    }

    /// Removes a file.
    pub fn remove(&self, path: &str) -> &Self {
        std::fs::remove_file(self.sandbox.path().join(path)).unwrap();
        self
    }

    /// Commits everything, at noon of a day (UTC), and gives the commit's id.
    pub fn commit(&self, day: &str, message: &str) -> String {
        self.git(&["add", "--all"]);
        let at = format!("{day}T12:00:00+0000");
        let run = git_in(
            self.sandbox.path(),
            &["commit", "--quiet", "--allow-empty", "--message", message],
            &[("GIT_AUTHOR_DATE", &at), ("GIT_COMMITTER_DATE", &at)],
        );
        assert!(run.0, "{}", run.1);
        self.git(&["rev-parse", "HEAD"])
    }

    /// Runs git, which must succeed, and gives what it printed.
    pub fn git(&self, arguments: &[&str]) -> String {
        let (fine, said) = git_in(self.sandbox.path(), arguments, &[]);
        assert!(fine, "git {arguments:?}: {said}");
        said
    }

    /// Runs the program in the folder, by the clock of Greenwich.
    pub fn run(&self, arguments: &[&str]) -> Ran {
        self.command(arguments).run()
    }

    /// The program, to be run in the folder.
    pub fn command(&self, arguments: &[&str]) -> Run {
        self.sandbox.command(arguments).environment("TZ", "UTC")
    }
}

/// Runs git in a folder with nothing of the machine's own settings; whether it succeeded, and what it printed.
pub fn git_in(folder: &Path, arguments: &[&str], environment: &[(&str, &str)]) -> (bool, String) {
    let output = Command::new("git")
        .args(arguments)
        .current_dir(folder)
        .env("GIT_CONFIG_NOSYSTEM", "1")
        .env("GIT_CONFIG_GLOBAL", "/dev/null")
        .env("GIT_AUTHOR_NAME", "The Barn")
        .env("GIT_AUTHOR_EMAIL", "barn@example.org")
        .env("GIT_COMMITTER_NAME", "The Barn")
        .env("GIT_COMMITTER_EMAIL", "barn@example.org")
        .env("LC_ALL", "C")
        .env_remove("GIT_DIR")
        .env_remove("GIT_INDEX_FILE")
        .env_remove("GIT_WORK_TREE")
        .envs(environment.iter().copied())
        .output()
        .unwrap();
    let mut said = String::from_utf8_lossy(&output.stdout).trim_end().to_owned();
    if !output.status.success() {
        said.push_str(&String::from_utf8_lossy(&output.stderr));
    }
    (output.status.success(), said)
}
