//! Writes the scripts that git runs before a commit and after a merge, with a line for each ledger of the repository.

use super::quoted;

/// A script that git runs at some occasion.
#[derive(Debug)]
pub struct Hook {
    /// The occasion, which is the script's name.
    pub name: &'static str,
    /// What it does, in words.
    pub purpose: &'static str,
    /// What people call the occasion.
    pub when: &'static str,
    /// What the program is asked for, without the ledger.
    pub asks: &'static str,
    opens: &'static str,
    closes: &'static str,
}

/// The scripts that are set up.
pub const HOOKS: [Hook; 2] = [
    Hook {
        name: "pre-commit",
        purpose: "a script that checks what is staged before each commit",
        when: "a check before each commit",
        asks: "check --staged --let-warnings-pass",
        opens: "#!/bin/sh\n\
            # written by `scruple git`, taken away by `scruple git --remove`\n\
            # `git commit --no-verify` commits without it\n\
            git diff --cached --quiet -- '*.scruple' && exit 0\n\
            failed=0\n",
        closes: "[ $failed = 0 ] || echo 'Nothing was committed: put the errors right, or commit all the same with `git commit --no-verify`.' >&2\n\
            exit $failed\n",
    },
    Hook {
        name: "post-merge",
        purpose: "a script that says after each merge which formulas neither side had so",
        when: "a word after each merge about formulas that neither side had so",
        asks: "git merged",
        opens: "#!/bin/sh\n\
            # written by `scruple git`, taken away by `scruple git --remove`\n\
            failed=0\n",
        closes: "exit 0\n",
    },
];

fn folder(prefix: &str) -> String {
    quoted(&format!("./{}", prefix.trim_end_matches('/')))
}

impl Hook {
    /// The line for one ledger, as it would stand in any script that git runs at this occasion.
    pub fn line(&self, program: &str, prefix: &str) -> String {
        format!("{program} {} --in {}", self.asks, folder(prefix))
    }

    /// The line as it stands in our script. A branch may lack the ledger, or it was moved: that is said,
    /// or nobody would know that it is no longer looked at.
    fn own_line(&self, program: &str, prefix: &str) -> String {
        let folder = folder(prefix);
        let gone = quoted(&format!(
            "scruple: there is no ledger in {folder}, so nothing was checked there; if it was moved, run `scruple git` in its new place"
        ));
        format!(
            "[ -d {folder} ] || echo {gone} >&2; [ ! -d {folder} ] || {} || failed=1\n",
            self.line(program, prefix)
        )
    }

    /// The lines for ledgers of a script that is ours to the letter; nothing for any other.
    fn ledgers<'a>(&self, script: &'a str) -> Option<Vec<&'a str>> {
        let lines = script.strip_prefix(self.opens)?.strip_suffix(self.closes)?;
        let lines: Vec<&str> = lines.lines().collect();
        lines
            .iter()
            .all(|line| {
                ["[ -d './", "[ ! -d './"]
                    .iter()
                    .any(|opens| line.starts_with(opens))
                    && line.ends_with(" || failed=1")
            })
            .then_some(lines)
    }

    /// Whether a script is ours.
    pub fn is_ours(&self, script: &str) -> bool {
        self.ledgers(script).is_some()
    }

    /// The script with a line for this ledger; nothing if the script that is there is somebody else's.
    pub fn with(&self, script: Option<&str>, program: &str, prefix: &str) -> Option<String> {
        let own = self.own_line(program, prefix);
        let mut lines = vec![own];
        if let Some(script) = script {
            let others = self.ledgers(script)?.into_iter();
            lines.extend(
                others
                    .filter(|line| !is_for(line, prefix))
                    .map(|line| format!("{line}\n")),
            );
        }
        // One order, so that a second run changes nothing.
        lines.sort();
        Some(format!("{}{}{}", self.opens, lines.concat(), self.closes))
    }

    /// The script without the line for this ledger.
    pub fn without(&self, script: &str, prefix: &str) -> Without {
        let Some(lines) = self.ledgers(script) else {
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
            Without::Text(format!("{}{}\n{}", self.opens, kept.join("\n"), self.closes))
        }
    }
}

/// Whether a line of a script is for this ledger.
fn is_for(line: &str, prefix: &str) -> bool {
    // Scripts of earlier versions say nothing where the folder is missing.
    ["[ -d", "[ ! -d"]
        .iter()
        .any(|opens| line.starts_with(&format!("{opens} {} ]", folder(prefix))))
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ledgers_come_and_go_by_themselves() {
        for hook in &HOOKS {
            let one = hook.with(None, "'scruple'", "").unwrap();
            let two = hook.with(Some(&one), "'scruple'", "it's here/").unwrap();
            assert_eq!(
                hook.with(Some(&two), "'scruple'", "").as_deref(),
                Some(two.as_str())
            );
            assert_eq!(hook.without(&two, "it's here/"), Without::Text(one.clone()));
            assert_eq!(hook.without(&one, "other/"), Without::Same);
            assert_eq!(hook.without(&one, ""), Without::NoFile);
            assert_eq!(hook.with(Some("#!/bin/sh\necho mine\n"), "'scruple'", ""), None);
            let changed = format!("{one}echo mine\n");
            assert_eq!(hook.with(Some(&changed), "'scruple'", ""), None);
            assert_eq!(hook.without(&changed, ""), Without::Same);
        }
    }

    #[test]
    fn the_line_of_an_earlier_version_is_ours_and_is_replaced() {
        let [hook, _] = &HOOKS;
        let earlier = format!(
            "{}[ ! -d './teas' ] || 'scruple' check --staged --let-warnings-pass --in './teas' || failed=1\n{}",
            hook.opens, hook.closes
        );
        assert!(hook.is_ours(&earlier));
        assert_eq!(
            hook.with(Some(&earlier), "'scruple'", "teas/"),
            hook.with(None, "'scruple'", "teas/")
        );
        assert_eq!(hook.without(&earlier, "teas/"), Without::NoFile);
    }
}
