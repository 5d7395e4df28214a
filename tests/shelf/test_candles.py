"""The life of a batch's candles: random histories, beside a count that moves each one by hand."""

from collections import Counter
from typing import Any

from hypothesis import strategies as st

from tests.bench.conftest import Bench
from tests.formulas.test_twin import drawn
from tests.shelf.conftest import Json, shelf

MADE = 40

PLACES = st.sampled_from(["shelf", "shelf", "aside", "returned", None])
FEW = st.integers(1, 7)


def _of(type_: str, **given: Any) -> st.SearchStrategy[Json]:
    return st.fixed_dictionaries({"type": st.just(type_), "n": FEW, **given})


BUYERS = st.sampled_from(["shop", "person", None])

EVENTS = st.one_of(
    _of("sold", place=PLACES, buyer=BUYERS, where=st.sampled_from(["fair", None])),
    _of("given", place=PLACES, buyer=BUYERS),
    _of("broken", place=PLACES),
    _of("test_burned", place=PLACES),
    _of("destroyed", place=PLACES),
    _of("set_aside"),
    _of("put_back", place=st.sampled_from(["aside", "returned"])),
    _of("returned", buyer=BUYERS),
    _of("labelled"),
    _of("counted"),
    _of("handed_out", wanted=st.sampled_from(["order", None])),
    _of("candles_counted"),
    st.fixed_dictionaries(
        {"type": st.sampled_from(["withdrawn", "released"]), "why": st.just("x")}
    ),
    st.just({"type": "undone"}),
)

HISTORIES = st.lists(EVENTS, max_size=25)

FOLD = """
  const kinds = { handed_out: 'pour', candles_counted: 'pour' };
  const stamped = g.events.map((event, n) => ({
    ...event,
    ...(event.type === 'undone' && { event: `${String(1000 + n - 1).padStart(15, '0')}.0000.a` }),
    id: `${String(1000 + n).padStart(15, '0')}.0000.a`, at: 1000 + n,
    of: [kinds[event.type === 'undone' ? g.events[n - 1]?.type : event.type] ?? 'batch', 'p'],
  }));
  const state = { finished: { good: g.made }, jugs: [] };
  const of = (kind) => stamped.filter((event) => event.of[0] === kind);
  // What is kept on two phones comes in no order.
  const pour = { id: 'p', state, events: of('pour').reverse(), candles: of('batch').reverse() };
  const found = candles.candlesOf(pour);
  const batch = { pour: { id: 'p' }, code: 'x', candles: found, amount: 0, through: [] };
  return [found, recall.holdersOf([batch])];
"""


def counted(events: list[Json]) -> tuple[Counter[str], bool, list[Json]]:
    """Each candle moved from pile to pile."""
    kept: list[Json] = []
    for before, event in zip([None, *events], events, strict=False):
        if event["type"] == "undone":
            if before in kept[-1:] and before is not None and before["type"] != "undone":
                kept.pop()
                kept.append({"type": "noted"})
        else:
            kept.append(event)
    piles: Counter[str] = Counter(shelf=MADE)
    is_over = False
    for event in kept:
        name, n = event["type"], event.get("n", 0)
        source = event.get("place") or "shelf"
        if name in ("sold", "given", "broken", "test_burned", "destroyed", "handed_out"):
            target = "outOtherwise" if name == "handed_out" else name
        elif name == "set_aside":
            target = "aside"
        elif name == "put_back":
            target = "shelf"
        elif name == "returned":
            piles["returned"] += n
            piles["came_back"] += n
            continue
        elif name == "counted":
            piles["shelf"] = n
            continue
        elif name == "candles_counted":
            piles["shelf"] = max(0, n - piles["aside"] - piles["returned"])
            continue
        elif name == "labelled":
            piles["labelled"] += n
            continue
        else:
            continue
        for _candle in range(n):
            if piles[source] > 0:
                piles[source] -= 1
            else:
                is_over = True
            piles[target] += 1
    return piles, is_over, kept


def test_every_candle_is_somewhere(bench: Bench) -> None:
    over = back = 0
    for events in drawn(HISTORIES, 150):
        found, holders = shelf(bench, FOLD, {"events": events, "made": MADE})
        piles, is_over, kept = counted(events)
        names = ("shelf", "aside", "returned", "sold", "given", "outOtherwise", "broken")
        for name in (*names, "test_burned", "destroyed", "came_back", "labelled"):
            assert found[name] == piles[name], (name, events)
        assert found["isOver"] == is_over
        assert found["here"] == piles["shelf"] + piles["aside"] + piles["returned"]
        gone = piles["sold"] + piles["given"] + piles["outOtherwise"] + piles["broken"]
        gone += piles["test_burned"] + piles["destroyed"] - piles["came_back"]
        assert found["untold"] == max(0, MADE - found["here"] - gone)
        last = [each["type"] for each in kept if each["type"] in ("withdrawn", "released")][-1:]
        assert (found["withdrawn"] is not None) == (last == ["withdrawn"])
        over += is_over

        # Who has them: all that went out, less what came back, and nobody has less than none.
        went = [each for each in kept if each["type"] in ("sold", "given", "handed_out")]
        assert sum(each["n"] + each["came_back"] for each in holders) == sum(e["n"] for e in went)
        assert all(each["n"] >= 0 for each in holders)
        for buyer in ("shop", "person"):
            had = sum(each["n"] for each in went if each.get("buyer") == buyer)
            returned = [e for e in kept if e["type"] == "returned" and e.get("buyer") == buyer]
            came = min(had, sum(each["n"] for each in returned))
            mine = [each for each in holders if each["buyer"] == buyer]
            assert [(each["n"], each["came_back"]) for each in mine] == (
                [(had - came, came)] if had else []
            )
            back += came
    assert over > 10
    assert back > 10


def test_what_makes_no_sense_is_passed_over(bench: Bench) -> None:
    events = [
        {"type": "sold", "n": -3},
        {"type": "sold", "n": 1.5},
        {"type": "sold", "n": "two"},
        {"type": "sold", "n": 2, "place": "moon"},
        {"type": "sold", "n": 2, "price": -1},
        {"type": "sold"},
        {"type": "teleported", "n": 3},
        {"type": "sold", "n": 2, "price": 1400, "currency": "EUR"},
    ]
    found, _holders = shelf(bench, FOLD, {"events": events, "made": MADE})
    assert (found["sold"], found["shelf"]) == (2, MADE - 2)
    assert [(each["price"], each["currency"]) for each in found["out"]] == [(1400, "EUR")]


def test_before_they_are_put_away_there_are_none(bench: Bench) -> None:
    body = "return candles.candlesOf({ state: { finished: null, jugs: [] }, events: [] })"
    found = shelf(bench, body)
    assert (found["made"], found["here"], found["untold"]) == (0, 0, 0)
