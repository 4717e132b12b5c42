# SPDX-License-Identifier: MIT
"""How much the emulation blurs time, measured all through a run.

A spare input of the board is toggled again and again, and the guest sends back the kernel's stamp
of each edge. Inside minus outside would be one constant on an ideal board; how far it wanders is
the jitter. A press takes the same way in, so a hold time of the guest is known to that much.
"""

import queue
import threading
import time

from qemu import METRONOME

PERIOD = 0.04  # seconds; well clear of the 2 ms below which the controller merges edges


class Metronome(threading.Thread):
    def __init__(self, machine):
        super().__init__(daemon=True)
        self.machine, self.stopped, self.offsets = machine, threading.Event(), []
        self.echoes = []  # seconds until a program in the guest had answered, one for each offset
        self.start()

    def run(self):
        level = self.machine.levels[METRONOME]
        try:
            while not self.stopped.is_set():
                level ^= 1
                sent = self.machine.set_line(METRONOME, level)
                stamp = self._echo()
                if stamp is not None:
                    self.echoes.append(time.monotonic() - sent)
                    self.offsets.append(stamp - sent)
                time.sleep(PERIOD)
        except (OSError, queue.Empty):
            return  # the board has gone: what was measured until then counts

    def _echo(self):
        """The kernel's stamp of the edge just made; None when the guest no longer answers."""
        while not self.stopped.is_set():
            try:
                text = self.machine.echo.receive(0.1)
            except queue.Empty:
                continue
            if text is None:
                self.stopped.set()
                return None
            return float(text.split()[0])
        return None

    def in_guest(self, moment):
        """A moment of the outside by the guest's clock, as the edge that came least late has it."""
        return moment + min(self.offsets)

    def jitter(self, since=0):
        """Seconds between the earliest and the latest offset seen, without the first `since` edges;
        None before two edges."""
        seen = self.offsets[since:]
        return max(seen) - min(seen) if len(seen) > 1 else None

    def stop(self):
        self.stopped.set()
        self.join()
