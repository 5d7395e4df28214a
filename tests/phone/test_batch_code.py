"""A batch has a code, and is found by it, with the server stopped."""

import re

from playwright.sync_api import expect

from benchapp.formulas.batch_code import batch_code
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
    tap(phone, "Find by batch code")
    box = phone.get_by_label("Which batch code?")
    said = phone.locator("dialog .error")
    wrong = "X" if code[0] != "X" else "Y"
    for typed, answer in {
        code[:-1]: "A batch code has 8 letters and digits, and this has 7",
        wrong + code[1:]: "is not a batch code: a sign is wrong",
        batch_code(day, "another"): "No pour that is kept here has the code",
    }.items():
        box.fill(typed)
        tap(phone, "Find")
        expect(said).to_contain_text(answer)
        expect(box).to_have_value(typed)
    # As it is heard: small letters, no dash.
    box.fill(code.lower().replace("-", " "))
    tap(phone, "Find")
    expect(title(phone)).to_contain_text("Wet slate")
    assert phone.url.endswith("#/entry/demo-pour-1")
