"""A client of a signed repository that is not ours: python-tuf, as its makers advise to use it.

    rollout.py ADDRESS TRUSTED_ROOT FOLDER [SECONDS]

FOLDER keeps what was seen between runs. SECONDS moves the client's clock. Prints each document's name
and SHA-256 as JSON and ends with 0; or prints why it refuses the repository and ends with 1.
"""

import datetime
import hashlib
import json
import pathlib
import sys

from tuf.api.exceptions import DownloadError, RepositoryError
from tuf.ngclient import Updater, UpdaterConfig

address, trusted, folder, *clock = sys.argv[1:]
folder = pathlib.Path(folder)
for part in ("metadata", "targets"):
    (folder / part).mkdir(parents=True, exist_ok=True)
try:
    updater = Updater(
        str(folder / "metadata"),
        f"{address}/metadata/",
        str(folder / "targets"),
        f"{address}/targets/",
        config=UpdaterConfig(
            root_max_length=256 * 1024,
            timestamp_max_length=256 * 1024,
            snapshot_max_length=256 * 1024,
            targets_max_length=4 * 1024 * 1024,
            max_root_rotations=1024,
        ),
        bootstrap=pathlib.Path(trusted).read_bytes(),
    )
    if clock:
        # The client has no clock of its own to give; this is the one time that it compares with.
        updater._trusted_set.reference_time += datetime.timedelta(seconds=int(clock[0]))
    updater.refresh()
    # A name of the overlay's has the client fetch and judge what the overlay's key signed.
    updater.get_targetinfo("overlay.none")
    seen = {}
    for name in sorted(updater._trusted_set.targets.targets):
        target = updater.get_targetinfo(name)
        path = updater.download_target(target)
        data = pathlib.Path(path).read_bytes()
        seen[name] = {"sha256": hashlib.sha256(data).hexdigest(), "said": target.custom}
except (RepositoryError, DownloadError, ValueError) as why:
    print(f"{type(why).__name__}: {why}")
    sys.exit(1)
print(json.dumps(seen))
