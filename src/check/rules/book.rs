//! Looks over the dispensary's book: lots that can't be meant, weighings off their target, shelves
//! from which more was taken than there was.

mod lots;
mod made;

use crate::check::Booked;
use crate::diagnostic::Diagnostic;

/// Runs every rule over the book.
pub fn of_the_book(booked: &Booked<'_>) -> Vec<Diagnostic> {
    let mut report = booked.book.refused.clone();
    lots::origins(booked, &mut report);
    lots::shelves(booked, &mut report);
    made::without_lots(booked, &mut report);
    made::beside_formulas(booked, &mut report);
    made::best_before(booked, &mut report);
    report
}
