"""PDF pages read back, by programs that had no part in making them: pdfplumber and pypdfium2."""

import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pdfplumber
import pypdfium2
import zxingcpp

MM = 25.4 / 72


@dataclass(frozen=True)
class Letter:
    """A letter on a page, mm from the upper left; ``base`` is its baseline."""

    text: str
    x: float
    base: float
    width: float
    size: float
    font: str


def page_sizes(pdf: bytes) -> list[tuple[float, float]]:
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        return [(float(each.width) * MM, float(each.height) * MM) for each in document.pages]


def letters(pdf: bytes, page: int = 0) -> list[Letter]:
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        read = document.pages[page]
        return [
            Letter(
                each["text"],
                each["x0"] * MM,
                (float(read.height) - each["matrix"][5]) * MM,
                (each["x1"] - each["x0"]) * MM,
                each["size"] * MM,
                each["fontname"],
            )
            for each in read.chars
        ]


def squeezed(text: str) -> str:
    """Without spaces: what is left of a text when its lines are broken anew."""
    return "".join(text.split())


def text_of(pdf: bytes, page: int = 0) -> str:
    """All letters in the order in which they were drawn, without spaces."""
    return squeezed("".join(each.text for each in letters(pdf, page)))


def shapes(pdf: bytes, page: int = 0) -> list[dict[str, Any]]:
    """Filled and stroked shapes, their boxes in mm."""
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        read = document.pages[page]
        return [
            {
                "x0": each["x0"] * MM,
                "x1": each["x1"] * MM,
                "top": each["top"] * MM,
                "bottom": each["bottom"] * MM,
                "stroke": each["stroking_color"] if each["stroke"] else None,
                "fill": each["non_stroking_color"] if each["fill"] else None,
                "line": float(each["linewidth"] or 0) * MM,
            }
            for each in (*read.curves, *read.rects, *read.lines)
        ]


def fonts(pdf: bytes) -> Iterator[dict[str, Any]]:
    """The font descriptors of a document."""
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        for xref in document.doc.xrefs:
            for number in xref.get_objids():
                held = document.doc.getobj(number)
                if isinstance(held, dict) and str(held.get("Type")) == "/'FontDescriptor'":
                    yield held


def rendered(pdf: bytes, page: int = 0, dpi: float = 300) -> Any:
    return pypdfium2.PdfDocument(pdf)[page].render(scale=dpi / 72).to_pil().convert("RGB")


def codes(pdf: bytes, page: int = 0, dpi: float = 300) -> list[tuple[str, str]]:
    """(kind, text) of each code on a page, as a reader sees it."""
    return [
        (str(each.format), each.text) for each in zxingcpp.read_barcodes(rendered(pdf, page, dpi))
    ]
