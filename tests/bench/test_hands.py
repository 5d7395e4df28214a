"""Two and three phones at one pour, out of hearing now and then: what they did comes to one thing.

Each hand does what its own board offers. After an exchange all fold to the same; no step is taken
twice and no vessel is one too many; where two answers differ the board asks which is right, and
one hand can always bring the pour to its end.
"""

from typing import Any

from hypothesis import strategies as st

from tests.bench.conftest import Bench, Json, asked, fields_of
from tests.bench.test_walks import RECIPES, TOOLS, TRY, UNITS, also_tumblers, made_up, told

HANDS = st.builds(
    lambda recipe, count, also, tools, units, seed, length, hands: {
        "asked": asked(recipe, count=count, tools=tools) | {"also": also},
        "units": units,
        "seed": seed,
        "length": length,
        "count": hands,
    },
    RECIPES,
    st.integers(1, 9),
    st.one_of(st.just([]), st.builds(also_tumblers, st.integers(1, 3))),
    TOOLS,
    UNITS,
    st.integers(0, 2**32 - 1),
    st.sampled_from([20, 40, 80]),
    st.sampled_from([2, 2, 3]),
)


def test_what_hands_out_of_hearing_did_comes_to_one_thing(bench: Bench) -> None:
    walks = made_up(HANDS, 120)
    for walk in walks:
        if len(walk["asked"]["recipe"]["waxes"]) > 1:
            # These two waxes share no temperature at which the fragrance goes in.
            walk["asked"]["recipe"] |= {"fragrance_c": 74.0, "pour_c": 68.0}
    answers = bench.ask(TRY.replace("WORK", "b.hands(each)"), walks)
    found = told(walks, answers)
    assert not found, f"{len(found)} of {len(walks)}:\n" + "\n".join(found[:4])
    walked = [answer for answer in answers if "refused" not in answer]
    assert len(walked) > 0.8 * len(walks)
    # They did meet, agree, and differ.
    for what in ("exchanges", "same"):
        assert sum(answer["seen"][what] for answer in walked) > 100, what
    assert sum(answer["seen"]["clashes"] for answer in walked) > 20


# ---- the cases that a maker met ------------------------------------------------------------------

TWO = """
    const sheet = b.sheetOf(g.asked);
    const play = new b.Play(sheet);
    if (g.step === 'wax') play.keep({ type: 'ready' });
    else play.to(g.step);
    const { state } = play;
    let n = 0;
    const kept = (by, event) => b.freeze({
      ...b.answering(state, event), at: play.at + n, of: ['pour', 'p'], by,
      id: `${String(play.at + n).padStart(15, '0')}.000${n++}.${by}`,
    });
    const bothOf = (one, other) => [...play.events, kept('ann', one), kept('bea', other)];
    const after = (one, other) => b.fold(sheet, bothOf(one, other));
"""


def slate(bench: Bench, step: str, body: str, **changed: Any) -> Json:
    return bench.ask(
        TWO + body, {"asked": asked(fields_of("demo-recipe-slate", **changed)), "step": step}
    )


def test_one_vessel_filled_on_both_phones_is_filled_once(bench: Bench) -> None:
    body = """
        const event = { type: 'poured', jug: 0, read_g: state.jugs[0].vessel_targets_g[0] };
        const both = after(event, event);
        const jug = both.jugs[0];
        const counted = both.counted.length - state.counted.length;
        const same = [...both.same.values()].flat().length;
        return [jug.poured.length, jug.open[0], jug.clashes.length, counted, same];
    """
    assert slate(bench, "pour", body) == [1, 1, 0, 1, 1]


def test_one_wait_ended_on_both_phones_ends_once(bench: Bench) -> None:
    body = """
        const event = { type: 'went_on', jug: 0 };
        const both = after(event, event);
        return [sheet.pour.high_c < sheet.fragrance.low_c, both.jugs[0].went_on, both.jugs[0].step];
    """
    assert slate(bench, "cool", body, pour_c=55.0) == [True, 1, "fragrance"]


def test_two_readings_of_one_weighing_are_both_shown(bench: Bench) -> None:
    body = """
        const read = (read_g) => ({ type: 'weighed', jug: 0, part: 'wax', index: 0, read_g });
        const events = bothOf(read(1168), read(1174));
        const shown = b.promptFor(sheet, b.fold(sheet, events), 0, play.at, play.units);
        const undone = (event) => kept('ann', { type: 'undone', event });
        const choose = ({ undo }) => b.fold(sheet, [...events, ...undo.map(undone)]);
        const reads = [shown.main, ...shown.others].filter(({ undo }) => undo).map((each) => {
          const { reads, clashes } = choose(each).jugs[0];
          return [each.label, reads.get('wax:0').read_g, clashes.length];
        });
        const lines = shown.lines.map((line) => line.replace(/, [^,]*$/, ''));
        return { title: shown.title, lines, reads };
    """
    told = slate(bench, "wax", body)
    assert told["title"] == "Which is right?"
    assert told["lines"] == ["**1\u202f168\xa0g**, says ann", "**1\u202f174\xa0g**, says bea"]
    assert told["reads"] == [["1\u202f168\xa0g", 1168, 0], ["1\u202f174\xa0g", 1174, 0]]


def test_readings_less_than_a_step_of_the_scale_apart_are_one(bench: Bench) -> None:
    body = """
        const read = (read_g) => ({ type: 'weighed', jug: 0, part: 'wax', index: 0, read_g });
        const { clashes, reads } = after(read(1168), read(1168 + sheet.step_g * 0.6)).jugs[0];
        return [clashes.length, reads.get('wax:0').read_g];
    """
    assert slate(bench, "wax", body) == [0, 1168]


def test_what_is_kept_is_the_reading_that_was_seen(bench: Bench) -> None:
    """One keeps 1 140 g while the other, who saw it too, adds wax to 1 200."""
    body = """
        const short = kept('ann', { type: 'weighed', jug: 0, part: 'wax', index: 0, read_g: 1140 });
        const seen = b.fold(sheet, [...play.events, short]);
        const later = (by, event, n) => b.freeze({
          ...b.answering(seen, event), at: play.at + n, of: ['pour', 'p'], by,
          id: `${String(play.at + n).padStart(15, '0')}.0000.${by}`,
        });
        const events = [...play.events, short,
          later('ann', { type: 'accepted', jug: 0, part: 'wax', index: 0 }, 2000),
          later('bea', { type: 'weighed', jug: 0, part: 'wax', index: 0, read_g: 1200 }, 2500)];
        const jug = b.fold(sheet, events).jugs[0];
        const { lines } = b.promptFor(sheet, b.fold(sheet, events), 0, play.at, play.units);
        return [jug.clashes.length, jug.reads.get('wax:0').read_g, jug.kept.size, lines.length];
    """
    assert slate(bench, "wax", body) == [1, 1140, 1, 2]


def test_undo_takes_back_what_both_said(bench: Bench) -> None:
    body = """
        const events = bothOf({ type: 'melted', jug: 0 }, { type: 'melted', jug: 0 });
        const state_ = b.fold(sheet, events);
        const last = b.lastUndoable({ state: state_ }, 0);
        const ids = [last.id, ...(state_.same.get(last.id) ?? [])];
        const undone = (event) => kept('ann', { type: 'undone', event });
        const back = b.fold(sheet, [...events, ...ids.map(undone)]);
        return [state_.jugs[0].step, back.jugs[0].step, ids.length];
    """
    assert slate(bench, "melt", body) == ["cool", "melt", 2]


def test_a_vessel_taken_back_is_asked_for_again_in_its_place(bench: Bench) -> None:
    """One takes vessel 1 back while the other fills vessel 2."""
    body = """
        const g1 = state.jugs[0].vessel_targets_g[0];
        const first = kept('ann', { type: 'poured', jug: 0, read_g: g1 });
        const seen = b.fold(sheet, [...play.events, first]);
        const g2 = seen.jugs[0].vessel_targets_g[1];
        const at = (ms, by, event) => b.freeze({ ...event, at: play.at + ms, of: ['pour', 'p'],
          id: `${String(play.at + ms).padStart(15, '0')}.0000.${by}` });
        const second = b.answering(seen, { type: 'poured', jug: 0, read_g: g2 });
        const events = [...play.events, first,
          at(5, 'ann', { type: 'undone', event: first.id }), at(6, 'bea', second)];
        const jug = b.fold(sheet, events).jugs[0];
        return [jug.open[0], jug.poured.map(({ vessel }) => vessel),
          Math.abs(jug.vessel_targets_g[0] - g2) <= sheet.step_g,
          b.promptFor(sheet, b.fold(sheet, events), 0, play.at, play.units).title];
    """
    assert slate(bench, "pour", body) == [0, [1], True, "Pour · 1 of 6"]


def test_an_older_phone_that_names_no_vessel_fills_none_twice(bench: Bench) -> None:
    body = """
        const read_g = state.jugs[0].vessel_targets_g[0];
        const { vessel, ...unnamed } = kept('old', { type: 'poured', jug: 0, read_g });
        const named = kept('new', { type: 'poured', jug: 0, read_g });
        const jug = b.fold(sheet, [...play.events, unnamed, named]).jugs[0];
        return [vessel, jug.poured.length, jug.open[0]];
    """
    assert slate(bench, "pour", body) == [0, 1, 1]
