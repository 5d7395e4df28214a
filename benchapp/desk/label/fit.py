"""Does a label hold what must stand on it, and if not: what would.

All is tried at the least sizes; where it fits, letters and pictures grow as far as there is room.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial

from benchapp.desk.label.asked import LEAST_SIDE_MM, MOST_SIDE_MM, Label, Size
from benchapp.desk.label.content import Content
from benchapp.desk.label.law import LabelLaw
from benchapp.desk.label.pieces import Piece, pieces_of
from benchapp.desk.label.setting import Arranged, Arrangement, arrange, arrangements
from benchapp.desk.label.style import MOST_GENEROUS, Leasts

TAG = Size(52.0, 74.0)
"""The shape of a tag or a box's label whose size was left open: the law's own least label."""

MOST_PANELS = 6
"""Of a folded leaf (ours)."""

_STEPS = 6

_ENOUGH = 0.25
"""The optional information stands there where this generosity is left for all else (ours)."""


@dataclass(frozen=True)
class Fitted:
    """A label on its pieces.

    Attributes:
        needed: by piece: the diameter, or the height at its width, that would do; None where it
            fits or nothing does.
        would_fit: the pieces that do not fit, on a size that would do.
    """

    pieces: tuple[Arranged, ...]
    needed: tuple[float | None, ...]
    would_fit: tuple[Arranged, ...]

    @property
    def fits(self) -> bool:
        """Whether every piece holds what must stand on it."""
        return all(each.whole for each in self.pieces)


@dataclass(frozen=True)
class Tried:
    """A way that was tried.

    Attributes:
        way: 'fold_out', 'tag', 'box' or 'larger'.
        second: the least second piece; of 'larger' the least label.
    """

    way: str
    fits: bool
    second: Size | None


def fit(label: Label, content: Content, law: LabelLaw, leasts: Leasts) -> Fitted:
    """Set all pieces of a label as well as they hold it."""
    set_: list[Arranged] = []
    needed: list[float | None] = []
    would_fit: list[Arranged] = []
    for piece in pieces_of(label, content, law, leasts):
        size = size_of(piece, label)
        done = set_piece(piece, size)
        set_.append(done)
        enough = None if done.whole else _needed(piece, size)
        needed.append(None if enough is None else enough.height_mm)
        if enough is not None:
            would_fit.append(_at_least(piece, enough))
    return Fitted(tuple(set_), tuple(needed), tuple(would_fit))


def size_of(piece: Piece, label: Label) -> Size:
    """The size of a piece: its own, or the least that holds it where it was left open."""
    if piece.name == "label":
        return label.size
    if label.way == "fold_out":
        return folded_size(piece, label.size) or label.size
    return label.second or least_size(piece, TAG) or TAG


def folded_size(piece: Piece, label: Size) -> Size | None:
    """The least leaf that holds a piece: as large as the label, or of several panels beside each
    other, to be folded to that size. None: none of ``MOST_PANELS`` does."""
    for count in range(1, (1 if piece.is_round else MOST_PANELS) + 1):
        size = replace(label, width_mm=label.width_mm * count)
        if size.width_mm <= MOST_SIDE_MM and holds(piece, size):
            return size
    return None


def set_piece(piece: Piece, size: Size) -> Arranged:
    """A piece as well as it can be set: as generous as it holds all that must stand there, with
    the optional information where there is room; else what finds room at the least sizes."""
    best: tuple[float, Arrangement, Arranged] | None = None
    most: Arranged | None = None
    for each in arrangements(piece, size):
        if best is not None and best[1].others and not each.others and best[0] >= _ENOUGH:
            break
        least = arrange(piece, size, each, 0.0)
        if not least.whole:
            if not each.others and (most is None or len(least.laid) > len(most.laid)):
                most = least
            continue
        at, found = _largest(partial(arrange, piece, size, each), least, 0.0, MOST_GENEROUS)
        if best is None or at > best[0]:
            best = (at, each, found)
    if best is not None:
        at, arrangement, found = best
        return _largest(partial(arrange, piece, size, arrangement, at), found, 1.0, 2.0)[1]
    assert most is not None  # noqa: S101 - one without the optional parts was tried
    return most


def _largest(
    set_at: Callable[[float], Arranged], found: Arranged, low: float, high: float
) -> tuple[float, Arranged]:
    """The largest value at which all has room, to a few steps; at ``low`` it has (``found``)."""
    for _step in range(_STEPS):
        middle = (low + high) / 2
        tried = set_at(middle)
        if tried.whole:
            low, found = middle, tried
        else:
            high = middle
    return low, found


def holds(piece: Piece, size: Size) -> bool:
    """Whether a size holds what must stand on a piece, at the least sizes."""
    return any(
        arrange(piece, size, each, 0.0).whole
        for each in arrangements(piece, size)
        if not each.others
    )


def least_size(piece: Piece, like: Size) -> Size | None:
    """The least size of this shape that holds a piece, in whole millimetres; None: none does."""
    ratio = like.width_mm / like.height_mm

    def sized(shorter: int) -> Size:
        if ratio >= 1:
            return Size(float(math.ceil(shorter * ratio - 1e-9)), float(shorter))
        return Size(float(shorter), float(math.ceil(shorter / ratio - 1e-9)))

    longer = max(ratio, 1 / ratio)
    low, high = math.ceil(LEAST_SIDE_MM) - 1, int(MOST_SIDE_MM / longer)
    if high <= low or not holds(piece, sized(high)):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        if holds(piece, sized(middle)):
            high = middle
        else:
            low = middle
    return sized(high)


def _at_least(piece: Piece, size: Size) -> Arranged:
    """A piece at the least sizes, on a size that holds it."""
    tried = (arrange(piece, size, each, 0.0) for each in arrangements(piece, size))
    return next(each for each in tried if each.whole and not each.has_others)


def _needed(piece: Piece, size: Size) -> Size | None:
    """The least diameter, or height at this width, that would hold it."""
    if piece.is_round:
        return least_size(piece, size)
    low, high = int(size.height_mm), int(MOST_SIDE_MM)
    if not holds(piece, replace(size, height_mm=float(high))):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        if holds(piece, replace(size, height_mm=float(middle))):
            high = middle
        else:
            low = middle
    return replace(size, height_mm=float(high))


def least_label(
    label: Label, content: Content, law: LabelLaw, leasts: Leasts, fitted: Fitted
) -> Size | None:
    """The least label of this shape on which all fits, with nothing elsewhere.

    Args:
        fitted: the label as it was set.
    """
    if label.way == "label" and label.shape == "round":
        needed = fitted.needed[0]
        return None if needed is None else Size(needed, needed)
    whole = pieces_of(replace(label, way="label"), content, law, leasts)[0]
    return least_size(whole, label.size)


def ways(label: Label, content: Content, law: LabelLaw, leasts: Leasts) -> Iterator[Tried]:
    """Every way in which what does not fit may stand elsewhere, tried."""
    for way in ("fold_out", "tag", "box"):
        if way == label.way:
            continue
        other = replace(label, way=way, second=None)
        outer, second = pieces_of(other, content, law, leasts)
        if not holds(outer, label.size):
            yield Tried(way, False, None)
        elif way == "fold_out":
            size = folded_size(second, label.size)
            yield Tried(way, size is not None, size)
        else:
            size = least_size(second, TAG)
            yield Tried(way, size is not None, size)
