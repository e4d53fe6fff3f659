//! The list of rules.

mod book;

use super::Scope;
use crate::diagnostic::Diagnostic;

/// What a rule is: it looks and reports.
pub(super) type Rule = fn(&Scope<'_>, &mut Vec<Diagnostic>);

pub(super) use book::of_the_book;

macro_rules! rules {
    ($(#[$doc:meta])* $list:ident: $($name:ident)*) => {
        $(mod $name;)*
        $(#[$doc])*
        pub(super) const $list: &[Rule] = &[$($name::run),*];
    };
}

rules! {
    /// Rules that look at herbs, people and topics, and at no formula: what they find is kept while only
    /// formulas change.
    OF_THE_LEDGER:
    caution_beside_its_topic
    figure_without_a_source
    looks_like_a_name
    set_holds_a_persons
    spoons_disagree
    topics_and_facts
}

rules! {
    /// Rules that look at how one formula is written.
    AS_WRITTEN:
    herb_under_two_names
    listed_twice
    part_size_unused
    replaces_several_lines
}

rules! {
    /// Rules that look at one reckoned formula at a time, for a person where there is one.
    OF_A_FORMULA:
    acceptances
    adult_figures_for_a_child
    against_the_nature
    alcohol_without_cautions
    cautions_for_a_person
    dose_bounds
    same_effect_twice
    steeping
    taken_too_long
}
