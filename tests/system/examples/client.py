# SPDX-License-Identifier: MIT
"""A client of the bridge, for tests: the browser's side of the connection, word by word."""

import json
import re
import socket

from player import PATIENCE


class Client:
    """A connection that says what it likes, and reads what comes."""

    def __init__(self, address: str) -> None:
        self.port, self.token = re.fullmatch(r"http://127\.0\.0\.1:(\d+)/([0-9a-f]{32})/", address).groups()
        self.own = f"127.0.0.1:{self.port}"
        self.socket = socket.create_connection(("127.0.0.1", int(self.port)), PATIENCE)
        self.file = self.socket.makefile("rb")

    def __enter__(self) -> "Client":
        return self

    def __exit__(self, *_: object) -> None:
        self.file.close()
        self.socket.close()

    def send(self, path: str, method: str = "GET", token: str | None = None, **headers: str) -> "Client":
        """Headers by their names with _ for -; Host is the bridge's own unless it is given."""
        lines = [f"{method} /{self.token if token is None else token}/{path} HTTP/1.1",
                 *(f"{name.replace('_', '-')}: {value}"
                   for name, value in {"Host": self.own, **headers}.items())]
        self.socket.sendall("\r\n".join(lines).encode() + b"\r\n\r\n")
        return self

    def status(self) -> int:
        return int(self.file.readline().split()[1])

    def headers(self) -> dict[str, str]:
        lines = iter(self.file.readline, b"\r\n")
        return {name.lower(): value.strip() for name, _, value in
                (line.decode().partition(":") for line in lines)}

    def record(self) -> dict:
        """The next of the stream."""
        while (line := self.file.readline()).endswith(b"\n"):
            if line.startswith(b"data: ") and b'"running"' in line:
                return json.loads(line[6:])
        raise AssertionError("the stream has ended")

    def cue(self, wanted: str) -> dict:
        """The first record with this cue, whatever comes before it."""
        while (record := self.record()).get("cue") != wanted:
            pass
        return record
