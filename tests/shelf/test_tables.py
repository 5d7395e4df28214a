"""Tables of a spreadsheet: cells, columns, days and names, asked of the phone's own modules."""

import csv
import io
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchapp.records.table_reading import read_table
from tests.bench.conftest import Bench

Json = Any

MODULES = {
    "csv": "/bench/csv.js",
    "cells": "/shelf/table_cells.js",
    "columns": "/shelf/table_columns.js",
    "plan": "/shelf/table_plan.js",
}


def asked(page: Bench, body: str, given: Json = None) -> Json:
    """Run ``body`` with the modules and ``given`` as ``g``; ``each(list, f)`` answers f of each, or
    ``{"refused": sentence}``."""
    return page.ask(
        f"""
        const paths = {list(MODULES.values())};
        const each = (list, f) => list.map((one) => {{
          try {{ return f(one); }} catch (error) {{
            if (!(error instanceof b.InputError)) throw error;
            return {{ refused: error.message }};
          }}
        }});
        return Promise.all(paths.map((path) => import(path))).then(
          ([{", ".join(MODULES)}]) => {{ {body} }},
        );
        """,
        given,
    )


def refused(answers: list[Json]) -> list[str]:
    return [each["refused"] for each in answers]


# ---- text that is run by no spreadsheet ----------------------------------------------------------

TEXTS = st.lists(
    st.one_of(
        st.text(st.characters(exclude_categories=("Cs", "Cc", "Cn")), max_size=12),
        st.text("'=+-@\t\r\n\";,a", max_size=6),
    ),
    min_size=24,
    max_size=24,
)


@settings(max_examples=20)
@given(TEXTS, st.sampled_from(["POINTS", "COMMAS"]))
def test_text_goes_out_harmless_and_comes_back_as_it_was(
    bench: Bench, texts: list[str], style: str
) -> None:
    file = asked(
        bench, "return csv.csvOf([['a', 'b'], ...g[0]], csv[g[1]])", [_pairs(texts), style]
    )
    table = read_table(file.encode())
    assert table.separator == {"POINTS": ",", "COMMAS": ";"}[style]
    cells = [cell for row in table.rows for cell in row]
    # Empty rows at the end are none.
    written = texts[: len(cells)]
    assert not any(cell.strip(" \u00a0\t\r\n;,") for cell in texts[len(cells) :])
    assert not any(cell[:1] in {"=", "+", "-", "@", "\t", "\r"} for cell in cells if cell)
    assert asked(bench, "return g.map(csv.asItWas)", cells) == written


def _pairs(texts: list[str]) -> list[list[str]]:
    return [texts[at : at + 2] for at in range(0, len(texts), 2)]


def test_numbers_are_numbers_in_both_styles(bench: Bench) -> None:
    file = asked(bench, "return csv.csvOf([['a', 1.5, -2, 1e6]], csv.COMMAS)")
    assert file == '\ufeff"a";1,5;-2;1000000\r\n'
    [row] = csv.reader(
        io.StringIO(asked(bench, "return csv.csvOf([['a\"', 0.905]])")[1:], newline="")
    )
    assert row == ['a"', "0.905"]


# ---- numbers -------------------------------------------------------------------------------------


def with_commas(text: str) -> str:
    """As '1,234.5' is written where decimals have a comma."""
    return text.translate(str.maketrans(",.", ".,"))


@given(st.lists(st.decimals(0, 10**9, places=2), min_size=30, max_size=30))
@settings(max_examples=20)
def test_a_number_is_read_in_either_way_of_writing(bench: Bench, numbers: list[Any]) -> None:
    for decimal, written in ((".", str), (",", with_commas)):
        cells = [written(form.format(each)) for each in numbers for form in ("{:,.2f}", "{:.2f}")]
        found = asked(
            bench,
            """const decimal = cells.decimalOf(g.cells, ',');
            return [decimal, g.cells.map((cell) => cells.plainNumbers(cell, decimal))];""",
            {"cells": cells},
        )
        assert found == [decimal, [f"{each:.2f}" for each in numbers for _ in range(2)]]


@pytest.mark.parametrize(
    ("cells", "separator", "decimal"),
    [
        (["1,5", "2"], ",", ","),
        (["1.5 kg", "250 g"], ";", "."),
        (["0,905"], ",", ","),
        (["1.234.567"], ",", ","),
        (["1.234,50 €"], ",", ","),
        # Nothing tells: the file does.
        (["1,234", "12"], ";", ","),
        (["1,234", "12"], ",", "."),
        ([], ";", ","),
    ],
)
def test_the_cells_tell_what_stands_before_decimals(
    bench: Bench, cells: list[str], separator: str, decimal: str
) -> None:
    assert asked(bench, "return cells.decimalOf(...g)", [cells, separator]) == decimal


def test_only_numbers_are_changed(bench: Bench) -> None:
    cells = ["1 lb 4,5 oz", "about 1.250,5 g", "€ 1.234,50", "1 1/2 kg", "12.5", "no. 4", ""]
    plain = ["1 lb 4.5 oz", "about 1250.5 g", "€ 1234.50", "1 1/2 kg", "12.5", "no. 4", ""]
    assert asked(bench, "return g.map((each) => cells.plainNumbers(each, ','))", cells) == plain
    assert asked(bench, "return cells.plainNumbers('1,250.5 g and 1,5', '.')") == "1250.5 g and 1,5"


# ---- days ----------------------------------------------------------------------------------------


@given(st.dates(date(1990, 1, 1), date(2100, 12, 31)))
@settings(max_examples=25)
def test_a_day_is_read_in_each_way_of_writing(bench: Bench, first: date) -> None:
    days = [first + timedelta(days=37 * step) for step in range(12)]
    forms = {
        "day": ["%Y-%m-%d", "%Y/%m/%d", "%d.%m.%Y", "%d/%m/%Y", "%d-%m-%Y", "%d.%m.%Y 00:00"],
        "month": ["%Y-%m-%d", "%d.%m.%Y", "%m/%d/%Y", "%m-%d-%Y", "%Y-%m-%dT00:00:00"],
    }
    for order, written in forms.items():
        cells = [f"{day:{form}}" for day in days for form in written]
        found = asked(bench, "return g[0].map((each) => cells.readDay(each, g[1]))", [cells, order])
        assert found == [str(day) for day in days for _ in written]
        # Twelve days, 37 days apart, of which at least one is past the twelfth.
        told = asked(bench, "return cells.dayOrderOf(g)", [f"{day:{written[-2]}}" for day in days])
        assert told["order"] == order


def test_one_day_tells_for_the_whole_file_and_nothing_is_guessed(bench: Bench) -> None:
    order = "return cells.dayOrderOf(g)"
    assert asked(bench, order, ["03/04/2026", "31/12/2026"]) == {
        "order": "day",
        "unsure": "03/04/2026",
    }
    assert asked(bench, order, ["12/31/2026", "03/04/2026 00:00"]) == {
        "order": "month",
        "unsure": "03/04/2026",
    }
    assert asked(bench, order, ["03/04/2026"]) == {"order": None, "unsure": "03/04/2026"}
    assert asked(bench, order, ["31/12/2026", "12/31/2026"]) == {"order": None, "unsure": None}
    # These can be read in one way only.
    assert asked(bench, order, ["04/04/2026", "03.04.2026", "2026-04-03", ""]) == {
        "order": None,
        "unsure": None,
    }
    both = asked(
        bench, "return each(g, (cell) => cells.readDay(cell, null))", ["31/12/2026", "12/31/2026"]
    )
    assert both == ["2026-12-31", "2026-12-31"]


def test_what_is_no_day_is_refused_in_a_sentence(bench: Bench) -> None:
    cells = ["03/04/2026", "31.02.2026", "2026-13-01", "00.01.2026", "3.4.26", "soon", "1.5"]
    for said in refused(asked(bench, "return each(g, (one) => cells.readDay(one, null))", cells)):
        assert said.endswith(".")
    # Even where it is known which comes first.
    assert (
        "There is no day"
        in refused(
            asked(bench, "return each(g, (one) => cells.readDay(one, 'day'))", ["30/02/2026"])
        )[0]
    )


# ---- columns -------------------------------------------------------------------------------------

FIELDS = [
    {"name": "name", "labels": ["Name"]},
    {"name": "highest_load", "labels": ["Highest fragrance load"]},
    {"name": "amount_g", "labels": ["How much, by weight", "How much"]},
    {"name": "amount_ml", "labels": ["How much, by volume", "How much"]},
    {"name": "best_before", "labels": ["À consommer avant"]},
]


@pytest.mark.parametrize(
    ("headings", "found"),
    [
        (["Name", "Highest fragrance load"], ["name", "highest_load"]),
        (["NAME ", "highest_load", "Highest Fragrance-Load"], ["name", "highest_load", None]),
        (["a consommer   AVANT"], ["best_before"]),
        (["How much", "How much"], ["amount_g", "amount_ml"]),
        (["How much, by volume (ml)", "How much (kg)"], ["amount_ml", "amount_g"]),
        (["Name (short)", "Name"], [None, "name"]),
        (["", "?", "Price"], [None, None, None]),
        (["constructor", "__proto__"], [None, None]),
    ],
)
def test_a_column_is_known_by_what_it_is_called(
    bench: Bench, headings: list[str], found: list[str | None]
) -> None:
    assert asked(bench, "return columns.matchColumns(...g)", [headings, FIELDS]) == found


def test_a_heading_may_name_its_unit(bench: Bench) -> None:
    headings = ["Weight (kg)", "Weight [oz]", "Weight", "(kg)", "a (b) (c)"]
    assert asked(bench, "return g.map(columns.headingParts)", headings) == [
        {"name": "Weight", "unit": "kg"},
        {"name": "Weight", "unit": "oz"},
        {"name": "Weight", "unit": ""},
        {"name": "(kg)", "unit": ""},
        {"name": "a (b)", "unit": "c"},
    ]


# ---- names, and what a table brings --------------------------------------------------------------


def test_the_hash_is_the_published_one(bench: Bench) -> None:
    """Test vectors of FNV-1a, 128 bits, as they come with implementations of draft-eastlake-fnv
    (from memory)."""
    assert asked(bench, "return g.map(plan.hashOf)", ["", "a", "abc"]) == [
        "6c62272e07bb014262b821756295c58d",
        "d228cb696f1a8caf78912b704e4a8964",
        "a68d622cec8b5822836dbc7977af7f3b",
    ]


@given(st.lists(st.text(max_size=20), unique=True, min_size=50, max_size=50))
@settings(max_examples=10)
def test_ids_are_told_apart_and_can_be_kept(bench: Bench, names: list[str]) -> None:
    found = asked(bench, "return g.map((name) => plan.idFrom('wax', [name]))", names)
    assert len(set(found)) == len(names)
    assert all(len(each) == 32 and each.isalnum() for each in found)


_PLANNED = """
  const records = new Map(g.records.map((each) => [each.id, each]));
  const ways = {
    candidates: ({ cells: { name } }) =>
      [...records.values()].filter((each) => plan.nameKey(each.name) === plan.nameKey(name)),
    read: ({ cells }, record) => {
      if (cells.n === 'x') throw new b.InputError("Can't read “{n}”.", { n: cells.n });
      const given = { ...cells, n: Number(cells.n) };
      const common = { given, unfit: [], needs: [] };
      const values = record ? plan.changesIn(record, given) : given;
      if (record) return { id: record.id, is_new: false, values, ...common };
      const id = plan.idFrom('wax', [plan.nameKey(cells.name)]);
      return { id, is_new: true, values, ...common };
    },
  };
  const rows = g.rows.map((cells, index) => ({ number: index + 2, cells }));
  const answers = [];
  for (let again = 0; again < 2; again += 1) {
    const found = [...plan.planned(rows, ways)];
    answers.push(found.map(({ state, why }) => why ? `${state}: ${why.message}` : state));
    for (const { state, id, values } of found) {
      if (state !== 'refused') records.set(id, { ...records.get(id), id, ...values });
    }
  }
  return [...answers, [...records.values()]];
"""


def test_a_second_time_nothing_changes(bench: Bench) -> None:
    records = [
        {"id": "d", "name": "Dune", "n": 1},
        {"id": "p", "name": "Plum", "n": 0.1 + 0.2},
        {"id": "t1", "name": "Twin", "n": 1},
        {"id": "t2", "name": "Twin", "n": 2},
    ]
    rows = [
        {"name": "DUNE ", "n": "2"},
        {"name": "plum", "n": "0.3"},
        {"name": "Reed", "n": "4"},
        {"name": "reed", "n": "5"},
        {"name": "Sea", "n": "x"},
        {"name": "Sea", "n": "6"},
        {"name": "Twin", "n": "2"},
        {"name": "Twin", "n": "1"},
        {"name": "Twin", "n": "3"},
    ]
    first, second, kept = asked(bench, _PLANNED, {"records": records, "rows": rows})
    twins = "refused: 2 that are here have this name: give them different names first."
    same_as_4 = "refused: Row 4 has the same name: leave one of the two out."
    # Spaces and capitals of a name are a change of its cell; ten figures of a number are all.
    assert first == [
        *("changed", "changed", "new", same_as_4, "refused: Can't read “x”.", "new"),
        *("same", "same", twins),
    ]
    assert second == [
        *("same", "same", "same", same_as_4, "refused: Can't read “x”.", "same"),
        *("same", "same", twins),
    ]
    assert len(kept) == len(records) + 2


@given(
    st.lists(
        st.tuples(st.text(min_size=1, max_size=4).filter(str.strip), st.integers(0, 9)),
        max_size=20,
    )
)
@settings(max_examples=30)
def test_any_table_changes_nothing_a_second_time(bench: Bench, rows: list[tuple[str, int]]) -> None:
    given_rows = [{"name": name, "n": str(n)} for name, n in rows]
    first, second, kept = asked(bench, _PLANNED, {"records": [], "rows": given_rows})
    assert second == ["same" if each == "new" else each for each in first]
    assert len(kept) == first.count("new")
