# SPDX-License-Identifier: MIT
"""nightlatch-fleet(7): what it prints to be typed, typed.

usage: fleet_test.py NIGHTLATCH TREE

A unit's journal is sent by systemd-journal-upload to a systemd-journal-remote, where the page's commands
find its message; ssh is a stand-in that runs the rest here; what needs a running systemd or the network is
looked up in the packages' files instead. A command that this test does not know makes it fail.
"""

import contextlib
import json
import os
import pathlib
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import time

TOOL, TREE = (pathlib.Path(word).resolve() for word in sys.argv[1:3])
PAGE = (TREE / "daemon/tool/nightlatch-fleet.7").read_text()
SYSTEMD = pathlib.Path("/usr/lib/systemd")
BOOT = "0123456789abcdef0123456789abcdef"


def printed() -> list[str]:
    """The examples of the page, as a terminal shows them."""
    blocks = re.findall(r"^\.EX\n(.*?)^\.EE$", PAGE, re.M | re.S)
    for troff, shown in (("\\-", "-"), ("\\e", "\\"), ("\\(aq", "'"), ("\\(dq", '"')):
        blocks = [block.replace(troff, shown) for block in blocks]
    return blocks


def expect(what: str, so: bool, seen: object = "") -> None:
    if not so:
        raise SystemExit(f"not so: {what}\n{seen}")


class Desk:
    """A folder with what the page's commands find on a unit and on a collector."""

    def __init__(self, folder: pathlib.Path):
        self.folder = folder
        self.share, self.bin = folder / "share", folder / "bin"
        self.share.mkdir()
        self.bin.mkdir()
        for schema in (TREE / "daemon/tool").glob("*/*.schema.json"):
            shutil.copy(schema, self.share)
        for name, rest in (("ssh", 'shift\nexec sh -c "$*"'), ("sudo", 'exec "$@"')):
            self.program(name, f"#!/bin/sh\n{rest}\n")
        book = folder / "book"
        book.write_text((TREE / "tests/fuzz/corpus/logbook/lost").read_text())
        unit = folder / "unit.toml"
        unit.write_text((TREE / "config/examples/tide-logger.toml").read_text()
                        + f'\n[logbook]\npath = "{book}"\n')
        # The command as the page has it, on this desk's unit.
        self.program("nightlatch", f'#!/bin/sh\nexec {TOOL} "$@" --config {unit}\n')

    def program(self, name: str, text: str) -> None:
        (self.bin / name).write_text(text)
        (self.bin / name).chmod(0o755)

    def shell(self, text: str) -> str:
        done = subprocess.run(["sh", "-c", text.replace("/usr/share/nightlatch", str(self.share))],
                              cwd=self.folder, capture_output=True, text=True, timeout=120,
                              env={**os.environ, "PATH": f"{self.bin}:/usr/bin:/bin"})
        expect(f"nothing is said to standard error by: {text}", "error" not in done.stderr.lower()
               and "not found" not in done.stderr, done.stderr)
        return done.stdout


def check_tables() -> None:
    """The page has what the code has, no more and no less."""
    ids = re.findall(r'Message::(\w+), "([0-9a-f]{32})"', (TREE / "daemon/sys/message_ids.hpp").read_text())
    table = re.findall(r"^(\w+)\t([0-9a-f]{32})\tT\{$", PAGE, re.M)
    expect("the table has every kind of message", ids and set(ids) == set(table), set(ids) ^ set(table))
    said = {name for file in ("lib/supervisor/narrate.cpp", "daemon/tool/logbook/tell.cpp")
            for name in re.findall(r'\{"([A-Z_]+)",', (TREE / file).read_text())}
    named = re.findall(r"^\.(?:B|BR) (NIGHTLATCH_.*)$", PAGE, re.M)
    fields = {name for line in named for name in re.findall(r"NIGHTLATCH_([A-Z_]+)", line)}
    expect("the page has every field", said and said == fields, said ^ fields)


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


def wait_for(port: int, running: subprocess.Popen) -> None:
    end = time.monotonic() + 30
    while running.poll() is None and time.monotonic() < end:
        with contextlib.suppress(OSError):
            socket.create_connection(("127.0.0.1", port), 1).close()
            return
    raise SystemExit("the collector does not listen")


def message(kind: str) -> str:
    found = re.search(rf"^{kind}\t([0-9a-f]{{32}})\t", PAGE, re.M)
    expect(f"{kind} is in the page's table", found is not None)
    return found[1]


def journal_of_unit(folder: pathlib.Path) -> pathlib.Path:
    """What a unit said: a file of the journal, made by systemd's own program."""
    lines = [("this is run 2; run 1: lost", {"RUN": "2", "BEFORE": "1", "END": "lost"}),
             ("this is run 3; run 2: orderly", {"RUN": "3", "BEFORE": "2", "END": "orderly"})]
    text = ""
    for number, (words, fields) in enumerate(lines, 1):
        told = "".join(f"NIGHTLATCH_{name}={value}\n" for name, value in fields.items())
        text += (f"__REALTIME_TIMESTAMP=176457000{number}000000\n__MONOTONIC_TIMESTAMP={number}000000\n"
                 f"_BOOT_ID={BOOT}\n_HOSTNAME=unit-7\nMESSAGE={words}\n"
                 f"MESSAGE_ID={message('run_started')}\n{told}\n")
    export, journal = folder / "export", folder / "unit"
    export.write_text(text)
    journal.mkdir()
    subprocess.run([SYSTEMD / "systemd-journal-remote", "--split-mode=none",
                    f"--output={journal}/system.journal", export], check=True, capture_output=True)
    return journal


def send(journal: pathlib.Path, collected: pathlib.Path) -> None:
    """From the unit to the collector, by http: the page has https, for which both need certificates."""
    collected.mkdir()
    port = free_port()
    with subprocess.Popen([SYSTEMD / "systemd-journal-remote", f"--listen-http=127.0.0.1:{port}",
                           f"--output={collected}", "--split-mode=host"],
                          stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as collector:
        try:
            wait_for(port, collector)
            subprocess.run([SYSTEMD / "systemd-journal-upload", f"--url=http://127.0.0.1:{port}",
                            f"--file={journal}/system.journal", "--follow=no"],
                           check=True, capture_output=True, timeout=60)
        finally:
            collector.terminate()


def check_own_journal(desk: Desk, block: str) -> None:
    told = desk.shell(block.strip() + f" --directory={desk.folder / 'unit'}")
    expect("a unit's own journal has both", told.splitlines()
           == ["this is run 2; run 1: lost", "this is run 3; run 2: orderly"], told)


def check_collector(desk: Desk, block: str) -> None:
    told = desk.shell(block.replace("/var/log/journal/remote", str(desk.folder / "collected")))
    expect("the collector finds the run that was lost", told
           == "unit-7\t1\tthis is run 2; run 1: lost\n", told)


def check_upload_setting(_: Desk, block: str) -> None:
    known = (pathlib.Path("/etc/systemd/journal-upload.conf")).read_text()
    for line in block.splitlines():
        expect(f"the package's file has {line}", line.partition("=")[0] in known, known)


def check_enabled(_: Desk, block: str) -> None:
    for name in re.findall(r"enable --now (\S+)", block):
        places = (SYSTEMD / "system" / name, TREE / "systemd/examples" / name)
        expect(f"there is a unit {name}", any(place.exists() for place in places))


def check_metrics_setup(desk: Desk, block: str) -> None:
    check_enabled(desk, block)
    installed = (TREE / "systemd/CMakeLists.txt").read_text()
    for name in ("nightlatch-metrics.service", "nightlatch-metrics.timer"):
        expect(f"{name} is installed where the page has it", f"examples/{name}" in installed
               and "cp /usr/share/nightlatch/nightlatch-metrics.* /etc/systemd/system" in block)


def check_alarms(desk: Desk, block: str) -> None:
    """Every metric is one that the tool writes, but for what takes a running service."""
    told = desk.shell("nightlatch status --prometheus")
    for name in re.findall(r"\bnightlatch_\w+", block.replace("nightlatch.prom", "")):
        if "going_down" not in name:  # this logbook has no such time
            expect(f"there is a metric {name}", re.search(rf"^{name}[ {{]", told, re.M) is not None, told)


def check_answers(desk: Desk, block: str) -> None:
    lines = block.splitlines()
    expect("logbook, status and audit are asked", len(lines) == 3, block)
    expect("the logbook's summary is told", json.loads(desk.shell(lines[0]))["lost"] == 1)
    expect("what is wrong is told", bool(desk.shell(lines[1]).strip()))
    expect("the verdict is told", re.fullmatch(r"[a-z-]+ (true|false)\n", desk.shell(lines[2])) is not None)


def check_schema(desk: Desk, block: str) -> None:
    told = desk.shell(block)
    expect("the answer is as published", not told, told)
    told = desk.shell(block.replace("nightlatch logbook --json >", "echo '{}' >").rstrip() + " 2>&1")
    expect("another one is not", "'summary' is a required property" in told, told)


def check_upgrade(desk: Desk, block: str) -> None:
    save, against = block.splitlines()
    desk.shell(save)
    kept = desk.folder / "before.facts"
    kept.write_text(re.sub("^kernel.release = .*$", "kernel.release = 6.1.0", kept.read_text(), flags=re.M))
    expect("the other kernel is told", "kernel.release" in desk.shell(against).split())


CHECKS = (("journalctl --output=cat", check_own_journal), ("[Upload]", check_upload_setting),
          ("journalctl --directory", check_collector), ("sudo systemctl enable", check_enabled),
          ("sudo apt install", check_metrics_setup), ("nightlatch_up", check_alarms),
          ("ssh ", check_answers), ("nightlatch logbook", check_schema),
          ("sudo nightlatch audit", check_upgrade))


def main() -> None:
    check_tables()
    used = set()
    with tempfile.TemporaryDirectory() as name:
        desk = Desk(pathlib.Path(name))
        send(journal_of_unit(desk.folder), desk.folder / "collected")
        for block in printed():
            known = [(start, check) for start, check in CHECKS if block.startswith(start)]
            expect("the test knows each example", len(known) == 1, block)
            known[0][1](desk, block)
            used.add(known[0][0])
    expect("each check has its example", used == {start for start, _ in CHECKS})
    print(f"{len(printed())} examples do what they are there for")


if __name__ == "__main__":
    main()
