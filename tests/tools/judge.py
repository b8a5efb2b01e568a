"""Judges documents by JSON Schemas with python-jsonschema; the twin of npm/judge.mjs.

Usage: python judge.py SCHEMAS CASES
  SCHEMAS  a folder of `<name>.json` schemas, each of which must be a schema of draft 2020-12
  CASES    a file with one JSON text a line: [name of a schema, document]
Prints one line a case: `true` if the document follows the schema, else `false`.
"""

import json
import pathlib
import sys

from jsonschema import Draft202012Validator


def main(folder: str, cases: str) -> None:
    judges = {}
    for file in sorted(pathlib.Path(folder).glob("*.json")):
        schema = json.loads(file.read_text(encoding="utf-8"))
        Draft202012Validator.check_schema(schema)
        judges[file.stem] = Draft202012Validator(schema)
    for line in pathlib.Path(cases).read_text(encoding="utf-8").split("\n"):
        name, document = json.loads(line)
        print("true" if judges[name].is_valid(document) else "false")


main(*sys.argv[1:])
