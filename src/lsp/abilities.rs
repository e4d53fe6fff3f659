//! Turns what an editor can do into what is offered to it, and into what must be left out for it.

use lsp_types::{
    ClientCapabilities, CodeActionKind, CodeActionOptions, CodeActionProviderCapability, CodeLensOptions,
    CompletionOptions, CompletionOptionsCompletionItem, DocumentLinkOptions, FoldingRangeProviderCapability,
    HoverProviderCapability, OneOf, RenameOptions, SaveOptions, SelectionRangeProviderCapability,
    SemanticTokenModifier, SemanticTokenType, SemanticTokensFullOptions, SemanticTokensLegend,
    SemanticTokensOptions, SemanticTokensServerCapabilities, ServerCapabilities, TextDocumentSyncCapability,
    TextDocumentSyncKind, TextDocumentSyncOptions, TextDocumentSyncSaveOptions, WorkDoneProgressOptions,
    WorkspaceFoldersServerCapabilities, WorkspaceServerCapabilities,
};

use super::positions::Encoding;
use crate::editor::tokens::Kind;

/// What an editor can do, as far as it matters here.
#[derive(Debug, Clone, Copy)]
#[expect(clippy::struct_excessive_bools, reason = "each is one ability of an editor")]
pub struct Client {
    /// How it counts characters.
    pub encoding: Encoding,
    /// Whether it shows places that explain a finding.
    pub shows_related: bool,
    /// Whether it takes edits of several files with their versions.
    pub takes_document_changes: bool,
    /// Whether it makes files.
    pub makes_files: bool,
    /// Whether it asks for the edits of an action when one is chosen.
    pub asks_for_edits: bool,
    /// Whether it shows an outline with things inside things.
    pub shows_outline: bool,
    /// Whether it shows which words lead to a declaration.
    pub links_definitions: bool,
    /// Whether it tells of files that are changed by others, if it is asked to.
    pub tells_of_files: bool,
    /// Whether it asks again for hints, lenses and tokens, if it is told to.
    pub asks_again: [bool; 3],
}

impl Client {
    /// What the protocol says of itself.
    pub fn of(capabilities: &ClientCapabilities) -> Self {
        let text = capabilities.text_document.as_ref();
        let workspace = capabilities.workspace.as_ref();
        let general = capabilities.general.as_ref();
        let edits = workspace.and_then(|workspace| workspace.workspace_edit.as_ref());
        let resolved = text
            .and_then(|text| text.code_action.as_ref()?.resolve_support.as_ref())
            .map(|support| support.properties.as_slice())
            .unwrap_or_default();
        Self {
            encoding: Encoding::chosen(general.and_then(|general| general.position_encodings.as_deref())),
            shows_related: text
                .and_then(|text| text.publish_diagnostics.as_ref()?.related_information)
                .unwrap_or(false),
            takes_document_changes: edits.and_then(|edits| edits.document_changes).unwrap_or(false),
            makes_files: edits
                .and_then(|edits| edits.resource_operations.as_ref())
                .is_some_and(|kinds| kinds.contains(&lsp_types::ResourceOperationKind::Create)),
            asks_for_edits: resolved.iter().any(|property| property == "edit"),
            shows_outline: text
                .and_then(|text| {
                    text.document_symbol
                        .as_ref()?
                        .hierarchical_document_symbol_support
                })
                .unwrap_or(false),
            links_definitions: text
                .and_then(|text| text.definition.as_ref()?.link_support)
                .unwrap_or(false),
            tells_of_files: workspace
                .and_then(|workspace| workspace.did_change_watched_files.as_ref()?.dynamic_registration)
                .unwrap_or(false),
            asks_again: [
                workspace.and_then(|workspace| workspace.inlay_hint.as_ref()?.refresh_support),
                workspace.and_then(|workspace| workspace.code_lens.as_ref()?.refresh_support),
                workspace.and_then(|workspace| workspace.semantic_tokens.as_ref()?.refresh_support),
            ]
            .map(|support| support.unwrap_or(false)),
        }
    }
}

/// The number by which the protocol knows what a piece of text is.
pub fn token_number(kind: Kind) -> u32 {
    let at = Kind::ALL.iter().position(|own| *own == kind).unwrap_or(0);
    u32::try_from(at).unwrap_or(0)
}

fn token_type(kind: Kind) -> SemanticTokenType {
    match kind {
        Kind::Keyword => SemanticTokenType::KEYWORD,
        Kind::Property => SemanticTokenType::PROPERTY,
        Kind::Class => SemanticTokenType::CLASS,
        Kind::Function => SemanticTokenType::FUNCTION,
        Kind::Namespace => SemanticTokenType::NAMESPACE,
        Kind::EnumMember => SemanticTokenType::ENUM_MEMBER,
        Kind::Variable => SemanticTokenType::VARIABLE,
        Kind::Number => SemanticTokenType::NUMBER,
        Kind::Type => SemanticTokenType::TYPE,
        Kind::String => SemanticTokenType::STRING,
        Kind::Modifier => SemanticTokenType::MODIFIER,
        Kind::Comment => SemanticTokenType::COMMENT,
    }
}

/// What is offered.
pub fn offered(client: Client) -> ServerCapabilities {
    let no_progress = WorkDoneProgressOptions::default();
    ServerCapabilities {
        position_encoding: Some(client.encoding.kind()),
        text_document_sync: Some(TextDocumentSyncCapability::Options(TextDocumentSyncOptions {
            open_close: Some(true),
            change: Some(TextDocumentSyncKind::INCREMENTAL),
            save: Some(TextDocumentSyncSaveOptions::SaveOptions(SaveOptions {
                include_text: Some(false),
            })),
            ..TextDocumentSyncOptions::default()
        })),
        hover_provider: Some(HoverProviderCapability::Simple(true)),
        completion_provider: Some(CompletionOptions {
            trigger_characters: Some(vec![" ".to_owned()]),
            completion_item: Some(CompletionOptionsCompletionItem {
                label_details_support: Some(true),
            }),
            ..CompletionOptions::default()
        }),
        definition_provider: Some(OneOf::Left(true)),
        references_provider: Some(OneOf::Left(true)),
        document_highlight_provider: Some(OneOf::Left(true)),
        document_symbol_provider: Some(OneOf::Left(true)),
        workspace_symbol_provider: Some(OneOf::Left(true)),
        code_action_provider: Some(CodeActionProviderCapability::Options(CodeActionOptions {
            code_action_kinds: Some(vec![CodeActionKind::QUICKFIX, CodeActionKind::REFACTOR_REWRITE]),
            resolve_provider: Some(true),
            work_done_progress_options: no_progress,
        })),
        code_lens_provider: Some(CodeLensOptions {
            resolve_provider: Some(false),
        }),
        document_formatting_provider: Some(OneOf::Left(true)),
        document_range_formatting_provider: Some(OneOf::Left(true)),
        rename_provider: Some(OneOf::Right(RenameOptions {
            prepare_provider: Some(true),
            work_done_progress_options: no_progress,
        })),
        document_link_provider: Some(DocumentLinkOptions {
            resolve_provider: Some(false),
            work_done_progress_options: no_progress,
        }),
        folding_range_provider: Some(FoldingRangeProviderCapability::Simple(true)),
        selection_range_provider: Some(SelectionRangeProviderCapability::Simple(true)),
        inlay_hint_provider: Some(OneOf::Left(true)),
        semantic_tokens_provider: Some(SemanticTokensServerCapabilities::SemanticTokensOptions(
            SemanticTokensOptions {
                legend: SemanticTokensLegend {
                    token_types: Kind::ALL.into_iter().map(token_type).collect(),
                    token_modifiers: vec![SemanticTokenModifier::DECLARATION],
                },
                range: Some(true),
                full: Some(SemanticTokensFullOptions::Bool(true)),
                work_done_progress_options: no_progress,
            },
        )),
        workspace: Some(WorkspaceServerCapabilities {
            workspace_folders: Some(WorkspaceFoldersServerCapabilities {
                supported: Some(true),
                change_notifications: Some(OneOf::Left(true)),
            }),
            file_operations: None,
        }),
        ..ServerCapabilities::default()
    }
}
