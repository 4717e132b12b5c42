# SPDX-License-Identifier: MIT
"""The two voltages that decide, where every stage is an ideal switch: what the hold capacitor must have
for the release stage to win, and the rail above which the latch takes itself back on. From the transistors'
law in nightlatch-circuit(1), each at the current that this circuit asks of it."""

import math

from circuits import NONE
from devices import Bipolar
from values import Values, rail_when_on

EARLIER = 0.03  # V: what a real diode may drop less than its first published drop
UNKNOWN_OHMS = 5.0  # of a latch transistor of which only the threshold is stated: common practice, no source


LEAST_FLOW = 1e-6  # A that any rail loses by something, common practice, no source


def flows_out(values: Values, rail: float) -> float:
    """A that leave a rail whose board has stopped drawing, less what feeds it from outside."""
    out = rail / values["rail_bleeder"] + rail / (values["feed_resistor"] + values["latch_pull"])
    out += values["rail_leakage"] * rail / values["cut_out"]
    if values["back_feed_current"] > 0.0:
        out -= max(values["back_feed_current"] * (1.0 - rail / values["back_feed_voltage"]), 0.0)
    return max(out, LEAST_FLOW)


def full_drive(values: Values) -> float:
    pull, series = values["gate_pull"], values["gate_series"]
    return min(values["supply_voltage"] * pull / (pull + series), values["gate_zener"])


def gate_current(values: Values, rail: float) -> float:
    """A that the latch must carry for the main switch to carry what flows out of the rail."""
    main = values.transistor("main")
    drive = main.control_for(flows_out(values, rail), values.celsius)
    return min(max(drive, 0.05), main.threshold) / values["gate_pull"]


def input_to_rail(values: Values, control: float, base: float) -> float:
    """The rail at which the latch's input has this voltage and draws this current."""
    below = 0.0 if values["latch_pull"] == NONE else control / values["latch_pull"]
    return control + values["feed_resistor"] * (base + below)


def latch_level(values: Values) -> float:
    if values.has("enable_threshold"):
        return input_to_rail(values, values["enable_threshold"], 0.0)
    latch = values.transistor("latch", UNKNOWN_OHMS)
    published = rail = input_to_rail(values, latch.threshold, 0.0)
    for _ in range(100):
        current = gate_current(values, rail)
        control = latch.control_for(current, values.celsius)
        base = current / latch.gain if isinstance(latch, Bipolar) else 0.0
        rail = 0.5 * (rail + input_to_rail(values, control, base))
    return min(rail, published)


def latch_input(values: Values) -> float:
    """V at the latch's input, below which it does nothing."""
    if values.has("enable_threshold"):
        return values["enable_threshold"] - values["enable_hysteresis"]
    return values["latch_threshold"]


def through_feed(values: Values) -> float:
    """A that the release stage must carry to keep the latch's input just below that, with the rail up."""
    at = latch_input(values)
    below = 0.0 if values["latch_pull"] == NONE else at / values["latch_pull"]
    return max((rail_when_on(values) - at) / values["feed_resistor"] - below, 0.0)


def release_levels(values: Values) -> tuple[float, float]:
    """V of the hold capacitor at which a real stage may be on already, and at which it surely is: by the law
    at its current, and as published; the larger counts for letting go."""
    release = values.transistor("release")
    current = through_feed(values)
    control = max(release.control_for(current, values.celsius), 0.05)
    base = 0.0
    if isinstance(release, Bipolar):
        base = values["release_base"] * current / release.gain
    begins = max(min(release.threshold, control) - EARLIER, 0.05)
    return begins + base, max(release.threshold, control) + base


def release_level(values: Values) -> float:
    return release_levels(values)[1]


def opens_after(values: Values) -> float:
    """s from the latch's letting go to the main switch's: for how long to simulate, no more."""
    if values.has("enable_threshold"):
        return values["enable_delay"]
    farads = values["gate_capacitance"] + values["drain_capacitance"]
    return values["gate_pull"] * farads * max(math.log(full_drive(values) / values["main_threshold"]), 0.0)
