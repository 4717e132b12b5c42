# SPDX-License-Identifier: MIT
"""What a decompiled tree says of a line's pad, read by the bindings and by nothing of Nightlatch
[linux Documentation/devicetree/bindings/pinctrl: brcm,bcm2835-gpio.txt, rockchip,pinctrl.yaml,
fsl,imx-pinctrl.txt, pinctrl-single.yaml; bindings/gpio/gpio.txt, gpio-ranges]."""

import re
from typing import Iterator, NamedTuple

from dts import Node
from lines import Line, Reading, words_of

BRCM = {"brcm,bcm2835-gpio", "brcm,bcm2711-gpio", "brcm,bcm7211-gpio"}
BRCM_FUNCTION = "gpio_in gpio_out alt5 alt4 alt0 alt1 alt2 alt3".split()
NO_SIX_CELLS = re.compile(r"fsl,imx(1|21|27|7ulp|8ulp|8qm|8qxp|8dxl)-")
SCU = re.compile(r"fsl,imx8(qm|qxp|dxl)-iomuxc$")
TI_GPIO = {"ti,omap3-gpio", "ti,omap4-gpio", "ti,am4372-gpio", "ti,keystone-gpio", "ti,am64-gpio"}


class Setting(NamedTuple):
    user: str
    group: str
    function: str


class Pad(NamedTuple):
    pin: int | None
    switches: bool  # a request of the line switches the pad
    readable: bool
    settings: tuple[Setting, ...]


def form_of(node: Node) -> str:
    for kind in node.strings("compatible"):
        if kind in BRCM:
            return "brcm"
        if kind.startswith("rockchip,") and kind.endswith("-pinctrl"):
            return "rockchip"
        if kind.startswith("fsl,imx") and "-iomuxc" in kind and not NO_SIX_CELLS.match(kind):
            return "imx"
        if kind in ("pinctrl-single", "pinconf-single") or (
                kind.startswith("ti,") and kind.endswith("-padconf")):
            return "single"
    return ""


def cells(node: Node, name: str) -> tuple[int, ...]:
    return words_of(node.properties.get(name, b"")) or ()


class Pads:
    """Of one tree."""

    def __init__(self, reading: Reading):
        self.reading = reading
        self.nodes = {node.path: node for node in reading.nodes}
        root = reading.nodes[0].strings("compatible")
        self.k3 = any(kind.startswith(("ti,am6", "ti,j7")) for kind in root)
        aliases = self.nodes.get("/aliases")
        self.bank = {} if aliases is None else {
            aliases.text(name): int(name[4:]) for name in aliases.properties
            if re.fullmatch(r"gpio\d+", name)}

    def pin_of(self, line: Line) -> tuple[Node | None, int | None]:
        controller = self.nodes[line.controller]
        if form_of(controller) == "brcm":
            return controller, line.offset
        above = controller.parent
        if above is not None and form_of(above) == "rockchip":
            banks = [node.path for node in above.children if "gpio-controller" in node.properties]
            number = self.bank.get(controller.path, banks.index(controller.path))
            return above, number * 32 + line.offset
        first = None
        rows = cells(controller, "gpio-ranges")
        for handle, start, pin, count in zip(*(rows[i::4] for i in range(4))):
            pinctrl = self.reading.by_phandle.get(handle)
            first = first or pinctrl
            if start <= line.offset < start + count:
                return pinctrl, pin + line.offset - start
        return first, None

    def only_form(self, controller: Node) -> str:
        kinds = controller.strings("compatible")
        wanted = "imx" if any(kind.startswith("fsl,imx") for kind in kinds) else \
            "single" if set(kinds) & TI_GPIO else ""
        there = any(form_of(node) == wanted and self.reading.enabled[node.path]
                    for node in self.reading.nodes)
        return wanted if there else ""

    def pad(self, line: Line) -> Pad:
        pinctrl, pin = self.pin_of(line)
        form = form_of(pinctrl) if pinctrl else self.only_form(self.nodes[line.controller])
        ranged = [node for node in self.reading.nodes
                  if "pinctrl-single,gpio-range" in node.properties and pinctrl in (None, node)]
        scu = pinctrl is not None and any(SCU.match(kind) for kind in pinctrl.strings("compatible"))
        switches = form != "imx" and not scu and (form != "single" or bool(ranged))
        readable = bool(form and pinctrl and pin is not None)
        settings = tuple(self.settings(form, pinctrl, pin)) if readable else ()
        return Pad(pin, switches, readable, settings)

    def settings(self, form: str, pinctrl: Node, pin: int) -> Iterator[Setting]:
        for user in self.reading.nodes:
            if not self.reading.enabled[user.path]:
                continue
            for handle in cells(user, "pinctrl-0"):
                state = self.reading.by_phandle.get(handle)
                if state is None or not (state.path + "/").startswith(pinctrl.path + "/"):
                    continue
                for group in [state, *below(state)]:
                    for row_pin, function in self.rows(form, pinctrl, group):
                        if row_pin == pin:
                            yield Setting(user.path, group.path, function)

    def rows(self, form: str, pinctrl: Node, group: Node) -> Iterator[tuple[int, str]]:
        if form == "brcm":
            functions = cells(group, "brcm,function")
            for i, pin in enumerate(cells(group, "brcm,pins")):
                if functions:
                    yield pin, BRCM_FUNCTION[functions[i if i < len(functions) else 0]]
            function = group.text("function")
            for name in group.strings("pins") if function else ():
                if match := re.fullmatch(r"gpio(\d+)", name):
                    yield int(match[1]), function
        elif form == "rockchip":
            row = cells(group, "rockchip,pins")
            for bank, pin, mux, _ in zip(*(row[i::4] for i in range(4))):
                yield bank * 32 + pin, f"mux {mux}"
        elif form == "imx":
            row = cells(group, "fsl,pins")
            for mux_register, other, mux in zip(row[0::6], row[1::6], row[3::6]):
                register = other if mux_register == 0xFFFFFFFF else mux_register
                yield register // 4, f"mux {mux & ~0x10}"
        elif form == "single":
            yield from self.single_rows(pinctrl, group)

    def single_rows(self, pinctrl: Node, group: Node) -> Iterator[tuple[int, str]]:
        more = pinctrl.cell("#pinctrl-cells") or 1
        width = (pinctrl.cell("pinctrl-single,register-width") or 0) // 8
        kinds = set(pinctrl.strings("compatible"))
        mask = 15 if kinds & {"ti,dra7-padconf", "ti,am437-padconf"} or self.k3 else 7
        row = cells(group, "pinctrl-single,pins")
        if width and more in (1, 2):
            for at in range(0, len(row) - more, more + 1):
                value = row[at + 1] | (row[at + 2] if more == 2 else 0)
                yield row[at] // width, f"mux {value & mask}"


def below(node: Node) -> Iterator[Node]:
    for child in node.children:
        yield child
        yield from below(child)
