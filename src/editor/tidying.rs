//! Turns a file into the edits that write it in the one way of writing; also for some of its lines.

use crate::diagnostic::Edit;
use crate::source::{FileId, Span};
use crate::tidy::{self, Untidied};

/// The edits that tidy a text, or those of its lines that lie in a span: as few and as small as lines allow.
///
/// # Errors
/// In plain words, why the text stays as it is.
pub fn edits(file: FileId, text: &str, within: Option<Span>) -> Result<Vec<Edit>, String> {
    let tidied = tidy::text(file, text).map_err(|why| match why {
        Untidied::Slips(slips) => match slips.first() {
            Some(slip) => format!(
                "not tidied, for something is not understood yet: {}",
                slip.message
            ),
            None => "not tidied, for something is not understood yet".to_owned(),
        },
        Untidied::WouldSayElse => "not tidied, for it would say something else".to_owned(),
    })?;
    let lines = lines_of(text);
    let end = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let mut edits: Vec<Edit> = Vec::new();
    let mut put = |start: usize, end: usize, new: String| {
        let old = text.get(start..end).unwrap_or_default();
        let inside = within.is_none_or(|within| {
            start <= within.end_byte() && within.first_byte() < end.max(start.saturating_add(1))
        });
        if old != new && inside {
            edits.push(Edit {
                span: Span::new(file, start, end),
                text: new,
            });
        }
    };
    // Lines are kept in their order, so what lies between two that are kept was blank and goes.
    let mut next = 0_usize;
    let mut new_lines = String::new();
    for line in &tidied.lines {
        let Some(from) = line.from else {
            new_lines.push_str(&line.text);
            new_lines.push_str(end);
            continue;
        };
        let gap_start = lines.get(next).map_or(text.len(), |line| line.start);
        let Some(own) = lines.get(from) else { continue };
        put(gap_start, own.start, std::mem::take(&mut new_lines));
        put(own.start, own.end, format!("{}{end}", line.text));
        next = from.saturating_add(1);
    }
    let gap_start = lines.get(next).map_or(text.len(), |line| line.start);
    put(gap_start, text.len(), new_lines);
    Ok(edits)
}

/// A line with its end.
struct Whole {
    start: usize,
    end: usize,
}

/// The lines of a text as the tidied one counts them.
fn lines_of(text: &str) -> Vec<Whole> {
    let bytes = text.as_bytes();
    let mut found = Vec::new();
    let mut start = 0_usize;
    for (at, byte) in bytes.iter().enumerate() {
        let next = at.saturating_add(1);
        let ends = match byte {
            b'\n' => true,
            b'\r' => bytes.get(next) != Some(&b'\n'),
            _ => false,
        };
        if ends {
            found.push(Whole { start, end: next });
            start = next;
        }
    }
    if start < text.len() {
        found.push(Whole {
            start,
            end: text.len(),
        });
    }
    found
}

#[cfg(test)]
mod tests {
    use super::edits;
    use crate::diagnostic::Edit;
    use crate::source::Sources;

    fn tidied(text: &str) -> String {
        let file = Sources::default().add("a.scruple", text.into());
        let all = edits(file, text, None).unwrap();
        crate::editor::same::edited(text, &all.iter().collect::<Vec<&Edit>>())
    }

    #[test]
    fn the_edits_make_the_tidied_text() {
        for text in [
            "",
            "\n\nherb a\n  teaspoon 1gram\nherb b\n\n\n\n  also  c\n\n",
            "herb a\r\n  teaspoon 2–2.2grams # own\r\n\r\n\r\n# end\r\n",
            "# one\n\n\n# two\nformula x\n take a 1 tsp,cut\nherb a\n teaspoon 1 g",
            "herb a\rherb b\r also c",
        ] {
            let file = Sources::default().add("a.scruple", text.into());
            let whole = crate::tidy::text(file, text).unwrap();
            assert_eq!(tidied(text), whole.text, "{text:?}");
        }
    }
}
