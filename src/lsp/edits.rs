//! Turns edits of a ledger into the edits of an editor's texts.

use std::collections::{BTreeMap, HashMap};

use lsp_types::{
    CreateFile, CreateFileOptions, DocumentChangeOperation, DocumentChanges, OneOf,
    OptionalVersionedTextDocumentIdentifier, Position, Range, ResourceOp, TextDocumentEdit, TextEdit,
    WorkspaceEdit,
};

use super::abilities::Client;
use super::address;
use super::documents::Document;
use super::findings::Wording;
use super::positions::Lines;
use crate::diagnostic::Edit;
use crate::editor::actions::{Change, at_the_end};
use crate::source::FileId;

/// An edit within a text.
pub fn text_edit(lines: Lines<'_>, edit: &Edit) -> TextEdit {
    TextEdit {
        range: lines.range(edit.span.first_byte(), edit.span.end_byte()),
        new_text: edit.text.clone(),
    }
}

/// The edits of a change as an editor takes them.
///
/// Text for a file that is not there is added to the file at hand where an editor makes no files.
pub fn workspace_edit(
    wording: &Wording<'_>,
    client: Client,
    documents: &BTreeMap<String, Document>,
    at_hand: FileId,
    change: &Change,
) -> Option<WorkspaceEdit> {
    let makes_file = client.makes_files && client.takes_document_changes && wording.ledger.root.is_some();
    let mut edits = change.edits.clone();
    let added = change.added.as_ref();
    if let Some(added) = added.filter(|_| !makes_file) {
        let text = &wording.snapshot.sources.get(at_hand)?.text;
        edits.push(at_the_end(at_hand, text, &added.text));
    }
    let mut by_file: BTreeMap<String, Vec<TextEdit>> = BTreeMap::new();
    for edit in &edits {
        let source = wording.snapshot.sources.get(edit.span.file)?;
        by_file
            .entry(wording.ledger.uri(&source.path))
            .or_default()
            .push(text_edit(wording.lines(edit.span.file)?, edit));
    }
    if !client.takes_document_changes {
        #[expect(
            clippy::mutable_key_type,
            reason = "the protocol's own type; its key is never changed"
        )]
        let changes: HashMap<_, _> = by_file
            .into_iter()
            .filter_map(|(uri, edits)| Some((address::uri(&uri)?, edits)))
            .collect();
        return Some(WorkspaceEdit {
            changes: Some(changes),
            ..WorkspaceEdit::default()
        });
    }
    let of_file = |uri: &str, edits: Vec<TextEdit>| {
        Some(DocumentChangeOperation::Edit(TextDocumentEdit {
            text_document: OptionalVersionedTextDocumentIdentifier {
                uri: address::uri(uri)?,
                version: documents.get(uri).map(|document| document.version),
            },
            edits: edits.into_iter().map(OneOf::Left).collect(),
        }))
    };
    let mut operations: Vec<DocumentChangeOperation> = Vec::new();
    if let Some(added) = added.filter(|_| makes_file) {
        let uri = wording.ledger.uri(added.path);
        operations.push(DocumentChangeOperation::Op(ResourceOp::Create(CreateFile {
            uri: address::uri(&uri)?,
            options: Some(CreateFileOptions {
                overwrite: Some(false),
                ignore_if_exists: Some(true),
            }),
            annotation_id: None,
        })));
        let start = Position::default();
        let text = format!("{}\n{}", added.heading, added.text);
        operations.push(of_file(
            &uri,
            vec![TextEdit {
                range: Range { start, end: start },
                new_text: text,
            }],
        )?);
    }
    for (uri, edits) in by_file {
        operations.push(of_file(&uri, edits)?);
    }
    Some(WorkspaceEdit {
        document_changes: Some(DocumentChanges::Operations(operations)),
        ..WorkspaceEdit::default()
    })
}
