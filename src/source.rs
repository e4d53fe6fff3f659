//! Turns file contents into numbered sources, and byte ranges into lines and columns.

use std::sync::Arc;

/// Which of the ledger's files a span points into.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct FileId(u32);

/// A half-open range of bytes in one file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Span {
    /// The file that the range lies in.
    pub file: FileId,
    /// The first byte.
    pub start: u32,
    /// The byte after the last one.
    pub end: u32,
}

impl Span {
    /// A span from `start` up to, not including, `end`.
    pub fn new(file: FileId, start: usize, end: usize) -> Self {
        // Files are refused long before four gigabytes, so the fallback is never seen.
        let narrow = |offset: usize| u32::try_from(offset).unwrap_or(u32::MAX);
        Self {
            file,
            start: narrow(start),
            end: narrow(end.max(start)),
        }
    }

    /// The smallest span that covers both; `other` must lie in the same file.
    #[must_use]
    pub fn to(self, other: Self) -> Self {
        Self {
            file: self.file,
            start: self.start.min(other.start),
            end: self.end.max(other.end),
        }
    }

    /// The first byte as an index.
    pub fn first_byte(self) -> usize {
        usize::try_from(self.start).unwrap_or(usize::MAX)
    }

    /// The byte after the last one as an index.
    pub fn end_byte(self) -> usize {
        usize::try_from(self.end).unwrap_or(usize::MAX)
    }

    /// How many bytes it covers.
    pub fn length(self) -> usize {
        self.end_byte().saturating_sub(self.first_byte())
    }

    /// The empty span at its start.
    #[must_use]
    pub fn before(self) -> Self {
        Self {
            end: self.start,
            ..self
        }
    }

    /// The empty span at its end.
    #[must_use]
    pub fn after(self) -> Self {
        Self {
            start: self.end,
            ..self
        }
    }
}

/// One file of a ledger: its name as people see it, and its text.
#[derive(Debug, Clone)]
pub struct Source {
    /// The path inside the ledger, with forward slashes.
    pub path: Arc<str>,
    /// The whole text.
    pub text: Arc<str>,
    line_starts: Vec<u32>,
}

/// A place as people count it: both numbers begin at one; columns count characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Place {
    /// The line.
    pub line: usize,
    /// The column in characters.
    pub column: usize,
}

impl Source {
    fn new(path: &str, text: Arc<str>) -> Self {
        Self {
            path: path.into(),
            line_starts: line_starts(&text),
            text,
        }
    }

    /// The text under a span, or nothing if the span does not fit this text.
    pub fn slice(&self, span: Span) -> &str {
        self.text
            .get(span.first_byte()..span.end_byte())
            .unwrap_or_default()
    }

    /// The byte at which each line begins.
    pub fn line_starts(&self) -> &[u32] {
        &self.line_starts
    }

    /// Line and column of a byte.
    pub fn place(&self, byte: u32) -> Place {
        let line = self.line_starts.partition_point(|start| *start <= byte);
        let start = self.line_starts.get(line.saturating_sub(1)).copied().unwrap_or(0);
        let before = self
            .text
            .get(usize::try_from(start).unwrap_or(0)..usize::try_from(byte).unwrap_or(0))
            .unwrap_or_default();
        Place {
            line,
            column: before.chars().count().saturating_add(1),
        }
    }
}

/// The byte at which each line of a text begins.
pub fn line_starts(text: &str) -> Vec<u32> {
    let bytes = text.as_bytes();
    let ends = bytes.iter().enumerate().filter(|(offset, byte)| match byte {
        b'\n' => true,
        // A carriage return alone ends a line, too, as old files have it.
        b'\r' => bytes.get(offset.saturating_add(1)) != Some(&b'\n'),
        _ => false,
    });
    std::iter::once(0)
        .chain(ends.filter_map(|(offset, _)| u32::try_from(offset.saturating_add(1)).ok()))
        .collect()
}

/// All files of a ledger, in the order in which they were read.
#[derive(Debug, Clone, Default)]
pub struct Sources {
    // Files may be shared among ledgers that follow one another; those of others have no place here.
    files: Vec<Option<Arc<Source>>>,
}

impl Sources {
    /// Adds a file and gives its number.
    pub fn add(&mut self, path: &str, text: Arc<str>) -> FileId {
        let id = FileId(u32::try_from(self.files.len()).unwrap_or(u32::MAX));
        self.files.push(Some(Arc::new(Source::new(path, text))));
        id
    }

    /// The file with this number, if there is one.
    pub fn get(&self, id: FileId) -> Option<&Source> {
        self.files.get(usize::try_from(id.0).ok()?)?.as_deref()
    }

    /// The same numbers with these files alone.
    #[must_use]
    pub fn only(&self, kept: &[FileId]) -> Self {
        let mut files = vec![None; self.files.len()];
        for id in kept {
            let at = usize::try_from(id.0).unwrap_or(usize::MAX);
            if let (Some(place), Some(file)) = (files.get_mut(at), self.files.get(at)) {
                place.clone_from(file);
            }
        }
        Self { files }
    }

    /// All files with their numbers.
    pub fn iter(&self) -> impl Iterator<Item = (FileId, &Source)> {
        (0u32..)
            .map(FileId)
            .zip(&self.files)
            .filter_map(|(id, file)| Some((id, file.as_deref()?)))
    }

    /// The text under a span.
    pub fn text(&self, span: Span) -> &str {
        self.get(span.file).map_or("", |source| source.slice(span))
    }

    /// The words under a span with single blanks.
    pub fn words(&self, span: Span) -> String {
        self.text(span).split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// The path of the file that a span lies in.
    pub fn path(&self, span: Span) -> &str {
        self.get(span.file).map_or("", |source| &source.path)
    }

    /// Line and column where a span begins.
    pub fn place(&self, span: Span) -> Place {
        self.get(span.file)
            .map_or(Place { line: 1, column: 1 }, |source| source.place(span.start))
    }

    /// File and line as one writes them, `formulas/tea.scruple:9`.
    pub fn address(&self, span: Span) -> String {
        format!("{}:{}", self.path(span), self.place(span).line)
    }
}
