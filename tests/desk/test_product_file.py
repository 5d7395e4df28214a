"""The file of a product: its paper read back by pdfplumber, its folder by Python's zipfile, `unzip`
and `sha256sum`."""

import base64
import copy
import io
import json
import random
import re
import shutil
import subprocess
import zipfile
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pdfplumber
import pypdfium2
import pytest

from benchapp.desk.product_file import asked as asking
from benchapp.desk.product_file.asked import MOST_LINE, read_asked
from benchapp.desk.product_file.bundle import write_bundle
from benchapp.desk.product_file.paper import Beside, pdf_of
from benchapp.words import InputError
from tests.desk.filing import BLOCKS, BODY, PHOTO, PHOTO_SHA, Json, png

NOTHING = Beside()


def paper(body: Json, beside: Beside = NOTHING) -> bytes:
    return pdf_of(read_asked(body), beside)


def text_of(pdf: bytes) -> str:
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        pages = [page.extract_text() for page in document.pages]
    return re.sub(r"\s+", " ", " ".join(pages))


def with_block(block: Json) -> Json:
    body = copy.deepcopy(BODY)
    body["parts"][0]["blocks"] = [block]
    return body


# ---- the paper ---------------------------------------------------------------------------------


def test_all_that_stands_in_it_is_read_back() -> None:
    text = text_of(paper(BODY, Beside(("a photo: attachments/x.jpg",), ("a sheet: not there",))))
    for said in (
        *("Wet slate in a tin", "Made on 30 Nov 2026", "What is missing for it to be complete"),
        *("Its burn test is older than the recipe.", "Not answered: Can it tip over?"),
        *("older than what it rests on", "2 things are missing", "Called back"),
        *("Hazard class, worked out", "As it is now", "The rim grew black by an open window."),
        *("For it: the flame was low.", "Against it: soot.", "8.0 % of the wax", "flat cotton, 4"),
        *("Batch code Poured on Candles made", "4RJ9-989V", "7F2K-M3QP", "Label of today"),
        *("Wax left: candle 1: 40 g after 8 h.", "hours burnt", "attachments/x.jpg"),
        "a sheet: not there",
    ):
        assert said in text, said
    assert "**" not in text


def test_its_pages_are_a4_with_numbers_and_nothing_leaves_them() -> None:
    many = [f"Line {n} of a long file." for n in range(400)]
    pdf = paper(with_block({"is": "list", "items": many}))
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        count = len(document.pages)
        assert count > 5
        for number, page in enumerate(document.pages, 1):
            assert (round(page.width), round(page.height)) == (595, 842)
            assert f"{number} / {count}" in page.extract_text()
            assert all(0 <= each["x0"] <= each["x1"] <= page.width for each in page.chars)
    assert "Line 399 of a long file." in text_of(pdf)


def test_a_word_of_ten_thousand_letters_is_all_there_and_stays_on_the_page() -> None:
    for block in (
        {"is": "text", "text": "x" * 10_000},
        {"is": "facts", "rows": [["Where", "x" * 10_000]]},
        {"is": "table", "head": ["a", "b"], "rows": [["x" * 10_000, "y"]]},
    ):
        with pdfplumber.open(io.BytesIO(paper(with_block(block)))) as document:
            letters = [
                each for page in document.pages for each in page.chars if each["text"] == "x"
            ]
            assert len(letters) >= 10_000
            assert max(each["x1"] for each in letters) <= document.pages[0].width


@pytest.mark.parametrize(
    "typed",
    [
        *('#panic("no")', '"#eval("1")', "*bold* _slanted_", "$x^2$", "@somebody", "<label>"),
        *("// a comment", "/* more", r"\u{41} \\", "] }) #[", "= No heading", '#include "x"'),
    ],
)
def test_what_is_typed_is_never_source(typed: str) -> None:
    body = with_block({"is": "text", "text": f"Typed: {typed} end."})
    body["title"] = typed
    body["parts"][2]["lacks"] = [typed]
    text = text_of(paper(body))
    assert text.count(typed.replace("  ", " ")) >= 4, text


def test_letters_that_the_font_lacks_are_told() -> None:
    body = with_block(
        {"is": "text", "text": "Kerze 🕯 von 蝋燭, Größe œ € Ω Ж, half \ud83d, bell \a."}
    )
    text = text_of(paper(body))
    assert "Kerze ◊ von ◊◊, Größe œ € Ω Ж, half ◊, bell ." in text
    assert "Letters that the font of this paper does not have" in text
    assert "Letters that the font" not in text_of(paper(BODY))


def test_its_drawings_are_drawn() -> None:
    with pdfplumber.open(io.BytesIO(paper(BODY))) as document:
        pages = document.pages
        dots = [each for page in pages for each in page.curves if each["fill"]]
        lines = [each for page in pages for each in page.lines]
        pictures = [each for page in pages for each in page.images]
        [hours] = [
            word for page in pages for word in page.extract_words() if word["text"] == "burnt"
        ]
    assert dots
    assert len(lines) >= 3
    [label] = [each for each in pictures if abs(each["width"] - 64 * 72 / 25.4) < 1]
    assert label["height"] / label["width"] == pytest.approx(0.5, abs=0.02)
    # Its words end where the drawing has them: at 354 of 360, on 130 mm from the left edge.
    assert hours["x1"] == pytest.approx((20 + 130 * 354 / 360) * 72 / 25.4, abs=1)


def test_another_reader_opens_it_too() -> None:
    document = pypdfium2.PdfDocument(paper(BODY))
    texts = [page.get_textpage().get_text_range() for page in document]
    assert any("4RJ9-989V" in each for each in texts)
    assert document.get_metadata_dict()["Title"] == "Wet slate in a tin"
    dark = document[0].render(scale=0.5).to_pil().convert("L").histogram()[:128]
    assert sum(dark) > 100


# ---- the folder --------------------------------------------------------------------------------


def folder(body: Json, stored: dict[str, bytes], into: Path) -> Path:
    """The file made and unpacked by `unzip`; its one folder."""
    made = into / "made.zip"
    with made.open("wb") as file:
        write_bundle(read_asked(body), stored.get, file)
    with zipfile.ZipFile(made) as opened:
        assert opened.testzip() is None
    unzip = shutil.which("unzip")
    if unzip is None:
        pytest.skip("This machine has no unzip.")
    subprocess.run([unzip, "-t", made], check=True, capture_output=True)
    subprocess.run([unzip, "-q", made, "-d", into / "out"], check=True, capture_output=True)
    [found] = (into / "out").iterdir()
    return found


def summed(where: Path) -> str:
    told = subprocess.run(
        ["sha256sum", "-c", "--strict", "MANIFEST.sha256"],
        cwd=where,
        check=True,
        capture_output=True,
        text=True,
    )
    return told.stdout


def test_the_folder_is_whole_by_its_own_manifest(tmp_path: Path) -> None:
    where = folder(BODY, {PHOTO_SHA: PHOTO}, tmp_path)
    assert where.name == "wet-slate-in-a-tin"
    photo = f"attachments/{PHOTO_SHA[:24]}.jpg"
    files = {str(each.relative_to(where)) for each in where.rglob("*") if each.is_file()}
    listed = {"file.pdf", "records.json", "labels/picture-1.png", photo}
    assert files == {*listed, "MANIFEST.sha256"}
    assert set(summed(where).splitlines()) == {f"{each}: OK" for each in listed}
    assert json.loads((where / "records.json").read_text()) == json.loads(BODY["records"])
    assert (where / photo).read_bytes() == PHOTO
    assert f"certificate of the wax: {photo}" in text_of((where / "file.pdf").read_bytes())
    (where / photo).write_bytes(PHOTO + b"!")
    with pytest.raises(subprocess.CalledProcessError):
        summed(where)


def test_what_the_server_lacks_or_has_damaged_is_told_and_left_out(tmp_path: Path) -> None:
    lacking = {**BODY["attachments"][0], "sha256": "a" * 64, "name": "a photo of the top"}
    body = {**BODY, "attachments": [*BODY["attachments"], lacking]}
    where = folder(body, {PHOTO_SHA: PHOTO + b" spoilt"}, tmp_path)
    assert not (where / "attachments").exists()
    text = text_of((where / "file.pdf").read_bytes())
    assert "certificate of the wax: it is damaged on the server" in text
    assert "a photo of the top: the server does not have it yet" in text
    summed(where)


def test_the_same_bytes_are_put_in_once(tmp_path: Path) -> None:
    body = {**BODY, "attachments": BODY["attachments"] * 3}
    where = folder(body, {PHOTO_SHA: PHOTO}, tmp_path)
    assert len(list((where / "attachments").iterdir())) == 1


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("../../etc/passwd", "etc-passwd"),
        ("C:\\bench\n*?", "c-bench"),
        ("Größe & Ōkami — 3", "groe-okami-3"),
        ("蝋燭", "product"),
        ("x" * MOST_LINE, "x" * 60),
    ],
)
def test_the_folder_has_a_name_that_every_system_takes(
    tmp_path: Path, title: str, name: str
) -> None:
    with (tmp_path / "made.zip").open("w+b") as file:
        write_bundle(read_asked({**BODY, "title": title}), {}.get, file)
        names = zipfile.ZipFile(file).namelist()
    assert {each.split("/")[0] for each in names} == {name}


def test_the_same_file_is_the_same_to_the_byte() -> None:
    made = []
    for _ in range(2):
        held = io.BytesIO()
        write_bundle(read_asked(BODY), {PHOTO_SHA: PHOTO}.get, held)
        made.append(held.getvalue())
    assert made[0] == made[1]


# ---- what is refused ---------------------------------------------------------------------------

SPOILT: list[Any] = [
    *(None, "", "x", 0, -1, 1e308, True, [], {}, [[]], [None], {"is": "text"}, "\ud83d", 10**20),
    *(["x"] * 50, {"": {}}, "9" * 200_000),
]


def places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    yield path
    if isinstance(value, dict | list):
        for key, each in value.items() if isinstance(value, dict) else enumerate(value):
            yield from places(each, (*path, key))


def spoilt(path: tuple[Any, ...], value: Any) -> Json:
    body = copy.deepcopy(BODY)
    where: Any = body
    for key in path[:-1]:
        where = where[key]
    where[path[-1]] = value
    return body


@cache
def all_spoilt() -> tuple[list[asking.Asked], list[InputError]]:
    """The body with each part spoilt in each way: what is taken all the same, and the refusals."""
    taken, refused = [], []
    for path in places(BODY):
        for value in SPOILT if path else ():
            try:
                taken.append(read_asked(spoilt(path, value)))
            except InputError as error:
                refused.append(error)
    return taken, refused


def test_a_body_that_is_spoilt_anywhere_is_read_or_refused_in_a_sentence() -> None:
    _, refused = all_spoilt()
    assert len(refused) > 1000
    assert all(str(error).endswith(".") and error.about for error in refused)


def test_what_is_read_of_a_spoilt_body_can_be_set() -> None:
    """Some of them: each takes the typesetter a while."""
    taken, _ = all_spoilt()
    for asked in random.Random(7).sample(taken, 6):
        assert pdf_of(asked, Beside()).startswith(b"%PDF")


NOT_WORDS = {"is", "anchor", "png", "records", "language", "state", "sha256", "of"}


def all_said(value: Any, text: str, key: object = "") -> Any:
    """The body with this text wherever it has one."""
    if isinstance(value, dict):
        return {name: all_said(each, text, name) for name, each in value.items()}
    if isinstance(value, list):
        return [all_said(each, text, key) for each in value]
    return text if isinstance(value, str) and key not in NOT_WORDS else value


@pytest.mark.parametrize("text", ["\ud800", "\udfff\ud800", "a\0b\x1f", "\u202e#[", "é" * 5000])
def test_whatever_the_words_are_the_paper_is_set(text: str) -> None:
    body = all_said(BODY, text) | {"title": text[:MOST_LINE], "made": text[:MOST_LINE]}
    body["parts"][0]["blocks"][5]["head"] = [text[:MOST_LINE]]
    assert body["parts"][0]["blocks"][8]["items"][0]["kind"] == text
    assert paper(body, NOTHING).startswith(b"%PDF")


@pytest.mark.parametrize(
    ("path", "value", "says"),
    [
        (("title",), " ", "has no name"),
        (("language",), "constructor", "can't be read"),
        (("title",), "x" * 301, "longer than 300"),
        (("parts", 0, "blocks", 5, "head"), ["x" * 301], "longer than 300"),
        (("parts",), [BODY["parts"][0]] * 41, "more than 40"),
        (("parts", 0, "blocks", 2, "text"), "x" * 100_001, "longer than"),
        (("parts", 0, "blocks", 7, "png"), png(2001, 2000), "too many pixels"),
        (("parts", 0, "blocks", 7, "png"), png()[:60], "no picture"),
        (("parts", 0, "blocks", 7, "png"), base64.b64encode(b"<svg/>").decode(), "no picture"),
        (("parts", 0, "blocks", 7, "width_mm"), 5000, "can't be read"),
        (("parts", 0, "blocks", 8, "items", 1, "points"), [[0, 1e9]], "can't be read"),
        (("records",), "[]", "records"),
        (("attachments", 0, "sha256"), "A" * 64, "can't be read"),
    ],
)
def test_what_is_refused_says_why(path: tuple[Any, ...], value: Any, says: str) -> None:
    with pytest.raises(InputError, match=re.escape(says)):
        read_asked(spoilt(path, value))


def test_a_file_has_its_most(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(asking, "MOST_BLOCKS", len(BLOCKS) - 1)
    with pytest.raises(InputError):
        read_asked(BODY)
    monkeypatch.setattr(asking, "MOST_BLOCKS", len(BLOCKS))
    read_asked(BODY)
