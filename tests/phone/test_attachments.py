"""Photos and papers: taken with no signal, shown at once, sent once, seen elsewhere, let go of
and fetched again.

The photo says where it was taken, and lies on its side as a phone's camera writes it.
"""

import io
import json
import re
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import Browser, Locator, Page, Route, expect

from tests.browser import PHONE
from tests.in_page import ask
from tests.phone.maker import at, kept, new_code, say_why, slot, start, tap, title
from tests.phone.test_lost_and_found import Room
from tests.phone.test_two_phones import Phone
from tests.waits import resting, until, until_in_page

POUR = "demo-pour-1"
WAITS_FOR_NOTHING = """async () => {
  const { waiting, sendNow } = await import('/static/attachments/sending.js');
  const { waiting: left } = await waiting();
  if (left.length > 0) await sendNow();
  return (await waiting()).waiting.length === 0;
}"""
BYTES = """async (sha256) => {
  const { bytesHere } = await import('/static/attachments/bytes.js');
  const data = await bytesHere(sha256);
  return data ? Array.from(new Uint8Array(data)) : null;
}"""


def photo(path: Path) -> Path:
    """3000 × 2000 as it lies, its upper left corner red; to be turned a quarter to the right."""
    picture = Image.effect_noise((3000, 2000), 40).convert("RGB")
    picture.paste((255, 0, 0), (0, 0, 600, 400))
    exif = Image.Exif()
    exif[0x0112] = 6  # Orientation: the top of the scene is at the right of the picture
    exif[0x010F] = "Lantern Optics"
    gps = exif.get_ifd(0x8825)
    gps[1], gps[2], gps[3], gps[4] = "N", (38.0, 42.0, 49.0), "W", (9.0, 8.0, 21.0)
    picture.save(path, "JPEG", quality=90, exif=exif)
    with Image.open(path) as written:
        assert dict(written.getexif().get_ifd(0x8825))[2] == (38.0, 42.0, 49.0)
    assert b"Lantern Optics" in path.read_bytes()
    return path


def add(page: Page, *files: Path) -> None:
    """Choose files, as the camera or the chooser hands them over."""
    chosen = page.locator("bench-attachments input:not([capture])")
    chosen.set_input_files([str(file) for file in files])


def thumbs(page: Page) -> Locator:
    return page.locator("bench-attachments > .photos .thumb")


def large(page: Page) -> Locator:
    return page.locator("dialog.large")


def attachments(page: Page) -> list[dict[str, Any]]:
    """The records of attachments: id, and what stands in each field."""
    return [
        {"id": each["id"]} | {name: field["value"] for name, field in each["fields"].items()}
        for each in kept(page)["records"]
        if each["kind"] == "attachment"
    ]


def is_drawn(picture: Locator) -> None:
    """Wait until the browser has drawn it."""
    expect(picture).to_be_visible()
    expect(picture).to_have_js_property("complete", True)
    assert picture.evaluate("picture => picture.naturalWidth") > 0


def test_a_photo_taken_with_no_signal_is_shown_sent_seen_let_go_of_and_fetched(  # noqa: PLR0915
    server: Any, browser: Browser, phones: list[Phone], tmp_path: Path
) -> None:
    bench = server(demo=True)
    port = int(bench.url.rstrip("/").rsplit(":", 1)[1])
    for name in ("Shed phone", "Desk phone"):
        phones.append(Phone(browser, bench.url, new_code(bench.data), name))
    shed, desk = (phone.page for phone in phones)
    tops = photo(tmp_path / "IMG_2041.jpg")

    # The server is down: the photo is shown at once, and after a reload.
    at(shed, bench.url, f"entry/{POUR}")
    expect(shed.get_by_role("button", name="Take a photo")).to_be_visible()
    bench.stop()
    shed.locator("bench-attachments input[capture]").set_input_files(str(tops))
    expect(thumbs(shed)).to_have_count(1)
    is_drawn(thumbs(shed).locator("img"))
    shed.reload()
    expect(thumbs(shed)).to_have_text(re.compile("^The tops"))
    is_drawn(thumbs(shed).locator("img"))

    # What is kept is small, upright, and tells nothing of where it was taken.
    [record] = attachments(shed)
    assert (record["width"], record["height"], record["type"]) == (1067, 1600, "image/jpeg")
    content = bytes(ask(shed, BYTES, record["sha256"]))
    assert len(content) == record["bytes"]
    for each in (b"Exif", b"Lantern", b"GPS", b"http"):
        assert each not in content
    picture = Image.open(io.BytesIO(content))
    assert picture.size == (1067, 1600)
    assert dict(picture.getexif()) == {}
    # A colour profile is the browser's own.
    jfif = {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert picture.info.keys() <= {*jfif, "icc_profile"}
    red, green, _ = picture.getpixel((1000, 60))
    assert red > 200
    assert green < 60
    assert max(picture.getpixel((60, 60))) - min(picture.getpixel((60, 60))) < 40

    # The same photo from the other phone, which has not heard of it, is the same record.
    at(desk, bench.url, f"entry/{POUR}")
    add(desk, tops)
    expect(thumbs(desk)).to_have_count(1)
    assert [each["id"] for each in attachments(desk)] == [record["id"]]
    add(desk, tops)
    expect(desk.locator("#said")).to_have_text("It was here already.")

    bench = server(demo=True, port=port, data=bench.data)
    for phone in phones:
        phone.settle()
        until_in_page(phone.page, WAITS_FOR_NOTHING)
    assert len(list((bench.data / "attachments").rglob(record["sha256"]))) == 1

    # A third phone sees it small with no signal, and large with one.
    third = Phone(browser, bench.url, new_code(bench.data), "Third phone")
    phones.append(third)
    at(third.page, bench.url, f"entry/{POUR}")
    expect(thumbs(third.page)).to_have_text(re.compile("on the server$"))
    is_drawn(thumbs(third.page).locator("img"))
    third.offline(True)
    thumbs(third.page).tap()
    expect(slot_of(third.page, "told")).to_contain_text("there is no signal")
    tap(third.page, "Back")
    third.offline(False)
    opened_large(third.page)
    assert bytes(ask(third.page, BYTES, record["sha256"])) == content

    # It now shows something else, which all hear.
    large(third.page).locator("select").select_option("Something else")
    tap(third.page, "Back")
    third.settle()
    phones[0].settle()
    expect(thumbs(shed)).to_have_text(re.compile("^Something else"))

    # The first phone keeps the newest, and lets go of the photo.
    papers = [tmp_path / f"receipt {number}.pdf" for number in range(20)]
    for number, paper in enumerate(papers):
        paper.write_bytes(b"%%PDF-1.7\n%%%d" % number)
    add(shed, *papers)
    expect(thumbs(shed)).to_have_count(21)
    phones[0].settle()
    until_in_page(shed, WAITS_FOR_NOTHING)
    at(shed, bench.url, "storage")
    expect(slot(shed, "facts")).to_contain_text("21 photos and papers")
    slot(shed, "let_go").tap()
    expect(slot(shed, "said")).to_contain_text("1 was let go of")
    assert ask(shed, BYTES, record["sha256"]) is None
    at(shed, bench.url, f"entry/{POUR}")
    expect(thumbs(shed).last).to_have_text(re.compile("on the server$"))
    thumbs(shed).last.tap()
    is_large(shed)
    assert bytes(ask(shed, BYTES, record["sha256"])) == content

    # Deleted, and brought back.
    slot_of(shed, "remove").tap()
    expect(slot_of(shed, "remove")).to_have_text("Really delete it?")
    slot_of(shed, "remove").tap()
    # The pour belongs to a product's file.
    say_why(shed, "it shows nothing")
    expect(large(shed)).to_have_count(0)
    expect(thumbs(shed)).to_have_count(20)
    shed.locator("bench-attachments summary").tap()
    tap(shed, "Bring it back")
    expect(thumbs(shed)).to_have_count(21)

    for phone in phones:
        phone.settle()
    for phone in phones:
        phone.settle()
    states = [phone.state() for phone in phones]
    assert states[0] == states[1] == states[2]


def slot_of(page: Page, name: str) -> Locator:
    return large(page).locator(f"[data-slot={name}]")


def opened_large(page: Page) -> None:
    thumbs(page).tap()
    is_large(page)


def is_large(page: Page) -> None:
    expect(slot_of(page, "told")).to_have_text("")
    expect(slot_of(page, "picture")).to_have_js_property("naturalWidth", 1067)


def test_a_file_that_can_not_be_kept_is_told_in_a_sentence_and_the_rest_is_kept(
    server: Any, phone: Page, tmp_path: Path
) -> None:
    bench = server(demo=True)
    at(phone, bench.url, "lot/demo-lot-dune-1")
    script = tmp_path / "photo.jpg"
    script.write_text("<script>alert(1)</script>", encoding="utf-8")
    half = tmp_path / "half.jpg"
    half.write_bytes(photo(tmp_path / "whole.jpg").read_bytes()[:3000])
    huge = tmp_path / "huge.pdf"
    with huge.open("wb") as file:
        file.write(b"%PDF-1.7\n")
        file.truncate(500_000_000)
    good = tmp_path / "certificate.pdf"
    good.write_bytes(b"%PDF-1.7\ncertificate")
    add(phone, script, half, huge, good)
    problem = phone.locator("bench-attachments [role=alert]")
    expect(problem).to_contain_text("“photo.jpg” is no photo and no PDF")
    expect(problem).to_contain_text("“half.jpg” can't be read")
    expect(problem).to_contain_text("“huge.pdf” has 500 MB, and a PDF that is kept may have 20 MB")
    expect(thumbs(phone)).to_have_count(1)
    expect(thumbs(phone)).to_contain_text("A certificate")
    [record] = attachments(phone)
    assert record["of"] == ["lot", "demo-lot-dune-1"]


def test_what_breaks_off_goes_on_where_it_was(
    server: Any, browser: Browser, phones: list[Phone], tmp_path: Path
) -> None:
    bench = server(demo=True)
    phones.append(Phone(browser, bench.url, new_code(bench.data), "Shed phone"))
    [shed] = phones
    begins: list[int] = []
    broken: list[int] = []

    def pass_on(route: Route) -> None:
        at_ = int(re.search(r"at=(\d+)", route.request.url)[1])  # type: ignore[index]
        # Once: it tries again by itself, whenever it finds the time.
        if not broken and at_ > 0:
            broken.append(at_)
            route.abort()
        else:
            begins.append(at_)
            route.continue_()

    shed.context.route(re.compile(r"/api/attachments/[0-9a-f]{64}\?"), pass_on)
    paper = tmp_path / "certificate.pdf"
    paper.write_bytes(b"%PDF-1.7\n" + bytes(600_000))
    at(shed.page, bench.url, "lot/demo-lot-dune-1")
    add(shed.page, paper)
    expect(thumbs(shed.page)).to_have_count(1)
    shed.settle()
    until(lambda: broken == [262_144], pause=resting(shed.page))
    until_in_page(shed.page, WAITS_FOR_NOTHING)
    # A shorter piece, from where it broke off.
    assert begins[:3] == [0, 262_144, 262_144 + 131_072]
    [record] = attachments(shed.page)
    assert list((bench.data / "attachments").rglob(record["sha256"]))


def test_a_copy_carries_them_to_a_phone_that_has_none(
    server: Any, phone: Page, browser: Browser, tmp_path: Path
) -> None:
    bench = server(demo=True)
    at(phone, bench.url, "lot/demo-lot-dune-1")
    papers = [tmp_path / f"paper {number}.pdf" for number in range(3)]
    for number, paper in enumerate(papers):
        paper.write_bytes(b"%%PDF-1.7\n%d\n" % number + bytes(100_000))
    add(phone, *papers)
    expect(thumbs(phone)).to_have_count(3)
    at(phone, bench.url, "copies")
    expect(slot(phone, "with_text")).to_have_text("With 3 photos and papers (301\u00a0kB)")
    expect(slot(phone, "left_out")).to_be_hidden()
    with phone.expect_download() as saved:
        tap(phone, "Save a copy of everything")
    file = tmp_path / "copy.json"
    saved.value.save_as(file)
    copy = json.loads(file.read_text(encoding="utf-8"))
    assert len(copy["attachments"]) == 3
    # Without them it says what it holds as well.
    slot(phone, "with").uncheck()
    with phone.expect_download() as saved:
        tap(phone, "Save a copy of everything")
    saved.value.save_as(tmp_path / "small.json")
    small = json.loads((tmp_path / "small.json").read_text(encoding="utf-8"))
    assert "attachments" not in small
    assert len(small["records"]) == len(copy["records"])

    # One of them was spoilt on the way: the rest comes in.
    copy["attachments"][0]["base64"] = "JVBERi0xLjcK"
    file.write_text(json.dumps(copy), encoding="utf-8")
    context = browser.new_context(**PHONE)
    other = context.new_page()
    at(other, bench.url, "copies")
    slot(other, "file").set_input_files(str(file))
    expect(slot(other, "holds")).to_contain_text("Photos and papers in full: 3")
    tap(other, "Bring it in")
    expect(slot(other, "said")).to_contain_text("1 photo or paper can’t be read.")
    at(other, bench.url, "lot/demo-lot-dune-1")
    expect(thumbs(other)).to_have_count(3)
    here = [each for each in attachments(other) if ask(other, BYTES, each["sha256"]) is not None]
    assert len(here) == 2
    # Of the third it says where it is to be had.
    thumbs(other).filter(has_text="on the server").tap()
    expect(slot_of(other, "told")).to_contain_text("look on the phone that took it")
    context.close()


def test_tops_are_photographed_where_they_are_looked_at(
    server: Any, phone: Page, tmp_path: Path
) -> None:
    bench = server(demo=True)
    pour = start(phone, bench.url, count="2")
    phone.evaluate(
        """async (id) => {
          const store = await import('/static/records/store.js');
          await store.append('pour', id, { type: 'set', on: '2026-11-20', at: Date.now() });
        }""",
        pour,
    )
    # The board leaves for Today by itself.
    expect(title(phone)).to_have_text("Today")
    at(phone, bench.url, f"trim/{pour}")
    add(phone, photo(tmp_path / "tops.jpg"))
    expect(thumbs(phone)).to_have_text(re.compile("^The tops"))
    [record] = attachments(phone)
    assert (record["of"], record["what"]) == (["pour", pour], "top")
    # And the batch is put away.
    tap(phone, "Put away to cure")
    expect(phone.locator("body[data-screen=entry]")).to_be_visible()
    expect(thumbs(phone)).to_have_count(1)


def test_a_full_phone_says_so_and_keeps_nothing_by_halves(
    server: Any, phone: Page, tmp_path: Path
) -> None:
    bench = server(demo=True)
    room = Room(phone, bench.url)
    at(phone, bench.url, f"entry/{POUR}")
    paper = tmp_path / "sheet.pdf"
    paper.write_bytes(b"%PDF-1.7\n" + bytes(3_000_000))
    expect(phone.get_by_role("button", name="Take a photo")).to_be_visible()
    room.fill_up()
    add(phone, paper)
    problem = phone.locator("bench-attachments [role=alert]")
    expect(problem).to_contain_text("The phone has no room left")
    expect(thumbs(phone)).to_have_count(0)
    assert attachments(phone) == []
    room.free()
    add(phone, paper)
    expect(thumbs(phone)).to_have_count(1)
    expect(problem).to_be_hidden()
