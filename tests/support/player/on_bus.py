#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""The service's object on a bus, as a Player (player.py) plays it: for programs that follow the bus.

The interface is systemd/org.nightlatch.Nightlatch1.xml; of it the properties that a record of
`nightlatch follow --json` has, Announced and CallOff. A record that is not running gives the name up.
"""

import asyncio
import json
import os
import signal

from dbus_next import BusType, Message, MessageType, RequestNameReply, Variant
from dbus_next.aio import MessageBus

NAME, PATH = "org.nightlatch.Nightlatch1", "/org/nightlatch/Nightlatch1"
PROPERTIES = "org.freedesktop.DBus.Properties"
OPEN = 2**64 - 1


def properties(record: dict) -> dict[str, Variant]:
    reason = dict(record["reason"] or {"code": ""})
    code = reason.pop("code")
    until = OPEN if record["until"] is None else record["until"]
    return {"Cue": Variant("s", record["cue"]), "Since": Variant("t", record["since"]),
            "Until": Variant("t", until), "Stage": Variant("s", record["stage"] or ""),
            "Stages": Variant("a(sts)", [list(stage.values()) for stage in record["stages"]]),
            "Reason": Variant("s", code), "Dry": Variant("b", record["dry"]),
            "ReasonDetails": Variant("a{sv}", {name: Variant("s", str(value))
                                               for name, value in reason.items()}),
            "Alarms": Variant("a(sb)", [list(alarm.values()) for alarm in record["alarms"]]),
            "PostHalt": Variant("s", record["post_halt"]), "Version": Variant("s", record["service"])}


class Object:
    def __init__(self, bus: MessageBus, writer: asyncio.StreamWriter) -> None:
        self.bus, self.writer, self.told = bus, writer, {}

    def called(self, message: Message) -> Message | None:
        if message.message_type != MessageType.METHOD_CALL or message.path != PATH:
            return None
        if message.member == "GetAll" and message.interface == PROPERTIES:
            return Message.new_method_return(message, "a{sv}", [self.told])
        if message.member == "CallOff" and message.interface == NAME:
            self.writer.write(b"CallOff\n")
            return Message.new_method_return(message)
        return None

    async def play(self, record: dict) -> None:
        if "announced" in record:
            await self.bus.send(Message.new_signal(PATH, NAME, "Announced", "s", [record["announced"]]))
        elif not record["running"]:
            self.told = {}
            await self.bus.release_name(NAME)
        elif not self.told:
            self.told = properties(record)
            assert await self.bus.request_name(NAME) == RequestNameReply.PRIMARY_OWNER
        else:
            now = properties(record)
            changed = {name: value for name, value in now.items() if value != self.told[name]}
            self.told = now
            await self.bus.send(Message.new_signal(PATH, PROPERTIES, "PropertiesChanged", "sa{sv}as",
                                                   [NAME, changed, []]))


async def main() -> None:
    reader, writer = await asyncio.open_unix_connection(os.environ["NIGHTLATCH_PLAYER"])
    bus = await MessageBus(bus_type=BusType.SYSTEM).connect()
    stage = Object(bus, writer)
    bus.add_message_handler(stage.called)
    writer.write(json.dumps(["bus"]).encode() + b"\n")
    async for line in reader:
        await stage.play(json.loads(line))


if __name__ == "__main__":
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    asyncio.run(main())
