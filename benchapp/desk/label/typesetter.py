"""The typesetter (typst), asked: how wide words are, and pages drawn as PDF or PNG.

What a person typed reaches it as data alone, never as source: JSON in ``sys.inputs``. It reads the
files of this room and its own fonts, and nothing from the net.
"""

import json
import threading
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Literal, overload

import typst

from benchapp.desk.label.fonts import Weight, fonts

_ROOM = Path(__file__).parent
_WIDTHS = _ROOM / "widths.typ"
_PAGES = _ROOM / "pages.typ"

_MOST_KEPT = 50_000
_kept: dict[tuple[str, Weight], float] = {}
_lock = threading.Lock()


def widths(words: Iterable[tuple[str, Weight]]) -> Mapping[tuple[str, Weight], float]:
    """How wide texts are set, in parts of their size (em), by text and weight."""
    asked = set(words)
    with _lock:
        found = {each: _kept[each] for each in asked if each in _kept}
    new = sorted(asked - found.keys())
    if new:
        told = typst.query(
            _WIDTHS,
            "<widths>",
            field="value",
            one=True,
            root=_ROOM,
            font_paths=fonts(),
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(new)},
        )
        measured = dict(zip(new, json.loads(told), strict=True))
        found |= measured
        with _lock:
            if len(_kept) > _MOST_KEPT:
                _kept.clear()
            _kept.update(measured)
    return found


@overload
def pages(data: Mapping[str, Any], way: Literal["pdf"]) -> bytes: ...
@overload
def pages(data: Mapping[str, Any], way: Literal["png"], ppi: float) -> bytes: ...
def pages(data: Mapping[str, Any], way: Literal["pdf", "png"], ppi: float | None = None) -> bytes:
    """Pages drawn, as ``pages.typ`` takes them.

    Raises:
        typst.TypstError: a picture that it can't draw.
    """
    return typst.compile(
        _PAGES,
        format=way,
        ppi=ppi,
        root=_ROOM,
        font_paths=fonts(),
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(data)},
        pdf_tags=False,
    )
