"""Words and pictures set in lines, one under the other, into a rectangle, columns or a circle.

Pure: widths come with the words. A line is as wide as its place is at its narrowest, so nothing
leaves a circle. Lines take as many words as they hold (greedy), so a longer text never takes less
room. All in mm, from the piece's upper left corner.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal, Protocol

from benchapp.desk.label.fonts import Weight, face

Item = dict[str, Any]
"""Something drawn, as ``pages.typ`` takes it."""

Align = Literal["left", "centre"]

STEP_MM = 0.25
"""Heights in a circle are whole steps, and so are the places at which its text may begin: what
holds a longer text then holds a shorter one too."""

DOT = "·"
"""Stands between two things on a line, and never at its beginning or end."""

_EDGE = 1e-6


@dataclass(frozen=True)
class Word:
    """A word, or a piece of one that may stand at a line's end.

    Attributes:
        width: in parts of its size.
        glued: follows the one before without a space.
    """

    text: str
    weight: Weight
    width: float
    glued: bool = False


@dataclass(frozen=True)
class Lines:
    """A paragraph.

    Attributes:
        size: of the letters (em), mm.
        pitch: from line to line, mm.
        space: of a word space, in parts of the size.
    """

    part: str
    language: str | None
    words: tuple[Word, ...]
    size: float
    pitch: float
    ink: str
    space: float

    @property
    def text(self) -> str:
        """In one line."""
        return "".join(
            each.text if each.glued or not place else f" {each.text}"
            for place, each in enumerate(self.words)
        )


@dataclass(frozen=True)
class Box:
    """Something of a fixed size, its items from its own upper left corner."""

    part: str
    language: str | None
    width: float
    height: float
    items: tuple[Item, ...]
    text: str = ""


@dataclass(frozen=True)
class Row:
    """Boxes beside each other; what a line does not hold goes to the next.

    Attributes:
        spread: to both edges where they are set to the left.
    """

    boxes: tuple[Box, ...]
    gap: float
    spread: bool = False


@dataclass(frozen=True)
class Gap:
    """Room between two elements; none at the top of a column."""

    height: float


@dataclass(frozen=True)
class Rule:
    """A fine line across, with its room above and below."""

    height: float
    ink: str


Element = Lines | Row | Gap | Rule


@dataclass(frozen=True)
class Laid:
    """A line or a row where it lies.

    Attributes:
        left, right: of the room that it was given.
        line_left, line_right: of the whole line that it stands in.
    """

    part: str
    language: str | None
    top: float
    bottom: float
    left: float
    right: float
    line_left: float
    line_right: float
    items: tuple[Item, ...]
    text: str

    def moved(self, down: float) -> "Laid":
        """The same, lower."""
        return replace(
            self,
            top=self.top + down,
            bottom=self.bottom + down,
            items=tuple(moved(each, 0.0, down) for each in self.items),
        )

    @property
    def room(self) -> float:
        """What it takes of the piece, mm²."""
        return (self.bottom - self.top) * (self.right - self.left)


@dataclass(frozen=True)
class Set:
    """What came of setting elements.

    Attributes:
        whole: all of it is there; else it is what found room.
        end: of the last, in its column.
    """

    laid: tuple[Laid, ...]
    whole: bool
    end: float


class Place(Protocol):
    """Where lines go."""

    @property
    def top(self) -> float:
        """Of the first line."""

    @property
    def bottom(self) -> float:
        """No line goes lower."""

    def span(self, top: float, bottom: float) -> tuple[float, float]:
        """From left to right between two heights."""


@dataclass(frozen=True)
class Rectangle:
    """A column."""

    left: float
    top: float
    right: float
    bottom: float

    def span(self, top: float, bottom: float) -> tuple[float, float]:
        """The same at every height."""
        return self.left, self.right


@dataclass(frozen=True)
class Circle:
    """The inside of a round label, from ``top`` on."""

    centre: float
    radius: float
    top: float

    @property
    def bottom(self) -> float:
        """Its lowest point."""
        return self.centre + self.radius

    def span(self, top: float, bottom: float) -> tuple[float, float]:
        """The chord at the one of the two heights that is farther from the centre."""
        far = max(abs(top - self.centre), abs(bottom - self.centre))
        half = math.sqrt(max(0.0, self.radius**2 - far**2))
        return self.centre - half, self.centre + half


def set_in(
    elements: Iterable[Element], places: Sequence[Place], align: Align, *, draws: bool = True
) -> Set:
    """Set elements into one place after the other.

    Args:
        draws: what is laid has its items; else where it lies alone.
    """
    setter = _Setter(places, align, draws)
    whole = all(setter.take(each) for each in elements)
    return Set(tuple(setter.laid), whole, setter.y)


class _Setter:
    def __init__(self, places: Sequence[Place], align: Align, draws: bool) -> None:
        self.places = places
        self.align = align
        self.draws = draws
        self.at = 0
        self.y = places[0].top
        self.laid: list[Laid] = []
        self.is_fresh = True

    def take(self, element: Element) -> bool:
        """Whether there was room for all of it."""
        match element:
            case Gap():
                if not self.is_fresh:
                    self.y += element.height
                return True
            case Rule():
                return self._rule(element)
            case Lines():
                return self._lines(element)
            case Row():
                return self._row(element)

    def _room(self, height: float, width: float) -> tuple[float, float] | None:
        """The next span that holds so much; None where none does."""
        while True:
            place = self.places[self.at]
            while self.y + height <= place.bottom + _EDGE:
                left, right = place.span(self.y, self.y + height)
                if right - left >= width - _EDGE:
                    return left, right
                if isinstance(place, Rectangle):
                    break
                self.y += STEP_MM
            if self.at + 1 == len(self.places):
                return None
            self.at += 1
            self.y = self.places[self.at].top
            self.is_fresh = True

    def _add(
        self,
        part: str,
        language: str | None,
        height: float,
        span: tuple[float, float],
        width: float,
        items: Sequence[Item],
        text: str,
    ) -> None:
        left, right = span
        x = left if self.align == "left" else (left + right - width) / 2
        self.laid.append(
            Laid(
                part,
                language,
                self.y,
                self.y + height,
                left,
                right,
                left,
                right,
                tuple(moved(each, x, self.y) for each in items) if self.draws else (),
                text,
            )
        )
        self.y += height
        self.is_fresh = False

    def _rule(self, rule: Rule) -> bool:
        if self.is_fresh:
            return True
        span = self._room(rule.height, 0.0)
        if span is None:
            return False
        width = (span[1] - span[0]) * (1.0 if self.align == "left" else 0.4)
        at = rule.height / 2
        line: Item = {
            "is": "line",
            "x1": 0.0,
            "y1": at,
            "x2": width,
            "y2": at,
            "line": 0.15,
            "ink": rule.ink,
        }
        self._add("rule", None, rule.height, span, width, [line], "")
        return True

    def _lines(self, block: Lines) -> bool:
        words = block.words
        start = 0
        first, last = face(400), face(700)
        above, below = max(first.above, last.above), max(first.below, last.below)
        base = (block.pitch - (above + below) * block.size) / 2 + above * block.size
        while start < len(words):
            if words[start].text == DOT:
                start += 1
                continue
            span = self._room(block.pitch, words[start].width * block.size)
            if span is None:
                return False
            room = (span[1] - span[0] + _EDGE) / block.size
            width, stop = words[start].width, start + 1
            # A break comes after a word, or after a piece of one that ends as it may.
            while stop < len(words):
                more = words[stop].width + (0.0 if words[stop].glued else block.space)
                if width + more > room:
                    break
                width, stop = width + more, stop + 1
            while words[stop - 1].text == DOT:
                stop -= 1
                width -= words[stop].width + block.space
            items, text = _drawn_words(words[start:stop], block, base) if self.draws else ([], "")
            self._add(
                block.part, block.language, block.pitch, span, width * block.size, items, text
            )
            start = stop
        return True

    def _row(self, row: Row) -> bool:
        boxes = row.boxes
        start = 0
        while start < len(boxes):
            stop, width, height = start, 0.0, 0.0
            span: tuple[float, float] | None = None
            # As many as the place holds at the height that they then have.
            while stop < len(boxes):
                wider = width + boxes[stop].width + (row.gap if stop > start else 0.0)
                higher = max(height, boxes[stop].height)
                if stop == start:
                    span = self._room(higher, wider)
                    if span is None:
                        return False
                else:
                    place = self.places[self.at]
                    if self.y + higher > place.bottom + _EDGE:
                        break
                    tried = place.span(self.y, self.y + higher)
                    if tried[1] - tried[0] < wider - _EDGE:
                        break
                    span = tried
                width, height, stop = wider, higher, stop + 1
            assert span is not None  # noqa: S101 - one box was taken
            taken = boxes[start:stop]
            gap = row.gap
            if row.spread and self.align == "left" and len(taken) > 1:
                gap += (span[1] - span[0] - width) / (len(taken) - 1)
                width = span[1] - span[0]
            self._beside(taken, gap, height, span, width)
            start = stop
            if start < len(boxes):
                self.y += row.gap
        return True

    def _beside(
        self,
        boxes: Sequence[Box],
        gap: float,
        height: float,
        span: tuple[float, float],
        width: float,
    ) -> None:
        """Boxes in one row, each laid for itself, so that its part is known."""
        top, x = self.y, 0.0
        for box in boxes:
            items = [moved(each, x, (height - box.height) / 2) for each in box.items]
            self.y = top
            self._add(box.part, box.language, height, span, width, items, box.text)
            laid = self.laid[-1]
            share = (box.width + gap / 2) / max(width, 1e-9)
            self.laid[-1] = replace(
                laid,
                right=laid.left + (laid.right - laid.left) * min(1.0, share),
            )
            x += box.width + gap


def _drawn_words(words: Sequence[Word], block: Lines, base: float) -> tuple[list[Item], str]:
    """A line's words, those of one weight in one piece."""
    items: list[Item] = []
    x, line = 0.0, ""
    for place, word in enumerate(words):
        lead = "" if word.glued or place == 0 else " "
        line += lead + word.text
        if items and items[-1]["weight"] == word.weight:
            items[-1]["text"] += lead + word.text
        else:
            start = x + (block.space if lead else 0.0)
            items.append(
                {
                    "is": "text",
                    "x": start * block.size,
                    "y": base,
                    "size": block.size,
                    "weight": word.weight,
                    "ink": block.ink,
                    "language": block.language or "en",
                    "text": word.text,
                }
            )
        x += word.width + (block.space if lead else 0.0)
    return items, line


def moved(item: Item, x: float, y: float) -> Item:
    """An item elsewhere."""
    new = dict(item)
    match item["is"]:
        case "line":
            new |= {"x1": item["x1"] + x, "x2": item["x2"] + x}
            new |= {"y1": item["y1"] + y, "y2": item["y2"] + y}
        case "shape":
            new["points"] = [[px + x, py + y] for px, py in item["points"]]
        case _:
            new |= {"x": item["x"] + x, "y": item["y"] + y}
    return new
