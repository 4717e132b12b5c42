#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""A login manager for programs that take its delay lock or ask, driven by lines on standard input:

  true, false   PrepareForShutdown, with that; says "told" when the bus has passed it on
  FILE          says what FILE holds at the moment at which the lock that is held is released

It tells on standard output each lock that is taken, "Inhibit WHAT WHO MODE", and each that is released,
"released: " with the file's lines joined by spaces. No shutdown is under way, others have no locks, and
whoever asks may power off: it tells each such question by its name [org.freedesktop.login1(5)].
"""

import asyncio
import os
import sys

from dbus_next import BusType, Message, MessageType, Variant
from dbus_next.aio import MessageBus

NAME, PATH = "org.freedesktop.login1", "/org/freedesktop/login1"
BUS, BUS_PATH = "org.freedesktop.DBus", "/org/freedesktop/DBus"
ANSWERS = {"ListInhibitors": ("a(ssssuu)", []), "CanPowerOff": ("s", "yes"),
           "Get": ("v", Variant("b", False))}  # PreparingForShutdown


class Manager:
    def __init__(self, bus: MessageBus) -> None:
        self.bus, self.watched = bus, None

    def called(self, message: Message) -> bool:
        if message.message_type != MessageType.METHOD_CALL:
            return False
        if message.member in ANSWERS:
            print(message.member, flush=True)
            signature, answer = ANSWERS[message.member]
            asyncio.ensure_future(
                self.bus.send(Message.new_method_return(message, signature, [answer])))
            return True
        if message.member != "Inhibit":
            return False
        what, who, _, mode = message.body
        print(f"Inhibit {what} {who} {mode}", flush=True)
        asyncio.ensure_future(self.give_lock(message))
        return True

    async def give_lock(self, message: Message) -> None:
        ours, theirs = os.pipe()
        asyncio.get_running_loop().add_reader(ours, self.released, ours)
        await self.bus.send(Message.new_method_return(message, "h", [0], unix_fds=[theirs]))
        os.close(theirs)  # now the other one has the only end of it

    def released(self, lock: int) -> None:
        asyncio.get_running_loop().remove_reader(lock)
        os.close(lock)
        with open(self.watched, encoding="utf-8") if self.watched else open(os.devnull) as file:
            print("released:", " ".join(file.read().split()), flush=True)


async def main() -> None:
    bus = await MessageBus(bus_type=BusType.SYSTEM, negotiate_unix_fd=True).connect()
    manager = Manager(bus)
    bus.add_message_handler(manager.called)
    await bus.request_name(NAME)
    print("here", flush=True)
    reader = asyncio.StreamReader()
    protocol = asyncio.StreamReaderProtocol(reader)
    await asyncio.get_running_loop().connect_read_pipe(lambda: protocol, sys.stdin)
    async for line in reader:
        said = line.decode().strip()
        if said in ("true", "false"):
            await bus.send(Message.new_signal(PATH, f"{NAME}.Manager", "PrepareForShutdown", "b",
                                              [said == "true"]))
            await bus.call(Message(BUS, BUS_PATH, BUS, "GetId"))  # a bus keeps to the order
            print("told", flush=True)
        else:
            manager.watched = said


if __name__ == "__main__":
    asyncio.run(main())
