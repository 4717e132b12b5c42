# SPDX-License-Identifier: MIT
"""Which room may know which, and who may use which library."""

import re
from typing import Iterator

from source import Finding, Tree, includes, is_cpp

LIB_ROOMS = {
    "base": set(),
    "core": {"base"},
    "bounce": {"base", "core"},
    "lines": {"base", "core"},
    "config": {"base", "core", "lines"},
    "devicetree": {"base"},
    "bootfiles": {"base"},
    "circuit": {"base"},
    "hold_up": {"base", "circuit"},
    "logbook": {"base"},
    "wave": {"base"},
    "measured": {"base", "circuit", "wave"},
    "picture": {"base", "wave"},
    "page": {"base"},
    "audit": {"base", "core", "lines", "config", "devicetree", "bootfiles", "circuit", "page"},
    "supervisor": {"base", "core", "lines", "config"},
    "rehearsal": {"base", "core", "lines", "config", "supervisor", "wave"},
}
ADAPTERS = {"gpio", "login", "bus", "cues", "facts"}
DAEMON_ROOMS = {
    # The guard runs when everything else is gone: a static program, no adapter in it, and of sys
    # only how a small file is read and replaced.
    "guard": {"sys"},
    "sys": set(),
    **{adapter: {"sys"} for adapter in ADAPTERS},
    "service": {"sys", "guard"} | ADAPTERS,
    "tool": {"sys"} | ADAPTERS,
}
DAEMON_ROOMS["cues"].add("gpio")  # a cue can be shown on a GPIO line
DAEMON_ROOMS["login"].add("bus")
# Folders within a room: the ports are abstract structs that a room is handed.
FOLDERS = {"supervisor": {"ports"}, "logbook": {"ports"}}
# Libraries that only these rooms may link or include; a room not listed has the C++ library only.
LIBRARY_USERS = {
    "toml": {"config"},
    "fdt": {"devicetree"},
    "zlib": {"facts"},
    "gpiod": {"gpio"},
    "systemd": {"sys", "login", "bus", "service", "tool"},
    "cli11": {"tool"},
    "nlohmann": {"tool"},
    "threads": set(),
}
LIBRARY_HEADERS = {
    "toml": r"toml\+\+/|toml\.hpp",
    "fdt": r"libfdt|fdt\.h",
    "zlib": r"zlib\.h",
    "gpiod": r"gpiod",
    "systemd": r"systemd/",
    "cli11": r"CLI/",
    "nlohmann": r"nlohmann/",
    "threads": r"pthread\.h",
}


# Parts of a room that not everybody who knows the room may link: libfdt stays out of the service.
PART_USERS = {"nightlatch_devicetree_blob": {"devicetree", "facts", "tool"},
              "nightlatch_sys": {"sys", "gpio", "login", "bus", "cues", "facts", "service", "tool"}}


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


def known_rooms(tree: Tree) -> Iterator[Finding]:
    for path in tree:
        room = room_of(path)
        if room and room[1] not in (LIB_ROOMS if room[0] == "lib" else DAEMON_ROOMS):
            yield Finding(path, 0, f"{room[0]}/{room[1]} is not a known room: give it its place and "
                          "its directions in scripts/check.d/directions.py")


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
            elif parts[0] in LIB_ROOMS and set(parts[1:-1]) <= FOLDERS.get(parts[0], set()):
                used = ("lib", parts[0])
            else:
                yield Finding(path, number, f'"{name}": own headers are named by their room, '
                              'as in "core/cue.hpp" or "daemon/sys/notify.hpp"')
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
    if user[1] not in PART_USERS.get(name, {user[1]}):
        yield place._replace(sentence=f"{'/'.join(user)} must not link {name}")
        return
    if name in owner:
        if not may_know(user, owner[name]):
            yield place._replace(sentence=f"{'/'.join(user)} must not link {name}")
        return
    for library, rooms in LIBRARY_USERS.items():
        if library in name.lower() and user[1] not in rooms:
            yield place._replace(sentence=f"{'/'.join(user)} must not link {library} ({name})")
