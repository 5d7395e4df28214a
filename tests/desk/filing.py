"""The body by which a phone asks for a product's file, as tests ask."""

import base64
import hashlib
import io
import json
from typing import Any

from PIL import Image

Json = dict[str, Any]

PHOTO = b"\xff\xd8\xff not a photo, but bytes all the same"
PHOTO_SHA = hashlib.sha256(PHOTO).hexdigest()


def png(width: int = 60, height: int = 30) -> str:
    held = io.BytesIO()
    Image.new("RGB", (width, height), (200, 30, 30)).save(held, "PNG")
    return base64.b64encode(held.getvalue()).decode()


CHART = {
    **{"is": "chart", "label": "Wax left: candle 1: 40 g after 8 h.", "width": 360, "height": 200},
    "items": [
        {"is": "rect", "kind": "ground", "x": 0, "y": 0, "width": 360, "height": 200},
        {"is": "line", "kind": "rule", "points": [[46, 40], [330, 40]]},
        {"is": "line", "kind": "whole", "points": [[46, 40], [100, 60], [330, 150]]},
        {"is": "area", "kind": "doubt", "points": [[46, 40], [330, 140], [330, 160]]},
        {"is": "dot", "kind": "dip", "x": 46, "y": 40, "r": 3.5},
        {"is": "words", "x": 354, "y": 194, "anchor": "end", "text": "hours burnt"},
    ],
}
BLOCKS: list[Json] = [
    {"is": "heading", "level": 2, "text": "Hazard class, worked out"},
    {"is": "heading", "level": 3, "text": "As it is now"},
    {"is": "text", "text": "The rim grew **black**\nby an open window."},
    {"is": "list", "items": ["For it: the flame was low.", "Against it: soot."]},
    {"is": "facts", "rows": [["Load", "**8.0 %** of the wax"], ["Wick", "flat cotton, 4"]]},
    {
        **{"is": "table", "head": ["Batch code", "Poured on", "Candles made"]},
        "rows": [["4RJ9-989V", "10 Nov 2026", "12"], ["7F2K-M3QP", "11 Nov 2026"]],
    },
    {"is": "symbols", "names": ["GHS07", "GHS09"]},
    {"is": "picture", "png": png(), "width_mm": 64, "height_mm": 34, "caption": "Label of today"},
    CHART,
]
BODY: Json = {
    **{"want": "zip", "title": "Wet slate in a tin", "language": "en-GB"},
    **{"made": "Made on 30 Nov 2026", "made_ms": 1_796_000_000_000},
    "parts": [
        {"title": "What it is", "state": "there", "lacks": [], "blocks": BLOCKS},
        {
            **{"title": "Burn tests", "state": "older", "blocks": []},
            "lacks": ["Its burn test is older than the recipe."],
        },
        {
            **{"title": "Risks", "state": "missing", "blocks": []},
            "lacks": ["Not answered: Can it tip over?", "Not answered: Can it smoke?"],
        },
        {"title": "Called back", "state": "", "lacks": [], "blocks": []},
    ],
    "records": json.dumps({"format": "pour-bench-copy", "records": [], "events": []}),
    "attachments": [
        {
            **{"of": ["lot", "l1"], "what": "certificate", "sha256": PHOTO_SHA, "bytes": 40},
            **{"type": "image/jpeg", "name": "certificate of the wax"},
        }
    ],
}
