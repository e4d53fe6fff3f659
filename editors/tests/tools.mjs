// Finds and runs the programs that the tests need.

import { spawnSync } from "node:child_process";
import { chmodSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { here } from "./corpus.mjs";

/** A program that isn't there: its tests are left out, loudly; in CI that is a failure. */
export class Missing extends Error {}

export const scratch = mkdtempSync(join(tmpdir(), "scruple-editors-"));
process.on("exit", () => rmSync(scratch, { recursive: true, force: true }));

/** Runs a program to its end and gives what it printed; anything but success is an error. */
export function run(program, words, options = {}) {
  const done = spawnSync(program, words, { encoding: "utf8", maxBuffer: 1 << 28, timeout: 240_000, ...options });
  if (done.error?.code === "ENOENT") throw new Missing(`\`${program}\` is not installed`);
  if (done.error) throw done.error;
  if (done.status !== 0) {
    throw new Error(`${program} ended with ${done.status ?? done.signal}\n${done.stderr}${done.stdout.slice(0, 2000)}`);
  }
  return done;
}

/** The first line that a program prints of its version. */
export const versionOf = (program, words = ["--version"]) => run(program, words).stdout.split("\n")[0].trim();

/** A folder with a `scruple` in it that only notes what an editor tells it. */
export function fakeServer() {
  const folder = mkdtempSync(join(scratch, "server-"));
  const path = join(folder, "told");
  const program = join(folder, "bin/scruple");
  mkdirSync(join(folder, "bin"));
  writeFileSync(program, `#!/bin/sh\nexec "${process.execPath}" "${join(here, "server.mjs")}" "${path}" "$@"\n`);
  chmodSync(program, 0o755);
  const read = () => (existsSync(path) ? readFileSync(path, "utf8").trim().split("\n").map((line) => JSON.parse(line)) : []);
  return { folder: join(folder, "bin"), told: { path, read } };
}
