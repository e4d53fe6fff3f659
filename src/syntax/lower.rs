//! Turns the nodes of a line into the pieces of the tree, and slips in them into findings.

use super::grammar::{Node, Rule};
use super::tree::{Amount, AmountKind, Name, Numbers, Quantity, Term};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::quantity::number::{self, MOST_DECIMALS, MOST_WHOLE_DIGITS};
use crate::quantity::{Number, Slip};
use crate::source::{FileId, Span};

/// What one slip gives instead of a piece of the tree.
pub type Lowered<T> = Result<T, Diagnostic>;

/// Where the text of a line lies in its file.
#[derive(Debug, Clone, Copy)]
pub struct Lower {
    /// The file.
    pub file: FileId,
    base: usize,
}

impl Lower {
    /// For a text that begins at the byte `base` of a file.
    pub fn new(file: FileId, base: usize) -> Self {
        Self { file, base }
    }

    /// The same file, further on.
    pub fn further(&self, bytes: usize) -> Self {
        Self::new(self.file, self.base.saturating_add(bytes))
    }

    /// Bytes of the line's text as a place in the file.
    pub fn range(&self, start: usize, end: usize) -> Span {
        Span::new(
            self.file,
            self.base.saturating_add(start),
            self.base.saturating_add(end),
        )
    }

    /// The part of this line's text that a span covers.
    pub fn written<'a>(&self, text: &'a str, span: Span) -> &'a str {
        let start = span.first_byte().saturating_sub(self.base);
        let end = span.end_byte().saturating_sub(self.base);
        text.get(start..end).unwrap_or_default()
    }

    /// Where a node stands.
    pub fn span(&self, node: &Node<'_>) -> Span {
        let span = node.as_span();
        self.range(span.start(), span.end())
    }

    /// A name or free words; quotes are taken off and blanks folded.
    pub fn name(&self, node: &Node<'_>) -> Name {
        let text = node.as_str();
        let bare = text
            .strip_prefix('"')
            .and_then(|rest| rest.strip_suffix('"'))
            .unwrap_or(text);
        Name {
            text: fold_blanks(bare),
            span: self.span(node),
        }
    }

    /// A number.
    pub fn number(&self, node: &Node<'_>) -> Lowered<Number> {
        let text = node.as_str();
        number::read(text).map_err(|slip| refuse_number(&slip, text, self.span(node)))
    }

    /// One number or a range.
    pub fn numbers(&self, node: &Node<'_>) -> Lowered<Numbers> {
        let span = self.span(node);
        let mut found = node.clone().into_inner();
        let low = self.number(&found.next().ok_or_else(|| missing(span))?)?;
        let high = found.next().map(|high| self.number(&high)).transpose()?;
        if let Some(high) = high
            && high.value <= low.value
        {
            return Err(not_rising(span));
        }
        Ok(Numbers { low, high, span })
    }

    fn term(&self, node: &Node<'_>) -> Lowered<Term> {
        let span = self.span(node);
        let mut parts = node.clone().into_inner();
        let number = parts.next().ok_or_else(|| missing(span))?;
        Ok(Term {
            number: self.number(&number)?,
            unit: parts.next().map(|unit| self.name(&unit)),
            span,
        })
    }

    fn terms(&self, node: &Node<'_>) -> Lowered<Vec<Term>> {
        node.clone().into_inner().map(|term| self.term(&term)).collect()
    }

    /// An amount or a range of amounts; also `a pinch`.
    pub fn quantity(&self, node: &Node<'_>) -> Lowered<Quantity> {
        let span = self.span(node);
        if node.as_rule() == Rule::article_quantity {
            let unit = node
                .clone()
                .into_inner()
                .find(|part| part.as_rule() == Rule::unit)
                .ok_or_else(|| missing(span))?;
            let one = Number {
                value: crate::quantity::Decimal::ONE,
                decimals: None,
            };
            return Ok(Quantity {
                low: vec![Term {
                    number: one,
                    unit: Some(self.name(&unit)),
                    span,
                }],
                high: None,
                span,
            });
        }
        let mut sides = node.clone().into_inner();
        let low = self.terms(&sides.next().ok_or_else(|| missing(span))?)?;
        let high = sides.next().map(|side| self.terms(&side)).transpose()?;
        if let (Some([low]), Some([high])) = (low.get(..), high.as_deref())
            && (low.unit.is_none()
                || low.unit.as_ref().map(|u| &u.text) == high.unit.as_ref().map(|u| &u.text))
            && high.number.value <= low.number.value
        {
            return Err(not_rising(span));
        }
        // In a sum every number has its measure; `1 000 g` is no sum.
        for side in [Some(&low), high.as_ref()].into_iter().flatten() {
            if side.len() > 1
                && let Some(bare) = side.iter().find(|term| term.unit.is_none())
            {
                return Err(Diagnostic::error(
                    code::NUMBER_NOT_UNDERSTOOD,
                    span,
                    "two numbers stand side by side, and the first has no measure",
                )
                .related(bare.span, "of what?")
                .help("write a number without gaps, such as `1000 g`, or give each its measure, such as `2 lb 10 oz`"));
            }
        }
        Ok(Quantity { low, high, span })
    }

    /// A term of a list, as after `weighed`.
    pub fn list_term(&self, node: &Node<'_>) -> Lowered<Term> {
        self.term(node)
    }

    /// The amount of an ingredient.
    pub fn amount(&self, node: &Node<'_>) -> Lowered<Amount> {
        let span = self.span(node);
        let mut each = false;
        let mut kind = None;
        for part in node.clone().into_inner() {
            match part.as_rule() {
                Rule::each => each = true,
                Rule::equal => kind = Some(AmountKind::EqualParts),
                Rule::enough_by_eye => kind = Some(AmountKind::Enough(None)),
                Rule::enough_to => kind = Some(AmountKind::EnoughTo(self.inner_quantity(&part)?)),
                Rule::estimate => kind = Some(AmountKind::About(self.inner_quantity(&part)?)),
                Rule::shares => kind = Some(AmountKind::Shares(self.ratio(&part)?)),
                _ => kind = Some(AmountKind::Quantity(self.quantity(&part)?)),
            }
        }
        Ok(Amount {
            each,
            kind: kind.ok_or_else(|| missing(span))?,
            or_enough: false,
            span,
        })
    }

    /// The first quantity inside a node.
    pub fn inner_quantity(&self, node: &Node<'_>) -> Lowered<Quantity> {
        let span = self.span(node);
        node.clone()
            .into_inner()
            .find(|part| matches!(part.as_rule(), Rule::quantity | Rule::article_quantity))
            .ok_or_else(|| missing(span))
            .and_then(|part| self.quantity(&part))
    }

    /// The numbers of the ratio inside a node.
    pub fn ratio(&self, node: &Node<'_>) -> Lowered<Vec<Number>> {
        node.clone()
            .into_inner()
            .flatten()
            .filter(|part| part.as_rule() == Rule::number)
            .map(|part| self.number(&part))
            .collect()
    }
}

/// Blanks at the ends cut off, and every run of blanks made one.
pub fn fold_blanks(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for word in text
        .split([' ', '\t', '\n', '\r', '\u{a0}'])
        .filter(|word| !word.is_empty())
    {
        if !out.is_empty() {
            out.push(' ');
        }
        out.push_str(word);
    }
    out
}

/// The grammar lets nothing through that lacks a piece; should it ever, this is said.
pub fn missing(span: Span) -> Diagnostic {
    Diagnostic::error(code::LINE_NOT_UNDERSTOOD, span, "something is missing here")
}

/// Fills a place of the tree that a line may fill but once: of two, nobody knows which is meant.
pub fn once<T>(place: &mut Option<T>, found: T, span: Span, what: &str) -> Lowered<()> {
    if place.is_some() {
        return Err(Diagnostic::error(
            code::LINE_NOT_UNDERSTOOD,
            span,
            format!("this line says {what} a second time, and only one can count"),
        )
        .help("keep the one that is meant; what is done after it, or taken besides, has a line of its own"));
    }
    *place = Some(found);
    Ok(())
}

fn not_rising(span: Span) -> Diagnostic {
    Diagnostic::error(code::RANGE_NOT_RISING, span, "this range does not rise")
        .help("write the smaller one first: `8 to 10 g`, `1.5 to 2.5 level spoons`")
}

/// A number that is refused, with what to write instead.
pub fn refuse_number(slip: &Slip, text: &str, span: Span) -> Diagnostic {
    match slip {
        Slip::Comma => refuse_comma(text, span),
        Slip::NakedPoint => {
            let mended = format!("0{text}");
            Diagnostic::error(
                code::NAKED_DECIMAL_POINT,
                span,
                format!("`{text}` begins with its decimal point"),
            )
            .help(format!(
                "write `{mended}`: a point is overlooked, and then this is ten or a hundred times as much"
            ))
            .fix(format!("write `{mended}`"), span, mended)
        }
        Slip::Hyphen if text.matches(number::is_dash).count() == 1 => {
            let mended = fold_blanks(&text.replace(number::is_dash, " "));
            Diagnostic::error(
                code::HYPHENATED_FRACTION,
                span,
                format!("`{text}` may be read as a number and a half, or as a range"),
            )
            .help(format!("write `{mended}`, or a range with `to`"))
            .fix(format!("write `{mended}`"), span, mended)
        }
        Slip::TooLong => Diagnostic::error(
            code::NUMBER_TOO_LONG,
            span,
            "this number has more digits than any scales show",
        )
        .help(format!(
            "a number has at most {MOST_WHOLE_DIGITS} digits before its point and {MOST_DECIMALS} after it"
        )),
        Slip::SlashedDate => Diagnostic::error(
            code::SLASHED_DATE,
            span,
            format!("`{text}` may be day, month, year or month, day, year"),
        )
        .help("write a date as year-month-day: `2026-11-03`"),
        Slip::Other | Slip::Hyphen => Diagnostic::error(
            code::NUMBER_NOT_UNDERSTOOD,
            span,
            format!("`{text}` is no number"),
        )
        .help("write `20`, `0.5`, `1/2`, `1 1/2` or `1½`"),
    }
}

fn refuse_comma(text: &str, span: Span) -> Diagnostic {
    let decimal = text.replace(',', ".");
    let whole = text.replace(',', "");
    let thousands = text
        .split(',')
        .skip(1)
        .all(|group| group.len() == 3 && group.bytes().all(|byte| byte.is_ascii_digit()));
    let finding = Diagnostic::error(
        code::COMMA_IN_A_NUMBER,
        span,
        format!(
            "`{text}` holds a comma, which some read as a decimal sign and some as a divider of thousands"
        ),
    );
    if thousands || text.matches(',').count() > 1 {
        finding.help(format!(
            "write `{decimal}` or `{whole}`, whichever is meant; a list needs a blank after each comma"
        ))
    } else {
        finding
            .help(format!(
                "write `{decimal}`; a list needs a blank after each comma"
            ))
            .fix(format!("write `{decimal}`"), span, decimal)
    }
}
