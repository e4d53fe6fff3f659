//! Turns rows into comma-separated values (RFC 4180) that a spreadsheet shows and never runs.

/// Rows under a heading, with CRLF after each.
///
/// A cell that a spreadsheet would take for a formula gets an apostrophe in front of it, and so do
/// tabs and carriage returns at its beginning. A number may be below zero and stays one.
pub fn rows(heading: &[&str], rows: &[Vec<String>]) -> String {
    let mut out = String::new();
    let mut row = |cells: &mut dyn Iterator<Item = &str>| {
        for (at, text) in cells.enumerate() {
            if at > 0 {
                out.push(',');
            }
            out.push_str(&cell(text));
        }
        out.push_str("\r\n");
    };
    row(&mut heading.iter().copied());
    for cells in rows {
        row(&mut cells.iter().map(String::as_str));
    }
    out
}

/// One cell.
fn cell(text: &str) -> String {
    let opens = text
        .chars()
        .find(|letter| !letter.is_whitespace())
        .is_some_and(|letter| "=+-@＝＋－＠|".contains(letter));
    let opens = (opens || text.starts_with(['\t', '\r', '\n'])) && !is_number(text);
    let quoted = text.contains([',', '"', '\r', '\n', ';', '\t']) || opens || text.trim() != text;
    // What a terminal would obey is no part of a name.
    let safe: String = text
        .chars()
        .map(|letter| {
            if letter.is_control() && letter != '\n' {
                ' '
            } else {
                letter
            }
        })
        .collect();
    let guarded = if opens { format!("'{safe}") } else { safe };
    if quoted {
        format!("\"{}\"", guarded.replace('"', "\"\""))
    } else {
        guarded
    }
}

/// Digits with at most one point, perhaps below zero.
fn is_number(text: &str) -> bool {
    let digits = text.strip_prefix('-').unwrap_or(text);
    let points = digits.matches('.').count();
    !digits.is_empty()
        && points <= 1
        && digits.starts_with(|letter: char| letter.is_ascii_digit())
        && digits.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_quoted_where_they_must_be() {
        // RFC 4180, section 2, rules 1 to 7.
        let printed = rows(
            &["herb", "note"],
            &[
                vec!["ginger".into(), "cut, dried".into()],
                vec!["a \"b\"".into(), "two\nlines".into()],
            ],
        );
        assert_eq!(
            printed,
            "herb,note\r\nginger,\"cut, dried\"\r\n\"a \"\"b\"\"\",\"two\nlines\"\r\n"
        );
    }

    #[test]
    fn nothing_is_run_by_a_spreadsheet() {
        for text in [
            "=1+1", "+1", "-1+1", "@SUM(A1)", "\t=1", " =1", "\r=1", "＝1+1", "-2-3", "--1", "\u{a0}=1",
            "|cmd",
        ] {
            let printed = cell(text);
            assert!(printed.starts_with("\"'"), "{text:?} gives {printed}");
        }
        for text in ["12.5", "-3.2", "0", "PM-114", "2026-11-03", ""] {
            assert_eq!(cell(text), text);
        }
    }
}
