"""How long what belongs to a product's file is kept."""

import copy
from datetime import UTC, date, datetime
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from playwright.sync_api import Page

Json = dict[str, Any]


def ms(day: str) -> int:
    # Noon: the day is the same in every zone that a test may run in.
    return int(datetime.fromisoformat(f"{day}T12:00:00").astimezone(UTC).timestamp() * 1000)


FILE: Json = {
    "product": {"id": "p1", "name": "Wet slate", "recipe": "r1", "label": "la9"},
    "recipes": ["r1", "r-old"],
    "recipe": {
        **{"waxes": [{"wax": "w1"}], "oils": [{"fragrance": "f1"}], "additives": None},
        **{"wick": "k1", "vessel": "v1", "packaging": [{"packaging": "g1"}, {}]},
    },
    "batches": [
        {
            **{
                "id": "b1",
                "code": "4RJ9-989V",
                "started_at": ms("2026-03-01"),
                "last_out_ms": ms("2026-09-10"),
            },
            **{"lots": ["l1"], "materials": [{"kind": "wax", "id": "w-old"}]},
        },
        {
            **{"id": "b2", "code": None, "started_at": ms("2026-05-01"), "last_out_ms": None},
            **{"lots": ["l2"], "materials": []},
        },
    ],
}
KEPT_FOR = """async ([record, files]) =>
  (await import('/products/kept_for.js')).keptFor(record, files)"""


def kept(page: Page, record: Json, *files: Json) -> Json | None:
    found: Json | None = page.evaluate(KEPT_FOR, [record, list(files or (FILE,))])
    return found


@pytest.mark.parametrize(
    "record",
    [
        {"kind": "product", "id": "p1"},
        *({"kind": "recipe", "id": each} for each in ("r1", "r-old")),
        *({"kind": "pour", "id": each} for each in ("b1", "b2")),
        *({"kind": "lot", "id": each} for each in ("l1", "l2")),
        *({"kind": "wax", "id": each} for each in ("w1", "w-old")),
        *({"kind": kind, "id": id_} for kind, id_ in (("fragrance", "f1"), ("wick", "k1"))),
        *({"kind": kind, "id": id_} for kind, id_ in (("vessel", "v1"), ("packaging", "g1"))),
        {"kind": "safety_sheet", "id": "s1", "material": ["fragrance", "f1"]},
        {"kind": "burn_test", "id": "t1", "sheet": {"recipe": "r1"}},
        {"kind": "label", "id": "la1", "recipe": "r1"},
        {"kind": "label", "id": "la9", "recipe": "another"},
        {"kind": "made_label", "id": "m1", "label": "la9"},
        {"kind": "made_label", "id": "m1", "label": "la1", "of_recipe": "r1"},
        {"kind": "made_label", "id": "m1", "label": "gone", "pour": "b2"},
        {"kind": "hazard_finding", "id": "h1", "recipe": "r1"},
        {"kind": "net_finding", "id": "n1", "pour": "b1"},
        {"kind": "complaint", "id": "c1", "pour": "b1"},
        {"kind": "complaint", "id": "c1", "product": "p1"},
        {"kind": "complaint", "id": "c1", "code": "4RJ9-989V"},
        {"kind": "recall", "id": "rc1", "of": ["lot", "l1"]},
        {"kind": "recall", "id": "rc1", "of": ["recipe", "r-old"]},
    ],
    ids=lambda record: f"{record['kind']}-{record['id']}",
)
def test_what_belongs_to_a_file_is_kept_ten_years_after_the_last_day(
    twin: Page, record: Json
) -> None:
    assert kept(twin, record) == {"until": "2036-09-10", "product": "Wet slate"}


@pytest.mark.parametrize(
    "record",
    [
        *({"kind": kind, "id": "other"} for kind in ("product", "recipe", "pour", "lot", "wax")),
        # An id alone says nothing: it is of another kind.
        *({"kind": kind, "id": "p1"} for kind in ("recipe", "lot", "wax", "vessel")),
        {"kind": "fragrance", "id": "w1"},
        {"kind": "safety_sheet", "id": "s1", "material": ["wax", "f1"]},
        *({"kind": "safety_sheet", "id": "s1", "material": each} for each in (None, "wax", [])),
        {"kind": "burn_test", "id": "t1", "sheet": {"recipe": None}},
        *({"kind": kind, "id": "x"} for kind in ("burn_test", "label", "made_label", "complaint")),
        {"kind": "hazard_finding", "id": "h1", "recipe": ""},
        {"kind": "net_finding", "id": "n1", "pour": {"id": "b1"}},
        {"kind": "complaint", "id": "c1", "code": None},
        *({"kind": "recall", "id": "x", "of": each} for each in (None, [], ["lot", "other"])),
        {"kind": "workshop", "id": "workshop"},
    ],
    ids=lambda record: f"{record['kind']}-{record['id']}",
)
def test_what_belongs_to_none_may_go(twin: Page, record: Json) -> None:
    assert kept(twin, record) is None


def test_all_recipes_that_a_product_ever_had_are_its_own(twin: Page) -> None:
    one, two, three = ({"value": each, "stamp": f"{n}"} for n, each in enumerate(("a", "b", "")))
    recipes = "async (of) => (await import('/products/kept_for.js')).recipesOf(of)"
    fields = {"recipe": {**three, "past": [two, one, {**two, "stamp": "x"}]}}
    assert twin.evaluate(recipes, {"fields": fields}) == ["b", "a"]
    assert twin.evaluate(recipes, {"fields": {}}) == []


def with_days(batches: list[Json], **product: str | None) -> Json:
    file = copy.deepcopy(FILE)
    return {**file, "batches": batches, "product": {**file["product"], **product}}


def test_the_last_day_that_is_known_counts(twin: Page) -> None:
    recipe = {"kind": "recipe", "id": "r1"}
    poured = {**FILE["batches"][1]}
    assert kept(twin, recipe, with_days([])) is None
    assert kept(twin, recipe, with_days([poured]))["until"] == "2036-05-01"
    assert kept(twin, recipe, with_days([], sold_from="2025-02-03"))["until"] == "2035-02-03"
    stopped = with_days([poured], sold_from="2025-02-03", stopped_on="2027-01-02")
    assert kept(twin, recipe, stopped)["until"] == "2037-01-02"
    assert kept(twin, recipe, with_days([poured], stopped_on=""))["until"] == "2036-05-01"


def test_of_two_products_the_one_that_is_kept_longer_counts(twin: Page) -> None:
    other = copy.deepcopy(FILE)
    other["product"] |= {"id": "p2", "name": "Wet slate, large", "stopped_on": "2030-01-01"}
    found = kept(twin, {"kind": "wax", "id": "w1"}, FILE, other)
    assert found == {"until": "2040-01-01", "product": "Wet slate, large"}


@settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(day=st.dates(date(1990, 1, 1), date(2100, 1, 1)), years=st.integers(0, 30))
def test_years_later_is_the_same_day(twin: Page, day: date, years: int) -> None:
    """Against Python's calendar."""
    try:
        wanted = day.replace(year=day.year + years)
    except ValueError:
        wanted = day.replace(year=day.year + years, day=28)
    found = twin.evaluate(
        "async (of) => (await import('/products/kept_for.js')).yearsAfter(...of)",
        [day.isoformat(), years],
    )
    assert found == wanted.isoformat()
