// Kate's highlighting, by the library that Kate itself uses. A copy of the definition gives each attribute a colour
// of its own, and what stands in the page that the library makes tells the attributes by their colours.

import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { root } from "../corpus.mjs";
import { run, scratch, versionOf } from "../tools.mjs";

const source = join(root, "editors/kate/scruple.xml");
const program = "kate-syntax-highlighter";
const attributes = [];
const env = { ...process.env, XDG_DATA_HOME: scratch, QT_QPA_PLATFORM: "offscreen", HOME: scratch, LC_ALL: "C.UTF-8" };

export const name = "kate";

export function prepare() {
  const version = versionOf(program);
  // spelled by the markup's own rules, as any reader of XML sees it
  run("xmllint", ["--noout", source]);
  const folder = join(scratch, "org.kde.syntax-highlighting/syntax");
  mkdirSync(folder, { recursive: true });
  const coloured = readFileSync(source, "utf8").replace(/<itemData name="([^"]*)"/g, (whole, name) => {
    attributes.push(name);
    return `${whole} color="#0000${(attributes.length + 16).toString(16)}"`;
  });
  writeFileSync(join(folder, "scruple.xml"), coloured);
  return version;
}

const entities = { lt: "<", gt: ">", amp: "&", quot: '"', "#39": "'" };

export function probe(files) {
  return files.map(({ path, points }) => {
    const { stdout, stderr } = run(program, ["--syntax", "scruple", "--theme", "Breeze Light", path], { env });
    // the library says so where a definition is not right, and goes on
    if (/error|warning|invalid|unknown/i.test(stderr)) throw new Error(stderr);
    const body = /<pre[^>]*>\n?([^]*)<\/pre>/.exec(stdout)[1];
    const lines = [[]];
    let attribute = "";
    for (const [, tag, entity, letter] of body.matchAll(/<([^>]*)>|&([^;]*);|([^])/gu)) {
      if (tag !== undefined) {
        const colour = /color:#0000([0-9a-f]{2})/.exec(tag);
        attribute = colour ? attributes[parseInt(colour[1], 16) - 17] : "";
      } else if (letter === "\n") {
        lines.push([]);
      } else {
        const shown = entity === undefined ? letter : (entities[entity] ?? "?");
        for (let unit = 0; unit < shown.length; unit += 1) lines.at(-1).push(attribute);
      }
    }
    return points.map(({ line, column }) => lines[line]?.[column] ?? "nothing");
  });
}

export const says = (found, { kate }) => found === (kate ?? "Plain") || (kate === undefined && found === "");
