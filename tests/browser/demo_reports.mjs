// Makes the HTML verdict of every line of captures-demo/commands.
//   node demo_reports.mjs PROGRAM CAPTURES FOLDER

import { spawnSync } from "node:child_process";
import { mkdirSync, readFileSync } from "node:fs";
import { join } from "node:path";

const [program, captures, folder] = process.argv.slice(2);
mkdirSync(folder, { recursive: true });
let made = 0;
for (const line of readFileSync(join(captures, "commands"), "utf8").split("\n")) {
  const [name, ...words] = line.split(/\s+/).filter((word) => word !== "");
  if (!name || name.startsWith("#")) continue;
  const run = spawnSync(program, [...words, "--quiet", "--html", join(folder, `${name}.html`), "--json", join(folder, `${name}.json`)],
    { cwd: captures, encoding: "utf8" });
  if (run.status === null || run.status > 3) {
    console.error(`${name}: status ${run.status}: ${run.stderr}`);
    process.exit(1);
  }
  made += 1;
}
if (made === 0) process.exit(1);
console.log(`${made} reports`);
