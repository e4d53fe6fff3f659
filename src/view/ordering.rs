//! What to buy, as data, rows and a document.

use serde::Serialize;

use super::shelves::Exactly;
use super::standing;
use crate::book::order::{Order, Wanted};
use crate::book::{Amount, name_of};
use crate::model::Ledger;
use crate::quantity::print::{digits, short};
use crate::quantity::{Currency, Decimal};
use crate::render::{Column, Document, Note, Table, spreadsheet};
use crate::syntax::day::Day;

/// So many packs of a size.
#[derive(Debug, Clone, Serialize)]
pub struct PackCount {
    /// How many.
    pub count: String,
    /// What one holds.
    pub holds: Exactly,
}

/// What is to be bought of one thing; all amounts in one unit.
#[derive(Debug, Clone, Serialize)]
pub struct ToBuy {
    /// Its name.
    pub name: String,
    /// `g` or `ml`.
    pub unit: &'static str,
    /// What planned batches take.
    pub planned: String,
    /// What there should always be.
    pub minimum: String,
    /// What there is and is still good.
    pub there: String,
    /// What is ordered already.
    pub on_the_way: String,
    /// What is missing.
    pub missing: String,
    /// Who sells it, where a pack says so.
    pub seller: Option<String>,
    /// In which packs; empty where no pack is known.
    pub packs: Vec<PackCount>,
    /// How much is to be bought: packs, or just what is missing.
    pub buy: String,
    /// What that costs, rounded to the smallest coin; nothing where it is not known.
    pub cost: Option<String>,
    /// What may be taken in its place and is there.
    pub instead: Vec<String>,
}

/// A batch that can't be reckoned.
#[derive(Debug, Clone, Serialize)]
pub struct Unreckoned {
    /// Which.
    pub batch: String,
    /// Why.
    pub why: String,
    /// What to do.
    pub help: String,
}

/// What `order --as json` prints; `grammar/order.schema.json` describes it.
#[derive(Debug, Clone, Serialize)]
pub struct OrderReport {
    /// With what there is at the end of which day.
    pub on: String,
    /// How many batches are planned.
    pub planned_batches: usize,
    /// The ISO 4217 code, where the practice says its money.
    pub currency: Option<String>,
    /// What to buy, by name.
    pub to_buy: Vec<ToBuy>,
    /// Blends that are to be made first.
    pub to_make: Vec<String>,
    /// What all of it costs; nothing where some of it is not known.
    pub total: Option<String>,
    /// Planned batches that can't be reckoned.
    pub unreckoned: Vec<Unreckoned>,
    /// What stands on every sheet.
    pub standing: [&'static str; 3],
}

fn coins(amount: Decimal, currency: Option<&Currency>) -> String {
    crate::quantity::print::column(amount, currency.map_or(2, Currency::decimals))
}

fn to_buy(ledger: &Ledger, one: &Wanted) -> ToBuy {
    let currency = ledger.practice.money.as_ref();
    let unit = one.unit;
    let packs = one.packs.as_ref();
    ToBuy {
        name: name_of(ledger, one.what).to_owned(),
        unit: unit.word(),
        planned: digits(one.planned),
        minimum: digits(one.minimum),
        there: digits(one.there),
        on_the_way: digits(one.on_the_way),
        missing: digits(one.missing),
        seller: packs.and_then(|packs| packs.seller.clone()),
        packs: packs
            .into_iter()
            .flat_map(|packs| &packs.sizes)
            .map(|(count, holds)| PackCount {
                count: digits(*count),
                holds: Exactly::from(Amount { unit, value: *holds }),
            })
            .collect(),
        buy: digits(packs.map_or(one.missing, |packs| packs.amount)),
        cost: packs
            .and_then(|packs| packs.cost)
            .map(|cost| coins(cost, currency)),
        instead: one
            .instead
            .iter()
            .map(|(what, there)| format!("{}, {} there", name_of(ledger, *what), there.written()))
            .collect(),
    }
}

/// Puts a report together.
pub fn report(ledger: &Ledger, order: &Order, on: Day) -> OrderReport {
    let currency = ledger.practice.money.as_ref();
    let total = order.wanted.iter().try_fold(Decimal::ZERO, |sum, one| {
        sum.checked_add(one.packs.as_ref()?.cost?)
    });
    OrderReport {
        on: on.to_string(),
        planned_batches: order.planned,
        currency: currency.map(|one| one.code().to_owned()),
        to_buy: order.wanted.iter().map(|one| to_buy(ledger, one)).collect(),
        to_make: order
            .to_make
            .iter()
            .map(|(what, amount)| format!("{} of {}", amount.written(), name_of(ledger, *what)))
            .collect(),
        total: total.map(|total| coins(total, currency)),
        unreckoned: order
            .refused
            .iter()
            .map(|(at, refusal)| Unreckoned {
                batch: ledger
                    .batches
                    .get(*at)
                    .map(|batch| batch.called())
                    .unwrap_or_default(),
                why: refusal.message.clone(),
                help: refusal.help.clone(),
            })
            .collect(),
        standing: standing::CAUTIONS,
    }
}

fn packed(one: &ToBuy) -> String {
    if one.packs.is_empty() {
        return format!("{} {}, no pack known", short_of(&one.buy), one.unit);
    }
    let packs: Vec<String> = one
        .packs
        .iter()
        .map(|pack| format!("{} × {} {}", pack.count, pack.holds.amount, pack.holds.unit))
        .collect();
    packs.join(" and ")
}

fn short_of(digits: &str) -> String {
    digits
        .parse()
        .map_or_else(|_| digits.to_owned(), |value| short(value, 1))
}

/// The report as a document: what to buy from whom, and why.
pub fn document(ledger: &Ledger, report: &OrderReport) -> Document {
    let currency = ledger.practice.money.as_ref();
    let unit = currency.map_or("", Currency::code);
    let mut page = Document::new();
    page.title(format!("What to buy, as of {}", report.on));
    if report.to_buy.is_empty() {
        page.paragraph(
            "Nothing: what there is does for what is planned and for what there should always be.",
        );
    } else {
        let mut sellers: Vec<Option<&str>> = report.to_buy.iter().map(|one| one.seller.as_deref()).collect();
        // Those without a seller stand last.
        sellers.sort_by_key(|seller| (seller.is_none(), *seller));
        sellers.dedup();
        let mut table = Table::new([
            Column::left("what"),
            Column::left("buy"),
            Column::decimal("cost"),
            Column::decimal("missing"),
            Column::decimal("planned").with_importance(1),
            Column::decimal("minimum").with_importance(2),
            Column::decimal("there").with_importance(3),
            Column::decimal("on the way").with_importance(4),
        ]);
        for seller in sellers {
            table.section(seller.unwrap_or("no seller named"));
            for one in report.to_buy.iter().filter(|one| one.seller.as_deref() == seller) {
                let exactly = |digits: &str| format!("{} {}", short_of(digits), one.unit);
                table.row([
                    one.name.clone(),
                    packed(one),
                    one.cost.as_ref().map_or_else(
                        || "not known".to_owned(),
                        |cost| format!("{cost} {unit}").trim().to_owned(),
                    ),
                    exactly(&one.missing),
                    exactly(&one.planned),
                    exactly(&one.minimum),
                    exactly(&one.there),
                    exactly(&one.on_the_way),
                ]);
            }
        }
        let total = report.total.as_ref().map_or_else(
            || "not known".to_owned(),
            |total| format!("{total} {unit}").trim().to_owned(),
        );
        table.total(["in all".to_owned(), String::new(), total]);
        page.table(table);
    }
    page.notes(notes(report));
    page.small_print(standing::paragraph());
    page
}

fn notes(report: &OrderReport) -> Vec<Note> {
    let mut notes: Vec<Note> = report
        .unreckoned
        .iter()
        .map(|one| Note::warning(format!("{} is not in this: {}; {}", one.batch, one.why, one.help)))
        .collect();
    for one in &report.to_make {
        notes.push(Note::mind(format!("to be made first: {one}")));
    }
    for one in report.to_buy.iter().filter(|one| !one.instead.is_empty()) {
        notes.push(Note::plain(format!(
            "in place of {} the ledger allows: {}; a person decides, with a formula that says so",
            one.name,
            one.instead.join("; ")
        )));
    }
    notes.push(Note::plain(format!(
        "Planned batches: {}. What is past its best-before is not counted as there.",
        report.planned_batches
    )));
    notes
}

/// The report as rows for a spreadsheet.
pub fn rows(report: &OrderReport) -> String {
    let rows: Vec<Vec<String>> = report
        .to_buy
        .iter()
        .map(|one| {
            vec![
                one.seller.clone().unwrap_or_default(),
                one.name.clone(),
                one.buy.clone(),
                one.unit.to_owned(),
                packed(one),
                one.cost.clone().unwrap_or_default(),
                report.currency.clone().unwrap_or_default(),
                one.missing.clone(),
                one.planned.clone(),
                one.minimum.clone(),
                one.there.clone(),
                one.on_the_way.clone(),
            ]
        })
        .collect();
    spreadsheet::rows(
        &[
            "seller",
            "name",
            "buy",
            "unit",
            "packs",
            "cost",
            "currency",
            "missing",
            "planned",
            "minimum",
            "there",
            "on the way",
        ],
        &rows,
    )
}
