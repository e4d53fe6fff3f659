//! Turns free words of the ledger into words for a label: no trailing zeros, no naked decimal points.

use crate::code;
use crate::compute::Composition;
use crate::diagnostic::Diagnostic;

/// Words in which every number is written so that nobody reads it ten times too large: `5.0 ml`
/// becomes `5 ml` and `.5 ml` becomes `0.5 ml` (both are on the lists of error-prone dose
/// expressions of the Institute for Safe Medication Practices; from memory).
pub(super) fn printed(text: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let at = |place: usize| letters.get(place).copied().unwrap_or(' ');
    let mut out = String::with_capacity(text.len());
    let mut place = 0_usize;
    while let Some(letter) = letters.get(place).copied() {
        let before = place.checked_sub(1).map_or(' ', at);
        let next = at(place.saturating_add(1));
        if letter == '.' && next.is_ascii_digit() && !before.is_alphanumeric() && before != '.' {
            out.push_str("0.");
            place = place.saturating_add(1);
            continue;
        }
        let opens = letter.is_ascii_digit() && !before.is_ascii_digit() && before != '.';
        if !opens {
            out.push(letter);
            place = place.saturating_add(1);
            continue;
        }
        let run = |from: usize| {
            letters
                .iter()
                .skip(from)
                .take_while(|letter| letter.is_ascii_digit())
                .count()
        };
        let whole = run(place);
        let point = place.saturating_add(whole);
        let decimals = if at(point) == '.' {
            run(point.saturating_add(1))
        } else {
            0
        };
        let end = point
            .saturating_add(decimals)
            .saturating_add(usize::from(decimals > 0));
        let number: String = letters.iter().take(end).skip(place).collect();
        // `1.10.2` is no decimal number.
        if decimals > 0 && at(end) != '.' {
            out.push_str(number.trim_end_matches('0').trim_end_matches('.'));
        } else {
            out.push_str(&number);
        }
        place = end;
    }
    out
}

/// Measures in the words for a person that have been misread: each is a finding, since what is
/// meant can't be told here.
pub(super) fn error_prone(composition: &Composition) -> Vec<Diagnostic> {
    const PRONE: [(&str, &str); 6] = [
        ("µg", "micrograms"),
        ("μg", "micrograms"),
        ("cc", "ml"),
        ("gr", "g, or grains"),
        ("T", "tablespoons"),
        ("t", "teaspoons"),
    ];
    let formula = &composition.formula;
    let said = formula.sign.iter().chain(&formula.keep);
    let mut found = Vec::new();
    for words in said {
        let pieces: Vec<&str> = words
            .split(|letter: char| letter.is_whitespace() || matches!(letter, ',' | ';' | '(' | ')'))
            .collect();
        for pair in pieces.windows(2) {
            let [number, unit] = pair else { continue };
            let counts = number.ends_with(|letter: char| letter.is_ascii_digit() || "½¼¾".contains(letter));
            let Some((written, instead)) = PRONE.iter().find(|(prone, _)| prone == unit) else {
                continue;
            };
            if counts {
                found.push(
                    Diagnostic::warning(
                        code::ERROR_PRONE_UNIT,
                        formula.name.span,
                        format!(
                            "`{number} {written}` would stand on the label, and `{written}` has been misread"
                        ),
                    )
                    .help(format!("write it out under `sign` or `keep`: {instead}")),
                );
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::printed;

    #[test]
    fn numbers_lose_what_is_misread() {
        for (said, told) in [
            ("5.0 ml twice", "5 ml twice"),
            ("take .5 ml", "take 0.5 ml"),
            ("0.50 g, then 2.50 g", "0.5 g, then 2.5 g"),
            ("10 drops", "10 drops"),
            ("100 ml.", "100 ml."),
            ("10.0", "10"),
            ("no. 4.10.2", "no. 4.10.2"),
            ("one... or 3", "one... or 3"),
            ("1:5.0", "1:5"),
            ("20.05 g", "20.05 g"),
        ] {
            assert_eq!(printed(said), told);
        }
    }
}
