//! Turns the lessons of a set into a page, each with the blends and herbs that it speaks of.

use super::lists::capital;
use super::{Held, Site};
use crate::naming::{folded, singulars};
use crate::render::Block;
use crate::render::site::{Link, Part, SitePage, slug};
use crate::view::pictures;

/// The page of the lessons.
pub(super) fn page(site: &Site<'_>) -> SitePage {
    let mut page = site.empty("Lessons", "");
    let herbs = site.herbs();
    for (at, lesson) in site.set.lessons.iter().enumerate() {
        page.parts.push(Part::Section {
            heading: format!("{}. {}", at.saturating_add(1), capital(&lesson.heading)),
            name: slug(&lesson.heading),
            new_page: false,
        });
        if let Some(text) = &lesson.text {
            page.parts.push(Part::Block(Block::Paragraph(capital(text))));
        }
        let all = format!(
            "{} {}",
            lesson.heading,
            lesson.text.as_deref().unwrap_or_default()
        );
        let formulas: Vec<&Held> = site
            .formulas
            .iter()
            .filter(|held| speaks_of(&all, &held.name))
            .collect();
        if let [only] = formulas.as_slice() {
            page.parts.extend(picture(site, only));
        }
        page.parts.push(Part::Seen {
            words: "Look at".to_owned(),
            links: formulas.iter().map(|held| Site::to(held)).collect(),
        });
        let herbs: Vec<Link> = herbs
            .iter()
            .filter(|(herb, _)| speaks_of(&all, site.herb(*herb)))
            .map(|(herb, _)| site.to_herb(*herb))
            .collect();
        page.parts.push(Part::Seen {
            words: "Herbs".to_owned(),
            links: herbs,
        });
    }
    page.after = site.formulas.first().map(Site::to);
    page
}

/// What the one blend is made of that a lesson speaks of.
fn picture(site: &Site<'_>, held: &Held) -> Option<Part> {
    let composition = site.snapshot.figures.of(held.formula)?;
    if !(composition.is_all_grams() || composition.is_unsized()) {
        return None;
    }
    let shares: Vec<(String, _)> = composition
        .lines
        .iter()
        .filter_map(|line| Some((line.taken.name.text.clone(), line.share?)))
        .collect();
    pictures::composition(&shares).map(|one| Part::Block(Block::Picture(one)))
}

/// Whether a text holds a name, in the singular or the plural, as whole words.
fn speaks_of(text: &str, name: &str) -> bool {
    let plain = |text: &str| -> String {
        let words: String = folded(text)
            .chars()
            .map(|letter| if letter.is_alphanumeric() { letter } else { ' ' })
            .collect();
        words
            .split_whitespace()
            .map(|word| singulars(word).pop().unwrap_or_else(|| word.to_owned()))
            .collect::<Vec<_>>()
            .join(" ")
    };
    let name = plain(name);
    !name.is_empty() && format!(" {} ", plain(text)).contains(&format!(" {name} "))
}

#[cfg(test)]
mod tests {
    use super::speaks_of;

    #[test]
    fn names_are_found_as_whole_words() {
        assert!(speaks_of("weigh the After-supper  Tea, then", "after-supper tea"));
        assert!(speaks_of("the rose petals go in last", "rose petal"));
        assert!(!speaks_of("the primrose petal", "rose petal"));
        assert!(!speaks_of("tea", "after-supper tea"));
        assert!(!speaks_of("tea", ""));
    }
}
