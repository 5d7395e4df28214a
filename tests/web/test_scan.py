"""Codes in photos: what is in them, what is no photo, and on the wire."""

import base64
import random
import sys
import zlib

import pytest
from PIL import Image

from benchapp.web import scan
from benchapp.web.errors import Refused
from benchapp.web.scan import codes_in
from tests.coded import code_128, on_a_table, qr, written
from tests.web.caller import Caller

CODE = "4RJ9-989V"


@pytest.mark.parametrize("make", [qr, code_128])
@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
@pytest.mark.parametrize("turned", [0, 4, 90])
def test_a_code_in_a_photo_is_read(make, kind, turned):
    assert codes_in(written(on_a_table(make(CODE), turned), kind)) == [CODE]


def test_all_of_several_are_told():
    photo = on_a_table(qr(CODE))
    photo.paste(code_128("lot 7"), (850, 600))
    assert codes_in(written(photo)) == [CODE, "lot 7"]


def test_a_picture_without_a_code_has_none():
    assert codes_in(written(on_a_table(Image.new("RGB", (60, 60))))) == []
    noise = random.Random(4).randbytes(300 * 300)
    assert codes_in(written(Image.frombytes("L", (300, 300), noise))) == []


def test_a_picture_in_any_mode_is_read():
    for mode in ("1", "L", "P", "RGBA", "CMYK", "I;16"):
        image = qr(CODE).convert("L" if mode == "I;16" else mode)
        if mode == "I;16":
            deep = b"".join(bytes([each, each]) for each in image.tobytes())
            image = Image.frombytes("I;16", image.size, deep)
        kind = "JPEG" if mode == "CMYK" else "PNG"
        assert codes_in(written(image, kind)) == [CODE], mode


def test_a_server_without_a_reader_of_codes_says_so(monkeypatch):
    monkeypatch.setitem(sys.modules, "zxingcpp", None)
    with pytest.raises(Refused, match="type the code") as refused:
        codes_in(written(qr(CODE)))
    assert refused.value.status == 501


# ---- what is no picture ------------------------------------------------------------------------


def png_of_nothing(wide: int, high: int) -> bytes:
    """A small file that says that it is a large picture."""

    def chunk(name: bytes, content: bytes) -> bytes:
        check = zlib.crc32(name + content).to_bytes(4)
        return len(content).to_bytes(4) + name + content + check

    head = wide.to_bytes(4) + high.to_bytes(4) + bytes([8, 0, 0, 0, 0])
    row = zlib.compress(bytes(wide + 1) * min(high, 10))
    parts = chunk(b"IHDR", head) + chunk(b"IDAT", row) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + parts


@pytest.mark.parametrize(("wide", "high"), [(2001, 2000), (12_000, 12_000), (65_000, 65_000)])
@pytest.mark.filterwarnings("ignore::PIL.Image.DecompressionBombWarning")
def test_a_picture_that_unpacks_to_too_much_is_not_unpacked(monkeypatch, wide, high):
    monkeypatch.setattr(Image.Image, "convert", lambda *_: pytest.fail("it was unpacked"))
    with pytest.raises(Refused):
        codes_in(png_of_nothing(wide, high))


def test_one_that_holds_less_than_it_says_has_no_code():
    assert codes_in(png_of_nothing(1000, 1000)) == []


def test_other_files_are_no_pictures():
    svg = b'<svg xmlns="http://www.w3.org/2000/svg"/>'
    for content in (b"\0", b"GIF89a", svg, written(qr(CODE), "GIF"), written(qr(CODE), "BMP")):
        with pytest.raises(Refused, match="no picture"):
            codes_in(content)


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_a_damaged_picture_is_read_or_refused(kind):
    """A thousand files with a few wrong bytes, or cut short."""
    whole = written(qr(CODE, scale=2), kind)
    chance = random.Random(11)
    refused = 0
    for _ in range(1000):
        damaged = bytearray(whole)
        for _ in range(chance.choice([1, 3, 20])):
            damaged[chance.randrange(len(damaged))] = chance.randrange(256)
        cut = damaged[: chance.choice([len(damaged), chance.randrange(len(damaged))])]
        try:
            assert codes_in(bytes(cut)) in ([], [CODE])
        except Refused:
            refused += 1
    assert 100 < refused < 1000


# ---- on the wire -------------------------------------------------------------------------------


def sent(caller: Caller, content: object):
    return caller.post("/api/desk/scan", {"image": content})


def in_text(content: bytes) -> str:
    return base64.b64encode(content).decode()


def test_a_phone_gets_the_codes(here):
    answered = sent(here, in_text(written(on_a_table(code_128(CODE)), "JPEG")))
    assert (answered.status, answered.json) == (200, {"codes": [CODE]})
    assert answered.headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (None, "takes a picture"),
        (7, "takes a picture"),
        ("", "takes a picture"),
        ("=!", "takes a picture"),
        ("ä", "takes a picture"),
        (in_text(b"no picture"), "no picture"),
        (in_text(png_of_nothing(60_000, 60_000)), "picture"),
    ],
)
def test_what_is_no_picture_is_refused_in_a_sentence(here, content, said):
    answered = sent(here, content)
    assert answered.status == 400
    assert said in answered.json["error"]


def test_only_a_paired_phones_own_page_may_ask(running, here):
    assert sent(running.caller(), in_text(written(qr(CODE)))).status == 401
    assert sent(Caller(running.url, dict(here.cookies)), in_text(written(qr(CODE)))).status == 400
    assert scan.MOST_PIXELS >= 1600 * 1600
