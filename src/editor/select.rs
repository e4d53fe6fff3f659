//! Turns a place into what holds it, ever larger: word, name or amount, item, line, entry, file.

use super::Here;
use super::mentions;
use crate::source::Span;
use crate::syntax::tree::Body;
use crate::syntax::walk::{self, Piece};

/// What holds a place, the smallest first, each larger than the one before.
pub fn around(here: &Here<'_>) -> Vec<Span> {
    let text = here.text();
    let whole = Span::new(here.file, 0, text.len());
    let mut found = vec![whole];
    found.extend(word(here));
    if let Some(entry) = here.entry() {
        found.push(entry.span);
        let mut copy = entry.clone();
        walk::entry(&mut copy, &mut |piece| match piece {
            Piece::Opens(span)
            | Piece::Own(span)
            | Piece::Source(span)
            | Piece::Amount(span)
            | Piece::Whole(span) => {
                found.push(*span);
            }
            Piece::Measure(name, _) => found.push(name.span),
        });
        found.extend(
            mentions::of_entry(text, entry)
                .iter()
                .map(|mention| mention.name.span),
        );
        for line in &entry.lines {
            if let Body::Take(items, _) = &line.body {
                let names = items
                    .iter()
                    .filter_map(|item| Some(item.names.first()?.span.to(item.names.last()?.span)));
                found.extend(names);
            }
        }
    }
    found.retain(|span| here.is_in(*span) && span.length() > 0 && span.end_byte() <= text.len());
    found.sort_by_key(|span| (span.length(), span.start));
    let mut chain: Vec<Span> = Vec::new();
    for span in found {
        let fits = chain
            .last()
            .is_none_or(|last| span.start <= last.start && last.end <= span.end && span != *last);
        if fits {
            chain.push(span);
        }
    }
    if chain.is_empty() { vec![whole] } else { chain }
}

/// The word around the cursor.
fn word(here: &Here<'_>) -> Option<Span> {
    let text = here.text();
    let is_word = |letter: &char| letter.is_alphanumeric() || matches!(letter, '-' | '\'' | '’' | '.');
    let (before, after) = (text.get(..here.at)?, text.get(here.at..)?);
    let back: usize = before.chars().rev().take_while(is_word).map(char::len_utf8).sum();
    let on: usize = after.chars().take_while(is_word).map(char::len_utf8).sum();
    (back.saturating_add(on) > 0).then(|| {
        Span::new(
            here.file,
            here.at.saturating_sub(back),
            here.at.saturating_add(on),
        )
    })
}
