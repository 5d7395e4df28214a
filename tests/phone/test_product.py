"""A product from its questions to its file, a complaint by the code on the candle, and deleting
what belongs to the file: in the invented workshop, whose server makes the file."""

import hashlib
import io
import json
import re
import zipfile
from pathlib import Path
from typing import Any

import pdfplumber
import pytest
from playwright.sync_api import Download, Locator, Page, expect

from tests.phone.maker import at, fill, kept, remove, say_why, slot, tap, title

PRODUCT = "product/demo-product-slate"

CODE = """async () => {
  const { codeOf } = await import('/static/shelf/batches.js');
  const { readPour } = await import('/static/bench/pours.js');
  return codeOf(await readPour('demo-pour-1'));
}"""


@pytest.fixture
def desk(server: Any, phone: Page, open_ready: Any) -> Any:
    bench = server(demo=True)
    open_ready(phone, bench.url)
    return bench


def error_of(page: Page, field: str) -> Locator:
    return page.locator(f'[data-field="{field}"] [data-error]')


def opened(download: Download, into: Path) -> tuple[str, dict[str, bytes]]:
    """The words of the paper, and all files of the folder by their names."""
    path = into / download.suggested_filename
    download.save_as(path)
    with zipfile.ZipFile(path) as bundle:
        assert bundle.testzip() is None
        files = {name.split("/", 1)[1]: bundle.read(name) for name in bundle.namelist()}
    for line in files["MANIFEST.sha256"].decode().splitlines():
        told, name = line.split("  ")
        assert hashlib.sha256(files[name]).hexdigest() == told
    with pdfplumber.open(io.BytesIO(files["file.pdf"])) as document:
        text = " ".join(page.extract_text() for page in document.pages)
    return re.sub(r"\s+", " ", text), files


def answer_a_question(page: Page, before: int) -> None:
    # She answers a question: never without what was done about it.
    page.locator(".card", has_text="Can the vessel crack").tap()
    expect(title(page)).to_have_text("Can the vessel crack, shatter or leak?")
    fill(page, applies="yes", how="By a draught from one side.")
    slot(page, "save").tap()
    expect(error_of(page, "done")).to_have_text("What you did about it is needed.")
    # What she typed is there when she comes back from the test that may show it.
    shown = slot(page, "shown").locator("li").first
    shown.get_by_role("link").tap()
    expect(page.locator("body[data-screen=test]")).to_be_visible()
    page.go_back()
    expect(page.locator('[data-field="how"] textarea')).to_have_value("By a draught from one side.")
    fill(page, done="A tin in place of glass.")
    slot(page, "shown").get_by_role("button", name="Name it above").first.tap()
    expect(page.locator('[data-field="shows"] textarea')).to_have_value(re.compile("Burn test"))
    slot(page, "save").tap()
    # Then comes the next that is open.
    expect(title(page)).to_have_text(re.compile("^Can anything else in it catch fire"))
    page.locator("a.back").tap()
    expect(slot(page, "said")).to_contain_text(f"{before - 1} things are missing")
    [stored] = [each for each in kept(page)["records"] if each["id"] == "demo-product-slate"]
    answer = stored["fields"]["risk_cracks"]["value"]
    assert answer["applies"] == "yes"
    assert answer["done"] == "A tin in place of glass."


def complain(page: Page) -> str:
    """Somebody was hurt; the code of the candle."""
    # Somebody complains: the code is checked where it is typed.
    code = page.evaluate(CODE)
    slot(page, "complain").tap()
    wrong = code[:-1] + ("2" if code[-1] != "2" else "3")
    fill(page, what="The flame grew **tall** and burned a finger.", harm="somebody was hurt")
    fill(page, code=wrong)
    slot(page, "save").tap()
    expect(error_of(page, "code")).to_contain_text("is not a batch code")
    fill(page, code=code.lower().replace("-", " "))
    slot(page, "save").tap()
    expect(title(page)).to_have_text(re.compile("^The flame grew"))
    expect(slot(page, "cautions")).to_contain_text("without undue delay")
    batch = slot(page, "batches")
    expect(batch.locator(".card")).to_contain_text(code)
    expect(batch.get_by_role("link", name="The other candles of this batch")).to_have_attribute(
        "href", f"#/candle/{code}"
    )
    expect(batch.get_by_role("link", name="Recall this batch")).to_have_attribute(
        "href", "#/recall/new/pour/demo-pour-1"
    )
    fill(page, what="I reported it")
    slot(page, "tell").tap()
    expect(error_of(page, "to")).to_have_text("To whom is needed.")
    fill(page, to="the market authority", on="2026-11-20", also="By telephone.")
    slot(page, "tell").tap()
    expect(slot(page, "happened")).to_contain_text("Reported to the market authority")
    expect(slot(page, "cautions")).not_to_contain_text("undue delay")
    return str(code)


def delete_some(page: Page, url: str) -> None:
    # What belongs to the file is not deleted without saying why; what does not, is.
    at(page, url, "edit/safety_sheet/demo-sheet-dune")
    remove(page)
    asked = page.locator("dialog.ask")
    expect(asked).to_contain_text("It belongs to the file of Wet slate in a tin, which is kept")
    asked.get_by_role("button", name="Back").tap()
    expect(asked).to_have_count(0)
    expect(title(page)).to_have_text("Dune soft blend FF/D")
    slot(page, "remove").tap()
    say_why(page, "the supplier drew it back")
    expect(title(page)).to_have_text("Safety data sheets")
    slot(page, "deleted").tap()
    expect(slot(page, "cards")).to_contain_text("Deleted because: the supplier drew it back")
    at(page, url, "entry/demo-pour-1")
    remove(page)
    expect(asked).to_contain_text("It belongs to the file of Wet slate in a tin")
    asked.get_by_role("button", name="Delete it").tap()
    # The browser itself asks for the reason first.
    expect(asked).to_be_visible()
    asked.get_by_role("button", name="Back").tap()
    at(page, url, "edit/thermometer/demo-probe")
    remove(page)
    expect(title(page)).to_have_text("Thermometers")


def make_the_file(page: Page, code: str, into: Path) -> None:
    # The file says all of it, and what is missing.
    with page.expect_download() as told:
        tap(page, "Make the file")
    text, files = opened(told.value, into)
    for said in (
        *("Wet slate in a tin", "Salt Lane Candles", "What is missing for it to be complete"),
        *("Not answered: Can it smoke or soot?", "There is no safety data sheet of Dune"),
        *("A tin in place of glass.", "By a draught from one side.", "The highest flame was", code),
        *("The flame grew", "somebody was hurt", "Reported to the market authority"),
        *("the supplier drew it back", "flat cotton, 4", "QS 81-3", "GPSR Art. 9(3)"),
        "Its hazard class was not worked out.",
    ):
        assert said in text, said
    assert "Not answered: Can the vessel crack" not in text
    records = json.loads(files["records.json"])
    kinds = {each["kind"] for each in records["records"]}
    assert {"product", "recipe", "pour", "lot", "burn_test", "complaint", "maker"} <= kinds
    assert "buyer" not in kinds
    assert {each["of"][0] for each in records["events"]} >= {"pour", "burn_test", "complaint"}
    with page.expect_download() as told:
        tap(page, "PDF alone")
    told.value.save_as(into / "alone.pdf")
    assert (into / "alone.pdf").read_bytes().startswith(b"%PDF")


def test_a_product_from_its_questions_to_its_file(
    desk: Any, phone: Page, tmp_path: Path, page_errors: list[str]
) -> None:
    page = phone
    at(page, desk.url, "recipe/demo-recipe-slate")
    slot(page, "products").tap()
    page.locator(".card", has_text="Wet slate in a tin").tap()
    expect(title(page)).to_have_text("Wet slate in a tin")
    answer_a_question(page, int((slot(page, "said").text_content() or "").split()[0]))
    code = complain(page)
    delete_some(page, desk.url)
    at(page, desk.url, PRODUCT)
    make_the_file(page, code, tmp_path)
    # Without the server it says so, and nothing is lost.
    desk.stop()
    tap(page, "Make the file")
    expect(slot(page, "problem")).to_contain_text("The desk makes the file")
    # The browser itself logs what does not load.
    page_errors[:] = [each for each in page_errors if "Failed to load resource" not in each]
