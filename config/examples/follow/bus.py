#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Follows the button on the system bus (package python3-dbus-next). Where that is not available,
python3-gi's Gio.DBusProxy does the same, or follow.py, which needs no library.
"""

import asyncio

from dbus_next import BusType, Message, MessageType
from dbus_next.aio import MessageBus

NAME, PATH = "org.nightlatch.Nightlatch1", "/org/nightlatch/Nightlatch1"
BUS = "org.freedesktop.DBus"
PROPERTIES = "org.freedesktop.DBus.Properties"
WANTED = (f"type='signal',sender='{NAME}',path='{PATH}'",
          f"type='signal',sender='{BUS}',member='NameOwnerChanged',arg0='{NAME}'")


class Button:
    def __init__(self, bus: MessageBus) -> None:
        self.bus, self.known = bus, {}

    async def follow(self) -> None:
        self.bus.add_message_handler(self.heard)
        for rule in WANTED:  # before the first question, so that nothing falls in between
            await self.bus.call(Message(BUS, "/org/freedesktop/DBus", BUS, "AddMatch", signature="s",
                                        body=[rule]))
        await self.ask()
        await self.bus.wait_for_disconnect()

    async def ask(self) -> None:
        answer = await self.bus.call(Message(NAME, PATH, PROPERTIES, "GetAll", signature="s", body=[NAME]))
        if answer.message_type == MessageType.METHOD_RETURN:
            self.take(answer.body[0])
        else:
            print("not running", flush=True)

    def heard(self, message: Message) -> None:
        if message.member == "PropertiesChanged":
            self.take(message.body[1])
        elif message.member == "Announced":
            print(f"announced: {message.body[0]}", flush=True)
        elif message.member == "NameOwnerChanged":  # it came, or it went: what was known is old
            self.known = {}
            asyncio.ensure_future(self.ask())

    def take(self, changed: dict) -> None:
        """What changes together comes together; the rest stays as it was."""
        self.known |= {name: variant.value for name, variant in changed.items()}
        if {"Cue", "Stage"} <= self.known.keys():
            print(self.known["Cue"], self.known["Stage"], flush=True)


async def main() -> None:
    await Button(await MessageBus(bus_type=BusType.SYSTEM).connect()).follow()


if __name__ == "__main__":
    asyncio.run(main())
