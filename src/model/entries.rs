//! Reads the lines of each kind of entry into the model.

use super::checked::{piece_name, pieces_of, taken_by};
use super::heads::Builder;
use super::measure;
use super::read::Reader;
use super::{
    Book, Bound, Caution, Level, Measure, Portion, Price, PublishedDose, PublishedMost, Stated, Step,
    Substance, Weight,
};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::naming;
use crate::quantity::unit::{self, Settled};
use crate::quantity::{Decimal, Heap, Household, Overflow, Spread, Unit};
use crate::source::Span;
use crate::syntax;
use crate::syntax::tree::{Body, Entry, Line, Name, Numbers, Per, Preparation, Weighing};
use crate::syntax::words::places_of;

type Found<T> = Result<T, Diagnostic>;

pub(super) fn factor(numbers: &Numbers) -> Found<Spread> {
    match numbers.high {
        None => Ok(Spread::exact(numbers.low.value)),
        Some(high) => {
            Spread::between(numbers.low.value, high.value).map_err(|Overflow| measure::overflow(numbers.span))
        }
    }
}

/// The household measure that a line word names.
pub(super) fn household(word: &str) -> Option<(Heap, Household)> {
    match unit::read(word, Settled::default()) {
        unit::Reading::Known(Unit::Household(heap, household)) => Some((heap, household)),
        _ => None,
    }
}

pub(super) fn positive(value: Decimal, span: Span) -> Found<Decimal> {
    if value.is_zero() {
        return Err(
            Diagnostic::error(code::ZERO_AMOUNT, span, "this is zero").help("give a value above zero")
        );
    }
    Ok(value)
}

impl Builder<'_> {
    pub(super) fn read_practice(&mut self, entry: &Entry) {
        self.ledger.practice.entry = Some(entry.span);
        self.ledger.practice.name = entry.name.as_ref().map(|name| name.text.clone());
        // What is settled must be known before any measure is read.
        for line in &entry.lines {
            if let Body::Words(words) = &line.body {
                let read = self.settle(&line.word.text, words);
                self.keep(read);
            }
        }
        for line in &entry.lines {
            let read = self.practice_line(line);
            self.keep(read);
        }
    }

    fn practice_line(&mut self, line: &Line) -> Found<()> {
        let settled = self.ledger.practice.settled;
        let practice = &mut self.ledger.practice;
        let span = Some(line.span);
        match &line.body {
            Body::Quantity(quantity) => match line.word.text.as_str() {
                "scales" => {
                    let grams = measure::grams(quantity, settled).map_err(|finding| {
                        if finding.code == code::WRONG_SORT_OF_MEASURE {
                            finding.help("the step of the scales is a weight: `scales   0.1 g`")
                        } else {
                            finding
                        }
                    })?;
                    practice.scales = Stated {
                        value: positive(grams.nominal, quantity.span)?,
                        span,
                    };
                }
                "cylinder" => {
                    let volume = measure::millilitres(quantity, settled)?;
                    practice.cylinder = Stated {
                        value: positive(volume.nominal, quantity.span)?,
                        span,
                    };
                }
                word => {
                    if let Some((_, household)) = household(word) {
                        let value = measure::millilitres(quantity, settled)?;
                        positive(value.low, quantity.span)?;
                        practice.volumes.push((household, Stated { value, span }));
                    }
                }
            },
            Body::Factor(numbers) => {
                let heap = if line.word.text == "rounded" {
                    Heap::Rounded
                } else {
                    Heap::Heaped
                };
                let value = factor(numbers)?;
                positive(value.low, numbers.span)?;
                practice.heaps.push((heap, Stated { value, span }));
            }
            Body::Words(words) if line.word.text == "address" => {
                practice.address = Some(words.text.clone());
            }
            Body::Percent(number) if line.word.text != "error" => {
                self.percent_of_money(&line.word.text, number.value, line.span)?;
            }
            Body::Percent(number) => {
                practice.error = Stated {
                    value: positive(number.value, line.span).map_err(|finding| {
                        finding.help("no scales weigh without any error: `error   5%` is common")
                    })?,
                    span,
                };
            }
            _ => {}
        }
        Ok(())
    }
}

impl Book {
    /// Reads a `source` entry.
    pub(super) fn read(name: &Name, entry: &Entry) -> Self {
        let said = |word: &str| {
            entry
                .lines
                .iter()
                .filter(move |line| line.word.text == word)
                .filter_map(|line| match &line.body {
                    Body::Words(words) => Some(words.text.clone()),
                    _ => None,
                })
                .collect::<Vec<_>>()
        };
        Self {
            name: name.clone(),
            citation: ["author", "title", "year", "reference"]
                .into_iter()
                .flat_map(said)
                .collect::<Vec<_>>()
                .join(", "),
            from_memory: entry.lines.iter().any(|line| matches!(line.body, Body::Flag)),
            span: entry.span,
        }
    }
}

impl Reader<'_> {
    pub(super) fn read_substance(&mut self, substance: &mut Substance, entry: &Entry) {
        let pieces = pieces_of(entry);
        for line in &entry.lines {
            let book = self.book(line.source.as_ref());
            let read = self.substance_line(substance, line, book, &pieces);
            self.keep(read);
        }
    }

    #[expect(clippy::too_many_lines, reason = "one arm for each line of a herb")]
    fn substance_line(
        &mut self,
        substance: &mut Substance,
        line: &Line,
        book: Option<usize>,
        pieces: &[String],
    ) -> Found<()> {
        let settled = self.ledger.practice.settled;
        let word = line.word.text.as_str();
        let mut drop = None;
        let mut density = None;
        match &line.body {
            Body::Weighing(Weighing::Stated(quantity)) if word == "drop" => {
                drop = Some(Stated {
                    value: measure::millilitres(quantity, settled)?,
                    span: Some(line.span),
                });
            }
            Body::Weighing(weighing) => {
                let weight = weight(line, weighing, settled, book)?;
                substance.weights.push(weight);
            }
            Body::Density(quantity, per) => {
                let grams = measure::grams(quantity, settled)?;
                let Unit::Fixed(fixed) = measure::unit(per, settled)? else {
                    return Err(wrong_density(per.span));
                };
                if fixed.dimension != unit::Dimension::Volume {
                    return Err(wrong_density(per.span));
                }
                let value = fixed
                    .to_base(Decimal::ONE)
                    .and_then(|volume| grams.proportion(Decimal::ONE, volume))
                    .map_err(|Overflow| measure::overflow(line.span))?;
                positive(value.low, line.span)?;
                density = Some(Stated {
                    value,
                    span: Some(line.span),
                });
            }
            Body::Money(money) => {
                let per = money.per.as_ref().map(|per| measure::portion(per, settled));
                if let (Some(per), Some(value)) = (per.transpose()?, self.money(money)) {
                    substance.prices.push(Price {
                        money: value,
                        per,
                        span: line.span,
                    });
                }
            }
            Body::Pack(pack) => {
                let pack = self.pack(pack, line.span)?;
                substance.packs.push(pack);
            }
            Body::Quantity(quantity) => {
                let value = measure::portion(quantity, settled)?;
                substance.minimum = Some(Stated {
                    value,
                    span: Some(line.span),
                });
            }
            Body::Names(names) if word == "instead" => {
                let bound: Vec<_> = names.iter().map(|name| (name.clone(), self.bind(name))).collect();
                substance.instead.extend(bound);
            }
            Body::Caution(topic, text) => {
                // The caution stands, whatever becomes of its source.
                let (mut topic, mut text) = (topic.clone(), text.clone());
                let misread = self.source_among(line, text.as_mut().unwrap_or(&mut topic));
                caution(substance, line, &topic, text.as_ref(), book);
                misread?;
            }
            Body::Names(names) if word == "source" => {
                for name in names {
                    self.book(Some(name));
                }
                substance.cited = true;
            }
            Body::Dose(dose) => {
                self.check_dose(dose, pieces)?;
                substance.doses.push(PublishedDose {
                    dose: (**dose).clone(),
                    span: line.span,
                    cited: line.source.is_some(),
                    book,
                });
            }
            Body::Most(quantity, per, ages) => {
                let portion = measure::portion(quantity, settled)?;
                match (*per, &portion) {
                    (Per::Unsaid, Portion::Minutes(_)) => {}
                    (Per::Unsaid, _) => {
                        return Err(Diagnostic::error(
                            code::LINE_NOT_UNDERSTOOD,
                            quantity.span,
                            "this does not say whether it is the most of a day or of one dose",
                        )
                        .help("write `most   3 g a day` or `most   1 g at once`"));
                    }
                    _ => taken_by(quantity, settled, pieces)?,
                }
                substance.mosts.push(PublishedMost {
                    portion,
                    per: *per,
                    ages: *ages,
                    span: line.span,
                    cited: line.source.is_some(),
                    book,
                });
            }
            Body::Preparation(preparation) => {
                self.check_preparation(preparation, pieces)?;
                let step = step(word, preparation, line.span);
                substance.steps.push(step);
            }
            _ => {}
        }
        let made_of = match &line.body {
            Body::Strength(words) => self.made_of(words),
            _ => None,
        };
        match (&line.body, word) {
            (Body::Words(words), "latin") => substance.latin = Some(words.text.clone()),
            (Body::Strength(words), _) => {
                substance.made_of = made_of;
                substance.in_percent = words.text.contains('%');
            }
            (Body::Words(words), "family") => substance.family = Some(words.text.clone()),
            (Body::Words(words), "for") => substance.purpose = Some(words.text.clone()),
            (Body::Words(words), "keep") => substance.keep = Some(words.text.clone()),
            (Body::Names(names), "also") => {
                substance.also.extend(names.iter().map(|name| name.text.clone()));
            }
            (Body::Names(names), "taste") => {
                substance.taste = names.iter().map(|name| name.text.clone()).collect();
            }
            (Body::Names(names), "nature") => {
                substance.nature = names.iter().map(|name| naming::folded(&name.text)).collect();
            }
            (Body::Names(names), "part") => {
                substance.parts = names.iter().map(|name| name.text.clone()).collect();
            }
            _ => {}
        }
        substance.drop = drop.or(substance.drop);
        substance.density = density.or(substance.density);
        Ok(())
    }

    /// The herb in `1:5 of sage leaf, 60%`: its cautions hold for what is made of it. A herb that is
    /// not declared is no fault; a ledger need not know what it buys ready-made.
    fn made_of(&self, strength: &Name) -> Option<usize> {
        let of = places_of(&strength.text, " of ").next()?;
        let rest = strength.text.get(of.saturating_add(" of ".len())..)?;
        let name = rest.split(',').next().unwrap_or(rest).trim();
        match self.ledger.names.look(name) {
            super::Looked::Found(Bound::Substance(at)) => Some(at),
            _ => None,
        }
    }

    /// Takes a source with one blank before it out of the free words, where the line would cite none.
    fn source_among(&self, line: &Line, words: &mut Name) -> Found<()> {
        let Some((before, name)) = words.text.rsplit_once(" source ") else {
            return Ok(());
        };
        if line.source.is_some() || !self.is_book(name) {
            return Ok(());
        }
        let end = words.span.end_byte();
        let from = end.saturating_sub(name.len().saturating_add("source ".len()));
        let finding = syntax::source_too_near(Span::new(words.span.file, from, end), name);
        words.text = before.to_owned();
        Err(finding)
    }
}

fn caution(substance: &mut Substance, line: &Line, topic: &Name, text: Option<&Name>, book: Option<usize>) {
    let level = match line.word.text.as_str() {
        "avoid" => Level::Avoid,
        "consult" => Level::Consult,
        _ => Level::Mind,
    };
    substance.cautions.push(Caution {
        level,
        topic: topic.clone(),
        text: text.map(|words| words.text.clone()),
        span: line.span,
        book,
    });
}

pub(super) fn step(word: &str, preparation: &Preparation, span: Span) -> Step {
    let word = ["infuse", "decoct", "macerate", "percolate", "syrup"]
        .into_iter()
        .find(|known| *known == word)
        .unwrap_or("then");
    Step {
        word,
        preparation: preparation.clone(),
        span,
    }
}

fn wrong_density(span: Span) -> Diagnostic {
    Diagnostic::error(
        code::WRONG_SORT_OF_MEASURE,
        span,
        "a density is a weight per volume",
    )
    .help("write `1.42 g per ml`")
}

pub(super) fn weight(
    line: &Line,
    weighing: &Weighing,
    settled: Settled,
    book: Option<usize>,
) -> Found<Weight> {
    let (grams, weighings) = measure::weight(weighing, line.span, settled)?;
    positive(grams.low, line.span)?;
    let measure = match household(&line.word.text) {
        Some((heap, household)) => Measure::Household(heap, household),
        None => Measure::Piece(piece_name(&line.word)?),
    };
    Ok(Weight {
        measure,
        grams,
        weighings,
        span: line.span,
        book,
    })
}
