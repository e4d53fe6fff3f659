// Starts `scruple lsp` and hands it to the editor. All that is known of ledgers is known there.

const { workspace } = require("vscode");
const { LanguageClient } = require("vscode-languageclient/node");

let client;

exports.activate = () => {
  const command = workspace.getConfiguration("scruple").get("command");
  client = new LanguageClient(
    "scruple",
    { command, args: ["lsp"] },
    { documentSelector: [{ scheme: "file", language: "scruple" }] },
  );
  return client.start();
};

exports.deactivate = () => client?.stop();
