//! Follows a lot or a batch to everyone who got of it, and a supply or a batch back to every lot in it.

use std::collections::{HashMap, HashSet};

use super::{Amount, DayBook, Holder, Moved, Origin, Unit, own};
use crate::model::{Bound, Ledger};
use crate::quantity::Decimal;
use crate::quantity::rounding::{quotient, settled};
use crate::syntax::day::Day;

/// What a line of the tree is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// A delivery or a batch.
    Shelf(Holder),
    /// What was handed out, by the supply's place in the ledger.
    Supply(usize),
    /// What was thrown away, on a day.
    Discarded(Day),
    /// What the shelf lacked, or had too much, when it was counted on a day.
    Counted(Day),
    /// Something of which no line says from where it came.
    Unsaid(Bound),
}

/// A line of the tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Node {
    /// How many steps from where the tracing began.
    pub depth: usize,
    /// What it is about.
    pub step: Step,
    /// How much moved; nothing for where the tracing began, and where it can't be reckoned.
    pub amount: Option<Amount>,
    /// How much of what is traced that holds; nothing where it can't be told.
    pub of_it: Option<Decimal>,
    /// Whether it stands in the tree already, with what follows from it.
    pub again: bool,
}

/// What still lies on a shelf.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OnShelf {
    /// Where.
    pub holder: Holder,
    /// How much; nothing where it is not known.
    pub left: Option<Amount>,
    /// How much of what is traced that holds.
    pub of_it: Option<Decimal>,
}

/// Where a lot or batch went.
#[derive(Debug, Clone, Default)]
pub struct Forward {
    /// The tree, from where the tracing began.
    pub tree: Vec<Node>,
    /// Every supply that it reached, in the order of time.
    pub supplies: Vec<Node>,
    /// Every batch that it went into, straight or by way of others, in the order of time.
    pub batches: Vec<Node>,
    /// What is still on shelves at the end of the day asked for, where anything is.
    pub on_shelves: Vec<OnShelf>,
    /// What the lot or batch itself came to.
    pub balance: Balance,
}

/// What came in on one shelf, and where it went; the parts add up to what came in.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Balance {
    /// What it is counted in; nothing where it is not known how much came in.
    pub unit: Option<Unit>,
    /// What came in.
    pub came_in: Decimal,
    /// What went into batches.
    pub used: Decimal,
    /// What was handed out.
    pub supplied: Decimal,
    /// What was thrown away.
    pub discarded: Decimal,
    /// What counts of the shelf found to be missing; below zero for what was too much.
    pub astray: Decimal,
    /// What is left.
    pub left: Decimal,
}

impl Balance {
    /// The balance of a shelf at the end of a day.
    pub fn of(book: &DayBook, holder: Holder, on: Day) -> Self {
        let mut balance = Self::default();
        let Some(shelf) = book.shelf(holder) else {
            return balance;
        };
        balance.unit = shelf.unit;
        for movement in shelf.movements.iter().take_while(|movement| movement.day <= on) {
            let (sum, change) = match movement.moved {
                Moved::Received | Moved::Made => (&mut balance.came_in, Some(movement.change)),
                Moved::Used(_) => (&mut balance.used, Decimal::ZERO.checked_sub(movement.change)),
                Moved::Supplied(_) => (&mut balance.supplied, Decimal::ZERO.checked_sub(movement.change)),
                Moved::Discarded => (&mut balance.discarded, Decimal::ZERO.checked_sub(movement.change)),
                Moved::Counted => (&mut balance.astray, Decimal::ZERO.checked_sub(movement.change)),
            };
            // A shelf whose sums don't fit was left without movements.
            *sum = change.and_then(|change| sum.checked_add(change)).unwrap_or(*sum);
            balance.left = movement.left;
        }
        balance
    }
}

/// Which part of each batch is of what is traced: none of it is nothing.
struct Shares<'a> {
    book: &'a DayBook,
    parts: HashMap<Holder, Option<Decimal>>,
}

impl<'a> Shares<'a> {
    fn of(book: &'a DayBook, start: Holder, reached: &HashSet<usize>) -> Self {
        let mut shares = Self {
            book,
            parts: HashMap::from([(start, Some(Decimal::ONE))]),
        };
        for at in book.in_order.iter().filter(|at| reached.contains(at)) {
            if start == Holder::Batch(*at) {
                continue;
            }
            let inputs = book.inputs.get(*at).into_iter().flatten();
            // Whether it is in there is not sure, so how much of it is can't be told.
            let is_doubtful = inputs
                .into_iter()
                .any(|taking| taking.origin == Origin::Other(start));
            let part = shares.of_batch(*at).filter(|_| !is_doubtful);
            shares.parts.insert(Holder::Batch(*at), part);
        }
        shares
    }

    /// What is traced is spread evenly over all that went in, and so over what was lost, too.
    fn of_batch(&self, at: usize) -> Option<Decimal> {
        let inputs = self.book.inputs.get(at)?;
        let whole = own::sum(inputs.iter().map(|taking| taking.amount))?;
        let mut traced = Decimal::ZERO;
        for taking in inputs {
            if let Origin::Shelf(holder) = taking.origin
                && let Some(part) = self.parts.get(&holder)
            {
                traced = traced.checked_add(taking.amount?.value.checked_mul((*part)?)?)?;
            }
        }
        quotient(traced, whole.value).ok()
    }

    fn inside(&self, holder: Holder, amount: Option<Amount>) -> Option<Decimal> {
        let part = (*self.parts.get(&holder)?)?;
        amount?.value.checked_mul(part).map(settled)
    }
}

/// Follows a lot or a batch forward, with what is left at the end of a day.
pub fn forward(book: &DayBook, ledger: &Ledger, start: Holder, on: Day) -> Forward {
    let reached = batches_from(book, start);
    let shares = Shares::of(book, start, &reached);
    let mut found = Forward {
        balance: Balance::of(book, start, on),
        ..Forward::default()
    };
    let mut expanded: HashSet<Holder> = HashSet::new();
    let mut open = vec![Node {
        depth: 0,
        step: Step::Shelf(start),
        amount: None,
        of_it: None,
        again: false,
    }];
    while let Some(mut node) = open.pop() {
        if let Step::Shelf(holder) = node.step {
            node.again = !expanded.insert(holder);
            if !node.again {
                let below = node.depth.saturating_add(1);
                let children = book.shelf(holder).into_iter().flat_map(|shelf| {
                    shelf.movements.iter().filter_map(|movement| {
                        let unit = shelf.unit.unwrap_or(Unit::Grams);
                        let out = Decimal::ZERO.checked_sub(movement.change)?;
                        let amount = Some(Amount { unit, value: out });
                        let step = match movement.moved {
                            Moved::Received | Moved::Made => return None,
                            Moved::Used(at) => Step::Shelf(Holder::Batch(at)),
                            Moved::Supplied(at) => Step::Supply(at),
                            Moved::Discarded => Step::Discarded(movement.day),
                            Moved::Counted if out.is_zero() => return None,
                            Moved::Counted => Step::Counted(movement.day),
                        };
                        Some(Node {
                            depth: below,
                            step,
                            amount,
                            of_it: shares.inside(holder, amount),
                            again: false,
                        })
                    })
                });
                let mut children: Vec<Node> = children.collect();
                if holder == start {
                    children.extend(doubtful(book, start));
                }
                open.extend(children.into_iter().rev());
                let left = book.shelf(holder).and_then(|shelf| shelf.left(on));
                if left.is_none_or(|left| !left.value.is_zero()) {
                    found.on_shelves.push(OnShelf {
                        holder,
                        left,
                        of_it: shares.inside(holder, left),
                    });
                }
            }
        }
        match node.step {
            Step::Supply(_) => found.supplies.push(node.clone()),
            Step::Shelf(Holder::Batch(_)) if node.depth > 0 => found.batches.push(node.clone()),
            _ => {}
        }
        found.tree.push(node);
    }
    let day = |node: &Node| match node.step {
        Step::Supply(at) => ledger.supplies.get(at).map(|supply| supply.day.first),
        Step::Shelf(Holder::Batch(at)) => ledger.batches.get(at).map(|batch| batch.day.first),
        _ => None,
    };
    found.supplies.sort_by_key(day);
    found.batches.sort_by_key(day);
    found
}

/// What names a lot, though it speaks of something else: the name may be the slip, and then it is in there.
fn doubtful(book: &DayBook, lot: Holder) -> Vec<Node> {
    let node = |step, taking: &super::Taking| Node {
        depth: 1,
        step,
        amount: taking.amount,
        of_it: None,
        again: false,
    };
    let batches = book.inputs.iter().enumerate().flat_map(|(at, takings)| {
        let step = Step::Shelf(Holder::Batch(at));
        takings.iter().map(move |taking| (step, taking))
    });
    let supplies = book
        .supplies
        .iter()
        .enumerate()
        .map(|(at, taking)| (Step::Supply(at), taking));
    batches
        .chain(supplies)
        .filter(|(_, taking)| taking.origin == Origin::Other(lot))
        .map(|(step, taking)| node(step, taking))
        .collect()
}

/// The batches that something went into, straight or by way of others.
fn batches_from(book: &DayBook, start: Holder) -> HashSet<usize> {
    let mut reached = HashSet::new();
    let mut open = vec![start];
    for node in doubtful(book, start) {
        if let Step::Shelf(holder @ Holder::Batch(at)) = node.step
            && reached.insert(at)
        {
            open.push(holder);
        }
    }
    while let Some(holder) = open.pop() {
        for movement in book.shelf(holder).into_iter().flat_map(|shelf| &shelf.movements) {
            if let Moved::Used(at) = movement.moved
                && reached.insert(at)
            {
                open.push(Holder::Batch(at));
            }
        }
    }
    reached
}

/// Follows a batch, or what was handed out, back to the lots that are in it.
pub fn back(book: &DayBook, start: Step) -> Vec<Node> {
    let mut tree = Vec::new();
    let mut expanded: HashSet<usize> = HashSet::new();
    let mut open = vec![Node {
        depth: 0,
        step: start,
        amount: None,
        of_it: None,
        again: false,
    }];
    while let Some(mut node) = open.pop() {
        let below = node.depth.saturating_add(1);
        let taking = |taking: &super::Taking| Node {
            depth: below,
            step: match taking.origin {
                Origin::Shelf(holder) | Origin::Other(holder) => Step::Shelf(holder),
                Origin::Unsaid | Origin::Unknown => Step::Unsaid(taking.what),
            },
            amount: taking.amount,
            of_it: None,
            again: false,
        };
        let children: Vec<Node> = match node.step {
            Step::Supply(at) => book.supplies.get(at).map(taking).into_iter().collect(),
            Step::Shelf(Holder::Batch(at)) => {
                node.again = !expanded.insert(at);
                let inputs = book.inputs.get(at).filter(|_| !node.again);
                inputs.into_iter().flatten().map(taking).collect()
            }
            _ => Vec::new(),
        };
        open.extend(children.into_iter().rev());
        tree.push(node);
    }
    tree
}
