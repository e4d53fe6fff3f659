// The TextMate grammar, read by the tokenizer that VS Code uses.

import { existsSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { here, root } from "../corpus.mjs";
import { Missing } from "../tools.mjs";

const require = createRequire(import.meta.url);
const path = join(root, "editors/vscode/syntaxes/scruple.tmLanguage.json");
let grammar;
let initial;

export const name = "textmate";

export async function prepare() {
  if (!existsSync(join(here, "node_modules/vscode-textmate"))) throw new Missing("the packages are not there: run `npm ci` in editors/tests");
  const oniguruma = require("vscode-oniguruma");
  const { INITIAL, Registry, parseRawGrammar } = require("vscode-textmate");
  await oniguruma.loadWASM(readFileSync(require.resolve("vscode-oniguruma/release/onig.wasm")).buffer);
  const registry = new Registry({
    onigLib: Promise.resolve({
      createOnigScanner: (patterns) => new oniguruma.OnigScanner(patterns),
      createOnigString: (text) => new oniguruma.OnigString(text),
    }),
    loadGrammar: async () => parseRawGrammar(readFileSync(path, "utf8"), path),
  });
  grammar = await registry.loadGrammar("source.scruple");
  initial = INITIAL;
  const versionOf = (name) => JSON.parse(readFileSync(join(here, `node_modules/${name}/package.json`), "utf8")).version;
  return `vscode-textmate ${versionOf("vscode-textmate")}, vscode-oniguruma ${versionOf("vscode-oniguruma")}`;
}

export function probe(files) {
  return files.map(({ text, points }) => {
    let state = initial;
    const lines = text.split("\n").map((line) => {
      const read = grammar.tokenizeLine(line, state);
      state = read.ruleStack;
      return read.tokens;
    });
    return points.map(({ line, column }) => {
      const token = lines[line].find(({ startIndex, endIndex }) => startIndex <= column && column < endIndex);
      const inner = token?.scopes.at(-1) ?? "";
      return inner === "source.scruple" ? "" : inner;
    });
  });
}

export const says = (found, { textmate }) => (textmate === undefined ? found === "" : found.startsWith(`${textmate}.`));
