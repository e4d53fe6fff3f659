//! The one door to git: reads revisions through its plumbing, never through output made for people;
//! writes nothing but settings.

use std::ffi::OsStr;
use std::io::{self, BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};

use crate::compute::batch::Refusal;

/// A git repository that a ledger lies in; it may be bare, shallow or partial.
#[derive(Debug, Clone)]
pub struct Repository {
    /// Where git is run.
    folder: PathBuf,
    /// Where the ledger lies in the tree: nothing for the top, else `a/b/`.
    pub prefix: String,
    /// The one file that is the ledger, where it is no folder.
    pub only: Option<String>,
    /// Whether its history is cut off.
    pub is_shallow: bool,
}

/// A commit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Commit {
    /// Its name, 40 or 64 hexadecimal digits.
    pub id: String,
    /// When it was committed, in seconds since 1970 (UTC).
    pub seconds: i64,
    /// Who wrote it.
    pub author: String,
    /// The first line of its message.
    pub subject: String,
    /// The name of its tree.
    pub tree: String,
    /// The commits that it follows; several for a merge.
    pub parents: Vec<String>,
}

/// A file as it is staged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Staged {
    /// Its path from the top of the repository.
    pub path: String,
    /// Its kind as git writes it: `100644` for a file, `120000` for a link.
    pub mode: String,
    /// The name of its content.
    pub id: String,
}

/// What stands in the index.
struct Indexed {
    /// `H` for a file that is laid out, `S` for one that is not, as git writes it.
    tag: String,
    file: Staged,
    /// `0`, unless a merge of it is not finished.
    stage: String,
}

impl Commit {
    /// Enough of its name to tell it by.
    pub fn short(&self) -> &str {
        self.id.get(..10).unwrap_or(&self.id)
    }
}

impl Repository {
    /// The repository that a ledger lies in, a folder or one file; nothing if it lies in none.
    ///
    /// # Errors
    /// [`Refusal`] where git is not installed or refuses to work here.
    pub fn of(ledger: &Path) -> Result<Option<Self>, Refusal> {
        let only = ledger.is_file().then(|| ledger.file_name()).flatten();
        let folder = match ledger.parent() {
            Some(parent) if only.is_some() && parent.as_os_str().is_empty() => Path::new("."),
            Some(parent) if only.is_some() => parent,
            _ => ledger,
        };
        let asked = run(
            folder,
            [
                "rev-parse",
                "--is-bare-repository",
                "--is-shallow-repository",
                "--show-prefix",
            ],
        )?;
        if !asked.success {
            let complaint = run(folder, ["rev-parse", "--git-dir"])?.complaint;
            let says = |words: &str| complaint.contains(words);
            if says("dubious ownership") || says("safe.directory") {
                return Err(Refusal::new(
                    "git does not read this repository: it belongs to somebody else",
                    "if you trust it, tell git so: `git config --global --add safe.directory FOLDER`",
                ));
            }
            // Settings that can't be read are no missing repository: `git init` would not help.
            if says("config") {
                let complaint = complaint.lines().next().unwrap_or_default();
                return Err(Refusal::new(
                    format!("git can't read its settings here: {complaint}"),
                    "mend the file or the variable that it names; folders can be compared without git",
                ));
            }
            return Ok(None);
        }
        let text = String::from_utf8_lossy(&asked.output).into_owned();
        // The name of a folder may hold the end of a line.
        let mut lines = text.splitn(3, '\n');
        let (Some(_bare), Some(shallow), prefix) = (lines.next(), lines.next(), lines.next()) else {
            return Err(broken("it does not answer as expected"));
        };
        let prefix = prefix.unwrap_or_default();
        Ok(Some(Self {
            folder: folder.to_owned(),
            only: only.map(|name| name.to_string_lossy().into_owned()),
            is_shallow: shallow == "true",
            prefix: prefix.strip_suffix('\n').unwrap_or(prefix).to_owned(),
        }))
    }

    /// The commit that a name means: a branch, a tag, `HEAD~2`, the beginning of an id.
    ///
    /// # Errors
    /// [`Refusal`] where git can't be run.
    pub fn commit(&self, name: &str) -> Result<Option<Commit>, Refusal> {
        if name.is_empty() || name.starts_with('-') {
            return Ok(None);
        }
        let wanted = format!("{name}^{{commit}}");
        let asked = self.run(["rev-parse", "--verify", "--quiet", "--end-of-options", &wanted])?;
        if !asked.success {
            return Ok(None);
        }
        let id = String::from_utf8_lossy(&asked.output).trim().to_owned();
        Ok(self.commits(&["--no-walk", &id])?.into_iter().next())
    }

    /// What stood on this branch at a moment: the last commit of the line of first parents before it.
    ///
    /// # Errors
    /// [`Refusal`] where git can't be run.
    pub fn commit_before(&self, seconds: i64) -> Result<Option<Commit>, Refusal> {
        // Git knows no time before 1970, and takes a negative one for something else.
        if seconds < 1 {
            return Ok(None);
        }
        // Git compares with `<=`, and a moment has ended one second before the next begins.
        let before = format!("--min-age={}", seconds.saturating_sub(1));
        if self.commit("HEAD")?.is_none() {
            return Ok(None);
        }
        let found = self.commits(&[&before, "--max-count=1", "--first-parent", "HEAD"])?;
        Ok(found.into_iter().next())
    }

    /// The commit in which two lines of work parted: the last that both hold; nothing where they hold none.
    ///
    /// # Errors
    /// [`Refusal`] where git can't be run.
    pub fn parted(&self, one: &Commit, other: &Commit) -> Result<Option<Commit>, Refusal> {
        let asked = self.run(["merge-base", &one.id, &other.id])?;
        if !asked.success {
            return Ok(None);
        }
        let id = String::from_utf8_lossy(&asked.output).trim().to_owned();
        Ok(self.commits(&["--no-walk", &id])?.into_iter().next())
    }

    /// What is staged for the next commit, over the whole repository.
    ///
    /// # Errors
    /// [`Refusal`] where there is no index, or a merge is not finished.
    pub fn staged(&self) -> Result<Vec<Staged>, Refusal> {
        let Some(found) = self.index()? else {
            return Err(Refusal::new(
                "a bare repository has nothing staged",
                "work in a clone of it: `git clone`",
            ));
        };
        let open = |one: &&Indexed| one.stage != "0" && one.file.path.ends_with(".scruple");
        if let Some(Indexed { file, .. }) = found.iter().find(open) {
            let path = &file.path;
            return Err(Refusal::new(
                format!("the merge of `{path}` is not finished, so it can't be said what is staged"),
                format!("put the file right, then `git add {path}`"),
            ));
        }
        Ok(found.into_iter().map(|one| one.file).collect())
    }

    /// The files that git keeps and was told not to lay out in the folder: a sparse checkout leaves
    /// them out, and they are neither changed nor gone.
    ///
    /// # Errors
    /// [`Refusal`] where git can't be run.
    pub fn not_laid_out(&self) -> Result<Vec<Staged>, Refusal> {
        let found = self.index()?.unwrap_or_default();
        Ok(found
            .into_iter()
            .filter(|one| one.tag == "S" && one.stage == "0")
            .map(|one| one.file)
            .collect())
    }

    /// Everything in the index; nothing for a bare repository.
    fn index(&self) -> Result<Option<Vec<Indexed>>, Refusal> {
        let Some(top) = self.top()? else {
            return Ok(None);
        };
        let asked = run(&top, ["ls-files", "-t", "--stage", "-z"])?;
        if !asked.success {
            return Err(broken(&asked.complaint));
        }
        let text = String::from_utf8_lossy(&asked.output);
        let read = |record: &str| {
            let (head, path) = record.split_once('\t')?;
            let mut fields = head.split(' ');
            Some(Indexed {
                tag: fields.next()?.to_owned(),
                file: Staged {
                    path: path.to_owned(),
                    mode: fields.next()?.to_owned(),
                    id: fields.next()?.to_owned(),
                },
                stage: fields.next()?.to_owned(),
            })
        };
        Ok(Some(text.split('\0').filter_map(read).collect()))
    }

    /// The top of the working copy; nothing for a bare repository.
    ///
    /// # Errors
    /// [`Refusal`] where git can't be run.
    pub fn top(&self) -> Result<Option<PathBuf>, Refusal> {
        let asked = self.run(["rev-parse", "--show-toplevel"])?;
        let path = path_of(&asked.output);
        Ok((asked.success && !path.as_os_str().is_empty()).then_some(path))
    }

    /// The script that git runs at such an occasion, where it would look for it.
    ///
    /// # Errors
    /// [`Refusal`] where git can't be run.
    pub fn hook(&self, name: &str) -> Result<PathBuf, Refusal> {
        let asked = self.run([
            "rev-parse",
            "--path-format=absolute",
            "--git-path",
            &format!("hooks/{name}"),
        ])?;
        if !asked.success {
            return Err(broken(&asked.complaint));
        }
        Ok(self.folder.join(path_of(&asked.output)))
    }

    /// A setting of the repository's own; nothing where it has none.
    ///
    /// # Errors
    /// [`Refusal`] where git can't be run.
    pub fn setting(&self, name: &str) -> Result<Option<String>, Refusal> {
        Ok(self.settings(name)?.pop())
    }

    /// All values of a setting of the repository's own.
    ///
    /// # Errors
    /// [`Refusal`] where git can't be run.
    pub fn settings(&self, name: &str) -> Result<Vec<String>, Refusal> {
        self.values(&["config", "--local", "-z", "--get-all", name])
    }

    /// A setting, wherever it is set.
    ///
    /// # Errors
    /// [`Refusal`] where git can't be run.
    pub fn effective_setting(&self, name: &str) -> Result<Option<String>, Refusal> {
        Ok(self.values(&["config", "-z", "--get-all", name])?.pop())
    }

    fn values(&self, arguments: &[&str]) -> Result<Vec<String>, Refusal> {
        let asked = self.run(arguments.iter().copied())?;
        let text = String::from_utf8_lossy(&asked.output);
        Ok(text
            .split('\0')
            .filter(|value| !value.is_empty())
            .map(str::to_owned)
            .collect())
    }

    /// Sets a setting of the repository's own.
    ///
    /// # Errors
    /// [`Refusal`] where git can't be run, or may not write.
    pub fn set(&self, name: &str, value: &str) -> Result<(), Refusal> {
        self.write(&["config", "--local", "--replace-all", name, value])
    }

    /// Gives a setting of the repository's own one more value.
    ///
    /// # Errors
    /// [`Refusal`] where git can't be run, or may not write.
    pub fn add_setting(&self, name: &str, value: &str) -> Result<(), Refusal> {
        self.write(&["config", "--local", "--add", name, value])
    }

    /// Takes one value of a setting of the repository's own away.
    ///
    /// # Errors
    /// [`Refusal`] where git can't be run, or may not write.
    pub fn unset(&self, name: &str, value: &str) -> Result<(), Refusal> {
        self.write(&["config", "--local", "--fixed-value", "--unset-all", name, value])
    }

    fn write(&self, arguments: &[&str]) -> Result<(), Refusal> {
        let asked = self.run(arguments.iter().copied())?;
        if asked.success {
            return Ok(());
        }
        let complaint = asked.complaint.lines().next().unwrap_or_default();
        Err(Refusal::new(
            format!("the repository's settings can't be changed: {complaint}"),
            "look whether you may write to `.git/config`; what was done before this stays",
        ))
    }

    /// The first commit that this history has.
    ///
    /// # Errors
    /// [`Refusal`] where git can't be run.
    pub fn first_commit(&self) -> Result<Option<Commit>, Refusal> {
        match self.commit("HEAD")? {
            Some(newest) => Ok(self.commits(&["--first-parent", &newest.id])?.pop()),
            None => Ok(None),
        }
    }

    /// A commit and all that went before it, each before those that it follows.
    ///
    /// # Errors
    /// [`Refusal`] where git can't be run.
    pub fn history(&self, newest: &Commit) -> Result<Vec<Commit>, Refusal> {
        self.commits(&["--topo-order", &newest.id])
    }

    /// Commits as `rev-list` gives them, the newest first.
    fn commits(&self, arguments: &[&str]) -> Result<Vec<Commit>, Refusal> {
        let mut all = vec![
            "rev-list",
            "--no-commit-header",
            "--encoding=UTF-8",
            "--format=%H%x00%T%x00%P%x00%ct%x00%an%x00%s",
        ];
        all.extend(arguments);
        all.push("--");
        let asked = self.run(all)?;
        if !asked.success {
            return Err(broken(&asked.complaint));
        }
        Ok(String::from_utf8_lossy(&asked.output)
            .lines()
            .filter_map(|line| {
                let mut fields = line.split('\0');
                Some(Commit {
                    id: fields.next()?.to_owned(),
                    tree: fields.next()?.to_owned(),
                    parents: fields.next()?.split_whitespace().map(str::to_owned).collect(),
                    seconds: fields.next()?.parse().ok()?,
                    author: fields.next()?.to_owned(),
                    subject: fields.next()?.to_owned(),
                })
            })
            .collect())
    }

    /// A reader of what is stored: one process that answers many questions.
    ///
    /// # Errors
    /// [`Refusal`] where git can't be run.
    pub fn objects(&self) -> Result<Objects, Refusal> {
        let mut child = command(&self.folder)
            .args(["cat-file", "--batch"])
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .map_err(|error| not_run(&error))?;
        match (child.stdin.take(), child.stdout.take()) {
            (Some(asking), Some(answering)) => Ok(Objects {
                child,
                asking: Some(asking),
                answering: BufReader::new(answering),
            }),
            _ => Err(broken("its pipes are closed")),
        }
    }

    fn run<'a>(&self, arguments: impl IntoIterator<Item = &'a str>) -> Result<Asked, Refusal> {
        run(&self.folder, arguments)
    }
}

/// Reads stored things by their names.
#[derive(Debug)]
pub struct Objects {
    child: Child,
    asking: Option<ChildStdin>,
    answering: BufReader<ChildStdout>,
}

impl Objects {
    /// The bytes of a blob or a tree, at most `most` of them; nothing where git does not have it.
    ///
    /// # Errors
    /// [`Refusal`] where git breaks off.
    pub fn read(&mut self, id: &str, most: u64) -> Result<Option<Vec<u8>>, Refusal> {
        self.ask(id, most).map_err(|error| broken(&error.to_string()))
    }

    fn ask(&mut self, id: &str, most: u64) -> io::Result<Option<Vec<u8>>> {
        let Some(asking) = &mut self.asking else {
            return Ok(None);
        };
        asking.write_all(format!("{id}\n").as_bytes())?;
        let mut head = String::new();
        self.answering.read_line(&mut head)?;
        let mut words = head.split_whitespace().skip(1);
        let (kind, size) = (
            words.next(),
            words.next().and_then(|size| size.parse::<u64>().ok()),
        );
        let size = match (kind, size) {
            (Some("missing"), _) => return Ok(None),
            (Some(_), Some(size)) => size,
            _ => return Err(io::Error::other("it broke off while something was read")),
        };
        let mut bytes = Vec::new();
        let mut object = (&mut self.answering).take(size.saturating_add(1));
        (&mut object).take(size.min(most)).read_to_end(&mut bytes)?;
        io::copy(&mut object, &mut io::sink())?;
        Ok(Some(bytes))
    }
}

impl Drop for Objects {
    fn drop(&mut self) {
        // Git ends when nobody asks any more; it is waited for, so that no dead process is left.
        self.asking = None;
        let _ = self.child.wait();
    }
}

/// What git answered.
struct Asked {
    success: bool,
    output: Vec<u8>,
    complaint: String,
}

fn run<'a>(folder: &Path, arguments: impl IntoIterator<Item = &'a str>) -> Result<Asked, Refusal> {
    let asked = command(folder)
        .args(arguments.into_iter().map(OsStr::new))
        .stdin(Stdio::null())
        .output()
        .map_err(|error| not_run(&error))?;
    Ok(Asked {
        success: asked.status.success(),
        complaint: String::from_utf8_lossy(&asked.stderr).trim().to_owned(),
        output: asked.stdout,
    })
}

/// Git, so called that it takes no lock in passing, asks nobody, fetches nothing and starts nothing else.
fn command(folder: &Path) -> Command {
    let mut git = Command::new("git");
    git.arg("-C")
        .arg(folder)
        .args([
            "-c",
            "core.fsmonitor=false",
            "--no-optional-locks",
            "--literal-pathspecs",
        ])
        .env("GIT_TERMINAL_PROMPT", "0")
        .env("GIT_NO_LAZY_FETCH", "1")
        .env("LC_ALL", "C");
    // A hook is given the repository and what is staged relative to its own folder.
    for name in ["GIT_DIR", "GIT_INDEX_FILE", "GIT_WORK_TREE", "GIT_COMMON_DIR"] {
        if let Some(place) = std::env::var_os(name).filter(|place| !place.is_empty())
            && let Ok(place) = std::path::absolute(Path::new(&place))
        {
            git.env(name, place);
        }
    }
    // A repository that is named without its working copy has it where the hook runs; git would
    // take the folder that it is sent to for the top.
    if std::env::var_os("GIT_DIR").is_some()
        && std::env::var_os("GIT_WORK_TREE").is_none()
        && let Ok(here) = std::env::current_dir()
        && here.join(".git").exists()
    {
        git.env("GIT_WORK_TREE", here);
    }
    git
}

/// A path as git prints it: its bytes, but for the line end.
fn path_of(output: &[u8]) -> PathBuf {
    let bytes = output.strip_suffix(b"\n").unwrap_or(output);
    #[cfg(unix)]
    {
        use std::os::unix::ffi::OsStrExt;
        PathBuf::from(OsStr::from_bytes(bytes))
    }
    #[cfg(not(unix))]
    {
        PathBuf::from(String::from_utf8_lossy(bytes).into_owned())
    }
}

fn not_run(error: &std::io::Error) -> Refusal {
    if error.kind() == std::io::ErrorKind::NotFound {
        Refusal::new(
            "git is not installed, so earlier revisions can't be read",
            "install git, or name two folders: `--from FOLDER --to FOLDER`",
        )
    } else {
        Refusal::new(
            format!("git can't be run: {error}"),
            "look whether you may run it, and whether there is room for another process",
        )
    }
}

fn broken(complaint: &str) -> Refusal {
    let complaint = complaint.lines().next().unwrap_or_default();
    Refusal::new(
        format!("git can't read this history: {complaint}"),
        "`git fsck` tells what is damaged; folders can be compared without git",
    )
}
