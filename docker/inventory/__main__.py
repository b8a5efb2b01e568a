"""Writes the bill of materials and the licence texts into the folder that is given."""

import sys
from pathlib import Path

from bill import bill
from crates import shipped
from licences import licences


def main() -> int:
    if len(sys.argv) != 2:
        print("usage: python docker/inventory FOLDER", file=sys.stderr)
        return 2
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    program = shipped()
    for name, text in {"sbom.cdx.json": bill(program), "licences.txt": licences(program)}.items():
        (folder / name).write_text(text, encoding="utf-8")
        print(folder / name)
    return 0


sys.exit(main())
