"""A line of section 3, read: the substance, what can't be taken, and what was understood."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from benchapp.desk.amounts import shown
from benchapp.desk.classify.reading import read_substances
from benchapp.desk.classify.substances import Hazard, Substance
from benchapp.desk.rules import Rules
from benchapp.desk.sheets.classes import Classes, Found, read_classes, with_factor, without_factor
from benchapp.desk.sheets.limits import Limits, read_limits
from benchapp.desk.sheets.plain import plain
from benchapp.desk.sheets.shares import read_share
from benchapp.words import InputError, Message, listed, literal, message

CELLS = ("name", "cas", "ec", "share", "classes", "limits", "alone")
MOST_ROWS = 80
MOST_CHARACTERS = 2000
"""Of a cell."""

#: What a sentence of `benchapp.desk.classify.reading` is about -> the cell that it stands in.
_CELL_OF = {
    **dict.fromkeys(("class", "category", "m", "h", "route", "supplemental"), "classes"),
    **dict.fromkeys(("from", "ate"), "limits"),
    "percent": "share",
}
_NO_NUMBER = ("", "-", "–", "—", "n/a", "n.a.", "none")
_ADDITIVE = {"yes": False, "no": True}


@dataclass(frozen=True)
class Problem:
    """What can't be taken, with the cell that it stands in and what to do."""

    cell: str
    said: Message


@dataclass(frozen=True)
class Line:
    """A line as it was read.

    Attributes:
        substance: None where something can't be taken; its share is of the product.
        notes: what was taken, and is to be looked at.
    """

    substance: Substance | None
    problems: tuple[Problem, ...] = ()
    notes: tuple[Message, ...] = ()


def read_line(row: Mapping[str, Any], rules: Rules) -> Line:
    """A line of a sheet, its cells as text; what is left out is empty."""
    cells = {cell: _text(row.get(cell)) for cell in CELLS}
    problems: list[Problem] = []

    def tried(cell: str, read: Any, *given: Any) -> Any:
        try:
            return read(*given)
        except InputError as error:
            at = error.about if error.about in CELLS else _CELL_OF.get(error.about or "", cell)
            problems.append(Problem(at, error.said))
            return None

    for cell, text in cells.items():
        if (
            len(text) > MOST_CHARACTERS
            or not text.replace("\n", " ").replace("\t", " ").isprintable()
        ):
            said = message("It holds signs that can't be read, or too many of them.")
            problems.append(Problem(cell, said))
    if problems:
        return Line(None, tuple(problems))
    if not cells["name"]:
        problems.append(Problem("name", message("Write what the substance is called.")))
    share = tried("share", read_share, cells["share"])
    classes: Classes | None = tried("classes", read_classes, cells["classes"], rules)
    found = (classes.found if classes else None) or ()
    limits: Limits | None = tried("limits", read_limits, cells["limits"], found, rules)
    if limits is not None:
        found = tried("limits", _with_factors, found, limits)
    base = {"name": cells["name"] or "?", "percent": "0"}
    for cell in ("cas", "ec"):
        if cells[cell].lower() in _NO_NUMBER:
            cells[cell] = ""
        else:
            tried(cell, read_substances, [{**base, cell: cells[cell]}], rules)
    if problems or share is None or classes is None or limits is None or found is None:
        return Line(None, tuple(problems))
    given = {
        "name": " ".join(cells["name"].split()),
        "cas": cells["cas"],
        "ec": cells["ec"],
        "percent": [_exact(share[0]), _exact(share[1])],
        "classes": None if classes.found is None else [each.given for each in found],
        "limits": list(limits.limits),
        "ate": dict(limits.ate),
        "supplemental": [code for code in classes.supplemental if code in rules.supplemental],
        "additive": _ADDITIVE.get(cells["alone"]),
    }
    [substance] = tried("classes", read_substances, [given], rules) or [None]
    if substance is None:
        return Line(None, tuple(problems))
    return Line(substance, (), tuple(_notes(substance, classes, found, rules)))


def _with_factors(found: Sequence[Found], limits: Limits) -> Sequence[Found]:
    for factor in limits.factors:
        found = with_factor(list(found), factor, "limits")
    return tuple(found)


def _text(given: object) -> str:
    return plain(given).strip() if isinstance(given, str) else ""


def _exact(share: Fraction) -> str:
    return f"{share.numerator}/{share.denominator}"


def _notes(
    substance: Substance, classes: Classes, found: Sequence[Found], rules: Rules
) -> Iterable[Message]:
    if classes.found is None:
        yield message(
            "No class is written: what it is stays undecided. Write “not classified” where the "
            "sheet says so."
        )
    for each in without_factor(tuple(found)):
        yield message(
            "{class_} has an M-factor, and none is written. The sheet may have it in section 3 or "
            "12; until then at least 1 is reckoned with, and what hangs on it is undecided.",
            class_=literal(f"{each.name} {each.category}"),
        )
    for code in classes.supplemental:
        if code not in rules.supplemental:
            yield message("{code} is not reckoned with.", code=code)
    if substance.low < substance.high:
        yield message(
            "Of the range {low} to {high} % the upper end is reckoned with.",
            low=shown(substance.low),
            high=shown(substance.high),
        )


def said_back(substance: Substance) -> Message:
    """What was understood of a line."""
    values = {
        "name": literal(substance.name),
        "share": share_words(substance.low, substance.high),
        "classes": classes_words(substance),
    }
    if substance.limits or substance.ate:
        own = [
            *(
                f"{each.name} {each.category} ≥ {shown(each.limit)} %".replace("  ", " ")
                for each in substance.limits
            ),
            *(f"ATE {route} {shown(value)}" for route, value in substance.ate.items()),
        ]
        return message("{name}, {share}: {classes}; {more}.", more=listed(own), **values)
    return message("{name}, {share}: {classes}.", **values)


def share_words(low: Fraction, high: Fraction) -> Message:
    """'5 %', '1 to 5 %'."""
    if low == high:
        return message("{share} %", share=shown(low))
    return message("{low} to {high} %", low=shown(low), high=shown(high))


def classes_words(substance: Substance) -> Message:
    """'Skin Sens. 1B (H317) and Aquatic Chronic 1 (H410, M 10)'."""
    if substance.hazards is None:
        return message("no class is told")
    if not substance.hazards:
        return message("not classified")
    return literal(listed(list(dict.fromkeys(map(_hazard_text, substance.hazards)))))


def _hazard_text(hazard: Hazard) -> str:
    beside = [hazard.h] if hazard.h else []
    if hazard.m is not None:
        beside.append(f"M {shown(hazard.m)}")
    return f"{hazard.of} ({', '.join(beside)})" if beside else str(hazard.of)


@dataclass(frozen=True)
class Placed:
    """A problem with its place: the row, from 1, and the cell; row 0: the sheet as a whole."""

    row: int
    problem: Problem


def read_rows(
    rows: Sequence[Mapping[str, Any]], rules: Rules
) -> tuple[tuple[Line, ...], tuple[Placed, ...]]:
    """All lines of section 3, and what can't be taken of them together."""
    lines = tuple(read_line(row, rules) for row in rows)
    wrong = [
        Placed(place, problem) for place, line in enumerate(lines, 1) for problem in line.problems
    ]
    least = sum((line.substance.low for line in lines if line.substance), Fraction(0))
    if least > 100:
        said = message(
            "The shares come to {sum} %, which is more than 100 %. Look at the sheet.",
            sum=shown(least),
        )
        wrong.append(Placed(0, Problem("share", said)))
    return lines, tuple(wrong)
