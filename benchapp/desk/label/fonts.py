"""The letters of a label: one sans-serif, its measures read from its files.

Source Sans, by the SIL Open Font License; it comes with the package ``font-source-sans-pro``. It
has Latin with all accents of the EU's languages, Greek and Cyrillic.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

import font_source_sans_pro  # type: ignore[import-untyped]
import typst
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

FAMILY = "Source Sans Pro"

Weight = Literal[400, 600, 700]

_DIRECTORY = Path(font_source_sans_pro.__file__).with_name("files")
_FILES: Mapping[Weight, str] = {
    400: "SourceSansPro-Regular.ttf",
    600: "SourceSansPro-Semibold.ttf",
    700: "SourceSansPro-Bold.ttf",
}


@dataclass(frozen=True)
class Face:
    """A weight of the letters, in parts of its size (em).

    Attributes:
        x_height: of the flat small letters (OS/2 sxHeight).
        capitals: of the capitals.
        figures: the lowest of its ten figures.
        o: of the small o, with what it goes beyond the line.
        above, below: how far an accented capital goes up, and a tail down.
        letters: the code points that it has.
    """

    x_height: float
    capitals: float
    figures: float
    o: float
    above: float
    below: float
    letters: frozenset[int]


@cache
def face(weight: Weight) -> Face:
    """The measures of a weight."""
    with TTFont(_DIRECTORY / _FILES[weight], lazy=True) as font:
        em = float(font["head"].unitsPerEm)
        table = font["OS/2"]
        letters = font.getBestCmap()
        shapes = font["glyf"]

        def height(letter: str) -> float:
            shape = shapes[letters[ord(letter)]]
            return float(shape.yMax - shape.yMin) / em

        def extreme(text: str, side: Literal["yMax", "yMin"]) -> list[float]:
            return [float(getattr(shapes[letters[ord(each)]], side)) / em for each in text]

        return Face(
            x_height=float(table.sxHeight) / em,
            capitals=float(table.sCapHeight) / em,
            figures=min(height(each) for each in "0123456789"),
            o=height("o"),
            above=max(extreme("ÅÄŐŠŽÂ", "yMax")),
            below=-min(extreme("gjpqyçţų", "yMin")),
            letters=frozenset(letters),
        )


@cache
def fonts() -> typst.Fonts:
    """The letters for the typesetter: these files, and none of the machine's."""
    return typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(_DIRECTORY)]
    )


def lacking(text: str) -> tuple[str, ...]:
    """The letters of a text that the font lacks, each once."""
    known = face(400).letters & face(600).letters & face(700).letters
    return tuple(dict.fromkeys(each for each in text if ord(each) not in known))
