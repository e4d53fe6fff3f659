//! Turns a set into the pages of a site: which there are, what each depends on, and what stands on it.

mod answers;
mod exercises;
mod formula;
mod herbs;
mod lessons;
mod lists;
mod sheets;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

use super::standing;
use crate::compute::within::within;
use crate::exercise::{Class, Exercise, exercises};
use crate::model::Set;
use crate::render::site::{Link, SitePage, mark, slug};
use crate::syntax::tree::Kind;
use crate::workspace::Snapshot;

/// A page of the site.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Page {
    /// The first page, with the contents.
    Cover,
    /// A formula, by its place among those of the set.
    Formula(usize),
    /// The herbs and materials that are used.
    Herbs,
    /// The lessons.
    Lessons,
    /// The exercises.
    Exercises,
    /// Herbs, purposes and cautions by the alphabet.
    Index,
    /// The books.
    Sources,
    /// The answers, in the teacher's folder.
    Answers,
}

/// A formula of the set that has figures.
#[derive(Debug, Clone)]
pub struct Held {
    /// Its place in the ledger.
    pub formula: usize,
    /// Its name.
    pub name: String,
    /// The name of its page.
    pub slug: String,
}

/// A set that is published.
pub struct Site<'a> {
    snapshot: &'a Snapshot,
    set: &'a Set,
    seed: &'a str,
    program: &'a str,
    /// The formulas in the order of the set.
    pub formulas: Vec<Held>,
    /// The names of those that are left out, with the reason.
    pub left_out: Vec<(String, &'static str)>,
    base: u64,
    whole: u64,
    /// What is in the formulas, with their places in the set: several pages ask for it.
    used: OnceLock<Vec<(usize, Vec<usize>)>>,
}

/// The folder that the class gets.
pub const CLASS: &str = "class";
/// The folder that the teacher keeps.
pub const TEACHER: &str = "teacher";

impl<'a> Site<'a> {
    /// Looks at a set: which of its formulas can be published, and what every page depends on.
    ///
    /// `program` tells this program from any other that may have made the same pages otherwise.
    pub fn new(snapshot: &'a Snapshot, set: &'a Set, seed: &'a str, program: &'a str) -> Self {
        let mut formulas: Vec<Held> = Vec::new();
        let mut left_out = Vec::new();
        for (name, formula) in &set.holds {
            let Some(at) = *formula else {
                left_out.push((name.text.clone(), "it is no formula of this ledger"));
                continue;
            };
            if formulas.iter().any(|held| held.formula == at) {
                continue;
            }
            let Some(own) = snapshot.ledger.formulas.get(at) else {
                continue;
            };
            if own.person.is_some() {
                left_out.push((own.name.text.clone(), "it is made for one person"));
            } else if snapshot.figures.of(at).is_none() {
                left_out.push((own.name.text.clone(), "it holds an error, so it has no figures"));
            } else {
                formulas.push(Held {
                    formula: at,
                    name: own.name.text.clone(),
                    slug: slug(&own.name.text),
                });
            }
        }
        let texts: BTreeMap<&str, &str> = snapshot
            .sources
            .iter()
            .map(|(_, source)| (&*source.path, &*source.text))
            .collect();
        let mut whole = vec![program.to_owned(), seed.to_owned(), set.name.text.clone()];
        whole.extend(
            texts
                .iter()
                .flat_map(|(path, text)| [(*path).to_owned(), (*text).to_owned()]),
        );
        let mut site = Self {
            snapshot,
            set,
            seed,
            program,
            formulas,
            left_out,
            base: 0,
            used: OnceLock::new(),
            whole: mark(whole.join("\0").as_bytes()),
        };
        site.base = site.base();
        site
    }

    /// A mark of everything but the formulas: any page may depend on it.
    fn base(&self) -> u64 {
        let mut rest = String::from(self.program);
        rest.push_str(&self.set.name.text);
        for entry in self.snapshot.trees.iter().flat_map(|tree| &tree.entries) {
            if entry.kind != Kind::Formula {
                rest.push('\0');
                rest.push_str(self.snapshot.sources.text(entry.span));
            }
        }
        mark(rest.as_bytes())
    }

    /// The pages with their paths below the folder of the site, in reading order.
    pub fn pages(&self) -> Vec<(Page, String)> {
        let mut pages = vec![(Page::Cover, format!("{CLASS}/index.html"))];
        if !self.set.lessons.is_empty() {
            pages.push((Page::Lessons, format!("{CLASS}/lessons.html")));
        }
        pages.extend(
            self.formulas
                .iter()
                .enumerate()
                .map(|(at, held)| (Page::Formula(at), format!("{CLASS}/formulas/{}.html", held.slug))),
        );
        pages.push((Page::Herbs, format!("{CLASS}/herbs.html")));
        pages.push((Page::Exercises, format!("{CLASS}/exercises.html")));
        pages.push((Page::Index, format!("{CLASS}/by-word.html")));
        pages.push((Page::Sources, format!("{CLASS}/sources.html")));
        pages.push((Page::Answers, format!("{TEACHER}/answers.html")));
        pages
    }

    /// A mark of all that a page depends on. Of a formula: its own text and that of all it takes or
    /// adapts, its neighbours' names, and everything that is no formula.
    pub fn depends_on(&self, page: Page) -> u64 {
        let Page::Formula(at) = page else {
            return self.whole;
        };
        let mut texts = format!("{:016x}", self.base);
        let own = self.formulas.get(at).map_or(0, |held| held.formula);
        for need in self.snapshot.ledger.all_needs(own) {
            if let Some(formula) = self.snapshot.ledger.formulas.get(need) {
                texts.push('\0');
                texts.push_str(self.snapshot.sources.path(formula.entry));
                texts.push_str(self.snapshot.sources.text(formula.entry));
            }
        }
        for near in [at.checked_sub(1), at.checked_add(1)].into_iter().flatten() {
            texts.push('\0');
            texts.push_str(self.formulas.get(near).map_or("", |held| &held.name));
        }
        mark(texts.as_bytes())
    }

    /// What stands on a page.
    pub fn page(&self, page: Page) -> SitePage {
        match page {
            Page::Cover => lists::cover(self),
            Page::Formula(at) => formula::page(self, at),
            Page::Herbs => herbs::page(self),
            Page::Lessons => lessons::page(self),
            Page::Exercises => exercises::page(self),
            Page::Index => lists::index(self),
            Page::Sources => lists::sources(self),
            Page::Answers => answers::page(self),
        }
    }

    /// What the set is called.
    pub fn title(&self) -> &str {
        self.set.title.as_deref().unwrap_or(&self.set.name.text)
    }

    fn empty(&self, title: &str, up: &str) -> SitePage {
        SitePage {
            title: title.to_owned(),
            above: Some(self.title().to_owned()),
            lead: None,
            ways: vec![
                Link::new(self.title(), format!("{up}index.html")),
                Link::new("Herbs", format!("{up}herbs.html")),
                Link::new("Exercises", format!("{up}exercises.html")),
                Link::new("Index", format!("{up}by-word.html")),
                Link::new("Sources", format!("{up}sources.html")),
            ],
            before: None,
            after: None,
            parts: Vec::new(),
            foot: standing::paragraph(),
            style: format!("{up}style.css"),
            is_cover: false,
        }
    }

    /// The way to a formula's page from a page in the folder of the class.
    fn to(held: &Held) -> Link {
        Link::new(&held.name, format!("formulas/{}.html", held.slug))
    }

    /// The way to a herb from a page in the folder of the class.
    fn to_herb(&self, substance: usize) -> Link {
        let name = self.herb(substance);
        Link::new(name, format!("herbs.html#{}", slug(name)))
    }

    fn herb(&self, substance: usize) -> &str {
        let one = self.snapshot.ledger.substances.get(substance);
        one.map_or("", |one| one.name.as_str())
    }

    /// What is in a formula of the set, by its place in the ledger.
    fn within(&self, held: &Held) -> Vec<usize> {
        let Some(composition) = self.snapshot.figures.of(held.formula) else {
            return Vec::new();
        };
        let ledger = &self.snapshot.ledger;
        let mut all = within(ledger, &self.snapshot.figures, composition).substances();
        // Water is known to every ledger and has no entry to show.
        all.retain(|at| ledger.substances.get(*at).is_some_and(|one| one.span.is_some()));
        all.sort_by_key(|at| self.herb(*at).to_lowercase());
        all
    }

    /// Every herb and material that is in the set, by name, with the formulas that hold it.
    fn herbs(&self) -> Vec<(usize, Vec<&Held>)> {
        let used = self.used.get_or_init(|| {
            let mut used: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
            for (place, held) in self.formulas.iter().enumerate() {
                for substance in self.within(held) {
                    used.entry(substance).or_default().push(place);
                }
            }
            let mut all: Vec<(usize, Vec<usize>)> = used.into_iter().collect();
            all.sort_by_key(|(substance, _)| self.herb(*substance).to_lowercase());
            all
        });
        used.iter()
            .map(|(substance, places)| {
                let held = places.iter().filter_map(|place| self.formulas.get(*place));
                (*substance, held.collect())
            })
            .collect()
    }

    /// The books that lines of the herbs and formulas cite.
    fn books(&self) -> BTreeSet<usize> {
        let mut books = BTreeSet::new();
        for (at, _) in self.herbs() {
            let Some(herb) = self.snapshot.ledger.substances.get(at) else {
                continue;
            };
            books.extend(herb.cautions.iter().filter_map(|one| one.book));
            books.extend(herb.weights.iter().filter_map(|one| one.book));
            books.extend(herb.doses.iter().filter_map(|one| one.book));
            books.extend(herb.mosts.iter().filter_map(|one| one.book));
        }
        for held in &self.formulas {
            if let Some(formula) = self.snapshot.ledger.formulas.get(held.formula) {
                books.extend(&formula.books);
            }
        }
        books
    }

    /// The exercises of this seed.
    pub fn exercises(&self) -> Vec<Exercise> {
        let class = Class {
            ledger: &self.snapshot.ledger,
            faults: &self.snapshot.faults,
            figures: &self.snapshot.figures,
        };
        let formulas: Vec<usize> = self.formulas.iter().map(|held| held.formula).collect();
        exercises(&class, &formulas, self.seed)
    }
}
