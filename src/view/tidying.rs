//! Turns what `tidy` did, or would do, into published data and the sentence at its end.

use serde::Serialize;

use super::findings::Finding;
use crate::render::{Document, Note};
use crate::tidy::Tidied;

/// What `tidy` did or would do, as data; `grammar/tidying.schema.json` describes it.
#[derive(Debug, Clone, Serialize)]
pub struct Tidying {
    /// Whether nothing was to be written: `--check`.
    pub check: bool,
    /// How many files were tidy already.
    pub tidy: usize,
    /// How many are tidied now, or would be.
    pub tidied: usize,
    /// How many were left alone, because they could not be read, understood or written.
    pub left: usize,
    /// The files, in the order of their names.
    pub files: Vec<TidyFile>,
}

/// One file.
#[derive(Debug, Clone, Serialize)]
pub struct TidyFile {
    /// Its path, below the ledger's folder.
    pub file: String,
    /// What became of it.
    pub state: State,
    /// Why it was left alone.
    pub why: Option<String>,
    /// The errors that it holds, where they are why.
    pub findings: Vec<Finding>,
    /// The lines that are written otherwise, or would be.
    pub changes: Vec<Change>,
}

/// What became of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum State {
    /// It was tidy already.
    Tidy,
    /// It was written anew.
    Tidied,
    /// It would be written anew.
    WouldChange,
    /// It was left alone.
    Left,
}

/// A line that is written otherwise.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Change {
    /// Which line of the file it was, counted from one; nothing for a new blank line.
    pub line: Option<usize>,
    /// What stood there; nothing for a new blank line.
    pub was: Option<String>,
    /// What stands there instead; nothing for a blank line that is taken away.
    pub becomes: Option<String>,
}

/// The lines that a tidied text writes otherwise, in the order of the text. A file whose lines
/// are all the same and whose line ends are not has none.
pub fn changes(written: &str, tidied: &Tidied) -> Vec<Change> {
    // As the language counts lines: a carriage return alone ends one, too.
    let written = written.replace("\r\n", "\n");
    let lines: Vec<&str> = written.split(['\n', '\r']).collect();
    let mut next = 0;
    let mut changes = Vec::new();
    let taken_away = |from: usize, to: usize, changes: &mut Vec<Change>| {
        for at in from..to {
            let was = lines.get(at).copied().unwrap_or_default();
            changes.push(Change {
                line: Some(at.saturating_add(1)),
                was: Some(was.to_owned()),
                becomes: None,
            });
        }
    };
    for line in &tidied.lines {
        let Some(from) = line.from else {
            changes.push(Change {
                line: None,
                was: None,
                becomes: Some(line.text.clone()),
            });
            continue;
        };
        taken_away(next, from, &mut changes);
        next = from.saturating_add(1);
        let was = lines.get(from).copied().unwrap_or_default();
        if was != line.text {
            changes.push(Change {
                line: Some(next),
                was: Some(was.to_owned()),
                becomes: Some(line.text.clone()),
            });
        }
    }
    // What follows the last line end is no line.
    let end = lines.len().saturating_sub(usize::from(lines.last() == Some(&"")));
    taken_away(next, end, &mut changes);
    changes
}

fn files(count: usize) -> String {
    if count == 1 {
        "1 file".to_owned()
    } else {
        format!("{count} files")
    }
}

/// What is said at the end.
pub fn summary(tidying: &Tidying) -> Document {
    let all = tidying.files.len();
    let mut page = Document::new();
    let of = match (tidying.tidied, tidying.left) {
        (0, 0) if all == 1 => "The file is tidy already.".to_owned(),
        (0, 0) => format!("All {} are tidy already.", files(all)),
        (0, _) => "No file was changed.".to_owned(),
        (count, _) if tidying.check => {
            format!("Would tidy {count} of {}; nothing was written.", files(all))
        }
        (count, _) => format!("Tidied {count} of {}.", files(all)),
    };
    page.paragraph(of);
    let named = |state: State| {
        tidying
            .files
            .iter()
            .filter(move |one| one.state == state)
            .map(|one| one.file.as_str())
    };
    if tidying.tidied > 0 && !tidying.check {
        page.facts(named(State::Tidied).map(|name| ("tidied", name)));
    }
    page.notes(
        tidying
            .files
            .iter()
            .filter(|one| one.state == State::Left)
            .map(|one| {
                Note::warning(format!(
                    "`{}` is left as it is: {}",
                    one.file,
                    one.why.as_deref().unwrap_or("it can't be read")
                ))
            }),
    );
    page
}

#[cfg(test)]
mod tests {
    use super::{Change, changes};
    use crate::source::Sources;
    use crate::tidy;

    #[test]
    fn every_change_names_its_line() {
        let text = "\n\nherb a\n\tteaspoon 2 gm  \n\n\nherb b\n  teaspoon            2 g\n\n";
        let mut sources = Sources::default();
        let file = sources.add("a", text.into());
        let tidied = tidy::text(file, text).unwrap();
        let change = |line, was: Option<&str>, becomes: Option<&str>| Change {
            line,
            was: was.map(str::to_owned),
            becomes: becomes.map(str::to_owned),
        };
        assert_eq!(
            changes(text, &tidied),
            [
                change(Some(1), Some(""), None),
                change(Some(2), Some(""), None),
                change(
                    Some(4),
                    Some("\tteaspoon 2 gm  "),
                    Some("  teaspoon          2 gm")
                ),
                change(Some(6), Some(""), None),
                change(
                    Some(8),
                    Some("  teaspoon            2 g"),
                    Some("  teaspoon          2 g")
                ),
                change(Some(9), Some(""), None),
            ]
        );
    }
}
