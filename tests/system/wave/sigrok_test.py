# SPDX-License-Identifier: MIT
"""What we write and read beside sigrok-cli, Debian's own: an independent reader of our dumps and
writer of dumps and tables. Published reference: libsigrok 0.5.2, src/input/vcd.c,
src/output/vcd.c, src/output/csv.c; the format, IEEE 1364-2005, clause 18.

  sigrok_test.py WAVE_DUMP [unittest options]    SEED=n replays"""

import os
import pathlib
import random
import re
import subprocess
import sys
import tempfile
import unittest

WAVE_DUMP = sys.argv.pop(1)
SEED = int(os.environ.get("SEED") or random.SystemRandom().randrange(2**32))
NS = 1_000_000_000

# Rates whose period is a whole number of nanoseconds, and some whose is not.
RATES = (100, 25_000, 1_000_000, 3_000_000, 24_000_000, 500_000_000)


def run(*words, **options) -> str:
    done = subprocess.run([str(word) for word in words], capture_output=True, text=True, **options)
    if done.returncode != 0:
        raise AssertionError(f"{words}: {done.stdout[-2000:]}{done.stderr[-2000:]}")
    return done.stdout


def wave_dump(*words, **options) -> str:
    return run(WAVE_DUMP, *words, **options)


def edges_read(kind: str, text: str, signals: list[str]) -> list[str]:
    return wave_dump("read", kind, *signals, input=text).splitlines()


def nearest(numerator: int, denominator: int) -> int:
    return (2 * numerator + denominator) // (2 * denominator)


def expected_edges(levels: list[int], times: list[int], end: int) -> list[str]:
    lines = [f"0 {levels[0]}"]
    for before, level, at in zip(levels, levels[1:], times[1:]):
        if before != level:
            lines.append(f"{at} {level}")
    return lines + [f"{end} end"]


class Recording:
    """Random samples of four channels, as a session file of sigrok's own."""

    def __init__(self, draw: random.Random, room: pathlib.Path, rate: int):
        self.rate = rate
        self.names = ["0", "1", "2", "3"]  # as its binary reader names them
        self.samples = []
        while len(self.samples) < 400:
            self.samples += [draw.randrange(16)] * draw.choice((1, 1, 2, 9, 40))
        self.binary = room / "samples.bin"
        self.binary.write_bytes(bytes(self.samples))
        self.source = f"binary:numchannels=4:samplerate={rate}"
        self.session = room / "samples.sr"
        run("sigrok-cli", "-i", self.binary, "-I", self.source, "-O", "srzip", "-o", self.session)

    def levels(self, channel: int) -> list[int]:
        return [sample >> channel & 1 for sample in self.samples]

    def edges(self, times: list[int], end: int) -> list[str]:
        lines = []
        for channel, name in enumerate(self.names):
            lines += [name, *expected_edges(self.levels(channel), times, end)]
        return lines

    def times(self, first: int) -> list[int]:
        """Of all samples and of the end, when the first one has this number."""
        start = nearest(first * NS, self.rate)
        return [nearest((first + i) * NS, self.rate) - start for i in range(len(self.samples) + 1)]


class Sigrok(unittest.TestCase):
    def setUp(self):
        room = tempfile.TemporaryDirectory()
        self.addCleanup(room.cleanup)
        self.room = pathlib.Path(room.name)
        self.draw = random.Random(f"{SEED} {self.id()}")

    def written_by(self, *words) -> str:
        """What sigrok-cli writes to a file: on standard output it says more than the file."""
        out = self.room / "out"
        run("sigrok-cli", *words, "-o", out)
        return out.read_text()

    def recordings(self):
        return (Recording(self.draw, self.room, rate) for rate in RATES)

    def compare_samples(self, step: int, steps: int):
        words = (self.draw.randrange(2**32), step, steps)
        dump = self.room / "ours.vcd"
        dump.write_text(wave_dump("write", *words))
        said = run("sigrok-cli", "-i", dump, "-I", f"vcd:downsample={step}", "-O", "bits:width=0")
        theirs = {name: bits.replace(" ", "")
                  for name, bits in re.findall(r"^(\w+):([01 ]+)$", said, re.M)}
        ours = dict(line.split(":") for line in wave_dump("samples", *words).splitlines())
        self.assertLess(2, len(ours))
        self.assertEqual({name: theirs.get(name) for name in ours}, ours, f"of {words}")
        self.assertEqual(set(theirs) - set(ours), {"request"})

    def test_every_sample_of_our_dumps_is_what_sigrok_reads_at_a_microsecond(self):
        for _ in range(12):
            self.compare_samples(1_000, 3_000)

    def test_every_sample_of_our_dumps_is_what_sigrok_reads_at_a_nanosecond(self):
        for _ in range(6):
            self.compare_samples(1, 3_000)

    def test_sigrok_reads_our_dumps_without_a_complaint(self):
        dump = self.room / "ours.vcd"
        dump.write_text(wave_dump("write", self.draw.randrange(2**32), 1_000, 3_000))
        words = ["sigrok-cli", "-i", dump, "-I", "vcd:downsample=1000", "-O", "null"]
        self.assertEqual(subprocess.run(words, capture_output=True, text=True).stderr, "")

    def test_dumps_of_sigrok_are_read_with_the_same_edges(self):
        for recording in self.recordings():
            text = self.written_by("-i", recording.session, "-O", "vcd")
            times = recording.times(0)
            self.assertEqual(edges_read("vcd", text, recording.names),
                             recording.edges(times, times[-1]), f"at {recording.rate} Hz")

    def test_dumps_that_learn_of_the_rate_late_are_read_with_the_same_edges(self):
        for recording in self.recordings():
            text = self.written_by("-i", recording.binary, "-I", recording.source, "-O", "vcd")
            self.assertTrue(text.startswith("META samplerate"))
            times = recording.times(0)
            self.assertEqual(edges_read("vcd", text, recording.names),
                             recording.edges(times, times[-1]), f"at {recording.rate} Hz")

    def compare_table(self, recording: Recording, text: str, first: int):
        times = recording.times(first)
        self.assertEqual(edges_read("csv", text, recording.names),
                         recording.edges(times, times[-2]), f"at {recording.rate} Hz")

    def test_tables_of_sigrok_without_times_are_read_with_the_same_edges(self):
        for recording in self.recordings():
            for options in ("", ":label=channel", ":label=off"):
                text = self.written_by("-i", recording.session, "-O", "csv" + options)
                self.compare_table(recording, text, 0)

    def test_tables_of_sigrok_with_times_are_read_with_the_same_edges(self):
        for recording in self.recordings():
            for options in ("", ":label=channel", ":label=off", ":dedup=true",
                            ":trigger=true:label=channel"):
                text = self.written_by("-i", recording.session, "-O", "csv:time=true" + options)
                self.compare_table(recording, text, 1)  # its first sample has the number 1

    def test_tables_that_learn_of_the_rate_late_are_read_with_the_same_edges(self):
        for recording in self.recordings():
            text = self.written_by("-i", recording.binary, "-I", recording.source, "-O", "csv")
            self.assertIn("META samplerate", text)
            self.compare_table(recording, text, 0)

    def test_a_table_in_which_sigrok_writes_zeros_for_times_is_refused(self):
        recording = Recording(self.draw, self.room, 1_000)
        text = self.written_by("-i", recording.binary, "-I", recording.source,
                               "-O", "csv:time=true")
        refused = subprocess.run([WAVE_DUMP, "read", "csv", "0"], input=text, capture_output=True,
                                 text=True)
        self.assertEqual(refused.returncode, 1)
        self.assertIn("every row has the same time", refused.stderr)


if __name__ == "__main__":
    print(f"SEED={SEED}", flush=True)
    unittest.main()
