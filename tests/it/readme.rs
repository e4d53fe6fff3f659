//! Runs what the README shows, and compares what it prints.
//!
//! `UPDATE_GENERATED=1 cargo test` writes the output into the README anew.

use std::path::Path;
use std::process::Command;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// A command's words, with quotes taken off.
fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    let mut word = String::new();
    let mut quoted = false;
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            ' ' if !quoted => {
                if !word.is_empty() {
                    words.push(std::mem::take(&mut word));
                }
            }
            _ => word.push(letter),
        }
    }
    if !word.is_empty() {
        words.push(word);
    }
    words
}

/// What a command of ours prints to the screen, run where it belongs.
fn printed(command: &str, folder: &Path) -> String {
    if let Some(script) = command.strip_prefix("sh ") {
        let (script, place) = script.split_once(' ').unwrap();
        let made = Command::new("sh")
            .arg(root().join(script))
            .arg(place)
            .current_dir(folder)
            .output()
            .unwrap();
        assert!(
            made.status.success(),
            "{command}\n{}",
            String::from_utf8_lossy(&made.stderr)
        );
        return String::from_utf8(made.stdout).unwrap();
    }
    let ours = command
        .strip_prefix("cargo run --release -- ")
        .or_else(|| command.strip_prefix("scruple "))
        .unwrap_or_else(|| panic!("the README shows a command that is not ours: {command}"));
    // What writes runs elsewhere; the examples stay where they are.
    let examples = |word: String| {
        let path = root().join(&word);
        if word.starts_with("examples/") && path.exists() {
            path.into_os_string()
        } else {
            word.into()
        }
    };
    let output = Command::new(env!("CARGO_BIN_EXE_scruple"))
        .args(words(ours).into_iter().map(|word| {
            if folder == root() {
                word.into()
            } else {
                examples(word)
            }
        }))
        .current_dir(folder)
        .env("COLUMNS", "80")
        .env("NO_COLOR", "1")
        .env("LC_ALL", "C.UTF-8")
        .env("TZ", "UTC")
        .output()
        .unwrap();
    assert!(
        output.status.code().is_some_and(|code| code < 2),
        "{command}\n{}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn the_readme_shows_what_the_program_prints() {
    let path = root().join("README.md");
    let text = std::fs::read_to_string(&path).unwrap();
    let elsewhere = tempfile::tempdir().unwrap();
    let mut out = String::new();
    let mut shown = 0;
    let mut lines = text.lines().peekable();
    while let Some(line) = lines.next() {
        out.push_str(line);
        out.push('\n');
        if line != "```console" {
            continue;
        }
        let block: Vec<&str> = std::iter::from_fn(|| lines.next_if(|line| *line != "```")).collect();
        let commands: Vec<&str> = block.iter().filter_map(|line| line.strip_prefix("$ ")).collect();
        let with_output = block.len() > commands.len() || commands.len() == 1;
        for command in commands {
            out.push_str("$ ");
            out.push_str(command);
            out.push('\n');
            if command == "cargo test" {
                continue;
            }
            let writes = command.contains(" begin") || command.ends_with("my-year");
            let folder = if writes || command.contains(" publish ") {
                elsewhere.path()
            } else {
                root()
            };
            let result = printed(command, folder);
            shown += 1;
            // `begin` names a folder of its own; that it runs is enough.
            if with_output && !command.contains(" begin") {
                out.push_str(result.trim_end());
                out.push('\n');
            }
        }
    }
    assert!(shown >= 4, "the README shows the program at work");
    if std::env::var_os("UPDATE_GENERATED").is_some() {
        std::fs::write(&path, &out).unwrap();
    }
    assert!(
        out == text,
        "README.md shows something else than the program prints; UPDATE_GENERATED=1 cargo test writes it anew:\n{}",
        similar::TextDiff::from_lines(&text, &out).unified_diff()
    );
}

#[test]
fn the_ledger_in_the_readme_is_clean() {
    let text = std::fs::read_to_string(root().join("README.md")).unwrap();
    let block = text
        .split("```scruple\n")
        .nth(1)
        .unwrap()
        .split("```")
        .next()
        .unwrap();
    let snapshot = scruple::workspace::Snapshot::of([("readme.scruple".to_owned(), block.into())]);
    let found: Vec<_> = snapshot.diagnostics.iter().map(|one| &one.message).collect();
    assert!(found.is_empty(), "{found:?}");
    assert!(snapshot.figures.of(0).is_some());
}
