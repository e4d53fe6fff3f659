// The shared list of expectations, turned into points of files: a line, a column, and the class there.

import { readFileSync } from "node:fs";
import { join } from "node:path";
import { here, root } from "./corpus.mjs";

const list = JSON.parse(readFileSync(join(here, "expected.json"), "utf8"));

export const classes = list.classes;

const bytesOf = (text) => Buffer.byteLength(text, "utf8");

/** The files that cases name, each with the points at which an engine is tried. */
export function expectations(engine) {
  const files = new Map();
  for (const { file, line, is, only } of list.cases) {
    if (only && !only.includes(engine)) continue;
    if (!files.has(file)) {
      const path = join(root, file);
      files.set(file, { name: file, path, text: readFileSync(path, "utf8"), points: [] });
    }
    const { text, points } = files.get(file);
    const at = text.split("\n").indexOf(line);
    if (at < 0) throw new Error(`${file} has no line \`${line}\`: the list of expectations is out of step with it`);
    let from = 0;
    for (const [piece, name] of is) {
      if (!(name in classes)) throw new Error(`\`${name}\` is no class`);
      const start = line.indexOf(piece, from);
      if (start < 0) throw new Error(`${file}: \`${line}\` has no \`${piece}\` where it is expected`);
      from = start + piece.length;
      for (const column of new Set([start, from - 1])) {
        points.push({ line: at, column, byte: bytesOf(line.slice(0, column)), class: name, piece, whole: line });
      }
    }
  }
  return [...files.values()];
}
