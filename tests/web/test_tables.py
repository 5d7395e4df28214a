"""A table on the wire, against the real server."""

from benchapp.web import limits
from tests.web.caller import Caller


def post(caller: Caller, content: bytes, **headers: str):
    return caller.call(
        "POST", "/api/table", raw=content, headers={"Content-Type": "text/csv", **headers}
    )


def test_a_file_is_read_for_a_paired_phone(here):
    content = "Name;Prix\r\ncafé;1,50\r\n\r\n“deux\nlignes”;\r\n".encode("cp1252")
    answered = post(here, content)
    assert answered.status == 200
    assert answered.headers["Cache-Control"] == "no-store"
    assert answered.json == {
        "columns": ["Name", "Prix"],
        "rows": [["café", "1,50"], ["", ""], ["“deux", ""], ["lignes”", ""]],
        "first_row": 2,
        "encoding": "Windows-1252",
        "separator": ";",
    }
    assert here.get("/api/me").json["paired"] is True


def test_what_is_no_table_is_refused_in_its_sentence(here):
    for content, says in ((b"", "empty"), (b"a,b\n1,\0", "Line 2"), (b"PK\x03\x04", "workbook")):
        answered = post(here, content)
        assert answered.status == 400
        assert says in answered.json["error"]


def test_a_large_file_is_taken_and_a_larger_one_is_not(here):
    line = b"a name of a wax,and what is written of it\n"
    rows = limits.TABLE // len(line)
    answered = post(here, line * rows)
    assert answered.status == 400
    assert "more than 10000 rows" in answered.json["error"]
    assert post(here, b"x" * (limits.TABLE + 1)).status == 413


def test_only_a_paired_phones_own_page_may_ask(running, here):
    stranger = running.caller()
    assert post(stranger, b"a,b\n").status == 401
    assert post(Caller(running.url, dict(here.cookies)), b"a,b\n").status == 400
    assert post(here, b"a,b\n", **{"Sec-Fetch-Site": "cross-site"}).status == 403
