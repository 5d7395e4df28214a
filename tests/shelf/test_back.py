"""Looking back: random histories of pours and of their candles, beside the events one by one."""

import calendar
import datetime as dt
import math
import re
from collections import Counter, defaultdict
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import strategies as st
from scipy import stats

from benchapp.records.events import effective_events
from tests.bench.conftest import Bench, asked, fields_of
from tests.bench.test_walks import RECIPES, TOOLS
from tests.formulas.test_twin import drawn
from tests.shelf.conftest import Json

DAY_MS = 86_400_000
FRESH_MS = 600_000
NOW = "2026-11-30"

CURRENCIES = st.sampled_from(["EUR", "JPY", "USD", "eu", None])
MOVES = st.lists(
    st.fixed_dictionaries(
        {
            "type": st.sampled_from(
                ["sold", "sold", "given", "broken", "destroyed", "test_burned", "returned"]
            ),
            "n": st.integers(1, 5),
            "days": st.integers(0, 700),
            "price": st.one_of(st.none(), st.integers(0, 100_000_000_000)),
            "currency": CURRENCIES,
            # What became of the saying itself.
            "then": st.sampled_from(["", "", "", "undone", "corrected"]),
        }
    ),
    max_size=6,
)
HISTORY = st.builds(
    lambda recipe, count, tools, seed, length, **rest: {
        **{"asked": asked({**recipe, "id": f"r{seed % 3}"}, count=count, tools=tools), "units": {}},
        **{"seed": seed, "length": length, **rest},
    },
    st.one_of(st.just(fields_of("demo-recipe-slate")), RECIPES),
    st.integers(1, 9),
    TOOLS,
    st.integers(0, 2**32 - 1),
    st.sampled_from([40, 120, 200]),
    days=st.integers(0, 800),
    tops=st.sampled_from(["smooth", "smooth", "frosted", "wet spots", "soft", None]),
    touched=st.lists(st.integers(0, 25), max_size=6),
    lots=st.lists(st.sampled_from(["a", "b", None]), min_size=2, max_size=2),
    moves=MOVES,
    # Two phones may tell of a handing out that no one was asked about.
    gone=st.lists(st.integers(0, 3), max_size=2),
)
HISTORIES = st.lists(HISTORY, min_size=1, max_size=6)

TELL = """
  const files = ['back_told', 'back_sums', 'back_tops'];
  return Promise.all(files.map((name) => import(`/shelf/${name}.js`))).then(
    ([told, sums, tops]) => { BODY });
"""

PLAY = """
  const READ = ['weighed', 'poured'];
  const LEFT = ['setting', 'curing', 'abandoned'];
  const long = (n, digits) => String(n).padStart(digits, '0');
  const FIRST = Date.parse('2024-08-20T09:00:00Z');
  const play = (each, index) => {
    const walked = b.walkIfPlanned(each);
    if (walked === null) return [];
    const sheet = b.sheetOf(each.asked);
    const id = `p${index}`;
    const shift = FIRST + each.days * 86_400_000 - b.BEGUN_MS;
    const events = walked.events.map((event, at) => ({
      ...event,
      ...(event.at && { at: event.at + shift }),
      of: ['pour', id],
      ...(each.touched.includes(at) && READ.includes(event.type) && { how: 'mark' }),
    }));
    let last = events.at(-1)?.at ?? FIRST;
    const stampOf = (n) => `${long(last + n, 15)}.${long(n, 4)}.more`;
    const isPoured = b.fold(sheet, events).jugs.every(({ step }) => step === 'done');
    if (isPoured) {
      const on = new Date(last).toISOString().slice(0, 10);
      events.push({ id: stampOf(1), of: ['pour', id], type: 'set', at: last + 1, on });
      const tops = each.tops && { tops: each.tops };
      events.push({ id: stampOf(2), of: ['pour', id], type: 'finished', at: last + 2, ...tops });
      each.gone.forEach((n, at) => events.push(
        { id: stampOf(3 + at), of: ['pour', id], type: 'handed_out', at: last + 3 + at, n }));
    }
    const candles = [];
    for (const [n, { days, then, price, currency, ...move }] of each.moves.entries()) {
      const at = last + 10 + days * 86_400_000;
      if (move.type === 'sold' && price !== null) move.price = price;
      if (move.type === 'sold' && currency) move.currency = currency;
      const event = { ...move, at, id: stampOf(10 + 2 * n), of: ['batch', id] };
      candles.push(event);
      const more = { id: stampOf(11 + 2 * n), of: ['batch', id], at, event: event.id };
      if (then === 'undone') candles.push({ ...more, type: 'undone' });
      if (then === 'corrected') candles.push({ ...more, type: 'corrected', field: 'n', value: 2 });
    }
    const materials = [['wax', sheet.waxes[0]], ['fragrance', sheet.oils[0]]];
    const pinned = materials.filter(([, of]) => of).map(([kind, { id: of, name }], at) => ({
      kind, id: of, name, lots: each.lots[at] ? [{ id: each.lots[at], name, amount: 1e6 }] : [] }));
    const state = b.fold(sheet, events);
    const record = { id, started_at: events[0]?.at ?? FIRST, lots: pinned };
    return [{ id, sheet, state, events, candles, record, stage: b.stageOf(state) }];
  };
  const pours = g.flatMap(play).filter(({ stage }) => LEFT.includes(stage));
  const plain = (of) => ({ ...of, earned: Object.fromEntries(of.earned) });
  const all = pours.map(told.backTold);
  const names = ['year', 'before', 'months', 'all'];
  const periods = names.map((name) => [name, sums.periodOf(name, '2026-11-30')]);
  return {
    pours: pours.map(({ id, events, candles, sheet, stage, state, record }, at) => ({
      id, events, candles, stage, told: all[at], keys: told.backKeys(all[at]),
      sheet: { recipe: sheet.recipe, load: sheet.load, target_c: sheet.fragrance.target_c,
        jugs: sheet.jugs.map(({ vessels }) => vessels), started_at: record.started_at },
    })),
    periods: periods.map(([name, period]) => ({
      name,
      ...period,
      sums: plain(sums.sumsOf(all, period)),
      parts: sums.partsOf(all, period).map(([part, of]) => [part, plain(of)]),
      recipes: sums.recipesOf(all, period).map(({ recipe, sums: of }) => [recipe, plain(of)]),
    })),
    groups: ['a', 'b'].map((lot) => {
      const { groups } = tops.groupsOf(all, tops.isPoor, ({ lots }) => lots.map(([, id]) => id));
      return groups.find(({ key }) => key === lot) ?? null;
    }),
  };
"""

WAYS = ("sold", "given", "broken", "destroyed", "test_burned", "returned", "handed_out")


@pytest.fixture(scope="module")
def histories(bench: Bench) -> list[Json]:
    """What the phone tells of each history."""
    return [bench.ask(TELL.replace("BODY", PLAY), each) for each in drawn(HISTORIES, 30)]


def month_of(at_ms: float) -> str:
    """In London, where the page is: summer time ends on the last Sunday of October."""
    utc = dt.datetime.fromtimestamp(at_ms / 1000, dt.UTC)
    begins, ends = (
        dt.datetime(utc.year, month, last_sunday(utc.year, month), 1, tzinfo=dt.UTC)
        for month in (3, 10)
    )
    return f"{utc + dt.timedelta(hours=begins <= utc < ends):%Y-%m}"


def last_sunday(year: int, month: int) -> int:
    return max(week[6] for week in calendar.monthcalendar(year, month))


def moves_of(pour: Json) -> dict[str, Json]:
    """Candles by month and way, and money by month and currency, from the events themselves."""
    gone: dict[str, Counter[str]] = defaultdict(Counter)
    earned: dict[str, Counter[str]] = defaultdict(Counter)
    unpriced: Counter[str] = Counter()
    if pour["stage"] == "curing":
        for event in effective_events("pour", pour["events"]):
            if event["type"] == "handed_out" and event["n"] > 0:
                gone[month_of(event["at"])]["handed_out"] += event["n"]
        for event in effective_events("batch", pour["candles"]):
            month, n = month_of(event["at"]), event["n"]
            gone[month][event["type"]] += n
            if event["type"] == "sold" and "price" in event:
                code = event.get("currency", "")
                earned[month][code if code in ("EUR", "JPY", "USD") else ""] += n * event["price"]
            elif event["type"] == "sold":
                unpriced[month] += n
    return {"gone": gone, "earned": earned, "unpriced": unpriced}


def test_what_became_of_candles_is_what_their_events_tell(histories: list[Json]) -> None:
    found = 0
    for pour in (pour for each in histories for pour in each["pours"]):
        wanted = moves_of(pour)
        told = pour["told"]["moves"]
        assert set(told) == set(wanted["gone"])
        for month, moves in told.items():
            assert moves["n"] == dict(wanted["gone"][month])
            assert moves["earned"] == dict(wanted["earned"][month])
            assert moves["unpriced"] == wanted["unpriced"][month]
            found += sum(moves["n"].values())
        years = {month[:4] for month in [pour["told"]["month"], *told]}
        assert set(pour["keys"]) == {"back ", *(f"back {year}" for year in years)}
    assert found > 200


def last_readings(pour: Json, jug: int) -> dict[tuple[str, int], Json]:
    """The last weighing that counts of each part of a jug."""
    return {
        (event["part"], event["index"]): event
        for event in effective_events("pour", pour["events"])
        if event["type"] == "weighed" and event["jug"] == jug
    }


def test_loads_and_temperatures_are_what_was_read(histories: list[Json]) -> None:
    loads = unread = temps = stale = 0
    for pour in (pour for each in histories for pour in each["pours"]):
        counted = effective_events("pour", pour["events"])
        corrected = {each["event"] for each in counted_raw(pour) if each["type"] == "corrected"}
        added = [each for each in counted if each["type"] == "added"]
        jugs = sorted({each["jug"] for each in added}) if pour["sheet"]["load"] > 0 else []
        assert len(pour["told"]["loads"]) == len(pour["told"]["added"]) == len(jugs)
        for jug, (planned, reached), (read_c, target_c) in zip(
            jugs, pour["told"]["loads"], pour["told"]["added"], strict=True
        ):
            assert (planned, target_c) == (pour["sheet"]["load"], pour["sheet"]["target_c"])
            weighed = last_readings(pour, jug)
            marks = {
                key
                for key, event in weighed.items()
                if event.get("how") == "mark" and event["id"] not in corrected
            }
            spilled = any(each["type"] == "spilled" and each["jug"] == jug for each in counted)
            if marks - {key for key in marks if key[0] == "additive"}:
                assert reached is None
                unread += 1
            elif reached is not None and not spilled:
                grams = {
                    parts: sum(e["read_g"] for (part, _), e in weighed.items() if part in parts)
                    for parts in (("wax", "restore"), ("fragrance",))
                }
                wax_g, oil_g = grams.values()
                assert reached == pytest.approx(oil_g / wax_g, abs=1e-12)
                loads += 1
            # A reading of before the fragrance went in, and not long before.
            at = next(each["at"] for each in added if each["jug"] == jug)
            dips = [each for each in counted if each["type"] == "read" and each["jug"] == jug]
            before = [each for each in dips if each["at"] <= at]
            if read_c is None:
                stale += 1
            else:
                last = max(before, key=lambda each: each["at"])
                assert read_c == last["temp_c"]
                assert at - last["at"] <= FRESH_MS
                temps += 1
    assert min(loads, unread, temps, stale) > 10


def counted_raw(pour: Json) -> list[Json]:
    """Corrections that count: those that were not undone."""
    undone = {each["event"] for each in pour["events"] if each["type"] == "undone"}
    return [each for each in pour["events"] if each["id"] not in undone]


def test_yield_is_what_was_filled_of_what_was_weighed(histories: list[Json]) -> None:
    found = 0
    for pour in (pour for each in histories for pour in each["pours"]):
        told = pour["told"]
        counted = effective_events("pour", pour["events"])
        types = {each["type"] for each in counted}
        assert told["planned"] == sum(pour["sheet"]["jugs"])
        if pour["stage"] == "curing":
            assert told["made"] is not None
            assert told["made"] == told["filled"]
        else:
            assert told["made"] is None
        if told["grams"] is None or types & {"spilled", "stopped", "emptied", "filled_other"}:
            continue
        weighed_g = sum(
            each["read_g"]
            for jug in range(len(pour["sheet"]["jugs"]))
            for each in last_readings(pour, jug).values()
        )
        filled = [each for each in counted if each["type"] == "poured"]
        assert not any(each.get("how") == "mark" for each in filled) or corrections(pour)
        assert told["grams"][0] == pytest.approx(weighed_g, rel=1e-9)
        first = {}
        for each in filled:
            first.setdefault((each["jug"], each.get("vessel", each["id"])), each["read_g"])
        assert told["grams"][1] == pytest.approx(sum(first.values()), rel=1e-9)
        found += 1
    assert found > 10


def corrections(pour: Json) -> bool:
    return any(each["type"] == "corrected" for each in pour["events"])


def spread(values: list[float | None]) -> Json:
    read = [each for each in values if each is not None]
    if not read:
        return None
    return {"n": len(read), "of": len(values), "mean": sum(map(Fraction, read)) / len(read)}


def added_up(pours: list[Json], first: str, last: str) -> Json:
    """All of some months, from what is told of each pour and from the events of candles."""
    here = [each["told"] for each in pours if first <= each["told"]["month"] <= last]
    kept = [each for each in here if not each["given_up"]]
    made = [each for each in kept if each["made"] is not None]
    gone: Counter[str] = Counter()
    earned: Counter[str] = Counter()
    unpriced = 0
    for pour in pours:
        moves = moves_of(pour)
        for month in (month for month in moves["gone"] if first <= month <= last):
            gone += moves["gone"][month]
            earned.update(moves["earned"][month])
            unpriced += moves["unpriced"][month]
    read = [each["grams"] for each in kept if each["grams"] is not None]
    return {
        "pours": len(kept),
        "given_up": len(here) - len(kept),
        "filled": sum(each["filled"] for each in kept),
        "put_away": len(made),
        "planned": sum(each["planned"] for each in made),
        "made": sum(each["made"] for each in made),
        "gone": {way: gone[way] for way in WAYS},
        "earned": dict(earned),
        "unpriced": unpriced,
        "grams": [len(read), sum(each[0] for each in read), sum(each[1] for each in read)],
        "load": spread([reached for each in kept for _, reached in each["loads"]]),
        "off_load": spread(
            [r if r is None else r - planned for each in kept for planned, r in each["loads"]]
        ),
        "off_c": spread(
            [r if r is None else r - target for each in kept for r, target in each["added"]]
        ),
    }


def agree(ours: Json, wanted: Json) -> None:
    for name in ("load", "off_load", "off_c"):
        one, other = ours[name], wanted[name]
        assert (one is None) == (other is None)
        if one is not None:
            assert (one["n"], one["of"]) == (other["n"], other["of"])
            assert one["mean"] == pytest.approx(float(other["mean"]), abs=1e-9)
            assert one["low"] <= one["mean"] + 1e-12
            assert one["mean"] <= one["high"] + 1e-12
    assert list(ours["grams"].values()) == pytest.approx(wanted["grams"], rel=1e-9)
    rest = wanted.keys() - {"grams", "load", "off_load", "off_c"}
    # Money to the cent, and no currency is added to another.
    assert {name: ours[name] for name in rest} == {name: wanted[name] for name in rest}


def test_sums_by_period_month_and_recipe(histories: list[Json]) -> None:
    ends = {
        "year": ("2026-01", "2026-12"),
        "before": ("2025-01", "2025-12"),
        "months": ("2025-12", "2026-11"),
        "all": ("0000-00", "9999-99"),
    }
    for history in histories:
        pours = history["pours"]
        for period in history["periods"]:
            first, last = ends[period["name"]]
            assert (period["from"], period["to"]) == (first, last)
            agree(period["sums"], added_up(pours, first, last))
            for recipe, ours in period["recipes"]:
                own = [each for each in pours if each["sheet"]["recipe"] == recipe]
                agree(ours, added_up(own, first, last))
            for part, ours in period["parts"]:
                low, high = (part, part) if len(part) == 7 else (f"{part}-01", f"{part}-12")
                agree(ours, added_up(pours, low, high))
            # Nothing is in two parts, or in none.
            for name in ("pours", "made"):
                assert sum(ours[name] for _, ours in period["parts"]) == period["sums"][name]
                assert sum(ours[name] for _, ours in period["recipes"]) == period["sums"][name]
            if period["name"] != "all":
                assert len(period["parts"]) == 12
            names = [part for part, _ in period["parts"]]
            assert names == sorted(set(names))
            assert all(re.fullmatch(r"\d{4}(-\d\d)?", name) for name in names)


def test_tops_by_lot_are_counts_with_scipy_s_range(histories: list[Json]) -> None:
    counted = 0
    for history in histories:
        looked = [
            each["told"]
            for each in history["pours"]
            if each["told"]["tops"] and not each["told"]["given_up"]
        ]
        for lot, group in zip("ab", history["groups"], strict=True):
            own = [each for each in looked if lot in {id_ for _, id_ in each["lots"]}]
            if not own:
                assert group is None
                continue
            poor = sum(each["tops"] != "smooth" for each in own)
            assert (group["count"], group["of"]) == (poor, len(own))
            counted += 1
            if len(own) < 6:
                assert group["range"] is None
                continue
            low, high = stats.binomtest(poor, len(own)).proportion_ci(0.9, method="wilson")
            assert group["range"] == pytest.approx({"low": low, "high": high}, abs=1e-12)
    assert counted > 20


BANDS = [
    ([71.9], 2, 70),
    ([72.0], 2, 72),
    ([70.1, 71.9], 2, 70),
    ([70.1, 72.1], 2, None),
    ([70.1, None], 2, None),
    ([None], 2, None),
    ([], 2, None),
    ([-0.5], 2, -2),
    ([160.0], 4, 160),
]


def test_a_band_is_where_all_jugs_of_a_pour_lie(bench: Bench) -> None:
    body = TELL.replace("BODY", "return g.map(([readings, wide]) => tops.bandOf(readings, wide));")
    found = bench.ask(body, [(readings, wide) for readings, wide, _ in BANDS])
    assert found == [band for _, _, band in BANDS]


def test_a_range_is_told_from_six_pours_on(bench: Bench) -> None:
    body = """
      const pour = (tops) => ({ tops, given_up: false, lots: [['wax', 'a']] });
      return [5, 6].map((n) => tops.groupsOf(Array.from({ length: n }, () => pour('smooth')),
        tops.isPoor, ({ lots }) => lots.map(([, id]) => id)).groups[0]);
    """
    few, enough = bench.ask(TELL.replace("BODY", body))
    assert few == {"key": "a", "count": 0, "of": 5, "range": None}
    assert enough["range"]["low"] == 0
    # By hand: z²/(n + z²) = 2.7055/8.7055.
    assert math.isclose(enough["range"]["high"], 2.7055434540954 / 8.7055434540954, rel_tol=1e-12)


def test_a_year_begins_where_it_does(bench: Bench) -> None:
    body = """
      return g.map(([name, today]) => {
        const { from, to } = sums.periodOf(name, today);
        return [from, to, sums.yearsOf({ from, to })];
      });
    """
    asked_for: list[Any] = [("months", "2026-01-31"), ("months", "2026-12-01"), ("before", NOW)]
    found = bench.ask(TELL.replace("BODY", body), asked_for)
    assert found == [
        ["2025-02", "2026-01", ["2025", "2026"]],
        ["2026-01", "2026-12", ["2026"]],
        ["2025-01", "2025-12", ["2025"]],
    ]
