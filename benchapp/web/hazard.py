"""The desk's hazard class, asked by a phone. Nothing of it is kept here."""

from typing import Any

from flask import Blueprint, Response

from benchapp.desk.hazard import hazard_report
from benchapp.desk.rules import rules_of
from benchapp.desk.sheets.pasted import rows_of
from benchapp.desk.sheets.section3 import MOST_ROWS, Line, read_rows, said_back
from benchapp.web.desk import Json, worked_out
from benchapp.words import InputError, unworded

room = Blueprint("hazard", __name__)


@room.post("/api/desk/hazard")
def hazard() -> Response:
    """The hazard report of a recipe's candle."""
    return worked_out(hazard_report)


@room.post("/api/desk/sheet")
def sheet() -> Response:
    """Lines of section 3 as they are understood: ``rows`` of cells, or a pasted ``text``."""
    return worked_out(_understood)


def _understood(body: Json) -> Json:
    rules = rules_of("eu")
    left: list[tuple[int, Any]] = []
    if isinstance(body.get("text"), str):
        rows, left = rows_of(body["text"], rules)
    else:
        rows = _rows(body.get("rows"))
    lines, wrong = read_rows(rows, rules)
    return {
        "rows": [{"cells": row, **_told(line)} for row, line in zip(rows, lines, strict=True)],
        "problems": [unworded(each.problem.said) for each in wrong if each.row == 0],
        "left": [{"line": number, "said": unworded(said)} for number, said in left],
    }


def _rows(given: Any) -> list[dict[str, Any]]:
    if not isinstance(given, list) or not all(isinstance(each, dict) for each in given):
        raise InputError("There are no lines of section 3 to read.", about="rows")
    if len(given) > MOST_ROWS:
        raise InputError(
            "{n} lines are more than a sheet has: {most} at most.",
            n=len(given),
            most=MOST_ROWS,
            about="rows",
        )
    return given


def _told(line: Line) -> dict[str, Any]:
    return {
        "understood": None if line.substance is None else unworded(said_back(line.substance)),
        "problems": [{"cell": each.cell, "said": unworded(each.said)} for each in line.problems],
        "notes": [unworded(each) for each in line.notes],
    }
