//! House rules, read from the source itself: who may import whom, one door for each dependency,
//! and what may not stand in the repository.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;

use scruple::diagnostic::Severity;
use scruple::source::Sources;
use scruple::syntax;

/// The levels of the code. A module imports from levels to the left of its own only; the members
/// of one level ignore one another.
const LEVELS: &[&[&str]] = &[
    &["source", "naming", "difference", "parallel", "render", "code"],
    &["quantity", "diagnostic"],
    &["syntax"],
    &["merge", "model", "tidy"],
    &["compute", "reference"],
    &["book"],
    &["check", "exercise"],
    &["workspace"],
    &["compare", "revision"],
    &["history", "watch"],
    &["view"],
    &["exchange", "publish", "totals"],
    &["editor"],
    &["lsp"],
    &["cli"],
];

/// Which files may name a dependency: a file, or a folder that ends in a slash.
const DOORS: &[(&str, &[&str])] = &[
    ("clap", &["cli/"]),
    ("csv", &["exchange/"]),
    ("ctrlc", &["watch/signals.rs"]),
    ("indicatif", &["cli/terminal.rs"]),
    (
        "jiff",
        &[
            "syntax/tree.rs",
            "syntax/line.rs",
            "syntax/head.rs",
            "syntax/day.rs",
            "revision/",
        ],
    ),
    ("lsp_server", &["lsp/"]),
    ("lsp_types", &["lsp/"]),
    ("miette", &["cli/report.rs"]),
    ("notify", &["watch/signals.rs"]),
    ("pest", &["syntax/grammar.rs"]),
    ("pest_derive", &["syntax/grammar.rs"]),
    ("qrcode", &["render/code.rs"]),
    ("rayon", &["parallel.rs"]),
    ("rust_decimal", &["quantity/"]),
    ("serde", &["view/", "lsp/", "cli/"]),
    ("serde_json", &["view/", "lsp/", "cli/"]),
    ("similar", &["difference.rs"]),
    ("strsim", &["naming.rs"]),
    ("tempfile", &["workspace/"]),
    ("terminal_size", &["cli/terminal.rs"]),
    ("unicode_normalization", &["naming.rs"]),
    ("unicode_width", &["render/"]),
    ("walkdir", &["workspace/"]),
];

/// How many lines a file may have, tests aside.
const WALL: usize = 650;

/// What may stand at the top of the repository.
const TOP: &[&str] = &[
    ".ci",
    ".gitignore",
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "clippy.toml",
    "editors",
    "examples",
    "grammar",
    "rustfmt.toml",
    "src",
    "tests",
];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// All files below a folder, by their path inside it.
fn files_below(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(open) = folders.pop() {
        for item in std::fs::read_dir(&open).unwrap() {
            let path = item.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else {
                found.push(path.strip_prefix(folder).unwrap().to_path_buf());
            }
        }
    }
    found.sort();
    found
}

fn with_slashes(path: &Path) -> String {
    path.iter()
        .map(|part| part.to_string_lossy())
        .collect::<Vec<_>>()
        .join("/")
}

/// The files of the repository: what git keeps or would keep; without git, all but what is built.
fn repository() -> Vec<String> {
    if root().join(".git").exists() {
        let listed = Command::new("git")
            .args(["ls-files", "--cached", "--others", "--exclude-standard", "-z"])
            .current_dir(root())
            .output()
            .unwrap();
        assert!(listed.status.success(), "git can't list its files");
        let names = String::from_utf8(listed.stdout).unwrap();
        return names
            .split('\0')
            .filter(|name| root().join(name).is_file())
            .map(str::to_owned)
            .collect();
    }
    let mut names = Vec::new();
    for item in std::fs::read_dir(root()).unwrap() {
        let path = item.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if name == "target" {
            continue;
        }
        if path.is_dir() {
            names.extend(
                files_below(&path)
                    .iter()
                    .map(|inside| format!("{name}/{}", with_slashes(inside))),
            );
        } else {
            names.push(name);
        }
    }
    names
}

/// A source file: its path below `src` and its text.
struct File {
    path: String,
    text: String,
}

impl File {
    /// The module of the crate that it belongs to; nothing for the crate's own two files.
    fn module(&self) -> Option<&str> {
        let first = self.path.split('/').next()?;
        let module = first.strip_suffix(".rs").unwrap_or(first);
        (!matches!(module, "lib" | "main")).then_some(module)
    }

    /// How deep below the crate its module lies.
    fn depth(&self) -> usize {
        let parts = self.path.split('/').count();
        if self.path.ends_with("/mod.rs") {
            parts - 1
        } else {
            parts
        }
    }

    fn is_tests(&self) -> bool {
        self.path.ends_with("tests.rs")
    }

    /// The text without its tests, which stand last.
    fn program(&self) -> &str {
        if self.is_tests() {
            return "";
        }
        let tests = self.text.find("#[cfg(test)]\nmod ").filter(|at| {
            // `mod tests;` in the middle of a file is no end of it.
            self.text[*at..]
                .lines()
                .nth(1)
                .is_some_and(|line| line.ends_with('{'))
        });
        &self.text[..tests.unwrap_or(self.text.len())]
    }

    /// The program without comments, with what stands in strings left in.
    fn code(&self) -> String {
        self.program()
            .lines()
            .map(|line| {
                if line.trim_start().starts_with("//") {
                    ""
                } else {
                    line
                }
            })
            .collect::<Vec<_>>()
            .join("\n")
    }

    /// The line, counted from one, in which a byte of the code stands.
    fn line(code: &str, at: usize) -> usize {
        code[..at].matches('\n').count() + 1
    }
}

fn sources() -> Vec<File> {
    let src = root().join("src");
    let files: Vec<File> = files_below(&src)
        .into_iter()
        .filter(|path| path.extension().is_some_and(|end| end == "rs"))
        .map(|path| File {
            text: std::fs::read_to_string(src.join(&path)).unwrap(),
            path: with_slashes(&path),
        })
        .collect();
    assert!(files.len() > 40, "the source is not where it should be");
    files
}

/// Fails with a list that people can read.
fn none(rule: &str, faults: &[String]) {
    assert!(faults.is_empty(), "{rule}:\n  {}", faults.join("\n  "));
}

fn word_at(text: &str, at: usize) -> &str {
    let rest = &text[at..];
    let end = rest
        .find(|letter: char| !(letter.is_alphanumeric() || letter == '_'))
        .unwrap_or(rest.len());
    &rest[..end]
}

/// Whether what stands before a place ends a word or a path.
fn opens(code: &str, at: usize) -> bool {
    !code[..at].ends_with(|letter: char| letter.is_alphanumeric() || matches!(letter, '_' | ':' | '$'))
}

/// The modules that `crate::…` names, with the place of each.
fn imports(code: &str) -> Vec<(usize, String)> {
    let mut found = Vec::new();
    for (at, path) in code.match_indices("crate::") {
        let after = at + path.len();
        if !opens(code, at) {
            continue;
        }
        match code[after..].strip_prefix('{') {
            // `crate::{a, b::c}`: the first word of each item.
            Some(group) => {
                let mut depth = 1_usize;
                let mut starts = true;
                for (offset, letter) in group.char_indices() {
                    match letter {
                        '{' => depth += 1,
                        '}' => depth -= 1,
                        ',' if depth == 1 => starts = true,
                        _ if starts && depth == 1 && letter.is_alphabetic() => {
                            found.push((at, word_at(group, offset).to_owned()));
                            starts = false;
                        }
                        _ => {}
                    }
                    if depth == 0 {
                        break;
                    }
                }
            }
            None => found.push((at, word_at(code, after).to_owned())),
        }
    }
    found
}

fn level(module: &str) -> Option<usize> {
    LEVELS.iter().position(|members| members.contains(&module))
}

#[test]
fn modules_import_only_from_the_left() {
    let mut faults = Vec::new();
    let mut modules = BTreeSet::new();
    for file in &sources() {
        let Some(module) = file.module() else { continue };
        modules.insert(module.to_owned());
        let Some(own) = level(module) else {
            faults.push(format!("{}: the module `{module}` has no level", file.path));
            continue;
        };
        let code = file.code();
        for (at, other) in imports(&code) {
            let fine = other == module || level(&other).is_some_and(|theirs| theirs < own);
            if !fine {
                faults.push(format!(
                    "{}:{}: `{module}` imports `{other}`",
                    file.path,
                    File::line(&code, at)
                ));
            }
        }
        // `super::super::…` must not climb to the crate either.
        for (at, _) in code.match_indices("super::") {
            if code[..at].ends_with("super::") || !opens(&code, at) {
                continue;
            }
            let climbs = code[at..].split("::").take_while(|step| *step == "super").count();
            if climbs >= file.depth() {
                faults.push(format!(
                    "{}:{}: `super` climbs out of `{module}`",
                    file.path,
                    File::line(&code, at)
                ));
            }
        }
    }
    none(
        "a module imports only from levels to the left of its own",
        &faults,
    );
    let listed: BTreeSet<String> = LEVELS
        .iter()
        .flat_map(|members| members.iter().map(|name| (*name).to_owned()))
        .collect();
    assert_eq!(modules, listed, "the table and the modules differ");
}

/// The levels in one line, as `DEVELOPERS.md` shows them.
fn levels_in_words() -> String {
    LEVELS
        .iter()
        .map(|members| members.join(", "))
        .collect::<Vec<_>>()
        .join(" ← ")
}

#[test]
fn the_guide_shows_the_levels() {
    let guide = std::fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let guide = guide.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        guide.contains(&format!("`{}`", levels_in_words())),
        "DEVELOPERS.md should say: `{}`",
        levels_in_words()
    );
}

/// The dependencies of the program, as they are spelled in code.
fn dependencies() -> Vec<String> {
    let manifest = std::fs::read_to_string(root().join("Cargo.toml")).unwrap();
    let (_, table) = manifest.split_once("[dependencies]\n").unwrap();
    table
        .lines()
        .take_while(|line| !line.starts_with('['))
        .filter_map(|line| line.split_once(" = "))
        .map(|(name, _)| name.trim().replace('-', "_"))
        .collect()
}

#[test]
fn each_dependency_has_one_door() {
    let listed: Vec<String> = DOORS.iter().map(|(name, _)| (*name).to_owned()).collect();
    assert_eq!(dependencies(), listed, "the doors and Cargo.toml differ");
    let mut faults = Vec::new();
    let mut used = BTreeSet::new();
    for file in &sources() {
        let code = file.code();
        for (name, doors) in DOORS {
            let named = code.match_indices(name).find(|(at, _)| {
                opens(&code, *at)
                    && word_at(&code, *at) == *name
                    && code[at + name.len()..].trim_start().starts_with("::")
                    || code[..*at].ends_with("use ") && code[at + name.len()..].starts_with(';')
            });
            let Some((at, _)) = named else { continue };
            used.insert(*name);
            let through = doors
                .iter()
                .any(|door| file.path == *door || door.ends_with('/') && file.path.starts_with(door));
            if !through {
                faults.push(format!(
                    "{}:{}: `{name}` is named outside {}",
                    file.path,
                    File::line(&code, at),
                    doors.join(", ")
                ));
            }
        }
    }
    for (name, _) in DOORS {
        if !used.contains(name) {
            faults.push(format!("`{name}` is used nowhere"));
        }
    }
    none("each dependency has one door", &faults);
}

#[test]
fn every_file_says_what_it_is() {
    let tests = root().join("tests/it");
    let mut faults = Vec::new();
    let mut look = |path: String, text: &str| {
        let first = text.lines().next().unwrap_or_default();
        if !first.starts_with("//! ") {
            faults.push(format!("{path} begins with `{first}`"));
        }
    };
    for file in &sources() {
        look(format!("src/{}", file.path), &file.text);
    }
    for path in files_below(&tests)
        .iter()
        .filter(|path| path.extension().is_some_and(|end| end == "rs"))
    {
        look(
            format!("tests/it/{}", with_slashes(path)),
            &std::fs::read_to_string(tests.join(path)).unwrap(),
        );
    }
    none(
        "every file begins with `//!` and a sentence that says what it turns into what",
        &faults,
    );
}

#[test]
fn no_file_passes_the_wall() {
    let mut long: Vec<(usize, String)> = sources()
        .iter()
        .map(|file| (file.program().lines().count(), file.path.clone()))
        .filter(|(lines, _)| *lines > WALL)
        .collect();
    long.sort_by(|a, b| b.cmp(a));
    let faults: Vec<String> = long
        .into_iter()
        .map(|(lines, path)| format!("src/{path} has {lines} lines without its tests"))
        .collect();
    none(&format!("a file has at most {WALL} lines"), &faults);
}

#[test]
fn nothing_is_left_to_do() {
    // Put together here, so that this file does not hold them.
    let left = ["todo", "dbg", "unimplemented"].map(|word| format!("{word}!"));
    let mut faults = Vec::new();
    let is_code = |name: &&String| Path::new(name).extension().is_some_and(|end| end == "rs");
    for name in repository().iter().filter(is_code) {
        let text = std::fs::read_to_string(root().join(name)).unwrap();
        for word in &left {
            for (at, _) in text
                .match_indices(word.as_str())
                .filter(|(at, _)| opens(&text, *at))
            {
                faults.push(format!("{name}:{}: `{word}`", File::line(&text, at)));
            }
        }
    }
    none("nothing is left to do", &faults);
}

#[test]
fn no_file_speaks_of_where_it_was_made() {
    // Machine paths, and hosts from which a build downloads; put together here, so that this file holds none.
    let paths = ["work", "tmp", "root"].map(|folder| format!("/{folder}/"));
    let hosts = [["crates", "io"], ["pypi", "org"]]
        .map(|host| host.join("."))
        .into_iter()
        .chain([format!("{}{}", "npm", "js")]);
    let anywhere: Vec<String> = paths.into_iter().chain(hosts).collect();
    let spoken = format!("{}{}", "trans", "cript");
    let mut faults = Vec::new();
    let mut read = 0;
    for name in repository() {
        // The lock file names the registry by design.
        if name == "Cargo.lock" {
            continue;
        }
        let bytes = std::fs::read(root().join(&name)).unwrap();
        let text = String::from_utf8_lossy(&bytes);
        read += 1;
        let inner = ["src/", "examples/", "grammar/"]
            .iter()
            .any(|folder| name.starts_with(folder));
        let words = anywhere.iter().chain(inner.then_some(&spoken));
        for word in words {
            for (line, content) in text.lines().enumerate() {
                if content.to_lowercase().contains(word.as_str()) {
                    faults.push(format!("{name}:{}: `{word}`", line + 1));
                }
            }
        }
    }
    assert!(read > 100, "the repository is not where it should be");
    none("no file speaks of where it was made", &faults);
}

#[test]
fn the_top_holds_what_was_agreed() {
    let found: BTreeSet<String> = repository()
        .iter()
        .filter_map(|name| name.split('/').next())
        .map(str::to_owned)
        .collect();
    let stray: Vec<String> = found
        .iter()
        .filter(|name| !TOP.contains(&name.as_str()))
        .cloned()
        .collect();
    none("the top of the repository holds only what was agreed", &stray);
}

/// The constants of the codes with their names, as `src/code.rs` lists them.
fn codes(files: &[File]) -> BTreeMap<String, String> {
    let list = files.iter().find(|file| file.path == "code.rs").unwrap();
    let (_, list) = list.program().split_once("codes! {").unwrap();
    let codes: BTreeMap<String, String> = list
        .lines()
        .filter_map(|line| line.trim().strip_suffix("\";")?.split_once(" = \""))
        .map(|(constant, name)| (constant.to_owned(), name.to_owned()))
        .collect();
    assert_eq!(
        codes.len(),
        scruple::code::ALL.len(),
        "the list of codes could not be read"
    );
    codes
}

#[test]
fn every_code_is_raised() {
    let files = sources();
    let mut faults = Vec::new();
    for (constant, name) in codes(&files) {
        assert_eq!(
            constant.to_lowercase().replace('_', "-"),
            name,
            "a constant is named after its code"
        );
        let raised = files.iter().filter(|file| file.path != "code.rs").any(|file| {
            let code = file.code();
            code.match_indices(&constant).any(|(at, _)| {
                word_at(&code, at) == constant
                    && !code[..at].ends_with(|letter: char| letter.is_alphanumeric() || letter == '_')
            })
        });
        if !raised {
            faults.push(format!("`{name}` is listed, and nothing raises it"));
        }
    }
    none("every code is raised somewhere", &faults);
}

#[test]
fn every_page_belongs_to_a_code() {
    let pages: BTreeSet<String> = files_below(&root().join("grammar/findings"))
        .iter()
        .map(|page| with_slashes(page))
        .collect();
    let wanted: BTreeSet<String> = scruple::code::ALL
        .iter()
        .map(|code| format!("{}.md", code.name()))
        .collect();
    assert_eq!(pages, wanted);
}

#[test]
fn examples_can_be_read() {
    let examples = root().join("examples");
    let mut read = 0;
    let mut faults = Vec::new();
    for path in files_below(&examples) {
        let name = with_slashes(&path);
        if !name.ends_with(".scruple") || name.starts_with("broken/") {
            continue;
        }
        let text = std::fs::read_to_string(examples.join(&path)).unwrap();
        let mut sources = Sources::default();
        let file = sources.add(&name, text.as_str().into());
        let (tree, findings) = syntax::parse(file, &text);
        read += 1;
        if tree.entries.is_empty() {
            faults.push(format!("{name} holds nothing"));
        }
        for one in findings.iter().filter(|one| one.severity == Severity::Error) {
            faults.push(format!(
                "{}: {}: {}",
                sources.address(one.span),
                one.code,
                one.message
            ));
        }
    }
    assert!(read > 10, "the examples are not where they should be");
    none("every example can be read", &faults);
}

/// The rules above find what they look for.
#[test]
fn the_rules_see_what_they_should() {
    let file = |path: &str, text: &str| File {
        path: path.to_owned(),
        text: text.to_owned(),
    };
    let names = |text: &str| {
        imports(text)
            .into_iter()
            .map(|(_, name)| name)
            .collect::<Vec<_>>()
    };
    assert_eq!(
        names("use crate::model::{Ledger, Bound};\nlet x = crate::view::sheet();"),
        ["model", "view"]
    );
    assert_eq!(
        names("use crate::{source, model::{self, Bound}, view};"),
        ["source", "model", "view"]
    );
    assert!(names("$crate::model").is_empty());
    let tested = file(
        "compute/blend.rs",
        "//! x\nuse crate::model;\n// crate::cli\n#[cfg(test)]\nmod tests {\n use crate::cli;\n}\n",
    );
    assert_eq!(names(&tested.code()), ["model"]);
    assert_eq!((tested.module(), tested.depth()), (Some("compute"), 2));
    assert_eq!(file("compute/mod.rs", "").depth(), 1);
    assert_eq!(file("source.rs", "").depth(), 1);
    assert_eq!(file("lib.rs", "").module(), None);
    let words = levels_in_words();
    assert!(words.starts_with("source, naming") && words.ends_with("totals ← editor ← lsp ← cli"));
}
