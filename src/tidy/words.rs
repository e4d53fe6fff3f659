//! Turns a piece of a line into its words: the writer's own as they stand, the small ones in one spelling.

use super::measure;
use crate::source::Span;
use crate::syntax::tree::{AmountKind, Body, Entry, Ingredient};
use crate::syntax::walk::{self, Piece};
use crate::syntax::{fold_blanks, words::opens_with};

/// What a word is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// A name, a date or free words, as written.
    Own,
    /// The words of a measure.
    Measure,
    /// The source at a line's end, with the word before it.
    Source,
    /// A number, or one of the small words of the language.
    Small,
    /// `,`
    Comma,
    /// `:`
    Colon,
}

/// One word, or a run of words that stays together.
#[derive(Debug, Clone)]
pub struct Word {
    /// The byte of the file where it began.
    pub at: usize,
    /// How it is written from now on.
    pub text: String,
    /// What it is.
    pub sort: Sort,
}

/// A place of the text that is one word.
#[derive(Debug)]
struct Mark {
    start: usize,
    end: usize,
    sort: Sort,
    /// What stands there from now on; without it, what stands there now.
    text: Option<String>,
}

/// The places of an entry whose words are known; between them stand numbers, signs and small words.
#[derive(Debug, Default)]
pub struct Marks {
    marks: Vec<Mark>,
    /// Where a `to` opens an amount, and `q.s.` is left out before it.
    unsaid: Vec<usize>,
}

impl Marks {
    /// The marks of an entry.
    pub fn of(text: &str, entry: &Entry) -> Self {
        let mut own: Vec<Span> = Vec::new();
        let mut amounts: Vec<Span> = Vec::new();
        let mut marks: Vec<Mark> = Vec::new();
        walk::entry(&mut entry.clone(), &mut |piece| match piece {
            Piece::Own(span) => own.push(*span),
            Piece::Amount(span) => amounts.push(*span),
            Piece::Measure(name, count) => marks.push(Mark {
                start: name.span.first_byte(),
                end: name.span.end_byte(),
                sort: Sort::Measure,
                text: Some(measure::plain(&name.text, count)),
            }),
            Piece::Source(span) => {
                let before = text.get(..span.first_byte()).unwrap_or_default();
                marks.push(Mark {
                    start: before.rfind("source").unwrap_or(before.len()),
                    end: span.end_byte(),
                    sort: Sort::Source,
                    text: None,
                });
            }
            Piece::Opens(_) | Piece::Whole(_) => {}
        });
        // The whole of an amount goes before its terms.
        amounts.sort_unstable_by_key(|span| (span.start, std::cmp::Reverse(span.end)));
        own.extend(names_used(entry));
        for span in own {
            around(span, &amounts, &mut marks);
        }
        marks.sort_by_key(|mark| (mark.start, std::cmp::Reverse(mark.end)));
        // The source of a list of one line stands at the line and at its item.
        let mut end = 0;
        marks.retain(|mark| {
            let apart = mark.start >= end;
            end = end.max(mark.end);
            apart
        });
        Self {
            marks,
            unsaid: unsaid(text, entry),
        }
    }

    /// The words between two bytes of the file, which lie in one line.
    pub fn words(&self, text: &str, start: usize, end: usize) -> Vec<Word> {
        let mut words = Vec::new();
        let mut at = start;
        let first = self.marks.partition_point(|mark| mark.end <= start);
        for mark in self.marks.get(first..).unwrap_or_default() {
            if mark.start >= end {
                break;
            }
            self.small(text, at, mark.start, &mut words);
            let (from, to) = (mark.start.max(start), mark.end.min(end));
            let is_whole = (from, to) == (mark.start, mark.end);
            words.push(Word {
                at: from,
                text: match &mark.text {
                    Some(text) if is_whole => text.clone(),
                    _ => fold_blanks(text.get(from..to).unwrap_or_default()),
                },
                // What goes on from the line above has its word there.
                sort: if from > mark.start { Sort::Own } else { mark.sort },
            });
            at = to;
        }
        self.small(text, at, end, &mut words);
        words.retain(|word| !word.text.is_empty());
        words
    }

    /// Numbers, signs and the small words of the language.
    fn small(&self, text: &str, start: usize, end: usize, words: &mut Vec<Word>) {
        let slice = text.get(start..end).unwrap_or_default();
        let mut from = 0;
        let mut cut = Vec::new();
        for (at, letter) in slice.char_indices() {
            let next = at.saturating_add(letter.len_utf8());
            let sign = match letter {
                ' ' | '\t' | '\u{a0}' | '\n' | '\r' => None,
                ',' => Some((",", Sort::Comma)),
                ':' => Some((":", Sort::Colon)),
                '-' | '–' | '—' if is_range(slice, at, next, words.last()) => Some(("to", Sort::Small)),
                _ => continue,
            };
            cut.push((from, at));
            if let Some((sign, sort)) = sign {
                cut.push((at, at));
                for (from, to) in cut.drain(..) {
                    self.word(
                        slice.get(from..to).unwrap_or_default(),
                        start.saturating_add(from),
                        words,
                    );
                }
                words.push(Word {
                    at: start.saturating_add(at),
                    text: sign.to_owned(),
                    sort,
                });
            }
            from = next;
        }
        cut.push((from, slice.len()));
        for (from, to) in cut {
            self.word(
                slice.get(from..to).unwrap_or_default(),
                start.saturating_add(from),
                words,
            );
        }
    }

    fn word(&self, word: &str, at: usize, words: &mut Vec<Word>) {
        if word.is_empty() {
            return;
        }
        let lower = word.to_lowercase();
        // `q. s.` is one word in two pieces.
        if lower == "s."
            && let Some(last) = words.last_mut()
            && last.text == "q."
        {
            "q.s.".clone_into(&mut last.text);
            return;
        }
        let mut push = |text: &str| {
            words.push(Word {
                at,
                text: text.to_owned(),
                sort: Sort::Small,
            });
        };
        match lower.as_str() {
            "āā" => {
                push("of");
                push("each");
            }
            "qs" | "q.s." => push("q.s."),
            "to" => {
                if self.unsaid.binary_search(&at).is_ok() {
                    push("q.s.");
                }
                push("to");
            }
            "q." => push("q."),
            known if SMALL.contains(&known) => push(known),
            _ => {
                let (whole, rest) = word.split_at_checked(vulgar_at(word)).unwrap_or((word, ""));
                if !whole.is_empty() {
                    push(whole);
                }
                if !rest.is_empty() {
                    push(&spelled(rest));
                }
            }
        }
    }
}

/// The small words of the language, which may be written in capitals.
const SMALL: &[&str] = &[
    "a", "about", "age", "all", "allows", "an", "and", "as", "at", "by", "daily", "day", "days", "dose",
    "down", "each", "equal", "every", "for", "from", "in", "into", "level", "measures", "of", "on", "once",
    "one", "or", "parts", "people", "per", "person", "persons", "spoon", "spoons", "stock", "that", "time",
    "times", "twice", "under", "up", "week", "weeks", "weighed", "weight", "with", "without", "years",
];

/// An own place, but for the amounts inside it: free words may hold one.
fn around(span: Span, amounts: &[Span], marks: &mut Vec<Mark>) {
    let mut from = span.first_byte();
    let mut keep = |start: usize, end: usize| {
        if start < end {
            marks.push(Mark {
                start,
                end,
                sort: Sort::Own,
                text: None,
            });
        }
    };
    let first = amounts.partition_point(|amount| amount.start < span.start);
    for amount in amounts.get(first..).unwrap_or_default() {
        if amount.start >= span.end {
            break;
        }
        if amount.end <= span.end && amount.first_byte() >= from {
            keep(from, amount.first_byte());
            from = amount.end_byte();
        }
    }
    keep(from, span.end_byte());
}

/// The names under `used`, also those that only the writer knows: a line takes its first.
fn names_used(entry: &Entry) -> impl Iterator<Item = Span> {
    let lists = entry.lines.iter().filter_map(|line| match &line.body {
        Body::Used(list, _) => Some(list),
        _ => None,
    });
    lists.flatten().filter_map(|used| {
        let (amount, _) = used.portions.first()?;
        Some(Span {
            end: amount.span.start,
            ..used.span
        })
    })
}

/// Where `to 100 g` stands for `q.s. to 100 g`.
fn unsaid(text: &str, entry: &Entry) -> Vec<usize> {
    let lists = entry.lines.iter().filter_map(|line| match &line.body {
        Body::Take(list, _) => Some(list),
        _ => None,
    });
    lists
        .flatten()
        .filter_map(|Ingredient { amount, .. }| amount.as_ref())
        .filter(|amount| matches!(amount.kind, AmountKind::EnoughTo(_)))
        .map(|amount| amount.span)
        .filter(|span| {
            let written = text.get(span.first_byte()..span.end_byte()).unwrap_or_default();
            opens_with(written, "to").is_some()
        })
        .map(Span::first_byte)
        .collect()
}

/// Whether a dash stands between two numbers.
fn is_range(slice: &str, at: usize, next: usize, last: Option<&Word>) -> bool {
    let blanks = [' ', '\t', '\u{a0}'];
    let before = slice.get(..at).unwrap_or_default().trim_end_matches(blanks);
    let after = slice.get(next..).unwrap_or_default().trim_start_matches(blanks);
    let counts = |letter: char| letter.is_ascii_digit() || fraction(letter).is_some();
    let ends = match before.chars().next_back() {
        Some(letter) => counts(letter),
        None => last.is_some_and(|word| word.sort == Sort::Measure),
    };
    ends && after.chars().next().is_some_and(counts)
}

fn fraction(letter: char) -> Option<&'static str> {
    Some(match letter {
        '½' => "1/2",
        '⅓' => "1/3",
        '⅔' => "2/3",
        '¼' => "1/4",
        '¾' => "3/4",
        '⅕' => "1/5",
        '⅖' => "2/5",
        '⅗' => "3/5",
        '⅘' => "4/5",
        '⅙' => "1/6",
        '⅚' => "5/6",
        '⅛' => "1/8",
        '⅜' => "3/8",
        '⅝' => "5/8",
        '⅞' => "7/8",
        _ => return None,
    })
}

/// Where the first fraction of one letter stands in a word, or where the word ends.
fn vulgar_at(word: &str) -> usize {
    word.find(|letter| fraction(letter).is_some())
        .unwrap_or(word.len())
}

/// Fractions of one letter written out.
fn spelled(word: &str) -> String {
    let mut out = String::with_capacity(word.len());
    for letter in word.chars() {
        match fraction(letter) {
            Some(written) => out.push_str(written),
            None => out.push(letter),
        }
    }
    out
}
