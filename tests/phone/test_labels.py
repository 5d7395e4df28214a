"""From a supplier's sheet to a printed label, and from its code back to the pour: as a stranger
makes one in the invented workshop."""

import io
import re
from pathlib import Path

import pdfplumber
import pypdfium2
import pytest
import zxingcpp
from playwright.sync_api import Download, Page, expect

from tests.phone.maker import at, slot, tap

LABEL = "label/demo-label-slate/demo-pour-1"
MM = 72 / 25.4

#: What the demo's label leaves open in English and German, chosen.
CHOSEN = {
    "P261": ("Avoid breathing vapours.", "Einatmen von Dampf vermeiden."),
    "P280": ("Wear protective gloves.", "Schutzhandschuhe tragen."),
    "P302+P352": (
        "IF ON SKIN: Wash with plenty of water",
        "BEI BERÜHRUNG MIT DER HAUT: Mit viel Wasser waschen.",
    ),
    "P333+P313": (
        "If skin irritation or rash occurs: Get medical advice.",
        "Bei Hautreizung oder -ausschlag: Ärztlichen Rat einholen.",
    ),
    "P501": ("Dispose of contents to a collection point.", "Inhalt einer Sammelstelle zuführen."),
}


@pytest.fixture
def desk(server, phone, open_ready):
    bench = server(demo=True)
    open_ready(phone, bench.url)
    return bench


def lay_out(page: Page) -> None:
    expect(page.locator("#screen .screen[aria-busy]")).to_have_count(0)
    expect(slot(page, "report").locator("figure.piece").first).to_be_visible()


def report(page: Page):
    return slot(page, "report")


def test_a_stranger_makes_a_label_prints_it_and_finds_the_pour_by_its_code(
    desk, phone, tmp_path, page_errors
):
    page = phone
    at(page, desk.url, "hazard/demo-recipe-slate")
    tap(page, "Work it out")
    expect(slot(page, "found")).to_contain_text("H317")
    make(page, desk.url)
    code = slot(page, "facts").locator("dd b").text_content() or ""
    tag = print_both(page, tmp_path, code)
    made = page.url

    at(page, desk.url, "log")
    file = {"name": "tag.png", "mimeType": "image/png", "buffer": tag}
    page.locator("input[type=file]").set_input_files(files=[file])
    expect(page).to_have_url(re.compile(f"#/candle/{code}$"))

    desk.stop()
    page.goto(made)
    page.reload()
    expect(slot(page, "look").locator("figure img")).to_have_count(2)
    slot(page, "report").get_by_text("What stands on it").tap()
    expect(slot(page, "report")).to_contain_text("Kann allergische Hautreaktionen verursachen.")
    expect(slot(page, "report")).to_contain_text(CHOSEN["P501"][0])
    slot(page, "happened").evaluate("(list) => { list.closest('details').open = true; }")
    expect(slot(page, "happened")).to_contain_text("Printed on sheet of 24")
    # What needs the desk says so, and nothing is lost.
    tap(page, "Make the PDF")
    expect(slot(page, "problem")).to_contain_text("try again when it answers")
    at(page, desk.url, "hazard/demo-recipe-slate")
    expect(slot(page, "found")).to_contain_text("H317")
    page_errors.clear()  # the browser logs what it can't fetch


def make(page: Page, url: str) -> None:
    """Lay it out, be told that it does not fit, choose a tag, say what is open, and keep it."""
    at(page, url, LABEL)
    tap(page, "Lay it out")
    lay_out(page)
    expect(report(page)).to_contain_text("It does not fit.")
    expect(report(page).locator(".way", has_text="A larger label")).to_contain_text("mm")
    report(page).locator("[data-key=tag]").tap()
    expect(report(page).locator("figure.piece")).to_have_count(2)
    expect(report(page)).to_contain_text("All of it fits. It is not finished")
    expect(report(page)).to_contain_text("In German these leave something open: P261, P280")
    assert page.evaluate("document.querySelector('.screen').scrollWidth") <= 390
    fill_in_the_sentences(page)
    expect(report(page)).to_contain_text(CHOSEN["P501"][1])
    expect(report(page)).not_to_contain_text("leave something open")
    answer_all(page)
    expect(report(page)).to_contain_text("you have answered what the bench can't know")
    tap(page, "Keep it, to print")
    expect(slot(page, "facts")).to_contain_text("Batch code")


def print_both(page: Page, directory: Path, code: str) -> bytes:
    """A sheet of the label, measured, and a tag, whose code is read; a picture of the tag."""
    page.locator("[data-field=stock] select").select_option("demo-stock-24")
    page.locator("[data-field=n] input").fill("24")
    measure_the_sheet(saved(page, "Make the PDF", directory / "sheet.pdf"), code)
    tap(page, "All 24 are printed")
    expect(slot(page, "facts")).to_contain_text("Printed24")
    # The sheet is full: the next label is the first of the next one.
    expect(page.locator("[data-field=start] input")).to_have_value("1")
    page.locator("[data-field=piece] select").select_option("second")
    page.locator("[data-field=stock] select").select_option("")
    page.locator("[data-field=n] input").fill("1")
    picture = render(saved(page, "Make the PDF", directory / "tag.pdf"))
    [read] = zxingcpp.read_barcodes(picture)
    assert read.text == code
    shot = io.BytesIO()
    picture.save(shot, "PNG")
    return shot.getvalue()


def fill_in_the_sentences(page: Page) -> None:
    sentences = slot(page, "sentences")
    for code, texts in CHOSEN.items():
        boxes = sentences.locator(f'[data-code="{code}"] textarea')
        expect(boxes).to_have_count(2)
        for n, text in enumerate(texts):
            boxes.nth(n).fill(text)
    sentences.get_by_role("button", name="Save the sentences").tap()


def answer_all(page: Page) -> None:
    answers = report(page).get_by_role("button", name="Answer", exact=True)
    while left := answers.count():
        answers.first.tap()
        page.locator("dialog.ask input").fill("I looked it up.")
        tap(page, "Save")
        expect(answers).to_have_count(left - 1)


def saved(page: Page, button: str, path: Path) -> Path:
    with page.expect_download() as begun:
        tap(page, button)
    download: Download = begun.value
    download.save_as(path)
    return path


def measure_the_sheet(path: Path, code: str) -> None:
    """24 labels, each where the sheet's measures say, within 0.1 mm."""
    with pdfplumber.open(path) as pdf:
        [page] = pdf.pages
        assert abs(page.width - 210 * MM) < 0.1 * MM
        assert abs(page.height - 297 * MM) < 0.1 * MM
        words = page.extract_words()
        firsts = [word for word in words if word["text"] == "Wet"]
        assert len(firsts) == 24
        x, y = firsts[0]["x0"], firsts[0]["top"]
        for n, word in enumerate(firsts):
            row, column = divmod(n, 3)
            assert abs(word["x0"] - x - column * 66 * MM) < 0.1 * MM
            assert abs(word["top"] - y - row * 35 * MM) < 0.1 * MM
        assert 7 * MM < x < 12 * MM
        assert 9 * MM < y < 14 * MM
        assert (page.extract_text() or "").count(code) == 24


def render(path: Path):
    return pypdfium2.PdfDocument(path)[0].render(scale=4).to_pil()


def test_what_changes_under_a_made_label_is_said_and_changes_nothing_of_it(
    desk, phone, page_errors
):
    page = phone
    at(page, desk.url, "label/demo-label-slate")
    page.evaluate(
        """() => import('/static/records/store.js').then((store) => store.save('label',
          'demo-label-slate', { width_mm: 120, height_mm: 90 }))"""
    )
    expect(slot(page, "facts")).to_contain_text("120 × 90 mm")
    tap(page, "Lay it out")
    lay_out(page)
    expect(report(page)).to_contain_text("No hazard finding belongs to this label.")
    tap(page, "Keep it, to print")
    expect(slot(page, "gone").locator("p")).to_have_count(0)
    page.evaluate(
        """() => import('/static/records/store.js').then((store) => store.save('maker', 'maker',
          { telephone: '01632 960 199' }))"""
    )
    expect(slot(page, "gone")).to_contain_text("Since it was made, this has changed: your name")
    slot(page, "report").get_by_text("What stands on it").tap()
    expect(slot(page, "report")).to_contain_text("01632 960 177")
    expect(slot(page, "report")).not_to_contain_text("01632 960 199")

    # Bad input: a sentence beside the field, or above the buttons.
    page.locator("[data-field=n] input").fill("5000")
    tap(page, "Make the PDF")
    expect(page.locator("[data-field=n] .error")).to_contain_text("from 1 to 2000")
    page.locator("[data-field=n] input").fill("2")
    page.locator("[data-field=stock] select").select_option("demo-stock-24")
    tap(page, "Make the PDF")
    expect(page.locator("[data-field=stock] .error")).to_contain_text("lie on each other")
    page_errors.clear()  # the browser logs what the desk does not take


def test_a_logo_is_hers_and_nothing_that_runs(desk, phone, page_errors):
    page = phone
    at(page, desk.url, "label/demo-label-slate")
    script = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
    for name, kind, content, said in (
        ("logo.bmp", "image/bmp", b"BM", "A logo is a PNG or an SVG picture"),
        ("logo.png", "image/png", b"\x89PNG" + bytes(130_000), "larger than 120 kB"),
    ):
        slot(page, "file").set_input_files(
            files=[{"name": name, "mimeType": kind, "buffer": content}]
        )
        expect(slot(page, "problem")).to_contain_text(said)
    logo = {"name": "logo.svg", "mimeType": "image/svg+xml", "buffer": script}
    slot(page, "file").set_input_files(files=[logo])
    expect(slot(page, "logo_said")).to_have_text("Your logo stands on it.")
    tap(page, "Lay it out")
    expect(slot(page, "problem")).to_contain_text("script")
    tap(page, "Take the logo away")
    expect(slot(page, "logo_said")).to_have_text("It has no logo.")
    tap(page, "Lay it out")
    lay_out(page)
    page_errors.clear()  # the browser logs what the desk does not take


def test_a_new_label_begins_with_what_the_bench_knows(desk, phone):
    page = phone
    at(page, desk.url, "recipe/demo-recipe-plum")
    page.locator("#screen").get_by_role("link", name="Its labels").tap()
    expect(slot(page, "empty")).to_be_visible()
    page.get_by_role("link", name="New label").tap()
    form = slot(page, "form")
    expect(form.locator("[data-field=recipe] select")).to_have_value("demo-recipe-plum")
    # The tumbler was measured with a ruler: what it holds to its brim is reckoned.
    expect(form.locator("[data-field=holds_ml] input")).to_have_value("376 ml")
    # The recipe's name stands in for one that is not given.
    tap(page, "Save")
    expect(form.locator("[data-field=width_mm] .error")).to_be_visible()
    form.locator("[data-field=width_mm] input").fill("90")
    form.locator("[data-field=height_mm] input").fill("6 cm")
    tap(page, "Save")
    expect(slot(page, "facts")).to_contain_text("90 × 60 mm")
    expect(page.locator("#screen h1")).to_have_text("Plum & kelp")
    # What is not there yet is said, and leads on.
    expect(slot(page, "sources")).to_contain_text("Its hazard class was not worked out yet.")
    tap(page, "Lay it out")
    lay_out(page)
    expect(report(page)).to_contain_text("The batch is missing")
    expect(report(page)).to_contain_text("The net content is missing")


def test_two_logos_that_were_chosen_apart_are_not_spelt_out(desk, phone):
    page = phone
    page.evaluate(
        """async () => {
          const store = await import('/static/records/store.js');
          const logo = (letter) => ({ type: 'image/png', base64: letter.repeat(90_000) });
          await store.save('maker', 'maker', { logo: logo('A') });
          const apart = { logo: { value: logo('B'), stamp: '001760000000000.0000.other' } };
          await store.bringIn([{ kind: 'maker', id: 'maker', fields: apart }], []);
        }"""
    )
    at(page, desk.url, "history/maker/maker")
    expect(slot(page, "apart")).to_contain_text("Logo")
    expect(slot(page, "apart").locator(".card")).to_have_count(2)
    expect(slot(page, "apart")).to_contain_text("see the label’s page")
    expect(slot(page, "apart")).not_to_contain_text("AAAAAAAA")


#: What a batch's vessels of one kind weigh, as a finding keeps it: asked of (vessel, made at).
WEIGHED = """([vessel, made_at]) => import('/static/records/findings.js').then((desk) =>
  desk.keepFinding('net_finding', `of-${vessel}`, { name: 'Wet slate', pour: 'demo-pour-1', made_at,
    asked: { vessel, weights_g: ['101'], marks: [] },
    found: { law: 'eu', mean: '101 g', stated: { verdict: 'yes', g: 100 } } }))"""


def test_the_weight_is_that_of_the_vessels_of_its_recipe(desk, phone):
    page = phone
    at(page, desk.url, LABEL)
    page.evaluate(WEIGHED, ["demo-tumbler", 2])
    expect(slot(page, "net")).to_be_visible()
    expect(slot(page, "facts")).to_contain_text("not checked for this batch")
    page.evaluate(WEIGHED, ["demo-tin", 1])
    expect(slot(page, "facts")).to_contain_text("this batch may carry it")
    expect(slot(page, "net")).to_be_hidden()
