//! Turns elements and raw text into markup that is whole and in which no text can do anything.
//!
//! Only words of the program's own reach the page as they are, which the types see to: names of
//! elements and attributes are `&'static str`. All other text is escaped here and nowhere else.

use crate::render::escape;

/// Elements that stand in a line of text; all others end their line, so that a page can be read as
/// text too.
const IN_LINE: [&str; 6] = ["span", "strong", "em", "a", "bdi", "code"];

/// Markup that is being written.
#[derive(Debug, Default)]
pub(super) struct Writer {
    out: String,
    open: Vec<&'static str>,
}

/// An attribute with its raw value.
pub(super) type Attribute<'a> = (&'static str, &'a str);

impl Writer {
    /// Markup of the program's own.
    pub(super) fn raw(&mut self, markup: &'static str) -> &mut Self {
        self.out.push_str(markup);
        self
    }

    /// Opens an element.
    pub(super) fn open(&mut self, name: &'static str, attributes: &[Attribute<'_>]) -> &mut Self {
        self.begin(name, attributes);
        self.out.push('>');
        self.open.push(name);
        self
    }

    /// Closes the element that was opened last.
    pub(super) fn close(&mut self) -> &mut Self {
        if let Some(name) = self.open.pop() {
            self.out.push_str("</");
            self.out.push_str(name);
            self.out.push('>');
            self.end_line(name);
        }
        self
    }

    /// An element without content.
    pub(super) fn leaf(&mut self, name: &'static str, attributes: &[Attribute<'_>]) -> &mut Self {
        self.begin(name, attributes);
        self.out.push_str("/>");
        self.end_line(name);
        self
    }

    /// An element with nothing but text in it.
    pub(super) fn element(
        &mut self,
        name: &'static str,
        attributes: &[Attribute<'_>],
        text: &str,
    ) -> &mut Self {
        self.open(name, attributes).text(text).close()
    }

    /// Text from anywhere.
    pub(super) fn text(&mut self, text: &str) -> &mut Self {
        // Titles and pictures hold no elements of HTML, so there marks keep the direction.
        let plain = self.open.iter().any(|name| matches!(*name, "svg" | "title"));
        let isolate = if plain { MARKS } else { ELEMENT };
        self.out.push_str(&escape::markup(text, isolate));
        self
    }

    /// Closes what is open, and gives the markup.
    pub(super) fn finish(mut self) -> String {
        while !self.open.is_empty() {
            self.close();
        }
        self.out
    }

    fn begin(&mut self, name: &'static str, attributes: &[Attribute<'_>]) {
        self.out.push('<');
        self.out.push_str(name);
        for (attribute, value) in attributes {
            self.out.push(' ');
            self.out.push_str(attribute);
            self.out.push_str("=\"");
            self.out.push_str(&escape::markup(value, MARKS));
            self.out.push('"');
        }
    }

    fn end_line(&mut self, name: &str) {
        if !IN_LINE.contains(&name) {
            self.out.push('\n');
        }
    }
}

/// What keeps the direction of a stretch of text to itself: an element.
const ELEMENT: [&str; 2] = ["<bdi>", "</bdi>"];
/// The same as characters (first strong isolate, pop directional isolate), where no element can be.
const MARKS: [&str; 2] = ["\u{2068}", "\u{2069}"];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_and_values_are_escaped() {
        let mut page = Writer::default();
        page.open("p", &[("title", "a \"b\" <c> & 'd'")])
            .text("<script>alert(1)</script> & \"q\"");
        assert_eq!(
            page.finish(),
            "<p title=\"a &quot;b&quot; &lt;c&gt; &amp; &#39;d&#39;\">\
             &lt;script&gt;alert(1)&lt;/script&gt; &amp; &quot;q&quot;</p>\n"
        );
    }

    #[test]
    fn what_was_opened_is_closed() {
        let mut page = Writer::default();
        page.open("ul", &[]).open("li", &[]).element("strong", &[], "x");
        page.leaf("hr", &[]);
        assert_eq!(page.finish(), "<ul><li><strong>x</strong><hr/>\n</li>\n</ul>\n");
    }

    #[test]
    fn right_to_left_names_are_kept_in_their_place() {
        let mut page = Writer::default();
        page.open("p", &[("data-label", "נענע 2")])
            .text("take נענע טרי 12 g");
        page.close();
        page.element("title", &[], "נענע 3");
        assert_eq!(
            page.finish(),
            "<p data-label=\"\u{2068}נענע\u{2069} 2\">take <bdi>נענע טרי</bdi> 12 g</p>\n\
             <title>\u{2068}נענע\u{2069} 3</title>\n"
        );
    }
}
