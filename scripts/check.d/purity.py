# SPDX-License-Identifier: MIT
"""What lib/ and daemon/ must not do."""

import re
from collections import defaultdict
from typing import Iterator

from source import Finding, Tree, includes, is_cpp, lines

FORBIDDEN_IN_LIB = {
    r"thread|mutex|shared_mutex|condition_variable|future|stop_token|semaphore|barrier|latch":
        "lib/ starts and knows no thread",
    r"filesystem|fstream|sys/stat\.h|fcntl\.h|dirent\.h|sys/mman\.h": "lib/ opens no file",
    r"iostream|ostream|istream|print|syslog\.h": "lib/ logs nothing: it returns what it has to say",
    r"random": "lib/ draws no lots: the same input gives the same output",
    r"unistd\.h|sys/.*|linux/.*|poll\.h|signal\.h|csignal": "lib/ asks the system for nothing",
    r"time\.h|ctime": "lib/ reads no clock: time is an input",
    r"locale|clocale": "lib/ depends on no locale: what it writes is read back elsewhere",
    r"gpiod.*|systemd/.*": "lib/ touches no hardware and no system service",
}
FORBIDDEN_CALLS_IN_LIB = {
    r"\bnow\s*\(\s*\)": "lib/ reads no clock: time is an input",
    r"\b(?:system|steady|high_resolution|utc|file)_clock\b": "lib/ reads no clock: use BoardClock",
    r"\b(?:clock_gettime|gettimeofday|localtime|gmtime)\s*\(": "lib/ reads no clock",
    r"(?<![\w.>])(?:sleep|usleep|nanosleep)\s*\(|\bsleep_(?:for|until)\b": "lib/ does not sleep",
    r"(?<![\w.>])(?:secure_)?getenv\s*\(": "lib/ does not read the environment",
    r"(?<![\w.>])f?open\s*\(|\bparse_file\b": "lib/ opens no file",
    r"(?<![\w.>])(?:f?printf|f?puts|perror)\s*\(|\bstd::(?:cout|cerr|clog)\b": "lib/ logs nothing",
    r"(?<![\w.>])s?rand\s*\(|\brandom_device\b": "lib/ draws no lots",
    r"\bstd::(?:jthread|thread|async|mutex)\b|\bthread_local\b": "lib/ knows no thread",
}
# These rooms are handed ports, and may call through one or make a stand-in for it.
HANDED_PORTS = ("lib/supervisor/", "lib/rehearsal/")
THROUGH_A_PORT = {
    r"\bnow\s*\(\s*\)": r"(?<![\w.>])now\s*\(\s*\)(?! const)",
    r"(?<![\w.>])f?open\s*\(|\bparse_file\b":
        r"(?<![\w.>])f?open\s*\((?!const (?:ports::)?LineRequest&)|\bparse_file\b",
}
# The last words before an abort are the one thing that lib/ may print.
MAY_PRINT = {"lib/base/ensure.cpp"}


def code_only(text: str) -> str:
    """The text with comments, strings and character literals blanked, lines kept."""
    comments = r"//[^\n]*|/\*.*?\*/"
    strings = r'R"(\w*)\(.*?\)\1"|"(?:\\.|[^"\\\n])*"'
    characters = r"(?<![0-9a-fA-F])'(?:\\.|[^'\\\n])+'"  # not the ' within 1'000
    form = f"{comments}|{strings}|{characters}"
    return re.sub(form, lambda match: "\n" * match[0].count("\n") or " ", text, flags=re.S)


def matches(tree: Tree, prefix: tuple[str, ...], forms: dict[str, str]) -> Iterator[Finding]:
    for path, text in tree.items():
        if not path.startswith(prefix) or not is_cpp(path):
            continue
        for number, line in lines(code_only(text)):
            for form, reason in forms.items():
                if match := re.search(form, line):
                    yield Finding(path, number, f"{match[0].strip()}: {reason}")


def pure_includes(tree: Tree) -> Iterator[Finding]:
    for path, text in tree.items():
        if not path.startswith("lib/") or not is_cpp(path):
            continue
        for number, name, quoted in includes(text):
            for form, reason in FORBIDDEN_IN_LIB.items():
                if not quoted and re.fullmatch(form, name):
                    yield Finding(path, number, f"<{name}>: {reason}")


def pure_calls(tree: Tree) -> Iterator[Finding]:
    handed = {THROUGH_A_PORT.get(form, form): why for form, why in FORBIDDEN_CALLS_IN_LIB.items()}
    pure = {path: text for path, text in tree.items() if not path.startswith(HANDED_PORTS)}
    for finding in [*matches(pure, ("lib/",), FORBIDDEN_CALLS_IN_LIB),
                    *matches(tree, HANDED_PORTS, handed)]:
        if not (finding.path in MAY_PRINT and finding.sentence.endswith("logs nothing")):
            yield finding


# Libraries of which one file knows, so that the others neither depend on their ways nor pay for
# compiling them (nlohmann-json and CLI11 take seconds a file).
ONE_FILE_EACH = {
    "libgpiod": r"gpiod\.hp?p?",
    "sd-bus": r"systemd/sd-bus\.h",
    "sd-event": r"systemd/sd-event\.h",
    "nlohmann-json": r"nlohmann/.*",
    "CLI11": r"CLI/.*",
}


def one_file_each(tree: Tree) -> Iterator[Finding]:
    users = defaultdict(dict)
    for path, text in tree.items():
        if path.startswith("daemon/") and is_cpp(path):
            for number, name, _ in includes(text):
                for library, form in ONE_FILE_EACH.items():
                    if re.fullmatch(form, name):
                        users[library].setdefault(path, number)
    for library, places in users.items():
        first, *others = places.items()
        for path, number in others:
            yield Finding(path, number, f"{library} is included by one file only, and that is "
                          f"{first[0]}: everything else goes through what that file offers")


FORBIDDEN_EVERYWHERE = {
    r"\bthrow\b(?!\s*\(\s*\)\s*[;{])": "nobody throws: return a Result",
    r"(?<![\w.>])assert\s*\(": "assert() is gone in a release build: use NIGHTLATCH_ENSURE",
}
FORBIDDEN_PROCESSES = {
    r"(?<![\w.>])(?:fork|vfork|popen|posix_spawnp?|system|exec[lv]p?e?)\s*\(":
        "the service spawns no process",
}


def plain_errors(tree: Tree) -> Iterator[Finding]:
    yield from matches(tree, ("lib/", "daemon/"), FORBIDDEN_EVERYWHERE)


def no_process(tree: Tree) -> Iterator[Finding]:
    for finding in matches(tree, ("lib/", "daemon/"), FORBIDDEN_PROCESSES):
        if not finding.path.startswith("daemon/tool/"):
            yield finding
