# SPDX-License-Identifier: MIT
"""Device equations and their parameters, from published values alone.

Level 1: Id = KP/2 (Vgs - VTO)^2 (1 + LAMBDA Vds) in saturation, KP Vds (Vgs - VTO - Vds/2) below it; bipolar
transistors: Ic = IS (exp(Vbe/Vt) - exp(Vbc/Vt)) with BF; diodes: I = IS (exp(V/(N Vt)) - 1) with RS, and BV
[ngspice manual, chapters on diodes, BJTs and MOSFETs]. Weak inversion: the EKV model's
Id = IS (ln^2(1 + exp((Vgs - VT0)/(2 n Vt))) - ln^2(1 + exp((Vgs - VT0 - n Vds)/(2 n Vt)))),
IS = 2 n beta Vt^2 [Enz, Krummenacher, Vittoz: Analog Integrated Circuits and Signal Processing 8, 1995].
A data sheet's threshold is the gate's voltage at its test current, and its RDS(on) belongs to the gate
drive beside it.
"""

import math
from typing import NamedTuple

SILICON_SLOPE = 0.049  # V: N of 1.9, as 1N4148's curves have it [Vishay 81857]; from memory
SLOPE = 1.5  # n, common practice for the slope factor of weak inversion, no source
CHARGE = 1.602176634e-19  # C [SI]
BOLTZMANN = 1.380649e-23  # J/K [SI]


def thermal(celsius: float) -> float:
    return BOLTZMANN * (celsius + 273.15) / CHARGE


class Mosfet(NamedTuple):
    """As published; magnitudes."""
    threshold: float
    test_current: float
    ohms: float   # RDS(on)
    drive: float  # V at which it has that

    def square_law(self) -> tuple[float, float]:
        """VTO and KP."""
        vto = self.threshold
        for _ in range(30):
            kp = 1.0 / (self.ohms * max(self.drive - vto, 0.3))
            vto = self.threshold - math.sqrt(2.0 * self.test_current / kp)
        return vto, kp

    def weak_inversion(self, celsius: float) -> tuple[float, float]:
        """VT0 and IS."""
        vt, vt0 = thermal(celsius), self.threshold
        for _ in range(30):
            beta = 1.0 / (self.ohms * max(self.drive - vt0, 0.3))
            i_s = 2.0 * SLOPE * beta * vt * vt
            vt0 = self.threshold - 2.0 * SLOPE * vt * softplus_inverse(math.sqrt(self.test_current / i_s))
        return vt0, i_s

    def control_for(self, current: float, celsius: float) -> float:
        """The gate's voltage at which it carries so much, in saturation, with weak inversion."""
        vt0, i_s = self.weak_inversion(celsius)
        return vt0 + 2.0 * SLOPE * thermal(celsius) * softplus_inverse(math.sqrt(max(current, 1e-12) / i_s))


class Bipolar(NamedTuple):
    threshold: float  # VBE
    test_current: float
    gain: float

    def control_for(self, current: float, celsius: float) -> float:
        return self.threshold + thermal(celsius) * math.log(max(current, 1e-12) / self.test_current)

    def saturation(self, celsius: float) -> float:
        return self.test_current / math.exp(self.threshold / thermal(celsius))


def softplus_inverse(value: float) -> float:
    """x of ln(1 + exp(x)) = value."""
    return value if value > 30.0 else math.log(math.expm1(value))


class DiodeFit(NamedTuple):
    saturation: float  # A
    slope: float       # V: N times the thermal voltage
    ohms: float


def fit_diode(drops: list[tuple[float, float]]) -> DiodeFit:
    """Through (current, drop) at the first point and at one a hundred times its current, and with the series
    resistance that the last needs; where only two are published, of a silicon diode's slope."""
    (i0, v0), (i2, v2) = drops[0], drops[-1]
    slope = SILICON_SLOPE
    between = [point for point in drops[1:-1] if point[0] <= 100.5 * i0]
    if between:
        i1, v1 = between[-1]
        slope = min(max((v1 - v0) / math.log(i1 / i0), 0.026), 0.06)
    saturation = i0 / math.expm1(v0 / slope)
    ohms = max((v2 - slope * math.log1p(i2 / saturation)) / i2, 1e-3)
    return DiodeFit(saturation, slope, ohms)


def level_1(name: str, nodes: str, part: Mosfet, p_channel: bool = False) -> str:
    """`nodes`: drain, gate, source."""
    vto, kp = part.square_law()
    kind, sign = ("pmos", -1.0) if p_channel else ("nmos", 1.0)
    return (f"m{name} {nodes} {nodes.split()[2]} {name} w=1u l=1u\n"
            f".model {name} {kind}(level=1 vto={sign * vto:.9g} kp={kp:.9g} lambda=0.01)")


def ekv(name: str, nodes: str, part: Mosfet, celsius: float, p_channel: bool = False) -> str:
    """With the body diode, that level 1 brings with it, too."""
    drain, gate, source = nodes.split()
    vt0, i_s = part.weak_inversion(celsius)
    vt = thermal(celsius)
    order = (source, gate, drain) if p_channel else (drain, gate, source)
    vgs = f"v({source},{gate})" if p_channel else f"v({gate},{source})"
    vds = f"v({source},{drain})" if p_channel else f"v({drain},{source})"

    def squared(less: str) -> str:
        # Of large arguments ln(1 + e^x) is x, and e^x overflows, as anything does far off the solution.
        x = f"max(-1e4,min(1e4,({vgs}-{vt0:.9g}{less})/{2.0 * SLOPE * vt:.9g}))"
        return f"(ln(1+exp(min({x},60)))+max({x}-60,0))^2"

    body = (drain, source) if p_channel else (source, drain)
    return (f"b{name} {order[0]} {order[2]} i={i_s:.9g}*({squared('')}-{squared(f'-{SLOPE}*{vds}')})\n"
            f"d{name} {body[0]} {body[1]} body{name}\n.model body{name} d(is=1e-14)")


def npn(name: str, nodes: str, part: Bipolar, celsius: float) -> str:
    """`nodes`: collector, base, emitter."""
    return (f"q{name} {nodes} {name}\n"
            f".model {name} npn(is={part.saturation(celsius):.9g} bf={part.gain:.9g} br=2 vaf=100)")


def diode(name: str, nodes: str, fit: DiodeFit, leakage: float, celsius: float) -> str:
    """Blocking it lets through what is published, which IS is a part of."""
    anode, cathode = nodes.split()
    emission = fit.slope / thermal(celsius)
    return (f"d{name} {anode} {cathode} {name}\n"
            f".model {name} d(is={fit.saturation:.9g} n={emission:.9g} rs={fit.ohms:.9g})\n"
            f"bleak{name} {cathode} {anode} "
            f"i={leakage - fit.saturation:.9g}*(1-exp(-max(v({cathode},{anode}),0)/{thermal(celsius):.9g}))")


def zener(name: str, nodes: str, volts: float) -> str:
    """`nodes`: anode, cathode. BV at 1 mA, as small Zener diodes are published at some milliamperes."""
    return f"d{name} {nodes} {name}\n.model {name} d(is=1e-14 bv={volts:.9g} ibv=1m rs=10)"
