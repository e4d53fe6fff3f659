"""Drives the server over its standard streams by a client library that others wrote (pygls, lsprotocol).

The library reads every answer into the types of the protocol's own description, so that an answer
of a wrong form fails here, whatever it says. Called with the program and a copy of the demo ledger.
"""

import asyncio
import sys
from pathlib import Path

from lsprotocol import types as lsp
from pygls.lsp.client import LanguageClient

program, root = sys.argv[1], Path(sys.argv[2]).resolve()
supper = root / "formulas" / "supper.scruple"


def at(text: str, piece: str) -> lsp.Position:
    """The place of the bar in a piece of a text."""
    before, after = piece.split("|")
    where = text.index(before + after) + len(before)
    line = text.count("\n", 0, where)
    start = text.rfind("\n", 0, where) + 1
    return lsp.Position(line=line, character=len(text[start:where].encode("utf-16-le")) // 2)


def edited(text: str, edits) -> str:
    lines = text.splitlines(keepends=True)

    def offset(position: lsp.Position) -> int:
        before = sum(len(line) for line in lines[: position.line])
        return before + position.character

    for edit in sorted(edits, key=lambda edit: offset(edit.range.start), reverse=True):
        text = text[: offset(edit.range.start)] + edit.new_text + text[offset(edit.range.end) :]
    return text


class Told:
    """The findings told last of each file."""

    def __init__(self) -> None:
        self.by_uri: dict[str, list[lsp.Diagnostic]] = {}
        self.news = asyncio.Event()

    async def until(self, uri: str, fits) -> list[lsp.Diagnostic]:
        async with asyncio.timeout(60):
            while not fits(self.by_uri.get(uri, [])):
                self.news.clear()
                await self.news.wait()
        return self.by_uri.get(uri, [])


async def run() -> None:
    client = LanguageClient("tests", "1")
    told = Told()

    @client.feature(lsp.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
    def findings(params: lsp.PublishDiagnosticsParams) -> None:
        told.by_uri[params.uri] = list(params.diagnostics)
        told.news.set()

    @client.feature(lsp.CLIENT_REGISTER_CAPABILITY)
    def register(params: lsp.RegistrationParams) -> None:
        assert params.registrations[0].method == "workspace/didChangeWatchedFiles"

    @client.feature(lsp.WINDOW_LOG_MESSAGE)
    def log(params: lsp.LogMessageParams) -> None:
        print("log:", params.message)

    await client.start_io(program, "lsp", "--stdio")
    begun = await client.initialize_async(
        lsp.InitializeParams(
            process_id=None,
            root_uri=root.as_uri(),
            capabilities=lsp.ClientCapabilities(
                workspace=lsp.WorkspaceClientCapabilities(
                    workspace_edit=lsp.WorkspaceEditClientCapabilities(
                        document_changes=True, resource_operations=[lsp.ResourceOperationKind.Create]
                    ),
                    did_change_watched_files=lsp.DidChangeWatchedFilesClientCapabilities(dynamic_registration=True),
                ),
                text_document=lsp.TextDocumentClientCapabilities(
                    document_symbol=lsp.DocumentSymbolClientCapabilities(hierarchical_document_symbol_support=True),
                    definition=lsp.DefinitionClientCapabilities(link_support=True),
                ),
            ),
        )
    )
    assert begun.server_info.name == "scruple"
    assert begun.capabilities.position_encoding == "utf-16"
    client.initialized(lsp.InitializedParams())

    text = supper.read_text()
    uri = supper.as_uri()
    document = lsp.TextDocumentIdentifier(uri=uri)
    client.text_document_did_open(
        lsp.DidOpenTextDocumentParams(lsp.TextDocumentItem(uri=uri, language_id="scruple", version=1, text=text))
    )

    hover = await client.text_document_hover_async(
        lsp.HoverParams(text_document=document, position=at(text, "1 heaped tea|spoon"))
    )
    assert "2.98 g" in hover.contents.value, hover

    # A slip is told with its fix, and the fix mends it.
    slip = text.replace("ginger rhizome                1 heaped", "gingr rhizome                 1 heaped")
    client.text_document_did_change(
        lsp.DidChangeTextDocumentParams(
            text_document=lsp.VersionedTextDocumentIdentifier(uri=uri, version=2),
            content_changes=[lsp.TextDocumentContentChangeWholeDocument(text=slip)],
        )
    )
    found = await told.until(uri, lambda all: any(one.code == "unknown-name" for one in all))
    finding = next(one for one in found if one.code == "unknown-name")
    assert finding.severity == lsp.DiagnosticSeverity.Error
    assert finding.code_description.href.endswith("unknown-name.md")
    actions = await client.text_document_code_action_async(
        lsp.CodeActionParams(
            text_document=document,
            range=finding.range,
            context=lsp.CodeActionContext(diagnostics=[finding], only=[lsp.CodeActionKind.QuickFix]),
        )
    )
    fix = next(one for one in actions if one.title == "write `ginger rhizome`")
    assert fix.is_preferred and fix.diagnostics[0].code == "unknown-name"
    mended = edited(slip, fix.edit.document_changes[0].edits)
    assert " ".join(mended.split()) == " ".join(text.split())
    client.text_document_did_change(
        lsp.DidChangeTextDocumentParams(
            text_document=lsp.VersionedTextDocumentIdentifier(uri=uri, version=3),
            content_changes=[lsp.TextDocumentContentChangeWholeDocument(text=text)],
        )
    )
    await told.until(uri, lambda all: not any(one.code == "unknown-name" for one in all))

    # Every other answer is one of the protocol's own form.
    place = at(text, "    ginger rhi|zome                1 heaped")
    offered = await client.text_document_completion_async(
        lsp.CompletionParams(text_document=document, position=at(text, "    ginger| rhizome                1 heaped"))
    )
    assert any(one.label == "ginger root" for one in offered.items)
    definition = await client.text_document_definition_async(
        lsp.DefinitionParams(text_document=document, position=place)
    )
    assert definition[0].target_uri == (root / "materia" / "roots.scruple").as_uri()
    uses = await client.text_document_references_async(
        lsp.ReferenceParams(
            text_document=document, position=place, context=lsp.ReferenceContext(include_declaration=True)
        )
    )
    assert len(uses) >= 5
    prepared = await client.text_document_prepare_rename_async(
        lsp.PrepareRenameParams(text_document=document, position=place)
    )
    assert prepared.placeholder == "ginger rhizome"
    renamed = await client.text_document_rename_async(
        lsp.RenameParams(text_document=document, position=place, new_name="ginger, sliced")
    )
    assert len(renamed.document_changes) >= 2
    outline = await client.text_document_document_symbol_async(lsp.DocumentSymbolParams(text_document=document))
    assert outline[0].children[0].name == "peppermint leaf"
    symbols = await client.workspace_symbol_async(lsp.WorkspaceSymbolParams(query="chest"))
    assert any(one.name == "chest tea" for one in symbols)
    whole = lsp.Range(lsp.Position(0, 0), lsp.Position(text.count("\n"), 0))
    hints = await client.text_document_inlay_hint_async(lsp.InlayHintParams(text_document=document, range=whole))
    assert any(hint.label == "2.98 g, 3.2 %" for hint in hints)
    lenses = await client.text_document_code_lens_async(lsp.CodeLensParams(text_document=document))
    assert len(lenses) == 3 and "cups" in lenses[0].command.title
    tokens = await client.text_document_semantic_tokens_full_async(lsp.SemanticTokensParams(text_document=document))
    assert len(tokens.data) % 5 == 0 and len(tokens.data) > 500
    assert await client.text_document_folding_range_async(lsp.FoldingRangeParams(text_document=document))
    assert await client.text_document_selection_range_async(
        lsp.SelectionRangeParams(text_document=document, positions=[place])
    )
    assert await client.text_document_document_highlight_async(
        lsp.DocumentHighlightParams(text_document=document, position=place)
    )
    links = await client.text_document_document_link_async(lsp.DocumentLinkParams(text_document=document))
    assert not links, links
    options = lsp.FormattingOptions(tab_size=2, insert_spaces=True)
    messy = text.replace("    peppermint leaf               30 g   ", "    peppermint leaf   30grams ")
    client.text_document_did_change(
        lsp.DidChangeTextDocumentParams(
            text_document=lsp.VersionedTextDocumentIdentifier(uri=uri, version=4),
            content_changes=[lsp.TextDocumentContentChangeWholeDocument(text=messy)],
        )
    )
    edits = await client.text_document_formatting_async(
        lsp.DocumentFormattingParams(text_document=document, options=options)
    )
    assert "    peppermint leaf               30 g                 as base\n" in edited(messy, edits)
    await client.shutdown_async(None)
    client.exit(None)
    await asyncio.wait_for(client._server.wait(), 30)
    assert client._server.returncode == 0, client._server.returncode
    print("every answer has the form of the protocol")


asyncio.run(run())
