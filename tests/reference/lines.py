# SPDX-License-Identifier: MIT
"""What a decompiled tree says of GPIO lines, read by the bindings and by nothing of Nightlatch."""

import struct
from typing import Iterator, NamedTuple

from dts import Node

COLORS = ("white red green blue amber violet yellow ir multicolor rgb purple orange pink cyan "
          "lime").split()
COUNTED_FROM_ONE = {"qcom,spmi-gpio", "qcom,spmi-mpp", "qcom,ssbi-gpio", "qcom,ssbi-mpp"}
BY_TABLES = {"brcm,brcmstb-gpio", "mediatek,mt7621-gpio", "nxp,lpc3220-gpio", "gpio-delay",
             "microchip,sparx5-sgpio-bank",
             *(f"nvidia,tegra{soc}-gpio{part}" for soc in (186, 194, 234) for part in ("", "-aon"))}
DELAYS = {"active-delay-ms": 100, "inactive-delay-ms": 100, "timeout-ms": 3000}


class Line(NamedTuple):
    controller: str
    offset: int
    flags: int


class NoLine(NamedTuple):
    reason: str


class Reading:
    def __init__(self, nodes: list[Node]):
        self.nodes = nodes
        self.by_phandle: dict[int, Node] = {}
        self.enabled: dict[str, bool] = {}
        for node in nodes:
            handle = node.cell("phandle") or node.cell("linux,phandle")
            if handle and handle != 0xFFFFFFFF:
                self.by_phandle.setdefault(handle, node)
            above = node.parent is None or self.enabled[node.parent.path]
            okay = "status" not in node.properties or node.text("status") in ("okay", "ok")
            self.enabled[node.path] = above and okay

    def decode(self, controller: Node, cells: tuple[int, ...]) -> Line | NoLine:
        if "gpio-map" in controller.properties:
            return self.through_map(controller, cells)
        kinds = set(controller.strings("compatible"))
        if kinds & BY_TABLES:
            return NoLine("translated by tables: " + " ".join(sorted(kinds & BY_TABLES)))
        if len(cells) == 3 and any(kind.startswith("allwinner,") or kind == "nextthing,gr8-pinctrl"
                                   for kind in kinds):
            return Line(controller.path, cells[0] * 32 + cells[1], cells[2])
        if len(cells) > 2:
            return NoLine(f"{len(cells)} cells: " + " ".join(sorted(kinds)))
        offset = cells[0] - (1 if kinds & COUNTED_FROM_ONE else 0)
        return Line(controller.path, offset, cells[1] if len(cells) == 2 else 0)

    def through_map(self, connector: Node, cells: tuple[int, ...]) -> Line | NoLine:
        words = list(words_of(connector.properties["gpio-map"]) or ())
        masks = words_of(connector.properties.get("gpio-map-mask", b"\xff" * 4 * len(cells)))
        passed = words_of(connector.properties.get("gpio-map-pass-thru", b"\0" * 4 * len(cells)))
        while words and masks and passed:
            child, words = words[:len(cells)], words[len(cells):]
            parent = self.by_phandle[words.pop(0)]
            count = parent.cell("#gpio-cells") or 0
            target, words = words[:count], words[count:]
            if all((a ^ b) & m == 0 for a, b, m in zip(child, cells, masks)):
                kept = [*passed, *([0] * count)]
                mine = [*cells, *([0] * count)]
                return self.decode(parent, tuple((value & ~kept[i]) | (mine[i] & kept[i])
                                                 for i, value in enumerate(target)))
        return NoLine("not in gpio-map")

    def entries(self, node: Node, name: str) -> list[Line | NoLine]:
        words = words_of(node.properties[name])
        if words is None:
            return [NoLine("not whole cells")]
        found: list[Line | NoLine] = []
        at = 0
        while at < len(words):
            handle, at = words[at], at + 1
            if handle == 0:
                found.append(NoLine("empty entry"))
                continue
            controller = self.by_phandle.get(handle)
            count = controller.cell("#gpio-cells") if controller else None
            if not controller or not count or count > 16:
                return [*found, NoLine("no controller's phandle")]
            if at + count > len(words):
                return [*found, NoLine("ends within an entry")]
            found.append(self.decode(controller, words[at:at + count]))
            at += count
        return found

    def unnamed(self, node: Node) -> Line | NoLine:
        for name in ("gpios", "gpio"):
            if node.properties.get(name):
                return self.entries(node, name)[0]
        return NoLine("no line")

    def facts(self) -> set[tuple]:
        """One tuple for each thing that the inventory must have."""
        facts: set[tuple] = set()
        for node in self.nodes:
            top = node.path.split("/")[1]
            if not (top.startswith("__") or top == "aliases"):
                facts |= self.facts_of(node)
        kinds = {kind for node in self.nodes if self.enabled[node.path]
                 for kind in node.strings("compatible")}
        known = (("arm,psci-1.0", "1.0"), ("arm,psci-0.2", "0.2"), ("arm,psci", "0.1"))
        facts.add(("psci", next((text for kind, text in known if kind in kinds), "")))
        return facts

    def facts_of(self, node: Node) -> set[tuple]:
        facts: set[tuple] = set()
        on = str(int(self.enabled[node.path]))
        above = set(node.parent.strings("compatible")) if node.parent else set()
        single = ("gpios", "gpio")  # what those two mean is said below
        if "gpio-poweroff" in node.strings("compatible"):
            facts.add(("posthalt", node.path, on, *map(str, post_halt_delays(node)),
                       str(int("input" in node.properties)), *self.told(self.unnamed(node))))
        elif "gpio-hog" in node.properties:
            facts |= self.hogs(node)
        elif above & {"gpio-keys", "gpio-keys-polled"}:
            facts.add(("key", node.path, on, str(node.cell("linux,code") or 0),
                       str(node.cell("linux,input-type") or 1),
                       (node.text("label") or node.name).encode("latin-1").hex(),
                       *self.told(self.unnamed(node))))
        elif "gpio-leds" in above:
            facts.add(("led", node.path, on, led_name(node).encode("latin-1").hex(),
                       str(int("retain-state-shutdown" in node.properties)),
                       *self.told(self.unnamed(node))))
        else:
            single = ()
        for name in node.properties:
            if names_gpios(name) and name not in single:
                facts |= {("use", node.path, name, *self.told(entry))
                          for entry in self.entries(node, name) if isinstance(entry, Line)}
            if name == "system-power-controller" or name.endswith(",system-power-controller"):
                facts.add(("powercontroller", node.path))
        if "gpio-controller" in node.properties:
            cells = node.cell("#gpio-cells")
            facts.add(("controller", node.path, str(2 if cells is None else cells),
                       str(len(node.strings("gpio-line-names")))))
        return facts

    def hogs(self, node: Node) -> set[tuple]:
        controller = node.parent
        if not controller or "gpio-controller" not in controller.properties:
            return set()
        level = next((name for name in ("input", "output-low", "output-high")
                      if name in node.properties), "")
        count = controller.cell("#gpio-cells") or 0
        words = words_of(node.properties.get("gpios", b"")) or ()
        whole = len(words) // count if count else 0
        lines = [self.decode(controller, words[i * count:(i + 1) * count]) for i in range(whole)]
        return {("hog", node.path, level, *self.told(line)) for line in lines
                if isinstance(line, Line)}

    def line_nodes(self) -> Iterator[tuple[Node, Line]]:
        """Post-halt nodes, keys and LEDs with a line that can be read."""
        for node in self.nodes:
            above = set(node.parent.strings("compatible")) if node.parent else set()
            line = self.unnamed(node)
            is_one = "gpio-poweroff" in node.strings("compatible") or (
                "gpio-hog" not in node.properties
                and above & {"gpio-keys", "gpio-keys-polled", "gpio-leds"})
            if is_one and isinstance(line, Line):
                yield node, line

    @staticmethod
    def told(line: Line | NoLine) -> tuple[str, ...]:
        return tuple(map(str, line)) if isinstance(line, Line) else ("none",)


def words_of(value: bytes) -> tuple[int, ...] | None:
    return struct.unpack(f">{len(value) // 4}I", value) if len(value) % 4 == 0 else None


def post_halt_delays(node: Node) -> list[int]:
    values = [(node.cell(name), default) for name, default in DELAYS.items()]
    return [default if value is None else value for value, default in values]


def led_name(node: Node) -> str:
    plain = node.name.partition("@")[0]
    if "label" in node.properties:
        return (node.text("label") or plain)[:63]
    color, function = node.cell("color"), node.text("function")
    colored = color is not None and color < len(COLORS)
    if not colored and function is None:
        return plain
    name = f"{COLORS[color] if colored else ''}:{function or ''}"
    number = node.cell("function-enumerator")
    return (name if number is None or function is None else f"{name}-{number}")[:63]


def names_gpios(name: str) -> bool:
    return (name in ("gpios", "gpio") or name.endswith(("-gpios", "-gpio"))) and not (
        name == "nr-gpios" or name.endswith(",nr-gpios"))
