"""What a batch's vessels really weigh: random walks, beside the events told one by one."""

from typing import Any

from hypothesis import strategies as st

from benchapp.records.events import effective_events
from tests.bench.conftest import Bench, asked, fields_of
from tests.bench.test_walks import TOOLS, also_tumblers
from tests.formulas.test_twin import drawn
from tests.shelf.conftest import Json, shelf

SLATE = fields_of("demo-recipe-slate")

WALKS = st.builds(
    lambda count, also, tools, seed, length: {
        **{"asked": asked(SLATE, count=count, tools=tools) | {"also": also}, "units": {}},
        **{"seed": seed, "length": length},
    },
    st.integers(1, 9),
    st.one_of(st.just([]), st.builds(also_tumblers, st.integers(1, 3))),
    TOOLS,
    st.integers(0, 2**32 - 1),
    st.sampled_from([40, 80, 160]),
)

WALK = """
    return g.flatMap((each) => {
      const walked = b.walkIfPlanned(each);
      if (walked === null) return [];
      const draw = b.random(each.seed + 1);
      const sheet = b.sheetOf(each.asked);
      const events = walked.events.map((event) =>
        event.type === 'poured' && draw() < 0.3 ? { ...event, how: 'mark' } : event);
      const state = b.fold(sheet, events);
      const stage = b.stageOf(state);
      const told = weights.weightsOf({ sheet, state, events, stage });
      const { sizes, jugs } = sheet;
      return [{ told, events, sizes, jugs: jugs.map((jug) => jug.sizes), stage }];
    });
"""


def by_hand(walk: Json) -> tuple[dict[str, list[tuple[float, bool]]], dict[str, int]]:
    """By size what was read of each vessel and whether by a touch of the mark, and how many are
    filled: the events one after another."""
    sizes = [
        [size["id"] for size, n in zip(walk["sizes"], counts, strict=True) for _ in range(n)]
        for counts in walk["jugs"]
    ]
    undone = {each["event"] for each in walk["events"] if each["type"] == "undone"}
    corrected = {
        each["event"]
        for each in walk["events"]
        if each["type"] == "corrected" and each["id"] not in undone
    }
    vessels: dict[tuple[int, int], Any] = {}
    ends: dict[int, int] = {}
    for event in effective_events("pour", walk["events"]):
        jug = event.get("jug") or 0
        if event["type"] in ("poured", "skipped") and (jug, event["vessel"]) not in vessels:
            is_mark = event.get("how") == "mark" and event["id"] not in corrected
            read = None if event["type"] == "skipped" else (event["read_g"], is_mark)
            vessels[jug, event["vessel"]] = read
        elif event["type"] == "emptied":
            ends.setdefault(jug, len(sizes[jug]))
        elif event["type"] == "stopped":
            ends.setdefault(jug, event["vessel"] + (event.get("filled") or 0))
    read_of: dict[str, list[tuple[float, bool]]] = {each["id"]: [] for each in walk["sizes"]}
    count_of = dict.fromkeys(read_of, 0)
    for jug, ids in enumerate(sizes):
        for vessel, size in enumerate(ids):
            if (jug, vessel) in vessels:
                read = vessels[jug, vessel]
                read_of[size] += [read] if read else []
                count_of[size] += read is not None
            elif jug in ends:
                count_of[size] += vessel < ends[jug]
            else:
                count_of[size] += walk["stage"] in ("ready", "jugs", "set")
    return read_of, count_of


def test_what_was_read_is_told_and_nothing_else(bench: Bench) -> None:
    walks = shelf(bench, WALK, drawn(WALKS, 120))
    assert len(walks) > 80
    seen = {"marks": 0, "unread": 0, "sizes": 0, "corrected": 0}
    for walk in walks:
        read_of, count_of = by_hand(walk)
        told = {each["key"]: each for each in walk["told"]["batches"]}
        assert set(told) == {size for size, n in count_of.items() if n > 0}
        for size, batch in told.items():
            assert [(each["grams"], each["isMark"]) for each in batch["weights"]] == read_of[size]
            assert batch["of"] == count_of[size]
            assert len(batch["weights"]) + batch["unclear"] <= batch["of"]
            seen["marks"] += any(each["isMark"] for each in batch["weights"])
            seen["unread"] += 0 < len(batch["weights"]) < batch["of"]
        seen["sizes"] += len(told) > 1
        seen["corrected"] += any(each["type"] == "corrected" for each in walk["events"])
    # The walks are no one-sided lot.
    assert all(n > 5 for n in seen.values()), seen


def told(bench: Bench, body: str, count: int = 4) -> Json:
    """What is told after `body`, which plays on a pour that is ready to be filled."""
    return shelf(
        bench,
        f"""
        const play = new b.Play(b.sheetOf(g)).to('pour');
        const poured = {{ type: 'poured', jug: 0 }};
        const fill = (read_g, more = {{}}) => play.keep({{ ...poured, read_g, ...more }});
        const tell = () => {{
          const {{ sheet, state, events }} = play;
          const stage = b.stageOf(state);
          const {{ batches, others }} = weights.weightsOf({{ sheet, state, events, stage }});
          return [batches[0].weights.map(({{ grams, isMark }}) => (isMark ? -grams : grams)),
            batches[0].of, batches[0].unclear, others];
        }};
        {body}""",
        asked(SLATE, count=count),
    )


def test_a_touched_mark_is_no_reading_until_it_is_set_right(bench: Bench) -> None:
    body = """
        const first = fill(105, { how: 'mark' });
        fill(106);
        const said = [tell()];
        play.keep({ type: 'corrected', event: first.id, field: 'read_g', value: 104.5 });
        said.push(tell());
        play.keep({ type: 'undone', event: first.id });
        said.push(tell());
        return said;
    """
    assert told(bench, body) == [
        [[-105, 106], 4, 0, 0],
        [[104.5, 106], 4, 0, 0],
        [[106], 4, 0, 0],
    ]


def test_what_was_not_weighed_counts_as_filled_alone(bench: Bench) -> None:
    body = """
        fill(105);
        play.keep({ type: 'skipped', jug: 0 });
        play.keep({ type: 'stopped', jug: 0, filled: 1 });
        play.keep({ type: 'filled_other', jug: 0, read_g: 80 });
        return tell();
    """
    assert told(bench, body) == [[105], 2, 0, 1]


def test_of_two_readings_that_differ_neither_counts(bench: Bench) -> None:
    body = """
        fill(105);
        const one = { vessel: 1, of: ['pour', 'p'], at: play.at, jug: 0, type: 'poured' };
        play.events.push({ ...one, id: '001795700000000.0000.a', read_g: 104 },
          { ...one, id: '001795700000001.0000.b', read_g: 111 });
        const said = [tell()];
        play.events.push({ type: 'undone', event: '001795700000001.0000.b', of: ['pour', 'p'],
          at: play.at, id: '001795700000002.0000.a' });
        said.push(tell());
        return said;
    """
    assert told(bench, body) == [[[105], 4, 1, 0], [[105, 104], 4, 0, 0]]
