"""From a lot to its candles and back: random histories, beside the events told one by one."""

from typing import Any

from hypothesis import strategies as st

from benchapp.records.events import effective_events
from tests.bench.conftest import Bench, asked, fields_of
from tests.bench.test_walks import TOOLS
from tests.formulas.test_twin import drawn
from tests.shelf.conftest import Json, shelf

SLATE = fields_of("demo-recipe-slate")

HISTORIES = st.lists(
    st.builds(
        lambda count, tools, seed, length, lots, gone: {
            **{"asked": asked(SLATE, count=count, tools=tools), "units": {}},
            **{"seed": seed, "length": length, "lots": lots, "gone": gone},
        },
        st.integers(1, 9),
        TOOLS,
        st.integers(0, 2**32 - 1),
        st.sampled_from([40, 120, 200]),
        # Which lots its materials come from: two that they share, what was left of a pour (of
        # itself too: what makes no sense must not go round for ever), or none.
        st.lists(
            st.sampled_from(["a", "b", "left0", "left1", "left2", None]), min_size=2, max_size=2
        ),
        st.lists(st.integers(0, 4), max_size=3),
    ),
    min_size=1,
    max_size=5,
)

TRACE = """
    const pours = g.flatMap((each, index) => {
      const walked = b.walkIfPlanned(each);
      if (walked === null) return [];
      const sheet = b.sheetOf(each.asked);
      const materials = [['wax', sheet.waxes[0]], ['fragrance', sheet.oils[0]]];
      const pinned = materials.map(([kind, { id, name }], at) => {
        const lot = each.lots[at];
        return { kind, id, name, lots: lot === null ? [] : [{ id: lot, name: lot, amount: 1e6 }] };
      });
      const last = walked.events.at(-1)?.at ?? 0;
      const out = each.gone.map((n, at) => ({
        ...{ id: `9${String(last + at).padStart(14, '0')}.0000.out`, of: ['pour', `p${index}`] },
        ...{ type: 'handed_out', at: last + at + 1, n, why: `fair ${at}` },
      }));
      const events = [...walked.events, ...out];
      const state = b.fold(sheet, events);
      const id = `p${index}`;
      const record = { id, started_at: 1_764_070_400_000 + index * 86_400_000, lots: pinned };
      return [{ id, record, sheet, state, events, stage: b.stageOf(state) }];
    });
    const left = new Map([0, 1, 2].map((n) => [`left${n}`, `p${n}`]));
    const byId = new Map(pours.map((pour) => [pour.id, pour]));
    return {
      forward: ['a', 'b', ...left.keys()].map((lot) => {
        const batches = trace.madeOf(lot, pours, left);
        const named = batches.map(({ pour, ...batch }) => ({ ...batch, id: pour.id }));
        return [lot, { ...trace.sumsOf(batches), batches: named }];
      }),
      backward: pours.map((pour) => [pour.id, trace.parentsOf(pour, byId, left)]),
      own: pours.map((pour) => [pour.id, [...trace.lotsIn(pour)]]),
      events: pours.map(({ id, events, state }) => [id, events, state.finished !== null]),
    };
"""


def test_forward_and_backward_are_the_same(bench: Bench) -> None:
    """The batches that a lot leads to are those whose trace leads to the lot, and what was left in
    a jug and melted again keeps all its parents: beside a plain search through what each pour
    itself took."""
    found = melted_again = 0
    for history in drawn(HISTORIES, 60):
        told = shelf(bench, TRACE, history)
        own = {id_: set(lots) for id_, lots in told["own"]}
        backward = {id_: [each["lot"] for each in lots] for id_, lots in told["backward"]}
        for id_, lots in backward.items():
            assert len(lots) == len(set(lots))
            assert set(lots) == searched(id_, own)
            melted_again += len(set(lots) - own[id_])
        for lot, forward in told["forward"]:
            reached = {batch["id"] for batch in forward["batches"]}
            assert reached == {id_ for id_, lots in backward.items() if lot in lots}
            found += len(reached)
            for batch in forward["batches"]:
                assert (batch["amount"] > 0) == (lot in own[batch["id"]])
                assert set(batch["through"]) <= own[batch["id"]]
                assert batch["amount"] > 0 or batch["through"]
    assert found > 50
    assert melted_again > 20


def searched(id_: str, own: dict[str, set[str]]) -> set[str]:
    """All lots that are in a pour, by following each way back until nothing new is found."""
    lots: set[str] = set()
    pours = {id_}
    while True:
        known = len(lots) + len(pours)
        lots |= {lot for pour in pours for lot in own.get(pour, set())}
        pours |= {f"p{lot[4:]}" for lot in lots if lot.startswith("left")}
        if len(lots) + len(pours) == known:
            return lots


def test_no_candle_is_lost_between_made_here_and_gone(bench: Bench) -> None:
    """Beside the events, read in Python."""
    gone = 0
    for history in drawn(HISTORIES, 60):
        told = shelf(bench, TRACE, history)
        events = {id_: (events, finished) for id_, events, finished in told["events"]}
        for _lot, forward in told["forward"]:
            for batch in forward["batches"]:
                kept, finished = events[batch["id"]]
                went = handed_out(kept)
                candles = batch["candles"]
                assert [(each["n"], each["why"]) for each in candles["out"]] == went
                out = sum(n for n, _why in went)
                assert candles["here"] == (max(0, candles["made"] - out) if finished else 0)
                assert candles["untold"] == max(0, candles["made"] - candles["here"] - out)
                gone += out
            for name in ("made", "here", "untold"):
                assert forward[name] == sum(each["candles"][name] for each in forward["batches"])
    assert gone > 50


def handed_out(events: list[Json]) -> list[tuple[int, Any]]:
    """As many as went out, and what for, in the order in which they went."""
    counted = [each for each in effective_events("pour", events) if each["type"] == "handed_out"]
    ordered = sorted(counted, key=lambda each: (each["at"], each["id"]))
    return [(each["n"], each["why"]) for each in ordered if each["n"] > 0]
