"""A pour sheet names all that it uses, and sheets of every version there was still open.

``pour_of_version_1.json`` was written by the bench when sheets were of version 1: a whole pour in
two jugs, and what its fold then gave of them.
"""

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from benchapp.records import kinds
from tests.bench.conftest import Bench, Json, asked, fields_of

OLD: Json = json.loads((Path(__file__).parent / "pour_of_version_1.json").read_text("utf-8"))
PLUM = fields_of("demo-recipe-plum")


def opened(bench: Bench, sheet: Json) -> Any:
    """The sheet as it is opened, after holding the one that was kept against any change."""
    body = "const kept = b.freeze(g); return [b.openSheet(kept), kept]"
    found, kept = bench.ask(body, sheet)
    assert kept == sheet
    return found


def made(bench: Bench, recipe: Json, **given: Any) -> Any:
    return bench.ask("return b.sheetOf(g)", asked(recipe, **given))


def test_all_that_is_used_can_be_traced(bench: Bench) -> None:
    sheet = made(bench, PLUM, tools={"heater": fields_of("demo-bath")})
    assert (sheet["recipe"], sheet["title"]) == ("demo-recipe-plum", "Plum & kelp")
    for part in ("vessel", "wick", "jug", "scale", "fine", "thermometer", "heater"):
        assert sheet[part]["name"] == fields_of(sheet[part]["id"])["name"], part
    for parts, amount in (("waxes", "share"), ("oils", "share"), ("extras", "fraction")):
        for part in sheet[parts]:
            assert part.keys() == {"id", "name", amount}
            assert part["name"] == fields_of(part["id"])["name"]


def test_what_has_no_record_is_named_all_the_same(bench: Bench) -> None:
    recipe = {**PLUM, "additives": [{"name": "grated peel", "rate": 1, "per": "percent"}]}
    usual = {"id": "", "name": "jug", "empty_g": 0, "volume_ml": None}
    sheet = made(bench, recipe, tools={"jug": usual})
    assert sheet["extras"] == [{"id": None, "name": "grated peel", "fraction": 0.01}]
    assert (sheet["jug"]["id"], sheet["jug"]["name"]) == (None, "jug")
    assert sheet["heater"] is None
    # The record is gone: its recipe still knows what it was called.
    dye = {"additive": "gone", "name": "dye, heather", "rate": 0.6, "per": "kilo"}
    sheet = made(bench, {**PLUM, "additives": [dye]})
    assert sheet["extras"] == [{"id": "gone", "name": "dye, heather", "fraction": 0.0006}]


def test_a_sheet_of_today_is_opened_as_it_is(bench: Bench) -> None:
    given = asked(PLUM)
    assert bench.ask("const sheet = b.sheetOf(g); return b.openSheet(sheet) === sheet", given)


def test_an_old_pour_folds_as_it_did(bench: Bench) -> None:
    sheet = opened(bench, OLD["sheet"])
    state = bench.ask("return b.fold(g[0], g[1])", [sheet, OLD["events"]])
    assert state["tops"] is None
    assert state["set_on"] is not None
    for jug, before in zip(state["jugs"], OLD["jugs"], strict=True):
        numbers = {name: jug[name] for name in ("wax_g", "extras_g", "fragrance_g")}
        assert numbers == {name: before[name] for name in numbers}
        assert [each["target_g"] for each in jug["poured"]] == before["poured"]
        weighings = [
            {name: each[name] for name in before["weighings"][0]} for each in jug["weighings"]
        ]
        assert weighings == before["weighings"]


def test_an_old_sheet_says_what_it_knew(bench: Bench) -> None:
    sheet = opened(bench, OLD["sheet"])
    assert sheet["waxes"] == [
        {"id": None, "name": "Dune, soft vegetable", "share": 0.7},
        {"id": None, "name": "Lantern, paraffin", "share": 0.3},
    ]
    assert sheet["extras"] == [{"id": None, "name": "dye, heather", "fraction": 0.0006}]
    assert sheet["wick"] == {"id": None, "name": "flat cotton, 4"}
    assert sheet["jug"] == OLD["sheet"]["jug"]
    assert sheet["fine"] == {"id": None, "name": "fine scale", "capacity_g": 500}
    # Opened once more, it is as it was.
    assert opened(bench, sheet) == sheet
    assert sheet.keys() == made(bench, PLUM).keys()


@pytest.mark.parametrize("wick", ["", None])
def test_an_old_sheet_without_a_wick_or_a_jug(bench: Bench, wick: str | None) -> None:
    old = copy.deepcopy(OLD["sheet"]) | {"wick": wick}
    old["jug"]["id"] = ""
    sheet = opened(bench, old)
    assert sheet["wick"] is None
    assert sheet["jug"]["id"] is None


def test_the_server_takes_both(bench: Bench) -> None:
    for sheet in (OLD["sheet"], made(bench, PLUM)):
        assert kinds.check("pour", {"name": "p", "sheet": sheet, "started_at": 1}) == {}
    for name, value in (("scale", "bench scale"), ("thermometer", ["probe"]), ("version", "2")):
        wrong = made(bench, PLUM) | {name: value}
        found = kinds.check("pour", {"name": "p", "sheet": wrong, "started_at": 1})
        assert found == {"sheet": [f"The pour sheet can't be read at “{name}”."]}
