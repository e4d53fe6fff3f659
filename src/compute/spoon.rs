//! What a spoon of something weighs: its own weighing, a heap, a density, or another of its spoons.

use super::Reckoner;
use super::measure::Use;
use super::trace::Trace;
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::model::measure::{overflow, stated};
use crate::model::{Bound, Measure, Stated, Weight};
use crate::quantity::print;
use crate::quantity::{Heap, Household, Overflow, Spread, Unit};
use crate::syntax::tree::Kind;

type Found<T> = Result<T, Diagnostic>;

/// Whether a spoon gives a weight, or only a volume of something liquid.
pub(super) enum Filled {
    Grams(Spread),
    Liquid(Spread),
}

impl Reckoner<'_> {
    /// What one household measure of something holds: its own weighing first; then a heap of its
    /// level measure; then its density; then another of its level measures, by volume.
    pub(super) fn filled(
        &mut self,
        of: &Use<'_>,
        heap: Heap,
        measure: Household,
        trace: &mut Trace,
    ) -> Found<Filled> {
        if self.is_faulty(of.what) {
            return Err(faulty(of));
        }
        if let Some(own) = stated(self.weights(of.what), &Measure::Household(heap, measure)).cloned() {
            trace.note(of.line, Some(own.span), own.book, || {
                weighing_words(&own, heap, measure)
            });
            return Ok(Filled::Grams(own.grams));
        }
        if heap != Heap::Level {
            return self.heaped(of, heap, measure, trace);
        }
        if let Bound::Substance(at) = of.what
            && let Some(substance) = self.ledger.substances.get(at)
            && (substance.density.is_some()
                || (substance.kind == Kind::Material && substance.weights.is_empty()))
        {
            return self.poured(of, measure, trace);
        }
        if let Bound::Formula(at) = of.what
            && let Some(inner) = self.done.get(at).and_then(Option::as_ref)
            && inner.formula.weights.is_empty()
        {
            if inner.totals.volume.is_some() {
                return self.poured(of, measure, trace);
            }
            return Ok(Filled::Grams(self.blend_weight(at, measure, of, trace)?));
        }
        self.by_another_spoon(of, measure, trace)
    }

    fn heaped(&mut self, of: &Use<'_>, heap: Heap, measure: Household, trace: &mut Trace) -> Found<Filled> {
        let level = self.filled(of, Heap::Level, measure, trace)?;
        let Some(factor) = self.ledger.practice.heap(heap) else {
            return Err(Diagnostic::error(
                code::HEAP_WITHOUT_SIZE,
                of.span,
                format!("nothing says how much a {} {} is", heap.word(), measure.one()),
            )
            .help(format!(
                "add to the practice: `{}   1.5 to 2.5 level spoons`; or weigh it, and add to {}: `{} {}   weighed 3.1, 2.9, 3.2 g`",
                heap.word(),
                of.name.text,
                heap.word(),
                measure.one()
            )));
        };
        let times = |spread: &Spread| spread.times(&factor.value).map_err(|Overflow| overflow(of.span));
        Ok(match level {
            Filled::Grams(weight) => {
                let grams = times(&weight)?;
                trace.note(of.line, factor.span, None, || {
                    format!(
                        "{} is {} level ones: {} × {} = {}",
                        heap.word(),
                        print::range(&factor.value, 3, "").trim(),
                        print::spread(&weight, 6, "g"),
                        print::short(factor.value.nominal, 3),
                        print::spread(&grams, 6, "g")
                    )
                });
                Filled::Grams(grams)
            }
            // A liquid can't be heaped; the spoon is full.
            Filled::Liquid(volume) => Filled::Liquid(volume),
        })
    }

    /// A spoon of a liquid holds what the practice, or the metric standard, says.
    fn poured(&self, of: &Use<'_>, measure: Household, trace: &mut Trace) -> Found<Filled> {
        let Some(volume) = self.ledger.practice.volume(measure) else {
            return Err(self.no_weight(of, Heap::Level, measure));
        };
        trace.note(of.line, volume.span, None, || {
            let standard = if volume.span.is_none() {
                " (metric kitchen measure)"
            } else {
                ""
            };
            format!(
                "a {} holds {}{standard}",
                measure.one(),
                print::spread(&volume.value, 6, "ml")
            )
        });
        Ok(Filled::Liquid(volume.value))
    }

    /// A level measure from another level measure that was weighed, by what both hold.
    fn by_another_spoon(&mut self, of: &Use<'_>, measure: Household, trace: &mut Trace) -> Found<Filled> {
        let Some(wanted) = self.ledger.practice.volume(measure) else {
            return Err(self.no_weight(of, Heap::Level, measure));
        };
        let Some((other, weight, holds)) = self.nearest_spoon(of.what, measure) else {
            return Err(self.no_weight(of, Heap::Level, measure));
        };
        let grams = weight
            .grams
            .times(&wanted.value)
            .and_then(|grams| grams.over(&holds.value))
            .map_err(|Overflow| overflow(of.span))?;
        trace.note(of.line, Some(weight.span), weight.book, || {
            format!(
                "from its {} of {}, by volume: a {} weighs {}",
                other.one(),
                print::spread(&weight.grams, 6, "g"),
                measure.one(),
                print::spread(&grams, 6, "g")
            )
        });
        self.diagnostics.push(
                Diagnostic::notice(
                    code::SPOON_FROM_ANOTHER_SPOON,
                    of.span,
                    format!(
                        "the {} of {} is worked out from its {}",
                        measure.one(),
                        of.name.text,
                        other.one()
                    ),
                )
                .related(weight.span, format!("its {} weighs this", other.one()))
                .help(format!(
                    "to be sure, weigh three level {} and add: `{}   weighed …`; herbs pack differently in another spoon",
                    measure.many(),
                    measure.one()
                ))
                .said_once(format!("{:?} {}", of.what, measure.one())),
            );
        Ok(Filled::Grams(grams))
    }

    /// The weighed level measure from which another is worked out, and what it holds.
    pub(super) fn nearest_spoon(
        &self,
        what: Bound,
        measure: Household,
    ) -> Option<(Household, Weight, Stated<Spread>)> {
        self.weights(what)
            .iter()
            .filter_map(|weight| match weight.measure {
                Measure::Household(Heap::Level, other) => {
                    Some((other, weight.clone(), self.ledger.practice.volume(other)?))
                }
                _ => None,
            })
            .min_by_key(|(other, ..)| (distance(*other, measure), *other))
    }

    pub(super) fn any_spoon(&self, of: &Use<'_>) -> Found<(Household, Weight)> {
        self.weights(of.what)
            .iter()
            .filter_map(|weight| match weight.measure {
                Measure::Household(Heap::Level, measure)
                    if self.ledger.practice.volume(measure).is_some() =>
                {
                    Some((measure, weight.clone()))
                }
                _ => None,
            })
            .min_by_key(|(measure, _)| *measure)
            .ok_or_else(|| self.no_weight(of, Heap::Level, Household::Teaspoon))
    }

    pub(super) fn no_weight(&self, of: &Use<'_>, heap: Heap, measure: Household) -> Diagnostic {
        let level = if heap == Heap::Level { "" } else { "level " };
        let mut finding = Diagnostic::error(
            code::SPOON_WITHOUT_WEIGHT,
            of.span,
            format!(
                "{} is measured by the {}, but nothing says what a {level}{} of it weighs",
                of.name.text,
                measure.one(),
                measure.one()
            ),
        )
        .label("this can't become grams");
        if let Some(declared) = self.declared(of.what) {
            finding = finding.related(declared, "declared here, without a spoon weight");
        }
        let (several, figures) = match measure {
            Household::Pinch => ("five", "weighed 1.2 g for 5"),
            Household::Handful => ("three", "weighed 9, 11, 10 g"),
            Household::Cup | Household::Teacup | Household::Wineglass => {
                ("three level", "weighed 28, 31, 30 g")
            }
            _ => ("three level", "weighed 1.7, 1.8, 1.9 g"),
        };
        finding.help(format!(
            "weigh {several} {}, and add to {}: `{}   {figures}` with your own figures",
            measure.many(),
            of.name.text,
            measure.one()
        ))
    }
}

fn distance(a: Household, b: Household) -> usize {
    let place = |wanted: Household| Household::ALL.iter().position(|one| *one == wanted).unwrap_or(0);
    place(a).abs_diff(place(b))
}

fn weighing_words(own: &Weight, heap: Heap, measure: Household) -> String {
    let measure = Unit::Household(heap, measure).words(false);
    match own.weighings {
        0 => format!("a {measure} weighs {}", print::spread(&own.grams, 6, "g")),
        1 => format!(
            "a {measure} weighs {} (one weighing)",
            print::spread(&own.grams, 6, "g")
        ),
        count => format!(
            "a {measure} weighs {}, the mean of {count} weighings",
            print::spread(&own.grams, 6, "g")
        ),
    }
}

/// A herb whose entry holds an error: its measures may be the ones that were refused.
pub(super) fn faulty(of: &Use<'_>) -> Diagnostic {
    Diagnostic::error(
        code::SPOON_WITHOUT_WEIGHT,
        of.span,
        format!(
            "the entry of {} holds an error, so its measures are not used",
            of.name.text
        ),
    )
    .help("mend that entry first: `scruple check` shows it")
}
