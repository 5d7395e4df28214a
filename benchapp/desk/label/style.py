"""How large things are on a label: the least that is allowed, and what is set where there is room.

All in mm. ``generous`` grows from 0, where all is at its least, as far as the label holds it.
"""

from dataclasses import dataclass

from benchapp.desk.label.fonts import face

MOST_GENEROUS = 4.0

PICTOGRAM_BOX = 2**0.5
"""A pictogram stands on its point: what is around it is so many of its sides wide."""


@dataclass(frozen=True)
class Leasts:
    """What may not be less.

    Attributes:
        x_mm: of small letters; of the digits and letters of the net content ``figures_mm``.
        figures_by_o: whether those are measured by the small o (US), or by the figures.
        pictogram_mm: side of a pictogram; ``pictogram_wish_mm`` if possible.
    """

    x_mm: float
    pitch: float
    pictogram_mm: float
    pictogram_wish_mm: float
    symbol_mm: float
    figures_mm: float
    figures_by_o: bool


@dataclass(frozen=True)
class Style:
    """Sizes of letters (em), pictures and gaps."""

    text: float
    title: float
    names: float
    says: float
    net: float
    pitch: float
    margin: float
    gap: float
    pictogram: float
    symbol: float
    logo: float
    code: float
    ruled: bool
    """A fine line above the foot; ``code``: times the least module."""


def style(leasts: Leasts, generous: float, shorter_mm: float, larger: float = 1.0) -> Style:
    """The sizes at a generosity.

    Args:
        shorter_mm: the shorter side of the piece, which margins go by.
        larger: how many times as large the name is.
    """
    up = min(generous, 1.0)
    text = leasts.x_mm / face(400).x_height * (1.001 + 0.28 * up + 0.05 * (generous - up))
    net_height = face(600).o if leasts.figures_by_o else face(600).figures
    title = text * (1.6 + 1.2 * up + 0.75 * (generous - up))
    return Style(
        text=text,
        title=max(title, min(title * larger, 0.2 * shorter_mm)),
        names=text * (1.05 + 0.3 * up + 0.3 * (generous - up)),
        says=text * (1.0 + 0.25 * up + 0.15 * (generous - up)),
        net=max(leasts.figures_mm / net_height * (1.003 + 0.15 * up), text),
        pitch=leasts.pitch + 0.06 * up,
        margin=min(1.5 + 0.035 * shorter_mm * up + 0.01 * shorter_mm * (generous - up), 10.0),
        gap=text * (0.3 + 0.5 * up + 0.2 * (generous - up)),
        pictogram=leasts.pictogram_mm * 1.002
        + max(0.0, leasts.pictogram_wish_mm * 1.002 - leasts.pictogram_mm) * up,
        symbol=leasts.symbol_mm * 1.004 + 3.0 * up + 0.5 * (generous - up),
        logo=6.0 + 6.0 * up + 4.0 * (generous - up),
        code=1.0 + 0.25 * up,
        ruled=generous > 0.0,
    )
