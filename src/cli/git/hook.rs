//! Writes the script that git runs before a commit, with a line for each ledger of the repository.

use super::quoted;

const OPENS: &str = "#!/bin/sh\n\
    # written by `scruple git`, taken away by `scruple git --remove`\n\
    # `git commit --no-verify` commits without it\n\
    git diff --cached --quiet -- '*.scruple' && exit 0\n\
    failed=0\n";
const CLOSES: &str = "[ $failed = 0 ] || echo 'Nothing was committed: put the errors right, or commit all the same with `git commit --no-verify`.' >&2\n\
    exit $failed\n";

/// The line that checks one ledger, as it would stand in any script that git runs before a commit.
pub fn line(program: &str, prefix: &str) -> String {
    format!(
        "{program} check --staged --let-warnings-pass --in {}",
        folder(prefix)
    )
}

fn folder(prefix: &str) -> String {
    quoted(&format!("./{}", prefix.trim_end_matches('/')))
}

/// The line as it stands in our script; a branch may lack the ledger.
fn own_line(program: &str, prefix: &str) -> String {
    format!(
        "[ ! -d {} ] || {} || failed=1\n",
        folder(prefix),
        line(program, prefix)
    )
}

/// What of a script is for this ledger.
fn is_for(line: &str, prefix: &str) -> bool {
    line.starts_with(&format!("[ ! -d {} ]", folder(prefix)))
}

/// The lines for ledgers of a script that is ours to the letter; nothing for any other.
fn ledgers(script: &str) -> Option<Vec<&str>> {
    let lines = script.strip_prefix(OPENS)?.strip_suffix(CLOSES)?;
    let lines: Vec<&str> = lines.lines().collect();
    lines
        .iter()
        .all(|line| line.starts_with("[ ! -d './") && line.ends_with(" || failed=1"))
        .then_some(lines)
}

/// Whether a script is ours.
pub fn is_ours(script: &str) -> bool {
    ledgers(script).is_some()
}

/// The script with a line for this ledger; nothing if the script that is there is somebody else's.
pub fn with(script: Option<&str>, program: &str, prefix: &str) -> Option<String> {
    let own = own_line(program, prefix);
    let mut lines = vec![own];
    if let Some(script) = script {
        let others = ledgers(script)?.into_iter().filter(|line| !is_for(line, prefix));
        lines.extend(others.map(|line| format!("{line}\n")));
    }
    // One order, so that a second run changes nothing.
    lines.sort();
    Some(format!("{OPENS}{}{CLOSES}", lines.concat()))
}

/// What a script is without this ledger.
#[derive(Debug, PartialEq, Eq)]
pub enum Without {
    /// It is somebody else's, or has no line for it.
    Same,
    /// No ledger is left in it.
    NoFile,
    /// This.
    Text(String),
}

/// The script without the line for this ledger.
pub fn without(script: &str, prefix: &str) -> Without {
    let Some(lines) = ledgers(script) else {
        return Without::Same;
    };
    let kept: Vec<&str> = lines
        .iter()
        .copied()
        .filter(|line| !is_for(line, prefix))
        .collect();
    if kept.len() == lines.len() {
        Without::Same
    } else if kept.is_empty() {
        Without::NoFile
    } else {
        Without::Text(format!("{OPENS}{}\n{CLOSES}", kept.join("\n")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ledgers_come_and_go_by_themselves() {
        let one = with(None, "'scruple'", "").unwrap();
        let two = with(Some(&one), "'scruple'", "it's here/").unwrap();
        assert_eq!(with(Some(&two), "'scruple'", "").as_deref(), Some(two.as_str()));
        assert_eq!(without(&two, "it's here/"), Without::Text(one.clone()));
        assert_eq!(without(&one, "other/"), Without::Same);
        assert_eq!(without(&one, ""), Without::NoFile);
        assert_eq!(with(Some("#!/bin/sh\necho mine\n"), "'scruple'", ""), None);
        assert_eq!(with(Some(&format!("{one}echo mine\n")), "'scruple'", ""), None);
        assert_eq!(without(&format!("{one}echo mine\n"), ""), Without::Same);
    }
}
