//! `export`: formulas for spreadsheets and for other programs.

use clap::Args;

use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome, formula};
use crate::exchange::{FORMULA_COLUMNS, formulas, written};
use crate::view::export;

/// Prints formulas as rows for a spreadsheet, or as data for other programs
///
/// As it is, one row an ingredient (CSV, RFC 4180), in which no cell is taken for a formula by a
/// spreadsheet. With `--as json`, data with a published schema. Units are codes of UCUM. A formula
/// that holds an error has no figures and is left out and named.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples, in the demo ledger:\n\n  scruple export --in examples/low-barn\n  scruple export \"after-supper tea\" --as json --in examples/low-barn"
)]
pub struct Export {
    /// The formulas' names; without any, all of them
    #[arg(value_name = "FORMULA")]
    formulas: Vec<String>,
}

impl Export {
    pub fn run(&self, arguments: &Arguments, _: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_sarif()?;
        let snapshot = arguments.ledger()?;
        let places: Vec<usize> = if self.formulas.is_empty() {
            (0..snapshot.ledger.formulas.len()).collect()
        } else {
            let named = self.formulas.iter().map(|name| formula(&snapshot, name));
            named.collect::<Result<_, _>>()?
        };
        let data = export::export(&snapshot, &places);
        match arguments.form {
            Form::Json => terminal::data(&data)?,
            form if form == Form::Document(&crate::render::text::FORM) => {
                let rows = formulas(&snapshot, &places);
                let text = written(&FORMULA_COLUMNS, &rows).map_err(|why| {
                    Failure::new(format!("the rows can't be written: {why}"), "report this")
                })?;
                terminal::safe_text(&text)?;
            }
            _ => {
                return Err(Failure::new(
                    "formulas are exported as rows or as JSON",
                    "leave `--as` away for CSV, or use `--as json`",
                ));
            }
        }
        for name in &data.withheld {
            terminal::remark(&format!(
                "{name} is left out: it holds an error, so it has no figures"
            ));
        }
        Ok(if data.withheld.is_empty() {
            Outcome::Clean
        } else {
            Outcome::Findings
        })
    }
}
