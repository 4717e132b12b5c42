# SPDX-License-Identifier: MIT
"""Plays states of a button to whatever follows them: the test's end of stand_in.py and on_bus.py.

A Player listens on a socket in a folder of its own and keeps the record that was played last, which
each new follower gets at once, as `nightlatch follow --json` does it. `environment` has a PATH whose
first `nightlatch` is the stand-in.
"""

import json
import os
import select
import signal
import socket
import subprocess
import tempfile
import threading
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
PATIENCE = 20.0  # s, for what has to come, whatever it is; a test that waits as long has failed
STAGES = [{"name": "write now", "hold": 1_000_000, "action": "announce"},
          {"name": "off", "hold": 3_000_000, "action": "power-off"},
          {"name": "start again", "hold": 10_000_000, "action": "reboot"}]


def now() -> int:
    """Microseconds of CLOCK_MONOTONIC."""
    return time.clock_gettime_ns(time.CLOCK_MONOTONIC) // 1000


def header(running: bool) -> dict:
    return {"format": "nightlatch-follow", "version": 1, "now": now(), "running": running}


def state(cue: str, **changes: object) -> dict:
    """A whole record of the tide gauge with this cue."""
    return {**header(True), "cue": cue, "since": now(), "until": None, "stage": None,
            "stages": STAGES, "reason": None, "alarms": [{"name": "battery low", "due": False}],
            "post_halt": "configured",
            "line": {"chip": "soc-gpio", "line": "LID_BUTTON", "watching": True},
            "level": "released",
            "configuration": {"path": "/etc/nightlatch/nightlatch.toml", "loaded": 1_234_567,
                              "on_disk": "same", "trouble": None},
            "dry": False, "service": "0.9.0", **changes}


def lasting(cue: str, seconds: float, **changes: object) -> dict:
    """One that ends by itself in so many seconds."""
    return state(cue, until=now() + int(seconds * 1e6), **changes)


def announced(name: str) -> dict:
    return {**header(True), "announced": name}


def not_running(why: str = "no service") -> dict:
    return {**header(False), "why": why}


def join(thread: threading.Thread, what: str) -> None:
    thread.join(PATIENCE)
    if thread.is_alive():
        raise AssertionError(f"in {PATIENCE} s {what} has not ended")


class Called:
    """A program that was started as `nightlatch` (or stands on the bus), and its connection."""

    def __init__(self, connection: socket.socket) -> None:
        self.connection = connection
        connection.settimeout(PATIENCE)
        self.lines = connection.makefile("r", encoding="utf-8")
        self.words: list[str] = json.loads(self.lines.readline())

    def send(self, text: str) -> bool:
        try:
            self.connection.sendall(text.encode() + b"\n")
        except TimeoutError:
            raise AssertionError(f"in {PATIENCE} s {self.words} has not read what was played") from None
        except OSError:
            return False  # it has ended
        return True

    def close(self) -> None:
        try:
            self.connection.shutdown(socket.SHUT_RDWR)
        except OSError:
            pass
        self.lines.close()
        self.connection.close()


class Player:
    def __init__(self) -> None:
        self.room = tempfile.TemporaryDirectory(prefix="nightlatch-player-")
        folder = Path(self.room.name)
        (folder / "bin").mkdir()
        (folder / "bin" / "nightlatch").symlink_to(HERE / "stand_in.py")
        self.environment = {**os.environ, "PATH": f"{folder / 'bin'}:{os.environ['PATH']}",
                            "NIGHTLATCH_PLAYER": str(folder / "socket")}
        self.changed = threading.Condition()
        self.called: list[list[str]] = []  # the words of each call, in order
        self.followers: list[Called] = []
        self.latest: str | None = None
        self.call_off_status = 0
        self.listener = socket.socket(socket.AF_UNIX)
        self.listener.bind(str(folder / "socket"))
        self.listener.listen(64)
        self.thread = threading.Thread(target=self._accept, daemon=True)
        self.thread.start()

    def __enter__(self) -> "Player":
        return self

    def __exit__(self, *_: object) -> None:
        self.listener.shutdown(socket.SHUT_RDWR)
        try:
            join(self.thread, "the listener, or the first line of who came last,")
        finally:
            self.listener.close()
            self.end()
            self.room.cleanup()

    def play(self, record: dict) -> None:
        """What is announced is told once; anything else is what later followers get first."""
        text = json.dumps(record, separators=(",", ":"))
        with self.changed:
            if "announced" not in record:
                self.latest = text
            for one in [one for one in self.followers if not one.send(text)]:
                one.close()
                self.followers.remove(one)

    def end(self) -> None:
        """Ends every follower, as the end of the machine does."""
        with self.changed:
            for one in self.followers:
                one.close()
            self.followers = []

    def wait_for(self, said: str, condition) -> None:
        with self.changed:
            if not self.changed.wait_for(condition, PATIENCE):
                raise AssertionError(f"in {PATIENCE} s there was no {said}; called: {self.called}")

    def wait_for_followers(self, count: int = 1) -> None:
        self.wait_for(f"follower {count}", lambda: len(self.followers) >= count)

    def wait_for_call(self, *words: str, times: int = 1) -> None:
        self.wait_for(f"call of {words}", lambda: self.called.count(list(words)) >= times)

    def _accept(self) -> None:
        while True:
            try:
                connection, _ = self.listener.accept()
            except OSError:
                return  # the test is over
            try:
                self._take(Called(connection))
            except (OSError, ValueError):  # it ended, or was silent: whoever waits for it says so
                connection.close()

    def _take(self, one: Called) -> None:
        with self.changed:
            self.called.append(one.words)
            if one.words[0] == "call-off":
                one.send(str(self.call_off_status))
                one.close()
            else:
                if self.latest:
                    one.send(self.latest)
                self.followers.append(one)
            self.changed.notify_all()


class Program:
    """A program under test; what it prints can be waited for."""

    def __init__(self, *command: object, environment: dict, **options: object) -> None:
        self.command = [str(word) for word in command]
        self.process = subprocess.Popen(self.command, env=environment, text=True, stdout=subprocess.PIPE,
                                        start_new_session=True,  # with all that it starts
                                        **options)
        self.said: list[str] = []
        self.changed = threading.Condition()
        self.thread = threading.Thread(target=self._read, daemon=True)
        self.thread.start()

    def __enter__(self) -> "Program":
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def _read(self) -> None:
        for line in self.process.stdout:
            with self.changed:
                self.said.append(line.rstrip("\n"))
                self.changed.notify_all()
        with self.changed:
            self.said.append("(end)")
            self.changed.notify_all()

    def say(self, text: str) -> None:
        """Lines on its standard input, which has to be a pipe. A pipe that nobody reads is full at some
        point [pipe(7)], and a plain write would then wait for ever."""
        left = (text + "\n").encode()
        descriptor = self.process.stdin.fileno()
        os.set_blocking(descriptor, False)
        end = time.monotonic() + PATIENCE
        while left:
            if not select.select([], [descriptor], [], max(0.0, end - time.monotonic()))[1]:
                raise AssertionError(f"in {PATIENCE} s {self.command} has not read what it was told: "
                                     f"{len(left)} bytes are left")
            left = left[os.write(descriptor, left):]

    def wait_for_line(self, text: str) -> str:
        """The first line not yet asked for that has this text in it."""
        def found() -> str | None:
            return next((line for line in self.said if text in line), None)

        with self.changed:
            if not self.changed.wait_for(lambda: found() or "(end)" in self.said, PATIENCE) or not found():
                raise AssertionError(f"in {PATIENCE} s {self.command} never said {text!r}, but: "
                                     f"{self.said[-100:]}")
            line = found()
            del self.said[:self.said.index(line) + 1]
            return line

    def stop(self) -> int:
        if self.process.poll() is None:
            self.process.terminate()
        return self.end()

    def end(self) -> int:
        """Its exit status, once it has ended by itself."""
        try:
            status = self.process.wait(PATIENCE)
        except subprocess.TimeoutExpired:
            self._kill()
            raise AssertionError(f"in {PATIENCE} s {self.command} has not ended") from None
        if self.process.stdin:
            self.process.stdin.close()  # what it started may still read there, and write to our pipe
        try:
            join(self.thread, f"what {self.command} started")
        except AssertionError:
            self._kill()
            raise
        self.process.stdout.close()
        return status

    def _kill(self) -> None:
        try:
            os.killpg(self.process.pid, signal.SIGKILL)
        except ProcessLookupError:
            pass
        self.process.wait(PATIENCE)
