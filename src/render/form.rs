//! The forms that a document is printed in, one line each.

use super::{Document, html, markdown, text};

/// A form that documents are printed in.
#[derive(Debug, Clone, Copy)]
pub struct Form {
    /// Its name, as people type it.
    pub name: &'static str,
    /// Whom it is for, in a few words.
    pub purpose: &'static str,
    /// Prints a whole document. Text in the document is raw; the form makes it safe for its medium.
    pub print: fn(&Document, &Page) -> String,
}

/// All forms, the first of which is used where nothing else is asked for.
pub static FORMS: [Form; 3] = [text::FORM, html::FORM, markdown::FORM];

/// What a document is printed on. A form that finds out for itself, as a web page does, ignores it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Page {
    /// Its width in display columns; less than 10 is taken as 10.
    pub width: usize,
    /// Whether emphasis may be printed. The words are the same without it.
    pub colour: bool,
    /// Whether rules and dashes may be drawn with characters outside ASCII.
    pub unicode: bool,
}

impl Default for Page {
    /// Eighty columns, without colour.
    fn default() -> Self {
        Self {
            width: 80,
            colour: false,
            unicode: true,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_differ() {
        for (at, one) in FORMS.iter().enumerate() {
            for other in &FORMS[..at] {
                assert_ne!(one.name, other.name);
            }
        }
        assert_eq!(FORMS[0].name, "text");
    }

    #[test]
    fn every_form_prints_the_words_of_a_document() {
        let mut document = Document::new();
        document.title("garden tea").paragraph("turn over five times");
        for form in &FORMS {
            let printed = (form.print)(&document, &Page::default());
            assert!(printed.contains("garden tea"), "{}", form.name);
            assert!(printed.contains("turn over five times"), "{}", form.name);
        }
    }
}
