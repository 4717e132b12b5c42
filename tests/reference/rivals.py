# SPDX-License-Identifier: MIT
"""Who else can switch a board off, by its decompiled tree: the nodes to which a driver of Linux 6.12
binds that has a way off, read in the drivers' own match tables and by nothing of Nightlatch."""

import re
from typing import Iterator, NamedTuple

from dts import Node

OWN = ("system-power-controller",)


class Class(NamedTuple):
    name: str
    compatible: str  # a regular expression for one of the node's strings, whole
    asks_for: tuple[str, ...] = ()  # it registers only with one of these properties


CLASSES = [
    Class("AXP power chips", r"x-powers,axp[0-9a-z]+"),  # drivers/mfd/axp20x-i2c.c, axp20x-rsb.c
    Class("syscon-poweroff", "syscon-poweroff"),
    Class("regulator-poweroff", "regulator-poweroff"),
    Class("restart-poweroff", "restart-poweroff"),
    Class("qcom,pshold", "qcom,pshold"),
    Class("gpio-poweroff", "gpio-poweroff"),
    Class("PSCI", r"arm,psci-(0\.2|1\.0)"),
    Class("RK8xx power chips", r"rockchip,rk8\d\d",  # drivers/mfd/rk8xx-i2c.c, rk8xx-spi.c
          (*OWN, "rockchip,system-power-controller")),
    Class("am3352 clocks", "ti,am3352-rtc", OWN),  # drivers/rtc/rtc-omap.c
    Class("TPS65219", "ti,tps65219", OWN),
    Class("Palmas power chips", "ti,(palmas|tps659038|tps65917)", ("ti,system-power-controller",)),
    Class("TPS6591x", "ti,tps6591[01]", ("ti,system-power-controller",)),
    Class("TPS6586x", "ti,tps6586x", ("ti,system-power-controller",)),
    Class("ACT8xxx power chips", "active-semi,act(8600|8846|8865)", OWN),
    Class("AS3722", "ams,as3722", ("ams,system-power-controller",)),
    Class("MAX776xx, MAX20024", "maxim,max(77620|20024|77663)", OWN),
    Class("MAX8907", "maxim,max8907", ("maxim,system-power-controller",)),
    Class("RN5T/RC5T power chips", "ricoh,(rn5t567|rn5t618|rc5t619)", OWN),
    Class("STPMIC1", "st,stpmic1"),
    Class("MT6323", "mediatek,mt6323-pwrc"),
    Class("bcm2835-pm", "brcm,bcm(2835-pm|2835-pm-wdt|2711-pm)", OWN),
    Class("shutdown controllers", "(atmel|microchip),[0-9a-z]+-shdwc"),
    Class("boards' other processors", "(qnap|synology),power-off"),
]


def class_of(node: Node) -> Class | None:
    kinds = node.strings("compatible")
    return next((one for kind in kinds for one in CLASSES if re.fullmatch(one.compatible, kind)), None)


def is_marked(node: Node) -> bool:
    return any(re.fullmatch("(.*,)?system-power-controller", name) for name in node.properties)


def expected(nodes: list[Node], enabled: dict[str, bool]) -> Iterator[tuple[str, str, str]]:
    """Path, class and what our reading must say of it: "yes", "no", "post-halt", or "listed" where
    no class is known and the node says itself that it takes part."""
    for node in nodes:
        if not enabled[node.path]:
            continue
        one = class_of(node)
        if one is None:
            if is_marked(node):
                yield node.path, "others that say that they take part", "listed"
        elif one.name == "gpio-poweroff":
            yield node.path, one.name, "post-halt"
        else:
            with_property = not one.asks_for or any(name in node.properties for name in one.asks_for)
            yield node.path, one.name, "yes" if with_property else "no"
