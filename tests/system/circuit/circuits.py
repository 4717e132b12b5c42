# SPDX-License-Identifier: MIT
"""Random circuits, topology by topology, as the keys of [circuit]: exact values at 25 °C, or parts of the
library with their tolerances. Nothing here knows what comes of them."""

import math
import random
from typing import NamedTuple

UNITS = {
    "voltage": "V", "high": "V", "threshold": "V", "cut_out": "V", "dies": "V", "zener": "V", "output": "V",
    "hysteresis": "V", "current": "A", "leakage": "A", "capacitance": "F", "capacitor": "F", "time": "s",
    "limit": "A", "delay": "s", "margin": "s", "temperature": "C", "factor": "", "gain": "",
}
NONE = math.inf  # a resistor that is not there


class Circuit(NamedTuple):
    topology: str
    seed: str  # draws the same one again
    numbers: dict[str, float]  # SI units
    texts: dict[str, str]      # names of parts, lists of points
    tolerances: dict[str, str] = {}  # of numbers that are not exact; "": what the tool takes it to have

    def with_number(self, key: str, value: float) -> "Circuit":
        return self._replace(numbers={**self.numbers, key: value})


def quantity(key: str, value: float) -> str:
    if value == NONE:
        return "none"
    unit = UNITS.get(key.rpartition("_")[2], UNITS.get(key, "ohm"))
    return f"{value:.10g} {unit}".rstrip()


def toml(circuit: Circuit) -> str:
    """Three times the same number: a value without any tolerance."""
    lines = ["[circuit]"]
    for key, value in circuit.numbers.items():
        text = quantity(key, value)
        if key in circuit.tolerances:
            text = f"{text} {circuit.tolerances[key]}".rstrip()
        elif text != "none" and key not in SINGLE:
            text = ", ".join([text] * 3)
        lines.append(f'{key} = "{text}"')
    lines += [f'{key} = "{text}"' for key, text in circuit.texts.items()]
    return "\n".join(lines) + "\n"


SINGLE = ("active_delay", "inactive_delay", "timeout", "margin")


class Draw:
    def __init__(self, seed: str) -> None:
        self.engine = random.Random(seed)

    def between(self, low: float, high: float) -> float:
        return low + (high - low) * self.engine.random()

    def about(self, low: float, high: float) -> float:
        """Evenly over the decades."""
        return low * (high / low) ** self.engine.random()

    def once_in(self, count: float) -> bool:
        return self.engine.random() * count < 1.0

    def one_of(self, *several):
        return several[int(self.engine.random() * len(several))]


class Supply(NamedTuple):
    volts: tuple[float, float]
    cut_out: tuple[float, float]


SUPPLIES = {"cell": Supply((3.1, 4.2), (2.0, 2.9)), "usual": Supply((4.5, 5.5), (2.2, 3.9)),
            "twelve": Supply((9.0, 14.0), (3.5, 7.0)), "high": Supply((18.0, 27.0), (4.0, 9.0))}
KINDS = ("cell", "usual", "usual", "usual", "twelve", "high")


def supply(draw: Draw, kinds: tuple[str, ...] = KINDS) -> dict[str, float]:
    kind = SUPPLIES[draw.one_of(*kinds)]
    found = {
        "supply_voltage": draw.between(*kind.volts), "source_resistance": draw.about(0.01, 0.2),
        "load_current": draw.about(0.3, 2.0), "halt_current": draw.about(0.03, 0.6),
        "rail_capacitance": draw.about(47e-6, 2200e-6), "cut_out": draw.between(*kind.cut_out),
        "rail_leakage": draw.about(100e-6, 10e-3), "wire_resistance": draw.about(0.01, 0.1),
        "contact_resistance": draw.about(0.005, 0.05), "temperature": 25.0,
    }
    if draw.once_in(2):
        found["rail_bleeder"] = draw.about(330.0, 10e3)
    if draw.once_in(6):
        found["back_feed_voltage"] = draw.between(0.8, 0.9 * found["supply_voltage"])
        found["back_feed_current"] = draw.about(0.2e-3, 20e-3)
    if draw.once_in(4):
        found["line_dies"] = draw.between(found["cut_out"], 0.9 * found["supply_voltage"])
    return found


def line(draw: Draw, supplied: dict[str, float]) -> dict[str, float]:
    found = {
        "line_high": draw.one_of(draw.between(3.0, 3.4), draw.between(3.0, 3.4), draw.between(4.7, 5.1)),
        "line_resistance": draw.between(20.0, 120.0), "pin_limit": 0.016,
        "line_current": NONE if draw.once_in(3) else draw.about(8e-3, 60e-3),
    }
    if draw.once_in(4):
        found |= {"active_delay": draw.about(5e-3, 0.5), "inactive_delay": draw.about(5e-3, 0.5)}
    rail = supplied.get("regulator_output", supplied["supply_voltage"])
    if 0.75 < found["line_high"] / rail < 1.25:
        # Logic that the rail itself feeds: whether the rail is just above its level must not decide.
        found["line_dies"] = draw.between(supplied["cut_out"], max(0.8 * rail, supplied["cut_out"]))
    return found


def diode(draw: Draw) -> dict[str, str]:
    knee = draw.between(0.15, 0.3)
    at = {"100 uA": knee, "1 mA": knee + draw.between(0.05, 0.1), "10 mA": knee + draw.between(0.12, 0.2),
          "100 mA": knee + draw.between(0.25, 0.6)}
    return {"diode_drop": ", ".join(f"{drop:.6f} V at {current}" for current, drop in at.items())}


def release(draw: Draw) -> dict[str, float]:
    return {
        "series_resistor": NONE if draw.once_in(10) else draw.about(10.0, 2.2e3), "diode_factor": 1.0,
        "diode_leakage": draw.about(0.05e-6, 2e-6), "hold_capacitor": draw.about(0.47e-6, 100e-6),
        "hold_leakage": draw.about(1e-9, 3e-6), "bleed_resistor": draw.about(22e3, 1e6),
        "release_threshold": draw.between(0.6, 2.4), "release_resistance": draw.about(1.0, 20.0),
    }


def latch(draw: Draw) -> dict[str, float]:
    feed = draw.about(4.7e3, 220e3)
    return {
        "feed_resistor": feed, "latch_pull": NONE if draw.once_in(2) else feed * draw.about(3.0, 30.0),
        "latch_threshold": draw.between(0.6, 2.2),
    }


def gate(draw: Draw) -> dict[str, float]:
    return {
        "gate_pull": draw.about(4.7e3, 220e3), "gate_capacitance": draw.about(0.5e-9, 100e-9),
        "drain_capacitance": draw.about(0.05e-9, 0.5e-9), "main_threshold": draw.between(0.5, 1.3),
    }


def on_resistance(draw: Draw) -> dict[str, str]:
    return {"main_on_resistance": f"{draw.between(20.0, 120.0):.6f} mohm at 4.5 V"}


def discrete(seed: str) -> Circuit:
    draw = Draw(seed)
    numbers = supply(draw)
    numbers |= line(draw, numbers) | release(draw) | latch(draw) | gate(draw)
    return Circuit("discrete", seed, numbers, diode(draw) | on_resistance(draw))


def with_bipolar_release(numbers: dict[str, float], draw: Draw) -> None:
    del numbers["release_resistance"]
    numbers |= {"release_threshold": draw.between(0.55, 0.75), "release_gain": draw.between(60.0, 400.0),
                "release_base": draw.about(22e3, 680e3)}


def bipolar(seed: str) -> Circuit:
    """Release, latch or both; a latch's feed resistor is its base resistor and must carry enough."""
    draw = Draw(seed)
    which = draw.one_of("release", "latch", "both")
    numbers = supply(draw)
    numbers |= line(draw, numbers) | release(draw) | latch(draw) | gate(draw)
    if which != "latch":
        with_bipolar_release(numbers, draw)
    if which != "release":
        numbers |= {"latch_threshold": draw.between(0.55, 0.75), "latch_gain": draw.between(60.0, 400.0),
                    "feed_resistor": draw.about(4.7e3, 100e3)}
        numbers["latch_pull"] = NONE if draw.once_in(3) else numbers["feed_resistor"] * draw.about(0.3, 5.0)
    return Circuit("bipolar", seed, numbers, diode(draw) | on_resistance(draw))


def with_other_line(numbers: dict[str, float], texts: dict[str, str], draw: Draw) -> None:
    way = draw.one_of("open-drain high", "push-pull low", "open-drain low")
    drive, active = way.split()
    texts |= {"line_drive": drive, "line_active": active}
    del numbers["line_current"], numbers["line_resistance"]  # have no place there
    if drive == "open-drain":
        numbers["line_pull"] = draw.about(510.0, 22e3)
    if drive == "open-drain" and active == "high":
        numbers["boot_time"] = draw.about(0.1, 10.0)
    if active == "low":
        numbers |= {"inverter_threshold": draw.between(0.5, 0.8 * numbers["line_high"]),
                    "inverter_resistance": draw.about(0.1, 100.0)}


def other_line(seed: str) -> Circuit:
    draw = Draw(seed)
    numbers = supply(draw)
    numbers |= line(draw, numbers) | release(draw) | latch(draw) | gate(draw)
    texts = diode(draw) | on_resistance(draw)
    with_other_line(numbers, texts, draw)
    return Circuit("line", seed, numbers, texts)


def divided_gate(seed: str) -> Circuit:
    """Both, or the divider alone; a Zener without its resistor is refused."""
    draw = Draw(seed)
    numbers = supply(draw, ("usual", "twelve", "high"))
    numbers |= line(draw, numbers) | release(draw) | latch(draw) | gate(draw)
    numbers["gate_series"] = numbers["gate_pull"] * draw.about(0.05, 0.8)
    if draw.once_in(2):
        numbers["gate_zener"] = draw.between(3.3, 12.0)
    return Circuit("gate", seed, numbers, diode(draw) | on_resistance(draw))


def regulate(numbers: dict[str, float], draw: Draw) -> None:
    """What hangs on the rail then goes by the regulator's output."""
    part = draw.between(0.6, 0.9)
    numbers["regulator_output"] = part * numbers["supply_voltage"]
    for key in ("cut_out", "line_dies", "back_feed_voltage"):
        if key in numbers:
            numbers[key] *= part


def enable_pin(seed: str) -> Circuit:
    draw = Draw(seed)
    numbers = supply(draw)
    if draw.once_in(2):
        regulate(numbers, draw)
    numbers |= line(draw, numbers) | release(draw) | latch(draw)
    del numbers["latch_threshold"]
    numbers["enable_threshold"] = draw.between(0.6, 1.6)
    if draw.once_in(2):
        numbers["enable_hysteresis"] = numbers["enable_threshold"] * draw.between(0.02, 0.3)
    numbers["enable_delay"] = draw.about(1e-6, 5e-3)
    if draw.once_in(2):
        numbers["output_discharge"] = draw.about(22.0, 1e3)
    texts = {"main_on_resistance": f"{draw.between(20.0, 120.0):.6f} mohm at 5 V"}
    return Circuit("enable", seed, numbers, diode(draw) | texts)


TOPOLOGIES = {"discrete": discrete, "bipolar": bipolar, "line": other_line, "gate": divided_gate,
              "enable": enable_pin}
