//! Turns a page of a site into markup that shares one style with all its pages.

use super::{Page, opening};
use crate::render::site::{Entry, Link, Part, SitePage};

/// The style that all pages of a site share: that of every page, and what only a site has.
pub const STYLE: &str = concat!(include_str!("page.css"), include_str!("site.css"));

/// A page of a site loads its style and nothing else.
const POLICY: &str =
    "default-src 'none'; style-src 'self' file: 'unsafe-inline'; form-action 'none'; base-uri 'none'";

/// Prints a page of a site.
pub fn print(site: &SitePage) -> String {
    let mut page = Page::default();
    let title = match &site.above {
        Some(above) => format!("{} · {above}", site.title),
        None => site.title.clone(),
    };
    opening(&mut page.writer, &title, POLICY);
    page.writer
        .leaf("link", &[("rel", "stylesheet"), ("href", &site.style)])
        .close();
    let kind = if site.is_cover { "cover" } else { "inside" };
    page.writer.open("body", &[("class", kind)]);
    page.writer
        .open("a", &[("class", "skip"), ("href", "#content")])
        .raw("Skip to the content")
        .close();
    page.ways(&site.ways);
    page.writer.open("main", &[("id", "content")]);
    page.writer.open("header", &[]);
    if let Some(above) = &site.above {
        page.writer.element("p", &[("class", "above")], above);
    }
    page.writer.element("h1", &[], &site.title);
    page.above.clone_from(&site.title);
    if let Some(lead) = &site.lead {
        page.writer.element("p", &[("class", "lead")], lead);
    }
    page.writer.close();
    for part in &site.parts {
        page.part(part);
    }
    page.end_section();
    page.writer.close();
    page.turn(site.before.as_ref(), site.after.as_ref());
    page.writer
        .open("footer", &[])
        .element("p", &[("class", "small")], &site.foot)
        .close();
    page.writer.finish()
}

impl Page {
    fn link(&mut self, link: &Link) {
        if link.to.is_empty() {
            self.writer.text(&link.text);
        } else {
            self.writer.element("a", &[("href", &link.to)], &link.text);
        }
    }

    fn ways(&mut self, ways: &[Link]) {
        if ways.is_empty() {
            return;
        }
        self.writer
            .open("nav", &[("class", "ways"), ("aria-label", "Where you are")])
            .open("ol", &[("role", "list")]);
        for way in ways {
            self.writer.open("li", &[]);
            self.link(way);
            self.writer.close();
        }
        self.writer.close().close();
    }

    fn turn(&mut self, before: Option<&Link>, after: Option<&Link>) {
        if before.is_none() && after.is_none() {
            return;
        }
        self.writer
            .open("nav", &[("class", "turn"), ("aria-label", "Turn the page")]);
        for (side, words, link) in [("before", "before: ", before), ("after", "next: ", after)] {
            if let Some(link) = link {
                self.writer
                    .open("p", &[("class", side)])
                    .open("span", &[])
                    .raw(words)
                    .close();
                self.link(link);
                self.writer.close();
            }
        }
        self.writer.close();
    }

    fn part(&mut self, part: &Part) {
        match part {
            Part::Section {
                heading,
                name,
                new_page,
            } => {
                self.end_section();
                self.above.clone_from(heading);
                let class = if *new_page { "new-page" } else { "part" };
                self.writer
                    .open("section", &[("aria-labelledby", name), ("class", class)])
                    .element("h2", &[("id", name)], heading);
                self.in_section = true;
            }
            Part::Under {
                heading,
                name,
                beside,
            } => {
                self.above.clone_from(heading);
                self.writer.open("h3", &[("id", name)]).text(heading);
                if let Some(beside) = beside {
                    self.writer.raw(" ").element("em", &[], beside);
                }
                self.writer.close();
            }
            Part::Block(block) => self.block(block),
            Part::Contents(entries) => self.contents(entries),
            Part::Seen { words, links } => {
                if links.is_empty() {
                    return;
                }
                self.writer.open("p", &[("class", "seen")]).text(words).raw(" ");
                self.links(links);
                self.writer.close();
            }
            Part::Beside(groups) => {
                self.writer.open("div", &[("class", "beside")]);
                for group in groups {
                    self.writer.open("div", &[]);
                    for part in group {
                        self.part(part);
                    }
                    self.writer.close();
                }
                self.writer.close();
            }
            Part::Together(parts) => {
                self.writer.open("div", &[("class", "together")]);
                for part in parts {
                    self.part(part);
                }
                self.writer.close();
            }
            Part::Blanks(count) => {
                self.writer
                    .open("div", &[("class", "blanks"), ("aria-hidden", "true")]);
                for _ in 0..*count {
                    self.writer.open("div", &[]).close();
                }
                self.writer.close();
            }
        }
    }

    fn links(&mut self, links: &[Link]) {
        for (at, link) in links.iter().enumerate() {
            if at > 0 {
                self.writer.raw(", ");
            }
            self.link(link);
        }
    }

    fn contents(&mut self, entries: &[Entry]) {
        if entries.is_empty() {
            return;
        }
        self.writer.open("ul", &[("class", "contents"), ("role", "list")]);
        for entry in entries {
            self.writer.open("li", &[]).open("span", &[("class", "head")]);
            self.link(&entry.head);
            self.writer.close();
            if let Some(words) = &entry.words {
                self.writer.raw(" ").element("span", &[("class", "words")], words);
            }
            if !entry.more.is_empty() {
                self.writer.raw(" ").open("span", &[("class", "words")]);
                self.links(&entry.more);
                self.writer.close();
            }
            self.writer.close();
        }
        self.writer.close();
    }
}
