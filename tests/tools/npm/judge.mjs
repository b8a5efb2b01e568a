// Judges documents by JSON Schemas with Ajv; the Python twin of this script is ../judge.py.
//
// Usage: node judge.mjs SCHEMAS CASES
//   SCHEMAS  a folder of `<name>.json` schemas, each of which must compile in strict mode
//   CASES    a file with one JSON text a line: [name of a schema, document]
// Prints one line a case: `true` if the document follows the schema, else `false`.

import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import Ajv from "ajv/dist/2020.js";
import addFormats from "ajv-formats";

const [folder, cases] = process.argv.slice(2);

const ajv = new Ajv({
  strict: true,
  strictTypes: true,
  strictTuples: true,
  strictRequired: true,
  validateSchema: true,
  // The value of a slot is an id or a number of degrees, and absent parts are null: real unions.
  allowUnionTypes: true,
});
addFormats(ajv);

const judges = new Map();
for (const file of readdirSync(folder).sort()) {
  const schema = JSON.parse(readFileSync(join(folder, file), "utf8"));
  judges.set(file.replace(/\.json$/, ""), ajv.compile(schema));
}

const verdicts = readFileSync(cases, "utf8").split("\n").map((line) => {
  const [name, document] = JSON.parse(line);
  return judges.get(name)(document);
});
process.stdout.write(verdicts.map((verdict) => `${verdict}\n`).join(""));
