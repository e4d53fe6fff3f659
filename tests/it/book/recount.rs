//! Random books beside a recount that shares nothing with the program: two accounts for every
//! entry, in whole micrograms. Grams in are grams out and grams left, exactly.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use proptest::prelude::*;
use scruple::book::Holder;
use scruple::book::trace::Balance;
use scruple::workspace::Snapshot;

use super::on;

/// A weight as it is written, with what it is in micrograms by SI prefixes and, for the grain, the
/// 64.79891 mg of UCUM 2024-06-17.
#[derive(Debug, Clone)]
struct Weight {
    written: String,
    micrograms: i128,
}

fn weight(number: u32, unit: usize) -> Weight {
    let (word, one) = [
        ("g", 1_000_000),
        ("mg", 1_000),
        ("kg", 1_000_000_000),
        ("grains", 64_799),
    ][unit];
    // A grain is no whole number of micrograms, so it is taken a hundred thousand times ten.
    if word == "grains" {
        let hundreds = i128::from(number % 90 + 1) * 100;
        return Weight {
            written: format!("{hundreds} grains"),
            micrograms: hundreds * 6_479_891 / 100,
        };
    }
    let tenths = i128::from(number % 9_000 + 1);
    Weight {
        written: format!("{}.{} {word}", tenths / 10, tenths % 10),
        micrograms: tenths * one / 10,
    }
}

/// One entry of a book, before it is written.
#[derive(Debug, Clone)]
enum Event {
    /// Into a batch of the herb, from a lot.
    Use { lot: usize, day: u32, amount: Weight },
    /// Into the second blend, from a batch of the first.
    Blend { batch: usize, day: u32, amount: Weight },
    /// Handed out from a batch.
    Supply { batch: usize, day: u32, amount: Weight },
    /// Thrown away from a lot.
    Discard { lot: usize, day: u32, amount: Weight },
    /// The lot is counted.
    Count { lot: usize, day: u32, amount: Weight },
}

fn event() -> impl Strategy<Value = Event> {
    let parts = (0_usize..5, 0_usize..4, 1_u32..28, any::<u32>(), 0_usize..4);
    parts.prop_map(|(kind, which, day, number, unit)| {
        let amount = weight(number, unit);
        match kind {
            0 => Event::Use {
                lot: which,
                day,
                amount,
            },
            1 => Event::Blend {
                batch: which,
                day,
                amount,
            },
            2 => Event::Supply {
                batch: which,
                day,
                amount,
            },
            3 => Event::Discard {
                lot: which,
                day,
                amount,
            },
            _ => Event::Count {
                lot: which,
                day,
                amount,
            },
        }
    })
}

const LOTS: usize = 4;

/// Who holds what: the world outside, each lot, each batch by its blend and day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Account {
    Sellers,
    Lot(usize),
    First(u32),
    Second(u32),
    People,
    Bin,
    Astray,
}

/// On which day, at which turn of it, from whom to whom, and how many micrograms.
type Posting = (u32, u8, Account, Account, i128);

/// The texts of a book, one entry each, and the same as pairs of postings with their days and turns.
fn written(received: &[Weight], events: &[Event]) -> (Vec<String>, Vec<Posting>) {
    let mut postings = Vec::new();
    let mut texts =
        vec!["herb mint\nformula first\n  take mint 1 g\nformula second\n  take first 1 g\n".to_owned()];
    let mut lots: Vec<String> = Vec::new();
    for (at, amount) in received.iter().enumerate() {
        lots.push(format!(
            "lot L-{at} of mint\n  received 2026-01-01\n  amount {}\n",
            amount.written
        ));
        postings.push((1, 0, Account::Sellers, Account::Lot(at), amount.micrograms));
    }
    // The first blend is made on each day that something of it is used, the second likewise.
    let mut first: BTreeMap<u32, String> = BTreeMap::new();
    let mut second: BTreeMap<u32, String> = BTreeMap::new();
    for event in events {
        if let Event::Use { lot, day, amount } = event {
            let lines = first.entry(*day).or_default();
            let _ = writeln!(lines, "    mint {} from L-{lot}", amount.written);
            postings.push((
                *day,
                1,
                Account::Lot(*lot),
                Account::First(*day),
                amount.micrograms,
            ));
        }
    }
    let days: Vec<u32> = first.keys().copied().collect();
    let nth = |which: usize| days.get(which % days.len().max(1)).copied();
    for event in events {
        match event {
            Event::Use { .. } => {}
            Event::Blend { batch, day, amount } => {
                let Some(made) = nth(*batch) else { continue };
                let _ = writeln!(
                    second.entry(*day).or_default(),
                    "    first {} from 2026-01-{made:02}",
                    amount.written
                );
                postings.push((
                    *day,
                    1,
                    Account::First(made),
                    Account::Second(*day),
                    amount.micrograms,
                ));
            }
            Event::Supply { batch, day, amount } => {
                let Some(made) = nth(*batch) else { continue };
                texts.push(format!(
                    "supply first on 2026-01-{day:02}\n  amount {}\n  from batch 2026-01-{made:02}\n",
                    amount.written
                ));
                postings.push((*day, 1, Account::First(made), Account::People, amount.micrograms));
            }
            Event::Discard { lot, day, amount } => {
                let _ = writeln!(lots[*lot], "  discarded {} on 2026-01-{day:02}", amount.written);
                postings.push((*day, 1, Account::Lot(*lot), Account::Bin, amount.micrograms));
            }
            Event::Count { lot, day, amount } => {
                let word = format!(" on 2026-01-{day:02}");
                // One count a day: which of two would be the later one nobody says.
                let counted = lots[*lot]
                    .lines()
                    .any(|line| line.trim().starts_with("counted") && line.ends_with(&word));
                if counted {
                    continue;
                }
                let _ = writeln!(lots[*lot], "  counted {}{word}", amount.written);
                postings.push((*day, 2, Account::Lot(*lot), Account::Astray, amount.micrograms));
            }
        }
    }
    let batches = |name: &str, days: &BTreeMap<u32, String>, texts: &mut Vec<String>| {
        for (day, lines) in days {
            texts.push(format!("batch {name} on 2026-01-{day:02}\n  used\n{lines}"));
        }
    };
    batches("first", &first, &mut texts);
    batches("second", &second, &mut texts);
    texts.extend(lots);
    (texts, postings)
}

/// The balances after every posting up to a day. A count sets its lot; the rest is gone astray.
fn recount(postings: &[Posting], until: u32) -> BTreeMap<Account, i128> {
    let mut ordered: Vec<_> = postings.iter().filter(|(day, ..)| *day <= until).collect();
    ordered.sort_by_key(|(day, turn, ..)| (*day, *turn));
    let mut balances: BTreeMap<Account, i128> = BTreeMap::new();
    for (_, turn, from, to, amount) in ordered {
        let moved = if *turn == 2 {
            balances.get(from).copied().unwrap_or(0) - amount
        } else {
            *amount
        };
        *balances.entry(*from).or_insert(0) -= moved;
        *balances.entry(*to).or_insert(0) += moved;
    }
    // Double entry: all accounts together are nothing.
    assert_eq!(balances.values().sum::<i128>(), 0);
    balances
}

fn micrograms(value: scruple::quantity::Decimal) -> i128 {
    let scaled = value * scruple::quantity::Decimal::from(1_000_000_u32);
    assert!(
        scaled.fract().is_zero(),
        "{value} g is no whole number of micrograms"
    );
    scaled.trunc().to_string().parse().unwrap()
}

fn snapshot(texts: &[String]) -> Snapshot {
    Snapshot::of(
        texts
            .iter()
            .enumerate()
            .map(|(at, text)| (format!("{at}.scruple"), text.as_str().into())),
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(160))]

    #[test]
    fn the_book_is_what_a_recount_says(
        received in prop::collection::vec((any::<u32>(), 0_usize..4), LOTS..=LOTS),
        events in prop::collection::vec(event(), 0..40),
        turned in any::<bool>(),
        by in 0_usize..40,
        until in 1_u32..31,
    ) {
        let received: Vec<Weight> = received.into_iter().map(|(number, unit)| weight(number, unit)).collect();
        let (mut texts, postings) = written(&received, &events);
        let plain = snapshot(&texts);
        // The order of files makes no difference.
        if turned {
            texts.reverse();
        }
        let by = by % texts.len();
        texts.rotate_left(by);
        let shuffled = snapshot(&texts);
        let expected = recount(&postings, until);
        let day = on(&format!("2026-01-{until:02}"));
        for ledger in [&plain, &shuffled] {
            prop_assert!(ledger.book.refused.is_empty());
            let mut seen = BTreeMap::new();
            for (at, lot) in ledger.ledger.lots.iter().enumerate() {
                let number: usize = lot.id.text[2..].parse().unwrap();
                seen.insert(Account::Lot(number), Balance::of(&ledger.book, Holder::Lot(at), day));
            }
            for (at, batch) in ledger.ledger.batches.iter().enumerate() {
                let made: u32 = batch.day.written()[8..].parse().unwrap();
                let account = match batch.name.text.as_str() {
                    "first" => Account::First(made),
                    _ => Account::Second(made),
                };
                seen.insert(account, Balance::of(&ledger.book, Holder::Batch(at), day));
            }
            let mut given = 0;
            let mut binned = 0;
            let mut astray = 0;
            let mut held = 0;
            let mut came = 0;
            for (account, balance) in &seen {
                let left = micrograms(balance.left);
                prop_assert_eq!(left, expected.get(account).copied().unwrap_or(0), "{:?}", account);
                let gone = micrograms(balance.used) + micrograms(balance.supplied)
                    + micrograms(balance.discarded) + micrograms(balance.astray);
                prop_assert_eq!(micrograms(balance.came_in), gone + left, "{:?}", account);
                given += micrograms(balance.supplied);
                binned += micrograms(balance.discarded);
                astray += micrograms(balance.astray);
                held += left;
                if matches!(account, Account::Lot(_)) {
                    came += micrograms(balance.came_in);
                }
            }
            // Grams in are grams out and grams left, over the whole house.
            prop_assert_eq!(came, given + binned + astray + held);
            let of = |account| expected.get(&account).copied().unwrap_or(0);
            prop_assert_eq!(came, -of(Account::Sellers));
            prop_assert_eq!(given, of(Account::People));
            prop_assert_eq!(binned, of(Account::Bin));
            prop_assert_eq!(astray, of(Account::Astray));
        }
    }
}
