#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Tide readings that survive every orderly power-off, whoever asks for it: the button, a person at the
console, a timer.

  tide-readings.py FILE    reads one reading a line from standard input; answers "kept N", and then they
                           are in FILE when the machine goes down

Readings are written every ten minutes, to spare the card; what came since is written when the login
manager says that the machine goes down. That is safe only with its *delay lock*: it holds the shutdown
back until the lock is released, 5 s at most (InhibitDelayMaxSec). Who watches the signal alone races the
shutdown that goes on at the same time, and may be killed before the file is there
[systemd, Inhibitor Locks: INHIBITOR_LOCKS; org.freedesktop.login1(5)].

Needs python3-dbus-next; python3-gi's Gio can take the lock, too.
"""

import asyncio
import os
import sys
from pathlib import Path

from dbus_next import BusType, Message, MessageType
from dbus_next.aio import MessageBus

MANAGER, PATH = "org.freedesktop.login1", "/org/freedesktop/login1"
BUS, BUS_PATH = "org.freedesktop.DBus", "/org/freedesktop/DBus"
MATCHES = (f"type='signal',sender='{MANAGER}',path='{PATH}',member='PrepareForShutdown'",
           f"type='signal',sender='{BUS}',member='NameOwnerChanged',arg0='{MANAGER}'")
PERIOD = 600  # s


def save(path: Path, text: str) -> None:
    """The old file or the new one, whatever happens, and the new one for certain when this returns."""
    new = path.with_name(path.name + ".new")
    with open(new, "w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    os.replace(new, path)
    folder = os.open(path.parent, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(folder)  # the name, too, must be on the card
    finally:
        os.close(folder)


class Readings:
    def __init__(self, path: Path) -> None:
        self.path = path
        self.lines = path.read_text(encoding="utf-8").splitlines() if path.exists() else []
        self.saved = len(self.lines)

    def save(self) -> None:
        if self.saved != len(self.lines):
            save(self.path, "".join(f"{line}\n" for line in self.lines))
            self.saved = len(self.lines)


class DelayLock:
    """Held from the start on: one that is taken when the signal comes is too late."""

    def __init__(self, bus: MessageBus, readings: Readings) -> None:
        self.bus, self.readings, self.descriptor = bus, readings, None

    async def watch(self) -> None:
        self.bus.add_message_handler(self.heard)
        for rule in MATCHES:
            await self.bus.call(Message(BUS, BUS_PATH, BUS, "AddMatch", signature="s", body=[rule]))
        await self.take()

    async def take(self) -> None:
        self.release()
        answer = await self.bus.call(Message(
            MANAGER, PATH, f"{MANAGER}.Manager", "Inhibit", signature="ssss",
            body=["shutdown", "tide readings", "Writes the last readings", "delay"]))
        if answer.message_type == MessageType.METHOD_RETURN:
            self.descriptor = answer.unix_fds[answer.body[0]]
            print("protected", flush=True)
        else:  # no login manager: every reading is written at once, then
            print(f"no delay lock: {answer.body[0] if answer.body else answer.error_name}", file=sys.stderr)

    def release(self) -> None:
        if self.descriptor is not None:
            os.close(self.descriptor)
            self.descriptor = None

    def heard(self, message: Message) -> None:
        if message.member == "PrepareForShutdown" and message.body[0]:
            try:
                self.readings.save()
            finally:
                self.release()
        elif message.member in ("PrepareForShutdown", "NameOwnerChanged"):
            # It has been given up, or the manager is a new one that knows nothing of our lock.
            if message.member == "PrepareForShutdown" or message.body[2]:
                asyncio.ensure_future(self.take())


async def main(path: Path) -> None:
    readings = Readings(path)
    bus = await MessageBus(bus_type=BusType.SYSTEM, negotiate_unix_fd=True).connect()
    lock = DelayLock(bus, readings)
    await lock.watch()
    loop = asyncio.get_running_loop()
    reader = asyncio.StreamReader()
    await loop.connect_read_pipe(lambda: asyncio.StreamReaderProtocol(reader), sys.stdin)
    due = loop.time() + PERIOD
    while line := await reader.readline():
        readings.lines.append(line.decode().strip())
        if lock.descriptor is None or loop.time() >= due:
            readings.save()
            due = loop.time() + PERIOD
        print(f"kept {len(readings.lines)}", flush=True)
        await asyncio.sleep(0)  # the signal's turn: readings that come in a run are taken without a wait
    readings.save()


if __name__ == "__main__":
    asyncio.run(main(Path(sys.argv[1]).absolute()))
