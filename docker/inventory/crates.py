"""What cargo says of the program: its crates, and which of them uses which."""

import json
import re
import subprocess
import tomllib
from dataclasses import dataclass, field
from pathlib import Path

SYSTEM = "x86_64-unknown-linux-gnu"


@dataclass
class Crate:
    """One crate of the program, or of what builds it."""

    name: str
    version: str
    expression: str
    """Its licence, as an SPDX expression."""
    folder: Path
    declared: str | None
    """The licence file that its manifest names."""
    about: str | None
    repository: str | None
    sha256: str | None
    """Digest of its archive, as Cargo.lock has it."""
    runs: bool = False
    """Whether code of it is in the program; else it only takes part in the build."""
    uses: set[tuple[str, str]] = field(default_factory=set)

    @property
    def key(self) -> tuple[str, str]:
        return (self.name, self.version)


@dataclass
class Program:
    """The program itself, and every crate by name and version."""

    root: Crate
    crates: dict[tuple[str, str], Crate]


def shipped() -> Program:
    """The program with all that it is built from; crates of tests and benches are left out."""
    uses = tree("normal,build")
    running = set(tree("normal,no-proc-macro"))
    known = described()
    crates = {}
    for key in sorted(uses):
        crate = known[key]
        crate.uses = uses[key]
        crate.runs = key in running
        crates[key] = crate
    metadata = cargo("metadata", "--no-deps", "--format-version", "1")
    own = json.loads(metadata)["packages"][0]
    root = crates.pop((own["name"], own["version"]))
    return Program(root, crates)


def tree(edges: str) -> dict[tuple[str, str], set[tuple[str, str]]]:
    """Each crate with those that it uses.

    The graph that `cargo metadata` prints also holds what only a feature of some test asks for;
    `cargo tree` resolves features as a build of the program does.
    """
    printed = cargo(
        "tree", "--edges", edges, "--target", SYSTEM, "--prefix", "depth", "--format", " {p}"
    )
    uses: dict[tuple[str, str], set[tuple[str, str]]] = {}
    path: list[tuple[str, str]] = []
    for line in printed.splitlines():
        found = re.match(r"(\d+) (\S+) v(\S+)", line)
        if found is None:
            raise ValueError(f"cargo tree printed a line that is no crate: {line!r}")
        depth, key = int(found[1]), (found[2], found[3])
        del path[depth:]
        if path:
            uses[path[-1]].add(key)
        path.append(key)
        uses.setdefault(key, set())
    return uses


def described() -> dict[tuple[str, str], Crate]:
    """Every crate that Cargo.lock holds for the system."""
    metadata = json.loads(cargo("metadata", "--format-version", "1", "--filter-platform", SYSTEM))
    locked = tomllib.loads(Path("Cargo.lock").read_text(encoding="utf-8"))["package"]
    digests = {(one["name"], one["version"]): one.get("checksum") for one in locked}
    crates = {}
    for one in metadata["packages"]:
        key = (one["name"], one["version"])
        crates[key] = Crate(
            name=one["name"],
            version=one["version"],
            # Older manifests write a slash for OR.
            expression=re.sub(r"\s*/\s*", " OR ", one["license"] or "NOASSERTION"),
            folder=Path(one["manifest_path"]).parent,
            declared=one["license_file"],
            about=one["description"],
            repository=one["repository"],
            sha256=digests[key],
        )
    return crates


def cargo(command: str, *arguments: str) -> str:
    """What cargo prints; it may not touch Cargo.lock."""
    done = subprocess.run(
        ["cargo", command, "--locked", *arguments], stdout=subprocess.PIPE, text=True, check=True
    )
    return done.stdout
