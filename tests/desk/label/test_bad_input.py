"""What can't be taken: a sentence, and the place that it is about."""

import base64
import struct
import zlib
from typing import Any

import pytest

from benchapp.desk.label.logo import read_logo
from benchapp.desk.label.making import make
from benchapp.words import InputError
from tests.desk.label.asking import ONE, SHEET, asked, made

SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 10">{}</svg>'


EMPTY = SVG.format("").encode()


def refused(body: Any) -> tuple[str, str | None]:
    with pytest.raises(InputError) as found:
        make(body)
    return str(found.value), found.value.about


@pytest.mark.parametrize(
    ("changes", "about", "said"),
    [
        ({"market": "mars"}, "label.market", "The market must be one of these: eu, gb, us."),
        ({"languages": []}, "label.languages", "from 1 to 6 languages"),
        ({"languages": ["en"] * 2}, "label.languages", "Choose each language once."),
        ({"languages": ["xx"]}, "label.languages", "no statements in the language “xx”"),
        ({"languages": [7]}, "label.languages", "no statements in the language “7”"),
        ({"shape": "star"}, "label.shape", "round, rect"),
        ({"width_mm": "50"}, "label.width_mm", "The width must be a number."),
        ({"width_mm": 9.9}, "label.width_mm", "from 10 to 420"),
        ({"width_mm": True}, "label.width_mm", "must be a number"),
        ({"height_mm": float("nan")}, "label.height_mm", "must be a finite number"),
        ({"height_mm": 1e300}, "label.height_mm", "far too large"),
        ({"shape": "round"}, "label.height_mm", "give its diameter twice"),
        ({"where": "moon"}, "label.where", "wall, base, lid, box, tag"),
        ({"package": {"volume_ml": 0}}, "label.package.volume_ml", "What the vessel holds"),
        ({"package": {"panel_mm2": -1}}, "label.package.panel_mm2", "The panel"),
        ({"product": "Wet slate"}, "label.product", "can't be read"),
        ({"product": {"en": 5}}, "label.product.en", "must be text"),
        ({"product": {"en": "x" * 121}}, "label.product.en", "longer than 120 letters"),
        ({"own": {"de": "x" * 2001}}, "label.own.de", "longer than 2000 letters"),
        ({"maker__address": "3 Salt Lane"}, "label.maker.address", "up to six lines"),
        ({"maker__name": "x" * 121}, "label.maker.name", "longer than 120"),
        ({"batch": "ключ"}, "label.batch", "plain letters, digits and signs"),
        ({"batch": 7}, "label.batch", "must be text"),
        ({"code": "dots"}, "label.code", "qr, code128, none"),
        ({"net": {"g": 120, "unit": "g"}}, "label.net.g", "written as text"),
        ({"net": {"g": "much", "unit": "g"}}, "label.net.g", "must be a number"),
        ({"net": {"g": "0", "unit": "g"}}, "label.net.g", "from above 0"),
        ({"net": {"g": "120", "unit": "oz"}}, "label.net.unit", "choose grams"),
        ({"burns_h": -2}, "label.burns_h", "The burning time must be from 0.5 to 1000."),
        ({"hazard__h": ["danger"]}, "label.hazard.h", "“danger” is no code of a statement"),
        ({"hazard__p": "P501"}, "label.hazard.p", "is a list"),
        ({"hazard__pictograms": ["GHS10"]}, "label.hazard.pictograms", "GHS01"),
        ({"hazard__signal_word": "Look out"}, "label.hazard.signal_word", "Warning, Danger"),
        ({"hazard__undecided": 0.5}, "label.hazard.undecided", "whole number"),
        ({"hazard__names": [None]}, "label.hazard.names", "must be text"),
        ({"hazard": []}, "label.hazard", "can't be read"),
        ({"cautions": "none"}, "label.cautions", "symbols, words, both"),
        ({"ink": "black"}, "label.ink", "A colour is written like #1a2b3c."),
        ({"paper": None}, "label.paper", "A colour is written like"),
        ({"way": "hang"}, "label.way", "label, fold_out, tag, box"),
        ({"way": "tag", "second": {"width_mm": 5, "height_mm": 50}}, "label.second.width_mm", "10"),
        ({"product": {"en": "Wet 石 slate"}}, "label.product.en", "“石” (U+77F3)"),
        ({"own": {"en": "half \ud83d"}}, "label.own.en", "U+D83D"),
        ({"own": {"en": "\u202eturned"}}, "label.own.en", "U+202E"),
        ({"maker__name": "🕯 Candles"}, "label.maker.name", "U+1F56F"),
        ({"hazard__names": ["ﷺ"]}, "label.hazard.names", "U+FDFA"),
    ],
)  # fmt: skip
def test_of_the_label(changes: dict[str, Any], about: str, said: str) -> None:
    sentence, at = refused(asked(**changes))
    assert at == about
    assert said in sentence
    assert sentence.endswith(".")


@pytest.mark.parametrize(
    ("print_", "about", "said"),
    [
        ({"n": 0}, "print.n", "from 1 to 2000"),
        ({"n": 5000}, "print.n", "At most 2000 labels are made at once. Make the rest afterwards."),
        ({"n": 1.5}, "print.n", "whole number"),
        ({"piece": "second"}, "print.piece", "This label has no second piece."),
        ({"piece": "lid"}, "print.piece", "label, second"),
        ({"paper": {"way": "roll"}}, "print.paper.way", "one, sheet"),
        ({"bleed_mm": 11}, "print.bleed_mm", "from 0 to 10"),
        ({"paper": SHEET, "start": 25}, "print.start", "from 1 to 24"),
        ({"paper": SHEET | {"rows": 0}}, "print.paper.rows", "from 1 to 60"),
        ({"paper": SHEET | {"pitch_x_mm": 30}}, "print.paper.pitch_x_mm", "lie on each other"),
        ({"paper": SHEET | {"pitch_y_mm": 39.9}}, "print.paper.pitch_y_mm", "lie on each other"),
        ({"paper": SHEET, "bleed_mm": 7}, "print.paper.pitch_y_mm", "47 mm with its bleed"),
        ({"paper": SHEET | {"left_mm": 60}}, "print.paper.left_mm", "from 60 to 247 mm across"),
        ({"paper": SHEET | {"top_mm": 30}}, "print.paper.top_mm", "the paper has 297 mm"),
        ({"paper": SHEET | {"nudge_x_mm": -9}}, "print.paper.left_mm", "from -1 to"),
        ({"paper": SHEET | {"nudge_y_mm": 21}}, "print.paper.nudge_y_mm", "from -20 to 20"),
        ({"paper": {"way": "sheet"}}, "print.paper.width_mm", "must be a number"),
    ],
)
def test_of_the_print(print_: dict[str, Any], about: str, said: str) -> None:
    small = {"width_mm": 40, "height_mm": 40, "hazard": None, "languages": ["en"], "code": "none"}
    sentence, at = refused(asked(ONE | print_, **small))
    assert at == about
    assert said in sentence


@pytest.mark.parametrize("body", [{}, {"label": None}, {"label": []}, {"label": "x"}])
def test_of_the_body(body: dict[str, Any]) -> None:
    assert refused(body) == ("The label is missing, or can't be read.", "label")


def test_what_does_not_fit_is_not_printed_but_its_ruler_is() -> None:
    sentence, about = refused(asked(ONE, width_mm=30, height_mm=30))
    assert about == "print"
    assert "is not printed" in sentence
    assert made(ONE | {"ruler": True}, width_mm=30, height_mm=30)["pages"] == 1


# ---- logos -------------------------------------------------------------------------------------


def logo(data: bytes, kind: str = "image/svg+xml") -> dict[str, str]:
    return {"type": kind, "base64": base64.b64encode(data).decode()}


def png(width: int, height: int) -> bytes:
    def chunk(name: bytes, data: bytes) -> bytes:
        body = name + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    row = b"\0" + b"\x22\x33\x3b" * width
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
        + chunk(b"IDAT", zlib.compress(row * height))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(
    ("inside", "said"),
    [
        ("<script>alert(1)</script>", "holds a script"),
        ("<s:script xmlns:s='http://www.w3.org/1999/xhtml'/>", "holds a script"),
        ("<rect onclick='a()'/>", "holds a script"),
        ("<rect ONLOAD='a()'/>", "holds a script"),
        ("<foreignObject/>", "a foreign object"),
        ("<use href='#a'/>", "“use”"),
        ("<image href='https://example.org/a.png'/>", "“image”"),
        ("<animate/>", "“animate”"),
        ("<text>Salt Lane</text>", "letters as text"),
        ("<linearGradient href='other.svg#a'/>", "refers to other files"),
        ("<rect fill='url(https://example.org/a)'/>", "refers to other files"),
        ("<rect style='fill:url( //example.org/a)'/>", "refers to other files"),
        ("<style>@import 'a.css';</style>", "refers to other files"),
        ("<style>rect{fill:url(a.png)}</style>", "refers to other files"),
        ("<rect/>" * 5001, "more than 5000 shapes"),
        ("<rect>", "is no SVG"),
    ],
)
def test_an_svg_that_does_more_than_draw_is_refused(inside: str, said: str) -> None:
    with pytest.raises(InputError) as found:
        read_logo(logo(SVG.format(inside).encode()))
    assert said in str(found.value)
    assert found.value.about == "label.logo"


@pytest.mark.parametrize(
    ("data", "kind", "said"),
    [
        (b'<!DOCTYPE svg [<!ENTITY a "b">]>' + EMPTY, "image/svg+xml", "entities"),
        (b'<?xml-stylesheet href="a"?>' + SVG.format("").encode(), "image/svg+xml", "instruct"),
        (b"<html/>", "image/svg+xml", "is no SVG"),
        (b"\xff\xfe\x00", "image/svg+xml", "is no SVG"),
        (b'<svg xmlns="http://www.w3.org/2000/svg"/>', "image/svg+xml", "how large it is"),
        (SVG.replace("20 10", "9000 1").format("").encode(), "image/svg+xml", "far too long"),
        (b"GIF89a", "image/png", "is no PNG"),
        (png(4001, 1), "image/png", "4001 by 1 dots"),
        (png(2, 2), "image/gif", "neither PNG nor SVG"),
        (b"x" * 300_001, "image/png", "more than 300 kB"),
        (b"x" * 40_000_000, "image/png", "more than 300 kB"),
    ],
)  # fmt: skip
def test_what_is_no_logo_is_refused(data: bytes, kind: str, said: str) -> None:
    with pytest.raises(InputError) as found:
        read_logo(logo(data, kind))
    assert said in str(found.value)


@pytest.mark.parametrize("value", [7, {}, {"type": "image/png", "base64": 7}])
def test_what_is_no_file_is_refused(value: Any) -> None:
    with pytest.raises(InputError, match="Choose a PNG or SVG file"):
        read_logo(value)


@pytest.mark.parametrize(
    "data",
    [
        png(30, 20)[:-30],
        png(30, 20)[:-1],
        png(30, 20).replace(b"IDAT", b"IDAX"),
        png(30, 20)[:45] + b"\xff" + png(30, 20)[46:],
    ],
)
def test_a_png_that_is_damaged_is_refused(data: bytes) -> None:
    sentence, about = refused(asked(logo=logo(data, "image/png")))
    assert sentence == "The logo breaks off. Save it anew, as PNG or SVG."
    assert about == "label.logo"


@pytest.mark.parametrize(
    ("data", "kind", "ratio"),
    [
        (png(30, 20), "image/png", 1.5),
        (SVG.format("<g><path d='M0 0L9 9'/></g>").encode(), "image/svg+xml", 2),
        (
            b'<svg xmlns="http://www.w3.org/2000/svg" width="3cm" height="20mm"><rect/></svg>',
            "image/svg+xml",
            1.5,
        ),
    ],
)
def test_a_logo_is_drawn(data: bytes, kind: str, ratio: float) -> None:
    assert read_logo(logo(data, kind)).ratio == pytest.approx(ratio)
    report = made(logo=logo(data, kind))["report"]
    assert "logo" in [part["part"] for part in report["pieces"][0]["parts"]]
