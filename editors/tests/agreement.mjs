// Every letter of the sound examples, with the class that the tree-sitter grammar gives it: what one editor shows
// the others are to show as well.

import { classes } from "./expectations.mjs";
import { examples } from "./corpus.mjs";
import * as treeSitter from "./engines/tree-sitter.mjs";

/** Punctuation and blanks are coloured as each engine finds it simplest. */
const COUNTS = /[\p{L}\p{N}#%€.]/u;

export function agreement() {
  const files = examples().filter(({ name }) => !name.startsWith("examples/broken/"));
  for (const file of files) {
    file.points = file.text.split("\n").flatMap((whole, line) => {
      let byte = 0;
      let column = 0;
      const points = [];
      for (const letter of whole) {
        if (COUNTS.test(letter) && (letter !== "." || /\d/.test(whole[column - 1] ?? ""))) {
          points.push({ line, column, byte, whole, piece: letter });
        }
        byte += Buffer.byteLength(letter, "utf8");
        column += letter.length;
      }
      return points;
    });
  }
  treeSitter.read([""]);
  treeSitter.probe(files).forEach((found, at) => {
    found.forEach((capture, which) => {
      files[at].points[which].class = Object.keys(classes).find((name) => (classes[name].treesitter ?? "") === capture);
    });
  });
  return files;
}
