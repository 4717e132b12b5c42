#!/usr/bin/python3
# SPDX-License-Identifier: MIT
"""Shows in a browser on this machine what the button does: `nightlatch follow --json` as server-sent
events, beside the page that draws them. Prints the page's address.

The address holds a secret. Without it nobody sees what the button does, or ends a countdown where
--allow-call-off lets the page do that: no other machine, no other site's page in the same browser.
"""

import argparse
import asyncio
import hmac
import json
import os
import re
import secrets
import signal
import sys
import time
from asyncio.subprocess import DEVNULL, PIPE
from pathlib import Path

HERE = Path(__file__).resolve().parent
MOST_CONNECTIONS = 16
LONGEST_REQUEST = 8192  # bytes
PATIENCE = 3.0          # s, for a request to be there and for an answer to be taken
MOST_UNREAD = 65536     # bytes that a client may let wait

FILES = {"": ("page.html", "text/html"), "page.css": ("page.css", "text/css"),
         "page.js": ("page.js", "text/javascript"), "words.js": ("words.js", "text/javascript")}
HEADERS = ("Content-Security-Policy: default-src 'none'; script-src 'self'; style-src 'self'; "
           "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'\r\n"
           "X-Frame-Options: DENY\r\nX-Content-Type-Options: nosniff\r\nReferrer-Policy: no-referrer\r\n"
           "Cross-Origin-Resource-Policy: same-origin\r\nCache-Control: no-store\r\nConnection: close\r\n")


class Refused(Exception):
    """Its text is the answer's status line."""


def event(record: dict) -> str:
    """With its clock's reading as of now: the record may be hours old."""
    now = time.clock_gettime_ns(time.CLOCK_MONOTONIC) // 1000
    return f"data: {json.dumps({**record, 'now': now})}\n\n"


def reply(writer: asyncio.StreamWriter, status: str, kind: str = "", body: bytes = b"") -> None:
    about = f"Content-Type: {kind}; charset=utf-8\r\nContent-Length: {len(body)}\r\n" if kind else ""
    writer.write(f"HTTP/1.1 {status}\r\n{HEADERS}{about}\r\n".encode() + body)


class Bridge:
    """One `nightlatch follow`, whatever the number of clients; who comes late gets the latest record."""

    def __init__(self, token: str, allow_call_off: bool) -> None:
        self.token, self.allow_call_off = token, allow_call_off
        self.host, self.connections = "", 0  # the host is known once it listens
        self.latest, self.clients = {"running": False, "why": "not followed"}, set()

    def tell(self, record: dict) -> None:
        if "announced" not in record:
            self.latest = record
        for client in self.clients:
            client.write(event(record).encode())
            if client.transport.get_write_buffer_size() > MOST_UNREAD:
                client.transport.abort()  # it will come again, and gets the latest then

    async def follow(self) -> None:
        pause = 1
        while True:
            before = self.latest
            try:
                await self.follow_once()
            except (OSError, ValueError, LookupError, TypeError) as error:
                print(f"bridge: nightlatch follow: {error!r}", file=sys.stderr)
            pause = 1 if self.latest is not before else min(2 * pause, 30)
            self.tell({"running": False, "why": "not followed"})
            await asyncio.sleep(pause)

    async def follow_once(self) -> None:
        process = await asyncio.create_subprocess_exec("nightlatch", "follow", "--json",
                                                       stdin=DEVNULL, stdout=PIPE, limit=1 << 20)
        try:
            async for line in process.stdout:
                record = json.loads(line)
                if (record["format"], record["version"]) == ("nightlatch-follow", 1):
                    self.tell(record)
        finally:
            if process.returncode is None:
                process.terminate()
                await process.wait()

    async def serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self.connections += 1
        try:
            if self.connections > MOST_CONNECTIONS:
                raise Refused("503 Too many connections")
            await self.answer(reader, writer)
        except Refused as refused:
            reply(writer, str(refused), "text/plain", str(refused).encode() + b"\n")
        except (OSError, EOFError):
            pass  # the client left
        self.clients.discard(writer)
        writer.close()
        try:  # what was written goes out first
            await asyncio.wait_for(writer.wait_closed(), PATIENCE)
        except OSError:
            writer.transport.abort()
        self.connections -= 1

    async def answer(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        method, path, headers = await self.request(reader)
        if path == "call-off":
            reply(writer, await asyncio.wait_for(self.call_off(method, headers), PATIENCE))
        elif method == "GET" and path == "events":
            await self.events(reader, writer)
        elif method == "GET" and path in FILES:
            reply(writer, "200 OK", FILES[path][1], (HERE / FILES[path][0]).read_bytes())
        else:
            raise Refused("404 Not here")

    async def request(self, reader: asyncio.StreamReader) -> tuple[str, str, dict[str, str]]:
        """Method, path below the token, headers: only of a request that is one of our own page."""
        try:
            head = await asyncio.wait_for(reader.readuntil(b"\r\n\r\n"), PATIENCE)
        except TimeoutError:
            raise Refused("408 Too slow")
        except asyncio.LimitOverrunError:
            raise Refused("431 Too long")
        first, *lines = head.decode("latin-1").split("\r\n")[:-2]
        match = re.fullmatch(r"([A-Z]+) (/\S*) HTTP/1\.[01]", first)
        pairs = [line.partition(":")[::2] for line in lines]
        headers = {name.lower(): value.strip() for name, value in pairs}
        if not match or len(headers) != len(pairs):  # a header given twice may be read in two ways
            raise Refused("400 Not understood")
        if headers.get("host") != self.host:  # another name that leads here is somebody's trick
            raise Refused("403 Not this host")
        if headers.get("origin", f"http://{self.host}") != f"http://{self.host}":
            raise Refused("403 Not from there")
        if headers.get("content-length", "0") != "0" or "transfer-encoding" in headers:
            raise Refused("413 Nothing to send")
        token, _, path = match[2].removeprefix("/").partition("/")
        if not hmac.compare_digest(token.encode(), self.token.encode()):
            raise Refused("403 No such address")
        return match[1], path, headers

    async def call_off(self, method: str, headers: dict[str, str]) -> str:
        # A page of another site can send a POST unasked, but neither with our origin nor, without
        # asking first (and nobody answers that), with a header of its own making.
        if not (self.allow_call_off and method == "POST" and "origin" in headers
                and headers.get("x-nightlatch") == "call-off"):
            raise Refused("403 Not allowed")
        process = await asyncio.create_subprocess_exec("nightlatch", "call-off", stdin=DEVNULL)
        return "409 Not called off" if await process.wait() else "204 Called off"

    async def events(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        bridge = json.dumps({"call_off": self.allow_call_off})
        writer.write(f"HTTP/1.1 200 OK\r\n{HEADERS}Content-Type: text/event-stream\r\n\r\n"
                     f"event: bridge\ndata: {bridge}\n\n{event(self.latest)}".encode())
        self.clients.add(writer)
        await reader.read(1)  # until the client leaves: it has nothing more to say


def kept(path: Path) -> tuple[str, str]:
    """Port and token of a bridge before this one, so that a page that is open finds its way back."""
    with open(os.open(path, os.O_RDONLY | os.O_NOFOLLOW), encoding="ascii") as file:
        about = os.fstat(file.fileno())
        match = re.fullmatch(r"http://127\.0\.0\.1:(\d{1,5})/([0-9a-f]{32})/\n", file.read(100))
    if about.st_uid != os.geteuid() or about.st_mode & 0o077 or not match:
        sys.exit(f"bridge: {path} holds no address that only this account may read: remove it")
    return match[1], match[2]


async def main(options: argparse.Namespace) -> None:
    file = options.address_file
    is_there = file and file.exists()
    port, token = kept(file) if is_there else ("0", secrets.token_hex(16))
    bridge = Bridge(token, options.allow_call_off)
    server = await asyncio.start_server(bridge.serve, "127.0.0.1", port, limit=LONGEST_REQUEST)
    bridge.host = f"127.0.0.1:{server.sockets[0].getsockname()[1]}"
    address = f"http://{bridge.host}/{token}/"
    if file and not is_there:
        with open(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as text:
            print(address, file=text)
    asyncio.get_running_loop().add_signal_handler(signal.SIGTERM, asyncio.current_task().cancel)
    print(address, flush=True)
    await bridge.follow()


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--address-file", type=Path, metavar="FILE",
                        help="keep the address there, and use the same when started again")
    parser.add_argument("--allow-call-off", action="store_true", help="let the page end a countdown")
    try:
        asyncio.run(main(parser.parse_args()))
    except (asyncio.CancelledError, KeyboardInterrupt):
        pass  # stopped
    except OSError as error:
        sys.exit(f"bridge: {error}")
