//! Turns the word after `--as` into a form of the output.

use std::sync::LazyLock;

use clap::ValueEnum;
use clap::builder::PossibleValue;

use crate::render::{self, FORMS};

/// The forms that output may have.
#[derive(Debug, Clone, Copy)]
pub enum Form {
    /// A document, in one of the forms that those have.
    Document(&'static render::Form),
    /// For programs.
    Json,
    /// Comma-separated values (stock, trace, order and expires only).
    Csv,
    /// A calendar, RFC 5545 (expires only).
    Calendar,
    /// SARIF 2.1.0, for services that show findings beside the lines (check only).
    Sarif,
}

/// All of them, in the order of the help.
static ALL: LazyLock<Vec<Form>> = LazyLock::new(|| {
    let documents = FORMS.iter().map(Form::Document);
    documents
        .chain([Form::Json, Form::Csv, Form::Calendar, Form::Sarif])
        .collect()
});

impl Form {
    /// The form of what is printed as a document, whatever the form of the data.
    pub fn of_documents(self) -> &'static render::Form {
        let [first, ..] = &FORMS;
        match self {
            Self::Document(form) => form,
            Self::Json | Self::Csv | Self::Calendar | Self::Sarif => first,
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::Document(form) => form.name,
            Self::Json => "json",
            Self::Csv => "csv",
            Self::Calendar => "ics",
            Self::Sarif => "sarif",
        }
    }

    fn purpose(self) -> &'static str {
        match self {
            Self::Document(form) => form.purpose,
            Self::Json => "For programs",
            Self::Csv => "Rows for a spreadsheet (stock, trace, order and expires only)",
            Self::Calendar => "A calendar, RFC 5545 (expires only)",
            Self::Sarif => "SARIF 2.1.0, for services that show findings beside the lines (check only)",
        }
    }
}

impl PartialEq for Form {
    fn eq(&self, other: &Self) -> bool {
        self.name() == other.name()
    }
}

impl Eq for Form {}

impl ValueEnum for Form {
    fn value_variants<'a>() -> &'a [Self] {
        &ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        Some(PossibleValue::new(self.name()).help(self.purpose()))
    }
}
