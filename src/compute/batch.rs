//! Takes a formula at another size and rounds it to the scales: the figures of a weighing sheet.

use super::{Composition, How, LineFigure};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::model::{Bound, Ledger};
use crate::naming;
use crate::quantity::rounding::{apportion, least_weighable, quotient, settled};
use crate::quantity::{Checked, Decimal, Overflow, Spread, print};

/// Why something can't be made or reckoned, and what to do about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub help: String,
}

impl Refusal {
    /// A refusal with its way out.
    pub fn new(message: impl Into<String>, help: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            help: help.into(),
        }
    }

    pub(crate) fn overflow() -> Self {
        Self::new(
            "this comes to more than can be reckoned exactly",
            "ask for less: figures have at most 28 digits",
        )
    }
}

impl From<Overflow> for Refusal {
    fn from(Overflow: Overflow) -> Self {
        Self::overflow()
    }
}

/// How much is to be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Target {
    /// The formula's own size.
    Own,
    /// So many grams in all.
    Grams(Decimal),
    /// So many millilitres in all.
    Millilitres(Decimal),
    /// The formula's own size so many times over.
    Times(Decimal),
}

/// One line on the sheet.
#[derive(Debug, Clone)]
pub struct BatchLine {
    /// The line of the formula.
    pub figure: LineFigure,
    /// Its place among the lines of the formula.
    pub place: usize,
    /// In grams, exact, with its spread.
    pub grams: Option<Spread>,
    /// In millilitres, exact, with its spread.
    pub millilitres: Option<Spread>,
    /// What to weigh or measure on these scales: grams, or millilitres where there are no grams.
    pub target: Option<Decimal>,
    /// What the rounding added, below zero where it took away.
    pub rounded_by: Option<Decimal>,
    /// What lies in the bowl after it, in grams.
    pub in_the_bowl: Option<Decimal>,
    /// Whether the scales can't weigh so little well enough.
    pub below_least: bool,
}

/// A formula at the size to be made.
#[derive(Debug, Clone)]
pub struct Batch {
    /// The lines in the order of the bench.
    pub lines: Vec<BatchLine>,
    /// The sum of what is known in grams.
    pub grams: Option<Spread>,
    /// That sum on these scales.
    pub target: Option<Decimal>,
    /// The sum of what is known in millilitres only.
    pub millilitres: Option<Spread>,
    /// The volume that it is made up to or yields.
    pub volume: Option<Spread>,
    /// How much of the grams was written as weights, parts or percentages.
    pub weighed: Option<Decimal>,
    /// How much of them comes from spoons, pieces and volumes.
    pub spooned: Option<Spread>,
    /// How much of them is an estimate.
    pub judged: Option<Spread>,
    /// How many times its own size it is; nothing at that size, and where it has none.
    pub times: Option<Decimal>,
    /// Whether the lines stand as written because `mix` speaks of an order in words of its own.
    pub order_as_written: bool,
    /// The least that these scales weigh within the accepted error.
    pub least: Decimal,
    /// What is wrong with making it at this size on these scales.
    pub findings: Vec<Diagnostic>,
}

/// Takes a formula at the size asked for.
///
/// # Errors
/// [`Refusal`] where the size can't be reached: parts without a size, grams of a liquid.
pub fn make(ledger: &Ledger, composition: &Composition, target: Target) -> Result<Batch, Refusal> {
    let target_asked = target;
    let (above, below) = proportion(composition, target)?;
    let practice = &ledger.practice;
    let least = least_weighable(practice.scales.value, practice.error.value)?;
    let scaled = |spread: Option<Spread>| -> Checked<Option<Spread>> {
        spread
            .map(|spread| spread.proportion(above, below).map(|s| s.settled()))
            .transpose()
    };
    let mut lines = Vec::with_capacity(composition.lines.len());
    for (place, figure) in composition.lines.iter().enumerate() {
        lines.push(BatchLine {
            figure: figure.clone(),
            place,
            grams: scaled(figure.amounts.grams.or(figure.amounts.parts))?,
            millilitres: scaled(figure.amounts.millilitres)?,
            target: None,
            rounded_by: None,
            in_the_bowl: None,
            below_least: false,
        });
    }
    let whole = scaled(composition.totals.grams.or(composition.totals.parts))?;
    let target = round(
        &mut lines,
        practice.scales.value,
        whole.map(|whole| whole.nominal),
        |line| line.grams,
    )?;
    let poured = scaled(composition.totals.millilitres)?;
    round(
        &mut lines,
        practice.cylinder.value,
        poured.map(|whole| whole.nominal),
        |line| {
            if line.grams.is_some() {
                None
            } else {
                line.millilitres
            }
        },
    )?;
    for line in &mut lines {
        // Spooned lines too: at another size than its own a blend is weighed, not spooned.
        line.below_least = line.grams.is_some_and(|grams| grams.nominal < least);
    }
    let order_as_written = bench_order(ledger, composition, &mut lines);
    let mut bowl = Decimal::ZERO;
    for line in &mut lines {
        if let (Some(_), Some(target)) = (line.grams, line.target) {
            bowl = bowl.checked_add(target).ok_or(Overflow)?;
            line.in_the_bowl = Some(bowl);
        }
    }
    // Summed before anything is settled, so that three thirds are one.
    let sum = |wanted: &dyn Fn(How) -> bool| -> Checked<Option<Spread>> {
        let mut total: Option<Spread> = None;
        for figure in composition.lines.iter().filter(|figure| wanted(figure.how)) {
            if let Some(amount) = figure.amounts.grams.or(figure.amounts.parts) {
                total = Some(
                    total
                        .unwrap_or(Spread::ZERO)
                        .plus(&amount.proportion(above, below)?)?,
                );
            }
        }
        Ok(total.map(|total| total.settled()))
    };
    let judged = sum(&|how| how == How::Judged)?;
    let spooned = sum(&|how| matches!(how, How::Spooned | How::Counted | How::Measured))?;
    let weighed =
        sum(&|how| matches!(how, How::Weighed | How::Shared | How::WorkedOut))?.map(|spread| spread.nominal);
    Ok(Batch {
        grams: scaled(composition.totals.grams.or(composition.totals.parts))?,
        target,
        millilitres: scaled(composition.totals.millilitres)?,
        volume: scaled(composition.totals.volume)?,
        weighed,
        spooned,
        judged,
        times: if composition.is_unsized() || target_asked == Target::Own {
            None
        } else {
            Some(quotient(above, below)?)
        },
        order_as_written,
        least,
        findings: too_small(ledger, &lines, least)
            .into_iter()
            .chain(too_much(composition, &lines))
            .collect(),
        lines,
    })
}

/// A batch of more than a tonne is a slip of the pen.
fn too_much(composition: &Composition, lines: &[BatchLine]) -> Option<Diagnostic> {
    let tonne = Decimal::from(1_000_000_u32);
    let big = lines.iter().any(|line| {
        let amount = line.grams.or(line.millilitres);
        amount.is_some_and(|amount| amount.nominal > tonne)
    });
    big.then(|| {
        Diagnostic::warning(
            code::ABSURD_SIZE,
            composition.formula.name.span,
            "this batch takes more than a tonne or a thousand litres of one thing",
        )
        .help("look for a slip in what is to be made: kg for g, litres for ml")
    })
}

/// The lines that are too small for these scales, as one finding at the first of them.
fn too_small(ledger: &Ledger, lines: &[BatchLine], least: Decimal) -> Option<Diagnostic> {
    let small: Vec<&BatchLine> = lines.iter().filter(|line| line.below_least).collect();
    let first = small.first()?;
    let names: Vec<String> = small
        .iter()
        .map(|line| {
            let grams = line.grams.map_or(Decimal::ZERO, |grams| grams.nominal);
            format!("{} ({} g)", line.figure.taken.name.text, print::short(grams, 3))
        })
        .collect();
    Some(
        Diagnostic::warning(
            code::BELOW_LEAST_WEIGHABLE,
            first.figure.taken.span,
            format!(
                "below {} g, the least that these scales weigh within {} %: {}",
                print::short(least, 6),
                print::short(ledger.practice.error.value, 6),
                names.join(", ")
            ),
        )
        .help("weigh on finer scales, make more, or weigh ten times as much into a pre-blend and take a tenth of it"),
    )
}

/// The factor as a fraction, so that only one division is made.
fn proportion(composition: &Composition, target: Target) -> Result<(Decimal, Decimal), Refusal> {
    let name = &composition.formula.name.text;
    let totals = &composition.totals;
    match target {
        Target::Own | Target::Times(_) | Target::Millilitres(_) if composition.is_unsized() => {
            Err(Refusal::new(
                format!("{name} is written in parts and has no size of its own"),
                "say how much to make in grams: `--make \"200 g\"`; or give the formula a size in grams with `makes` or `one part`",
            ))
        }
        Target::Own => Ok((Decimal::ONE, Decimal::ONE)),
        Target::Times(times) => Ok((times, Decimal::ONE)),
        Target::Grams(_) if totals.volume.is_some() => Err(Refusal::new(
            format!("{name} is made up by volume, so what the finished whole weighs is not known"),
            "say how much in ml: `--make \"500 ml\"`",
        )),
        Target::Grams(grams) => {
            // After a preparation it is the yield that is asked for.
            if let Some(finished) = totals.finished.filter(|finished| !finished.nominal.is_zero()) {
                if totals.parts.is_some() {
                    return Err(Refusal::new(
                        format!("{name} is written in parts, and says only what it yields"),
                        "give the parts a size: `one part   5 g`",
                    ));
                }
                return Ok((grams, finished.nominal));
            }
            if let Some(parts) = totals.parts {
                return Ok((grams, parts.nominal));
            }
            match totals.grams {
                Some(total)
                    if totals.millilitres.is_none()
                        && !to_the_mark(composition)
                        && !total.nominal.is_zero() =>
                {
                    Ok((grams, total.nominal))
                }
                _ => Err(Refusal::new(
                    format!("what {name} weighs in all is not known: some of it is measured by volume"),
                    "say how many times the formula, `--make \"2 times\"`; or give the liquids a `density`",
                )),
            }
        }
        Target::Millilitres(volume) => {
            let whole = totals.volume.or_else(|| {
                let all = composition
                    .lines
                    .iter()
                    .all(|line| line.amounts.millilitres.is_some() || line.how == How::Uncounted);
                let sum = composition
                    .lines
                    .iter()
                    .filter_map(|line| line.amounts.millilitres)
                    .try_fold(Spread::ZERO, |sum, more| sum.plus(&more))
                    .ok()?;
                all.then_some(sum)
            });
            match whole {
                Some(whole) if !whole.nominal.is_zero() => Ok((volume, whole.nominal)),
                _ => Err(Refusal::new(
                    format!("what volume {name} comes to is not known"),
                    if totals.parts.is_some() || composition.is_all_grams() {
                        "say how much in grams: `--make \"500 g\"`"
                    } else {
                        "say how many times the formula, `--make \"2 times\"`; or add `makes` with its volume"
                    },
                )),
            }
        }
    }
}

fn to_the_mark(composition: &Composition) -> bool {
    composition.lines.iter().any(|line| line.how == How::ToTheMark)
}

/// Rounds the lines that have a figure to a step; they add up to their rounded sum.
fn round(
    lines: &mut [BatchLine],
    step: Decimal,
    total: Option<Decimal>,
    figure: impl Fn(&BatchLine) -> Option<Spread>,
) -> Checked<Option<Decimal>> {
    let exact: Vec<Decimal> = lines
        .iter()
        .filter_map(|line| Some(figure(line)?.nominal))
        .collect();
    if exact.is_empty() {
        return Ok(None);
    }
    let apportioned = apportion(&exact, total, step)?;
    let mut rounded = apportioned.values.into_iter();
    for line in lines {
        if let Some(exact) = figure(line)
            && let Some(value) = rounded.next()
        {
            line.target = Some(value.normalize());
            line.rounded_by = Some(settled(value.checked_sub(exact.nominal).ok_or(Overflow)?));
        }
    }
    Ok(Some(apportioned.total.normalize()))
}

/// When a line goes into the bowl; the smaller the earlier.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Turn {
    First,
    Weights,
    Spoons,
    Volumes,
    Petals,
    Last,
}

/// Heavy first, then what is spooned, then liquids, petals last, unless `mix` says otherwise.
///
/// Of `mix` only this is read: `X first`, `X last` and `in the order written`. Where it speaks of an
/// order in other words, the lines stay as written, and that is said: the answer is then true.
fn bench_order(ledger: &Ledger, composition: &Composition, lines: &mut [BatchLine]) -> bool {
    let said = mix_clauses(composition);
    if said.iter().any(|clause| clause == "in the order written") {
        return false;
    }
    // An order that is only half understood is worse than none.
    if said
        .iter()
        .any(|clause| speaks_of_order(clause) && !is_understood(ledger, clause, lines))
    {
        return true;
    }
    let turn = |line: &BatchLine| {
        let mut turn = match line.figure.how {
            How::Weighed | How::Shared | How::WorkedOut | How::Judged if line.grams.is_some() => {
                Turn::Weights
            }
            How::Spooned | How::Counted => Turn::Spoons,
            _ => Turn::Volumes,
        };
        if let Bound::Substance(at) = line.figure.taken.what
            && ledger.substances.get(at).is_some_and(|one| one.is_petals())
        {
            turn = Turn::Petals;
        }
        for clause in &said {
            if let Some(names) = clause.strip_suffix(" first") {
                if names_line(ledger, names, line) {
                    turn = Turn::First;
                }
            } else if let Some(names) = clause.strip_suffix(" last")
                && names_line(ledger, names, line)
            {
                turn = Turn::Last;
            }
        }
        turn
    };
    // Within one turn the heavier goes first; the sort is stable, so ties keep the order written.
    lines.sort_by_cached_key(|line| {
        let weight = line
            .grams
            .or(line.millilitres)
            .map_or(Decimal::ZERO, |spread| spread.nominal);
        (turn(line), std::cmp::Reverse(weight))
    });
    false
}

fn mix_clauses(composition: &Composition) -> Vec<String> {
    composition
        .formula
        .mix
        .iter()
        .flat_map(|words| words.text.split([';', ',', '.']))
        .map(naming::folded)
        .map(|clause| clause.strip_prefix("the ").unwrap_or(&clause).to_owned())
        .collect()
}

/// Whether a clause says when something goes in.
fn speaks_of_order(clause: &str) -> bool {
    clause
        .split(' ')
        .any(|word| matches!(word, "first" | "last" | "then" | "before" | "after"))
}

/// Whether it is `X first` or `X last`, and every X is a line of this formula.
fn is_understood(ledger: &Ledger, clause: &str, lines: &[BatchLine]) -> bool {
    let names = clause
        .strip_suffix(" first")
        .or_else(|| clause.strip_suffix(" last"));
    names.is_some_and(|names| {
        names
            .split(" and ")
            .all(|name| lines.iter().any(|line| names_line(ledger, name, line)))
    })
}

/// Whether words such as `petals`, `roots and seeds` or `ginger` speak of a line.
fn names_line(ledger: &Ledger, words: &str, line: &BatchLine) -> bool {
    words.split(" and ").any(|name| {
        let name = name.strip_prefix("the ").unwrap_or(name).trim();
        let same = |other: &str| naming::same_but_for_number(name, &naming::folded(other));
        if name.is_empty() {
            return false;
        }
        let by_part = match line.figure.taken.what {
            Bound::Substance(at) => ledger.substances.get(at).is_some_and(|substance| {
                same(&substance.name)
                    || substance.parts.iter().any(|part| same(part))
                    || (substance.is_petals() && naming::same_but_for_number(name, "petals"))
                    || substance.name.rsplit(' ').next().is_some_and(same)
            }),
            Bound::Formula(_) | Bound::Unknown => false,
        };
        by_part || same(&line.figure.taken.name.text)
    })
}
