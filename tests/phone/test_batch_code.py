"""A batch has a code, and is found by it, with the server stopped."""

import re
from datetime import UTC, datetime

from playwright.sync_api import expect

from benchapp.formulas.batch_code import SIGNS, batch_code
from tests.coded import code_128, on_a_table, qr, written
from tests.phone.maker import at, kept, slot, tap, title


def test_a_batch_is_found_by_its_code(server, phone, open_ready):
    bench = server(demo=True)
    open_ready(phone, bench.url)
    at(phone, bench.url, "entry/demo-pour-1")
    bench.stop()
    (code,) = re.findall(r"Batch code\s*(\S{4}-\S{4})", slot(phone, "facts").inner_text())
    pour = next(each for each in kept(phone)["records"] if each["id"] == "demo-pour-1")
    day = phone.evaluate(
        "(ms) => new Date(ms).toISOString().slice(0, 10)", pour["fields"]["started_at"]["value"]
    )
    assert code == batch_code(day, "demo-pour-1")

    at(phone, bench.url, "log")
    box = phone.get_by_role("searchbox")
    said = slot(phone, "problem")
    cards = slot(phone, "cards").locator(".card")
    another = SIGNS[SIGNS.index(code[0]) - 1]
    for typed, answer, near in (
        (f"{code[1]}{code[0]}{code[2:]}", "is not a batch code: a sign is wrong", 1),
        (another + code[1:], "is not a batch code: a sign is wrong", 1),
        (code[:2] + code[3:], "A batch code has 8 letters and digits, and this has 7", 1),
        (batch_code(day, "another"), "No pour that is kept here has the code", 0),
    ):
        box.fill(typed)
        expect(said).to_contain_text(answer)
        expect(cards).to_have_count(near)
        expect(box).to_have_value(typed)
    # As it is read off, sign by sign or with one rubbed off, or heard: small letters, no dash.
    for typed in (code[:5], code[:6], code[1:], code.lower().replace("-", " ")):
        box.fill(typed)
        expect(said).to_be_hidden()
        expect(cards).to_have_count(1)
        expect(cards).to_contain_text("Wet slate")
    box.press("Enter")
    expect(title(phone)).to_contain_text("Wet slate")
    assert phone.url.endswith(f"#/candle/{code}")


SHOW = """() => {
  globalThis.BarcodeDetector = class {
    static getSupportedFormats = async () => ['code_128', 'ean_13', 'qr_code'];
    detect = async ({ width, height }) => {
      if (!(width > 0 && height > 0)) throw new TypeError('no picture');
      return globalThis.inPicture.map((rawValue) => ({ rawValue }));
    };
  };
}"""
"""A browser that reads codes by itself, and what it finds."""


def test_a_batch_is_found_in_a_photo_of_its_label(server, phone, open_ready, tmp_path, page_errors):
    """By the server where the browser can't read codes, as this one can't; by one that can with no
    signal."""
    bench = server(demo=True)
    open_ready(phone, bench.url)
    at(phone, bench.url, "entry/demo-pour-1")
    pour = next(each for each in kept(phone)["records"] if each["id"] == "demo-pour-1")
    begun = datetime.fromtimestamp(pour["fields"]["started_at"]["value"] / 1000, UTC)
    code = batch_code(begun.date(), "demo-pour-1")
    pictures = {
        "qr": written(on_a_table(qr(code), 4), "JPEG"),
        "bars": written(code_128(code)),
        "nothing": written(on_a_table(qr(code).resize((2, 2)))),
        "lot": written(qr("lot 4711")),
        "another": written(code_128(batch_code(begun.date(), "another"))),
        "text": b"no picture at all",
    }

    def scan(name: str) -> None:
        file = tmp_path / f"{name}.png"
        file.write_bytes(pictures[name])
        with phone.expect_file_chooser() as chosen:
            tap(phone, "Scan")
        chosen.value.set_files(file)

    def opened() -> None:
        expect(title(phone)).to_contain_text("Wet slate")
        assert phone.url.endswith(f"#/candle/{code}")
        at(phone, bench.url, "log")

    at(phone, bench.url, "log")
    for name in ("qr", "bars"):
        scan(name)
        opened()
    said = slot(phone, "problem")
    for name, answer in {
        "nothing": "There is no code in that picture.",
        "lot": "says “lot 4711”, which is no batch code",
        "another": "No pour that is kept here has the code",
        "text": "no picture that this phone can read",
    }.items():
        scan(name)
        expect(said).to_contain_text(answer)

    bench.stop()
    scan("qr")
    expect(said).to_contain_text("there is no signal: type the code")
    phone.evaluate(SHOW)
    phone.evaluate("globalThis.inPicture = []")
    scan("nothing")
    expect(said).to_contain_text("There is no code in that picture.")
    phone.evaluate("(code) => (globalThis.inPicture = ['lot 4711', code])", code)
    scan("qr")
    opened()
    page_errors.clear()  # the browser logs that no server answers
