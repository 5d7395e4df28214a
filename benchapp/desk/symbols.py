"""The pictures that warn, drawn by us after what the standards mean: pictograms of CLP (Annex V)
and symbols of fire safety, by name: 'GHS07', 'stay'."""

from functools import cache
from pathlib import Path

_DIRECTORY = Path(__file__).with_name("symbols")


@cache
def symbol(name: str) -> str:
    """One as SVG; 'currentColor' is the ink, '#fff' the ground."""
    return (_DIRECTORY / f"{name}.svg").read_text(encoding="utf-8")
