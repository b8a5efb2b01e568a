"""The licence texts of everything in the program, each said once."""

from pathlib import Path

from crates import Crate, Program

BEGINNINGS = ("license", "licence", "copying", "copyright", "notice", "unlicense")
"""How the name of a file begins that is a licence or belongs to one."""

CODE = {".c", ".go", ".h", ".html", ".js", ".pl", ".py", ".rs", ".sh", ".yaml", ".yml"}
"""Endings of files that only happen to be called so."""

OPENING = """\
Third-party parts of {name} {version}

Below is every crate that the program is built from, with its licence as an SPDX expression and the
numbers of its texts, which follow it. A crate that takes part in the build alone is marked.

The program also holds Rust's standard library (MIT OR Apache-2.0) and, where it is linked
statically, the C library of the system that it was built on (glibc: LGPL-2.1-or-later).
"""


def licences(program: Program) -> str:
    """The whole file."""
    numbers: dict[str, int] = {}
    rows, notes = [], {}
    for crate in program.crates.values():
        found = texts(crate)
        for path, text in found:
            number = numbers.setdefault(text, len(numbers) + 1)
            notes.setdefault(number, []).append(f"{crate.name} {crate.version}: {path}")
        row = f"{crate.name} {crate.version}: {crate.expression}"
        if not crate.runs:
            row += " (build alone)"
        listed = ", ".join(str(number) for number in sorted({numbers[text] for _, text in found}))
        row += f"\n    texts {listed}" if found else "\n    without a licence file of its own"
        rows.append(row)
    parts = [OPENING.format(name=program.root.name, version=program.root.version), *rows]
    for text, number in numbers.items():
        of = "\n".join(f"  {place}" for place in notes[number])
        parts.append(f"{'=' * 100}\nText {number}, of\n{of}\n{'-' * 100}\n{text}")
    return "\n".join(parts) + "\n"


def texts(crate: Crate) -> list[tuple[str, str]]:
    """Its licence files with their places in its folder; libraries that it carries have their own."""
    files = {path for path in crate.folder.rglob("*") if is_licence(path)}
    files |= {path for path in crate.folder.glob("LICENSES/*") if path.is_file()}
    if crate.declared:
        files.add(crate.folder / crate.declared)
    found = []
    for path in sorted(files):
        text = path.read_text(encoding="utf-8", errors="replace").replace("\r\n", "\n")
        found.append((path.relative_to(crate.folder).as_posix(), text.strip("\n")))
    return found


def is_licence(path: Path) -> bool:
    name = path.name.lower()
    return name.startswith(BEGINNINGS) and path.suffix.lower() not in CODE and path.is_file()
