"""The pages of labels, read back from the PDF."""

import base64
import io
import json
from itertools import pairwise

import pypdfium2
import pytest
from PIL import Image

from benchapp.desk.label.asked import read_asked
from benchapp.desk.label.checking import leasts_of
from benchapp.desk.label.content import contains, content_of
from benchapp.desk.label.fit import fit
from benchapp.desk.label.law import label_law
from benchapp.desk.label.letters import width_of
from benchapp.desk.label.making import make
from benchapp.desk.statements import languages, statements_in
from tests.desk.label.asking import ONE, SHEET, asked, made, pdf_of
from tests.desk.label.reading import (
    codes,
    fonts,
    letters,
    page_sizes,
    rendered,
    shapes,
    squeezed,
    text_of,
)

SMALL = {
    "width_mm": 40,
    "height_mm": 40,
    "hazard": None,
    "no_hazard": "no limit is reached",
    "code": "none",
    "languages": ["en"],
}
RED = (0.89, 0.024, 0.075)


def one(**changes):
    answer = made(ONE, **changes)
    assert answer["report"]["fits"], answer["report"]["in_the_way"]
    return pdf_of(answer)


# ---- measures ----------------------------------------------------------------------------------


@pytest.mark.parametrize("bleed", [0, 3])
def test_a_page_is_the_label_and_its_bleed(bleed: float) -> None:
    answer = made(ONE | {"bleed_mm": bleed}, paper="#efe6d2")
    assert answer["pages"] == 1
    [(width, height)] = page_sizes(pdf_of(answer))
    assert width == pytest.approx(100 + 2 * bleed, abs=0.01)
    assert height == pytest.approx(130 + 2 * bleed, abs=0.01)
    grounds = [each for each in shapes(pdf_of(answer)) if each["x1"] - each["x0"] > 99.9]
    assert max(each["x1"] - each["x0"] for each in grounds) == pytest.approx(
        100 + 2 * bleed, abs=0.05
    )


# The size of its letters (em) at which Source Sans' x is so high: by the letter itself, measured in
# the drawn page, not by the font's table.
def test_an_x_is_as_high_as_the_law_will_have_it() -> None:
    pdf = one(product={"en": "x"}, says={}, own={"en": "xxxxxx"}, hazard=None, no_hazard="none",
              width_mm=52, height_mm=74, languages=["en"], burns_h=None, net=None)  # fmt: skip
    dpi = 2400
    image = rendered(pdf, dpi=dpi).convert("L")
    word = [each for each in letters(pdf) if each.text == "x"][-6:]
    dot = 25.4 / dpi
    left, right = word[0].x, word[-1].x + word[-1].width
    box = (left / dot, (word[0].base - 3) / dot, right / dot, (word[0].base + 1) / dot)
    cut = image.crop(tuple(round(each) for each in box)).point(lambda value: 255 * (value < 128))
    _, top, _, bottom = cut.getbbox()
    assert (bottom - top) * dot >= 1.2 - 0.011


@pytest.mark.parametrize(("volume", "least"), [(120, 1.2), (500, 1.2), (501, 1.4), (4000, 1.8)])
def test_no_letter_is_smaller_than_the_least(volume: float, least: float) -> None:
    pdf = one(package={"volume_ml": volume, "panel_mm2": None}, width_mm=200, height_mm=250)
    assert min(each.size for each in letters(pdf)) * 0.486 >= least - 1e-4


@pytest.mark.parametrize(
    ("volume", "least"), [(120, 10.0), (3001, 23.0), (50_001, 32.0), (500_001, 46.0)]
)
def test_a_pictogram_is_as_large_as_its_package_asks(volume: float, least: float) -> None:
    """The side of the square on its point, from the outer edge of its frame: 1.2.1, table 1.3."""
    package = {"volume_ml": volume, "panel_mm2": None}
    pdf = one(package=package, width_mm=300, height_mm=400, languages=["en"])
    [frame] = [each for each in shapes(pdf) if each["stroke"] == pytest.approx(RED, abs=0.01)]
    across = frame["x1"] - frame["x0"] + frame["line"] * 2**0.5
    assert across == pytest.approx(
        frame["bottom"] - frame["top"] + frame["line"] * 2**0.5, abs=0.01
    )
    assert across / 2**0.5 >= least - 0.005


@pytest.mark.parametrize(("grams", "least"), [("50", 2), ("120", 3), ("220", 4), ("1200", 6)])
def test_the_figures_of_the_net_content(grams: str, least: float) -> None:
    """By the drawn figure: its height in the page, as dark dots."""
    pdf = one(net={"g": grams, "unit": "g"}, burns_h=None)
    word = next(
        pair for pair in zip(letters(pdf), letters(pdf)[len(grams):], strict=False)
        if pair[0].text == grams[0] and pair[1].text.isspace() and "Semibold" in pair[0].font
    )[0]  # fmt: skip
    dpi = 1200
    dot = 25.4 / dpi
    image = rendered(pdf, dpi=dpi).convert("L")
    box = (word.x, word.base - word.size, word.x + word.width, word.base + 0.3 * word.size)
    cut = image.crop(tuple(round(each / dot) for each in box))
    _, top, _, bottom = cut.point(lambda value: 255 * (value < 128)).getbbox()
    assert (bottom - top) * dot >= least - 0.022


def test_lines_lie_at_least_a_fifth_more_than_their_letters_apart() -> None:
    pdf = one(own={"en": "word " * 60}, width_mm=80, height_mm=200)
    small = min(each.size for each in letters(pdf))
    bases = sorted({round(each.base, 3) for each in letters(pdf) if each.size < small * 1.001})
    apart = [low - high for high, low in pairwise(bases)]
    assert min(apart) >= 1.2 * small - 1e-3


@pytest.mark.parametrize("shape", ["rect", "round"])
def test_words_stand_where_they_were_reckoned(shape: str) -> None:
    """Each line begins, ends and stands within 0.1 mm of where it was to be."""
    body = asked(
        ONE, languages=["en", "de", "el", "bg", "fr"], shape=shape, width_mm=140, height_mm=140
    )
    label, _ = read_asked(body)
    law = label_law("eu")
    [piece] = fit(label, content_of(label), law, leasts_of(label, law)).pieces
    assert piece.whole
    drawn = [item for item in piece.items if item["is"] == "text"]
    read = letters(pdf_of(make(body, pictures=False)))
    at = 0
    for item in drawn:
        line = read[at : at + len(item["text"])]
        at += len(item["text"])
        assert "".join(each.text for each in line) == item["text"]
        assert line[0].x == pytest.approx(item["x"], abs=0.1)
        assert {round(each.base - item["y"], 1) for each in line} == {0}
        assert line[-1].x + line[-1].width == pytest.approx(
            item["x"] + width_of(item["text"], item["weight"]) * item["size"], abs=0.1
        )
        assert {round(each.size - item["size"], 3) for each in line} == {0}
    assert at == len(read)


def test_nothing_stands_where_a_tag_is_punched() -> None:
    second = {"width_mm": 60, "height_mm": 110}
    changes = {"way": "tag", "width_mm": 60, "height_mm": 60}
    pdf = pdf_of(made(ONE | {"piece": "second"}, second=second, **changes))
    [ring] = [
        each
        for each in shapes(pdf)
        if each["x1"] - each["x0"] == pytest.approx(4, abs=0.02) and each["fill"] is None
    ]
    assert (ring["x0"] + ring["x1"]) / 2 == pytest.approx(30, abs=0.05)
    assert ring["top"] == pytest.approx(2.5, abs=0.1)
    assert min(each.base - 0.9 * each.size for each in letters(pdf)) > ring["bottom"] + 1


# ---- letters -----------------------------------------------------------------------------------


def test_fonts_are_embedded_and_only_what_is_used_of_them() -> None:
    pdf = one(languages=["en", "el", "bg"])
    found = list(fonts(pdf))
    assert 2 <= len(found) <= 4
    for each in found:
        assert any(key in each for key in ("FontFile", "FontFile2", "FontFile3"))
    assert {each.font[6] for each in letters(pdf)} == {"+"}
    assert {each.font[7:] for each in letters(pdf)} <= {
        "SourceSansPro-Regular", "SourceSansPro-Semibold", "SourceSansPro-Bold",
    }  # fmt: skip
    assert len(pdf) < 120_000


CODES = {"h": ["H317", "H412"], "p": ["P102", "P273", "P333+P313", "P501"]}


@pytest.mark.parametrize("language", languages())
def test_official_sentences_stand_there_letter_by_letter(language: str) -> None:
    pdf = one(languages=[language], hazard__h=CODES["h"], hazard__p=CODES["p"],
              hazard__supplemental=["EUH066"], product={language: "Wet slate"})  # fmt: skip
    texts = statements_in(language).texts
    page = text_of(pdf)
    for code in (*CODES["h"], *CODES["p"], "EUH066"):
        assert squeezed(texts[code]) in page, code
    assert squeezed(contains(language, ("Linalool", "Citronellol"))) in page


def test_text_of_a_person_is_never_source() -> None:
    text = '#panic("no") $x$ *bold* @ref <label> \\ ] } // #sys.inputs `raw` "quoted"'
    pdf = one(product={"en": "#read(1)"}, own={"en": text}, languages=["en"])
    assert squeezed(text) in text_of(pdf)
    assert "#read(1)" in text_of(pdf)


def test_the_same_label_is_the_same_file() -> None:
    """No clock and no chance is in it."""
    assert one() == one()
    assert b"CreationDate" not in one()


# ---- codes -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "kind"), [("qr", "BarcodeFormat.QRCode"), ("code128", "BarcodeFormat.Code128")]
)
@pytest.mark.parametrize("colours", [("#000000", "#ffffff"), ("#f5efe0", "#22333b")])
def test_codes_are_read_back(code: str, kind: str, colours: tuple[str, str]) -> None:
    ink, paper = colours
    pdf = one(code=code, ink=ink, paper=paper, shape="round", width_mm=100, height_mm=100,
              hazard=None, no_hazard="none")  # fmt: skip
    [(found, text)] = codes(pdf)
    assert kind.rpartition(".")[2].lower() in found.lower().replace(" ", "").replace("_", "")
    assert text == "K7Q2-9XFM"


# ---- sheets ------------------------------------------------------------------------------------


def titles(pdf: bytes, page: int = 0) -> list[tuple[float, float]]:
    """Where the title's first letter stands, of each label on a page."""
    largest = max(each.size for each in letters(pdf, page))
    return [
        (each.x, each.base)
        for each in letters(pdf, page)
        if each.text == "W" and each.size > largest - 0.01
    ]


def test_24_labels_lie_on_a_sheet_of_a4() -> None:
    alone = titles(one(**SMALL))[0]
    answer = made({"piece": "label", "n": 24, "start": 1, "paper": SHEET}, **SMALL)
    assert answer["pages"] == 1
    found = titles(pdf_of(answer))
    assert len(found) == 24
    for k, (x, y) in enumerate(found):
        assert x == pytest.approx(8 + 49 * (k % 4) + alone[0], abs=0.05)
        assert y == pytest.approx(10 + 46 * (k // 4) + alone[1], abs=0.05)


def test_a_second_sheet_begins_at_its_first_place() -> None:
    paper = SHEET | {"nudge_x_mm": 0.7, "nudge_y_mm": -0.4}
    answer = made({"piece": "label", "n": 30, "start": 20, "paper": paper}, **SMALL)
    assert answer["pages"] == 3
    pdf = pdf_of(answer)
    alone = titles(one(**SMALL))[0]
    assert [len(titles(pdf, page)) for page in range(3)] == [5, 24, 1]
    x, y = titles(pdf, 0)[0]
    assert x == pytest.approx(8.7 + 49 * 3 + alone[0], abs=0.05)
    assert y == pytest.approx(9.6 + 46 * 4 + alone[1], abs=0.05)
    assert titles(pdf, 2)[0] == pytest.approx((8.7 + alone[0], 9.6 + alone[1]), abs=0.05)


def test_cut_marks_lie_outside_of_the_label() -> None:
    paper = SHEET | {"rows": 1, "columns": 1, "left_mm": 50, "top_mm": 60}
    answer = made({"n": 1, "paper": paper, "cut_marks": True, "bleed_mm": 2}, **SMALL)
    marks = [
        each
        for each in shapes(pdf_of(answer))
        if sorted((each["x1"] - each["x0"], each["bottom"] - each["top"]))
        == pytest.approx([0, 3], abs=0.02)
    ]
    assert len(marks) == 8
    for each in marks:
        assert not (
            each["x1"] > 48 and each["x0"] < 92 and each["bottom"] > 58 and each["top"] < 102
        )
    assert {round(each["x0"], 1) for each in marks if each["x1"] - each["x0"] < 0.1} == {50, 90}
    assert {round(each["top"], 1) for each in marks if each["x1"] - each["x0"] > 1} == {60, 100}


def test_no_cut_mark_lies_on_another_label() -> None:
    paper = SHEET | {"pitch_x_mm": 40, "pitch_y_mm": 40}
    answer = made({"n": 24, "paper": paper, "cut_marks": True}, **SMALL)
    marks = [
        each
        for each in shapes(pdf_of(answer))
        if sorted((each["x1"] - each["x0"], each["bottom"] - each["top"]))
        == pytest.approx([0, 3], abs=0.02)
    ]
    # None but around the whole block, from 8 to 168 and from 10 to 250 mm.
    assert len(marks) == 2 * (2 * 4 + 2 * 6)
    for each in marks:
        assert each["x1"] < 8 or each["x0"] > 168 or each["bottom"] < 10 or each["top"] > 250


def test_a_page_of_its_own_has_room_for_its_cut_marks() -> None:
    answer = made(ONE | {"bleed_mm": 2, "cut_marks": True})
    [(width, height)] = page_sizes(pdf_of(answer))
    assert (width, height) == pytest.approx((100 + 11, 130 + 11), abs=0.05)


def test_a_ruler_has_outlines_and_millimetres_and_no_label() -> None:
    answer = made({"n": 500, "paper": SHEET, "ruler": True}, **SMALL)
    assert answer["pages"] == 1
    pdf = pdf_of(answer)
    assert "Wetslate" not in text_of(pdf)
    found = shapes(pdf)
    outlines = [each for each in found if each["x1"] - each["x0"] == pytest.approx(40, abs=0.05)]
    assert len(outlines) == 24
    ticks = [each["x0"] for each in found if each["top"] < 0.01 and each["bottom"] < 5]
    assert len(ticks) == 210
    assert sorted(ticks)[99] == pytest.approx(100, abs=0.05)
    assert {"10", "200", "290"} <= _numbers(pdf)


def _numbers(pdf: bytes) -> set[str]:
    words, last = [""], None
    for each in letters(pdf):
        if last and (each.base != last.base or each.x > last.x + last.width + 0.5):
            words.append("")
        words[-1] += each.text
        last = each
    return set(words)


# ---- pictures ----------------------------------------------------------------------------------


@pytest.mark.parametrize("shape", ["rect", "round"])
def test_the_picture_is_the_page(shape: str) -> None:
    """Dot for dot but for the edges of letters, by another program's drawing of the PDF."""
    answer = make(asked(ONE, shape=shape, width_mm=100, height_mm=100))
    [picture] = answer["pictures"]
    shown = Image.open(io.BytesIO(base64.b64decode(picture["png"]))).convert("L")
    page = pypdfium2.PdfDocument(pdf_of(answer))[0]
    drawn = page.render(scale=shown.width / page.get_width()).to_pil().convert("L")
    small = (100, 100)
    one, two = shown.resize(small).tobytes(), drawn.resize(small).tobytes()
    inner = [
        (a, b)
        for place, (a, b) in enumerate(zip(one, two, strict=True))
        if ((place % 100 - 49.5) ** 2 + (place // 100 - 49.5) ** 2) ** 0.5 < 47
    ]
    assert sum(abs(a - b) for a, b in inner) / len(inner) < 4
    assert max(abs(a - b) for a, b in inner) < 90


def test_pictures_are_small_enough_for_a_phone_to_keep() -> None:
    """A finding holds at most 200 000 characters of JSON."""
    six = ["en", "de", "fr", "it", "es", "pl"]
    answer = make(asked(languages=six, cautions="both", width_mm=210, height_mm=148, way="tag"))
    assert [each["piece"] for each in answer["pictures"]] == ["label", "second"]
    assert len(json.dumps({key: answer[key] for key in ("report", "pictures")})) < 190_000


def test_what_does_not_fit_is_seen_in_its_picture() -> None:
    [picture] = make(asked(width_mm=30, height_mm=30))["pictures"]
    shown = Image.open(io.BytesIO(base64.b64decode(picture["png"]))).convert("RGB")
    red, green, blue = shown.getpixel((2, shown.height // 2))
    assert red > 180
    assert max(green, blue) < 80
