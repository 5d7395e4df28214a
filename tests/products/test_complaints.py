"""What became of a complaint: a fold of its events."""

from typing import Any

from playwright.sync_api import Page

Json = dict[str, Any]

FOLD = """async ([complaint, events]) => {
  const { foldComplaint, isUnreported } = await import('/products/complaints.js');
  const state = foldComplaint(events);
  return { ...state, counted: state.counted.length, unreported: isUnreported(complaint, state) };
}"""


def event(at: int, type_: str, **fields: Any) -> Json:
    stamp = f"{1_796_000_000_000 + at:015d}.0000.k3v9q2ax"
    return {"id": stamp, "of": ["complaint", "c1"], "type": type_, "at": at, **fields}


def fold(page: Page, events: list[Json], harm: str = "none") -> Json:
    found: Json = page.evaluate(FOLD, [{"harm": harm}, events])
    return found


def test_it_is_open_until_it_is_closed_and_again_once_there_is_more(twin: Page) -> None:
    told = [event(1, "answered", text="We send another one."), event(2, "closed")]
    assert fold(twin, [])["closed_at"] is None
    assert fold(twin, told)["closed_at"] == 2
    assert fold(twin, told)["isAnswered"] is True
    assert fold(twin, told)["isDone"] is False
    again = [*told, event(3, "reopened", text="A second one.")]
    assert fold(twin, again)["closed_at"] is None
    assert fold(twin, [*again, event(4, "undone", event=again[-1]["id"])])["closed_at"] == 2


def test_an_injury_is_unreported_until_somebody_was_told(twin: Page) -> None:
    report = event(1, "reported", to="The market authority", on="2026-11-20")
    assert fold(twin, [], "injury")["unreported"] is True
    assert fold(twin, [], "damage")["unreported"] is False
    told = fold(twin, [report], "injury")
    assert told["unreported"] is False
    assert told["reported"] == [{"to": "The market authority", "on": "2026-11-20"}]
    right = event(2, "corrected", event=report["id"], field="on", value="2026-11-21")
    assert fold(twin, [report, right], "injury")["reported"][0]["on"] == "2026-11-21"
    assert fold(twin, [report, event(3, "undone", event=report["id"])], "injury")["unreported"]


def test_what_makes_no_sense_is_passed_over(twin: Page) -> None:
    odd = [
        event(1, "reported", to="Somebody"),
        event(2, "reported", on="2026-11-20"),
        event(3, "reported", to="Somebody", on="in May"),
        event(4, "done"),
        event(5, "wrapped", text="in paper"),
    ]
    found = fold(twin, odd, "injury")
    assert found["reported"] == []
    assert found["isDone"] is False
    assert found["unreported"] is True
