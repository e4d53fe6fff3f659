//! Puts formulas in an order in which each comes after those that it takes or adapts; finds circles.

use std::collections::HashSet;
use std::sync::Arc;

use crate::code;
use crate::diagnostic::Diagnostic;
use crate::model::{Bound, Formula, Ledger};
use crate::source::Span;

/// How deep formulas may stand inside formulas.
pub const DEEPEST: usize = 100;

/// The formulas that one formula needs, each with the place where it names it.
fn needs(formula: &Formula) -> Vec<(usize, Span)> {
    let adapted = formula
        .adapts
        .iter()
        .filter_map(|adapts| Some((adapts.formula?, adapts.name.span)));
    let taken = formula.taken.iter().filter_map(|taken| match taken.what {
        Bound::Formula(at) => Some((at, taken.name.span)),
        _ => None,
    });
    adapted.chain(taken).collect()
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Mark {
    New,
    Open,
    Done,
}

/// An order to reckon in.
#[derive(Debug, Default)]
pub(super) struct Order {
    /// Every formula, each after those that it needs.
    pub sequence: Vec<usize>,
    /// Formulas that can't be reckoned.
    pub broken: HashSet<usize>,
    /// Why they can't.
    pub found: Vec<Diagnostic>,
    /// What each formula needs, with the place where it names it.
    needs: Vec<Vec<(usize, Span)>>,
}

impl Order {
    /// Whether a formula needs no other.
    pub fn stands_alone(&self, at: usize) -> bool {
        self.needs.get(at).is_none_or(Vec::is_empty)
    }

    /// Whether this, made for one ledger, is right for another with the same formulas in the same places.
    pub fn holds_for(&self, own: &Ledger, other: &Ledger) -> bool {
        let places = |formula: &Formula| needs(formula).into_iter().map(|(at, _)| at).collect::<Vec<_>>();
        self.found.is_empty()
            && own.formulas.len() == other.formulas.len()
            && own
                .formulas
                .iter()
                .zip(&other.formulas)
                .all(|(own, other)| Arc::ptr_eq(own, other) || places(own) == places(other))
    }
}

/// Finds an order to reckon in.
///
/// The walk keeps its own stack, so that depth costs memory and never the program's stack.
pub(super) fn order(ledger: &Ledger) -> Order {
    let mut diagnostics = Vec::new();
    let all: Vec<Vec<(usize, Span)>> = ledger.formulas.iter().map(|formula| needs(formula)).collect();
    let mut marks = vec![Mark::New; all.len()];
    let mut depths = vec![0_usize; all.len()];
    let mut order = Vec::with_capacity(all.len());
    let mut broken = HashSet::new();
    for root in 0..all.len() {
        if marks.get(root) != Some(&Mark::New) {
            continue;
        }
        // Each entry: a formula, and how many of its needs have been looked at.
        let mut path: Vec<(usize, usize)> = vec![(root, 0)];
        set(&mut marks, root, Mark::Open);
        while let Some((at, looked)) = path.last_mut() {
            let at = *at;
            let next = all.get(at).and_then(|needs| needs.get(*looked)).copied();
            *looked = looked.saturating_add(1);
            match next {
                Some((need, _)) if marks.get(need) == Some(&Mark::New) => {
                    set(&mut marks, need, Mark::Open);
                    path.push((need, 0));
                }
                Some((need, _)) if marks.get(need) == Some(&Mark::Open) => {
                    let circle: Vec<usize> = path
                        .iter()
                        .map(|(formula, _)| *formula)
                        .skip_while(|formula| *formula != need)
                        .collect();
                    diagnostics.push(report(ledger, &all, &circle));
                    broken.extend(circle);
                }
                Some(_) => {}
                None => {
                    path.pop();
                    set(&mut marks, at, Mark::Done);
                    let depth = all
                        .get(at)
                        .into_iter()
                        .flatten()
                        .filter_map(|(need, _)| depths.get(*need))
                        .max()
                        .map_or(0, |deepest| deepest.saturating_add(1));
                    if let Some(slot) = depths.get_mut(at) {
                        *slot = depth;
                    }
                    if depth > DEEPEST && !broken.contains(&at) {
                        too_deep(ledger, at, depth, &mut diagnostics);
                        broken.insert(at);
                    }
                    order.push(at);
                }
            }
        }
    }
    Order {
        sequence: order,
        broken,
        found: diagnostics,
        needs: all,
    }
}

fn set(marks: &mut [Mark], at: usize, mark: Mark) {
    if let Some(slot) = marks.get_mut(at) {
        *slot = mark;
    }
}

fn report(ledger: &Ledger, all: &[Vec<(usize, Span)>], circle: &[usize]) -> Diagnostic {
    // Wherever reading came upon it, it is told from the first name of the alphabet.
    let mut circle = circle.to_vec();
    let first = (0..circle.len()).min_by_key(|at| {
        circle
            .get(*at)
            .and_then(|formula| ledger.formulas.get(*formula))
            .map(|formula| formula.name.text.as_str())
    });
    circle.rotate_left(first.unwrap_or(0));
    let circle = circle.as_slice();
    let name = |at: usize| {
        ledger
            .formulas
            .get(at)
            .map_or("", |formula| formula.name.text.as_str())
    };
    let mut steps = Vec::new();
    for (position, from) in circle.iter().enumerate() {
        let to = circle
            .get(position.saturating_add(1))
            .or_else(|| circle.first())
            .copied()
            .unwrap_or(*from);
        let span = all
            .get(*from)
            .and_then(|needs| needs.iter().find(|(need, _)| *need == to))
            .map(|(_, span)| *span);
        if let Some(span) = span {
            steps.push((span, *from, to));
        }
    }
    let long;
    let mut names: Vec<&str> = circle.iter().map(|at| name(*at)).collect();
    names.extend(circle.first().map(|at| name(*at)));
    // Of a long circle its two ends say enough.
    if names.len() > 8 {
        let left_out = format!("… {} more …", names.len().saturating_sub(6));
        let tail = names.split_off(names.len().saturating_sub(3));
        names.truncate(3);
        long = left_out;
        names.push(&long);
        names.extend(tail);
    }
    let place = steps
        .first()
        .map(|(span, _, _)| *span)
        .or_else(|| Some(ledger.formulas.get(*circle.first()?)?.head));
    let span = place.unwrap_or_else(|| Span::new(first_file(ledger), 0, 0));
    let mut finding = Diagnostic::error(
        code::CIRCLE_OF_FORMULAS,
        span,
        format!("these formulas are made of one another: {}", names.join(" → ")),
    )
    .help(
        "a blend can't be an ingredient of itself: take one of these lines out, or write its herbs instead",
    );
    for (span, from, to) in steps.iter().skip(1).take(6) {
        finding = finding.related(*span, format!("`{}` takes `{}`", name(*from), name(*to)));
    }
    finding
}

fn first_file(ledger: &Ledger) -> crate::source::FileId {
    // A circle has at least one formula, and a formula lies in a file.
    ledger.formulas.first().map_or_else(
        || crate::source::Sources::default().add("", "".into()),
        |formula| formula.head.file,
    )
}

/// Said at the first formula that passes the bound; those that stand on it have no figures either.
fn too_deep(ledger: &Ledger, at: usize, depth: usize, diagnostics: &mut Vec<Diagnostic>) {
    if depth != DEEPEST.saturating_add(1) {
        return;
    }
    if let Some(formula) = ledger.formulas.get(at) {
        diagnostics.push(
            Diagnostic::error(
                code::NESTED_TOO_DEEP,
                formula.head,
                format!("this formula stands on {depth} others, one inside the other"),
            )
            .help(format!(
                "formulas may stand {DEEPEST} deep: write the herbs of an inner one instead"
            )),
        );
    }
}
