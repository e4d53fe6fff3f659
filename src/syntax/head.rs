//! Reads the first line of an entry: its name, a lot's id, the day of a batch.

use super::explain;
use super::line::{BLANKS, trimmed};
use super::lower::{Lower, Lowered, fold_blanks};
use super::tree::{Date, Kind, Name};
use crate::code;
use crate::diagnostic::Diagnostic;

/// A whole head line as an example.
pub fn example(kind: Kind) -> &'static str {
    match kind {
        Kind::Practice => "practice",
        Kind::Source => "source herbal-handbook",
        Kind::Herb => "herb ginger rhizome",
        Kind::Material => "material honey",
        Kind::Formula => "formula after-supper tea",
        Kind::Person => "person 017",
        Kind::Batch => "batch after-supper tea on 2026-11-03",
        Kind::Lot => "lot PM-114 of peppermint leaf",
        Kind::Supply => "supply after-supper tea on 2026-11-05",
        Kind::Set => "set winter evening class",
        Kind::Topic => "topic reflux",
    }
}

type Head = (Option<Name>, Option<Name>, Option<Date>);

/// Reads what stands after the kind: a name, a lot's id, a day.
pub fn read(lower: &Lower, kind: Kind, text: &str) -> Lowered<Head> {
    let (lower, text) = trimmed(lower, text);
    if text.is_empty() {
        return Ok((None, None, None));
    }
    match kind {
        Kind::Lot => {
            let id_length = text.find(BLANKS).unwrap_or(text.len());
            let id = text.get(..id_length).unwrap_or_default();
            let rest = text.get(id_length..).unwrap_or_default();
            let (rest_lower, rest) = trimmed(&lower.further(id_length), rest);
            let of = super::words::opens_with(rest, "of").filter(|of| *of < rest.len());
            let Some(of) = of else {
                return Err(Diagnostic::error(
                    code::LINE_NOT_UNDERSTOOD,
                    lower.range(0, text.len()),
                    "this lot does not say of what it is",
                )
                .help(format!(
                    "a lot has an id of one word, `of` and a name: `{}`",
                    example(kind)
                )));
            };
            let (name_lower, name) = trimmed(&rest_lower.further(of), rest.get(of..).unwrap_or_default());
            let id = Name {
                text: id.to_owned(),
                span: lower.range(0, id_length),
            };
            Ok((Some(plain_name(&name_lower, name)?), Some(id), None))
        }
        Kind::Batch | Kind::Supply => {
            let (name, date) = match last_on(text) {
                Some((before, at)) => {
                    let (date_lower, words) = trimmed(&lower.further(at), text.get(at..).unwrap_or_default());
                    (before, Some(date(&date_lower, words)?))
                }
                None => (text, None),
            };
            if date.is_none() {
                return Err(Diagnostic::error(
                    code::LINE_NOT_UNDERSTOOD,
                    lower.range(0, text.len()),
                    format!("this {} does not say on which day", kind.word()),
                )
                .help(format!("write the day at the end: `{}`", example(kind))));
            }
            Ok((Some(plain_name(&lower, name)?), None, date))
        }
        _ => Ok((Some(plain_name(&lower, text)?), None, None)),
    }
}

/// Splits at the last ` on ` that something like a date follows; gives where that begins.
fn last_on(text: &str) -> Option<(&str, usize)> {
    super::words::places_of(text, "on").rev().find_map(|at| {
        let before = text.get(..at)?;
        let from = at.saturating_add("on".len());
        let after = text.get(from..)?;
        let date = after.trim_start_matches(BLANKS);
        (before.ends_with(BLANKS)
            && after.starts_with(BLANKS)
            && date.starts_with(|c: char| c.is_ascii_digit()))
        .then(|| (before.trim_end_matches(BLANKS), from))
    })
}

fn plain_name(lower: &Lower, text: &str) -> Lowered<Name> {
    let text = text.trim_end_matches(BLANKS);
    let span = lower.range(0, text.len());
    let bare = match text.strip_prefix('"') {
        Some(rest) => rest.strip_suffix('"').filter(|name| !name.contains('"')),
        None => Some(text).filter(|name| !name.contains('"')),
    };
    let Some(bare) = bare else {
        return Err(explain::unclosed_quote(span));
    };
    if !text.starts_with('"') && bare.contains([',', ':']) {
        return Err(Diagnostic::error(
            code::LINE_NOT_UNDERSTOOD,
            span,
            "a name with a comma or a colon in it stands in quotes",
        )
        .help(format!("write `\"{bare}\"`"))
        .fix("put the name in quotes", span, format!("\"{bare}\"")));
    }
    let folded = fold_blanks(bare);
    if folded.is_empty() {
        return Err(
            Diagnostic::error(code::ENTRY_WITHOUT_A_NAME, span, "this name is empty")
                .help("write a name between the quotes"),
        );
    }
    Ok(Name { text: folded, span })
}

/// Reads a date, `2026-11-03` or `2026-11`.
pub fn date(lower: &Lower, text: &str) -> Lowered<Date> {
    let (lower, text) = trimmed(lower, text);
    let span = lower.range(0, text.len());
    if text.contains(['/', '.']) {
        return Err(Diagnostic::error(
            code::SLASHED_DATE,
            span,
            format!("`{text}` may be day, month, year or month, day, year"),
        )
        .help("write a date as year-month-day: `2026-11-03`"));
    }
    let month_only = text.matches('-').count() == 1;
    let whole = if month_only {
        format!("{text}-01")
    } else {
        text.to_owned()
    };
    // The letters are checked first: the library would also take longer ISO forms.
    let shaped = whole.len() == 10 && whole.bytes().all(|byte| byte.is_ascii_digit() || byte == b'-');
    match whole.parse::<jiff::civil::Date>() {
        Ok(first) if shaped => Ok(Date {
            first,
            month_only,
            span,
        }),
        _ => Err(Diagnostic::error(
            code::IMPOSSIBLE_DATE,
            span,
            if shaped {
                format!("`{text}` is no day in the calendar")
            } else {
                format!("`{text}` is no date")
            },
        )
        .help("write a date as year-month-day, `2026-11-03`, or year-month, `2026-11`")),
    }
}
