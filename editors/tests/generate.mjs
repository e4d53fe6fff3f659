// Writes what is made from the table of words (grammar/words.json) into the files of the editors; with `--check`
// says which of them are out of step, and writes nothing.

import { existsSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { pathToFileURL } from "node:url";
import { root } from "./corpus.mjs";
import { textmate } from "./made/textmate.mjs";
import { vim } from "./made/vim.mjs";

/** The files that are made, each with its text. */
function made() {
  const files = new Map();
  files.set("editors/vscode/syntaxes/scruple.tmLanguage.json", `${JSON.stringify(textmate(), null, 2)}\n`);
  files.set("editors/vim/syntax/scruple.vim", vim());
  return files;
}

/** The files whose text is not what it should be. */
export function stale() {
  return [...made()].filter(([name, text]) => !existsSync(join(root, name)) || readFileSync(join(root, name), "utf8") !== text);
}

if (import.meta.url === pathToFileURL(process.argv[1]).href) {
  const amiss = stale();
  for (const [name, text] of amiss) {
    console.log(process.argv.includes("--check") ? `out of step: ${name}` : `written: ${name}`);
    if (process.argv.includes("--check")) {
      process.exitCode = 1;
    } else {
      mkdirSync(dirname(join(root, name)), { recursive: true });
      writeFileSync(join(root, name), text);
    }
  }
}
