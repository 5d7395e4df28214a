"""A table of a spreadsheet, read from the file that it was saved as: text with cells parted by
commas, semicolons or tabs (RFC 4180, and what spreadsheets write beside it).

Whatever the file is, it is read within its limits or refused with a sentence that says what to do.
"""

import codecs
import csv
import io
import re
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from itertools import islice

from benchapp.words import WordedError, plural

MOST_BYTES = 5_000_000
MOST_ROWS = 10_000
"""Rows below the names of the columns; empty ones at the end do not count."""
MOST_COLUMNS = 60
MOST_CELL = 4_000
"""Characters of one cell."""

SEPARATORS = (";", ",", "\t")
_NOTHING = " \u00a0\t\r\n;,"
_LOOKED_AT = 200
"""Rows by which the separator is found."""
_LONGEST_ROW = MOST_COLUMNS * (2 * MOST_CELL + 3) + 2
"""Characters of a row as written: each of a cell's may be a doubled quotation mark."""

_MARKS = (
    (codecs.BOM_UTF8, "utf-8", "UTF-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16-be", "UTF-16"),
)
_WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
"""How a packed workbook and one of the older kind begin."""
# Well-formed sequences of more than one byte (Unicode 15, table 3-7).
_SEVERAL_BYTES = re.compile(
    rb"[\xc2-\xdf][\x80-\xbf]|\xe0[\xa0-\xbf][\x80-\xbf]|[\xe1-\xec\xee\xef][\x80-\xbf]{2}"
    rb"|\xed[\x80-\x9f][\x80-\xbf]|\xf0[\x90-\xbf][\x80-\xbf]{2}|[\xf1-\xf3][\x80-\xbf]{3}"
    rb"|\xf4[\x80-\x8f][\x80-\xbf]{2}"
)
_HIGH = re.compile(rb"[\x80-\xff]")
# What begins a letter of the West, a quotation mark or a dash in UTF-8, and ends no usual word.
_HALF = re.compile(rb"(?:[\xc2\xc3]|\xe2[\x80-\x82]?)\Z")
_NO_TEXT = re.compile(r"[\x00-\x08\x0e-\x1f\x7f]")


class BadTable(WordedError):
    """A file that is not read. The message is a sentence for the maker."""


@dataclass(frozen=True)
class Table:
    """What stands in a table.

    Attributes:
        columns: the cells of its first row that is not empty.
        rows: the cells below, each row as wide as `columns`; an empty row between others stays.
        first_row: the number that a spreadsheet gives the first of `rows`.
        encoding: 'UTF-8', 'UTF-16' or 'Windows-1252'.
        separator: between its cells.
    """

    columns: list[str]
    rows: list[list[str]]
    first_row: int
    encoding: str
    separator: str


def read_table(content: bytes) -> Table:
    """Read a file. Raises BadTable."""
    if len(content) > MOST_BYTES:
        raise BadTable(
            "The file is larger than {n} MB. Save it in parts, and bring them in one by one.",
            n=MOST_BYTES // 1_000_000,
        )
    text, encoding = _decoded(content)
    separator = _separator(text)
    columns: list[str] | None = None
    rows: list[list[str]] = []
    empty: list[list[str]] = []
    first_row = 0
    for number, row in _rows(text, separator):
        _check(number, row)
        if _is_empty(row):
            # Of those at the end of the table there may be any number.
            if columns is not None and len(rows) + len(empty) <= MOST_ROWS:
                empty.append(row)
            continue
        if columns is None:
            columns, first_row = row, number + 1
            continue
        rows += [*empty, row]
        empty.clear()
        if len(rows) > MOST_ROWS:
            raise BadTable(
                "The table has more than {rows}. Save it in parts, and bring them in one by one.",
                rows=plural(MOST_ROWS, "{n} row", "{n} rows"),
            )
    if columns is None:
        raise BadTable("The file is empty. Save the table as CSV from your spreadsheet.")
    width = max(len(row) for row in [columns, *rows])
    whole = [row + [""] * (width - len(row)) for row in [columns, *rows]]
    return Table(whole[0], whole[1:], first_row, encoding, separator)


# ---- letters -----------------------------------------------------------------------------------


def _decoded(content: bytes) -> tuple[str, str]:
    """The text, and what its encoding is called."""
    if content.startswith(_WORKBOOKS):
        raise BadTable(
            "This is a whole workbook, not a table. Open it in your spreadsheet, and save the "
            "sheet as CSV."
        )
    if content.startswith(b"%PDF"):
        raise BadTable("This is a document, not a table. Save the table as CSV instead.")
    if content.startswith((codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE)):
        raise BadTable("The bench can't read this way of writing letters. Save it as CSV UTF-8.")
    for mark, codec, encoding in _MARKS:
        if content.startswith(mark):
            return _checked(_strictly(content.removeprefix(mark), codec)), encoding
    if codec := _unmarked_utf16(content):
        return _checked(_strictly(content, codec)), "UTF-16"
    _checked(content.decode("latin-1"))
    try:
        return content.decode("utf-8"), "UTF-8"
    except UnicodeDecodeError:
        pass
    several = len(_SEVERAL_BYTES.findall(content))
    others = len(_HIGH.findall(_SEVERAL_BYTES.sub(b"", content)))
    if several > others or (others <= 2 and _HALF.search(content)):
        # It was UTF-8, and something has cut it or written into it.
        return _strictly(content, "utf-8"), "UTF-8"
    return _strictly(content, "cp1252"), "Windows-1252"


def _unmarked_utf16(content: bytes) -> str:
    """The codec where every other byte of the beginning is nought, as in Western text."""
    start = content[:400]
    half = len(start) // 2
    if half == 0 or len(content) % 2:
        return ""
    odd, even = start[1::2].count(0), start[0::2].count(0)
    if odd > 0.7 * half and even == 0:
        return "utf-16-le"
    return "utf-16-be" if even > 0.7 * half and odd == 0 else ""


def _strictly(content: bytes, codec: str) -> str:
    try:
        return content.decode(codec)
    except UnicodeDecodeError as error:
        before = content[: error.start].decode(codec, errors="replace")
        raise BadTable(
            "Line {n} holds a letter that is not whole: the file is damaged. Save the table as CSV "
            "UTF-8 again.",
            n=before.count("\n") + 1,
        ) from error


def _checked(text: str) -> str:
    if found := _NO_TEXT.search(text):
        raise BadTable(
            "Line {n} holds what is no text. Save the table as CSV from your spreadsheet.",
            n=text.count("\n", 0, found.start()) + 1,
        )
    return text


# ---- cells -------------------------------------------------------------------------------------


def _separator(text: str) -> str:
    """The one by which the most rows are as wide as the first, and that is more than one cell."""

    def fits(separator: str) -> tuple[bool, float, int]:
        widths = []
        # What is wrong with a row is said where it is read.
        with suppress(BadTable):
            for _, row in islice(_rows(text, separator), _LOOKED_AT):
                if not _is_empty(row):
                    widths.append(len(row))
        if not widths:
            return (False, 0.0, 0)
        width = widths[0]
        return (width > 1, widths.count(width) / len(widths), width)

    return max(SEPARATORS, key=fits)


def _rows(text: str, separator: str) -> Iterator[tuple[int, list[str]]]:
    """Each row and its number, from 1. No more of the text is held at once than a row may have."""
    held = 0

    def lines() -> Iterator[str]:
        nonlocal held
        for line in io.StringIO(text, newline=""):
            held += len(line)
            if held > _LONGEST_ROW:
                raise _too_long(number + 1)
            yield line

    number = 0
    reader = csv.reader(lines(), delimiter=separator, strict=True)
    while True:
        try:
            row = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            if "limit" in str(error):
                raise _too_long(number + 1) from error
            raise BadTable(
                "The quotation marks of row {n} do not go together. Save the table as CSV again.",
                n=number + 1,
            ) from error
        number += 1
        held = 0
        yield number, row


def _is_empty(row: list[str]) -> bool:
    return not any(cell.strip(_NOTHING) for cell in row)


def _check(number: int, row: list[str]) -> None:
    if any(len(cell) > MOST_CELL for cell in row):
        raise _too_long(number)
    # Spreadsheets write empty cells behind the last column.
    while len(row) > MOST_COLUMNS and not row[-1].strip():
        row.pop()
    if len(row) > MOST_COLUMNS:
        raise BadTable(
            "Row {row} has more than {n} columns. Leave out those that the bench need not know.",
            row=number,
            n=MOST_COLUMNS,
        )


def _too_long(number: int) -> BadTable:
    return BadTable(
        "Row {row} has a cell of more than {n} characters. Shorten it; or a quotation mark is not "
        "closed there.",
        row=number,
        n=MOST_CELL,
    )
