# SPDX-License-Identifier: MIT
"""One exact circuit at one temperature, as decks are written from it: the keys, what is not stated, the
parts by name, and what the temperature does to them as nightlatch-circuit(1) says."""

import re
from typing import NamedTuple

from circuits import NONE, Circuit
from devices import Bipolar, Mosfet

ABSENT = {
    "source_resistance": 0.0, "wire_resistance": 0.0, "contact_resistance": 0.0, "rail_leakage": 0.0,
    "rail_bleeder": NONE, "back_feed_voltage": 0.0, "back_feed_current": 0.0, "line_dies": 0.0,
    "line_current": NONE, "line_resistance": 50.0, "hold_leakage": 0.0, "bleed_resistor": NONE,
    "latch_pull": NONE, "active_delay": 0.1, "inactive_delay": 0.1, "gate_series": 0.0, "gate_zener": NONE,
    "enable_hysteresis": 0.0, "enable_delay": 0.0, "output_discharge": NONE, "series_resistor": 0.0,
    "release_resistance": 5.0,
}
IN_SERIES = ("series_resistor", "gate_series")  # "none" is nothing between
THRESHOLDS = ("release_threshold", "latch_threshold", "main_threshold", "inverter_threshold")
TEST_CURRENT = {"mosfet": 250e-6, "bipolar": 2e-3}
DRIVE = 4.5  # V, at which a small transistor's own RDS(on) is taken as stated


class Published(NamedTuple):
    """Of a library part: the threshold's test current, and RDS(on) at the lowest gate drive, where the
    channel has more of it than its leads."""
    test_current: float
    ohms: float
    drive: float


# From the parts' data sheets (Vishay, onsemi, AOS, International Rectifier, Philips, NXP); test currents of
# 2N7000, Si2301BDS and MMBT3904 from memory.
PARTS = {
    "BSS138": Published(1e-3, 6.0, 4.5), "2N7000": Published(1e-3, 5.3, 4.5),
    "2N7002": Published(250e-6, 7.5, 5.0), "AO3401A": Published(250e-6, 0.085, 2.5),
    "AO3407A": Published(250e-6, 0.078, 4.5), "AO3415": Published(250e-6, 0.065, 1.8),
    "IRLML6402": Published(250e-6, 0.135, 2.5), "BSS84": Published(1e-3, 10.0, 5.0),
    "Si2301BDS": Published(250e-6, 0.150, 2.5), "IRF9540": Published(250e-6, 0.20, 10.0),
    "IRF4905": Published(250e-6, 0.02, 10.0), "BC847B": Published(2e-3, 0.0, 0.0),
    "BC847C": Published(2e-3, 0.0, 0.0), "MMBT3904": Published(2e-3, 0.0, 0.0),
}
DROPS = {
    "BAT54": [(1e-4, 0.24), (1e-3, 0.32), (1e-2, 0.40), (0.03, 0.50), (0.1, 1.0)],
    "BAT85": [(1e-4, 0.24), (1e-3, 0.32), (1e-2, 0.40), (0.03, 0.50), (0.1, 0.80)],
    "BAT46": [(1e-4, 0.25), (1e-2, 0.45), (0.25, 1.0)], "1N4148": [(5e-3, 0.72), (0.1, 1.0)],
}


class Values(NamedTuple):
    numbers: dict[str, float]
    words: dict[str, str]
    drops: list[tuple[float, float]]  # A, V
    on: list[tuple[float, float]]     # V of gate drive, ohm
    better: float = 1.0               # RDS(on) is published at its largest: so many times less

    def __getitem__(self, key: str) -> float:
        return self.numbers[key]

    def has(self, key: str) -> bool:
        return key in self.numbers

    @property
    def celsius(self) -> float:
        return self["temperature"]

    def published(self, stage: str, ohms: float) -> Published:
        key = "main_switch" if stage == "main" else f"{stage}_transistor"
        if self.words.get(key) in PARTS:
            return PARTS[self.words[key]]
        kind = "bipolar" if self.has(f"{stage}_gain") else "mosfet"
        current = self.numbers.get(f"{stage}_test_current", TEST_CURRENT[kind])
        if stage == "main":
            return Published(current, self.on[0][1], self.on[0][0])
        return Published(current, self.numbers.get(f"{stage}_resistance", ohms), DRIVE)

    def transistor(self, stage: str, ohms: float = 0.0) -> Mosfet | Bipolar:
        """`ohms`: RDS(on) of one that has neither a name nor a resistance."""
        threshold, part = self[f"{stage}_threshold"], self.published(stage, ohms)
        if self.has(f"{stage}_gain"):
            return Bipolar(threshold, part.test_current, self[f"{stage}_gain"])
        return Mosfet(threshold, part.test_current, part.ohms / self.better, part.drive)


def pairs(text: str, second: dict[str, float], first: dict[str, float]) -> list[tuple[float, float]]:
    """"85 mohm at 2.5 V, …" as (2.5, 0.085), …"""
    found = re.findall(r"([\d.]+) (\w+) at ([\d.]+) (\w+)", text)
    return [(float(at) * second[at_unit], float(value) * first[unit]) for value, unit, at, at_unit in found]


VOLTS = {"V": 1.0, "mV": 1e-3}
AMPERES = {"A": 1.0, "mA": 1e-3, "uA": 1e-6}
OHMS = {"ohm": 1.0, "mohm": 1e-3}


def values_of(circuit: Circuit, better: float = 1.0) -> Values:
    numbers = ABSENT | circuit.numbers
    for key in IN_SERIES:
        if numbers[key] == NONE:
            numbers[key] = 0.0
    warmer = numbers["temperature"] - 25.0
    for key in THRESHOLDS:
        if key in numbers:
            numbers[key] = max(numbers[key] - 0.002 * warmer, 0.05)
    for key in ("diode_leakage", "hold_leakage"):
        numbers[key] *= 2.0 ** (warmer / 10.0)
    texts = circuit.texts
    drops = DROPS.get(texts.get("diode", "")) or pairs(texts["diode_drop"], AMPERES, VOLTS)
    drops = [(current, max(drop * numbers["diode_factor"] - 0.0015 * warmer, 0.02))
             for current, drop in drops]
    on = pairs(texts.get("main_on_resistance", ""), VOLTS, OHMS)
    if not on:
        part = PARTS[texts["main_switch"]]
        on = [(part.drive, part.ohms)]
    return Values(numbers, texts, drops, on, better)


def parallel(*ohms: float) -> float:
    conductance = sum(0.0 if one == NONE else 1.0 / max(one, 1e-9) for one in ohms)
    return NONE if conductance == 0.0 else 1.0 / conductance


def path(values: Values) -> float:
    """Ohm from the source to the rail, the main switch fully on."""
    return max(values["source_resistance"] + values["wire_resistance"] + values["contact_resistance"] +
               values.on[-1][1], 1e-3)


def rail_when_on(values: Values) -> float:
    """V after halt, the board's processor spinning."""
    ground = parallel(values["rail_bleeder"], values["feed_resistor"] + values["latch_pull"])
    into = values.numbers.get("regulator_output", values["supply_voltage"]) / path(values)
    return (into - values["halt_current"]) / (1.0 / path(values) + 1.0 / ground)


def dead_level(values: Values) -> float:
    """Rail below which the line is dead: as nightlatch-circuit(1) says under line_dies."""
    if values["line_dies"] > 0.0:
        return values["line_dies"]
    steps_down = rail_when_on(values) > values["line_high"]
    return max(values["cut_out"], values["line_high"]) if steps_down else values["cut_out"]
