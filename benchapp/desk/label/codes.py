"""A batch code as QR or Code 128, drawn with its quiet zone.

ISO/IEC 18004 wants four modules around a QR code, ISO/IEC 15417 ten left and right of Code 128; the
least module that a phone reads off paper and the bars' height are common practice, no source.
"""

from dataclasses import dataclass

import segno
from barcode import Code128  # type: ignore[import-untyped]

QR_MODULE_MM = 0.36
BAR_MODULE_MM = 0.25
_QR_QUIET = 4
_BAR_QUIET = 10
_BAR_HEIGHT_MM = 6.0
_BAR_HEIGHT_PART = 0.15


@dataclass(frozen=True)
class Code:
    """A code as SVG, with its quiet zone, on white.

    Attributes:
        width_mm, height_mm: at the least size of its modules.
    """

    svg: str
    width_mm: float
    height_mm: float


def qr(text: str) -> Code:
    """A QR code of medium correction (ISO/IEC 18004)."""
    matrix = [list(row) for row in segno.make(text, error="m", micro=False).matrix]
    across = len(matrix) + 2 * _QR_QUIET
    runs = [
        f"M{_QR_QUIET + start} {_QR_QUIET + y}h{length}v1h-{length}z"
        for y, row in enumerate(matrix)
        for start, length in _runs(row)
    ]
    return Code(_svg(across, across, runs), across * QR_MODULE_MM, across * QR_MODULE_MM)


def code128(text: str) -> Code:
    """A Code 128 (ISO/IEC 15417)."""
    bars = [int(each) for each in Code128(text).build()[0]]
    across = len(bars) + 2 * _BAR_QUIET
    width = across * BAR_MODULE_MM
    height = max(_BAR_HEIGHT_MM, _BAR_HEIGHT_PART * width)
    runs = [f"M{_BAR_QUIET + start} 0h{length}v1h-{length}z" for start, length in _runs(bars)]
    return Code(_svg(across, 1, runs), width, height)


def _runs(row: list[int]) -> list[tuple[int, int]]:
    """Where dark begins, and how long it goes on."""
    found: list[tuple[int, int]] = []
    for at, dark in enumerate(row):
        if dark and at and row[at - 1]:
            found[-1] = (found[-1][0], found[-1][1] + 1)
        elif dark:
            found.append((at, 1))
    return found


def _svg(width: int, height: int, runs: list[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'preserveAspectRatio="none"><rect width="{width}" height="{height}" fill="#fff"/>'
        f'<path d="{"".join(runs)}"/></svg>'
    )
