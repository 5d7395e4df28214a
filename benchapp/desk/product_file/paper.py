"""The paper of a product's file: a PDF, set by the typesetter (typst) from data alone."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import typst

from benchapp.desk.label.fonts import fonts
from benchapp.desk.product_file.asked import SYMBOLS, Asked, breakable
from benchapp.desk.symbols import symbol
from benchapp.words import plural, t

_ROOM = Path(__file__).parent
_FILE = _ROOM / "file.typ"

Json = dict[str, Any]


@dataclass(frozen=True)
class Beside:
    """What lies beside the paper, to be told on it.

    Attributes:
        attachments: a line for each that lies in the folder.
        absent: a line for each that does not, and why.
    """

    attachments: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()


def pdf_of(asked: Asked, beside: Beside) -> bytes:
    """The paper as PDF, A4."""
    parts = [*asked.parts, _beside(beside)]
    data = {
        "title": breakable(asked.title, _IN_A_CELL),
        "made": asked.made,
        "language": asked.language,
        "words": {
            "file": t("The file of this product"),
            "missing": t("What is missing for it to be complete"),
            "nothing": t(
                "Nothing is missing of what the bench asks for. Whether that is all that the law "
                "asks, it can't say."
            ),
            "contents": t("What stands in it"),
        },
        "summary": _summary(asked),
        "parts": [{**_with_breaks(part), "said": _said(part)} for part in parts],
        "pictures": {name: list(png) for name, png in asked.pictures.items()},
        "symbols": {name: symbol(name) for name in SYMBOLS},
    }
    return typst.compile(
        _FILE,
        format="pdf",
        root=_ROOM,
        font_paths=fonts(),
        ignore_system_fonts=True,
        sys_inputs={"data": json.dumps(data)},
    )


def _summary(asked: Asked) -> list[str]:
    said = []
    if asked.has_lacking:
        said.append(
            t(
                "Letters that the font of this paper does not have stand as ◊; the records beside "
                "it have them."
            )
        )
    return said


def _said(part: Mapping[str, Any]) -> str:
    n = len(part["lacks"])
    match part["state"]:
        case "there":
            return t("there")
        case "older":
            return t("older than what it rests on")
        case "missing":
            return plural(n, "{n} thing is missing", "{n} things are missing")
    return ""


def _beside(beside: Beside) -> Json:
    blocks: list[Json] = []
    if beside.attachments:
        blocks.append({"is": "list", "items": list(beside.attachments)})
    if beside.absent:
        blocks.append({"is": "heading", "level": 3, "text": t("Not beside this paper")})
        blocks.append({"is": "list", "items": list(beside.absent)})
    if not blocks:
        blocks.append({"is": "text", "text": t("Nothing is attached to its records.")})
    title = t("Photos, certificates and receipts")
    return {"title": title, "state": "", "lacks": [], "blocks": blocks}


def _with_breaks(part: Json) -> Json:
    """A part in which long words may break."""
    return {
        **part,
        "title": breakable(part["title"]),
        "lacks": [breakable(each) for each in part["lacks"]],
        "blocks": [_broken(each) for each in part["blocks"]],
    }


_IN_A_CELL = 18
"""Letters of a word that may be longer than a column of a table is wide."""


def _broken(block: Json) -> Json:
    match block["is"]:
        case "heading" | "text":
            return {**block, "text": breakable(block["text"])}
        case "list":
            return {**block, "items": [breakable(each) for each in block["items"]]}
        case "facts":
            rows = [[breakable(name, _IN_A_CELL), breakable(said)] for name, said in block["rows"]]
            return {**block, "rows": rows}
        case "table":
            cells = [[breakable(each, _IN_A_CELL) for each in row] for row in block["rows"]]
            head = [breakable(each, _IN_A_CELL) for each in block["head"]]
            return {**block, "head": head, "rows": cells}
        case "picture":
            return {**block, "caption": breakable(block["caption"])}
        case "chart":
            return {**block, "label": breakable(block["label"])}
    return block
