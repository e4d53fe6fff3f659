// What the tree-sitter grammar accepts and flags, against what the language reference says of every ledger that
// the project shows. grammar/tree-sitter/README.md tells people the same.

import { readFileSync } from "node:fs";
import { join } from "node:path";
import { examples, pages, root } from "./corpus.mjs";
import { read } from "./engines/tree-sitter.mjs";

/** Findings about form whose line holds a fault of the tree. */
const FLAGGED = [
  "entry-without-a-name",
  "line-outside-an-entry",
  "line-without-an-amount",
  "merge-conflict-marks",
  "slashed-date",
  "unclosed-quote",
  "unknown-entry",
];

/** Findings about numbers whose line holds a `doubtful_number`, or else a fault: `1.2.5 g` and `1 000 g`. */
const DOUBTFUL = ["comma-in-a-number", "hyphenated-fraction", "naked-decimal-point", "number-not-understood"];

/** Findings that are flagged in some of their forms: `ij drachms` holds no number, `2 ij` does. */
const EITHER = ["roman-number"];

/** Whether a place of the tree reaches into a line; what is missing is found at the end of the line before. */
function reaches(text, { start, end }, line) {
  const row = (byte) => Buffer.from(text, "utf8").subarray(0, byte).toString("utf8").split("\n").length - 1;
  return row(start) <= line && line <= row(end);
}

export function acceptance() {
  const edges = "editors/tests/edges.scruple";
  const all = [...examples(), ...pages(), { name: edges, text: readFileSync(join(root, edges), "utf8"), codes: [] }];
  const amiss = [];
  let flagged = 0;
  read(all.map(({ text }) => text)).forEach(({ faults, captures }, at) => {
    const { name, text, codes } = all[at];
    for (const { line, code } of codes) {
      if (FLAGGED.includes(code)) {
        flagged += 1;
        if (!faults.some((fault) => reaches(text, fault, line))) amiss.push(`${name}: line ${line + 1} is not flagged: ${code}`);
      }
      if (DOUBTFUL.includes(code)) {
        flagged += 1;
        const doubtful = captures.filter((capture) => capture.query === "highlights" && capture.name === "error");
        if (![...doubtful, ...faults].some((place) => reaches(text, place, line))) amiss.push(`${name}: line ${line + 1} holds no doubtful number`);
      }
    }
    const expected = codes.some(({ code }) => [...FLAGGED, ...EITHER, "number-not-understood"].includes(code));
    if (faults.length > 0 && !expected) amiss.push(`${name}: flagged, though nothing is wrong with its form: ${JSON.stringify(faults)}`);
    const entries = text.split(/[\n\r]+/).filter((line) => /^(practice|source|herb|material|formula|person|batch|lot|supply|set|topic)\b/i.test(line));
    const folds = captures.filter(({ query, name: capture }) => query === "folds" && capture === "fold");
    if (faults.length === 0 && entries.length > 0 && folds.length < entries.length) amiss.push(`${name}: ${folds.length} folds for ${entries.length} entries`);
  });
  if (amiss.length > 0) throw amiss.join("\n  ");
  return `${all.length} ledgers read as the reference says, ${flagged} slips flagged`;
}
