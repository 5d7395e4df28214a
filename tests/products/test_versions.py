"""What a recipe was each time it was poured."""

from typing import Any

from playwright.sync_api import Page

Json = dict[str, Any]

VERSIONS = """async (pours) => {
  const { versionsOf } = await import('/products/versions.js');
  return versionsOf(pours).map(({ sheet, pours }) => [sheet.load, pours.map(({ id }) => id)]);
}"""


def pour(id_: str, at: int, **sheet: Any) -> Json:
    whole = {
        **{"title": "Wet slate", "count": 12, "load": 0.08},
        **{"waxes": [{"id": "w1", "name": "Dune", "share": 1}], "oils": [], "extras": []},
        **{"wick": {"id": "k1", "name": "flat cotton"}, "vessel": {"id": "v1", "name": "tin"}},
        **{"fragrance": {"target_c": 70}, "pour": {"target_c": 66}},
    }
    return {"id": id_, "record": {"started_at": at}, "sheet": {**whole, **sheet}}


def versions(page: Page, *pours: Json) -> list[list[Any]]:
    found: list[list[Any]] = page.evaluate(VERSIONS, list(pours))
    return found


def test_batches_of_one_state_stand_together_the_oldest_first(twin: Page) -> None:
    pours = [
        pour("c", 3, load=0.1),
        pour("b", 2, count=6, title="Wet slate, new name", jug={"id": "other"}),
        pour("a", 1),
        pour("d", 4),
    ]
    assert versions(twin, *pours) == [[0.08, ["a", "b", "d"]], [0.1, ["c"]]]


def test_each_thing_that_makes_another_candle_makes_another_state(twin: Page) -> None:
    changes: list[Json] = [
        {"waxes": [{"id": "w2", "name": "Dune", "share": 1}]},
        {"waxes": [{"id": "w1", "share": 0.5}, {"id": "w2", "share": 0.5}]},
        {"oils": [{"id": "f1", "share": 1}]},
        {"extras": [{"id": "d1", "fraction": 0.001}]},
        {"load": 0.09},
        {"wick": None},
        {"wick": {"id": None, "name": "round cord"}},
        {"vessel": {"id": "v2", "name": "tin"}},
        {"pour": {"target_c": 60}},
        {"fragrance": {"target_c": 72}},
    ]
    pours = [pour("0", 0), *(pour(str(at), at, **each) for at, each in enumerate(changes, 1))]
    assert [ids for _, ids in versions(twin, *pours)] == [[each["id"]] for each in pours]


def test_a_name_that_changed_makes_none_and_neither_does_a_rounding(twin: Page) -> None:
    again = pour("b", 2, load=0.08 + 1e-9, wick={"id": "k1", "name": "flat cotton, new"})
    assert versions(twin, pour("a", 1), again) == [[0.08, ["a", "b"]]]


def test_a_sheet_that_lacks_its_lists_is_a_state_all_the_same(twin: Page) -> None:
    odd = pour("a", 1, waxes=None, oils="none", fragrance=None, load=None)
    assert versions(twin, odd, pour("b", 2)) == [[None, ["a"]], [0.08, ["b"]]]
