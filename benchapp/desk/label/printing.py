"""Pages for the printer, and pictures of the same pieces, in exact millimetres."""

import io
import math
from collections.abc import Iterator
from typing import Any

import typst
from PIL import Image

from benchapp.desk.label import typesetter
from benchapp.desk.label.asked import Print, Sheet, Size
from benchapp.desk.label.boxes import WHITE
from benchapp.desk.label.flow import Item
from benchapp.desk.label.logo import undrawable
from benchapp.desk.label.setting import Arranged
from benchapp.words import InputError

PICTURE_PPI = 300.0
PICTURE_BYTES = 60_000
_LEAST_PICTURE_PPI = 72.0
_MOST_PICTURE_DOTS = 1200
_GREY = "#888888"
_RED = "#d00020"


def picture(piece: Arranged) -> bytes:
    """A PNG of a piece, its edge in grey; in red where not all of it is there.

    It is as fine as ``PICTURE_BYTES`` lets it be: a phone keeps it.

    Raises:
        InputError: the logo can't be drawn.
    """
    longer = max(piece.size.width_mm, piece.size.height_mm)
    ppi = min(PICTURE_PPI, _MOST_PICTURE_DOTS / (longer / 25.4))
    edge = _outline(piece, 0.0, 0.0, _GREY if piece.whole else _RED, 0.15 if piece.whole else 0.8)
    while True:
        packed = _packed(_drawn(_one(piece, 0.0) | {"extra": [edge]}, ppi))
        if len(packed) <= PICTURE_BYTES or ppi < _LEAST_PICTURE_PPI:
            return packed
        ppi *= 0.8


def _packed(png: bytes) -> bytes:
    """The same in few colours: a third of the bytes."""
    with Image.open(io.BytesIO(png)) as image:
        few = image.convert("RGB").quantize(
            64, method=Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE
        )
    held = io.BytesIO()
    few.save(held, "PNG", optimize=True)
    return held.getvalue()


def pdf(piece: Arranged, asked: Print) -> tuple[bytes, int]:
    """The pages of a print, and how many there are.

    A label is drawn once; where there are several, that drawing lies at every place.

    Raises:
        InputError: places that lie off the paper or in one another, or a logo that can't be drawn.
    """
    bleed = asked.bleed_mm
    if asked.sheet is None:
        around = bleed + (_MARK_AWAY_MM + _MARK_MM if asked.cut_marks else 0.0)
        page = _bled(piece.size, around)
        used = [(around, around)]
        places = [used] * (1 if asked.ruler else asked.n)
    else:
        page = Size(asked.sheet.width_mm, asked.sheet.height_mm)
        used = list(sheet_places(asked.sheet, piece.size, bleed))
        places = [used] if asked.ruler else _dealt(used, asked.n, asked.start)
    extra: list[Item] = []
    if asked.ruler:
        extra += [_outline(piece, x, y, _GREY, 0.1) for x, y in used]
        extra += _rulers(page)
    if asked.cut_marks:
        extra += _cut_marks(piece.size, used, bleed)
    whole = {
        "title": piece.piece.content.title,
        "width": page.width_mm,
        "height": page.height_mm,
        "pictures": {},
        "piece": [],
        "ready": None,
        "extra": extra,
    }
    if asked.ruler:
        return _drawn(whole | {"places": [[]]}, None), 1
    once = _drawn(_one(piece, bleed), None)
    if asked.sheet is None and asked.n == 1 and not extra:
        return once, 1
    size = _bled(piece.size, bleed)
    ready = {"ready": list(once), "ready_width": size.width_mm, "ready_height": size.height_mm}
    at = [[(x - bleed, y - bleed) for x, y in each] for each in places]
    return _drawn(whole | ready | {"places": at}, None), len(places)


def _bled(size: Size, bleed: float) -> Size:
    return Size(size.width_mm + 2 * bleed, size.height_mm + 2 * bleed)


def _one(piece: Arranged, bleed: float) -> dict[str, Any]:
    """The data of a page that one label fills."""
    page = _bled(piece.size, bleed)
    return {
        "title": piece.piece.content.title,
        "width": page.width_mm,
        "height": page.height_mm,
        "pictures": dict(piece.pictures),
        "piece": _ground(piece, bleed) + piece.items,
        "ready": None,
        "places": [[(bleed, bleed)]],
        "extra": [],
    }


def _drawn(data: dict[str, Any], ppi: float | None) -> bytes:
    try:
        if ppi is None:
            return typesetter.pages(data, "pdf")
        return typesetter.pages(data, "png", ppi)
    except typst.TypstError as error:
        if "logo" not in data["pictures"]:
            raise
        raise undrawable() from error


def sheet_places(sheet: Sheet, size: Size, bleed: float) -> Iterator[tuple[float, float]]:
    """The upper left corner of each place, row by row.

    Raises:
        InputError: a place lies off the paper, or in the next one or its bleed.
    """
    for pitch, side, count, about in (
        (sheet.pitch_x_mm, size.width_mm, sheet.columns, "pitch_x_mm"),
        (sheet.pitch_y_mm, size.height_mm, sheet.rows, "pitch_y_mm"),
    ):
        if count > 1 and pitch < side + bleed - 1e-9:
            raise InputError(
                "From one label to the next are {pitch} mm, and the label has {side} mm with its "
                "bleed: they would lie on each other.",
                pitch=_mm(pitch),
                side=_mm(side + bleed),
                about="print.paper." + about,
            )
    left, top = sheet.left_mm + sheet.nudge_x_mm, sheet.top_mm + sheet.nudge_y_mm
    right = left + (sheet.columns - 1) * sheet.pitch_x_mm + size.width_mm
    bottom = top + (sheet.rows - 1) * sheet.pitch_y_mm + size.height_mm
    if left < -1e-9 or right > sheet.width_mm + 1e-9:
        raise InputError(
            "The labels take from {start} to {end} mm across, and the paper has {width} mm.",
            start=_mm(left),
            end=_mm(right),
            width=_mm(sheet.width_mm),
            about="print.paper.left_mm",
        )
    if top < -1e-9 or bottom > sheet.height_mm + 1e-9:
        raise InputError(
            "The labels take from {start} to {end} mm down, and the paper has {height} mm.",
            start=_mm(top),
            end=_mm(bottom),
            height=_mm(sheet.height_mm),
            about="print.paper.top_mm",
        )
    for row in range(sheet.rows):
        for column in range(sheet.columns):
            yield left + column * sheet.pitch_x_mm, top + row * sheet.pitch_y_mm


def _dealt(
    places: list[tuple[float, float]], n: int, start: int
) -> list[list[tuple[float, float]]]:
    """The places of each page; the first page begins at its first free one."""
    first = start - 1
    pages = []
    left = n
    while left:
        taken = places[first : first + left]
        pages.append(taken)
        left -= len(taken)
        first = 0
    return pages


def _mm(value: float) -> str:
    return f"{value:.4g}"


# ---- what lies under and over the label --------------------------------------------------------


def _ground(piece: Arranged, bleed: float) -> list[Item]:
    """The paper's colour with its bleed, and what is white on it."""
    paper = piece.piece.label.paper
    if paper == WHITE:
        return []
    size = piece.size
    items: list[Item] = [
        {
            "is": "circle" if piece.piece.is_round else "rect",
            "x": -bleed,
            "y": -bleed,
            "width": size.width_mm + 2 * bleed,
            "height": size.height_mm + 2 * bleed,
            "fill": paper,
            "stroke": None,
            "line": 0.0,
        }
    ]
    for band in piece.bands:
        points = _band_in_circle(band, size) if piece.piece.is_round else _band(band)
        items.append({"is": "shape", "points": points, "fill": WHITE})
    return items


def _band(band: tuple[float, float, float, float]) -> list[list[float]]:
    left, top, right, bottom = band
    return [[left, top], [right, top], [right, bottom], [left, bottom]]


def _band_in_circle(band: tuple[float, float, float, float], size: Size) -> list[list[float]]:
    """Of a round label the whole strip between two heights, 1 mm within its edge."""
    centre = size.width_mm / 2
    inner = centre - 1.0
    steps = 24
    top, bottom = max(band[1], centre - inner), min(band[3], centre + inner)
    ys = [top + (bottom - top) * n / steps for n in range(steps + 1)]
    halves = [math.sqrt(max(0.0, inner**2 - (y - centre) ** 2)) for y in ys]
    right = [[centre + half, y] for y, half in zip(ys, halves, strict=True)]
    left = [[centre - half, y] for y, half in zip(ys, halves, strict=True)]
    return right + left[::-1]


def _outline(piece: Arranged, x: float, y: float, ink: str, line: float) -> Item:
    return {
        "is": "circle" if piece.piece.is_round else "rect",
        "x": x,
        "y": y,
        "width": piece.size.width_mm,
        "height": piece.size.height_mm,
        "fill": None,
        "stroke": ink,
        "line": line,
    }


def _line(x1: float, y1: float, x2: float, y2: float, width: float = 0.1) -> Item:
    return {
        "is": "line",
        "x1": x1,
        "y1": y1,
        "x2": x2,
        "y2": y2,
        "line": width,
        "ink": "#000000",
    }


_MARK_AWAY_MM = 0.5
_MARK_MM = 3.0


def _cut_marks(size: Size, places: list[tuple[float, float]], bleed: float) -> list[Item]:
    """At each corner, outside of the label and its bleed; none that would lie on another label."""
    near, far = bleed + _MARK_AWAY_MM, bleed + _MARK_AWAY_MM + _MARK_MM
    items = []
    for x, y in places:
        for edge_x, out_x in ((x, -1), (x + size.width_mm, 1)):
            for edge_y, out_y in ((y, -1), (y + size.height_mm, 1)):
                for mark in (
                    _line(edge_x + out_x * near, edge_y, edge_x + out_x * far, edge_y),
                    _line(edge_x, edge_y + out_y * near, edge_x, edge_y + out_y * far),
                ):
                    if not any(_crosses(mark, at, size, bleed) for at in places):
                        items.append(mark)
    return items


def _crosses(mark: Item, at: tuple[float, float], size: Size, bleed: float) -> bool:
    """Whether a mark touches the label at a place, or its bleed."""
    left, right = sorted((mark["x1"], mark["x2"]))
    top, bottom = sorted((mark["y1"], mark["y2"]))
    return bool(
        right >= at[0] - bleed
        and left <= at[0] + size.width_mm + bleed
        and bottom >= at[1] - bleed
        and top <= at[1] + size.height_mm + bleed
    )


def _rulers(page: Size) -> list[Item]:
    """Millimetres along the upper and the left edge, numbers each centimetre."""
    items: list[Item] = []
    for along in range(1, int(page.width_mm) + 1):
        items.append(_line(along, 0.0, along, _tick(along)))
        if along % 10 == 0:
            items.append(_number(along, along + 0.4, 5.2))
    for along in range(1, int(page.height_mm) + 1):
        items.append(_line(0.0, along, _tick(along), along))
        if along % 10 == 0:
            items.append(_number(along, 3.2, along - 0.4))
    return items


def _tick(along: int) -> float:
    return 4.0 if along % 10 == 0 else 2.5 if along % 5 == 0 else 1.5


def _number(along: int, x: float, y: float) -> Item:
    return {
        "is": "text",
        "x": x,
        "y": y,
        "size": 2.2,
        "weight": 400,
        "ink": "#000000",
        "language": "en",
        "text": str(along),
    }
