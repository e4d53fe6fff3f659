//! Three months of the demo: they reconcile to the milligram, and a recall of any lot is complete.

use std::collections::{BTreeMap, BTreeSet};

use num_rational::BigRational;
use scruple::book::trace::{self, Balance, Step};
use scruple::book::{Holder, called};
use scruple::quantity::Decimal;
use scruple::workspace::Snapshot;

use super::on;
use crate::sandbox::project;

fn demo() -> Snapshot {
    Snapshot::read(&project().join("examples/low-barn"))
}

/// A number as it is written, as a fraction.
fn exact(text: &str) -> BigRational {
    let (whole, rest) = text.split_once('.').unwrap_or((text, ""));
    let below = num_bigint::BigInt::from(10).pow(u32::try_from(rest.len()).unwrap());
    BigRational::new(format!("{whole}{rest}").parse().unwrap(), below)
}

fn fraction(value: Decimal) -> BigRational {
    let text = value.to_string();
    match text.strip_prefix('-') {
        Some(positive) => -exact(positive),
        None => exact(&text),
    }
}

/// The amounts of the book's files, read line by line without the program: in grams or millilitres.
#[derive(Default)]
struct ByHand {
    came_in: BTreeMap<String, BigRational>,
    /// What left a shelf, by its name: a lot's id, or a blend and its day.
    out: BTreeMap<String, BigRational>,
    /// The last count of a shelf, with its day; what left it later.
    entries: [usize; 3],
}

fn base(amount: &str) -> BigRational {
    let (number, unit) = amount.trim().split_once(' ').unwrap();
    let one = match unit.trim() {
        "g" | "ml" => 1,
        "kg" | "litre" => 1000,
        "filter bags" => 2,
        other => panic!("the demo has no {other}"),
    };
    exact(number) * BigRational::from_integer(one.into())
}

fn by_hand() -> ByHand {
    let mut found = ByHand::default();
    let folder = project().join("examples/low-barn/book");
    let mut texts: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| std::fs::read_to_string(entry.unwrap().path()).unwrap())
        .collect();
    texts.sort();
    for text in texts {
        for entry in text.split("\n\n") {
            let lines: Vec<&str> = entry
                .lines()
                .map(|line| line.split("  #").next().unwrap())
                .filter(|line| !line.starts_with('#') && !line.is_empty())
                .collect();
            let Some(head) = lines.first() else { continue };
            let line = |word: &str| {
                lines
                    .iter()
                    .find_map(|line| line.trim().strip_prefix(word).map(|rest| rest.trim().to_owned()))
            };
            if let Some(lot) = head.strip_prefix("lot ") {
                found.entries[0] += 1;
                let id = lot.split(' ').next().unwrap().to_owned();
                found.came_in.insert(id.clone(), base(&line("amount").unwrap()));
                if let Some(gone) = line("discarded") {
                    *found.out.entry(id).or_insert_with(|| exact("0")) +=
                        base(gone.split(" on ").next().unwrap());
                }
            } else if let Some(batch) = head.strip_prefix("batch ") {
                found.entries[1] += 1;
                for used in lines.iter().filter(|line| line.starts_with("    ")) {
                    let start = used.find(|letter: char| letter.is_ascii_digit()).unwrap();
                    for part in used[start..].split(", ") {
                        let (amount, from) = part.split_once(" from ").unwrap();
                        let name = used[..start].trim();
                        let shelf = if from.starts_with("2026") {
                            format!("{name} on {}", from.trim())
                        } else {
                            from.trim().to_owned()
                        };
                        *found.out.entry(shelf).or_insert_with(|| exact("0")) += base(amount);
                    }
                }
                if let Some(out) = line("yielded") {
                    found.came_in.insert(batch.to_owned(), base(&out));
                }
            } else if let Some(supply) = head.strip_prefix("supply ") {
                found.entries[2] += 1;
                let name = supply.rsplit_once(" on ").unwrap().0;
                let shelf = format!("{name} on {}", line("from batch").unwrap());
                *found.out.entry(shelf).or_insert_with(|| exact("0")) += base(&line("amount").unwrap());
            }
        }
    }
    found
}

#[test]
fn the_demo_has_three_months_of_a_dispensary() {
    assert_eq!(by_hand().entries, [30, 40, 150], "lots, batches, supplies");
    let snapshot = demo();
    assert_eq!(snapshot.ledger.lots.len(), 30);
    assert_eq!(snapshot.ledger.batches.len(), 40);
    assert_eq!(snapshot.ledger.supplies.len(), 150);
}

#[test]
fn the_demo_reconciles_to_the_milligram() {
    let (snapshot, by_hand) = (demo(), by_hand());
    let day = on("2026-12-31");
    assert!(snapshot.book.refused.is_empty(), "{:?}", snapshot.book.refused);
    let holders = (0..30).map(Holder::Lot).chain((0..40).map(Holder::Batch));
    let mut compared = 0;
    for holder in holders {
        let name = called(&snapshot.ledger, holder);
        let Some(came_in) = by_hand.came_in.get(&name) else {
            // Planned batches have nothing yet.
            assert!(name.contains("2026-12"), "{name}");
            continue;
        };
        let balance = Balance::of(&snapshot.book, holder, day);
        assert_eq!(fraction(balance.came_in), *came_in, "{name}");
        let out = by_hand.out.get(&name).cloned().unwrap_or_else(|| exact("0"));
        let gone = fraction(balance.used) + fraction(balance.supplied) + fraction(balance.discarded);
        assert_eq!(gone, out, "{name}");
        let astray = fraction(balance.astray);
        assert_eq!(fraction(balance.left), came_in - out - astray.clone(), "{name}");
        assert!(
            astray >= exact("0") && astray <= exact("10"),
            "{name}: {astray} g went astray"
        );
        assert!(balance.left >= Decimal::ZERO, "{name}");
        compared += 1;
    }
    assert_eq!(compared, 68);
}

#[test]
fn a_recall_of_any_lot_misses_nothing() {
    let snapshot = demo();
    let day = on("2026-12-31");
    let mut asked = 0;
    for at in 0..snapshot.ledger.lots.len() {
        let found = trace::forward(&snapshot.book, &snapshot.ledger, Holder::Lot(at), day);
        // Walked by hand, over and over until nothing comes: which batches and supplies hold any of it.
        let mut batches: BTreeSet<usize> = BTreeSet::new();
        loop {
            let before = batches.len();
            for (place, batch) in snapshot.ledger.batches.iter().enumerate() {
                let holds = batch.used.iter().any(|used| {
                    used.portions.iter().any(|portion| {
                        let from = portion.from.as_ref().unwrap().text.as_str();
                        from == snapshot.ledger.lots[at].id.text
                            || batches.iter().any(|other| {
                                let other = &snapshot.ledger.batches[*other];
                                other.name.text == used.name.text && other.day.written() == from
                            })
                    })
                });
                if holds {
                    batches.insert(place);
                }
            }
            if batches.len() == before {
                break;
            }
        }
        let supplies: BTreeSet<usize> = snapshot
            .ledger
            .supplies
            .iter()
            .enumerate()
            .filter(|(_, supply)| {
                batches.iter().any(|batch| {
                    let batch = &snapshot.ledger.batches[*batch];
                    batch.name.text == supply.name.text
                        && batch.day.first == supply.from_batch.as_ref().unwrap().first
                })
            })
            .map(|(place, _)| place)
            .collect();
        let told: BTreeSet<usize> = found
            .supplies
            .iter()
            .map(|node| match node.step {
                Step::Supply(place) => place,
                other => panic!("{other:?} is no supply"),
            })
            .collect();
        assert_eq!(told, supplies, "{}", snapshot.ledger.lots[at].id.text);
        assert_eq!(found.supplies.len(), supplies.len(), "each once");
        let told: BTreeSet<usize> = found
            .batches
            .iter()
            .filter_map(|node| match node.step {
                Step::Shelf(Holder::Batch(place)) => Some(place),
                _ => None,
            })
            .collect();
        assert_eq!(told, batches);
        asked += supplies.len();
    }
    assert!(asked > 400, "{asked} supplies were found over all lots");
}

#[test]
fn what_is_traced_back_is_what_was_traced_forward() {
    let snapshot = demo();
    let day = on("2026-12-31");
    let lots_of = |supply: usize| -> BTreeSet<usize> {
        trace::back(&snapshot.book, Step::Supply(supply))
            .iter()
            .filter_map(|node| match node.step {
                Step::Shelf(Holder::Lot(at)) => Some(at),
                _ => None,
            })
            .collect()
    };
    for at in 0..snapshot.ledger.lots.len() {
        let found = trace::forward(&snapshot.book, &snapshot.ledger, Holder::Lot(at), day);
        let forward: BTreeSet<usize> = found
            .supplies
            .iter()
            .filter_map(|node| match node.step {
                Step::Supply(place) => Some(place),
                _ => None,
            })
            .collect();
        for supply in 0..snapshot.ledger.supplies.len() {
            assert_eq!(lots_of(supply).contains(&at), forward.contains(&supply));
        }
    }
}

/// What went into a lot's batches is in what was handed out, on the shelves, or lost with the dust:
/// the parts add up, each rounded to the twelfth decimal.
#[test]
fn the_parts_of_a_lot_add_up() {
    let snapshot = demo();
    let day = on("2026-12-31");
    let lot = snapshot.book.lot("FE-198").unwrap();
    let found = trace::forward(&snapshot.book, &snapshot.ledger, Holder::Lot(lot), day);
    let mut all = BigRational::from_integer(0.into());
    for node in &found.supplies {
        all += fraction(node.of_it.unwrap());
    }
    for shelf in &found.on_shelves {
        all += fraction(shelf.of_it.unwrap());
    }
    for node in &found.batches {
        // What came out is less than what went in, and what is traced was spread over both.
        let Step::Shelf(Holder::Batch(at)) = node.step else {
            panic!()
        };
        let whole: BigRational = snapshot.book.inputs[at]
            .iter()
            .map(|taking| fraction(taking.amount.unwrap().value))
            .sum();
        let came_out = fraction(snapshot.book.batches[at].came_in().unwrap().value);
        all += fraction(node.amount.unwrap().value) * (whole.clone() - came_out) / whole;
    }
    let off = all - exact("500");
    assert!(off < exact("0.000000001") && off > -exact("0.000000001"), "{off}");
}
