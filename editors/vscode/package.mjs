// Packs the extension as a file that VS Code and its relatives install: `npm ci && node package.mjs`.

import { spawnSync } from "node:child_process";
import { copyFileSync, rmSync } from "node:fs";
import { dirname } from "node:path";
import { fileURLToPath } from "node:url";

process.chdir(dirname(fileURLToPath(import.meta.url)));
copyFileSync("../../LICENSE", "LICENSE.txt");
const { status } = spawnSync(
  process.execPath,
  ["node_modules/@vscode/vsce/vsce", "package", "--allow-missing-repository", "--out", process.argv[2] ?? "scruple.vsix"],
  { stdio: "inherit" },
);
rmSync("LICENSE.txt");
process.exitCode = status ?? 1;
