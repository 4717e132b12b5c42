# SPDX-License-Identifier: MIT
"""What every file must hold to, as text: each rule is data and one small pure function.

A rule gets the whole tree, a mapping of path to text, and yields findings (path, line, sentence).
Line 0 means the file as a whole. Nothing here opens a file.
"""

import re
from collections import defaultdict
from typing import Callable, Iterator, NamedTuple

Tree = dict[str, str]


class Finding(NamedTuple):
    path: str
    line: int
    sentence: str


class Rule(NamedTuple):
    name: str
    find: Callable[[Tree], Iterator[Finding]]


# --- which room may know which ---------------------------------------------------------------

LIB_ROOMS = {
    "base": set(),
    "core": {"base"},
    "config": {"base", "core"},
    "devicetree": {"base"},
    "bootfiles": {"base"},
    "circuit": {"base"},
    "logbook": {"base"},
    "wave": {"base"},
    "audit": {"base", "core", "config", "devicetree", "bootfiles", "circuit"},
}
ADAPTERS = {"gpio", "login", "bus", "led", "facts"}
DAEMON_ROOMS = {
    # The guard runs when everything else is gone: a static program, no adapter in it.
    "guard": set(),
    "ports": set(),
    "sys": {"ports"},
    **{adapter: {"ports", "sys"} for adapter in ADAPTERS},
    "service": {"ports", "sys", "guard"} | ADAPTERS,
    "tool": {"ports", "sys", "service"} | ADAPTERS,
}
DAEMON_ROOMS["led"].add("gpio")  # a cue can be shown on a GPIO line
# Libraries that only these rooms may link or include; a room not listed has the C++ library only.
LIBRARY_USERS = {
    "toml": {"config"},
    "fdt": {"devicetree"},
    "gpiod": {"gpio"},
    "systemd": {"sys", "login", "bus", "service", "tool"},
    "cli11": {"tool"},
    "nlohmann": {"tool"},
    "threads": set(),
}
LIBRARY_HEADERS = {
    "toml": r"toml\+\+/|toml\.hpp",
    "fdt": r"libfdt|fdt\.h",
    "gpiod": r"gpiod",
    "systemd": r"systemd/",
    "cli11": r"CLI/",
    "nlohmann": r"nlohmann/",
    "threads": r"pthread\.h",
}


def room_of(path: str) -> tuple[str, str] | None:
    """("lib", "core") for lib/core/x.cpp; None for what lies outside lib/ and daemon/."""
    parts = path.split("/")
    if len(parts) < 3 or parts[0] not in ("lib", "daemon"):
        return None
    return parts[0], parts[1]


def may_know(user: tuple[str, str], used: tuple[str, str]) -> bool:
    if user == used:
        return True
    if user[0] == "lib":
        return used[0] == "lib" and used[1] in LIB_ROOMS.get(user[1], set())
    if used[0] == "lib":
        return True
    return used[1] in DAEMON_ROOMS.get(user[1], set())


def lines(text: str) -> Iterator[tuple[int, str]]:
    return enumerate(text.split("\n"), 1)


def includes(text: str) -> Iterator[tuple[int, str, bool]]:
    """(line, name, is it in quotes) of each include line."""
    for number, line in lines(text):
        if match := re.match(r'\s*#\s*include\s*([<"])([^>"]+)[>"]', line):
            yield number, match[2], match[1] == '"'


def is_cpp(path: str) -> bool:
    return path.endswith((".cpp", ".hpp", ".c", ".h"))


def is_script(path: str, text: str) -> bool:
    return text.startswith("#!") or path.endswith((".py", ".sh"))


def is_code(path: str, text: str) -> bool:
    """What people here write and read as a program: C++, scripts, CMake."""
    return is_cpp(path) or is_script(path, text) or path.endswith((".cmake", "CMakeLists.txt"))


def known_rooms(tree: Tree) -> Iterator[Finding]:
    for path in tree:
        room = room_of(path)
        if room and room[1] not in (LIB_ROOMS if room[0] == "lib" else DAEMON_ROOMS):
            yield Finding(path, 0, f"{room[0]}/{room[1]} is no known room: give it its place and "
                          "its directions in scripts/check.d/rules.py")


def include_directions(tree: Tree) -> Iterator[Finding]:
    for path, text in tree.items():
        user = room_of(path)
        if not user or not is_cpp(path):
            continue
        for number, name, quoted in includes(text):
            if not quoted:
                continue
            parts = name.split("/")
            if parts[0] == "daemon" and len(parts) >= 3:
                used = ("daemon", parts[1])
            elif parts[0] in LIB_ROOMS and len(parts) == 2:
                used = ("lib", parts[0])
            else:
                yield Finding(path, number, f'"{name}": own headers are named by their room, '
                              'as in "core/cue.hpp" or "daemon/ports/clock.hpp"')
                continue
            if not may_know(user, used):
                yield Finding(path, number, f"{'/'.join(user)} must not know {'/'.join(used)}")


def library_of_header(name: str) -> str | None:
    return next((lib for lib, form in LIBRARY_HEADERS.items() if re.match(form, name)), None)


def library_users(tree: Tree) -> Iterator[Finding]:
    for path, text in tree.items():
        room = room_of(path)
        if not room or not is_cpp(path):
            continue
        for number, name, _ in includes(text):
            library = library_of_header(name)
            if library and room[1] not in LIBRARY_USERS[library]:
                yield Finding(path, number, f"<{name}>: {'/'.join(room)} does without {library}")


def link_directions(tree: Tree) -> Iterator[Finding]:
    rooms = {**{f"nightlatch_{room}": ("lib", room) for room in LIB_ROOMS},
             **{f"nightlatch_{room}": ("daemon", room) for room in DAEMON_ROOMS}}
    owner = dict(rooms)
    for path, text in tree.items():
        if path.endswith("CMakeLists.txt") and (room := room_of(path)):
            for match in re.finditer(r"\badd_(?:library|executable)\(\s*(\S+)", text):
                owner[match[1]] = room
    for path, text in tree.items():
        if not path.endswith("CMakeLists.txt") or not path.startswith(("lib/", "daemon/")):
            continue
        for match in re.finditer(r"\btarget_link_libraries\(\s*(\S+)([^)]*)\)", text):
            number = text.count("\n", 0, match.start()) + 1
            user = owner.get(match[1])
            if not user:
                yield Finding(path, number, f"{match[1]} belongs to no room")
                continue
            for name in re.sub(r"#.*", "", match[2]).split():
                yield from one_link(Finding(path, number, name), user, owner)


def one_link(place: Finding, user: tuple[str, str], owner: dict) -> Iterator[Finding]:
    name = place.sentence
    if name in owner:
        if not may_know(user, owner[name]):
            yield place._replace(sentence=f"{'/'.join(user)} must not link {name}")
        return
    for library, rooms in LIBRARY_USERS.items():
        if library in name.lower() and user[1] not in rooms:
            yield place._replace(sentence=f"{'/'.join(user)} must not link {library} ({name})")


# --- what lib/ and daemon/ must not do ---------------------------------------------------------

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
    for finding in matches(tree, ("lib/",), FORBIDDEN_CALLS_IN_LIB):
        if not (finding.path in MAY_PRINT and finding.sentence.endswith("logs nothing")):
            yield finding


def one_file_each(tree: Tree) -> Iterator[Finding]:
    users = defaultdict(list)
    for path, text in tree.items():
        if path.startswith("daemon/") and is_cpp(path):
            for number, name, _ in includes(text):
                if re.fullmatch(r"gpiod\.hp?p?|systemd/sd-(?:bus|event)\.h", name):
                    users[name].append((path, number))
    for name, places in users.items():
        for path, number in places[1:] if len(places) > 1 else []:
            yield Finding(path, number, f"<{name}> is included by one file only, and that is "
                          f"{places[0][0]}: everything else goes through what that file offers")


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


# --- the form of a file ------------------------------------------------------------------------

COLUMNS = 100
LOOSE_COLUMNS = 110  # scripts and build files, which no program lays out
# Lines; a file is one subject, and most should stay below 300.
CEILINGS = {"lib/": 400, "daemon/": 400, "scripts/": 400, "tests/": 600}


def sizes(tree: Tree) -> Iterator[Finding]:
    for path, text in tree.items():
        for prefix, ceiling in CEILINGS.items():
            count = text.count("\n")
            if path.startswith(prefix) and is_code(path, text) and count > ceiling:
                yield Finding(path, 0, f"{count} lines; more than {ceiling} is more than one "
                              "subject: divide it")


def long_lines(tree: Tree) -> Iterator[Finding]:
    for path, text in tree.items():
        if not is_code(path, text):
            continue
        table = False  # laid out by hand, and too wide to be read otherwise
        for number, line in lines(text):
            if match := re.search(r"// clang-format (on|off)$", line):
                table = match[1] == "off"
            limit = COLUMNS if path.endswith((".cpp", ".hpp")) else LOOSE_COLUMNS
            if len(line) > limit and not table:
                yield Finding(path, number, f"{len(line)} columns; {limit} are the limit")


def clean_text(tree: Tree) -> Iterator[Finding]:
    for path, text in tree.items():
        if text and not text.endswith("\n"):
            yield Finding(path, text.count("\n") + 1, "the last line has no end")
        if text.endswith("\n\n"):
            yield Finding(path, text.count("\n"), "empty lines at the end")
        for number, line in lines(text):
            if line.endswith((" ", "\t", "\r")):
                yield Finding(path, number, "space at the end of the line")
            if "\t" in line and is_cpp(path):
                yield Finding(path, number, "a tab; four spaces are the step")


def licence_lines(tree: Tree) -> Iterator[Finding]:
    for path, text in tree.items():
        if is_code(path, text) and "SPDX-License-Identifier: MIT" not in text[:200]:
            yield Finding(path, 1, "no line `SPDX-License-Identifier: MIT` at the top")


def dead_files(tree: Tree) -> Iterator[Finding]:
    included, built = set(), set()
    for path, text in tree.items():
        if is_cpp(path):
            included |= {name.split("/")[-1] for _, name, _ in includes(text)}
        elif path.endswith("CMakeLists.txt"):
            for name in re.findall(r"[\w./${}-]+\.c(?:pp)?\b", text):
                built.add(re.sub(r"\\\$\\{\w+\\}", r"\\w+", re.escape(name.split("/")[-1])))
    for path in tree:
        name = path.split("/")[-1]
        if not path.startswith(("lib/", "daemon/", "tests/")):
            continue
        if path.endswith((".hpp", ".h")) and name not in included:
            yield Finding(path, 0, "included by nobody")
        if path.endswith((".cpp", ".c")) and not any(re.fullmatch(form, name) for form in built):
            yield Finding(path, 0, "built by no CMakeLists.txt")


def test_names(tree: Tree) -> Iterator[Finding]:
    for path, text in tree.items():
        for number, line in lines(text) if path.startswith("tests/") and is_cpp(path) else ():
            if match := re.search(r'\bTEST_CASE(?:_METHOD)?\((?:\w+, *)?"[^\w]', line):
                yield Finding(path, number, f"{match[0]}: a test's name begins with a letter or a "
                              "digit; ctest gives it to the program as an argument")


# --- nothing of one machine in the tree -----------------------------------------------------------

# A package archive or registry named in full; mirrors come from the machine's own apt sources.
ARCHIVES = (
    r"(?:\bdeb(?:-src)?\s+(?:\[[^\]]*\]\s+)?|URIs:\s*)(?:https?|ftp|mirror)\S*://\S+",
    r"(?:https?|ftp)://[^\s/]+/(?:debian|debian-security|ubuntu|raspbian)/?(?=[\s\"']|$)",
    r"(?:--(?:extra-)?index-url|--registry|GOPROXY)[=\s]+\S+://",
)


def no_machine(tree: Tree, strings: tuple[str, ...] = ()) -> Iterator[Finding]:
    """`strings` are what this machine adds: the hosts of its apt sources, the place of the tree."""
    for path, text in tree.items():
        for number, line in lines(text):
            for form in ARCHIVES:
                if re.search(form, line):
                    yield Finding(path, number, "names a package archive")
            for string in strings:
                if string in line:
                    yield Finding(path, number, f"names a part of this machine: {string}")


RULES = [
    Rule("rooms", known_rooms),
    Rule("include-directions", include_directions),
    Rule("link-directions", link_directions),
    Rule("library-users", library_users),
    Rule("pure-includes", pure_includes),
    Rule("pure-calls", pure_calls),
    Rule("one-file-each", one_file_each),
    Rule("plain-errors", plain_errors),
    Rule("no-process", no_process),
    Rule("sizes", sizes),
    Rule("long-lines", long_lines),
    Rule("clean-text", clean_text),
    Rule("licence-lines", licence_lines),
    Rule("dead-files", dead_files),
    Rule("test-names", test_names),
    Rule("no-machine", no_machine),
]
