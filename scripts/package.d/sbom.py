#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Prints what is inside the programs, as CycloneDX 1.4 JSON [cyclonedx.org]: sbom.py ARCH PACKAGE..."""

import json
import os
import subprocess
import sys
import time
import uuid
from urllib.parse import quote


def asked(package: str, architecture: str) -> list[str]:
    """Source package, its version, the package's own, and its architecture: the target's, or all."""
    shown = "${source:Package} ${source:Version} ${Version} ${Architecture}\n"
    for name in (f"{package}:{architecture}", f"{package}:all"):
        said = subprocess.run(["dpkg-query", "-W", "-f", shown, name], capture_output=True, text=True)
        if said.returncode == 0 and said.stdout:
            return said.stdout.split()
    sys.exit(f"sbom: {package} is not installed")


def component(package: str, architecture: str) -> dict:
    source, source_version, version, kind = asked(package, architecture)
    name = f"pkg:deb/debian/{quote(package)}@{quote(version, safe=':')}?arch={kind}"
    return {"type": "library", "name": source, "version": source_version, "bom-ref": name, "purl": name}


def main() -> None:
    architecture, *packages = sys.argv[1:]
    version = subprocess.run(["dpkg-parsechangelog", "-S", "Version"], check=True, capture_output=True,
                             text=True).stdout.strip()
    components = [component(package, architecture) for package in packages]
    stamp = int(os.environ["SOURCE_DATE_EPOCH"])  # two builds are the same, bit by bit
    own = f"pkg:deb/nightlatch@{version}?arch={architecture}"
    print(json.dumps({
        "bomFormat": "CycloneDX", "specVersion": "1.4", "version": 1,
        "serialNumber": f"urn:uuid:{uuid.uuid5(uuid.NAMESPACE_URL, own + str(components))}",
        "metadata": {"timestamp": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(stamp)),
                     "component": {"type": "application", "name": "nightlatch", "version": version,
                                   "bom-ref": own, "purl": own}},
        "components": components,
        "dependencies": [{"ref": own, "dependsOn": [one["bom-ref"] for one in components]}],
    }, indent=1))


main()
