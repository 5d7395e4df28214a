"""What the tests of labels ask for: an invented workshop's candle, and changes to it."""

import base64
import copy
from typing import Any

from benchapp.desk.label.making import make

LABEL: dict[str, Any] = {
    "market": "eu",
    "languages": ["en", "de"],
    "shape": "rect",
    "width_mm": 100,
    "height_mm": 130,
    "where": "wall",
    "package": {"volume_ml": 120, "panel_mm2": None},
    "product": {"en": "Wet slate", "de": "Nasser Schiefer"},
    "says": {"en": "Scented candle", "de": "Duftkerze"},
    "own": {},
    "maker": {
        "name": "Salt Lane Candles",
        "address": ["3 Salt Lane", "Harbour Town"],
        "electronic": "hello@saltlane.example",
        "telephone": "+44 1632 960 114",
    },
    "batch": "K7Q2-9XFM",
    "code": "qr",
    "net": {"g": "120", "unit": "g"},
    "burns_h": 28,
    "hazard": {
        "rules": "eu",
        "edition": "an edition",
        "classes": [
            {"class": "Skin Sens.", "category": "1", "detail": ""},
            {"class": "Aquatic Chronic", "category": "3", "detail": ""},
        ],
        "signal_word": "Warning",
        "pictograms": ["GHS07"],
        "h": ["H317", "H412"],
        "p": ["P273", "P501"],
        "names": ["Linalool", "Citronellol"],
        "euh208": [],
        "supplemental": [],
        "undecided": 0,
        "older": False,
    },
    "no_hazard": "",
    "cautions": "symbols",
    "ink": "#000000",
    "paper": "#ffffff",
    "logo": None,
    "way": "label",
    "second": None,
}

ONE: dict[str, Any] = {"piece": "label", "n": 1, "paper": {"way": "one"}}

SHEET: dict[str, Any] = {
    "way": "sheet",
    "width_mm": 210,
    "height_mm": 297,
    "rows": 6,
    "columns": 4,
    "left_mm": 8,
    "top_mm": 10,
    "pitch_x_mm": 49,
    "pitch_y_mm": 46,
    "nudge_x_mm": 0,
    "nudge_y_mm": 0,
}


def asked(print_: dict[str, Any] | None = None, **changes: Any) -> dict[str, Any]:
    """A request; ``hazard__h=[…]`` changes what is in ``hazard``."""
    label = copy.deepcopy(LABEL)
    for name, value in changes.items():
        at, _, key = name.rpartition("__")
        (label[at] if at else label)[key] = value
    return {"label": label, "print": print_}


def made(print_: dict[str, Any] | None = None, **changes: Any) -> dict[str, Any]:
    """What comes of a request, without its pictures."""
    return make(asked(print_, **changes), pictures=False)


def pdf_of(answer: dict[str, Any]) -> bytes:
    """The pages of an answer."""
    return base64.b64decode(answer["pdf"])


def templates(messages: list[dict[str, Any]]) -> str:
    """The sentences of a list of messages, as they are written, one a line."""
    return "\n".join(each["template"] for each in messages)
