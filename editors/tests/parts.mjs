// What is tested beside the colours: that what is made is up to date, and what VS Code is given.

import { cpSync, existsSync, mkdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { here, root } from "./corpus.mjs";
import { read as readTrees } from "./engines/tree-sitter.mjs";
import { stale } from "./generate.mjs";
import { Missing, run, scratch } from "./tools.mjs";
import { lineWords } from "./words.mjs";

const json = (path) => JSON.parse(readFileSync(join(root, path), "utf8"));

/** What is made from the table of words says what the table says. */
export function generated() {
  const amiss = stale().map(([name]) => name);
  if (amiss.length > 0) throw `out of step, run \`node editors/tests/generate.mjs\`: ${amiss.join(", ")}`;
  const rules = Object.keys(json("grammar/tree-sitter/src/grammar.json").rules);
  const ruleOf = (word) => `_word_${word.replace(/[ -]/g, "_")}`;
  const lacking = lineWords.filter((word) => !rules.includes(ruleOf(word)));
  const left = rules.filter((rule) => rule.startsWith("_word_") && !lineWords.some((word) => rule === ruleOf(word)));
  if (lacking.length + left.length > 0) throw `the tree-sitter parser is older than the words: ${[...lacking, ...left].join(", ")}`;
  return `the files of all editors know the ${lineWords.length} line words`;
}

/** The committed parser is what its grammar gives. This compiles the generator, which takes a minute or two. */
export function parser() {
  const copy = join(scratch, "again/tree-sitter");
  mkdirSync(copy, { recursive: true });
  cpSync(join(root, "grammar/words.json"), join(scratch, "again/words.json"));
  for (const name of ["grammar.js", "package.json", "tree-sitter.json"]) cpSync(join(root, "grammar/tree-sitter", name), join(copy, name));
  run("cargo", ["run", "--quiet", "--manifest-path", join(here, "generator/Cargo.toml"), "--", copy], {
    timeout: 900_000,
    env: { CARGO_TARGET_DIR: join(root, "target/generator"), ...process.env },
  });
  for (const name of ["parser.c", "grammar.json", "node-types.json"]) {
    if (readFileSync(join(copy, "src", name), "utf8") !== readFileSync(join(root, "grammar/tree-sitter/src", name), "utf8")) {
      throw `src/${name} is not what grammar.js gives: grammar/tree-sitter/README.md says how it is made anew`;
    }
  }
  return "parser.c is what grammar.js gives";
}

/** A snippet as it stands when nothing but its first words were typed. */
function expanded(body) {
  const today = { CURRENT_YEAR: "2026", CURRENT_MONTH: "11", CURRENT_DATE: "03" };
  return body
    .join("\n")
    .replace(/\$\{([A-Z_]+)\}/g, (_, name) => today[name])
    .replace(/\$\{\d+:([^}]*)\}/g, "$1")
    .replace(/\$0/g, "");
}

/** The extension, with stand-ins for the editor and its client, asks for `scruple lsp` over its two streams. */
function starts() {
  const asked = [];
  const standIns = {
    vscode: { workspace: { getConfiguration: () => ({ get: () => "/opt/scruple" }) } },
    "vscode-languageclient/node": {
      LanguageClient: class {
        constructor(...words) {
          asked.push(words);
        }
        start() {
          asked.push("started");
        }
        stop() {
          asked.push("stopped");
        }
      },
    },
  };
  const module = { exports: {} };
  const text = readFileSync(join(root, "editors/vscode/extension.js"), "utf8");
  new Function("require", "exports", "module", text)((name) => standIns[name], module.exports, module);
  module.exports.activate();
  module.exports.deactivate();
  const expected = [
    ["scruple", { command: "/opt/scruple", args: ["lsp"] }, { documentSelector: [{ scheme: "file", language: "scruple" }] }],
    "started",
    "stopped",
  ];
  if (JSON.stringify(asked) !== JSON.stringify(expected)) throw `the extension asks for ${JSON.stringify(asked)}`;
}

export function vscode() {
  const snippets = json("editors/vscode/snippets/scruple.json");
  const { kinds } = json("grammar/words.json");
  const bodies = Object.values(snippets);
  for (const { kind, lines } of kinds) {
    const own = bodies.filter(({ body }) => body[0].split(" ")[0] === kind);
    if (own.length === 0) throw `no snippet for ${kind}`;
    for (const { body } of own) {
      for (const line of body.slice(1).filter((line) => /^ {2}\S/.test(line))) {
        if (!lines.some(({ word }) => line.trim() === word || line.trim().startsWith(`${word} `))) throw `${kind} has no line \`${line}\``;
      }
    }
  }
  // amounts that are still to be typed are no amounts, so only what has none is held to the grammar
  const whole = bodies.filter(({ body }) => /^(practice|source|set|topic) /.test(body[0]));
  readTrees(whole.map(({ body }) => expanded(body))).forEach(({ faults }, at) => {
    if (faults.length > 0) throw `the snippet \`${whole[at].prefix}\` is not understood:\n${expanded(whole[at].body)}`;
  });
  const manifest = json("editors/vscode/package.json");
  const named = [manifest.main, ...manifest.contributes.languages.map((one) => one.configuration), ...manifest.contributes.grammars.map((one) => one.path), ...manifest.contributes.snippets.map((one) => one.path)];
  for (const name of named) {
    if (!existsSync(join(root, "editors/vscode", name))) throw `package.json names ${name}, which is not there`;
  }
  const configuration = json("editors/vscode/language-configuration.json");
  for (const { beforeText } of configuration.onEnterRules) new RegExp(beforeText.pattern, beforeText.flags);
  for (const { kind } of kinds) {
    if (!new RegExp(configuration.onEnterRules[0].beforeText.pattern, "i").test(`${kind} of some name`)) throw `no indentation below ${kind}`;
  }
  starts();
  return `${bodies.length} snippets with known lines, all files of the package are there`;
}

/** Packs the extension and looks into the file. */
export function vsix() {
  const folder = join(root, "editors/vscode");
  if (!existsSync(join(folder, "node_modules/@vscode/vsce"))) throw new Missing("the packages are not there: run `npm ci` in editors/vscode");
  const path = join(scratch, "scruple.vsix");
  run(process.execPath, [join(folder, "package.mjs"), path]);
  const listed = run("unzip", ["-Z1", path]).stdout.split("\n");
  const wanted = ["package.json", "extension.js", "readme.md", "LICENSE.txt", "syntaxes/scruple.tmLanguage.json", "node_modules/vscode-languageclient/node.js"];
  const lacking = wanted.filter((name) => !listed.some((inside) => inside.toLowerCase() === `extension/${name}`.toLowerCase()));
  if (lacking.length > 0) throw `the package lacks ${lacking.join(", ")}`;
  return `the package holds ${listed.length - 1} files`;
}
