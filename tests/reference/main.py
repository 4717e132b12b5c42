#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Compares how Nightlatch reads every device tree of Debian's arm64 and armhf kernels with what the
device-tree compiler says of them. Ends with 0 only when there is no difference."""

import argparse
import os
import subprocess
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Iterator, NamedTuple

import dts
import packages
import remedies
import rivals
from lines import Line, NoLine, Reading, names_gpios
from pads import Pads

READ_AS_STRINGS = ("compatible", "status", "gpio-line-names")
ASKED_OF_FDTGET = 16  # properties a tree
# How many boards the remedies are tried on, and what must come of them at least: boards, families,
# families with pinctrl.
REMEDIES, REMEDIES_LEAST = 400, (150, 15, 3)
SAMPLE, SAMPLE_LEAST = 24, (12, 6, 1)


class Verdict(NamedTuple):
    tree: str
    counts: Counter
    neither: Counter  # what both leave alone, by reason
    differences: list[str]
    post_halt: list[str]
    rivals: Counter  # who else switches off, by class


def our_reading(dump: str, blob: Path) -> list[list[str]]:
    done = subprocess.run([dump], input=f"{blob}\n", capture_output=True, text=True)
    lines = done.stdout.splitlines()
    if done.returncode != 0 or not lines or not lines[-1].startswith(("end", "trouble")):
        raise dts.NotUnderstood(f"tree_dump: {done.stderr.strip()[-400:]}")
    return [line.split("\t") for line in lines[1:]]


class Comparison:
    """Of one tree."""

    def __init__(self, name: str, ours: list[list[str]], nodes: list[dts.Node]):
        self.counts, self.neither, self.rivals = Counter(trees=1), Counter(), Counter()
        self.ways: dict[str, str] = {}
        self.differences: list[str] = []
        self.name, self.reading = name, Reading(nodes)
        self.per_node: dict[str, list[list[str]]] = {}
        self.facts: Counter = Counter()
        path = ""
        for kind, *rest in ours:
            if kind == "trouble":
                self.differs("whole tree", rest[0], "readable")
            elif kind == "node":
                path = rest[0]
                self.per_node[path] = []
            elif kind in ("enabled", "prop", "strings", "line"):
                self.per_node[path].append([kind, *rest])
            elif kind == "wayoff":
                self.ways[rest[0]] = rest[1]
            elif kind != "end":
                self.facts[self.without_sentence(kind, rest)] += 1

    @staticmethod
    def without_sentence(kind: str, rest: list[str]) -> tuple[str, ...]:
        if "none" in rest:
            rest = rest[:rest.index("none") + 1]
        if kind == "controller":
            rest = rest[:3]  # whether its bus sleeps has no reference here
        return (kind, *rest)

    def differs(self, where: str, ours: object, theirs: object) -> None:
        self.differences.append(f"{self.name} {where}: we read {ours!r}, dtc says {theirs!r}")

    def run(self) -> None:
        theirs = [node.path for node in self.reading.nodes]
        if list(self.per_node) != theirs:
            self.differs("nodes", sorted(set(self.per_node) - set(theirs))[:3],
                         sorted(set(theirs) - set(self.per_node))[:3])
        for node in self.reading.nodes:
            if node.path in self.per_node:
                self.compare_node(node, self.per_node[node.path])
        facts = Counter(self.reading.facts() | self.pad_facts())
        # A property may name one line twice, so ours are compared as a set.
        for fact in sorted(set(self.facts) ^ set(facts)):
            mine = fact in self.facts
            self.differs(fact[1], fact if mine else None, None if mine else fact)
        self.counts.update(fact[0] for fact in self.facts)
        self.compare_ways_off()

    def pad_facts(self) -> set[tuple]:
        facts, pads = set(), Pads(self.reading)
        for node, line in self.reading.line_nodes():
            pad = pads.pad(line)
            facts.add(("pad", node.path, "-" if pad.pin is None else str(pad.pin),
                       str(int(pad.switches)), str(int(pad.readable))))
            facts |= {("padset", node.path, *setting) for setting in pad.settings}
            if "gpio-poweroff" in node.strings("compatible"):
                self.counts["post-halt pads"] += 1
                self.counts["post-halt pads read"] += pad.readable
                self.counts["post-halt pads set by a node"] += bool(pad.settings)
        return facts

    def compare_node(self, node: dts.Node, ours: list[list[str]]) -> None:
        self.counts["nodes"] += 1
        mine = {rest[0]: rest[1] for kind, *rest in ours if kind == "prop"}
        theirs = {name: value.hex() for name, value in node.properties.items()}
        self.counts["properties"] += len(theirs)
        for name in mine.keys() | theirs.keys():
            if mine.get(name) != theirs.get(name):
                self.differs(f"{node.path}:{name}", mine.get(name), theirs.get(name))
        for kind, *rest in ours:
            if kind == "enabled":
                on = self.reading.enabled[node.path]
                self.counts["status"] += 1
                if rest != [str(int(on))]:
                    self.differs(f"{node.path} enabled", rest, on)
            elif kind == "strings":
                self.counts[f"{rest[0]} strings"] += len(rest) - 1
                theirs_now = [text.encode("latin-1").hex() for text in node.strings(rest[0])]
                if rest[1:] != theirs_now:
                    self.differs(f"{node.path}:{rest[0]}", rest[1:], theirs_now)
        self.compare_lines(node, [rest for kind, *rest in ours if kind == "line"])

    def compare_ways_off(self) -> None:
        """Every node that can switch the board off is found, and what is found is one or says so."""
        theirs = list(rivals.expected(self.reading.nodes, self.reading.enabled))
        for path, name, part in theirs:
            mine = self.ways.pop(path, None)
            self.rivals[f"{name}{', without the property' if part == 'no' else ''}"] += 1
            if mine != part and not (part == "listed" and mine):
                self.differs(f"{path} ({name})", mine, part)
        # What no class here has: our table knows more drivers than the classes do.
        self.rivals["of our table alone"] += len(self.ways)
        if any(part == "post-halt" for _, _, part in theirs) and any(
                part == "yes" for _, _, part in theirs):
            self.rivals["trees with a post-halt node and another way off"] += 1

    def compare_lines(self, node: dts.Node, ours: list[list[str]]) -> None:
        theirs = [(name, str(index), entry) for name in node.properties if names_gpios(name)
                  for index, entry in enumerate(self.reading.entries(node, name))]
        if [rest[:2] for rest in ours] != [[name, index] for name, index, _ in theirs]:
            self.differs(f"{node.path} lines", ours, theirs)
            return
        for (_, _, *mine), (name, index, entry) in zip(ours, theirs):
            where = f"{node.path}:{name}[{index}]"
            self.counts["specifiers"] += 1
            if isinstance(entry, Line):
                self.counts["specifiers resolved"] += 1
                if mine != [str(part) for part in entry]:
                    self.differs(where, mine, entry)
            elif mine[0] == "none":
                self.leave_alone(node, entry)
            else:
                self.differs(where, mine, entry.reason)

    def leave_alone(self, node: dts.Node, entry: NoLine) -> None:
        what = "a hog's, which names no controller" if "gpio-hog" in node.properties else \
            "a table of labels" if node.path.startswith("/__") else "a line"
        self.neither[f"{what}: {entry.reason}"] += 1

    def ask_fdtget(self, blob: Path) -> None:
        confused = mistaken_by_fdtget(self.reading.nodes)
        if confused:
            self.counts["nodes that fdtget mistakes for another, and is not asked about"] += len(
                confused)
        pairs = [(node.path, name) for node in self.reading.nodes if node.path not in confused
                 for name, value in node.properties.items() if value and is_worth_asking(name)]
        pairs = spread(pairs, ASKED_OF_FDTGET)
        mine = {(path, rest[0]): rest[1] for path, facts in self.per_node.items()
                for kind, *rest in facts if kind == "prop"}
        answers = list(dts.fdtget(blob, pairs))
        if len(answers) != len(pairs):
            self.differs("fdtget", len(pairs), len(answers))
        for pair, answer in zip(pairs, answers):
            self.counts["fdtget values"] += 1
            if mine.get(pair) != answer.hex():
                self.differs(f"fdtget {pair[0]}:{pair[1]}", mine.get(pair), answer.hex())

    def post_halt(self) -> Iterator[str]:
        for kind, path, *rest in sorted(self.facts):
            if kind != "posthalt":
                continue
            on, active, inactive, timeout, is_input, *line = rest
            target = "no line that can be read" if len(line) != 3 else \
                f"{line[0]} line {line[1]} active {'low' if int(line[2]) & 1 else 'high'}"
            yield (f"{self.name}: {path}{'' if on == '1' else ' (disabled)'} -> {target}, "
                   f"{active}/{inactive}/{timeout} ms{', input' if is_input == '1' else ''}")


def is_worth_asking(name: str) -> bool:
    return names_gpios(name) or name in READ_AS_STRINGS or name.endswith("delay-ms")


def mistaken_by_fdtget(nodes: list[dts.Node]) -> set[str]:
    """Paths for which libfdt finds another node: asked for "timer" it also takes a "timer@1" that
    comes before it (Devicetree Specification 2.2.3)."""
    confused: set[str] = set()
    for node in nodes:
        siblings = node.parent.children if node.parent else [node]
        earlier = siblings[:siblings.index(node)]
        if (node.parent and node.parent.path in confused) or (
                "@" not in node.name and
                any(other.name.startswith(f"{node.name}@") for other in earlier)):
            confused.add(node.path)
    return confused


def spread(items: list, count: int) -> list:
    """`count` of them, evenly."""
    if len(items) <= count:
        return items
    return [items[i * len(items) // count] for i in range(count)]


def examine(task: tuple[str, str, Path]) -> Verdict:
    dump, name, blob = task
    try:
        comparison = Comparison(name, our_reading(dump, blob), dts.decompile(blob))
        comparison.run()
        comparison.ask_fdtget(blob)
    except dts.NotUnderstood as reason:
        return Verdict(name, Counter(trees=1), Counter(), [f"{name}: not compared: {reason}"], [],
                       Counter())
    return Verdict(name, comparison.counts, comparison.neither, comparison.differences,
                   list(comparison.post_halt()), comparison.rivals)


def chosen(kernels: list[packages.Kernel], sample: int | None) -> list[tuple[str, Path]]:
    trees = []
    for kernel in kernels:
        for blob in kernel.trees.rglob("*.dtb"):
            # usr/lib/linux-image-…/ is the same for all of a package.
            trees.append((f"{kernel.arch}/{'/'.join(blob.relative_to(kernel.trees).parts[3:])}", blob))
    trees.sort()
    if sample is None:
        return trees
    with_node = [tree for tree in trees if b"gpio-poweroff\0" in tree[1].read_bytes()]
    return sorted({*spread(trees, sample), *with_node})


def report(verdicts: list[Verdict]) -> int:
    counts, neither, others = Counter(), Counter(), Counter()
    for verdict in verdicts:
        others += verdict.rivals
        counts += verdict.counts
        neither += verdict.neither
    nodes = [line for verdict in verdicts for line in verdict.post_halt]
    differences = [line for verdict in verdicts for line in verdict.differences]
    print(f"\npost-halt nodes ({len(nodes)}), each as the decompiled source says unless listed "
          "below:")
    print("\n".join(f"  {line}" for line in nodes))
    print("\ncompared:")
    for what, count in counts.items():
        print(f"  {count:>9,}  {what}")
    print("left alone by both, with a sentence of ours for each:" if neither else "")
    for reason, count in neither.most_common():
        print(f"  {count:>9,}  {reason}")
    print("\nenabled nodes that can switch a board off, each found by the audit unless listed below:")
    for what, count in others.most_common():
        print(f"  {count:>9,}  {what}")
    print(f"\ndifferences: {len(differences)}")
    print("\n".join(f"  {line}" for line in differences[:100]))
    return 1 if differences or not counts["trees"] else 0


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--dump", required=True, help="the program that prints our reading")
    parser.add_argument("--tool", required=True, help="nightlatch itself, for its remedies")
    parser.add_argument("--sample", type=int, metavar="N",
                        help="N trees, evenly spread by name, and all with a post-halt node")
    parser.add_argument("--suite", default=packages.release(), help="whose kernels (%(default)s)")
    asked = parser.parse_args()
    kernels = packages.kernels(asked.suite)
    for kernel in kernels:
        print(f"{kernel.package} {kernel.version} ({kernel.arch}): "
              f"{sum(1 for _ in kernel.trees.rglob('*.dtb'))} trees")
    tasks = [(asked.dump, name, blob) for name, blob in chosen(kernels, asked.sample)]
    print(f"comparing {len(tasks)} of them", flush=True)
    without_node = [(asked.tool, name, blob) for name, blob in chosen(kernels, None)
                    if b"gpio-poweroff\0" not in blob.read_bytes()]
    boards = spread(without_node, REMEDIES if asked.sample is None else SAMPLE)
    least = REMEDIES_LEAST if asked.sample is None else SAMPLE_LEAST
    with ProcessPoolExecutor(os.cpu_count()) as workers:
        status = report(list(workers.map(examine, tasks, chunksize=4)))
        tried = list(workers.map(remedies.try_board, boards, chunksize=4))
    return max(status, remedies.report(tried, least))


if __name__ == "__main__":
    sys.exit(main())
