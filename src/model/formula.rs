//! Reads the lines of a formula into the model.

use super::checked::{divided, pieces_of};
use super::entries::{positive, step, weight};
use super::measure;
use super::read::Reader;
use super::{Adapts, Bound, DoseLine, Formula, Stated};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::quantity::Decimal;
use crate::syntax::tree::{Body, Entry, Line, Name};

type Found<T> = Result<T, Diagnostic>;

impl Formula {
    /// A formula that has a name and nothing else yet.
    pub(super) fn empty(name: Name, entry: &Entry) -> Self {
        Self {
            name,
            head: entry.head,
            entry: entry.span,
            refused: false,
            adapts: None,
            taken: Vec::new(),
            without: Vec::new(),
            take_span: None,
            one_part: None,
            makes: None,
            weights: Vec::new(),
            mix: Vec::new(),
            steps: Vec::new(),
            divide: None,
            doses: Vec::new(),
            sign: None,
            purpose: None,
            given: None,
            keep: None,
            accepts: Vec::new(),
            books: Vec::new(),
            person: None,
        }
    }
}

impl Reader<'_> {
    pub(super) fn read_formula(&mut self, formula: &mut Formula, entry: &Entry) {
        let pieces = pieces_of(entry);
        let in_a_book = entry.lines.iter().any(|line| line.word.text == "source");
        for line in &entry.lines {
            let book = self.book(line.source.as_ref());
            let read = self.formula_line(formula, line, book, in_a_book, &pieces);
            formula.refused |= self.keep(read).is_none() || matches!(line.body, Body::Broken);
        }
    }

    fn formula_line(
        &mut self,
        formula: &mut Formula,
        line: &Line,
        book: Option<usize>,
        in_a_book: bool,
        pieces: &[String],
    ) -> Found<()> {
        let settled = self.ledger.practice.settled;
        let span = Some(line.span);
        let word = line.word.text.as_str();
        match &line.body {
            Body::Take(ingredients, refused) => {
                formula.refused |= *refused > 0;
                formula.take_span = Some(line.word.span);
                for ingredient in ingredients {
                    if ingredient.without {
                        for name in &ingredient.names {
                            let bound = self.bind(name);
                            formula.without.push((name.clone(), bound));
                        }
                    } else {
                        let taken = self.taken(ingredient, in_a_book);
                        formula.refused |= taken.is_empty();
                        formula.taken.extend(taken);
                    }
                }
            }
            Body::Adapts(name, share) => {
                formula.adapts = Some(self.adapts(name, share.map(|share| share.value))?);
            }
            Body::Quantity(quantity) if word == "one part" => {
                let value = measure::grams(quantity, settled)?;
                positive(value.low, quantity.span)?;
                formula.one_part = Some(Stated { value, span });
            }
            Body::Quantity(quantity) => {
                let value = measure::portion(quantity, settled)?;
                if value.is_zero() {
                    return Err(
                        Diagnostic::error(code::ZERO_AMOUNT, quantity.span, "this makes nothing")
                            .help("say what it makes: `makes 500 g`"),
                    );
                }
                formula.makes = Some(Stated { value, span });
            }
            // A herb that lost its indentation would be read as a piece of the formula's own, and be missing.
            Body::Weighing(_) if self.is_a_stray_ingredient(&line.word) => {
                return Err(Diagnostic::error(
                    code::UNKNOWN_LINE_WORD,
                    line.word.span,
                    format!(
                        "`{}` stands here as a line of its own, and so it is not taken",
                        line.word.text
                    ),
                )
                .help("indent it further than `take`, if it is an ingredient; a piece of this formula needs another name"));
            }
            Body::Weighing(weighing) => formula.weights.push(weight(line, weighing, settled, book)?),
            Body::Preparation(preparation) => {
                self.check_preparation(preparation, pieces)?;
                formula.steps.push(step(word, preparation, line.span));
            }
            Body::Dose(dose) => {
                self.check_dose(dose, pieces)?;
                formula.doses.push(DoseLine {
                    dose: (**dose).clone(),
                    span: line.span,
                });
            }
            Body::Divide(divide) => formula.divide = Some(divided(divide, line.span, settled)?),
            Body::Caution(topic, reason) => formula
                .accepts
                .push((topic.clone(), reason.as_ref().map(|words| words.text.clone()))),
            Body::Names(names) if word == "person" => {
                formula.person = names.first().map(|name| (name.clone(), self.person(name)));
            }
            Body::Names(names) if word == "source" => {
                for name in names {
                    formula.books.extend(self.book(Some(name)));
                }
            }
            Body::Words(words) => match word {
                "mix" => formula.mix.push(words.clone()),
                "sign" => formula.sign = Some(words.text.clone()),
                "for" => formula.purpose = Some(words.text.clone()),
                "given" => formula.given = Some(words.text.clone()),
                "keep" => formula.keep = Some(words.text.clone()),
                _ => {}
            },
            _ => {}
        }
        Ok(())
    }

    fn adapts(&mut self, name: &Name, share: Option<Decimal>) -> Found<Adapts> {
        let formula = match self.bind(name) {
            Bound::Formula(at) => Some(at),
            Bound::Unknown => None,
            Bound::Substance(_) => {
                return Err(Diagnostic::error(
                    code::UNKNOWN_NAME,
                    name.span,
                    format!("`{}` is no formula, so it can't be adapted", name.text),
                )
                .help("name the formula that this one changes"));
            }
        };
        let share = positive(share.unwrap_or(Decimal::ONE), name.span)?;
        Ok(Adapts {
            name: name.clone(),
            formula,
            share,
        })
    }
}
