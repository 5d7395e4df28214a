"""Pictures and short lines as boxes of a fixed size, from their own upper left corner, in mm."""

import re
from collections.abc import Sequence
from functools import cache

from benchapp.desk.label.flow import Box, Item, moved
from benchapp.desk.label.fonts import Weight, face
from benchapp.desk.label.letters import width_of
from benchapp.desk.symbols import symbol

BLACK = "#000000"
WHITE = "#ffffff"


@cache
def meaning(name: str) -> str:
    """What a picture of ours says, in plain English: its title."""
    found = re.search(r"<title>([^<]+)</title>", symbol(name))
    assert found is not None  # noqa: S101 - a test looks at all of them
    return found[1]


def picture_box(
    part: str, language: str | None, name: str, width: float, height: float, text: str = ""
) -> Box:
    """A picture, and what it says."""
    item: Item = {
        "is": "picture",
        "name": name,
        "x": 0.0,
        "y": 0.0,
        "width": width,
        "height": height,
    }
    return Box(part, language, width, height, (item,), text)


def in_two_rows(boxes: Sequence[Box], gap: float) -> Box:
    """Pictures of one size as one box, the upper row the longer."""
    across = (len(boxes) + 1) // 2
    side = boxes[0].width
    items = [
        moved(item, place % across * (side + gap), place // across * (side + gap))
        for place, box in enumerate(boxes)
        for item in box.items
    ]
    height = side if len(boxes) == 1 else 2 * side + gap
    said = ", ".join(box.text for box in boxes if box.text)
    return Box("fire", None, across * side + (across - 1) * gap, height, tuple(items), said)


def line_box(part: str, text: str, size: float, weight: Weight, ink: str) -> Box:
    height = size * 1.2
    base = (height - size * 1.13) / 2 + face(600).above * size
    item = text_item(text, 0.0, base, size, weight, ink, "en")
    return Box(part, None, width_of(text, weight) * size, height, (item,), text)


def text_item(
    text: str, x: float, y: float, size: float, weight: int, ink: str, language: str
) -> Item:
    return {
        "is": "text",
        "x": x,
        "y": y,
        "size": size,
        "weight": weight,
        "ink": ink,
        "language": language,
        "text": text,
    }


def logo_size(ratio: float, height: float) -> tuple[float, float]:
    """As high as it is to be, and no longer than four times that."""
    width = min(height * ratio, 4 * height)
    return width, width / ratio
