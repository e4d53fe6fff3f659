//! Costs as data and a document. Money is rounded here, once, to the smallest coin.

use serde::Serialize;

use super::shelves::Exactly;
use super::standing;
use crate::book::cost::{By, Cost, CostLine, Portions};
use crate::book::{Amount, called, name_of};
use crate::model::Ledger;
use crate::quantity::money::written;
use crate::quantity::print::{digits, short};
use crate::quantity::{Currency, Decimal};
use crate::render::{Column, Document, Note, Table};

/// What one thing that goes in costs.
#[derive(Debug, Clone, Serialize)]
pub struct Item {
    /// Its name.
    pub name: String,
    /// How much of it.
    pub amount: Option<Exactly>,
    /// What that costs, all its digits; nothing where nothing says.
    pub cost: Option<String>,
    /// By what: a lot, a batch, or the price list.
    pub by: Option<String>,
}

/// What a portion of what is made costs.
#[derive(Debug, Clone, Serialize)]
pub struct PortionCost {
    /// `100 g`, `jar of 80 g`, `cup`, `dose`, `day, at the most`.
    pub portion: String,
    /// How much of what is made that is.
    pub amount: Exactly,
    /// What it costs, rounded to the smallest coin.
    pub cost: String,
    /// What is asked for it, rounded to the smallest coin.
    pub price: Option<String>,
}

/// What `cost --as json` prints; `grammar/cost.schema.json` describes it.
#[derive(Debug, Clone, Serialize)]
pub struct CostReport {
    /// The formula, or the batch.
    pub of: String,
    /// The ISO 4217 code, where the practice says its money.
    pub currency: Option<String>,
    /// How the size, and what comes out, came about.
    pub working: Vec<String>,
    /// What goes in.
    pub items: Vec<Item>,
    /// The sum, rounded to the smallest coin; nothing where something has no cost.
    pub total: Option<String>,
    /// What is asked for all of it.
    pub price: Option<String>,
    /// How much comes out.
    pub comes_out: Option<Exactly>,
    /// What its portions cost.
    pub portions: Vec<PortionCost>,
    /// What has no cost.
    pub unknown: Vec<String>,
    /// What stands on every sheet.
    pub standing: [&'static str; 3],
}

fn coins(amount: Decimal, currency: Option<&Currency>) -> String {
    let decimals = currency.map_or(2, Currency::decimals);
    crate::quantity::print::column(amount, decimals)
}

fn item(ledger: &Ledger, line: &CostLine) -> Item {
    Item {
        name: name_of(ledger, line.what).to_owned(),
        amount: line.amount.map(|amount| Exactly {
            amount: short(amount.value, 3),
            unit: amount.unit.word(),
        }),
        cost: line.cost.map(|(cost, _)| digits(cost)),
        by: line.cost.map(|(_, by)| match by {
            By::Shelf(holder) => called(ledger, holder),
            By::PriceList => "price list".to_owned(),
            By::NewestLot(at) => format!("newest lot, {}", called(ledger, crate::book::Holder::Lot(at))),
            By::Nothing => "nothing".to_owned(),
        }),
    }
}

/// Puts a report together.
pub fn report(
    ledger: &Ledger,
    of: String,
    cost: &Cost,
    price: Option<Decimal>,
    portions: &Portions,
    working: Vec<String>,
) -> CostReport {
    let currency = ledger.practice.money.as_ref();
    let exactly = |amount: Amount| Exactly {
        amount: short(amount.value, 3),
        unit: amount.unit.word(),
    };
    CostReport {
        of,
        currency: currency.map(|one| one.code().to_owned()),
        working,
        items: cost.lines.iter().map(|line| item(ledger, line)).collect(),
        total: cost.total.map(|total| coins(total, currency)),
        price: price.map(|price| coins(price, currency)),
        comes_out: portions.comes_out.map(exactly),
        portions: portions
            .per
            .iter()
            .map(|per| PortionCost {
                portion: per.portion.clone(),
                amount: exactly(per.amount),
                cost: coins(per.cost, currency),
                price: per.price.map(|price| coins(price, currency)),
            })
            .collect(),
        unknown: cost.unknown(ledger).into_iter().map(str::to_owned).collect(),
        standing: standing::CAUTIONS,
    }
}

/// The report as a document.
pub fn document(ledger: &Ledger, report: &CostReport, cost: &Cost) -> Document {
    let currency = ledger.practice.money.as_ref();
    let unit = currency.map_or("", Currency::code);
    let mut page = Document::new();
    page.title(format!("What {} costs", report.of));
    let mut facts: Vec<(&str, String)> = report.working.iter().map(|words| ("", words.clone())).collect();
    if let Some(out) = &report.comes_out {
        facts.push(("comes out", format!("{} {}", out.amount, out.unit)));
    }
    if !facts.is_empty() {
        page.facts(facts);
    }
    let mut table = Table::new([
        Column::left("what goes in"),
        Column::decimal("amount"),
        Column::decimal("cost"),
        Column::left("by").with_importance(1),
    ]);
    for (item, line) in report.items.iter().zip(&cost.lines) {
        table.row([
            item.name.clone(),
            item.amount.as_ref().map_or_else(
                || "not known".to_owned(),
                |one| format!("{} {}", one.amount, one.unit),
            ),
            line.cost
                .map_or_else(|| "not known".to_owned(), |(cost, _)| written(cost, currency)),
            item.by.clone().unwrap_or_default(),
        ]);
    }
    let money = |coins: &Option<String>| {
        coins.as_ref().map_or_else(
            || "not known".to_owned(),
            |coins| format!("{coins} {unit}").trim().to_owned(),
        )
    };
    table.total([
        "in all".to_owned(),
        String::new(),
        money(&report.total),
        String::new(),
    ]);
    page.table(table);
    if !report.portions.is_empty() {
        let mut table = Table::new([
            Column::left("a portion"),
            Column::decimal("holds"),
            Column::decimal("costs"),
            Column::decimal("price"),
        ]);
        for one in &report.portions {
            table.row([
                one.portion.clone(),
                format!("{} {}", one.amount.amount, one.amount.unit),
                format!("{} {unit}", one.cost).trim().to_owned(),
                one.price
                    .as_ref()
                    .map_or_else(String::new, |price| format!("{price} {unit}").trim().to_owned()),
            ]);
        }
        page.table(table);
    }
    let mut notes = Vec::new();
    if !report.unknown.is_empty() {
        notes.push(Note::warning(format!(
            "nothing says what these cost: {}; add a `price` to the herb or a `cost` to its lot",
            report.unknown.join(", ")
        )));
    }
    notes.push(Note::plain(
        "Sums are exact and rounded once, here; the rounded lines may differ from the total by a coin. Work, jars and rent are not in it.",
    ));
    page.notes(notes);
    page.small_print(standing::paragraph());
    page
}
