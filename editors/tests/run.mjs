// Holds the grammars of all editors to one list of expectations (expected.json), and the tree-sitter grammar
// to what the language reference says of every ledger that the project shows.
//
//   npm ci && node run.mjs [engine]...
//
// A program that isn't installed is named, and its tests are left out; with CI=true that is a failure.

import { classes, expectations } from "./expectations.mjs";
import { Missing } from "./tools.mjs";
import * as treeSitter from "./engines/tree-sitter.mjs";
import * as textmate from "./engines/textmate.mjs";
import { neovim, vim } from "./engines/vim.mjs";
import * as emacs from "./engines/emacs.mjs";
import * as kate from "./engines/kate.mjs";
import { agreement } from "./agreement.mjs";
import { generated, parser, vscode, vsix } from "./parts.mjs";
import { againstScruple } from "./slips.mjs";
import { acceptance } from "./acceptance.mjs";

const engines = [treeSitter, textmate, vim, neovim, emacs, kate];
const chosen = process.argv.slice(2);
const strict = process.env.CI === "true";
const left = [];
const faults = [];

/** Runs one part of the tests and says how it went. */
async function part(name, work) {
  if (chosen.length > 0 && !chosen.includes(name)) return;
  try {
    console.log(`ok       ${name}: ${await work()}`);
  } catch (error) {
    if (error instanceof Missing) {
      left.push(name);
      console.log(`LEFT OUT ${name}: ${error.message}`);
    } else {
      faults.push(name);
      console.log(`FAILED   ${name}: ${error.stack ?? error}`);
    }
  }
}

/** The points of files at which an engine sees something else than is expected. */
async function differences(engine, files) {
  const amiss = [];
  (await engine.probe(files)).forEach((found, at) => {
    const { name, points } = files[at];
    points.forEach((point, which) => {
      if (!engine.says(found[which], classes[point.class])) {
        amiss.push(`${name}:${point.line + 1}:${point.column + 1}: \`${point.piece}\` is not ${point.class} but ${found[which] || "plain"}\n        ${point.whole}`);
      }
    });
  });
  return amiss;
}

const count = (files) => files.reduce((sum, { points }) => sum + points.length, 0);

for (const engine of engines) {
  await part(engine.name, async () => {
    const version = await engine.prepare();
    const expected = expectations(engine.name);
    const amiss = await differences(engine, expected);
    if (amiss.length > 0) throw `${amiss.length} of ${count(expected)} points\n  ${amiss.join("\n  ")}`;
    let agreed = "";
    if (engine !== treeSitter) {
      const all = agreement();
      const apart = await differences(engine, all);
      if (apart.length > 0) throw `${apart.length} of ${count(all)} letters of the examples are not as tree-sitter sees them\n  ${apart.slice(0, 20).join("\n  ")}`;
      agreed = `, ${count(all)} letters of the examples as tree-sitter sees them`;
    }
    const more = (await engine.more?.()) ?? "";
    return `${count(expected)} points as expected${agreed}${more} (${version})`;
  });
}
await part("acceptance", acceptance);
await part("slips", againstScruple);
await part("generated", generated);
await part("vscode", vscode);
await part("vsix", vsix);
if (strict || chosen.includes("parser")) await part("parser", parser);
else console.log("left to CI, or to `node run.mjs parser`: whether parser.c is what grammar.js gives");

if (left.length > 0) {
  console.log(`\n${"!".repeat(78)}\n! NOT TESTED for want of a program: ${left.join(", ")}\n${"!".repeat(78)}`);
}
process.exitCode = faults.length > 0 || (strict && left.length > 0) ? 1 : 0;
