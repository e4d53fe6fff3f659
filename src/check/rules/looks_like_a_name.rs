//! Reports a person entry that may tell who the person is: a name, an e-mail address, a birth date.

use crate::check::Scope;
use crate::code;
use crate::diagnostic::Diagnostic;

pub(super) fn run(scope: &Scope<'_>, report: &mut Vec<Diagnostic>) {
    for person in scope.ledger.people.iter() {
        for (note, span) in &person.notes {
            let date = |word: &str| {
                let parts: Vec<&str> = word.split(['-', '.', '/']).collect();
                parts.len() == 3 && parts.iter().all(|part| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit()))
            };
            if note.contains('@') || (note.to_lowercase().contains("born") && note.split(' ').any(date)) {
                report.push(
                    Diagnostic::warning(
                        code::LOOKS_LIKE_A_NAME,
                        *span,
                        "this note may tell who the person is",
                    )
                    .help("write what the checks need, such as `age   34`, and keep the rest elsewhere: this text is kept for ever"),
                );
            }
        }
        let (Some(code), Some(span)) = (&person.code, person.span) else { continue };
        let Some(what) = gives_away(code) else { continue };
        report.push(
            Diagnostic::warning(
                code::LOOKS_LIKE_A_NAME,
                span,
                format!("this case code looks like {what}"),
            )
            .help("use a code that says nothing, such as `017`, and keep the list of names elsewhere: this text is copied, shared and kept for ever"),
        );
    }
}

/// How the names of months begin.
const MONTHS: [&str; 12] = [
    "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
];

/// What a case code seems to tell, if anything.
fn gives_away(code: &str) -> Option<&'static str> {
    if code.contains('@') {
        return Some("an e-mail address");
    }
    let digits: usize = code.chars().filter(char::is_ascii_digit).count();
    let parts: Vec<&str> = code.split(['-', '.', '/', ' ']).filter(|part| !part.is_empty()).collect();
    let all_numbers = parts.iter().all(|part| part.bytes().all(|byte| byte.is_ascii_digit()));
    if (parts.len() == 3 && all_numbers && digits >= 6) || (parts.len() == 1 && all_numbers && digits == 8) {
        return Some("a date of birth");
    }
    let month = |part: &&str| MONTHS.iter().any(|month| part.to_lowercase().starts_with(month));
    let year = |part: &&str| part.len() == 4 && (part.starts_with("19") || part.starts_with("20"));
    let has_year = parts.iter().any(|part| year(part) && part.bytes().all(|byte| byte.is_ascii_digit()));
    if has_year && parts.iter().any(month) {
        return Some("a date of birth");
    }
    if has_year && parts.iter().any(|part| part.len() >= 2 && part.chars().all(char::is_alphabetic)) {
        return Some("initials and a year of birth");
    }
    let longest = parts
        .iter()
        .map(|part| part.chars().take_while(|letter| letter.is_alphabetic()).count())
        .max()
        .unwrap_or(0);
    if longest >= 3 && digits <= 2 {
        return Some("a name");
    }
    let letters = code.chars().filter(|letter| letter.is_alphabetic()).count();
    (digits == 0 && letters >= 3).then_some("a name")
}

#[cfg(test)]
mod tests {
    use super::gives_away;

    #[test]
    fn codes_and_what_they_give_away() {
        for code in ["017", "A-17", "K2", "2026-017", "x"] {
            assert_eq!(gives_away(code), None, "{code}");
        }
        assert_eq!(gives_away("ada1"), Some("a name"));
        assert_eq!(gives_away("JS-1990"), Some("initials and a year of birth"));
        assert_eq!(gives_away("17 May 1990"), Some("a date of birth"));
        assert_eq!(gives_away("Ada Example"), Some("a name"));
        assert_eq!(gives_away("ada"), Some("a name"));
        assert_eq!(gives_away("a17@example.org"), Some("an e-mail address"));
        assert_eq!(gives_away("1990-05-17"), Some("a date of birth"));
        assert_eq!(gives_away("17.5.1990"), Some("a date of birth"));
        assert_eq!(gives_away("19900517"), Some("a date of birth"));
    }
}
