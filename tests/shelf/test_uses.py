"""What pours took from which lots: hundreds walked at random, with bags that run out anywhere."""

from fractions import Fraction

from hypothesis import strategies as st

from tests.bench.conftest import Bench, asked, fields_of
from tests.bench.test_walks import RECIPES, TOOLS, also_tumblers
from tests.formulas.test_twin import drawn
from tests.shelf.conftest import shelf

WALKS = st.builds(
    lambda recipe, count, also, tools, seed, length: {
        **{"asked": asked(recipe, count=count, tools=tools) | {"also": also}, "units": {}},
        **{"seed": seed, "length": length},
    },
    RECIPES,
    st.integers(1, 9),
    st.one_of(st.just([]), st.builds(also_tumblers, st.integers(1, 3))),
    TOOLS,
    st.integers(0, 2**32 - 1),
    st.sampled_from([10, 30, 80]),
)

#: Walks each pour, lets bags run out at random between its events, and tells of it.
WALK = """
    const told = [];
    for (const each of g) {
      const walked = b.walkIfPlanned(each);
      if (walked === null) continue;
      const sheet = b.sheetOf(each.asked);
      const draw = b.random(each.seed + 1);
      let lot = 0;
      const events = walked.events.flatMap((event) => {
        if (event.type !== 'weighed' || draw() > 0.4) return [event];
        const { jug, part, index, read_g } = event;
        const id = event.id.replace(/\\.test$/, '.bag');
        lot += 1;
        const { at, of } = event;
        const mark_g = Math.floor(read_g * draw());
        const said = { type: 'ran_out', jug, part, index, read_g: mark_g, lot: `lot-${lot}` };
        const mark = { ...said, at, of, id };
        return draw() < 0.5 ? [mark, event] : [event, mark];
      });
      const first = [{ id: 'lot-0', name: '0', amount: 1 }];
      const pinned = sheet.waxes.map((wax) => ({ ...wax, kind: 'wax', lots: first }));
      const state = b.fold(sheet, events);
      const pour = { id: 'p', sheet, state, events, record: { lots: pinned, started_at: 0 } };
      const weighed = {};
      for (const jug of state.jugs) for (const { part, index, read_g } of jug.weighings) {
        for (const { kind, id, share } of uses.materialsOf(sheet, part, index)) {
          const known = weighed[`${kind},${id}`] ?? [];
          if (id) weighed[`${kind},${id}`] = [...known, [read_g ?? 0, share]];
        }
      }
      const vessels = state.jugs.flatMap(({ poured }) => poured);
      const filled = vessels.filter(({ skipped }) => !skipped).length;
      const marks = events.filter(({ type }) => type === 'ran_out').length;
      told.push({ uses: uses.usesOf(pour), weighed, filled, marks });
    }
    return told;
"""


def test_lots_together_gave_what_was_weighed(bench: Bench) -> None:
    told = shelf(bench, WALK, drawn(WALKS, 150))
    assert len(told) > 100
    assert sum(each["marks"] for each in told) > 100
    several = 0
    for each in told:
        for key, weighed in each["weighed"].items():
            uses = [use for use in each["uses"] if f"{use['kind']},{use['id']}" == key]
            wanted = sum(read_g * share for read_g, share in weighed)
            if all(read_g for read_g, _ in weighed):
                assert abs(sum(use["amount"] for use in uses) - wanted) < 1e-6, key
            several += len({use["lot"] for use in uses}) > 1
        vessels = sum(use["amount"] for use in each["uses"] if use["kind"] == "vessel")
        assert vessels == each["filled"]
    assert several > 20


def test_a_bag_that_ran_out_in_the_middle_keeps_its_share(bench: Bench) -> None:
    """By hand: 1,168 g of wax, the bag empty at 412 g: 412 g of the first lot, 756 of the second;
    the reading set right to 1,170: 758 of the second; the mark set right to 512: 658."""
    body = """
        const play = new b.Play(b.sheetOf(g)).to('wax');
        const mark = { type: 'ran_out', jug: 0, part: 'wax', index: 0, read_g: 412 };
        const ranOut = play.keep({ ...mark, lot: 'second' });
        const first = [{ id: 'first', name: '1', amount: 9 }];
        const wax = { kind: 'wax', id: 'demo-wax-dune', name: 'Dune', lots: first };
        const record = { lots: [wax], started_at: 0 };
        const tell = () => {
          const { sheet, state, events } = play;
          const took = uses.usesOf({ id: 'p', sheet, state, events, record });
          return took.flatMap(({ kind, lot, amount }) => (kind === 'wax' ? [[lot, amount]] : []));
        };
        const said = [tell()];
        const weighed = play.weigh('wax', 0, 1168);
        said.push(tell());
        play.keep({ type: 'corrected', event: weighed.id, field: 'read_g', value: 1170 });
        said.push(tell());
        play.keep({ type: 'corrected', event: ranOut.id, field: 'read_g', value: 512 });
        said.push(tell());
        play.keep({ type: 'came_from', kind: 'wax', material: 'demo-wax-dune', lot: 'zeroth' });
        said.push(tell());
        play.keep({ type: 'undone', event: ranOut.id });
        said.push(tell());
        return said;
    """
    assert shelf(bench, body, asked(fields_of("demo-recipe-slate"), count=12)) == [
        [["first", 412]],
        [["first", 412], ["second", 756]],
        [["first", 412], ["second", 758]],
        [["first", 512], ["second", 658]],
        [["zeroth", 512], ["second", 658]],
        [["zeroth", 1170]],
    ]


def test_pieces_come_from_lots_in_their_turn(bench: Bench) -> None:
    body = """
        const play = new b.Play(b.sheetOf(g)).honest();
        play.keep({ type: 'finished', good: 4, seconds: 1, spoiled: 1 });
        const lot = (id, amount) => ({ id, name: id, amount });
        const tin = { kind: 'vessel', id: 'demo-tin', name: 'tin' };
        const tins = { ...tin, lots: [lot('a', 2), lot('b', 4)] };
        const lids = { kind: 'packaging', id: 'lid', name: 'lid', each: 2, lots: [lot('c', 12)] };
        const { sheet, state, events } = play;
        const record = { lots: [tins, lids], started_at: 0 };
        const pour = { id: 'p', sheet, state, events, record };
        const told = Object.fromEntries(
          uses.usesOf(pour).map(({ kind, lot, amount }) => [`${kind} ${lot}`, amount]),
        );
        const wanted = ['vessel a', 'vessel b', 'wick null', 'packaging c'];
        return [...wanted.map((name) => told[name]), candles.candlesOf(pour).here];
    """
    answer = shelf(bench, body, asked(fields_of("demo-recipe-slate"), count=6))
    assert answer == [2, 4, 6, 10, 5]


def test_a_choice_of_lots_is_whole_and_never_more_than_is_there(bench: Bench) -> None:
    """By hand, and by sums: what is drawn and what is missing make what is needed."""
    body = """
        return g.map(({ needs, there, chosen }) => {
          const material = ['wax', 'w'];
          const lot = { kind: 'lot', material, by: 'weight', received_on: '2026-11-01' };
          const came = there.map((each) => ({ ...lot, name: each.id, ...each }));
          const wax = { kind: 'wax', id: 'w', name: 'Dune' };
          const kept = { lots: came, events: [], materials: [wax], uses: [] };
          const shelf = stock.shelfOf({ ...kept, today: '2026-11-30' });
          const first = new Map(chosen ? [['wax,w', chosen]] : []);
          const [choice] = choose.chooseLots([{ ...wax, amount: needs, fixed: 0 }], shelf, first);
          const drawn = choice.pinned.lots.map(({ id, amount }) => [id, amount]);
          const reach = choose.howMany([choice], shelf, 10).count;
          return { drawn, missing: choice.missing, reach };
        });
    """
    lots = st.lists(
        st.fixed_dictionaries(
            {
                "amount_g": st.integers(1, 3000),
                "best_before": st.sampled_from([None, "2026-11-29", "2026-11-30", "2027-05-01"]),
            }
        ),
        min_size=1,
        max_size=5,
    ).map(lambda many: [{"id": f"l{n}", **each} for n, each in enumerate(many)])
    cases = drawn(
        st.fixed_dictionaries(
            {"needs": st.integers(1, 6000), "there": lots, "chosen": st.sampled_from([None, "l0"])}
        ),
        300,
    )
    for case, answer in zip(cases, shelf(bench, body, cases), strict=True):
        there = {each["id"]: each for each in case["there"]}
        total = sum(Fraction(amount) for _, amount in answer["drawn"])
        assert total + Fraction(answer["missing"]) == case["needs"]
        assert all(0 < amount <= there[id_]["amount_g"] for id_, amount in answer["drawn"])
        good = [id_ for id_, each in there.items() if (each["best_before"] or "9") >= "2026-11-30"]
        assert {id_ for id_, _ in answer["drawn"]} <= {*good, case["chosen"]}
        rest = [id_ for id_, _ in answer["drawn"] if id_ != case["chosen"]]
        days = [there[id_]["best_before"] or "9" for id_ in rest]
        assert days == sorted(days)
        here = sum(there[id_]["amount_g"] for id_ in good)
        assert answer["reach"] == here * 10 // case["needs"]
