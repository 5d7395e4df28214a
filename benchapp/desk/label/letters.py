"""Texts as words with their widths, ready to be set."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from benchapp.desk.label.flow import Word
from benchapp.desk.label.fonts import Weight
from benchapp.desk.label.typesetter import widths

SPACE = 0.2
"""A word space of Source Sans, in parts of its size; a test holds it to the typesetter."""

_AFTER = re.compile(r"(?<=[/\-‐@])(?=\w)")
_AFTER_LONG = re.compile(r"(?<=[/\-‐@,)(])(?=\w)")
_LONG = 18
_LONGEST = 28
_PIECE = 14


@dataclass(frozen=True)
class Run:
    """A stretch of text in one weight. ``kept`` is never broken."""

    text: str
    weight: Weight = 400
    kept: bool = False


@lru_cache(maxsize=512)
def words_of(runs: tuple[Run, ...]) -> tuple[Word, ...]:
    """The words of runs, which are set apart by spaces."""
    pieces = [piece for run in runs for piece in _pieces(run)]
    measured = widths((text, weight) for text, weight, _glued in pieces)
    return tuple(
        Word(text, weight, measured[text, weight], glued) for text, weight, glued in pieces
    )


def width_of(text: str, weight: Weight) -> float:
    """How wide a text is in one line, in parts of its size."""
    return widths([(text, weight)])[text, weight]


def prepare(runs: Iterable[Run]) -> None:
    """Have the widths of many texts measured at once."""
    widths((text, weight) for run in runs for text, weight, _glued in _pieces(run))


def _pieces(run: Run) -> list[tuple[str, Weight, bool]]:
    if run.kept:
        return [(run.text, run.weight, False)] if run.text else []
    found: list[tuple[str, Weight, bool]] = []
    for word in run.text.split():
        parts = (_AFTER_LONG if len(word) > _LONG else _AFTER).split(word)
        parts = [
            part[at : at + _PIECE] if len(part) > _LONGEST else part
            for part in parts
            for at in (range(0, len(part), _PIECE) if len(part) > _LONGEST else (0,))
        ]
        found += [(part, run.weight, place > 0) for place, part in enumerate(parts)]
    return found
