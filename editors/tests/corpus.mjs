// All ledgers that the project shows: the examples, and the blocks of the language reference and of the
// findings' pages with what their comments say that each line gives.

import { readFileSync, readdirSync } from "node:fs";
import { dirname, join, relative } from "node:path";
import { fileURLToPath } from "node:url";

export const here = dirname(fileURLToPath(import.meta.url));
export const root = join(here, "../..");

function filesBelow(folder) {
  return readdirSync(folder, { withFileTypes: true })
    .flatMap((item) => (item.isDirectory() ? filesBelow(join(folder, item.name)) : [join(folder, item.name)]))
    .sort();
}

/** What the annotations of a block say: for each line, counted from zero, the codes that it gives. */
function annotations(text) {
  const codes = [];
  text.split("\n").forEach((line, at) => {
    const found = /#(\^?) *((?:error|warning|notice): .*)$/.exec(line);
    if (!found) return;
    for (const part of found[2].split(",")) {
      codes.push({ line: found[1] ? at - 1 : at, code: part.split(":")[1].trim() });
    }
  });
  return codes;
}

/** The blocks of a page that are ledgers. */
function blocks(path) {
  const found = [];
  let open = null;
  readFileSync(path, "utf8").split("\n").forEach((line, at) => {
    if (open === null && /^```scruple( |$)/.test(line)) {
      open = { name: `${relative(root, path)}:${at + 2}`, lines: [] };
    } else if (open !== null && line.startsWith("```")) {
      const text = open.lines.join("\n").replace(/<U\+([0-9A-F]+)>/g, (_, code) => String.fromCodePoint(parseInt(code, 16)));
      found.push({ name: open.name, text: `${text}\n`, codes: annotations(text) });
      open = null;
    } else if (open !== null) {
      open.lines.push(line);
    }
  });
  return found;
}

/** The examples that are sound, and those with one mistake each. */
export function examples() {
  const broken = new Map();
  for (const row of readFileSync(join(root, "examples/broken/expected.tsv"), "utf8").split("\n").slice(1)) {
    const [file, line, , code] = row.split("\t");
    if (code) broken.set(file, [...(broken.get(file) ?? []), { line: Number(line) - 1, code }]);
  }
  return filesBelow(join(root, "examples"))
    .filter((path) => path.endsWith(".scruple"))
    .map((path) => {
      const name = relative(root, path);
      const codes = name.startsWith("examples/broken/") ? (broken.get(name.split("/").pop()) ?? []) : [];
      return { name, path, text: readFileSync(path, "utf8"), codes };
    });
}

/** Every block of the reference. */
export function pages() {
  return filesBelow(join(root, "grammar"))
    .filter((path) => path.endsWith(".md") && !path.includes("node_modules"))
    .flatMap(blocks);
}
