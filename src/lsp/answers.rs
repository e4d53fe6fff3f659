//! Turns each request of the protocol into a question to [`crate::editor`], and its answer into the protocol.

use std::str::FromStr;

use lsp_server::{ErrorCode, Message};
use lsp_types::{
    CodeLens, CodeLensParams, Command, CompletionItem, CompletionItemKind, CompletionItemLabelDetails,
    CompletionList, CompletionParams, CompletionTextEdit, DocumentFormattingParams, DocumentHighlight,
    DocumentHighlightKind, DocumentHighlightParams, DocumentLink, DocumentLinkParams,
    DocumentRangeFormattingParams, DocumentSymbol, DocumentSymbolParams, Documentation, FoldingRange,
    FoldingRangeKind, FoldingRangeParams, GotoDefinitionParams, Hover, HoverContents, HoverParams, InlayHint,
    InlayHintLabel, InlayHintParams, InlayHintTooltip, Location, LocationLink, MarkupContent, MarkupKind,
    Position, PrepareRenameResponse, ReferenceParams, RenameParams, SelectionRange, SelectionRangeParams,
    SemanticToken, SemanticTokens, SemanticTokensParams, SemanticTokensRangeParams, SymbolInformation,
    SymbolKind, TextDocumentPositionParams, TextEdit, Uri, WorkspaceSymbolParams,
};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use super::abilities;
use super::edits::{text_edit, workspace_edit};
use super::findings::{self, Wording};
use super::positions::Lines;
use super::server::{Answered, Asked, Server, error};
use crate::code::Code;
use crate::diagnostic::Edit;
use crate::editor::actions::Change;
use crate::editor::symbols::Symbol;
use crate::editor::{
    Here, complete, find, fold, hints, hover, lens, links, rename, select, symbols, tidying, tokens,
};
use crate::source::Span;
use crate::syntax::tree::Kind;

/// A question about a place.
struct At {
    asked: Asked,
    byte: usize,
}

impl At {
    fn here(&self) -> Here<'_> {
        Here {
            snapshot: &self.asked.current.snapshot,
            file: self.asked.file,
            at: self.byte,
        }
    }
}

fn read<P: DeserializeOwned>(params: Value) -> Result<P, lsp_server::ResponseError> {
    serde_json::from_value(params).map_err(|why| error(ErrorCode::InvalidParams, &why.to_string()))
}

pub(super) fn give(answer: impl Serialize) -> Answered {
    serde_json::to_value(answer).map_err(|why| error(ErrorCode::InternalError, &why.to_string()))
}

pub(super) fn refused(why: &str) -> lsp_server::ResponseError {
    error(ErrorCode::RequestFailed, why)
}

fn markdown(value: String) -> MarkupContent {
    MarkupContent {
        kind: MarkupKind::Markdown,
        value,
    }
}

impl<O: FnMut(Message) -> bool> Server<O> {
    /// Answers a request.
    pub(super) fn answer(&mut self, method: &str, params: Value) -> Answered {
        match method {
            "textDocument/hover" => self.hover(&read(params)?),
            "textDocument/completion" => self.completion(&read(params)?),
            "textDocument/definition" => self.definition(&read(params)?),
            "textDocument/references" => self.references(&read(params)?),
            "textDocument/documentHighlight" => self.highlights(&read(params)?),
            "textDocument/prepareRename" => self.prepare_rename(&read(params)?),
            "textDocument/rename" => self.rename(&read(params)?),
            "textDocument/documentSymbol" => self.outline(&read(params)?),
            "workspace/symbol" => self.symbols(&read(params)?),
            "textDocument/foldingRange" => self.folds(&read(params)?),
            "textDocument/selectionRange" => self.selections(&read(params)?),
            "textDocument/semanticTokens/full" => {
                let params: SemanticTokensParams = read(params)?;
                self.tokens(&params.text_document.uri, None)
            }
            "textDocument/semanticTokens/range" => {
                let params: SemanticTokensRangeParams = read(params)?;
                self.tokens(&params.text_document.uri, Some(params.range))
            }
            "textDocument/inlayHint" => self.hints(&read(params)?),
            "textDocument/codeLens" => self.lenses(&read(params)?),
            "textDocument/documentLink" => self.links(&read(params)?),
            "textDocument/formatting" => {
                let params: DocumentFormattingParams = read(params)?;
                self.tidied(&params.text_document.uri, None)
            }
            "textDocument/rangeFormatting" => {
                let params: DocumentRangeFormattingParams = read(params)?;
                self.tidied(&params.text_document.uri, Some(params.range))
            }
            "textDocument/codeAction" => self.actions(&read(params)?),
            "codeAction/resolve" => self.resolved(read(params)?),
            "scruple/page" => page(&params),
            _ => Err(error(
                ErrorCode::MethodNotFound,
                &format!("`{method}` is not among what is offered"),
            )),
        }
    }

    fn at(&mut self, place: &TextDocumentPositionParams) -> Option<At> {
        let asked = self.asked(place.text_document.uri.as_str())?;
        let source = asked.current.snapshot.sources.get(asked.file)?;
        let byte = Lines::of(source, self.client.encoding).byte(place.position);
        Some(At { asked, byte })
    }

    pub(super) fn wording<'w>(&'w self, asked: &'w Asked) -> Option<Wording<'w>> {
        Some(Wording {
            ledger: self.ledgers.get(&asked.key)?,
            snapshot: &asked.current.snapshot,
            encoding: self.client.encoding,
            shows_related: self.client.shows_related,
        })
    }

    fn range(&self, asked: &Asked, span: Span) -> Option<lsp_types::Range> {
        let source = asked.current.snapshot.sources.get(span.file)?;
        Some(Lines::of(source, self.client.encoding).range(span.first_byte(), span.end_byte()))
    }

    // ---- at a place ------------------------------------------------------------------------------

    fn hover(&mut self, params: &HoverParams) -> Answered {
        let found = self.at(&params.text_document_position_params).and_then(|at| {
            let hover = hover::hover(&at.here())?;
            Some(Hover {
                range: self.range(&at.asked, hover.span),
                contents: HoverContents::Markup(markdown(hover.text)),
            })
        });
        give(found)
    }

    fn completion(&mut self, params: &CompletionParams) -> Answered {
        let Some(at) = self.at(&params.text_document_position) else {
            return Ok(Value::Null);
        };
        let (found, is_incomplete) = complete::complete(&at.here());
        let items = found.into_iter().enumerate().filter_map(|(place, one)| {
            Some(CompletionItem {
                label: one.label.clone(),
                label_details: Some(CompletionItemLabelDetails {
                    detail: None,
                    description: one.detail.clone(),
                }),
                kind: Some(item_kind(one.sort)),
                detail: one.detail,
                documentation: one
                    .about
                    .map(|about| Documentation::MarkupContent(markdown(about))),
                sort_text: Some(format!("{place:04}")),
                filter_text: Some(one.label),
                text_edit: Some(CompletionTextEdit::Edit(TextEdit {
                    range: self.range(&at.asked, one.replaced)?,
                    new_text: one.insert,
                })),
                ..CompletionItem::default()
            })
        });
        give(CompletionList {
            is_incomplete,
            items: items.collect(),
        })
    }

    fn definition(&mut self, params: &GotoDefinitionParams) -> Answered {
        let found = self.at(&params.text_document_position_params).and_then(|at| {
            let (name, target) = find::definition(&at.here())?;
            let wording = self.wording(&at.asked)?;
            let to = wording.location(target)?;
            if !self.client.links_definitions {
                return Some(json!(to));
            }
            Some(json!([LocationLink {
                origin_selection_range: self.range(&at.asked, name),
                target_uri: to.uri,
                target_range: to.range,
                target_selection_range: to.range,
            }]))
        });
        give(found)
    }

    fn references(&mut self, params: &ReferenceParams) -> Answered {
        let Some(at) = self.at(&params.text_document_position) else {
            return Ok(Value::Null);
        };
        let Some(wording) = self.wording(&at.asked) else {
            return Ok(Value::Null);
        };
        let all: Vec<Location> = find::references(&at.here())
            .into_iter()
            .filter(|found| params.context.include_declaration || !found.declares)
            .filter_map(|found| wording.location(found.span))
            .collect();
        give(all)
    }

    fn highlights(&mut self, params: &DocumentHighlightParams) -> Answered {
        let Some(at) = self.at(&params.text_document_position_params) else {
            return Ok(Value::Null);
        };
        let all: Vec<DocumentHighlight> = find::highlights(&at.here())
            .into_iter()
            .filter_map(|found| {
                Some(DocumentHighlight {
                    range: self.range(&at.asked, found.span)?,
                    kind: Some(if found.declares {
                        DocumentHighlightKind::WRITE
                    } else {
                        DocumentHighlightKind::READ
                    }),
                })
            })
            .collect();
        give(all)
    }

    fn prepare_rename(&mut self, params: &TextDocumentPositionParams) -> Answered {
        let Some(at) = self.at(params) else {
            return Ok(Value::Null);
        };
        let span = rename::renamed(&at.here()).map_err(|why| refused(&why))?;
        let name = at.asked.current.snapshot.sources.words(span);
        give(
            self.range(&at.asked, span)
                .map(|range| PrepareRenameResponse::RangeWithPlaceholder {
                    range,
                    placeholder: name.trim_matches('"').to_owned(),
                }),
        )
    }

    fn rename(&mut self, params: &RenameParams) -> Answered {
        let at = self
            .at(&params.text_document_position)
            .ok_or_else(|| refused("this file belongs to no ledger"))?;
        let edits = rename::rename(&at.here(), &params.new_name).map_err(|why| refused(&why))?;
        self.changed(&at.asked, &Change { edits, added: None })
    }

    fn changed(&self, asked: &Asked, change: &Change) -> Answered {
        let wording = self.wording(asked);
        give(
            wording.and_then(|wording| {
                workspace_edit(&wording, self.client, &self.documents, asked.file, change)
            }),
        )
    }

    fn selections(&mut self, params: &SelectionRangeParams) -> Answered {
        let mut all: Vec<SelectionRange> = Vec::new();
        for position in &params.positions {
            let place = TextDocumentPositionParams {
                text_document: params.text_document.clone(),
                position: *position,
            };
            let Some(at) = self.at(&place) else {
                return Ok(Value::Null);
            };
            let mut holds: Option<SelectionRange> = None;
            for span in select::around(&at.here()).into_iter().rev() {
                if let Some(range) = self.range(&at.asked, span) {
                    holds = Some(SelectionRange {
                        range,
                        parent: holds.map(Box::new),
                    });
                }
            }
            all.extend(holds);
        }
        give(all)
    }

    // ---- of a whole file ---------------------------------------------------------------------------

    fn outline(&mut self, params: &DocumentSymbolParams) -> Answered {
        let Some(asked) = self.asked(params.text_document.uri.as_str()) else {
            return Ok(Value::Null);
        };
        let all = symbols::outline(&asked.current.snapshot, asked.file);
        if self.client.shows_outline {
            return give(
                all.iter()
                    .filter_map(|one| self.outlined(&asked, one))
                    .collect::<Vec<_>>(),
            );
        }
        give(
            all.iter()
                .filter_map(|one| self.listed(&asked, one))
                .collect::<Vec<_>>(),
        )
    }

    fn outlined(&self, asked: &Asked, symbol: &Symbol) -> Option<DocumentSymbol> {
        #[expect(deprecated, reason = "the protocol's own type still has the field")]
        Some(DocumentSymbol {
            name: symbol.name.clone(),
            detail: Some(symbol.detail.clone()),
            kind: symbol_kind(symbol.kind),
            tags: None,
            deprecated: None,
            range: self.range(asked, symbol.span.to(symbol.name_span))?,
            selection_range: self.range(asked, symbol.name_span)?,
            children: Some(
                symbol
                    .children
                    .iter()
                    .filter_map(|one| self.outlined(asked, one))
                    .collect(),
            ),
        })
    }

    fn listed(&self, asked: &Asked, symbol: &Symbol) -> Option<SymbolInformation> {
        #[expect(deprecated, reason = "the protocol's own type still has the field")]
        Some(SymbolInformation {
            name: symbol.name.clone(),
            kind: symbol_kind(symbol.kind),
            tags: None,
            deprecated: None,
            location: self.wording(asked)?.location(symbol.name_span)?,
            container_name: Some(symbol.detail.clone()),
        })
    }

    fn symbols(&mut self, params: &WorkspaceSymbolParams) -> Answered {
        let mut all: Vec<SymbolInformation> = Vec::new();
        for key in self.ledgers.keys().cloned().collect::<Vec<_>>() {
            let Some(ledger) = self.ledgers.get_mut(&key) else {
                continue;
            };
            let current = ledger.current(&self.documents, &key);
            let found = symbols::search(&current.snapshot, &params.query);
            for symbol in found {
                let asked = Asked {
                    key: key.clone(),
                    file: symbol.span.file,
                    current: current.clone(),
                };
                all.extend(self.listed(&asked, &symbol));
            }
        }
        give(all)
    }

    fn folds(&mut self, params: &FoldingRangeParams) -> Answered {
        let Some(asked) = self.asked(params.text_document.uri.as_str()) else {
            return Ok(Value::Null);
        };
        let all: Vec<FoldingRange> = fold::folds(&asked.current.snapshot, asked.file)
            .into_iter()
            .filter_map(|fold| {
                let range = self.range(&asked, fold.span)?;
                Some(FoldingRange {
                    start_line: range.start.line,
                    end_line: range.end.line,
                    kind: fold.is_comment.then_some(FoldingRangeKind::Comment),
                    ..FoldingRange::default()
                })
            })
            .collect();
        give(all)
    }

    fn tokens(&mut self, uri: &Uri, within: Option<lsp_types::Range>) -> Answered {
        let Some(asked) = self.asked(uri.as_str()) else {
            return Ok(Value::Null);
        };
        let Some(source) = asked.current.snapshot.sources.get(asked.file) else {
            return Ok(Value::Null);
        };
        let lines = Lines::of(source, self.client.encoding);
        let bounds = within.map(|range| (lines.byte(range.start), lines.byte(range.end)));
        let is_inside =
            |span: Span| bounds.is_none_or(|(start, end)| start < span.end_byte() && span.first_byte() < end);
        let mut before = Position::default();
        let mut data: Vec<SemanticToken> = Vec::new();
        let all = tokens::tokens(&asked.current.snapshot, asked.file);
        for token in all.into_iter().filter(|token| is_inside(token.span)) {
            let start = lines.position(token.span.first_byte());
            let same_line = start.line == before.line;
            data.push(SemanticToken {
                delta_line: start.line.saturating_sub(before.line),
                delta_start: if same_line {
                    start.character.saturating_sub(before.character)
                } else {
                    start.character
                },
                length: self.client.encoding.length(source.slice(token.span)),
                token_type: abilities::token_number(token.kind),
                token_modifiers_bitset: u32::from(token.declares),
            });
            before = start;
        }
        give(SemanticTokens {
            result_id: None,
            data,
        })
    }

    fn hints(&mut self, params: &InlayHintParams) -> Answered {
        let Some(asked) = self.asked(params.text_document.uri.as_str()) else {
            return Ok(Value::Null);
        };
        let Some(source) = asked.current.snapshot.sources.get(asked.file) else {
            return Ok(Value::Null);
        };
        let lines = Lines::of(source, self.client.encoding);
        let within = Span::new(
            asked.file,
            lines.byte(params.range.start),
            lines.byte(params.range.end),
        );
        let all: Vec<InlayHint> = hints::hints(&asked.current.snapshot, asked.file, within)
            .into_iter()
            .map(|hint| InlayHint {
                position: lines.position(hint.at),
                label: InlayHintLabel::String(hint.says),
                kind: None,
                text_edits: None,
                tooltip: Some(InlayHintTooltip::String(hint.about)),
                padding_left: Some(true),
                padding_right: Some(true),
                data: None,
            })
            .collect();
        give(all)
    }

    fn lenses(&mut self, params: &CodeLensParams) -> Answered {
        let Some(asked) = self.asked(params.text_document.uri.as_str()) else {
            return Ok(Value::Null);
        };
        let all: Vec<CodeLens> = lens::lenses(&asked.current.snapshot, asked.file)
            .into_iter()
            .filter_map(|lens| {
                Some(CodeLens {
                    range: self.range(&asked, lens.head)?,
                    // It says something and does nothing.
                    command: Some(Command {
                        title: lens.says,
                        command: String::new(),
                        arguments: None,
                    }),
                    data: None,
                })
            })
            .collect();
        give(all)
    }

    fn links(&mut self, params: &DocumentLinkParams) -> Answered {
        let Some(asked) = self.asked(params.text_document.uri.as_str()) else {
            return Ok(Value::Null);
        };
        let all: Vec<DocumentLink> = links::links(&asked.current.snapshot, asked.file)
            .into_iter()
            .filter_map(|link| {
                Some(DocumentLink {
                    range: self.range(&asked, link.span)?,
                    target: Some(Uri::from_str(&link.address).ok()?),
                    tooltip: Some(link.says),
                    data: None,
                })
            })
            .collect();
        give(all)
    }

    fn tidied(&mut self, uri: &Uri, within: Option<lsp_types::Range>) -> Answered {
        let Some(asked) = self.asked(uri.as_str()) else {
            return Ok(Value::Null);
        };
        let Some(source) = asked.current.snapshot.sources.get(asked.file) else {
            return Ok(Value::Null);
        };
        let lines = Lines::of(source, self.client.encoding);
        let within =
            within.map(|range| Span::new(asked.file, lines.byte(range.start), lines.byte(range.end)));
        match tidying::edits(asked.file, &source.text, within) {
            Ok(edits) => give(
                edits
                    .iter()
                    .map(|edit: &Edit| text_edit(lines, edit))
                    .collect::<Vec<_>>(),
            ),
            Err(why) => {
                self.tell_editor("window/showMessage", json!({ "type": 3, "message": why }));
                Ok(Value::Null)
            }
        }
    }
}

/// The page of a kind of finding, by its code or its address.
fn page(params: &Value) -> Answered {
    let text = |name: &str| params.get(name).and_then(Value::as_str);
    let of_address = || text("uri")?.strip_prefix(findings::PAGES)?.strip_suffix(".md");
    let code = text("code").or_else(of_address).and_then(Code::named);
    let code = code.ok_or_else(|| refused("there is no finding of this name"))?;
    give(json!({ "code": code.name(), "text": code.page() }))
}

fn item_kind(sort: complete::Sort) -> CompletionItemKind {
    match sort {
        complete::Sort::Kind => CompletionItemKind::KEYWORD,
        complete::Sort::LineWord => CompletionItemKind::PROPERTY,
        complete::Sort::Substance => CompletionItemKind::CLASS,
        complete::Sort::Formula => CompletionItemKind::FUNCTION,
        complete::Sort::Measure => CompletionItemKind::UNIT,
        complete::Sort::Topic => CompletionItemKind::ENUM_MEMBER,
        complete::Sort::Source => CompletionItemKind::MODULE,
        complete::Sort::Person => CompletionItemKind::VARIABLE,
        complete::Sort::Role | complete::Sort::Value => CompletionItemKind::VALUE,
        complete::Sort::Example => CompletionItemKind::SNIPPET,
    }
}

fn symbol_kind(kind: Option<Kind>) -> SymbolKind {
    match kind {
        Some(Kind::Herb | Kind::Material) => SymbolKind::CLASS,
        Some(Kind::Formula) => SymbolKind::FUNCTION,
        Some(Kind::Source) => SymbolKind::NAMESPACE,
        Some(Kind::Practice) => SymbolKind::MODULE,
        Some(Kind::Topic) => SymbolKind::ENUM_MEMBER,
        Some(Kind::Person) => SymbolKind::VARIABLE,
        Some(Kind::Batch | Kind::Lot | Kind::Supply) => SymbolKind::OBJECT,
        Some(Kind::Set) => SymbolKind::PACKAGE,
        None => SymbolKind::FIELD,
    }
}
