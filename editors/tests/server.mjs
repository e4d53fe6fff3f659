// A language server that knows nothing: it answers the handshake and writes down what it is told, so that the
// tests see whether an editor starts `scruple lsp` as it should. usage: server.mjs <file> lsp

import { appendFileSync } from "node:fs";

const [, , notes, ...words] = process.argv;
const note = (what) => appendFileSync(notes, `${JSON.stringify(what)}\n`);
note({ words });

let waiting = Buffer.alloc(0);
const answer = (id, result) => {
  const text = JSON.stringify({ jsonrpc: "2.0", id, result });
  process.stdout.write(`Content-Length: ${Buffer.byteLength(text)}\r\n\r\n${text}`);
};

process.stdin.on("data", (bytes) => {
  waiting = Buffer.concat([waiting, bytes]);
  for (;;) {
    const head = waiting.indexOf("\r\n\r\n");
    if (head < 0) return;
    const length = Number(/Content-Length: (\d+)/i.exec(waiting.subarray(0, head).toString())[1]);
    if (waiting.length < head + 4 + length) return;
    const { id, method, params } = JSON.parse(waiting.subarray(head + 4, head + 4 + length).toString());
    waiting = waiting.subarray(head + 4 + length);
    if (method === "initialize") {
      note({ method, root: params.rootUri });
      answer(id, { capabilities: { textDocumentSync: 1 } });
    } else if (method === "textDocument/didOpen") {
      note({ method, uri: params.textDocument.uri, language: params.textDocument.languageId });
    } else if (method === "exit") {
      process.exit(0);
    } else if (id !== undefined) {
      answer(id, null);
    }
  }
});
process.stdin.on("end", () => process.exit(0));
