//! The list of rules.

use crate::compute::Figures;
use crate::diagnostic::Diagnostic;
use crate::model::Ledger;

/// What a rule is: it looks at the ledger and reports.
type Rule = fn(&Ledger, &Figures, &mut Vec<Diagnostic>);

macro_rules! rules {
    ($($name:ident)*) => {
        $(mod $name;)*
        /// Every rule.
        pub(super) const ALL: &[Rule] = &[$($name::run),*];
    };
}

rules! {
    herb_under_two_names
    listed_twice
    spoons_disagree
}
