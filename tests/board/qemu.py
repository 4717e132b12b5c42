# SPDX-License-Identifier: MIT
"""One emulated board, seen from outside: its pins, its power, and a root shell in the guest."""

import base64
import json
import pathlib
import queue
import shutil
import signal
import socket
import subprocess
import tempfile
import threading
import time
from typing import NamedTuple

import devicetree
from image import Failed

BUTTON, BATTERY, BUZZER, LED, SUPPLY, METRONOME = 1, 2, 4, 5, 6, 7
# What the wiring gives the inputs when nobody touches anything; both inputs are active low. The
# emulated board itself pulls every line down.
AT_REST = {BUTTON: 1, BATTERY: 1, METRONOME: 0}
CONTROLLER_TYPE = "child<pl061>"
APPEND = "console=ttyAMA0 loglevel=5 systemd.show_status=0"
# Bytes. The emulator's log counts in sectors of this size.
SECTOR = 512


class Parts(NamedTuple):
    """What a machine is put together from."""
    kernel: pathlib.Path
    tree: pathlib.Path
    disk: pathlib.Path
    log: pathlib.Path  # where its console goes
    memory: pathlib.Path | None = None    # saved: it goes on from there
    root: str = "root=/dev/vda rw"        # for the kernel's command line
    initramfs: pathlib.Path | None = None
    second: pathlib.Path | None = None    # another disk
    write_log: pathlib.Path | None = None  # where the emulator is to log what `second` is told to write


class Gone(OSError):
    """The machine ended while it was asked for something."""


class Edge:
    """An output line's new level and when the emulator told us (host's monotonic seconds)."""

    def __init__(self, line, level, at):
        self.line, self.level, self.at = line, level, at

    def __repr__(self):
        return f"line {self.line} {'rose' if self.level else 'fell'} at {self.at:.4f}"


def _connect(path, process):
    while True:
        try:
            link = socket.socket(socket.AF_UNIX)
            link.connect(str(path))
            return link
        except (FileNotFoundError, ConnectionRefusedError):
            link.close()
            if process.poll() is not None:
                raise RuntimeError(f"QEMU ended at once with {process.returncode}")
            time.sleep(0.01)


class Port:
    """Lines of text to and from a socket; a thread stamps what comes in the moment it comes."""

    def __init__(self, path, process, on_line=None):
        self.link = _connect(path, process)
        self.lines = queue.Queue()
        self.on_line = on_line or (lambda text, at: self.lines.put((text, at)))
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self):
        rest = b""
        while True:
            try:
                got = self.link.recv(65536)
            except OSError:
                got = b""
            at = time.monotonic()
            if not got:
                self.on_line(None, at)
                return
            *whole, rest = (rest + got).split(b"\n")
            for line in whole:
                self.on_line(line.decode(errors="replace").strip(), at)

    def send(self, text):
        self.link.sendall(text.encode() + b"\n")

    def receive(self, timeout):
        """The next line, or None when the other side has gone; queue.Empty after the timeout."""
        text, _ = self.lines.get(timeout=timeout)
        if text is None:
            self.lines.put((None, 0))  # for whoever asks next
        return text


class Machine:
    """A board with its supply on. Use as a context: leaving it pulls the plug."""

    def __init__(self, parts):
        self.disk, self.second, self.log = parts.disk, parts.second, parts.log
        self.run_dir = pathlib.Path(tempfile.mkdtemp(prefix="board-"))
        self.levels = dict(AT_REST)
        self.edges, self.changed = [], threading.Condition()
        self.resets, self.said = [], []
        self.hear = None  # called with each line on the console, at once
        self.boots = queue.Queue()
        self.pins_lock, self.agent_lock = threading.Lock(), threading.Lock()
        self.process = subprocess.Popen(self._command(parts), cwd=self.run_dir,
                                        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                                        stderr=self.log.with_suffix(".qemu").open("w"))
        try:
            self._attach()
        except BaseException:
            self.cut()
            raise

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.cut()

    @staticmethod
    def _command(parts):
        command = ["qemu-system-aarch64", *devicetree.MACHINE,
                   "-accel", "tcg,thread=multi,tb-size=256", "-nodefaults", "-no-user-config",
                   "-nic", "none", "-display", "none", "-S",
                   "-global", "virtio-mmio.force-legacy=false",
                   "-kernel", parts.kernel, "-dtb", parts.tree, "-append", f"{APPEND} {parts.root}",
                   "-drive", f"file={parts.disk},if=none,id=disk,format=raw,cache=writeback",
                   "-device", "virtio-blk-device,drive=disk,bus=virtio-mmio-bus.0",
                   "-device", "virtio-rng-device,bus=virtio-mmio-bus.1",
                   "-device", "virtio-serial-device,bus=virtio-mmio-bus.2",
                   "-chardev", f"socket,id=console,path=console,server=on,wait=off,logfile={parts.log}",
                   "-serial", "chardev:console",
                   "-qmp", "unix:qmp,server=on,wait=off",
                   "-qtest", "unix:qtest,server=on,wait=off", "-qtest-log", "none"]
        for name in ("agent", "metronome"):
            command += ["-chardev", f"socket,id={name},path={name},server=on,wait=off",
                        "-device", f"virtserialport,chardev={name},name=board.{name}"]
        if parts.second:
            disk = f"driver=raw,file.driver=file,file.filename={parts.second}"
            if parts.write_log:
                disk = (f"driver=blklogwrites,log-sector-size={SECTOR},log-super-update-interval=1,"
                        f"file.driver=raw,file.file.driver=file,file.file.filename={parts.second},"
                        f"log.driver=file,log.filename={parts.write_log}")
            command += ["-blockdev", f"node-name=second,{disk}",
                        "-device", "virtio-blk-device,drive=second,bus=virtio-mmio-bus.3"]
        if parts.initramfs:
            command += ["-initrd", parts.initramfs]
        if parts.memory:
            command += ["-incoming", f"exec:cat <'{parts.memory}'"]
        return [str(part) for part in command]

    def _attach(self):
        """Connects everything while the machine still stands; then lets it run."""
        def port(name, on_line=None):
            return Port(self.run_dir / name, self.process, on_line)

        self.qmp_answers, self.pin_answers = queue.Queue(), queue.Queue()
        self.qmp_port = port("qmp", self._qmp_line)
        self.qmp("qmp_capabilities")
        while self.qmp("query-status")["status"] == "inmigrate":
            time.sleep(0.005)
        self.pins = port("qtest", self._pin_line)
        self.agent_port = port("agent", self._agent_line)
        self.echo = port("metronome")
        self.console = port("console", self._console_line)
        self.controller = next("/machine/unattached/" + item["name"]
                               for item in self.qmp("qom-list", path="/machine/unattached")
                               if item["type"] == CONTROLLER_TYPE)
        self._pin_command(f"irq_intercept_out {self.controller}")

    def resume(self):
        """Power on (or go on after a restore) with the pins as `levels` says."""
        self.drive_pins()
        self.resumed_at = self.now()
        self.qmp("cont")

    @staticmethod
    def now():
        """The clock of every stamp here, in seconds."""
        return time.monotonic()

    # --- QMP ---

    def _qmp_line(self, text, at):
        if text is None:
            self.qmp_answers.put(None)
            return
        message = json.loads(text)
        if "return" in message or "error" in message:
            self.qmp_answers.put(message)
        elif message.get("event") == "RESET" and message["data"].get("guest"):
            # A reset also puts the controller's pins to 0; the wiring is still there.
            with self.changed:
                self.resets.append(at)
                self.changed.notify_all()
            threading.Thread(target=self.drive_pins, daemon=True).start()

    def qmp(self, command, **arguments):
        self.qmp_port.send(json.dumps({"execute": command, "arguments": arguments}))
        answer = self.qmp_answers.get(timeout=30)
        if answer is None:
            raise Gone(command)
        if "error" in answer:
            raise RuntimeError(f"{command}: {answer['error']['desc']}")
        return answer["return"]

    # --- pins ---

    def _pin_line(self, text, at):
        if text is None or not text.startswith("IRQ "):
            self.pin_answers.put(text)
            with self.changed:
                self.changed.notify_all()
            return
        _, verb, line = text.split()
        with self.changed:
            self.edges.append(Edge(int(line), int(verb == "raise"), at))
            self.changed.notify_all()

    def _pin_command(self, command):
        with self.pins_lock:
            at = time.monotonic()
            if self.process.poll() is not None:
                raise Gone(command)
            self.pins.send(command)
            answer = self.pin_answers.get(timeout=30)
        if answer is None:
            raise Gone(command)
        if not answer.startswith("OK"):
            raise RuntimeError(f"{command}: {answer}")
        return at

    def set_line(self, line, level):
        """Drives an input of the board; returns when (host's monotonic seconds)."""
        self.levels[line] = level
        return self._pin_command(f"set_irq_in {self.controller} unnamed-gpio-in {line} {level}")

    def drive_pins(self):
        for line, level in list(self.levels.items()):
            self.set_line(line, level)

    def press(self):
        return self.set_line(BUTTON, 0)

    def release(self):
        return self.set_line(BUTTON, 1)

    def press_for(self, seconds):
        """Presses, waits, releases; returns how long the line was down, and when it was let go."""
        pressed = self.press()
        released = self.at(pressed + seconds, self.release)
        return released - pressed, released

    @staticmethod
    def at(moment, action):
        """Does something at a moment; returns what it returns."""
        time.sleep(max(0, moment - time.monotonic()))
        return action()

    def edges_of(self, line, since=0.0):
        with self.changed:
            return [edge for edge in self.edges if edge.line == line and edge.at >= since]

    def wait_edge(self, line, level, timeout, since=0.0):
        """The first such edge since `since`; None when the time is up or the machine has ended."""
        end = time.monotonic() + timeout
        with self.changed:
            while True:
                for edge in self.edges:
                    if (edge.line, edge.level) == (line, level) and edge.at >= since:
                        return edge
                left = end - time.monotonic()
                if left <= 0 or self.process.poll() is not None:
                    return None
                self.changed.wait(min(left, 0.5))

    def wait_reset(self, timeout, number=1):
        with self.changed:
            return self.changed.wait_for(lambda: len(self.resets) >= number, timeout)

    # --- console ---

    def _console_line(self, text, at):
        if text is not None and self.hear:
            self.hear(text)
        with self.changed:
            self.said += [text] if text is not None else []
            self.changed.notify_all()

    def wait_said(self, words, timeout):
        """Waits for a line on the console that has these words; False when the time is up or the
        machine has ended."""
        def heard():
            return any(words in line for line in self.said)

        with self.changed:
            self.changed.wait_for(lambda: heard() or self.process.poll() is not None, timeout)
            return heard()

    # --- power ---

    def cut(self, at=None):
        """Takes the supply away, now or at a moment; returns when it was gone."""
        if at is not None:
            time.sleep(max(0, at - time.monotonic()))
        self.process.send_signal(signal.SIGKILL)
        gone = time.monotonic()
        self.process.wait()
        shutil.rmtree(self.run_dir, ignore_errors=True)
        return gone

    def save(self, memory, disk_copy, copy):
        """Stops the machine for good and keeps its memory, devices and disk as they are."""
        self.qmp("stop")
        self.qmp("migrate-set-parameters", **{"max-bandwidth": 1 << 40})
        self.qmp("migrate", uri=f"exec:cat >'{memory}'")
        while (status := self.qmp("query-migrate")["status"]) != "completed":
            if status == "failed":
                raise RuntimeError("the machine's memory could not be saved")
            time.sleep(0.02)
        copy(self.disk, disk_copy)
        self.cut()

    # --- the root shell in the guest ---

    def _agent_line(self, text, at):
        if text == "ready":
            self.boots.put(at)
        else:
            self.agent_port.lines.put((text, at))

    def wait_booted(self, timeout=400):
        """Waits for the agent's greeting and for systemd to have nothing left to start."""
        try:
            self.boots.get(timeout=timeout)
        except queue.Empty:
            raise Failed(f"the board did not boot in {timeout} s: see {self.log}") from None
        self.ask("systemctl is-system-running --wait", timeout)

    def ask(self, command, timeout=60):
        """Runs a shell command as root in the guest; returns its exit status and output."""
        with self.agent_lock:
            self.agent_port.send(base64.b64encode(command.encode()).decode())
            try:
                answer = self.agent_port.receive(timeout)
            except queue.Empty:
                raise Failed(f"no answer from the guest in {timeout} s to: {command}") from None
        if answer is None:
            raise Failed(f"the board went down during: {command}")
        status, _, text = answer.partition(" ")
        return int(status), base64.b64decode(text).decode(errors="replace")

    def power_off_from_inside(self, verb="poweroff"):
        """Somebody's own `systemctl poweroff`; returns when. The answer may go down with it."""
        with self.agent_lock:
            at = self.now()
            self.agent_port.send(base64.b64encode(f"systemctl --no-block {verb}".encode()).decode())
            return at

    def tell(self, command, timeout=60):
        """Runs a command that must succeed; returns its output."""
        status, text = self.ask(command, timeout)
        if status:
            raise Failed(f"in the guest, status {status}: {command}\n{text.strip()}")
        return text.strip()
