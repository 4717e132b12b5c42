# SPDX-License-Identifier: MIT
"""Random circuits of parts by name, with the tolerances that they have when bought."""

from circuits import NONE, SINGLE, TOPOLOGIES, Circuit, Draw
from values import ABSENT

SMALL = ("BSS138", "BSS138", "2N7002", "2N7000")
NPN = ("BC847B", "BC847C", "MMBT3904")
LOW = ("AO3401A", "Si2301BDS", "AO3415", "IRLML6402")  # gate limit of 8 V and more
HIGH = ("IRF9540", "IRF4905", "AO3407A")
DIODES = ("BAT54", "BAT54", "BAT85", "BAT46", "1N4148")
CLASSES = ("X7R", "electrolytic", "film")
TEMPERATURES = ((-10.0, 15.0, 50.0), (0.0, 25.0, 40.0), (-25.0, 20.0, 60.0))
OF_PARTS = ("release_threshold", "release_resistance", "release_gain", "latch_threshold", "latch_gain",
            "main_threshold", "inverter_threshold", "inverter_resistance", "diode_leakage", "hold_leakage",
            "diode_factor", "line_current", "temperature")
PLAIN = ("series_resistor", "bleed_resistor", "feed_resistor", "latch_pull", "gate_pull", "gate_series",
         "rail_bleeder", "release_base", "line_pull", "output_discharge", "hold_capacitor")
TOLERANCES = {"supply_voltage": "+-3 %", "halt_current": "+-30 %", "rail_capacitance": "+-20 %",
              "cut_out": "+-5 %", "rail_leakage": "-70 +200 %", "line_high": "+-5 %",
              "gate_capacitance": "+-20 %", "drain_capacitance": "+-50 %", "gate_zener": "+-5 %",
              "enable_threshold": "+-10 %", "regulator_output": "+-2 %", "line_resistance": "+-40 %",
              "back_feed_current": "+-20 %"}


# Nothing of them: there is no such stage, or the tool's answer does not go by it.
STAGES = ("_gain", "_threshold", "_output", "_zener", "line_resistance", "line_pull", "release_base")


def name_parts(numbers: dict[str, float], texts: dict[str, str], draw: Draw) -> None:
    texts["release_transistor"] = draw.one_of(*(NPN if "release_gain" in numbers else SMALL))
    if "latch_threshold" in numbers:
        texts["latch_transistor"] = draw.one_of(*(NPN if "latch_gain" in numbers else SMALL))
    if "main_threshold" in numbers:
        del texts["main_on_resistance"]
        texts["main_switch"] = draw.one_of(*(HIGH if numbers["supply_voltage"] > 7.0 else LOW))
    if "inverter_threshold" in numbers:
        texts["inverter_transistor"] = draw.one_of("BSS84", "AO3401A")
    del texts["diode_drop"]
    texts["diode"] = draw.one_of(*DIODES)
    texts["hold_capacitor_class"] = draw.one_of(*CLASSES)
    texts["temperature"] = ", ".join(f"{celsius} C" for celsius in draw.one_of(*TEMPERATURES))


def library(topology: str, seed: str) -> Circuit:
    """An exact circuit's values, of which those of parts with names give way to them."""
    exact = TOPOLOGIES[topology](seed)
    numbers, texts = dict(exact.numbers), dict(exact.texts)
    name_parts(numbers, texts, Draw(f"{seed} library"))
    for key in OF_PARTS:
        numbers.pop(key, None)
    tolerances = {key: "" for key in PLAIN if numbers.get(key, NONE) != NONE}
    tolerances |= {key: text for key, text in TOLERANCES.items() if key in numbers}
    return Circuit(topology, seed, numbers, texts, tolerances)


def at_worst(circuit: Circuit, answer: dict) -> Circuit:
    """The corner that the tool found, as an exact circuit; parts keep their names. What says that a stage is
    there, a gain or a threshold, is nothing where it is not."""
    numbers = {key: value for key, value in circuit.numbers.items() if key in SINGLE}
    for key, value in answer["worst_parts"].items():
        name, unit = key.removesuffix("_us"), 1e-6 if key.endswith("_us") else 1.0
        absent = value is None or (value == 0.0 and name.endswith(STAGES))
        if not absent or name in ABSENT:
            numbers[name] = ABSENT[name] if absent else value * unit
    return circuit._replace(numbers=numbers, tolerances={})
