// The line words of the language (grammar/words.json), in the groups that the editors' grammars colour alike.

import { readFileSync } from "node:fs";
import { join } from "node:path";
import { root } from "./corpus.mjs";

const table = JSON.parse(readFileSync(join(root, "grammar/words.json"), "utf8"));

/** Which group each pattern is in. A new pattern fails here until somebody says how it is coloured. */
const GROUPS = {
  words: "words",
  names: "names",
  caution: "caution",
  take: "take",
  used: "used",
  adapts: "adapts",
  strength: "strength",
  date: "date",
  flag: "amounts",
  weighing: "amounts",
  quantity: "amounts",
  factor: "amounts",
  percent: "amounts",
  density: "amounts",
  money: "amounts",
  most: "amounts",
  pack: "amounts",
  counted: "amounts",
  divide: "amounts",
  make: "amounts",
  age: "amounts",
  dose: "dose",
  preparation: "steps",
};

const longestFirst = (words) => [...new Set(words)].sort((a, b) => b.length - a.length || (a < b ? -1 : 1));

export const kinds = table.kinds.map(({ kind }) => kind);

/** Kinds whose names end in a day, and those without a rule of their own. */
export const dated = ["batch", "supply"];

const byGroup = {};
for (const { kind, lines } of table.kinds) {
  for (const { word, pattern } of lines) {
    const group = GROUPS[pattern];
    if (group === undefined) throw new Error(`nothing says how lines of the pattern \`${pattern}\` (${kind}, ${word}) are coloured`);
    (byGroup[group] ??= []).push(word);
  }
}

/** The line words of each group, the longest first. */
export const groups = Object.fromEntries(Object.entries(byGroup).map(([group, words]) => [group, longestFirst(words)]));

/** All line words. */
export const lineWords = longestFirst(Object.values(byGroup).flat());

for (const word of lineWords) {
  const homes = Object.keys(groups).filter((group) => groups[group].includes(word));
  if (homes.length > 1) throw new Error(`\`${word}\` is coloured in ${homes.length} ways: ${homes.join(", ")}`);
}

/** Words that end the words of a measure: `stop` of grammar/ledger.pest. */
export const stops = ["to", "or", "as", "in", "for", "at", "with", "from", "of", "and", "down", "on", "up", "every", "an", "a", "per", "once", "twice", "daily", "times"];

/** Household measures, as they may follow `a` and `an`: `household` of grammar/ledger.pest. */
export const household = ["teaspoon", "dessertspoon", "tablespoon", "cup", "pinch", "handful", "wineglass", "teacup", "drop"];
