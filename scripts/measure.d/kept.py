# SPDX-License-Identifier: MIT
"""Results that outlive a run of the campaign: JSON in build/campaign. Each carries a key, made from the
contents of all that was measured; a result with another key is as good as none."""

import hashlib
import json
import subprocess
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]
ROOM = TOP / "build/campaign"


def key_of(measures: tuple[str, ...]) -> str:
    names = subprocess.run(["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard", "--",
                            *measures], cwd=TOP, check=True, capture_output=True, text=True).stdout
    digest = hashlib.sha256()
    for name in sorted(filter(None, set(names.split("\0")))):
        path = TOP / name
        if path.is_file():
            digest.update(f"{name}\0{path.stat().st_size}\0".encode() + path.read_bytes())
    return digest.hexdigest()


def _file(name: str) -> Path:
    return ROOM / f"{name}.json"


def read(name: str, key: str) -> dict | None:
    try:
        found = json.loads(_file(name).read_text())
    except (OSError, ValueError):  # none, or the machine went down as it was written
        return None
    return found if found.get("key") == key else None


def write(name: str, key: str, result: dict) -> dict:
    file = _file(name)
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(json.dumps({**result, "key": key}, indent=2) + "\n")
    return result
