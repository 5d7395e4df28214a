"""Months are looked back on: charts and tables, by recipe, on paper and as a table, with no
signal."""

import csv
import datetime as dt
import io
import re
from pathlib import Path
from typing import Any

import pdfplumber
from playwright.sync_api import Page, expect

from tests.phone.maker import at, slot, tap

MONTHS = 14
DAY_MS = 86_400_000

PLAY = """async (pours) => {
  const names = ['bench/played_pour', 'records/stamp', 'records/store'];
  const [{ playPour }, { EARLIEST }, store] = await Promise.all(
    names.map((name) => import(`/static/${name}.js`)));
  const { records } = await (await fetch('/demo.json')).json();
  for (const { id } of await store.all('pour')) await store.remove('pour', id);
  const first = (value) => ({ value, stamp: EARLIEST });
  const wrapped = (fields) =>
    Object.fromEntries(Object.entries(fields).map(([name, value]) => [name, first(value)]));
  const kept = pours.map(({ lot, candles, ...past }) => {
    const from = [{ id: lot, name: lot, amount: 9000 }];
    const lots = [{ kind: 'wax', id: 'demo-wax-dune', name: 'Dune', lots: from }];
    const { record, events } = playPour({ ...past, lots, rate: 1.3e-4, start_c: 83.5 }, records);
    const after = candles.map((event, n) => {
      const id = `${String(event.at).padStart(15, '0')}.${String(n).padStart(4, '0')}.sales`;
      return { ...event, id, of: ['batch', past.id] };
    });
    return [{ kind: 'pour', id: past.id, fields: wrapped(record.fields) }, [...events, ...after]];
  });
  await store.bringIn(kept.map(([record]) => record), kept.flatMap(([, events]) => events));
}"""


def months_before(today: dt.date, count: int) -> dt.date:
    """The third of the month so many months ago."""
    whole = today.year * 12 + today.month - 1 - count
    return dt.date(whole // 12, whole % 12 + 1, 3)


def history(today: dt.date) -> list[dict[str, Any]]:
    """A pour of ten candles in each of the last months but this one; what came of the one lot was
    frosted, eight candles of each were sold, and one broke."""
    pours = []
    for back in range(1, MONTHS + 1):
        noon = dt.datetime.combine(months_before(today, back), dt.time(12), dt.UTC)
        begun_at = int(noon.timestamp() * 1000)
        later = {"at": begun_at + 17 * DAY_MS}
        currency = "USD" if back % 7 == 0 else "EUR"
        pours.append(
            {
                **{"id": f"past-{back}", "count": 10, "begun_at": begun_at},
                "recipe": "demo-recipe-plum" if back == MONTHS else "demo-recipe-slate",
                "tops": "frosted" if back % 2 else "smooth",
                "lot": f"demo-lot-dune-{1 if back % 2 else 2}",
                "candles": [
                    {**later, "type": "sold", "n": 8, "price": 1450, "currency": currency},
                    {**later, "type": "broken", "n": 1},
                ],
            }
        )
    return pours


def rows(page: Page, name: str) -> list[list[str]]:
    """A table's rows, its heads first."""
    texts: list[list[str]] = page.get_by_role("table", name=name).evaluate(
        "(table) => [...table.rows].map((row) =>"
        " [...row.cells].map((cell) => cell.innerText.replace(/\\s+/g, ' ')))"
    )
    return texts


def month(day: dt.date) -> str:
    return f"{'Sept' if day.month == 9 else f'{day:%b}'} {day.year}"


def test_fourteen_months_are_looked_back_on(server, phone, open_ready, tmp_path):
    bench = server(demo=True)
    open_ready(phone, bench.url)
    today = dt.datetime.now(dt.UTC).date()
    phone.evaluate(PLAY, history(today))
    bench.stop()

    at(phone, bench.url, "log")
    phone.locator("#screen").get_by_role("link", name="Look back").tap()
    expect(slot(phone, "facts")).to_contain_text(re.compile(r"Pours\s*11"))
    # The twelve months with this one, in which nothing was poured yet.
    facts = dict(
        zip(*(slot(phone, "facts").locator(e).all_inner_texts() for e in ("dt", "dd")), strict=True)
    )
    assert facts["Candles made"] == "110 of 110 planned"
    assert (facts["Sold"], facts["Broken"]) == ("88", "11")
    assert facts["Earned"].replace("\N{NO-BREAK SPACE}", "") in (
        "€1,160.00 and US$116.00",
        "€1,160.00 and $116.00",
    )
    told = rows(phone, "Candles and money by month")
    assert told[0] == ["Month", "Made", "Sold", "Broken", "Earned"]
    assert told[1] == [month(months_before(today, 11)), "10", "8", "1", "€116.00"]
    assert told[12] == [month(today), "0", "0", "0", ""]
    chart = phone.get_by_role(
        "img", name=re.compile("^Candles from .*: 110 made, 88 sold, 11 broken")
    )
    expect(chart.locator("rect.first")).to_have_count(11)
    # A currency is added to no other: each has its chart.
    expect(phone.get_by_role("img", name=re.compile("^Earned from "))).to_have_count(2)

    # Lots stand beside each other; of five pours nothing is said.
    lots = rows(phone, "By lot: anything but smooth")
    assert [row[1:] for row in lots[1:]] == [["6 of 6", "69 % to 100 %"]]
    slot(phone, "period").select_option("all")
    expect(slot(phone, "facts")).to_contain_text(re.compile(r"Pours\s*14"))
    slot(phone, "fault").select_option("frosted")
    lots = rows(phone, "By lot: frosted")
    assert [row[1:] for row in lots[1:]] == [["7 of 7", "72 % to 100 %"], ["0 of 7", "0 % to 28 %"]]
    # By hand: 7/(7 + z²) with z² = 2.7055.
    assert round(7 / (7 + 2.7055), 2) == 0.72

    look_at_one_recipe(phone)
    read_the_table(phone, today)
    read_the_print(phone, tmp_path / "back.pdf")


def look_at_one_recipe(page: Page) -> None:
    slot(page, "by_recipe").get_by_role("link", name="Wet slate").tap()
    expect(page.locator("#screen h1")).to_have_text("Looking back on Wet slate")
    expect(slot(page, "facts")).to_contain_text(re.compile(r"Pours\s*13"))
    expect(slot(page, "facts")).to_contain_text(re.compile(r"Load reached\s*8\.0\d\s%"))
    # What she chose stays, and leads back.
    expect(slot(page, "period")).to_have_value("all")
    expect(slot(page, "recipes")).to_be_hidden()
    slot(page, "back").tap()
    expect(page.locator("body[data-screen=recipe]")).to_be_visible()
    page.get_by_role("link", name="Look back on it").tap()
    expect(page.locator("#screen h1")).to_have_text("Looking back on Wet slate")


def read_the_table(page: Page, today: dt.date) -> None:
    with page.expect_download() as begun:
        tap(page, "Save as a table")
    text = begun.value.path().read_text(encoding="utf-8-sig")
    found = list(csv.DictReader(io.StringIO(text)))
    assert [row["Month"] for row in found] == [
        f"{months_before(today, back):%Y-%m}" for back in range(MONTHS - 1, 0, -1)
    ]
    assert {row["Recipe"] for row in found} == {"Wet slate"}
    assert sum(int(row["Sold"]) for row in found) == 8 * (MONTHS - 1)
    assert sum(float(row["Earned (EUR)"]) for row in found) == 8 * 14.5 * 12
    assert sum(float(row["Earned (USD)"]) for row in found) == 8 * 14.5


def read_the_print(page: Page, path: Path) -> None:
    page.locator("summary", has_text="Each jug").first.tap()
    expect(page.get_by_role("table", name=re.compile("^The last reading"))).to_be_visible()
    page.pdf(path=path, format="A4")
    with pdfplumber.open(path) as pdf:
        text = "\n".join(each.extract_text() for each in pdf.pages)
        grounds: dict[tuple[int, ...], float] = {}
        bars = 0
        for number, each in enumerate(pdf.pages):
            for rect in each.rects:
                assert -0.1 <= rect["x0"] <= rect["x1"] <= each.width + 0.1
                assert -0.1 <= rect["top"] <= rect["bottom"] <= each.height + 0.1
                if rect["width"] > 200 and rect["height"] > 20:
                    # A chart is clipped to where its ground is drawn, which is the same place.
                    place = (number, round(rect["x0"] / 5), round(rect["top"] / 5))
                    grounds[place] = rect["width"] / rect["height"]
                bars += 1 < rect["width"] < 60 and rect["height"] > 20
    # The charts are whole: each has the shape that it was drawn in.
    assert len(grounds) == 5
    for shape in grounds.values():
        assert abs(shape - 360 / 190) < 0.05
    assert bars >= 2 * (MONTHS - 1)
    for said in ("Looking back on Wet slate", "By month", "Earned", "Each jug", "By lot: frosted"):
        assert said in text
    assert text.count("€116.00") == 12
    for unsaid in ("Save as a table", "Print", "Yield and load by month", "The last 12 months"):
        assert unsaid not in text
