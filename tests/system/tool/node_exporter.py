# SPDX-License-Identifier: MIT
"""A file of metrics as the textfile collector of Debian's prometheus-node-exporter reads it.

usage: node_exporter.py FILE

Starts the exporter with that collector alone on a port of its own choice, reads /metrics, and ends with
0 when the collector found no error and gives every sample of the file back, each with its value.
"""

import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import urllib.request


def exporter(folder: pathlib.Path) -> subprocess.Popen:
    return subprocess.Popen(
        ["prometheus-node-exporter", "--collector.disable-defaults", "--collector.textfile",
         f"--collector.textfile.directory={folder}", "--web.listen-address=127.0.0.1:0"],
        stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)


def listening(running: subprocess.Popen) -> str:
    """The address that it logs once it listens."""
    for line in running.stderr:
        if match := re.search(r"address=\"?(127\.0\.0\.1:\d+)", line):
            if not match[1].endswith(":0"):
                return match[1]
    raise SystemExit("the exporter ended before it listened")


def samples(text: str) -> dict[str, float]:
    """By name and labels as the text has them; the exporter writes labels in order of their names."""
    found = {}
    for line in text.splitlines():
        if line.startswith("nightlatch_"):
            name, value = line.rsplit(" ", 1)
            found[name] = float(value)
    return found


def families(text: str) -> dict[str, str]:
    return dict(re.findall(r"^# TYPE (nightlatch_\w+) (\w+)$", text, re.M))


def main() -> int:
    if not shutil.which("prometheus-node-exporter"):
        print("prometheus-node-exporter is not here: scripts/setup installs it")
        return 1
    file = pathlib.Path(sys.argv[1])
    with tempfile.TemporaryDirectory() as name:
        shutil.copy(file, pathlib.Path(name) / "nightlatch.prom")
        running = exporter(pathlib.Path(name))
        try:
            with urllib.request.urlopen(f"http://{listening(running)}/metrics", timeout=30) as page:
                read = page.read().decode()
        finally:
            running.kill()
            running.wait()
    ours = file.read_text()
    wrong = [] if "\nnode_textfile_scrape_error 0\n" in read else ["the collector found an error"]
    if not samples(ours) or samples(read) != samples(ours):
        wrong.append(f"it reads {samples(read)} of {samples(ours)}")
    if families(read) != families(ours) or set(families(read).values()) - {"gauge", "counter"}:
        wrong.append(f"its types are {families(read)} of {families(ours)}")
    print("\n".join(wrong))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
