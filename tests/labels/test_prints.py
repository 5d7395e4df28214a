"""How many of a label were printed: a fold of its events."""

from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from playwright.sync_api import Page

Json = dict[str, Any]


def event(at: int, type_: str, **fields: Any) -> Json:
    stamp = f"{1_796_000_000_000 + at:015d}.0000.k3v9q2ax"
    return {"id": stamp, "of": ["made_label", "m1"], "type": type_, "at": at, **fields}


def fold(page: Page, events: list[Json]) -> Json:
    found: Json = page.evaluate(
        "async (events) => (await import('/labels/prints.js')).foldPrints(events)", events
    )
    return {name: found[name] for name in ("label", "second")}


def test_what_was_printed_is_added_up_by_piece(twin: Page) -> None:
    events = [
        event(1, "printed", n=24, piece="label", stock="sheet of 24"),
        event(2, "printed", n=10, piece="label"),
        event(3, "printed", n=24, piece="second"),
    ]
    assert fold(twin, events) == {"label": 34, "second": 24}


def test_what_was_undone_or_set_right_counts_as_such(twin: Page) -> None:
    first, second = (
        event(1, "printed", n=24, piece="label"),
        event(2, "printed", n=9, piece="label"),
    )
    told = [
        first,
        second,
        event(3, "undone", event=second["id"]),
        event(4, "corrected", event=first["id"], field="n", value=20),
    ]
    assert fold(twin, told) == {"label": 20, "second": 0}


def test_what_makes_no_sense_is_passed_over(twin: Page) -> None:
    events = [
        event(1, "printed", n=2.5, piece="label"),
        event(2, "printed", n=1, piece="lid"),
        event(3, "printed", piece="label"),
        event(4, "wrapped", n=3),
    ]
    assert fold(twin, events) == {"label": 0, "second": 0}


@settings(
    max_examples=25,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(places=st.integers(1, 60), prints=st.lists(st.integers(1, 200), min_size=1, max_size=6))
def test_the_next_place_is_where_a_sheet_was_left(
    twin: Page, places: int, prints: list[int]
) -> None:
    """One place after the other, counted by hand."""
    start, used = 1, 0
    for n in prints:
        used += n
        start = twin.evaluate(
            "async (of) => (await import('/labels/prints.js')).nextPlace(...of)", [start, n, places]
        )
        assert start == used % places + 1
