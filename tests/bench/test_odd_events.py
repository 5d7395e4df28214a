"""Whatever happened to a pour, in whatever order, as often as you like: everything that reads it
has something sensible to say.

Two phones write apart, each its own events in its own order; a merge puts them in the order of
their stamps, and one that was sent twice is there once. Fields hold what the catalogue allows, at
its edges too, or what nobody wrote: the fold passes such an event over.
"""

import json
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from benchapp.records.event_type import OtherEvent, Value
from benchapp.records.events import TYPES, effective_events
from benchapp.records.fields import Day, Kept, Measured, OneOf, Whole, Words
from tests.bench.conftest import Bench, Json, asked, fields_of

BEGUN_MS = 1_795_600_000_000
POUR = TYPES["pour"]

DAYS = st.sampled_from(["2026-11-25", "2026-11-26", "2027-02-28", "1000-01-01", "2999-12-31"])
TEXTS = st.sampled_from(["creamy", "", "a\u2028b", "x" * 300])
#: What no bench wrote.
JUNK = st.sampled_from(
    [None, "", "x", -1, 0.5, 1e7, 2**53, True, [], {}, "2026-02-30", "25.11.2026", "__proto__"]
)
#: Readings of this bench and of none.
READINGS = {
    "mass": [0, 0.1, 93.4, 94, 108, 285, 1168, 1170, 1175, 2000, 1e6],
    "temperature": [-50, 0, 19.9, 20, 55, 64, 68.1, 69.9, 70, 72, 78.5, 84, 93, 400],
}


def values_of(field: Kept, name: str) -> st.SearchStrategy[Json]:
    """What a field may hold, mostly as it is at a bench."""
    if isinstance(field, Day):
        return DAYS
    if isinstance(field, OtherEvent):
        return st.integers(0, 30)
    if isinstance(field, Value):
        return DAYS | st.sampled_from([0, 70, 108, 285.5, 1170, -1e6, 1e6])
    if isinstance(field, OneOf):
        return st.sampled_from([choice for choice, _ in field.choices])
    if isinstance(field, Whole):
        return st.sampled_from([0, 0, 0, 0, 1, 1, 2, int(field.least), int(field.most)])
    if isinstance(field, Measured):
        return st.sampled_from(READINGS["temperature" if name == "temp_c" else "mass"])
    assert isinstance(field, Words)
    return TEXTS


def events_of(name: str) -> st.SearchStrategy[Json]:
    fields = {key: values_of(field, key) for key, field in POUR[name].fields.items()}
    needed = {key: fields[key] for key, field in POUR[name].fields.items() if field.needed}
    rest = {key: values for key, values in fields.items() if key not in needed}
    return st.fixed_dictionaries({"type": st.just(name), **needed}, optional=rest)


EVENTS = st.one_of(*(events_of(name) for name in POUR)) | st.sampled_from(
    [
        {"type": "sang", "jug": 0, "verse": 3},
        {"type": "constructor"},
        {"type": "toString", "jug": 1},
    ]
)


@st.composite
def spoilt(draw: st.DrawFn) -> Json:
    """An event with one field that holds something else, or nothing."""
    event = dict(draw(EVENTS))
    name = draw(st.sampled_from([*event, "jug", "at"]))
    junk = draw(JUNK)
    if junk is None and name != "type":
        event.pop(name, None)
    elif name != "type" or isinstance(junk, str):
        event[name] = junk
    return event


@st.composite
def streams(draw: st.DrawFn, among: st.SearchStrategy[Json]) -> list[Json]:
    """Events of two phones, some of them done twice, as a merge leaves them."""
    found: list[Json] = []
    for phone in ("one", "two")[: draw(st.integers(1, 2))]:
        at_ms = BEGUN_MS + draw(st.integers(0, 60_000))
        for event in draw(st.lists(among, max_size=25)):
            for _ in range(draw(st.sampled_from([1, 1, 1, 1, 2, 3]))):
                at_ms += draw(st.sampled_from([1, 40_000, 240_000, 1_500_000]))
                # A clock that is put back tells an earlier time, and its stamps go on.
                told_ms = at_ms - draw(st.sampled_from([0, 0, 0, 0, 3_600_000, 86_400_000]))
                id_ = f"{at_ms:015d}.0000.{phone}"
                found.append({"at": told_ms, **event, "of": ["pour", "p"], "id": id_})
    found.sort(key=lambda each: str(each["id"]))
    for each in found:
        if isinstance(of := each.get("event"), int) and not isinstance(of, bool):
            each["event"] = found[of % len(found)]["id"]
    return found


RECIPES = st.sampled_from(
    [
        fields_of("demo-recipe-slate"),
        fields_of("demo-recipe-plum"),
        fields_of("demo-recipe-slate", load=0.0, oils=[]),
        fields_of(
            "demo-recipe-slate",
            waxes=[
                {"wax": "demo-wax-dune", "share": 0.7},
                {"wax": "demo-wax-lantern", "share": 0.3},
            ],
            fragrance_c=74.0,
            pour_c=60.0,
        ),
    ]
)
UNITS = st.sampled_from([{}, {"mass_unit": "lb oz", "temperature_unit": "°F"}])
LOOKS = st.lists(
    st.sampled_from([-86_400_000, 0, 90_000, 3_600_000, 2 * 86_400_000, 400 * 86_400_000]),
    min_size=2,
    max_size=2,
    unique=True,
)


def cases(among: st.SearchStrategy[Json], count: int) -> list[Json]:
    """So many pours, drawn once and looked at together: a journey to the browser is slow."""
    drawn: list[Json] = []

    @settings(max_examples=count, phases=[Phase.generate], suppress_health_check=list(HealthCheck))
    @given(RECIPES, st.sampled_from([1, 6, 30]), UNITS, streams(among), LOOKS)
    def collect(recipe: Json, vessels: int, units: Json, events: Json, looks: list[int]) -> None:
        drawn.append(
            {
                **{"asked": asked(recipe, count=vessels), "units": units, "events": events},
                "looks": [BEGUN_MS + look for look in looks],
            }
        )

    collect()
    return drawn


LOOK = """const odd = await import('/helpers/odd.js');
return g.map((each) => {
  try {
    return odd.lookAt(each);
  } catch (error) {
    return `${error.stack}`.split('\\n').slice(0, 7).join(' | ');
  }
});"""


def ask(bench: Bench, body: str, given: Json) -> Json:
    return bench.page.evaluate(
        "([body, g]) => new (async () => {}).constructor('g', body)(g)", [body, given]
    )


@pytest.mark.parametrize(
    ("among", "count"), [(EVENTS, 250), (EVENTS | spoilt(), 250)], ids=["allowed", "spoilt"]
)
def test_whatever_happened_it_is_told_sensibly(
    bench: Bench, among: st.SearchStrategy[Json], count: int
) -> None:
    drawn = cases(among, count)
    found = [
        f"{problem}\n  of {json.dumps(case['events'][-12:])}"
        for case, problem in zip(drawn, ask(bench, LOOK, drawn), strict=True)
        if problem
    ]
    assert not found, f"{len(found)} of {count}:\n" + "\n".join(found[:4])


def test_the_phone_and_the_server_count_the_same_events(bench: Bench) -> None:
    drawn: list[Any] = []

    @settings(max_examples=400, phases=[Phase.generate], suppress_health_check=list(HealthCheck))
    @given(streams(EVENTS | spoilt()))
    def collect(events: Json) -> None:
        drawn.append(events)

    collect()
    wanted = [effective_events("pour", events) for events in drawn]
    assert sum(len(each) for each in wanted) > 1500
    body = """const { effectiveEvents } = await import('/records/events.js');
      return g.map((events) => effectiveEvents('pour', events));"""
    assert ask(bench, body, drawn) == wanted


def test_a_vessel_that_two_phones_filled_is_kept_and_had_no_target(bench: Bench) -> None:
    body = """const play = new b.Play(b.sheetOf(g)).honest();
      const before = play.jug();
      play.keep({ type: 'poured', jug: 0, read_g: 108 });
      return [before.poured, play.jug().poured, play.jug().step]"""
    before, after, step = bench.ask(body, asked(fields_of("demo-recipe-slate")))
    assert after[:-1] == before
    assert (after[-1]["read_g"], after[-1]["target_g"]) == (108, 0)
    assert step == "done"
