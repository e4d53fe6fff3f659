//! The printed compound formulas: every line, total and share against `expected.tsv`.

use std::collections::HashSet;

use num_rational::BigRational;
use num_traits::Zero;
use scruple::compute::batch::{self, Target};
use scruple::compute::{Composition, How, LineFigure, contents};
use scruple::model::Bound;
use scruple::quantity::Spread;
use scruple::workspace::Snapshot;

use super::{declared, distance, errors, exact, folder, ratio, shown, table, told, whole};

/// The formulas that the folder is to hold at the least.
const LEAST: usize = 90;

fn ledger() -> Snapshot {
    Snapshot::read(&folder().join("printed"))
}

#[test]
fn the_printed_formulas_are_read_without_an_error() {
    let snapshot = ledger();
    let found: Vec<String> = errors(&snapshot).iter().map(|one| told(&snapshot, one)).collect();
    assert!(found.is_empty(), "{found:#?}");
    assert!(snapshot.ledger.formulas.len() >= LEAST);
    for (at, formula) in snapshot.ledger.formulas.iter().enumerate() {
        assert!(
            snapshot.figures.of(at).is_some(),
            "{} has no figures",
            formula.name.text
        );
    }
}

#[test]
fn every_printed_formula_comes_to_what_the_books_make_it() {
    let text = std::fs::read_to_string(folder().join("printed/expected.tsv")).unwrap();
    let snapshot = ledger();
    let mut differences = Vec::new();
    let mut held = 0;
    let mut seen = HashSet::new();
    let mut differing = Vec::new();
    let mut summed = HashSet::new();
    for row in table(&text) {
        let (name, ingredient, kind) = (row.get("formula"), row.get("ingredient"), row.get("kind"));
        seen.insert(name);
        let note = row.get("note");
        let class = note.split([';', ':']).next().unwrap();
        match class {
            "differs" => differing.push((name, ingredient, kind)),
            "summed" => {
                summed.insert((name, ingredient, kind));
            }
            _ => {}
        }
        let wanted = exact(row.get("value"));
        let tolerance = exact(row.get("tolerance"));
        let got = snapshot
            .formula(name)
            .and_then(|at| snapshot.figures.of(at))
            .and_then(|composition| figure(&snapshot, composition, ingredient, kind, class));
        let Some(got) = got else {
            differences.push(format!(
                "{name}, {ingredient}: no {kind}; printed {}",
                row.get("value")
            ));
            continue;
        };
        let within = distance(&got, &wanted) <= tolerance.max(last_digits());
        let as_said = match class {
            "line" | "worked out" | "summed" | "printed" | "nested" => within,
            "differs" => !within,
            other => panic!("row {}: `{other}` is no class of row", row.place),
        };
        if as_said {
            held += 1;
        } else {
            differences.push(format!(
                "{name}, {ingredient} ({class}): {kind} is {}, expected {} within {}",
                shown(&got),
                shown(&wanted),
                row.get("tolerance")
            ));
        }
    }
    assert!(
        differences.is_empty(),
        "{held} rows hold, {} do not:\n{}",
        differences.len(),
        differences.join("\n")
    );
    // A print that the amounts don't add up to stands beside the figure that they do add up to.
    assert!(!differing.is_empty() && differing.iter().all(|key| summed.contains(key)));
    // Every formula of the folder is in the table, and nothing else is.
    let names: HashSet<&str> = snapshot
        .ledger
        .formulas
        .iter()
        .map(|formula| formula.name.text.as_str())
        .collect();
    assert_eq!(names, seen);
    assert!(
        seen.len() >= LEAST && held >= 700,
        "{} formulas, {held} rows",
        seen.len()
    );
}

/// A chain of divisions may leave something below the twelfth decimal; the program settles figures there.
fn last_digits() -> BigRational {
    exact("0.0000000000005")
}

/// The figure of the program that a row speaks of.
fn figure(
    snapshot: &Snapshot,
    composition: &Composition,
    ingredient: &str,
    kind: &str,
    class: &str,
) -> Option<BigRational> {
    let totals = &composition.totals;
    match kind {
        "total_grams" => return exactly(totals.grams),
        "total_parts" => return exactly(totals.parts),
        // Where a line makes up to a volume that is the whole; else it is the sum.
        "total_ml" => return exactly(totals.volume.or(totals.millilitres)),
        _ => {}
    }
    if class == "nested" {
        return nested(snapshot, composition, ingredient, kind);
    }
    let lines: Vec<&LineFigure> = composition
        .lines
        .iter()
        .filter(|line| declared(snapshot, line.taken.what) == ingredient)
        // What fills up to a mark has no figure; a name may stand on such a line besides its own.
        .filter(|line| line.how != How::ToTheMark)
        .collect();
    let sum = |get: &dyn Fn(&LineFigure) -> Option<BigRational>| {
        let mut sum = None;
        for line in &lines {
            sum = Some(sum.unwrap_or_else(BigRational::zero) + get(line)?);
        }
        sum
    };
    match kind {
        "grams" => sum(&|line| exactly(line.amounts.grams)),
        "ml" => sum(&|line| exactly(line.amounts.millilitres)),
        "parts" => sum(&|line| exactly(line.amounts.parts)),
        "share_percent" => sum(&|line| line.share.map(ratio)),
        other => panic!("`{other}` is no kind of row"),
    }
}

/// What of a herb there is in a formula through the formulas that it takes.
fn nested(
    snapshot: &Snapshot,
    composition: &Composition,
    ingredient: &str,
    kind: &str,
) -> Option<BigRational> {
    let own = opened(snapshot, composition, ingredient)?;
    match kind {
        "grams" => Some(own),
        "share_percent" => {
            let total = composition.totals.grams.or(composition.totals.parts)?;
            Some(own * whole(100) / ratio(total.nominal))
        }
        other => panic!("`{other}` is no kind of nested row"),
    }
}

/// By weight or by the part, what the program finds inside; by volume, the weighing sheets of the
/// formulas inside, each made at the volume that is taken of it.
fn opened(snapshot: &Snapshot, composition: &Composition, ingredient: &str) -> Option<BigRational> {
    if let Some(held) = contents(&snapshot.figures, composition).ok()? {
        return held
            .iter()
            .find(|(at, _)| snapshot.ledger.substances[**at].name == ingredient)
            .map(|(_, amount)| ratio(amount.nominal));
    }
    let mut sum = None;
    for line in &composition.lines {
        if let (Bound::Formula(at), Some(volume)) = (line.taken.what, line.amounts.millilitres) {
            let inner = snapshot.figures.of(at)?;
            let made = batch::make(&snapshot.ledger, inner, Target::Millilitres(volume.nominal)).ok()?;
            for own in made
                .lines
                .iter()
                .filter(|own| declared(snapshot, own.figure.taken.what) == ingredient)
            {
                sum = Some(sum.unwrap_or_else(BigRational::zero) + ratio(own.grams?.nominal));
            }
        }
    }
    sum
}

/// A figure that must have no spread.
fn exactly(spread: Option<Spread>) -> Option<BigRational> {
    let spread = spread?;
    assert!(spread.settled().is_exact(), "{spread:?} has a spread");
    Some(ratio(spread.nominal))
}

/// Fuller's aperient decoction (Pharmacopoeia Extemporanea, 1710) takes four herbs by the handful, and
/// nothing says what a handful weighed.
#[test]
fn what_a_handful_weighed_is_not_guessed() {
    let herbs = ["ceterach", "hart's-tongue", "agrimony", "liverwort"];
    let declared: String = herbs.map(|herb| format!("herb {herb}\n")).concat();
    let taken: String = herbs.map(|herb| format!("    {herb}   1 handful\n")).concat();
    let snapshot = super::ledger(&format!(
        "{declared}herb parsley root\nformula aperient decoction\n  take\n    parsley root   1 apothecary ounce\n{taken}"
    ));
    let found = errors(&snapshot);
    let codes: Vec<&str> = found.iter().map(|one| one.code.name()).collect();
    assert_eq!(codes, ["spoon-without-weight"; 4]);
    let at = snapshot.formula("aperient decoction").unwrap();
    assert!(snapshot.figures.of(at).is_none());
}
