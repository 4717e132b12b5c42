# SPDX-License-Identifier: MIT
"""All that scripts/mutate breaks, by heading; and what of it, and of the reasons, is no more in the tree."""

import re
from pathlib import Path
from typing import Iterator

import mutations
import mutations_requests
from no_counter_example import NO_COUNTER_EXAMPLE
from source import Finding, Tree

ALL = mutations.MUTATIONS | mutations_requests.REQUEST_MUTATIONS
REASONS = "scripts/check.d/no_counter_example.py"


def _headings() -> dict[str, str]:
    found = {}
    for module in (mutations, mutations_requests):
        heading = ""
        for line in Path(module.__file__).read_text(encoding="utf-8").splitlines():
            if match := re.fullmatch(r"    # --- (.+)", line):
                heading = match[1]
            elif match := re.fullmatch(r'    "(.+)": \[', line):
                found[match[1]] = heading
    return found


_HEADINGS = _headings()


def heading_of(what: str) -> str:
    """The comment that it stands under."""
    return _HEADINGS[what]


def stale_mutations(tree: Tree) -> Iterator[Finding]:
    for what, edits in ALL.items():
        for file, old, _ in edits:
            if file in tree and tree[file].count(old) != 1:
                yield Finding(file, 0, f'the mutation "{what}" does not apply any more')


def stale_reasons(tree: Tree) -> Iterator[Finding]:
    """Of a mutation, or naming a test, that is not there."""
    text = "".join(text for path, text in tree.items()
                   if path.startswith(("tests/unit/core/", "tests/property/")))
    for what, (_, test) in NO_COUNTER_EXAMPLE.items():
        if what not in ALL:
            yield Finding(REASONS, 0, f'there is no mutation "{what}"')
        if text and f'"{test}"' not in text:
            yield Finding(REASONS, 0, f'no test of the core is called "{test}"')
