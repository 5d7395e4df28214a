"""Lines of section 3 out of a table that was copied: parted by tabs, by semicolons or by blanks.

Which cell is which is told by what stands in it: a CAS number, a share, classes. A line with
nothing but classes or limits belongs to the one before it, as wrapped lines of a sheet do.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence

from benchapp.desk.rules import Rules
from benchapp.desk.sheets.plain import plain
from benchapp.desk.sheets.section3 import MOST_CHARACTERS as LONGEST_CELL
from benchapp.desk.sheets.section3 import MOST_ROWS
from benchapp.desk.sheets.shares import ABOVE, read_share
from benchapp.desk.sheets.tokens import tokens_of
from benchapp.words import InputError, Message, message

MOST_CHARACTERS = 100_000
_MOST_CELLS = 40

_CAS = re.compile(r"(?:CAS\D{0,12})?\b(\d{2,7}-\d{2}-\d)\b(?!-)", re.ASCII | re.IGNORECASE)
_EC = re.compile(
    r"(?:\b(?:EC|EG|CE|EINECS|ELINCS)\b\D{0,12})?(?<![\d-])(\d{3}-\d{3}-\d)(?![\d-])",
    re.ASCII | re.IGNORECASE,
)
_OTHER_NUMBERS = re.compile(
    r"(?:\b(?:REACH|Index)\b[^\d]{0,20})?\b(?:01-\d{10}-\d{2}(?:-[\dxX]{4})?|\d{3}-\d{3}-\d{2}-[\dX])\b",
    re.IGNORECASE,
)
_LIMIT = re.compile(
    rf"\bATE\b|\bmg\s*/\s*k?[gl]\b|\bC\s*(?:{ABOVE})|(?:{ABOVE})\s*\d", re.IGNORECASE
)
_HEAD = re.compile(r"\bCAS\b", re.IGNORECASE)

Row = dict[str, str]


def rows_of(text: str, rules: Rules) -> tuple[list[Row], list[tuple[int, Message]]]:
    """The lines of a table as rows of cells; of each line that is left out its number, and why.

    Raises:
        InputError: it is empty, too long, or has too many lines.
    """
    if len(text) > MOST_CHARACTERS:
        raise InputError("That is more than a section 3: paste its table alone.", about="text")
    shown = plain(text).splitlines()
    lines = [(number, line) for number, line in enumerate(shown, 1) if line.strip()]
    if not lines:
        raise InputError("Nothing is pasted: copy the table of section 3.", about="text")
    part = _parter([line for _, line in lines])
    rows: list[Row] = []
    left: list[tuple[int, Message]] = []
    for number, line in lines:
        if (
            _HEAD.search(line)
            and not _CAS.search(line)
            and not re.search(r"\d\s*%|\d\s*-\s*\d", line)
        ):
            continue
        cells = part(line)
        # What no sheet has is not looked through.
        is_table = len(cells) <= _MOST_CELLS and max(map(len, cells)) <= LONGEST_CELL
        row = _row(cells, rules) if is_table else {}
        if row.get("name") and (row.get("share") or row.get("cas")):
            rows.append(row)
        elif rows and row and row.keys() <= {"classes", "limits"}:
            for kind, more in row.items():
                rows[-1][kind] = f"{rows[-1][kind]}; {more}" if kind in rows[-1] else more
        else:
            said = message(
                "“{line}” is left out: it has no name with a share. Where it belongs to the line "
                "above it, write it there.",
                line=line.strip()[:60],
            )
            left.append((number, said))
    if len(rows) > MOST_ROWS:
        raise InputError(
            "{n} lines are more than a sheet has: paste {most} at most.",
            n=len(rows),
            most=MOST_ROWS,
            about="text",
        )
    return rows, left


def _parter(lines: Sequence[str]) -> Callable[[str], list[str]]:
    """How a line is parted into cells."""
    if any("\t" in line for line in lines):
        return lambda line: line.split("\t")
    if sum(bool(re.search(r"\S {2,}\S", line)) for line in lines) * 2 > len(lines):
        return lambda line: re.split(r" {2,}", line.strip())
    return lambda line: line.split(";")


def _row(cells: Iterable[str], rules: Rules) -> Row:
    row: Row = {}
    for cell in map(str.strip, cells):
        for kind, text in _pieces(cell, rules):
            row[kind] = f"{row[kind]}; {text}" if kind in row else text
    return row


def _pieces(cell: str, rules: Rules) -> Iterator[tuple[str, str]]:
    """What a cell holds: usually one thing, and numbers beside a name."""
    rest = cell
    for kind, pattern in (("", _OTHER_NUMBERS), ("cas", _CAS), ("ec", _EC)):
        for found in pattern.finditer(rest):
            if kind:
                yield kind, found[1]
        rest = pattern.sub(" ", rest)
    rest = rest.strip(" ,;:()/|-–—") if rest != cell else rest
    if not rest or rest in ("-", "–", "—"):
        return
    if _is_share(rest):
        yield "share", rest
        return
    kinds = {token.kind for token, _ in tokens_of(rest, rules)}
    if _LIMIT.search(rest) or kinds == {"m"}:
        yield "limits", rest
    elif kinds & {"class", "h", "none", "m"}:
        yield "classes", rest
    else:
        yield "name", rest


def _is_share(text: str) -> bool:
    try:
        read_share(text)
    except InputError as error:
        # It is one, and a wrong one: that is said beside it.
        return bool(re.fullmatch(r"[\s\d.,%<>=≤≥–—-]*\d[\s\d.,%<>=≤≥–—-]*", text)) and bool(error)
    return True
