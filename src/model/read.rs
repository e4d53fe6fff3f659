//! Reads the lines of one entry against the names of the whole ledger. What it gives depends on the
//! entry and on what was declared beforehand, never on the lines of another entry.

use super::Ledger;
use super::heads::{Heads, span_of};
use super::names::{Bound, Looked};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::naming;
use crate::syntax::tree::{Kind, Name, Tree};

/// What reading a line needs to know, and what it finds.
pub(super) struct Reader<'a> {
    /// Practice, sources, topics, people and names.
    pub ledger: &'a Ledger,
    pub diagnostics: Vec<Diagnostic>,
    pub heads: &'a Heads,
    trees: &'a [&'a Tree],
}

impl<'a> Reader<'a> {
    pub fn new(heads: &'a Heads, trees: &'a [&'a Tree]) -> Self {
        Self {
            ledger: &heads.ledger,
            diagnostics: Vec::new(),
            heads,
            trees,
        }
    }

    pub(super) fn keep<T>(&mut self, read: Result<T, Diagnostic>) -> Option<T> {
        read.map_err(|finding| self.diagnostics.push(finding)).ok()
    }

    /// Whether a name is declared.
    pub(super) fn knows(&self, name: &Name) -> bool {
        !matches!(self.ledger.names.look(&name.text), Looked::Nothing)
    }

    /// Whether the word of a line is no line word but the name of something that can be taken.
    pub(super) fn is_a_stray_ingredient(&self, word: &Name) -> bool {
        let is_a_line = Kind::Formula
            .line_words()
            .iter()
            .any(|known| known.word == word.text);
        !is_a_line && self.knows(word)
    }

    /// What a name means; of a name that is not declared only the first use is shown.
    pub(super) fn bind(&mut self, name: &Name) -> Bound {
        match self.ledger.names.look(&name.text) {
            Looked::Found(bound) => bound,
            Looked::Several(bounds) => {
                let mut finding = Diagnostic::error(
                    code::AMBIGUOUS_NAME,
                    name.span,
                    format!("`{}` may mean several declared names", name.text),
                )
                .help("write the name as it is declared");
                for bound in bounds {
                    if let Some(span) = span_of(self.heads, self.trees, bound) {
                        finding = finding.related(span, "this may be meant");
                    }
                }
                self.diagnostics.push(finding);
                Bound::Unknown
            }
            Looked::Nothing => {
                self.report_unknown(name);
                Bound::Unknown
            }
            Looked::Clash => Bound::Unknown,
        }
    }

    fn report_unknown(&mut self, name: &Name) {
        let mut finding = Diagnostic::error(
            code::UNKNOWN_NAME,
            name.span,
            format!("`{}` is declared nowhere in this ledger", name.text),
        );
        finding = match self.heads.nearest(&name.text) {
            Some(near) => finding
                .help(format!(
                    "did you mean `{near}`? else declare it: `herb {}`",
                    name.text
                ))
                .fix(format!("write `{near}`"), name.span, near),
            None => finding.help(format!(
                "declare it in the first column, `herb {}`, or `material` if it is no herb",
                name.text
            )),
        };
        let about = naming::folded(&name.text);
        self.diagnostics.push(finding.said_once(about));
    }

    /// Whether a source of this name is declared.
    pub(super) fn is_book(&self, name: &str) -> bool {
        self.heads.book(name).is_some()
    }

    /// The book that a line cites; one that is not declared is reported.
    pub(super) fn book(&mut self, cited: Option<&Name>) -> Option<usize> {
        let cited = cited?;
        let found = self.heads.book(&cited.text);
        if found.is_none() {
            let near = naming::nearest(
                &cited.text,
                self.ledger.books.iter().map(|book| book.name.text.as_str()),
            )
            .map(str::to_owned);
            let mut finding = Diagnostic::warning(
                code::SOURCE_NOT_DECLARED,
                cited.span,
                format!("the source `{}` is declared nowhere", cited.text),
            );
            finding = match near {
                Some(near) => finding
                    .help(format!(
                        "did you mean `{near}`? a figure whose source can't be found can't be checked"
                    ))
                    .fix(format!("write `{near}`"), cited.span, near),
                None => finding.help(format!(
                    "declare it in the first column, `source {}`, with its title and reference below",
                    cited.text
                )),
            };
            self.diagnostics.push(finding);
        }
        found
    }
}
