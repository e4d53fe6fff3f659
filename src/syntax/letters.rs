//! Reports letters that deceive the eye: those that can't be seen, that turn the order of others round, or that look
//! like a letter of another alphabet.

use crate::code;
use crate::diagnostic::Diagnostic;
use crate::source::{FileId, Span};

/// Looks over the whole text of a file; what stands in comments may look as it likes, if only it can be seen.
pub fn report(file: FileId, text: &str, comments: &[Span], diagnostics: &mut Vec<Diagnostic>) {
    let is_plain =
        |byte: u8| byte.is_ascii() && (!byte.is_ascii_control() || matches!(byte, b'\n' | b'\r' | b'\t'));
    if text.bytes().all(is_plain) {
        return;
    }
    hidden(file, text, diagnostics);
    let mut start = 0_usize;
    for line in text.split_inclusive('\n') {
        let at = comments.partition_point(|comment| comment.first_byte() < start);
        let comment = comments
            .get(at)
            .map_or(text.len(), |comment| comment.first_byte());
        let said = line.get(..comment.saturating_sub(start)).unwrap_or(line);
        if !said.is_ascii() {
            diagnostics.extend(deceiving(file, start, said));
        }
        start = start.saturating_add(line.len());
    }
}

/// Characters that cannot be seen, or that turn the order of letters round, change a meaning
/// without showing it.
fn hidden(file: FileId, text: &str, diagnostics: &mut Vec<Diagnostic>) {
    let mut reported_line = None;
    let mut line = 0_usize;
    let mut before = ' ';
    for (at, letter) in text.char_indices() {
        let after = before;
        before = letter;
        if letter == '\n' {
            line = line.saturating_add(1);
        }
        // One finding a line: a pasted paragraph holds dozens.
        if is_hidden(letter, after, at) && reported_line != Some(line) {
            reported_line = Some(line);
            let span = Span::new(file, at, at.saturating_add(letter.len_utf8()));
            let what = if turns_round(letter) {
                "that turns the order of letters round on the screen"
            } else {
                "that cannot be seen"
            };
            diagnostics.push(
                Diagnostic::warning(
                    code::HIDDEN_CHARACTER,
                    span,
                    format!("this line holds a character {what} (U+{:04X})", u32::from(letter)),
                )
                .help("delete it: two names may look alike and differ by it")
                .fix("delete it", span, ""),
            );
        }
    }
}

fn turns_round(letter: char) -> bool {
    matches!(letter, '\u{200e}' | '\u{200f}' | '\u{61c}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

fn is_hidden(letter: char, before: char, at: usize) -> bool {
    match letter {
        '\n' | '\r' | '\t' => false,
        '\u{feff}' => at != 0,
        // Persian, Hindi and others spell with the two joiners.
        '\u{200c}' | '\u{200d}' if before.is_alphabetic() && !before.is_ascii() => false,
        // Behind a picture they say how it is drawn.
        '\u{fe00}'..='\u{fe0f}' => before.is_alphanumeric() || before.is_whitespace(),
        '\u{ad}'
        | '\u{34f}'
        | '\u{61c}'
        | '\u{115f}'
        | '\u{1160}'
        | '\u{180e}'
        | '\u{200b}'..='\u{200f}'
        | '\u{202a}'..='\u{202e}'
        | '\u{2060}'..='\u{2069}'
        | '\u{3164}'
        | '\u{ffa0}'
        | '\u{fff9}'..='\u{fffb}'
        | '\u{e0000}'..='\u{e007f}' => true,
        other => other.is_control() || (other.is_whitespace() && !matches!(other, ' ' | '\u{a0}')),
    }
}

/// The alphabets whose letters are taken for one another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Alphabet {
    Latin,
    Greek,
    Cyrillic,
    /// Letters that look like Latin ones and belong to no word: wide ones, number signs, phonetic ones.
    Sign,
}

impl Alphabet {
    fn of(letter: char) -> Option<Self> {
        match letter {
            // The sign of a millionth, and the one of resistance, are spelled with Greek letters, too.
            'μ' | 'Ω' => None,
            'ɑ' | 'ɡ' | '\u{2160}'..='\u{217f}' | '\u{ff21}'..='\u{ff3a}' | '\u{ff41}'..='\u{ff5a}' => {
                Some(Self::Sign)
            }
            'a'..='z' | 'A'..='Z' => Some(Self::Latin),
            '\u{c0}'..='\u{24f}' | '\u{1e00}'..='\u{1eff}' if letter.is_alphabetic() => Some(Self::Latin),
            '\u{370}'..='\u{3ff}' | '\u{1f00}'..='\u{1fff}' if letter.is_alphabetic() => Some(Self::Greek),
            '\u{400}'..='\u{52f}' => Some(Self::Cyrillic),
            _ => None,
        }
    }

    fn word(self) -> &'static str {
        match self {
            Self::Latin => "Latin",
            Self::Greek => "Greek",
            Self::Cyrillic => "Cyrillic",
            Self::Sign => "a sign of its own",
        }
    }
}

/// Letters that no eye can tell apart: one of another alphabet, and the Latin one. By their shapes in common fonts,
/// without a source.
const ALIKE: &str = "аa сc еe оo рp хx уy іi јj ѕs һh ԁd ԛq ԝw АA ВB ЕE КK МM НH ОO РP СC ТT ХX УY ІI ЈJ ЅS \
                     ΑA ΒB ΕE ΖZ ΗH ΙI ΚK ΜM ΝN ΟO ΡP ΤT ΥY ΧX οo";

/// Letters that look nearly alike, for the spelling that is proposed.
const NEARLY_ALIKE: &str =
    "кk мm тt нh вb αa ιi κk νv ρp υu χx ɑa ɡg ⅰi ⅴv ⅹx ⅼl ⅽc ⅾd ⅿm ⅠI ⅤV ⅩX ⅬL ⅭC ⅮD ⅯM";

fn pairs(list: &str) -> impl Iterator<Item = (char, char)> {
    list.split_whitespace().filter_map(|pair| {
        let mut letters = pair.chars();
        Some((letters.next()?, letters.next()?))
    })
}

/// The letter of an alphabet that looks like this one.
fn look_alike(letter: char, wanted: Alphabet) -> Option<char> {
    if let Some(wide) = u32::from(letter).checked_sub(0xfee0)
        && wanted == Alphabet::Latin
        && Alphabet::of(letter) == Some(Alphabet::Sign)
        && let Some(plain) = char::from_u32(wide).filter(char::is_ascii_alphabetic)
    {
        return Some(plain);
    }
    pairs(ALIKE)
        .chain(pairs(NEARLY_ALIKE))
        .find_map(|(other, latin)| {
            if wanted == Alphabet::Latin && other == letter {
                Some(latin)
            } else if latin == letter && Alphabet::of(other) == Some(wanted) {
                Some(other)
            } else {
                None
            }
        })
}

/// The first word of a line in which letters of two alphabets stand, or that is made of nothing but letters that look
/// like those of the other words.
fn deceiving(file: FileId, start: usize, line: &str) -> Option<Diagnostic> {
    let line_letters = |wanted: Alphabet| {
        line.chars()
            .filter(move |letter| Alphabet::of(*letter) == Some(wanted))
    };
    let mut from = 0_usize;
    for word in line.split(|letter: char| !letter.is_alphabetic()) {
        let at = from;
        from = at.saturating_add(word.len());
        // The letter at which it was split.
        from = from.saturating_add(
            line.get(from..)
                .and_then(|rest| rest.chars().next())
                .map_or(0, char::len_utf8),
        );
        if word.is_ascii() {
            continue;
        }
        let count = |wanted: Alphabet| {
            word.chars()
                .filter(|letter| Alphabet::of(*letter) == Some(wanted))
                .count()
        };
        let (latin, greek, cyrillic) = (
            count(Alphabet::Latin),
            count(Alphabet::Greek),
            count(Alphabet::Cyrillic),
        );
        let main = if latin >= greek.max(cyrillic) {
            Alphabet::Latin
        } else if greek > cyrillic {
            Alphabet::Greek
        } else {
            Alphabet::Cyrillic
        };
        let strange = |wanted: Alphabet| {
            word.char_indices()
                .find(|(_, letter)| Alphabet::of(*letter).is_some_and(|own| own != wanted))
        };
        // `vitamin С` with a Cyrillic letter: no other word of the line is in that alphabet.
        let alone = main != Alphabet::Latin
            && word
                .chars()
                .all(|letter| pairs(ALIKE).any(|(other, _)| other == letter))
            && line_letters(main).all(|letter| pairs(ALIKE).any(|(other, _)| other == letter))
            && line_letters(Alphabet::Latin).next().is_some();
        let main = if alone { Alphabet::Latin } else { main };
        if let Some((inside, letter)) = strange(main) {
            let place = at.saturating_add(inside);
            return Some(finding(file, start, (at, word), (place, letter), main));
        }
    }
    None
}

fn finding(
    file: FileId,
    start: usize,
    (at, word): (usize, &str),
    (place, letter): (usize, char),
    main: Alphabet,
) -> Diagnostic {
    let span = |at: usize, length: usize| {
        let from = start.saturating_add(at);
        Span::new(file, from, from.saturating_add(length))
    };
    let alphabet = Alphabet::of(letter).map_or("", Alphabet::word);
    let number = word
        .get(..place.saturating_sub(at))
        .map_or(0, |before| before.chars().count());
    let finding = Diagnostic::warning(
        code::LOOK_ALIKE_LETTERS,
        span(place, letter.len_utf8()),
        format!(
            "letter {} of `{word}` is not {}: `{letter}` (U+{:04X}) is {alphabet}",
            number.saturating_add(1),
            main.word(),
            u32::from(letter)
        ),
    );
    let mended: Option<String> = word
        .chars()
        .map(|letter| {
            if Alphabet::of(letter).is_none_or(|own| own == main) {
                Some(letter)
            } else {
                look_alike(letter, main)
            }
        })
        .collect();
    match mended {
        Some(mended) => finding
            .help(format!(
                "two names may look alike and differ by it, and then a caution or a weight reaches only one: write `{mended}`"
            ))
            .fix(format!("write `{mended}`"), span(at, word.len()), mended),
        None => finding.help("two names may look alike and differ by it: type the whole word again in one alphabet"),
    }
}

#[cfg(test)]
mod tests {
    use super::{ALIKE, Alphabet, NEARLY_ALIKE, pairs};

    #[test]
    fn each_pair_is_of_two_alphabets() {
        for (other, latin) in pairs(ALIKE).chain(pairs(NEARLY_ALIKE)) {
            assert!(latin.is_ascii_alphabetic(), "{latin}");
            assert!(
                matches!(Alphabet::of(other), Some(own) if own != Alphabet::Latin),
                "{other}"
            );
        }
    }
}
