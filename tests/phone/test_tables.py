"""Tables of a spreadsheet, in a real browser with a real server: out, in, matched, asked about."""

import csv
import io
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.phone.maker import at, kept, slot, tap
from tests.phone.test_faults import pair

Json = Any


def choose(page: Page, path: Path, content: str | bytes, encoding: str = "utf-8") -> None:
    """Pick a file, and wait until all of its rows are read."""
    path.write_bytes(content if isinstance(content, bytes) else content.encode(encoding))
    with page.expect_file_chooser() as chooser:
        tap(page, "Pick a file")
    chooser.value.set_files(path)


def counts(page: Page) -> Any:
    return slot(page, "counts").locator("li")


def saved(page: Page, path: Path) -> str:
    with page.expect_download() as download:
        slot(page, "save").tap()
    download.value.save_as(path)
    return path.read_bytes().decode("utf-8-sig")


def column(page: Page, heading: str) -> Any:
    """The choice of what a column holds."""
    return slot(page, "columns").get_by_label(f"{heading} such as")


KINDS = {
    "wax": "Waxes",
    "fragrance": "Fragrances",
    "additive": "Dye and additives",
    "wick": "Wicks",
    "vessel": "Vessels",
    "packaging": "Packaging",
    "supplier": "Suppliers",
    "lot": "Deliveries",
    "prices": "Money",
}


ODD = """async () => {
  const { remove } = await import('/static/records/store.js');
  const { saveAll } = await import('/static/records/save_all.js');
  const odd = {
    'supplier f1': { name: 'Fen', telephone: '+44 1632 960114', address: '1 Quay\\nMarsh; "End"' },
    'supplier f2': { name: 'Fen', telephone: "'-1", notes: '' },
    'supplier gone': { name: '@Moor', lead_days: 0 },
    'wax w1': { name: '=SUM(A1)', supplier: 'f2', highest_load: 1 / 3, pack: 1234.5,
      open_days: null },
    'wax w2': { name: 'Bog', supplier: 'gone', pack: 0.905, notes: '\\t-x\\r\\n"y"' },
    'wax w3': { name: 'bog ', supplier: 'never', molten_density: 1.025, highest_c: 1234 },
    'fragrance o1': { name: 'Bog', density: 1.025, colour: '#a5811c', highest_use: 0.07 },
    'vessel v1': { name: 'jar', method: 'weight', wax_g: 1234, water_g: 7, label_ml: -1 },
    'lot l1': { material: ['wax', 'w2'], name: '1', received_on: '2026-04-03', by: 'weight',
      amount_g: 1234.567, pieces: 7, paid: 123456, tax_rate: 0.077, supplier: 'f1' },
    'lot l2': { material: ['fragrance', 'o1'], name: '1', received_on: '2026-04-03', by: 'volume',
      amount_ml: 1.025, density: 1.025, paid: 0, best_before: '2027-12-31', supplier: 'f2' },
    'lot l3': { material: ['vessel', 'v1'], name: '=1', received_on: '2026-12-31', by: 'pieces',
      pieces: 1000000, delivery: 5 },
  };
  await saveAll(Object.entries(odd).map(([of, values]) => {
    const [kind, id] = of.split(' ');
    return { kind, id, values };
  }));
  await remove('supplier', 'gone');
}"""
"""Records as a phone may keep them: of one name, with text that looks like a formula, with figures
that could be two, and with what no form shows any more."""


def test_what_goes_out_comes_in_and_changes_nothing(
    phone: Page, server: Any, tmp_path: Path
) -> None:
    bench = server(demo=True)
    pair(phone, bench)
    phone.evaluate(ODD)
    at(phone, bench.url, "tables")
    before = kept(phone)["records"]
    file = tmp_path / "table.csv"
    for kind, many in KINDS.items():
        count = sum(each["kind"] == kind and "deleted" not in each["fields"] for each in before)
        assert count > 0, kind
        slot(phone, "kind").select_option(label=many)
        in_commas = kind in ("lot", "wax", "vessel")
        slot(phone, "style").select_option("commas" if in_commas else "points")
        text = saved(phone, file)
        rows = csv.reader(io.StringIO(text, newline=""), delimiter=";" if in_commas else ",")
        assert len(list(rows)) == count + 1
        choose(phone, file, text, "cp1252" if in_commas else "utf-8")
        said = f"{count} row is here already." if count == 1 else f"{count} rows are here already."
        expect(counts(phone)).to_have_text([said])
        expect(slot(phone, "take")).to_be_hidden()
    assert kept(phone)["records"] == before


DELIVERIES = """Lieferant;Kind of material;What came;Lot number;Came on;Menge (kg);Paid for it;Notes
Süd Wachs;wax;Düne;L-1;03/04/2026;2,5;18,90;'=1+1
Süd Wachs;wax;Düne;L-2;05/04/2026;1.000;1.234,50;"two
lines"
Moor;fragrance;Heide;H-9;06/04/2026;1,25;8;
Moor;fragrance;Heide;H-9;06/04/2026;1,25;9;

Moor;tin;Heide;H-8;06/04/2026;1,25;9;
Moor;wax;Düne;L-3;06/04/2026;5.000;9;
"""
REFUSED = [
    "Row 5: Row 4 has the same name: leave one of the two out.",
    "Row 7: “tin” is no kind of material: write one of wax, fragrance, additive, wick, vessel, "
    "packaging.",
    "Row 8: How much, by weight: A weight must be from 0 to 1000000 g: check “5000 kg”.",
]


def mean(page: Page) -> None:
    """Say what the bench can't know of `DELIVERIES` by itself."""
    column(page, "Lieferant").select_option(label="Supplier")
    column(page, "Menge (kg)").select_option(label="How much, by weight")
    slot(page, "order").select_option(label="Fri 3 Apr")


def test_a_makers_sheet_comes_in_in_one_go(
    phone: Page, server: Any, page_errors: list[str], tmp_path: Path
) -> None:
    bench = server()
    phone.goto(bench.url)
    at(phone, bench.url, "tables/lot")
    expect(slot(phone, "unpaired")).to_contain_text("must be paired")
    expect(slot(phone, "choose")).to_be_hidden()
    pair(phone, bench)
    at(phone, bench.url, "tables/lot")
    sheet = tmp_path / "sheet.csv"
    choose(phone, sheet, b"PK\3\4 a workbook")
    expect(slot(phone, "said")).to_contain_text("This is a whole workbook")
    phone.context.set_offline(True)
    choose(phone, sheet, DELIVERIES, "cp1252")
    expect(slot(phone, "said")).to_contain_text("The server reads the file: try again")
    phone.context.set_offline(False)
    # The browser tells of both refusals.
    page_errors.clear()

    choose(phone, sheet, DELIVERIES, "cp1252")
    expect(slot(phone, "told")).to_contain_text(
        "“sheet.csv” has 6 rows. Its cells are parted by semicolons, its letters are Windows-1252."
    )
    expect(counts(phone)).to_have_text(["6 rows are refused:"])
    expect(slot(phone, "refused")).to_contain_text("Row 2: Came on: “03/04/2026” could be two days")
    expect(column(phone, "Came on")).to_have_value("received_on")
    mean(phone)
    expect(slot(phone, "missing")).to_have_text(
        "Make what is not here yet: Düne, Süd Wachs, Heide and Moor"
    )
    slot(phone, "make").check()
    expect(counts(phone)).to_have_text(["3 rows are new.", "3 rows are refused:"])
    expect(slot(phone, "refused").locator("li")).to_have_text(REFUSED)
    first = slot(phone, "rows").locator("section").first
    expect(first).to_contain_text("Row 2: new")
    for told in ("Düne", "2500 g", "18.90", "Fri 3 Apr", "Süd Wachs", "=1+1"):
        expect(first).to_contain_text(told)
    # Nothing comes in before she says so.
    assert kept(phone)["records"] == []

    tap(phone, "Take 3 rows")
    expect(counts(phone)).to_have_text(["3 rows are here already.", "3 rows are refused:"])
    expect(slot(phone, "take")).to_be_hidden()
    here = kept(phone)["records"]
    names = sorted((each["kind"], each["fields"]["name"]["value"]) for each in here)
    assert names == [
        *(("fragrance", "Heide"), ("lot", "H-9"), ("lot", "L-1"), ("lot", "L-2")),
        *(("supplier", "Moor"), ("supplier", "Süd Wachs"), ("wax", "Düne")),
    ]
    lot = next(each for each in here if each["fields"]["name"]["value"] == "L-2")
    values = {name: field["value"] for name, field in lot["fields"].items()}
    assert values["amount_g"] == 1_000_000
    assert (values["by"], values["paid"], values["notes"]) == ("weight", 123450, "two\nlines")
    assert values["received_on"] == "2026-04-05"

    # A cell that is changed changes that cell alone.
    choose(phone, sheet, DELIVERIES.replace("2,5;18,90", "2,6;18,90"), "cp1252")
    mean(phone)
    expect(counts(phone)).to_have_text(
        ["1 row changes what is here.", "2 rows are here already.", "3 rows are refused:"]
    )
    tap(phone, "Take 1 row")
    expect(counts(phone)).to_have_text(["3 rows are here already.", "3 rows are refused:"])
    changed = [each for each in kept(phone)["records"] if each not in here]
    assert [each["fields"]["amount_g"]["value"] for each in changed] == [2600]
    assert [name for name, field in changed[0]["fields"].items() if "past" in field] == ["amount_g"]


_SINCE = """async () => {
  const store = await import('/static/records/store.js');
  const [heath] = (await store.all('lot')).filter(({ name }) => name === 'H-9');
  await store.save('lot', heath.id, { certificate: 'C-1' });
  await store.remove('lot', heath.id);
  const [moor] = (await store.all('supplier')).filter(({ name }) => name === 'Moor');
  await store.save('supplier', moor.id, { name: 'Moor & Sons', lead_days: 3 });
}"""


def test_what_was_named_anew_or_deleted_since_is_known_again(
    phone: Page, server: Any, tmp_path: Path
) -> None:
    bench = server()
    pair(phone, bench)
    at(phone, bench.url, "tables/lot")
    sheet = tmp_path / "sheet.csv"
    choose(phone, sheet, DELIVERIES, "cp1252")
    mean(phone)
    slot(phone, "make").check()
    tap(phone, "Take 3 rows")
    expect(counts(phone).first).to_have_text("3 rows are here already.")
    phone.evaluate(_SINCE)
    choose(phone, sheet, DELIVERIES, "cp1252")
    mean(phone)
    expect(counts(phone)).to_have_text(
        ["1 row is new.", "2 rows are here already.", "3 rows are refused:"]
    )
    expect(slot(phone, "making")).to_be_hidden()
    tap(phone, "Take 1 row")
    expect(counts(phone).first).to_have_text("3 rows are here already.")
    [heath] = phone.evaluate(
        """async () => (await import('/static/records/store.js')).all('lot')
          .then((all) => all.filter(({ name }) => name === 'H-9'))"""
    )
    assert (heath["certificate"], heath["amount_g"], heath["paid"]) == ("C-1", 1250, 800)
    suppliers = {
        each["fields"]["name"]["value"]
        for each in kept(phone)["records"]
        if each["kind"] == "supplier"
    }
    assert suppliers == {"Moor & Sons", "Süd Wachs"}


_PLAN = """async (given) => {
  const { kind, headings, rows, decimal = '.', order = null, make = false, currency } = given;
  const { planned } = await import('/static/shelf/table_plan.js');
  const { headingParts, matchColumns } = await import('/static/shelf/table_columns.js');
  const { columnsOf } = await import('/static/screens/table_fields.js');
  const { rowWays, takesUnit } = await import('/static/screens/table_rows.js');
  const { readKept } = await import('/static/screens/tables.js');
  const { openDesk } = await import('/static/desk.js');
  const { displayUnits } = await import('/static/bench/display_units.js');
  await openDesk();
  const columns = columnsOf(kind, currency);
  const holds = matchColumns(headings, columns);
  const unitOf = new Map();
  holds.forEach((name, at) => {
    const { unit } = headingParts(headings[at]);
    const column = columns.find((each) => each.name === name);
    if (column && takesUnit(column, unit)) unitOf.set(name, unit);
  });
  const how = { decimal, order, unitOf, make, materialKind: 'wax' };
  const { plain } = await readKept();
  const units = { ...displayUnits({}), currency };
  const read = rows.map((row, index) => ({
    number: index + 2,
    cells: Object.fromEntries(row.map((cell, at) => [holds[at], cell])),
  }));
  const found = [...planned(read, rowWays(kind, columns, how, units, plain))];
  return found.map(({ why, given, values, unfit }) =>
    why ? why.message : { ...values, ...given, unfit });
}"""

PLANS: list[tuple[Json, list[Json]]] = [
    # What is in a cell is what its box would take: units, percentages, words of a choice, money.
    (
        {
            "kind": "fragrance",
            "headings": ["name", "Flash point (°F)", "Highest use level", "colour IN the pictures"],
            "rows": [
                ["Ash", "200", "12,5 %", "Blue"],
                ["Elm", "93 °C", "7.5", "#3f7fc0"],
                ["Oak", "9999", "", ""],
                ["Fir", "", "120", ""],
                ["Yew", "", "", "mauve"],
                ["", "90", "", ""],
                ["x" * 81, "", "", ""],
            ],
        },
        [
            {
                "name": "Ash",
                "flash_c": pytest.approx(93.3333333),
                "highest_use": 0.125,
                "colour": "#3f7fc0",
            },
            {"name": "Elm", "flash_c": 93, "highest_use": 0.075, "colour": "#3f7fc0"},
            "Flash point: A temperature must be from -273.15 to 1000 °C: check “9999 °F”.",
            "Highest use level must be from 0 % to 100 %: check it.",
            "Colour in the pictures: “mauve” is none of none, red, orange, yellow, green, teal, "
            "blue, violet, pink, brown, grey.",
            "Name is needed.",
            "Name is too long: at most 80 characters.",
        ],
    ),
    # A vessel is measured in the way that its cells tell of.
    (
        {
            "kind": "vessel",
            "decimal": ",",
            "headings": ["Name", "Wax for one vessel (kg)", "Volume on the label (ml)"],
            "rows": [
                ["tin", "0,118", ""],
                ["jar", "", "1.200"],
                ["cup", "", ""],
                ["mug", "0,1", "90"],
            ],
        },
        [
            {"name": "tin", "wax_g": 118, "method": "weight"},
            {"name": "jar", "label_ml": 1200, "method": "label", "unfit": []},
            "Water to the fill line is needed.",
            # Of two ways the first is taken, and what is left out is told.
            {"label_ml": 90, "wax_g": None, "unfit": ["Wax for one vessel"]},
        ],
    ),
    # What is counted in pieces is said by what it is; names are told apart by the kind.
    (
        {
            "kind": "lot",
            "order": "month",
            "currency": "EUR",
            "make": True,
            "headings": ["What came", "How many", "How much", "Came on", "Paid for it", "Supplier"],
            "rows": [
                ["Flat Cotton, 4", "200", "", "12/31/2025", "€ 12.50", "Reed & Co"],
                ["Dune, soft vegetable", "", "5 kg", "01/02/2026", "1,234.567", ""],
                ["Dune, soft vegetable", "", "5 kg", "02/30/2026", "", ""],
                ["Bog", "", "2 lb 8 oz", "01/02/2026", "", "reed & co"],
                ["Bog", "7", "", "01/02/2026", "", ""],
            ],
        },
        [
            {"material": ["wick", "demo-wick-a"], "pieces": 200, "paid": 1250, "by": "pieces"},
            "Paid for it: “1234.567” has more than 2 decimals: write it with 2 at most.",
            "Came on: There is no day “02/30/2026”: check it.",
            {"amount_g": pytest.approx(1133.980925), "name": "2026-01-02", "by": "weight"},
            "It comes by weight or by volume (wax), not in pieces.",
        ],
    ),
    (
        {
            "kind": "prices",
            "headings": ["Currency", "An hour of my work", "Tax"],
            "rows": [["jpy", "1500", "10"], ["EUR", "1500", "10"]],
        },
        [
            {"currency": "JPY", "hour": 1500},
            "Row 2 has the same name: leave one of the two out.",
        ],
    ),
]


def test_a_cell_is_what_its_box_would_take(phone: Page, server: Any) -> None:
    phone.goto(server(demo=True).url)
    expect(phone.locator("body[data-screen]")).to_be_visible()
    for asked, wanted in PLANS:
        found = phone.evaluate(_PLAN, asked)
        assert len(found) == len(wanted)
        for each, expected in zip(found, wanted, strict=True):
            if isinstance(each, dict) and isinstance(expected, dict):
                assert {name: each[name] for name in expected} == expected
            else:
                assert each == expected
