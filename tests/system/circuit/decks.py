# SPDX-License-Identifier: MIT
"""Decks for ngspice, from the keys of [circuit] alone, after the drawings in nightlatch-circuit(1).

IDEAL has a switch with a threshold in every stage and a diode that is straight between its published
drops. EARLY is the same, but for a release stage that is on at the lower of its levels while the line is
active. LEVEL_1 and WEAK have device equations (devices.py), and what goes with them: resistors and
capacitors where they are soldered, an inverter's transistor, an emitter that takes base current.
"""

import math

import devices
from circuits import NONE
from levels import full_drive, latch_input, latch_level, opens_after, release_levels
from values import Values, dead_level, parallel, path, rail_when_on

IDEAL, EARLY, LEVEL_1, WEAK = "ideal", "ideal, on early", "level 1", "weak inversion"

BEGIN = 1e-3    # s before the line's first active level
EDGE = 1e-6     # s that it takes
WIDTH = 4e-5    # V of an ideal switch's edge
STRAY = 10e-12  # F of a trace, common practice, no source
INPUT = 50e-12  # F of a small transistor's gate, common practice, no source
# Finely first; where its step control gives up, less so.
OPTIONS = ("method=gear reltol=1e-5 trtol=1", "method=gear reltol=1e-4 trtol=1",
           "method=gear reltol=3e-4 trtol=1", "method=gear reltol=1e-3 itl4=200 gmin=1e-10")
UNKNOWN_OHMS = {"latch": 4.0, "inverter": 4.0}  # what the keys do not say
SOFT_START = 0.5e-3  # s that a load switch takes to turn on, common practice, no source


def above(difference: str, width: float = WIDTH) -> str:
    """0 or 1 about nothing; bounded, because far off the solution anything overflows."""
    return f"(0.5+0.5*tanh(max(-1,min(1,{difference}))/{width:g}))"


class Deck:
    def __init__(self, values: Values, models: str) -> None:
        self.values = values
        self.models = models
        self.ideal = models in (IDEAL, EARLY)
        self.lines = [f"* {models}"]
        self.start: dict[str, float] = {}

    def add(self, line: str) -> None:
        self.lines.append(line)

    def resistor(self, name: str, nodes: str, ohms: float) -> None:
        if ohms != NONE:
            self.add(f"r{name} {nodes} {max(ohms, 1e-3):.9g}")

    def capacitor(self, name: str, nodes: str, farads: float) -> None:
        self.add(f"c{name} {nodes} {farads:.9g}")

    def left_once(self, name: str, level: float) -> None:
        """A node that is at 1 V until the rail has been below a level, and then stays at 0."""
        self.capacitor(name, f"{name} 0", 1e-9)
        self.add(f"b{name} {name} 0 i=v({name})*1e-2*{above(f'{level:.9g}-v(rail)')}")
        self.start[name] = 1.0

    def mosfet(self, stage: str, nodes: str, p_channel: bool = False) -> None:
        part = self.values.transistor(stage, UNKNOWN_OHMS.get(stage, 0.0))
        if isinstance(part, devices.Bipolar):
            self.add(devices.npn(stage, nodes, part, self.values.celsius))
        elif self.models == WEAK:
            self.add(devices.ekv(stage, nodes, part, self.values.celsius, p_channel))
        else:
            self.add(devices.level_1(stage, nodes, part, p_channel))


def write_rail(deck: Deck) -> None:
    values = deck.values
    deck.capacitor("rail", "rail 0", values["rail_capacitance"])
    deck.resistor("bleeder", "rail 0", values["rail_bleeder"])
    deck.left_once("drawing", values["cut_out"])
    leak = values["rail_leakage"] / values["cut_out"]
    deck.add(f"bload rail 0 i=v(drawing)*{values['halt_current']:.9g}+(1-v(drawing))*v(rail)*{leak:.9g}")
    if values["back_feed_current"] > 0.0:
        slope = values["back_feed_current"] / values["back_feed_voltage"]
        deck.add(f"bfeedback 0 rail i=max(0,({values['back_feed_voltage']:.9g}-v(rail))*{slope:.9g})")
    deck.start["rail"] = rail_when_on(values)


def write_train(deck: Deck) -> None:
    """Node `wish`: 1 V while the kernel's driver has the line active; node `logic`: the line's supply."""
    values = deck.values
    first = BEGIN + values["active_delay"]
    second = first + values["inactive_delay"]
    deck.add(f"vwish wish 0 pwl(0 0 {BEGIN} 0 {BEGIN + EDGE} 1 {first} 1 {first + EDGE} 0 "
             f"{second} 0 {second + EDGE} 1)")
    deck.left_once("alive", dead_level(values))
    deck.add(f"blogic logic 0 v={values['line_high']:.9g}*v(alive)")


def write_driver(deck: Deck) -> None:
    """From the line to node `pin`, where the series resistor begins."""
    values = deck.values
    active = values.words.get("line_active", "high")
    drive = values.words.get("line_drive", "push-pull")
    deck.capacitor("pin", "pin 0", STRAY)
    if active == "low":
        write_inverter(deck, drive)
    elif drive == "open-drain":
        deck.resistor("pull", "logic pin", values["line_pull"])
        sinks = 1.0 / values["line_resistance"]
        deck.add(f"bpin pin 0 i=v(pin)*{sinks:.9g}*(1-v(wish))")
    else:
        conducts = 1.0 / values["line_resistance"]
        limit = "" if values["line_current"] == NONE else f",{values['line_current']:.9g})"
        deck.add("bpin 0 pin i=" + ("min(" if limit else "") +
                 f"(v(logic)*v(wish)-v(pin))*{conducts:.9g}" + limit)


def write_inverter(deck: Deck, drive: str) -> None:
    """It passes the logic's supply on while the line is low."""
    values = deck.values
    if deck.ideal:
        deck.add("bline line 0 v=v(logic)*v(wish)")
        drive_left = values["line_high"] - values["inverter_threshold"]
        published = max(4.5 - values["inverter_threshold"], 0.3)
        ohms = values["inverter_resistance"] * max(published / drive_left, 1.0)
        most = drive_left ** 2 / (3.0 * values["inverter_resistance"] * published)
        deck.add(f"binverter line pin i=min(v(line,pin)*{1.0 / ohms:.9g},{most:.9g})")
        return
    deck.capacitor("line", "line 0", STRAY)
    sinks = 1.0 / values["line_resistance"]
    if drive == "open-drain":
        deck.resistor("pull", "logic line", values["line_pull"])
        deck.add(f"bline line 0 i=v(line)*{sinks:.9g}*v(wish)")
    else:
        deck.add(f"bline 0 line i=(v(logic)*(1-v(wish))-v(line))*{sinks:.9g}")
    deck.mosfet("inverter", "pin line logic", p_channel=True)


def write_hold(deck: Deck) -> None:
    values = deck.values
    deck.resistor("series", "pin anode", values["series_resistor"])
    deck.capacitor("anode", "anode 0", STRAY)
    deck.capacitor("hold", "hold 0", values["hold_capacitor"])
    deck.resistor("bleed", "hold 0", values["bleed_resistor"])
    deck.add(f"bholdleak hold 0 i={values['hold_leakage']:.9g}*min(1,max(0,v(hold)*1e3))")
    leakage = values["diode_leakage"]
    if not deck.ideal:
        fit = devices.fit_diode(values.drops)
        deck.add(devices.diode("block", "anode hold", fit, leakage, values.celsius))
        return
    points = [(-100.0, -leakage), (-1e-4, -leakage), (0.0, 0.0), (values.drops[0][1] - 1e-3, 0.0)]
    points += [(drop, current) for current, drop in values.drops]
    (i1, v1), (i2, v2) = ([(0.0, values.drops[0][1])] + values.drops)[-2:]
    rise = max((v2 - v1) / (i2 - i1), 1e-3)
    points.append((v2 + 10.0 * rise, i2 + 10.0))
    deck.add("bblock anode hold i=pwl(v(anode,hold)," +
             ",".join(f"{volts:.9g},{amperes:.9g}" for volts, amperes in points) + ")")


def write_release(deck: Deck) -> None:
    """Node `latch` is what it pulls to ground; node `off` is 1 V while the ideal one does."""
    values = deck.values
    if deck.ideal:
        begins, level = release_levels(values)
        early = f"v(wish)*v(alive)*{above(f'v(hold)-{begins:.9g}')}" if deck.models == EARLY else "0"
        deck.add(f"boff off 0 v=max({above(f'v(hold)-{level:.9g}')},{early})")
        if values.has("release_gain"):
            deck.add(f"bbase hold 0 i=max(0,v(hold)-{values['release_threshold']:.9g})/"
                     f"{values['release_base']:.9g}")
        return
    control = "hold"
    if values.has("release_gain"):
        deck.resistor("base", "hold base", values["release_base"])
        control = "base"
        deck.capacitor("base", "base 0", INPUT)
    deck.mosfet("release", f"latch {control} 0")


def write_feed(deck: Deck) -> None:
    values = deck.values
    if deck.ideal:
        alone = values["feed_resistor"] + values["latch_pull"]
        through = 0.0 if alone == NONE else 1.0 / alone
        deck.add(f"bfeed rail 0 i=v(rail)*(v(off)/{values['feed_resistor']:.9g}+(1-v(off))*{through:.9g})")
        return
    deck.resistor("feed", "rail latch", values["feed_resistor"])
    deck.resistor("latchpull", "latch 0", values["latch_pull"])
    deck.capacitor("latch", "latch 0", INPUT)
    deck.start["latch"] = min(rail_when_on(values), 2.0 * latch_input(values))


def write_supply(deck: Deck) -> None:
    volts = deck.values["supply_voltage"]
    deck.add(f"vsupply supply 0 {volts:.9g}")
    deck.start["supply"] = volts


def write_gate(deck: Deck) -> None:
    """Supply, main switch, its gate, and the latch that pulls it down. Node `drive`: gate to source."""
    values = deck.values
    write_supply(deck)
    deck.add(f"bdrive drive 0 v=v({'supply' if deck.ideal else 'source'},gate)")
    series = values["gate_series"]
    drain = "drain" if series > 0.0 else "gate"
    deck.resistor("gateseries", "gate drain", series if series > 0.0 else NONE)
    deck.capacitor("drain", f"{drain} 0", INPUT)
    deck.start["gate"] = values["supply_voltage"] - full_drive(values)
    if deck.ideal:
        write_ideal_gate(deck, drain)
        return
    deck.resistor("path", "supply source", path(values) - values.on[-1][1])
    deck.resistor("gatepull", "source gate", values["gate_pull"])
    deck.capacitor("gate", "source gate", values["gate_capacitance"])
    deck.capacitor("miller", "gate rail", values["drain_capacitance"])
    if values["gate_zener"] != NONE:
        deck.add(devices.zener("gatezener", "gate source", values["gate_zener"]))
    deck.mosfet("main", "rail gate source", p_channel=True)
    deck.mosfet("latch", f"{drain} latch 0")
    deck.start["source"] = rail_when_on(values)


def write_ideal_gate(deck: Deck, drain: str) -> None:
    values = deck.values
    series = values["gate_series"]
    deck.resistor("gatepull", "supply gate", values["gate_pull"])
    deck.capacitor("gate", "supply gate", values["gate_capacitance"] + values["drain_capacitance"])
    if values["gate_zener"] != NONE:
        deck.add(f"bzener supply gate i=max(0,v(drive)-{values['gate_zener']:.9g})*0.1")
    # Much less than the resistors about it, but no short: its last thousandth would still hold the gate.
    conducts = 100.0 / (values["gate_pull"] if series == 0.0 else parallel(values["gate_pull"], series))
    on = above(f"v(rail)-{latch_level(values):.9g}")
    deck.add(f"blatch {drain} 0 i=v({drain})*{conducts:.9g}*(1-v(off))*{on}")
    on = above(f"v(drive)-{values['main_threshold']:.9g}")
    deck.add(f"bmain supply rail i=v(supply,rail)*{1.0 / path(values):.9g}*{on}")


def write_enable(deck: Deck) -> None:
    """A load switch or regulator with an enable pin. Node `drive`: 1 V while its output is on."""
    values = deck.values
    write_supply(deck)
    rises, falls = values["enable_threshold"], latch_input(values)
    if deck.ideal:
        share = rises / latch_level(values)
        pin = f"(v(rail)*{share:.9g}*(1-v(off)))"
    else:
        pin = "v(latch)"
    # A capacitor of 1 nF: up so slowly that no time step can close the loop through the rail by itself; down
    # so that it passes the middle after the delay.
    up = 0.5e-9 / SOFT_START
    down = 0.5e-9 / max(values["enable_delay"], 1e-6)
    deck.capacitor("state", "state 0", 1e-9)
    rising = above(f"{pin}-{rises:.9g}")
    falling = above(f"{falls:.9g}-{pin}")
    deck.add(f"bstate 0 state i={rising}*{up:.9g}*min(1,max(0,(1-v(state))*1e3))"
             f"-{falling}*{down:.9g}*min(1,max(0,v(state)*1e3))")
    deck.add("bdrive drive 0 v=" + above("v(state)-0.5", 1e-2))
    conducts = 1.0 / path(values)
    into = f"v(supply,rail)*{conducts:.9g}"
    if values.has("regulator_output"):
        into = f"max(0,{values['regulator_output']:.9g}-v(rail))*{conducts:.9g}"
    deck.add(f"bmain supply rail i=v(drive)*({into})")
    if values["output_discharge"] != NONE:
        deck.add(f"bdischarge rail 0 i=(1-v(drive))*v(rail)/{values['output_discharge']:.9g}")
    deck.start["state"] = 1.0


def duration(values: Values) -> float:
    """s: train, opening, and until the hold capacitor is next to empty, or the rail is up again."""
    train = values["active_delay"] + values["inactive_delay"]
    ends_at = 0.3 * values["release_threshold"]
    high = max(values["line_high"], 1.1 * ends_at)
    farads = values["hold_capacitor"]
    leaks = max(values["hold_leakage"] + values["diode_leakage"], 1e-12)
    lasts = farads * high / leaks
    if values["bleed_resistor"] != NONE:
        lasts = min(lasts, values["bleed_resistor"] * farads * math.log(high / ends_at))
    charge = 5.0 * farads * (values["series_resistor"] + values.numbers.get("line_pull", 0.0) + 200.0)
    dies = values["rail_capacitance"] * values["supply_voltage"] / values["halt_current"]
    again = 0.0
    if values["back_feed_current"] > 0.0:
        again = 10.0 * values["rail_capacitance"] * values["back_feed_voltage"] / values["back_feed_current"]
    return BEGIN + 2.0 * train + charge + 3.0 * opens_after(values) + dies + lasts + again + 0.05


def deck(values: Values, models: str, output: str, options: str = OPTIONS[0]) -> str:
    made = Deck(values, models)
    write_rail(made)
    write_train(made)
    write_driver(made)
    write_hold(made)
    write_release(made)
    write_feed(made)
    (write_enable if values.has("enable_threshold") else write_gate)(made)
    made.add(".ic v(hold)=0 " + " ".join(f"v({node})={volts:.9g}" for node, volts in made.start.items()))
    made.add(f".temp {values.celsius}")
    made.add(f".options tnom={values.celsius} {options}")  # what is fitted holds at this temperature
    end = duration(values)
    made.add(f".tran {end / 1000.0:.6g} {end:.6g} 0 {end / 150.0:.6g} uic")
    made.lines += [".control", "run", "set wr_singlescale", "set numdgt=6",
                   f"wrdata {output} v(rail) v(hold) v(drive)", "quit", ".endc", ".end", ""]
    return "\n".join(made.lines)
