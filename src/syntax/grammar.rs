//! The one door to pest: a rule and a text give pairs, or the place where reading stopped.

use pest::Parser;
use pest::iterators::Pair;

/// Generated from `grammar/ledger.pest`, the grammar of record.
#[derive(pest_derive::Parser)]
#[grammar = "../grammar/ledger.pest"]
struct Lines;

/// A node of a line.
pub type Node<'a> = Pair<'a, Rule>;

/// Reads a text by a rule; on failure gives the byte where reading stopped.
pub fn read(rule: Rule, text: &str) -> Result<Node<'_>, usize> {
    match Lines::parse(rule, text) {
        Ok(mut pairs) => pairs.next().ok_or(0),
        Err(error) => Err(match error.location {
            pest::error::InputLocation::Pos(at) | pest::error::InputLocation::Span((at, _)) => at,
        }),
    }
}
