//! Turns the lines of a practice that choose among a few words into what they settle.

use super::heads::Builder;
use super::{ChildRule, TotalsPlace};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::quantity::Currency;
use crate::quantity::unit::{System, Weights};
use crate::syntax::tree::Name;

type Found<T> = Result<T, Diagnostic>;

impl Builder<'_> {
    /// Reads a line of the practice that is free words in form and a choice in meaning.
    pub(super) fn settle(&mut self, word: &str, words: &Name) -> Found<()> {
        let settled = &mut self.ledger.practice.settled;
        let said = words.text.to_lowercase();
        let weights = || match said.as_str() {
            "avoirdupois" => Ok(Some(Weights::Avoirdupois)),
            "apothecary" | "apothecaries'" => Ok(Some(Weights::Apothecary)),
            _ => Err(Diagnostic::error(
                code::LINE_NOT_UNDERSTOOD,
                words.span,
                format!("`{}` is no system of weights", words.text),
            )
            .help("write `avoirdupois` or `apothecary`")),
        };
        match word {
            "measures" => {
                settled.measures = match said.as_str() {
                    "imperial" => Some(System::Imperial),
                    "us" => Some(System::Us),
                    _ => {
                        return Err(Diagnostic::error(
                            code::LINE_NOT_UNDERSTOOD,
                            words.span,
                            format!("`{}` is no system of measures", words.text),
                        )
                        .help(
                            "write `imperial` or `US`: they say whose pint, fluid ounce and minim is meant",
                        ));
                    }
                }
            }
            "ounce" => settled.ounce = weights()?,
            "dram" => settled.dram = weights()?,
            "children" => {
                let rule = match said.strip_prefix("by ").unwrap_or(&said) {
                    "young" => ChildRule::Young,
                    "clark" => ChildRule::Clark,
                    "cowling" => ChildRule::Cowling,
                    "fried" => ChildRule::Fried,
                    _ => {
                        return Err(Diagnostic::error(
                            code::LINE_NOT_UNDERSTOOD,
                            words.span,
                            format!("`{}` is no rule for a child's dose", words.text),
                        )
                        .help("write `by Young`, `by Clark`, `by Cowling` or `by Fried`: they give different answers"));
                    }
                };
                self.ledger.practice.children = Some((rule, words.span));
            }
            "money" => self.ledger.practice.money = Currency::read(&words.text),
            "totals" => self.ledger.practice.totals = Some(totals(words)?),
            _ => {}
        }
        Ok(())
    }
}

/// Where totals are kept: nowhere but inside the ledger, and not where they would not be found again.
fn totals(words: &Name) -> Found<TotalsPlace> {
    let said = words.text.split_whitespace().collect::<Vec<_>>().join(" ");
    let refused = |message: String| {
        Diagnostic::error(code::LINE_NOT_UNDERSTOOD, words.span, message)
            .help("write `beside` (each beside its file), `in totals` (a folder inside the ledger) or `none`")
    };
    match said.to_lowercase().as_str() {
        "beside" => return Ok(TotalsPlace::Beside),
        "none" => return Ok(TotalsPlace::Nowhere),
        _ => {}
    }
    let folder = match said.split_once(' ') {
        Some((first, folder)) if first.eq_ignore_ascii_case("in") => folder.trim_end_matches('/'),
        _ => return Err(refused(format!("`{}` is no place for totals", words.text))),
    };
    let is_fine =
        |part: &str| !part.is_empty() && !part.starts_with('.') && !part.contains(['\\', ':', '\0']);
    if folder.split('/').all(is_fine) {
        Ok(TotalsPlace::Folder(folder.to_owned()))
    } else {
        Err(refused(format!("`{folder}` is no folder inside the ledger")))
    }
}
