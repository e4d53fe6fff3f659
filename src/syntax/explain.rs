//! Says what is wrong with a line that the grammar refuses, in the reader's words.

use super::grammar::{self, Node, Rule};
use super::lower::{Lower, Lowered, refuse_number};
use super::tree::{Amount, AmountKind, Ingredient, Kind, Name, Quantity};
use super::words;
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::quantity::unit::{Reading, Settled, Unit};
use crate::quantity::{number, unit};
use crate::source::Span;

/// A line that no rule fits: the likeliest slip, or the place where reading stopped.
pub fn line(lower: &Lower, text: &str, stopped_at: usize, wanted: &str) -> Diagnostic {
    known_slip(lower, text).unwrap_or_else(|| general(lower, text, stopped_at, wanted))
}

/// A line under `take` that does not fit.
pub fn ingredient(lower: &Lower, text: &str, stopped_at: usize) -> Diagnostic {
    if let Some(finding) = number_before_a_name(lower, text) {
        return finding;
    }
    known_slip(lower, text).unwrap_or_else(|| {
        general(
            lower,
            text,
            stopped_at,
            "a name and an amount: `peppermint leaf  30 g, bruised`",
        )
    })
}

/// `1. sage leaf 20 g` from a numbered list, and `20 g sage leaf`.
fn number_before_a_name(lower: &Lower, text: &str) -> Option<Diagnostic> {
    let (_, first) = words_of(text).next()?;
    let span = lower.range(0, first.len());
    let count = first.trim_end_matches(['.', ')']);
    if first.len() > count.len() && !count.is_empty() && count.bytes().all(|byte| byte.is_ascii_digit()) {
        return Some(
            Diagnostic::error(
                code::LINE_NOT_UNDERSTOOD,
                span,
                format!("`{first}` looks like the number of a list, and an ingredient begins with its name"),
            )
            .help("take the number out: the name stands first, then the amount"),
        );
    }
    let opens = |letter: char| letter.is_ascii_digit() || "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞".contains(letter);
    let names =
        words_of(text).any(|(_, word)| word.chars().filter(|letter| letter.is_alphabetic()).count() > 2);
    (first.starts_with(opens) && names && !text.contains('%')).then(|| {
        Diagnostic::error(
            code::LINE_NOT_UNDERSTOOD,
            span,
            "an ingredient begins with its name, and this one with a number",
        )
        .help("write the name first and the amount behind it: `peppermint leaf  30 g`; a name that begins with a digit stands in quotes")
    })
}

/// A sign that is no part of a name, before it or behind it: the bullet of a list, a dash, dots.
pub fn sign_beside_a_name(lower: &Lower, text: &str, ingredient: &Ingredient) -> Lowered<()> {
    for name in &ingredient.names {
        let written = lower.written(text, name.span);
        if written.starts_with('"') {
            continue;
        }
        // A hyphen is read as a blank, and takes nothing from the name.
        let is_sign = |word: &str| word != "-" && !word.chars().any(char::is_alphanumeric);
        let words: Vec<(usize, &str)> = words_of(written).collect();
        let beside = [words.first(), words.last()].into_iter().flatten();
        if let Some((at, sign)) = beside.filter(|_| words.len() > 1).find(|(_, word)| is_sign(word)) {
            let from = name.span.first_byte().saturating_add(*at);
            let span = crate::source::Span::new(lower.file, from, from.saturating_add(sign.len()));
            return Err(Diagnostic::error(
                code::LINE_NOT_UNDERSTOOD,
                span,
                format!("`{sign}` is no part of a name"),
            )
            .help("take it out: a name and its amount stand side by side, with blanks between them")
            .fix("take it out", span, ""));
        }
    }
    Ok(())
}

/// How full a spoon is, said behind it: it would be taken for how the herb is processed, and the spoon for a level one.
fn heap_behind(word: &str) -> Option<&'static str> {
    match word.to_lowercase().as_str() {
        "heaped" | "heaping" => Some("heaped"),
        "rounded" => Some("rounded"),
        _ => None,
    }
}

/// Free words of a step or a dose that say how full the spoon is: it would be counted as a level one.
pub fn heap_in_words(lower: &Lower, clause: &Node<'_>) -> Lowered<()> {
    let first = clause.as_str().split_whitespace().next().unwrap_or_default();
    heap_behind(first).map_or(Ok(()), |heap| Err(heap_first(lower.span(clause), heap)))
}

fn heap_first(span: Span, heap: &str) -> Diagnostic {
    Diagnostic::error(
        code::LINE_NOT_UNDERSTOOD,
        span,
        "how full the spoon is stands behind it, and would not be counted",
    )
    .help(format!("write it before the spoon: `2 {heap} teaspoons`"))
}

fn general(lower: &Lower, text: &str, stopped_at: usize, wanted: &str) -> Diagnostic {
    let rest = text.get(stopped_at..).unwrap_or_default();
    let from = stopped_at.saturating_add(rest.len().saturating_sub(rest.trim_start().len()));
    let span = if from >= text.len() {
        lower.range(text.len(), text.len())
    } else {
        let word = text.get(from..).unwrap_or_default();
        let length = word.find(char::is_whitespace).unwrap_or(word.len());
        lower.range(from, from.saturating_add(length))
    };
    let whole = lower.range(0, text.len());
    if from >= text.len() || from == 0 {
        let message = if from == 0 {
            "this is not understood"
        } else {
            "something is missing at the end of this line"
        };
        return Diagnostic::error(code::LINE_NOT_UNDERSTOOD, whole, message)
            .help(format!("here comes {wanted}"));
    }
    Diagnostic::error(
        code::LINE_NOT_UNDERSTOOD,
        span,
        "this line is not understood from here on",
    )
    .help(format!("here comes {wanted}"))
}

/// One blank before `source`: then it is read as part of what stands before it.
pub fn source_too_near(span: Span, name: &str) -> Diagnostic {
    Diagnostic::error(
        code::LINE_NOT_UNDERSTOOD,
        span,
        format!("one blank before `source {name}` makes it a part of the line, and not its source"),
    )
    .help(format!("put two blanks before it: `  source {name}`"))
    .fix("put two blanks before it", span, format!(" source {name}"))
}

/// A quote without its partner.
pub fn unclosed_quote(span: Span) -> Diagnostic {
    Diagnostic::error(code::UNCLOSED_QUOTE, span, "this quote is opened and not closed")
        .help("put a name between two quotes, `\"E 330\"`, or leave both out")
}

/// The slips that have a name of their own, found word by word.
fn known_slip(lower: &Lower, text: &str) -> Option<Diagnostic> {
    let opened = text.matches('"').count();
    if opened % 2 == 1 {
        let at = text.rfind('"').unwrap_or(0);
        return Some(unclosed_quote(lower.range(at, text.len())));
    }
    let mut previous: Option<(&str, usize)> = None;
    for (at, word) in words_of(text) {
        let bare = word.trim_end_matches([',', ';', ':']);
        let span = lower.range(at, at.saturating_add(bare.len()));
        if bare.starts_with(|c: char| c.is_ascii_digit() || c == '.')
            && bare.contains([',', '.', '/', '-'])
            && bare
                .chars()
                .all(|c| c.is_ascii_digit() || matches!(c, ',' | '.' | '/' | '-'))
            && let Err(slip) = number::read(bare)
            && !is_range(bare)
        {
            return Some(refuse_number(&slip, bare, span));
        }
        if let Some((sign, measure)) = apothecary_sign(bare) {
            return Some(error_prone(
                sign,
                &measure,
                lower.range(at, at.saturating_add(sign.len())),
            ));
        }
        if let Some((before, from)) = previous
            && let Some(value) = roman(before)
            && is_measure(bare)
        {
            let span = lower.range(from, from.saturating_add(before.len()));
            return Some(roman_number(before, value, span));
        }
        previous = Some((bare, at));
    }
    None
}

fn is_range(word: &str) -> bool {
    word.split_once('-').is_some_and(|(low, high)| {
        number::read(low).is_ok() && number::read(high).is_ok() && !high.contains('/')
    })
}

fn words_of(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let start = text.as_ptr().addr();
    text.split([' ', '\t', '\u{a0}', '\n', '\r'])
        .filter(|word| !word.is_empty())
        .map(move |word| (word.as_ptr().addr().saturating_sub(start), word))
}

/// `℥`, `ʒ` and their kin at the start of a word, alone or run together with a number.
fn apothecary_sign(word: &str) -> Option<(&str, Reading)> {
    let sign = word.chars().next()?;
    let sign = word.get(..sign.len_utf8())?;
    match unit::read(sign, Settled::default()) {
        reading @ Reading::ErrorProne { .. } if !sign.is_ascii() => Some((sign, reading)),
        _ => None,
    }
}

/// A notation that has hurt people.
fn error_prone(written: &str, reading: &Reading, span: Span) -> Diagnostic {
    let Reading::ErrorProne { why, instead } = reading else {
        return Diagnostic::error(code::UNKNOWN_UNIT, span, format!("`{written}` is no measure"));
    };
    let offered = instead
        .iter()
        .map(|word| format!("`{word}`"))
        .collect::<Vec<_>>()
        .join(" or ");
    let finding = Diagnostic::error(
        code::ERROR_PRONE_UNIT,
        span,
        format!("`{written}` is not read: {why}"),
    )
    .help(format!("write {offered}"));
    match instead {
        [only] => finding.fix(format!("write `{only}`"), span, *only),
        _ => finding,
    }
}

fn is_measure(words: &str) -> bool {
    !matches!(
        unit::read(words, Settled::default()),
        Reading::Known(Unit::Piece(_)) | Reading::SpoonLetter
    ) || matches!(words, "gr" | "gr.")
}

/// The value of a small Roman number as prescriptions wrote them, with `ss` for a half and `j`
/// for the last one; as digits.
fn roman(word: &str) -> Option<String> {
    let (units, half) = match word.strip_suffix("ss") {
        Some(rest) => (rest, true),
        None => (word, false),
    };
    if units.is_empty() {
        return half.then(|| "1/2".to_owned());
    }
    if units.len() > 5
        || !units
            .chars()
            .all(|c| matches!(c, 'i' | 'j' | 'v' | 'x' | 'I' | 'V' | 'X'))
    {
        return None;
    }
    let value = |c: char| match c.to_ascii_lowercase() {
        'x' => 10_u32,
        'v' => 5,
        _ => 1,
    };
    let digits: Vec<u32> = units.chars().map(value).collect();
    let total = digits.iter().enumerate().fold(0_u32, |sum, (at, digit)| {
        let smaller = digits.get(at.saturating_add(1)).is_some_and(|next| next > digit);
        if smaller {
            sum.saturating_sub(*digit)
        } else {
            sum.saturating_add(*digit)
        }
    });
    Some(if half {
        format!("{total} 1/2")
    } else {
        total.to_string()
    })
}

fn roman_number(word: &str, digits: String, span: Span) -> Diagnostic {
    Diagnostic::error(code::ROMAN_NUMBER, span, format!("`{word}` is a Roman number"))
        .help(format!(
            "write `{digits}`: Roman numbers are misread, and `j`, `v` and `x` look alike in haste"
        ))
        .fix(format!("write `{digits}`"), span, digits)
}

/// A sign of the apothecaries that stands where a name is read, as in `fennel ℥ 2`.
pub fn sign_in_a_name(lower: &Lower, text: &str) -> Lowered<()> {
    // The signs are rare, and every name passes here.
    if text.is_ascii() {
        return Ok(());
    }
    let found = words_of(text).find_map(|(at, word)| {
        let (sign, reading) = apothecary_sign(word)?;
        Some(error_prone(
            sign,
            &reading,
            lower.range(at, at.saturating_add(sign.len())),
        ))
    });
    found.map_or(Ok(()), Err)
}

/// Free words after a comma that hold an amount of their own: a second amount, or another herb.
pub fn another_amount(lower: &Lower, clause: &Node<'_>) -> Lowered<()> {
    let text = clause.as_str();
    let refused = |message: &str, help: &str| {
        Err(Diagnostic::error(code::LINE_NOT_UNDERSTOOD, lower.span(clause), message).help(help))
    };
    let first = text.split_whitespace().next().unwrap_or_default();
    let second = text.split_whitespace().nth(1).unwrap_or_default();
    if let Some(heap) = heap_behind(first) {
        return Err(heap_first(lower.span(clause), heap));
    }
    let opens =
        |word: &str| word.starts_with(|c: char| c.is_ascii_digit() || c == '½' || c == '¼' || c == '¾');
    let more = matches!(first.to_lowercase().as_str(), "or" | "plus" | "and" | "about") && opens(second);
    if opens(first) || more || first.to_lowercase().starts_with("q.s") {
        return refused(
            "a second amount stands after the comma, and only one can count",
            "keep one amount; a choice is a range, `10 to 20 g`; amounts that add up stand side by side, `2 lb 10 oz`",
        );
    }
    // `of which 850 ml in the first menstruum` tells how, not what.
    if matches!(
        first.to_lowercase().as_str(),
        "of" | "in" | "with" | "to" | "from" | "after" | "before" | "then" | "by"
    ) {
        return Ok(());
    }
    if holds_an_ingredient(text) {
        return refused(
            "this looks like another ingredient, and would be taken for how the first is processed",
            "give each ingredient a line of its own, and end no line with a comma unless it goes on",
        );
    }
    Ok(())
}

/// Whether words are a name and an amount in a measure that is known.
pub fn holds_an_ingredient(text: &str) -> bool {
    let Ok(line) = grammar::read(Rule::ingredient_line, text) else {
        return false;
    };
    line.into_inner()
        .filter(|part| part.as_rule() == Rule::amount)
        .flat_map(|amount| amount.into_inner().flatten())
        .any(|part| part.as_rule() == Rule::unit && is_measure(part.as_str()))
}

/// A line under `take` that has a name and no amount.
pub fn no_amount(lower: &Lower, text: &str, ingredient: &Ingredient) -> Diagnostic {
    if let Some(slip) = known_slip(lower, text) {
        return slip;
    }
    let span = lower.range(0, text.len());
    let finding = Diagnostic::error(
        code::LINE_WITHOUT_AN_AMOUNT,
        span,
        "nothing says how much of this is taken",
    );
    if let Some((word, _)) = words::find(Kind::Formula, text) {
        return finding.help(format!(
            "if this is the line `{}`, indent it less, as far as `take`; if it is a herb, write how much: `20 g`",
            word.word
        ));
    }
    if ingredient.names.len() == 1 {
        finding.help(
            "write how much after the name, such as `20 g` or `2 teaspoons`; `q.s.` is enough by judgement",
        )
    } else {
        finding.help("write how much at the end, such as `of each 20 g`")
    }
}

/// Words that ran into the measure because a comma is missing: `5 g cut`.
pub fn stray_unit_words(lower: &Lower, text: &str, amount: &Amount) -> Lowered<()> {
    let (AmountKind::Quantity(quantity) | AmountKind::About(quantity) | AmountKind::EnoughTo(quantity)) =
        &amount.kind
    else {
        return Ok(());
    };
    stray_words(lower, text, quantity)
}

fn stray_words(lower: &Lower, text: &str, quantity: &Quantity) -> Lowered<()> {
    let terms = quantity.low.iter().chain(quantity.high.iter().flatten());
    let count = terms.clone().count();
    for (place, name) in terms
        .enumerate()
        .filter_map(|(place, term)| Some((place, term.unit.as_ref()?)))
    {
        stray_words_in(lower, text, name, place.saturating_add(1) == count)?;
    }
    Ok(())
}

fn stray_words_in(lower: &Lower, text: &str, name: &Name, is_last: bool) -> Lowered<()> {
    // `2 heaped teaspoons` and `fl oz` are measures of two words; `g cut` is a measure and a word.
    if is_measure(&name.text) || matches!(name.text.as_str(), "T" | "t") {
        return Ok(());
    }
    let mut measure = String::new();
    for word in name.text.split(' ') {
        let longer = if measure.is_empty() {
            word.to_owned()
        } else {
            format!("{measure} {word}")
        };
        if !is_measure(&longer) && is_measure(&measure) {
            let written = lower.written(text, name.span);
            let taken = words::opens_with(written, &measure).unwrap_or(measure.len());
            let gap = Span {
                start: name.span.start.saturating_add(u32::try_from(taken).unwrap_or(0)),
                end: name.span.start.saturating_add(u32::try_from(taken).unwrap_or(0)),
                ..name.span
            };
            let finding = Diagnostic::error(
                code::LINE_NOT_UNDERSTOOD,
                name.span,
                format!("`{}` is a measure with other words run into it", name.text),
            );
            if let Some(heap) = heap_behind(word) {
                return Err(heap_first(name.span, heap));
            }
            return Err(if !is_last {
                finding.help("if this is another ingredient, give it a line of its own; how the first is processed stands at the end, after a comma")
            } else if words::places_of(&name.text, " source ").next().is_some() {
                finding.help("put two blanks before `source`, so that it is seen where the line comes from")
            } else {
                finding
                    .help(format!(
                        "put a comma after `{measure}`: what follows is how it is processed"
                    ))
                    .fix("put a comma", gap, ",")
            });
        }
        measure = longer;
    }
    Ok(())
}
