"""Tables of spreadsheets: what Python's csv writes is read back, what is none is refused."""

import csv
import gzip
import io
import json
import re
import time
import tracemalloc

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from benchapp.records.table_reading import (
    MOST_BYTES,
    MOST_CELL,
    MOST_COLUMNS,
    MOST_ROWS,
    BadTable,
    read_table,
)

ENCODINGS = {
    "utf-8": "UTF-8",
    "utf-8-sig": "UTF-8",
    "utf-16": "UTF-16",
    "cp1252": "Windows-1252",
}
_WESTERN = "".join(map(chr, [*range(0x20, 0x7F), *range(0xA0, 0x100)])) + "€„“”’–Šž\n\r\t"
_HEADINGS = st.lists(
    st.text("abcdefghijkÄéßx (%)", min_size=1, max_size=12).filter(str.strip),
    min_size=2,
    max_size=6,
)


def written(rows: list[list[str]], separator: str, ends: str = "\r\n") -> str:
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=separator, lineterminator=ends).writerows(rows)
    return text.getvalue()


@st.composite
def tables(draw: st.DrawFn, letters: str | None) -> list[list[str]]:
    cells = (
        st.text(letters, max_size=20)
        if letters
        else st.text(
            st.characters(exclude_categories=("Cs", "Cc", "Cn"), include_characters="\n\r\t"),
            max_size=20,
        )
    )
    columns = draw(_HEADINGS)
    row = st.lists(cells, min_size=len(columns), max_size=len(columns))
    rows = draw(st.lists(row.filter(lambda row: any(map(str.isalnum, "".join(row)))), max_size=6))
    return [columns, *rows]


def is_read_back(rows: list[list[str]], separator: str, encoding: str, ends: str) -> None:
    content = written(rows, separator, ends).encode(encoding)
    table = read_table(content)
    assert [table.columns, *table.rows] == rows
    assert (table.separator, table.first_row) == (separator, 2)
    is_plain = content.isascii()
    assert table.encoding == ("UTF-8" if is_plain else ENCODINGS[encoding])


@given(
    tables(None),
    st.sampled_from(";,\t"),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
    st.sampled_from(["\r\n", "\n"]),
)
def test_any_text_is_read_back(
    rows: list[list[str]], separator: str, encoding: str, ends: str
) -> None:
    # Python quotes a lone carriage return only where it ends its lines with one.
    assume("\r" in ends or not any("\r" in cell for row in rows for cell in row))
    is_read_back(rows, separator, encoding, ends)


@given(tables(_WESTERN), st.sampled_from(";,\t"), st.sampled_from(["\r\n", "\n"]))
def test_western_text_of_one_byte_a_letter_is_read_back(
    rows: list[list[str]], separator: str, ends: str
) -> None:
    content = written(rows, separator, ends).encode("cp1252")
    # Pairs such as 'Ã©' are UTF-8 as well, and in no word of any language.
    assume(not re.search(rb"[\xc2-\xf4][\x80-\xbf]", content))
    assume("\r" in ends or b"\r" not in content)
    is_read_back(rows, separator, "cp1252", ends)


def test_one_column_is_a_table_whatever_its_cells_hold() -> None:
    table = read_table(b"Name\na, b\nc\n")
    assert (table.columns, table.rows) == (["Name"], [["a, b"], ["c"]])


def test_commas_in_numbers_part_no_cells() -> None:
    table = read_table(b"Name;Density\nplum, dark;0,98\nsea;1,02\n")
    assert table.separator == ";"
    assert table.rows == [["plum, dark", "0,98"], ["sea", "1,02"]]


def test_rows_have_the_numbers_that_a_spreadsheet_gives_them() -> None:
    table = read_table(b'\n\nName,Notes\n\nDune,"two\nlines"\n,\nPlum\n,,\n,,\n')
    assert table.columns == ["Name", "Notes"]
    assert table.first_row == 4
    assert table.rows == [["", ""], ["Dune", "two\nlines"], ["", ""], ["Plum", ""]]


def test_a_row_may_be_wider_than_its_headings() -> None:
    table = read_table(b"a,b\n1,2,3\n4,5\n6,7\n")
    assert (table.columns, table.rows[0]) == (["a", "b", ""], ["1", "2", "3"])


def test_unmarked_utf_16_is_known() -> None:
    for codec in ("utf-16-le", "utf-16-be"):
        table = read_table("Name;Préface\r\nDüne;1\r\n".encode(codec))
        assert (table.rows, table.encoding) == ([["Düne", "1"]], "UTF-16")


def test_a_word_that_ends_the_file_is_no_half_letter() -> None:
    assert read_table("Nom;Prix\ncafé;acheté".encode("cp1252")).rows == [["café", "acheté"]]


# ---- what is refused ---------------------------------------------------------------------------


def refusal(content: bytes) -> str:
    with pytest.raises(BadTable) as refused:
        read_table(content)
    said = str(refused.value)
    assert said.endswith(".")
    assert "{" not in said
    return said


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b"\n\n;;;\n", "empty"),
        (b"a" * (MOST_BYTES + 1), "larger than 5 MB"),
        (b"n\n" * 1_000_000, "more than 10000 rows"),
        (b"n;m\n" + b"x;y\n" * (MOST_ROWS + 1), "more than 10000 rows"),
        (b"a," * MOST_COLUMNS + b"a\n", "Row 1 has more than 60 columns"),
        (b"a,b\n" + b"c,d\n" + b"e," * 100_000, "Row 3 has"),
        (b"," * MOST_BYTES, "Row 1 has a cell"),
        (b"a,b\n1," + b"x" * (MOST_CELL + 1), "Row 2 has a cell of more than 4000"),
        (b'a,b\n1,"' + b"x\n" * 2_000_000, "Row 2 has a cell of more than 4000"),
        (b'a,b\n1,"2', "quotation marks of row 2"),
        (b'a,b\n1,"2"3\n', "quotation marks of row 2"),
        (b"a,b\n1,\0\n", "Line 2 holds what is no text"),
        (b"\0" * 1000, "no text"),
        (bytes(range(256)) * 40, "no text"),
        (b"PK\x03\x04" + bytes(100), "whole workbook"),
        (b"\xd0\xcf\x11\xe0" + bytes(100), "whole workbook"),
        (b"%PDF-1.7\n", "document"),
        ("a;b\n".encode("utf-32"), "CSV UTF-8"),
        ("Name;é\nDüne;café".encode()[:-1], "Line 2 holds a letter that is not whole"),
        ("Name\ncafé".encode()[:-1], "Line 2 holds a letter that is not whole"),
        ("Name\nDünen, “grün” und süß\n".encode().replace(b"\xc3\xbc", b"\xfc", 1), "Line 2"),
        (b"\xef\xbb\xbfName\nD\xfcne\n", "Line 2 holds a letter"),
        (b"\xff\xfeN\x00a\x00m", "Line 1 holds a letter"),
        (b"Name\nD\xfcne \x81\n", "Line 2 holds a letter"),
        (gzip.compress(b"a,b\n" * 1_000_000), "text"),
    ],
)
def test_what_is_no_table_is_refused_in_a_sentence(content: bytes, says: str) -> None:
    assert says in refusal(content)


def test_the_limits_themselves_are_allowed() -> None:
    row = ["x" * MOST_CELL, *["y"] * (MOST_COLUMNS - 1)]
    headings = [f"c{number}" for number in range(MOST_COLUMNS)]
    assert read_table(written([headings, row], ",").encode()).rows == [row]
    doubled = ['"' * MOST_CELL] * MOST_COLUMNS
    assert read_table(written([headings, doubled], ",").encode()).rows == [doubled]
    assert len(read_table(b"a,b\n" + b"1,2\n" * MOST_ROWS + b",\n" * 50_000).rows) == MOST_ROWS


@given(st.binary(max_size=400))
def test_any_bytes_are_a_table_or_a_sentence(content: bytes) -> None:
    said = ""
    try:
        table = read_table(content)
    except BadTable as error:
        said = str(error)
    if said:
        assert said.endswith(".")
        return
    assert all(len(row) == len(table.columns) for row in table.rows)
    json.dumps([table.columns, table.rows], ensure_ascii=False).encode()


@pytest.mark.parametrize(
    "content",
    [b'"\n",' * 1_200_000, b"," * 4_900_000, b"\n" * 400_000, b'"",' * 1_600_000, b"a,b\n,\n"],
)
def test_no_file_takes_much_time_or_room(content: bytes) -> None:
    tracemalloc.start()
    began = time.process_time()
    with pytest.raises(BadTable) if len(content) > 10 else pytest.MonkeyPatch.context():
        read_table(content)
    took_s = time.process_time() - began
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    # Memory that is traced makes it some times slower.
    assert took_s < 20
    assert peak < 60_000_000
