// Writes what is made from the table of words (grammar/words.json) into the files of the editors; with `--check`
// says which of them are out of step, and writes nothing.

import { existsSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { pathToFileURL } from "node:url";
import { root } from "./corpus.mjs";
import { kate } from "./made/kate.mjs";
import { queries } from "./made/queries.mjs";
import { textmate } from "./made/textmate.mjs";
import { groups, household, kinds, stops } from "./words.mjs";
import { vim } from "./made/vim.mjs";

const quoted = (words) => words.map((word) => JSON.stringify(word)).join(" ");

/** The words of Emacs. */
function emacs() {
  const lists = Object.entries(groups).map(([group, words]) => `(${group} ${quoted(words)})`);
  return `(defconst scruple--kinds
  '(${quoted(kinds)}))

(defconst scruple--groups
  '(${lists.join("\n    ")}))

(defconst scruple--stops
  '(${quoted(stops)}))

(defconst scruple--household
  '(${quoted(household)}))`;
}

/** A file with what stands between two marks made anew. */
function between(name, begin, end, text) {
  const whole = readFileSync(join(root, name), "utf8");
  const [before, rest] = whole.split(begin);
  if (rest === undefined || !rest.includes(end)) throw new Error(`${name} has no place for its words`);
  return `${before}${begin}\n${text}\n${end}${rest.split(end)[1]}`;
}

/** The files that are made, each with its text. */
function made() {
  const files = new Map();
  files.set("editors/vscode/syntaxes/scruple.tmLanguage.json", `${JSON.stringify(textmate(), null, 2)}\n`);
  files.set("editors/emacs/scruple-mode.el", between("editors/emacs/scruple-mode.el", ";; words: begin", ";; words: end", emacs()));
  files.set("editors/kate/scruple.xml", kate());
  files.set("editors/vim/syntax/scruple.vim", vim());
  return new Map([...files, ...queries()]);
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
