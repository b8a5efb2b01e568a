"""Forges metadata of a signed repository with keys that somebody may have stolen, by python-tuf.

    rollout_forge.py REPOSITORY WHAT KEY [PASSPHRASE_FILE]

WHAT is one of:
  recipe     a changed book, and targets, snapshot and timestamp that go with it, all signed by KEY
  back       a snapshot that pins the targets before, and its timestamp, signed by KEY
  drop       a snapshot that no longer pins the overlay, and its timestamp, signed by KEY
  timestamp  the timestamp, one version on, signed by KEY
  root       the next root, the same keys in it, signed by KEY alone
"""

import copy
import datetime
import hashlib
import pathlib
import sys

from cryptography.hazmat.primitives.serialization import load_pem_private_key
from securesystemslib.signer import CryptoSigner
from tuf.api.metadata import Metadata, MetaFile, TargetFile

repository, what, key, *passphrase = sys.argv[1:]
repository = pathlib.Path(repository)
metadata = repository / "metadata"
password = pathlib.Path(passphrase[0]).read_text().splitlines()[0].encode() if passphrase else None
signer = CryptoSigner(load_pem_private_key(pathlib.Path(key).read_bytes(), password))


def later(role):
    role.signed.version += 1
    role.signed.expires = datetime.datetime.now(datetime.timezone.utc).replace(
        microsecond=0
    ) + datetime.timedelta(days=1)


def put(role, name):
    role.sign(signer, append=False)
    data = role.to_bytes()
    (metadata / name).write_bytes(data)
    return MetaFile(role.signed.version, len(data), {"sha256": hashlib.sha256(data).hexdigest()})


timestamp = Metadata.from_file(str(metadata / "timestamp.json"))
pinned = timestamp.signed.snapshot_meta.version
snapshot = Metadata.from_file(str(metadata / f"{pinned}.snapshot.json"))


def put_snapshot():
    later(snapshot)
    timestamp.signed.snapshot_meta = put(snapshot, f"{snapshot.signed.version}.snapshot.json")
    put_timestamp()


def put_timestamp():
    later(timestamp)
    put(timestamp, "timestamp.json")


if what == "recipe":
    version = snapshot.signed.meta["targets.json"].version
    targets = Metadata.from_file(str(metadata / f"{version}.targets.json"))
    old = targets.signed.targets["book.json"]
    book = repository / "targets" / f"{old.hashes['sha256']}.book.json"
    data = book.read_bytes().replace(b'"dose_g": 19', b'"dose_g": 29')
    assert data != book.read_bytes(), "the recipe is changed"
    new = TargetFile.from_data("book.json", data, ["sha256"])
    new.unrecognized_fields = copy.deepcopy(old.unrecognized_fields)
    targets.signed.targets["book.json"] = new
    (repository / "targets" / f"{new.hashes['sha256']}.book.json").write_bytes(data)
    later(targets)
    snapshot.signed.meta["targets.json"] = put(targets, f"{targets.signed.version}.targets.json")
    put_snapshot()
elif what == "back":
    version = snapshot.signed.meta["targets.json"].version - 1
    data = (metadata / f"{version}.targets.json").read_bytes()
    snapshot.signed.meta["targets.json"] = MetaFile(
        version, len(data), {"sha256": hashlib.sha256(data).hexdigest()}
    )
    put_snapshot()
elif what == "drop":
    del snapshot.signed.meta["overlay.json"]
    put_snapshot()
elif what == "timestamp":
    put_timestamp()
elif what == "root":
    newest = max(int(path.name.split(".")[0]) for path in metadata.glob("*.root.json"))
    root = Metadata.from_file(str(metadata / f"{newest}.root.json"))
    later(root)
    put(root, f"{root.signed.version}.root.json")
else:
    sys.exit(f"{what} is nothing that can be forged")
