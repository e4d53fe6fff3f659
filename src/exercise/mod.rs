//! Turns formulas into exercises, each with its answer; the answers are the figures of every other command.
//!
//! Nothing is reckoned here: a batch is `compute::batch`'s, a dose is `compute::intake`'s. What is
//! chosen here is what is asked, by a seed.

mod dice;

use crate::compute::batch::{Batch, Target, make};
use crate::compute::intake::intake;
use crate::compute::make::{Plan, plan};
use crate::compute::{Composition, Figures};
use crate::model::{Faults, Ledger};
use crate::quantity::rounding::quotient;
use crate::quantity::{Decimal, Spread};
use crate::source::Sources;
use crate::syntax::parse_make;
use dice::Dice;

/// An exercise about one formula.
#[derive(Debug, Clone)]
pub struct Exercise {
    /// The formula, by its place in the ledger.
    pub formula: usize,
    /// What is asked, with the answer.
    pub task: Task,
}

/// What is asked.
#[derive(Debug, Clone)]
pub enum Task {
    /// To take the formula at another size.
    Scale {
        /// How many grams are made.
        grams: Decimal,
        /// The answer.
        batch: Box<Batch>,
    },
    /// To find the share and the weight of one line.
    Part {
        /// How many grams are made.
        grams: Decimal,
        /// The line, by its place in the formula.
        line: usize,
        /// The answer: percent of the whole.
        share: Decimal,
        /// The answer: grams of it, exact.
        weight: Decimal,
    },
    /// To find what of a herb is in a dose.
    Cup {
        /// The herb, by its place in the ledger.
        herb: usize,
        /// What a dose takes of the blend, in grams.
        blend: Spread,
        /// Percent of the blend.
        share: Decimal,
        /// The answer: grams in a dose.
        at_once: Spread,
        /// The answer: grams in a day, at the most often that is directed.
        a_day: Option<Spread>,
    },
    /// To find how much to make.
    Make {
        /// For whom and how long, as it may be typed.
        asked: String,
        /// The answer with its working.
        plan: Plan,
    },
    /// To find the wrong line of a weighing sheet.
    Mistake {
        /// How many grams are made.
        grams: Decimal,
        /// The sheet as it should be.
        batch: Box<Batch>,
        /// The wrong line, by its place on the sheet.
        line: usize,
        /// What stands there instead, in grams.
        wrong: Decimal,
        /// What went wrong.
        slip: Slip,
    },
}

/// What went wrong on a weighing sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slip {
    /// The decimal point stands one place too far right.
    TenTimes,
    /// The decimal point stands one place too far left.
    Tenth,
    /// Taken twice.
    Double,
    /// Half of it forgotten.
    Half,
}

impl Slip {
    const ALL: [Self; 4] = [Self::TenTimes, Self::Tenth, Self::Double, Self::Half];

    /// What went wrong, in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::TenTimes => "ten times what it should be: the decimal point slipped to the right",
            Self::Tenth => "a tenth of what it should be: the decimal point slipped to the left",
            Self::Double => "twice what it should be",
            Self::Half => "half of what it should be",
        }
    }

    fn applied(self, right: Decimal, step: Decimal) -> Option<Decimal> {
        let wrong = match self {
            Self::TenTimes => right.checked_mul(Decimal::TEN)?,
            Self::Tenth => quotient(right, Decimal::TEN).ok()?,
            Self::Double => right.checked_mul(Decimal::TWO)?,
            Self::Half => quotient(right, Decimal::TWO).ok()?,
        };
        // It must be what these scales could show, and not a matter of rounding.
        let shown = wrong.checked_rem(step)?.is_zero();
        let off = wrong.checked_sub(right)?.abs();
        (shown && off >= step.checked_mul(Decimal::TEN)?).then_some(wrong)
    }
}

/// What exercises are made from.
#[derive(Clone, Copy)]
pub struct Class<'a> {
    /// The ledger.
    pub ledger: &'a Ledger,
    /// What errors lie in.
    pub faults: &'a Faults,
    /// The figures.
    pub figures: &'a Figures,
}

/// How many of each sort of exercise.
const EACH: usize = 2;

type Maker = fn(&Class<'_>, usize, &Composition, &mut Dice) -> Option<Task>;

/// Exercises about formulas, the same for the same seed: two of each sort, as far as there are
/// formulas that allow it, each about another formula where there are enough.
pub fn exercises(class: &Class<'_>, formulas: &[usize], seed: &str) -> Vec<Exercise> {
    const SORTS: [Maker; 5] = [scale, part, cup, how_much, mistake];
    let mut dice = Dice::new(seed);
    let mut out = Vec::new();
    for sort in SORTS {
        let order = dice.shuffled(formulas);
        let mut made = 0_usize;
        for formula in order {
            if made >= EACH {
                break;
            }
            let Some(composition) = class.figures.of(formula) else {
                continue;
            };
            if let Some(task) = sort(class, formula, composition, &mut dice) {
                out.push(Exercise { formula, task });
                made = made.saturating_add(1);
            }
        }
    }
    out
}

const SIZES: [u32; 10] = [60, 75, 120, 150, 240, 250, 350, 400, 500, 750];

/// A batch at some round size; only of what is weighed throughout.
fn batch(class: &Class<'_>, composition: &Composition, dice: &mut Dice) -> Option<(Decimal, Batch)> {
    let grams = Decimal::from(*dice.one(&SIZES)?);
    let all = composition.is_all_grams() || composition.is_unsized();
    let several = composition.lines.len() > 1 && composition.totals.volume.is_none();
    if !all || !several || composition.totals.finished.is_some() {
        return None;
    }
    let batch = make(class.ledger, composition, Target::Grams(grams)).ok()?;
    batch
        .lines
        .iter()
        .all(|line| line.grams.is_some() && line.target.is_some())
        .then_some((grams, batch))
}

fn scale(class: &Class<'_>, _: usize, composition: &Composition, dice: &mut Dice) -> Option<Task> {
    let (grams, batch) = batch(class, composition, dice)?;
    Some(Task::Scale {
        grams,
        batch: Box::new(batch),
    })
}

fn part(class: &Class<'_>, _: usize, composition: &Composition, dice: &mut Dice) -> Option<Task> {
    let (grams, batch) = batch(class, composition, dice)?;
    let chosen = dice.one(&batch.lines)?;
    Some(Task::Part {
        grams,
        line: chosen.place,
        share: chosen.figure.share?,
        weight: chosen.grams?.nominal,
    })
}

fn cup(class: &Class<'_>, formula: usize, _: &Composition, dice: &mut Dice) -> Option<Task> {
    let intake = intake(class.ledger, class.faults, class.figures, formula, None, false).ok()?;
    let simple = !intake.drawn_out && intake.given.is_none() && intake.drawn_by.is_empty();
    if !simple || !intake.unweighed.is_empty() || !intake.unknown.is_empty() || intake.herbs.len() < 2 {
        return None;
    }
    let chosen = dice.one(&intake.herbs)?;
    Some(Task::Cup {
        herb: chosen.substance,
        blend: intake.blend_at_once?.settled(),
        share: chosen.share?,
        at_once: chosen.at_once,
        a_day: chosen.a_day,
    })
}

fn how_much(class: &Class<'_>, formula: usize, _: &Composition, dice: &mut Dice) -> Option<Task> {
    let people = dice.one(&[2_u32, 3, 4, 6])?;
    let days = dice.one(&[5_u32, 7, 10, 14])?;
    let asked = format!("{people} people for {days} days");
    let mut typed = Sources::default();
    let file = typed.add("asked", asked.as_str().into());
    let wanted = parse_make(file, &asked).ok()?;
    let plan = plan(class.ledger, class.faults, class.figures, formula, &wanted).ok()?;
    matches!(plan.target, Target::Grams(_) | Target::Millilitres(_)).then_some(Task::Make { asked, plan })
}

fn mistake(class: &Class<'_>, _: usize, composition: &Composition, dice: &mut Dice) -> Option<Task> {
    let (grams, batch) = batch(class, composition, dice)?;
    if batch.lines.len() < 3 {
        return None;
    }
    let step = class.ledger.practice.scales.value;
    let places: Vec<usize> = (0..batch.lines.len()).collect();
    let chances: Vec<(usize, Decimal, Slip)> = places
        .into_iter()
        .flat_map(|line| Slip::ALL.map(|slip| (line, slip)))
        .filter_map(|(line, slip)| {
            let right = batch.lines.get(line)?.target?;
            Some((line, slip.applied(right, step)?, slip))
        })
        .collect();
    let (line, wrong, slip) = dice.one(&chances)?;
    Some(Task::Mistake {
        grams,
        line: *line,
        wrong: *wrong,
        slip: *slip,
        batch: Box::new(batch),
    })
}
