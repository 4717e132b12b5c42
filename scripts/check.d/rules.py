# SPDX-License-Identifier: MIT
"""What every file must hold to, as text: each rule is a name and one small pure function.

A rule gets the whole tree, a mapping of path to text, and yields findings (path, line, sentence).
Line 0 means the file as a whole. The functions stand in the files beside this one.
"""

from typing import Callable, Iterator, NamedTuple

import defined
import directions
import foreign
import form
import mutated
import purity
from source import Finding, Tree


class Rule(NamedTuple):
    name: str
    find: Callable[[Tree], Iterator[Finding]]


RULES = [
    Rule("rooms", directions.known_rooms),
    Rule("include-directions", directions.include_directions),
    Rule("link-directions", directions.link_directions),
    Rule("library-users", directions.library_users),
    Rule("pure-includes", purity.pure_includes),
    Rule("pure-calls", purity.pure_calls),
    Rule("one-file-each", purity.one_file_each),
    Rule("plain-errors", purity.plain_errors),
    Rule("no-process", purity.no_process),
    Rule("sizes", form.sizes),
    Rule("long-lines", form.long_lines),
    Rule("clean-text", form.clean_text),
    Rule("plain-words", form.plain_words),
    Rule("licence-lines", form.licence_lines),
    Rule("dead-files", form.dead_files),
    Rule("defined", defined.undefined_functions),
    Rule("one-text", foreign.second_homes),
    Rule("raw-quotes", foreign.raw_quotes),
    Rule("who-prints", foreign.who_prints),
    Rule("test-names", form.test_names),
    Rule("mutations", mutated.stale_mutations),
    Rule("reasons", mutated.stale_reasons),
    Rule("no-machine", form.no_machine),
]
