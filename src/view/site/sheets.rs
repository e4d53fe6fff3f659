//! Turns a formula into weighing sheets of three sizes.

use super::Site;
use crate::compute::Composition;
use crate::compute::batch::{Batch, Target, make};
use crate::quantity::Decimal;
use crate::quantity::print::{column, short};
use crate::render::{Column, Note, Table};

/// A weighing sheet.
pub(super) struct Sheet {
    /// Its size in words.
    pub(super) heading: String,
    /// The sheet.
    pub(super) table: Table,
    /// What to mind.
    pub(super) notes: Vec<Note>,
}

/// Three sizes: as written and two round ones; of what is known only by volume, half and twice.
pub(super) fn sheets(site: &Site<'_>, composition: &Composition) -> Vec<Sheet> {
    let own = composition.totals.grams.map(|grams| grams.nominal);
    let whole = |grams: u32| Target::Grams(Decimal::from(grams));
    let round: Vec<Target> = [100, 250, 1000]
        .map(whole)
        .into_iter()
        .filter(|target| own.map(Target::Grams) != Some(*target))
        .collect();
    let half = Target::Times(Decimal::new(5, 1));
    let twice = Target::Times(Decimal::TWO);
    let mut targets = vec![Target::Own];
    let ledger = &site.snapshot.ledger;
    let by_weight = round
        .first()
        .is_some_and(|target| make(ledger, composition, *target).is_ok());
    if by_weight {
        targets.extend(round);
    } else {
        targets.extend([half, twice]);
    }
    targets
        .into_iter()
        .filter_map(|target| Some((target, make(ledger, composition, target).ok()?)))
        .take(3)
        .map(|(target, batch)| sheet(site, target, &batch))
        .collect()
}

fn sheet(site: &Site<'_>, target: Target, batch: &Batch) -> Sheet {
    let amount = batch
        .target
        .map(|grams| format!("{} g", short(grams, 2)))
        .or_else(|| {
            batch
                .millilitres
                .map(|volume| format!("{} ml", short(volume.nominal, 2)))
        })
        .unwrap_or_default();
    let heading = match target {
        Target::Own => format!("As written: {amount}"),
        Target::Times(times) if times < Decimal::ONE => format!("Half of it: {amount}"),
        Target::Times(_) => format!("Twice as much: {amount}"),
        Target::Grams(_) | Target::Millilitres(_) => amount,
    };
    let mut notes: Vec<Note> = Vec::new();
    notes.extend(batch.findings.iter().map(|one| {
        let help = one
            .help
            .as_ref()
            .map(|help| format!("; {help}"))
            .unwrap_or_default();
        Note::warning(format!("{}{help}", one.message))
    }));
    Sheet {
        heading,
        table: table(site, batch, None),
        notes,
    }
}

/// A batch as a table; with another weight in one line, as an exercise shows it: then without what
/// lies in the bowl, which would give the mistake away.
pub(super) fn table(site: &Site<'_>, batch: &Batch, wrong: Option<(usize, Decimal)>) -> Table {
    let practice = &site.snapshot.ledger.practice;
    let (weights, volumes) = (
        practice.scales.value.normalize().scale(),
        practice.cylinder.value.normalize().scale(),
    );
    let bowl = wrong.is_none() && batch.lines.iter().any(|line| line.in_the_bowl.is_some());
    let mut columns = vec![Column::left("take"), Column::decimal("weigh")];
    if bowl {
        columns.push(Column::decimal("in the bowl"));
    }
    let mut table = Table::new(columns);
    for (place, line) in batch.lines.iter().enumerate() {
        let target = wrong
            .filter(|(at, _)| *at == place)
            .map_or(line.target, |(_, wrong)| Some(wrong));
        let weigh = match (target, &line.grams, line.figure.how) {
            (Some(target), Some(_), _) => format!("{} g", column(target, weights)),
            (Some(target), None, _) => format!("{} ml", column(target, volumes)),
            (None, _, crate::compute::How::ToTheMark) => "to the mark".to_owned(),
            (None, ..) => "as needed".to_owned(),
        };
        let mut cells = vec![named(site, &line.figure.taken), weigh];
        if bowl {
            cells.push(
                line.in_the_bowl
                    .map(|bowl| format!("{} g", column(bowl, weights)))
                    .unwrap_or_default(),
            );
        }
        table.row(cells);
    }
    if let Some(target) = batch.target {
        table.total(["in all".to_owned(), format!("{} g", column(target, weights))]);
    }
    if let Some(volume) = &batch.millilitres {
        table.total([
            "by volume".to_owned(),
            format!("{} ml", column(volume.nominal, volumes)),
        ]);
    }
    table
}

/// The name of what a line takes, as the ledger declares it, with what is done to it.
pub(super) fn named(site: &Site<'_>, taken: &crate::model::Taken) -> String {
    use crate::model::Bound;
    let name = match taken.what {
        Bound::Substance(at) => site.herb(at),
        Bound::Formula(at) => site
            .snapshot
            .ledger
            .formulas
            .get(at)
            .map_or("", |formula| formula.name.text.as_str()),
        Bound::Unknown => "",
    };
    let name = if name.is_empty() { &taken.name.text } else { name };
    let strength = taken
        .strength
        .map(|strength| format!("{} % ", short(strength, 2)))
        .unwrap_or_default();
    std::iter::once(format!("{strength}{name}"))
        .chain(taken.processing.iter().cloned())
        .collect::<Vec<_>>()
        .join(", ")
}
