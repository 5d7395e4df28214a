"""A piece set: in one column, a front with columns beside it, a folded leaf, or a circle."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from benchapp.desk.label.asked import Size
from benchapp.desk.label.boxes import WHITE
from benchapp.desk.label.flow import (
    STEP_MM,
    Box,
    Circle,
    Element,
    Gap,
    Item,
    Laid,
    Lines,
    Place,
    Rectangle,
    Row,
    Rule,
    Set,
    moved,
    set_in,
)
from benchapp.desk.label.parts import Parts
from benchapp.desk.label.pieces import Piece
from benchapp.desk.label.style import Style, style


@dataclass(frozen=True)
class Arranged:
    """A piece as it is set.

    Attributes:
        whole: all that must stand there does.
        bands: (left, top, right, bottom) of what is black on white, whatever the paper.
    """

    piece: Piece
    size: Size
    laid: tuple[Laid, ...]
    whole: bool
    style: Style
    pictures: Mapping[str, str]
    bands: tuple[tuple[float, float, float, float], ...]
    has_others: bool

    @property
    def items(self) -> list[Item]:
        """All that is drawn, the ground first."""
        return [item for each in self.laid for item in each.items]


@dataclass(frozen=True)
class Arrangement:
    """Where things go.

    Attributes:
        columns: columns beside the front; 0: one column for all.
        front: the front's part of the width.
        others: whether the optional safety information is there.
        grid: symbols stand in two rows beside the pictograms.
    """

    columns: int
    front: float
    others: bool
    grid: bool


def arrangements(piece: Piece, size: Size) -> list[Arrangement]:
    """What is tried, with the optional information first."""
    shapes = [(0, 1.0)]
    ratio = size.width_mm / size.height_mm
    if not piece.is_round and ratio > 1.15 and panels_of(piece, size) == 1:
        shapes += [(1, front) for front in (0.3, 0.38, 0.46)]
        if ratio > 1.9:
            shapes += [(columns, 0.3) for columns in (2, 3)]
            shapes += [(2, 0.22), (3, 0.22)]
    with_others = [True, False] if piece.others else [False]
    return [
        Arrangement(columns, front, others, grid)
        for others in with_others
        for columns, front in shapes
        for grid in (False, True)
    ]


def arrange(
    piece: Piece, size: Size, arrangement: Arrangement, generous: float, title: float = 1.0
) -> Arranged:
    """Set a piece in one arrangement, at a generosity, its name so many times as large."""
    sizes = style(piece.leasts, generous, min(size.width_mm, size.height_mm), title)
    parts = Parts(piece, sizes, others=arrangement.others, grid=arrangement.grid)
    if piece.is_round:
        found = _round(parts, size, sizes)
    elif panels_of(piece, size) > 1:
        found = _folded(parts, size, sizes)
    elif arrangement.columns:
        found = _beside(parts, size, sizes, arrangement)
    else:
        found = _under(parts, size, sizes)
    return Arranged(
        piece=piece,
        size=size,
        laid=(*found.laid, *_hole(piece, size), *_folds(piece, size)),
        whole=found.whole,
        style=sizes,
        pictures=parts.pictures,
        bands=_bands(found.laid, sizes, parts.head_is_black) if piece.label.paper != WHITE else (),
        has_others=arrangement.others,
    )


HOLE_MM = 4.0
_HOLE_AWAY_MM = 2.5
_HOLE_INK = "#999999"


def _top(piece: Piece, sizes: Style) -> float:
    """Where the first line may begin: below the hole of a tag."""
    below = 2 * _HOLE_AWAY_MM + HOLE_MM - 1.0 if piece.has_hole else 0.0
    return max(sizes.margin, below)


def _hole(piece: Piece, size: Size) -> Sequence[Laid]:
    """Where a tag is to be punched: a fine ring, in the middle of its upper edge."""
    if not piece.has_hole:
        return ()
    left, top = (size.width_mm - HOLE_MM) / 2, _HOLE_AWAY_MM
    ring: Item = {
        "is": "circle",
        "x": left,
        "y": top,
        "width": HOLE_MM,
        "height": HOLE_MM,
        "fill": None,
        "stroke": _HOLE_INK,
        "line": 0.15,
    }
    right, bottom = left + HOLE_MM, top + HOLE_MM
    return (Laid("hole", None, top, bottom, left, right, left, right, (ring,), ""),)


_FOLD_INK = "#bbbbbb"


def panels_of(piece: Piece, size: Size) -> int:
    """How many panels a leaf has that is folded to the size of its label; of any other piece 1."""
    if not piece.is_leaf or piece.is_round:
        return 1
    return max(1, round(size.width_mm / piece.label.size.width_mm))


def _folds(piece: Piece, size: Size) -> Sequence[Laid]:
    """Where a leaf is folded: fine lines."""
    count = panels_of(piece, size)
    return [_fold(size.width_mm * n / count, size.height_mm) for n in range(1, count)]


def _fold(at: float, height: float) -> Laid:
    line: Item = {
        "is": "line",
        "x1": at,
        "y1": 0.0,
        "x2": at,
        "y2": height,
        "line": 0.1,
        "ink": _FOLD_INK,
    }
    return Laid("fold", None, 0.0, height, at - 0.05, at + 0.05, at - 0.05, at + 0.05, (line,), "")


def _folded(parts: Parts, size: Size, sizes: Style) -> Set:
    """From panel to panel: nothing lies across a fold."""
    count = panels_of(parts.piece, size)
    width, margin = size.width_mm / count, sizes.margin
    panels = [
        Rectangle(n * width + margin, margin, (n + 1) * width - margin, size.height_mm - margin)
        for n in range(count)
    ]
    return set_in(list(parts.all()), panels, "left")


def _under(parts: Parts, size: Size, sizes: Style) -> Set:
    """All in one column: the foot at the bottom."""
    margin, top = sizes.margin, _top(parts.piece, sizes)
    place = Rectangle(margin, top, size.width_mm - margin, size.height_mm - margin)
    return _footed([list(each) for each in (parts.front(), parts.middle(), parts.foot())], place)


def _footed(parts: Sequence[Sequence[Element]], place: Rectangle) -> Set:
    """Parts in one column: the last one at its bottom, the others a little apart."""
    all_ = set_in([each for part in parts for each in part], [place], "left")
    if not all_.whole:
        return all_
    left = max(0.0, place.bottom - all_.end)
    apart = min(0.3 * left, 0.08 * (place.bottom - place.top))
    laid: list[Laid] = []
    done: list[Element] = []
    for number, part in enumerate(parts):
        done += part
        until = len(set_in(done, [place], "left").laid)
        down = left if number == len(parts) - 1 else apart * number
        laid += [each.moved(down) for each in all_.laid[len(laid) : until]]
    return Set(tuple(laid), True, all_.end)


def _beside(parts: Parts, size: Size, sizes: Style, arrangement: Arrangement) -> Set:
    """The front at the left, the rest in columns beside it."""
    margin, top = sizes.margin, _top(parts.piece, sizes)
    gutter = max(3.0, 1.4 * sizes.text)
    inner = size.width_mm - 2 * margin
    front_width = inner * arrangement.front
    count = arrangement.columns
    width = (inner - front_width - gutter * count) / count
    if width < 8.0 or front_width < 8.0:
        return Set((), False, 0.0)
    bottom = size.height_mm - margin
    front = Rectangle(margin, top, margin + front_width, bottom)
    lefts = [margin + front_width + gutter + n * (width + gutter) for n in range(count)]
    columns = [Rectangle(left, top, left + width, bottom) for left in lefts]
    one = _footed([list(parts.front()), list(parts.foot())], front)
    two = set_in(parts.middle(), columns, "left")
    return Set(one.laid + two.laid, one.whole and two.whole, max(one.end, two.end))


_LINE_COSTS_MM = 4.0


def _round(parts: Parts, size: Size, sizes: Style) -> Set:
    """All in lines that are chords; it begins where they are few, and as much is left above as
    below."""
    elements = [_stepped(each) for each in parts.all()]
    radius = size.width_mm / 2
    inner = radius - sizes.margin

    def set_at(start: float, *, draws: bool) -> Set:
        place: Place = Circle(radius, inner, radius - inner + start)
        return set_in(elements, [place], "centre", draws=draws)

    # No chord is longer than the diameter, so it takes no less than in a column as wide as that.
    wide = set_in(elements, [Rectangle(0.0, 0.0, 2 * inner, math.inf)], "centre", draws=False)
    spare = 2 * inner - wide.end if wide.whole else -1.0
    best: tuple[float, float] | None = None
    for step in range(int(spare / STEP_MM + 1e-9) + 1 if spare >= 0 else 0):
        found = set_at(step * STEP_MM, draws=False)
        if found.whole:
            top = min((each.top for each in found.laid), default=radius)
            uneven = abs((top - (radius - inner)) - (radius + inner - found.end))
            # A word alone at the top costs a line: better a little lower and whole.
            cost = uneven + _LINE_COSTS_MM * len(found.laid)
            if best is None or cost < best[0]:
                best = (cost, step * STEP_MM)
    return set_at(0.0 if best is None else best[1], draws=True)


def _stepped(element: Element) -> Element:
    def up(value: float) -> float:
        return -(-value // STEP_MM) * STEP_MM

    match element:
        case Lines():
            return replace(element, pitch=up(element.pitch))
        case Gap() | Rule():
            return replace(element, height=up(element.height))
        case Row():
            boxes = tuple(_padded(box, up(box.height)) for box in element.boxes)
            return replace(element, boxes=boxes, gap=up(element.gap))


def _padded(box: Box, height: float) -> Box:
    down = (height - box.height) / 2
    return replace(box, height=height, items=tuple(moved(each, 0.0, down) for each in box.items))


def _bands(
    laid: Sequence[Laid], sizes: Style, head_too: bool
) -> tuple[tuple[float, float, float, float], ...]:
    """White ground under the hazard part, as wide as its column and without a seam.

    Args:
        head_too: the symbols beside the pictograms are black as well.
    """
    pad = 0.6
    found: list[tuple[float, float, float, float]] = []
    for each in laid:
        symbols = head_too and each.part in ("fire", "pointer") and each.language is None
        if each.part != "hazard" and not symbols:
            continue
        left, right = each.line_left - pad, each.line_right + pad
        top, bottom = each.top - pad, each.bottom + pad
        last = found[-1] if found else None
        if last and last[0] < right and left < last[2] and top < last[3] + 3 * sizes.gap + 2 * pad:
            found[-1] = (min(last[0], left), last[1], max(last[2], right), max(last[3], bottom))
        else:
            found.append((left, top, right, bottom))
    return tuple(found)
