//! Turns a place of an editor's text into the actions that it offers there, and a chosen one into edits.

use lsp_server::{ErrorCode, Message};
use lsp_types::{CodeAction, CodeActionKind, CodeActionParams};
use serde_json::{Value, json};

use super::answers::{give, refused};
use super::edits::workspace_edit;
use super::positions::Lines;
use super::server::{Answered, Server, error};
use crate::editor::Here;
use crate::editor::actions::{self, Deed};
use crate::source::Span;

impl<O: FnMut(Message) -> bool> Server<O> {
    pub(super) fn actions(&mut self, params: &CodeActionParams) -> Answered {
        let uri = params.text_document.uri.as_str();
        let Some(asked) = self.asked(uri) else {
            return Ok(Value::Null);
        };
        let snapshot = &asked.current.snapshot;
        let Some(source) = snapshot.sources.get(asked.file) else {
            return Ok(Value::Null);
        };
        let Some(wording) = self.wording(&asked) else {
            return Ok(Value::Null);
        };
        let lines = Lines::of(source, self.client.encoding);
        let (start, end) = (lines.byte(params.range.start), lines.byte(params.range.end));
        let within = Span::new(asked.file, start.min(end), start.max(end));
        let wanted = |kind: &CodeActionKind| {
            params.context.only.as_ref().is_none_or(|only| {
                only.iter().any(|own| {
                    kind == own
                        || kind
                            .as_str()
                            .strip_prefix(own.as_str())
                            .is_some_and(|rest| own.as_str().is_empty() || rest.starts_with('.'))
                })
            })
        };
        let version = self.documents.get(uri).map(|document| document.version);
        let mut all: Vec<CodeAction> = Vec::new();
        for action in actions::actions(snapshot, within) {
            let kind = match action.mends {
                Some(_) => CodeActionKind::QUICKFIX,
                None => CodeActionKind::REFACTOR_REWRITE,
            };
            if !wanted(&kind) {
                continue;
            }
            // What a finding offers is at hand; the rest is worked out when it is chosen, where that is possible.
            let later = action.deed != Deed::Fix && self.client.asks_for_edits;
            let here = Here {
                snapshot,
                file: asked.file,
                at: action.at,
            };
            let edit = if later {
                None
            } else {
                let change = actions::change(&here, action.deed, action.mends);
                let edit = change.ok().and_then(|change| {
                    workspace_edit(&wording, self.client, &self.documents, asked.file, &change)
                });
                if edit.is_none() {
                    continue;
                }
                edit
            };
            all.push(CodeAction {
                title: action.title,
                kind: Some(kind),
                diagnostics: action
                    .mends
                    .and_then(|finding| Some(vec![wording.shown(finding)?])),
                edit,
                is_preferred: (action.deed == Deed::Fix).then_some(true),
                data: later.then(
                    || json!({ "uri": uri, "deed": action.deed.name(), "at": action.at, "version": version }),
                ),
                ..CodeAction::default()
            });
        }
        give(all)
    }

    pub(super) fn resolved(&mut self, mut action: CodeAction) -> Answered {
        let Some(data) = action.data.take() else {
            return give(action);
        };
        let text = |name: &str| data.get(name).and_then(Value::as_str);
        let at = data
            .get("at")
            .and_then(Value::as_u64)
            .and_then(|at| usize::try_from(at).ok());
        let (Some(uri), Some(deed), Some(at)) = (text("uri"), text("deed").and_then(Deed::named), at) else {
            return Err(error(ErrorCode::InvalidParams, "this action is not one of ours"));
        };
        let version = self.documents.get(uri).map(|document| document.version);
        if json!(version) != *data.get("version").unwrap_or(&Value::Null) {
            return Err(error(ErrorCode::ContentModified, "the text was changed since"));
        }
        let asked = self
            .asked(uri)
            .ok_or_else(|| refused("this file belongs to no ledger"))?;
        let here = Here {
            snapshot: &asked.current.snapshot,
            file: asked.file,
            at,
        };
        let change = actions::change(&here, deed, None).map_err(|why| refused(&why))?;
        let wording = self.wording(&asked);
        action.edit = wording
            .and_then(|wording| workspace_edit(&wording, self.client, &self.documents, asked.file, &change));
        give(action)
    }
}
