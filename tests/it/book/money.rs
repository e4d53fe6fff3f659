//! Costs by hand: exact up to the end, rounded once, to the smallest coin of ISO 4217.

use scruple::book::cost::{self, Prices};
use scruple::book::order;
use scruple::quantity::Decimal;
use scruple::syntax::day::Day;
use scruple::workspace::Snapshot;

use super::{codes, ledger, on, reckoned};

fn prices(snapshot: &Snapshot) -> Prices<'_> {
    Prices::of(
        &snapshot.ledger,
        &snapshot.faults,
        &snapshot.figures,
        &snapshot.book,
    )
}

const TEA: &str = "\
practice
  money EUR
herb mint
  price 21.00 per kg
herb fennel
formula two tea
  take
    mint 30 g
    fennel 15 g
lot M-1 of mint
  received 2026-09-01
  amount 300 g
  cost 10.00
lot F-1 of fennel
  received 2026-09-01
  amount 700 g
  cost 10.00
lot F-2 of fennel
  received 2026-10-01
  amount 1 kg
  cost 15.00
batch two tea on 2026-11-01
  make 45 g
  used
    mint 30 g from M-1
    fennel 15 g from F-1
  yielded 44 g
";

#[test]
fn a_batch_costs_what_its_lots_cost() {
    let snapshot = ledger(TEA);
    assert_eq!(codes(&snapshot), [""; 0]);
    let cost = prices(&snapshot).batch(0);
    // 30 g of 300 g for 10.00, and 15 g of 700 g for 10.00: 1 and 3/14.
    let costs: Vec<Decimal> = cost.lines.iter().map(|line| line.cost.unwrap().0).collect();
    assert_eq!(costs[0], Decimal::ONE);
    let fourteenths = costs[1] * Decimal::from(14_u32);
    assert_eq!(fourteenths.round_dp(20), Decimal::from(3_u32));
    // A jar of 22 g is half of what came out: the loss is paid for.
    let out = snapshot.book.batches[0].came_in().unwrap();
    let jar = Some(("jar".to_owned(), Decimal::from(22_u32)));
    let portions = cost::portions(&snapshot.ledger.practice, (cost.total.unwrap(), out), jar, None).unwrap();
    let half = cost.total.unwrap() / Decimal::TWO;
    assert_eq!(portions.per[1].cost.round_dp(20), half.round_dp(20));
}

#[test]
fn a_formula_costs_what_the_price_list_says_else_what_the_newest_lot_cost() {
    let snapshot = ledger(TEA);
    let composition = snapshot.figures.of(0).unwrap();
    let sheet = scruple::compute::batch::make(
        &snapshot.ledger,
        composition,
        scruple::compute::batch::Target::Grams(Decimal::from(450_u32)),
    )
    .unwrap();
    let cost = prices(&snapshot).formula(composition, &sheet);
    // 300 g at 21.00 per kg, and 150 g at 15.00 per kg.
    let costs: Vec<String> = cost
        .lines
        .iter()
        .map(|line| line.cost.unwrap().0.normalize().to_string())
        .collect();
    assert_eq!(costs, ["6.3", "2.25"]);
}

#[test]
fn a_mark_up_is_of_the_cost_and_a_margin_of_the_price() {
    for (line, price) in [
        ("mark-up 40%", "14.00"),
        // 10.00 / 0.7 = 14.2857…
        ("margin 30%", "14.29"),
        ("mark-up 0%", "10.00"),
    ] {
        let snapshot = ledger(&format!("practice\n  money EUR\n  {line}\n"));
        assert_eq!(codes(&snapshot), [""; 0], "{line}");
        let practice = &snapshot.ledger.practice;
        let found = cost::price(practice, Decimal::TEN).unwrap().unwrap();
        let written = scruple::quantity::money::written(found, practice.money.as_ref());
        assert_eq!(written, format!("{price} EUR"), "{line}");
    }
    assert_eq!(
        codes(&ledger("practice\n  mark-up 40%\n  margin 30%\n")),
        ["said-twice"]
    );
    assert_eq!(
        codes(&ledger("practice\n  margin 100%\n")),
        ["line-not-understood"]
    );
    assert_eq!(
        codes(&ledger(
            "herb mint\nlot M-1 of mint\n  amount 1 kg\n  cost 20.00 per kg\n"
        )),
        ["line-not-understood"]
    );
}

#[test]
fn a_sum_is_rounded_once() {
    // Three thirds of 0.10 are 0.10; rounded one by one they would be 0.09.
    let snapshot = ledger(
        "practice\n  money EUR\nherb a\nherb b\nherb c\nformula t\n  take\n    a 1 g\n    b 1 g\n    c 1 g\n\
         lot A of a\n  received 2026-01\n  amount 3 g\n  cost 0.10\n\
         lot B of b\n  received 2026-01\n  amount 3 g\n  cost 0.10\n\
         lot C of c\n  received 2026-01\n  amount 3 g\n  cost 0.10\n\
         batch t on 2026-02-01\n  used\n    a 1 g from A\n    b 1 g from B\n    c 1 g from C\n",
    );
    let total = prices(&snapshot).batch(0).total.unwrap();
    assert_eq!(
        scruple::quantity::money::written(total, snapshot.ledger.practice.money.as_ref()),
        "0.10 EUR"
    );
}

#[test]
fn what_has_no_price_makes_no_sum() {
    let snapshot = ledger(
        "herb a\nherb b\n  price 10.00 per kg\nformula t\n  take\n    a 1 g\n    b 1 g\nbatch t on 2026-02-01\n  used\n    a 1 g\n    b 1 g\n",
    );
    let cost = prices(&snapshot).batch(0);
    assert_eq!(cost.total, None);
    assert_eq!(cost.unknown(&snapshot.ledger), ["a"]);
}

#[test]
fn the_oil_of_a_macerate_is_not_left_out_in_silence() {
    let snapshot = ledger(
        "herb yarrow\n  price 18.00 per kg\nmaterial olive oil\n  price 12.00 per litre\nmaterial wax\n  price 19.00 per kg\n\
         formula oil\n  take yarrow 100 g\n  macerate 1:5 in olive oil for 3 days\n  makes 450 ml\n\
         formula salve\n  take\n    oil 200 ml\n    wax 25 g\n\
         formula tea\n  take yarrow 100 g\n  infuse 2 g in 1 cup of boiling water for 5 minutes\n",
    );
    let total = |at: usize| {
        let composition = snapshot.figures.of(at).unwrap();
        let own = scruple::compute::batch::Target::Own;
        let sheet = scruple::compute::batch::make(&snapshot.ledger, composition, own).unwrap();
        let cost = prices(&snapshot).formula(composition, &sheet);
        (
            cost.total.map(|total| total.normalize().to_string()),
            cost.unknown(&snapshot.ledger).join(", "),
        )
    };
    assert_eq!(total(0), (None, "olive oil".to_owned()));
    assert_eq!(total(1), (None, "oil".to_owned()));
    // Water from the tap costs nothing.
    assert_eq!(total(2), (Some("1.8".to_owned()), String::new()));
}

fn ordered(text: &str, day: Day) -> Vec<String> {
    let snapshot = ledger(text);
    assert_eq!(codes(&snapshot), [""; 0]);
    let order = order::order(reckoned(&snapshot), &snapshot.book, day).unwrap();
    assert!(order.refused.is_empty(), "{:?}", order.refused);
    order
        .wanted
        .iter()
        .map(|one| {
            let packs = one.packs.as_ref().unwrap();
            let counts: Vec<String> = packs
                .sizes
                .iter()
                .map(|(count, size)| format!("{}×{}", count.normalize(), size.normalize()))
                .collect();
            format!(
                "{} missing {}: {} from {} for {}",
                scruple::book::name_of(&snapshot.ledger, one.what),
                one.missing.normalize(),
                counts.join("+"),
                packs.seller.as_deref().unwrap_or("-"),
                packs.cost.unwrap().normalize()
            )
        })
        .collect()
}

#[test]
fn an_order_is_what_is_needed_less_what_there_is_in_packs() {
    let text = |packs: &str, minimum: &str| {
        format!(
            "practice\n  money EUR\nherb mint\n{packs}  minimum {minimum}\nformula tea\n  take mint 10 g\n\
             lot M-1 of mint\n  received 2026-01-01\n  amount 100 g\n  best before 2026-06\n\
             lot M-2 of mint\n  received 2026-01-01\n  amount 50 g\n\
             lot M-3 of mint\n  amount 20 g\n\
             batch tea on 2026-07-01\n  make 130 g\n"
        )
    };
    let one = "  pack 100 g for 4.00 from A\n  pack 250 g for 8.00 from A\n";
    // 130 planned + 200 always − 150 there − 20 on the way; M-1 is past its best on the second day.
    assert_eq!(
        ordered(&text(one, "200 g"), on("2026-05-01")),
        ["mint missing 160: 1×250 from A for 8"]
    );
    assert_eq!(
        ordered(&text(one, "200 g"), on("2026-07-01")),
        ["mint missing 260: 1×250+1×100 from A for 12"]
    );
    let two = "  pack 100 g for 4.00 from A\n  pack 250 g for 8.00 from A\n  pack 150 g for 3.00 from B\n";
    assert_eq!(
        ordered(&text(two, "200 g"), on("2026-07-01")),
        ["mint missing 260: 2×150 from B for 6"]
    );
    assert_eq!(ordered(&text(one, "30 g"), on("2026-05-01")), [""; 0]);
    // A pack without a price costs what the price list says.
    assert_eq!(
        ordered(
            &text("  price 50.00 per kg\n  pack 100 g\n", "200 g"),
            on("2026-05-01")
        ),
        ["mint missing 160: 2×100 from - for 10"]
    );
}
