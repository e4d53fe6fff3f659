// The queries of Neovim and Helix: those of the grammar, and what the two name otherwise.

import { readFileSync } from "node:fs";
import { join } from "node:path";
import { root } from "../corpus.mjs";

const own = (name) => readFileSync(join(root, `grammar/tree-sitter/queries/${name}.scm`), "utf8");
const made = (name) => `; Made by editors/tests/generate.mjs from grammar/tree-sitter/queries/${name}.scm.\n\n`;

/** Helix calls the text objects otherwise. */
const helix = (text) =>
  text
    .replace("; As Neovim's text objects name them", "; As Helix's text objects name them")
    .replace(/@(\w+)\.outer/g, "@$1.around")
    .replace(/@(\w+)\.inner/g, "@$1.inside");

export function queries() {
  const files = new Map();
  for (const name of ["highlights", "folds", "injections", "textobjects"]) {
    files.set(`editors/neovim/queries/scruple/${name}.scm`, made(name) + own(name));
  }
  for (const name of ["highlights", "indents", "injections", "textobjects", "tags"]) {
    files.set(`editors/helix/queries/scruple/${name}.scm`, made(name) + (name === "textobjects" ? helix(own(name)) : own(name)));
  }
  return files;
}
