"""A lot's life: whatever happens to it and however it is told, what came in is there or went out.

A second fold in exact fractions, written apart from the phone's, says what must come of it.
"""

import math
import random
from fractions import Fraction
from typing import Any

from hypothesis import strategies as st

from tests.bench.conftest import Bench
from tests.formulas.test_twin import drawn
from tests.shelf.conftest import Json, shelf

T0 = 1_795_600_000_000
DAY_MS = 86_400_000

#: What a 1 g, a 0.1 g and a 0.05 oz scale read, and whole pieces.
AMOUNTS = st.one_of(
    st.integers(0, 3000).map(float),
    st.integers(0, 9999).map(lambda n: n / 10),
    st.integers(0, 999).map(lambda n: n * 0.05 * 28.349523125),
)
TYPES = st.sampled_from(["used", "used", "counted", "thrown_away", "sent_back", "opened", "noted"])
#: Clocks of two phones differ by up to a year.
SHIFTS = st.sampled_from([0, 0, 0, 365 * DAY_MS, -365 * DAY_MS])


def stamp(n: int) -> str:
    return f"{T0 + n:015d}.0000.shelf"


@st.composite
def lives(draw: Any) -> Json:
    came = draw(AMOUNTS)
    events: list[Json] = []
    for n in range(draw(st.integers(0, 14))):
        type_ = draw(TYPES)
        event: Json = {"id": stamp(n), "of": ["lot", "l1"], "type": type_}
        event["at"] = T0 + draw(st.integers(0, 40)) * DAY_MS + draw(SHIFTS)
        if type_ == "opened":
            event["on"] = "2026-11-30"
        elif type_ == "noted":
            event["text"] = "torn bag"
        else:
            event["amount"] = draw(AMOUNTS)
        events.append(event)
        if draw(st.booleans()) and events:
            of = draw(st.sampled_from(events))
            if of["type"] in ("undone", "corrected"):
                continue
            id_ = f"{T0 + n:015d}.0001.shelf"
            common = {"id": id_, "of": ["lot", "l1"], "at": event["at"], "event": of["id"]}
            if draw(st.booleans()):
                events.append({**common, "type": "undone"})
            else:
                value = draw(AMOUNTS)
                events.append({**common, "type": "corrected", "field": "amount", "value": value})
    uses = [
        {
            **{"kind": "wax", "id": "w", "name": "Dune", "lot": "l1", "pour": f"p{n}"},
            **{"title": "Slate", "amount": draw(AMOUNTS)},
            "at_ms": T0 + draw(st.integers(0, 40)) * DAY_MS + draw(SHIFTS),
        }
        for n in range(draw(st.integers(0, 5)))
    ]
    lot = {"by": "weight", "amount_g": came, "received_on": "2026-11-01", "best_before": None}
    return {"lot": lot, "events": events, "uses": uses}


def exact(amount: float) -> Fraction:
    """To a millionth, half up, as a shelf tells it; a float's millionths are a float too."""
    return Fraction(math.floor(amount * 1e6 + 0.5), 10**6)


def expected(life: Json) -> dict[str, Fraction]:
    """The second fold: what is there in the end, what went out, what was counted otherwise."""
    undone = {each["event"] for each in life["events"] if each["type"] == "undone"}
    right = {
        each["event"]: each["value"]
        for each in life["events"]
        if each["type"] == "corrected" and each["id"] not in undone
    }
    moves = [
        (
            each["at"],
            f"{each['type']} {each['id']}",
            each["type"],
            right.get(each["id"], each["amount"]),
        )
        for each in life["events"]
        if each["type"] in ("used", "counted", "thrown_away", "sent_back")
        and each["id"] not in undone
    ]
    moves += [
        (use["at_ms"], f"poured {use['pour']}", "poured", use["amount"]) for use in life["uses"]
    ]
    here, out, differences = exact(life["lot"]["amount_g"]), Fraction(0), Fraction(0)
    for _, _, type_, amount in sorted(moves):
        if type_ == "counted":
            differences += exact(amount) - here
            here = exact(amount)
        else:
            here -= exact(amount)
            out += exact(amount)
    return {"here": here, "out": out, "differences": differences}


FOLD = """
    const fold = ({ lot, events, uses }) => lots.foldLot(lot, events, uses);
    return g.map((life) => fold(life));
"""


def test_what_came_in_is_there_or_went_out(bench: Bench) -> None:
    found = drawn(lives(), 400)
    for life, state in zip(found, shelf(bench, FOLD, found), strict=True):
        for name, value in expected(life).items():
            assert exact(state[name]) == value, (name, life)
        came = exact(state["came"])
        assert came == exact(state["here"]) + exact(state["out"]) - exact(state["differences"])
        assert state["counted_wrong"] == (state["here"] < 0)


def test_order_and_repetition_of_what_is_told_change_nothing(bench: Bench) -> None:
    """As the stores have it: an event that comes twice is kept once, and they are read by id."""
    lives_, told = drawn(lives(), 200), []
    mix = random.Random(17)
    for life in lives_:
        heard = [*life["events"], *mix.sample(life["events"], len(life["events"]) // 2)]
        mix.shuffle(heard)
        kept = sorted({each["id"]: each for each in heard}.values(), key=lambda each: each["id"])
        told.append(life | {"events": kept, "uses": mix.sample(life["uses"], len(life["uses"]))})
    assert shelf(bench, FOLD, told) == shelf(bench, FOLD, lives_)


def test_what_is_known_later_of_before_a_count_moves_the_difference_alone(bench: Bench) -> None:
    lot = {"by": "weight", "amount_g": 5000, "received_on": "2026-11-01"}
    count = {
        "id": stamp(1),
        "of": ["lot", "l1"],
        "type": "counted",
        "at": T0 + DAY_MS,
        "amount": 3000,
    }
    use = {"kind": "wax", "id": "w", "name": "Dune", "lot": "l1", "pour": "p", "title": "Slate"}
    before, after = (
        {**use, "amount": 1900, "at_ms": T0},
        {**use, "amount": 250, "at_ms": T0 + 2 * DAY_MS},
    )
    lives_ = [
        {"lot": lot, "events": [count], "uses": uses} for uses in ([], [before], [before, after])
    ]
    alone, known, both = shelf(bench, FOLD, lives_)
    assert (alone["here"], alone["differences"]) == (3000, -2000)
    assert (known["here"], known["differences"]) == (3000, -100)
    assert (both["here"], both["differences"]) == (2750, -100)


def test_it_keeps_until_the_first_of_its_days(bench: Bench) -> None:
    body = """
        const use = { pour: 'p', title: 'S', amount: 1, at_ms: Date.parse('2026-11-10T12:00:00Z') };
        const came = { by: 'pieces', pieces: 3, received_on: '2026-11-01' };
        return g.map(({ lot, material, used }) => {
          const uses = used ? [use] : [];
          return lots.foldLot({ ...came, ...lot }, [], uses, material).expires_on;
        });
    """
    asked = [
        ({}, {}, False, None),
        ({"best_before": "2027-01-01"}, {}, False, "2027-01-01"),
        ({"best_before": "2027-01-01"}, {"keep_days": 30}, False, "2026-12-01"),
        ({}, {"open_days": 5}, False, None),
        ({}, {"open_days": 5}, True, "2026-11-15"),
        ({"best_before": "2026-11-12"}, {"open_days": 5, "keep_days": 3650}, True, "2026-11-12"),
        ({}, {"keep_days": 3650}, False, "2036-10-29"),
    ]
    given = [{"lot": lot, "material": material, "used": used} for lot, material, used, _ in asked]
    assert shelf(bench, body, given) == [day for *_, day in asked]
