//! Pages that belong together: a site that works from a folder, without a server and without scripts.
//!
//! A [`SitePage`] holds blocks of documents and what only a site has: ways to its other pages, and
//! places on a page to go to. Text from files goes in raw, as everywhere; `html/site.rs` makes it
//! safe. Nothing here knows a herb.

use super::Block;

/// One page of a site.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SitePage {
    /// What it is about.
    pub title: String,
    /// What stands above the title: what the page belongs to.
    pub above: Option<String>,
    /// What stands below the title, in a sentence.
    pub lead: Option<String>,
    /// The way back: from the first page of the site to the one above this.
    pub ways: Vec<Link>,
    /// The page before and the page after, in reading order.
    pub before: Option<Link>,
    /// See [`SitePage::before`].
    pub after: Option<Link>,
    /// The parts from top to bottom.
    pub parts: Vec<Part>,
    /// What must be there and need not be read first.
    pub foot: String,
    /// Where the style of the site lies, as seen from this page.
    pub style: String,
    /// Whether it is the first page of the site.
    pub is_cover: bool,
}

/// A way to another page, or to a place on one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    /// What it is called.
    pub text: String,
    /// Where it leads, as seen from the page that it stands on.
    pub to: String,
}

/// One line of a list of ways.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// What the line is about: a way, or a word.
    pub head: Link,
    /// What is said about it.
    pub words: Option<String>,
    /// Where else it leads.
    pub more: Vec<Link>,
}

/// A part of a page of a site.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Part {
    /// A heading, with a name by which others lead to it.
    Section {
        /// The heading.
        heading: String,
        /// Its name: letters, digits and hyphens.
        name: String,
        /// Whether paper begins a new page with it.
        new_page: bool,
    },
    /// A heading below a heading.
    Under {
        /// The heading.
        heading: String,
        /// Its name: letters, digits and hyphens.
        name: String,
        /// What stands beside it in another style, such as a botanical name.
        beside: Option<String>,
    },
    /// A block of a document. Titles and headings of documents are no parts: use the above.
    Block(Block),
    /// Ways to other pages, one below the other.
    Contents(Vec<Entry>),
    /// Words followed by ways, in one line.
    Seen {
        /// What the ways are.
        words: String,
        /// The ways.
        links: Vec<Link>,
    },
    /// Groups of parts that stand side by side where there is room.
    Beside(Vec<Vec<Part>>),
    /// Parts that stay on one sheet of paper, if they have room there.
    Together(Vec<Part>),
    /// Empty lines to write on, on paper.
    Blanks(usize),
}

impl Link {
    /// A way.
    pub fn new(text: impl Into<String>, to: impl Into<String>) -> Self {
        Self {
            text: text.into(),
            to: to.into(),
        }
    }
}

impl Entry {
    /// A way and what is said about it.
    pub fn new(head: Link, words: Option<String>) -> Self {
        Self {
            head,
            words,
            more: Vec::new(),
        }
    }
}

/// A name for files and places on a page: small letters, digits and hyphens of what is given, and,
/// where that says less than what is given or is no name of a file everywhere, a mark that tells it
/// from all others.
pub fn slug(text: &str) -> String {
    const LONGEST: usize = 60;
    /// Names that a file can't have on some systems.
    const TAKEN: [&str; 6] = ["con", "prn", "aux", "nul", "com1", "lpt1"];
    let mut out = String::new();
    let mut lost = false;
    for letter in text.chars() {
        if letter.is_ascii_alphanumeric() && out.len() < LONGEST {
            out.push(letter.to_ascii_lowercase());
        } else if letter == ' ' || letter == '-' {
            if !out.ends_with('-') && !out.is_empty() && out.len() < LONGEST {
                out.push('-');
            }
        } else {
            lost = true;
        }
    }
    let plain = out.trim_end_matches('-').to_owned();
    if lost || plain.is_empty() || TAKEN.contains(&plain.as_str()) {
        let mark = mark(text.to_lowercase().as_bytes());
        let short = format!("{mark:016x}");
        let short = short.get(..6).unwrap_or(&short);
        return if plain.is_empty() {
            format!("page-{short}")
        } else {
            format!("{plain}-{short}")
        };
    }
    plain
}

/// A number that tells texts apart: the hash FNV-1a of 64 bits, the same on every machine.
pub fn mark(bytes: &[u8]) -> u64 {
    const START: u64 = 0xcbf2_9ce4_8422_2325;
    const STEP: u64 = 0x0000_0100_0000_01b3;
    bytes
        .iter()
        .fold(START, |mark, byte| (mark ^ u64::from(*byte)).wrapping_mul(STEP))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_files_are_plain_and_differ() {
        assert_eq!(slug("after-supper tea"), "after-supper-tea");
        assert_eq!(slug("Two  Herb - tea"), "two-herb-tea");
        let strange = [
            "чай",
            "茶",
            "con",
            "lady's mantle",
            "ladys mantle?",
            "a/b",
            "../x",
            "<b>",
            "",
        ];
        let mut names: Vec<String> = strange.iter().map(|name| slug(name)).collect();
        for name in &names {
            assert!(
                name.chars()
                    .all(|one| one.is_ascii_lowercase() || one.is_ascii_digit() || one == '-'),
                "{name}"
            );
        }
        names.sort();
        names.dedup();
        assert_eq!(names.len(), strange.len());
        assert!(slug(&"x".repeat(500)).len() < 80);
    }

    /// The test vectors of the authors of the hash (draft-eastlake-fnv, from memory).
    #[test]
    fn marks_are_those_of_the_published_hash() {
        assert_eq!(mark(b""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(mark(b"a"), 0xaf63_dc4c_8601_ec8c);
        assert_eq!(mark(b"foobar"), 0x8594_4171_f739_67e8);
    }
}
