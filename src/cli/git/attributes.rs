//! Turns the text of a `.gitattributes` into the same text with our lines, and back, byte by byte.

/// What git is told of a ledger's files.
const LINE: &str = "*.scruple diff=scruple merge=scruple";
const BEGINS: &str = "# begin: written by `scruple git`, taken away by `scruple git --remove`";
const ENDS: &str = "# end: written by `scruple git`";
/// What the first line adds where the file was not there before.
const NEW_FILE: &str = "; the file, too";
/// What it adds where the text before had no end of line.
const NO_LINE_END: &str = "; and the end of the line above";

/// The text with our lines; nothing if they stand in it.
pub fn added(before: Option<&str>) -> Option<String> {
    if before.is_some_and(|text| place(text).is_some()) {
        return None;
    }
    let text = before.unwrap_or_default();
    let remark = match before {
        None => NEW_FILE,
        Some(text) if !text.is_empty() && !text.ends_with('\n') => NO_LINE_END,
        Some(_) => "",
    };
    let gap = if remark == NO_LINE_END { "\n" } else { "" };
    Some(format!("{text}{gap}{BEGINS}{remark}\n{LINE}\n{ENDS}\n"))
}

/// What a text is without our lines.
#[derive(Debug, PartialEq, Eq)]
pub enum Without {
    /// They do not stand in it.
    Same,
    /// The file was ours, and nothing else stands in it.
    NoFile,
    /// This.
    Text(String),
}

/// The text without our lines.
pub fn removed(text: &str) -> Without {
    let Some((start, end)) = place(text) else {
        return Without::Same;
    };
    let before = text.get(..start).unwrap_or_default();
    let ours = text.get(start..end).unwrap_or_default();
    let after = text.get(end..).unwrap_or_default();
    let first = ours.lines().next().unwrap_or_default();
    // What somebody wrote below keeps the end of the line that it stands under.
    let before = if first.ends_with(NO_LINE_END) && after.is_empty() {
        before.strip_suffix('\n').unwrap_or(before)
    } else {
        before
    };
    let rest = format!("{before}{after}");
    if rest.is_empty() && first.ends_with(NEW_FILE) {
        Without::NoFile
    } else {
        Without::Text(rest)
    }
}

/// Where our lines stand, from the first byte to behind the last.
fn place(text: &str) -> Option<(usize, usize)> {
    let start = text.match_indices(BEGINS).map(|(at, _)| at).find(|at| {
        text.get(..*at)
            .is_some_and(|before| before.is_empty() || before.ends_with('\n'))
    })?;
    let rest = text.get(start..)?;
    let ends = rest
        .find(&format!("\n{ENDS}"))?
        .checked_add(ENDS.len())?
        .checked_add(1)?;
    let line_end = rest
        .get(ends..)?
        .find('\n')
        .map_or(rest.len(), |at| ends.saturating_add(at).saturating_add(1));
    Some((start, start.saturating_add(line_end)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_added_can_be_taken_away_to_the_byte() {
        for before in [
            "",
            "*.png binary\n",
            "*.png binary",
            "\n\n",
            "# only a comment",
            "a\r\nb\r\n",
        ] {
            let with = added(Some(before)).unwrap();
            assert!(with.contains(LINE));
            assert_eq!(added(Some(&with)), None, "a second time changes nothing");
            assert_eq!(removed(&with), Without::Text(before.to_owned()), "{before:?}");
        }
        let alone = added(None).unwrap();
        assert_eq!(removed(&alone), Without::NoFile);
        assert_eq!(removed("*.png binary\n"), Without::Same);
    }

    #[test]
    fn what_others_wrote_below_or_above_stays() {
        let with = format!("# above\n{}# below\n", added(None).unwrap());
        assert_eq!(removed(&with), Without::Text("# above\n# below\n".to_owned()));
        let with = format!("{}# below\n", added(Some("# above")).unwrap());
        assert_eq!(removed(&with), Without::Text("# above\n# below\n".to_owned()));
    }
}
