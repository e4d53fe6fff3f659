//! Compares names as people do: case, blanks, hyphens and plurals aside.

use unicode_normalization::UnicodeNormalization;

/// The form in which two spellings of one name agree: lower case, one blank for any run of
/// blanks and hyphens, a straight apostrophe, composed letters.
pub fn folded(name: &str) -> String {
    let mut out = String::with_capacity(name.len());
    if name.is_ascii() {
        fold_ascii(name, &mut out);
        return out;
    }
    let mut gap = false;
    let mut push = |letter: char| {
        if letter.is_whitespace() || matches!(letter, '-' | '‐' | '‑') {
            gap = true;
            return;
        }
        if gap && !out.is_empty() {
            out.push(' ');
        }
        gap = false;
        match letter {
            '’' | 'ʼ' => out.push('\''),
            _ => out.extend(letter.to_lowercase()),
        }
    };
    name.nfc().for_each(&mut push);
    out
}

/// Nearly all names are of plain letters, and names are folded again and again.
fn fold_ascii(name: &str, out: &mut String) {
    let mut gap = false;
    for byte in name.bytes() {
        // A vertical tab is a blank, too, though not by the standard's word for bytes.
        if byte.is_ascii_whitespace() || matches!(byte, b'\x0b' | b'-') {
            gap = !out.is_empty();
            continue;
        }
        if std::mem::take(&mut gap) {
            out.push(' ');
        }
        out.push(char::from(byte.to_ascii_lowercase()));
    }
}

/// The folded name itself, and what its last word may be the plural of.
///
/// The rules are those of English spelling (berries, leaves, bunches, petals); words of other
/// languages are left as they are unless they happen to end like one.
pub fn singulars(folded: &str) -> Vec<String> {
    let mut forms = vec![folded.to_owned()];
    let mut offer = |stem: &str, ending: &str| {
        if stem.chars().next_back().is_some_and(char::is_alphabetic) {
            forms.push(format!("{stem}{ending}"));
        }
    };
    if let Some(stem) = folded.strip_suffix("ies") {
        offer(stem, "y");
    }
    if let Some(stem) = folded.strip_suffix("ves") {
        offer(stem, "f");
        offer(stem, "fe");
    }
    if let Some(stem) = folded.strip_suffix("es")
        && ["s", "x", "z", "ch", "sh", "o"]
            .iter()
            .any(|end| stem.ends_with(end))
    {
        offer(stem, "");
    }
    if let Some(stem) = folded.strip_suffix('s')
        && !stem.ends_with(['s', 'u', 'i'])
    {
        offer(stem, "");
    }
    forms
}

/// Whether two folded names differ at most in singular and plural of the last word.
pub fn same_but_for_number(a: &str, b: &str) -> bool {
    if a == b {
        return true;
    }
    // A plural ending is at most three letters long, so what stands before it must agree.
    let common = a.len().min(b.len()).saturating_sub("ies".len());
    if a.as_bytes().get(..common) != b.as_bytes().get(..common) || a.len().abs_diff(b.len()) > "ies".len() {
        return false;
    }
    let of_a = singulars(a);
    singulars(b).iter().any(|form| of_a.contains(form))
}

/// The nearest of some names, if it is near enough to be a slip of the pen.
pub fn nearest<'a>(wanted: &str, names: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let wanted = folded(wanted);
    // Long texts are no slips, and the distance costs the product of the lengths.
    if wanted.len() > 100 {
        return None;
    }
    let letters = wanted.chars().count();
    let allowed = if letters <= 3 { 1 } else { (letters / 3).min(3) };
    names
        .filter(|name| name.len() <= 100)
        .map(|name| {
            let other = folded(name);
            let same_start = other.starts_with(&wanted) || wanted.starts_with(&other);
            let distance = strsim::damerau_levenshtein(&wanted, &other);
            (distance, same_start, name)
        })
        .filter(|(distance, same_start, _)| {
            *distance <= allowed || (*same_start && letters >= 4 && *distance <= 12)
        })
        .min_by_key(|(distance, same_start, name)| (*distance, !*same_start, name.len(), *name))
        .map(|(_, _, name)| name)
}

#[cfg(test)]
mod tests {
    use super::{folded, nearest, same_but_for_number};

    #[test]
    fn spellings_of_one_name() {
        assert_eq!(folded("Lady’s-Mantle  Herb"), "lady's mantle herb");
        assert_eq!(folded("Кипрей"), "кипрей");
        assert_eq!(folded("re\u{301}glisse"), "réglisse");
    }

    #[test]
    fn singular_and_plural_of_the_last_word() {
        for (many, one) in [
            ("rose petals", "rose petal"),
            ("plantain leaves", "plantain leaf"),
            ("juniper berries", "juniper berry"),
            ("peaches", "peach"),
            ("olives", "olive"),
            ("cloves", "clove"),
        ] {
            assert!(same_but_for_number(many, one), "{many}");
        }
        assert!(!same_but_for_number("anise", "anis"));
        assert!(!same_but_for_number("roses petal", "rose petal"));
    }

    #[test]
    fn a_slip_of_the_pen_is_offered() {
        let names = ["peppermint leaf", "fennel fruit", "rose petal"];
        let near = |wanted| nearest(wanted, names.into_iter());
        assert_eq!(near("pepermint leaf"), Some("peppermint leaf"));
        assert_eq!(near("fenel fruit"), Some("fennel fruit"));
        assert_eq!(near("peppermint"), Some("peppermint leaf"));
        assert_eq!(near("sugar"), None);
    }
}
