// The HTML as a validator sees it.
//   node markup.mjs FOLDER

import { readFileSync } from "node:fs";
import { join } from "node:path";
import { HtmlValidate } from "html-validate";
import { check, done, folder, reports } from "./browser.mjs";

const validator = new HtmlValidate({
  root: true,
  extends: ["html-validate:standard"],
  rules: { "long-title": "off", "no-trailing-whitespace": "off" },  // a title may name a long file
});
for (const name of reports()) {
  const text = readFileSync(join(folder, `${name}.html`), "utf8");
  const report = await validator.validateString(text);
  for (const result of report.results)
    for (const found of result.messages) check(false, `${name}:${found.line}:${found.column}: ${found.ruleId}: ${found.message}`);
}
check(!(await validator.validateString("<p><div></p>")).valid, "the validator finds faults");
done();
