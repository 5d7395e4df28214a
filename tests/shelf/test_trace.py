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
        # Which lots its materials come from: two that they share, or none.
        st.lists(st.sampled_from(["a", "b", None]), min_size=2, max_size=2),
        st.lists(st.integers(0, 4), max_size=3),
    ),
    min_size=1,
    max_size=5,
)

TRACE = """
    const pours = g.flatMap((each, index) => {
      let walked;
      try {
        walked = b.walk(each);
      } catch (error) {
        if (!(error instanceof b.InputError)) throw error;
        return [];
      }
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
    const both = ['a', 'b'];
    return {
      forward: both.map((lot) => {
        const { batches, ...sums } = trace.madeOf(lot, pours);
        const named = batches.map(({ pour, ...batch }) => ({ ...batch, id: pour.id }));
        return { ...sums, batches: named };
      }),
      backward: pours.map((pour) => [pour.id, [...trace.lotsIn(pour)]]),
      events: pours.map(({ id, events, state }) => [id, events, state.finished !== null]),
    };
"""


def test_forward_and_backward_are_the_same(bench: Bench) -> None:
    """The batches that a lot leads to are those whose trace leads to the lot."""
    found = 0
    for history in drawn(HISTORIES, 60):
        told = shelf(bench, TRACE, history)
        for lot, forward in zip("ab", told["forward"], strict=True):
            reached = {batch["id"] for batch in forward["batches"]}
            assert reached == {id_ for id_, lots in told["backward"] if lot in lots}
            found += len(reached)
    assert found > 50


def test_no_candle_is_lost_between_made_here_and_gone(bench: Bench) -> None:
    """Beside the events, read in Python."""
    gone = 0
    for history in drawn(HISTORIES, 60):
        told = shelf(bench, TRACE, history)
        events = {id_: (events, finished) for id_, events, finished in told["events"]}
        for forward in told["forward"]:
            for batch in forward["batches"]:
                kept, finished = events[batch["id"]]
                went = handed_out(kept)
                assert [(each["n"], each["why"]) for each in batch["out"]] == went
                out = sum(n for n, _why in went)
                assert batch["here"] == (max(0, batch["made"] - out) if finished else 0)
                assert batch["untold"] == max(0, batch["made"] - batch["here"] - out)
                gone += out
            for name in ("made", "here", "untold"):
                assert forward[name] == sum(batch[name] for batch in forward["batches"])
    assert gone > 50


def handed_out(events: list[Json]) -> list[tuple[int, Any]]:
    """As many as went out, and what for, in the order in which they went."""
    counted = [each for each in effective_events("pour", events) if each["type"] == "handed_out"]
    ordered = sorted(counted, key=lambda each: (each["at"], each["id"]))
    return [(each["n"], each["why"]) for each in ordered if each["n"] > 0]
