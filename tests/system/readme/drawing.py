# SPDX-License-Identifier: MIT
"""Where the texts and strokes of an SVG are: of one whose style sheet gives sizes by classes, and whose
groups only move what is in them."""

import re
import xml.etree.ElementTree as Tree
from typing import NamedTuple

WIDEST = {"normal": 0.55, "bold": 0.58}  # of a letter on average, in the size of its font


class Box(NamedTuple):
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: "Box") -> bool:
        return (self.left < other.right and other.left < self.right
                and self.top < other.bottom and other.top < self.bottom)


class Text(NamedTuple):
    words: str
    size: float
    box: Box


class Drawing:
    def __init__(self, text: str):
        self.style = "".join(re.findall(r"<style>(.*?)</style>", text, re.S))
        root = Tree.fromstring(text)
        self.width, self.height = (float(part) for part in root.get("viewBox").split()[2:])
        self.texts: list[Text] = []
        self.strokes: list[Box] = []
        self.walk(root, 0.0, 0.0)

    def rule(self, looks: list[str], pattern: str, otherwise: str) -> str:
        """The last rule that has one of the classes, or of all texts."""
        found = otherwise
        for selector, body in re.findall(r"([^{}]+)\{([^{}]*)\}", self.style):
            meant = set(re.findall(r"\.([\w-]+)", selector)) - {"nightlatch"}
            value = re.search(pattern, body)
            if value and (meant & set(looks) or not meant and "text" in selector):
                found = value[1]
        return found

    def walk(self, element: Tree.Element, x: float, y: float) -> None:
        kind = element.tag.rsplit("}")[-1]
        if kind in ("defs", "style", "title", "desc"):
            return
        moved = re.match(r"translate\(([-\d.]+) ([-\d.]+)\)", element.get("transform", ""))
        x, y = (x + float(moved[1]), y + float(moved[2])) if moved else (x, y)
        if kind == "text":
            self.add_text(element, x, y)
        elif kind == "polyline":
            points = [tuple(map(float, pair.split(","))) for pair in element.get("points").split()]
            for (x1, y1), (x2, y2) in zip(points, points[1:]):
                self.strokes.append(
                    Box(min(x1, x2) - 0.5, min(y1, y2) - 0.5, max(x1, x2) + 0.5, max(y1, y2) + 0.5))
        for child in element:
            self.walk(child, x, y)

    def add_text(self, element: Tree.Element, x: float, y: float) -> None:
        looks = element.get("class", "").split()
        size = float(self.rule(looks, r"font-size:([\d.]+)px", "16"))
        weight = "bold" if self.rule(looks, r"font-weight:(\w+)", "normal") in ("bold", "600") else "normal"
        words = re.sub(r"\s+", " ", element.text)
        width = len(words) * size * WIDEST[weight]
        anchor = element.get("text-anchor") or self.rule(looks, r"text-anchor:(\w+)", "start")
        left = x + float(element.get("x")) - {"start": 0, "middle": width / 2, "end": width}[anchor]
        base = y + float(element.get("y"))
        self.texts.append(Text(words, size, Box(left, base - size * 0.75, left + width, base + size * 0.2)))
