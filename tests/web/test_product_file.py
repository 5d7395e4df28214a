"""A product's file on the wire, against the real server, with what is attached."""

import copy
import hashlib
import io
import json
import zipfile

import pdfplumber
import pytest

from benchapp.web import limits, wsgi
from tests.desk.filing import BODY
from tests.web.test_attachments import paper, photo, send


@pytest.fixture(scope="module")
def stored(here):
    """Attachments that the server has, together more than it holds of an answer at once."""
    contents = [photo(1), *(paper(900_000) for _ in range(6))]
    for content in contents:
        assert send(here, content).json["kept"]
    return contents


def asked(contents, **more):
    body = copy.deepcopy(BODY) | more
    kinds = {b"%P": "application/pdf", b"\xff\xd8": "image/jpeg"}
    body["attachments"] = [
        {
            **{"of": ["lot", "l1"], "what": "certificate", "bytes": len(content)},
            **{"sha256": hashlib.sha256(content).hexdigest(), "type": kinds[content[:2]]},
            "name": f"paper {number}",
        }
        for number, content in enumerate(contents)
    ]
    return body


def text_of(pdf):
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        return " ".join(page.extract_text() for page in document.pages)


def test_the_folder_has_what_the_workshop_has_and_says_what_it_lacks(here, stored):
    answered = here.post("/api/desk/file", asked([*stored, b"%PDF-1.7 that was never sent"]))
    assert answered.status == 200
    assert answered.headers["Content-Type"] == "application/zip"
    assert answered.headers["Cache-Control"] == "no-store"
    assert len(answered.body) == int(answered.headers["Content-Length"]) > wsgi.LARGE
    with zipfile.ZipFile(io.BytesIO(answered.body)) as opened:
        assert opened.testzip() is None
        names = opened.namelist()
        [folder] = {name.split("/")[0] for name in names}
        bodies = [opened.read(name) for name in names if "/attachments/" in name]
        sums = opened.read(f"{folder}/MANIFEST.sha256").decode().splitlines()
        for line in sums:
            told, name = line.split("  ")
            assert hashlib.sha256(opened.read(f"{folder}/{name}")).hexdigest() == told
        assert len(sums) == len(names) - 1
        text = text_of(opened.read(f"{folder}/file.pdf"))
    assert sorted(bodies) == sorted(stored)
    assert f"paper {len(stored)}: the server does not have it yet" in text


def test_another_workshop_s_papers_are_not_in_it(running, stored):
    other = running.paired("Other", running.workshop("Elsewhere"))
    answered = other.post("/api/desk/file", asked(stored))
    with zipfile.ZipFile(io.BytesIO(answered.body)) as opened:
        assert not [name for name in opened.namelist() if "/attachments/" in name]


def test_the_paper_alone(here, stored):
    answered = here.post("/api/desk/file", asked(stored, want="pdf"))
    assert answered.status == 200
    assert answered.headers["Content-Type"] == "application/pdf"
    assert "paper 0" in text_of(answered.body)


def test_what_can_t_be_taken_names_its_place(here):
    answered = here.post("/api/desk/file", asked([], title=""))
    assert (answered.status, answered.json["about"]) == (400, "title")
    answered = here.post("/api/desk/file", asked([], want="docx"))
    assert (answered.status, answered.json["about"]) == (400, "want")


def test_a_body_of_some_hundred_batches_is_taken_and_no_larger(here):
    kept = json.dumps({"format": "pour-bench-copy", "records": ["x" * 4_000_000], "events": []})
    assert here.post("/api/desk/file", asked([], records=kept)).status == 200
    too_much = here.call("POST", "/api/desk/file", raw=b"x" * (limits.FILE + 1))
    assert too_much.status == 413


def test_a_stranger_gets_none(running):
    assert running.caller().post("/api/desk/file", asked([])).status == 401
