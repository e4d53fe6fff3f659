//! Turns a name under the cursor and a new one into the edits that rename it in the whole ledger.
//!
//! A thing may have several names, and the one that is pointed at is renamed: the others stay. What
//! comes of it is read again before it is given, and must mean what it meant.

use super::Here;
use super::find::{all_of, mention};
use super::mentions::{Meanings, Mention, Sort, Thing, is_spelled};
use super::same;
use crate::diagnostic::Edit;
use crate::naming::folded;
use crate::source::Span;

/// A longer name is no name.
const LONGEST: usize = 200;

/// What would be renamed: its place, and what it is called there.
///
/// # Errors
/// In plain words, why nothing here can be renamed.
pub fn renamed(here: &Here<'_>) -> Result<Span, String> {
    let meanings = Meanings::of(&here.snapshot.ledger);
    Ok(plan(here, &meanings)?.0)
}

/// The edits that give a thing another name.
///
/// # Errors
/// In plain words, why it can't have that name.
pub fn rename(here: &Here<'_>, name: &str) -> Result<Vec<Edit>, String> {
    let meanings = Meanings::of(&here.snapshot.ledger);
    let (_, thing, mentions) = plan(here, &meanings)?;
    let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
    if name.is_empty() {
        return Err("a name can't be empty: type the new name".to_owned());
    }
    if name.len() > LONGEST || name.chars().any(|letter| letter == '"' || letter.is_control()) {
        return Err("a name is one short line without quotation marks".to_owned());
    }
    let sort = mentions.first().map_or(Sort::Taken, |one| one.sort);
    if let Some(other) = meanings.look(sort, &name)
        && other != thing
    {
        return Err(format!(
            "`{name}` means something else in this ledger already: choose another name"
        ));
    }
    let has_it = |one: &Mention<'_>| one.declares && folded(&one.name.text) == folded(&name);
    let all = all_of(here.snapshot, &meanings, thing);
    let keeps = |one: &Mention<'_>| !mentions.iter().any(|own| own.name.span == one.name.span);
    if all.iter().any(|one| has_it(one) && keeps(one)) {
        return Err(format!("it is called `{name}` already, as another of its names"));
    }
    let edits: Vec<Edit> = mentions
        .iter()
        .map(|mention| Edit {
            span: mention.name.span,
            text: written(mention.sort, &name),
        })
        .collect();
    let after = same::after(here.snapshot, &edits);
    let kept =
        same::names_mean_the_same(here.snapshot, &after) && same::figures_are_the_same(here.snapshot, &after);
    if let Some(finding) = same::new_finding(here.snapshot, &after) {
        return Err(format!(
            "with the name `{name}` the ledger would no longer be read as it is ({}), so nothing is changed",
            finding.message
        ));
    }
    if !kept {
        return Err(format!(
            "with the name `{name}` some line would mean something else, so nothing is changed: choose another name"
        ));
    }
    Ok(edits)
}

/// A name as it must be written where such names stand.
pub(super) fn written(sort: Sort, name: &str) -> String {
    let needs_quotes = sort == Sort::Taken
        && (name.contains(',')
            || folded(name).starts_with("without ")
            || name
                .split(' ')
                .any(|word| word.starts_with(|letter: char| letter.is_numeric() || letter == '#')));
    if needs_quotes {
        format!("\"{name}\"")
    } else {
        name.to_owned()
    }
}

type Planned<'a> = (Span, Thing, Vec<Mention<'a>>);

/// The name under the cursor, what it means, and all mentions by that same name.
fn plan<'a>(here: &Here<'a>, meanings: &Meanings<'_>) -> Result<Planned<'a>, String> {
    let Some((pointed, thing)) = mention(here, meanings) else {
        return Err(
            "no name stands here: point at a herb, a formula, a source, a person or a lot".to_owned(),
        );
    };
    if meanings.declared(thing).is_none() {
        return Err(format!(
            "`{}` comes with the program and can't be renamed",
            pointed.name.text
        ));
    }
    let all = all_of(here.snapshot, meanings, thing);
    let declared: Vec<&str> = all
        .iter()
        .filter(|one| one.declares)
        .map(|one| one.name.text.as_str())
        .collect();
    let by = |name: &str| {
        let exactly = declared.iter().position(|own| folded(own) == folded(name));
        exactly.or_else(|| declared.iter().position(|own| is_spelled(own, name)))
    };
    let Some(own) = by(&pointed.name.text) else {
        return Err("it is said in other words here: rename it where it is declared".to_owned());
    };
    let span = pointed.name.span;
    let same: Vec<Mention<'a>> = all
        .iter()
        .filter(|one| by(&one.name.text) == Some(own))
        .cloned()
        .collect();
    Ok((span, thing, same))
}
